package unit_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
)

// Every tenth of a degree of the circle comes back to the bit.
func TestDegreesKeepsTenths(t *testing.T) {
	for i := int64(-1800); i <= 1800; i++ {
		d := millionths(t, i*100000)
		if got := unit.Degrees(d).Degrees(); got != d {
			t.Errorf("Degrees(%v).Degrees() = %v", d, got)
		}
	}
}

// And so does every decimal of nine places, up to the stated 1e5 degrees.
func TestDegreesKeepsDecimals(t *testing.T) {
	r := chance.New(t)
	for range 50000 {
		scale := math.Pow(10, float64(r.IntN(10)))
		d := math.Round((2*r.Float64()-1)*math.Pow(10, r.Float64()*5)*scale) / scale
		if got := unit.Degrees(d).Degrees(); got != d {
			t.Fatalf("Degrees(%v).Degrees() = %v", d, got)
		}
	}
}

// Finding decimals must not disturb other values: against the plain product
// every result stays within the four roundings it may take back, and order is
// kept.
func TestDegreesMovesNothingElse(t *testing.T) {
	r := chance.New(t)
	for range 50000 {
		a := unit.Angle(r.NormFloat64() * math.Pow(10, r.Float64()*20-10))
		plain := a.Radians() * 180 / math.Pi
		if diff := math.Abs(a.Degrees() - plain); diff > 0x1p-50*math.Abs(plain) {
			t.Fatalf("%g rad = %v°, plain %v°", a.Radians(), a.Degrees(), plain)
		}
		next := unit.Angle(math.Nextafter(a.Radians(), math.Inf(1)))
		if next.Degrees() < a.Degrees() {
			t.Fatalf("degrees fall from %v to %v", a.Degrees(), next.Degrees())
		}
	}
}

func TestCardinalAngles(t *testing.T) {
	if unit.Degrees(180) != math.Pi || unit.Degrees(90) != math.Pi/2 || 90*unit.Degree != math.Pi/2 {
		t.Error("180° is not π or 90° not π/2")
	}
	if got := unit.Angle(math.Pi).Degrees(); got != 180 {
		t.Errorf("π = %v°", got)
	}
}

func TestTrigonometry(t *testing.T) {
	const tolerance = 1e-15
	for _, c := range []struct{ deg, sin, cos, tan float64 }{
		{0, 0, 1, 0},
		{30, 0.5, math.Sqrt(3) / 2, 1 / math.Sqrt(3)},
		{-45, -math.Sqrt2 / 2, math.Sqrt2 / 2, -1},
		{150, 0.5, -math.Sqrt(3) / 2, -1 / math.Sqrt(3)},
	} {
		a := unit.Degrees(c.deg)
		sin, cos := a.SinCos()
		for _, p := range [][2]float64{{sin, c.sin}, {cos, c.cos}, {a.Sin(), c.sin}, {a.Cos(), c.cos}, {a.Tan(), c.tan}} {
			if math.Abs(p[0]-p[1]) > tolerance {
				t.Errorf("%v: got %v, want %v", a, p[0], p[1])
			}
		}
	}
}

func TestAngleString(t *testing.T) {
	for _, c := range []struct {
		a    unit.Angle
		want string
	}{
		{unit.Degrees(50), "50°"},
		{50 * unit.Degree, "50°"},
		{unit.Degrees(52.9), "52.9°"},
		{unit.Radian, "57.29578°"},
		{unit.Degrees(-1e-9), "0°"},
		{unit.Degrees(1e12), "1000000000000°"},
		{unit.Angle(math.NaN()), "NaN°"},
	} {
		if got := c.a.String(); got != c.want {
			t.Errorf("%g rad prints %q, want %q", c.a.Radians(), got, c.want)
		}
	}
}

func TestPrintedAngleReadsBack(t *testing.T) {
	r := chance.New(t)
	for range 20000 {
		a := unit.Degrees(r.NormFloat64() * math.Pow(10, r.Float64()*24-6))
		text := a.String()
		back, err := unit.ParseAngle(text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if diff := math.Abs((back - a).Degrees()); diff > 0.5000001e-6+5.1e-13*math.Abs(a.Degrees()) {
			t.Fatalf("%g° prints %q and reads back %g° off", a.Degrees(), text, diff)
		}
		if again := back.String(); again != text {
			t.Fatalf("%q prints again as %q", text, again)
		}
	}
}
