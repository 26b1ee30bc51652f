package paper_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"golang.org/x/text/unicode/norm"

	"arris.example/deploy/chance"
	"arris.example/deploy/outside"
	"arris.example/service/internal/paper"
)

// names that tools might have, in scripts that join, run leftwards, or put marks on letters.
var names = []string{"מפסלת קערה", "שָׁלוֹם", "مثقار الوعاء", "لا الأجنحة", "مِثقار", "میخواهم", "ߒߞߏ", "q\u0308uer x\u0301", "Việt Nam", "Ζήτα"}

// Names are as wide as HarfBuzz's own program sets them in the same faces, without kerning: every letter joined, every mark put where it belongs.
func TestWidthsAgainstAnother(t *testing.T) {
	for bold, face := range map[bool][]byte{false: dejavusans.TTF, true: dejavusansbold.TTF} {
		file := filepath.Join(t.TempDir(), "face.ttf")
		if err := os.WriteFile(file, face, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			const perEm = 2048
			want, got := 0, 0.0
			for word := range strings.FieldsSeq(name) {
				out := outside.Run(t, "libharfbuzz-bin", "hb-shape", "--no-clusters", "--no-glyph-names", "--features=-kern", "--font-file="+file, "--text="+norm.NFC.String(word))
				for _, at := range regexp.MustCompile(`\+(\d+)`).FindAllStringSubmatch(out, -1) {
					advance, _ := strconv.Atoi(at[1])
					want += advance
				}
				got += paper.Width(word, perEm, bold)
			}
			if math.Abs(got-float64(want)) > 0.5 {
				t.Errorf("%q, bold %v: %.1f wide, want %d", name, bold, got, want)
			}
		}
	}
}

// read is a text as another program reads it off a page, without marks of direction, and letters that are joined taken apart again.
func read(t *testing.T, text string) string {
	t.Helper()
	var out bytes.Buffer
	if err := paper.PDF(&out, paper.Document{Pages: []paper.Page{said(text)}}); err != nil {
		t.Fatal(err)
	}
	file := kept(t, out.Bytes())
	outside.Run(t, "qpdf", "qpdf", "--check", file)
	back := norm.NFC.String(norm.NFKC.String(outside.Run(t, "poppler-utils", "pdftotext", "-raw", file, "-")))
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Bidi_Control, r) {
			return -1
		}
		return r
	}, back))
}

// The words of a name are read back letter by letter in the order in which they were typed, whichever way they run. (The order of words that
// run leftwards, and of marks on their letters, is each reader's guess: not tested.)
func TestNamesReadBack(t *testing.T) {
	for _, name := range names {
		got := read(t, name)
		for word := range strings.FieldsSeq(norm.NFC.String(name)) {
			switch first, _ := utf8.DecodeRuneInString(word); {
			case unicode.Is(unicode.Nko, first):
				continue // poppler takes it to run rightwards
			case unicode.In(first, unicode.Hebrew, unicode.Arabic):
				word, got = unmarked(word), unmarked(got)
			}
			if !strings.Contains(got, word) {
				t.Errorf("%q is read as %q", word, got)
			}
		}
	}
}

func unmarked(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.M, r) {
			return -1
		}
		return r
	}, text)
}

// Numbers beside a name stay beside it though it runs leftwards, or says that what follows does.
func TestIsolatedNames(t *testing.T) {
	for name, seen := range map[string]string{
		"אבן 200":           "200 ןבא",
		"wheel":             "wheel",
		"\u202ewheel\u2067": "wheel",
		"wheel אב":          "wheel בא",
		"12 אב":             "בא 12",
	} {
		want := "Wheel " + seen + ", ⌀ 187.4 mm"
		if got := paper.Visual("Wheel " + paper.Isolate(name) + ", ⌀ 187.4 mm"); got != want {
			t.Errorf("%q is seen as %q, want %q", name, got, want)
		}
	}
}

// Whatever a text consists of, it breaks into lines that fit, that have all its letters in order, and that can be printed.
func TestWrapAnything(t *testing.T) {
	random := chance.New(t)
	pools := [][]rune{[]rune("ab ‐-é½⌀\u00a0"), []rune("אבג שָׁ 12"), []rune("لامِثقار ٥٠\u200c\u200d"), []rune("\u0301\u0302\u0316\u200b\u202e\u2066\u2067\u2069\ufe0f"), []rune("🪵中हिन्दी\ufffc\ufffd\ue000")}
	page := paper.Page{Size: paper.A4}
	for range 400 {
		var text strings.Builder
		pool := pools[random.IntN(len(pools))]
		for range random.IntN(150) {
			if random.IntN(6) == 0 {
				pool = pools[random.IntN(len(pools))]
			}
			text.WriteRune(pool[random.IntN(len(pool))])
		}
		of := text.String()
		if random.IntN(2) == 0 {
			of = paper.Isolate(of) + ", ⌀ 200 mm"
		}
		room, size := 5+60*random.Float64(), 5.0
		lines := paper.Wrap(of, room, size, false)
		for _, line := range lines {
			if wide := paper.Width(line, size, false); wide > room+1e-9 && len(strings.Fields(line)) > 1 {
				t.Errorf("%q is %.2f wide, has %.2f", line, wide, room)
			}
			page.Write(10, 10+random.Float64()*200, size, false, line)
		}
		if got, want := letters(strings.Join(lines, "")), letters(of); got != want {
			t.Errorf("%q became %q", want, got)
		}
	}
	var out bytes.Buffer
	if err := paper.PDF(&out, paper.Document{Pages: []paper.Page{page}}); err != nil {
		t.Fatal(err)
	}
	file := kept(t, out.Bytes())
	outside.Run(t, "qpdf", "qpdf", "--check", file)
	outside.Run(t, "poppler-utils", "pdftoppm", "-r", "20", file, file)
}

// letters are a text without blanks and marks of direction.
func letters(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.Is(unicode.Bidi_Control, r) {
			return -1
		}
		return r
	}, text)
}

// Marks do not pile up into other lines.
func TestMarksStayNear(t *testing.T) {
	for _, base := range []string{"Z", "מ", "م"} {
		text := base + strings.Repeat("\u0304\u0331", 40)
		if got := len([]rune(paper.Settable(text, false))); got > 4 {
			t.Errorf("%q keeps %d marks", base, got-1)
		}
	}
}

// A name of the most letters that one may have costs no more than a moment, in any script.
func BenchmarkWrapNames(b *testing.B) {
	for _, letter := range []string{"x", "م", "שָׁ"} {
		b.Run(fmt.Sprintf("%+q", letter), func(b *testing.B) {
			name := strings.Repeat(letter, 500)
			for b.Loop() {
				paper.Wrap(name, 60, 3.6, false)
			}
		})
	}
}
