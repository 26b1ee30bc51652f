package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// Measured is the edge angle of a bevel that somebody measured, with how it follows what was measured.
type Measured struct {
	Edge    unit.Angle
	Reading unit.Angle
	PerMM   struct{ Chord, Steel, Radius float64 } // rad/mm
}

// MatchChord is the edge angle of a bevel from its chord, the steel's depth below the edge, and the wheel that ground it: the chord falls
// by the steel's depth, asin(t/L), and the edge is half the arc keener. False where the chord is shorter than the steel is deep, or longer
// than the wheel's diameter.
func (w Wheel) MatchChord(chord, steel unit.Length) (Measured, bool) {
	l, t := float64(chord), float64(steel)
	half := w.k * l / 2
	if !(t > 0 && l > t && half < 1) {
		return Measured{}, false
	}
	m := Measured{Reading: unit.Angle(math.Asin(t / l))}
	m.Edge = m.Reading - unit.Angle(math.Asin(half))
	flat, arc := math.Sqrt((l-t)*(l+t)), math.Sqrt(1-half*half)
	m.PerMM.Steel = 1 / flat
	m.PerMM.Chord = -t/(l*flat) - w.k/(2*arc)
	m.PerMM.Radius = w.k * half / arc
	return m, true
}

// Mark is where ink was rubbed off a bevel in a test with the wheel turned by hand.
type Mark int

// The marks.
const (
	MarkMiddle Mark = iota
	MarkEdge        // the setting is blunter than the bevel
	MarkHeel        // the setting is keener
)

// InkOffset is how much blunter a setting is than a bevel, from where the mark lies behind its middle, with the radius of
// the wheel that ground the bevel. It is a size only on a flat bevel or one ground on a smaller wheel: there the two surfaces touch
// in one place, which moves with the angle. On the same or a larger wheel they touch at an end whatever the size, so false.
func (w Wheel) InkOffset(ground Wheel, behindMiddle unit.Length) (unit.Angle, bool) {
	difference := w.k - ground.k
	if !(difference > 0) {
		return 0, false
	}
	return unit.Angle(-float64(behindMiddle) * difference), true
}

// InkMark is the mark that a setting blunter by an angle leaves on a bevel of a chord: the other way round.
func (w Wheel) InkMark(ground Wheel, blunter unit.Angle, chord unit.Length) Mark {
	if at, ok := w.inkAt(ground, blunter); ok && math.Abs(at) < float64(chord)/2 {
		return MarkMiddle
	}
	if blunter > 0 {
		return MarkEdge
	}
	return MarkHeel
}

func (w Wheel) inkAt(ground Wheel, blunter unit.Angle) (float64, bool) {
	difference := w.k - ground.k
	if !(difference > 0) {
		return 0, false
	}
	return -float64(blunter) / difference, true
}
