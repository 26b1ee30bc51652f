package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// Slide moves a support in a straight line: at reading t it stands at Origin + t in Direction.
type Slide struct {
	Origin    Point
	Direction unit.Angle // of growing readings: 0 outwards, 90° up
}

// At is the place of the support at a reading.
func (s Slide) At(reading unit.Length) Point { return s.Origin.Along(s.Direction, reading) }

// Readings are the readings at which the support stands at a gap from the wheel: two on a round wheel, the smaller first, one on a
// flat abrasive (both results equal); false where the slide never comes that near, or never leaves.
func (s Slide) Readings(w Wheel, gap unit.Length) (low, high unit.Length, ok bool) {
	sin, cos := math.Sincos(float64(s.Direction))
	x, y := float64(s.Origin.Out), float64(s.Origin.Up)
	if w.Flat() {
		t := unit.Length((float64(gap) - x) / cos)
		return t, t, math.Abs(cos) > 1e-9 // square to the face within 0.3 µm over 300 mm: it never moves away
	}
	d := float64(w.Radius() + gap)
	p, q := x*cos+y*sin, x*sin-y*cos // along the slide to its nearest place; its distance from the axle
	if !(math.Abs(q) <= d) {
		return 0, 0, false
	}
	half := math.Sqrt((d - q) * (d + q))
	return unit.Length(-p - half), unit.Length(-p + half), true
}

// GapPerReading is the change of gap per millimetre of reading: the cosine of the angle between slide and line of centres. Near 0
// the slide is square to it and a reading fixes the gap badly the other way round.
func (s Slide) GapPerReading(w Wheel, reading unit.Length) float64 {
	sin, cos := math.Sincos(float64(s.Direction))
	if w.Flat() {
		return cos
	}
	at := s.At(reading)
	d := float64(at.FromOrigin())
	if d == 0 {
		return 1 // from the axle itself every way leads out
	}
	return (float64(at.Out)*cos + float64(at.Up)*sin) / d
}

// NearestApproach is the least distance from the axle that the slide's line has.
func (s Slide) NearestApproach() unit.Length {
	sin, cos := math.Sincos(float64(s.Direction))
	return unit.Length(math.Abs(float64(s.Origin.Out)*sin - float64(s.Origin.Up)*cos))
}
