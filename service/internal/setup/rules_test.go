package setup_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// gapFor is the law of cosines on axle, pivot and nose: d² = R² + r² + 2R (a sin β − h cos β), less R.
func gapFor(radius, behind, below, edge float64) float64 {
	sin, cos := math.Sincos(edge * degree)
	return math.Sqrt(radius*radius+behind*behind+below*below+2*radius*(behind*sin-below*cos)) - radius
}

func skew(thick, sigma float64) *shop.Tool {
	return &shop.Tool{Kind: shop.Skew, Thickness: length(thick), EdgeToSide: angle(sigma)}
}

func parting(thick float64) *shop.Tool {
	return &shop.Tool{Kind: shop.PartingTool, Thickness: length(thick)}
}

func negativeRake() *shop.Tool {
	return &shop.Tool{Kind: shop.NegativeRakeScraper, Thickness: length(8), EdgeBelowTop: length(2)}
}

func gouge() *shop.Tool { return &shop.Tool{Kind: shop.BowlGouge, SteelUnderFlute: length(8)} }

func clampWith(change func(*shop.Holder)) *shop.Holder {
	h := clamp(14, 11)
	change(h)
	return h
}

func onBed(h *shop.Holder)    { h.FromBed = true }
func turning(h *shop.Holder)  { h.TurnsOver = true }
func yawed(h *shop.Holder)    { h.Yawed = true }
func allTurns(h *shop.Holder) { h.FromBed, h.TurnsOver = true, true }

// TestPivotOnEverySide holds the place of the pivot, behind and below the edge, that every holder has on every side of a tool. The
// blade is 8 thick with its edge in the middle (negative rake: 2 below the top), so the edge lies 4 (6, turned 2) above the bed. The
// clamp's bar is 14 behind its face and 11 below what it is measured from, the stick-out 60.
func TestPivotOnEverySide(t *testing.T) {
	sin70 := math.Sin(70 * degree)
	legBehind, legBelow := 22+74*math.Cos(30*degree), 9+74*math.Sin(30*degree)
	for _, c := range []struct {
		name   string
		holder *shop.Holder
		tool   *shop.Tool
		given  shop.Settings
		sides  map[setup.Side][2]float64 // behind, below
	}{
		{"gouge, clamp from the flute floor", clamp(14, 11), gouge(), stuckOut(60), map[setup.Side][2]float64{setup.OnlySide: {74, 11}}},
		{"gouge, clamp from its bed", clampWith(onBed), gouge(), stuckOut(60), map[setup.Side][2]float64{setup.OnlySide: {74, 19}}},
		{"gouge, a clamp that can be turned over", clampWith(turning), gouge(), stuckOut(60), map[setup.Side][2]float64{setup.OnlySide: {74, 11}}},
		{"blade laid again on the bed", clampWith(onBed), parting(8), stuckOut(60),
			map[setup.Side][2]float64{setup.FirstSide: {74, 15}, setup.SecondSide: {74, 15}}},
		{"blade turned with the clamp, h = b ± e", clampWith(allTurns), parting(8), stuckOut(60),
			map[setup.Side][2]float64{setup.FirstSide: {74, 15}, setup.SecondSide: {74, 7}}},
		{"the same, measured from the mid-plane: 2e less", clampWith(turning), parting(8), stuckOut(60),
			map[setup.Side][2]float64{setup.FirstSide: {74, 11}, setup.SecondSide: {74, 3}}},
		{"negative rake laid again on its other face", clampWith(onBed), negativeRake(), stuckOut(60),
			map[setup.Side][2]float64{setup.FirstSide: {74, 17}, setup.UpperSide: {74, 13}}},
		{"the same, measured from the edge's plane on the first face", clamp(14, 11), negativeRake(), stuckOut(60),
			map[setup.Side][2]float64{setup.FirstSide: {74, 11}, setup.UpperSide: {74, 7}}},
		{"negative rake turned with the clamp", clampWith(allTurns), negativeRake(), stuckOut(60),
			map[setup.Side][2]float64{setup.FirstSide: {74, 17}, setup.UpperSide: {74, 5}}},
		{"swing holder, the leg below on both sides", swing(), parting(8), swung(45, 30),
			map[setup.Side][2]float64{setup.FirstSide: {45 + legBehind, legBelow}, setup.SecondSide: {45 + legBehind, legBelow}}},
		{"butted handle, its seat turned with it", &shop.Holder{Kind: shop.Butted, Below: -11}, parting(8), stuckOut(430),
			map[setup.Side][2]float64{setup.FirstSide: {430, -11}, setup.SecondSide: {430, 11}}},
		{"skew, the clamp square to the edge: only the stick-out is scaled", clampWith(onBed), skew(8, 70), stuckOut(60),
			map[setup.Side][2]float64{setup.FirstSide: {60*sin70 + 14, 15}}},
		{"skew, the clamp yawed with the blade: both are", clampWith(yawed), skew(8, 70), stuckOut(60),
			map[setup.Side][2]float64{setup.FirstSide: {74 * sin70, 11}}},
		{"skew, butted: the whole length is", &shop.Holder{Kind: shop.Butted}, skew(8, 70), stuckOut(430),
			map[setup.Side][2]float64{setup.FirstSide: {430 * sin70, 0}}},
	} {
		q := setup.Question{Common: rig(nil, wheel(200), c.holder, c.tool), Given: c.given}
		q.Grind = &shop.Grind{Bevels: []shop.Bevel{front(35)}}
		if c.tool.Kind == shop.NegativeRakeScraper {
			q.Grind.Upper = shop.Some(front(35))
		}
		seen := 0
		for _, step := range mustSolve(t, q).Steps {
			want, ok := c.sides[step.Side]
			if !ok {
				continue
			}
			seen++
			near(t, fmt.Sprintf("%s, side %d: gap", c.name, step.Side), float64(step.Support.Lengths[shop.DatumWheelGap].Exact), gapFor(100, want[0], want[1], 35), 1e-9)
		}
		if seen != len(c.sides) {
			t.Errorf("%s: %d of %d sides", c.name, seen, len(c.sides))
		}
	}
}

// TestPocketAside holds how far beside a point pivot a skew's edge meets the wheel: a·cos σ. A bar has no such place.
func TestPocketAside(t *testing.T) {
	for _, c := range []struct {
		holder  *shop.Holder
		support *shop.Support
		given   shop.Settings
		sigma   float64
		want    float64
	}{
		{pivot(150, 0), nil, shop.Settings{}, 70, 51.303},
		{&shop.Holder{Kind: shop.Butted}, nil, stuckOut(430), 60, 215},
		{pivot(150, 0), &shop.Support{ID: "bar", Kind: shop.Bar, Near: 6, Far: 6, Top: 6}, shop.Settings{}, 70, 0},
		{clamp(14, 11), nil, stuckOut(150), 70, 0},
	} {
		var st *shop.Station
		if c.support != nil {
			st = station(*c.support)
		}
		q := setup.Question{Common: rig(st, wheel(200), c.holder, skew(8, c.sigma)), Given: c.given}
		q.Grind = grind(front(20))
		s := mustSolve(t, q)
		near(t, "aside", float64(s.Steps[0].PocketAside), c.want, 0.0005)
		if found := caution(s.Cautions, "POCKET_ASIDE") != nil; found != (c.want > 0) {
			t.Errorf("σ %v: POCKET_ASIDE is %v", c.sigma, found)
		}
	}
}

