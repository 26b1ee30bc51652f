package setup_test

import (
	"errors"
	"math"
	"math/cmplx"
	"reflect"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

const degree = float64(unit.Degree)

// answered draws questions until n of them have an answer, and hands each to a check. It fails where less than a share of them have
// one: then the draw is off and the check sees too little.
func answered(t *testing.T, n int, leastShare float64, draw func() setup.Question, check func(*testing.T, setup.Question, setup.Setup)) {
	t.Helper()
	asked, got := 0, 0
	for got < n {
		asked++
		q := draw()
		s, err := solver.Solve(t.Context(), q)
		if err != nil {
			if f, ok := fault.As(err); !ok || f.Kind != fault.Impossible && f.Kind != fault.BadRequest {
				t.Fatalf("%v", err)
			}
			if asked > 100 && float64(got) < leastShare*float64(asked) {
				t.Fatalf("only %d of %d questions have an answer; the last: %v", got, asked, err)
			}
			continue
		}
		got++
		check(t, q, s)
		if t.Failed() {
			t.Fatalf("question %d: %+v\nstation %+v\nwheel %+v\nholder %+v\ntool %+v\ngrind %+v", asked, q, *q.Rig.Station.Inline, *q.Rig.Wheel.Inline, *q.Rig.Holder.Inline, *q.Rig.Tool.Inline, *q.Grind)
		}
	}
	t.Logf("%d of %d questions have an answer", got, asked)
}

// TestAgreesWithASimulatedGrinder builds every answer's support, holder and tool in a plane, swings the tool until the bevel's front
// end touches the wheel, and measures: the tangent there, and every datum of the support.
func TestAgreesWithASimulatedGrinder(t *testing.T) {
	r := chance.New(t)
	answered(t, 1500, 0.1, func() setup.Question { return anyQuestion(r) }, func(t *testing.T, q setup.Question, s setup.Setup) {
		holder, tool, support := *q.Rig.Holder.Inline, *q.Rig.Tool.Inline, q.Rig.Station.Inline.Supports[0]
		scene := sceneOf(*q.Rig.Wheel.Inline)
		bed := float64(tool.Thickness.Or(tool.SteelUnderFlute.Value))
		if tool.Kind.TwoBevels() {
			bed /= 2
		}
		ends := scene.fronts(q.Grind.Bevels)
		track := support.Slide.Value
		onTrack := func(reading float64) complex128 {
			return complex(float64(track.Origin.Out), float64(track.Origin.Up)) + turned(float64(track.Direction))*complex(reading, 0)
		}
		for _, step := range s.Steps {
			held := pivotOf(holder, tool, q.Given, step.Side, bed)
			reading := step.Support.Lengths[shop.DatumSlide]

			// Exactly: where the slide stands, the tangent wanted is ground, and a rule shows what the answer says.
			centre := onTrack(float64(reading.Exact))
			tangent, ok := scene.tangentAt(centre, held, ends[step.Bevel])
			if !ok {
				t.Fatal("the tool does not touch the simulated wheel")
			}
			near(t, "the exact tangent, degrees", tangent/degree, step.Wanted.Degrees(), 1e-6)
			for d, l := range step.Support.Lengths {
				if l != nil {
					near(t, shop.Datum(d).String(), float64(l.Exact), scene.measure(shop.Datum(d), support, centre), 1e-7)
				}
			}

			// As set: the support is moved along its slide until the datum it is set by shows what is to be set.
			set, by := float64(step.Support.Lengths[step.Support.SetBy].Set), step.Support.SetBy
			off := func(t float64) float64 { return scene.measure(by, support, onTrack(t)) - set }
			low, high := float64(reading.Exact), float64(reading.Exact)
			for range 60 {
				if (off(low) < 0) != (off(high) < 0) {
					break
				}
				low, high = low-0.1, high+0.1
			}
			centre = onTrack(bisect(low, high, off))
			tangent, ok = scene.tangentAt(centre, held, ends[step.Bevel])
			if slope := off(float64(reading.Exact)+1e-3) - off(float64(reading.Exact)-1e-3); math.Abs(slope) < 2e-4 {
				continue // the slide is square to what is measured: two places show the same
			}
			if !ok {
				t.Fatal("as set, the tool does not touch the simulated wheel")
			}
			near(t, "the tangent as set, degrees", tangent/degree, step.Predicted.Edge.Degrees(), 1e-5)
			if step.Predicted.Pitch.Known && step.Bevel == 0 {
				_, contact, pitch, _ := scene.swingTo(centre, held, ends[step.Bevel])
				near(t, "pitch, degrees", pitch/degree, step.Predicted.Pitch.Value.Degrees(), 1e-4)
				near(t, "contact height", imag(contact), float64(step.Predicted.ContactHeight.Value), 1e-3)
			}
		}
	})
}

// TestTableAgreesWithASimulatedGrinder does the same with tools pushed along a platform.
func TestTableAgreesWithASimulatedGrinder(t *testing.T) {
	r := chance.New(t)
	answered(t, 1000, 0.1, func() setup.Question { return anyTable(r) }, func(t *testing.T, q setup.Question, s setup.Setup) {
		tool, support := *q.Rig.Tool.Inline, q.Rig.Station.Inline.Supports[0]
		scene, table := sceneOf(*q.Rig.Wheel.Inline), support.Table
		height := float64(tool.Thickness.Or(tool.SteelUnderFlute.Value))
		if tool.Kind.TwoBevels() {
			height /= 2
		}
		ends := scene.fronts(q.Grind.Bevels)
		for _, step := range s.Steps {
			var hinge complex128
			tilt := float64(table.Tilt.Value)
			if support.Slide.Known {
				track := support.Slide.Value
				hinge = complex(float64(track.Origin.Out), float64(track.Origin.Up)) + turned(float64(track.Direction))*complex(float64(step.Support.Lengths[shop.DatumSlide].Set), 0)
			} else {
				hinge = complex(float64(table.Hinge.Value.Out), float64(table.Hinge.Value.Up))
				tilt = float64(step.Support.Tilt.Set)
			}
			// A line square to the surface, from the hinge up through the table to the bevel's front end.
			on := hinge + turned(tilt)*1i*complex(float64(table.Surface)+height+imag(ends[step.Bevel]), 0)
			line := imag(on * cmplx.Conj(turned(tilt)))
			tangent, contact, ok := scene.pushTo(line, tilt)
			if !ok {
				t.Fatal("the tool does not touch the simulated wheel")
			}
			near(t, "the tangent as set, degrees", tangent/degree, step.Predicted.Edge.Degrees(), 1e-6)
			near(t, "contact height", imag(contact), float64(step.Predicted.ContactHeight.Value), 1e-6*(1+math.Abs(imag(contact))))
			if l := step.Support.Line; l != nil {
				// The surface passes the axle where the answer says, for the tangent that was wanted.
				wanted, _, _ := scene.pushTo(float64(l.Exact)+imag(ends[step.Bevel]), tilt)
				near(t, "the tangent of the exact line, degrees", wanted/degree, step.Wanted.Degrees(), 1e-6)
				near(t, "surface below the line", float64(l.Exact-step.Support.Lengths[shop.DatumPlatformToAxle].Exact), height, 1e-9)
			}
		}
	})
}

// TestSetNumbersPredictWhatWasPredicted goes back: the numbers a person is told to set, put into a prediction, grind what the answer
// said they would, and the slopes it gave are those of the predictions around it.
func TestSetNumbersPredictWhatWasPredicted(t *testing.T) {
	r := chance.New(t)
	draw := func() setup.Question {
		if r.IntN(3) == 0 {
			return anyTable(r)
		}
		return anyQuestion(r)
	}
	answered(t, 1000, 0.1, draw, func(t *testing.T, q setup.Question, s setup.Setup) {
		c := q.Common
		c.Grind = nil
		for i, step := range s.Steps {
			if step.Bevel > 0 {
				continue
			}
			face := 0
			if step.Side == setup.SecondSide {
				face = 1
			}
			predict := func(settings shop.Settings) unit.Angle {
				p, err := solver.Predict(t.Context(), setup.Forecast{Common: c, Settings: settings})
				if err != nil {
					t.Fatalf("step %d: %v", i, err)
				}
				return p.Steps[face].Predicted.Edge
			}
			set := settingsOf(step)
			// A face whose own numbers the other face cannot take is not predicted alone.
			if _, err := solver.Predict(t.Context(), setup.Forecast{Common: c, Settings: set}); err != nil {
				if len(s.Steps) > 1 {
					continue
				}
				t.Fatal(err)
			}
			nearDeg(t, "predicted", predict(set), step.Predicted.Edge.Degrees(), 1e-9)
			if d := step.Support.SetBy; d != shop.DatumTilt && len(s.Steps) == 1 {
				const h = 1e-4
				up, down := set, set
				up.Support, down.Support = set.Support+h, set.Support-h
				slope := float64(predict(up)-predict(down)) / (2 * h)
				near(t, "slope of "+d.String(), step.Support.Lengths[d].PerMM, slope, 1e-6+1e-4*math.Abs(slope))
			}
		}
	})
}

// TestASymmetricalToolIsGroundAlikeOnBothSides turns tools over whose edge lies in the middle, laid again in the same holder.
func TestASymmetricalToolIsGroundAlikeOnBothSides(t *testing.T) {
	r := chance.New(t)
	answered(t, 500, 0.02, func() setup.Question {
		q := anyQuestion(r)
		q.Rig.Holder.Inline.TurnsOver = false
		if !q.Rig.Tool.Inline.Kind.TwoBevels() || q.Rig.Holder.Inline.Kind == shop.Butted || q.Rig.Holder.Inline.Kind == shop.BarePivot {
			return setup.Question{Common: rig(nil, wheel(200), pivot(0, 0), &shop.Tool{})} // has no answer
		}
		return q
	}, func(t *testing.T, _ setup.Question, s setup.Setup) {
		for i := range s.Steps {
			for j := range s.Steps {
				if a, b := s.Steps[i], s.Steps[j]; a.Bevel == b.Bevel && !reflect.DeepEqual(a.Support.Lengths, b.Support.Lengths) {
					t.Error("the second side has other numbers than the first")
				}
			}
		}
	})
}

// TestWearIsWhatASmallerWheelGrinds takes half a millimetre off the wheel, with the support left where it is.
func TestWearIsWhatASmallerWheelGrinds(t *testing.T) {
	r := chance.New(t)
	draw := func() setup.Question {
		q := anyQuestion(r)
		if r.IntN(3) == 0 {
			q = anyTable(r)
		}
		q.Grind.Bevels = []shop.Bevel{{Angle: q.Grind.Bevels[0].Angle}}
		return q
	}
	answered(t, 1000, 0.1, draw, func(t *testing.T, q setup.Question, s setup.Setup) {
		step := s.Steps[0]
		if q.Rig.Wheel.Inline.Flat {
			if step.Predicted.WearPerMM.Known {
				t.Error("a flat abrasive has no wear by its diameter")
			}
			return
		}
		stands := shop.Settings{StickOut: q.Given.StickOut, Leg: q.Given.Leg}
		l := step.Support.Lengths
		switch step.Support.SetBy {
		case shop.DatumTilt:
			stands.Datum, stands.Tilt = shop.DatumTilt, step.Support.Tilt.Set
		case shop.DatumSlide:
			stands.Datum, stands.Support = shop.DatumSlide, l[shop.DatumSlide].Set
		default: // the place that the set datum puts it in, by the slide
			p, err := solver.Predict(t.Context(), setup.Forecast{Common: q.Common, Settings: settingsOf(step)})
			if err != nil || len(s.Steps) > 1 {
				return
			}
			stands.Datum, stands.Support = shop.DatumPivotToAxle, p.Steps[0].Support.Lengths[shop.DatumPivotToAxle].Exact
		}
		const off = 1e-3
		edge := func(diameter unit.Length) (unit.Angle, bool) {
			c := q.Common
			c.Grind = nil
			worn := *q.Rig.Wheel.Inline
			worn.Diameter = diameter
			c.Rig.Wheel.Inline = &worn
			p, err := solver.Predict(t.Context(), setup.Forecast{Common: c, Settings: stands})
			if err != nil {
				return 0, false
			}
			return p.Steps[0].Predicted.Edge, true
		}
		worn, ok := edge(q.Rig.Wheel.Inline.Diameter - off)
		thicker, ok2 := edge(q.Rig.Wheel.Inline.Diameter + off)
		if ok && ok2 {
			slope := float64(worn-thicker) / (2 * off)
			near(t, "wear", step.Predicted.WearPerMM.Value, slope, 1e-7+1e-4*math.Abs(slope))
		}
	})
}

// TestTheSameQuestionGetsTheSameAnswer asks twice, also where there is much to choose from.
func TestTheSameQuestionGetsTheSameAnswer(t *testing.T) {
	r := chance.New(t)
	draw := func() setup.Question {
		q := anyQuestion(r)
		if q.Rig.Holder.Inline.Kind == shop.Swing && r.IntN(2) == 0 {
			q.Given, q.Free = shop.Settings{}, []setup.Free{setup.FreeSupport, setup.FreeStickOut, setup.FreeLeg}
		}
		return q
	}
	answered(t, 30, 0.1, draw, func(t *testing.T, q setup.Question, first setup.Setup) {
		if again := mustSolve(t, q); !reflect.DeepEqual(first, again) {
			t.Errorf("got %+v, then %+v", first, again)
		}
	})
}

// TestWhatIsOfferedWorks puts every way out of a refusal in place of what was given.
func TestWhatIsOfferedWorks(t *testing.T) {
	r := chance.New(t)
	offered, reasons := 0, map[fault.Reason]int{}
	for offered < 500 {
		q := anyQuestion(r)
		if r.IntN(6) == 0 {
			q = anyTable(r)
		}
		constrain(q, r.IntN(6), r.Float64())
		_, err := solver.Solve(t.Context(), q)
		var f *fault.Fault
		if !errors.As(err, &f) {
			continue
		}
		detail, _ := f.Detail.(*setup.Refusal)
		if detail == nil {
			continue
		}
		for _, way := range detail.Ways {
			offered++
			reasons[f.Reason]++
			again := q
			if way.Bevel.Known {
				again.Grind = &shop.Grind{Bevels: append([]shop.Bevel{way.Bevel.Value}, q.Grind.Bevels[1:]...), Upper: q.Grind.Upper}
			} else {
				again.Given = way.Settings
			}
			if _, err := solver.Solve(t.Context(), again); err != nil {
				t.Fatalf("%v offers %q, and that is refused: %v\nquestion %+v", f, way.Text, err, q)
			}
		}
	}
	t.Logf("offered: %v", reasons)
	if len(reasons) < 5 {
		t.Errorf("only refusals for %v offered anything", reasons)
	}
}

// constrain makes a question hard to answer.
func constrain(q setup.Question, how int, share float64) {
	s := q.Rig.Station.Inline
	switch how {
	case 0: // a short travel
		if s.Supports[0].Slide.Known {
			from := unit.Length(-200 + 800*share)
			s.Supports[0].Slide.Value.Travel = shop.LengthRange{Least: from, Most: from + 25}
		}
	case 1: // a guard that leaves little open
		from := unit.Degrees(-30 + 90*share)
		s.Guard = shop.Some(shop.AngleRange{Least: from, Most: from + unit.Degrees(10)})
	case 2: // a short blade
		q.Rig.Tool.Inline.FreeBlade = length(15 + 60*share)
	case 3: // a deep holder
		q.Rig.Holder.Inline.FaceDepth = length(5 + 60*share)
	case 4: // a shop that grinds little
		s.EdgeAngles = shop.Some(shop.AngleRange{Least: unit.Degrees(30 + 20*share), Most: unit.Degrees(60)})
	case 5: // a leg that hardly moves
		q.Rig.Holder.Inline.Leg = shop.AngleRange{Least: unit.Degrees(40 * share), Most: unit.Degrees(40*share + 20)}
		q.Rig.Holder.Inline.Positions = []shop.LegPosition{{ID: "a", Angle: unit.Degrees(40*share + 5)}, {ID: "b", Angle: unit.Degrees(40*share + 15)}}
	}
}

// TestWaysOutOfAPredictionWork does the same with gaps that are out of reach.
func TestWaysOutOfAPredictionWork(t *testing.T) {
	r := chance.New(t)
	for offered := 0; offered < 500; {
		q := anyQuestion(r)
		q.Grind = nil
		settings := q.Given
		settings.Datum, settings.Support = shop.DatumWheelGap, unit.Length(uniform(r, 1, 500))
		_, err := solver.Predict(t.Context(), setup.Forecast{Common: q.Common, Settings: settings})
		f, ok := fault.As(err)
		if !ok {
			continue
		}
		detail, ok := f.Detail.(*setup.Refusal)
		if !ok {
			continue
		}
		for _, way := range detail.Ways {
			offered++
			if _, err := solver.Predict(t.Context(), setup.Forecast{Common: q.Common, Settings: way.Settings}); err != nil {
				t.Fatalf("%v offers %q, and that is refused: %v", f, way.Text, err)
			}
		}
	}
}
