package setup_test

import (
	"fmt"
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// TestUsualDoubts holds the table of instruments behind what is not said: stick-out by calliper, a support by rule, its slide's scale
// by calliper, the leg by scale and at a mark by notch, a tilt by scale; blocks as blocks.
func TestUsualDoubts(t *testing.T) {
	holder := swing()
	holder.Positions = []shop.LegPosition{{ID: "3", Angle: unit.Degrees(30)}}
	ask := func(change func(*setup.Question)) map[string]float64 {
		q := reference(front(50))
		q.Rig.Holder.Inline, q.Budget = holder, true
		change(&q)
		return halfWidths(mustSolve(t, q).Steps[0].Budget)
	}
	for _, c := range []struct {
		name   string
		change func(*setup.Question)
		want   map[string]float64
	}{
		{"nothing said", func(*setup.Question) {}, map[string]float64{"stick_out": 0.5, "leg_angle": 1, "wheel_gap": 1, "wheel_diameter": 0.5, "holder": 0.5}},
		{"by the slide, at a mark", func(q *setup.Question) {
			q.Given, q.Rig.Station.Inline.Supports[0].Datum = shop.Settings{StickOut: length(45), Position: "3"}, shop.DatumSlide
		}, map[string]float64{"stick_out": 0.5, "leg_angle": 0.5, "slide": 0.5, "slide_origin": 0.05, "wheel_diameter": 0.5, "holder": 0.5}},
		{"on blocks", func(q *setup.Question) {
			q.Given, q.Free, q.Rounding.Blocks = shop.Settings{Leg: angle(30)}, []setup.Free{setup.FreeSupport, setup.FreeStickOut}, []unit.Length{45, 108.5}
		}, map[string]float64{"stick_out": 0.2, "leg_angle": 1, "wheel_gap": 0.2, "wheel_diameter": 0.5, "holder": 0.5}},
		{"all said", func(q *setup.Question) {
			q.Doubts = setup.Doubts{StickOut: length(0.1), Support: length(0.3), Leg: angle(0.7)}
			q.Rig.Wheel.Inline.Doubt, q.Rig.Holder.Inline.Doubt = length(0.4), length(0.6)
			q.Rig.Station.Inline.Supports[0].Datum, q.Rig.Station.Inline.Supports[0].Slide.Value.Doubt = shop.DatumSlide, length(0.9)
		}, map[string]float64{"stick_out": 0.1, "leg_angle": 0.7, "slide": 0.3, "slide_origin": 0.9, "wheel_diameter": 0.4, "holder": 0.6}},
	} {
		if got := ask(c.change); fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	q := setup.Question{Common: rig(station(tilting(101.2, -4, 2, -75, 30)), wheel(200), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)})}
	q.Grind, q.Budget = grind(front(75)), true
	want := map[string]float64{"platform_tilt": 1, "blade_thickness": 0.05, "wheel_diameter": 0.5}
	if got := halfWidths(mustSolve(t, q).Steps[0].Budget); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("a platform: %v, want %v", got, want)
	}
}

// halfWidths are what a budget believes, millimetres or degrees.
func halfWidths(budget []setup.BudgetItem) map[string]float64 {
	found := map[string]float64{}
	for _, item := range budget {
		found[item.Quantity] = item.HalfWidth
		if item.IsAngle {
			found[item.Quantity] = unit.Angle(item.HalfWidth).Degrees()
		}
		found[item.Quantity] = math.Round(found[item.Quantity]*1e9) / 1e9
	}
	return found
}

// doubtRig is a rig with one input off by something: the way an answer's doubts are tried out.
type doubtRig struct {
	name   string
	common setup.Common
	given  shop.Settings // with the support as it is set
}

