package unit_test

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strings"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
)

func TestParseLength(t *testing.T) {
	for text, want := range map[string]unit.Length{
		"58mm": 58, "58 mm": 58, "58 MM": 58, "5.8cm": 58, "007mm": 7, "08mm": 8, "+4.5mm": 4.5,
		"-3.2mm": -3.2, "−3.2 mm": -3.2, "0mm": 0, "-0mm": 0, "1.5e2mm": 150, "  58mm\r\n": 58,
		"58\u00a0mm": 58, "58\u2009mm": 58, "58\u202fmm": 58, "58\tmm": 58,
		"58 millimetres": 58, "1 Millimeter": 1, "5.8 centimetres": 58,
		"1in": 25.4, "1 3/4 in": 44.45, "1-3/4in": 44.45, "1  3/4 In": 44.45, "1.75in": 44.45, "1.75 inch": 44.45,
		"1.75 inches": 44.45, "-1 3/4 in": -44.45, "3/4in": 19.05, ".5in": 12.7, "1/64in": 0.396875,
		"2 9/32in": 57.94375, `2-9/32"`: 57.94375, "2 9/32″": 57.94375, "2 9/32”": 57.94375,
		"½in": 12.7, "-½ in": -12.7, "1¾ in": 44.45, "1 ¾ in": 44.45, "1-¾ in": 44.45, "⅛in": 3.175, "3⁄4in": 19.05,
		"0.1in": 2.54, "0.35in": 8.89, "12.3in": 312.42,
	} {
		got, err := unit.ParseLength(text)
		if err != nil || got != want || math.Signbit(float64(got)) != (want < 0) {
			t.Errorf("ParseLength(%q) = %v (%v), %v; want %v", text, got, float64(got), err, want)
		}
	}
}

func TestParseAngle(t *testing.T) {
	for text, want := range map[string]unit.Angle{
		"50°": unit.Degrees(50), "50deg": unit.Degrees(50), "50 degrees": unit.Degrees(50), "1 Degree": unit.Degrees(1),
		"50 º": unit.Degrees(50), "50˚": unit.Degrees(50), "-2.5°": unit.Degrees(-2.5), "12½°": unit.Degrees(12.5),
		"0.87rad": 0.87, "1 radian": 1, "-2 radians": -2,
		"13°30'": unit.Degrees(13.5), "13° 30′": unit.Degrees(13.5), "13deg 30’": unit.Degrees(13.5),
		"13°32'15\"": unit.Degrees(13.5375), "13° 32′ 15″": unit.Degrees(13.5375), "13°32'0.9\"": unit.Degrees(13.53358333333333333333),
		"-13°30'": unit.Degrees(-13.5), "-0°30'": unit.Degrees(-0.5), "0°0'1\"": unit.Degrees(1.0 / 3600),
	} {
		if got, err := unit.ParseAngle(text); err != nil || got != want {
			t.Errorf("ParseAngle(%q) = %v (%v), %v; want %v", text, got, float64(got), err, want)
		}
	}
}

// 13.5427° is 13° 32.6′, minutes rounded to a tenth (table of published checks;
// follows from 60 minutes to the degree).
func TestDegreesAndMinutes(t *testing.T) {
	const published = 13.5427
	if got := unit.FormatFixed((published-13)*60, 1); got != "32.6" {
		t.Errorf("minutes of 13.5427° are %s, want 32.6", got)
	}
	a, err := unit.ParseAngle("13°32.6'")
	if err != nil || math.Abs(a.Degrees()-published) > 0.05/60 {
		t.Errorf("13°32.6' = %v, %v; want 13.5427° to half of the last digit", a, err)
	}
}

