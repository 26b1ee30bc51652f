package setup_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// TestMoves holds what is said to a person who stands before the machine: how far, which way, how many turns of the screw and which
// way round, and how its play is taken up. The pocket has to go from 175 or 180 to the reference set-up's 177.114, or the other way.
func TestMoves(t *testing.T) {
	rightHanded := shop.Adjuster{Lead: 1.5, ClockwiseRaises: true}
	for _, c := range []struct {
		name      string
		direction float64 // of growing readings
		adjuster  shop.Adjuster
		by        float64 // change of the reading
		turns     float64
		text      string
	}{
		{"outwards, out", 0, rightHanded, 1.5, 1, "→ pocket out 1.50 mm, 1 turn clockwise"},
		{"outwards, in", 0, rightHanded, -1.5, -1, "← pocket in 1.50 mm, 1 turn anticlockwise"},
		{"a left-handed screw", 0, shop.Adjuster{Lead: 1.5}, 0.75, -0.5, "→ pocket out 0.75 mm, 1/2 turn anticlockwise"},
		{"up", 90, rightHanded, 2, 4.0 / 3, "↑ pocket up 2.00 mm, 1 1/3 turns clockwise"},
		{"down again, with play", 90, shop.Adjuster{Lead: 2, ClockwiseRaises: true, Backlash: 0.3}, -4, -2, "↓ pocket down 4.00 mm, 2 turns anticlockwise; go 1/2 turn further and come back clockwise, to take up the screw's play"},
		{"up, with play: the move ends as it should", 90, shop.Adjuster{Lead: 2, ClockwiseRaises: true, Backlash: 0.3}, 4, 2, "↑ pocket up 4.00 mm, 2 turns clockwise"},
		{"readings grow inwards", 180, rightHanded, 3, 2, "← pocket in 3.00 mm, 2 turns clockwise"},
		{"readings grow downwards", -90, rightHanded, 1, 2.0 / 3, "↓ pocket down 1.00 mm, 2/3 turn clockwise"},
		{"nearly nothing", 0, rightHanded, 0.03, 0.02, "→ pocket out 0.03 mm, 0.02 turn clockwise"},
		{"no screw", 0, shop.Adjuster{}, 1.5, 0, "→ pocket out 1.50 mm"},
		{"nothing", 0, rightHanded, 0, 0, "leave the pocket as it is"},
	} {
		// A slide through the same place, its scale starting where the reading there becomes 177 and a rounded step is exact.
		at177 := math.Sqrt(208.5*208.5 - 110*110)
		sin, cos := math.Sincos(c.direction * degree)
		s := shop.Support{ID: "pocket", Kind: shop.Pocket, Datum: shop.DatumSlide, Slide: slide(at177-177*cos, -110-177*sin, c.direction, 0, 400)}
		s.Adjuster = shop.Maybe[shop.Adjuster]{Value: c.adjuster, Known: c.adjuster.Lead > 0}
		q := reference(front(50))
		q.Rig.Station.Inline, q.Rounding.LengthStep = station(s), 0.25
		set := mustSolve(t, q).Steps[0].Support.Lengths[shop.DatumSlide].Set
		now := at(shop.DatumSlide, float64(set)-c.by)
		q.Now, q.Rounding.LengthStep = &now, 0.25
		move := mustSolve(t, q).Steps[0].Support.Move
		near(t, c.name+": by", float64(move.Slide.Value), c.by, 1e-9)
		near(t, c.name+": turns", move.Turns.Value, c.turns, 1e-9)
		if move.Turns.Known != (c.adjuster.Lead > 0) {
			t.Errorf("%s: turns told is %v", c.name, move.Turns.Known)
		}
		if move.Text != c.text {
			t.Errorf("%s: %q, want %q", c.name, move.Text, c.text)
		}
	}
}

