package figure

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"arris.example/geometry/drawing"
	arrisv1 "arris.example/proto/arris/v1"
)

func TestTerminalKeepsToItsSize(t *testing.T) {
	f := sample(t)
	var texts []string
	for _, item := range f.GetItems() {
		if text := item.GetText().GetText() + item.GetDimension().GetText() + item.GetAngle().GetText(); text != "" {
			texts = append(texts, text)
		}
	}
	for _, ascii := range []bool{false, true} {
		for columns := fewestColumns; columns <= 200; columns += 9 {
			for _, rows := range []int{0, fewestRows, 24} {
				out := terminalOf(t, f, TerminalOptions{Columns: columns, Rows: rows, ASCII: ascii})
				lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
				for _, line := range lines {
					if n := utf8.RuneCountInString(line); n > columns {
						t.Errorf("%d columns: a line of %d", columns, n)
					}
					if ascii && len(line) != utf8.RuneCountInString(line) {
						t.Errorf("%q is not ASCII", line)
					}
				}
				if most := rows + 3*len(texts); rows != 0 && len(lines) > most {
					t.Errorf("%d columns, %d rows: %d lines", columns, rows, len(lines))
				}
				whole := strings.Join(lines, "") // texts below may be broken
				for _, text := range texts {
					if !strings.Contains(whole, plain(text, ascii)) {
						t.Errorf("%d columns, %d rows: %q is missing", columns, rows, text)
					}
				}
			}
		}
	}
}

// dotsOf gives back the dots of a Braille drawing.
func dotsOf(out string) (dots [][2]int) {
	for y, line := range strings.Split(out, "\n") {
		x := 0
		for _, r := range line {
			if r >= 0x2800 && r < 0x2900 {
				for bit, at := range [8][2]int{{0, 0}, {0, 1}, {0, 2}, {1, 0}, {1, 1}, {1, 2}, {0, 3}, {1, 3}} {
					if r>>bit&1 == 1 {
						dots = append(dots, [2]int{2*x + at[0], 4*y + at[1]})
					}
				}
			}
			x++
		}
	}
	return dots
}

// A circle must be round: its dots lie on a circle to within the dot they are rounded to.
func TestTerminalIsToScale(t *testing.T) {
	f := &arrisv1.Figure{Items: []*arrisv1.FigureItem{{Shape: &arrisv1.FigureItem_Arc{Arc: &arrisv1.FigureArc{
		Centre: &arrisv1.FigurePoint{OutMm: 30, UpMm: -20}, RadiusMm: 100, SweepDeg: 360}}}}}
	dots := dotsOf(terminalOf(t, f, TerminalOptions{Columns: 60, Rows: 24}))
	var x, y float64
	least, most := [2]int{1e6, 1e6}, [2]int{}
	for _, d := range dots {
		for i := range d {
			least[i], most[i] = min(least[i], d[i]), max(most[i], d[i])
		}
	}
	x, y = float64(least[0]+most[0])/2, float64(least[1]+most[1])/2
	radius := float64(most[1]-least[1]) / 2
	if radius < 45 || radius > 48 { // 24 rows of 4 dots
		t.Errorf("the circle is %v dots in radius, want 47.5", radius)
	}
	for _, d := range dots {
		if off := math.Hypot(float64(d[0])-x, float64(d[1])-y) - radius; math.Abs(off) > 1.1 {
			t.Errorf("dot %v lies %.2f dots off the circle", d, off)
		}
	}
}

func TestBrailleDotsStandWhereUnicodeHasThem(t *testing.T) {
	for at, want := range map[[2]int]rune{
		{0, 0}: '⠁', {0, 1}: '⠂', {0, 2}: '⠄', {0, 3}: '⡀', {1, 0}: '⠈', {1, 1}: '⠐', {1, 2}: '⠠', {1, 3}: '⢀',
	} {
		g := newGrid(drawing.Rect{Least: drawing.Pt(0, 0), Most: drawing.Pt(1, 3)}, 1, 1)
		g.set(at[0], at[1], true)
		if got := g.text(false); got != string(want)+"\n" {
			t.Errorf("dot %v is drawn as %q, want %q", at, got, want)
		}
	}
}

func TestPlainText(t *testing.T) {
	for _, c := range []struct {
		text, unicode, ascii string
		columns              int
	}{
		{"wheel Ø200 ± 0.5", "wheel Ø200 ± 0.5", "wheel dia. 200 +/- 0.5", 16},
		{"50° −3 ½", "50° −3 ½", "50 deg -3 1/2", 8},
		{"a\x1b[31mb\u202ec\td", "a?[31mb?c d", "a?[31mb?c d", 11},
		{"e\u0301", "e", "e", 1},
		{"研ぐ", "研ぐ", "??", 4},
	} {
		if got := plain(c.text, false); got != c.unicode || columnsOf(got) != c.columns {
			t.Errorf("%q is %q in %d columns, want %q in %d", c.text, got, columnsOf(got), c.unicode, c.columns)
		}
		if got := plain(c.text, true); got != c.ascii {
			t.Errorf("%q is %q in ASCII, want %q", c.text, got, c.ascii)
		}
	}
}

func ExampleTerminal() {
	at := func(out, up float64) *arrisv1.FigurePoint { return &arrisv1.FigurePoint{OutMm: out, UpMm: up} }
	figure := &arrisv1.Figure{Items: []*arrisv1.FigureItem{
		{Part: "wheel", Role: arrisv1.FigureRole_FIGURE_ROLE_WHEEL, Shape: &arrisv1.FigureItem_Arc{
			Arc: &arrisv1.FigureArc{Centre: at(0, 0), RadiusMm: 100, SweepDeg: 360}}},
		{Part: "wheel_gap", Role: arrisv1.FigureRole_FIGURE_ROLE_DIMENSION, Shape: &arrisv1.FigureItem_Dimension{
			Dimension: &arrisv1.FigureDimension{From: at(100, 0), To: at(208.5, 0), Text: "wheel gap 108.5 mm"}}},
	}}
	if err := Terminal(os.Stdout, figure, TerminalOptions{Columns: 60, Rows: 12, ASCII: true}); err != nil {
		fmt.Println(err)
	}
	// Output:
	//                  ..--"""""--..
	//                .''           ''.
	//              ,"                 ",
	//             _'                   '_
	//            .|                     |. wheel gap 108.5 mm
	//            |                       |
	//            |                       |""""""""""""
	//            '|                     |'
	//             ",                   ,"
	//              '_                 _'
	//                '..           ..'
	//                  ''--_____--''
}
