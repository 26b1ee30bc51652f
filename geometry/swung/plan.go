package swung

import (
	"math"

	"arris.example/geometry/flute"
)

// Plan is an edge's shape: how far behind the nose it lies at a length along the flute's section. It is laid on the section's own length,
// not on the width: on a flute's steep walls a plan over the width would make an edge that no wheel can follow.
type Plan interface {
	// At is the distance behind the nose in mm, its slope, and the slope's change in 1/mm, at a length along the section.
	At(along float64) (back, slope, bend float64)
}

// Across is an edge straight across the tool.
type Across struct{}

// At is 0 everywhere.
func (Across) At(float64) (back, slope, bend float64) { return 0, 0, 0 }

// Setback is an edge that runs back as a power of the length along the section: `Setback` behind the nose at `Reach`. An exponent of 2
// is a parabola in the unrolled flute; a larger one has a flatter nose. It must be above 1.
type Setback struct{ Setback, Reach, Exponent float64 }

// At follows the power.
func (p Setback) At(along float64) (back, slope, bend float64) {
	if p.Exponent == 2 {
		bend = 2 * p.Setback / (p.Reach * p.Reach)
		return bend * along * along / 2, bend * along, bend
	}
	// Below an exponent of 2 the nose's own curvature has no bound; the last step to it, a millionth of the reach, is not taken.
	u := along / p.Reach
	scale := p.Setback * math.Pow(max(math.Abs(u), 1e-6), p.Exponent-2)
	return scale * u * u, p.Exponent * scale * u / p.Reach, p.Exponent * (p.Exponent - 1) * scale / (p.Reach * p.Reach)
}

// Swept is an edge with long wings that straighten as they run back: a hyperbola in the unrolled flute.
type Swept struct{ unit, flat float64 } // back = unit·(√(1 + along²/flat²) − 1)

// NewSwept is a swept edge with a nose of a radius (in the unrolled flute) that lies a setback behind the nose at a reach. False where
// the nose is too blunt for it: its radius has to be below reach²/(2·setback), where the hyperbola has become a parabola.
func NewSwept(setback, noseRadius, reach float64) (Swept, bool) {
	// From unit = flat²/noseRadius and the place of the end.
	rest := reach*reach/noseRadius - 2*setback
	if !(setback > 0 && noseRadius > 0 && rest > 0) {
		return Swept{}, false
	}
	unit := setback * setback / rest
	return Swept{unit: unit, flat: math.Sqrt(unit * noseRadius)}, true
}

// At follows the hyperbola.
func (p Swept) At(along float64) (back, slope, bend float64) {
	u := along / p.flat
	root := math.Sqrt(1 + u*u)
	return p.unit * u * u / (1 + root), p.unit * u / (p.flat * root), p.unit / (p.flat * p.flat * root * root * root)
}

// EvenSwing is the edge that a sphere about the pivot through the nose cuts out of the flute: all of it meets one spot of the rim. It is a
// reference to compare with, not something a swing about one pivot produces by itself.
type EvenSwing struct {
	Section flute.Section
	Setting Setting
}

// At solves |E − P| = |P| for the distance behind the nose; NaN where the flute leaves the sphere.
func (p EvenSwing) At(along float64) (back, slope, bend float64) {
	s := p.Section.At(along)
	sin, cos := math.Sincos(s.Slope)
	pivot := p.Setting.pivot()
	up, side := s.Up-pivot.Up, s.Side-pivot.Side
	reach := math.Sqrt(pivot.Dot(pivot) - up*up - side*side)
	outward := up*sin + side*cos                 // half the change of up² + side²
	bending := 1 + s.Curvature*(up*cos-side*sin) // its own change
	return pivot.Back - reach, outward / reach, (bending + outward*outward/(reach*reach)) / reach
}