func TestMovesWithoutASlide(t *testing.T) {
	q := setup.Question{Common: rig(nil, wheel(200), swing(), nil), Given: swung(45, 30)}
	q.Grind = grind(front(50))
	if m := mustSolve(t, q).Steps[0].Support.Move; m != nil {
		t.Errorf("nobody said where it stands: %+v", m)
	}
	for now, text := range map[float64]string{100.5: "support 8.0 mm away from the wheel", 110: "support 1.5 mm towards the wheel", 108.5: "leave the support as it is"} {
		stands := at(shop.DatumWheelGap, now)
		q.Now = &stands
		move := mustSolve(t, q).Steps[0].Support.Move
		near(t, "gap", float64(move.Gap.Value), 108.5-now, 1e-9)
		if move.Text != text || move.Slide.Known || move.Turns.Known {
			t.Errorf("from %v: %+v, want %q", now, move, text)
		}
	}
	// A platform nobody described: the distance to set is all that is known, and nothing is said that is not true.
	table := setup.Question{Common: rig(nil, wheel(200), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)})}
	stands := at(shop.DatumPlatformToAxle, 5)
	table.Grind, table.Now = grind(front(75)), &stands
	step := mustSolve(t, table).Steps[0]
	if step.Support.Move != nil || step.Text != "Set the platform's distance from the axle to 19.9 mm" {
		t.Errorf("%q, move %+v", step.Text, step.Support.Move)
	}
}

// TestMovesFromStepToStep holds that each step starts where the one before it left the machine.
func TestMovesFromStepToStep(t *testing.T) {
	q := reference(land(50, 3), front(35))
	now := at(shop.DatumSlide, 160)
	q.Now = &now
	steps := mustSolve(t, q).Steps
	at35 := settle(t, q, steps[0])
	at50 := settle(t, q, steps[1])
	near(t, "to the relief", float64(steps[0].Support.Move.Slide.Value), at35-160, 1e-9)
	near(t, "to the edge", float64(steps[1].Support.Move.Slide.Value), at50-at35, 1e-9)
	if !strings.HasPrefix(steps[0].Text, "Set the stick-out to 45.0 mm; the leg to 30.0°; set the wheel gap to") || strings.Contains(steps[1].Text, "stick-out") {
		t.Errorf("texts %q, %q: only what changes is said", steps[0].Text, steps[1].Text)
	}
}

// settle is the reading of a level slide 110 below the axle at which a step's support really stands.
func settle(t *testing.T, q setup.Question, step setup.Step) float64 {
	t.Helper()
	gap := float64(step.Support.Lengths[shop.DatumWheelGap].Set)
	radius := float64(q.Rig.Wheel.Inline.Diameter) / 2
	return math.Sqrt((radius+gap)*(radius+gap) - 110*110)
}

// TestTexts holds how lengths are printed in each unit, and that what is printed is what is set.
func TestTexts(t *testing.T) {
	for _, c := range []struct {
		unit      setup.LengthUnit
		stickOut  float64
		stickText string
		step      float64
		gap       string
	}{
		{setup.Millimetres, 45, "45.0 mm", 0.1, "108.5 mm"},
		{setup.Millimetres, 45.25, "45.25 mm", 0.1, "108.7 mm"},
		{setup.BothUnits, 45, "45.0 mm (1 49/64 in)", 0.1, "108.5 mm (4 17/64 in)"},
		{setup.Inches, 44.45, "1 3/4 in", 25.4 / 64, "4 1/4 in"},
		{setup.Inches, 45, "1 49/64 + 0.006 in", 25.4 / 64, "4 17/64 in"}, // no 64th is a given 45 mm
	} {
		setGap := math.Round(gapFor(100, c.stickOut+22+74*math.Cos(30*degree), 46, 50)/c.step) * c.step
		q := reference(front(50))
		q.Unit, q.Given = c.unit, swung(c.stickOut, 30)
		step := mustSolve(t, q).Steps[0]
		gap := step.Support.Lengths[shop.DatumWheelGap]
		if gap.Text != c.gap || step.StickOut.Text != c.stickText || step.Text != "Set the stick-out to "+c.stickText+"; the leg to 30.0°; set the wheel gap to "+c.gap {
			t.Errorf("unit %d: %q, %q, %q", c.unit, gap.Text, step.StickOut.Text, step.Text)
		}
		near(t, c.gap, float64(gap.Set), setGap, 1e-9)
		nearDeg(t, c.gap, mustPredict(t, q.Common, settingsOf(step)).Steps[0].Predicted.Edge, step.Predicted.Edge.Degrees(), 1e-9)
	}
	p := mustPredict(t, rig(station(pocket()), wheel(200), swing(), nil), shop.Settings{StickOut: length(45), Leg: angle(30.25), Datum: shop.DatumSlide, Support: 177.114})
	if s := p.Steps[0]; s.Leg.Text != "30.25°" || s.Support.Lengths[shop.DatumSlide].Text != "177.114 mm" || s.Support.Lengths[shop.DatumWheelGap].Text != "108.5 mm" {
		t.Errorf("what was said is printed as %q, %q, the rest as %q", s.Leg.Text, s.Support.Lengths[shop.DatumSlide].Text, s.Support.Lengths[shop.DatumWheelGap].Text)
	}
}

