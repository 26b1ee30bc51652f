package setup

import (
	"cmp"
	"math"
	"path"
	"slices"
	"strings"

	"arris.example/geometry"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// describe turns a plan into the answer.
func (x *search) describe(p plan, offset unit.Angle) Setup {
	s := Setup{
		Steps:             x.steps(p),
		Basis:             x.basisOf(p),
		TouchFirstOffset:  x.touchFirst(p),
		TouchFirstApplied: offset,
	}
	for i := range s.Steps {
		if s.Steps[i].Bevel == 0 {
			s.Steps[i].Wanted -= offset // what was asked, not what is aimed at
		}
	}
	s.Cautions = x.cautions(p, s.Steps)
	if x.q.Proof {
		s.Proof = x.proofs(p, s.Steps)
	}
	if x.q.Figure {
		s.Figure = x.drawing(p[len(p)-1], s.Steps[len(p)-1])
	}
	return s
}

// prediction turns a forecast into the answer.
func (x *search) prediction(p plan, m *meaning) Prediction {
	out := Prediction{Steps: x.steps(p), Basis: x.basisOf(p)}
	for i := range out.Steps {
		out.Steps[i].Wanted = 0
		if m != nil && i < len(m.fronts) {
			out.Steps[i].Wanted = m.fronts[i]
		}
	}
	var off []Caution
	if m != nil {
		var putRight string
		out.Explanations, putRight = x.explain(p, m)
		off = x.offTarget(p, m, putRight)
	}
	out.Cautions = x.cautions(p, out.Steps, off...)
	if x.q.Figure {
		out.Figure = x.drawing(p[len(p)-1], out.Steps[len(p)-1])
	}
	return out
}

// basisOf is what a plan's numbers rest on.
func (x *search) basisOf(p plan) Basis {
	b := x.basis()
	b.Stale = x.stale(p)
	return b
}

func (x *search) basis() Basis {
	b := Basis{
		Station: x.station.Name, Wheel: x.wheel.Name, Holder: x.holder.Name, Tool: x.tool.Name, Support: x.support.ID,
		WheelMeasured: x.wheel.Measured, ToolKind: x.tool.Kind, SupportKind: x.support.Kind,
	}
	if !x.wheel.Flat {
		b.WheelDiameter = x.wheel.Diameter
	}
	if x.hasRecipe {
		b.Recipe = x.recipe.RevisionName()
	}
	return b
}

func (x *search) steps(p plan) []Step {
	steps := make([]Step, len(p))
	before := x.near
	for i := range p {
		y := x.at(p[i].bevel)
		_, moved := x.others[p[i].bevel.index]
		if moved {
			before = shop.Maybe[spot]{} // what is known of one machine says nothing of another
		}
		steps[i] = y.step(p[i])
		steps[i].Support.Move = y.move(p[i], before)
		text := y.stepText(p, i, steps[i])
		if moved {
			there := y.basis()
			steps[i].Basis = &there
			text = y.there() + ": " + text
		}
		steps[i].Text = words.Upper(text)
		if x.q.Now != nil && !moved {
			before = shop.Some(p[i].set)
		}
		if x.q.Figures {
			steps[i].Figure = y.drawing(p[i], steps[i])
		}
	}
	join(p, steps, x.tool.Kind)
	return steps
}

// there says on which machine and wheel a bevel is ground.
func (x *search) there() string {
	text := x.say("on another machine")
	if x.station.Name != "" {
		text = x.say("on station %s", path.Base(x.station.Name))
	}
	switch {
	case x.wheel.Name != "":
		text += x.say(", wheel %s", path.Base(x.wheel.Name))
	case !x.wheel.Flat:
		text += x.say(", wheel of %s", x.length(x.wheel.Diameter))
	}
	return text
}

// step is one stand in numbers.
func (x *search) step(s stand) Step {
	budget := x.inputs(&s)
	out := Step{
		Bevel: s.bevel.index, Side: s.face.side, Wanted: s.wanted, Position: s.choice.position, PocketAside: s.aside,
		Support: x.supportSetting(s), Predicted: x.angles(s, budget), Improve: x.improve(budget),
		FigurePart: s.datum.String(),
	}
	x.settingsOf(&out, s, budget)
	if x.q.Budget {
		out.Budget = x.ranked(budget)
	}
	return out
}

// settingsOf fills in stick-out and leg, where this holder has them.
func (x *search) settingsOf(out *Step, s stand, budget []BudgetItem) {
	for _, item := range budget {
		switch item.Quantity {
		case "stick_out":
			out.StickOut = &LengthSetting{Exact: s.choice.stickOut, Set: s.choice.stickOut, PerMM: item.Sensitivity, What: x.say("the stick-out"), Text: x.setLength(s.choice.stickOut)}
			if x.holder.Kind == shop.Butted {
				out.StickOut.What, out.StickOut.Measured = x.say("the tool, from seat to nose,"), true
			}
		case "leg_angle":
			text := x.setAngle(s.choice.leg)
			if s.choice.position != "" {
				text = x.say("position %s (%s)", s.choice.position, text)
			}
			out.Leg = &AngleSetting{Exact: s.choice.leg, Set: s.choice.leg, PerAngle: item.Sensitivity, What: x.say("the leg"), Text: text}
		}
	}
}

func (x *search) supportSetting(s stand) SupportSetting {
	out := SupportSetting{SetBy: s.datum}
	for _, d := range x.data() {
		exact, ok := x.value(&s, d, s.exact)
		if !ok {
			continue
		}
		per := x.per(&s, d)
		set := x.setValue(s, d, exact, per)
		if d == shop.DatumTilt {
			out.Tilt = &AngleSetting{Exact: unit.Angle(exact), Set: unit.Angle(set), PerAngle: per, What: x.say(x.datum(d)), Text: x.setAngle(unit.Angle(set))}
			continue
		}
		out.Lengths[d] = &LengthSetting{
			Exact: unit.Length(exact), Set: unit.Length(set), PerMM: per, What: x.say(x.datum(d)), To: x.measuredTo(d), Text: x.setLength(unit.Length(set)),
		}
	}
	if x.support.Kind == shop.Platform && !x.surface.Flat() {
		line, per := s.exact.line+s.bevel.below, x.per(&s, shop.DatumPlatformToAxle)
		set := roundDatum(line, x.q.Rounding.lengthStep(), per, anywhere)
		out.Line = &LengthSetting{Exact: line, Set: set, PerMM: per, Text: x.length(set)}
	}
	return out
}

// setValue is a datum's value as it is set: the support's own datum as it was rounded, any other rounded by itself.
func (x *search) setValue(s stand, d shop.Datum, exact, per float64) float64 {
	if d == s.datum {
		v, _ := x.value(&s, d, s.set)
		if x.supportFree {
			v = x.cleaned(d, v)
		}
		return v
	}
	if d == shop.DatumTilt {
		tie := unit.TieDown
		if per > 0 {
			tie = unit.TieUp
		}
		return float64(unit.Angle(exact).RoundTo(x.q.Rounding.angleStep(), tie))
	}
	fits := anywhere
	if d == shop.DatumSlide && x.supportFree {
		fits = func(v unit.Length) bool { return !outside(v, x.support.Slide.Value.Travel) }
	}
	return float64(roundDatum(unit.Length(exact), x.q.Rounding.lengthStep(), per, fits))
}

// cleaned takes the last binary digit's noise from a value that is on a step, a block or a limit: a nanometre, a nanoradian.
func (x *search) cleaned(d shop.Datum, v float64) float64 {
	if d == shop.DatumTilt {
		return float64(unit.Angle(v).RoundTo(1e-6*unit.Degree, unit.TieUp))
	}
	return float64(unit.Length(v).RoundTo(1e-6, unit.TieUp))
}

// angles is what a stand grinds.
func (x *search) angles(s stand, budget []BudgetItem) Angles {
	a := Angles{Edge: s.front, Expanded: expanded(budget, every), RestGap: s.restGap}
	if hollow, ok := s.bevel.reground(x.surface, s.face, s.front); ok {
		a.Reading, a.Width, a.Hollow = shop.Some(hollow.Reading), shop.Some(hollow.Chord), shop.Some(hollow.Depth)
	}
	if s.posed {
		a.Pitch, a.ContactHeight = shop.Some(s.pose.Pitch), shop.Some(s.pose.Contact.Up)
		if !x.surface.Flat() {
			a.ContactAngle = shop.Some(s.pose.Elevation)
		}
	}
	if !x.surface.Flat() {
		a.WearPerMM = shop.Some(s.wear)
	}
	if sigma := x.tool.EdgeToSide; sigma.Known {
		a.Axial = shop.Some(geometry.Oblique{EdgeToSide: sigma.Value}.Axial(s.front))
	}
	if rpm := x.station.SpindleRPM; rpm.Known && x.wheel.Diameter > 0 {
		a.SurfaceSpeed = shop.Some(geometry.SurfaceSpeed(x.wheel.Diameter, rpm.Value))
	}
	a.Corner = x.corner(s)
	return a
}

// corner is a roughing gouge's edge angle at its corners, when it is rolled about a pivot.
func (x *search) corner(s stand) (corner shop.Maybe[unit.Angle]) {
	radius := x.tool.FluteRadius
	if x.tool.Kind != shop.RoughingGouge || !radius.Known || x.holder.Kind == shop.NoHolder || s.bevel.index > 0 {
		return corner
	}
	around := x.tool.FluteHalfAngle.Or(75 * unit.Degree)
	angle, ok := swung.Corner(x.surface, s.pivot, s.set.gap, radius.Value, around)
	return shop.Maybe[unit.Angle]{Value: angle, Known: ok}
}

// join adds the two faces of a tool together.
func join(p plan, steps []Step, kind shop.ToolKind) {
	if !kind.TwoBevels() && kind != shop.NegativeRakeScraper {
		return
	}
	for i := range steps {
		for j := range steps {
			if i == j || steps[i].Side == steps[j].Side || p[i].bevel.index != p[j].bevel.index {
				continue
			}
			a, b := &steps[i].Predicted, steps[j].Predicted
			a.IncludedEdge = shop.Some(a.Edge + b.Edge)
			if a.Reading.Known && b.Reading.Known {
				a.IncludedReading = shop.Some(a.Reading.Value + b.Reading.Value)
			}
		}
	}
}

// ranked is the budget with the largest contribution first.
func (x *search) ranked(budget []BudgetItem) []BudgetItem {
	list := slices.Clone(budget)
	slices.SortStableFunc(list, func(a, b BudgetItem) int { return cmp.Compare(b.Contribution(), a.Contribution()) })
	for i := range list {
		list[i].Text = x.say(list[i].Words) + ", ±" + x.halfWidth(list[i]) + ": ±" + x.in.Number(list[i].Contribution().Degrees(), 2) + "°"
	}
	return list
}

// Contribution is what the input's doubt does to the angle.
func (b BudgetItem) Contribution() unit.Angle {
	return geometry.Contribution{Sensitivity: b.Sensitivity, HalfWidth: b.HalfWidth}.Angle()
}

// halfWidth is the input's own doubt. Of inches decimals: a doubt is finer than the marks on a rule.
func (x *search) halfWidth(b BudgetItem) string {
	switch {
	case b.IsAngle:
		return x.in.Number(unit.Angle(b.HalfWidth).Degrees(), 2) + "°"
	case x.q.Unit == Inches:
		return x.in.Number(float64(unit.Length(b.HalfWidth)/unit.Inch), 3) + " in"
	}
	return x.in.Number(b.HalfWidth, 2) + " mm"
}

// improve names the input that costs most.
func (x *search) improve(budget []BudgetItem) *Improvement {
	worst := slices.MaxFunc(budget, func(a, b BudgetItem) int { return cmp.Compare(a.Contribution(), b.Contribution()) })
	if worst.Contribution() == 0 {
		return nil
	}
	rest := expanded(budget, func(item BudgetItem) bool { return item.Quantity != worst.Quantity })
	return &Improvement{Quantity: worst.Quantity, Expanded: rest, Text: x.say("Most of the doubt comes from %s (±%s); known exactly, ±%s would be ±%s",
		x.say(worst.Words), x.halfWidth(worst), x.doubt(expanded(budget, every)), x.doubt(rest))}
}

// doubt is an uncertainty in words: one decimal, and a second where the first would be none.
func (r *rig) doubt(a unit.Angle) string {
	if a < 0.1*unit.Degree {
		return r.in.Number(a.Degrees(), 2) + "°"
	}
	return r.degrees(a)
}

// move is from a spot to where a stand is.
func (x *search) move(s stand, from shop.Maybe[spot]) *Move {
	if x.q.Now == nil || !from.Known {
		return nil
	}
	var m Move
	at := from.Value
	switch {
	case at.placed && s.set.placed && x.support.Slide.Known:
		m.Slide = shop.Some(s.set.reading - at.reading)
		if a := x.support.Adjuster; a.Known {
			n := float64(m.Slide.Value / a.Value.Lead)
			if !a.Value.ClockwiseRaises {
				n = -n
			}
			m.Turns = shop.Some(n)
		}
	case x.support.Kind == shop.Platform && at.placed && s.set.placed:
		m.Tilt = shop.Some(s.set.tilt - at.tilt)
	}
	if x.support.Kind != shop.Platform {
		m.Gap = shop.Some(s.set.gap - at.gap)
	}
	if !m.Slide.Known && !m.Tilt.Known && !m.Gap.Known {
		return nil // of a platform nobody described only the distance to set is known
	}
	m.Text = x.moveText(m)
	return &m
}

// moveText says a move in words, with the direction and the turns.
func (x *search) moveText(m Move) string {
	what := x.support.Kind
	switch {
	case m.Tilt.Known:
		by := x.angle(unit.Angle(math.Abs(float64(m.Tilt.Value))))
		switch {
		case stays(float64(m.Tilt.Value) / float64(unit.Degree)):
			return x.say(stayWords[shop.Platform])
		case m.Tilt.Value > 0:
			return x.say("tilt the platform's near side up by %s", by)
		}
		return x.say("tilt the platform's near side down by %s", by)
	case m.Slide.Known && !stays(float64(m.Slide.Value)):
		way := direction(x.support.Slide.Value.Direction, m.Slide.Value > 0)
		return x.say(way, x.say(supportWords[what]), x.length(unit.Length(math.Abs(float64(m.Slide.Value))))) + x.turnsText(m)
	case !m.Slide.Known && m.Gap.Known && !stays(float64(m.Gap.Value)):
		by := x.length(unit.Length(math.Abs(float64(m.Gap.Value))))
		if m.Gap.Value > 0 {
			return x.say("%s %s away from the wheel", x.say(supportWords[what]), by)
		}
		return x.say("%s %s towards the wheel", x.say(supportWords[what]), by)
	}
	return x.say(stayWords[what])
}

// stays tells whether a move is none: a hundredth of a millimetre or degree.
func stays(v float64) bool { return math.Abs(v) < 0.01 }

// turnsText says the adjuster's turns, and how to take up its backlash: every move ends with the reading growing.
func (x *search) turnsText(m Move) string {
	if !m.Turns.Known {
		return ""
	}
	text := ", " + sense(x.in.Language, m.Turns.Value)
	a := x.support.Adjuster.Value
	if a.Backlash <= 0 || m.Slide.Value >= 0 {
		return text
	}
	past := turns(x.in.Language, math.Ceil(float64(a.Backlash/a.Lead)*4+1)/4)
	if m.Turns.Value > 0 {
		return text + x.say("; go %s further and come back anticlockwise, to take up the screw's play", past)
	}
	return text + x.say("; go %s further and come back clockwise, to take up the screw's play", past)
}

// stepText says a step: only what changes from the step before.
func (x *search) stepText(p plan, i int, step Step) string {
	var say []string
	s := p[i]
	switch {
	case i > 0 && s.face.side != p[i-1].face.side:
		say = append(say, x.say("turn the tool over"))
	case s.face.side == UpperSide:
		say = append(say, x.say("lay the tool on its upper face"))
	}
	if step.StickOut != nil && (i == 0 || s.choice.stickOut != p[i-1].choice.stickOut) {
		say = append(say, x.stickOutText(step))
	}
	if step.Leg != nil && (i == 0 || s.choice.leg != p[i-1].choice.leg) {
		say = append(say, x.say("the leg to %s", step.Leg.Text))
	}
	if i == 0 || s.set != p[i-1].set || s.datum != p[i-1].datum {
		say = append(say, x.supportText(step))
	} else {
		say = append(say, x.say(stayWords[x.support.Kind]))
	}
	return strings.Join(say, "; ")
}

func (x *search) stickOutText(step Step) string {
	if x.holder.Kind == shop.Butted {
		return x.say("the tool measures %s from seat to nose", step.StickOut.Text)
	}
	return x.say("set the stick-out to %s", step.StickOut.Text)
}

func (x *search) supportText(step Step) string {
	d := step.Support.SetBy
	var to string
	if d == shop.DatumTilt {
		to = step.Support.Tilt.Text
	} else {
		to = step.Support.Lengths[d].Text
	}
	text := x.say("set %s to %s", x.say(x.datum(d)), to)
	if m := step.Support.Move; m != nil {
		text += " (" + m.Text + ")"
	}
	return text
}
