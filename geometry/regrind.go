package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// Recession is how much steel may be ground off a nose, without seating the tool again, before the edge angle has changed to
// another: the pivot comes nearer to the edge by what is lost. False where no loss brings it there.
func (w Wheel) Recession(p Pivot, gap unit.Length, to unit.Angle) (unit.Length, bool) {
	behind, ok := w.Behind(to, p.Below, gap)
	lost := p.Behind - behind
	return lost, ok && lost >= 0
}

// LengthLost is how far the edge moves back along the reference line when a bevel is ground anew, the whole of it, at another front
// angle and through the same steel: the new surface must lie behind the old one everywhere. Going keener costs none; going blunter
// costs the distance by which the old heel stands behind the new. The old bevel may have come from another wheel.
func LengthLost(before, after Hollow) unit.Length {
	most := 0.0
	for i := range lostSteps + 1 {
		depth := float64(i) / lostSteps
		most = max(most, before.behindAt(depth)-after.behindAt(depth))
	}
	return unit.Length(most)
}

// lostSteps is how finely two bevels are compared from edge to heel. Between two steps of a 10 mm bevel the arcs of the smallest wheel
// (R 10) stray from their chords by 10·(1/64)²/8 mm, 0.3 µm.
const lostSteps = 64

// behindAt is how far behind its front end a bevel's surface is at a part of its depth.
func (h Hollow) behindAt(part float64) float64 {
	back, down := h.End()
	if h.Depth == 0 {
		return float64(back) * part
	}
	// The arc's circle in the frame of its front end: centre R below along the normal.
	k := 8 * float64(h.Depth) / (float64(h.Chord)*float64(h.Chord) + 4*float64(h.Depth)*float64(h.Depth))
	sin, cos := math.Sincos(float64(h.Front))
	t := float64(down) * part
	u := 2*t*cos - k*t*t
	return u / (sin + math.Sqrt(max(0, sin*sin+k*u)))
}
