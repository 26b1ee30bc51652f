// Package chance is what tests draw from.
package chance

import (
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
)

// New is a random source whose seed is fixed, so that a run can be repeated, and printed with a failure. ARRIS_TEST_SEED chooses another.
func New(t testing.TB) *rand.Rand {
	t.Helper()
	seed := uint64(1)
	if s := os.Getenv("ARRIS_TEST_SEED"); s != "" {
		var err error
		if seed, err = strconv.ParseUint(s, 10, 64); err != nil {
			t.Fatalf("ARRIS_TEST_SEED: %v", err)
		}
	}
	t.Logf("ARRIS_TEST_SEED=%d", seed)
	return rand.New(rand.NewPCG(seed, 0))
}
