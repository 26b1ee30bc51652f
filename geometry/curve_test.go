package geometry_test

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// TestCurveChecks holds the tightest curve to the check values, whose relief is flat.
func TestCurveChecks(t *testing.T) {
	text, err := os.ReadFile("testdata/geometry.json")
	if err != nil {
		t.Fatal(err)
	}
	var rows struct {
		Curve []struct {
			Wheel  float64 `json:"wheel_radius_mm"`
			Edge   float64 `json:"primary_edge_tangent_deg"`
			Land   float64 `json:"land_chord_mm"`
			Steel  float64 `json:"steel_depth_mm"`
			Relief float64 `json:"second_bevel_flat_angle_deg"`
			Radius float64 `json:"smallest_concave_radius_mm"`
		} `json:"curve"`
	}
	if err := json.Unmarshal(text, &rows); err != nil {
		t.Fatal(err)
	}
	if len(rows.Curve) != 12 {
		t.Fatalf("%d rows", len(rows.Curve))
	}
	for _, row := range rows.Curve {
		land := chordOf(t, wheelOfRadius(row.Wheel), row.Edge, row.Land)
		_, below := land.End()
		s := stackOf(t, land, depthOf(t, geometry.FlatAbrasive(), row.Relief, row.Steel-float64(below)))
		near(t, "tightest curve, mm", float64(s.TightestCurve()), row.Radius, 0.00005001)
	}
}

// outline is points along a stack's surface, from the circle through each bevel's ends and the bottom of its hollow.
func outline(s geometry.Stack, each int) (points []place) {
	for _, b := range s {
		from, to := placeOf(b.Behind, b.Below), placeOf(b.End())
		for i := range each + 1 {
			at := float64(i) / float64(each)
			chord := from.far(to)
			// A shallow arc lies below its chord by its sagitta's share; exact is the circle, so take it from its radius.
			off := 0.0
			if sagitta := float64(b.Depth); sagitta > 0 {
				radius := (chord*chord/4 + sagitta*sagitta) / (2 * sagitta)
				x := (at - 0.5) * chord
				off = math.Sqrt(radius*radius-x*x) - (radius - sagitta)
			}
			alongBack, alongDown := (to.back-from.back)/chord, (to.down-from.down)/chord
			points = append(points, place{
				from.back + at*chord*alongBack + off*alongDown,
				from.down + at*chord*alongDown - off*alongBack,
			})
		}
	}
	return points
}

// proud puts a stack into a curve, edge and land end on it, and says how far the surface stands out of the curve at most, and where.
func proud(s geometry.Stack, curve float64) (float64, place) {
	end := placeOf(s[0].End())
	half := math.Hypot(end.back, end.down) / 2
	rise := math.Sqrt(curve*curve - half*half)
	centre := place{end.back/2 + end.down/(2*half)*rise, end.down/2 - end.back/(2*half)*rise}
	most, where := math.Inf(-1), place{}
	for _, p := range outline(s, 60) {
		if out := p.far(centre) - curve; out > most {
			most, where = out, p
		}
	}
	return most, where
}

func anyRelieved(t *testing.T, r *rand.Rand) geometry.Stack {
	t.Helper()
	for {
		p := anyPlan(r)
		if p.refused == nil && len(p.stack) > 1 && !math.IsInf(float64(p.stack.TightestCurve()), 1) {
			return p.stack
		}
	}
}

// A stack, hollows and all, is laid as a polygon into a circle: in the tightest curve it touches and does not stand out; in one a
// thousandth tighter a corner does.
func TestTightestCurveAgainstPolygon(t *testing.T) {
	r := chance.New(t)
	var rested int
	for range 1000 {
		s := anyRelieved(t, r)
		curve := float64(s.TightestCurve())
		if out, at := proud(s, curve*(1+1e-9)+1e-9); out > 1e-7*(1+curve*1e-3) {
			t.Errorf("in its tightest curve, %g mm, %+v\nstands out by %g mm at %v", curve, s, out, at)
		}
		tighter := curve * 0.999
		if tighter < float64(s[0].Chord)/2 {
			rested++ // the land itself is what fits no more
			continue
		}
		// A circle tighter by a part departs from its own by that part of d²/2ρ, of which the solid sees a nanometre.
		if out, _ := proud(s, tighter); curve < 1e4 && !(out > 1e-9) {
			t.Errorf("in %g mm, tighter than its tightest, nothing of %+v stands out", tighter, s)
		}
	}
	if rested > 300 {
		t.Errorf("%d stacks rest on their land alone", rested)
	}
}

