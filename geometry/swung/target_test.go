package swung_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// anyHolder draws a holder with a leg, and a stick-out for it.
func anyHolder(r *rand.Rand) (geometry.SwingHolder, unit.Length) {
	return geometry.SwingHolder{
		JointBehindFace: lengthOf(uniform(r, 0, 60)),
		JointBelowAxis:  lengthOf(uniform(r, 0, 20)),
		Leg:             lengthOf(uniform(r, 30, 120)),
	}, lengthOf(uniform(r, 25, 80))
}

// anyTarget draws an edge, what a setting has beside pivot and gap, a nose and a place on a wing.
func anyTarget(r *rand.Rand) swung.Target {
	section, reach := anyFlute(r)
	e := swung.Edge{Section: section, Plan: anyPlan(r, reach), Right: reach, Left: reach * uniform(r, 0.6, 1)}
	g, _ := anyRig(r)
	along := uniform(r, 0.2, 1) * e.Right
	if r.IntN(2) == 0 {
		along = -uniform(r, 0.2, 1) * e.Left
	}
	return swung.Target{Edge: e, Setting: g, Nose: unit.Degrees(uniform(r, 25, 75)), Along: along}
}

func anyFamily(r *rand.Rand) swung.Family {
	h, stickOut := anyHolder(r)
	if r.IntN(2) == 0 {
		return swung.Legs(h, stickOut, -20*unit.Degree, 120*unit.Degree)
	}
	return swung.StickOuts(h.Pivot(0, unit.Degrees(uniform(r, 10, 70))), 15, 200)
}

// wingOf finds the gap by false position (Illinois) on the nose's own face, and asks what that makes of the wing: it shares no formula with the target's.
// False where the nose cannot be ground, or the wing not reached, or the wing's face lies over the flute.
func wingOf(t swung.Target, p geometry.Pivot) (float64, bool) {
	g := t.Setting
	g.Pivot = p
	nose, wing := t.Edge.At(0), t.Edge.At(t.Along)
	least, most := g.Gaps(nose)
	low, high := max(0, least), most
	at := func(gap float64) float64 {
		g.Gap = lengthOf(gap)
		f := g.Face(nose)
		if !f.Reached() { // rounding at the limits
			return math.NaN()
		}
		dip := float64(p.Dip())
		return dip + math.Remainder(math.Atan2(-f.Normal.Back, -f.Normal.Up)-dip, 2*math.Pi)
	}
	// The nose's signed angle grows with the gap.
	if !(at(low+1e-9*(high-low)) < float64(t.Nose) && at(high-1e-9*(high-low)) > float64(t.Nose)) {
		return 0, false
	}
	low, high = low+1e-9*(high-low), high-1e-9*(high-low)
	under, over, side := at(low)-float64(t.Nose), at(high)-float64(t.Nose), 0
	gap := low
	for range 100 {
		gap = (low*over - high*under) / (over - under)
		off := at(gap) - float64(t.Nose)
		if math.Abs(off) < 1e-15 || high-low < 1e-13*high {
			break
		}
		if off < 0 {
			if low, under = gap, off; side < 0 {
				over /= 2
			}
			side = -1
		} else {
			if high, over = gap, off; side > 0 {
				under /= 2
			}
			side = 1
		}
	}
	g.Gap = lengthOf(gap)
	f := g.Face(wing)
	return f.Wedge, f.Reached() && f.Normal.Dot(wing.Edge.Cross(wing.Flute)) > 0
}

