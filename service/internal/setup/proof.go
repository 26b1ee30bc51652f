package setup

import (
	"math"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// Proof is a step checked by another route: the tool is put in place as it is set, turned until its edge touches the wheel, and the angle
// measured there. Nothing of the planar relation or its inverse is used.
type Proof struct {
	Step       int
	Edge       unit.Angle
	Difference unit.Angle // from the step's prediction
	Lines      []string
}

// proofs checks every stand of a plan.
func (x *search) proofs(p plan, steps []Step) []Proof {
	list := make([]Proof, 0, len(p))
	for i := range p {
		y := x.at(p[i].bevel)
		edge := y.turnedUntilItTouches(p[i])
		list = append(list, Proof{Step: i, Edge: edge, Difference: edge - steps[i].Predicted.Edge, Lines: y.proofLines(p[i], edge)})
	}
	return list
}

// turnedUntilItTouches finds the angle at a stand's front end by placing points. With the axle at the origin (of a flat abrasive a point
// on its face) the support stands at its distance; the tool is turned about the pivot, or pushed along the table, until the front end
// is on the surface; the tangent there is square to the radius.
func (x *search) turnedUntilItTouches(s stand) unit.Angle {
	r := 0.0 // a flat face is the line at 0
	if !x.surface.Flat() {
		r = float64(x.surface.Radius())
	}
	if x.support.Kind == shop.Platform {
		return x.pushedUntilItTouches(s, r)
	}
	support := r + float64(s.set.gap)
	// The front end's distance from the surface, with the tool's axis pitched by an angle about the support.
	place := func(pitch float64) (out, up float64) {
		sin, cos := math.Sincos(pitch)
		a, h := float64(s.pivot.Behind), float64(s.pivot.Below)
		return support - a*cos - h*sin, -a*sin + h*cos
	}
	clearance := func(pitch float64) float64 {
		out, up := place(pitch)
		if r == 0 {
			return out
		}
		return math.Hypot(out, up) - r
	}
	// Pointing at the axle the front end is nearest; turned up from there, the handle down, it leaves the wheel.
	nearest := math.Atan2(float64(s.pivot.Below), float64(s.pivot.Behind))
	pitch := bisect(clearance, nearest, nearest-math.Pi)
	out, up := place(pitch)
	tangent := math.Atan2(up, out) - math.Pi/2
	if r == 0 {
		tangent = -math.Pi / 2
	}
	return unit.Angle(math.Remainder(pitch-tangent, 2*math.Pi))
}

// pushedUntilItTouches slides the tool down a table along its reference line until its front end meets the rim.
func (x *search) pushedUntilItTouches(s stand, r float64) unit.Angle {
	if r == 0 {
		return s.set.tilt + 90*unit.Degree
	}
	e := float64(s.set.line)
	along := bisect(func(t float64) float64 { return math.Hypot(t, e) - r }, 0, 2*r)
	// At (along, e) the tangent points square to the radius; the line points outwards.
	return unit.Angle(math.Atan2(along, e))
}

// bisect finds where a function that is below 0 at one end and above it at the other is 0.
func bisect(f func(float64) float64, below, above float64) float64 {
	for range 200 {
		middle := (below + above) / 2
		if f(middle) < 0 {
			below = middle
		} else {
			above = middle
		}
	}
	return (below + above) / 2
}

// proofLines are what went into a check.
func (x *search) proofLines(s stand, edge unit.Angle) []string {
	lines := []string{x.say("wheel: flat")}
	if !x.surface.Flat() {
		lines[0] = x.say("wheel: radius %s", x.mm(x.surface.Radius()))
	}
	found := x.in.Number(edge.Degrees(), 4) + "°"
	if x.support.Kind == shop.Platform {
		return append(lines, x.say("reference line: %s from the axle", x.mm(s.set.line)), x.say("pushed until it touches: %s", found))
	}
	return append(lines,
		x.say("pivot: %s behind and %s below the bevel's front end", x.mm(s.pivot.Behind), x.mm(s.pivot.Below)),
		x.say("support: %s from the wheel's surface", x.mm(s.set.gap)),
		x.say("turned until it touches: %s", found))
}
