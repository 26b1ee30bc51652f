package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// Wheel is an abrasive surface by its curvature. The zero value is flat.
type Wheel struct {
	k float64 // 1/mm
}

// RoundWheel is a wheel of the given diameter, which must be positive.
func RoundWheel(diameter unit.Length) Wheel { return Wheel{k: 2 / float64(diameter)} }

// FlatAbrasive is a disc's face, a belt on its platen, a stone.
func FlatAbrasive() Wheel { return Wheel{} }

// Flat tells whether the abrasive has no curvature.
func (w Wheel) Flat() bool { return w.k == 0 }

// Curvature is 1/R in 1/mm, 0 for a flat abrasive.
func (w Wheel) Curvature() float64 { return w.k }

// Radius is the distance from axle to rim, infinite for a flat abrasive.
func (w Wheel) Radius() unit.Length { return unit.Length(1 / w.k) }

// Diameter is twice the radius.
func (w Wheel) Diameter() unit.Length { return unit.Length(2 / w.k) }

// GapTo is the distance of a point in the wheel frame from the abrasive surface, negative inside.
func (w Wheel) GapTo(p Point) unit.Length {
	if w.Flat() {
		return p.Out
	}
	return p.FromOrigin() - w.Radius()
}

// SurfaceSpeed is the speed of the rim in metres per second: π D n, with n in turns per minute.
func SurfaceSpeed(diameter unit.Length, rpm float64) float64 {
	return math.Pi * float64(diameter) * rpm / 60_000
}

// SpindleSpeed is the turns per minute that give a surface speed in metres per second: the inverse of [SurfaceSpeed].
func SpindleSpeed(diameter unit.Length, speed float64) float64 {
	return speed * 60_000 / (math.Pi * float64(diameter))
}

// Point is a place in the wheel frame.
type Point struct {
	Out, Up unit.Length
}

// FromOrigin is the distance from the axle.
func (p Point) FromOrigin() unit.Length {
	return unit.Length(math.Hypot(float64(p.Out), float64(p.Up)))
}

// Along is the point a distance further in a direction given by its angle above out.
func (p Point) Along(direction unit.Angle, distance unit.Length) Point {
	sin, cos := math.Sincos(float64(direction))
	return Point{p.Out + distance*unit.Length(cos), p.Up + distance*unit.Length(sin)}
}

// Elevation is the point's angle at the origin, 0 at axle height on the operator's side.
func (p Point) Elevation() unit.Angle {
	return unit.Angle(math.Atan2(float64(p.Up), float64(p.Out)))
}
