package unit

import "math"

// Length is a distance in millimetres.
type Length float64

// An inch is 25.4 mm exactly (NIST SP 811, Appendix B).
const (
	Millimetre Length = 1
	Inch       Length = 25.4
)

// Millimetres returns l in millimetres.
func (l Length) Millimetres() float64 { return float64(l) }

// Inches returns l in inches. It divides by 254/10, both exact: 304.8 mm is 12 in.
func (l Length) Inches() float64 { return float64(l) * 10 / 254 }

// IsFinite reports whether l is neither NaN nor infinite.
func (l Length) IsFinite() bool { return isFinite(float64(l)) }

// String prints l in millimetres with as few decimals as are exact to 1e-6 mm,
// such as "45 mm". From 1e9 mm (1000 km) on it prints 13 significant digits.
// [ParseLength] reads it back.
func (l Length) String() string { return shortest(float64(l)) + " mm" }

// RoundTo returns the multiple of step nearest to l; a value half-way between
// two multiples goes the way tie says. If step is a decimal of at most nine
// places the result is the float64 nearest to the decimal multiple. Where
// there is no such multiple (step not positive or not finite, l not finite, step
// too fine for l's own precision), l is returned as it is.
func (l Length) RoundTo(step Length, tie Tie) Length {
	return Length(roundTo(float64(l), float64(step), tie))
}

func isFinite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
