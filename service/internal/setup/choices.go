package setup

import (
	"fmt"
	"math"
	"slices"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// mostTries bounds a search, in bevels put one way or another: about a second's work.
const mostTries = 500_000

// choices are the stick-outs and legs to try for a bevel: what is given, or all that is at hand. Each takes as many bevels to be put.
func (x *search) choices(f face, b bevel, bevels int) ([]choice, *no) {
	var list []choice
	legs := x.legs(f, b)
	for _, leg := range legs {
		sticks := x.sticks(f, b, leg)
		if tries := len(legs) * len(sticks) * bevels; tries > mostTries {
			return nil, &no{Fault: fault.Fault{Kind: fault.TooMuch, Reason: TooCostly, Message: fmt.Sprintf(
				"%d stick-outs and %d leg angles for %d bevels are too much to try; give the leg or the stick-out, or coarser steps", len(sticks), len(legs), bevels)}}
		}
		for _, stick := range sticks {
			stick.leg, stick.position = leg.leg, leg.position
			list = append(list, stick)
		}
	}
	return list, nil
}

// legs are the leg angles to try.
func (x *search) legs(f face, b bevel) []choice {
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
	return append(x.wingLegs(b), x.legSteps()...)
}

// givenLeg is the leg as said; an unknown mark becomes an angle no leg has, which is refused with the marks there are.
func (x *search) givenLeg() choice {
	if x.settings.Position == "" {
		return choice{leg: x.settings.Leg.Value}
	}
	leg, _ := x.legAt(x.settings.Position)
	return choice{leg: leg, position: x.settings.Position}
}

// legAt is the angle of a leg position.
func (r *rig) legAt(mark string) (unit.Angle, bool) {
	for _, p := range r.holder.Positions {
		if p.ID == mark {
			return p.Angle, true
		}
	}
	return unit.Angle(math.NaN()), false
}

// legSteps is every leg angle the holder has, a degree apart or as fine as angles can be set.
func (x *search) legSteps() []choice {
	var list []choice
	for _, leg := range steps(x.holder.Leg.Least, x.holder.Leg.Most, coarse(x.q.Rounding.angleStep(), unit.Degree)) {
		list = append(list, choice{leg: leg.RoundTo(x.q.Rounding.angleStep(), unit.TieUp)})
	}
	return list
}

// coarse is the smallest multiple of a step that is no finer than a limit.
func coarse[T ~float64](step, least T) T {
	return step * T(max(1, math.Ceil(float64(least/step)-1e-9)))
}

// steps are the multiples of a step from least to most, both as good as included.
func steps[T ~float64](least, most, step T) []T {
	from, to := math.Ceil(float64(least/step)-1e-9), math.Floor(float64(most/step)+1e-9)
	var list []T
	for n := from; n <= to; n++ {
		list = append(list, T(n)*step)
	}
	return list
}

// legsAt are the leg angles, rounded both ways, that grind the bevel with stick-out and support as given.
func (x *search) legsAt(f face, b bevel) []choice {
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
	var list []choice
	for _, exact := range []unit.Angle{low, high} {
		pivot, _ := x.pivotOf(f, choice{stickOut: x.settings.StickOut.Value, leg: exact})
		if geometry.Conditioning(pivot.SeenFrom(b.behind, b.below), b.front) < geometry.LeastConditioning {
			continue // from there the support's place grinds another angle
		}
		list = append(list, x.legsNear(exact)...)
	}
	return slices.DeleteFunc(list, func(c choice) bool { return x.checkChoice(c) != nil })
}

// The stick-outs people use, when the tool does not say how long it is.
const (
	shortestStickOut unit.Length = 10
	usualLongest     unit.Length = 200
)

// sticks are the stick-outs to try with a leg.
func (x *search) sticks(f face, b bevel, leg choice) []choice {
	switch {
	case !x.stickFree:
		return []choice{{stickOut: x.settings.StickOut.Value}}
	case !x.supportFree:
		return x.sticksAt(f, b, leg)
	case len(x.q.Rounding.Blocks) > 0:
		return blocks(x.q.Rounding.Blocks)
	}
	list := x.wingSticks(b, leg)
	for _, stick := range steps(shortestStickOut, x.longestTried(), coarse(x.q.Rounding.lengthStep(), 1)) {
		list = append(list, choice{stickOut: stick.RoundTo(x.q.Rounding.lengthStep(), unit.TieUp)})
	}
	return list
}

// longestTried is the longest stick-out that is tried.
func (x *search) longestTried() unit.Length {
	if most, ok := x.longestStickOut(); ok {
		return most
	}
	return usualLongest
}

// bothWays is an exact value rounded down and up to a step.
func bothWays[T ~float64](exact, step T, round func(T) T) []T {
	down := T(math.Floor(float64(exact / step)))
	return []T{round(down * step), round((down + 1) * step)}
}

func (x *search) legsNear(exact unit.Angle) (list []choice) {
	step := x.q.Rounding.angleStep()
	for _, leg := range bothWays(exact, step, func(a unit.Angle) unit.Angle { return a.RoundTo(step, unit.TieUp) }) {
		list = append(list, choice{leg: leg})
	}
	return list
}

func (x *search) sticksNear(exact unit.Length) (list []choice) {
	step := x.q.Rounding.lengthStep()
	for _, stick := range bothWays(exact, step, func(l unit.Length) unit.Length { return l.RoundTo(step, unit.TieUp) }) {
		if stick >= leastStickOut {
			list = append(list, choice{stickOut: stick})
		}
	}
	return list
}

func blocks(at []unit.Length) []choice {
	list := make([]choice, 0, len(at))
	for _, b := range at {
		if b >= leastStickOut {
			list = append(list, choice{stickOut: b, onBlock: true})
		}
	}
	return list
}

// sticksAt are the stick-outs, rounded both ways or on blocks, that grind the bevel with the support as given.
func (x *search) sticksAt(f face, b bevel, leg choice) []choice {
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
	return x.sticksNear(exact)
}

// stickOutAt is the exact stick-out that grinds a bevel at a gap.
func (r *rig) stickOutAt(f face, b bevel, leg choice, gap unit.Length) (unit.Length, bool) {
	bare, _ := r.pivotOf(f, choice{leg: leg.leg})
	behind, ok := r.surface.Behind(b.front, bare.Below-b.below, gap)
	if !ok || geometry.Conditioning(geometry.Pivot{Behind: behind, Below: bare.Below - b.below}, b.front) < geometry.LeastConditioning {
		return 0, false
	}
	return (behind + b.behind - bare.Behind) / unit.Length(r.alongBlade()), true
}
