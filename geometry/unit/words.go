package unit

import (
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"
)

// quantity is what a text is to be read as, with examples for the hints.
type quantity struct {
	name     string
	phrase   string // name with its article
	examples string
	units    [2]string // offered to a bare number
}

var (
	lengths = &quantity{"length", "a length", `58mm, 5.8cm, 1.75in or 2 9/32in`, [2]string{"mm", "in"}}
	angles  = &quantity{"angle", "an angle", `50°, 50deg, 0.87rad or 13°32.6'`, [2]string{"°", "deg"}}
)

// word is a unit: what it measures and its size in millimetres or degrees. A
// radian is no ratio of degrees, so it is its own measure, of size 1.
type word struct {
	of   *quantity
	size *big.Rat
}

var (
	millimetre = word{lengths, big.NewRat(1, 1)}
	centimetre = word{lengths, big.NewRat(10, 1)}
	inch       = word{lengths, big.NewRat(254, 10)}
	degree     = word{angles, big.NewRat(1, 1)}
	radian     = word{angles, big.NewRat(1, 1)}
)

// minuteMark alone could stand for feet or for minutes of arc; it is a unit only
// behind degrees.
const minuteMark = "'"

var words = map[string]word{
	"mm": millimetre, "millimetre": millimetre, "millimetres": millimetre, "millimeter": millimetre, "millimeters": millimetre,
	"cm": centimetre, "centimetre": centimetre, "centimetres": centimetre, "centimeter": centimetre, "centimeters": centimetre,
	"in": inch, "inch": inch, "inches": inch, `"`: inch,
	"°": degree, "deg": degree, "degree": degree, "degrees": degree,
	"rad": radian, "radian": radian, "radians": radian,
}

// plainForms are the characters read as another one. Only ASCII letters change
// case, so that no letter of another script turns into a unit.
var plainForms = map[rune]rune{
	'−': '-', '⁄': '/', '\t': ' ',
	'’': '\'', '′': '\'', '”': '"', '″': '"',
	'º': '°', '˚': '°',
}

// vulgar are the fractions that are one character.
var vulgar = map[rune]string{
	'½': "1/2", '⅓': "1/3", '⅔': "2/3", '¼': "1/4", '¾': "3/4",
	'⅕': "1/5", '⅖': "2/5", '⅗': "3/5", '⅘': "4/5", '⅙': "1/6", '⅚': "5/6",
	'⅐': "1/7", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8", '⅑': "1/9", '⅒': "1/10",
}

// plain returns s in plain characters: lower case, simple spaces and marks, and
// 1¾ spelt out as 1 3/4.
func plain(s string) string {
	var b strings.Builder
	digit := false // whether the last character written is one
	for _, r := range s {
		fraction, ok := vulgar[r]
		switch {
		case ok && digit:
			b.WriteString(" " + fraction)
		case ok:
			b.WriteString(fraction)
		default:
			b.WriteRune(plainRune(r))
		}
		digit = ok || isDigit(r)
	}
	return strings.Trim(b.String(), " \r\n")
}

func plainRune(r rune) rune {
	if p, ok := plainForms[r]; ok {
		return p
	}
	switch {
	case 'A' <= r && r <= 'Z':
		return r + ('a' - 'A')
	case unicode.Is(unicode.Zs, r):
		return ' '
	}
	return r
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

// leadingWord returns the unit word at the start of s: one mark, or a run of
// letters.
func leadingWord(s string) string {
	if r, size := utf8.DecodeRuneInString(s); strings.ContainsRune(`°'"`, r) {
		return s[:size]
	}
	return s[:len(s)-len(strings.TrimLeftFunc(s, unicode.IsLetter))]
}
