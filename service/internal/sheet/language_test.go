package sheet_test

import (
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"arris.example/service/internal/demo"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// Sheets and gauges in other languages say the same numbers as in English, and no English but what people called their things. Nothing
// leaves its page or lies over something else.
func TestPaperInOtherLanguages(t *testing.T) {
	called := namesOf(demo.Records())
	for name, ask := range asks {
		for _, size := range []paper.Size{paper.A4, paper.Letter} {
			for _, lengths := range []setup.LengthUnit{setup.Millimetres, setup.Inches} {
				ask.Unit = lengths
				english := papers(t, ask, size)
				for _, code := range []string{"en", "de", "es"} {
					ask.Language = code
					own := papers(t, ask, size)
					ask.Language = ""
					if a, b := numbersOn(english), numbersOn(own); !slices.Equal(a, b) {
						t.Errorf("%s in %s: the numbers are\n%v, in English\n%v", name, code, b, a)
					}
					for _, page := range own.Pages {
						within(t, page)
						standApart(t, page)
					}
					if code == "en" {
						continue
					}
					said := wordsOn(english)
					for _, word := range wordsOn(own) {
						if slices.Contains(said, word) && !slices.Contains(called, word) && !slices.Contains(alike[code], word) {
							t.Errorf("%s in %s: %q is English", name, code, word)
						}
					}
				}
			}
		}
	}
}

// alike are words that a language shares with English, and what is no word.
var alike = map[string][]string{
	"de": {"mm", "in", "arris", "CFR", "Station"},
	"es": {"mm", "in", "arris", "CFR", "no", "manual"},
}

// papers are a question's sheet and, where there are any, its gauges.
func papers(t *testing.T, ask setup.Common, size paper.Size) paper.Document {
	t.Helper()
	m, q := maker(), setup.Question{Common: ask}
	all, _, err := m.Setup(t.Context(), "", q, size)
	if err != nil {
		t.Fatal(err)
	}
	if gauges, _, err := m.Gauges(t.Context(), q, size); err == nil {
		all.Pages = append(all.Pages, gauges.Pages...)
	}
	return all
}

// namesOf are the words of what people called their things, and of their ids.
func namesOf(records []any) (words []string) {
	for _, r := range records {
		for _, field := range []string{"Name", "DisplayName"} {
			if name := reflect.ValueOf(r).FieldByName(field); name.IsValid() {
				words = append(words, someWord.FindAllString(name.String()[strings.LastIndex(name.String(), "/")+1:], -1)...)
			}
		}
	}
	return words
}

var someWord, someNumber = regexp.MustCompile(`\p{L}{2,}`), regexp.MustCompile(`\d+([.,]\d+)?`)

func wordsOn(d paper.Document) []string { return someWord.FindAllString(textOf(d), -1) }

// numbersOn are the numbers on paper, but those of pages: there may be more in a language with longer words.
func numbersOn(d paper.Document) []string {
	text := regexp.MustCompile(`arris 1\.2\.3 · \p{L}+ \d+ \p{L}+ \d+|100 mm\.`).ReplaceAllString(textOf(d), "")
	list := someNumber.FindAllString(strings.ReplaceAll(text, ",", "."), -1)
	slices.Sort(list)
	return list
}

// standApart fails where two level texts lie over one another: letters reach three quarters of their size up from their line.
func standApart(t *testing.T, page paper.Page) {
	t.Helper()
	var level []paper.Words
	for _, m := range page.Marks {
		if w, ok := m.(paper.Words); ok && w.Turn == 0 {
			level = append(level, w)
		}
	}
	for i, a := range level {
		for _, b := range level[:i] {
			across := math.Min(a.At.X+paper.Width(a.Text, a.Size, a.Bold), b.At.X+paper.Width(b.Text, b.Size, b.Bold)) - math.Max(a.At.X, b.At.X)
			down := math.Min(a.At.Y, b.At.Y) - math.Max(a.At.Y-0.75*a.Size, b.At.Y-0.75*b.Size)
			if across > 0.05 && down > 0.05 {
				t.Errorf("%q lies over %q", a.Text, b.Text)
			}
		}
	}
}
