package flute

import "math"

// off is how far a point lies inside the flute, square to its nearest wall (below 0 in the steel), and the wall's slope there.
func (s *Section) off(side, up float64) (distance, slope float64) {
	x, r := math.Abs(side), s.radius
	switch s.shape {
	case ShapeFlat:
		return up, 0
	case ShapeParabola:
		distance, slope = offParabola(x/r, up/r)
		return r * distance, slope
	}
	around := math.Atan2(x, r-up)
	if around <= s.wall {
		return r - math.Hypot(x, r-up), around
	}
	return r - x*s.sin - (r-up)*s.cos, s.wall
}

// offParabola is [Section.off] for a parabola of radius 1. The nearest place at t to the side satisfies t³/2 + t (1 − y) = x; its largest
// root is approached from above, where the cubic is convex.
func offParabola(x, y float64) (distance, slope float64) {
	t := math.Cbrt(2*x) + math.Sqrt(2*max(0, y-1))
	for range 60 {
		next := t - (t*t*t/2+t*(1-y)-x)/(1.5*t*t+1-y)
		if !(next < t) {
			break
		}
		t = next
	}
	distance = math.Hypot(t-x, t*t/2-y)
	if y < x*x/2 {
		distance = -distance
	}
	return distance, math.Atan(t)
}

// PinHeight is how far the lowest point of a pin laid along the flute, touching both walls, lies above the floor. It is 0 where the pin is
// thinner than the floor is round and rests on it; false where the flute's walls let no such pin in.
//
// A parabola's normal meets the axis a radius above where it starts, so a pin of radius ρ touches where side² = ρ² − r². In a V the pin's
// middle lies (ρ − r)/cos above the arc's.
func (s Section) PinHeight(diameter float64) (height float64, ok bool) {
	over := diameter/2 - s.radius
	switch {
	case s.shape == ShapeFlat || over <= 0:
		return 0, true
	case s.shape == ShapeParabola:
		return over * over / (2 * s.radius), true
	case s.cos > 0:
		return over * (1/s.cos - 1), true
	}
	return 0, false
}
