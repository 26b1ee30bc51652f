package paper

import (
	"strings"
	"unicode"
)

// Settable is a text as the faces can set it: letters that they lack become □, what has no width of its own is left out.
func Settable(text string, bold bool) string { return faceOf(bold).settable(text) }

// Width is how wide a text is in letters of a size.
func Width(text string, size float64, bold bool) float64 {
	width := 0.0
	for _, g := range faceOf(bold).set(text) {
		width += g.advance
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
