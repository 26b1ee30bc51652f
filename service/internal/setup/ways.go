package setup

import (
	"cmp"
	"context"
	"math"
	"slices"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// mostWays is how many ways out a refusal names, mostEdges how many edges are tried on the machine to find one.
const (
	mostWays  = 3
	mostEdges = 5
)

// ways looks for settings that would work, nearest to the given first: another stick-out, another leg position. Each is tried whole.
func (x *search) ways(ctx context.Context, faces []face) []Way {
	if !x.supportFree || x.stickFree || x.legFree {
		return nil
	}
	var found []Way
	given := x.givenChoice()
	for _, c := range x.otherSticks(ctx, faces, given) {
		found = append(found, x.way(c, x.say("a stick-out of %s", x.setLength(c.stickOut))))
	}
	for _, p := range x.holder.Positions {
		c := choice{stickOut: given.stickOut, leg: p.Angle, position: p.ID}
		if len(found) >= mostWays {
			break
		}
		if x.works(ctx, faces, c) {
			found = append(found, x.way(c, x.say("the leg at position %s", p.ID)))
		}
	}
	return found
}

func (x *search) givenChoice() choice {
	c := choice{stickOut: x.settings.StickOut.Value}
	if x.holder.Kind == shop.Swing {
		leg := x.givenLeg()
		c.leg, c.position = leg.leg, leg.position
	}
	return c
}

func (x *search) way(c choice, text string) Way {
	s := shop.Settings{StickOut: shop.Some(c.stickOut), Position: c.position}
	if x.holder.Kind == shop.Swing && c.position == "" {
		s.Leg = shop.Some(c.leg)
	}
	return Way{Settings: s, Text: text}
}

// otherSticks are the nearest stick-outs that work, one shorter and one longer, in steps of lengths that can be set.
func (x *search) otherSticks(ctx context.Context, faces []face, given choice) []choice {
	if x.holder.Kind != shop.Clamp && x.holder.Kind != shop.Swing {
		return nil
	}
	fine, most := x.q.Rounding.lengthStep(), 2*usualLongest
	if blade, ok := x.longestStickOut(); ok {
		most = min(most, blade)
	}
	all := steps(shortestStickOut, most, coarse(fine, 0.1))
	middle, _ := slices.BinarySearch(all, given.stickOut)
	var found []choice
	try := func(stick unit.Length) bool {
		c := given
		c.stickOut = stick.RoundTo(fine, unit.TieUp)
		ok := c.stickOut != given.stickOut && x.works(ctx, faces, c)
		if ok {
			found = append(found, c)
		}
		return ok
	}
	for i := middle - 1; i >= 0 && ctx.Err() == nil; i-- {
		if try(all[i]) {
			break
		}
	}
	for i := middle; i < len(all) && ctx.Err() == nil; i++ {
		if try(all[i]) {
			break
		}
	}
	slices.SortStableFunc(found, func(a, b choice) int {
		return cmp.Compare(math.Abs(float64(a.stickOut-given.stickOut)), math.Abs(float64(b.stickOut-given.stickOut)))
	})
	return found
}

// works tries a choice as if it had been given.
func (x *search) works(ctx context.Context, faces []face, c choice) bool {
	other := *x
	x = &other
	x.settings.StickOut, x.settings.Leg, x.settings.Position = shop.Some(c.stickOut), shop.Some(c.leg), c.position
	_, _, n := x.planned(ctx, faces)
	return n == nil
}

// edgeWays is the nearest edge the shop grinds that works, put as the first bevel was.
func (r *rig) edgeWays(g shop.Grind, faces []face, works func([]face) bool) []Way {
	if works == nil {
		return nil
	}
	limits := r.station.EdgeAngles.Or(defaultEdgeAngles)
	whole := wholeEdge(faces)
	front := faces[len(faces)-1].bevels[0].front
	step := 0.1 * unit.Degree
	first := g.Bevels[0]
	// The rest of the whole edge is the other face's.
	least, most := limits.Least, min(limits.Most, 90*unit.Degree-step)
	if r.tool.Kind.TwoBevels() {
		least, most = least/2, most/2
	} else {
		least, most = least-(whole-front), most-(whole-front)
	}
	target, sign := least, unit.Angle(1)
	if whole > limits.Most || front > most {
		target, sign = most, -1
	}
	tries := 0
	for i := range 40 {
		b := first
		b.Angle = (r.sameAngle(first, faces, target) + sign*unit.Angle(i)*step).RoundTo(step, unit.TieUp)
		tried := g
		tried.Bevels = append([]shop.Bevel{b}, g.Bevels[1:]...)
		if again, err := r.grind(tried); err == nil && checkEdge(*r, again[len(again)-1].bevels[0].front, wholeEdge(again)) == nil {
			if tries++; tries > mostEdges {
				return nil
			}
			if !works(again) {
				continue
			}
			return []Way{{Bevel: shop.Some(b), Text: r.say(angleWords[first.Of], r.degrees(b.Angle))}}
		}
	}
	return nil
}

// sameAngle is the angle of a bevel, counted as the wanted one is, whose front end has the target.
func (r *rig) sameAngle(wanted shop.Bevel, faces []face, target unit.Angle) unit.Angle {
	angle := target
	f := faces[len(faces)-1]
	if singleOf(wanted.Of) == shop.Reading {
		if hollow, ok := f.bevels[0].reground(r.surface, f, target); ok {
			angle = hollow.Reading
		}
	}
	if isIncluded(wanted.Of) {
		if r.tool.Kind.TwoBevels() {
			return 2 * angle
		}
		return angle + wholeEdge(faces) - f.bevels[0].front
	}
	return angle
}