// TestBevelsOnAPlatform holds that a relief is set by the line through the land's end. A land of 3 mm from 60° on R 100 has its end
// 3·(cos, sin)(60° + asin 0.015) behind and below the edge; the wheel's tangent there is 60° + 2·asin 0.015 = 61.72°.
func TestBevelsOnAPlatform(t *testing.T) {
	q := setup.Question{Common: rig(nil, wheel(200), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)})}
	q.Grind = grind(land(60, 3), front(40))
	s := mustSolve(t, q)
	below := 3 * math.Sin(60*degree+math.Asin(0.015))
	relief, edge := s.Steps[0], s.Steps[1]
	if relief.Bevel != 1 || edge.Bevel != 0 {
		t.Fatalf("bevels in the order %d, %d; the edge comes last", relief.Bevel, edge.Bevel)
	}
	near(t, "the edge's surface", float64(edge.Support.Lengths[shop.DatumPlatformToAxle].Exact), 100*math.Cos(60*degree)-6, 1e-9)
	near(t, "the relief's surface", float64(relief.Support.Lengths[shop.DatumPlatformToAxle].Exact), 100*math.Cos(40*degree)+below-6, 1e-9)

	q.Grind = grind(land(60, 3), front(61.73))
	_, refusal := refusedSolve(t, q, setup.BevelsNotFalling)
	near(t, "the limit", refusal.Most.Value, 60+2*math.Asin(0.015)/degree, 1e-9)
	q.Grind = grind(land(60, 3), front(refusal.Most.Value-1e-6))
	mustSolve(t, q)
}

// TestDatumsOfOnePlace puts a support's centre 150 out and 80 up from the axle of a wheel of 200 (170 from the axle: 8, 15, 17) and
// reads every datum there; then it sets the support by each, and all the others follow.
func TestDatumsOfOnePlace(t *testing.T) {
	aBar := shop.Support{ID: "bar", Kind: shop.Bar, Near: 6, Far: 6, Top: 6, Slide: slide(120, 40, math.Atan2(4, 3)/degree, 0, 100), Reference: length(-140)}
	v := shop.Support{ID: "v", Kind: shop.Pocket, Near: -5 * math.Sqrt2, Slide: aBar.Slide, Reference: length(-140)} // a 5 mm ball in a 90° V
	for _, c := range []struct {
		support shop.Support
		wheel   *shop.Wheel
		holder  *shop.Holder
		want    map[shop.Datum]float64
	}{
		{aBar, wheel(200), pivot(120, 40), map[shop.Datum]float64{
			shop.DatumSlide: 50, shop.DatumWheelGap: 170 - 100 - 6, shop.DatumWheelGapFar: 170 - 100 + 6, shop.DatumPivotToAxle: 170,
			shop.DatumFaceDistance: 150 - 100 - 6, shop.DatumHeight: 80 + 6 + 140,
		}},
		{v, wheel(200), pivot(120, 40), map[shop.Datum]float64{
			shop.DatumSlide: 50, shop.DatumWheelGap: 70 + 7.0710678, shop.DatumPivotToAxle: 170, shop.DatumFaceDistance: 50 + 7.0710678, shop.DatumHeight: 80 + 140,
		}},
		// Against a flat abrasive the gap is the distance out; there is no axle.
		{aBar, flat(), pivot(200, 30), map[shop.Datum]float64{
			shop.DatumSlide: 50, shop.DatumWheelGap: 150 - 6, shop.DatumWheelGapFar: 150 + 6, shop.DatumFaceDistance: 150 - 6, shop.DatumHeight: 226,
		}},
	} {
		q := rig(station(c.support), c.wheel, c.holder, nil)
		for set := range c.want {
			p := mustPredict(t, q, at(set, c.want[set]))
			for d, l := range p.Steps[0].Support.Lengths {
				want, has := c.want[shop.Datum(d)]
				if has != (l != nil) {
					t.Errorf("%s set by %v: has %v is %v", c.support.ID, set, shop.Datum(d), l != nil)
				} else if has {
					near(t, fmt.Sprintf("%s set by %v: %v", c.support.ID, set, shop.Datum(d)), float64(l.Exact), want, 1e-6)
				}
			}
		}
	}
}

// TestDatumsThatAMachineHasNot names them as the question's own fields.
func TestDatumsThatAMachineHasNot(t *testing.T) {
	level, upright := pocket(), bar()
	upright.Reference = shop.Maybe[unit.Length]{}
	for _, c := range []struct {
		name    string
		support shop.Support
		wheel   *shop.Wheel
		datum   shop.Datum
	}{
		{"the far side of a pocket", level, wheel(200), shop.DatumWheelGapFar},
		{"the height of a level slide", level, wheel(200), shop.DatumHeight},
		{"the face distance of an upright slide", upright, wheel(200), shop.DatumFaceDistance},
		{"a height over nothing", upright, wheel(200), shop.DatumHeight},
		{"an axle of a flat abrasive", level, flat(), shop.DatumPivotToAxle},
		{"the tilt of a pocket", level, wheel(200), shop.DatumTilt},
		{"the slide of what has none", shop.Support{ID: "bare", Kind: shop.Pocket}, wheel(200), shop.DatumSlide},
	} {
		field := c.datum.String() + "_mm"
		if c.datum == shop.DatumTilt {
			field = c.datum.String() + "_deg"
		}
		common := rig(station(c.support), c.wheel, pivot(250, 30), nil)
		_, err := solver.Predict(t.Context(), setup.Forecast{Common: common, Settings: at(c.datum, 20)})
		wantField(t, c.name, err, "settings."+field)
		q := setup.Question{Common: common, Now: &shop.Settings{Datum: c.datum}}
		q.Grind = grind(front(40))
		_, err = solver.Solve(t.Context(), q)
		wantField(t, c.name+", now", err, "now."+field)

		q.Rig.Holder.Inline, q.Now = swing(), nil
		q.Rig.Station.Inline.Supports[0].Kind = shop.Pocket
		q.Free, q.Given = []setup.Free{setup.FreeStickOut}, at(c.datum, 20)
		q.Given.Leg = angle(30)
		if c.datum == shop.DatumHeight && c.name != "the height of a level slide" {
			continue
		}
		_, err = solver.Solve(t.Context(), q)
		wantField(t, c.name+", given", err, "given."+field)
	}
}

// wantField wants one violation, whose path and message begin with a field.
func wantField(t *testing.T, name string, err error, field string) {
	t.Helper()
	f := refused(t, err, fault.InvalidField)
	if len(f.Violations) != 1 || f.Violations[0].Field != field || !strings.HasPrefix(f.Message, field+":") {
		t.Errorf("%s: %v, violations %v, want field %s", name, f, f.Violations, field)
	}
}

