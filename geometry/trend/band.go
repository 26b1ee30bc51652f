package trend

import "math"

// Band is a straight line between the two curves of its prediction interval: value + slope·u ± reach·√(base + spread·u²), where u runs from
// the place at which the band is narrowest. For a line through n points that is their mean, base is 1 + 1/n and spread 1/Σ(x − mean)².
type Band struct{ centre, value, slope, reach, base, spread float64 }

// At is the line's value at x and how far on either side of it the band reaches: infinite where nothing tells.
func (b Band) At(x float64) (value, halfWidth float64) {
	u := x - b.centre
	return b.value + b.slope*u, b.reach * math.Sqrt(b.base+b.spread*u*u)
}

// Until is the largest x up to which, starting from a place, the band's half-width stays within a limit; infinite if it always does. False
// if it is beyond it at the start.
func (b Band) Until(limit, from float64) (x float64, ok bool) {
	_, half := b.At(from)
	if !(half <= limit) || math.IsInf(half, 1) {
		return from, false
	}
	ratio := limit / b.reach
	return max(from, b.centre+math.Sqrt(max(0, ratio*ratio-b.base)/b.spread)), true
}

// Passing is where the line and the bounds of its band are at a value; infinite where one never is.
type Passing struct{ Lower, Line, Upper float64 }

// Passes is where, at or after a place, the line and each bound are at a value first.
func (b Band) Passes(value, from float64) Passing {
	above := b.value - value // of the line, at the band's narrowest
	next := func(u float64) float64 {
		rounding := 1e-12 * (math.Abs(b.centre) + math.Abs(u))
		if x := b.centre + u; x >= from || from-x < rounding {
			return max(x, from)
		}
		return math.Inf(1)
	}
	p := Passing{Lower: math.Inf(1), Line: next(-above / b.slope), Upper: math.Inf(1)}
	if above == 0 && b.slope == 0 {
		p.Line = from
	}
	if b.reach == 0 {
		return Passing{p.Line, p.Line, p.Line}
	}
	for _, u := range b.meets(above) {
		if u.line >= 0 {
			p.Lower = min(p.Lower, next(u.at))
		}
		if u.line <= 0 {
			p.Upper = min(p.Upper, next(u.at))
		}
	}
	return p
}

// meeting is a place where a bound is at a value, and how far the line lies above the value there.
type meeting struct{ at, line float64 }

// meets are the places where (above + slope·u)² = reach²·(base + spread·u²). Where the slope is steeper than the band ever opens, u is
// counted from where the line meets the value: one root on either side of it, however narrow the band is.
func (b Band) meets(above float64) []meeting {
	square := b.reach * b.reach
	steeper := b.slope*b.slope - square*b.spread
	var found []meeting
	if steeper > 0 {
		line := -above / b.slope
		for _, z := range roots(steeper, -square*b.spread*line, -square*(b.base+b.spread*line*line)) {
			found = append(found, meeting{line + z, b.slope * z})
		}
		return found
	}
	for _, u := range roots(steeper, above*b.slope, above*above-square*b.base) {
		found = append(found, meeting{u, above + b.slope*u})
	}
	return found
}

// roots of a x² + 2 b x + c, without cancelling; those that are none are infinite or NaN.
func roots(a, b, c float64) []float64 {
	q := b*b - a*c
	if !(q >= 0) {
		return nil
	}
	q = -(b + math.Copysign(math.Sqrt(q), b))
	return []float64{q / a, c / q}
}
