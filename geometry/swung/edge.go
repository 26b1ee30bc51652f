package swung

import (
	"math"

	"arris.example/geometry/flute"
	"arris.example/geometry/space"
)

// Edge is a cutting edge: a plan laid on a flute's section, from one wing's end to the other's.
type Edge struct {
	Section flute.Section
	Plan    Plan
	// Where the wings end, as lengths along the section from the floor: Right to +side, Left to −side. Neither is negative.
	Right, Left float64
}

// Even is an edge whose wings are as long as each other.
func Even(section flute.Section, plan Plan, reach float64) Edge {
	return Edge{Section: section, Plan: plan, Right: reach, Left: reach}
}

// Point is a place on an edge.
type Point struct {
	Along float64   // along the flute's section from its floor, negative to −side
	At    space.Vec // from the nose
	Edge  space.Dir // the edge's own direction, towards +side
	Bend  space.Vec // the edge's curvature vector, 1/mm
	Flute space.Dir // normal of the flute's surface, out of the steel
	Rate  float64   // of the edge's own length per length along the section, ≥ 1
}

// At is the edge's point at a length along the flute's section from its floor.
func (e Edge) At(along float64) Point {
	section := e.Section.At(along)
	back, slope, bend := e.Plan.At(along)
	sin, cos := math.Sincos(section.Slope)

	first := space.Vec{Back: slope, Up: sin, Side: cos}
	second := space.Vec{Back: bend, Up: section.Curvature * cos, Side: -section.Curvature * sin}
	rate := math.Sqrt(1 + slope*slope)
	t := first.Times(1 / rate)
	return Point{
		Along: along,
		At:    space.Vec{Back: back, Up: section.Up, Side: section.Side},
		Edge:  t,
		Bend:  second.Across(t).Times(1 / (rate * rate)),
		Flute: space.Dir{Up: cos, Side: -sin},
		Rate:  rate,
	}
}

// Places are n places along the edge, evenly spaced along the flute's section on each wing, with the nose among them and both ends. An
// even n is taken as the next odd one, and less than 3 as 3.
func (e Edge) Places(n int) []float64 {
	half := max(1, n/2)
	places := make([]float64, 0, 2*half+1)
	for i := -half; i < 0; i++ {
		places = append(places, e.Left*float64(i)/float64(half))
	}
	for i := range half + 1 {
		places = append(places, e.Right*float64(i)/float64(half))
	}
	return places
}
