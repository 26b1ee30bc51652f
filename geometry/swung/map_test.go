package swung_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

const mapPlaces = 17

var usual = swung.Limits{LeastNose: 15 * unit.Degree, MostNose: 85 * unit.Degree, LeastWedge: 25 * unit.Degree, MostWedge: 95 * unit.Degree}

// whyByFaces judges a setting by the faces at the same places, in no hurry.
func whyByFaces(e swung.Edge, g swung.Setting, l swung.Limits) swung.Why {
	var faces []swung.Face
	for _, along := range e.Places(mapPlaces) {
		faces = append(faces, g.Face(e.At(along)))
	}
	nose := g.Face(e.At(0))
	all := func(good func(swung.Face) bool) bool {
		return !slices.ContainsFunc(faces, func(f swung.Face) bool { return !good(f) })
	}
	switch {
	case g.Gap < 0:
		return swung.PivotInWheel
	case !nose.Reached():
		return swung.NoseUnreached
	case nose.Wedge < float64(l.LeastNose) || nose.Wedge > float64(l.MostNose):
		return swung.NoseOutside
	case !all(swung.Face.Reached):
		return swung.EdgeUnreached
	case !all(func(f swung.Face) bool { return f.Margin >= swung.LeastMargin }):
		return swung.IllConditioned
	case !all(func(f swung.Face) bool { return f.Wedge >= float64(l.LeastWedge) }):
		return swung.TooKeen
	case !all(func(f swung.Face) bool { return f.Wedge <= float64(l.MostWedge) }):
		return swung.TooBlunt
	case l.Refuse != nil && l.Refuse(e, g):
		return swung.Refused
	}
	return swung.Feasible
}

func anyAxes(r *rand.Rand) swung.Axes {
	a := swung.Axes{}
	for i := range 3 {
		a.StickOuts = append(a.StickOuts, lengthOf(20+20*float64(i)+uniform(r, 0, 10)))
	}
	for i := range 6 {
		a.Legs = append(a.Legs, unit.Degrees(5+15*float64(i)+uniform(r, 0, 10)))
	}
	for i := range 30 {
		a.Gaps = append(a.Gaps, lengthOf(-5+6*float64(i)+uniform(r, 0, 3)))
	}
	return a
}

// Every cell of 100 random maps is what the faces say, and feasible gaps end where they say.
func TestMapAgainstFaces(t *testing.T) {
	r := newRand(t)
	var counts [swung.Refused + 1]int
	var ends int
	for range 100 {
		target := anyTarget(r)
		h, _ := anyHolder(r)
		limits, axes := usual, anyAxes(r)
		if r.IntN(2) == 0 {
			limits.Refuse = func(_ swung.Edge, g swung.Setting) bool { return g.Pivot.Below > 70 }
		}
		m, err := swung.NewMap(h, target.Setting, target.Edge, mapPlaces, axes, limits)
		if err != nil {
			t.Fatal(err)
		}
		total := 0
		for i, stickOut := range axes.StickOuts {
			for j, leg := range axes.Legs {
				g := target.Setting
				g.Pivot = h.Pivot(stickOut, leg)
				for k, gap := range axes.Gaps {
					g.Gap = gap
					checkCell(t, m.At(i, j, k), target.Edge, g, limits)
					counts[m.At(i, j, k).Why]++
				}
				ends += checkFeasibleGaps(t, m, i, j, target.Edge, g, limits)
			}
		}
		for why, n := range m.Counts {
			within(t, swung.Why(why).String(), float64(n), 0, float64(len(m.Cells)))
			total += n
		}
		near(t, "cells counted", float64(total), float64(len(m.Cells)), 0)
		if t.Failed() {
			t.Fatalf("%+v %+v", target, h)
		}
	}
	for why, n := range counts {
		if n == 0 {
			t.Errorf("no cell is %q", swung.Why(why))
		}
	}
	t.Logf("%v cells by reason, %d ends", counts, ends)
	if ends < 100 {
		t.Errorf("only %d ends of feasible gaps", ends)
	}
}

func checkCell(t *testing.T, v swung.Verdict, e swung.Edge, g swung.Setting, l swung.Limits) {
	t.Helper()
	if want := whyByFaces(e, g, l); v.Why != want {
		t.Fatalf("a cell is %q, by its faces %q: %+v", v.Why, want, g)
	}
	for _, angle := range []float64{v.Nose, v.Right, v.Left, v.Least, v.Most} {
		within(t, "an angle", angle, 0, math.Pi)
	}
	if v.Why > swung.NoseUnreached {
		near(t, "nose", v.Nose, g.Face(e.At(0)).Wedge, 1e-12)
	}
	if f := g.Face(e.At(e.Right)); f.Reached() && v.Why > swung.NoseUnreached {
		near(t, "+side wing", v.Right, f.Wedge, 1e-12)
	}
	if f := g.Face(e.At(-e.Left)); f.Reached() && v.Why > swung.NoseUnreached {
		near(t, "−side wing", v.Left, f.Wedge, 1e-12)
	}
}

