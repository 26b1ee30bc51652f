package setup

import (
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// brief is a plan's numbers and no more: for those who ask thousands at once.
func (x *search) brief(p plan, offset unit.Angle) Setup {
	s := Setup{Basis: x.basisOf(p), TouchFirstApplied: offset, Steps: make([]Step, len(p))}
	for i := range p {
		y := x.at(p[i].bevel)
		s.Steps[i] = y.briefStep(p[i])
		if p[i].bevel.index == 0 {
			s.Steps[i].Wanted -= offset
		}
	}
	join(p, s.Steps, x.tool.Kind)
	return s
}

// briefStep is what to set, by the support's own datum, and the angles it grinds.
func (x *search) briefStep(s stand) Step {
	budget := x.inputs(&s)
	out := Step{
		Bevel: s.bevel.index, Side: s.face.side, Wanted: s.wanted, Position: s.choice.position,
		Support:   SupportSetting{SetBy: s.datum},
		Predicted: Angles{Edge: s.front, Expanded: expanded(budget, every)},
	}
	if hollow, ok := s.bevel.reground(x.surface, s.face, s.front); ok {
		out.Predicted.Reading = shop.Some(hollow.Reading)
	}
	exact, _ := x.value(&s, s.datum, s.exact)
	set := x.setValue(s, s.datum, exact, 0)
	if s.datum == shop.DatumTilt {
		out.Support.Tilt = &AngleSetting{Exact: unit.Angle(exact), Set: unit.Angle(set)}
	} else {
		out.Support.Lengths[s.datum] = &LengthSetting{Exact: unit.Length(exact), Set: unit.Length(set)}
	}
	switch x.holder.Kind {
	case shop.Swing:
		out.Leg = &AngleSetting{Exact: s.choice.leg, Set: s.choice.leg}
		fallthrough
	case shop.Clamp, shop.Butted:
		out.StickOut = &LengthSetting{Exact: s.choice.stickOut, Set: s.choice.stickOut}
	}
	return out
}
