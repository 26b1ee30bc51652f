package figure

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protojson"

	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// find gives the one shape of a kind that a part has.
func find[S drawing.Shape](t testing.TB, f drawing.Figure, part string) S {
	t.Helper()
	var found []S
	for _, item := range f.Items {
		if s, ok := item.Shape.(S); ok && item.Part == part {
			found = append(found, s)
		}
	}
	if len(found) != 1 {
		t.Fatalf("%d shapes %T of %s, want 1", len(found), *new(S), part)
	}
	return found[0]
}

func within(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %v, want %v ± %g", what, got, want, tolerance)
	}
}

// The worked example: bowl-50 on a wheel of 200 with the pocket on a slide 110 below the axle. The pivot lies
// 45 + 22 + 74 cos 30° = 131.086 behind and 9 + 74 sin 30° = 46 below the nose; by the law of cosines it is
// √(100² + 131.086² + 46² + 200 (131.086 sin 50° − 46 cos 50°)) = 208.49 from the axle, √(208.49² − 110²) = 177.11 out.
func TestBowl50IsDrawnWhereItStands(t *testing.T) {
	f := SideView(bowl50(t))
	gap, slide := find[drawing.Dimension](t, f, "wheel_gap"), find[drawing.Dimension](t, f, "slide")
	within(t, "wheel gap", float64(apart(gap.From, gap.To)), 108.49, 0.005)
	within(t, "wheel gap from rim", float64(gap.From.FromOrigin()), 100, 1e-9)
	within(t, "slide", float64(apart(slide.From, slide.To)), 177.11, 0.005)
	within(t, "slide's level", float64(slide.To.Up), -110, 1e-9)
	stickOut := find[drawing.Dimension](t, f, "stick_out")
	within(t, "stick-out", float64(apart(stickOut.From, stickOut.To)), 45, 1e-9)
	within(t, "nose on rim", float64(stickOut.From.FromOrigin()), 100, 1e-9)
	within(t, "edge angle", find[drawing.Angle](t, f, "edge_angle").Sweep.Degrees(), 50, 1e-9)
	within(t, "bevel reading", find[drawing.Angle](t, f, "bevel_reading").Sweep.Degrees(), 52.88, 0.005)
	within(t, "leg", find[drawing.Angle](t, f, "leg_angle").Sweep.Degrees(), 30, 1e-9)
	for _, number := range []string{"200.0 mm diameter", "edge angle 50.0°", "wheel gap 108.49 mm", "177.1 mm out", "110.0 mm below", "swing"} {
		if !strings.Contains(f.Description, number) {
			t.Errorf("the description does not say %q: %s", number, f.Description)
		}
	}
}

// A place that was picked must not be told as one that was measured.
func TestSupposedPlacesAreNotDescribed(t *testing.T) {
	v := bowl50(t)
	v.Labels.Slide = ""
	if said := SideView(v).Description; !strings.Contains(said, "177.1 mm") || !strings.Contains(said, "37° below") {
		t.Errorf("a known place is not described: %s", said)
	}
	v.Supposed = true
	if said := SideView(v).Description; strings.Contains(said, "177.1 mm") || strings.Contains(said, "37° below") {
		t.Errorf("a supposed place is described: %s", said)
	}
}

// The tangent, the tool's axis and the leg must run where their angles say, seen in the finished drawing.
func TestAnglesOpenBetweenTheirLines(t *testing.T) {
	v := bowl50(t)
	f := SideView(v)
	edge, leg := find[drawing.Angle](t, f, "edge_angle"), find[drawing.Angle](t, f, "leg_angle")
	tangent := direction(geometry.Point{}, edge.Apex) - quarter // downwards, square to the radius
	within(t, "edge angle's start at the tangent", turn(edge.Start-tangent), 0, 1e-9)
	axis := find[drawing.Dimension](t, f, "stick_out")
	within(t, "edge angle's end at the axis", turn(edge.Start+edge.Sweep-direction(axis.From, axis.To)), 0, 1e-9)
	within(t, "leg angle's start at the leg", turn(leg.Start-direction(leg.Apex, v.Support.At)), 0, 1e-9)
	within(t, "leg's length", float64(apart(leg.Apex, v.Support.At)), 74, 1e-9)
}

func turn(a unit.Angle) float64 { return math.Remainder(float64(a), 2*math.Pi) }

