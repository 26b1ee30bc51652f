package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// How far a wheel may wear before an edge angle has changed by a tolerance: each datum that can be held solved for the wheel. The drift
// per millimetre of diameter is [Wheel.PerDiameterAtPivot], [Wheel.PerDiameterAtGap] and [Wheel.PerDiameterAtLine]; today's angle is
// [Wheel.EdgeAngle] or [Wheel.LineAngle] asked of today's wheel.

// DiameterAtPivot is the diameter at which a pivot left at a distance from the axle grinds the edge angle: the law of cosines solved for
// R, the larger where two wheels do. False where none does.
func DiameterAtPivot(p Pivot, edge unit.Angle, toAxle unit.Length) (unit.Length, bool) {
	larger, _ := diametersAtPivot(p, edge, toAxle)
	return larger, larger > 0 && tangentReach(p, edge) >= 0
}

// diametersAtPivot are both roots; what is not above 0, or NaN, is none.
func diametersAtPivot(p Pivot, edge unit.Angle, toAxle unit.Length) (larger, smaller unit.Length) {
	along, d := tangentReach(p, edge), float64(toAxle)
	c := radialReach(p, edge)
	root := math.Sqrt((d - along) * (d + along))
	return unit.Length(2 * (root - c)), unit.Length(2 * (-root - c))
}

// radialReach is r sin(β − δ): how far the pivot lies outside the wheel's tangent at the nose, mm.
func radialReach(p Pivot, edge unit.Angle) float64 {
	sin, cos := math.Sincos(float64(edge))
	return float64(p.Behind)*sin - float64(p.Below)*cos
}

// DiameterAtGap is the diameter at which a pivot at a gap from the wheel grinds the edge angle. False where none does.
func DiameterAtGap(p Pivot, edge unit.Angle, gap unit.Length) (unit.Length, bool) {
	g, r := float64(gap), float64(p.Reach())
	diameter := unit.Length((g - r) * (g + r) / (radialReach(p, edge) - g))
	return diameter, isDiameter(diameter) && tangentReach(p, edge) >= 0
}

// DiameterAtLine is the diameter at which a reference line left at a distance from the axle grinds the edge angle. False where none
// does.
func DiameterAtLine(edge unit.Angle, line unit.Length) (unit.Length, bool) {
	diameter := 2 * line / unit.Length(math.Cos(float64(edge)))
	return diameter, isDiameter(diameter)
}

func isDiameter(d unit.Length) bool { return d > 0 && !math.IsInf(float64(d), 1) }

// WearBand is the range of diameters within which an edge angle stays within a tolerance while one datum is held. Smallest is 0 where no
// wear takes it out, Largest infinite where no larger wheel does.
type WearBand struct{ Smallest, Largest unit.Length }

// BandAtPivot is how far a wheel's diameter may change before a pivot left where it is grinds an edge angle a tolerance away, or no longer
// reaches the wheel.
func (w Wheel) BandAtPivot(p Pivot, edge, tolerance unit.Angle) WearBand {
	toAxle := w.Radius() + w.Gap(p, edge)
	keenLarger, keenSmaller := diametersAtPivot(p, withinReach(p, edge-tolerance), toAxle)
	bluntLarger, bluntSmaller := diametersAtPivot(p, withinReach(p, edge+tolerance), toAxle)
	return w.band(keenLarger, keenSmaller, bluntLarger, bluntSmaller)
}

// BandAtGap is how far a wheel's diameter may change before a pivot kept at its gap grinds an edge angle a tolerance away, or no longer
// reaches the wheel.
func (w Wheel) BandAtGap(p Pivot, edge, tolerance unit.Angle) WearBand {
	gap := w.Gap(p, edge)
	keen, _ := DiameterAtGap(p, withinReach(p, edge-tolerance), gap)
	blunt, _ := DiameterAtGap(p, withinReach(p, edge+tolerance), gap)
	return w.band(keen, blunt)
}

// BandAtLine is how far a wheel's diameter may change before a platform left where it is grinds an edge angle a tolerance away.
func (w Wheel) BandAtLine(edge, tolerance unit.Angle) WearBand {
	line := w.LineFor(edge)
	keen, _ := DiameterAtLine(max(0, edge-tolerance), line)
	blunt, _ := DiameterAtLine(min(math.Pi, edge+tolerance), line)
	return w.band(keen, blunt)
}

// band is the range round the wheel's own diameter between the places where a limit is met. A flat abrasive has no diameter to wear.
func (w Wheel) band(limits ...unit.Length) WearBand {
	b := WearBand{Largest: unit.Length(math.Inf(1))}
	if w.Flat() {
		return b
	}
	for _, d := range limits {
		if isDiameter(d) && d <= w.Diameter() {
			b.Smallest = max(b.Smallest, d)
		}
		if isDiameter(d) && d >= w.Diameter() {
			b.Largest = min(b.Largest, d)
		}
	}
	return b
}

// withinReach is the angle, or the nearest at which the nose touches a wheel: β − δ between −90° and 90°.
func withinReach(p Pivot, edge unit.Angle) unit.Angle {
	return min(max(edge, p.Dip()-quarterTurn), p.Dip()+quarterTurn)
}

// AroundToDiameter is a wheel's diameter from the length of a strip or tape laid around it, less the tape's own thickness: the tape's
// middle is what keeps its length.
func AroundToDiameter(around, thickness unit.Length) unit.Length {
	return around/math.Pi - thickness
}
