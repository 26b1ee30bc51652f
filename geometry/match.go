package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// Measured is the edge angle of a bevel that somebody measured, with how it follows what was measured.
type Measured struct {
	Edge    unit.Angle
	Reading unit.Angle
	PerMM   MeasuredPerMM
}

// MeasuredPerMM is how a measured edge angle follows what was measured, each with the others held: rad/mm. Radius is of the wheel that
// ground the bevel.
type MeasuredPerMM struct{ Chord, Steel, Radius float64 }

// MatchChord is the edge angle of a bevel from its chord, the steel's depth below the edge, and the wheel that ground it: the chord falls
// by the steel's depth, sin = t/L, and the edge is half the arc keener. A chord that is not longer than the steel is deep, or not
// shorter than the wheel's diameter, is a [*ChordError].
func (w Wheel) MatchChord(chord, steel unit.Length) (Measured, error) {
	l, t := float64(chord), float64(steel)
	half := w.k * l / 2
	if !(t > 0 && l > t && half < 1) {
		return Measured{}, &ChordError{Chord: chord, Steel: steel, Most: w.Diameter()}
	}
	flat, arc := math.Sqrt((l-t)*(l+t)), math.Sqrt((1-half)*(1+half))
	reading := unit.Angle(math.Atan2(t, flat))
	return Measured{
		Edge:    reading - unit.Angle(math.Atan2(half, arc)),
		Reading: reading,
		PerMM: MeasuredPerMM{
			Chord:  -t/(l*flat) - w.k/(2*arc),
			Steel:  1 / flat,
			Radius: w.k * half / arc,
		},
	}, nil
}

// ChordError tells that no bevel has that chord through that steel.
type ChordError struct{ Chord, Steel, Most unit.Length }

func (e *ChordError) Error() string {
	if !(e.Steel > 0) {
		return fmt.Sprintf("the steel under the edge is %v deep; it must be more than 0", e.Steel)
	}
	if math.IsInf(float64(e.Most), 1) {
		return fmt.Sprintf("a bevel of %v through %v of steel: the chord must be longer than the steel is deep", e.Chord, e.Steel)
	}
	return fmt.Sprintf("a bevel of %v through %v of steel: the chord must be longer than the steel is deep and shorter than the wheel's diameter, %v",
		e.Chord, e.Steel, e.Most)
}
