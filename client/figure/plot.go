package figure

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"arris.example/geometry/drawing"
	arrisv1 "arris.example/proto/arris/v1"
)

// Limits on a plot, far beyond what an edge needs.
const (
	mostTicks  = 50   // of an axis
	farthestIn = 1e4  // percent, degrees
	leastRange = 1e-3 // of an axis
)

// dashes tell the lines of a plot apart, drawn and left out by turns; there are as many lines at most.
var dashes = [...][2]int{{1, 0}, {3, 3}, {1, 2}, {6, 2}}

// A plot is angles along an edge, ready to be drawn.
type plot struct {
	*arrisv1.EdgePlot
	frame drawing.Rect // percent and degrees; all lines lie in it
	lines [][]run      // of each series
	gaps  []stretch    // of the edge that the first series does not reach
}

// run is a line without a break.
type run []drawing.Point

// stretch is a part of the edge, in percent.
type stretch struct{ from, to float64 }

// newPlot takes a plot apart. What cannot be drawn is an error.
func newPlot(p *arrisv1.EdgePlot) (*plot, error) {
	if err := checkPlot(p); err != nil {
		return nil, err
	}
	t := &plot{EdgePlot: p, frame: drawing.Rect{Least: drawing.Pt(-100, p.GetLeastDeg()), Most: drawing.Pt(100, max(p.GetMostDeg(), p.GetLeastDeg()+leastRange))}}
	for i, s := range p.GetSeries() {
		runs, gaps := runsOf(s.GetPoints())
		t.lines = append(t.lines, runs)
		if i == 0 {
			t.gaps = gaps
		}
		for _, r := range runs {
			t.frame.Include(r...)
		}
	}
	return t, nil
}

// runsOf parts a line where it has no angle: a gap goes halfway to the points that have one.
func runsOf(points []*arrisv1.EdgeSeriesPoint) (runs []run, gaps []stretch) {
	for i, p := range points {
		fresh := i == 0 || (points[i-1].AngleDeg == nil) != (p.AngleDeg == nil)
		at := p.GetAlongPercent()
		before, after := points[max(i-1, 0)].GetAlongPercent(), points[min(i+1, len(points)-1)].GetAlongPercent()
		switch {
		case p.AngleDeg != nil && fresh:
			runs = append(runs, run{drawing.Pt(at, p.GetAngleDeg())})
		case p.AngleDeg != nil:
			runs[len(runs)-1] = append(runs[len(runs)-1], drawing.Pt(at, p.GetAngleDeg()))
		case fresh:
			gaps = append(gaps, stretch{(before + at) / 2, (at + after) / 2})
		default:
			gaps[len(gaps)-1].to = (at + after) / 2
		}
	}
	return runs, gaps
}

func checkPlot(p *arrisv1.EdgePlot) error {
	if n := len(p.GetSeries()); n > len(dashes) {
		return fmt.Errorf("plot has %d lines; at most %d can be told apart", n, len(dashes))
	}
	if n := max(len(p.GetAlongTicksPercent()), len(p.GetAngleTicksDeg())); n > mostTicks {
		return fmt.Errorf("plot has %d ticks on an axis; at most %d can be drawn", n, mostTicks)
	}
	numbers := append([]float64{p.GetLeastDeg(), p.GetMostDeg()}, p.GetAngleTicksDeg()...)
	numbers = append(numbers, p.GetAlongTicksPercent()...)
	texts, points := []string{p.GetTitle(), p.GetAlongLabel(), p.GetAngleLabel()}, 0
	for _, s := range p.GetSeries() {
		texts = append(texts, s.GetLabel())
		if points += len(s.GetPoints()); points > mostPoints {
			return fmt.Errorf("plot has more than %d points", mostPoints)
		}
		for _, at := range s.GetPoints() {
			numbers = append(numbers, at.GetAlongPercent(), at.GetAngleDeg())
		}
	}
	for _, v := range numbers {
		if err := checkNumber("a number of the plot", v, farthestIn); err != nil {
			return err
		}
	}
	for _, text := range texts {
		if err := checkText(text); err != nil {
			return err
		}
	}
	return nil
}

