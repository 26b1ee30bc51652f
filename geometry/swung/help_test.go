package swung_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/space"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

const degree = math.Pi / 180

// near fails unless got is within tolerance of want; NaN is near nothing.
func near[T ~float64](t *testing.T, what string, got, want T, tolerance float64) {
	t.Helper()
	if !(math.Abs(float64(got-want)) <= tolerance) {
		t.Errorf("%s = %.12g, want %.12g within %.3g", what, float64(got), float64(want), tolerance)
	}
}

// within fails unless got lies in a band.
func within(t *testing.T, what string, got, low, high float64) {
	t.Helper()
	if !(got >= low && got <= high) {
		t.Errorf("%s = %.6g, want %g to %g", what, got, low, high)
	}
}

func uniform(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// anyFlute draws one, and how long its wings are.
func anyFlute(r *rand.Rand) (flute.Section, float64) {
	radius := uniform(r, 2.5, 8)
	reach := uniform(r, 0.8, 2.2) * radius
	switch r.IntN(4) {
	case 0:
		return flute.Round(radius), reach
	case 1:
		return flute.Vee(uniform(r, 1, 4), uniform(r, 25, 80)*degree), reach
	case 2:
		return flute.Flat(), reach
	}
	return flute.Parabola(radius), reach
}

// anyPlan draws one for a reach.
func anyPlan(r *rand.Rand, reach float64) swung.Plan {
	setback := uniform(r, 0.2, 1.6) * reach
	switch r.IntN(5) {
	case 0:
		return swung.Across{}
	case 1:
		return swung.Setback{Setback: setback, Reach: reach, Exponent: uniform(r, 1.6, 4)}
	case 2:
		if p, ok := swung.NewSwept(setback, uniform(r, 0.3, 0.9)*reach*reach/(2*setback), reach); ok {
			return p
		}
	}
	return swung.Setback{Setback: setback, Reach: reach, Exponent: 2}
}

// anyRig draws a setting that could stand in a workshop: a wheel or, one in eight, a flat abrasive, and in half of all a pivot aside, a
// rolled tool and a contact off the pivot's plane.
func anyRig(r *rand.Rand) (g swung.Setting, nose float64) {
	w := geometry.RoundWheel(unit.Length(uniform(r, 100, 300)))
	if r.IntN(8) == 0 {
		w = geometry.FlatAbrasive()
	}
	for {
		p := geometry.Pivot{Behind: unit.Length(uniform(r, 60, 300)), Below: unit.Length(uniform(r, -10, 90))}
		nose := uniform(r, 25, 75) * degree
		if geometry.Conditioning(p, unit.Angle(nose)) < 0.3 {
			continue
		}
		g := swung.AtNose(w, p, unit.Angle(nose))
		if r.IntN(2) == 0 {
			g.Aside = unit.Length(uniform(r, -2, 2))
			g.Roll = unit.Degrees(uniform(r, -4, 4))
			g.Centre = unit.Length(uniform(r, -6, 0))
			g.Contact = unit.Length(uniform(r, -20, 20))
		}
		return g, nose
	}
}

// rowSix is what section 6's check of common practice describes, with a flute radius and half-width.
func rowSix(radius, halfWidth float64) (swung.Edge, swung.Setting) {
	section := flute.Parabola(radius)
	reach, _ := section.AlongAt(halfWidth)
	g := swung.AtNose(geometry.RoundWheel(250), geometry.Pivot{Behind: 105, Below: 75}, 55*unit.Degree)
	return swung.Even(section, swung.Setback{Setback: 14, Reach: reach, Exponent: 2}, reach), g
}

func lengthOf(f float64) unit.Length { return unit.Length(f) }

func vec(back, up, side float64) space.Vec { return space.Vec{Back: back, Up: up, Side: side} }
