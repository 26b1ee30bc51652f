package setup_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

func steel(depth float64) *shop.Tool { return &shop.Tool{SteelUnderFlute: length(depth)} }

// planning asks the reference shop's rig, with 8 mm of steel, for bevels at an edge.
func planning(want setup.Wanted, bevels ...shop.Bevel) setup.BevelQuestion {
	q := setup.BevelQuestion{Common: rig(station(adjusted()), wheel(200), swing(), steel(8)), Given: swung(45, 30), Want: want}
	if len(bevels) > 0 {
		q.Grind = grind(bevels...)
	}
	return q
}

// adjusted is the reference shop's pocket on its screw of 1.5 mm a turn.
func adjusted() shop.Support {
	p := pocket()
	p.Adjuster = shop.Some(shop.Adjuster{Lead: 1.5, ClockwiseRaises: true})
	return p
}

// notched is the swing holder with leg positions at these angles.
func notched(angles ...float64) *shop.Holder {
	h := swing()
	for i, a := range angles {
		h.Positions = append(h.Positions, shop.LegPosition{ID: string(rune('1' + i)), Angle: unit.Degrees(a)})
	}
	return h
}

func mustPlan(t testing.TB, q setup.BevelQuestion) setup.BevelPlan {
	t.Helper()
	p, err := solver.PlanBevels(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func refusedPlan(t testing.TB, q setup.BevelQuestion, reason fault.Reason) (*fault.Fault, *setup.Refusal) {
	t.Helper()
	_, err := solver.PlanBevels(context.Background(), q)
	f := refused(t, err, reason)
	detail, _ := f.Detail.(*setup.Refusal)
	return f, detail
}

// places are the rigs of a plan's bevels, as the next question has to say them.
func places(q setup.BevelQuestion, p setup.BevelPlan) []setup.RigSource {
	list := make([]setup.RigSource, len(p.Grind.Bevels))
	for i := range list {
		switch {
		case i > 0 && q.Behind != setup.RigSource{}:
			list[i] = q.Behind
		case p.Of[i] >= 0 && p.Of[i] < len(q.Places):
			list[i] = q.Places[p.Of[i]]
		}
	}
	return list
}

// solved puts a plan into the solver, set as finely as to a micrometre.
func solved(t testing.TB, q setup.BevelQuestion, p setup.BevelPlan) setup.Setup {
	t.Helper()
	next := setup.Question{Common: q.Common, Given: p.Given, Rounding: setup.Rounding{LengthStep: 0.001, AngleStep: 0.01 * unit.Degree}}
	next.Grind, next.Recipe, next.Places = &p.Grind, "", places(q, p)
	return mustSolve(t, next)
}

// roundTrip wants every angle, width and hollow of a plan to come back from the solver, the edge last.
func roundTrip(t testing.TB, q setup.BevelQuestion, p setup.BevelPlan) setup.Setup {
	t.Helper()
	s := solved(t, q, p)
	if len(s.Steps) != len(p.Bevels) {
		t.Fatalf("%d steps of %d bevels", len(s.Steps), len(p.Bevels))
	}
	for i, step := range s.Steps {
		b := p.Bevels[step.Bevel]
		if step.Bevel != len(p.Bevels)-1-i {
			t.Errorf("step %d grinds bevel %d", i, step.Bevel)
		}
		near(t, "wanted", step.Wanted, b.Front, 1e-12)
		nearDeg(t, "front angle", step.Predicted.Edge, b.Front.Degrees(), 0.002)
		near(t, "width", step.Predicted.Width.Value, b.Width.Value, 0.005)
		near(t, "hollow", step.Predicted.Hollow.Value, b.Hollow.Value, 0.001)
	}
	return s
}

// The old bevel's wheel stays where it was, so the new edge is where the micro bevel's wheel meets the reference line while both rims pass
// through the corner: held against the two circles.
func TestAMicroBevelStandsOnTheOldOne(t *testing.T) {
	q := planning(setup.MicroBevel{Steeper: unit.Degrees(3), Width: 0.5}, front(50))
	p := mustPlan(t, q)
	near(t, "set-back", p.SetBack.Value, 0.0340, 0.00005) // flat: 0.5 sin 3° / sin 50° = 0.0342
	const r = 100.0
	β := 50 * math.Pi / 180
	old := [2]float64{-r * math.Sin(β), r * math.Cos(β)} // axle, from the old edge: behind, below
	micro := p.Bevels[0]
	sin, cos := math.Sincos(float64(micro.Reading.Value))
	corner := [2]float64{float64(p.SetBack.Value) + 0.5*cos, 0.5 * sin}
	near(t, "corner to the old axle", math.Hypot(corner[0]-old[0], corner[1]-old[1]), r, 1e-9)
	tangent := math.Atan2(corner[0]-old[0], old[1]-corner[1]) // square to the radius
	nearDeg(t, "old bevel at the corner", p.Bevels[1].Front, tangent*180/math.Pi, 1e-9)
	nearDeg(t, "micro bevel", micro.Front, 53, 1e-9)
	nearDeg(t, "corner", p.Bevels[1].Corner.Value, (micro.Front + 2*(micro.Reading.Value-micro.Front) - p.Bevels[1].Front).Degrees(), 1e-9)
	// Together the two end where the old one did, seen from the new edge.
	h, err := geometry.RoundWheel(200).HollowOfDepth(unit.Degrees(50), 8)
	if err != nil {
		t.Fatal(err)
	}
	was, _ := h.End()
	sin, cos = math.Sincos(float64(p.Bevels[1].Reading.Value))
	near(t, "heel", corner[0]+float64(p.Bevels[1].Width.Value)*cos, float64(was), 1e-9)
	near(t, "depth", corner[1]+float64(p.Bevels[1].Width.Value)*sin, 8, 1e-9)
	if want := "moves the edge back by 0.034 mm"; !strings.Contains(p.Text, want) {
		t.Errorf("%q does not say %q", p.Text, want)
	}
	roundTrip(t, q, p)
}

// A micro bevel leaves the bevels behind the first as they are, and shortens the first by what it takes.
func TestAMicroBevelKeepsTheOtherBevels(t *testing.T) {
	q := planning(setup.MicroBevel{Steeper: unit.Degrees(2), Width: 1}, land(50, 3), land(35, 4), front(25))
	p := mustPlan(t, q)
	if len(p.Bevels) != 4 {
		t.Fatalf("%d bevels", len(p.Bevels))
	}
	nearDeg(t, "the second", p.Bevels[2].Front, 35, 1e-9)
	near(t, "its width", p.Bevels[2].Width.Value, 4, 1e-9)
	_, down := geometryLand(t, 200, 50, 3).End()
	depth := 0.0
	for _, b := range p.Bevels[:2] {
		depth += float64(b.Width.Value) * math.Sin(float64(b.Reading.Value))
	}
	near(t, "end of the old land", depth, float64(down), 1e-9)
	roundTrip(t, q, p)
}

func geometryLand(t testing.TB, diameter, edge, width float64) geometry.Hollow {
	t.Helper()
	h, err := geometry.RoundWheel(unit.Length(diameter)).HollowOfChord(unit.Degrees(edge), unit.Length(width))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestALandWithARelief(t *testing.T) {
	q := planning(setup.Land{Width: 3, Relief: unit.Degrees(35)}, front(50))
	p := mustPlan(t, q)
	nearDeg(t, "relief", p.Bevels[1].Front, 35, 1e-9)
	nearDeg(t, "corner", p.Bevels[1].Corner.Value, 50+2*math.Asin(3.0/200)*180/math.Pi-35, 1e-9) // the tangent turns by 2 asin(3/2R) along the land
	s := roundTrip(t, q, p)
	near(t, "slide", s.Steps[0].Support.Lengths[shop.DatumSlide].Exact-s.Steps[1].Support.Lengths[shop.DatumSlide].Exact, -21.67, 0.005) // job.md's scenario
}

// The steepest relief for a radius makes the bevels clear that radius exactly, on whichever wheel it is ground.
func TestTheSteepestReliefForARadius(t *testing.T) {
	r := chance.New(t)
	for range 200 {
		radius := uniform(r, 25, 200)
		q := planning(setup.Land{Width: unit.Length(uniform(r, 1, 4)), Clears: length(radius)}, front(uniform(r, 40, 65)))
		if r.IntN(2) == 0 {
			q.Behind.Wheel.Inline = wheel(uniform(r, 120, 250))
		}
		p, err := solver.PlanBevels(context.Background(), q)
		if f, ok := fault.As(err); ok && (f.Reason == setup.BevelsCross || f.Reason == setup.NoReliefClears) {
			continue
		} else if err != nil {
			t.Fatal(err)
		}
		c := setup.CurveQuestion{Common: q.Common, Radius: unit.Length(radius * (1 + 1e-9))}
		c.Grind, c.Places = &p.Grind, places(q, p)
		near(t, "tightest", mustCheck(t, c).Tightest.Value, unit.Length(radius), 1e-6)
	}
}

func TestFacetsTurnEvenly(t *testing.T) {
	q := planning(setup.Facets{Land: 2, Count: 4, Last: unit.Degrees(22)}, front(60))
	p := mustPlan(t, q)
	depth := 0.0
	for i, b := range p.Bevels {
		depth += float64(b.Width.Value) * math.Sin(float64(b.Reading.Value))
		if i > 0 {
			near(t, "width", b.Width.Value, p.Bevels[1].Width.Value, 1e-6)
			near(t, "corner", b.Corner.Value, p.Bevels[1].Corner.Value, 1e-9)
		}
	}
	near(t, "steel", depth, 8, 1e-9)
	nearDeg(t, "last", p.Bevels[4].Front, 22, 1e-9)
	near(t, "largest corner", p.LargestCorner.Value, p.Bevels[1].Corner.Value, 1e-12)
	if !(p.Deviation.Value > 0 && p.Deviation.Value < 0.2) {
		t.Errorf("corners stand %v proud", p.Deviation.Value)
	}
	roundTrip(t, q, p)
}

// With leg positions every facet gets one that can be set, by itself the best, and the land keeps the leg that was said.
func TestFacetsTakeLegPositions(t *testing.T) {
	q := planning(setup.Facets{Land: 2, Count: 3, Last: unit.Degrees(25)}, front(60))
	q.Rig.Holder.Inline = notched(15, 22.5, 30, 37.5, 45)
	q.Given = stuckOut(45)
	p := mustPlan(t, q)
	s := solved(t, q, p)
	for _, step := range s.Steps {
		given := p.Grind.Bevels[step.Bevel].Given
		if given.Position == "" || step.Position != given.Position {
			t.Errorf("bevel %d: position %q planned, %q set", step.Bevel, given.Position, step.Position)
		}
		nearDeg(t, "front angle", step.Predicted.Edge, p.Bevels[step.Bevel].Front.Degrees(), 0.002)
		if !strings.Contains(p.Bevels[step.Bevel].Text, "the leg at position "+given.Position) {
			t.Errorf("%q does not say position %s", p.Bevels[step.Bevel].Text, given.Position)
		}
	}
	q.Given = swung(45, 30)
	for _, b := range mustPlan(t, q).Grind.Bevels {
		if b.Given.Position != "" || b.Given.Leg != angle(30) {
			t.Errorf("the leg was said, and the plan sets %+v", b.Given)
		}
	}
}

// On a short slide the facets of a large count cannot all be set; the refusal says which count can, and it can.
func TestAFacetCountNoLegPositionServes(t *testing.T) {
	q := planning(setup.Facets{Land: 2, Count: 3, Last: unit.Degrees(20)}, front(60))
	short := adjusted()
	short.Slide = slide(0, -110, 0, 161, 260)
	q.Rig.Station.Inline, q.Rig.Holder.Inline, q.Given = station(short), notched(15, 30, 45), stuckOut(45)
	worked, failed := 0, 0
	for last := 15.0; last < 60; last += 0.5 {
		q.Want = setup.Facets{Land: 2, Count: 3, Last: unit.Degrees(last)}
		_, err := solver.PlanBevels(context.Background(), q)
		f, ok := fault.As(err)
		if !ok {
			if err != nil {
				t.Fatal(err)
			}
			worked++
			continue
		}
		if f.Reason == setup.BevelNeverEnds {
			continue
		}
		detail := refusedDetail(t, err, setup.FacetsNotSettable)
		if detail.Field != "facets.count" || detail.Unit != "facets" || detail.Value.Value != 3 {
			t.Errorf("refused %+v", detail)
		}
		count := detail.Least.Or(detail.Most.Value)
		if detail.Least.Known == detail.Most.Known {
			continue // nothing would work
		}
		failed++
		q.Want = setup.Facets{Land: 2, Count: int(count), Last: unit.Degrees(last)}
		solved(t, q, mustPlan(t, q))
	}
	if worked == 0 || failed == 0 {
		t.Errorf("%d worked, %d failed with another count that works", worked, failed)
	}
}

func refusedDetail(t testing.TB, err error, reason fault.Reason) *setup.Refusal {
	t.Helper()
	detail, ok := refused(t, err, reason).Detail.(*setup.Refusal)
	if !ok {
		t.Fatal("no detail")
	}
	return detail
}

// Turns and angles are two ways to ask for the same bevels, with the screw in either hand.
func TestTurnsComeBackAsMoves(t *testing.T) {
	for _, raises := range []bool{true, false} {
		q := planning(setup.Turns{Turns: []float64{-10, -19.5}, Widths: []unit.Length{3, 2}}, front(50))
		q.Rig.Station.Inline.Supports[0].Adjuster.Value.ClockwiseRaises = raises
		if !raises {
			q.Want = setup.Turns{Turns: []float64{10, 19.5}, Widths: []unit.Length{3, 2}}
		}
		p := mustPlan(t, q)
		edge := solved(t, q, setup.BevelPlan{Grind: *grind(front(50)), Of: []int{0}, Given: p.Given}).Steps[0]
		now := at(shop.DatumSlide, float64(edge.Support.Lengths[shop.DatumSlide].Exact))
		next := setup.Question{Common: q.Common, Given: p.Given, Now: &now, Rounding: setup.Rounding{LengthStep: 0.001}}
		next.Grind = &p.Grind
		s := mustSolve(t, next)
		sign := map[bool]float64{true: 1, false: -1}[raises]
		near(t, "turns of the last", s.Steps[0].Support.Move.Turns.Value, -19.5*sign, 0.002)
		near(t, "turns of the second", s.Steps[1].Support.Move.Turns.Value, 9.5*sign, 0.002)
		near(t, "turns of the edge", s.Steps[2].Support.Move.Turns.Value, 10*sign, 0.002)
		near(t, "degrees per turn", p.PerTurn.Value, edge.Support.Lengths[shop.DatumSlide].PerMM*1.5*sign, 1e-6)
		roundTrip(t, q, p)

		// The edge may be said by the place of the support as well.
		q.Grind = nil
		q.Given.Datum, q.Given.Support = shop.DatumSlide, now.Support
		for i, b := range mustPlan(t, q).Bevels {
			near(t, "front angle", b.Front, p.Bevels[i].Front, 1e-9)
		}
	}
}

func TestASoftenedHeel(t *testing.T) {
	q := planning(setup.Land{Width: 3, Relief: unit.Degrees(35)}, front(50))
	q.Softened = length(2)
	p := mustPlan(t, q)
	// Flat: tan(φ/2) of the radius on both sides of the corner, φ the tangent at the heel; a hollow takes a little less of the bevel.
	b := p.Bevels[1]
	far := float64(2*b.Reading.Value - b.Front)
	near(t, "of the bevel", p.SoftenedBevel.Value, unit.Length(2*math.Tan(far/2)), 0.05)
	near(t, "of the underside", p.SoftenedUnderside.Value, unit.Length(2*math.Tan(far/2)), 0.05)
	q.Softened = length(45)
	_, detail := refusedPlan(t, q, setup.HeelTooRound)
	q.Softened = length(detail.Most.Value)
	mustPlan(t, q)
	q.Softened = length(detail.Most.Value + 0.01)
	refusedPlan(t, q, setup.HeelTooRound)
}

// Every limit that a refusal names is one: just within it there is a plan, just beyond there is none.
func TestPlansThatAreRefusedNameALimit(t *testing.T) {
	micro := func(w float64) setup.Wanted { return setup.MicroBevel{Steeper: unit.Degrees(3), Width: unit.Length(w)} }
	relief := func(d float64) setup.Wanted { return setup.Land{Width: 3, Relief: unit.Degrees(d)} }
	landWide := func(w float64) setup.Wanted {
		return setup.Land{Width: unit.Length(w), Relief: unit.Degrees(20)}
	}
	clears := func(r float64) setup.Wanted { return setup.Land{Width: 3, Clears: length(r)} }
	facets := func(d float64) setup.Wanted { return setup.Facets{Land: 3, Count: 2, Last: unit.Degrees(d)} }
	turning := func(n float64) setup.Wanted {
		return setup.Turns{Turns: []float64{n}, Widths: []unit.Length{1}}
	}
	for _, c := range []struct {
		name   string
		want   func(float64) setup.Wanted
		value  float64
		reason fault.Reason
		field  string
		unit   string
		upper  bool // the limit is a most
	}{
		{"micro bevel wider than the bevel", micro, 12, setup.LandTooLong, "micro_bevel.width_mm", "mm", true},
		{"relief above the land's end", relief, 53, setup.BevelsNotFalling, "land.front_angle_deg", "deg", true},
		{"land longer than the bevel", landWide, 12, setup.LandTooLong, "land.width_mm", "mm", true},
		{"radius no relief clears", clears, 2, setup.NoReliefClears, "land.clears_radius_mm", "mm", false},
		{"last facet above the land's end", facets, 53, setup.BevelsNotFalling, "facets.last_front_angle_deg", "deg", true},
		{"turns inwards beyond the travel", turning, -60, setup.BeyondTravel, "turns.adjuster_turns[0]", "turns", false},
		{"turns outwards", turning, 5, setup.BevelsNotFalling, "turns.adjuster_turns[0]", "deg", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, detail := refusedPlan(t, planning(c.want(c.value), front(50)), c.reason)
			if detail.Field != c.field || detail.Unit != c.unit {
				t.Errorf("refused %s in %s: %s", detail.Field, detail.Unit, f.Message)
			}
			limit := detail.Least
			if c.upper {
				limit = detail.Most
			}
			if !limit.Known {
				t.Fatalf("no limit in %+v", detail)
			}
			if c.reason == setup.BevelsNotFalling && c.unit == "deg" && c.value < 10 || c.reason == setup.BeyondTravel {
				return // the limit is of the angle that comes of the turns, or a setting that other things forbid
			}
			within, beyond := limit.Value*(1-1e-6), limit.Value*(1+1e-6)
			if !c.upper {
				within, beyond = beyond, within
			}
			mustPlan(t, planning(c.want(within), front(50)))
			refusedPlan(t, planning(c.want(beyond), front(50)), c.reason)
		})
	}
}

func TestTurnsBeyondTravelNameTheTurnsThereAre(t *testing.T) {
	q := planning(setup.Turns{Turns: []float64{60}, Widths: []unit.Length{1}}, front(50))
	_, detail := refusedPlan(t, q, setup.BeyondTravel)
	near(t, "value", detail.Value.Value, 60, 0)
	near(t, "most", detail.Most.Value, (260-177.114)/1.5, 0.001) // job.md: slide 177.11, travel 120 to 260
	near(t, "least", detail.Least.Value, (120-177.114)/1.5, 0.001)
}

// A small second wheel turns so fast that its arc leaves the steel: behind a corner of 1.7° on curvatures 1/20 and 1/100 after 2γ/(k₂ − k₁).
func TestASecondWheelThatLeavesTheSteelEarly(t *testing.T) {
	q := planning(setup.Land{Width: 3, Relief: unit.Degrees(50)}, front(50))
	q.Behind.Wheel.Inline = wheel(40)
	f, detail := refusedPlan(t, q, setup.BevelsCross)
	if detail.Field != "land.front_angle_deg" || !strings.Contains(f.Message, "bevel 2 leaves the steel") {
		t.Errorf("refused %s: %s", detail.Field, f.Message)
	}
	q.Want = setup.Land{Width: 3, Relief: unit.Degrees(35)}
	q.Rig.Station.Inline.Supports[0].Slide.Value.Travel.Least = 60
	roundTrip(t, q, mustPlan(t, q))
}

func TestPlansThatSayTooLittle(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*setup.BevelQuestion)
		field  string
	}{
		"no edge":            {func(q *setup.BevelQuestion) { q.Grind = nil }, "grind"},
		"no wheel":           {func(q *setup.BevelQuestion) { q.Rig.Wheel.Inline = nil }, "rig.wheel"},
		"facets, no steel":   {func(q *setup.BevelQuestion) { q.Rig.Tool.Inline = nil }, "rig.tool.steel_under_flute_mm"},
		"facets, a scraper":  {func(q *setup.BevelQuestion) { q.Rig.Tool.Inline = &shop.Tool{Kind: shop.Scraper} }, "rig.tool.blade_thickness_mm"},
		"another tool there": {func(q *setup.BevelQuestion) { q.Behind.Tool.Inline = steel(3) }, "behind_rig.tool"},
		"positions, no stick-out": {func(q *setup.BevelQuestion) {
			q.Rig.Holder.Inline, q.Given = notched(30), shop.Settings{}
		}, "given.stick_out_mm"},
	} {
		t.Run(name, func(t *testing.T) {
			q := planning(setup.Facets{Land: 2, Count: 2, Last: unit.Degrees(25)}, front(55))
			c.change(&q)
			f, _ := refusedPlan(t, q, fault.InvalidField)
			if f.Violations[0].Field != c.field {
				t.Errorf("refused %s: %s", f.Violations[0].Field, f.Message)
			}
		})
	}
	q := planning(setup.Turns{Turns: []float64{-1}, Widths: []unit.Length{1}}, front(50))
	q.Rig.Station.Inline = station(pocket())
	refusedPlan(t, q, setup.RigDoesNotFit)
	q = planning(setup.MicroBevel{Steeper: unit.Degrees(3), Width: 1}, front(40))
	q.Rig.Tool.Inline = &shop.Tool{Kind: shop.NegativeRakeScraper, Thickness: length(8), EdgeBelowTop: length(2)}
	q.Grind.Upper = shop.Some(front(20))
	refusedPlan(t, q, setup.RigDoesNotFit)
	// Without holder and machine a plan is a plan.
	q = planning(setup.Land{Width: 3, Relief: unit.Degrees(35)}, front(50))
	q.Rig.Station, q.Rig.Holder, q.Given = setup.Source[shop.Station]{}, setup.Source[shop.Holder]{}, shop.Settings{}
	mustPlan(t, q)
	q.Rig.Tool = setup.Source[shop.Tool]{}
	if p := mustPlan(t, q); caution(p.Cautions, "NO_HEEL") == nil || p.Bevels[1].Width.Known {
		t.Errorf("with unknown steel: %+v", p.Bevels[1])
	}
}

