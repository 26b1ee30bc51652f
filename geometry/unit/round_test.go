package unit_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
)

func TestRoundToTies(t *testing.T) {
	for _, c := range []struct {
		mm, step       float64
		up, down, even float64
	}{
		{108.45, 0.1, 108.5, 108.4, 108.4},
		{0.25, 0.1, 0.3, 0.2, 0.2},
		{0.35, 0.1, 0.4, 0.3, 0.4},
		{-0.25, 0.1, -0.2, -0.3, -0.2},
		{0.15, 0.3, 0.3, 0, 0},
		{1.005, 0.01, 1.01, 1, 1},
		{2.675, 0.01, 2.68, 2.67, 2.68},
		{2.5, 1, 3, 2, 2},
		{110.025, 0.05, 110.05, 110, 110},
		{0.1984375, 0.396875, 0.396875, 0, 0}, // half of 1/64 in
		{15, 10, 20, 10, 20},
		{-0.05, 0.1, 0, -0.1, 0},
	} {
		for tie, want := range map[unit.Tie]float64{unit.TieUp: c.up, unit.TieDown: c.down, unit.TieEven: c.even} {
			if got := unit.Length(c.mm).RoundTo(unit.Length(c.step), tie); float64(got) != want {
				t.Errorf("%v mm in steps of %v, tie %d: %v, want %v", c.mm, c.step, tie, float64(got), want)
			}
			if got := unit.Degrees(c.mm).RoundTo(unit.Degrees(c.step), tie); got.Degrees() != want {
				t.Errorf("%v° in steps of %v, tie %d: %v, want %v", c.mm, c.step, tie, got.Degrees(), want)
			}
		}
	}
}

func TestRoundToNearTies(t *testing.T) {
	for _, c := range []struct{ mm, want unit.Length }{
		{108.4500001, 108.5},
		{108.4499999, 108.4},
		{108.45 - 1e-11, 108.4},
		{3.3000000000000003, 3.3},
	} {
		for _, tie := range []unit.Tie{unit.TieUp, unit.TieDown, unit.TieEven} {
			if got := c.mm.RoundTo(0.1, tie); got != c.want {
				t.Errorf("%v tie %d: %v, want %v", float64(c.mm), tie, float64(got), float64(c.want))
			}
		}
	}
}

// A tie reached by a few sums and products is still one.
func TestRoundToSeesThroughArithmetic(t *testing.T) {
	r := chance.New(t)
	for range 30000 {
		tie := float64(2*r.IntN(4000)+1) / 20 // n.05, n.15, …
		computed := unit.Length(tie / 25.4 * 1.1 * 25.4 / 1.1)
		up, down := computed.RoundTo(0.1, unit.TieUp), computed.RoundTo(0.1, unit.TieDown)
		if steps := math.Round(float64(up-down) * 10); steps != 1 {
			t.Fatalf("%v (computed %v): up %v, down %v", tie, float64(computed), float64(up), float64(down))
		}
	}
}

func TestRoundToNoZeroSign(t *testing.T) {
	for _, v := range []float64{-0.01, math.Copysign(0, -1), -0.05} {
		if got := unit.Length(v).RoundTo(0.1, unit.TieUp); got != 0 || math.Signbit(float64(got)) {
			t.Errorf("%v rounds to %v", v, float64(got))
		}
	}
}

func TestRoundToWithoutGrid(t *testing.T) {
	for _, c := range []struct{ mm, step float64 }{
		{1.23, 0}, {1.23, -0.1}, {1.23, math.NaN()}, {1.23, math.Inf(1)}, {1.23, 1e-300},
		{math.Inf(1), 0.1}, {1e300, 0.1}, {1e15 + 0.25, 0.1},
	} {
		if got := unit.Length(c.mm).RoundTo(unit.Length(c.step), unit.TieUp); float64(got) != c.mm {
			t.Errorf("%v in steps of %v: %v, want it unchanged", c.mm, c.step, float64(got))
		}
	}
	if got := unit.Length(math.NaN()).RoundTo(0.1, unit.TieUp); !math.IsNaN(float64(got)) {
		t.Errorf("NaN rounds to %v", float64(got))
	}
}

// roundMillionths is the oracle: v and step in whole millionths, so that ties
// are exact.
func roundMillionths(v, step int64, tie unit.Tie) int64 {
	lower := v / step
	if v%step < 0 {
		lower--
	}
	part := 2 * (v - lower*step)
	if part > step || part == step && (tie == unit.TieUp || tie == unit.TieEven && lower%2 != 0) {
		lower++
	}
	return lower * step
}

func TestRoundToAgainstIntegers(t *testing.T) {
	steps := []int64{1, 10, 1000, 50000, 100000, 250000, 300000, 396875, 500000, 1000000, 1500000, 25400000}
	ties := []unit.Tie{unit.TieUp, unit.TieDown, unit.TieEven}
	r := chance.New(t)
	for range 30000 {
		step, tie := steps[r.IntN(len(steps))], ties[r.IntN(len(ties))]
		v := r.Int64N(1000e6) - 500e6
		if r.IntN(2) == 0 { // on or half-way between two steps
			v = v / step * step
			v += step / 2 * (1 - step%2)
		}
		want := millionths(t, roundMillionths(v, step, tie))
		value, grid := millionths(t, v), millionths(t, step)
		got := unit.Length(value).RoundTo(unit.Length(grid), tie)
		if float64(got) != want {
			t.Fatalf("%v mm in steps of %v, tie %d: %v, want %v", value, grid, tie, float64(got), want)
		}
		if again := got.RoundTo(unit.Length(grid), tie); again != got {
			t.Fatalf("rounding %v again gives %v", float64(got), float64(again))
		}
		angle := unit.Degrees(value).RoundTo(unit.Degrees(grid), tie)
		if angle.Degrees() != want {
			t.Fatalf("%v° in steps of %v, tie %d: %v, want %v", value, grid, tie, angle.Degrees(), want)
		}
		if again := angle.RoundTo(unit.Degrees(grid), tie); again != angle {
			t.Fatalf("rounding %v again gives %v", angle.Degrees(), again.Degrees())
		}
	}
}

// Steps that are no decimals have multiples too.
func TestRoundToIdempotentOnAnyStep(t *testing.T) {
	r := chance.New(t)
	for range 30000 {
		step := unit.Length(math.Exp(r.NormFloat64() * 3))
		l := unit.Length(r.NormFloat64() * 1000)
		once := l.RoundTo(step, unit.TieDown)
		if math.Abs(float64(once-l)) > float64(step)*(0.5+1e-9) {
			t.Fatalf("%v in steps of %v: %v is not nearest", float64(l), float64(step), float64(once))
		}
		if twice := once.RoundTo(step, unit.TieDown); twice != once {
			t.Fatalf("%v in steps of %v: %v, then %v", float64(l), float64(step), float64(once), float64(twice))
		}
	}
}