func TestRefusedLengths(t *testing.T) {
	for _, c := range []struct {
		text   string
		reason unit.Reason
		hint   string // contained in the hint
	}{
		{"", unit.Empty, "write 58mm"},
		{" \t\u00a0", unit.Empty, "write 58mm"},
		{"1.75", unit.NoUnit, "1.75 has no unit: write 1.75mm or 1.75in"},
		{"50", unit.NoUnit, "write 50mm or 50in"},
		{"1 3/4", unit.NoUnit, "write 1 3/4mm or 1 3/4in"},
		{"50°", unit.WrongUnit, "50° is an angle: write 58mm"},
		{"0.87rad", unit.WrongUnit, "0.87rad is an angle"},
		{"13°32'", unit.WrongUnit, "13° is an angle"},
		{"5'", unit.AmbiguousUnit, "5' could be feet or minutes of arc: write 60in"},
		{"5’", unit.AmbiguousUnit, "write 60in"},
		{"-1 1/2 '", unit.AmbiguousUnit, "write -18in"},
		{"5ft", unit.UnknownUnit, `"ft" is not known: write 58mm`},
		{"5m", unit.UnknownUnit, `"m" is not known`},
		{"5mmm", unit.UnknownUnit, `"mmm"`},
		{"5мм", unit.UnknownUnit, `"мм"`},
		{"5İn", unit.UnknownUnit, `"İn"`},
		{"NaN mm", unit.NotFinite, `"NaN mm" is not a finite number`},
		{"Inf mm", unit.NotFinite, "not a finite number"},
		{"-Infinity", unit.NotFinite, "not a finite number"},
		{"∞mm", unit.NotFinite, "not a finite number"},
		{"1e400mm", unit.NotFinite, "not a finite number"},
		{"1e308in", unit.NotFinite, "not a finite number"},
		{"1e99999999mm", unit.NotFinite, "not a finite number"},
		{"1e-99999999mm", unit.NotFinite, "not a finite number"},
		{"4,5mm", unit.DecimalComma, "write 4.5mm"},
		{"4,5", unit.DecimalComma, "write 58mm"},
		{",5mm", unit.DecimalComma, "write .5mm"},
		{"1,000mm", unit.DecimalComma, "write 1.000mm or 1000mm"},
		{"1,000,000mm", unit.DecimalComma, "write 1000000mm"},
		{"1 3/0in", unit.BadFraction, "1 3/0 has nothing but zero under the line: write 58mm"},
		{"1 5/4 in", unit.BadFraction, "write 2 1/4in"},
		{"13/4in", unit.BadFraction, "write 3 1/4in"},
		{"-8/4in", unit.BadFraction, "write -2in"},
		{"4/4in", unit.BadFraction, "write 1in"},
		{"1 3 in", unit.BadFraction, "fraction like 1 3/4"},
		{"1 000mm", unit.BadFraction, "neither one number"},
		{"1.5/2in", unit.BadFraction, "neither one number"},
		{"1.5 1/2in", unit.BadFraction, "neither one number"},
		{"3/4/2in", unit.BadFraction, "neither one number"},
		{"½½in", unit.BadFraction, "neither one number"},
		{"--5mm", unit.NotANumber, `"--5mm" does not begin with a plain number: write 58mm`},
		{"- 5mm", unit.NotANumber, "plain number"},
		{"mm", unit.NotANumber, "plain number"},
		{"in", unit.NotANumber, "plain number"},
		{"0x10mm", unit.NotANumber, "plain number"},
		{"0b1mm", unit.NotANumber, "plain number"},
		{"1_000mm", unit.NotANumber, "plain number"},
		{"5.mm", unit.NotANumber, "plain number"},
		{"1.2.3mm", unit.NotANumber, "plain number"},
		{"１２mm", unit.NotANumber, "plain number"},
		{"=1+1", unit.NotANumber, "plain number"},
		{"5\nmm", unit.NotANumber, `"5\nmm"`},
		{"5\x00mm", unit.NotANumber, `"5\x00mm"`},
		{"\xff5mm", unit.NotANumber, `"\xff5mm"`},
		{"5mm5", unit.Trailing, `goes on behind its unit with "5": write 5mm`},
		{"5mm 3/4", unit.Trailing, "write 5mm"},
		{"5mm.", unit.Trailing, "write 5mm"},
		{strings.Repeat("5", 63) + "mm", unit.TooLong, "65 bytes is longer than 64: write 58mm"},
	} {
		_, err := unit.ParseLength(c.text)
		checkRefusal(t, "length", c.text, err, c.reason, c.hint)
	}
	if _, err := unit.ParseLength(strings.Repeat("5", 62) + "mm"); err != nil {
		t.Errorf("64 bytes are refused: %v", err)
	}
}

func TestRefusedAngles(t *testing.T) {
	for _, c := range []struct {
		text   string
		reason unit.Reason
		hint   string
	}{
		{"", unit.Empty, "write 50°"},
		{"50", unit.NoUnit, "50 has no unit: write 50° or 50deg"},
		{"50mm", unit.WrongUnit, "50mm is a length: write 50°"},
		{`5"`, unit.WrongUnit, `5" is a length`},
		{"30'", unit.AmbiguousUnit, "write 0°30' or 0.5°"},
		{"-90'", unit.AmbiguousUnit, "write -1.5°"},
		{"5 grad", unit.UnknownUnit, `"grad" is not known`},
		{"NaN°", unit.NotFinite, "not a finite number"},
		{"1e400°", unit.NotFinite, "not a finite number"},
		{"1e308rad", unit.NotFinite, "not a finite number"},
		{"52,9°", unit.DecimalComma, "write 52.9°"},
		{"1/0°", unit.BadFraction, "zero under the line"},
		{"13°60'", unit.BadMinutes, "minutes and seconds below 60"},
		{"13°1'60\"", unit.BadMinutes, "minutes and seconds below 60"},
		{"13.5°30'", unit.BadMinutes, "whole degrees"},
		{"13½°30'", unit.BadMinutes, "whole degrees"},
		{"13°1.5'3\"", unit.BadMinutes, "whole degrees"},
		{"13°15\"", unit.BadMinutes, "whole degrees"},
		{"13°1'2'", unit.BadMinutes, "whole degrees"},
		{"13°32", unit.Trailing, "write 13°32' or 13°"},
		{"13°-32'", unit.Trailing, "write 13°"},
		{"2rad 3'", unit.Trailing, "write 2rad"},
		{"50° x", unit.Trailing, "write 50°"},
		{"13°1'2\"3", unit.Trailing, "write 13°1'2\""},
	} {
		_, err := unit.ParseAngle(c.text)
		checkRefusal(t, "angle", c.text, err, c.reason, c.hint)
	}
}

