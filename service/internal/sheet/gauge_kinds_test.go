package sheet_test

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/shop"
)

// kinds are all kinds of gauge by their names.
var kinds = map[string]sheet.Kind{"gap": sheet.WheelGap, "stick-out": sheet.StickOut, "spacers": sheet.Spacers, "bevel": sheet.Bevel, "leg": sheet.Leg}

// apart has a stick-out, and a place of the support, of its own for each of two bevels.
func apart() setup.Question {
	q := setup.Question{Common: asked("", "north", "bowl-gouge-12")}
	q.Recipe = ""
	q.Rig.Holder.Name = demo.Name + "/holders/swing"
	q.Given.Leg = shop.Some(30 * unit.Degree)
	q.Given.StickOut = shop.Some(unit.Length(45))
	q.Grind = &shop.Grind{Bevels: []shop.Bevel{
		{Of: shop.FrontAngle, Angle: 50 * unit.Degree, Width: shop.Some(unit.Length(3))},
		{Of: shop.FrontAngle, Angle: 35 * unit.Degree, Given: shop.Settings{StickOut: shop.Some(unit.Length(52.4))}},
	}}
	return q
}

// corners are the outline's, in the order that it is drawn in.
func (c cut) corners() (all [][2]float64) {
	for _, l := range c.lines {
		all = append(all, [2]float64{l[0], l[1]})
	}
	return all
}

// inner are the corners at which an outline bends inwards, with the angle outside of it there.
func inner(corners [][2]float64) (all []float64) {
	area := 0.0
	for i, p := range corners {
		q := corners[(i+1)%len(corners)]
		area += p[0]*q[1] - p[1]*q[0]
	}
	for i, p := range corners {
		a, b := corners[(i+len(corners)-1)%len(corners)], corners[(i+1)%len(corners)]
		ux, uy, vx, vy := a[0]-p[0], a[1]-p[1], b[0]-p[0], b[1]-p[1]
		if (uy*vx-ux*vy)*area < 0 {
			all = append(all, math.Abs(math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy))*180/math.Pi)
		}
	}
	return all
}

// drawnBy reads the cards of a kind back.
func drawnBy(t *testing.T, kind sheet.Kind, q setup.Question) ([]cut, setup.Setup) {
	t.Helper()
	pages, found, err := maker().Cards(t.Context(), kind, q)
	if err != nil {
		t.Fatal(err)
	}
	return readDXF(t, pages...), found
}

// A stick-out block, as another program reads it, holds the nose as far from the holder's face as the set-up says.
func TestStickOutBlocksReadByAnother(t *testing.T) {
	for name, q := range map[string]setup.Question{"bowl": {Common: asks["bowl"]}, "detail": {Common: asks["detail"]}, "facets": {Common: asks["facets"]}, "apart": apart()} {
		cuts, found := drawnBy(t, sheet.StickOut, q)
		var want []float64 // in the order of the steps, each once
		for _, s := range found.Steps {
			if long := float64(s.StickOut.Set); !slices.Contains(want, long) {
				want = append(want, long)
			}
		}
		if len(cuts) != len(want) {
			t.Fatalf("%s: %d blocks for the stick-outs %v", name, len(cuts), want)
		}
		for i, c := range cuts {
			corners := c.corners()
			end, _ := extremes(corners, 0)
			top := slices.MaxFunc(corners, func(a, b [2]float64) int { return cmp.Or(cmp.Compare(a[1], b[1]), -cmp.Compare(a[0], b[0])) })
			near(t, name+": from the end to the stop", top[0]-end, want[i], 1e-4)
			if overNose := top[1] - corners[0][1]; overNose < 12-1e-4 {
				t.Errorf("%s: the stop is only %.1f mm high", name, overNose)
			}
		}
	}
}

// extremes are the least and the most of a coordinate.
func extremes(corners [][2]float64, axis int) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, c := range corners {
		least, most = min(least, c[axis]), max(most, c[axis])
	}
	return least, most
}

