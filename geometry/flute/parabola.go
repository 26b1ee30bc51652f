package flute

import "math"

// A parabola whose radius at the vertex is 1 has, where its tangent is u (which is also how far to the side that is), the arc length
//
//	ℓ = (u q + asinh u)/2    q = √(1+u²)    so that    du/dℓ = 1/q    dslope/dℓ = 1/q³
//
// Walking an edge asks for u and the slope by ℓ many times. There is no closed form, so u and slope are expanded in Taylor series at even
// steps of ℓ. The nearest singularity is where q = 0, ℓ = ±iπ/4; within half a step of a knot the terms left out are below 1e-13.

// parabolaArc is the arc length from the vertex to where the tangent is u.
func parabolaArc(u float64) float64 {
	q := math.Sqrt(1 + u*u)
	return (u*q + math.Log1p(u+u*u/(1+q))) / 2
}

// parabolaAt is the tangent and the slope's angle at an arc length.
func parabolaAt(l float64) (u, slope float64) {
	if !(l < parabolaReach) {
		u = tangentAt(l)
		return u, math.Atan(u)
	}
	knot := int(l*perUnit + 0.5)
	k, x := &parabolaKnots[knot], l-float64(knot)/perUnit
	for i := order; i >= 0; i-- {
		u = u*x + k.u[i]
		slope = slope*x + k.slope[i]
	}
	return u, slope
}

// tangentAt inverts [parabolaArc] by Newton's method. The arc is convex in u, and the start is never below the answer, so every step goes
// down to it.
func tangentAt(l float64) float64 {
	u := min(l, math.Sqrt(2*l))
	for range 20 {
		next := u - (parabolaArc(u)-l)/math.Sqrt(1+u*u)
		if !(next < u) {
			break
		}
		u = next
	}
	return u
}

const (
	perUnit       = 16 // knots per unit of arc length
	parabolaReach = 8  // arc length up to which there are knots: twice as far as a flute's wall is of use
	order         = 8  // of the series
)

type series [order + 1]float64

// parabolaKnots are the series of tangent and slope about ℓ = i/perUnit.
var parabolaKnots = func() (knots [parabolaReach*perUnit + 1]struct{ u, slope series }) {
	for i := range knots {
		u, q := seriesOfTangent(tangentAt(float64(i) / perUnit))
		knots[i].u = u
		knots[i].slope = q.times(q).times(q).integral(math.Atan(u[0]))
	}
	return knots
}()

// seriesOfTangent expands, from the tangent at a place, the tangent u and p = 1/q. Term by term, u′ = p and p′ = −u p⁴.
func seriesOfTangent(tangent float64) (u, p series) {
	u[0], p[0] = tangent, 1/math.Sqrt(1+tangent*tangent)
	for n := 1; n <= order; n++ {
		u = p.integral(tangent)
		square := p.times(p)
		p[n] = -square.times(square).times(u)[n-1] / float64(n)
	}
	return u, p
}

// times is the product of two series.
func (a series) times(b series) (c series) {
	for i := range a {
		for j := range i + 1 {
			c[i] += a[j] * b[i-j]
		}
	}
	return c
}

// integral is the series whose derivative this is, from its value at the knot.
func (a series) integral(at float64) (c series) {
	c[0] = at
	for i := range order {
		c[i+1] = a[i] / float64(i+1)
	}
	return c
}
