// Package figure renders the drawings that the service answers with, as SVG and for a terminal. The service decides what is drawn
// and where; this package decides how lines look and finds places for the letters.
package figure

import (
	"math"

	arrisv1 "arris.example/proto/arris/v1"
)

// A drawing is a figure taken apart into strokes and labels, in millimetres, y upwards.
type drawing struct {
	strokes []stroke
	labels  []*label
	frame   rect    // around all strokes
	em      float64 // height of the letters
}

// stroke is one line or area.
type stroke struct {
	points []point // those of an arc lie on it, near enough to each other
	bounds rect
	closed bool // the last point is the first
	arc    *arc // of which the points are an approximation
	head   bool // of an arrow
	part   string
	role   arrisv1.FigureRole
}

type arc struct {
	centre       point
	radius       float64
	start, sweep float64 // radians, counter-clockwise
}

func (a arc) at(angle float64) point { return a.centre.along(angle, a.radius) }

func (a arc) full() bool { return a.sweep >= 2*math.Pi-1e-9 }

// flatten gives points on the arc, one every 5° and at least three.
func (a arc) flatten() []point {
	steps := max(2, int(math.Ceil(a.sweep/(math.Pi/36))))
	points := make([]point, steps+1)
	for i := range points {
		points[i] = a.at(a.start + a.sweep*float64(i)/float64(steps))
	}
	return points
}

// newDrawing takes a figure apart, with letters as high as the frame asks for. Shapes that this client does not know are left out;
// what cannot be drawn is an error.
func newDrawing(f *arrisv1.Figure, letterHeight func(frame rect) float64) (*drawing, error) {
	if err := check(f); err != nil {
		return nil, err
	}
	d := &drawing{frame: frameOf(f)}
	d.em = letterHeight(d.frame)
	for _, item := range f.GetItems() {
		d.take(item)
	}
	for _, s := range d.strokes {
		d.frame.include(s.points...)
	}
	return d, nil
}

// frameOf is the box the figure states, widened to what its paths and circles really reach.
func frameOf(f *arrisv1.Figure) rect {
	r := emptyRect()
	if f.GetLeast() != nil && f.GetMost() != nil {
		r.include(pointOf(f.GetLeast()), pointOf(f.GetMost()))
	}
	for _, item := range f.GetItems() {
		switch {
		case item.GetPath() != nil:
			for _, p := range item.GetPath().GetPoints() {
				r.include(pointOf(p))
			}
		case item.GetArc() != nil:
			r.include(arcOf(item.GetArc()).flatten()...)
		case item.GetDimension() != nil:
			r.include(pointOf(item.GetDimension().GetFrom()), pointOf(item.GetDimension().GetTo()))
		case item.GetAngle() != nil:
			r.include(pointOf(item.GetAngle().GetApex()))
		case item.GetText() != nil:
			r.include(pointOf(item.GetText().GetAt()))
		}
	}
	if r.empty() {
		r.include(point{})
	}
	return r
}

func pointOf(p *arrisv1.FigurePoint) point { return point{p.GetOutMm(), p.GetUpMm()} }

func arcOf(a *arrisv1.FigureArc) arc {
	return arc{pointOf(a.GetCentre()), a.GetRadiusMm(), radians(a.GetStartDeg()), radians(a.GetSweepDeg())}
}

func radians(deg float64) float64 { return deg * math.Pi / 180 }

// take adds one item's strokes and label.
func (d *drawing) take(item *arrisv1.FigureItem) {
	s := stroke{part: item.GetPart(), role: item.GetRole()}
	switch shape := item.GetShape().(type) {
	case *arrisv1.FigureItem_Path:
		for _, p := range shape.Path.GetPoints() {
			s.points = append(s.points, pointOf(p))
		}
		if shape.Path.GetClosed() {
			s.closed, s.points = true, append(s.points, s.points[0])
		}
		d.add(s)
	case *arrisv1.FigureItem_Arc:
		a := arcOf(shape.Arc)
		s.arc, s.points, s.closed = &a, a.flatten(), a.full()
		d.add(s)
	case *arrisv1.FigureItem_Text:
		d.text(s, shape.Text)
	case *arrisv1.FigureItem_Dimension:
		d.dimension(s, shape.Dimension)
	case *arrisv1.FigureItem_Angle:
		d.angle(s, shape.Angle)
	}
}