// TestExplanations puts one thing or two off and reads what explains it.
func TestExplanations(t *testing.T) {
	c := setup.Common{Shop: demo.Name, Recipe: demo.Name + "/recipes/bowl-50"}
	c.Rig.Station.Name = demo.Name + "/stations/north"
	for _, k := range []struct {
		name     string
		settings shop.Settings
		want     []string
	}{
		{"as meant", at(shop.DatumWheelGap, 108.49), nil},
		{"the leg", shop.Settings{Leg: angle(25), Datum: shop.DatumWheelGap, Support: 108.493}, []string{"leg_angle"}},
		{"the leg, and the gap as its rounded number says", shop.Settings{Leg: angle(25), Datum: shop.DatumWheelGap, Support: 108.5}, []string{"leg_angle"}},
		{"the leg, by its mark", shop.Settings{Position: "1", Datum: shop.DatumWheelGap, Support: 108.493}, []string{"leg_angle"}},
		{"the gap", at(shop.DatumWheelGap, 105), []string{"support"}},
		{"the gap, by the slide", at(shop.DatumSlide, 170), []string{"support"}},
		{"stick-out more than gap", shop.Settings{StickOut: length(40), Datum: shop.DatumWheelGap, Support: 107.5}, []string{"stick_out", "support"}},
	} {
		p := mustPredict(t, c, k.settings)
		var got []string
		off := p.Steps[0].Predicted.Edge.Degrees() - 50
		for _, e := range p.Explanations {
			got = append(got, e.Quantity)
			nearDeg(t, k.name+": effect and remainder make the difference", e.Effect+e.Remaining, off, 1e-6)
		}
		if fmt.Sprint(got) != fmt.Sprint(k.want) {
			t.Errorf("%s: explained by %v, want %v", k.name, got, k.want)
		}
		if warned := caution(p.Cautions, "OFF_TARGET") != nil; warned != (math.Abs(off) > 0.5) {
			t.Errorf("%s, off by %.2f°: warned is %v", k.name, off, warned)
		}
		if len(k.want) > 0 && p.Cautions[0].Severity < p.Cautions[len(p.Cautions)-1].Severity {
			t.Errorf("%s: the most serious caution is not first", k.name)
		}
	}
	p := mustPredict(t, c, shop.Settings{Leg: angle(25), Datum: shop.DatumWheelGap, Support: 108.493})
	if text := caution(p.Cautions, "OFF_TARGET").Text; !strings.Contains(text, "46.4°") || !strings.Contains(text, "Put right first: the leg, at 25.0° instead of 30.0°.") {
		t.Errorf("%q", text)
	}
	scraper := setup.Common{Shop: demo.Name, Recipe: demo.Name + "/recipes/scraper-75"}
	scraper.Rig.Station.Name, scraper.Rig.Tool.Name = c.Rig.Station.Name, demo.Name+"/tools/scraper-38"
	thin := scraper
	thin.Rig.Tool.Name = demo.Name + "/tools/scraper-25"
	q := setup.Question{Common: thin}
	p = mustPredict(t, scraper, settingsOf(mustSolve(t, q).Steps[0]))
	if len(p.Explanations) == 0 || p.Explanations[0].Quantity != "blade_thickness" || !strings.Contains(p.Explanations[0].Text, "10.0 mm thick instead of 6.0 mm") {
		t.Errorf("a thick scraper on a thin one's platform: %+v", p.Explanations)
	}
	tilted := at(shop.DatumTilt, 0)
	p = mustPredict(t, thin, tilted)
	if len(p.Explanations) != 1 || !strings.HasPrefix(p.Explanations[0].Text, "the platform's tilt, 0.0° instead of") {
		t.Errorf("a tilt off: %+v", p.Explanations)
	}
}

