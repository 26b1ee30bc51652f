package setup_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// through is a blade with steel below its edge, and no holder.
func through(diameter, steel float64) setup.Common {
	return rig(nil, wheel(diameter), nil, &shop.Tool{Kind: shop.BowlGouge, SteelUnderFlute: length(steel)})
}

func changed(c setup.Common, today, wanted *shop.Grind) setup.Change {
	c.Grind = wanted
	return setup.Change{Common: c, Today: *today}
}

func mustRegrind(t testing.TB, c setup.Change) setup.Regrind {
	t.Helper()
	out, err := solver.Regrind(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func refusedRegrind(t testing.TB, c setup.Change, reason fault.Reason) (*fault.Fault, *setup.Refusal) {
	t.Helper()
	_, err := solver.Regrind(context.Background(), c)
	f := refused(t, err, reason)
	detail, _ := f.Detail.(*setup.Refusal)
	return f, detail
}

// heelBehind is how far behind the edge a bevel through steel comes out: the far side of the wheel's circle, x² + (t − R cos β)² … solved
// by halving on the circle itself.
func heelBehind(diameter, edge, steel float64) float64 {
	r, b := diameter/2, unit.Degrees(edge).Radians()
	outOf := func(x float64) float64 { return math.Hypot(x+r*math.Sin(b), steel-r*math.Cos(b)) - r }
	low, high := 0.0, 10*steel
	for range 200 {
		if middle := (low + high) / 2; outOf(middle) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}

// Going blunter costs what the old heel stands behind the new one, in as few sharpenings as cost no more than usual; going keener costs
// nothing but time. Every stage costs as much as any other, and leaves a wider bevel.
func TestRegrindAgainstTheHeels(t *testing.T) {
	r := chance.New(t)
	for range 300 {
		diameter, steel, today, wanted := uniform(r, 120, 250), uniform(r, 4, 10), uniform(r, 30, 70), uniform(r, 30, 70)
		if math.Abs(today-wanted) < 0.5 {
			continue // hardly anything to grind
		}
		usual := uniform(r, 0.05, 0.3)
		c := changed(through(diameter, steel), grind(front(today)), grind(front(wanted)))
		c.UsualLoss = length(usual)
		out := mustRegrind(t, c)
		lost := max(0, heelBehind(diameter, today, steel)-heelBehind(diameter, wanted, steel))
		near(t, "length lost", float64(out.Lost), lost, 1e-8)
		nearDeg(t, "today", out.Today, today, 1e-9)
		nearDeg(t, "wanted", out.Wanted, wanted, 1e-9)
		if out.LostEach > unit.Length(usual)*(1+1e-9) || out.Sharpenings > 1 && float64(out.Lost)/float64(out.Sharpenings-1) <= usual {
			t.Errorf("%v over %d where %v is usual", out.Lost, out.Sharpenings, usual)
		}
		if len(out.Stages) != out.Sharpenings {
			t.Fatalf("%d stages of %d", len(out.Stages), out.Sharpenings)
		}
		before := setup.RegrindStage{}
		for i, stage := range out.Stages {
			if stage.Sharpening != i+1 || !(stage.Width > before.Width) {
				t.Errorf("%+v after %+v", stage, before)
			}
			near(t, "lost by a sharpening", float64(stage.Lost-before.Lost), float64(out.LostEach), 1e-9)
			before = stage
		}
		near(t, "lost in the end", float64(before.Lost), float64(out.Lost), 1e-9)
		near(t, "width in the end", float64(before.Width), math.Hypot(heelBehind(diameter, wanted, steel), steel), 0.02)
		if out.PerMM.Known || out.SeatAgain.Known {
			t.Errorf("nothing is known of a holder: %+v", out)
		}
	}
}

func TestRegrindOverSoMany(t *testing.T) {
	c := changed(through(200, 8), grind(front(45)), grind(front(50)))
	c.Sharpenings = 3
	out := mustRegrind(t, c)
	near(t, "each", float64(out.LostEach), float64(out.Lost)/3, 1e-12)
	if len(out.Stages) != 3 || caution(out.Cautions, "COSTS_MORE_THAN_USUAL") == nil || !strings.Contains(caution(out.Cautions, "COSTS_MORE_THAN_USUAL").Text, "over 12 sharpenings") {
		t.Errorf("%+v", out)
	}
	c.Sharpenings = 12
	if out = mustRegrind(t, c); caution(out.Cautions, "COSTS_MORE_THAN_USUAL") != nil {
		t.Errorf("%+v", out.Cautions)
	}
	keener := changed(through(200, 8), grind(front(55)), grind(front(50)))
	if out = mustRegrind(t, keener); out.Sharpenings != 1 || out.Lost != 0 || !strings.Contains(out.Text, "costs no length") {
		t.Errorf("%+v", out)
	}
	keener.Sharpenings = 4
	out = mustRegrind(t, keener)
	if out.Lost != 0 || len(out.Stages) != 4 || caution(out.Cautions, "EDGE_REACHED_LAST") == nil {
		t.Errorf("%+v", out)
	}
	for i := 1; i < 4; i++ {
		if !(out.Stages[i].Width > out.Stages[i-1].Width) {
			t.Errorf("%+v", out.Stages)
		}
	}
}

// A relief behind the same edge costs nothing; a micro bevel of 0.5 mm at 53° on flats 0.5·sin 3°/sin 50°, the law of sines.
func TestRegrindOfLandAndMicroBevel(t *testing.T) {
	relief := mustRegrind(t, changed(through(200, 8), grind(front(50)), grind(land(50, 3), front(35))))
	near(t, "a relief", float64(relief.Lost), 0, 1e-12)
	c := changed(rig(nil, flat(), nil, &shop.Tool{SteelUnderFlute: length(8)}), grind(front(50)), grind(land(53, 0.5), front(50)))
	micro := mustRegrind(t, c)
	near(t, "a micro bevel", float64(micro.Lost), 0.5*math.Sin(3*math.Pi/180)/math.Sin(50*math.Pi/180), 1e-9)
	// The relief that was there may have come from another wheel.
	other := changed(through(200, 8), grind(land(50, 3), front(35)), grind(front(50)))
	other.TodayPlaces = make([]setup.RigSource, 2)
	other.TodayPlaces[1].Wheel.Inline = wheel(120)
	if a, b := mustRegrind(t, changed(through(200, 8), grind(land(50, 3), front(35)), grind(front(50)))), mustRegrind(t, other); !(b.Lost < a.Lost-0.05) || !(b.Lost > 1) {
		t.Errorf("%v from a relief of this wheel, %v from one of a small wheel, which comes out of the steel sooner", a.Lost, b.Lost)
	}
}

// The recession against the forward relation: with so much off the nose the same pocket grinds an edge that is off by the tolerance.
func TestSeatAgainAgainstPrediction(t *testing.T) {
	r := chance.New(t)
	for range 200 {
		c := rig(nil, wheel(uniform(r, 120, 250)), swing(), &shop.Tool{SteelUnderFlute: length(8)})
		settings, edge, tolerance := swung(uniform(r, 35, 70), uniform(r, 10, 45)), uniform(r, 35, 65), uniform(r, 0.3, 2)
		q := changed(c, grind(front(edge-5)), grind(front(edge)))
		q.Settings, q.Tolerance = settings, angle(tolerance)
		out := mustRegrind(t, q)
		solve := setup.Question{Common: c, Given: settings}
		solve.Grind = grind(front(edge))
		set := settings
		set.Datum, set.Support = shop.DatumWheelGap, mustSolve(t, solve).Steps[0].Support.Lengths[shop.DatumWheelGap].Exact
		after := func(off unit.Length) float64 {
			s := set
			s.StickOut.Value -= off
			return mustPredict(t, c, s).Steps[0].Predicted.Edge.Degrees()
		}
		near(t, "per mm", out.PerMM.Value, unit.Degrees((after(1e-4)-after(-1e-4))/2e-4).Radians(), 1e-6)
		if !out.SeatAgain.Known {
			t.Fatalf("never: %+v", out)
		}
		near(t, "off by the tolerance", math.Abs(after(out.SeatAgain.Value)-edge), tolerance, 1e-6)
		if (caution(out.Cautions, "SEAT_AGAIN") != nil) != (out.SeatAgain.Value < out.Lost) {
			t.Errorf("%v off %v: %+v", out.SeatAgain.Value, out.Lost, out.Cautions)
		}
	}
}

// The job's description: 2 mm off the nose of bowl-50 make 52.0°, and a butted handle of 430 mm changes 0.94° a millimetre.
func TestSeatingScenarios(t *testing.T) {
	c := setup.Change{Common: setup.Common{Shop: demo.Name, Recipe: demo.Name + "/recipes/bowl-50"}, Today: *grind(front(45)), Tolerance: angle(2.0248)}
	c.Rig.Station.Name, c.Rig.Tool.Name = demo.Name+"/stations/north", demo.Name+"/tools/bowl-gouge-12"
	out := mustRegrind(t, c)
	near(t, "off the nose for 52.02°", float64(out.SeatAgain.Value), 2, 0.001)
	nearDeg(t, "per mm", unit.Angle(out.PerMM.Value), 0.9958, 1e-4)
	c.Tolerance = shop.Maybe[unit.Angle]{}
	near(t, "the recipe's tolerance of 1°, half of what 2 mm make", float64(mustRegrind(t, c).SeatAgain.Value), 1, 0.01)

	butted := changed(rig(nil, wheel(200), &shop.Holder{Kind: shop.Butted}, &shop.Tool{SteelUnderFlute: length(5), OverallLength: length(430)}), grind(front(40)), grind(front(45)))
	out = mustRegrind(t, butted)
	nearDeg(t, "butted, per mm", unit.Angle(out.PerMM.Value), 0.94, 0.005)
	near(t, "butted, off by a degree", float64(out.SeatAgain.Value), 1.05, 0.02)

	table := changed(rig(nil, wheel(200), &shop.Holder{Kind: shop.NoHolder}, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)}), grind(front(70)), grind(front(75)))
	if out = mustRegrind(t, table); out.PerMM != shop.Some(0.0) || out.SeatAgain.Known || !strings.Contains(out.Text, "on a platform") {
		t.Errorf("%+v", out)
	}
}

// A skew loses its length along the blade, more than square to the edge, on both faces alike.
func TestRegrindOfASkew(t *testing.T) {
	tool := &shop.Tool{Kind: shop.Skew, Thickness: length(8), EdgeToSide: angle(70)}
	out := mustRegrind(t, changed(rig(nil, wheel(200), nil, tool), grind(shop.Bevel{Of: shop.IncludedFrontAngle, Angle: unit.Degrees(30)}), grind(shop.Bevel{Of: shop.IncludedFrontAngle, Angle: unit.Degrees(36)})))
	square := heelBehind(200, 15, 4) - heelBehind(200, 18, 4)
	near(t, "along the blade", float64(out.Lost), square/math.Sin(70*math.Pi/180), 1e-8)
	nearDeg(t, "one face", out.Wanted, 18, 1e-9)
	if !strings.Contains(out.Text, "each face") {
		t.Errorf("%q", out.Text)
	}
	// A negative-rake tool whose upper bevel alone gets blunter loses what that one costs.
	rake := &shop.Tool{Kind: shop.NegativeRakeScraper, Thickness: length(8), EdgeBelowTop: length(2)}
	withUpper := func(upper float64) *shop.Grind {
		return &shop.Grind{Bevels: []shop.Bevel{front(40)}, Upper: shop.Some(front(upper))}
	}
	out = mustRegrind(t, changed(rig(nil, wheel(200), nil, rake), withUpper(20), withUpper(25)))
	near(t, "the upper bevel", float64(out.Lost), heelBehind(200, 20, 2)-heelBehind(200, 25, 2), 1e-8)
}

func TestRegrindRefused(t *testing.T) {
	same := changed(through(200, 8), grind(land(50, 3), front(35)), grind(land(50, 3), front(35)))
	_, detail := refusedRegrind(t, same, setup.NothingToChange)
	near(t, "apart", detail.Value.Value, 0, 1e-9)
	near(t, "least", detail.Least.Value, 0.01, 0)
	// The same grind, once by its reading.
	reading := changed(through(200, 8), grind(shop.Bevel{Of: shop.Reading, Angle: unit.Degrees(52.8754)}), grind(front(50)))
	refusedRegrind(t, reading, setup.NothingToChange)

	f, detail := refusedRegrind(t, changed(through(200, 8), grind(land(50, 3), front(53)), grind(front(50))), setup.BevelsNotFalling)
	if detail.Field != "today.bevels[1]" || f.Kind != fault.BadRequest {
		t.Errorf("%+v", detail)
	}
	if _, detail = refusedRegrind(t, changed(through(200, 8), grind(front(50)), grind(front(8))), setup.TooKeen); detail.Field != "grind.bevels[0]" {
		t.Errorf("%+v", detail)
	}
	held := changed(rig(nil, wheel(200), swing(), &shop.Tool{SteelUnderFlute: length(8), FreeBlade: length(100)}), grind(front(45)), grind(front(50)))
	held.Settings = swung(120, 30)
	if _, detail = refusedRegrind(t, held, setup.StickOutTooLong); detail.Field != "settings.stick_out_mm" {
		t.Errorf("%+v", detail)
	}
	// A pivot 90° from the tangent moves nothing.
	square := changed(rig(nil, wheel(200), pivot(1, 80), &shop.Tool{SteelUnderFlute: length(8)}), grind(front(25)), grind(front(1)))
	square.Rig.Station.Inline = &shop.Station{EdgeAngles: shop.Some(shop.AngleRange{Least: 0, Most: unit.Degrees(90)})}
	refusedRegrind(t, square, setup.IllConditioned)
	tiny := changed(through(200, 8), grind(front(30)), grind(front(60)))
	tiny.UsualLoss = length(0.001)
	unheld := changed(through(200, 8), grind(front(45)), grind(front(50)))
	unheld.Settings = swung(45, 30)
	noLeg := changed(rig(nil, wheel(200), swing(), &shop.Tool{SteelUnderFlute: length(8)}), grind(front(45)), grind(front(50)))
	noLeg.Settings = stuckOut(45)
	for field, c := range map[string]setup.Change{
		"rig.tool":                 changed(rig(nil, wheel(200), nil, nil), grind(front(45)), grind(front(50))),
		"usual_loss_mm":            tiny,
		"rig.holder":               unheld,
		"settings.leg":             noLeg,
		"grind":                    changed(through(200, 8), grind(front(45)), nil),
		"today.bevels[0].width_mm": changed(through(200, 8), grind(front(50), front(35)), grind(front(50))),
	} {
		if f, _ := refusedRegrind(t, c, fault.InvalidField); f.Violations[0].Field != field {
			t.Errorf("%+v, want %s", f.Violations, field)
		}
	}
}
