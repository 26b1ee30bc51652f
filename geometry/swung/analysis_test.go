package swung_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// A setting seen in a mirror grinds the mirrored edge.
func TestMirrored(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		section, reach := anyFlute(r)
		e := swung.Edge{Section: section, Plan: anyPlan(r, reach), Right: reach, Left: reach * uniform(r, 0.5, 1)}
		g, _ := anyRig(r)
		m := g
		m.Aside, m.Roll, m.Contact = -g.Aside, -g.Roll, -g.Contact
		nose, noseM := g.Face(e.At(0)), m.Face(e.At(0))
		along := uniform(r, -1, 1) * reach
		f, fm := g.Face(e.At(along)), m.Face(e.At(-along))
		near(t, "margin", fm.Margin, f.Margin, 1e-12)
		if f.Margin < 1e-3 || nose.Margin < 1e-3 {
			continue
		}
		near(t, "wedge", fm.Wedge, f.Wedge, 1e-9)
		near(t, "normal", fm.Normal.Minus(f.Normal.Mirrored()).Length(), 0, 1e-9)
		near(t, "run", fm.Run.Minus(f.Run.Mirrored()).Length(), 0, 1e-9)
		s, sm := g.Stance(nose, f, geometry.Point{Out: 200}), m.Stance(noseM, fm, geometry.Point{Out: 200})
		near(t, "contact", sm.Elevation, s.Elevation, 1e-9)
		near(t, "yaw", math.Remainder(sm.Lean.Yaw+s.Lean.Yaw, 2*math.Pi), 0, 1e-8)
		near(t, "roll", math.Remainder(sm.Lean.Roll+s.Lean.Roll, 2*math.Pi), 0, 1e-8)
		near(t, "pitch", sm.Lean.Pitch, s.Lean.Pitch, 1e-8)
		near(t, "whole lean", sm.Lean.Angle, s.Lean.Angle, 1e-8)
	}
}

// The margin has no jumps, where the edge is lost neither.
func TestMarginIsContinuous(t *testing.T) {
	r := chance.New(t)
	var lost int
	for range 300 {
		section, reach := anyFlute(r)
		e := swung.Even(section, anyPlan(r, reach), reach)
		g, _ := anyRig(r)
		const n = 20000
		before := g.Face(e.At(-reach))
		for i := 1; i <= n; i++ {
			f := g.Face(e.At(reach * (2*float64(i)/n - 1)))
			// An edge's direction turns by at most 1 rad/mm or so; a plan of exponent 1.6 by more at its nose.
			if math.Abs(f.Margin-before.Margin) > 0.02 {
				t.Fatalf("the margin jumps from %g to %g at %g: %+v %+v", before.Margin, f.Margin, f.Along, e, g)
			}
			if f.Reached() != before.Reached() {
				lost++
			}
			if f.Reached() == (f.Excess != 0) && f.Margin != 0 {
				t.Fatalf("margin %g with an excess of %g", f.Margin, f.Excess)
			}
			before = f
		}
	}
	if lost < 20 {
		t.Errorf("edges were lost %d times: the settings are not what they should be", lost)
	}
}

// The even swing meets one spot of the rim all along its edge, and it starts as the planar relation does.
func TestEvenSwingMeetsOneSpot(t *testing.T) {
	r := chance.New(t)
	for range 500 {
		section := flute.Parabola(uniform(r, 3, 8))
		g, _ := anyRig(r)
		g.Contact = 0
		e := swung.Even(section, swung.EvenSwing{Section: section, Setting: g}, uniform(r, 3, 9))
		support := geometry.Point{Out: 150, Up: 40}
		a := swung.Analyse(e, g, support, e.Places(21))
		for _, p := range a.Points {
			if p.Reached() && a.Nose.Reached() {
				near(t, "contact out", float64(p.Contact.Out), float64(a.Points[10].Contact.Out), 1e-6)
				near(t, "contact up", float64(p.Contact.Up), float64(a.Points[10].Contact.Up), 1e-6)
			}
		}
		if g.Aside == 0 && g.Roll == 0 {
			_, slope, _ := e.Plan.At(0)
			near(t, "slope at the nose", slope, 0, 1e-12)
		}
	}
}