// TestFlatAbrasive holds the straight relations that are left when there is no curvature: the gap is a sin β − h cos β, a platform's
// tilt β − 90°, a bevel reads what it is, and nothing wears by a diameter.
func TestFlatAbrasive(t *testing.T) {
	q := setup.Question{Common: rig(station(pocket()), flat(), swing(), gouge()), Given: swung(45, 30)}
	q.Rig.Station.Inline.Supports[0].Slide = slide(0, -110, 0, 40, 260) // out of the face
	q.Grind = grind(front(50))
	step := mustSolve(t, q).Steps[0]
	a, h := 45+22+74*math.Cos(30*degree), 9+74*math.Sin(30*degree)
	near(t, "slide", float64(step.Support.Lengths[shop.DatumSlide].Exact), a*math.Sin(50*degree)-h*math.Cos(50*degree), 1e-9)
	if p := step.Predicted; p.WearPerMM.Known || p.ContactAngle.Known || p.Reading.Value != p.Edge || p.Hollow.Value != 0 || !p.ContactHeight.Known {
		t.Errorf("predicted %+v", p)
	}
	// The edge lies a cos β + h sin β up the face from the ball.
	near(t, "contact", float64(step.Predicted.ContactHeight.Value), -110+a*math.Cos(float64(step.Predicted.Edge))+h*math.Sin(float64(step.Predicted.Edge)), 1e-6)

	for _, st := range []*shop.Station{nil, station(tilting(40, 10, 5, -80, 30))} {
		q := setup.Question{Common: rig(st, flat(), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper})} // its thickness does not matter here
		q.Grind = grind(front(75))
		step := mustSolve(t, q).Steps[0]
		if step.Support.SetBy != shop.DatumTilt {
			t.Fatalf("set by %v", step.Support.SetBy)
		}
		nearDeg(t, "tilt", step.Support.Tilt.Exact, -15, 1e-9)
		near(t, "slope", step.Support.Tilt.PerAngle, 1, 0)
		if known := step.Predicted.ContactHeight.Known; known != (st != nil) {
			t.Errorf("a contact height is told: %v; the table is described: %v", known, st != nil)
		}
		nearDeg(t, "predicted again", mustPredict(t, q.Common, at(shop.DatumTilt, -15)).Steps[0].Predicted.Edge, 75, 1e-9)
	}

	sliding := tilting(40, 10, 5, -80, 30)
	sliding.Slide = slide(40, 10, 0, -100, 100)
	q = setup.Question{Common: rig(station(sliding), flat(), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper})}
	q.Grind = grind(front(75))
	refusedSolve(t, q, setup.RigDoesNotFit)
}

// TestWhichOfTwoPlacesOnASlide uses an upright slide 150 in front of the axle, on which a pivot 250 behind and 30 below the edge of
// 40° comes to its gap twice, as far above the axle as below. Without a better reason it is the one where a growing reading leads
// away from the wheel; the travel's end and where the machine stands now are better reasons, and the other root is as good a place.
func TestWhichOfTwoPlacesOnASlide(t *testing.T) {
	d := 100 + gapFor(100, 250, 30, 40)
	up := math.Sqrt(d*d - 150*150)
	for _, c := range []struct {
		name      string
		direction float64
		least     float64
		most      float64
		now       shop.Settings
		want      float64 // up
	}{
		{"both within travel", 90, -400, 400, shop.Settings{}, up},
		{"reading grows downwards", -90, -400, 400, shop.Settings{}, -up},
		{"the travel ends first", 90, -400, up - 1, shop.Settings{}, -up},
		{"the machine stands at the other", 90, -400, 400, at(shop.DatumSlide, -100), -up},
		{"the machine stands at this", 90, -400, 400, at(shop.DatumSlide, 100), up},
		{"where it stands is beyond the travel", 90, 0, 400, at(shop.DatumSlide, -100), up},
	} {
		s := station(shop.Support{ID: "pocket", Kind: shop.Pocket, Slide: slide(150, 0, c.direction, c.least, c.most)})
		q := setup.Question{Common: rig(s, wheel(200), pivot(250, 30), nil), Rounding: setup.Rounding{LengthStep: 0.001}}
		q.Grind = grind(front(40))
		if c.now.Datum != shop.DatumUnset {
			q.Now = &c.now
		}
		got := mustSolve(t, q).Steps[0].Support.Lengths[shop.DatumSlide].Exact
		near(t, c.name, float64(got)*math.Sin(c.direction*degree), c.want, 1e-9)
	}
	// Neither is within the travel: the refusal says what the reading would have to be.
	q := setup.Question{Common: rig(station(shop.Support{ID: "pocket", Kind: shop.Pocket, Slide: slide(150, 0, 90, 0, 20)}), wheel(200), pivot(250, 30), nil)}
	q.Grind = grind(front(40))
	_, refusal := refusedSolve(t, q, setup.BeyondTravel)
	near(t, "reading", refusal.Value.Value, up, 1e-9)
	near(t, "most", refusal.Most.Value, 20, 0)
	// The slide passes too far away.
	q.Rig.Station.Inline.Supports[0].Slide = slide(d+1, 0, 90, -400, 400)
	_, refusal = refusedSolve(t, q, setup.BeyondTravel)
	near(t, "nearest gap", refusal.Least.Value, d+1-100, 1e-9)
}

// TestTravelWinsOverRounding takes the reference set-up, whose exact reading is 177.114 and gap 108.493, and lets the travel end just
// behind it: the step that lies beyond is not taken, whichever datum is rounded.
func TestTravelWinsOverRounding(t *testing.T) {
	for _, c := range []struct {
		datum       shop.Datum
		step        unit.Length
		least, most float64
		want        float64
	}{
		{shop.DatumWheelGap, 0.1, 120, 260, 108.5},
		{shop.DatumWheelGap, 0.1, 120, 177.116, 108.4}, // 108.5 would be at 177.122
		{shop.DatumSlide, 0.25, 120, 260, 177},
		{shop.DatumSlide, 0.25, 177.1, 260, 177.25},
		{shop.DatumSlide, 0.25, 177.1, 177.2, 177.114042}, // no step lies within: the exact place
		{shop.DatumFaceDistance, 0.5, 177.1, 260, 77.5},
		{shop.DatumPivotToAxle, 1, 120, 260, 208},
		{shop.DatumPivotToAxle, 1, 177, 260, 209},
	} {
		q := reference(front(50))
		s := &q.Rig.Station.Inline.Supports[0]
		s.Datum, s.Slide = c.datum, slide(0, -110, 0, c.least, c.most)
		q.Rounding.LengthStep = c.step
		step := mustSolve(t, q).Steps[0]
		near(t, fmt.Sprintf("%v in steps of %v within %v to %v", c.datum, c.step, c.least, c.most), float64(step.Support.Lengths[c.datum].Set), c.want, 1e-6)
	}
	// The reading beside it stays within the travel too.
	q := reference(front(50))
	q.Rig.Station.Inline.Supports[0].Slide = slide(0, -110, 0, 177.11, 260)
	if got := mustSolve(t, q).Steps[0].Support.Lengths[shop.DatumSlide].Set; got < 177.11 {
		t.Errorf("told to set %v, below the travel", got)
	}
}