// Corners at or outside the land's line touch in any curve; one bevel rides on itself in any that it fits into.
func TestTightestCurveAtTheEnds(t *testing.T) {
	if got := (geometry.Stack{}).TightestCurve(); got != 0 {
		t.Errorf("no bevel needs %v", got)
	}
	near(t, "one bevel, mm", float64(stackOf(t, chordOf(t, north, 50, 10)).TightestCurve()), 5, 0)
	// A hollow relief 0.1° below the land's tangent is steeper than the land's chord as a whole.
	s := stackOf(t, chordOf(t, north, 50, 3), chordOf(t, north, 51.6, 6))
	if got := s.TightestCurve(); !math.IsInf(float64(got), 1) {
		t.Errorf("a heel outside the land's line clears %v", got)
	}
}

// A heel that sees the land under an obtuse angle is inside whatever holds the land.
func TestHeelBeforeTheLand(t *testing.T) {
	s := stackOf(t, chordOf(t, geometry.FlatAbrasive(), 150, 3), chordOf(t, geometry.FlatAbrasive(), 20, 1))
	near(t, "tightest curve, mm", float64(s.TightestCurve()), 1.5, 0)
	if out, _ := proud(s, 1.5000001); out > 1e-6 {
		t.Errorf("it stands out by %g mm", out)
	}
}

// As a curve gets tighter the relief that clears falls until there is none; a front angle that is no bevel is never offered.
func TestReliefForFallsToNone(t *testing.T) {
	land, small := chordOf(t, north, 50, 3), geometry.RoundWheel(20)
	before, found := land.Far, 0
	for curve := unit.Length(100); curve > 2; curve -= 0.01 {
		front, ok := small.ReliefFor(land, curve, 8)
		if !ok {
			continue
		}
		found++
		if !(front > 0 && front < before) {
			t.Fatalf("for %v a relief of %v, before %v", curve, front, before)
		}
		before = front
	}
	if found < 1000 || found > 9700 {
		t.Errorf("%d curves have a relief", found)
	}
}

// From the same front angle the heel of a hollow relief is further forward and prouder than a flat one's: taking it for flat promises a
// tighter curve than clears.
func TestHollowReliefIsNotFlat(t *testing.T) {
	land := chordOf(t, north, 50, 3)
	_, below := land.End()
	flat := stackOf(t, land, depthOf(t, geometry.FlatAbrasive(), 40, 8-float64(below)))
	hollow := stackOf(t, land, depthOf(t, geometry.RoundWheel(150), 40, 8-float64(below)))
	if !(hollow.TightestCurve() > flat.TightestCurve()*1.1) {
		t.Errorf("hollow %v, flat %v", hollow.TightestCurve(), flat.TightestCurve())
	}
}

// Of the job's description: on a radius of 40 a bevel of 10 mm lifts the edge by 7.2°, a land of 3 mm by 2.1°.
func TestScenarioLift(t *testing.T) {
	reads(t, "10 mm, °", must[unit.Angle](t)(geometry.Lift(10, 40)).Degrees(), "7.2")
	three := must[unit.Angle](t)(geometry.Lift(3, 40))
	reads(t, "3 mm, °", three.Degrees(), "2.1")
	near(t, "and back, mm", float64(geometry.LongestLand(40, three)), 3, 1e-14)
	near(t, "all that fits, mm", float64(geometry.LongestLand(40, 2)), 80, 0)
	for _, c := range [][2]unit.Length{{81, 40}, {3, 0}, {3, -40}, {-1, 40}, {3, unit.Length(math.NaN())}} {
		var curve *geometry.CurveError
		if _, err := geometry.Lift(c[0], c[1]); !errors.As(err, &curve) {
			t.Errorf("%v on %v: %v", c[0], c[1], err)
		}
	}
}