// Extremes are those of a sampling 100 times as dense, stretches end where it says so, and what would reach does.
func TestAnalysisAgainstDenseSampling(t *testing.T) {
	r := chance.New(t)
	var unreached, poor, gaps, turns int
	for range 600 {
		section, reach := anyFlute(r)
		e := swung.Edge{Section: section, Plan: anyPlan(r, reach), Right: reach, Left: reach * uniform(r, 0.6, 1)}
		g, _ := anyRig(r)
		g.Gap += lengthOf(uniform(r, -20, 20))
		a := swung.Analyse(e, g, geometry.Point{}, e.Places(65))
		least, most := math.Inf(1), math.Inf(-1)
		spacing := reach / 32
		for i := range 6401 {
			along := -e.Left + (e.Left+e.Right)*float64(i)/6400
			f := g.Face(e.At(along))
			if in(a.Unreached, along, 1e-9) == f.Reached() && !in(a.Unreached, along, 1e-9+spacing) == f.Reached() {
				t.Fatalf("at %g the margin is %g; unreached %+v", along, f.Margin, a.Unreached)
			}
			if in(a.Poor, along, 1e-6) != (f.Margin < swung.LeastMargin) && math.Abs(f.Margin-swung.LeastMargin) > 1e-5 {
				t.Fatalf("at %g the margin is %g; poor %+v", along, f.Margin, a.Poor)
			}
			if f.Reached() {
				least, most = min(least, f.Wedge), max(most, f.Wedge)
			}
		}
		if a.Reached && len(a.Poor) == 0 {
			// It may find what falls between, where a flute's wall begins.
			within(t, "least wedge", a.Least.Wedge-least, -1e-3, 1e-4)
			within(t, "most wedge", most-a.Most.Wedge, -1e-3, 1e-4)
		}
		unreached, poor = unreached+len(a.Unreached), poor+len(a.Poor)
		for _, s := range a.Unreached {
			if s.Gap != 0 {
				gaps++
				closer := g
				closer.Gap = lengthOf(s.Gap)
				within(t, "margin at the gap that reaches", closer.Face(s.Worst.Point).Margin, -1e-9, 1)
			}
			if s.Turn > 0 {
				turns++
				checkTurn(t, g, s)
			}
		}
		checkGaps(t, a)
		if t.Failed() {
			t.Fatalf("%+v %+v: %+v", e, g, a.Unreached)
		}
	}
	t.Logf("%d unreached stretches, %d poor ones; %d with a gap, %d with a turn", unreached, poor, gaps, turns)
	if unreached < 100 || poor < 100 || gaps < 50 || turns < 50 {
		t.Error("the settings are not what they should be")
	}
}

func in(stretches []swung.Stretch, along, slack float64) bool {
	for _, s := range stretches {
		if along >= s.From-slack && along <= s.To+slack {
			return true
		}
	}
	return false
}

// checkTurn turns the edge at the worst place square to its line to the pivot, by the angle said and a little less.
func checkTurn(t *testing.T, g swung.Setting, s swung.Stretch) {
	t.Helper()
	q := s.Worst.At.Minus(vec(float64(g.Pivot.Behind), -float64(g.Pivot.Below), float64(g.Aside)))
	if g.Roll != 0 {
		return
	}
	axis := q.Cross(s.Worst.Edge).Dir()
	for _, part := range []float64{1 + 1e-6, 1 - 1e-3} {
		p := s.Worst.Point
		turn := s.Turn * part
		if p.Edge.Dot(q) < 0 {
			turn = -turn
		}
		p.Edge = p.Edge.Times(math.Cos(turn)).Plus(axis.Cross(p.Edge).Times(math.Sin(turn)))
		if f := g.Face(p); f.Reached() != (part > 1) {
			t.Errorf("turned by %g of %g°: margin %g", part, s.Turn/degree, f.Margin)
		}
	}
}

// checkGaps goes to both ends of the gaps at which all is reached, and beyond.
func checkGaps(t *testing.T, a swung.Analysis) {
	t.Helper()
	least, most, ok := a.Gaps()
	if k := a.Setting.Wheel.Curvature(); !ok || most-least < 1e-3 || k*least < -0.9 { // a pivot on the axle may be as near as it likes
		return
	}
	for _, c := range []struct {
		gap float64
		all bool
	}{{most - 1e-6, true}, {most + 1e-6, false}, {least + 1e-6, true}, {least - 1e-6, false}} {
		g := a.Setting
		g.Gap = lengthOf(c.gap)
		all := true
		for _, p := range a.Points {
			all = all && g.Face(p.Point).Reached()
		}
		if c.all && !all || !c.all && all {
			t.Errorf("gaps from %g to %g; at %g all is reached: %v", least, most, c.gap, all)
		}
	}
}

// Unequal wings are told by how much and where.
func TestUneven(t *testing.T) {
	e, g := rowSix(4, 6.5)
	if a := swung.Analyse(e, g, geometry.Point{}, e.Places(65)); math.Abs(a.Uneven.Wedge) > 1e-12 {
		t.Errorf("even wings differ by %g", a.Uneven.Wedge)
	}
	g.Aside = 1
	for _, places := range [][]float64{e.Places(65), {-e.Left, 0, 1, 2, e.Right}} {
		a := swung.Analyse(e, g, geometry.Point{}, places)
		at := a.Uneven.Along
		near(t, "difference", a.Uneven.Wedge, g.Face(e.At(at)).Wedge-g.Face(e.At(-at)).Wedge, 1e-15)
		for _, along := range places {
			if d := g.Face(e.At(along)).Wedge - g.Face(e.At(-along)).Wedge; math.Abs(d) > math.Abs(a.Uneven.Wedge)+1e-15 {
				t.Errorf("the wings differ by %g at %g, more than %+v", d, along, a.Uneven)
			}
		}
	}
}