// TestPlatformTilts holds the rounding of a tilt, its limits, and which of two tilts is taken.
func TestPlatformTilts(t *testing.T) {
	scraper := &shop.Tool{Kind: shop.Scraper, Thickness: length(6)}
	ask := func(table shop.Support, now *shop.Settings) setup.Question {
		q := setup.Question{Common: rig(station(table), wheel(200), &shop.Holder{}, scraper), Now: now}
		q.Grind = grind(front(75))
		return q
	}
	// e = −H_out sin τ + H_up cos τ + p + 6 = 100 cos 75°, with the hinge 101.2 out and 4 below, the surface 2 above it.
	exact := func(tau float64) float64 {
		sin, cos := math.Sincos(tau * degree)
		return -101.2*sin - 4*cos + 2 + 6 - 100*math.Cos(75*degree)
	}
	tau := bisect(-60, 60, exact)
	step := mustSolve(t, ask(tilting(101.2, -4, 2, -75, 30), nil)).Steps[0]
	nearDeg(t, "tilt", step.Support.Tilt.Exact, tau, 1e-9)
	nearDeg(t, "set", step.Support.Tilt.Set, math.Round(tau*2)/2, 1e-9)

	limited := mustSolve(t, ask(tilting(101.2, -4, 2, tau-0.01, 30), nil)).Steps[0]
	if set := limited.Support.Tilt.Set.Degrees(); set < tau-0.01-1e-6 {
		t.Errorf("told to tilt to %v, beyond %v", set, tau-0.01)
	}
	_, refusal := refusedSolve(t, ask(tilting(101.2, -4, 2, tau+0.1, 30), nil), setup.BeyondTravel)
	near(t, "the tilt wanted", refusal.Value.Value, tau, 1e-9)

	// With the hinge under the edge, 20 out and 60 up, there are two tilts; the more level one, unless the table stands nearer to the other.
	exact = func(tau float64) float64 {
		sin, cos := math.Sincos(tau * degree)
		return -20*sin + 60*cos + 2 + 6 - 100*math.Cos(75*degree)
	}
	level, steep := bisect(0, 90, exact), bisect(-150, -20, exact)
	both := tilting(20, 60, 2, -120, 60)
	nearDeg(t, "the more level one", mustSolve(t, ask(both, nil)).Steps[0].Support.Tilt.Exact, level, 1e-9)
	now := at(shop.DatumTilt, -80)
	s := mustSolve(t, ask(both, &now)).Steps[0].Support
	nearDeg(t, "the nearer one", s.Tilt.Exact, steep, 1e-9)
	nearDeg(t, "and the way there", s.Move.Tilt.Value, s.Tilt.Set.Degrees()+80, 1e-9)
	if !strings.HasPrefix(s.Move.Text, "tilt the platform's near side down by ") {
		t.Errorf("move %q", s.Move.Text)
	}
	nearDeg(t, "the only one within range", mustSolve(t, ask(tilting(20, 60, 2, -120, 0), nil)).Steps[0].Support.Tilt.Exact, steep, 1e-9)

	// A table that slides keeps its tilt, so there is none to set.
	sliding := shop.Support{ID: "t", Kind: shop.Platform, Table: shop.Table{Tilt: angle(-12.3)}, Slide: slide(101, -50, 90, 0, 200)}
	step = mustSolve(t, ask(sliding, nil)).Steps[0]
	if step.Support.Tilt != nil || step.Support.SetBy != shop.DatumSlide {
		t.Errorf("a sliding table is set by %v, tilt %+v", step.Support.SetBy, step.Support.Tilt)
	}
	sliding.Slide = slide(101, -50, -12.3, 0, 200)
	refusedSolve(t, ask(sliding, nil), setup.RigDoesNotFit) // it slides along its own surface
}

func TestRestGap(t *testing.T) {
	table := tilting(103, -4, 2, -75, 30)
	table.Table.Front = length(1)
	q := setup.Question{Common: rig(station(table), wheel(200), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)})}
	q.Grind = grind(front(75))
	s := mustSolve(t, q)
	tau := s.Steps[0].Support.Tilt.Set
	sin, cos := math.Sincos(float64(tau))
	gap := math.Hypot(103-cos-2*sin, -4-sin+2*cos) - 100 // the front edge: 1 before the hinge along the surface, 2 above it
	near(t, "rest gap", float64(s.Steps[0].Predicted.RestGap.Value), gap, 1e-9)
	for _, c := range []struct {
		allowed shop.Maybe[unit.Length]
		warns   bool
	}{{length(gap - 0.01), true}, {length(gap + 0.01), false}, {shop.Maybe[unit.Length]{}, gap > 3}, {length(50), gap > 3}} {
		q.Rig.Station.Inline.LargestRestGap = c.allowed
		if warns := caution(mustSolve(t, q).Cautions, "REST_GAP_TOO_WIDE") != nil; warns != c.warns {
			t.Errorf("a gap of %.3f with %v allowed: warned is %v", gap, c.allowed, warns)
		}
	}
	table.Table.Front = length(10)
	q.Rig.Station.Inline = station(table)
	refusedSolve(t, q, setup.SupportInWheel)
}

// TestReadings asks for a bevel by what a protractor shows: the chord, θ/2 = asin(L/2R) above the edge.
func TestReadings(t *testing.T) {
	sole := func(b shop.Bevel, tool *shop.Tool, w *shop.Wheel) setup.Question {
		q := setup.Question{Common: rig(nil, w, pivot(131, 46), tool)}
		q.Grind = grind(b)
		return q
	}
	reading := shop.Bevel{Of: shop.Reading, Angle: unit.Degrees(50)}
	chord := 8 / math.Sin(50*degree)
	step := mustSolve(t, sole(reading, gouge(), wheel(200))).Steps[0]
	nearDeg(t, "edge", step.Wanted, 50-math.Asin(chord/200)/degree, 1e-9)
	near(t, "width", float64(step.Predicted.Width.Value), chord, 0.02) // of what is set

	wide := reading
	wide.Width = length(4)
	nearDeg(t, "edge of a land", mustSolve(t, sole(wide, gouge(), wheel(200))).Steps[0].Wanted, 50-math.Asin(4.0/200)/degree, 1e-9)
	nearDeg(t, "on a flat abrasive", mustSolve(t, sole(reading, gouge(), flat())).Steps[0].Wanted, 50, 1e-9)

	both := shop.Bevel{Of: shop.IncludedReading, Angle: unit.Degrees(50)}
	steps := mustSolve(t, sole(both, parting(8), wheel(200))).Steps
	nearDeg(t, "each face", steps[0].Wanted, 25-math.Asin(4/math.Sin(25*degree)/200)/degree, 1e-9)
	nearDeg(t, "both, as they will be", steps[0].Predicted.IncludedReading.Value, 50, 0.2)
	nearDeg(t, "their edges' sum", steps[1].Predicted.IncludedEdge.Value, (steps[0].Predicted.Edge + steps[1].Predicted.Edge).Degrees(), 1e-9)

	_, err := solver.Solve(t.Context(), sole(reading, nil, wheel(200)))
	wantField(t, "no steel", err, "grind.bevels[0]")
	_, err = solver.Solve(t.Context(), sole(both, gouge(), wheel(200)))
	wantField(t, "included, of one bevel", err, "grind.bevels[0]")

	long := reading
	long.Width = length(200.5)
	refusedSolve(t, sole(long, nil, wheel(200)), setup.TooKeen)
	keen := shop.Bevel{Of: shop.Reading, Angle: unit.Degrees(8)}
	refusedSolve(t, sole(keen, gouge(), wheel(200)), setup.TooKeen) // 57.5 mm long: its front end would be below 0
}

