package geometry_test

import (
	"math"
	"math/big"
)

// The slow oracle knows no relation between angle and gap. It places the tool against the wheel point by point, in the wheel
// frame and in arithmetic of 256 bits, and measures.
//
// A place or a direction is a complex number: out is real, up imaginary. Turning is multiplication by a unit number, so no sine,
// cosine or arc function is needed before the last step.

const bits = 256

type plane struct{ out, up *big.Float }

func num(v float64) *big.Float           { return new(big.Float).SetPrec(bits).SetFloat64(v) }
func sum(a, b *big.Float) *big.Float     { return new(big.Float).SetPrec(bits).Add(a, b) }
func less(a, b *big.Float) *big.Float    { return new(big.Float).SetPrec(bits).Sub(a, b) }
func times(a, b *big.Float) *big.Float   { return new(big.Float).SetPrec(bits).Mul(a, b) }
func over(a, b *big.Float) *big.Float    { return new(big.Float).SetPrec(bits).Quo(a, b) }
func root(a *big.Float) *big.Float       { return new(big.Float).SetPrec(bits).Sqrt(a) }
func float(a *big.Float) float64         { f, _ := a.Float64(); return f }
func at(out, up float64) plane           { return plane{num(out), num(up)} }
func (a plane) plus(b plane) plane       { return plane{sum(a.out, b.out), sum(a.up, b.up)} }
func (a plane) minus(b plane) plane      { return plane{less(a.out, b.out), less(a.up, b.up)} }
func (a plane) mirrored() plane          { return plane{a.out, new(big.Float).Neg(a.up)} }
func (a plane) dot(b plane) *big.Float   { return sum(times(a.out, b.out), times(a.up, b.up)) }
func (a plane) cross(b plane) *big.Float { return less(times(a.out, b.up), times(a.up, b.out)) }
func (a plane) length() *big.Float       { return root(a.dot(a)) }
func (a plane) direction() plane         { l := a.length(); return plane{over(a.out, l), over(a.up, l)} }
func (a plane) turned(by plane) plane {
	return plane{less(times(a.out, by.out), times(a.up, by.up)), sum(times(a.out, by.up), times(a.up, by.out))}
}

var (
	downwards = at(0, -1)
	backwards = at(-1, 0)
)

// abrasive has its surface at the origin, facing out: a rim with its axle at −radius, or a flat face.
type abrasive struct {
	axle   plane
	radius *big.Float // nil: flat
}

func abrasiveOf(diameter float64) abrasive {
	if diameter == 0 {
		return abrasive{}
	}
	return abrasive{axle: at(-diameter/2, 0), radius: num(diameter / 2)}
}

// clearance has the sign of the distance from the surface, positive in the air.
func (s abrasive) clearance(p plane) *big.Float {
	if s.radius == nil {
		return p.out
	}
	from := p.minus(s.axle)
	return less(from.dot(from), times(s.radius, s.radius))
}

// outward is square to the surface at a place on it, away from the abrasive.
func (s abrasive) outward(p plane) plane {
	if s.radius == nil {
		return at(1, 0)
	}
	return p.minus(s.axle)
}

// slowGap puts the nose on the surface with the edge tangent along it, and measures how far away the pivot then is.
func slowGap(r rig) float64 {
	s, t := abrasiveOf(r.diameter), num(r.halfTan)
	tt := times(t, t)
	one := num(1)
	edge := plane{over(less(one, tt), sum(one, tt)), over(sum(t, t), sum(one, tt))}
	axis := downwards.turned(edge) // the bevel lies down along the surface, the axis an edge angle above it
	pivot := at(float64(r.pivot.Behind), -float64(r.pivot.Below)).turned(axis)
	if s.radius == nil {
		return float(pivot.out)
	}
	return float(less(pivot.minus(s.axle).length(), s.radius))
}

// slowEdgeAngle swings the tool about a pivot held at a gap until the nose touches the surface, by bisecting the pitch, and
// measures the angle between the tool's axis and the surface there.
func slowEdgeAngle(r rig, gap float64) float64 {
	s, pivot := abrasiveOf(r.diameter), at(gap, 0)
	nose := at(-float64(r.pivot.Behind), float64(r.pivot.Below)) // from the pivot, axis level
	place := func(pitch plane) plane { return pivot.plus(nose.turned(pitch)) }

	// From the nose pointing into the wheel to the nose pointing away from it, the axis sinks and the nose rises over the pivot.
	in := backwards.turned(nose.direction().mirrored())
	out := at(0, 0).minus(in)
	middle := in.turned(downwards)
	for range 64 { // 180° to 2e-19 rad
		if s.clearance(place(middle)).Sign() < 0 {
			in = middle
		} else {
			out = middle
		}
		middle = in.plus(out).direction()
	}
	tangent := s.outward(place(middle)).turned(downwards)
	return math.Atan2(float(tangent.cross(middle)), float(tangent.dot(middle)))
}