// The bevels of the question may have wheels and settings of their own; a micro bevel is ground where the first is, and the others stay
// where they were.
func TestAMicroBevelKeepsThePlacesOfTheOthers(t *testing.T) {
	q := planning(setup.MicroBevel{Steeper: unit.Degrees(3), Width: 0.5}, land(50, 3), front(30))
	q.Places = make([]setup.RigSource, 2)
	q.Places[1].Wheel.Inline = wheel(150)
	q.Grind.Bevels[0].Given = stuckOut(50)
	q.Grind.Bevels[0].Given.Datum, q.Grind.Bevels[0].Given.Support = shop.DatumWheelGap, 100
	p := mustPlan(t, q)
	if p.Of[0] != 0 || p.Of[1] != 0 || p.Of[2] != 1 {
		t.Errorf("ground with %v", p.Of)
	}
	for i, given := range []shop.Settings{stuckOut(50), q.Grind.Bevels[0].Given, {}} {
		if p.Grind.Bevels[i].Given != given {
			t.Errorf("bevel %d is set %+v", i, p.Grind.Bevels[i].Given)
		}
	}
	h, err := geometry.RoundWheel(150).HollowOfChord(p.Bevels[2].Front, p.Bevels[2].Width.Value)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "hollow of the smaller wheel", p.Bevels[2].Hollow.Value, h.Depth, 1e-9)
	q.Behind.Wheel.Inline = wheel(170)
	for _, b := range mustPlan(t, q).Bevels[1:] {
		h, err := geometry.RoundWheel(170).HollowOfChord(b.Front, b.Width.Value)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "hollow of the wheel behind", b.Hollow.Value, h.Depth, 1e-9)
	}
}