// TestNegativeRake holds the split of an included angle and what leaves nothing of it.
func TestNegativeRake(t *testing.T) {
	ask := func(lower, upper shop.Bevel) setup.Question {
		q := setup.Question{Common: rig(nil, wheel(200), &shop.Holder{}, negativeRake())}
		q.Grind = &shop.Grind{Bevels: []shop.Bevel{lower}, Upper: shop.Some(upper)}
		return q
	}
	whole := shop.Bevel{Of: shop.IncludedFrontAngle, Angle: unit.Degrees(60)}
	s := mustSolve(t, ask(whole, front(20)))
	if s.Steps[0].Side != setup.UpperSide || s.Steps[1].Side != setup.FirstSide {
		t.Fatal("the upper bevel comes first")
	}
	nearDeg(t, "lower", s.Steps[1].Wanted, 40, 1e-9)
	near(t, "upper surface: the edge is 2 below the top", float64(s.Steps[0].Support.Lengths[shop.DatumPlatformToAxle].Exact), 100*math.Cos(20*degree)-2, 1e-9)
	near(t, "lower surface: 6 above the bottom", float64(s.Steps[1].Support.Lengths[shop.DatumPlatformToAxle].Exact), 100*math.Cos(40*degree)-6, 1e-9)
	if !strings.HasPrefix(s.Steps[0].Text, "Lay the tool on its upper face") || !strings.HasPrefix(s.Steps[1].Text, "Turn the tool over") {
		t.Errorf("texts %q, %q", s.Steps[0].Text, s.Steps[1].Text)
	}

	whole.Angle = unit.Degrees(20)
	refusedSolve(t, ask(whole, front(20)), setup.TooKeen)
	refusedSolve(t, ask(whole, front(30)), setup.TooKeen)
	_, err := solver.Solve(t.Context(), func() setup.Question { q := ask(whole, front(20)); q.Grind.Upper.Known = false; return q }())
	wantField(t, "no upper bevel", err, "grind.upper_bevel")
	q := reference(front(50))
	q.Grind.Upper = shop.Some(front(20))
	_, err = solver.Solve(t.Context(), q)
	wantField(t, "an upper bevel on a gouge", err, "grind.upper_bevel")

	edge90 := ask(front(60), front(30))
	if caution(mustSolve(t, edge90).Cautions, "NO_GRINDING_BURR") == nil && mustSolve(t, edge90).Steps[1].Predicted.IncludedEdge.Value >= unit.Degrees(90) {
		t.Error("90° together and no word of the burr")
	}
	refusedSolve(t, ask(front(60), front(31)), setup.TooBlunt)
	thin := ask(front(40), front(20))
	thin.Rig.Tool.Inline.EdgeBelowTop = length(8)
	_, err = solver.Solve(t.Context(), thin)
	wantField(t, "an edge below the blade", err, "rig.tool.edge_below_top_mm")
}

// TestUnmeasuredTools names what has to be measured before a height above a bed is known.
func TestUnmeasuredTools(t *testing.T) {
	for _, c := range []struct {
		name   string
		holder *shop.Holder
		tool   *shop.Tool
		fields string
	}{
		{"a scraper on a platform", &shop.Holder{}, &shop.Tool{Kind: shop.Scraper}, "rig.tool.blade_thickness_mm"},
		{"a scraper on a clamp's bed", clampWith(onBed), &shop.Tool{Kind: shop.Scraper}, "rig.tool.blade_thickness_mm"},
		{"a gouge on a clamp's bed", clampWith(onBed), &shop.Tool{Kind: shop.BowlGouge}, "rig.tool.steel_under_flute_mm"},
		{"a skew turned with the clamp", clampWith(turning), &shop.Tool{Kind: shop.Skew}, "rig.tool.blade_thickness_mm"},
		{"negative rake", clamp(14, 11), &shop.Tool{Kind: shop.NegativeRakeScraper}, "rig.tool.blade_thickness_mm rig.tool.edge_below_top_mm"},
		{"negative rake, half", &shop.Holder{}, &shop.Tool{Kind: shop.NegativeRakeScraper, Thickness: length(8)}, "rig.tool.edge_below_top_mm"},
		{"a skew laid again", clamp(14, 11), &shop.Tool{Kind: shop.Skew}, ""},
		{"a gouge in a clamp that could be turned", clampWith(turning), &shop.Tool{Kind: shop.BowlGouge}, ""},
	} {
		q := setup.Question{Common: rig(nil, wheel(200), c.holder, c.tool), Given: stuckOut(60)}
		q.Grind = &shop.Grind{Bevels: []shop.Bevel{front(35)}, Upper: shop.Maybe[shop.Bevel]{Value: front(20), Known: c.tool.Kind == shop.NegativeRakeScraper}}
		_, err := solver.Solve(t.Context(), q)
		var fields []string
		if f, ok := fault.As(err); ok {
			for _, v := range f.Violations {
				fields = append(fields, v.Field)
			}
		}
		if got := strings.Join(fields, " "); got != c.fields || (err == nil) != (c.fields == "") {
			t.Errorf("%s: %v, fields %q, want %q", c.name, err, got, c.fields)
		}
		_, err = solver.Predict(t.Context(), setup.Forecast{Common: func() setup.Common { k := q.Common; k.Grind = nil; return k }(),
			Settings: shop.Settings{StickOut: length(60), Datum: map[bool]shop.Datum{true: shop.DatumPlatformToAxle, false: shop.DatumWheelGap}[c.holder.Kind == shop.NoHolder], Support: 60}})
		if (err == nil) != (c.fields == "") {
			t.Errorf("%s, predicted: %v", c.name, err)
		}
	}
}

