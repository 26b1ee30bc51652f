package flute_test

import (
	"math"
	"math/rand/v2"
	"testing"
)

// near fails unless got is within tolerance of want; NaN is near nothing.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.12g, want %.12g within %.3g", what, got, want, tolerance)
	}
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

func uniform(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

func logUniform(r *rand.Rand, low, high float64) float64 {
	return math.Exp(uniform(r, math.Log(low), math.Log(high)))
}

// integral is by Gauss's rule of five points on each of many pieces: it shares nothing with the formulas it checks.
func integral(f func(float64) float64, from, to float64) float64 {
	const pieces = 400
	at := [...]float64{0, 0.5384693101056831, -0.5384693101056831, 0.9061798459386640, -0.9061798459386640}
	weight := [...]float64{128.0 / 225, 0.4786286704993665, 0.4786286704993665, 0.2369268850561891, 0.2369268850561891}
	half := (to - from) / pieces / 2
	var sum float64
	for i := range pieces {
		middle := from + (2*float64(i)+1)*half
		for j := range at {
			sum += weight[j] * half * f(middle+half*at[j])
		}
	}
	return sum
}
