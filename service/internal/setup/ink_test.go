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

// bench is a bevel that one wheel ground, brought to another. It knows nothing of the engine: the bevel is an arc of places, and the one
// that the wheel meets first as the tool comes to it loses its ink.
type bench struct {
	radius       float64 // of the wheel on the machine
	front, chord float64 // of the bevel: radians, mm
	bent         float64 // 1/mm: curvature of the wheel that ground it
	thick        float64 // radians: an offset that the ink hides
}

// place is how far behind and below the edge the bevel is at a length along it.
func (b bench) place(l float64) (behind, below float64) {
	turn := b.bent * l
	chord := l
	if turn != 0 {
		chord = 2 * math.Sin(turn/2) / b.bent
	}
	return chord * math.Cos(b.front+turn/2), chord * math.Sin(b.front+turn/2)
}

func (b bench) length() float64 {
	if b.bent == 0 {
		return b.chord
	}
	return 2 / b.bent * math.Asin(b.bent*b.chord/2)
}

// first is how far behind the edge the place lies that comes first in an order.
func (b bench) first(order func(behind, below float64) float64) float64 {
	const places = 3000
	best, at := math.Inf(1), 0.0
	for i := range places + 1 {
		behind, below := b.place(b.length() * float64(i) / places)
		if v := order(behind, below); v < best {
			best, at = v, math.Hypot(behind, below)
		}
	}
	return at
}

// swung lowers the tool about its pivot: in the tool the axle comes up round the pivot, and meets the place furthest down that way first.
func (b bench) swung(p geometry.Pivot, gap float64) float64 {
	a, h, d := float64(p.Behind), float64(p.Below), b.radius+gap
	return b.first(func(behind, below float64) float64 {
		r := math.Hypot(a-behind, below-h)
		opening := math.Acos((d*d + r*r - b.radius*b.radius) / (2 * d * r))
		return -(math.Atan2(below-h, a-behind) + opening)
	})
}

// pushed slides the tool along a table: the axle, as far below the reference line as that runs above it, comes from the front.
func (b bench) pushed(line float64) float64 {
	return b.first(func(behind, below float64) float64 {
		return behind - math.Sqrt(b.radius*b.radius-(line-below)*(line-below))
	})
}

// trial is what somebody sees: the place of the mark where it lies between the ends, and otherwise which end it is.
func (b bench) trial(at shop.Settings, mark, offMiddle float64, sized bool) setup.InkTrial {
	t := setup.InkTrial{Settings: at}
	switch share := mark / b.chord; {
	case math.Abs(offMiddle) < b.thick:
		t.Mark = geometry.MarkMiddle
	case share < 0.05:
		t.Mark = geometry.MarkEdge
	case share > 0.95:
		t.Mark = geometry.MarkHeel
	case sized:
		t.BehindEdge = length(mark)
	case offMiddle > 0: // on a larger wheel both ends touch; what is left of a mark between them is chance in the last digit
		t.Mark = geometry.MarkEdge
	default:
		t.Mark = geometry.MarkHeel
	}
	return t
}

