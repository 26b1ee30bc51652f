package solid

import (
	"errors"
	"math"
	"testing"

	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
)

// The same grind further back takes a length of the bar's steel: Cavalieri's principle, whatever the shape of the end.
func TestSteelOfASetBack(t *testing.T) {
	for _, g := range bodies() {
		for _, back := range []float64{0.05, 2, 7} {
			s, err := Between(g.Tool, g.Tool, back, 20_000)
			if err != nil {
				t.Fatal(err)
			}
			want := g.Bar.Area(g.Edge.Section) * back
			if math.Abs(s.Removed-want) > 1e-3*want || s.Nose != back ||
				math.Abs(s.Left-back) > 1e-12 || math.Abs(s.Right-back) > 1e-12 {
				t.Errorf("%s, %g back: %+v, want %.5f mm³", g.name, back, s, want)
			}
		}
	}
}

// M2 is published with 8.16 g/cm³: 10 mm³ weigh 0.0816 g.
func TestMass(t *testing.T) {
	if m := (Steel{Removed: 10}).Mass(8.16); math.Abs(m-0.0816) > 1e-15 {
		t.Errorf("10 mm³ of M2 weigh %g g", m)
	}
}

func TestSteelOfLongerWings(t *testing.T) {
	g := grinds()[0].Tool
	longer := g
	plan, ok := g.Edge.Plan.(swung.Setback)
	if !ok {
		t.Fatal("another plan")
	}
	plan.Setback += 2
	longer.Edge.Plan = plan
	s, err := Between(g, longer, 0, 20_000)
	if err != nil || s.Nose != 0 || math.Abs(s.Left-2) > 1e-12 || math.Abs(s.Right-2) > 1e-12 || !(s.Removed > 10) || s.Resolution > s.Removed/50 {
		t.Errorf("%+v, %v", s, err)
	}
	longer.Bar = flute.RoundBar(16, 6)
	var mismatch *MismatchError
	if _, err := Between(g, longer, 0, 20_000); !errors.As(err, &mismatch) {
		t.Error(err)
	}
}

// At the nose of a 30° bevel 0.1 mm off the bevel are 0.2 mm along the tool.
func TestSharpenings(t *testing.T) {
	g := grinds()[0].Tool
	e := g.Edge
	nose := swung.AtNose(g.Bevels[0].Setting.Wheel, g.Bevels[0].Setting.Pivot, math.Pi/6).Face(e.At(0))
	n, per, ok := Sharpenings([]swung.Face{nose}, 0.1, 40)
	if !ok || n != 200 || math.Abs(per-0.2) > 1e-12 {
		t.Errorf("%d of %g, %v", n, per, ok)
	}
	for _, bad := range [][2]float64{{0, 40}, {0.1, 0}, {-1, 40}, {math.NaN(), 40}, {0.1, math.NaN()}, {1e-300, 40}} {
		if n, per, ok := Sharpenings([]swung.Face{nose}, bad[0], bad[1]); ok {
			t.Errorf("%v: %d of %g", bad, n, per)
		}
	}
}
