package setup_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// measured asks for a bevel from a wheel, or a flat one where the diameter is 0.
func measured(diameter float64, m setup.Measured) setup.Match {
	w := wheel(diameter)
	if diameter == 0 {
		w = flat()
	}
	return setup.Match{Common: rig(nil, w, nil, nil), Measured: &m}
}

// bowl-50 from its chord and steel, and the uncertainty by hand: the edge falls t/(L·√(L²−t²)) + 1/(2R·cos) per millimetre of chord and
// rises 1/√(L²−t²) per millimetre of steel.
func TestMatchChordAndSteel(t *testing.T) {
	found := mustMatch(t, measured(200, setup.Measured{Chord: length(10.033525), Steel: length(8)}))
	nearDeg(t, "edge", found.Edge.Value, 50, 1e-4)
	nearDeg(t, "reading", found.Reading.Value, unit.Angle(math.Asin(8/10.033525)).Degrees(), 1e-9)
	across := math.Sqrt(10.033525*10.033525 - 64)
	perChord, perSteel := -8/(10.033525*across)-1/(200*math.Sqrt(1-0.05016762*0.05016762)), 1/across
	near(t, "per mm of chord", found.Budget[0].Sensitivity, perChord, 1e-7)
	near(t, "per mm of steel", found.Budget[1].Sensitivity, perSteel, 1e-7)
	near(t, "expanded", found.Expanded.Value.Radians(), math.Hypot(0.3*perChord, 0.1*perSteel), 1e-6)
	if found.Improve == nil || found.Improve.Quantity != "chord" || found.Agrees.Known {
		t.Errorf("%+v", found)
	}
	if want := "A protractor would show 52.9°, the edge is 50.0° ±2.5°"; found.Text != want {
		t.Errorf("%q, want %q", found.Text, want)
	}
}

// Every route finds the edge of a bevel that a wheel ground through steel, and its sensitivities are slopes of what it answers.
func TestEveryRouteFindsTheEdge(t *testing.T) {
	r := chance.New(t)
	for i := range 300 {
		diameter, edge, steel := uniform(r, 60, 300), uniform(r, 20, 75), uniform(r, 3, 10)
		w := geometry.RoundWheel(unit.Length(diameter))
		if i%4 == 0 {
			diameter, w = 0, geometry.FlatAbrasive()
		}
		h, err := w.HollowOfDepth(unit.Degrees(edge), unit.Length(steel))
		if err != nil {
			t.Fatal(err)
		}
		all := setup.Measured{Chord: shop.Some(h.Chord), Steel: length(steel), Reading: shop.Some(h.Reading)}
		for without := range 4 {
			m := all
			switch without {
			case 0:
				m.Chord.Known = false
			case 1:
				m.Steel.Known = false
			case 2:
				m.Reading.Known = false
			}
			q := measured(diameter, m)
			found := mustMatch(t, q)
			nearDeg(t, "edge", found.Edge.Value, edge, 1e-9)
			nearDeg(t, "reading", found.Reading.Value, h.Reading.Degrees(), 1e-9)
			if three := without == 3; found.Agrees != (shop.Maybe[bool]{Value: three, Known: three}) {
				t.Errorf("without %d: agrees %+v", without, found.Agrees)
			}
			checkSlopes(t, q, found)
		}
	}
}

// checkSlopes asks again with each measure moved. A third measure would let the answer go another way.
func checkSlopes(t *testing.T, q setup.Match, found setup.Matched) {
	t.Helper()
	if found.Agrees.Known {
		return
	}
	const step = 1e-4
	for _, item := range found.Budget {
		at := func(off float64) float64 {
			m, w := *q.Measured, *q.Rig.Wheel.Inline
			switch item.Quantity {
			case "chord":
				m.Chord.Value += unit.Length(off)
			case "steel_depth":
				m.Steel.Value += unit.Length(off)
			case "reading":
				m.Reading.Value += unit.Angle(off)
			case "wheel_diameter":
				w.Diameter += unit.Length(off)
			default:
				t.Fatalf("what is %s?", item.Quantity)
			}
			q := q
			q.Measured, q.Rig.Wheel.Inline = &m, &w
			return mustMatch(t, q).Edge.Value.Radians()
		}
		near(t, "slope along "+item.Quantity, item.Sensitivity, (at(step)-at(-step))/(2*step), 1e-5*(1+math.Abs(item.Sensitivity)))
	}
}

