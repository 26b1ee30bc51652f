package unit

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"strings"
)

// MaxDenominator is the finest division of the inch that [InchFraction] gives.
// Rules go to 64ths, calipers to 128ths.
const MaxDenominator = 128

// Errors of [InchFraction] and [InchFractionDown]; test with [errors.Is].
var (
	ErrDenominator = errors.New("bad inch denominator")
	ErrNoFraction  = errors.New("length has no inch fraction")
)

// Fraction is a length on an inch rule: Whole and Num/Den inches, reduced, with
// the sign apart. Den is a power of two, and 1 if Num is 0.
type Fraction struct {
	Negative        bool
	Whole, Num, Den int64
	Residual        Length // what the rule does not show: the true length − Length()
}

// InchFraction returns the graduation nearest to l on a rule divided into
// denominator parts per inch: a power of two from 1 to [MaxDenominator]. A tie
// goes to the even numerator, the longer mark and so the one easier to find:
// 8.5/64 in is 1/8 in. |Residual| is at most half a division.
//
// The nearest graduation may be above l (3 mm gives 1/8 in, 3.175 mm): for a
// limit use [InchFractionDown].
//
// It fails with [ErrDenominator] or, for a length that is not finite or longer
// than its own precision allows to count in divisions, [ErrNoFraction].
func InchFraction(l Length, denominator int) (Fraction, error) {
	return inchFraction(l, denominator, func(n float64) float64 { return nearest(n, TieEven) })
}

// InchFractionDown is [InchFraction] rounded towards −∞, for showing a greatest
// permitted length: what is shown never exceeds the limit, and Residual is not
// negative beyond rounding noise.
func InchFractionDown(l Length, denominator int) (Fraction, error) {
	return inchFraction(l, denominator, floor)
}

func inchFraction(l Length, denominator int, round func(float64) float64) (Fraction, error) {
	if denominator < 1 || denominator > MaxDenominator || bits.OnesCount(uint(denominator)) != 1 {
		return Fraction{}, fmt.Errorf("%w: %d: use a power of two from 1 to %d", ErrDenominator, denominator, MaxDenominator)
	}
	divisions := float64(l) * float64(denominator) * 10 / 254
	if !(math.Abs(divisions) < maxSteps) {
		return Fraction{}, fmt.Errorf("%w: %v: use a finite length below 1e9 mm", ErrNoFraction, l)
	}
	f := reduced(int64(round(divisions)), int64(denominator))
	f.Residual = l - f.Length()
	return f, nil
}

// reduced returns num/den inches in lowest terms; den is a power of two.
func reduced(num, den int64) Fraction {
	f := Fraction{Negative: num < 0}
	num = max(num, -num)
	shift := min(bits.TrailingZeros64(uint64(num)), bits.TrailingZeros64(uint64(den)))
	num, den = num>>shift, den>>shift
	f.Whole, f.Num, f.Den = num/den, num%den, den
	return f
}

// Length returns the length of the graduation itself, rounded once from the
// exact ratio (an inch is 254/10 mm).
func (f Fraction) Length() Length {
	den := max(f.Den, 1) // so that the zero Fraction is 0 in
	mm := Length(f.Whole*den+f.Num) * 254 / Length(10*den)
	if f.Negative {
		return -mm
	}
	return mm
}

// Exact prints f with what a rule divided so does not show, in thousandths of an inch, such as "1 49/64 + 0.006 in"; where that is none,
// like [Fraction.String].
func (f Fraction) Exact() string {
	rest := f.Residual.Inches()
	off := FormatFixed(math.Abs(rest), 3)
	switch {
	case off == "0.000":
		return f.String()
	case rest < 0:
		return strings.TrimSuffix(f.String(), " in") + " − " + off + " in"
	}
	return strings.TrimSuffix(f.String(), " in") + " + " + off + " in"
}

// String prints f as read on a rule, such as "1 3/4 in", "3/4 in" or "-2 in";
// the residual is left out. [ParseLength] reads it back.
func (f Fraction) String() string {
	sign := ""
	if f.Negative {
		sign = "-"
	}
	switch {
	case f.Num == 0:
		return fmt.Sprintf("%s%d in", sign, f.Whole)
	case f.Whole == 0:
		return fmt.Sprintf("%s%d/%d in", sign, f.Num, f.Den)
	}
	return fmt.Sprintf("%s%d %d/%d in", sign, f.Whole, f.Num, f.Den)
}
