package figure

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// samplePlot is 50° at the nose and 70° at the ends, a straight line of 0.2° a percent, not reached from 60 to 80 %.
func samplePlot() *arrisv1.EdgePlot {
	p := &arrisv1.EdgePlot{
		Title: "Wedge angle along the edge", AlongLabel: "share of the wing in %", AngleLabel: "angle in degrees", LeastDeg: 40, MostDeg: 80,
		AlongTicksPercent: []float64{-100, -50, 0, 50, 100}, AngleTicksDeg: []float64{40, 60, 80},
		Series: []*arrisv1.EdgeSeries{{Label: "wedge angle"}, {Label: "bevel to the axis"}},
	}
	for at := -100.0; at <= 100; at += 10 {
		wedge, axis := &arrisv1.EdgeSeriesPoint{AlongPercent: at}, &arrisv1.EdgeSeriesPoint{AlongPercent: at}
		if at < 60 || at > 80 {
			wedge.AngleDeg, axis.AngleDeg = proto.Float64(50+math.Abs(at)/5), proto.Float64(45)
		}
		p.Series[0].Points, p.Series[1].Points = append(p.Series[0].Points, wedge), append(p.Series[1].Points, axis)
	}
	return p
}

func sampleEdge(t testing.TB) *arrisv1.Edge {
	return &arrisv1.Edge{PlanView: sample(t), EndView: sample(t), WedgePlot: samplePlot(), Text: "Wings of 8 mm & more."}
}

func plotSVG(t *testing.T, p *arrisv1.EdgePlot) []element {
	t.Helper()
	var b bytes.Buffer
	if err := PlotSVG(&b, p, Options{Title: "An <edge>"}); err != nil {
		t.Fatal(err)
	}
	return elements(t, b.String())
}

// Ticks and lines share one scale: what a line says is read off between the ticks' own places.
func TestPlotIsToScale(t *testing.T) {
	p := samplePlot()
	all := plotSVG(t, p)
	var ticks, lines [][]float64
	for _, e := range all {
		switch e.attr["class"] {
		case "tick":
			ticks = append(ticks, numbers(t, e.attr["d"]))
		case "series":
			lines = append(lines, numbers(t, e.attr["d"]))
		}
	}
	if len(ticks) != 8 || len(lines) != 4 {
		t.Fatalf("%d ticks and %d lines, want 8 and two of two runs", len(ticks), len(lines))
	}
	low, high, left, right := ticks[0][1], ticks[2][1], ticks[3][0], ticks[7][0]
	next := 0
	for _, at := range p.GetSeries()[0].GetPoints() {
		if at.AngleDeg == nil {
			continue
		}
		drawn := append(append([]float64{}, lines[0]...), lines[1]...)
		x, y := drawn[next], drawn[next+1]
		next += 2
		along, deg := -100+200*(x-left)/(right-left), 40+40*(low-y)/(low-high)
		if math.Abs(along-at.GetAlongPercent()) > 0.05 || math.Abs(deg-at.GetAngleDeg()) > 0.05 {
			t.Errorf("drawn at %.2f %% and %.2f°, want %v and %v", along, deg, at.GetAlongPercent(), at.GetAngleDeg())
		}
	}
}

// Lines differ without colour, the gap is shown and said, and the words are text.
func TestPlotNeedsNoColour(t *testing.T) {
	dashed, texts, gaps := map[string]bool{}, "", 0
	for _, e := range plotSVG(t, samplePlot()) {
		switch e.attr["class"] {
		case "series":
			dashed[e.attr["stroke-dasharray"]] = true
		case "gap":
			gaps++
		}
		texts += e.text + "\n"
	}
	if len(dashed) != 2 || gaps != 1 {
		t.Errorf("%d kinds of line and %d gaps, want 2 and 1", len(dashed), gaps)
	}
	for _, want := range []string{"An <edge>", "wedge angle", "bevel to the axis", "not reached", "angle in degrees", "−100"} {
		if !strings.Contains(texts, want) {
			t.Errorf("%q is not written", want)
		}
	}
}

func TestEdgePageHasAllThreeDrawings(t *testing.T) {
	var b bytes.Buffer
	if err := EdgeSVG(&b, sampleEdge(t), Options{}); err != nil {
		t.Fatal(err)
	}
	nested, described := 0, 0
	for i, e := range elements(t, b.String()) {
		switch {
		case e.name == "svg" && i > 0:
			nested++
			box, size := numbers(t, e.attr["viewBox"]), []float64{numbers(t, e.attr["width"])[0], numbers(t, e.attr["height"])[0]}
			if math.Abs(box[2]/size[0]-box[3]/size[1]) > 0.01*box[2]/size[0] {
				t.Errorf("a view of %v in %v is out of shape", box, size)
			}
		case e.name == "desc":
			described++
		}
	}
	if nested != 2 || described < 1 {
		t.Errorf("%d views, %d descriptions", nested, described)
	}
	if EdgeSVG(&b, &arrisv1.Edge{WedgePlot: samplePlot()}, Options{}) == nil {
		t.Error("an edge without views is drawn")
	}
}

func TestPlotThatCannotBeDrawnIsRefused(t *testing.T) {
	for name, spoil := range map[string]func(*arrisv1.EdgePlot){
		"NaN":     func(p *arrisv1.EdgePlot) { p.Series[0].Points[0].AngleDeg = proto.Float64(math.NaN()) },
		"far":     func(p *arrisv1.EdgePlot) { p.MostDeg = 1e300 },
		"lines":   func(p *arrisv1.EdgePlot) { p.Series = append(p.Series, p.Series[0], p.Series[0], p.Series[0]) },
		"ticks":   func(p *arrisv1.EdgePlot) { p.AngleTicksDeg = make([]float64, mostTicks+1) },
		"points":  func(p *arrisv1.EdgePlot) { p.Series[0].Points = make([]*arrisv1.EdgeSeriesPoint, mostPoints+1) },
		"letters": func(p *arrisv1.EdgePlot) { p.Title = strings.Repeat("x", mostText+1) },
	} {
		p := samplePlot()
		spoil(p)
		var b bytes.Buffer
		if PlotSVG(&b, p, Options{}) == nil || PlotTerminal(&b, p, TerminalOptions{}) == nil || b.Len() > 0 {
			t.Errorf("%s: is drawn", name)
		}
	}
}

func TestPlotInTerminalKeepsToItsSize(t *testing.T) {
	for _, ascii := range []bool{false, true} {
		for columns := fewestColumns; columns <= 200; columns += 9 {
			var b bytes.Buffer
			if err := PlotTerminal(&b, samplePlot(), TerminalOptions{Columns: columns, Rows: 8, ASCII: ascii}); err != nil {
				t.Fatal(err)
			}
			for _, line := range strings.Split(b.String(), "\n") {
				if columnsOf(line) > columns || ascii && len(line) != columnsOf(line) {
					t.Errorf("%d columns: %q", columns, line)
				}
			}
		}
	}
}

func ExamplePlotTerminal() {
	p := samplePlot()
	p.Series = p.Series[:1]
	if err := PlotTerminal(os.Stdout, p, TerminalOptions{Columns: 50, Rows: 6, ASCII: true}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// Wedge angle along the edge
	// angle in degrees
	// 80 +
	//    |--_.                                       _--
	//    |   '"'---._.
	// 60 +           '"'----_.      ._----'"'
	//    |                   '"'--'"'
	// 40 +
	//    ++----------+-----------+----------+xxxxxxxx--+
	//   -100        -50          0         50        100
	//                 share of the wing in %
	// ------ wedge angle
	// xxxxxx not reached
}