// The linear budget against drawing the measures: JCGM 101:2008, 8.1 has the one validated by the other.
func TestMatchedDoubtAgainstDrawing(t *testing.T) {
	r := chance.New(t)
	w := geometry.RoundWheel(200)
	inputs := []geometry.Distribution{{Mean: 10.0335, Standard: 0.15}, {Mean: 8, Standard: 0.05}}
	spread, err := geometry.Propagate(inputs, func(d []float64) (float64, bool) {
		m, err := w.MatchChord(unit.Length(d[0]), unit.Length(d[1]))
		return m.Edge.Degrees(), err == nil
	}, r.Float64, 200_000)
	if err != nil {
		t.Fatal(err)
	}
	found := mustMatch(t, measured(200, setup.Measured{Chord: length(10.0335), Steel: length(8)}))
	nearDeg(t, "expanded", found.Expanded.Value, 2*spread.Standard, 0.05)
	nearDeg(t, "edge", found.Edge.Value, spread.Mean, 0.1)
}

func TestMeasuresThatDisagree(t *testing.T) {
	all := setup.Measured{Chord: length(10.0335), Steel: length(8), Reading: angle(53.5)}
	if found := mustMatch(t, measured(200, all)); !found.Agrees.Value || caution(found.Cautions, "MEASURES_DISAGREE") != nil || !strings.Contains(found.Text, "agree") {
		t.Errorf("within their doubts: %+v", found)
	}
	all.Reading = angle(60)
	found := mustMatch(t, measured(200, all))
	if found.Agrees.Value || !found.Agrees.Known || caution(found.Cautions, "MEASURES_DISAGREE") == nil {
		t.Fatalf("%+v", found)
	}
	for name, without := range map[string]func(*setup.Measured){
		"chord": func(m *setup.Measured) { m.Chord.Known = false }, "steel": func(m *setup.Measured) { m.Steel.Known = false }, "reading": func(m *setup.Measured) { m.Reading.Known = false },
	} {
		two := all
		without(&two)
		if off := mustMatch(t, measured(200, two)).Edge.Value - found.Edge.Value; math.Abs(float64(off)) > float64(found.Expanded.Value)+1e-12 {
			t.Errorf("without the %s the edge is %v away, and the doubt %v", name, off, found.Expanded.Value)
		}
	}
	// The measures' own doubts decide: with a reading that is good to 10° there is no telling.
	all.ReadingDoubt = angle(10)
	if found := mustMatch(t, measured(200, all)); !found.Agrees.Value {
		t.Errorf("%+v", found)
	}
	exact := setup.Measured{Chord: all.Chord, Steel: all.Steel, Reading: angle(60), ChordDoubt: length(0), SteelDoubt: length(0), ReadingDoubt: angle(0)}
	q := measured(200, exact)
	q.Rig.Wheel.Inline.Doubt = length(0)
	if found := mustMatch(t, q); found.Agrees.Value || found.Expanded.Value < 6*unit.Degree {
		t.Errorf("exact and 7° apart: %+v", found)
	}
}

func TestToldBadly(t *testing.T) {
	found := mustMatch(t, measured(200, setup.Measured{Chord: length(8.05), Steel: length(8)}))
	if caution(found.Cautions, "TOLD_BADLY") == nil || found.Expanded.Value > 90*unit.Degree {
		t.Errorf("%+v", found)
	}
}

// A chord a hair longer than the steel is deep is known from one side only, and is still told.
func TestMatchAtTheLimit(t *testing.T) {
	found := mustMatch(t, measured(200, setup.Measured{Chord: length(8.000001), Steel: length(8)}))
	if !(found.Edge.Value > 87*unit.Degree) || found.Expanded.Value != 90*unit.Degree || !(found.Budget[0].Sensitivity < -1) {
		t.Errorf("%+v", found)
	}
}

