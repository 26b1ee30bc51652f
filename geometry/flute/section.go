package flute

import "math"

// Section is a flute's cross-section, symmetrical about the tool's plane, walked by arc length from its floor. It is made by [Parabola],
// [Round], [Vee] or [Flat]; the zero Section is flat. [Section.Check] says whether its sizes make a flute; with others the methods' answers
// have no meaning.
type Section struct {
	shape  Shape
	radius float64 // at the floor
	wall   float64 // what the straight walls rise at, from the horizontal

	// Where the straight walls begin, and their direction.
	bend     float64 // arc length from the floor
	side, up float64
	cos, sin float64
}

// Shape is a family of flutes.
type Shape int

// The shapes.
const (
	ShapeFlat     Shape = iota // no flute
	ShapeParabola              // one number: the radius at the floor
	ShapeRound                 // a U; one number: its radius
	ShapeVee                   // two numbers: the radius at the floor and what the walls rise at
)

func (s Shape) String() string {
	switch s {
	case ShapeParabola:
		return "parabola"
	case ShapeRound:
		return "U"
	case ShapeVee:
		return "V"
	case ShapeFlat:
		return "flat"
	}
	return "unknown"
}

// Parabola is the flute up = side²/(2·radius), whose floor has the radius.
func Parabola(radius float64) Section { return Section{shape: ShapeParabola, radius: radius} }

// Round is a U: half a circle of the radius, then walls straight up.
func Round(radius float64) Section {
	s := Vee(radius, math.Pi/2)
	s.shape = ShapeRound
	return s
}

// Vee is an arc of the radius at the floor, then straight walls that rise at an angle from the horizontal. [Round] is the one whose walls
// rise at 90°.
func Vee(radius, wall float64) Section {
	sin, cos := math.Sincos(wall)
	if wall == math.Pi/2 {
		cos = 0
	}
	half := math.Sin(wall / 2)
	return Section{
		shape: ShapeVee, radius: radius, wall: wall,
		bend: radius * wall, side: radius * sin, up: 2 * radius * half * half,
		cos: cos, sin: sin,
	}
}

// Flat is no flute: a flat upper face.
func Flat() Section { return Section{} }

// Shape is the family the flute belongs to.
func (s Section) Shape() Shape { return s.shape }

// FloorRadius is the section's radius at its floor, infinite where there is no flute.
func (s Section) FloorRadius() float64 {
	if s.shape == ShapeFlat {
		return math.Inf(1)
	}
	return s.radius
}

// Wall is the angle the straight walls rise at, 0 for a shape that has none.
func (s Section) Wall() float64 { return s.wall }

// Place is a point of the section.
type Place struct {
	Side, Up  float64 // mm; Side keeps the sign of along
	Slope     float64 // angle of the tangent, in the direction of growing along, from the side direction: negative on the negative side
	Curvature float64 // of the section there, 1/mm, towards the flute's inside, ≥ 0
}

// At is the place at an arc length from the floor; along < 0 is the other wall.
func (s Section) At(along float64) Place {
	l := math.Abs(along)
	p := s.at(l)
	if along < 0 {
		p.Side, p.Slope = -p.Side, -p.Slope
	}
	return p
}

func (s *Section) at(l float64) Place {
	switch {
	case s.shape == ShapeFlat:
		return Place{Side: l}
	case s.shape == ShapeParabola:
		u, slope := parabolaAt(l / s.radius)
		q2 := 1 + u*u
		return Place{s.radius * u, s.radius * u * u / 2, slope, 1 / (s.radius * q2 * math.Sqrt(q2))}
	case l <= s.bend:
		sin, cos := math.Sincos(l / s.radius / 2)
		return Place{2 * s.radius * sin * cos, 2 * s.radius * sin * sin, l / s.radius, 1 / s.radius}
	}
	on := l - s.bend
	return Place{s.side + on*s.cos, s.up + on*s.sin, s.wall, 0}
}

// AlongAt is the arc length to a half-width, with its sign; false where the flute is never that wide.
func (s Section) AlongAt(side float64) (float64, bool) {
	w := math.Abs(side)
	l, ok := s.alongAt(w)
	return math.Copysign(l, side), ok
}

func (s Section) alongAt(w float64) (float64, bool) {
	switch {
	case s.shape == ShapeFlat:
		return w, true
	case s.shape == ShapeParabola:
		return s.radius * parabolaArc(w/s.radius), true
	case w <= s.side:
		return s.radius * math.Asin(min(1, w/s.radius)), true
	case s.cos > 0:
		return s.bend + (w-s.side)/s.cos, true
	}
	return 0, false
}

// areaBeside is the area between the tool's plane and one wall, from the floor to an arc length: ∫ side d(up).
func (s Section) areaBeside(l float64) float64 {
	p := s.at(l)
	switch {
	case s.shape == ShapeFlat:
		return 0
	case s.shape == ShapeParabola:
		return p.Side * p.Side * p.Side / (3 * s.radius)
	case l <= s.bend:
		return s.radius * s.radius * halfSegment(p.Slope)
	}
	return s.radius*s.radius*halfSegment(s.wall) + (s.side+p.Side)/2*(p.Up-s.up)
}

// halfSegment is the area of half a circular segment of radius 1, from its middle to an angle a: (a − sin a cos a)/2.
func halfSegment(a float64) float64 { return (a - math.Sin(a)*math.Cos(a)) / 2 }
