package setup

import (
	"cmp"
	"context"
	"math"
	"slices"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// checkedPlaces is how many places of an edge a way out is tried at.
const checkedPlaces = 33

// edgeHelp is what would grind the whole edge with the nose as it is: another stick-out, another leg, wings that run back less, shorter
// wings. Each was tried.
func (x *search) edgeHelp(ctx context.Context, s stand, t shaped, g swung.Setting) (ways []Way) {
	if x.holder.Kind == shop.Swing || x.holder.Kind == shop.Clamp {
		ways = x.otherHolds(ctx, s, t)
	}
	if w, ok := x.lessSetback(s, g, t); ok {
		ways = append(ways, w)
	}
	if w, ok := x.shorterWings(s, g, t); ok {
		ways = append(ways, w)
	}
	return ways
}

// trouble is the first thing wrong with an edge on a setting, empty for none.
func (x *search) trouble(s stand, g swung.Setting, t shaped, e swung.Edge) string {
	a := swung.Analyse(e, g, x.supportAt(s), e.Places(checkedPlaces))
	switch {
	case len(a.Unreached) > 0:
		return unreached
	case len(a.Poor) > 0:
		return illConditioned
	}
	if most := x.holder.MostLean; most.Known {
		for i := range a.Points {
			if unit.Angle(a.Points[i].Lean.Angle) > most.Value {
				return leanTooFar
			}
		}
	}
	for _, cut := range a.Undercuts(x.heel(s, t), x.rim()) {
		return undercutCodes[undercutKinds[cut.Kind]]
	}
	return ""
}

// otherHolds are the nearest stick-outs, shorter and longer, and the nearest leg, with the support solved for the same nose.
func (x *search) otherHolds(ctx context.Context, s stand, t shaped) (ways []Way) {
	y := *x
	y.supportFree = true
	try := func(c choice, text string) bool {
		if y.checkChoice(c) != nil {
			return false
		}
		other, n := y.stand(s.face, bevel{front: s.front}, c)
		if n != nil {
			return false
		}
		g := y.swing(other, t)
		if y.trouble(other, g, t, t.on(g)) != "" {
			return false
		}
		way := y.way(c, text)
		y.settle(&way.Settings, standSet(other))
		ways = append(ways, way)
		return true
	}
	for _, step := range []unit.Length{-1, 1} {
		for i := 1; i <= 80 && ctx.Err() == nil; i++ {
			c := s.choice
			if c.stickOut += step * unit.Length(i); c.stickOut < shortestStickOut {
				break
			}
			if try(c, y.say("a stick-out of %s and the support set for the same nose", y.length(c.stickOut))) {
				break
			}
		}
	}
	if x.holder.Kind == shop.Swing {
		x.otherLegs(s, try)
	}
	return ways
}

// otherLegs tries legs, the nearest first.
func (x *search) otherLegs(s stand, try func(choice, string) bool) {
	y := *x
	legs := nearestFirst(y.legChoices(), s.choice.leg)
	for _, leg := range legs {
		c := s.choice
		c.leg, c.position = leg.leg, leg.position
		if c.leg == s.choice.leg {
			continue
		}
		text := x.say("the leg at %s and the support set for the same nose", x.degrees(c.leg))
		if c.position != "" {
			text = x.say("the leg at position %s and the support set for the same nose", c.position)
		}
		if try(c, text) {
			return
		}
	}
}

// legChoices are the holder's leg positions, or its angles a degree apart.
func (x *search) legChoices() []choice {
	if len(x.holder.Positions) == 0 {
		return x.legSteps()
	}
	list := make([]choice, len(x.holder.Positions))
	for i, p := range x.holder.Positions {
		list[i] = choice{leg: p.Angle, position: p.ID}
	}
	return list
}

// standSet is a stand whose exact place is the one that is set.
func standSet(s stand) stand {
	s.exact = s.set
	return s
}

// on is the edge on another setting: of an even swing it follows the setting.
func (t shaped) on(g swung.Setting) swung.Edge {
	e := t.edge
	if t.shape.Plan == shop.EvenSwingPlan {
		e.Plan = swung.EvenSwing{Section: t.section, Setting: g}
	}
	return e
}

// lessSetback is the largest setback below the tool's own that works.
func (x *search) lessSetback(s stand, g swung.Setting, t shaped) (Way, bool) {
	if t.shape.Plan != shop.SetbackPlan || t.shape.Setback <= 0 {
		return Way{}, false
	}
	works := func(e swung.Edge) bool { return x.trouble(s, g, t, e) == "" }
	best, ok := t.furthest(float64(t.shape.Setback), works)
	shape := t.shape
	if shape.Setback = roundDown(best, 0.1); !ok || shape.Setback <= 0 || !works(t.runningBack(shape.Setback)) {
		return Way{}, false
	}
	return Way{Edge: shop.Some(shape), Text: x.say("a setback of %s", x.length(shape.Setback))}, true
}

// furthest is the largest setback up to a most at which something holds of the edge, in whole hundredths of a millimetre. What holds at a
// setback need not hold at all smaller ones, so it is looked for from the far end, coarsely, and then narrowed down.
func (t shaped) furthest(most float64, holds func(swung.Edge) bool) (unit.Length, bool) {
	const tries, perMM = 64, 100
	setback := func(n int) unit.Length { return unit.Length(n) / perMM }
	at := func(n int) bool { return holds(t.runningBack(setback(n))) }
	all := int(most * perMM)
	if at(all) {
		return setback(all), true
	}
	for i := tries - 1; i >= 0; i-- {
		low, high := all*i/tries, all*(i+1)/tries
		if !at(low) {
			continue
		}
		for high-low > 1 {
			if middle := (low + high) / 2; at(middle) {
				low = middle
			} else {
				high = middle
			}
		}
		return setback(low), true
	}
	return 0, false
}

// runningBack is the edge with another setback.
func (t shaped) runningBack(setback unit.Length) swung.Edge {
	e := t.edge
	e.Plan = swung.Setback{Setback: float64(setback), Reach: t.edge.Right, Exponent: t.shape.Exponent}
	return e
}

// cut is the same line with shorter wings.
func (t shaped) cut(reach unit.Length) (shop.EdgeShape, swung.Edge) {
	shape, e := t.shape, t.edge
	e.Right, e.Left = float64(reach), float64(reach)
	back, _, _ := e.Plan.At(float64(reach))
	shape.AlongFlute, shape.HalfWidth = shop.Some(reach), shop.Maybe[unit.Length]{}
	shape.Setback = unit.Length(back)
	return shape, e
}

// roundDown is a length rounded down to a step.
func roundDown(l, step unit.Length) unit.Length {
	return unit.Length(math.Floor(float64(l/step)+1e-9)*float64(step)).RoundTo(step, unit.TieDown)
}

// shorterWings are the longest wings, with the same line near the nose, that work.
func (x *search) shorterWings(s stand, g swung.Setting, t shaped) (Way, bool) {
	if t.shape.Plan == shop.PointsPlan || t.shape.Plan == shop.EvenSwingPlan {
		return Way{}, false
	}
	for i := 39; i > 0; i-- {
		reach := roundDown(unit.Length(t.edge.Right*float64(i)/40), 0.1)
		if reach <= 0 {
			break
		}
		if shape, e := t.cut(reach); x.trouble(s, g, t, e) == "" {
			return Way{Edge: shop.Some(shape), Text: x.say("wings that end %s along the flute", x.length(reach))}, true
		}
	}
	return Way{}, false
}

// nearestFirst are choices in the order of how far their leg is from one.
func nearestFirst(list []choice, leg unit.Angle) []choice {
	slices.SortStableFunc(list, func(a, b choice) int {
		return cmp.Compare(math.Abs(float64(a.leg-leg)), math.Abs(float64(b.leg-leg)))
	})
	return list
}