// checkFeasibleGaps steps over every end; it counts those that are none of the axis.
func checkFeasibleGaps(t *testing.T, m *swung.Map, i, j int, e swung.Edge, g swung.Setting, l swung.Limits) (ends int) {
	t.Helper()
	why := func(gap float64) swung.Why {
		g.Gap = lengthOf(gap)
		return whyByFaces(e, g, l)
	}
	ranges := m.FeasibleGaps(i, j)
	for k, gap := range m.Gaps {
		in := slices.ContainsFunc(ranges, func(r geometry.Interval) bool { return float64(gap) >= r.Low && float64(gap) <= r.High })
		if in != (m.At(i, j, k).Why == swung.Feasible) {
			t.Fatalf("gap %v is %v, the ranges are %v", gap, m.At(i, j, k).Why, ranges)
		}
	}
	first, last := float64(m.Gaps[0]), float64(m.Gaps[len(m.Gaps)-1])
	for _, r := range ranges {
		for end, out := range map[float64]float64{r.Low: -1e-6, r.High: 1e-6} {
			if why(end) != swung.Feasible {
				t.Fatalf("the end %g of a range is %v", end, why(end))
			}
			if end == first || end == last {
				continue
			}
			if ends++; why(end+out) == swung.Feasible {
				t.Fatalf("feasible beyond the end %g of a range", end)
			}
		}
	}
	return ends
}

// Maps that are too large, empty or unsorted are refused, whatever their size.
func TestMapsThatAreRefused(t *testing.T) {
	e, g := rowSix(4, 6.5)
	one, legs := []unit.Length{45}, []unit.Angle{1}
	for name, a := range map[string]swung.Axes{
		"empty":    {StickOuts: one, Legs: legs},
		"large":    {StickOuts: make([]unit.Length, 200), Legs: make([]unit.Angle, 101), Gaps: one},
		"wrapping": {StickOuts: make([]unit.Length, 1<<20), Legs: make([]unit.Angle, 1<<20), Gaps: one},
		"unsorted": {StickOuts: one, Legs: legs, Gaps: []unit.Length{20, 30, 30}},
		"NaN":      {StickOuts: one, Legs: legs, Gaps: []unit.Length{20, lengthOf(math.NaN())}},
	} {
		var refused *swung.MapError
		if _, err := swung.NewMap(geometry.SwingHolder{Leg: 60}, g, e, 17, a, usual); !errors.As(err, &refused) || err.Error() == "" {
			t.Errorf("%s axes: %v", name, err)
		}
	}
	if _, err := swung.NewMap(geometry.SwingHolder{Leg: 60}, g, e, 1<<40, swung.Axes{StickOuts: one, Legs: legs, Gaps: one}, usual); err != nil {
		t.Errorf("a map by too many places: %v", err)
	}
}

// The furthest setback is the largest that the faces allow by a scan, and what it says comes next does.
func TestFurthestAgainstScan(t *testing.T) {
	const n = 400
	r := newRand(t)
	var limited, none, islands int
	for range 300 {
		target := anyTarget(r)
		limits := usual
		limits.LeastWedge = unit.Degrees(uniform(r, 20, 50))
		if r.IntN(4) == 0 {
			limits.Refuse = func(e swung.Edge, _ swung.Setting) bool { return e.Plan.(swung.Setback).Setback > 6 }
		}
		shape := func(setback float64) swung.Edge {
			e := target.Edge
			e.Plan = swung.Setback{Setback: setback, Reach: e.Right, Exponent: 2}
			return e
		}
		const most = 30.0
		furthest, last, running := -1.0, -1.0, 0
		for i := range n + 1 {
			setback := most * float64(i) / n
			if running++; whyByFaces(shape(setback), target.Setting, limits) != swung.Feasible {
				running = 0
				continue
			}
			if last = setback; running > 4 { // no narrower than a step of the search
				furthest = setback
			}
		}
		f, ok := limits.Furthest(target.Setting, shape, 0, most, mapPlaces)
		if !ok {
			none++
			if furthest >= 0 || f.Limit == swung.Feasible {
				t.Fatalf("no setback will do (%v); %g does", f.Limit, furthest)
			}
			continue
		}
		within(t, "furthest", f.Size, furthest-1e-9, last+most/n)
		if why := whyByFaces(shape(f.Size), target.Setting, limits); why != swung.Feasible {
			t.Fatalf("the furthest setback is %v", why)
		}
		if f.Size < most {
			limited++
			if why := whyByFaces(shape(f.Size+most*1e-9), target.Setting, limits); why != f.Limit || why == swung.Feasible {
				t.Fatalf("beyond the furthest setback it is %v, said is %v", why, f.Limit)
			}
		}
		if len(f.Ranges) > 1 || f.Ranges[0].Low > 0 {
			islands++
		}
	}
	t.Logf("%d limited, %d without any, %d where less is worse", limited, none, islands)
	if limited < 50 || none < 20 || islands == 0 {
		t.Errorf("%d limited, %d without any, %d where less is worse: the settings are not what they should be", limited, none, islands)
	}
}

// Map cells beside the faces they are made of, judged one by one.
func BenchmarkMap(b *testing.B) {
	e, g := rowSix(4, 6.5)
	h := geometry.SwingHolder{JointBehindFace: 10, JointBelowAxis: 9, Leg: 60}
	axes := swung.Axes{}
	for i := range 20 {
		axes.StickOuts = append(axes.StickOuts, lengthOf(20+3*float64(i)))
		axes.Legs = append(axes.Legs, unit.Degrees(4*float64(i)))
	}
	for i := range 50 {
		axes.Gaps = append(axes.Gaps, lengthOf(3*float64(i)))
	}
	b.Run("20000 cells", func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			m, err := swung.NewMap(h, g, e, mapPlaces, axes, usual)
			if err != nil {
				b.Fatal(err)
			}
			sink += float64(m.Counts[swung.Feasible])
		}
		b.ReportMetric(20000*float64(b.N)/b.Elapsed().Seconds(), "cells/s")
	})
	b.Run("17 faces", func(b *testing.B) {
		for range b.N {
			for _, along := range e.Places(mapPlaces) {
				sink += g.Face(e.At(along)).Wedge
			}
		}
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "edges/s")
	})
}