// doubtRigs are a rig for every datum of bar, pocket and platform.
func doubtRigs(t *testing.T) []doubtRig {
	slanting := shop.Support{ID: "bar", Kind: shop.Bar, Near: 6, Far: 6, Top: 6, Slide: slide(130, -90, 35, -100, 200), Reference: length(-140)}
	oblique := skew(8, 70)
	near := pocket()
	near.Slide.Value.Travel.Least = 0
	sliding := shop.Support{ID: "t", Kind: shop.Platform, Table: shop.Table{Tilt: angle(-12)}, Slide: slide(101, -50, 80, -100, 200)}
	var rigs []doubtRig
	add := func(c setup.Common, given shop.Settings, edge float64, data ...shop.Datum) {
		for _, d := range data {
			own := c
			s := *c.Rig.Station.Inline
			s.Supports = []shop.Support{s.Supports[0]}
			s.Supports[0].Datum = d
			s.Supports[0].Slide.Value.Doubt = length(0.4)
			own.Rig.Station.Inline, own.Budget = &s, true
			q := setup.Question{Common: own, Given: given, Rounding: setup.Rounding{LengthStep: 0.001, AngleStep: unit.Degrees(0.01)}}
			q.Grind = grind(front(edge))
			set := settingsOf(mustSolve(t, q).Steps[0])
			rigs = append(rigs, doubtRig{fmt.Sprintf("%s by %v", s.Supports[0].ID, d), own, set})
		}
	}
	add(rig(station(pocket()), wheel(200), swing(), nil), swung(45, 30), 50, shop.DatumWheelGap, shop.DatumSlide, shop.DatumPivotToAxle, shop.DatumFaceDistance)
	add(rig(station(slanting), wheel(200), clamp(14, 30), nil), stuckOut(100), 45, shop.DatumWheelGap, shop.DatumWheelGapFar, shop.DatumSlide, shop.DatumPivotToAxle, shop.DatumFaceDistance, shop.DatumHeight)
	add(rig(station(slanting), wheel(200), clamp(14, 30), oblique), stuckOut(100), 20, shop.DatumHeight)
	add(rig(station(slanting), wheel(200), clampWith(yawed), oblique), stuckOut(100), 20, shop.DatumSlide)
	add(rig(station(near), flat(), swing(), nil), swung(45, 30), 70, shop.DatumWheelGap, shop.DatumSlide)
	add(rig(station(pocket()), wheel(200), &shop.Holder{Kind: shop.Butted, Below: -5}, nil), stuckOut(200), 25, shop.DatumSlide)
	add(rig(station(pocket()), wheel(200), pivot(131, 46), nil), shop.Settings{}, 50, shop.DatumSlide)
	add(rig(station(tilting(101.2, -4, 2, -75, 30)), wheel(200), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)}), shop.Settings{}, 75, shop.DatumTilt, shop.DatumPlatformToAxle)
	add(rig(station(tilting(101.2, -4, 2, -75, 30)), wheel(200), &shop.Holder{}, oblique), shop.Settings{}, 20, shop.DatumTilt)
	add(rig(station(sliding), wheel(200), &shop.Holder{}, &shop.Tool{Kind: shop.Scraper, Thickness: length(6)}), shop.Settings{}, 75, shop.DatumSlide)
	return rigs
}

// offBy is the rig with every input of a budget off by a drawn error, and the settings as they then come out.
func (d doubtRig) offBy(off func(quantity string) float64) (setup.Common, shop.Settings) {
	c, s := d.common, d.given
	st, w, h := *c.Rig.Station.Inline, *c.Rig.Wheel.Inline, *c.Rig.Holder.Inline
	st.Supports = []shop.Support{st.Supports[0]}
	support := &st.Supports[0]
	c.Rig.Station.Inline, c.Rig.Wheel.Inline, c.Rig.Holder.Inline = &st, &w, &h
	if t := c.Rig.Tool.Inline; t != nil {
		own := *t
		own.Thickness.Value += unit.Length(off("blade_thickness"))
		c.Rig.Tool.Inline = &own
	}
	s.StickOut.Value += unit.Length(off("stick_out"))
	s.Leg.Value += unit.Angle(off("leg_angle"))
	if s.Datum == shop.DatumTilt {
		s.Tilt += unit.Angle(off(s.Datum.String()))
	} else {
		s.Support += unit.Length(off(s.Datum.String()))
	}
	w.Diameter += unit.Length(off("wheel_diameter"))
	support.Slide.Value.Origin.Out += unit.Length(off("slide_origin"))
	support.Slide.Value.Origin.Up += unit.Length(off("slide_origin"))
	switch h.Kind {
	case shop.Swing:
		h.Arm.JointBehindFace += unit.Length(off("holder"))
		h.Arm.JointBelowAxis += unit.Length(off("holder"))
		h.Arm.Leg += unit.Length(off("holder"))
	case shop.Butted:
		h.Below += unit.Length(off("holder"))
	default:
		h.Behind += unit.Length(off("holder"))
		h.Below += unit.Length(off("holder"))
	}
	return c, s
}

