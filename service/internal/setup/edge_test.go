package setup_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// onNorth asks for the whole edge of the demonstration shop's bowl gouge on its north station, with an edge of one's own.
func onNorth(edge shop.EdgeShape) setup.EdgeQuestion {
	q := setup.EdgeQuestion{Question: setup.Question{Common: setup.Common{Shop: "shops/main"}}}
	q.Rig.Station.Name, q.Rig.Tool.Name = "shops/main/stations/north", "shops/main/tools/bowl-gouge-12"
	q.Ask.Shape = shop.Some(edge)
	return q
}

func setBack(mm float64) shop.EdgeShape {
	return shop.EdgeShape{Plan: shop.SetbackPlan, Setback: unit.Length(mm), Exponent: 2}
}

func edgeOf(t *testing.T, q setup.EdgeQuestion) setup.EdgeAnswer {
	t.Helper()
	a, err := solver.AnalyzeEdge(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// anyGouge draws a bowl gouge held by a bare pivot, with settings that reach its nose.
func anyGouge(r *rand.Rand) setup.EdgeQuestion {
	tool := &shop.Tool{Kind: shop.BowlGouge, SteelUnderFlute: length(8), Bar: shop.Some(shop.BarSection{Diameter: 16})}
	tool.Flute = shop.Some(shop.Flute{Shape: shop.ParabolaFlute, Radius: unit.Length(uniform(r, 3.5, 5))})
	q := setup.EdgeQuestion{Question: setup.Question{Rounding: setup.Rounding{LengthStep: 0.001}}}
	q.Rig.Wheel.Inline, q.Rig.Tool.Inline, q.Rig.Holder.Inline = wheel(uniform(r, 140, 250)), tool, pivot(uniform(r, 90, 170), uniform(r, 30, 75))
	q.Grind = &shop.Grind{Bevels: []shop.Bevel{front(uniform(r, 40, 65))}}
	q.Ask.Shape = shop.Some(setBack(uniform(r, 0, 7)))
	q.Ask.Points = 33
	return q
}

// TestMirroredToolMirroredEdge turns everything that is to one side to the other, and wants the wings to change places.
func TestMirroredToolMirroredEdge(t *testing.T) {
	r := chance.New(t)
	for range 200 {
		q := anyGouge(r)
		q.Rig.Asides = setup.Asides{Pivot: unit.Length(uniform(r, -3, 3)), Roll: unit.Degrees(uniform(r, -4, 4)), Contact: unit.Length(uniform(r, -10, 10))}
		mirrored := q
		mirrored.Rig.Asides = setup.Asides{Pivot: -q.Rig.Asides.Pivot, Roll: -q.Rig.Asides.Roll, Contact: -q.Rig.Asides.Contact}
		a, b := edgeOf(t, q).Edge, edgeOf(t, mirrored).Edge
		for i, p := range a.Places {
			m := b.Places[len(b.Places)-1-i]
			if p.Reached != m.Reached || p.Undercut != m.Undercut {
				t.Fatalf("place %d: reached %v undercut %v, mirrored %v %v", i, p.Reached, p.Undercut, m.Reached, m.Undercut)
			}
			near(t, "wedge", m.Wedge, p.Wedge, 1e-9)
			near(t, "roll", m.Lean.Roll, -p.Lean.Roll, 1e-9)
			near(t, "pitch", m.Lean.Pitch, p.Lean.Pitch, 1e-9)
		}
		near(t, "difference of the sides", b.Summary.Differ, -a.Summary.Differ, 1e-9)
	}
}

// TestAsidesMakeWingsUnequal wants equal wings without them, and unequal ones with each.
func TestAsidesMakeWingsUnequal(t *testing.T) {
	q := onNorth(setBack(6))
	if d := edgeOf(t, q).Edge.Summary.Differ; math.Abs(d.Degrees()) > 1e-9 {
		t.Errorf("wings differ by %v with nothing aside", d)
	}
	for _, asides := range []setup.Asides{{Pivot: 1}, {Roll: 2 * unit.Degree}} {
		q.Rig.Asides = asides
		if d := math.Abs(edgeOf(t, q).Edge.Summary.Differ.Degrees()); d < 0.4 || d > 4 {
			t.Errorf("%+v: wings differ by %.2f°", asides, d)
		}
	}
}

// TestNoseIsThePlanarAnswer holds the nose's wedge against the step's own prediction, and its doubt against the step's.
func TestNoseIsThePlanarAnswer(t *testing.T) {
	r := chance.New(t)
	for range 50 {
		q := anyGouge(r)
		q.Ask.Doubt = true
		q.Ask.Points = 5
		a := edgeOf(t, q)
		nose, step := a.Edge.Places[a.Edge.Nose], a.Steps[len(a.Steps)-1].Predicted
		near(t, "nose", nose.Wedge, step.Edge, 1e-9)
		nearDeg(t, "the nose's doubt", nose.Expanded.Value, step.Expanded.Degrees(), 0.03*step.Expanded.Degrees())
	}
}

// TestFluteIsInTheBudget wants the flute's radius to count on the wings and not at the nose.
func TestFluteIsInTheBudget(t *testing.T) {
	q := onNorth(setBack(6))
	q.Ask.Doubt = true
	q.Ask.Points = 9
	tool := shop.Tool{Kind: shop.BowlGouge, SteelUnderFlute: length(8), Bar: shop.Some(shop.BarSection{Diameter: 16}), Recipe: "shops/main/recipes/bowl-50"}
	with := func(radius, doubt float64) setup.WholeEdge {
		tool.Flute = shop.Some(shop.Flute{Shape: shop.ParabolaFlute, Radius: unit.Length(radius), Doubt: length(doubt)})
		q.Rig.Tool = setup.Source[shop.Tool]{Inline: &tool}
		q.Ask.Shape.Value.AlongFlute = length(8)
		return edgeOf(t, q).Edge
	}
	sure, unsure, wider, narrower := with(4, 0), with(4, 0.1), with(4.05, 0), with(3.95, 0)
	near(t, "nose", unsure.Places[4].Expanded.Value, sure.Places[4].Expanded.Value, 1e-6)
	for i, p := range unsure.Places {
		added := math.Sqrt(math.Max(0, math.Pow(p.Expanded.Value.Degrees(), 2)-math.Pow(sure.Places[i].Expanded.Value.Degrees(), 2)))
		near(t, "what the radius adds", added, math.Abs((wider.Places[i].Wedge - narrower.Places[i].Wedge).Degrees()), 0.004)
		if p.MonteCarlo {
			t.Errorf("place %d was drawn", i)
		}
	}
}

// TestWaysReachTheWholeEdge follows every way that a finding names and wants the edge to be whole, with the nose as it was.
func TestWaysReachTheWholeEdge(t *testing.T) {
	followed := 0
	for _, setback := range []float64{11.5, 12, 13, 14, 16} {
		q := onNorth(setBack(setback))
		a := edgeOf(t, q)
		if len(a.Edge.Findings) == 0 {
			t.Errorf("a setback of %v has no finding", setback)
		}
		for _, f := range a.Edge.Findings {
			if f.From >= f.To || f.Text == "" {
				t.Errorf("%s from %v to %v: %q", f.Code, f.From, f.To, f.Text)
			}
			for _, way := range f.Ways {
				other := q
				if way.Edge.Known {
					other.Ask.Shape = way.Edge
				} else {
					other.Settings = &way.Settings
				}
				got := edgeOf(t, other)
				followed++
				if len(got.Edge.Findings) > 0 {
					t.Errorf("setback %v, %s: there is still %s", setback, way.Text, got.Edge.Findings[0].Text)
				}
				nearDeg(t, way.Text+": nose", got.Edge.Summary.Nose.Value, a.Edge.Summary.Nose.Value.Degrees(), 0.1)
			}
		}
	}
	if followed < 10 {
		t.Errorf("only %d ways were named", followed)
	}
}

// TestUnreachedStretchNamesTheGap sets the gap that an unreached stretch names, and wants that stretch to be reached.
func TestUnreachedStretchNamesTheGap(t *testing.T) {
	q := onNorth(setBack(14))
	a := edgeOf(t, q)
	f := a.Edge.Findings[0]
	if f.Code != "UNREACHED" || !f.ByMM.Known || f.ByMM.Value <= 0 {
		t.Fatalf("%+v", f)
	}
	gap := a.Steps[0].Support.Lengths[shop.DatumWheelGap].Set - f.ByMM.Value - 0.01
	q.Settings = &shop.Settings{StickOut: length(45), Leg: angle(30), Datum: shop.DatumWheelGap, Support: gap}
	for _, other := range edgeOf(t, q).Edge.Findings {
		if other.Code == "UNREACHED" {
			t.Errorf("at a gap of %v: %s", gap, other.Text)
		}
	}
}

func TestEdgesThatAreRefused(t *testing.T) {
	points := func(at ...float64) shop.EdgeShape {
		s := shop.EdgeShape{Plan: shop.PointsPlan}
		for _, a := range at {
			s.Points = append(s.Points, shop.ShapePoint{Place: unit.Length(a), AlongFlute: true, Back: unit.Length(a * a / 20)})
		}
		return s
	}
	wide, long, round := setBack(6), setBack(6), setBack(6)
	wide.HalfWidth, long.AlongFlute, round.HalfWidth = length(7), length(9), length(6)
	blunt := shop.EdgeShape{Plan: shop.SweptPlan, Setback: 6, NoseRadius: 100}
	for name, c := range map[string]struct {
		shape  shop.EdgeShape
		tool   func(*shop.Tool)
		reason fault.Reason
		field  string
		most   float64 // 0: none is named
	}{
		"half-width beyond the rim":   {shape: wide, reason: setup.WingBeyondFlute, field: "edge.half_width_mm", most: 6.289},
		"length beyond the rim":       {shape: long, reason: setup.WingBeyondFlute, field: "edge.along_flute_mm", most: 8.32798},
		"wider than a U ever is":      {shape: round, tool: func(t *shop.Tool) { t.Flute.Value = shop.Flute{Shape: shop.RoundFlute, Radius: 5} }, reason: setup.EdgeOffFlute, field: "edge.half_width_mm", most: 5},
		"nose too blunt":              {shape: blunt, reason: setup.EdgeOffFlute, field: "edge.swept.nose_radius_mm", most: 8.32798 * 8.32798 / 12},
		"points out of order":         {shape: points(-4, -2, 0, 3, 2), reason: setup.PointsUnsorted, field: "edge.points.points[4]"},
		"points at one place":         {shape: points(-4, -2, 0, 3, 3), reason: setup.PointsCross, field: "edge.points.points[4]"},
		"points beyond the rim":       {shape: points(-4, -2, 0, 3, 9), reason: setup.WingBeyondFlute, field: "edge.points", most: 8.32798},
		"a flute deeper than its bar": {shape: setBack(6), tool: func(t *shop.Tool) { t.SteelUnderFlute = length(17) }, reason: setup.FluteDeeper, field: "rig.tool.steel_under_flute_mm", most: 15.99},
	} {
		t.Run(name, func(t *testing.T) {
			tool := shop.Tool{
				Kind: shop.BowlGouge, SteelUnderFlute: length(8), Bar: shop.Some(shop.BarSection{Diameter: 16}), Recipe: "shops/main/recipes/bowl-50",
				Flute: shop.Some(shop.Flute{Shape: shop.ParabolaFlute, Radius: 4}),
			}
			if c.tool != nil {
				c.tool(&tool)
			}
			q := onNorth(c.shape)
			q.Rig.Tool = setup.Source[shop.Tool]{Inline: &tool}
			q.Settings = &shop.Settings{StickOut: length(45), Leg: angle(30), Datum: shop.DatumWheelGap, Support: 108.5}
			_, err := solver.AnalyzeEdge(t.Context(), q)
			f, ok := fault.As(err)
			if !ok || f.Reason != c.reason || f.Message == "" {
				t.Fatalf("got %v", err)
			}
			detail, _ := f.Detail.(*setup.Refusal)
			if detail == nil || detail.Field != c.field || detail.Value.Known == false {
				t.Fatalf("detail %+v", detail)
			}
			if c.most > 0 {
				near(t, "most", detail.Most.Value, c.most, 0.001)
			}
		})
	}
}

// TestContradictingFluteIsRefused says a flute's radius twice.
func TestContradictingFluteIsRefused(t *testing.T) {
	q := onNorth(setBack(6))
	q.Rig.Tool = setup.Source[shop.Tool]{Inline: &shop.Tool{FluteRadius: length(5), Flute: shop.Some(shop.Flute{Shape: shop.RoundFlute, Radius: 4}), Recipe: "shops/main/recipes/bowl-50"}}
	if _, err := solver.AnalyzeEdge(t.Context(), q); err == nil {
		t.Error("two radii were taken")
	}
}

// TestLeanIsHeldAgainstTheHolder wants a finding where the tool leans further than its holder lets it.
func TestLeanIsHeldAgainstTheHolder(t *testing.T) {
	q := onNorth(setBack(6))
	q.Rig.Holder.Name = "shops/main/holders/swing"
	free := edgeOf(t, q)
	h := swing()
	h.MostLean = shop.Some(free.Edge.Summary.Lean - 5*unit.Degree)
	q.Rig.Holder = setup.Source[shop.Holder]{Inline: h}
	q.Settings = &shop.Settings{StickOut: length(45), Leg: angle(30), Datum: shop.DatumWheelGap, Support: 108.5}
	found := edgeOf(t, q).Edge.Findings
	if len(found) == 0 || found[0].Code != "LEAN_TOO_FAR" || found[0].ByAngle.Value <= 0 {
		t.Errorf("%+v", found)
	}
}

// TestMapAgreesWithTheEdge asks for every cell by itself.
func TestMapAgreesWithTheEdge(t *testing.T) {
	q := setup.MapQuestion{Common: onNorth(shop.EdgeShape{}).Common, Shape: shop.Some(setBack(9))}
	q.Sticks, q.Legs, q.Gaps = []unit.Length{35, 50}, []unit.Angle{20 * unit.Degree, 40 * unit.Degree}, []unit.Length{85, 100, 115, 130}
	m, err := solver.MapEdge(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	feasible := 0
	for _, c := range m.Cells {
		one := onNorth(setBack(9))
		one.Settings = &shop.Settings{StickOut: shop.Some(c.StickOut), Leg: shop.Some(c.Leg), Datum: shop.DatumWheelGap, Support: c.Gap}
		a, err := solver.AnalyzeEdge(t.Context(), one)
		switch {
		case err != nil:
			if c.Trouble != "NOSE_UNREACHED" && c.Trouble != "BEYOND_TRAVEL" && c.Trouble != "EDGE_ANGLE" {
				t.Errorf("%+v: %v", c, err)
			}
		case c.Trouble == "":
			feasible++
			if len(a.Edge.Findings) > 0 {
				t.Errorf("%+v: %s", c, a.Edge.Findings[0].Text)
			}
			near(t, "nose", c.Nose.Value, a.Edge.Summary.Nose.Value, 1e-9)
			near(t, "wing", c.Wing.Value, min(a.Edge.Summary.Left.Value, a.Edge.Summary.Right.Value), 1e-9)
		case len(a.Edge.Findings) == 0 && c.Trouble != "BEYOND_TRAVEL" && c.Trouble != "EDGE_ANGLE":
			t.Errorf("%+v: the edge has no finding", c)
		}
	}
	if feasible == 0 || feasible != m.Feasible || feasible == len(m.Cells) {
		t.Errorf("%d of %d cells are feasible, %d were counted", feasible, len(m.Cells), m.Feasible)
	}
}

// TestBevelsFollowTheWings lays a land, a facet and a relief and wants them at the nose as the planar chain has them, the land as wide along
// the whole edge as it was asked for, and both wings alike.
func TestBevelsFollowTheWings(t *testing.T) {
	q := onNorth(setBack(5))
	q.Rig.Holder.Name = "shops/main/holders/swing"
	q.Grind = grind(land(50, 2), land(42, 2), front(32))
	q.Given, q.Rounding.LengthStep = swung(45, 30), 0.001
	a := edgeOf(t, q)
	planar := map[int]setup.Step{}
	for _, s := range a.Steps {
		planar[s.Bevel] = s
	}
	nose := a.Edge.Places[a.Edge.Nose].Lands
	if len(nose) != 3 {
		t.Fatalf("%d bevels at the nose", len(nose))
	}
	turn := 2 * math.Asin(2.0/200) // a land of 2 mm on a wheel of 200
	for i := 1; i < 3; i++ {
		corner := planar[i-1].Predicted.Edge + unit.Angle(turn) - planar[i].Predicted.Edge
		near(t, "corner at the nose", nose[i].Corner.Value, corner, 1e-6)
	}
	near(t, "last bevel", nose[2].Width.Value, planar[2].Predicted.Width.Value, 0.02)
	for i, p := range a.Edge.Places {
		mirror := a.Edge.Places[len(a.Edge.Places)-1-i]
		if len(p.Lands) != 3 || len(mirror.Lands) != 3 {
			t.Fatalf("place %d has %d bevels", i, len(p.Lands))
		}
		near(t, "land", p.Lands[0].Width.Value, 2, 1e-9)
		near(t, "facet", p.Lands[1].Width.Value, 2, 1e-6)
		near(t, "corner", p.Lands[2].Corner.Value, mirror.Lands[2].Corner.Value, 1e-6)
	}
}

// TestFurthestWingIsTheLast wants the edge at the furthest setback to be whole, and a little beyond it not.
func TestFurthestWingIsTheLast(t *testing.T) {
	q := setup.FurthestQuestion{Question: onNorth(shop.EdgeShape{}).Question}
	found, err := solver.FindFurthestWing(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	if whole := edgeOf(t, onNorth(setBack(float64(found.Setback)-0.02))); len(whole.Edge.Findings) > 0 {
		t.Errorf("at %v: %s", found.Setback, whole.Edge.Findings[0].Text)
	}
	if beyond := edgeOf(t, onNorth(setBack(float64(found.Setback)+0.1))); len(beyond.Edge.Findings) == 0 {
		t.Errorf("beyond %v nothing is wrong", found.Setback)
	}
	q.Least = angle(60)
	if _, err := solver.FindFurthestWing(t.Context(), q); err == nil {
		t.Error("a nose of 50° was taken as no keener than 60°")
	}
}

// TestWingTargetPicksTheNearestLeg compares the leg chosen for nose and wing with every leg tried by itself.
func TestWingTargetPicksTheNearestLeg(t *testing.T) {
	for _, wedge := range []float64{44, 50, 56, 62} {
		q := onNorth(setBack(6)).Question
		q.Rig.Holder.Name = "shops/main/holders/swing"
		q.Grind = &shop.Grind{Bevels: []shop.Bevel{front(50)}, Wing: shop.Some(shop.WingTarget{Wedge: unit.Degrees(wedge), Tolerance: 2 * unit.Degree, Along: 1})}
		q.Given, q.Free = stuckOut(45), []setup.Free{setup.FreeSupport, setup.FreeLeg}
		found, err := solver.Solve(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		best, mark := math.Inf(1), ""
		for _, id := range []string{"1", "2", "3", "4", "5"} {
			one := setup.EdgeQuestion{Question: q}
			one.Free, one.Given.Position = nil, id
			if off := math.Abs(edgeOf(t, one).Edge.Summary.Right.Value.Degrees() - wedge); off < best {
				best, mark = off, id
			}
		}
		if found.Steps[0].Position != mark {
			t.Errorf("for %v° position %s was chosen; %s is nearest, %.2f° off", wedge, found.Steps[0].Position, mark, best)
		}
	}
}

// TestWingTargetIsMetToTheStep frees a leg without positions, and wants the wing as near as the nearest half degree of the leg makes it; and
// with a slide that does not go there, the nearest leg that it serves.
func TestWingTargetIsMetToTheStep(t *testing.T) {
	arm := swing()
	solve := func(leg shop.Maybe[unit.Angle], least, most unit.Length) (setup.Setup, float64, error) {
		q := onNorth(setBack(6)).Question
		q.Rig.Holder = setup.Source[shop.Holder]{Inline: arm}
		station, err := solver.Records.Station(t.Context(), q.Rig.Station.Name, q.AsOf)
		if err != nil {
			t.Fatal(err)
		}
		station.Supports = slices.Clone(station.Supports)
		for i := range station.Supports {
			if s := &station.Supports[i]; s.Kind == shop.Pocket && most > 0 {
				s.Slide.Value.Travel = shop.LengthRange{Least: least, Most: most}
			}
		}
		wheel, err := solver.Records.MountedWheel(t.Context(), q.Rig.Station.Name, q.AsOf)
		if err != nil {
			t.Fatal(err)
		}
		q.Rig.Station, q.Rig.Wheel = setup.Source[shop.Station]{Inline: &station}, setup.Source[shop.Wheel]{Inline: &wheel}
		q.Grind = &shop.Grind{Bevels: []shop.Bevel{front(50)}, Wing: shop.Some(shop.WingTarget{Wedge: unit.Degrees(52), Tolerance: 2 * unit.Degree, Along: 1})}
		q.Given, q.Free = stuckOut(45), []setup.Free{setup.FreeSupport, setup.FreeLeg}
		if leg.Known {
			q.Given.Leg, q.Free = leg, nil
		}
		found, err := solver.Solve(t.Context(), q)
		if err != nil {
			return found, 0, err
		}
		e := setup.EdgeQuestion{Question: q}
		e.Free, e.Given.Leg = nil, shop.Some(found.Steps[0].Leg.Set)
		return found, math.Abs(edgeOf(t, e).Edge.Summary.Right.Value.Degrees() - 52), nil
	}
	for name, travel := range map[string][2]unit.Length{"anywhere": {}, "a short slide": {120, 170}} {
		found, off, err := solve(shop.Maybe[unit.Angle]{}, travel[0], travel[1])
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		best := math.Inf(1)
		for leg := 0.0; leg <= 90; leg += 0.5 {
			if _, o, err := solve(angle(leg), travel[0], travel[1]); err == nil {
				best = math.Min(best, o)
			}
		}
		if off > best+0.1 { // alike within 0.05°, and the nose comes first
			t.Errorf("%s: the leg at %v leaves the wing %.2f° off; another leaves it %.2f°", name, found.Steps[0].Leg.Set, off, best)
		}
	}
}