// A grind has at most 16 bevels, with the micro bevel too.
func TestTooManyBevels(t *testing.T) {
	q := planning(setup.MicroBevel{Steeper: unit.Degrees(1), Width: 0.1}, front(20))
	q.Grind.Bevels = nil
	for i := range 15 {
		q.Grind.Bevels = append(q.Grind.Bevels, land(60-2*float64(i), 0.3))
	}
	q.Grind.Bevels = append(q.Grind.Bevels, front(20))
	f, _ := refusedPlan(t, q, fault.InvalidField)
	if f.Violations[0].Field != "grind.bevels" || f.Violations[0].Reason != fault.TooLong {
		t.Errorf("refused %s", f.Message)
	}
	q.Grind.Bevels = q.Grind.Bevels[1:]
	mustPlan(t, q)
}

// Both faces of a parting tool get the same bevels; the edge is half of what is included.
func TestAToolWithTwoBevels(t *testing.T) {
	q := setup.BevelQuestion{Common: rig(nil, wheel(200), nil, &shop.Tool{Kind: shop.PartingTool, Thickness: length(10)}), Want: setup.Land{Width: 3, Relief: unit.Degrees(20)}}
	q.Grind = grind(shop.Bevel{Of: shop.IncludedFrontAngle, Angle: unit.Degrees(60)})
	p := mustPlan(t, q)
	nearDeg(t, "land", p.Bevels[0].Front, 30, 1e-9)
	depth := float64(p.Bevels[0].Width.Value)*math.Sin(float64(p.Bevels[0].Reading.Value)) + float64(p.Bevels[1].Width.Value)*math.Sin(float64(p.Bevels[1].Reading.Value))
	near(t, "half the blade", depth, 5, 1e-9)
	q.Want = setup.MicroBevel{Steeper: unit.Degrees(5), Width: 0.5}
	near(t, "set-back", mustPlan(t, q).SetBack.Value, unit.Length(0.5*math.Sin(5*math.Pi/180)/math.Sin(30*math.Pi/180)), 0.001)
}

