package unit_test

import (
	"strconv"
	"testing"
)

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