// check holds what is true of every drawing.
func check(t testing.TB, v View) {
	t.Helper()
	f := SideView(v)
	checkBounds(t, f)
	checkBevel(t, v, f)
	checkClear(t, v, f)
	l := v.Labels
	if l.EdgeAngle != "" {
		within(t, "edge angle", float64(find[drawing.Angle](t, f, "edge_angle").Sweep), float64(v.EdgeAngle), 1e-9)
	}
	if v.Support.Kind != Platform && l.WheelGap != "" {
		d := find[drawing.Dimension](t, f, "wheel_gap")
		within(t, "wheel gap", float64(apart(d.From, d.To)), float64(v.Wheel.Gap(v.Pivot, v.EdgeAngle)-v.Support.Near), 1e-6)
		within(t, "wheel gap's start", float64(v.Wheel.GapTo(d.From)), 0, 1e-9)
		within(t, "wheel gap's end", float64(v.Wheel.GapTo(d.To)), float64(v.Wheel.GapTo(v.Support.At)-v.Support.Near), 1e-6)
	}
	if l.LegAngle != "" && v.LegAngle > unit.Degree {
		a := find[drawing.Angle](t, f, "leg_angle")
		within(t, "leg to ball", turn(direction(a.Apex, v.Support.At)-a.Start), 0, 1e-6)
	}
	if l.StickOut != "" {
		d := find[drawing.Dimension](t, f, "stick_out")
		within(t, "stick-out", float64(apart(d.From, d.To)), float64(v.StickOut), 1e-9)
	}
}

// checkBounds: every number is one and lies in the box.
func checkBounds(t testing.TB, f drawing.Figure) {
	t.Helper()
	for i, item := range f.Items {
		var b drawing.Box
		item.Shape.Reach(&b)
		size := float64(b.Most.Out - b.Least.Out + b.Most.Up - b.Least.Up)
		if math.IsNaN(size) || math.IsInf(size, 0) {
			t.Fatalf("item %d (%s) %+v reaches %v", i, item.Part, item.Shape, b)
		}
		if b.Least.Out < f.Least.Out || b.Least.Up < f.Least.Up || b.Most.Out > f.Most.Out || b.Most.Up > f.Most.Up {
			t.Errorf("item %d (%s) reaches out of the box", i, item.Part)
		}
	}
}

// checkBevel: the arc on the tool is one of the wheel's own, from the heel up to the nose.
func checkBevel(t testing.TB, v View, f drawing.Figure) {
	t.Helper()
	nose := v.Pose.Contact
	within(t, "nose from wheel", float64(v.Wheel.GapTo(nose)), 0, 1e-9)
	if v.Wheel.Flat() {
		return
	}
	a := find[drawing.Arc](t, f, PartTool)
	within(t, "bevel's radius", float64(a.Radius), float64(v.Wheel.Radius()), 0)
	within(t, "bevel's end from nose", float64(apart(a.Centre.Along(a.Start+a.Sweep, a.Radius), nose)), 0, 1e-9)
	behind, below := v.Bevel.End()
	within(t, "bevel's start from heel", float64(apart(a.Centre.Along(a.Start, a.Radius), v.Pose.Place(behind, -below))), 0, 1e-6)
}

// checkClear: neither tool nor platform stands in the wheel. The outline's bevel lies on the rim.
func checkClear(t testing.TB, v View, f drawing.Figure) {
	t.Helper()
	for _, item := range f.Items {
		path, ok := item.Shape.(drawing.Path)
		if !ok || item.Role != drawing.RoleSteel && item.Role != drawing.RoleSupport {
			continue
		}
		for _, p := range path.Points {
			if gap := v.Wheel.GapTo(p); gap < -1e-6 {
				t.Errorf("%s reaches %v into the wheel", item.Part, -gap)
			}
		}
	}
}

func TestSamplesAreTrue(t *testing.T) {
	views := samples(t)
	for _, name := range slices.Sorted(maps.Keys(views)) {
		t.Run(name, func(t *testing.T) { check(t, views[name]) })
	}
}

// A pocket close to the wheel must turn to it, rather than stand in it as one that faces its leg would.
func TestPocketNextToTheWheelKeepsClear(t *testing.T) {
	v := View{EdgeAngle: 12.4 * unit.Degree, SteelDepth: 11.6, Holder: BarePivot}
	v.Pivot = geometry.Pivot{Behind: 119.3, Below: 8.1}
	v.Support = Support{Kind: Pocket, Near: 10.4}
	check(t, onPivot(t, v))
}

