package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// The planar relation: a pivot `a` behind and `h` below the nose, held at a gap g from a wheel of curvature k, grinds the edge
// angle β when
//
//	g + k g²/2 = a sin β − h cos β + k (a² + h²)/2
//
// which is the law of cosines on axle, pivot and nose, d² = R² + r² + 2R (a sin β − h cos β), with d = R + g and both sides
// divided by 2R. Written so it holds for a flat abrasive too.

// LeastConditioning is the smallest cos(β − δ) that is still worth setting: below it a millimetre of gap moves the angle by
// more than 20 times what it does square on (more than 11° on a 100 mm reach).
const LeastConditioning = 0.05

// Gap is the distance from pivot to wheel surface at which the edge angle is ground. It is defined for every angle; whether it
// makes sense is for [Wheel.EdgeAngle] and [Conditioning] to say.
func (w Wheel) Gap(p Pivot, edge unit.Angle) unit.Length {
	sin, cos := math.Sincos(float64(edge))
	a, h := float64(p.Behind), float64(p.Below)
	c := a*sin - h*cos + w.k*(a*a+h*h)/2
	// 1 + 2kc is (d/R)²: rounding alone can take it below zero, when the pivot is on the axle.
	return unit.Length(2 * c / (1 + math.Sqrt(max(0, 1+2*w.k*c))))
}

// EdgeAngle is the edge angle ground with the pivot at a gap from the wheel: the inverse of [Wheel.Gap] on the branch with
// |β − δ| < 90°. A [*ReachError] says that no pose brings the nose to the wheel.
func (w Wheel) EdgeAngle(p Pivot, gap unit.Length) (unit.Angle, error) {
	r, g, k := float64(p.Reach()), float64(gap), w.k
	tooNear1, tooNear2 := g+r, 2+k*(g-r)
	tooFar1, tooFar2 := r-g, 2+k*(g+r)
	if !(tooNear1 >= 0 && tooNear2 >= 0 && tooFar1 >= 0 && tooFar2 > 0) || r == 0 {
		return 0, w.reachError(p, gap)
	}
	turn := 2 * math.Atan2(math.Sqrt(tooNear1*tooNear2), math.Sqrt(tooFar1*tooFar2))
	return p.Dip() + unit.Angle(turn-math.Pi/2), nil
}

// ReachError tells that a gap lies outside what the tool can span.
type ReachError struct {
	Gap         unit.Length
	Least, Most unit.Length // the gaps at which the nose can touch the wheel at all
}

func (e *ReachError) Error() string {
	return fmt.Sprintf("the pivot is %v from the wheel; the nose touches it from %v to %v only", e.Gap, e.Least, e.Most)
}

func (w Wheel) reachError(p Pivot, gap unit.Length) error {
	least, most := w.Reachable(p)
	return &ReachError{Gap: gap, Least: least, Most: most}
}

// Reachable is the range of gaps, from 0 up, at which the nose can touch the wheel in some pose.
func (w Wheel) Reachable(p Pivot) (least, most unit.Length) {
	r := p.Reach()
	if !w.Flat() {
		least = max(0, r-2*w.Radius())
	}
	return least, r
}

// Conditioning is cos(β − δ): 1 where the wheel's tangent is square to the line from nose to pivot, 0 where the angle no longer
// follows the gap.
func Conditioning(p Pivot, edge unit.Angle) float64 {
	return tangentReach(p, edge) / float64(p.Reach())
}

// tangentReach is r cos(β − δ): how far the pivot lies from the nose along the wheel's tangent, mm.
func tangentReach(p Pivot, edge unit.Angle) float64 {
	sin, cos := math.Sincos(float64(edge))
	return float64(p.Behind)*cos + float64(p.Below)*sin
}

// Sensitivity is how the edge angle follows what fixes it, each with the others held. The derivatives come from the planar
// relation as an implicit function: every one is a short term over r cos(β − δ).
type Sensitivity struct {
	Gap       float64 // rad/mm, the gap from pivot to wheel surface
	Behind    float64 // rad/mm
	Below     float64 // rad/mm
	Curvature float64 // rad·mm, at the same gap
}

// Sensitivity of the edge angle at a pivot, angle and gap that satisfy the planar relation.
func (w Wheel) Sensitivity(p Pivot, edge unit.Angle, gap unit.Length) Sensitivity {
	sin, cos := math.Sincos(float64(edge))
	a, h, g := float64(p.Behind), float64(p.Below), float64(gap)
	inv := 1 / (a*cos + h*sin)
	return Sensitivity{
		Gap:       (1 + w.k*g) * inv,
		Behind:    -(sin + w.k*a) * inv,
		Below:     (cos - w.k*h) * inv,
		Curvature: (g*g - a*a - h*h) / 2 * inv,
	}
}

// PerDiameterAtGap is the change of the edge angle per millimetre of diameter with the gap held, rad/mm.
func (w Wheel) PerDiameterAtGap(s Sensitivity) float64 { return -s.Curvature * w.k * w.k / 2 }

// PerDiameterAtPivot is the change of the edge angle per millimetre of diameter with the support where it is, rad/mm: the gap
// then opens by half of what the wheel loses.
func (w Wheel) PerDiameterAtPivot(s Sensitivity) float64 {
	return w.PerDiameterAtGap(s) - s.Gap/2
}

// Behind is how far behind the nose a pivot `below` the reference line must lie to grind the edge angle at a gap: the planar
// relation solved for a. The second result is false where no length does.
func (w Wheel) Behind(edge unit.Angle, below, gap unit.Length) (unit.Length, bool) {
	sin, cos := math.Sincos(float64(edge))
	h, g := float64(below), float64(gap)
	q := g + h*cos + w.k*(g*g-h*h)/2
	under := sin*sin + 2*w.k*q
	if under < 0 {
		return 0, false
	}
	a := 2 * q / (sin + math.Sqrt(under))
	return unit.Length(a), a > 0
}

// LegAngles are the leg angles of a swing holder that grind the edge angle at a stick-out and gap: none, or two that may
// coincide, the smaller first, both in (−180°, 180°]. The relation is linear in the cosine and sine of the leg angle.
func (w Wheel) LegAngles(s SwingHolder, stickOut unit.Length, edge unit.Angle, gap unit.Length) (low, high unit.Angle, ok bool) {
	sin, cos := math.Sincos(float64(edge))
	a0, h0 := float64(stickOut+s.JointBehindFace), float64(s.JointBelowAxis)
	leg, g, k := float64(s.Leg), float64(gap), w.k
	// leg·(x cos λ + y sin λ) = z
	x, y := sin+k*a0, k*h0-cos
	z := g + k*g*g/2 - (a0*sin - h0*cos + k*(a0*a0+h0*h0+leg*leg)/2)
	amplitude := leg * math.Hypot(x, y)
	if !(math.Abs(z) <= amplitude) {
		return 0, 0, false
	}
	middle := math.Atan2(y, x)
	half := math.Atan2(math.Sqrt((amplitude-z)*(amplitude+z)), z)
	a, b := normalise(unit.Angle(middle-half)), normalise(unit.Angle(middle+half))
	return min(a, b), max(a, b), true
}