// TestSlopesAreThoseOfPredictions holds every line of an error budget against the prediction itself with that input a little off.
// Lines that stand for several inputs together are held by the test below.
func TestSlopesAreThoseOfPredictions(t *testing.T) {
	for _, d := range doubtRigs(t) {
		budget := mustPredict(t, d.common, d.given).Steps[0].Budget
		for _, item := range budget {
			if item.Quantity == "holder" || item.Quantity == "slide_origin" {
				continue
			}
			const h = 1e-5
			edge := func(by float64) unit.Angle {
				c, s := d.offBy(func(quantity string) float64 {
					if quantity == item.Quantity {
						return by
					}
					return 0
				})
				return mustPredict(t, c, s).Steps[0].Predicted.Edge
			}
			slope := float64(edge(h)-edge(-h)) / (2 * h)
			near(t, d.name+": "+item.Quantity, item.Sensitivity, slope, 1e-6+1e-5*math.Abs(slope))
		}
	}
}

// TestUncertaintyAgainstMonteCarlo draws every input from a normal distribution with half its half-width as deviation (k = 2) and
// predicts the edge 4,000 times (JCGM 101): twice the deviation of those is the expanded uncertainty. The estimate itself is good to
// 1/√(2·4000) = 1.1 %; four times that is allowed.
func TestUncertaintyAgainstMonteCarlo(t *testing.T) {
	const draws = 4000
	r := chance.New(t)
	for _, d := range doubtRigs(t) {
		step := mustPredict(t, d.common, d.given).Steps[0]
		half := map[string]float64{}
		for _, item := range step.Budget {
			half[item.Quantity] = item.HalfWidth
		}
		var sum, squares float64
		for range draws {
			c, s := d.offBy(func(quantity string) float64 { return r.NormFloat64() * half[quantity] / 2 })
			e := mustPredict(t, c, s).Steps[0].Predicted.Edge.Degrees() - step.Predicted.Edge.Degrees()
			sum, squares = sum+e, squares+e*e
		}
		deviation := math.Sqrt(squares/draws - (sum/draws)*(sum/draws))
		near(t, d.name, step.Predicted.Expanded.Degrees(), 2*deviation, 0.045*2*deviation)
	}
}

// TestBudgetAddsUp holds that a budget is ranked, adds up in squares to the uncertainty, and that the improvement named is what is
// left without its first line.
func TestBudgetAddsUp(t *testing.T) {
	r := chance.New(t)
	answered(t, 300, 0.1, func() setup.Question { return anyQuestion(r) }, func(t *testing.T, _ setup.Question, s setup.Setup) {
		for _, step := range s.Steps {
			var all, rest float64
			for i, item := range step.Budget {
				c := float64(item.Contribution())
				all += c * c
				if i > 0 {
					rest += c * c
					if c > float64(step.Budget[i-1].Contribution()) {
						t.Error("the budget is not ranked")
					}
				}
			}
			near(t, "all together", float64(step.Predicted.Expanded), math.Sqrt(all), 1e-12)
			near(t, "without the first", float64(step.Improve.Expanded), math.Sqrt(rest), 1e-12)
			if step.Improve.Quantity != step.Budget[0].Quantity {
				t.Errorf("%s is to be improved, %s is first", step.Improve.Quantity, step.Budget[0].Quantity)
			}
		}
	})
	q := reference(front(50))
	q.Doubts = setup.Doubts{StickOut: length(0), Support: length(0), Leg: angle(0)}
	q.Rig.Wheel.Inline.Doubt, q.Rig.Holder.Inline.Doubt = length(0), length(0)
	if step := mustSolve(t, q).Steps[0]; step.Predicted.Expanded != 0 || step.Improve != nil {
		t.Errorf("all known exactly: ±%v, improve %+v", step.Predicted.Expanded, step.Improve)
	}
}

