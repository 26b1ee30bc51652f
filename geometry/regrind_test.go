package geometry_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// 2 mm off the nose of bowl-50 make 52.0°; asked the other way, 52° are 2 mm.
func TestScenarioRecession(t *testing.T) {
	gap := north.Gap(bowl, bowlEdge)
	after := must[unit.Angle](t)(north.EdgeAngle(bowl.SeenFrom(2, 0), gap))
	reads(t, "after 2 mm, °", after.Degrees(), "52.0")
	lost, ok := north.Recession(bowl, gap, after)
	if !ok {
		t.Fatal("no recession")
	}
	near(t, "recession, mm", float64(lost), 2, 1e-12)
	if _, ok := north.Recession(bowl, gap, 48*unit.Degree); ok {
		t.Error("grinding steel off makes bowl-50 keener")
	}
	// The job's description: a butted handle of 430 mm, 0.94° a millimetre. So half a degree is half a millimetre.
	butted := geometry.Pivot{Behind: 430}
	perMM := must[unit.Angle](t)(north.EdgeAngle(butted.SeenFrom(1, 0), north.Gap(butted, 45*unit.Degree))).Degrees() - 45
	near(t, "butted handle, °/mm", perMM, 0.94, 0.02)
	reseat, ok := north.Reseat(butted, 45*unit.Degree, 0.5*unit.Degree)
	if !ok {
		t.Fatal("never")
	}
	near(t, "re-seat after, mm", float64(reseat), 0.5/perMM, 0.01)
}

// A recession that is given brings the angle there.
func TestRecessionThereAndBack(t *testing.T) {
	r := chance.New(t)
	var given int
	for range 5000 {
		g := shopRig(r)
		g.pivot.Below = unit.Length(uniform(r, -90, 90))
		if geometry.Conditioning(g.pivot, g.edge) < 0.1 {
			continue
		}
		gap, to := g.wheel.Gap(g.pivot, g.edge), unit.Degrees(uniform(r, 15, 89))
		lost, ok := g.wheel.Recession(g.pivot, gap, to)
		after := g.pivot.SeenFrom(lost, 0)
		if !ok || geometry.Conditioning(after, to) < 0.01 && geometry.Conditioning(after, to) >= 0 {
			continue
		}
		given++
		near(t, "after the recession, rad", must[unit.Angle](t)(g.wheel.EdgeAngle(after, gap)), to, 1e-9)
	}
	if given < 500 {
		t.Errorf("only %d recessions", given)
	}
}

// Re-seating against grinding a little at a time until the angle leaves its tolerance.
func TestReseatAgainstGrinding(t *testing.T) {
	r := chance.New(t)
	var never int
	for range 500 {
		g := shopRig(r)
		gap, tolerance := g.wheel.Gap(g.pivot, g.edge), unit.Degrees(uniform(r, 0.2, 2))
		within := func(lost unit.Length) bool {
			edge, err := g.wheel.EdgeAngle(g.pivot.SeenFrom(lost, 0), gap)
			return err == nil && math.Abs(float64(edge-g.edge)) <= float64(tolerance)
		}
		lost := unit.Length(0)
		const step = 0.02
		for lost < 40 && within(lost+step) {
			lost += step
		}
		if lost >= 40 || g.pivot.Behind-lost < 1 {
			never++
			continue
		}
		if _, err := g.wheel.EdgeAngle(g.pivot.SeenFrom(lost+step, 0), gap); err != nil {
			continue // the tool loses the wheel before the tolerance
		}
		got, ok := g.wheel.Reseat(g.pivot, g.edge, tolerance)
		if !ok {
			t.Fatalf("%+v: never, but after %v", g, lost)
		}
		near(t, "re-seat after, mm", float64(got), float64(lost)+step/2, step/2+1e-9)
	}
	if never > 100 {
		t.Errorf("%d of 500 never", never)
	}
}

// The length lost against moving the new outline back until no place of the old one stands out in front of it.
func TestLengthLostAgainstOutline(t *testing.T) {
	r := chance.New(t)
	var none int
	for range 300 {
		before, after := anyRelieved(t, r), anyRelieved(t, r)
		_, deepBefore := before.End()
		_, deepAfter := after.End()
		deep := float64(min(deepBefore, deepAfter))
		plan := geometry.NewRegrind(before, after)
		got, want, first := float64(plan.LengthLost()), 0.0, 0.0
		const each = 3000
		var last, run float64
		for i := range each + 1 {
			depth := deep * float64(i) / each
			out := planned(before, depth) - planned(after, depth)
			run, last = max(run, math.Abs(out-last)), out
			want, first = max(want, out), min(first, out)
		}
		// What stands out between two of the depths does so further by less than the distance runs over one.
		near(t, "length lost, mm", got, want, run)
		near(t, "advance, mm", float64(plan.Advance()), want-first, 2*run)
		if got < want-1e-9 {
			t.Errorf("%g mm lost, but the outline stands out by %g", got, want)
		}
		if got == 0 {
			none++
		}
	}
	if none == 0 || none == 300 {
		t.Errorf("%d of 300 lose nothing", none)
	}
}

// Going keener costs no length, whatever wheels; going blunter costs what the old heel stands behind the new one.
func TestLengthLostGoingKeenerAndBlunter(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		steel := uniform(r, 4, 10)
		w := geometry.RoundWheel(unit.Length(uniform(r, 120, 250)))
		blunt := uniform(r, 40, 70)
		keener, blunter := stackOf(t, depthOf(t, w, blunt-uniform(r, 0.1, 15), steel)), stackOf(t, depthOf(t, w, blunt, steel))
		near(t, "going keener, mm", float64(geometry.NewRegrind(blunter, keener).LengthLost()), 0, 0)
		heelBefore, _ := keener.End()
		heelAfter, _ := blunter.End()
		near(t, "going blunter, mm", float64(geometry.NewRegrind(keener, blunter).LengthLost()), float64(heelBefore-heelAfter), 1e-9)
		same := geometry.NewRegrind(keener, keener)
		near(t, "staying, mm", float64(same.Advance()), 0, 0)
		if stages, ok := same.Stages(0.1); !ok || len(stages) != 1 || !stages[0].Whole {
			t.Errorf("staying takes %d stages", len(stages))
		}
	}
}