// TestWhatIsFree goes through every combination of free and given settings on a swing holder with leg positions.
func TestWhatIsFree(t *testing.T) {
	const support, stick, leg = setup.FreeSupport, setup.FreeStickOut, setup.FreeLeg
	positions := swing()
	positions.Positions = []shop.LegPosition{{ID: "1", Angle: unit.Degrees(15)}, {ID: "2", Angle: unit.Degrees(30)}}
	for _, c := range []struct {
		name   string
		holder *shop.Holder
		free   []setup.Free
		given  shop.Settings
		reason fault.Reason // empty: it works
		within float64      // degrees of the angle wanted
	}{
		{"the support, by default", swing(), nil, swung(45, 30), "", 0.06},
		{"the support", swing(), []setup.Free{support}, swung(45, 30), "", 0.06},
		{"the support at a leg position", positions, []setup.Free{support}, shop.Settings{StickOut: length(45), Position: "2"}, "", 0.06},
		{"the stick-out", swing(), []setup.Free{stick}, shop.Settings{Leg: angle(30), Datum: shop.DatumWheelGap, Support: 105}, "", 0.06},
		{"the leg", swing(), []setup.Free{leg}, shop.Settings{StickOut: length(45), Datum: shop.DatumSlide, Support: 175}, "", 0.2},
		{"the leg among positions", positions, []setup.Free{leg}, shop.Settings{StickOut: length(45), Datum: shop.DatumWheelGap, Support: 108.5}, "", 0.01},
		{"stick-out and leg", swing(), []setup.Free{stick, leg}, at(shop.DatumWheelGap, 100), "", 0.051},
		{"stick-out and leg position", positions, []setup.Free{stick, leg}, at(shop.DatumWheelGap, 100), "", 0.06},
		{"support and stick-out", swing(), []setup.Free{support, stick}, shop.Settings{Leg: angle(30)}, "", 0.051},
		{"support and leg", swing(), []setup.Free{support, leg}, stuckOut(45), "", 0.051},
		{"everything", swing(), []setup.Free{support, stick, leg}, shop.Settings{}, "", 0.051},
		{"everything, on positions", positions, []setup.Free{leg, stick, support}, shop.Settings{}, "", 0.051},
		{"nothing: all is given", swing(), nil, shop.Settings{StickOut: length(45), Leg: angle(30), Datum: shop.DatumWheelGap, Support: 100}, setup.NothingFree, 0},
		{"the support, given too", swing(), []setup.Free{support}, shop.Settings{StickOut: length(45), Leg: angle(30), Datum: shop.DatumWheelGap, Support: 100}, setup.NothingFree, 0},
		{"the stick-out, given too", swing(), []setup.Free{support, stick}, swung(45, 30), setup.NothingFree, 0},
		{"the leg, given too", swing(), []setup.Free{support, leg}, swung(45, 30), setup.NothingFree, 0},
		{"the leg, given by position", positions, []setup.Free{support, leg}, shop.Settings{StickOut: length(45), Position: "2"}, setup.NothingFree, 0},
		{"the leg of a clamp", clamp(14, 16), []setup.Free{support, leg}, stuckOut(45), setup.NothingFree, 0},
		{"the stick-out of a bare pivot", pivot(131, 46), []setup.Free{stick}, at(shop.DatumWheelGap, 100), setup.NothingFree, 0},
		{"the stick-out, with no support given", swing(), []setup.Free{stick}, shop.Settings{Leg: angle(30)}, fault.InvalidField, 0},
		{"no stick-out", swing(), nil, shop.Settings{Leg: angle(30)}, fault.InvalidField, 0},
		{"no leg", swing(), nil, stuckOut(45), fault.InvalidField, 0},
		{"a stick-out in inches", swing(), nil, swung(1.75, 30), fault.InvalidField, 0},
		{"a position the holder has not", positions, nil, shop.Settings{StickOut: length(45), Position: "9"}, setup.LegOutOfRange, 0},
		{"a leg beyond its range", swing(), nil, swung(45, 95), setup.LegOutOfRange, 0},
		{"a gap that no stick-out reaches", swing(), []setup.Free{stick}, shop.Settings{Leg: angle(30), Datum: shop.DatumWheelGap, Support: 1}, setup.NothingWorks, 0},
	} {
		q := setup.Question{Common: rig(nil, wheel(200), c.holder, nil), Free: c.free, Given: c.given}
		q.Grind = grind(front(50))
		if c.holder.Kind == shop.Swing {
			q.Rig.Station.Inline = station(pocket())
		}
		s, err := solver.Solve(t.Context(), q)
		if c.reason != "" {
			refused(t, err, c.reason)
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		nearDeg(t, c.name, s.Steps[0].Predicted.Edge, 50, c.within)
		if d := c.given.Datum; d != shop.DatumUnset {
			near(t, c.name+": the support stays where it is given", float64(s.Steps[0].Support.Lengths[d].Set), float64(c.given.Support), 1e-9)
		}
	}
}

// TestBestCombination tries every stick-out and leg position one by one and picks the best by the published order: least error after
// rounding, least uncertainty (each told apart to 0.05°), least movement, lower leg, shorter stick-out.
func TestBestCombination(t *testing.T) {
	holder := swing()
	for i := range 5 {
		holder.Positions = append(holder.Positions, shop.LegPosition{ID: string(rune('1' + i)), Angle: unit.Degrees(15 + 7.5*float64(i))})
	}
	now := shop.Settings{StickOut: length(52), Position: "4", Datum: shop.DatumSlide, Support: 170}
	for _, c := range []struct {
		name string
		now  *shop.Settings
		step unit.Length
	}{{"from nowhere", nil, 0.1}, {"from where it stands", &now, 0.1}, {"in coarse steps", nil, 2}, {"in coarse steps, from where it stands", &now, 2}} {
		q := reference(front(50))
		q.Rig.Holder.Inline, q.Rig.Tool.Inline, q.Now, q.Rounding.LengthStep = holder, &shop.Tool{FreeBlade: length(95), SmallestGrip: length(35)}, c.now, c.step
		type mark struct{ err, doubt, move, leg, stick float64 }
		best, bestMark := "", mark{err: math.Inf(1)}
		for _, p := range holder.Positions {
			for stick := 10.0; stick <= 60; stick += max(1, float64(c.step)) {
				one := q
				one.Given = shop.Settings{StickOut: length(stick), Position: p.ID}
				s, err := solver.Solve(t.Context(), one)
				if err != nil {
					continue
				}
				step := s.Steps[0]
				m := mark{
					err:   math.Floor(math.Abs((step.Predicted.Edge - step.Wanted).Degrees()) / 0.05),
					doubt: math.Floor(step.Predicted.Expanded.Degrees() / 0.05), leg: p.Angle.Degrees(), stick: stick,
				}
				if c.now != nil {
					m.move = math.Round(10*(math.Abs(float64(step.Support.Move.Gap.Value))+math.Abs(stick-52)+math.Abs(p.Angle.Degrees()-37.5))) / 10
				}
				better := m.err < bestMark.err || m.err == bestMark.err && (m.doubt < bestMark.doubt || m.doubt == bestMark.doubt && (m.move < bestMark.move ||
					m.move == bestMark.move && (m.leg < bestMark.leg || m.leg == bestMark.leg && m.stick < bestMark.stick)))
				if better {
					best, bestMark = fmt.Sprint(p.ID, " ", stick), m
				}
			}
		}
		q.Given, q.Free = shop.Settings{}, []setup.Free{setup.FreeSupport, setup.FreeStickOut, setup.FreeLeg}
		step := mustSolve(t, q).Steps[0]
		if got := fmt.Sprint(step.Position, " ", float64(step.StickOut.Set)); got != best {
			t.Errorf("%s: got position and stick-out %s, the best is %s %+v", c.name, got, best, bestMark)
		}
	}
}

// TestSearchesAreBounded holds that a question with millions of combinations is refused, and one that is given up ends.
func TestSearchesAreBounded(t *testing.T) {
	q := reference(front(50))
	q.Given, q.Free = shop.Settings{}, []setup.Free{setup.FreeSupport, setup.FreeStickOut, setup.FreeLeg}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := solver.Solve(ctx, q)
	if f := refused(t, err, fault.WasCancelled); f.Kind != fault.Cancelled {
		t.Errorf("kind %v", f.Kind)
	}
	ctx, cancel = context.WithTimeout(t.Context(), 0)
	defer cancel()
	_, err = solver.Solve(ctx, q)
	if f := refused(t, err, fault.RanOutOfTime); f.Kind != fault.TimedOut {
		t.Errorf("kind %v", f.Kind)
	}

	q.Rig.Tool.Inline = &shop.Tool{FreeBlade: length(2000)}
	q.Rig.Holder.Inline.Leg = shop.AngleRange{Least: unit.Degrees(-90), Most: unit.Degrees(180)}
	f, _ := refusedSolve(t, q, setup.TooCostly)
	if f.Kind != fault.TooMuch || !strings.Contains(f.Message, "1991 stick-outs and 271 leg angles") {
		t.Errorf("%v", f)
	}
}

// TestBlocks holds that blocks are used singly, the nearest that fits, for the gap and for a free stick-out.
func TestBlocks(t *testing.T) {
	ask := func(blocks ...unit.Length) setup.Question {
		q := reference(front(50))
		q.Rounding.Blocks = blocks
		return q
	}
	step := mustSolve(t, ask(90, 107, 108.25, 110)).Steps[0]
	near(t, "gap", float64(step.Support.Lengths[shop.DatumWheelGap].Set), 108.25, 0)
	if got := step.Support.Lengths[shop.DatumWheelGap].Text; got != "108.25 mm" {
		t.Errorf("a block is called %s", got)
	}
	s := mustSolve(t, ask(107))
	if caution(s.Cautions, "ROUNDING_OFF") == nil {
		t.Error("1.5° off by the only block, and no word of it")
	}
	if f, _ := refusedSolve(t, ask(2), setup.CannotReach); !strings.Contains(f.Message, "no edge") {
		t.Errorf("%v", f)
	}
	q := ask(105, 112)
	q.Rig.Station.Inline.Supports[0].Slide = slide(0, -110, 0, 120, 178)
	near(t, "the block within travel", float64(mustSolve(t, q).Steps[0].Support.Lengths[shop.DatumWheelGap].Set), 105, 0)
	q.Rounding.Blocks = []unit.Length{112}
	refusedSolve(t, q, setup.NothingWorks)

	q = ask(40, 44, 50, 3)
	q.Free, q.Given = []setup.Free{setup.FreeStickOut}, shop.Settings{Leg: angle(30), Datum: shop.DatumWheelGap, Support: 108.5}
	near(t, "stick-out", float64(mustSolve(t, q).Steps[0].StickOut.Set), 44, 0)
}

// TestNamesAndWhatWins holds the order of what counts: given over the recipe, a recipe over the tool's own, a revision by its name.
func TestNamesAndWhatWins(t *testing.T) {
	name := func(kind, id string) string { return demo.Name + "/" + kind + "/" + id }
	ask := func(change func(*setup.Question)) setup.Question {
		q := setup.Question{Common: setup.Common{Shop: demo.Name}}
		q.Rig.Station.Name = name("stations", "north")
		change(&q)
		return q
	}
	byRecipe := mustSolve(t, ask(func(q *setup.Question) { q.Recipe = name("recipes", "bowl-50") }))
	near(t, "the recipe's stick-out", float64(byRecipe.Steps[0].StickOut.Set), 45, 0)
	given := mustSolve(t, ask(func(q *setup.Question) { q.Recipe, q.Given = name("recipes", "bowl-50"), stuckOut(50) }))
	near(t, "given", float64(given.Steps[0].StickOut.Set), 50, 0)
	nearDeg(t, "the recipe's leg stays", given.Steps[0].Leg.Set, 30, 1e-9)
	position := mustSolve(t, ask(func(q *setup.Question) { q.Recipe, q.Given = name("recipes", "bowl-50"), shop.Settings{Position: "5"} }))
	nearDeg(t, "a position given wins over the recipe's angle", position.Steps[0].Leg.Set, 45, 1e-9)

	byTool := mustSolve(t, ask(func(q *setup.Question) { q.Rig.Tool.Name = name("tools", "bowl-gouge-10") }))
	nearDeg(t, "the tool's own recipe", byTool.Steps[0].Wanted, 40, 1e-9)
	other := mustSolve(t, ask(func(q *setup.Question) {
		q.Rig.Tool.Name, q.Recipe = name("tools", "bowl-gouge-10"), name("recipes", "bowl-50")
	}))
	nearDeg(t, "a recipe named wins", other.Steps[0].Wanted, 50, 1e-9)
	own := mustSolve(t, ask(func(q *setup.Question) {
		q.Rig.Tool.Name, q.Rig.Holder.Name, q.Given, q.Grind = name("tools", "bowl-gouge-10"), name("holders", "swing"), swung(45, 30), grind(front(60))
	}))
	nearDeg(t, "a grind written out wins", own.Steps[0].Wanted, 60, 1e-9)
	if own.Basis.Recipe != "" || byTool.Basis.Recipe != name("recipes", "bowl-40")+"/revisions/1" {
		t.Errorf("recipes %q, %q", own.Basis.Recipe, byTool.Basis.Recipe)
	}
	mustSolve(t, ask(func(q *setup.Question) { q.Recipe = name("recipes", "bowl-50") + "/revisions/1" }))
	for what, q := range map[string]setup.Question{
		"another revision": ask(func(q *setup.Question) { q.Recipe = name("recipes", "bowl-50") + "/revisions/7" }),
		"an unknown tool":  ask(func(q *setup.Question) { q.Rig.Tool.Name = name("tools", "spoon") }),
		"an unknown wheel": ask(func(q *setup.Question) {
			q.Recipe, q.Rig.Wheel.Name = name("recipes", "bowl-50"), name("wheels", "spoon")
		}),
		"an unknown holder": ask(func(q *setup.Question) {
			q.Recipe, q.Rig.Holder.Name = name("recipes", "bowl-50"), name("holders", "spoon")
		}),
	} {
		if f, _ := refusedSolve(t, q, fault.NoSuchThing); f.Kind != fault.NotFound {
			t.Errorf("%s: %v", what, f)
		}
	}
	butted := ask(func(q *setup.Question) {
		q.Rig.Tool.Name, q.Rig.Station.Name = name("tools", "roughing-gouge-32"), name("stations", "west")
	})
	near(t, "a butted tool's own length", float64(mustSolve(t, butted).Steps[0].StickOut.Set), 430, 0)
	butted.Given = stuckOut(420)
	near(t, "given over it", float64(mustSolve(t, butted).Steps[0].StickOut.Set), 420, 0)
}

// TestNamesOfOtherShops holds that a name is read in the shop of the request only, also the recipe of a tool that is written out.
func TestNamesOfOtherShops(t *testing.T) {
	recipe := demo.Name + "/recipes/bowl-50"
	for what, c := range map[string]struct {
		q     setup.Question
		field string
	}{
		"no shop said": {func() setup.Question {
			q := setup.Question{}
			q.Rig.Station.Name = demo.Name + "/stations/north"
			return q
		}(), "shop"},
		"another shop's recipe": {setup.Question{Common: setup.Common{Shop: "shops/other", Recipe: recipe}}, "recipe"},
		"another shop's recipe, by the tool": {setup.Question{Common: func() setup.Common {
			c := rig(nil, wheel(200), pivot(131, 46), &shop.Tool{Recipe: recipe})
			c.Shop = "shops/other"
			return c
		}()}, "rig.inline_tool.recipe"},
		"a tool's recipe and no shop": {setup.Question{Common: rig(nil, wheel(200), pivot(131, 46), &shop.Tool{Recipe: "nonsense"})}, "shop"},
	} {
		_, err := solver.Solve(t.Context(), c.q)
		wantField(t, what, err, c.field)
	}
	q := reference(front(50)) // its recipe is not asked for
	q.Rig.Tool.Inline = &shop.Tool{Recipe: recipe}
	mustSolve(t, q)
}

// TestWhatGoesTogether goes through supports and holders.
func TestWhatGoesTogether(t *testing.T) {
	table := tilting(101.2, -4, 2, -75, 30)
	second := pocket()
	second.ID = "other"
	for _, c := range []struct {
		name    string
		station *shop.Station
		support string
		holder  *shop.Holder
		reason  fault.Reason
		field   string
	}{
		{"found by its kind", station(bar(), pocket(), table), "", swing(), "", ""},
		{"named", station(second, pocket()), "other", swing(), "", ""},
		{"two that fit", station(second, pocket()), "", swing(), fault.InvalidField, "rig.support"},
		{"no such support", station(pocket()), "bar", swing(), fault.InvalidField, "rig.support"},
		{"none that fits", station(bar(), table), "", swing(), setup.RigDoesNotFit, ""},
		{"named, and does not fit", station(bar(), pocket()), "bar", swing(), setup.RigDoesNotFit, ""},
		{"a platform named, a holder said", station(table), "table", swing(), setup.RigDoesNotFit, ""},
		{"no holder said, a platform named", station(bar(), table), "table", nil, "", ""},
		{"no holder said", station(pocket()), "", nil, fault.InvalidField, "rig.holder"},
	} {
		q := setup.Question{Common: rig(c.station, wheel(200), c.holder, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)}), Given: swung(45, 30)}
		q.Rig.Support, q.Grind = c.support, grind(front(75))
		_, err := solver.Solve(t.Context(), q)
		switch {
		case c.reason == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.field != "":
			wantField(t, c.name, err, c.field)
		case c.reason != "":
			refused(t, err, c.reason)
		}
	}
	q := reference(front(50))
	q.Rig.Wheel.Inline = nil
	_, err := solver.Solve(t.Context(), q)
	wantField(t, "no wheel", err, "rig.wheel")
	q = reference()
	_, err = solver.Solve(t.Context(), q)
	wantField(t, "no grind", err, "grind")
}