func checkRefusal(t *testing.T, quantity, text string, err error, reason unit.Reason, hint string) {
	t.Helper()
	var refused *unit.ParseError
	if !errors.As(err, &refused) {
		t.Errorf("%q as %s: error %v, want a ParseError", text, quantity, err)
		return
	}
	if refused.Reason != reason || !strings.Contains(refused.Hint, hint) || refused.Quantity != quantity {
		t.Errorf("%q as %s: %v (%v), want reason %v, hint %q", text, quantity, refused, refused.Reason, reason, hint)
	}
	if len(text) <= unit.MaxInput && refused.Input != text {
		t.Errorf("%q: input is reported as %q", text, refused.Input)
	}
}

func TestReasonNames(t *testing.T) {
	seen := map[string]bool{}
	for r := unit.Empty; r <= unit.Trailing; r++ {
		if name := r.String(); name == "" || name == unit.Reason(0).String() || seen[name] {
			t.Errorf("reason %d is named %q", int(r), name)
		} else {
			seen[name] = true
		}
	}
}

// A decimal is rounded once on its way to millimetres: it is the float64 nearest
// to the exact product, computed here at 400 bits.
func TestParseRoundsOnce(t *testing.T) {
	r := chance.New(t)
	for range 20000 {
		decimal := fmt.Sprintf("%.*f", r.IntN(9), r.NormFloat64()*100)
		for name, mm := range map[string]string{"mm": "1", "cm": "10", "in": "25.4"} {
			got, err := unit.ParseLength(decimal + name)
			if err != nil {
				t.Fatal(err)
			}
			if want := exactProduct(t, decimal, mm); float64(got) != want {
				t.Fatalf("%s%s = %v mm, want %v", decimal, name, float64(got), want)
			}
		}
	}
}

func exactProduct(t *testing.T, a, b string) float64 {
	t.Helper()
	x, _, errX := big.ParseFloat(a, 10, 400, big.ToNearestEven)
	y, _, errY := big.ParseFloat(b, 10, 400, big.ToNearestEven)
	if errX != nil || errY != nil {
		t.Fatal(errX, errY)
	}
	v, _ := x.Mul(x, y).Float64()
	return v
}

// FuzzParse: every text gets an answer or a reason. An answer is finite and
// keeps its printed form; a reason comes on one line.
func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"58mm", "2-9/32\"", "1¾ in", "50°", "13°32.6'", "-0°30'15.5\"", "0.87rad", "1e308rad", "1e21mm", "999999999.9999999mm",
		"1,000mm", "5'", "13/4in", "NaN mm", "1.75", "0x10mm", "5mm5", "１２mm", "\xff", "",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		l, err := unit.ParseLength(s)
		settle(t, s, l, err, unit.ParseLength)
		a, err := unit.ParseAngle(s)
		settle(t, s, a, err, unit.ParseAngle)
	})
}

// printable is what both quantities can do.
type printable interface {
	comparable
	IsFinite() bool
	String() string
}

func settle[Q printable](t *testing.T, s string, q Q, err error, parse func(string) (Q, error)) {
	t.Helper()
	var zero Q
	if err != nil {
		var refused *unit.ParseError
		if !errors.As(err, &refused) || refused.Reason.String() == unit.Reason(0).String() {
			t.Fatalf("%q: %v is no ParseError with a reason", s, err)
		}
		if q != zero {
			t.Fatalf("%q: refused, yet gives %v", s, q)
		}
		if !strings.Contains(refused.Hint, ": write ") || strings.ContainsAny(err.Error(), "\n\r\x00") {
			t.Fatalf("%q: unfit message %q", s, err)
		}
		return
	}
	if !q.IsFinite() {
		t.Fatalf("%q: %v is not finite", s, q)
	}
	text := q.String()
	back, err := parse(text)
	if err != nil || back.String() != text {
		t.Fatalf("%q: prints %q, which reads back as %v, %v", s, text, back, err)
	}
}