// randomView is a rig that works, anywhere in what a workshop has and a little beyond.
func randomView(t testing.TB, r *rand.Rand) (View, bool) {
	t.Helper()
	between := func(least, most float64) unit.Length { return unit.Length(least + r.Float64()*(most-least)) }
	degrees := func(least, most float64) unit.Angle { return unit.Degrees(least + r.Float64()*(most-least)) }
	v := View{EdgeAngle: degrees(12, 88), SteelDepth: between(1, 14), Holder: HolderKind(r.IntN(5))}
	if r.IntN(5) > 0 {
		v.Wheel = geometry.RoundWheel(between(80, 400))
	}
	if r.IntN(3) == 0 && v.EdgeAngle < 60*unit.Degree {
		v.SteelAbove = between(1, 8)
	}
	if _, err := v.Wheel.HollowOfDepth(v.EdgeAngle, v.SteelDepth); err != nil {
		return v, false
	}
	if v.Holder == NoHolder {
		tilt := degrees(-60, 20)
		if v.Wheel.Flat() {
			tilt = geometry.FlatTilt(v.EdgeAngle)
		}
		return onPlatform(t, v, tilt), true
	}
	v.StickOut = between(15, 150)
	v.Support = Support{Kind: SupportKind(r.IntN(3)), Near: between(-12, 12), Far: between(0, 12)}
	switch v.Holder {
	case Swing:
		v = swung(v, v.StickOut, degrees(-20, 120))
	case Clamp:
		v.Pivot = geometry.Pivot{Behind: v.StickOut + between(-10, 60), Below: between(-20, 60)}
	case Butted:
		v.StickOut = between(200, 600)
		v.Pivot = geometry.Pivot{Behind: v.StickOut, Below: between(-15, 15)}
	default:
		v.StickOut = 0
		v.Pivot = geometry.Pivot{Behind: between(30, 300), Below: between(-40, 120)}
	}
	gap := v.Wheel.Gap(v.Pivot, v.EdgeAngle)
	return onPivot(t, v), gap > max(15, v.Support.Near+2) && geometry.Conditioning(v.Pivot, v.EdgeAngle) > geometry.LeastConditioning
}

func TestRandomRigs(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	drawn := 0
	for n := 0; n < 3000 && !t.Failed(); n++ {
		v, works := randomView(t, r)
		if !works {
			continue
		}
		drawn++
		if check(t, v); t.Failed() {
			t.Logf("rig %d: %+v", n, v)
		}
	}
	if drawn < 900 {
		t.Errorf("only %d of 3000 rigs work, want 900", drawn)
	}
}

// What nobody told is drawn all the same, without a number that is none.
func TestLittleIsEnough(t *testing.T) {
	for holder := NoHolder; holder <= BarePivot; holder++ {
		for support := AnySupport; support <= Platform; support++ {
			for _, w := range []geometry.Wheel{geometry.RoundWheel(200), geometry.RoundWheel(10), geometry.FlatAbrasive()} {
				v := View{Wheel: w, EdgeAngle: 40 * unit.Degree, Holder: holder, Pivot: geometry.Pivot{Behind: 80, Below: 30}}
				v.Support.Kind = support
				v.Support.At = PlaceSupport(w, v.Pivot, v.EdgeAngle, w.Gap(v.Pivot, v.EdgeAngle))
				v.Pose = w.Pose(v.Pivot, v.EdgeAngle, v.Support.At)
				f := SideView(v)
				checkBounds(t, f)
				if !strings.HasSuffix(f.Description, ".") || strings.Contains(f.Description, "NaN") {
					t.Errorf("description %q", f.Description)
				}
			}
		}
	}
}

// The drawn bevel of unknown size runs out at the underside, as the grind would.
func TestUnknownBevelRunsOutAtTheUnderside(t *testing.T) {
	v := bowl50(t)
	known := SideView(v)
	v.Bevel = geometry.Hollow{}
	if got, want := find[drawing.Arc](t, SideView(v), PartTool), find[drawing.Arc](t, known, PartTool); got != want {
		t.Errorf("arc %+v, want %+v", got, want)
	}
}

func TestPlacedSupportKeepsGapAndLooksNatural(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	for range 2000 {
		p := geometry.Pivot{Behind: unit.Length(30 + 400*r.Float64()), Below: unit.Length(-20 + 100*r.Float64())}
		edge := unit.Degrees(10 + 78*r.Float64())
		w := geometry.RoundWheel(unit.Length(80 + 300*r.Float64()))
		gap := w.Gap(p, edge)
		if geometry.Conditioning(p, edge) < geometry.LeastConditioning {
			continue
		}
		at := PlaceSupport(w, p, edge, gap)
		within(t, "gap", float64(w.GapTo(at)), float64(gap), 1e-6)
		pose := w.Pose(p, edge, at)
		if pitch := pose.Pitch.Degrees(); pitch < -40-1e-6 || pitch > -5+1e-6 {
			t.Errorf("pitch %v° for an edge of %v, want −40 to −5", pitch, edge)
		}
		if natural := 120 - edge.Degrees(); natural > 85+1e-6 && natural < 130-1e-6 {
			within(t, "contact's elevation", pose.Elevation.Degrees(), 30, 30)
		}
		if e := edge.Degrees(); e > 20+1e-6 && e < 55-1e-6 { // a pitch of edge − 60° is allowed
			within(t, "contact's elevation", pose.Elevation.Degrees(), 30, 1e-6)
		}
	}
	flat := geometry.FlatAbrasive()
	p := geometry.Pivot{Behind: 131, Below: 46}
	at := PlaceSupport(flat, p, 50*unit.Degree, flat.Gap(p, 50*unit.Degree))
	within(t, "contact on a flat abrasive", float64(flat.Pose(p, 50*unit.Degree, at).Contact.Up), 0, 1e-9)
}

