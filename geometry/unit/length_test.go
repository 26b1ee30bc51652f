package unit_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
)

// 1 in = 25.4 mm exactly, 1/64 in = 0.396875 mm: NIST SP 811, Appendix B (from
// memory), and the GNU units data file (inch = 2.54 cm).
func TestInchIsExact(t *testing.T) {
	if got := unit.Inch.Millimetres(); got != 25.4 {
		t.Errorf("1 in = %v mm, want 25.4", got)
	}
	if got := (unit.Inch / 64).Millimetres(); got != 0.396875 {
		t.Errorf("1/64 in = %v mm, want 0.396875", got)
	}
	if got := unit.Length(304.8).Inches(); got != 12 {
		t.Errorf("304.8 mm = %v in, want 12", got)
	}
}

func TestLengthString(t *testing.T) {
	for _, c := range []struct {
		mm   unit.Length
		want string
	}{
		{45, "45 mm"},
		{100, "100 mm"},
		{177.11, "177.11 mm"},
		{-3.2, "-3.2 mm"},
		{0.1 + 0.2, "0.3 mm"},
		{57.94375, "57.94375 mm"},
		{1.0 / 3, "0.333333 mm"},
		{0.0000006, "0.000001 mm"},
		{0, "0 mm"},
		{unit.Length(math.Copysign(0, -1)), "0 mm"},
		{-0.0000004, "0 mm"},
		{-1e-300, "0 mm"},
		{999999999.9999999, "1000000000 mm"},
		{1e9, "1000000000 mm"},
		{1234567890.123456, "1234567890.123 mm"},
		{1e21, "1e+21 mm"},
		{unit.Length(math.NaN()), "NaN mm"},
		{unit.Length(math.Inf(-1)), "-Inf mm"},
	} {
		if got := c.mm.String(); got != c.want {
			t.Errorf("Length(%g).String() = %q, want %q", float64(c.mm), got, c.want)
		}
	}
}

func TestIsFinite(t *testing.T) {
	for _, v := range []float64{0, -1, math.MaxFloat64, math.SmallestNonzeroFloat64} {
		if !unit.Length(v).IsFinite() || !unit.Angle(v).IsFinite() {
			t.Errorf("%v is called not finite", v)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if unit.Length(v).IsFinite() || unit.Angle(v).IsFinite() {
			t.Errorf("%v is called finite", v)
		}
	}
}

func TestPrintedLengthReadsBack(t *testing.T) {
	r := chance.New(t)
	for range 20000 {
		l := unit.Length(r.NormFloat64() * math.Pow(10, r.Float64()*24-6))
		text := l.String()
		back, err := unit.ParseLength(text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if diff := math.Abs(float64(back - l)); diff > 0.5000001e-6+5.1e-13*math.Abs(float64(l)) {
			t.Fatalf("%g mm prints %q and reads back %g off", float64(l), text, diff)
		}
		if again := back.String(); again != text {
			t.Fatalf("%q prints again as %q", text, again)
		}
	}
}

func TestFormatFixed(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{108.49, 1, "108.5"},
		{-0.04, 1, "0.0"},
		{-0.06, 1, "-0.1"},
		{math.Copysign(0, -1), 0, "0"},
		{-0.4, 0, "0"},
		{-100, 0, "-100"},
		{0.125, 2, "0.12"},
		{2.5, -3, "2"},
		{-10, 2, "-10.00"},
		{math.NaN(), 2, "NaN"},
		{math.Inf(-1), 2, "-Inf"},
	} {
		if got := unit.FormatFixed(c.v, c.decimals); got != c.want {
			t.Errorf("FormatFixed(%g, %d) = %q, want %q", c.v, c.decimals, got, c.want)
		}
	}
}
