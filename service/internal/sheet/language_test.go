package sheet_test

import (
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/shop"
)

// papersIn compares what is on paper in other languages with what is in English: the same numbers, and no English but what people called their
// things. Nothing leaves its page or lies over something else.
func papersIn(t *testing.T, name string, lay func(language string) paper.Document) {
	t.Helper()
	called := namesOf(demo.Records(time.Now()))
	english := lay("")
	said, numbers := wordsOn(english), numbersOn(english)
	for _, code := range []string{"en", "de", "es"} {
		own := lay(code)
		if got := numbersOn(own); !slices.Equal(numbers, got) {
			t.Errorf("%s in %s: the numbers are\n%v, in English\n%v", name, code, got, numbers)
		}
		for _, page := range own.Pages {
			within(t, page)
			standApart(t, page)
		}
		for _, word := range wordsOn(own) {
			if code != "en" && slices.Contains(said, word) && !slices.Contains(called, word) && !slices.Contains(alike[code], word) {
				t.Errorf("%s in %s: %q is English", name, code, word)
			}
		}
	}
}

// alike are words that a language shares with English, and what is no word.
var alike = map[string][]string{
	"de": {"mm", "in", "arris", "CFR", "Station", "Block", "Blocks", "so", "April", "August", "September", "November"},
	"es": {"mm", "in", "arris", "CFR", "no", "manual", "rpm"},
}

func TestPaperInOtherLanguages(t *testing.T) {
	for name, ask := range asks {
		q := setup.Question{Common: ask}
		everyPaper(t, q, func(size paper.Size, q setup.Question) {
			papersIn(t, name, func(language string) paper.Document {
				q.Language = language
				d, _, err := maker().Setup(t.Context(), "07", q, size)
				if err != nil {
					t.Fatal(err)
				}
				return d
			})
		})
	}
}

// Every kind of gauge says in other languages what it says in English, wherever there is one, and is refused where there is none.
func TestGaugesInOtherLanguages(t *testing.T) {
	questions := map[string]setup.Question{"apart": apart(), "from inside": fromNow(150), "from outside": fromNow(220)}
	for name, ask := range asks {
		questions[name] = setup.Question{Common: ask}
	}
	drawn := map[sheet.Kind]int{}
	for name, q := range questions {
		for of, kind := range kinds {
			if _, _, err := maker().Gauges(t.Context(), kind, q, paper.A4); err != nil {
				continue // which kinds there are is tested elsewhere
			}
			drawn[kind]++
			everyPaper(t, q, func(size paper.Size, q setup.Question) {
				papersIn(t, of+" for "+name, func(language string) paper.Document {
					q.Language = language
					d, _, err := maker().Gauges(t.Context(), kind, q, size)
					if err != nil {
						t.Fatal(err)
					}
					return d
				})
			})
		}
	}
	for of, kind := range kinds {
		if drawn[kind] < 3 {
			t.Errorf("only %d questions have a gauge for %s", drawn[kind], of)
		}
	}
}

// fromNow is a question from where the pocket stands now.
func fromNow(slide unit.Length) setup.Question {
	q := setup.Question{Common: asked("bowl-50", "north", "bowl-gouge-12")}
	q.Now = &shop.Settings{Datum: shop.DatumSlide, Support: slide}
	return q
}

// everyPaper is for both sizes of paper and all units; on the narrower one with the longest numbers.
func everyPaper(t *testing.T, q setup.Question, do func(paper.Size, setup.Question)) {
	t.Helper()
	for _, of := range []struct {
		size    paper.Size
		lengths setup.LengthUnit
	}{{paper.A4, setup.Millimetres}, {paper.A4, setup.BothUnits}, {paper.Letter, setup.Inches}} {
		q.Unit = of.lengths
		do(of.size, q)
	}
}

// What matters on a label is on it in every language, on every size.
func TestLabelsInOtherLanguages(t *testing.T) {
	for size, stock := range stocks {
		for _, lengths := range []setup.LengthUnit{setup.Millimetres, setup.Inches, setup.BothUnits} {
			papersIn(t, "labels of "+size, func(language string) paper.Document {
				m := maker()
				m.Public = public
				d, err := m.Labels(t.Context(), sheet.Labels{Names: everything(), Stock: stock, Language: language, Unit: lengths})
				if err != nil {
					t.Fatal(err)
				}
				if text := textOf(d); strings.Contains(text, "…") {
					t.Errorf("labels of %s in %s: cut off: %s", size, language, text)
				}
				return d
			})
		}
	}
}

// A volume's last page has what is refused, whose reasons are in English, below a heading in the volume's language.
func TestMissingInOtherLanguages(t *testing.T) {
	papersIn(t, "missing", func(language string) paper.Document {
		in, err := setup.SpeechIn(language, setup.Millimetres)
		if err != nil {
			t.Fatal(err)
		}
		return maker().Missing(in, []sheet.Missing{{Key: "07", Why: "99"}, {Key: "08", Why: "98"}}, paper.A4)
	})
}

// namesOf are the words of what people called their things, and of their ids, as short ids have them as well.
func namesOf(records []any) (words []string) {
	for _, r := range records {
		for _, field := range []string{"Name", "DisplayName"} {
			if name := reflect.ValueOf(r).FieldByName(field); name.IsValid() {
				words = append(words, someWord.FindAllString(name.String()[strings.LastIndex(name.String(), "/")+1:], -1)...)
			}
		}
	}
	for _, w := range words {
		words = append(words, strings.ToUpper(w))
	}
	return words
}

var someWord, someNumber = regexp.MustCompile(`\p{L}{2,}`), regexp.MustCompile(`\d+([.,]\d+)?`)

func wordsOn(d paper.Document) []string { return someWord.FindAllString(textOf(d), -1) }

// numbersOn are the numbers on paper, but those of pages and of their heads: there may be more in a language with longer words.
func numbersOn(d paper.Document) []string {
	for i := range d.Pages {
		if i > 0 {
			d.Pages[i] = bodyOf(d.Pages[i])
		}
	}
	return numbersIn(regexp.MustCompile(`arris 1\.2\.3 · \p{L}+ \d+ \p{L}+ \d+|100 mm( = 3 15/16 in)?\.`).ReplaceAllString(textOf(d), ""))
}

// bodyOf is a further page without what stands above its first rule.
func bodyOf(p paper.Page) paper.Page {
	low := headEnd(p)
	return paper.Page{Size: p.Size, Marks: slices.DeleteFunc(slices.Clone(p.Marks), func(m paper.Mark) bool {
		w, is := m.(paper.Words)
		return is && w.At.Y < low
	})}
}

// headEnd is how far down a page's first rule across all of it runs; 0: there is none.
func headEnd(p paper.Page) (low float64) {
	for _, m := range p.Marks {
		l, is := m.(paper.Line)
		across := is && len(l.Points) == 2 && l.Points[0].Y == l.Points[1].Y && l.Points[1].X-l.Points[0].X > 0.85*p.Width
		if across && (low == 0 || l.Points[0].Y < low) {
			low = l.Points[0].Y
		}
	}
	return low
}

// numbersIn are a text's numbers.
func numbersIn(text string) []string {
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