// TestEdgesOffered holds what is offered for an edge that the shop does not grind: the nearest it does, said the way the wanted one was.
func TestEdgesOffered(t *testing.T) {
	limits := &shop.Station{EdgeAngles: shop.Some(shop.AngleRange{Least: unit.Degrees(30), Most: unit.Degrees(70)})}
	included := func(of shop.AngleOf, d float64) shop.Bevel { return shop.Bevel{Of: of, Angle: unit.Degrees(d)} }
	for _, c := range []struct {
		name   string
		tool   *shop.Tool
		holder *shop.Holder
		bevel  shop.Bevel
		upper  shop.Maybe[shop.Bevel]
		reason fault.Reason
		want   float64
	}{
		{"too keen", gouge(), pivot(131, 46), front(20), shop.Maybe[shop.Bevel]{}, setup.TooKeen, 30},
		{"too blunt", gouge(), pivot(131, 46), front(80), shop.Maybe[shop.Bevel]{}, setup.TooBlunt, 70},
		{"a reading, too keen", gouge(), pivot(131, 46), included(shop.Reading, 25), shop.Maybe[shop.Bevel]{}, setup.TooKeen, 34.2}, // 30° and half the arc of 8 mm of steel
		{"both faces, too keen", parting(8), pivot(131, 46), included(shop.IncludedFrontAngle, 20), shop.Maybe[shop.Bevel]{}, setup.TooKeen, 30},
		{"both faces' reading, too keen", parting(8), pivot(131, 46), included(shop.IncludedReading, 26), shop.Maybe[shop.Bevel]{}, setup.TooKeen, 37.2},
		{"negative rake, together", negativeRake(), &shop.Holder{}, included(shop.IncludedFrontAngle, 80), shop.Some(front(20)), setup.TooBlunt, 70},
		{"negative rake, the lower alone", negativeRake(), &shop.Holder{}, front(60), shop.Some(front(20)), setup.TooBlunt, 50},
	} {
		q := setup.Question{Common: rig(limits, wheel(200), c.holder, c.tool)}
		q.Grind = &shop.Grind{Bevels: []shop.Bevel{c.bevel}, Upper: c.upper}
		_, refusal := refusedSolve(t, q, c.reason)
		if len(refusal.Ways) != 1 || refusal.Ways[0].Bevel.Value.Of != c.bevel.Of {
			t.Errorf("%s: ways %+v", c.name, refusal.Ways)
			continue
		}
		nearDeg(t, c.name, refusal.Ways[0].Bevel.Value.Angle, c.want, 0.11)
		q.Grind = &shop.Grind{Bevels: []shop.Bevel{refusal.Ways[0].Bevel.Value}, Upper: c.upper}
		mustSolve(t, q)
	}
}