// TestTouchFirst holds the offset to the blunt side: as much as said, or 1.645·√2 of half the uncertainty that setting anew makes
// (not that of wheel and holder, which stay as they are).
func TestTouchFirst(t *testing.T) {
	q := reference(front(50))
	q.Budget = true
	plain := mustSolve(t, q)
	var anew float64
	for _, item := range plain.Steps[0].Budget {
		if item.Quantity == "stick_out" || item.Quantity == "leg_angle" || item.Quantity == "wheel_gap" {
			anew += float64(item.Contribution()) * float64(item.Contribution())
		}
	}
	offset := 1.645 * math.Sqrt2 * math.Sqrt(anew) / 2 / degree
	nearDeg(t, "the offset it asks for", plain.TouchFirstOffset, offset, 1e-9)
	if plain.TouchFirstApplied != 0 {
		t.Errorf("applied %v unasked", plain.TouchFirstApplied)
	}
	q.TouchSized = true
	sized := mustSolve(t, q)
	// The offset is sized where the edge alone would be set; set blunter, it asks for a hair more.
	nearDeg(t, "applied", sized.TouchFirstApplied, offset, 1e-9)
	nearDeg(t, "wanted stays what was asked", sized.Steps[0].Wanted, 50, 1e-9)
	nearDeg(t, "predicted, sized", sized.Steps[0].Predicted.Edge, 50+offset, 0.06)
	q.TouchSized, q.TouchFirst = false, unit.Degrees(1.5)
	fixed := mustSolve(t, q)
	nearDeg(t, "fixed", fixed.Steps[0].Wanted, 50, 1e-9)
	nearDeg(t, "predicted", fixed.Steps[0].Predicted.Edge, 51.5, 0.06)
	near(t, "gap", float64(fixed.Steps[0].Support.Lengths[shop.DatumWheelGap].Exact), gapFor(100, 45+22+74*math.Cos(30*degree), 46, 51.5), 1e-9)

	q.Grind = grind(land(50, 3), front(35))
	both := mustSolve(t, q)
	nearDeg(t, "the relief stays", both.Steps[0].Wanted, 35, 1e-9)
	nearDeg(t, "the edge moves", both.Steps[1].Predicted.Edge, 51.5, 0.06)
	if q.Grind.Bevels[0].Angle != unit.Degrees(50) {
		t.Error("the question was changed")
	}

	q.Grind, q.TouchFirst = grind(front(85)), unit.Degrees(10)
	_, refusal := refusedSolve(t, q, setup.TooBlunt)
	near(t, "the edge it would be", refusal.Value.Value, 95, 1e-9)
	if refusal.Field != "touch_first" {
		t.Errorf("field %s", refusal.Field)
	}
	// What is offered instead counts the offset in.
	q.Grind, q.TouchFirst, q.TouchSized = grind(front(50)), 0, true
	q.Rig.Station.Inline.Supports[0].Slide.Value.Travel.Most = 175
	_, refusal = refusedSolve(t, q, setup.BeyondTravel)
	if len(refusal.Ways) == 0 {
		t.Fatal("no way out")
	}
	q.Given = refusal.Ways[0].Settings
	mustSolve(t, q)
}