func TestMatchRefused(t *testing.T) {
	for name, c := range map[string]struct {
		match              setup.Match
		reason             fault.Reason
		field              string
		value, least, most float64
	}{
		"a chord shorter than the steel":     {measured(200, setup.Measured{Chord: length(7.5), Steel: length(8)}), setup.NoSuchBevel, "measured.chord_mm", 7.5, 8, 200},
		"shorter, though there is a reading": {measured(200, setup.Measured{Chord: length(7.5), Steel: length(8), Reading: angle(50)}), setup.NoSuchBevel, "measured.chord_mm", 7.5, 8, 200},
		"shorter, on a flat bevel":           {measured(0, setup.Measured{Chord: length(7.5), Steel: length(8)}), setup.NoSuchBevel, "measured.chord_mm", 7.5, 8, 0},
		"a chord beyond the wheel":           {measured(30, setup.Measured{Chord: length(31), Reading: angle(50)}), setup.NoSuchBevel, "measured.chord_mm", 31, 0, 30},
		"a reading that needs such a chord":  {measured(30, setup.Measured{Steel: length(8), Reading: angle(15)}), setup.NoSuchBevel, "measured.reading_deg", 30.91, 0, 30},
		"an edge of less than nothing":       {measured(150, setup.Measured{Chord: length(30), Reading: angle(10)}), setup.TooKeen, "measured", -1.537, 0, 90},
		"no edge any more":                   {measured(0, setup.Measured{Reading: angle(95)}), setup.TooBlunt, "measured", 95, 0, 90},
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
	for name, m := range map[string]setup.Match{
		"no evidence":           {Common: rig(nil, wheel(200), nil, nil)},
		"nothing":               measured(200, setup.Measured{}),
		"a chord alone":         measured(200, setup.Measured{Chord: length(10)}),
		"a reading of a hollow": measured(200, setup.Measured{Reading: angle(50)}),
		"no wheel":              {Measured: &setup.Measured{Chord: length(10), Steel: length(8)}},
	} {
		if f, _ := refusedMatch(t, m, fault.InvalidField); f.Violations[0].Reason != fault.Missing {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

// names are the recipes' last parts.
func names(list []setup.RecipeMatch) (all []string) {
	for _, m := range list {
		all = append(all, m.Name[strings.LastIndex(m.Name, "/")+1:])
	}
	return all
}

func TestNearestRecipes(t *testing.T) {
	of := func(kind shop.ToolKind, steel float64, m setup.Measured) setup.Matched {
		q := setup.Match{Common: rig(nil, wheel(200), nil, &shop.Tool{Kind: kind, SteelUnderFlute: length(steel)}), Measured: &m}
		q.Shop = demo.Name
		return mustMatch(t, q)
	}
	bowl := of(shop.BowlGouge, 8, setup.Measured{Chord: length(10.0335)})
	if got := names(bowl.Recipes); !slices.Equal(got, []string{"bowl-50", "bowl-50-relief", "bowl-40", "bottom-65"}) {
		t.Errorf("bowl gouges: %v", got)
	}
	for _, m := range bowl.Recipes {
		if m.Within != (math.Abs(float64(m.Difference)) <= float64(bowl.Expanded.Value)) {
			t.Errorf("%+v within ±%v", m, bowl.Expanded.Value)
		}
	}
	nearDeg(t, "bowl-40 less measured", bowl.Recipes[2].Difference, -10, 0.001)
	if want := "; nearest: bowl-50"; !strings.HasSuffix(bowl.Text, want) {
		t.Errorf("%q", bowl.Text)
	}
	// 45° is a roughing gouge's; without a kind every kind counts, and no more than five are told.
	chord := setup.Measured{Chord: shop.Some(bevelChord(t, 200, 45, 8))}
	if got := names(of(shop.AnyTool, 8, chord).Recipes); len(got) != 5 || got[0] != "roughing-45" {
		t.Errorf("any tool: %v", got)
	}
	far := of(shop.BowlGouge, 8, chord)
	if far.Recipes[0].Within || !strings.HasSuffix(far.Text, "; nearest: bowl-40, 5.00° keener") && !strings.HasSuffix(far.Text, "; nearest: bowl-50, 5.00° blunter") {
		t.Errorf("%q", far.Text)
	}
	if without := mustMatch(t, measured(200, setup.Measured{Chord: length(10), Steel: length(8)})); without.Recipes != nil {
		t.Errorf("no shop was named: %v", without.Recipes)
	}
}

func bevelChord(t *testing.T, diameter, edge, steel float64) unit.Length {
	t.Helper()
	h, err := geometry.RoundWheel(unit.Length(diameter)).HollowOfDepth(unit.Degrees(edge), unit.Length(steel))
	if err != nil {
		t.Fatal(err)
	}
	return h.Chord
}

// Of a skew each face is matched by itself: half the blade's thickness, half the included angle, and it is said.
func TestMatchOneFace(t *testing.T) {
	q := setup.Match{Common: rig(nil, wheel(200), nil, &shop.Tool{Kind: shop.Skew, Thickness: length(8)}), Measured: &setup.Measured{Chord: shop.Some(bevelChord(t, 200, 18, 4))}}
	q.Shop = demo.Name
	found := mustMatch(t, q)
	nearDeg(t, "one face", found.Edge.Value, 18, 1e-6)
	if got := names(found.Recipes); !slices.Equal(got, []string{"skew-36"}) {
		t.Errorf("%v", got)
	}
	nearDeg(t, "skew-36 less measured", found.Recipes[0].Difference, 0, 1e-6)
	if caution(found.Cautions, "ONE_FACE") == nil || !strings.Contains(found.Text, "of one face alone") {
		t.Errorf("%q %+v", found.Text, found.Cautions)
	}
	// A negative-rake scraper's lower bevel runs through what lies below its edge.
	q = setup.Match{Common: rig(nil, wheel(200), nil, &shop.Tool{Kind: shop.NegativeRakeScraper, Thickness: length(8), EdgeBelowTop: length(2)}),
		Measured: &setup.Measured{Chord: shop.Some(bevelChord(t, 200, 40, 6))}}
	q.Shop = demo.Name
	found = mustMatch(t, q)
	nearDeg(t, "lower bevel", found.Edge.Value, 40, 1e-6)
	if got := names(found.Recipes); !slices.Equal(got, []string{"negative-rake-60"}) || !found.Recipes[0].Within {
		t.Errorf("%v", got)
	}
}
