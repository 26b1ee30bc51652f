package paper

import (
	"strings"
	"sync"
	"unicode"

	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The faces that everything is set in. They have the signs of the trade: ⌀, °, ±, ″, ½, ↻.
var (
	upright = newFace(dejavusans.TTF)
	heavy   = newFace(dejavusansbold.TTF)
)

// face measures letters.
type face struct {
	ttf    []byte
	parsed func() *sfnt.Font
	known  sync.Map // rune → advance in em; negative: it has no such letter
}

func newFace(ttf []byte) *face {
	return &face{ttf: ttf, parsed: sync.OnceValue(func() *sfnt.Font {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			panic(err) // the fonts are part of the program
		}
		return f
	})}
}

func faceOf(bold bool) *face {
	if bold {
		return heavy
	}
	return upright
}

// advance is a letter's width in em; negative where the face has no such letter.
func (f *face) advance(r rune) float64 {
	if known, ok := f.known.Load(r); ok {
		return known.(float64) //nolint:errcheck,forcetypeassert // nothing else is kept
	}
	width := -1.0
	var buffer sfnt.Buffer
	const em = 2048
	if glyph, err := f.parsed().GlyphIndex(&buffer, r); err == nil && glyph != 0 {
		if a, err := f.parsed().GlyphAdvance(&buffer, glyph, fixed.I(em), font.HintingNone); err == nil {
			width = float64(a) / 64 / em
		}
	}
	f.known.Store(r, width)
	return width
}

// missing stands for letters that the faces do not have.
const missing = '□'

// Settable is a text as the faces can set it: letters that they lack become □, what has no width of its own is left out.
func Settable(text string, bold bool) string {
	f := faceOf(bold)
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\u00a0' || r == '\t' || r == '\n':
			return ' '
		case r < ' ' || r >= 0x200b && r <= 0x200f || r >= 0x202a && r <= 0x202e || r >= 0x2060 && r <= 0x2069 || r == 0xfeff:
			return -1 // directions and joiners: letters are set one after the other
		case f.advance(r) < 0:
			return missing
		}
		return r
	}, text)
}

// Width is how wide a text is in letters of a size.
func Width(text string, size float64, bold bool) float64 {
	f, width := faceOf(bold), 0.0
	for _, r := range Settable(text, bold) {
		width += f.advance(r)
	}
	return width * size
}

// Wrap breaks a text into lines of a width, between words, and within those that are wider; a no-break space holds its words together. No
// line is empty.
func Wrap(text string, width, size float64, bold bool) (lines []string) {
	line := ""
	for word := range strings.FieldsFuncSeq(text, func(r rune) bool { return r != '\u00a0' && unicode.IsSpace(r) }) {
		if with := strings.TrimPrefix(line+" "+word, " "); Width(with, size, bold) <= width {
			line = with
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for Width(word, size, bold) > width && len([]rune(word)) > 1 {
			letters := []rune(word)
			n := len(letters) - 1
			for n > 1 && Width(string(letters[:n]), size, bold) > width {
				n--
			}
			lines, word = append(lines, string(letters[:n])), string(letters[n:])
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