// The bar's underside with edge and heel on the wood, against where a straight bar's next 10 µm are.
func TestUndersideRoomAgainstStep(t *testing.T) {
	r := chance.New(t)
	var below int
	for range 2000 {
		h := depthOf(t, geometry.RoundWheel(unit.Length(uniform(r, 100, 300))), uniform(r, 10, 60), uniform(r, 3, 12))
		s := stackOf(t, h)
		end := placeOf(h.End())
		half := float64(h.Chord) / 2
		curve := half * uniform(r, 1.001, 6)
		room := must[unit.Angle](t)(s.UndersideRoom(unit.Length(curve)))
		rise := math.Sqrt(curve*curve - half*half)
		centre := place{end.back/2 + end.down/(2*half)*rise, end.down/2 - end.back/(2*half)*rise}
		clears := place{end.back + 1e-5, end.down}.far(centre) < curve
		if math.Abs(float64(room)) > 1e-5 && clears != (room > 0) {
			t.Errorf("%v, but a step along the bar clears: %v", room, clears)
		}
		if room < 0 {
			below++
		}
	}
	if below == 0 || below == 2000 {
		t.Errorf("%d of 2000 undersides lie on the wood", below)
	}
	var curve *geometry.CurveError
	if _, err := stackOf(t, chordOf(t, north, 50, 9)).UndersideRoom(4); !errors.As(err, &curve) {
		t.Error(err)
	}
}

// The relief found is just clear by the polygon, and a little steeper one is not; where none is found, a search over all finds none.
func TestReliefForAgainstPolygon(t *testing.T) {
	r := chance.New(t)
	var found, none int
	for range 2000 {
		w := wheelOrFlat([]float64{0, uniform(r, 60, 300)}[r.IntN(2)])
		edge, length, steel := uniform(r, 30, 80), uniform(r, 0.5, 5), uniform(r, 5, 14)
		land := chordOf(t, geometry.RoundWheel(200), edge, length)
		_, down := land.End()
		if float64(down) > steel-0.5 {
			continue
		}
		curve := logUniform(r, 6, 300)
		stands := func(front unit.Angle) float64 {
			h, err := w.HollowOfDepth(front, unit.Length(steel)-down)
			if err != nil {
				return math.Inf(1)
			}
			s, err := stackOf(t, land).Then(h)
			if err != nil {
				return math.Inf(1)
			}
			out, _ := proud(s, curve)
			return out
		}
		front, ok := w.ReliefFor(land, unit.Length(curve), unit.Length(steel))
		if !ok {
			none++
			for f := unit.Angle(0.5) * unit.Degree; f < land.Far; f += unit.Degree {
				if out := stands(f); out < 1e-9 {
					t.Errorf("no relief for %g mm, but %v clears", curve, f)
				}
			}
			continue
		}
		found++
		if out := stands(front); out > 1e-7 {
			t.Errorf("%v for %g mm stands out by %g mm", front, curve, out)
		}
		for steeper := front + 0.05*unit.Degree; steeper < land.Far; steeper += unit.Degree {
			if out := stands(steeper); !(out > 1e-6) {
				t.Errorf("%v is the largest for %g mm, but %v clears", front, curve, steeper)
			}
		}
	}
	t.Logf("%d reliefs, %d curves without", found, none)
	if found < 300 || none < 100 {
		t.Errorf("%d found, %d not", found, none)
	}
}

// The recipe: allowed lift, then the longest land, then the largest relief.
func TestBevelsFor(t *testing.T) {
	s := must[geometry.Stack](t)(north.BevelsFor(50*unit.Degree, 2*unit.Degree, 40, 8, west))
	if len(s) != 2 {
		t.Fatalf("%d bevels", len(s))
	}
	near(t, "lift, °", must[unit.Angle](t)(geometry.Lift(s[0].Chord, 40)).Degrees(), 2, 1e-12)
	near(t, "tightest curve, mm", float64(s.TightestCurve()), 40, 1e-9)
	_, down := s.End()
	near(t, "steel, mm", float64(down), 8, 1e-12)

	whole := must[geometry.Stack](t)(north.BevelsFor(50*unit.Degree, 8*unit.Degree, 40, 8, west))
	if len(whole) != 1 {
		t.Errorf("a lift that allows the whole bevel needs %d", len(whole))
	}
	var curve *geometry.CurveError
	if _, err := north.BevelsFor(20*unit.Degree, 2*unit.Degree, 10, 12, west); !errors.As(err, &curve) {
		t.Errorf("%v", err)
	}
}

// With the relief kept, a longer land clears a tighter curve: it moves the heel forward. What it costs is lift.
func TestLongerLandClearsTighterCurve(t *testing.T) {
	tightest := func(land float64) unit.Length {
		h := chordOf(t, north, 50, land)
		_, below := h.End()
		return stackOf(t, h, depthOf(t, north, 35, 8-float64(below))).TightestCurve()
	}
	for land := 1.; land < 6; land++ {
		if !(tightest(land+1) < tightest(land)) {
			t.Errorf("%g mm clears %v, %g mm %v", land, tightest(land), land+1, tightest(land+1))
		}
	}
}
