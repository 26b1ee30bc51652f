package unit_test

import (
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
)

// newRand returns a random source whose seed is printed with a failure; set
// ARRIS_TEST_SEED to that number to see the failure again.
func newRand(t *testing.T) *rand.Rand {
	t.Helper()
	seed := rand.Uint64()
	if s := os.Getenv("ARRIS_TEST_SEED"); s != "" {
		var err error
		if seed, err = strconv.ParseUint(s, 10, 64); err != nil {
			t.Fatalf("ARRIS_TEST_SEED: %v", err)
		}
	}
	t.Logf("ARRIS_TEST_SEED=%d", seed)
	return rand.New(rand.NewPCG(seed, 0))
}

// mustFloat is the float64 nearest to the decimal text.
func mustFloat(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// millionths is the float64 nearest to n·1e-6, by way of its decimal text and so
// independent of the arithmetic under test.
func millionths(t *testing.T, n int64) float64 {
	t.Helper()
	return mustFloat(t, strconv.FormatInt(n, 10)+"e-6")
}