func mustMatch(t testing.TB, m setup.Match) setup.Matched {
	t.Helper()
	found, err := solver.Match(context.Background(), m)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

func refusedMatch(t testing.TB, m setup.Match, reason fault.Reason) (*fault.Fault, *setup.Refusal) {
	t.Helper()
	_, err := solver.Match(context.Background(), m)
	f := refused(t, err, reason)
	detail, _ := f.Detail.(*setup.Refusal)
	return f, detail
}

// agreeing is the gap at which a wheel has the bevel's own tangent in its middle.
func (b bench) agreeing(w geometry.Wheel, p geometry.Pivot) unit.Length {
	behind, below := b.place(b.length() / 2)
	return w.Gap(p.SeenFrom(unit.Length(behind), unit.Length(below)), unit.Angle(b.front+b.bent*b.length()/2))
}

// anyBench is a bevel from a wheel, and a swing holder's settings with their pivot.
func anyBench(uniform func(low, high float64) float64, radius, bent float64) (bench, shop.Settings, geometry.Pivot) {
	b := bench{radius: radius, front: unit.Degrees(uniform(35, 65)).Radians(), chord: uniform(6, 13), bent: bent}
	s := swung(uniform(30, 60), uniform(15, 45))
	return b, s, swing().Arm.Pivot(s.StickOut.Value, s.Leg.Value)
}

// On the same wheel or a larger one a mark is only a sign. Whatever the rig, the start and the ink, the search ends at a setting that
// agrees, in no more trials than it takes to change ends and to halve.
func TestInkSearchEnds(t *testing.T) {
	r := chance.New(t)
	draw := func(low, high float64) float64 { return uniform(r, low, high) }
	var most int
	for i := range 120 {
		ground := draw(120, 220)
		machine := ground * []float64{1, draw(1.01, 1.4)}[i%2]
		b, settings, p := anyBench(draw, machine/2, 2/ground)
		thick := i%3 == 0
		if thick {
			b.thick = unit.Degrees(0.2).Radians()
		}
		w := geometry.RoundWheel(unit.Length(machine))
		agrees := float64(b.agreeing(w, p))
		perMM := w.Sensitivity(p, unit.Angle(b.front), unit.Length(agrees)).Gap
		off := draw(-6, 6)
		gap := agrees + off

		m := setup.Match{Common: rig(nil, wheel(machine), swing(), nil), Ink: &setup.Ink{Ground: shop.Some(geometry.RoundWheel(unit.Length(ground))), Chord: length(b.chord)}}
		var found setup.Matched
		for !found.Agrees.Value {
			if len(m.Ink.Trials) > 20 {
				t.Fatalf("%+v: %d trials from %g mm off: %+v", b, len(m.Ink.Trials), off, m.Ink.Trials)
			}
			settings.Datum, settings.Support = shop.DatumWheelGap, unit.Length(gap)
			m.Ink.Trials = append(m.Ink.Trials, b.trial(settings, b.swung(p, gap), (gap-agrees)*perMM, false))
			found = mustMatch(t, m)
			if found.Next == nil || found.Text == "" {
				t.Fatalf("no move in %+v", found)
			}
			gap = float64(settingsOf(*found.Next).Support)
		}
		// Moves of 2° until the mark changes ends, and 2° halved to 0.3°, either with one more for what rounding takes; with thick ink the
		// other end has to be found and halved as well.
		moves := int(math.Ceil(math.Abs(off*unit.Angle(perMM).Degrees())/2)) + 2
		allowed := moves + 4
		if thick {
			allowed += 1 + 4
		}
		if n := len(m.Ink.Trials); n > allowed {
			t.Errorf("%d trials from %g mm off, want at most %d", n, off, allowed)
		}
		most = max(most, len(m.Ink.Trials))
		// The bracket of 0.3° and its rounding to 0.1 mm; a larger wheel rides on both ends, off the middle by the sagittas' difference.
		slack := 0.15 + 0.06*unit.Angle(perMM).Degrees() + unit.Angle(3*b.chord*b.chord/8*(b.bent-2/machine)*perMM).Degrees()
		if thick {
			slack += 0.2
		}
		near(t, "left, °", unit.Angle((gap-agrees)*perMM).Degrees(), 0, slack)
		if !found.Edge.Known || !found.Expanded.Known {
			t.Fatalf("agreed without an edge: %+v", found)
		}
		nearDeg(t, "the bevel's edge", found.Edge.Value, unit.Angle(b.front).Degrees(), slack+0.05)
	}
	t.Logf("at most %d trials", most)
}

// On a flat bevel, or one from a larger wheel, a mark between the ends is a size, and one move lands within 0.3°.
func TestInkLandsInOneMove(t *testing.T) {
	r := chance.New(t)
	draw := func(low, high float64) float64 { return uniform(r, low, high) }
	var flats, hollows int
	for flats < 100 || hollows < 100 {
		machine := draw(120, 220)
		bent := []float64{0, 2 / (machine * draw(1.2, 2))}[r.IntN(2)]
		b, settings, p := anyBench(draw, machine/2, bent)
		w := geometry.RoundWheel(unit.Length(machine))
		agrees := float64(b.agreeing(w, p))
		gap := agrees + draw(-2.5, 2.5)
		settings.Datum, settings.Support = shop.DatumWheelGap, unit.Length(gap)
		mark := b.swung(p, gap)
		if mark < 0.06*b.chord || mark > 0.94*b.chord {
			continue // at an end
		}
		ground := geometry.FlatAbrasive()
		if bent > 0 {
			ground = geometry.RoundWheel(unit.Length(2 / bent))
			hollows++
		} else {
			flats++
		}
		m := setup.Match{Common: rig(nil, wheel(machine), swing(), nil), Ink: &setup.Ink{
			Ground: shop.Some(ground), Chord: length(b.chord), Trials: []setup.InkTrial{b.trial(settings, mark, math.Inf(1), true)},
		}}
		found := mustMatch(t, m)
		perMM := unit.Angle(w.Sensitivity(p, unit.Angle(b.front), unit.Length(agrees)).Gap).Degrees()
		left := (float64(settingsOf(*found.Next).Support) - agrees) * perMM
		near(t, "left after one move, °", left, 0, 0.3)
		near(t, "left but for rounding, °", (float64(found.Next.Support.Lengths[shop.DatumWheelGap].Exact)-agrees)*perMM, 0, 0.06)
		nearDeg(t, "the bevel's edge", found.Edge.Value, unit.Angle(b.front).Degrees(), 0.06)
		if found.Agrees.Value != (math.Abs(found.Blunter.Value.Degrees()) <= 0.3) {
			t.Errorf("%v blunter agrees: %v", found.Blunter.Value, found.Agrees.Value)
		}

		// The engine reads the mark by the line of centres, with the bevel believed to be where the setting would grind it.
		believed, err := ground.HollowOfChord(found.Trials[0], unit.Length(b.chord))
		if err != nil {
			t.Fatal(err)
		}
		engine, sized, err := w.ReadInk(p, unit.Length(gap), believed, unit.Length(mark-b.chord/2))
		if err != nil || !sized {
			t.Fatalf("%v, %v", sized, err)
		}
		nearDeg(t, "edge against the engine", found.Edge.Value, engine.Edge.Degrees(), 0.05)
		nearDeg(t, "blunter against the engine", found.Blunter.Value, engine.Blunter.Degrees(), 0.05)
	}
}

// The same of a scraper and a skew on a table, where nothing swings.
func TestInkOnATable(t *testing.T) {
	r := chance.New(t)
	draw := func(low, high float64) float64 { return uniform(r, low, high) }
	for sized := 0; sized < 100; {
		machine, edge, thickness := draw(150, 220), draw(40, 75), draw(5, 9)
		tool := &shop.Tool{Kind: shop.Scraper, Thickness: length(thickness)}
		height := thickness
		if r.IntN(2) == 0 {
			edge, height = draw(17, 25), thickness/2
			tool.Kind = shop.Skew
		}
		b := bench{radius: machine / 2, front: unit.Degrees(edge).Radians(), chord: height / math.Sin(unit.Degrees(edge).Radians())}
		w := geometry.RoundWheel(unit.Length(machine))
		_, below := b.place(b.chord / 2)
		agrees := float64(w.LineFor(unit.Degrees(edge))) + below
		line := agrees + draw(-2, 2)
		if line >= b.radius {
			continue
		}
		mark := b.pushed(line)
		if mark < 0.06*b.chord || mark > 0.94*b.chord {
			continue
		}
		sized++
		at := shop.Settings{Datum: shop.DatumPlatformToAxle, Support: unit.Length(line - height)}
		found := mustMatch(t, setup.Match{Common: rig(nil, wheel(machine), &shop.Holder{Kind: shop.NoHolder}, tool), Ink: &setup.Ink{
			Ground: shop.Some(geometry.FlatAbrasive()), Chord: length(b.chord), Trials: []setup.InkTrial{b.trial(at, mark, math.Inf(1), true)},
		}})
		near(t, "table that agrees, mm", float64(found.Next.Support.Lengths[shop.DatumPlatformToAxle].Exact), agrees-height, 0.05)
		nearDeg(t, "the bevel's edge", found.Edge.Value, edge, 0.1)
		if tool.Kind.TwoBevels() == (caution(found.Cautions, "ONE_FACE") == nil) {
			t.Errorf("%v: %+v", tool.Kind, found.Cautions)
		}
	}
}

// inkOn is an ink test on the reference shop's pocket, with the trials' wheel gaps and marks.
func inkOn(ground shop.Maybe[geometry.Wheel], chord shop.Maybe[unit.Length], trials ...setup.InkTrial) setup.Match {
	for i := range trials {
		trials[i].Settings = trials[i].Settings.Over(swung(45, 30))
	}
	return setup.Match{Common: rig(station(pocket()), wheel(200), swing(), nil), Ink: &setup.Ink{Trials: trials, Ground: ground, Chord: chord}}
}

func marked(gap float64, mark geometry.Mark) setup.InkTrial {
	return setup.InkTrial{Settings: at(shop.DatumWheelGap, gap), Mark: mark}
}

func behindEdge(gap, behind float64) setup.InkTrial {
	return setup.InkTrial{Settings: at(shop.DatumWheelGap, gap), BehindEdge: length(behind)}
}

var (
	unsaid     = shop.Maybe[geometry.Wheel]{}
	flatBevel  = shop.Some(geometry.FlatAbrasive())
	sameWheel  = shop.Some(geometry.RoundWheel(200))
	noChord    = shop.Maybe[unit.Length]{}
	thickInk   = "is the ink's thickness, not agreement"
	chordOfTen = length(10)
)

// A mark in the middle is agreement on a flat bevel and nothing of the sort on a bevel that this wheel may have ground.
func TestMiddleMark(t *testing.T) {
	onFlat := mustMatch(t, inkOn(flatBevel, noChord, marked(108.5, geometry.MarkMiddle)))
	if !onFlat.Agrees.Value || onFlat.Edge.Known || strings.Contains(onFlat.Text, thickInk) {
		t.Errorf("on a flat bevel: %+v", onFlat)
	}
	onHollow := mustMatch(t, inkOn(sameWheel, chordOfTen, marked(108.5, geometry.MarkMiddle)))
	if onHollow.Agrees.Value || onHollow.Edge.Known || onHollow.Blunter.Known || !strings.Contains(onHollow.Text, thickInk) {
		t.Errorf("on a hollow bevel: %+v", onHollow)
	}
	unknown := mustMatch(t, inkOn(unsaid, noChord, marked(108.5, geometry.MarkMiddle)))
	if unknown.Agrees.Value || !strings.Contains(unknown.Text, thickInk) {
		t.Errorf("on a bevel nobody knows: %+v", unknown)
	}
	// Heel and edge a degree apart with a middle between them leave two gaps to halve; the answer lies midway.
	both := mustMatch(t, inkOn(sameWheel, chordOfTen, marked(108, geometry.MarkHeel), marked(109.2, geometry.MarkEdge), marked(108.5, geometry.MarkMiddle)))
	if both.Agrees.Value || !both.Edge.Known {
		t.Fatalf("%+v", both)
	}
	nearDeg(t, "midway", both.Edge.Value, (both.Trials[0]+both.Trials[1]).Degrees()/2, 1e-9)
	if gap := float64(settingsOf(*both.Next).Support); !(gap > 108.5 && gap < 109.2) {
		t.Errorf("the wider gap is from 108.5 to 109.2, and the next try at %g", gap)
	}
}

// A sign moves by a step the right way; on a flat bevel of 10 mm a mark at the edge is half the arc at least, 2.9°.
func TestSignMoves(t *testing.T) {
	for mark, want := range map[geometry.Mark]float64{geometry.MarkEdge: -2, geometry.MarkHeel: 2} {
		found := mustMatch(t, inkOn(sameWheel, chordOfTen, marked(108.5, mark)))
		nearDeg(t, "step", found.Next.Wanted-found.Trials[0], want, 1e-9)
		if found.Edge.Known || found.Agrees.Value || found.Next.Support.Move == nil || len(found.Recipes) > 0 {
			t.Errorf("%+v", found)
		}
		flat := mustMatch(t, inkOn(flatBevel, chordOfTen, marked(108.5, mark)))
		nearDeg(t, "step on a flat bevel", flat.Next.Wanted-flat.Trials[0], want/2*unit.Angle(0.05).Degrees(), 1e-9)
	}
	// Marks in millimetres on a hollow bevel tell the side by their third.
	a, b := mustMatch(t, inkOn(sameWheel, chordOfTen, behindEdge(108.5, 1))), mustMatch(t, inkOn(sameWheel, chordOfTen, marked(108.5, geometry.MarkEdge)))
	if a.Text != b.Text {
		t.Errorf("%q is not %q", a.Text, b.Text)
	}
}

// Where no step of the support lies between the trials, they have told all they can.
func TestBracketEndsAtTheSmallestStep(t *testing.T) {
	m := inkOn(sameWheel, chordOfTen, marked(108.5, geometry.MarkHeel), marked(108.6, geometry.MarkEdge))
	if found := mustMatch(t, m); !found.Agrees.Value {
		t.Errorf("%+v", found)
	}
	// A short reach makes half a degree of a step: the bracket stays wider than ink, and the search ends all the same.
	short := setup.Match{Common: rig(nil, wheel(200), pivot(12, 2), nil), Ink: &setup.Ink{Ground: sameWheel, Trials: []setup.InkTrial{
		marked(9.5, geometry.MarkHeel), marked(9.6, geometry.MarkEdge),
	}}}
	if found := mustMatch(t, short); !found.Agrees.Value || found.Trials[1]-found.Trials[0] < 0.3*unit.Degree {
		t.Errorf("%+v", found)
	}
}

// The bevel's own edge is not the setting's where another wheel ground it: they share the reading.
func TestBevelOfAnotherWheel(t *testing.T) {
	smaller := shop.Some(geometry.RoundWheel(150))
	trials := []setup.InkTrial{marked(108.4, geometry.MarkHeel), marked(108.6, geometry.MarkEdge)}
	found := mustMatch(t, inkOn(smaller, chordOfTen, trials...))
	setting := (found.Trials[0] + found.Trials[1]).Degrees() / 2
	half := func(d float64) float64 { return unit.Angle(math.Asin(10 / d)).Degrees() }
	nearDeg(t, "reading", found.Reading.Value, setting+half(200), 1e-9)
	nearDeg(t, "edge", found.Edge.Value, setting+half(200)-half(150), 1e-9)
	if without := mustMatch(t, inkOn(smaller, noChord, trials...)); without.Edge.Known || !without.Agrees.Value {
		t.Errorf("without its chord: %+v", without)
	}
	if unknown := mustMatch(t, inkOn(unsaid, noChord, trials...)); !unknown.Edge.Known || caution(unknown.Cautions, "GROUND_BY_UNKNOWN") == nil {
		t.Errorf("from a wheel nobody knows: %+v", unknown)
	}
}

// Where the machine cannot follow a mark that is a size, the mark still tells which way: a flat bevel so blunt that its heel would lie
// beyond the upright.
func TestMarkThatCannotBeFollowed(t *testing.T) {
	tool := &shop.Tool{Kind: shop.Scraper, Thickness: length(6)}
	m := setup.Match{Common: rig(nil, wheel(200), &shop.Holder{Kind: shop.NoHolder}, tool), Ink: &setup.Ink{Ground: flatBevel, Chord: length(6)}}
	m.Ink.Trials = []setup.InkTrial{{Settings: at(shop.DatumPlatformToAxle, -0.6), BehindEdge: length(5.5)}}
	found := mustMatch(t, m)
	if found.Blunter.Known || found.Edge.Known || found.Agrees.Value || !strings.Contains(found.Text, "keener than the bevel") {
		t.Errorf("%+v", found)
	}
}

// A mark in between that lies beyond an end's says less than that end, and is passed over.
func TestMarkBeyondAnEnd(t *testing.T) {
	plain := inkOn(sameWheel, chordOfTen, marked(108, geometry.MarkHeel), marked(109.2, geometry.MarkEdge))
	noisy := inkOn(sameWheel, chordOfTen, marked(107.9, geometry.MarkMiddle), marked(108, geometry.MarkHeel), marked(109.2, geometry.MarkEdge))
	a, b := mustMatch(t, plain), mustMatch(t, noisy)
	nearDeg(t, "next", b.Next.Wanted, a.Next.Wanted.Degrees(), 0)
}

// Of a negative-rake tool the lower bevel is the one that was inked.
func TestInkOnTheLowerBevel(t *testing.T) {
	tool := &shop.Tool{Kind: shop.NegativeRakeScraper, Thickness: length(8), EdgeBelowTop: length(2)}
	m := setup.Match{Common: rig(nil, wheel(200), &shop.Holder{Kind: shop.NoHolder}, tool), Ink: &setup.Ink{Ground: sameWheel}}
	m.Ink.Trials = []setup.InkTrial{{Settings: at(shop.DatumPlatformToAxle, 70), Mark: geometry.MarkHeel}}
	found := mustMatch(t, m)
	nearDeg(t, "6 mm above the table", found.Trials[0], unit.Angle(math.Acos(0.76)).Degrees(), 1e-9)
	nearDeg(t, "step", found.Next.Wanted-found.Trials[0], 2, 1e-9)
}

func TestInkRefused(t *testing.T) {
	for name, c := range map[string]struct {
		match              setup.Match
		reason             fault.Reason
		field              string
		value, least, most float64
	}{
		"a mark beyond the heel": {inkOn(flatBevel, chordOfTen, marked(108, geometry.MarkEdge), behindEdge(108.5, 10.5)), setup.MarkOutsideBevel,
			"ink.trials[1].behind_edge_mm", 10.5, 0, 10},
		"a keener edge mark than the heel's": {inkOn(sameWheel, chordOfTen, marked(108.4931, geometry.MarkHeel), marked(107.4931, geometry.MarkEdge)), setup.TrialsContradict,
			"ink.trials", 49.008, 50.000, 0},
		"both at one setting": {inkOn(flatBevel, chordOfTen, marked(108.4931, geometry.MarkHeel), marked(108.4931, geometry.MarkEdge)), setup.TrialsContradict,
			"ink.trials", 50.000, 50.000, 0},
		"a chord beyond its wheel": {inkOn(shop.Some(geometry.RoundWheel(30)), length(30), marked(108.5, geometry.MarkEdge)), setup.NoSuchBevel, "ink.chord_mm", 30, 0, 30},
		"a trial out of reach":     {inkOn(flatBevel, chordOfTen, marked(145, geometry.MarkEdge)), setup.CannotReach, "ink.trials[0].settings.wheel_gap_mm", 145, 64.92, 135.62},
	} {
		t.Run(name, func(t *testing.T) {
			_, detail := refusedMatch(t, c.match, c.reason)
			if detail.Field != c.field {
				t.Errorf("field %s, want %s", detail.Field, c.field)
			}
			near(t, "value", detail.Value.Value, c.value, 0.005)
			near(t, "least", detail.Least.Value, c.least, 0.005)
			near(t, "most", detail.Most.Value, c.most, 0.005)
		})
	}
	for field, m := range map[string]setup.Match{
		"ink.chord_mm":                        inkOn(flatBevel, noChord, behindEdge(108.5, 3)),
		"ink.trials[0].settings.support":      inkOn(flatBevel, chordOfTen, setup.InkTrial{}),
		"ink.trials[0].settings.stick_out_mm": {Common: rig(nil, wheel(200), swing(), nil), Ink: &setup.Ink{Trials: []setup.InkTrial{{Settings: shop.Settings{Leg: angle(30), Datum: shop.DatumWheelGap, Support: 108}}}}},
	} {
		if f, _ := refusedMatch(t, m, fault.InvalidField); f.Violations[0].Field != field {
			t.Errorf("%+v, want %s", f.Violations, field)
		}
	}
	// The setting to try next may lie beyond the machine: 2° from the slide's end.
	end := setup.Match{Common: rig(station(pocket()), wheel(200), swing(), nil), Ink: &setup.Ink{Trials: []setup.InkTrial{
		{Settings: swung(125, 30), Mark: geometry.MarkHeel},
	}}}
	end.Ink.Trials[0].Settings.Datum, end.Ink.Trials[0].Settings.Support = shop.DatumSlide, 259.5
	if _, detail := refusedMatch(t, end, setup.BeyondTravel); detail.Field != "ink.trials" {
		t.Errorf("%+v", detail)
	}
}
