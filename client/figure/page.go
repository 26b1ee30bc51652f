package figure

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"arris.example/geometry/drawing"
	arrisv1 "arris.example/proto/arris/v1"
)

// Sizes of a page in millimetres as printed 160 wide; a page of another width is scaled whole.
const (
	pageMargin  = 4.0
	between     = 8.0 // of the two views
	highest     = 110 // of a view
	plotHeight  = 62  // from the lower axis to the upper end
	captionSize = 3.6
	letterSize  = 3.0
	rowHeight   = 5.0
	boldWidth   = 1.12 // of letters, beside those that are not
)

// EdgeSVG writes a whole edge on one page: the views from above and from the nose side by side and to one scale, below them the angles
// along the edge. What is drawn is as safe as SVG's; an edge without its views is an error.
func EdgeSVG(w io.Writer, e *arrisv1.Edge, o Options) error {
	if e.GetPlanView() == nil || e.GetEndView() == nil || e.GetWedgePlot() == nil {
		return errors.New("the edge has no views to draw")
	}
	if err := o.complete(); err != nil {
		return err
	}
	p := &page{Options: o, ink: inks[o.Dark]}
	bottom, err := p.views(e)
	if err != nil {
		return err
	}
	t, err := newPlot(e.GetWedgePlot())
	if err != nil {
		return err
	}
	return p.finish(w, p.plot(t, bottom), e.GetText())
}

// PlotSVG writes a plot as a document of its own.
func PlotSVG(w io.Writer, plot *arrisv1.EdgePlot, o Options) error {
	if err := o.complete(); err != nil {
		return err
	}
	t, err := newPlot(plot)
	if err != nil {
		return err
	}
	p := &page{Options: o, ink: inks[o.Dark]}
	return p.finish(w, p.plot(t, 0), "")
}

// page is a document of several drawings in the making; y runs down.
type page struct {
	Options
	ink ink
	out bytes.Buffer
}

// finish writes the document around what was drawn down to a height.
func (p *page) finish(w io.Writer, bottom float64, description string) error {
	size := drawing.Rect{Least: drawing.Pt(0, -bottom-pageMargin), Most: drawing.Pt(usualWidth, 0)}
	var whole bytes.Buffer
	whole.WriteString(document(p.WidthMM, p.WidthMM*size.Height()/size.Width(), size))
	fmt.Fprintf(&whole, "<title>%s</title>\n", escaped(p.Title))
	if description != "" {
		fmt.Fprintf(&whole, "<desc>%s</desc>\n", escaped(description))
	}
	fmt.Fprintf(&whole, `<rect x="0" y="0" width="%s" height="%s" fill="%s"/>`+"\n", mm(size.Width()), mm(size.Height()), p.ink.paper)
	whole.Write(p.out.Bytes())
	whole.WriteString("</svg>\n")
	_, err := w.Write(whole.Bytes())
	return err
}

func (p *page) printf(format string, args ...any) { fmt.Fprintf(&p.out, format, args...) }

func (p *page) text(x, y, size float64, anchor, weight, words string) {
	if words != "" {
		p.printf(`<text x="%s" y="%s" font-size="%s" text-anchor="%s" font-weight="%s" fill="%s">%s</text>`+"\n",
			mm(x), mm(y), mm(size), anchor, weight, p.ink.line, escaped(words))
	}
}

func (p *page) line(class string, width float64, dash [2]int, points ...drawing.Point) {
	var d strings.Builder
	for i, at := range points {
		d.WriteString(map[bool]string{true: "M", false: " L"}[i == 0] + mm(at.X) + " " + mm(at.Y))
	}
	dashed := ""
	if dash[1] > 0 {
		dashed = fmt.Sprintf(` stroke-dasharray="%s %s"`, mm(float64(dash[0])*0.8), mm(float64(dash[1])*0.8))
	}
	p.printf(`<path class="%s" d="%s" fill="none" stroke="%s" stroke-width="%s" stroke-linejoin="round"%s/>`+"\n", class, d.String(), p.ink.line,
		mm(width), dashed)
}

// views draws both views and gives back where they end.
func (p *page) views(e *arrisv1.Edge) (bottom float64, err error) {
	captions := [2]string{"Seen from above", "Seen from the nose"}
	figures := [2]*arrisv1.Figure{e.GetPlanView(), e.GetEndView()}
	room := usualWidth - 2*pageMargin - between
	share := max(figureOf(figures[0]).Frame().Width()+figureOf(figures[1]).Frame().Width(), leastRange)
	var drawn [2]*svg
	var views [2]drawing.Rect
	wide, high := 0.0, 0.0
	for i, f := range figures {
		part := Options{WidthMM: max(room*figureOf(f).Frame().Width()/share, 1), Dark: p.Dark}
		if drawn[i], err = laidOut(f, part); err != nil {
			return 0, fmt.Errorf("%s: %w", strings.ToLower(captions[i]), err)
		}
		views[i] = drawn[i].view()
		wide, high = wide+views[i].Width(), max(high, views[i].Height())
	}
	scale := min(room/wide, highest/high)
	left := pageMargin + (room-scale*wide)/2
	for i, s := range drawn {
		width := scale * views[i].Width()
		p.text(left, pageMargin+captionSize, captionSize, "start", "bold", captions[i])
		p.printf(`<svg x="%s" y="%s" width="%s" height="%s" viewBox="%s">`+"\n",
			mm(left), mm(pageMargin+2*captionSize), mm(width), mm(scale*views[i].Height()), viewBox(views[i]))
		s.content(views[i], captions[i], figures[i].GetDescription())
		p.out.Write(s.out.Bytes())
		p.printf("</svg>\n")
		left += width + between
	}
	return pageMargin + 2*captionSize + scale*high, nil
}

