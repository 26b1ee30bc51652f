package arris

import (
	"io"
	"os"
	"strconv"
	"strings"

	"golang.org/x/term"
)

const (
	usualColumns  = 80
	fewestColumns = 40 // narrower terminals break lines by themselves
	mostColumns   = 160
)

// screen is what is known of where the answer appears.
type screen struct {
	columns int
	rows    int // 0: no terminal
	colour  bool
	ascii   bool
}

func screenOf(out io.Writer) screen {
	s := screen{columns: usualColumns, ascii: !speaksUnicode()}
	if file, ok := out.(*os.File); ok && term.IsTerminal(int(file.Fd())) {
		if width, height, err := term.GetSize(int(file.Fd())); err == nil && width > 0 {
			s.columns, s.rows = width, height
		}
		s.colour = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	}
	if wished, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && wished > 0 {
		s.columns = wished
	}
	s.columns = min(max(s.columns, fewestColumns), mostColumns)
	return s
}

// speaksUnicode tells whether the locale can show Braille dots. One that says nothing can: so it is outside POSIX systems.
func speaksUnicode() bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if value := os.Getenv(name); value != "" {
			upper := strings.ToUpper(value)
			return strings.Contains(upper, "UTF-8") || strings.Contains(upper, "UTF8")
		}
	}
	return true
}

// The styles; each is plain where there is no colour, and none carries a meaning that the words do not.
const (
	bold   = "1"
	red    = "1;31"
	yellow = "1;33"
)

func (s screen) styled(style, text string) string {
	if !s.colour || style == "" || text == "" {
		return text
	}
	return "\x1b[" + style + "m" + text + "\x1b[0m"
}