// TestCautions goes through what is warned of, and that it is said once.
func TestCautions(t *testing.T) {
	plain := func() setup.Question {
		q := reference(front(50))
		q.Rig.Tool.Inline = gouge()
		return q
	}
	for _, c := range []struct {
		code   string
		change func(*setup.Question)
	}{
		{"NOT_ON_BOWLS", func(q *setup.Question) { q.Rig.Tool.Inline.Kind = shop.RoughingGouge }},
		{"COOL_OFTEN", func(q *setup.Question) { q.Rig.Tool.Inline.Steel = shop.CarbonSteel }},
		{"DO_NOT_QUENCH", func(q *setup.Question) { q.Rig.Tool.Inline.Steel = shop.HighSpeedSteel }},
		{"DO_NOT_DRESS", func(q *setup.Question) { q.Rig.Wheel.Inline.Abrasive = shop.Superabrasive }},
		{"NO_BEVEL_READING", func(q *setup.Question) { q.Rig.Tool.Inline.SteelUnderFlute.Known = false }},
		{"HEEL_AHEAD_OF_EDGE", func(q *setup.Question) { q.Grind = grind(front(85)); q.Rig.Tool.Inline.SteelUnderFlute = length(25) }},
		{"ROUNDING_OFF", func(q *setup.Question) { q.Rounding.LengthStep = 25.4 }},
		{"SLIDE_SQUARE_TO_LINE", func(q *setup.Question) {
			// 208.49 from the axle, where an upright slide 207 in front of it is nearly at its nearest.
			q.Rig.Station.Inline.Supports[0].Slide = slide(207, 0, 90, 0, 100)
		}},
		{"TOOL_NOT_IN_RECIPE", func(q *setup.Question) {
			q.Shop, q.Recipe, q.Grind = demo.Name, demo.Name+"/recipes/bowl-50", nil
			q.Rig.Tool.Inline.Kind = shop.SpindleGouge
		}},
	} {
		if caution(mustSolve(t, plain()).Cautions, c.code) != nil {
			t.Errorf("%s without a cause", c.code)
		}
		q := plain()
		c.change(&q)
		if found := mustSolve(t, q).Cautions; caution(found, c.code) == nil {
			t.Errorf("no %s among %v", c.code, found)
		}
	}
	beyond := mustPredict(t, plain().Common, shop.Settings{StickOut: length(45), Leg: angle(30), Datum: shop.DatumWheelGap, Support: 60})
	if caution(beyond.Cautions, "BEYOND_TRAVEL") == nil {
		t.Error("a gap that the travel does not reach, and no word of it")
	}
	table := rig(station(tilting(101.2, -4, 2, -20, 30)), wheel(200), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)})
	if caution(mustPredict(t, table, at(shop.DatumTilt, -30)).Cautions, "BEYOND_TRAVEL") == nil {
		t.Error("a tilt beyond the platform's range, and no word of it")
	}
	if caution(mustPredict(t, table, at(shop.DatumTilt, -10)).Cautions, "BEYOND_TRAVEL") != nil {
		t.Error("BEYOND_TRAVEL without a cause")
	}
	bare := reference(land(50, 3), land(44, 2), front(35))
	counts := map[string]int{}
	list := mustSolve(t, bare).Cautions
	for i, c := range list {
		counts[c.Code]++
		if i > 0 && c.Severity > list[i-1].Severity {
			t.Errorf("%s comes after %s", c.Code, list[i-1].Code)
		}
	}
	for code, n := range counts {
		if n > 1 {
			t.Errorf("%s is said %d times", code, n)
		}
	}
}