// plot draws the lines over their axes, below a height, and gives back where it ends.
func (p *page) plot(t *plot, top float64) (bottom float64) {
	y := top + pageMargin + captionSize
	p.printf("<g>\n<title>%s</title>\n", escaped(t.GetTitle()))
	for _, text := range broken(t.GetTitle(), func(text string) bool { return boldWidth*captionSize*letters(text) < usualWidth-2*pageMargin }) {
		p.text(pageMargin, y, captionSize, "start", "bold", text)
		y += rowHeight
	}
	y = p.legend(t, y+1)
	p.text(pageMargin, y, letterSize, "start", "normal", t.GetAngleLabel())
	a := axes{t.frame, drawing.Rect{Least: drawing.Pt(pageMargin+10, y+3), Most: drawing.Pt(usualWidth-pageMargin-3, y+3+plotHeight)}}
	p.axes(t, a)
	for i, runs := range t.lines {
		for _, r := range runs {
			p.run(a, r, dashes[i])
		}
	}
	y = a.paper.Most.Y + 2*letterSize + 1.5
	p.text((a.paper.Least.X+a.paper.Most.X)/2, y+letterSize, letterSize, "middle", "normal", t.GetAlongLabel())
	p.printf("</g>\n")
	return y + letterSize
}

// legend says what each line is.
func (p *page) legend(t *plot, y float64) float64 {
	x := pageMargin
	sample := func(words string, draw func(x float64)) {
		const length, gap = 12, 2.0
		wide := length + gap + letterSize*letters(words) + 2*gap
		if x > pageMargin && x+wide > usualWidth-pageMargin {
			x, y = pageMargin, y+rowHeight
		}
		draw(x)
		p.text(x+length+gap, y, letterSize, "start", "normal", words)
		x += wide
	}
	for i, s := range t.GetSeries() {
		sample(s.GetLabel(), func(x float64) {
			p.line("legend", seriesWidth, dashes[i], drawing.Pt(x, y-letterSize/3), drawing.Pt(x+12, y-letterSize/3))
		})
	}
	if len(t.gaps) > 0 {
		sample("not reached", func(x float64) {
			p.printf(`<rect class="legend" x="%s" y="%s" width="12" height="%s" fill="%s"/>`+"\n", mm(x), mm(y-letterSize*0.8), mm(letterSize), p.ink.support)
		})
	}
	return y + rowHeight + 1
}

const seriesWidth = 0.55

// axes put percent and degrees on paper.
type axes struct{ frame, paper drawing.Rect }

func (a axes) at(p drawing.Point) drawing.Point {
	return drawing.Pt(
		a.paper.Least.X+a.paper.Width()*(p.X-a.frame.Least.X)/a.frame.Width(),
		a.paper.Most.Y-a.paper.Height()*(p.Y-a.frame.Least.Y)/a.frame.Height())

}

// axes draws the marks with their numbers, the frame, and the parts of the edge that are not reached.
func (p *page) axes(t *plot, a axes) {
	for _, g := range t.gaps {
		from, to := a.at(drawing.Point{X: max(g.from, a.frame.Least.X)}).X, a.at(drawing.Point{X: min(g.to, a.frame.Most.X)}).X
		p.printf(`<rect class="gap" x="%s" y="%s" width="%s" height="%s" fill="%s"/>`+"\n",
			mm(from), mm(a.paper.Least.Y), mm(max(to-from, 0.5)), mm(a.paper.Height()), p.ink.support)
	}
	const hair, mark = 0.12, 1.0
	for _, v := range within(t.GetAngleTicksDeg(), a.frame.Least.Y, a.frame.Most.Y) {
		at := a.at(drawing.Pt(a.frame.Least.X, v))
		p.line("tick", hair, dashes[0], drawing.Pt(at.X-mark, at.Y), drawing.Pt(a.paper.Most.X, at.Y))
		p.text(at.X-mark-0.6, at.Y+letterSize*0.36, letterSize, "end", "normal", tickText(v))
	}
	for _, v := range within(t.GetAlongTicksPercent(), a.frame.Least.X, a.frame.Most.X) {
		at := a.at(drawing.Pt(v, a.frame.Least.Y))
		p.line("tick", hair, dashes[0], drawing.Pt(at.X, at.Y+mark), drawing.Pt(at.X, a.paper.Least.Y))
		p.text(at.X, at.Y+mark+letterSize, letterSize, "middle", "normal", tickText(v))
	}
	p.line("axis", 0.3, dashes[0], a.paper.Least, drawing.Pt(a.paper.Least.X, a.paper.Most.Y), a.paper.Most)
}

// run draws a line without a break; of a single point a dot.
func (p *page) run(a axes, r run, dash [2]int) {
	if len(r) == 1 {
		at := a.at(r[0])
		p.printf(`<circle class="series" cx="%s" cy="%s" r="0.6" fill="%s"/>`+"\n", mm(at.X), mm(at.Y), p.ink.line)
		return
	}
	points := make([]drawing.Point, len(r))
	for i, at := range r {
		points[i] = a.at(at)
	}
	p.line("series", seriesWidth, dash, points...)
}