// TestStacksThatContradictThemselves names the bevel at fault.
func TestStacksThatContradictThemselves(t *testing.T) {
	for _, c := range []struct {
		name   string
		tool   *shop.Tool
		bevels []shop.Bevel
		reason fault.Reason
		field  string
	}{
		{"angles rise", nil, []shop.Bevel{front(50), front(55)}, setup.BevelsNotFalling, "grind.bevels[1]"},
		{"equal angles", nil, []shop.Bevel{land(50, 3), front(53.5)}, setup.BevelsNotFalling, "grind.bevels[1]"},
		{"a land without a width", nil, []shop.Bevel{front(50), front(35)}, fault.InvalidField, "grind.bevels[0].width_mm"},
		{"a land wider than the wheel", nil, []shop.Bevel{land(50, 201)}, setup.LandTooLong, "grind.bevels[0].width_mm"},
		{"the second land longer than what is left", gouge(), []shop.Bevel{land(50, 3), land(45, 9), front(30)}, setup.LandTooLong, "grind.bevels[1].width_mm"},
		{"a bevel that never comes out", &shop.Tool{SteelUnderFlute: length(100)}, []shop.Bevel{front(60)}, setup.BevelNeverEnds, "grind.bevels[0]"},
	} {
		q := reference(c.bevels...)
		q.Rig.Tool.Inline = c.tool
		if c.name == "a bevel that never comes out" {
			q.Rig.Wheel.Inline = wheel(60)
		}
		_, err := solver.Solve(t.Context(), q)
		if c.reason == fault.InvalidField {
			wantField(t, c.name, err, c.field)
			continue
		}
		f := refused(t, err, c.reason)
		if detail := f.Detail.(*setup.Refusal); detail.Field != c.field {
			t.Errorf("%s: field %s, want %s", c.name, detail.Field, c.field)
		}
	}
}

// TestPlacesThatDoNotExist holds refusals of platforms and pivots from which nothing can be ground.
func TestPlacesThatDoNotExist(t *testing.T) {
	scraper := &shop.Tool{Kind: shop.Scraper, Thickness: length(6)}
	q := setup.Question{Common: rig(station(tilting(5, 5, 2, -90, 90)), wheel(200), &shop.Holder{}, scraper)}
	q.Grind = grind(front(30)) // 86.6 from the axle, and the hinge is 7 from it
	refusedSolve(t, q, setup.CannotReach)
	for _, settings := range []shop.Settings{at(shop.DatumPlatformToAxle, 95), at(shop.DatumPlatformToAxle, -150), at(shop.DatumPlatformToAxle, -30)} {
		_, err := solver.Predict(t.Context(), setup.Forecast{Common: rig(nil, wheel(200), &shop.Holder{}, scraper), Settings: settings})
		refused(t, err, setup.CannotReach) // beyond the rim above and below it, and blunter than square
	}
	_, err := solver.Predict(t.Context(), setup.Forecast{Common: rig(nil, wheel(200), &shop.Holder{}, scraper), Settings: at(shop.DatumSlide, 5)})
	wantField(t, "the slide of a platform that has none", err, "settings.slide_mm")
	_, err = solver.Predict(t.Context(), setup.Forecast{Common: rig(nil, wheel(200), &shop.Holder{}, scraper)})
	wantField(t, "no place said", err, "settings.support")
	_, err = solver.Predict(t.Context(), setup.Forecast{Common: rig(nil, wheel(200), swing(), nil), Settings: at(shop.DatumWheelGap, 100)})
	f := refused(t, err, fault.InvalidField)
	if len(f.Violations) != 2 || f.Violations[0].Field != "settings.stick_out_mm" || f.Violations[1].Field != "settings.leg" {
		t.Errorf("violations %v", f.Violations)
	}

	for _, c := range []struct {
		holder *shop.Holder
		reason fault.Reason
	}{{pivot(0.5, 0.5), setup.CannotReach}, {pivot(-60, -46), setup.IllConditioned}} {
		q := setup.Question{Common: rig(nil, wheel(200), c.holder, nil)}
		q.Grind = grind(front(50))
		refusedSolve(t, q, c.reason)
	}
	// Half a reach of 138.92 short of it the gap still follows the edge; at its very end nothing does.
	_, err = solver.Predict(t.Context(), setup.Forecast{Common: rig(nil, wheel(200), pivot(90, -90), nil), Settings: at(shop.DatumWheelGap, math.Hypot(90, 90)-0.01)})
	refused(t, err, setup.IllConditioned)
}
