package drawing

import (
	"math"
	"slices"

	"arris.example/geometry"
)

// A Drawing is a figure taken apart into strokes and labels, in millimetres, y upwards.
type Drawing struct {
	Strokes []Stroke
	Labels  []*Label
	Frame   Rect    // around all strokes
	Em      float64 // height of the letters
}

// Stroke is one line or area.
type Stroke struct {
	Points []Point // those of an arc lie on it, near enough to each other
	Bounds Rect
	Closed bool       // the last point is the first
	Arc    *CircleArc // of which the points are an approximation
	Head   bool       // of an arrow
	Centre bool       // one of two short lines that mark a centre: they cross in the middle of both
	Part   string
	Role   Role
}

// CircleArc is an arc as a stroke has it.
type CircleArc struct {
	Centre       Point
	Radius       float64
	Start, Sweep float64 // radians, counter-clockwise
}

// At is the point of its circle in a direction.
func (a CircleArc) At(angle float64) Point { return a.Centre.Along(angle, a.Radius) }

// Full tells whether it is a whole circle.
func (a CircleArc) Full() bool { return a.Sweep >= 2*math.Pi-1e-9 }

// flatten gives points on the arc, one every 5° and at least three.
func (a CircleArc) flatten() []Point {
	steps := max(2, int(math.Ceil(a.Sweep/(math.Pi/36))))
	points := make([]Point, steps+1)
	for i := range points {
		points[i] = a.At(a.Start + a.Sweep*float64(i)/float64(steps))
	}
	return points
}

// Take takes a figure apart, with letters as high as its frame asks for. Items without a shape are left out.
func Take(f *Figure, letterHeight func(frame Rect) float64) *Drawing {
	d := &Drawing{Frame: f.Frame()}
	d.Em = letterHeight(d.Frame)
	for _, item := range f.Items {
		d.take(item)
	}
	for _, s := range d.Strokes {
		d.Frame.Include(s.Points...)
	}
	d.markCentres()
	return d
}

// markCentres finds the lines that mark a centre. They follow one another.
func (d *Drawing) markCentres() {
	for i := 1; i < len(d.Strokes); i++ {
		a, b := &d.Strokes[i-1], &d.Strokes[i]
		if a.straight() && b.straight() && a.middle().Distance(b.middle()) < 1e-6*d.Em {
			a.Centre, b.Centre = true, true
		}
	}
}

// straight tells whether it is a single line of construction.
func (s *Stroke) straight() bool { return s.Role == RoleConstruction && len(s.Points) == 2 }

func (s *Stroke) middle() Point { return s.Points[0].Between(s.Points[1], 0.5) }

// Frame is the box the figure states, widened to what its shapes really reach.
func (f *Figure) Frame() Rect {
	r := EmptyRect()
	r.Include(at(f.Least), at(f.Most))
	for _, item := range f.Items {
		switch shape := item.Shape.(type) {
		case Path:
			for _, p := range shape.Points {
				r.Include(at(p))
			}
		case Arc:
			r.Include(arcOf(shape).flatten()...)
		case Dimension:
			r.Include(at(shape.From), at(shape.To))
		case Angle:
			r.Include(at(shape.Apex))
		case Text:
			r.Include(at(shape.At))
		}
	}
	return r
}

func at(p geometry.Point) Point { return Point{float64(p.Out), float64(p.Up)} }

func arcOf(a Arc) CircleArc {
	return CircleArc{at(a.Centre), float64(a.Radius), float64(a.Start), float64(a.Sweep)}
}

// take adds one item's strokes and label.
func (d *Drawing) take(item Item) {
	s := Stroke{Part: item.Part, Role: item.Role}
	switch shape := item.Shape.(type) {
	case Path:
		for _, p := range shape.Points {
			s.Points = append(s.Points, at(p))
		}
		if shape.Closed {
			s.Closed, s.Points = true, append(s.Points, s.Points[0])
		}
		d.add(s)
	case Arc:
		a := arcOf(shape)
		s.Arc, s.Points, s.Closed = &a, a.flatten(), a.Full()
		d.add(s)
	case Text:
		d.label(s, shape.Text, 2, around(at(shape.At), d.outlineOf(s.Part)))
	case Dimension:
		d.dimension(s, shape)
	case Angle:
		d.angle(s, shape)
	}
}

// outlineOf is the outline of the last area of a part; nil where it has none.
func (d *Drawing) outlineOf(part string) []Point {
	for _, s := range slices.Backward(d.Strokes) {
		if s.Part == part && s.Closed && !s.Head {
			return s.Points
		}
	}
	return nil
}

func (d *Drawing) add(s Stroke) {
	s.Bounds = EmptyRect()
	s.Bounds.Include(s.Points...)
	d.Strokes = append(d.Strokes, s)
}

// line adds a straight line that looks like another stroke.
func (d *Drawing) line(like Stroke, from, to Point) {
	like.Points = []Point{from, to}
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
func (d *Drawing) head(like Stroke, tip Point, direction float64) {
	like.Head, like.Closed = true, true
	base := tip.Along(direction, -headLength*d.Em)
	aside := direction + math.Pi/2
	like.Points = []Point{tip, base.Along(aside, headHalf*d.Em), base.Along(aside, -headHalf*d.Em), tip}
	d.add(like)
}

// dimension adds extension lines, the dimension line with its arrowheads, and the text along it.
func (d *Drawing) dimension(s Stroke, dim Dimension) {
	from, to, offset := at(dim.From), at(dim.To), float64(dim.Offset)
	way, aside := from.Direction(to), from.Direction(to)+math.Pi/2
	a, b := from.Along(aside, offset), to.Along(aside, offset)
	if math.Abs(offset) > d.Em {
		sign := math.Copysign(d.Em, offset)
		d.line(s, from.Along(aside, start*sign), a.Along(aside, overshoot*sign))
		d.line(s, to.Along(aside, start*sign), b.Along(aside, overshoot*sign))
	}
	if a.Distance(b) < 3*headLength*d.Em { // too short for both heads: they point inwards from outside
		out := (headLength + tail) * d.Em
		d.line(s, a.Along(way, -out), b.Along(way, out))
		d.head(s, a, way)
		d.head(s, b, way+math.Pi)
	} else {
		d.line(s, a, b)
		d.head(s, a, way+math.Pi)
		d.head(s, b, way)
	}
	d.label(s, dim.Text, 0, alongLine(a, b, math.Copysign(1, offset)))
}

// angle adds the arc with its arrowheads and the text near its middle.
func (d *Drawing) angle(s Stroke, angle Angle) {
	a := CircleArc{at(angle.Apex), float64(angle.Radius), float64(angle.Start), float64(angle.Sweep)}
	s.Arc, s.Points = &a, a.flatten()
	d.add(s)
	s.Arc = nil
	// A head lies on the chord that its own length cuts off.
	bend := 0.0
	if a.Radius > 0 {
		bend = headLength * d.Em / a.Radius / 2
	}
	if end := a.Start + a.Sweep; a.Sweep > 6*bend {
		d.head(s, a.At(a.Start), a.Start-math.Pi/2+bend)
		d.head(s, a.At(end), end+math.Pi/2-bend)
	} else {
		d.head(s, a.At(a.Start), a.Start+math.Pi/2)
		d.head(s, a.At(end), end-math.Pi/2)
	}
	d.label(s, angle.Text, 1, nearArc(a))
}
