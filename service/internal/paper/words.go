package paper

import (
	"strings"
	"unicode"
)

// Settable is a text as the faces can set it: letters that they lack become □, what has no width of its own is left out.
func Settable(text string, bold bool) string { return faceOf(bold).opened().settable(text) }

// Width is how wide a text is in letters of a size.
func Width(text string, size float64, bold bool) float64 {
	return faceOf(bold).opened().width(text) * size
}

// width of a text, in em.
func (f *openedFace) width(text string) (width float64) {
	if text = f.settable(text); simple(text) {
		for _, r := range text {
			width += float64(f.common[r].advance)
		}
		return width
	}
	for _, g := range f.shaped([]rune(text), false) {
		width += g.advance
	}
	return width
}

// Wrap breaks a text into lines of a width, between words, and within those that are wider; a no-break space holds its words together. No
// line is empty.
func Wrap(text string, width, size float64, bold bool) (lines []string) {
	f := faceOf(bold).opened()
	room := width / size
	line, filled, blank := "", 0.0, f.width(" ")
	for word := range strings.FieldsFuncSeq(text, func(r rune) bool { return r != '\u00a0' && unicode.IsSpace(r) }) {
		wide := f.width(word)
		if line != "" && filled+blank+wide <= room {
			line, filled = line+" "+word, filled+blank+wide
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for wide > room {
			part := f.fitting(word, room)
			if part == word {
				break
			}
			lines, word = append(lines, part), word[len(part):]
			wide = f.width(word)
		}
		line, filled = word, wide
	}
	if line != "" {
		lines = append(lines, line)
	}
	return isolatesWhole(lines)
}

// fitting is as much of a word as fits in so many em: a letter, with what stands on it, at the least.
func (f *openedFace) fitting(word string, room float64) string {
	end, before := 0, rune(-1)
	for i, r := range word {
		together := i == 0 || unicode.In(r, unicode.M, unicode.Cf) || unicode.Is(unicode.Cf, before)
		before = r
		if together {
			continue
		}
		if end > 0 && f.width(word[:i]) > room {
			return word[:end]
		}
		end = i
	}
	if end == 0 {
		return word
	}
	return word[:end]
}
