package trend_test

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"arris.example/geometry/trend"
	"arris.example/geometry/unit"
)

// near fails unless got is within tolerance of want; NaN is near nothing.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.15g, want %.15g within %.3g", what, got, want, tolerance)
	}
}

// digits fails unless got agrees with a certified value to so many significant digits: NIST's log relative error.
func digits(t *testing.T, what string, got, certified float64, least float64) {
	t.Helper()
	if lre := -math.Log10(math.Abs(got-certified) / math.Abs(certified)); !(lre >= least) {
		t.Errorf("%s = %.15g agrees with %.15g to %.1f digits, want %g", what, got, certified, lre, least)
	}
}

// reads fails unless got, rounded to as many decimals as want is printed with, is want.
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
func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func uniform(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// numbers reads a column of data as it is printed.
func numbers(t testing.TB, text string) []float64 {
	t.Helper()
	var out []float64
	for _, field := range strings.Fields(text) {
		v, err := strconv.ParseFloat(field, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, v)
	}
	return out
}

func points(x, y []float64) []trend.Point {
	out := make([]trend.Point, len(x))
	for i := range x {
		out[i] = trend.Point{X: x[i], Y: y[i]}
	}
	return out
}

// column makes rows of one number each.
func column(x []float64) [][]float64 {
	rows := make([][]float64, len(x))
	for i := range x {
		rows[i] = []float64{x[i]}
	}
	return rows
}

func mean(values []float64) (sum float64) {
	for _, v := range values {
		sum += v / float64(len(values))
	}
	return sum
}

// log makes a wear log; a use that is preceded by a dressing is negative.
func log(halfWidth float64, uses, diameters []float64) []trend.Measurement {
	var out []trend.Measurement
	for i, use := range uses {
		out = append(out, trend.Measurement{
			Use: math.Abs(use), Diameter: unit.Length(diameters[i]), HalfWidth: unit.Length(halfWidth), Dressed: use < 0,
		})
	}
	return out
}