func (d *drawing) add(s stroke) {
	s.bounds = emptyRect()
	s.bounds.include(s.points...)
	d.strokes = append(d.strokes, s)
}

// line adds a straight line that looks like another stroke.
func (d *drawing) line(like stroke, from, to point) {
	like.points = []point{from, to}
	d.add(like)
}

// Sizes of dimensions, in letter heights.
const (
	headLength = 1.0
	headHalf   = 0.2  // half an arrowhead's width
	tail       = 1.2  // line behind an arrowhead that points inwards from outside
	start      = 0.3  // of an extension line off what is measured
	overshoot  = 0.45 // of an extension line beyond the dimension line
)

// head adds an arrowhead with its tip at a point, pointing in a direction.
func (d *drawing) head(like stroke, tip point, direction float64) {
	like.head, like.closed = true, true
	base := tip.along(direction, -headLength*d.em)
	aside := direction + math.Pi/2
	like.points = []point{tip, base.along(aside, headHalf*d.em), base.along(aside, -headHalf*d.em), tip}
	d.add(like)
}

// dimension adds extension lines, the dimension line with its arrowheads, and the text along it.
func (d *drawing) dimension(s stroke, dim *arrisv1.FigureDimension) {
	from, to := pointOf(dim.GetFrom()), pointOf(dim.GetTo())
	way, aside := from.direction(to), from.direction(to)+math.Pi/2
	a, b := from.along(aside, dim.GetOffsetMm()), to.along(aside, dim.GetOffsetMm())
	if math.Abs(dim.GetOffsetMm()) > d.em {
		sign := math.Copysign(d.em, dim.GetOffsetMm())
		d.line(s, from.along(aside, start*sign), a.along(aside, overshoot*sign))
		d.line(s, to.along(aside, start*sign), b.along(aside, overshoot*sign))
	}
	if a.distance(b) < 3*headLength*d.em { // too short for both heads: they point inwards from outside
		out := (headLength + tail) * d.em
		d.line(s, a.along(way, -out), b.along(way, out))
		d.head(s, a, way)
		d.head(s, b, way+math.Pi)
	} else {
		d.line(s, a, b)
		d.head(s, a, way+math.Pi)
		d.head(s, b, way)
	}
	d.label(s, dim.GetText(), 0, alongLine(a, b, math.Copysign(1, dim.GetOffsetMm())))
}

// angle adds the arc with its arrowheads and the text near its middle.
func (d *drawing) angle(s stroke, angle *arrisv1.FigureAngle) {
	a := arc{pointOf(angle.GetApex()), angle.GetRadiusMm(), radians(angle.GetStartDeg()), radians(angle.GetSweepDeg())}
	s.arc, s.points = &a, a.flatten()
	d.add(s)
	s.arc = nil
	// A head lies on the chord that its own length cuts off.
	bend := 0.0
	if a.radius > 0 {
		bend = headLength * d.em / a.radius / 2
	}
	if end := a.start + a.sweep; a.sweep > 6*bend {
		d.head(s, a.at(a.start), a.start-math.Pi/2+bend)
		d.head(s, a.at(end), end+math.Pi/2-bend)
	} else {
		d.head(s, a.at(a.start), a.start+math.Pi/2)
		d.head(s, a.at(end), end-math.Pi/2)
	}
	d.label(s, angle.GetText(), 1, nearArc(a))
}

func (d *drawing) text(s stroke, text *arrisv1.FigureText) {
	d.label(s, text.GetText(), 2, around(pointOf(text.GetAt())))
}
