package geometry_test

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// ulp is the relative error of one rounding.
const ulp = 0x1p-53

// near fails unless got is within tolerance of want; NaN is near nothing.
func near[T ~float64](t *testing.T, what string, got, want T, tolerance float64) {
	t.Helper()
	if !(math.Abs(float64(got-want)) <= tolerance) {
		t.Errorf("%s = %.12g, want %.12g within %.3g", what, float64(got), float64(want), tolerance)
	}
}

// reads fails unless got, rounded to as many decimals as want is printed with, is want. It is how a value that was published or
// promised as text is compared: half a unit of its last digit, no more.
func reads(t *testing.T, what string, got float64, want string) {
	t.Helper()
	value, err := strconv.ParseFloat(want, 64)
	if err != nil {
		t.Fatal(err)
	}
	_, decimals, _ := strings.Cut(want, ".")
	near(t, what, got, value, 0.5000001*math.Pow10(-len(decimals)))
}

// must unwraps an answer that has to exist.
func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// uniform and logUniform draw from a range; the second favours no order of magnitude, which is where near-degenerate rigs live.
func uniform(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

func logUniform(r *rand.Rand, low, high float64) float64 {
	return math.Exp(uniform(r, math.Log(low), math.Log(high)))
}

func sign(r *rand.Rand) float64 { return float64(1 - 2*r.IntN(2)) }

// rig is a wheel with a tool held at a pivot. The edge angle is 2 atan(halfTan), so that its sine and cosine are rational and the
// oracle has them exactly.
type rig struct {
	diameter float64 // 0: flat
	wheel    geometry.Wheel
	pivot    geometry.Pivot
	halfTan  float64
	edge     unit.Angle
}

func newRig(diameter float64, pivot geometry.Pivot, edge unit.Angle) rig {
	halfTan := math.Tan(float64(edge) / 2)
	wheel := geometry.FlatAbrasive()
	if diameter != 0 {
		wheel = geometry.RoundWheel(unit.Length(diameter))
	}
	return rig{diameter, wheel, pivot, halfTan, unit.Angle(2 * math.Atan(halfTan))}
}

// anyRig draws lengths from a micrometre to a metre, wheels from a radius of 20 mm to a thousand kilometres and, one in ten, flat,
// pivots on both sides of the reference line, and edge angles down to the limit of conditioning. Most such rigs are absurd; the
// relation has to hold for them all.
func anyRig(r *rand.Rand) rig {
	diameter := logUniform(r, 40, 2e9)
	if r.IntN(10) == 0 {
		diameter = 0
	}
	pivot := geometry.Pivot{
		Behind: unit.Length(logUniform(r, 1e-3, 1e3)),
		Below:  unit.Length(sign(r) * logUniform(r, 1e-3, 1e3)),
	}
	offSquare := sign(r) * math.Acos(logUniform(r, geometry.LeastConditioning, 1))
	return newRig(diameter, pivot, pivot.Dip()+unit.Angle(offSquare))
}

// shopRig draws a rig that could stand in a workshop.
func shopRig(r *rand.Rand) rig {
	diameter := uniform(r, 100, 300)
	if r.IntN(10) == 0 {
		diameter = 0
	}
	for {
		pivot := geometry.Pivot{
			Behind: unit.Length(uniform(r, 40, 450)),
			Below:  unit.Length(uniform(r, -20, 100)),
		}
		edge := unit.Degrees(uniform(r, 15, 85))
		if geometry.Conditioning(pivot, edge) > 0.1 {
			return newRig(diameter, pivot, edge)
		}
	}
}
