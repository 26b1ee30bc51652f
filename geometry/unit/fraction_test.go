package unit_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
)

// Rows 1 to 3 and the 64ths are worked from 1 in = 25.4 mm (NIST SP 811,
// Appendix B, from memory; GNU units data file); 3 mm is the case where nearest
// is on the unsafe side of a limit.
func TestInchFraction(t *testing.T) {
	for _, c := range []struct {
		mm       unit.Length
		den      int
		nearest  string
		residual float64
		down     string
		left     float64
	}{
		{41.3, 64, "1 5/8 in", 0.025, "1 5/8 in", 0.025},
		{38, 64, "1 1/2 in", -0.1, "1 31/64 in", 0.296875},
		{3, 64, "1/8 in", -0.175, "7/64 in", 0.221875},
		{3, 16, "1/8 in", -0.175, "1/16 in", 1.4125},
		{44.45, 4, "1 3/4 in", 0, "1 3/4 in", 0},
		{3.175, 64, "1/8 in", 0, "1/8 in", 0},
		{unit.Length(math.Nextafter(3.175, 0)), 64, "1/8 in", 0, "1/8 in", 0}, // a hair under is on the mark
		{0.396875 * 8.5, 64, "1/8 in", 0.1984375, "1/8 in", 0.1984375},        // tie, even below
		{0.396875 * 9.5, 64, "5/32 in", -0.1984375, "9/64 in", 0.1984375},     // tie, even above
		{-3, 64, "-1/8 in", 0.175, "-1/8 in", 0.175},
		{-44.45, 64, "-1 3/4 in", 0, "-1 3/4 in", 0},
		{25.4, 1, "1 in", 0, "1 in", 0},
		{20, 1, "1 in", -5.4, "0 in", 20},
		{0.1, 128, "1/128 in", -0.0984375, "0 in", 0.1},
		{0.05, 128, "0 in", 0.05, "0 in", 0.05},
		{-0.05, 64, "0 in", -0.05, "-1/64 in", 0.346875},
	} {
		check(t, unit.InchFraction, c.mm, c.den, c.nearest, c.residual)
		check(t, unit.InchFractionDown, c.mm, c.den, c.down, c.left)
	}
}

// Nothing of a length is left out: the mark of a rule and what is beyond it make it, to half a thousandth of an inch.
func TestExactFraction(t *testing.T) {
	for mm, want := range map[unit.Length]string{
		45: "1 49/64 + 0.006 in", 44.45: "1 3/4 in", 38: "1 1/2 − 0.004 in", 0: "0 in", 0.1: "0 + 0.004 in", -45: "-1 49/64 − 0.006 in", 44.46: "1 3/4 in",
	} {
		if f, err := unit.InchFraction(mm, 64); err != nil || f.Exact() != want {
			t.Errorf("%v: %q, want %q, %v", mm, f.Exact(), want, err)
		}
	}
	r := chance.New(t)
	for range 10000 {
		l := unit.Length(r.NormFloat64() * 200)
		f, err := unit.InchFraction(l, 64)
		if err != nil {
			t.Fatal(err)
		}
		mark, rest, off := strings.Cut(strings.TrimSuffix(f.Exact(), " in"), " + ")
		if !off {
			if mark, rest, off = strings.Cut(mark, " − "); off {
				rest = "-" + rest
			}
		}
		said, err := unit.ParseLength(mark + " in")
		if off && err == nil {
			var beyond unit.Length
			beyond, err = unit.ParseLength(rest + " in")
			said += beyond
		}
		if err != nil || math.Abs(float64(said-l)) > 0.0005*25.4+1e-9 {
			t.Fatalf("%v is told as %q, which is %v, %v", l, f.Exact(), said, err)
		}
	}
}

type fractionFunc func(unit.Length, int) (unit.Fraction, error)

func check(t *testing.T, f fractionFunc, l unit.Length, den int, want string, residual float64) {
	t.Helper()
	got, err := f(l, den)
	if err != nil {
		t.Errorf("%v in 1/%d in: %v", l, den, err)
		return
	}
	if got.String() != want || math.Abs(float64(got.Residual)-residual) > 1e-12 {
		t.Errorf("%v in 1/%d in = %v, residual %v; want %s, residual %v", l, den, got, got.Residual, want, residual)
	}
}

func TestFractionRefusals(t *testing.T) {
	for _, f := range []fractionFunc{unit.InchFraction, unit.InchFractionDown} {
		for _, den := range []int{0, -4, 3, 10, 256, math.MinInt} {
			if _, err := f(25.4, den); !errors.Is(err, unit.ErrDenominator) {
				t.Errorf("denominator %d: %v", den, err)
			}
		}
		for _, mm := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300} {
			if got, err := f(unit.Length(mm), 64); !errors.Is(err, unit.ErrNoFraction) {
				t.Errorf("%v mm: %v, %v", mm, got, err)
			}
		}
	}
}

func TestZeroFraction(t *testing.T) {
	var f unit.Fraction
	if f.Length() != 0 || f.String() != "0 in" {
		t.Errorf("zero Fraction is %v, %q", f.Length(), f.String())
	}
}

// Every 128th of an inch on a two-foot rule is found by its length, printed in
// lowest terms and read back to the bit.
func TestFractionRoundTrip(t *testing.T) {
	for n := int64(-24 * 128); n <= 24*128; n++ {
		l := unit.Length(millionths(t, n*198437) + millionths(t, n)/2) // n·0.1984375 mm
		f, err := unit.InchFraction(l, 128)
		if err != nil {
			t.Fatal(err)
		}
		if f.Num%2 == 0 && f.Num != 0 || f.Num == 0 && f.Den != 1 || f.Num >= f.Den {
			t.Fatalf("%d/128 in gives %+v, not in lowest terms", n, f)
		}
		units := (f.Whole*f.Den + f.Num) * (128 / f.Den)
		if f.Negative != (n < 0) || units != max(n, -n) {
			t.Fatalf("%d/128 in gives %v", n, f)
		}
		if back, err := unit.ParseLength(f.String()); err != nil || back != f.Length() {
			t.Fatalf("%v reads back as %v (%v), want %v", f, back, err, f.Length())
		}
		down, err := unit.InchFractionDown(f.Length(), 128)
		if err != nil || down.Length() != f.Length() {
			t.Fatalf("%v rounds down to %v (%v)", f, down, err)
		}
	}
}

func TestFractionResidual(t *testing.T) {
	r := chance.New(t)
	const noise = 1e-9
	for range 50000 {
		l := unit.Length(r.NormFloat64() * 300)
		f, err := unit.InchFraction(l, 64)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(f.Residual)) > 25.4/128+noise {
			t.Fatalf("%v: %v leaves %v, more than 1/128 in", l, f, f.Residual)
		}
		if math.Abs(float64(f.Length()+f.Residual-l)) > noise {
			t.Fatalf("%v: %v and its residual %v do not add up", l, f, f.Residual)
		}
		down, err := unit.InchFractionDown(l, 64)
		if err != nil {
			t.Fatal(err)
		}
		if down.Residual < -noise || down.Residual > 25.4/64+noise {
			t.Fatalf("%v rounded down is %v, leaving %v", l, down, down.Residual)
		}
	}
}
