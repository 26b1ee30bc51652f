package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// How far a wheel may wear before an edge angle has changed by a tolerance: each datum that can be held solved for the wheel.

// DiameterAtPivot is the diameter at which a pivot left at a distance from the axle grinds the edge angle: the law of cosines solved for
// R. False where no wheel does.
func DiameterAtPivot(p Pivot, edge unit.Angle, toAxle unit.Length) (unit.Length, bool) {
	along := tangentReach(p, edge)
	sin, cos := math.Sincos(float64(edge))
	c := float64(p.Behind)*sin - float64(p.Below)*cos
	d := float64(toAxle)
	if !(math.Abs(along) <= d) {
		return 0, false
	}
	r := math.Sqrt((d-along)*(d+along)) - c
	return unit.Length(2 * r), r > 0
}

// DiameterAtGap is the diameter at which a pivot at a gap from the wheel grinds the edge angle. False where none does.
func DiameterAtGap(p Pivot, edge unit.Angle, gap unit.Length) (unit.Length, bool) {
	sin, cos := math.Sincos(float64(edge))
	c := float64(p.Behind)*sin - float64(p.Below)*cos
	g, r := float64(gap), float64(p.Reach())
	diameter := (g - r) * (g + r) / (c - g)
	return unit.Length(diameter), diameter > 0 && !math.IsInf(diameter, 0)
}

// DiameterAtLine is the diameter at which a reference line left at a distance from the axle grinds the edge angle. False where none
// does.
func DiameterAtLine(edge unit.Angle, line unit.Length) (unit.Length, bool) {
	diameter := 2 * line / unit.Length(math.Cos(float64(edge)))
	return diameter, diameter > 0
}

// AroundToDiameter is a wheel's diameter from the length of a strip or tape laid around it, less the tape's own thickness: the tape's
// middle is what keeps its length.
func AroundToDiameter(around, thickness unit.Length) unit.Length {
	return around/math.Pi - thickness
}
