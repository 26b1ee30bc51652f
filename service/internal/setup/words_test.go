package setup

import (
	"math"
	"testing"

	"arris.example/geometry/unit"
	"arris.example/service/internal/words"
)

func TestTurns(t *testing.T) {
	for n, want := range map[float64]string{
		0: "0.00 turn", 0.004: "0.00 turn", 0.05: "0.05 turn", 0.25: "1/4 turn", -0.25: "1/4 turn", 1.0 / 3: "1/3 turn", 0.51: "1/2 turn", 0.75: "3/4 turn",
		1: "1 turn", 0.99: "1 turn", 1.25: "1 1/4 turns", 1.543: "about 1 1/2 turns (1.54)", 2: "2 turns", 1.99: "2 turns", 12.66: "12 2/3 turns", 0.42: "about 1/2 turn (0.42)",
	} {
		if got := turns(words.Language{}, n); got != want {
			t.Errorf("%v turns: %q, want %q", n, got, want)
		}
	}
}

func TestDirection(t *testing.T) {
	const out, up, in, down = words.Text("→ %s out %s"), words.Text("↑ %s up %s"), words.Text("← %s in %s"), words.Text("↓ %s down %s")
	for degrees, want := range map[float64]words.Text{
		0: out, 44: out, 46: up, 90: up, 134: up, 136: in, 180: in, -180: in, -136: in, -90: down, -44: out, -46: down,
	} {
		if got := direction(unit.Degrees(degrees), true); got != want {
			t.Errorf("%v°: %s, want %s", degrees, got, want)
		}
		back := direction(unit.Degrees(degrees), false)
		if forth := direction(unit.Degrees(degrees)+unit.Degrees(180), true); back != forth {
			t.Errorf("%v°: back is %s, half a turn further forth is %s", degrees, back, forth)
		}
	}
}

// TestTies holds that half-way goes to the blunt side, which is up where the angle grows with the value.
func TestTies(t *testing.T) {
	for _, c := range []struct{ v, step, per, want float64 }{
		{0.25, 0.1, 1, 0.3}, {0.25, 0.1, -1, 0.2}, {-0.25, 0.1, 1, -0.2}, {-0.25, 0.1, -1, -0.3}, {0.26, 0.1, -1, 0.3}, {108.75, 0.5, 1, 109}, {108.75, 0.5, -1, 108.5},
	} {
		if got := roundDatum(unit.Length(c.v), unit.Length(c.step), c.per, anywhere); float64(got) != c.want {
			t.Errorf("%v in steps of %v, slope %v: %v, want %v", c.v, c.step, c.per, float64(got), c.want)
		}
	}
	for _, c := range []struct {
		per, want float64
	}{{1, 12}, {-1, 10}} {
		for _, blocks := range [][]unit.Length{{10, 12, 20}, {20, 12, 10}} {
			if got, ok := nearestBlock(11, blocks, c.per, anywhere); !ok || float64(got) != c.want {
				t.Errorf("between blocks, slope %v: %v, want %v", c.per, got, c.want)
			}
		}
	}
	if _, ok := nearestBlock(11, nil, 1, anywhere); ok {
		t.Error("a block out of nothing")
	}
}

func TestSteps(t *testing.T) {
	sixtyFourth := unit.Inch / 64
	for _, c := range []struct{ step, least, want unit.Length }{{0.1, 1, 1}, {0.3, 1, 1.2}, {2, 1, 2}, {1, 1, 1}, {sixtyFourth, 1, 3 * sixtyFourth}, {0.001, 0.1, 0.1}} {
		if got := coarse(c.step, c.least); math.Abs(float64(got-c.want)) > 1e-12 {
			t.Errorf("steps of %v, no finer than %v: %v, want %v", c.step, c.least, got, c.want)
		}
	}
	for _, c := range []struct {
		least, most, step, first, last unit.Length
		n                              int
	}{{10, 12, 1, 10, 12, 3}, {10.4, 12.9, 1, 11, 12, 2}, {10, 12, 2.5, 10, 10, 1}, {0.3, 0.9, 0.1, 0.3, 0.9, 7}, {-1, 1, 0.5, -1, 1, 5}} {
		got := steps(c.least, c.most, c.step)
		if len(got) != c.n || math.Abs(float64(got[0]-c.first)) > 1e-12 || math.Abs(float64(got[c.n-1]-c.last)) > 1e-12 {
			t.Errorf("from %v to %v in %v: %v", c.least, c.most, c.step, got)
		}
	}
	if got := steps[unit.Length](5, 4, 1); len(got) != 0 {
		t.Errorf("steps in an empty range: %v", got)
	}
}

func TestDecimals(t *testing.T) {
	for v, want := range map[float64]int{1: 0, 0.5: 1, 0.1: 1, 25.4: 1, 0.25: 2, 0.05: 2, 0.001: 3, 1.0 / 3: 3, 45.1: 1, 177.114: 3, 108.49999999999999: 1} {
		if got := decimals(v); got != want {
			t.Errorf("%v needs %d places, got %d", v, want, got)
		}
	}
}