// A micro bevel of half a millimetre at 53° in front of 50° sets the edge back by a few hundredths: on flats by the law of sines.
func TestMicroBevelSetsBack(t *testing.T) {
	flat := geometry.FlatAbrasive()
	lost := geometry.NewRegrind(stackOf(t, depthOf(t, flat, 50, 8)), stackOf(t, chordOf(t, flat, 53, 0.5))).LengthLost()
	near(t, "flat, mm", float64(lost), 0.5*math.Sin(3*math.Pi/180)/math.Sin(50*math.Pi/180), 1e-12)
	hollow := geometry.NewRegrind(stackOf(t, depthOf(t, north, 50, 8)), stackOf(t, chordOf(t, north, 53, 0.5))).LengthLost()
	near(t, "hollow, mm", float64(hollow), float64(lost), 0.001)
}

// Over n sharpenings: each stage against the outline, whichever way the change goes. Its width is that of the places where the old
// surface stands in front of the new one, its steel the section between them.
func TestRegrindStagesAgainstOutline(t *testing.T) {
	r := chance.New(t)
	var keener int
	for range 200 {
		steel := uniform(r, 4, 10)
		draw := func() geometry.Stack {
			w := geometry.RoundWheel(unit.Length(uniform(r, 120, 250)))
			edge := uniform(r, 35, 70)
			if r.IntN(2) == 0 {
				return stackOf(t, depthOf(t, w, edge, steel))
			}
			land := chordOf(t, w, edge, uniform(r, 1, 3))
			_, down := land.End()
			return stackOf(t, land, depthOf(t, w, edge-uniform(r, 5, 20), steel-float64(down)))
		}
		before, after := draw(), draw()
		plan := geometry.NewRegrind(before, after)
		if plan.LengthLost() == 0 {
			keener++
		}
		per := plan.Advance() / unit.Length(uniform(r, 1.01, 9))
		stages, ok := plan.Stages(per)
		if !ok || len(stages) != int(math.Ceil(float64(plan.Advance()/per))) {
			t.Fatalf("%d stages of %v to %v", len(stages), per, plan.Advance())
		}
		firstTouch := float64(plan.LengthLost() - plan.Advance())
		for i, stage := range stages {
			at := min(firstTouch+float64(i+1)*float64(per), float64(plan.LengthLost()))
			var width, area float64
			const each = 1500
			for j := range each {
				depth := steel * (float64(j) + 0.5) / each
				if gone := planned(after, depth) + at - planned(before, depth); gone > 0 {
					area += gone * steel / each
					run := planned(after, depth+steel/each/2) - planned(after, depth-steel/each/2)
					width += math.Hypot(run, steel/each)
				}
			}
			// The width by arcs, the stage's by chords: apart by the hollow's share, 8/3 · depth²/length.
			near(t, "width, mm", float64(stage.Width), width, 0.02*steel)
			near(t, "steel, mm²", stage.Steel, area, 1e-3)
			near(t, "lost, mm", float64(stage.Lost), max(0, at), 1e-12)
			if stage.Whole != (i == len(stages)-1) {
				t.Errorf("stage %d of %d is whole: %v", i+1, len(stages), stage.Whole)
			}
		}
		whole := stages[len(stages)-1]
		chords := after[0].Chord
		for _, b := range after[1:] {
			chords += b.Chord
		}
		near(t, "whole width, mm", float64(whole.Width), float64(chords), 0.02*float64(chords))
	}
	if keener == 0 || keener == 200 {
		t.Errorf("%d of 200 go keener", keener)
	}
}

func TestStagesRefused(t *testing.T) {
	plan := geometry.NewRegrind(stackOf(t, depthOf(t, north, 45, 8)), stackOf(t, depthOf(t, north, 55, 8)))
	for _, per := range []unit.Length{0, -0.1, 1e-9, unit.Length(math.NaN())} {
		if stages, ok := plan.Stages(per); ok {
			t.Errorf("%d stages of %v", len(stages), per)
		}
	}
	nothing := geometry.NewRegrind(nil, nil)
	if nothing.LengthLost() != 0 || nothing.Advance() != 0 || !nothing.Stage(1).Whole {
		t.Error("no bevels leave something to do")
	}
}

// 45° to 50° through 8 mm, a tenth of a millimetre each time: the edge is right from the first sharpening, and the old bevel gone after as
// many as the length lost has tenths.
func TestBlunterOverSharpenings(t *testing.T) {
	plan := geometry.NewRegrind(stackOf(t, depthOf(t, north, 45, 8)), stackOf(t, depthOf(t, north, 50, 8)))
	stages, ok := plan.Stages(0.1)
	if !ok || len(stages) != int(math.Ceil(float64(plan.LengthLost())/0.1)) {
		t.Fatalf("%d stages, %v lost", len(stages), plan.LengthLost())
	}
	for i := range stages[1:] {
		if !(stages[i+1].Width > stages[i].Width && stages[i+1].Steel > stages[i].Steel) {
			t.Errorf("stage %d: %+v after %+v", i+2, stages[i+1], stages[i])
		}
	}
	near(t, "first stage costs, mm", float64(stages[0].Lost), 0.1, 1e-12)
}