// Random plans come back from the solver, or are refused with a reason of this rule.
func TestRandomPlansComeBack(t *testing.T) {
	r := chance.New(t)
	planned := 0
	for range 600 {
		q := planning(nil, front(uniform(r, 20, 75)))
		q.Rig.Wheel.Inline, q.Rig.Tool.Inline = wheel(uniform(r, 120, 250)), steel(uniform(r, 3, 12))
		width := unit.Length(uniform(r, 0.5, 5))
		q.Want = []setup.Wanted{
			setup.MicroBevel{Steeper: unit.Degrees(uniform(r, 0.5, 10)), Width: width / 4},
			setup.Land{Width: width, Relief: unit.Degrees(uniform(r, 5, 60))},
			setup.Facets{Land: width, Count: 1 + r.IntN(6), Last: unit.Degrees(uniform(r, 5, 50))},
			setup.Turns{Turns: []float64{uniform(r, -30, 1)}, Widths: []unit.Length{width}},
		}[r.IntN(4)]
		p, err := solver.PlanBevels(context.Background(), q)
		if err != nil {
			if _, ok := fault.As(err); !ok {
				t.Fatal(err)
			}
			continue
		}
		next := setup.Question{Common: q.Common, Given: p.Given, Rounding: setup.Rounding{LengthStep: 0.001}}
		next.Grind = &p.Grind
		s, err := solver.Solve(context.Background(), next)
		if f, ok := fault.As(err); ok && f.Kind == fault.Impossible {
			continue // the grind is one, but not on this machine
		}
		if err != nil {
			t.Fatalf("%+v was planned, and refused: %v", p.Grind, err)
		}
		planned++
		for _, step := range s.Steps {
			nearDeg(t, "front angle", step.Predicted.Edge, p.Bevels[step.Bevel].Front.Degrees(), 0.01)
		}
	}
	if planned < 100 {
		t.Errorf("only %d plans came back", planned)
	}
}

func BenchmarkPlanFourFacets(b *testing.B) {
	q := planning(setup.Facets{Land: 2, Count: 4, Last: unit.Degrees(22)}, front(60))
	q.Rig.Holder.Inline = notched(15, 22.5, 30, 37.5, 45)
	for name, want := range map[string]shop.Settings{"leg given": swung(45, 30), "leg chosen": stuckOut(45)} {
		q.Given = want
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := solver.PlanBevels(context.Background(), q); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