// An arc that bulges beyond its ends must be inside the box with its bulge.
func TestArcReachesItsBulge(t *testing.T) {
	for _, c := range []struct {
		start, sweep            float64
		left, right, down, high float64
	}{
		{0, 360, -10, 10, -10, 10},
		{-30, 60, 8.660254, 10, -5, 5},
		{60, 60, -5, 5, 8.660254, 10},
		{170, 20, -10, -9.848078, -1.736482, 1.736482},
		{-100, 200, -1.736482, 10, -10, 10},
	} {
		var b drawing.Box
		drawing.Arc{Radius: 10, Start: unit.Degrees(c.start), Sweep: unit.Degrees(c.sweep)}.Reach(&b)
		name := fmt.Sprintf("%v° through %v°: ", c.start, c.sweep)
		within(t, name+"left", float64(b.Least.Out), c.left, 1e-6)
		within(t, name+"right", float64(b.Most.Out), c.right, 1e-6)
		within(t, name+"down", float64(b.Least.Up), c.down, 1e-6)
		within(t, name+"high", float64(b.Most.Up), c.high, 1e-6)
	}
}

// Roles are numbered as on the wire.
func TestRolesAreThoseOfTheWire(t *testing.T) {
	for role, want := range map[drawing.Role]string{
		drawing.RoleUnset: "UNSPECIFIED", drawing.RoleWheel: "WHEEL", drawing.RoleSteel: "STEEL", drawing.RoleHolder: "HOLDER", drawing.RoleSupport: "SUPPORT",
		drawing.RoleDimension: "DIMENSION", drawing.RoleConstruction: "CONSTRUCTION",
	} {
		if got := arrisv1.FigureRole(role).String(); got != "FIGURE_ROLE_"+want {
			t.Errorf("role %d is %s on the wire, want %s", role, got, want)
		}
	}
}

// The clients' sample must be what the service draws today; TestSamplesRender writes it anew where its files are kept.
func TestClientsSampleIsFresh(t *testing.T) {
	text, err := os.ReadFile("../../../client/figure/testdata/bowl-50.json")
	if err != nil {
		t.Fatal(err)
	}
	kept, drawn := &arrisv1.Figure{}, wire(SideView(bowl50(t)))
	if err := protojson.Unmarshal(text, kept); err != nil {
		t.Fatal(err)
	}
	if len(kept.GetItems()) != len(drawn.GetItems()) || kept.GetDescription() != drawn.GetDescription() {
		t.Fatal("the sample is stale")
	}
	for i, item := range kept.GetItems() {
		if a, b := fmt.Sprint(numbersIn(item)), fmt.Sprint(numbersIn(drawn.GetItems()[i])); a != b {
			t.Errorf("item %d (%s) is stale: %s, now %s", i, item.GetPart(), a, b)
		}
	}
}

// numbersIn lists an item's numbers to a micrometre, and its words.
func numbersIn(item *arrisv1.FigureItem) (all []string) {
	add := func(values ...float64) {
		for _, v := range values {
			all = append(all, fmt.Sprintf("%.3f", math.Round(v*1000)/1000+0))
		}
	}
	for _, p := range item.GetPath().GetPoints() {
		add(p.GetOutMm(), p.GetUpMm())
	}
	a, d, n := item.GetArc(), item.GetDimension(), item.GetAngle()
	add(a.GetCentre().GetOutMm(), a.GetCentre().GetUpMm(), a.GetRadiusMm(), a.GetStartDeg(), a.GetSweepDeg())
	add(d.GetFrom().GetOutMm(), d.GetFrom().GetUpMm(), d.GetTo().GetOutMm(), d.GetTo().GetUpMm(), d.GetOffsetMm())
	add(n.GetApex().GetOutMm(), n.GetApex().GetUpMm(), n.GetRadiusMm(), n.GetStartDeg(), n.GetSweepDeg())
	return append(all, item.GetPart(), item.GetRole().String(), item.GetText().GetText(), d.GetText(), n.GetText())
}