// A leg or stick-out drawn at random makes a nose and a wing; asked for both, the target finds it again.
func TestTargetRoundTrip(t *testing.T) {
	r := chance.New(t)
	var found int
	for range 3000 {
		target, f := anyTarget(r), anyFamily(r)
		x := uniform(r, f.From, f.To)
		made, ok := target.On(f.Pivot(x))
		if !ok || made.Wing.Margin < 1e-3 {
			continue
		}
		nose := made.Setting.Face(target.Edge.At(0))
		near(t, "the nose", nose.Wedge, float64(target.Nose), 1e-9)
		target.Wedge = unit.Angle(made.Wing.Wedge)
		if target.Edge.Plan == (swung.Across{}) && target.Edge.Section == flute.Flat() {
			continue // every value makes them
		}
		best := math.Inf(1)
		for _, a := range target.Answers(f) {
			// What the wedge at the wrong place would be off by; near a fold of the family two answers are one.
			best = min(best, math.Abs(a.At-x))
			near(t, "wing of an answer", a.Wing.Wedge, float64(target.Wedge), 1e-9)
			near(t, "nose of an answer", a.Setting.Face(target.Edge.At(0)).Wedge, float64(target.Nose), 1e-9)
		}
		if !(best < 1e-4*(f.To-f.From)) {
			t.Fatalf("%g is not among the answers %+v of %+v %+v", x, target.Answers(f), target, f)
		}
		found++
	}
	if found < 1000 {
		t.Errorf("only %d settings reach the wing", found)
	}
}

// A dense scan finds no answer that the target does not, and every answer is where the scan passes the wanted wedge.
func TestTargetAgainstDenseScan(t *testing.T) {
	const n = 2000
	r := chance.New(t)
	var crossings, none int
	for range 500 {
		target, f := anyTarget(r), anyFamily(r)
		target.Wedge = unit.Degrees(uniform(r, 20, 100))
		answers := target.Answers(f)
		step := (f.To - f.From) / n
		found := make([]bool, len(answers))
		var before float64
		was := false
		for i := range n + 1 {
			x := f.From + step*float64(i)
			wedge, ok := wingOf(target, f.Pivot(x))
			off := wedge - float64(target.Wedge)
			if ok && was && (off > 0) != (before > 0) && math.Abs(off) > 1e-9 && math.Abs(before) > 1e-9 {
				crossings++
				if !among(answers, found, x-step*1.001, x+step*0.001) {
					t.Fatalf("the wing passes %v between %g and %g; the answers are %+v", target.Wedge, x-step, x, answers)
				}
			}
			before, was = off, ok
		}
		for i, a := range answers {
			wedge, ok := wingOf(target, a.Setting.Pivot)
			if !ok || math.Abs(wedge-float64(target.Wedge)) > 1e-7/max(1e-3, a.Wing.Margin) {
				t.Fatalf("answer %d grinds %v, %v: %+v", i, wedge, ok, a)
			}
			checkSlope(t, target, f, a)
		}
		if len(answers) == 0 {
			none++
		}
	}
	t.Logf("%d crossings, %d without an answer", crossings, none)
	if crossings < 100 || none < 50 {
		t.Errorf("%d crossings, %d without an answer: the targets are not what they should be", crossings, none)
	}
}

func among(answers []swung.Answer, found []bool, low, high float64) bool {
	for i, a := range answers {
		if !found[i] && a.At >= low && a.At <= high {
			found[i] = true
			return true
		}
	}
	return false
}

// checkSlope differentiates the scan's own wedge.
func checkSlope(t *testing.T, target swung.Target, f swung.Family, a swung.Answer) {
	t.Helper()
	if a.Wing.Margin < 0.02 {
		return
	}
	step := 1e-4
	if f.To-f.From > 10 {
		step = 1e-2 // mm
	}
	up, ok1 := wingOf(target, f.Pivot(a.At+step))
	down, ok2 := wingOf(target, f.Pivot(a.At-step))
	if ok1 && ok2 {
		near(t, "slope", a.PerUnit, (up-down)/(2*step), 1e-2*step*(1+math.Abs(a.PerUnit))/(a.Wing.Margin*a.Wing.Margin)+1e-6)
	}
}

