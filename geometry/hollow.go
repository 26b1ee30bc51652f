package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// Hollow is one ground bevel: an arc of the wheel from a front end to a heel end. On a flat abrasive it is straight.
type Hollow struct {
	Front   unit.Angle  // tangent at the front end; of the first bevel the edge angle
	Reading unit.Angle  // of the chord: what a protractor shows
	Far     unit.Angle  // tangent at the heel end
	Chord   unit.Length // front end to heel end
	Depth   unit.Length // of the hollow below the chord
}

// End is the heel end, seen from the front end.
func (h Hollow) End() (behind, below unit.Length) {
	sin, cos := math.Sincos(float64(h.Reading))
	return h.Chord * unit.Length(cos), h.Chord * unit.Length(sin)
}

// HollowOfChord is the bevel that starts with the given tangent and has the given chord. A chord longer than the wheel's
// diameter is a [*BevelError].
//
// Sagitta and half-angle of a chord: any handbook of mensuration.
func (w Wheel) HollowOfChord(front unit.Angle, chord unit.Length) (Hollow, error) {
	half := w.k * float64(chord) / 2 // sine of half the arc's angle
	if !(half <= 1) || !(chord >= 0) {
		return Hollow{}, &BevelError{Front: front, Size: chord, Most: w.Diameter(), What: "chord"}
	}
	turn := unit.Angle(math.Asin(half))
	return Hollow{
		Front:   front,
		Reading: front + turn,
		Far:     front + 2*turn,
		Chord:   chord,
		Depth:   unit.Length(half * float64(chord) / 2 / (1 + math.Sqrt(1-half*half))),
	}, nil
}

// HollowOfDepth is the bevel that starts with the given tangent and runs out where the steel, of the given depth below the front
// end, ends. A reading above 90° means that the heel stands ahead of the edge. Where the arc never gets that deep it is a
// [*BevelError].
func (w Wheel) HollowOfDepth(front unit.Angle, steel unit.Length) (Hollow, error) {
	sin, cos := math.Sincos(float64(front))
	t := float64(steel)
	u := 2*t*cos - w.k*t*t
	under := sin*sin + w.k*u
	if !(under >= 0) || !(t > 0) || !(sin+math.Sqrt(under) > 0) {
		return Hollow{}, &BevelError{Front: front, Size: steel, Most: unit.Length((1 + cos) / w.k), What: "steel"}
	}
	x := u / (sin + math.Sqrt(under))
	return w.HollowOfChord(front, unit.Length(math.Hypot(x, t)))
}

// FrontOfReading is the tangent at the front end of a bevel whose protractor reading and chord are known.
func (w Wheel) FrontOfReading(reading unit.Angle, chord unit.Length) (unit.Angle, error) {
	half := w.k * float64(chord) / 2
	if !(half <= 1) || !(chord >= 0) {
		return 0, &BevelError{Front: reading, Size: chord, Most: w.Diameter(), What: "chord"}
	}
	return reading - unit.Angle(math.Asin(half)), nil
}

// ChordThrough is the chord of a bevel with the given reading through steel of the given depth.
func ChordThrough(reading unit.Angle, steel unit.Length) unit.Length {
	return steel / unit.Length(math.Sin(float64(reading)))
}

// BevelError tells that a wheel cannot grind a bevel of that size.
type BevelError struct {
	Front unit.Angle
	Size  unit.Length
	Most  unit.Length
	What  string // "chord" or "steel"
}

func (e *BevelError) Error() string {
	return fmt.Sprintf("a bevel from %v cannot have %v of %s; at most %v", e.Front, e.Size, e.What, e.Most)
}