// An analysis of nothing, and of an edge that nothing reaches.
func TestAnalysisOfNothing(t *testing.T) {
	e, g := rowSix(4, 6.5)
	a := swung.Analyse(e, g, geometry.Point{}, nil)
	if _, _, ok := a.Gaps(); ok || a.Reached || a.Undercuts(func(swung.Face) float64 { return 1 }, swung.Rim{}) != nil {
		t.Errorf("nothing is %+v", a)
	}
	g.Gap = 500
	a = swung.Analyse(e, g, geometry.Point{}, e.Places(65))
	if a.Reached || len(a.Unreached) != 1 || a.Unreached[0].From != -e.Left || a.Unreached[0].To != e.Right || a.Unreached[0].Worst.Excess <= 0 {
		t.Errorf("500 mm away: %+v", a.Unreached)
	}
}

func FuzzSwung(f *testing.F) {
	f.Add(125., 105., 75., 40., 4., 14., 6.5, 2., 0., 0., 0., uint8(0))
	f.Add(0., 105., 75., 40., 4., 14., 6.5, 1.5, 1., 0.1, 10., uint8(5))
	f.Add(1e-3, -105., 75., -40., 1e-3, 1e9, 1e3, 9., 1e9, 3., -1e6, uint8(11))
	f.Fuzz(func(t *testing.T, diameter, behind, below, gap, radius, setback, reach, exponent, aside, roll, contact float64, shape uint8) {
		g := swung.Setting{
			Wheel: geometry.FlatAbrasive(), Pivot: geometry.Pivot{Behind: lengthOf(behind), Below: lengthOf(below)}, Gap: lengthOf(gap),
			Aside: lengthOf(aside), Roll: unit.Angle(roll), Contact: lengthOf(contact),
		}
		if diameter > 0 {
			g.Wheel = geometry.RoundWheel(lengthOf(diameter))
		}
		section := []flute.Section{flute.Parabola(radius), flute.Round(radius), flute.Vee(radius, 1), flute.Flat()}[shape%4]
		if section.Check() != nil || !(reach > 0) { // what makes no edge is refused before
			return
		}
		e := swung.Even(section, swung.Setback{Setback: setback, Reach: reach, Exponent: exponent}, reach)
		switch shape / 4 % 3 {
		case 1:
			e.Plan = swung.EvenSwing{Section: section, Setting: g}
		case 2:
			if p, err := swung.NewMeasured([]swung.Spot{{-reach, setback}, {0, 0}, {reach, setback}, {2 * reach, exponent}}, aside); err == nil {
				e.Plan = p
			}
		}
		a := swung.Analyse(e, g, geometry.Point{Out: 100, Up: 50}, e.Places(9))
		for _, p := range a.Points {
			if !p.Reached() {
				continue
			}
			for what, v := range map[string]float64{
				"wedge": p.Wedge, "to axis": p.ToAxis(), "skew": p.Skew(), "normal": p.Normal.Length(), "run": p.Run.Length(), "axle": p.Axle.Length(),
				"yaw": p.Lean.Yaw, "lean": p.Lean.Angle, "contact": float64(p.Contact.Out),
			} {
				if math.IsNaN(v) {
					t.Errorf("%s is no number: %+v", what, p)
				}
			}
		}
		a.Undercuts(func(f swung.Face) float64 { return f.ArcOf(3) }, swung.Rim{Left: 20, Right: 20})
		a.Gaps()
	})
}

// The baseline is the bare planar relation, which has one angle for the whole edge, at as many places.
func BenchmarkAnalyse(b *testing.B) {
	e, g := rowSix(4, 6.5)
	places := e.Places(65)
	b.Run("planar", func(b *testing.B) {
		for range b.N {
			for range places {
				angle, err := g.Wheel.EdgeAngle(g.Pivot, g.Gap)
				if err != nil {
					b.Fatal(err)
				}
				sink += float64(angle)
			}
		}
	})
	b.Run("65 points", func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			a := swung.Analyse(e, g, geometry.Point{Out: 150, Up: 60}, places)
			sink += a.Most.Wedge
		}
	})
	b.Run("undercuts", func(b *testing.B) {
		a := swung.Analyse(e, g, geometry.Point{Out: 150, Up: 60}, places)
		land := func(f swung.Face) float64 { return f.ArcOf(5) }
		for range b.N {
			sink += float64(len(a.Undercuts(land, swung.Rim{})))
		}
	})
}

var sink float64