// What is attainable is what a dense scan attains, and the nearest is the nearest of that.
func TestAttainableAgainstDenseScan(t *testing.T) {
	const n = 2000
	r := chance.New(t)
	var ranges, nearest, two int
	for range 250 {
		target, f := anyTarget(r), anyFamily(r)
		target.Wedge = unit.Degrees(uniform(r, 10, 110))
		all := target.Attainable(f)
		ranges += len(all)
		if len(all) > 1 {
			two++
		}
		miss := math.Inf(1)
		lows, highs := make([]float64, len(all)), make([]float64, len(all))
		for i := range all {
			lows[i], highs[i] = math.Inf(1), math.Inf(-1)
		}
		seen := 0
		for i := range n + 1 {
			x := f.From + (f.To-f.From)*float64(i)/n
			wedge, ok := wingOf(target, f.Pivot(x))
			in := -1
			for j, a := range all {
				if x >= a.From-1e-6 && x <= a.To+1e-6 {
					in = j
				}
			}
			if ok {
				seen++
				miss = min(miss, math.Abs(wedge-float64(target.Wedge)))
			}
			if ok && in < 0 && seen > n/200 {
				t.Fatalf("%g attains %g rad, outside %+v", x, wedge, all)
			}
			if in >= 0 && !ok && x > all[in].From+1e-6 && x < all[in].To-1e-6 {
				t.Fatalf("%g attains nothing, within %g to %g", x, all[in].From, all[in].To)
			}
			if ok && in >= 0 {
				lows[in], highs[in] = min(lows[in], wedge), max(highs[in], wedge)
			}
		}
		for i, a := range all {
			// The ends move as square roots: between the samples there is more.
			within(t, "least wedge under the scan's", lows[i]-a.Least.Wing.Wedge, -1e-7, math.Inf(1))
			within(t, "most wedge over the scan's", a.Most.Wing.Wedge-highs[i], -1e-7, math.Inf(1))
			for _, end := range [...]swung.Answer{a.Least, a.Most} {
				wedge, ok := wingOf(target, end.Setting.Pivot)
				if ok && end.Wing.Margin > 1e-6 {
					near(t, "wedge at an end", wedge, end.Wing.Wedge, 1e-4)
				}
				within(t, "an end's place", end.At, a.From, a.To)
			}
		}
		if a, ok := target.Nearest(f); ok && len(target.Answers(f)) == 0 {
			nearest++
			within(t, "what the nearest misses less than the scan", miss-math.Abs(a.Wing.Wedge-float64(target.Wedge)), -1e-7, math.Inf(1))
		} else if !ok && len(all) > 0 {
			t.Fatal("something is attainable, and nothing nearest")
		}
		if t.Failed() {
			t.Fatalf("%+v %+v", target, f)
		}
	}
	t.Logf("%d ranges, %d times more than one, %d times only the nearest", ranges, two, nearest)
	if ranges < 100 || nearest < 30 {
		t.Errorf("%d ranges, %d nearest: the targets are not what they should be", ranges, nearest)
	}
}

// Of fixed positions the best is the one whose wing misses least.
func TestBestPosition(t *testing.T) {
	r := chance.New(t)
	var found int
	for range 500 {
		target, f := anyTarget(r), anyFamily(r)
		target.Wedge = unit.Degrees(uniform(r, 20, 100))
		pivots := make([]geometry.Pivot, 6)
		best, at := math.Inf(1), -1
		for i := range pivots {
			pivots[i] = f.Pivot(uniform(r, f.From, f.To))
			if wedge, ok := wingOf(target, pivots[i]); ok && math.Abs(wedge-float64(target.Wedge)) < best {
				best, at = math.Abs(wedge-float64(target.Wedge)), i
			}
		}
		index, a, ok := target.Best(pivots)
		if ok != (at >= 0) {
			t.Fatalf("position %d, %v; want %d", index, ok, at)
		}
		if ok {
			near(t, "the pivot", float64(a.Setting.Pivot.Behind-pivots[index].Behind), 0, 0)
			near(t, "its miss", math.Abs(a.Wing.Wedge-float64(target.Wedge)), best, 1e-6)
			found++
		}
	}
	if found < 200 {
		t.Errorf("only %d have a best", found)
	}
}