// tickText is a mark's number, with a minus sign and no more decimals than it has.
func tickText(v float64) string {
	return strings.Replace(strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64), "-", "−", 1)
}

// within are the ticks that lie on an axis.
func within(ticks []float64, least, most float64) []float64 {
	var list []float64
	for _, v := range ticks {
		if least-1e-9 <= v && v <= most+1e-9 {
			list = append(list, v)
		}
	}
	return list
}

// PlotTerminal writes the plot in characters, no line longer than the columns: a heading, the lines over their axes, and what each line
// is. Rows are those of the lines. A plot that cannot be drawn is an error, and nothing is written.
func PlotTerminal(w io.Writer, p *arrisv1.EdgePlot, o TerminalOptions) error {
	if o.Rows == 0 {
		o.Rows = usualPlotRows
	}
	if err := o.complete(); err != nil {
		return err
	}
	t, err := newPlot(p)
	if err != nil {
		return err
	}
	c := newPlotChart(t, o)
	_, err = io.WriteString(w, c.text())
	return err
}

const usualPlotRows = 14

// chart is a plot in characters: letters of the angle axis to the left of the lines, of the other below.
type chart struct {
	*plot
	TerminalOptions
	signs axisSigns
	left  int // columns before the lines
	lines *grid
}

// axisSigns are what axes are drawn with.
type axisSigns struct{ up, upTick, corner, across, acrossTick, gap rune }

var signs = map[bool]axisSigns{
	false: {'│', '┤', '└', '─', '┬', '×'},
	true:  {'|', '+', '+', '-', '+', 'x'},
}

func newPlotChart(t *plot, o TerminalOptions) *chart {
	c := &chart{plot: t, TerminalOptions: o, signs: signs[o.ASCII]}
	for _, v := range c.angleTicks() {
		c.left = max(c.left, columnsOf(plain(tickText(v), o.ASCII))+1)
	}
	c.left = min(c.left, o.Columns/2)
	wide := o.Columns - c.left - 1
	c.lines = newGrid(drawing.Rect{Least: drawing.Point{}, Most: drawing.Pt(float64(wide*dotsAcross-1), float64(o.Rows*dotsDown-1))}, 1, wide)
	for i, runs := range t.lines {
		for _, r := range runs {
			c.draw(r, dashes[i])
		}
	}
	return c
}

func (c *chart) angleTicks() []float64 {
	return within(c.GetAngleTicksDeg(), c.frame.Least.Y, c.frame.Most.Y)
}

func (c *chart) alongTicks() []float64 {
	return within(c.GetAlongTicksPercent(), c.frame.Least.X, c.frame.Most.X)
}

// dot is a point of the plot in dots of the lines' grid, y upwards.
func (c *chart) dot(p drawing.Point) drawing.Point {
	across, down := float64(c.lines.columns*dotsAcross-1), float64(c.lines.rows*dotsDown-1)
	return drawing.Pt(across*(p.X-c.frame.Least.X)/c.frame.Width(), down*(p.Y-c.frame.Least.Y)/c.frame.Height())
}

// column and row are the cells of a place on an axis.
func (c *chart) column(percent float64) int {
	return int(round(c.dot(drawing.Point{X: percent}).X)) / dotsAcross
}

func (c *chart) row(deg float64) int {
	_, y := c.lines.dot(c.dot(drawing.Point{Y: deg}))
	return int(round(y)) / dotsDown
}

// draw sets the dots of a line, of a broken one by turns. Far dots of a coarse line are joined first.
func (c *chart) draw(r run, dash [2]int) {
	on, step := dash[0], 0
	for i, p := range r {
		from, to := c.dot(r[max(i-1, 0)]), c.dot(p)
		steps := int(max(math.Abs(to.X-from.X), math.Abs(to.Y-from.Y))) + 1
		for j := range steps {
			at := from.Between(to, float64(j+1)/float64(steps))
			if x, y := c.lines.dot(at); step%(on+dash[1]) < on {
				c.lines.set(int(round(x)), int(round(y)), true)
			}
			step++
		}
	}
}

