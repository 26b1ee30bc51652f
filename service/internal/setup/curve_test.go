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

func mustCheck(t testing.TB, q setup.CurveQuestion) setup.CurveAnswer {
	t.Helper()
	c, err := solver.CheckCurve(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// riding asks whether bevels on 8 mm of steel, ground on a wheel of 200, clear a radius.
func riding(radius float64, bevels ...shop.Bevel) setup.CurveQuestion {
	q := setup.CurveQuestion{Common: rig(nil, wheel(200), nil, steel(8)), Radius: unit.Length(radius)}
	q.Grind = grind(bevels...)
	return q
}

// bowl is a round-bottomed bowl as a profile: a wall of a depth, a quarter circle of a radius, a flat bottom.
func bowl(inside, depth, radius float64) []geometry.ProfilePoint {
	var p []geometry.ProfilePoint
	add := func(out, down float64) {
		p = append(p, geometry.ProfilePoint{FromAxis: unit.Length(out), BelowRim: unit.Length(down)})
	}
	for d := 0.0; d < depth-radius; d += 2 {
		add(inside, d)
	}
	for i := range 31 {
		sin, cos := math.Sincos(float64(i) / 30 * math.Pi / 2)
		add(inside-radius*(1-cos), depth-radius*(1-sin))
	}
	for out := inside - radius - 2; out > 0; out -= 2 {
		add(out, depth)
	}
	add(0, depth)
	return p
}

// The lift of a chord is asin(L / 2ρ): 2.1° of a 3 mm land and 7.2° of a 10 mm bevel on a radius of 40 mm.
func TestWhatALandLifts(t *testing.T) {
	short := mustCheck(t, riding(40, land(50, 3), front(30)))
	nearDeg(t, "3 mm land", short.Lift.Value, 2.149, 0.0005)
	if short.Limit == "lift" {
		t.Errorf("a land of 3 mm lifts too far: %s", short.Text)
	}
	long := mustCheck(t, riding(40, land(50, 10)))
	nearDeg(t, "10 mm bevel", long.Lift.Value, 7.181, 0.0005)
	if long.Clears || long.Limit != "lift" {
		t.Errorf("clears %v, limit %q: %s", long.Clears, long.Limit, long.Text)
	}
	near(t, "longest", long.Longest.Value, unit.Length(80*math.Sin(3*math.Pi/180)), 1e-9)
	// What it advises for the whole bevel, the longest land and the relief behind it, clears.
	long = mustCheck(t, riding(40, front(50)))
	if c := mustCheck(t, riding(40, land(50, float64(long.Longest.Value)-1e-6), shop.Bevel{Angle: long.Relief.Value - 1e-6})); !c.Clears {
		t.Errorf("what was advised does not clear: %s", c.Text)
	}
}

// inside tells by plain coordinates how far a place of a tool that rides on its edge and land end stands inside a hollow of a radius: the
// oracle, which knows nothing of turns and chords.
func inside(end, place [2]float64, radius float64) float64 {
	half := [2]float64{end[0] / 2, end[1] / 2}
	l := math.Hypot(end[0], end[1])
	h := math.Sqrt(radius*radius - l*l/4)
	centre := [2]float64{half[0] + h*end[1]/l, half[1] - h*end[0]/l} // on the reference line's side
	return radius - math.Hypot(place[0]-centre[0], place[1]-centre[1])
}

// Random bevels in random curves: the limit named touches, and where nothing is named nothing does.
func TestLimitsAreTheFirstToTouch(t *testing.T) {
	r := chance.New(t)
	seen := map[string]int{}
	for range 2000 {
		steelDepth := uniform(r, 4, 10)
		edge := uniform(r, 40, 65)
		width := uniform(r, 0.5, 4)
		bevels := []shop.Bevel{land(edge, width), land(edge-uniform(r, 0, 15), uniform(r, 0.5, 3)), front(uniform(r, 15, 40))}
		q := riding(uniform(r, 5, 120), bevels...)
		q.Rig.Tool.Inline = steel(steelDepth)
		c, err := solver.CheckCurve(context.Background(), q)
		if err != nil {
			continue // no such bevels
		}
		seen[c.Limit]++
		var places [][2]float64
		at := [2]float64{}
		for i, b := range bevels {
			h, err := geometry.RoundWheel(200).HollowOfDepth(b.Angle, unit.Length(steelDepth-at[1]))
			if b.Width.Known {
				h, err = geometry.RoundWheel(200).HollowOfChord(b.Angle, b.Width.Value)
			}
			if err != nil {
				t.Fatal(i, err)
			}
			back, down := h.End()
			at = [2]float64{at[0] + float64(back), at[1] + float64(down)}
			places = append(places, at)
		}
		radius := float64(q.Radius)
		if width > 2*radius*math.Sin(float64(setup.UsualLift)) != (c.Lift.Value > setup.UsualLift) {
			t.Errorf("lift %v", c.Lift.Value)
		}
		corner, heel := inside(places[0], places[1], radius), inside(places[0], places[2], radius)
		switch c.Limit {
		case "":
			if corner < -1e-9 || heel < -1e-9 || c.Underside.Value < 0 {
				t.Errorf("%v in %v: the corner stands %v, the heel %v inside", bevels, radius, corner, heel)
			}
		case "heel":
			if heel >= 0 {
				t.Errorf("%v in %v: the heel stands %v inside", bevels, radius, heel)
			}
		case "bevel 2":
			if corner >= 0 {
				t.Errorf("%v in %v: the corner stands %v inside", bevels, radius, corner)
			}
		case "underside":
			if c.Underside.Known && c.Underside.Value >= 0 {
				t.Errorf("%v in %v: the underside has %v", bevels, radius, c.Underside.Value)
			}
		}
		if c.Clears != (c.Limit == "") {
			t.Errorf("clears %v with limit %q", c.Clears, c.Limit)
		}
	}
	for _, name := range []string{"", "heel", "bevel 2", "lift"} {
		if seen[name] == 0 {
			t.Errorf("limit %q never came: %v", name, seen)
		}
	}
}

func TestAProfileIsHeldAtItsTightest(t *testing.T) {
	q := riding(0, land(50, 2), front(30))
	q.Profile = bowl(80, 50, 30)
	c := mustCheck(t, q)
	near(t, "tightest radius", c.Curve.Value, 30, 0.01)
	at := c.TightestAt.Value
	if at.FromAxis >= 80 || at.BelowRim <= 20 {
		t.Errorf("tightest at %+v, which is not on the quarter circle", at)
	}
	by := mustCheck(t, riding(float64(c.Curve.Value), land(50, 2), front(30)))
	near(t, "lift", c.Lift.Value, by.Lift.Value, 1e-12)
	near(t, "underside", c.Underside.Value, by.Underside.Value, 1e-12)
	if !strings.Contains(c.Text, "the profile's tightest") {
		t.Error(c.Text)
	}
	if caution(c.Cautions, "FLUTE_SIDE_NOT_CHECKED") == nil {
		t.Error("nobody says that a gouge's upper side was not checked")
	}
}

// A steep edge stands handle low and its shaft over the rim; the same tool has less room in a deeper bowl of the same curve.
func TestAShaftAtTheRim(t *testing.T) {
	before := unit.Length(math.Inf(1))
	struck := false
	for depth := 35.0; depth <= 120; depth += 5 {
		q := riding(0, land(60, 2), front(45))
		q.Profile = bowl(60, depth, 30)
		c := mustCheck(t, q)
		if !c.Shaft.Known {
			t.Fatalf("no shaft room in %v: %s", depth, c.Text)
		}
		if c.Shaft.Value > before+1e-9 {
			t.Errorf("depth %v has more room: %v after %v", depth, c.Shaft.Value, before)
		}
		before = c.Shaft.Value
		if c.Limit == "shaft" {
			struck = true
			if c.Clears || c.Shaft.Value >= 0 || !strings.Contains(c.Text, "the shaft strikes the wood") || !strings.Contains(c.Text, "The shaft would stand") {
				t.Errorf("%+v", c)
			}
		}
	}
	if !struck {
		t.Error("the shaft never strikes")
	}
}

func TestProfilesThatAreNone(t *testing.T) {
	point := func(out, down float64) geometry.ProfilePoint {
		return geometry.ProfilePoint{FromAxis: unit.Length(out), BelowRim: unit.Length(down)}
	}
	for name, c := range map[string]struct {
		points []geometry.ProfilePoint
		field  string
		why    fault.FieldReason
	}{
		"two":             {[]geometry.ProfilePoint{point(50, 0), point(0, 30)}, "profile.points", fault.Missing},
		"repeated":        {[]geometry.ProfilePoint{point(50, 0), point(40, 30), point(40, 30), point(0, 30)}, "profile.points[2]", fault.Contradiction},
		"crosses itself":  {[]geometry.ProfilePoint{point(50, 0), point(40, 30), point(50, 30), point(40, 10), point(0, 40)}, "profile.points[2]", fault.Contradiction},
		"beyond the axis": {[]geometry.ProfilePoint{point(50, 0), point(40, 30), point(-1, 30)}, "profile.points[2]", fault.OutOfRange},
	} {
		t.Run(name, func(t *testing.T) {
			q := riding(0, land(50, 2), front(30))
			q.Profile = c.points
			_, err := solver.CheckCurve(context.Background(), q)
			f := refused(t, err, fault.InvalidField)
			if v := f.Violations[0]; v.Field != c.field || v.Reason != c.why {
				t.Errorf("refused %s, %s: %s", v.Field, v.Reason, v.Text)
			}
		})
	}
	straight := riding(0, land(50, 2), front(30))
	straight.Profile = []geometry.ProfilePoint{point(60, 0), point(40, 20), point(20, 40), point(0.001, 60)}
	if c := mustCheck(t, straight); c.Curve.Known {
		t.Logf("a cone is tightest where its walls meet: %s", c.Text)
	}
}

func TestACurveNeedsAHeel(t *testing.T) {
	q := riding(40, land(50, 3), front(30))
	q.Rig.Tool.Inline = nil
	_, err := solver.CheckCurve(context.Background(), q)
	f := refused(t, err, fault.InvalidField)
	if f.Violations[0].Field != "rig.tool.steel_under_flute_mm" {
		t.Errorf("refused %s", f.Message)
	}
}

// What the tool is decides how far its bar stands above the reference line, and whether anybody knows.
func TestTheBarAboveTheReferenceLine(t *testing.T) {
	for _, c := range []struct {
		tool  *shop.Tool
		known bool
	}{
		{&shop.Tool{Kind: shop.BowlGouge, SteelUnderFlute: length(8)}, false},
		{&shop.Tool{Kind: shop.Scraper, Thickness: length(8)}, true},
		{&shop.Tool{Kind: shop.PartingTool, Thickness: length(16)}, true},
		{&shop.Tool{Kind: shop.NegativeRakeScraper, Thickness: length(10), EdgeBelowTop: length(2)}, true},
	} {
		q := riding(0, land(40, 2), front(25))
		q.Rig.Tool.Inline, q.Profile = c.tool, bowl(80, 40, 30)
		if c.tool.Kind == shop.NegativeRakeScraper {
			q.Grind.Upper = shop.Some(front(20))
		}
		a := mustCheck(t, q)
		if !a.Shaft.Known || (caution(a.Cautions, "FLUTE_SIDE_NOT_CHECKED") == nil) != c.known {
			t.Errorf("kind %v: room %v, cautions %v", c.tool.Kind, a.Shaft, a.Cautions)
		}
	}
}
