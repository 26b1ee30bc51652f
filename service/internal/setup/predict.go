package setup

import (
	"cmp"
	"context"
	"math"
	"slices"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// Predict answers what settings grind, and what explains the difference from what was meant.
func (s Solver) Predict(ctx context.Context, q Forecast) (Prediction, error) {
	x, p, err := s.forecasted(ctx, q)
	if err != nil {
		return Prediction{}, err
	}
	meant, err := x.meant(ctx, q)
	if err != nil {
		return Prediction{}, err
	}
	if x.wing, err = x.aim(q.Grind); err != nil {
		return Prediction{}, err
	}
	answer := x.prediction(p, meant)
	answer.Edge, err = x.edgeBeside(ctx, p, q.Triangles)
	return answer, err
}

// forecasted is the search for a forecast, and what its settings grind.
func (s Solver) forecasted(ctx context.Context, q Forecast) (x search, p plan, err error) {
	r, err := s.resolve(ctx, q.Common)
	if err != nil {
		return x, nil, err
	}
	if err := checkWheel(r).err(); err != nil {
		return x, nil, err
	}
	x = search{rig: r, machine: r.machine(q.Doubts), q: Question{Common: q.Common, Rounding: Rounding{}.in(q.Unit)}, settings: r.fill(q.Settings)}
	if err := x.checkForecast(); err != nil {
		return x, nil, err
	}
	p, n := x.forecast(x.settings)
	if n != nil {
		n.Ways = x.reachable(n, q.Grind)
		return x, nil, n.err()
	}
	return x, p, nil
}

// checkForecast names every setting a prediction needs and nobody said.
func (x *search) checkForecast() error {
	list := x.missing("settings", x.settings, false, false)
	if x.settings.Datum == shop.DatumUnset {
		list = append(list, fault.Violation{Field: "settings.support", Reason: fault.Missing, Text: "say where the support stands: slide_mm, wheel_gap_mm, platform_tilt_deg, …"})
	}
	return invalid(list)
}

// forecast is what settings grind on every face: the edge's bevel alone.
func (x *search) forecast(settings shop.Settings) (plan, *no) {
	other := *x
	x = &other
	x.settings = settings
	c := x.givenChoice()
	if n := x.checkChoice(c); n != nil {
		return nil, n
	}
	var p plan
	for _, f := range x.faces() {
		s, n := x.stand(f, bevel{}, c)
		if n != nil {
			return nil, n
		}
		s.wanted = s.front
		p = append(p, s)
	}
	return p, nil
}

// reachable is a gap at which the edge can be ground, for settings that do not reach the wheel: the one that grinds what was meant, or
// where that is none, or nobody meant anything, the nearest.
func (x *search) reachable(n *no, meant *shop.Grind) []Way {
	if n.Reason != CannotReach || !n.Value.Known || !n.Least.Known || n.Unit != "mm" || x.holder.Kind == shop.NoHolder {
		return nil
	}
	if way, ok := x.meantGap(meant); ok {
		return []Way{way}
	}
	gap := unit.Length(min(max(n.Value.Value, n.Least.Value), n.Most.Value))
	inwards := unit.Length(0.1)
	if n.Value.Value > n.Most.Value {
		inwards = -inwards
	}
	for i := range 20 {
		way := x.gapWay(gap + unit.Length(i)*inwards)
		if _, n := x.forecast(way.Settings); n == nil {
			return []Way{way}
		}
	}
	return nil
}

// meantGap is the gap at which the settings grind the edge that was meant.
func (x *search) meantGap(meant *shop.Grind) (Way, bool) {
	if meant == nil && !x.hasRecipe {
		return Way{}, false
	}
	faces, err := x.wanted(meant, nil)
	if err != nil {
		return Way{}, false
	}
	y := *x
	y.supportFree = true
	s, n := y.stand(x.faces()[0], bevel{front: faces[0].bevels[0].front}, x.givenChoice())
	if n != nil {
		return Way{}, false
	}
	gap, ok := x.value(&s, shop.DatumWheelGap, s.exact)
	way := x.gapWay(unit.Length(gap))
	_, n = x.forecast(way.Settings)
	return way, ok && n == nil
}

// gapWay is a wheel gap as it can be set.
func (x *search) gapWay(gap unit.Length) Way {
	at := x.settings
	at.Datum, at.Support = shop.DatumWheelGap, gap.RoundTo(0.1, unit.TieUp)
	return Way{Settings: at, Text: x.say("a wheel gap of %s", x.setLength(at.Support))}
}

// meaning is what a recipe or grind meant: the edge's angles, face by face, and the settings that would make it.
type meaning struct {
	fronts   []unit.Angle
	settings shop.Settings
	steel    shop.Maybe[unit.Length]
}

// meant is what a forecast's recipe or grind asked for; nil when it named none.
func (x *search) meant(ctx context.Context, q Forecast) (*meaning, error) {
	if q.Grind == nil && !x.hasRecipe {
		return nil, nil
	}
	intended := x.rig
	if x.recipe.Steel.Known && x.tool.Kind.Flat() && !x.tool.Kind.TwoBevels() {
		intended.tool.Thickness = x.recipe.Steel
	}
	faces, err := intended.wanted(q.Grind, nil)
	if err != nil {
		return nil, err
	}
	m := &meaning{steel: x.recipe.Steel}
	for _, f := range faces {
		m.fronts = append(m.fronts, f.bevels[0].front)
	}
	m.settings = intended.fill(x.recipe.Settings)
	y := search{rig: intended, machine: intended.machine(q.Doubts), q: Question{Common: q.Common}, settings: m.settings, supportFree: true}
	if len(intended.missing("settings", m.settings, false, false)) > 0 {
		m.settings = y.settings.Over(x.settings)
		y.settings = m.settings
	}
	faces[0].bevels = faces[0].bevels[:1]
	if p, n := y.plan(ctx, faces[:1]); n == nil {
		y.settle(&m.settings, p[0])
	}
	return m, nil
}

// settle writes a stand's exact support into settings.
func (x *search) settle(s *shop.Settings, at stand) {
	v, ok := x.value(&at, at.datum, at.exact)
	if !ok {
		return
	}
	s.Datum = at.datum
	if at.datum == shop.DatumTilt {
		s.Tilt = unit.Angle(v)
	} else {
		s.Support = unit.Length(v)
	}
}

// explain puts right one thing after another and sees how much of the difference each makes by itself.
//
// It also gives the words of the thing to put right first.
func (x *search) explain(p plan, m *meaning) (list []Explanation, first string) {
	off := p[0].front - m.fronts[0]
	if math.Abs(float64(off)) < float64(alike) {
		return nil, ""
	}
	said := map[string]string{}
	for _, part := range x.parts(*m) {
		q, n := part.x.forecast(part.settings)
		if n != nil {
			continue
		}
		remaining := q[0].front - m.fronts[0]
		if effect := p[0].front - q[0].front; math.Abs(float64(effect)) >= float64(alike) { // less is what rounding makes of a number that was set as meant
			list = append(list, Explanation{Quantity: part.quantity, Effect: effect, Remaining: remaining,
				Text: x.say("%s, makes it %s; all together it is %s", part.words, x.signed(effect), x.signed(off))})
			said[part.quantity] = part.words
		}
	}
	slices.SortStableFunc(list, func(a, b Explanation) int {
		return cmp.Compare(math.Abs(float64(a.Remaining)), math.Abs(float64(b.Remaining)))
	})
	if len(list) > 0 {
		first = said[list[0].Quantity]
	}
	return list, first
}

// part is one thing put as it was meant.
type part struct {
	quantity, words string
	x               search
	settings        shop.Settings
}

// parts are the things that differ from what was meant.
func (x *search) parts(m meaning) []part {
	var list []part
	is := x.settings
	if want := m.settings.StickOut; want.Known && is.StickOut.Known && want != is.StickOut {
		s := is
		s.StickOut = want
		list = append(list, part{"stick_out", x.instead("the stick-out", x.setLength(is.StickOut.Value), x.setLength(want.Value)), *x, s})
	}
	if leg, want := x.legOf(is), x.legOf(m.settings); x.holder.Kind == shop.Swing && want.Known && leg != want {
		s := is
		s.Leg, s.Position = m.settings.Leg, m.settings.Position
		list = append(list, part{"leg_angle", x.say("the leg, at %s instead of %s", x.degrees(leg.Value), x.degrees(want.Value)), *x, s})
	}
	if m.settings.Datum != shop.DatumUnset {
		s := is
		s.Datum, s.Support, s.Tilt = m.settings.Datum, m.settings.Support, m.settings.Tilt
		list = append(list, part{"support", x.supportWords(is, m.settings), *x, s})
	}
	if t := x.tool.Thickness; m.steel.Known && t.Known && t != m.steel {
		y := *x
		y.tool.Thickness = m.steel
		y.machine = y.rig.machine(x.q.Doubts)
		list = append(list, part{"blade_thickness", x.say("the blade, %s thick instead of %s", x.length(t.Value), x.length(m.steel.Value)), y, is})
	}
	return list
}

// legOf is the leg's angle in settings, said outright or by a mark the holder has.
func (x *search) legOf(s shop.Settings) shop.Maybe[unit.Angle] {
	if s.Position == "" {
		return s.Leg
	}
	leg, ok := x.legAt(s.Position)
	return shop.Maybe[unit.Angle]{Value: leg, Known: ok}
}

func (x *search) supportWords(is, meant shop.Settings) string {
	if is.Datum == meant.Datum && is.Datum != shop.DatumTilt {
		return x.instead(x.datum(is.Datum), x.setLength(is.Support), x.setLength(meant.Support))
	}
	if is.Datum == shop.DatumTilt && meant.Datum == shop.DatumTilt {
		return x.instead(x.datum(shop.DatumTilt), x.degrees(is.Tilt), x.degrees(meant.Tilt))
	}
	return x.say("the support's place")
}

// instead says that a thing is not as it was meant.
func (x *search) instead(what words.Text, is, meant string) string {
	return x.say("%s, %s instead of %s", x.say(what), is, meant)
}
