package words

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"arris.example/geometry/unit"
)

// Text is an English text and the key of its translations. %s stands for an argument, in a translation that puts them in another order
// %[1]s to %[9]s; %% is then a percent sign. An argument is a number that was printed, a name, or a text that was said. A text that has
// none is said as it stands.
//
// A constant becomes a Text where it is used as one, so that whoever writes a sentence has nothing to register: the test of this package
// finds it, and wants it in every catalogue.
type Text string

// Say says a text in a language.
func (l Language) Say(t Text, args ...string) string {
	text := string(t)
	if l.own != nil {
		text = l.own.of(text)
	}
	if len(args) == 0 {
		return text
	}
	return fill(text, args)
}

// Count says a text about a number of things: the first about one, the second about none or several, as all three languages have it.
func (l Language) Count(n int, one, other Text, args ...string) string {
	if n == 1 {
		return l.Say(one, args...)
	}
	return l.Say(other, args...)
}

// fill puts arguments into a text.
func fill(text string, args []string) string {
	size := len(text)
	for _, a := range args {
		size += len(a)
	}
	var out strings.Builder
	out.Grow(size)
	for next := 0; ; {
		at := strings.IndexByte(text, '%')
		if at < 0 {
			out.WriteString(text)
			return out.String()
		}
		out.WriteString(text[:at])
		switch text = text[at+1:]; text[0] {
		case '%':
			out.WriteByte('%')
			text = text[1:]
		case '[':
			out.WriteString(args[text[1]-'1'])
			text = text[len("[1]s"):]
		default:
			out.WriteString(args[next])
			next++
			text = text[1:]
		}
	}
}

// Number is a number with so many decimals.
func (l Language) Number(v float64, places int) string { return l.Marked(unit.FormatFixed(v, places)) }

// Marked is a printed number with the language's decimal mark.
func (l Language) Marked(number string) string {
	if l.own == nil || l.own.mark == "." {
		return number
	}
	return strings.Replace(number, ".", l.own.mark, 1)
}

// Signed is a printed number with a minus that can be seen at arm's length.
func Signed(number string) string {
	if rest, ok := strings.CutPrefix(number, "-"); ok {
		return "−" + rest
	}
	return number
}

// Degrees is an angle for people, to a tenth.
func (l Language) Degrees(a unit.Angle) string { return l.Number(a.Degrees(), 1) + "°" }

var months = [...]Text{
	"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
}

// Day is a day in words, in UTC.
func (l Language) Day(t time.Time) string {
	t = t.UTC()
	const day, year = "2", "2006"
	return l.Say("%s %s %s", t.Format(day), l.Say(months[t.Month()-1]), t.Format(year))
}

// Upper starts a sentence.
func Upper(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if unicode.IsUpper(first) || !unicode.IsLetter(first) {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}
