package unit

import (
	"math"
	"strconv"
	"strings"
)

// FormatFixed prints v with the given number of decimals (none if negative), and
// without a sign if nothing but zeros is left: "0.0", never "-0.0". It rounds
// the binary value to nearest; where the direction of a tie matters, call
// [Length.RoundTo] or [Angle.RoundTo] first.
func FormatFixed(v float64, decimals int) string {
	return unsignedZero(strconv.FormatFloat(v, 'f', max(decimals, 0), 64))
}

// Printing stops at six decimals, and float64 carries them only below about
// 1e9; above, 13 significant digits are well within what it carries through a
// conversion to radians and back.
const (
	printDecimals = 6
	fixedLimit    = 1e9
	printDigits   = 13
)

// shortest prints v with at most six decimals and no trailing zeros.
func shortest(v float64) string {
	if !(math.Abs(v) < fixedLimit) {
		return strconv.FormatFloat(v, 'g', printDigits, 64)
	}
	s := strconv.FormatFloat(v, 'f', printDecimals, 64)
	return unsignedZero(strings.TrimRight(strings.TrimRight(s, "0"), "."))
}

func unsignedZero(s string) string {
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}