// The gap for a wedge grinds it, anywhere on an edge.
func TestGapFor(t *testing.T) {
	r := chance.New(t)
	var found int
	for range 3000 {
		target := anyTarget(r)
		p, wedge := target.Edge.At(target.Along), unit.Degrees(uniform(r, 5, 150))
		gap, ok := target.Setting.GapFor(p, wedge)
		if !ok {
			continue
		}
		found++
		g := target.Setting
		g.Gap = gap
		f := g.Face(p)
		near(t, "wedge", f.Wedge, float64(wedge), 1e-9/max(1e-6, f.Margin))
	}
	if found < 500 {
		t.Errorf("only %d have a gap", found)
	}
}

// Without asides the nose's gap is the planar one.
func TestGapForNoseIsPlanar(t *testing.T) {
	r := chance.New(t)
	for range 500 {
		g, nose := anyRig(r)
		g.Aside, g.Roll, g.Contact = 0, 0, 0
		section, reach := anyFlute(r)
		e := swung.Even(section, anyPlan(r, reach), reach)
		gap, ok := g.GapFor(e.At(0), unit.Angle(nose))
		if want := g.Wheel.Gap(g.Pivot, unit.Angle(nose)); ok || want >= 0 {
			near(t, "gap", gap, want, 1e-9)
		}
	}
}

// On an edge straight across a flat blade every leg makes the wing like the nose.
func TestEveryLegIsAnAnswer(t *testing.T) {
	g := swung.AtNose(geometry.FlatAbrasive(), geometry.Pivot{Behind: 105, Below: 75}, 55*unit.Degree)
	target := swung.Target{Edge: swung.Even(flute.Flat(), swung.Across{}, 8), Setting: g, Nose: 55 * unit.Degree, Along: 8, Wedge: 55 * unit.Degree}
	h := geometry.SwingHolder{JointBehindFace: 10, JointBelowAxis: 9, Leg: 60}
	legs := swung.Legs(h, 45, 10*unit.Degree, 80*unit.Degree)
	if a := target.Answers(legs); len(a) != 1 {
		t.Errorf("answers %+v", a)
	}
	target.Wedge = 54 * unit.Degree
	if a := target.Answers(legs); len(a) != 0 {
		t.Errorf("answers %+v", a)
	}
}

// Where a family has no such wing there is no answer, and bad ranges are empty.
func TestTargetsOutOfReach(t *testing.T) {
	e, g := rowSix(4, 6.5)
	h := geometry.SwingHolder{JointBehindFace: 10, JointBelowAxis: 9, Leg: 60}
	target := swung.Target{Edge: e, Setting: g, Nose: 55 * unit.Degree, Along: e.Right, Wedge: 140 * unit.Degree}
	legs := swung.Legs(h, 45, 10*unit.Degree, 80*unit.Degree)
	if a := target.Answers(legs); len(a) != 0 {
		t.Errorf("a wing of 140°: %+v", a)
	}
	if _, ok := target.Nearest(legs); !ok {
		t.Error("no leg reaches the wing")
	}
	nan := math.NaN()
	for _, f := range []swung.Family{
		swung.Legs(h, 45, 2, 1), swung.Legs(h, 45, unit.Angle(nan), 1), swung.Legs(h, lengthOf(nan), 0, 1),
		swung.StickOuts(geometry.Pivot{}, 20, 10), swung.StickOuts(geometry.Pivot{Below: lengthOf(nan)}, 0, 10),
	} {
		if a := target.Answers(f); len(a) != 0 {
			t.Errorf("answers %+v of %+v", a, f)
		}
		if a := target.Attainable(f); len(a) != 0 {
			t.Errorf("attainable %+v of %+v", a, f)
		}
		if a, ok := target.Nearest(f); ok {
			t.Errorf("nearest %+v of %+v", a, f)
		}
	}
}