// A bevel card, as another program reads it, has one notch, as wide as the answer says that a protractor reads; of two faces as both read.
func TestBevelCardsReadByAnother(t *testing.T) {
	var pages []paper.Page
	var want []float64
	for name, ask := range asks {
		cards, found, err := maker().Cards(t.Context(), sheet.Bevel, setup.Question{Common: ask})
		if err != nil {
			t.Fatal(name, err)
		}
		pages = append(pages, cards...)
		for i, s := range found.Steps {
			switch {
			case !s.Predicted.IncludedReading.Known:
				want = append(want, s.Predicted.Reading.Value.Degrees())
			case i == 0 || found.Steps[i-1].Bevel != s.Bevel:
				want = append(want, s.Predicted.IncludedReading.Value.Degrees())
			}
		}
		if len(pages) != len(want) {
			t.Fatalf("%s: %d cards, want %d", name, len(pages), len(want))
		}
	}
	for i, c := range readDXF(t, pages...) {
		notches := inner(c.corners())
		if len(notches) != 1 {
			t.Fatalf("notches %v, want %v", notches, want[i])
		}
		near(t, "the notch", notches[0], want[i], 1e-4)
	}
}

// A leg template's two long sides, as another program reads them, make the leg's angle.
func TestLegTemplatesReadByAnother(t *testing.T) {
	var pages []paper.Page
	var legs []float64
	for _, leg := range []float64{10, 15, 22.5, 30, 45, 60, 75, 90} {
		q := setup.Question{Common: asks["bowl"]}
		q.Given.Leg = shop.Some(unit.Degrees(leg))
		q.Given.Datum, q.Given.Support = shop.DatumUnset, 0
		cards, _, err := maker().Cards(t.Context(), sheet.Leg, q)
		if f, ok := fault.As(err); ok && f.Kind == fault.Impossible && f.Reason != setup.NoGauge {
			continue // the set-up itself cannot be; the count below tells how many can
		}
		if err != nil {
			t.Fatal(err)
		}
		pages, legs = append(pages, cards[0]), append(legs, leg)
	}
	if len(pages) < 7 {
		t.Errorf("only %d templates", len(pages))
	}
	for i, c := range readDXF(t, pages...) {
		// The tool's side is the topmost line; the leg's is the last but one.
		tool := slices.MaxFunc(c.lines, func(a, b [4]float64) int { return cmp.Compare(a[1]+a[3], b[1]+b[3]) })
		side := c.lines[len(c.lines)-2]
		turn := math.Atan2(side[1]-side[3], side[0]-side[2]) - math.Atan2(tool[3]-tool[1], tool[2]-tool[0])
		near(t, fmt.Sprintf("the leg at %g", legs[i]), -turn*180/math.Pi, legs[i], 1e-4)
		if long := math.Hypot(side[0]-side[2], side[1]-side[3]); long < 40 {
			t.Errorf("a side of %.1f mm", long)
		}
	}
}

// Blocks, as another program reads them, are as long as the settings differ that they are for, rounded to what is set.
func TestSpacersReadByAnother(t *testing.T) {
	for name, q := range map[string]setup.Question{"facets": {Common: asks["facets"]}, "with land": {Common: asks["with land"]}, "apart": apart()} {
		cuts, found := drawnBy(t, sheet.Spacers, q)
		var want []float64
		differ := func(of func(setup.Step) float64) {
			least := math.Inf(1)
			var all []float64
			for _, s := range found.Steps {
				all = append(all, of(s))
				least = min(least, of(s))
			}
			slices.Sort(all)
			for _, v := range slices.Compact(all) {
				if v > least {
					want = append(want, v-least)
				}
			}
		}
		differ(func(s setup.Step) float64 { return -float64(s.StickOut.Set) })
		// The set gap put on the slide by coordinates: the pocket runs 110 mm below the axle.
		differ(func(s setup.Step) float64 {
			axle := float64(s.Support.Lengths[shop.DatumWheelGap].Set) + float64(found.Basis.WheelDiameter)/2
			return math.Sqrt(axle*axle - 110*110)
		})
		if len(cuts) != len(want) {
			t.Fatalf("%s: %d blocks, want %v", name, len(cuts), want)
		}
		for i, c := range cuts {
			near(t, fmt.Sprintf("%s: block %d", name, i+1), c.low(), math.Round(want[i]*10)/10, 1e-4)
			near(t, fmt.Sprintf("%s: block %d, not rounded", name, i+1), c.low(), want[i], 0.0501)
		}
	}
}

