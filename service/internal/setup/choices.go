package setup

import (
	"math"
	"slices"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// choices are the stick-outs and legs to try for a bevel: what is given, or all that is at hand.
func (x search) choices(f face, b bevel) []choice {
	var list []choice
	for _, leg := range x.legs(f, b) {
		for _, stick := range x.sticks(f, b, leg) {
			stick.leg, stick.position = leg.leg, leg.position
			list = append(list, stick)
		}
	}
	return list
}

// legs are the leg angles to try.
func (x search) legs(f face, b bevel) []choice {
	switch {
	case x.holder.Kind != shop.Swing:
		return []choice{{}}
	case !x.legFree:
		return []choice{x.givenLeg()}
	case len(x.holder.Positions) > 0:
		list := make([]choice, len(x.holder.Positions))
		for i, p := range x.holder.Positions {
			list[i] = choice{leg: p.Angle, position: p.ID}
		}
		return list
	case !x.supportFree && !x.stickFree && !x.tool.EdgeToSide.Known:
		return x.legsAt(f, b)
	}
	return x.legSteps()
}

// givenLeg is the leg as said; an unknown mark becomes an angle no leg has, which is refused with the marks there are.
func (x search) givenLeg() choice {
	if x.settings.Position == "" {
		return choice{leg: x.settings.Leg.Value}
	}
	leg, _ := x.rig.legAt(x.settings.Position)
	return choice{leg: leg, position: x.settings.Position}
}

// legAt is the angle of a leg position.
func (r rig) legAt(mark string) (unit.Angle, bool) {
	for _, p := range r.holder.Positions {
		if p.ID == mark {
			return p.Angle, true
		}
	}
	return unit.Angle(math.NaN()), false
}

// legSteps is every leg angle the holder has, a degree apart or as fine as angles can be set.
func (x search) legSteps() []choice {
	step := max(x.q.Rounding.angleStep(), unit.Degree)
	from := x.holder.Leg.Least.RoundTo(step, unit.TieUp)
	var list []choice
	for i := 0; i <= 360; i++ {
		leg := (from + unit.Angle(i)*step).RoundTo(step, unit.TieUp)
		if leg > x.holder.Leg.Most {
			break
		}
		list = append(list, choice{leg: leg})
	}
	return list
}

// legsAt are the leg angles, rounded both ways, that grind the bevel with stick-out and support as given.
func (x search) legsAt(f face, b bevel) []choice {
	at, n := x.locate(f, x.settings)
	if n != nil {
		return []choice{{leg: x.holder.Leg.Least}} // the same refusal comes again when it is tried
	}
	arm := x.holder.Arm
	arm.JointBelowAxis -= b.below
	low, high, ok := x.surface.LegAngles(arm, x.settings.StickOut.Value-b.behind, b.front, at.gap)
	if !ok {
		return nil
	}
	step := x.q.Rounding.angleStep()
	var list []choice
	for _, exact := range []unit.Angle{low, high} {
		down := unit.Angle(math.Floor(float64(exact / step)))
		list = append(list, choice{leg: (down * step).RoundTo(step, unit.TieUp)}, choice{leg: ((down + 1) * step).RoundTo(step, unit.TieUp)})
	}
	return slices.DeleteFunc(list, func(c choice) bool { return x.checkChoice(c) != nil })
}

// The stick-outs people use, when the tool does not say how long it is.
const (
	shortestStickOut unit.Length = 10
	usualLongest     unit.Length = 200
)

// sticks are the stick-outs to try with a leg.
func (x search) sticks(f face, b bevel, leg choice) []choice {
	switch {
	case !x.stickFree:
		return []choice{{stickOut: x.settings.StickOut.Value}}
	case !x.supportFree:
		return x.sticksAt(f, b, leg)
	case len(x.q.Rounding.Blocks) > 0:
		return blocks(x.q.Rounding.Blocks)
	}
	most, ok := x.longestStickOut()
	if !ok {
		most = usualLongest
	}
	step := max(x.q.Rounding.lengthStep(), 1)
	var list []choice
	for i := 0; i <= 1000; i++ {
		stick := (shortestStickOut + unit.Length(i)*step).RoundTo(step, unit.TieUp)
		if stick > most {
			break
		}
		list = append(list, choice{stickOut: stick})
	}
	return list
}

func blocks(at []unit.Length) []choice {
	list := make([]choice, len(at))
	for i, b := range at {
		list[i] = choice{stickOut: b, onBlock: true}
	}
	return list
}

// sticksAt are the stick-outs, rounded both ways or on blocks, that grind the bevel with the support as given.
func (x search) sticksAt(f face, b bevel, leg choice) []choice {
	if blocksAtHand := x.q.Rounding.Blocks; len(blocksAtHand) > 0 {
		return blocks(blocksAtHand)
	}
	at, n := x.locate(f, x.settings)
	if n != nil {
		return []choice{{stickOut: shortestStickOut}} // the same refusal comes again when it is tried
	}
	exact, ok := x.stickOutAt(f, b, leg, at.gap)
	if !ok {
		return nil
	}
	step := x.q.Rounding.lengthStep()
	down := unit.Length(math.Floor(float64(exact / step)))
	var list []choice
	for _, stick := range []unit.Length{(down * step).RoundTo(step, unit.TieUp), ((down + 1) * step).RoundTo(step, unit.TieUp)} {
		if stick >= leastStickOut {
			list = append(list, choice{stickOut: stick})
		}
	}
	return list
}

// stickOutAt is the exact stick-out that grinds a bevel at a gap.
func (r rig) stickOutAt(f face, b bevel, leg choice, gap unit.Length) (unit.Length, bool) {
	bare, _ := r.pivotOf(f, choice{leg: leg.leg})
	behind, ok := r.surface.Behind(b.front, bare.Below-b.below, gap)
	if !ok {
		return 0, false
	}
	return (behind + b.behind - bare.Behind) / unit.Length(r.alongBlade()), true
}