// TestSpeed holds what is refused, what is warned of and what is quietly fine: π·D·n against the speeds printed on the wheel.
func TestSpeed(t *testing.T) {
	mps := func(diameter, rpm float64) float64 { return math.Pi * diameter * rpm / 60_000 }
	for _, c := range []struct {
		name    string
		wheel   shop.Wheel
		rpm     float64
		refused bool
		unsure  bool
	}{
		{"below both marks", shop.Wheel{Diameter: 200, MarkedMPS: shop.Some(35.0), MarkedRPM: shop.Some(3400.0)}, 1425, false, false},
		{"at the marked speed", shop.Wheel{Diameter: 200, MarkedMPS: shop.Some(mps(200, 2850))}, 2850, false, false},
		{"a printed speed's rounding above", shop.Wheel{Diameter: 200, MarkedMPS: shop.Some(mps(200, 2850))}, 2858, false, false},
		{"more than that", shop.Wheel{Diameter: 200, MarkedMPS: shop.Some(mps(200, 2850))}, 2860, true, false},
		{"above the marked turns", shop.Wheel{Diameter: 200, MarkedRPM: shop.Some(2850.0)}, 2851, true, false},
		{"no spindle speed", shop.Wheel{Diameter: 200, MarkedRPM: shop.Some(2850.0)}, 0, false, true},
		{"no mark", shop.Wheel{Diameter: 200}, 2850, false, true},
		{"a disc, its place known", shop.Wheel{Flat: true, Diameter: 140, MarkedMPS: shop.Some(30.0)}, 2850, false, false},
		{"a disc, too fast there", shop.Wheel{Flat: true, Diameter: 250, MarkedMPS: shop.Some(30.0)}, 2850, true, false},
		{"a disc, its place not known", shop.Wheel{Flat: true, MarkedMPS: shop.Some(30.0)}, 2850, false, true},
	} {
		st := &shop.Station{SpindleRPM: shop.Maybe[float64]{Value: c.rpm, Known: c.rpm > 0}}
		q := setup.Question{Common: rig(st, &c.wheel, pivot(131, 46), nil)}
		q.Grind = grind(front(50))
		s, err := solver.Solve(t.Context(), q)
		if c.refused {
			refused(t, err, setup.Overspeed)
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if unsure := caution(s.Cautions, "SPEED_NOT_CHECKED") != nil; unsure != c.unsure {
			t.Errorf("%s: SPEED_NOT_CHECKED is %v", c.name, unsure)
		}
		if v := s.Steps[0].Predicted.SurfaceSpeed; v.Known {
			near(t, c.name, v.Value, mps(float64(c.wheel.Diameter), c.rpm), 1e-9)
		}
	}
}

// TestLimitsAreLimits takes the limit that a refusal names and asks again a hair on its good side, where that refusal is gone, and a
// hair on its bad side, where it is not.
func TestLimitsAreLimits(t *testing.T) {
	const hair = 1e-6
	withTool := func(tool *shop.Tool, bevels ...shop.Bevel) setup.Question {
		q := reference(bevels...)
		q.Rig.Tool.Inline = tool
		return q
	}
	for _, c := range []struct {
		name   string
		reason fault.Reason
		q      setup.Question
		least  bool // which of the two limits
		put    func(*setup.Question, float64)
	}{
		{"a stick-out", setup.StickOutTooLong, withTool(&shop.Tool{FreeBlade: length(70), SmallestGrip: length(35)}, front(50)), false,
			func(q *setup.Question, v float64) { q.Given.StickOut = length(v) }},
		{"a keen edge", setup.TooKeen, reference(front(10)), true, func(q *setup.Question, v float64) { q.Grind = grind(front(v)) }},
		{"a blunt edge", setup.TooBlunt, func() setup.Question {
			q := reference(front(70))
			q.Rig.Station.Inline.EdgeAngles = shop.Some(shop.AngleRange{Least: unit.Degrees(20), Most: unit.Degrees(65)})
			return q
		}(), false, func(q *setup.Question, v float64) { q.Grind = grind(front(v)) }},
		{"a land", setup.LandTooLong, withTool(gouge(), land(50, 12)), false, func(q *setup.Question, v float64) { q.Grind = grind(land(50, v)) }},
		{"angles that fall", setup.BevelsNotFalling, reference(land(50, 3), front(54)), false,
			func(q *setup.Question, v float64) { q.Grind = grind(land(50, 3), front(v)) }},
		{"a travel that ends", setup.BeyondTravel, func() setup.Question {
			q := reference(front(50))
			q.Rig.Station.Inline.Supports[0].Slide.Value.Travel.Most = 175
			return q
		}(), false, func(q *setup.Question, v float64) {
			// The limit is the machine's; the value is what it would have to be.
			q.Rig.Station.Inline.Supports[0].Slide.Value.Travel.Most += unit.Length(177.114041977 - v)
		}},
		{"a deep holder", setup.HolderStrikesWheel, func() setup.Question {
			q := setup.Question{Common: rig(nil, wheel(200), clamp(60, 30), nil), Given: stuckOut(10)}
			q.Rig.Holder.Inline.FaceDepth, q.Rounding.LengthStep = length(12), 0.001
			q.Grind = grind(front(30))
			return q
		}(), false, func(q *setup.Question, v float64) { q.Rig.Holder.Inline.FaceDepth = length(v) }},
		{"a small wheel", setup.WheelTooSmall, func() setup.Question {
			q := reference(front(50))
			q.Rig.Station.Inline.SmallestWheel = length(210)
			return q
		}(), true, func(q *setup.Question, v float64) { q.Rig.Wheel.Inline = wheel(v) }},
		{"a worn wheel", setup.WheelTooSmall, func() setup.Question {
			q := reference(front(50))
			q.Rig.Wheel.Inline.Smallest = length(210)
			return q
		}(), true, func(q *setup.Question, v float64) {
			q.Rig.Wheel.Inline = &shop.Wheel{Diameter: unit.Length(v), Smallest: length(210)}
		}},
		{"a wheel marked in turns", setup.Overspeed, func() setup.Question {
			q := reference(front(50))
			q.Rig.Station.Inline.SpindleRPM, q.Rig.Wheel.Inline.MarkedRPM = shop.Some(3450.0), shop.Some(3400.0)
			return q
		}(), false, func(q *setup.Question, v float64) { q.Rig.Station.Inline.SpindleRPM = shop.Some(v) }},
		{"a pivot too far above", setup.IllConditioned, func() setup.Question {
			q := setup.Question{Common: rig(nil, wheel(200), pivot(60, -20), nil), Rounding: setup.Rounding{LengthStep: 1e-12}}
			q.Grind = grind(front(80))
			return q
		}(), false, func(q *setup.Question, v float64) { q.Grind = grind(front(v)) }},
		{"a pivot too far below", setup.IllConditioned, func() setup.Question {
			q := setup.Question{Common: rig(nil, wheel(200), pivot(-40, 90), nil), Rounding: setup.Rounding{LengthStep: 1e-12}}
			q.Grind = grind(front(20))
			return q
		}(), true, func(q *setup.Question, v float64) { q.Grind = grind(front(v)) }},
	} {
		_, refusal := refusedSolve(t, c.q, c.reason)
		limit, good := refusal.Most, -hair
		if c.least {
			limit, good = refusal.Least, hair
		}
		if !limit.Known {
			t.Errorf("%s: no limit in %+v", c.name, refusal)
			continue
		}
		c.put(&c.q, limit.Value-good)
		_, err := solver.Solve(t.Context(), c.q)
		refused(t, err, c.reason)
		c.put(&c.q, limit.Value+good)
		if c.reason == setup.BeyondTravel {
			c.q.Rig.Station.Inline.Supports[0].Slide.Value.Travel.Most = unit.Length(refusal.Value.Value + hair)
		}
		if _, err := solver.Solve(t.Context(), c.q); err != nil {
			if f, _ := fault.As(err); f.Reason == c.reason {
				t.Errorf("%s: refused at its own limit of %v: %v", c.name, limit.Value, err)
			}
		}
	}
}

// TestReachLimits holds the range of gaps that a prediction names when the edge does not reach the wheel: inside it every gap grinds an
// edge that the shop grinds, also with a pivot above the reference line, from which no edge up to 90° can be set.
func TestReachLimits(t *testing.T) {
	for _, p := range []*shop.Holder{pivot(131, 46), pivot(100, -20), pivot(40, 120)} {
		for _, w := range []*shop.Wheel{wheel(200), wheel(60), flat()} {
			c := rig(nil, w, p, nil)
			_, err := solver.Predict(t.Context(), setup.Forecast{Common: c, Settings: at(shop.DatumWheelGap, 400)})
			f := refused(t, err, setup.CannotReach)
			refusal := f.Detail.(*setup.Refusal)
			for share := 0.001; share < 1; share += 0.111 {
				gap := refusal.Least.Value + share*(refusal.Most.Value-refusal.Least.Value)
				if gap <= 0 {
					continue
				}
				edge := mustPredict(t, c, at(shop.DatumWheelGap, gap)).Steps[0].Predicted.Edge.Degrees()
				if edge < 15-1e-6 || edge > 90 {
					t.Errorf("a gap of %v within %v to %v grinds %v", gap, refusal.Least.Value, refusal.Most.Value, edge)
				}
			}
		}
	}
	c := rig(nil, wheel(60), pivot(131, 46), nil) // a reach of 138.9 over a wheel of 60: nearer than 78.9 the nose is past it
	_, err := solver.Predict(t.Context(), setup.Forecast{Common: c, Settings: at(shop.DatumWheelGap, 70)})
	if f := refused(t, err, setup.CannotReach); !strings.Contains(f.Message, "reach begins at 78.8") {
		t.Errorf("%v", f)
	}
}

// TestGuard holds the refusal of an edge that would meet the rim behind the guard.
func TestGuard(t *testing.T) {
	q := reference(front(50))
	contact := mustSolve(t, q).Steps[0].Predicted.ContactAngle.Value
	for _, c := range []struct {
		least, most float64
		refused     bool
	}{{-25, 75, false}, {contact.Degrees() + 0.1, 75, true}, {-25, contact.Degrees() - 0.1, true}, {contact.Degrees() - 0.1, contact.Degrees() + 0.1, false}} {
		q.Rig.Station.Inline.Guard = shop.Some(shop.AngleRange{Least: unit.Degrees(c.least), Most: unit.Degrees(c.most)})
		_, err := solver.Solve(t.Context(), q)
		if c.refused {
			refused(t, err, setup.ContactBehindGuard)
		} else if err != nil {
			t.Error(err)
		}
	}
	q.Rig.Wheel.Inline = flat()
	q.Rig.Station.Inline.Supports[0].Slide = slide(0, -110, 0, 0, 260)
	mustSolve(t, q) // a flat abrasive has no rim
}

// TestHolderAndWheel holds the room below a holder's face, R cos β − √(R² − (s + R sin β)²): on a skew the face is nearer to the edge by
// sin σ, and on a relief it is seen from the land's end.
func TestHolderAndWheel(t *testing.T) {
	room := func(edge, behind float64) float64 {
		sin, cos := math.Sincos(edge * degree)
		return 100*cos - math.Sqrt(10000-(behind+100*sin)*(behind+100*sin))
	}
	ask := func(tool *shop.Tool, depth float64, bevels ...shop.Bevel) error {
		q := setup.Question{Common: rig(nil, wheel(200), clampWith(yawed), tool), Given: stuckOut(20), Rounding: setup.Rounding{LengthStep: 0.001}}
		q.Rig.Holder.Inline.FaceDepth, q.Grind = length(depth), grind(bevels...)
		q.Rig.Holder.Inline.Behind = 80
		_, err := solver.Solve(t.Context(), q)
		return err
	}
	sin60 := math.Sin(60 * degree)
	end := func(x float64) float64 { return 3 * x }
	turn := 30*degree + math.Asin(0.015)
	for _, c := range []struct {
		name   string
		tool   *shop.Tool
		room   float64
		bevels []shop.Bevel
	}{
		{"square", nil, room(20, 20), []shop.Bevel{front(20)}},
		{"oblique", skew(8, 60), room(20, 20*sin60), []shop.Bevel{front(20)}},
		{"a relief", nil, room(20, 20-end(math.Cos(turn))) + end(math.Sin(turn)), []shop.Bevel{land(30, 3), front(20)}},
	} {
		if err := ask(c.tool, c.room-0.01, c.bevels...); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		refused(t, ask(c.tool, c.room+0.01, c.bevels...), setup.HolderStrikesWheel)
	}
}

// TestSupportInTheWheel holds that neither a gauged surface nor the ball behind it may be inside.
func TestSupportInTheWheel(t *testing.T) {
	for _, c := range []struct {
		near unit.Length
		gap  float64 // of the gauged surface
		in   bool
	}{{6, 0.1, false}, {6, -0.1, true}, {-7, 7.1, false}, {-7, 6.9, true}, {0, 0, true}} {
		s := shop.Support{ID: "p", Kind: shop.Pocket, Near: c.near}
		_, err := solver.Predict(t.Context(), setup.Forecast{Common: rig(station(s), wheel(200), pivot(20, 50), nil), Settings: at(shop.DatumWheelGap, c.gap)})
		if in := errors.As(err, new(*fault.Fault)); in != c.in {
			t.Errorf("gauged surface %v nearer, gap %v: %v", c.near, c.gap, err)
		} else if in {
			refused(t, err, setup.SupportInWheel)
		}
	}
}

// TestWheelsAndSteels holds that a shop's rule about steels on a wheel is kept where the steel is known.
func TestWheelsAndSteels(t *testing.T) {
	q := reference(front(50))
	q.Rig.Wheel.Inline.AllowedSteels = []shop.Steel{shop.HighSpeedSteel}
	for steel, reason := range map[shop.Steel]fault.Reason{shop.AnySteel: "", shop.HighSpeedSteel: "", shop.CarbonSteel: setup.NotForSteel} {
		q.Rig.Tool.Inline = &shop.Tool{Steel: steel}
		if _, err := solver.Solve(t.Context(), q); reason != "" {
			refused(t, err, reason)
		} else if err != nil {
			t.Error(err)
		}
	}
}

// TestRoughingGouge holds the corners of a gouge rolled about its pivot: all alike on the flute's own axis, keener than the nose with
// the pivot level with the flute floor.
func TestRoughingGouge(t *testing.T) {
	tool := &shop.Tool{Kind: shop.RoughingGouge, SteelUnderFlute: length(5), FluteRadius: length(11), FluteHalfAngle: angle(90)}
	ask := func(below unit.Length) setup.Setup {
		q := setup.Question{Common: rig(nil, wheel(200), &shop.Holder{Kind: shop.Butted, Below: below}, tool), Given: stuckOut(430)}
		q.Grind = grind(front(45))
		return mustSolve(t, q)
	}
	level := ask(-11)
	near(t, "on the axis", level.Steps[0].Predicted.Corner.Value, level.Steps[0].Predicted.Edge, 1e-9)
	if caution(level.Cautions, "CORNERS_DIFFER") != nil {
		t.Error("CORNERS_DIFFER without a cause")
	}
	floor := ask(0)
	if lost := floor.Steps[0].Predicted.Edge - floor.Steps[0].Predicted.Corner.Value; lost < unit.Degree {
		t.Errorf("the corners lose only %v", lost)
	}
	if caution(floor.Cautions, "CORNERS_DIFFER") == nil {
		t.Error("the corners are another edge and no word of it")
	}
}

// TestDrawing holds that the drawing is there when asked for, for every kind of rig, and never drawn without.
func TestDrawing(t *testing.T) {
	r := chance.New(t)
	draw := func() setup.Question {
		q := anyQuestion(r)
		switch r.IntN(4) {
		case 0:
			q = anyTable(r)
		case 1: // nobody described the machine
			if q.Rig.Holder.Inline.Kind != shop.NoHolder {
				q.Rig.Station.Inline = &shop.Station{}
			}
		}
		q.Figure = true
		return q
	}
	kinds := map[shop.SupportKind]int{}
	answered(t, 200, 0.1, func() setup.Question {
		for {
			if q := draw(); len(q.Rig.Station.Inline.Supports) > 0 {
				return q
			}
		}
	}, func(t *testing.T, q setup.Question, s setup.Setup) {
		kinds[s.Basis.SupportKind]++
		if s.Figure == nil || len(s.Figure.Items) < 5 || s.Figure.Description == "" {
			t.Fatal("no drawing")
		}
		for _, v := range []unit.Length{s.Figure.Least.Out, s.Figure.Least.Up, s.Figure.Most.Out, s.Figure.Most.Up} {
			if math.IsNaN(float64(v)) || math.Abs(float64(v)) > 1e4 {
				t.Fatalf("the drawing reaches to %v", v)
			}
		}
		q.Figure = false
		if mustSolve(t, q).Figure != nil {
			t.Error("drawn unasked")
		}
	})
	if len(kinds) != 3 {
		t.Errorf("only %v were drawn", kinds)
	}
}

// TestDrawingOfWhatNobodyDescribed draws rigs whose support stands nobody knows where, in questions and in predictions.
func TestDrawingOfWhatNobodyDescribed(t *testing.T) {
	for _, c := range []struct {
		name   string
		wheel  *shop.Wheel
		holder *shop.Holder
		tool   *shop.Tool
		given  shop.Settings
	}{
		{"a swing holder", wheel(200), swing(), gouge(), swung(45, 30)},
		{"a swing holder at a flat abrasive", flat(), swing(), nil, swung(45, 30)},
		{"a clamp", wheel(150), clamp(14, 16), skew(8, 70), stuckOut(80)},
		{"a butted handle", wheel(200), &shop.Holder{Kind: shop.Butted}, gouge(), stuckOut(430)},
		{"a platform", wheel(200), &shop.Holder{}, negativeRake(), shop.Settings{}},
		{"a platform at a flat abrasive", flat(), &shop.Holder{}, parting(8), shop.Settings{}},
	} {
		q := setup.Question{Common: rig(nil, c.wheel, c.holder, c.tool), Given: c.given}
		q.Figure, q.Grind = true, grind(front(35))
		if c.tool != nil && c.tool.Kind == shop.NegativeRakeScraper {
			q.Grind.Upper = shop.Some(front(20))
		}
		s := mustSolve(t, q)
		p := mustPredict(t, func() setup.Common { c := q.Common; c.Grind = nil; return c }(), settingsOf(s.Steps[len(s.Steps)-1]))
		for what, f := range map[string]*drawing.Figure{"solved": s.Figure, "predicted": p.Figure} {
			if f == nil || len(f.Items) < 4 || math.IsNaN(float64(f.Least.Out+f.Least.Up+f.Most.Out+f.Most.Up)) {
				t.Errorf("%s, %s: %+v", c.name, what, f)
			}
		}
	}
}
