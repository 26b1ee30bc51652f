package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// Inside a bowl a tool rides on its edge and on the end of its land. Hollow arcs lie inside their chords, so only corners further back
// can touch first: where facets end, and the heel.

// TightestCurve is the smallest concave radius inside which no corner of the stack touches before the land's end does: the
// largest circle through edge, land end and a later corner. A stack of one bevel rides on edge and heel, and any curve takes it: 0.
func (s Stack) TightestCurve() unit.Length {
	var tightest unit.Length
	if len(s) == 0 {
		return 0
	}
	land := point2(s[0].End())
	for _, b := range s[1:] {
		tightest = max(tightest, circumradius(point2(b.End()), land))
	}
	return tightest
}

// vec2 is a place behind the edge and below the reference line.
type vec2 struct{ behind, below float64 }

func point2(behind, below unit.Length) vec2 { return vec2{float64(behind), float64(below)} }

func (a vec2) length() float64 { return math.Hypot(a.behind, a.below) }

// circumradius is the radius of the circle through the edge, a corner and the land's end between them: |EV| / (2 sin of the turn at the
// land's end). Without a turn inwards the corner never touches: 0.
func circumradius(corner, land vec2) unit.Length {
	on := vec2{corner.behind - land.behind, corner.below - land.below}
	// The surface turns towards the underside; a positive cross product is a corner that lies inside the land's chord prolonged.
	cross := land.below*on.behind - land.behind*on.below
	dot := land.behind*on.behind + land.below*on.below
	turn := math.Atan2(cross, dot)
	if turn <= 0 {
		return unit.Length(math.Inf(1)) // the corner stands at or outside the chord: it touches inside every curve
	}
	return unit.Length(corner.length() / (2 * math.Sin(turn)))
}

// Lift is the angle by which a land's chord lifts the edge off a curve of a radius: asin(L/2ρ). A land longer than the curve's diameter
// is a [*CurveError].
func Lift(land, curve unit.Length) (unit.Angle, error) {
	if !(land <= 2*curve) {
		return 0, &CurveError{Land: land, Curve: curve}
	}
	return unit.Angle(math.Asin(float64(land / (2 * curve)))), nil
}

// LongestLand is the longest land that lifts the edge no more than allowed: 2ρ sin(lift).
func LongestLand(curve unit.Length, lift unit.Angle) unit.Length {
	return 2 * curve * unit.Length(math.Sin(float64(lift)))
}

// UndersideRoom is the angle by which the bar's underside behind the heel clears a curve: the dip of the chord from edge to heel less the
// angle that the same chord makes with the curve. Below 0 the underside touches.
func (s Stack) UndersideRoom(curve unit.Length) unit.Angle {
	heel := point2(s.End())
	half := heel.length() / (2 * float64(curve))
	if half >= 1 {
		return unit.Angle(math.Inf(-1))
	}
	return unit.Angle(math.Atan2(heel.below, heel.behind) - math.Asin(half))
}

// ReliefFor is the largest front angle of a relief behind a land that still clears a curve, through steel of a depth: false where
// even one that runs along the reference line does not. The steeper the relief the further forward and the prouder its heel.
func (w Wheel) ReliefFor(land Hollow, curve, steel unit.Length) (unit.Angle, bool) {
	clears := func(front unit.Angle) bool {
		_, below := land.End()
		relief, err := w.HollowOfDepth(front, steel-below)
		if err != nil {
			return false
		}
		s, err := Stack{}.Then(land)
		if err == nil {
			s, err = s.Then(relief)
		}
		return err == nil && s.TightestCurve() <= curve
	}
	low, high := unit.Angle(1e-3)*unit.Degree, land.Far
	if !clears(low) {
		return 0, false
	}
	for range 60 {
		middle := (low + high) / 2
		if clears(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low, true
}

// CurveError tells that a land does not fit into a curve.
type CurveError struct{ Land, Curve unit.Length }

func (e *CurveError) Error() string {
	return fmt.Sprintf("a land of %v does not fit into a curve of radius %v", e.Land, e.Curve)
}