func (c *chart) text() string {
	var b strings.Builder
	line := func(text string) { b.WriteString(strings.TrimRight(text, " ") + "\n") }
	fitted := func(text string) { line(firstColumns(plain(text, c.ASCII), c.Columns)) }
	for _, text := range broken(plain(c.GetTitle(), c.ASCII), func(text string) bool { return columnsOf(text) <= c.Columns }) {
		fitted(text)
	}
	if c.GetAngleLabel() != "" {
		fitted(c.GetAngleLabel())
	}
	for row, text := range c.lines.lines(c.ASCII) {
		line(c.rowHead(row) + text)
	}
	line(c.acrossAxis())
	line(c.acrossNumbers())
	label := firstColumns(plain(c.GetAlongLabel(), c.ASCII), c.Columns)
	line(strings.Repeat(" ", max(0, min(c.left+1+(c.lines.columns-columnsOf(label))/2, c.Columns-columnsOf(label)))) + label)
	for i, s := range c.GetSeries() {
		fitted(legendLine(dashes[i], c.ASCII) + " " + s.GetLabel())
	}
	if len(c.gaps) > 0 {
		fitted(strings.Repeat(string(c.signs.gap), legendColumns) + " not reached")
	}
	return b.String()
}

// rowHead is the angle axis beside a row.
func (c *chart) rowHead(row int) string {
	for _, v := range c.angleTicks() {
		text := plain(tickText(v), c.ASCII)
		if c.row(v) == row && columnsOf(text) < c.left {
			return strings.Repeat(" ", c.left-1-columnsOf(text)) + text + " " + string(c.signs.upTick)
		}
	}
	return strings.Repeat(" ", c.left) + string(c.signs.up)
}

// acrossAxis is the lower axis, with its marks and what is not reached.
func (c *chart) acrossAxis() string {
	axis := []rune(strings.Repeat(string(c.signs.across), c.lines.columns))
	for _, v := range c.alongTicks() {
		axis[c.column(v)] = c.signs.acrossTick
	}
	for _, g := range c.gaps {
		for i := max(c.column(g.from), 0); i <= min(c.column(g.to), len(axis)-1); i++ {
			axis[i] = c.signs.gap
		}
	}
	return strings.Repeat(" ", c.left) + string(c.signs.corner) + string(axis)
}

// acrossNumbers are the numbers under the marks, without those that would touch one before.
func (c *chart) acrossNumbers() string {
	text, used := "", 0
	for _, v := range c.alongTicks() {
		number := plain(tickText(v), c.ASCII)
		at := min(c.left+1+c.column(v)-columnsOf(number)/2, c.Columns-columnsOf(number))
		if at < used || at < 0 {
			continue
		}
		text += strings.Repeat(" ", at-columnsOf(text)) + number
		used = at + columnsOf(number) + 1
	}
	return text
}

const legendColumns = 6

// legendLine is a piece of a line as the chart draws it.
func legendLine(dash [2]int, ascii bool) string {
	g := newGrid(drawing.Rect{Least: drawing.Point{}, Most: drawing.Pt(legendColumns*dotsAcross-1, dotsDown-1)}, 1, legendColumns)
	for i := range legendColumns * dotsAcross {
		g.set(i, dotsDown/2, i%(dash[0]+dash[1]) < dash[0])
	}
	text := g.lines(ascii)[0]
	return text + strings.Repeat(" ", legendColumns-columnsOf(text))
}

// firstColumns cuts a text at a width.
func firstColumns(text string, columns int) string {
	used := 0
	for i, r := range text {
		if used += columnsOf(string(r)); used > columns {
			return text[:i]
		}
	}
	return text
}

// broken is a text in lines that fit, parted between words; a word that fits nowhere has a line of its own.
func broken(text string, fits func(string) bool) (lines []string) {
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case fits(line + " " + word):
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