// low is how long the lowest line is.
func (c cut) low() float64 {
	l := slices.MinFunc(c.lines, func(a, b [4]float64) int { return cmp.Compare(a[1]+a[3], b[1]+b[3]) })
	return math.Abs(l[2] - l[0])
}

// What is on hand is not cut; what is left has its number from the list.
func TestBlocksOnHandComeFirst(t *testing.T) {
	m := changed(t, func(r any) any { return r }, shop.Gauge{Name: demo.Name + "/gauges/block-21", DisplayName: "Brass 21", Length: 21})
	q := setup.Question{Common: asks["facets"]}
	d, _, err := m.Gauges(t.Context(), sheet.Spacers, q, paper.A4)
	if err != nil {
		t.Fatal(err)
	}
	if text := textOf(d); !strings.Contains(text, "1 21.0 mm") || !strings.Contains(text, "on hand: Brass 21") || !strings.Contains(text, "block 2: 39.2 mm") {
		t.Error(text)
	}
	cards, _, err := m.Cards(t.Context(), sheet.Spacers, q)
	if err != nil || len(cards) != 1 {
		t.Errorf("%d blocks to cut: %v", len(cards), err)
	}
	near(t, "the one to cut", readDXF(t, cards[0])[0].low(), 39.2, 1e-4)
	// Where nothing is left to cut there is still the list.
	m = changed(t, func(r any) any { return r }, shop.Gauge{Name: demo.Name + "/gauges/a", Length: 21}, shop.Gauge{Name: demo.Name + "/gauges/b", Length: 39.5},
		shop.Gauge{Name: demo.Name + "/gauges/c", Length: 39.1})
	if d, _, err = m.Gauges(t.Context(), sheet.Spacers, q, paper.A4); err != nil || !strings.Contains(textOf(d), "on hand: c") {
		t.Error(err, textOf(d))
	}
	if _, _, err = m.Cards(t.Context(), sheet.Spacers, q); err == nil || !strings.Contains(err.Error(), "on hand") {
		t.Error(err)
	}
}

// Set-ups that have no use for a kind of gauge are told why, and what would do.
func TestKindsThatCannotBe(t *testing.T) {
	bare := setup.Question{Common: setup.Common{Grind: &shop.Grind{Bevels: []shop.Bevel{{Of: shop.FrontAngle, Angle: 50 * unit.Degree}}}}}
	bare.Rig.Wheel.Inline = &shop.Wheel{Diameter: 200}
	bare.Rig.Holder.Inline = &shop.Holder{Kind: shop.BarePivot, Behind: 131, Below: 46}
	flatLeg := setup.Question{Common: asks["bowl"]}
	flatLeg.Given.Leg = shop.Some(5 * unit.Degree)
	long := setup.Question{Common: asked("bowl-50", "west", "")}
	long.Given.StickOut = shop.Some(unit.Length(180))
	for _, c := range []struct {
		kind   sheet.Kind
		ask    setup.Question
		reason fault.Reason
		says   string
	}{
		{sheet.StickOut, setup.Question{Common: asks["skew"]}, setup.NoGauge, "bevel card"},
		{sheet.StickOut, setup.Question{Common: asks["roughing"]}, setup.NoGauge, "rule"},
		{sheet.StickOut, bare, setup.NoGauge, "name the holder"},
		{sheet.Spacers, setup.Question{Common: asks["bowl"]}, setup.NoGauge, "nothing to space"},
		{sheet.Spacers, setup.Question{Common: asks["rake"]}, setup.NoGauge, "tilt"},
		{sheet.Bevel, bare, setup.NoGauge, "steel_under_flute_mm"},
		{sheet.Leg, setup.Question{Common: asks["detail"]}, setup.NoGauge, "swing holder"},
		{sheet.Leg, flatLeg, setup.NoGauge, "from 10.0° to 150.0°"},
		{sheet.StickOut, long, sheet.TooLarge, "DXF"},
	} {
		_, _, err := maker().Gauges(t.Context(), c.kind, c.ask, paper.A4)
		if f, ok := fault.As(err); !ok || f.Kind != fault.Impossible || f.Reason != c.reason || !strings.Contains(f.Message, c.says) {
			t.Errorf("%v: %v, want %s with %q", c.kind, err, c.reason, c.says)
		}
	}
}
