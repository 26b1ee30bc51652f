package swung

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/space"
)

// Ground is a point of an edge with what a setting makes of it. The stance is set where both the point and the nose are reached.
type Ground struct {
	Face
	Stance
}

// Analysis is what a setting makes of an edge. Nothing in it stops at the first bad point.
type Analysis struct {
	Edge    Edge
	Setting Setting
	Nose    Face
	Points  []Ground // at the places asked for

	Unreached []Stretch // where the wheel cannot touch the edge
	Poor      []Stretch // where [Face.Margin] is below [LeastMargin], with what is unreached among it

	// The smallest and the largest wedge angle, refined between the places; false where nothing is reached.
	Least, Most Face
	Reached     bool
	Uneven      Difference

	pivot space.Vec
}

// Stretch is a part of an edge that a setting serves badly.
type Stretch struct {
	From, To float64 // along, as far as the places go
	Worst    Face    // where the margin is smallest
	// Gap is the nearest one at which all of the stretch is reached, and Turn the angle by which the edge at its worst place would have to
	// turn square to its line to the pivot. Both tell what would reach; they are 0 where nothing does and where all is reached.
	Gap, Turn float64
}

// Difference is the largest difference of the wings' wedge angles: what +side has more than −side at the same length along.
type Difference struct{ Along, Wedge float64 }

// Analyse is what a setting makes of an edge at places along it, which have to ascend, while the pivot stands at a place of the wheel frame.
func Analyse(e Edge, g Setting, support geometry.Point, places []float64) Analysis {
	a := Analysis{Edge: e, Setting: g, Points: make([]Ground, len(places)), pivot: g.pivot()}
	a.Nose = a.face(0)
	var from [3]space.Dir
	if a.Nose.Reached() {
		from = g.frame(&a.Nose)
	}
	for i, along := range places {
		p := &a.Points[i]
		p.Point = e.At(along)
		g.grind(a.pivot, &p.Face)
		if a.Nose.Reached() && p.Reached() {
			p.Stance = g.stance(&from, &p.Face, support)
		}
	}
	a.Unreached, a.Poor = a.stretches(0), a.stretches(LeastMargin)
	a.extremes()
	a.unevenness()
	return a
}

// face at a place between the places.
func (a *Analysis) face(along float64) Face { return a.Setting.face(a.pivot, a.Edge.At(along)) }

// score is what an extreme is the least of.
type score int

const (
	keenest score = iota
	bluntest
	poorest
)

// of a face; infinite where there is none.
func (s score) of(f *Face) float64 {
	switch {
	case s == poorest:
		return f.Margin
	case !f.Reached():
		return math.Inf(1)
	case s == bluntest:
		return -f.Wedge
	}
	return f.Wedge
}

// extremes finds the smallest and the largest wedge.
func (a *Analysis) extremes() {
	a.Least, a.Reached = a.extreme(keenest)
	a.Most, _ = a.extreme(bluntest)
}

// extreme is the least score along the edge. The place with the least is refined, and every other that is less than its neighbours and
// could hide something less still; but not its own mirror image on an even edge.
func (a *Analysis) extreme(by score) (Face, bool) {
	last := len(a.Points) - 1
	first, least := -1, math.Inf(1)
	for i := range a.Points {
		if s := by.of(&a.Points[i].Face); s < least {
			first, least = i, s
		}
	}
	if first < 0 {
		return Face{}, false
	}
	best := a.refine(first, by)
	before := math.Inf(1)
	here := by.of(&a.Points[0].Face)
	for i := range a.Points {
		after := math.Inf(1)
		if i < last {
			after = by.of(&a.Points[i+1].Face)
		}
		mirrored := i == last-first && math.Abs(here-least) < 1e-12
		if i != first && !mirrored && here <= before && here <= after && 2*here-max(before, after) < by.of(&best) {
			if f := a.refine(i, by); by.of(&f) < by.of(&best) {
				best = f
			}
		}
		before, here = here, after
	}
	return best, true
}

// refine looks for the least score around one of the places by golden section, as far as its neighbours.
func (a *Analysis) refine(i int, by score) Face {
	const golden, steps = 0.6180339887498949, 12 // leaves a few thousandths of the way between places
	low, high := a.Points[max(0, i-1)].Along, a.Points[min(len(a.Points)-1, i+1)].Along
	best := a.Points[i].Face
	left, right := a.face(high-golden*(high-low)), a.face(low+golden*(high-low))
	for range steps {
		if by.of(&left) < by.of(&right) {
			high, right = right.Along, left
			left = a.face(high - golden*(high-low))
		} else {
			low, left = left.Along, right
			right = a.face(low + golden*(high-low))
		}
	}
	for _, f := range [...]*Face{&left, &right} {
		if by.of(f) < by.of(&best) {
			best = *f
		}
	}
	return best
}

// stretches are the parts of the edge with a margin below a limit: runs of places, and dips that lie between places.
func (a *Analysis) stretches(limit float64) (found []Stretch) {
	for i := 0; i < len(a.Points); i++ {
		last := i
		for last < len(a.Points) && !(a.Points[last].Margin >= limit) {
			last++
		}
		if last > i {
			found = append(found, a.run(i, last-1, limit))
			i = last - 1
		} else if f, ok := a.dip(i, limit); ok {
			s := Stretch{Worst: f}
			s.From = a.crossing(f.Along, a.Points[max(0, i-1)].Along, limit)
			s.To = a.crossing(f.Along, a.Points[min(len(a.Points)-1, i+1)].Along, limit)
			found = append(found, a.remedy(s))
		}
	}
	return found
}

// run is the stretch that the places from first to last belong to.
func (a *Analysis) run(first, last int, limit float64) Stretch {
	s := Stretch{From: a.Points[first].Along, To: a.Points[last].Along}
	if first > 0 {
		s.From = a.crossing(s.From, a.Points[first-1].Along, limit)
	}
	if last < len(a.Points)-1 {
		s.To = a.crossing(s.To, a.Points[last+1].Along, limit)
	}
	worst := first
	for i := first; i <= last; i++ {
		if a.Points[i].Margin < a.Points[worst].Margin {
			worst = i
		}
	}
	s.Worst = a.refine(worst, poorest)
	return a.remedy(s)
}

// dip is where the margin falls below a limit between places, around one that is at least as low as its neighbours and near enough to the
// limit for it.
func (a *Analysis) dip(i int, limit float64) (Face, bool) {
	if i == 0 || i == len(a.Points)-1 {
		return Face{}, false
	}
	before, here, after := a.Points[i-1].Margin, a.Points[i].Margin, a.Points[i+1].Margin
	if !(before >= here && here <= after) || !(here-limit < max(before, after)-here) || !(after >= limit) {
		return Face{}, false
	}
	f := a.refine(i, poorest)
	return f, f.Margin < limit
}

// crossing is where the margin passes a limit, from a place below it to one that is not, by bisection.
func (a *Analysis) crossing(below, above, limit float64) float64 {
	for range 60 {
		middle := (below + above) / 2
		if middle == below || middle == above {
			break
		}
		if a.face(middle).Margin >= limit {
			above = middle
		} else {
			below = middle
		}
	}
	return above
}

// remedy finds what would reach an unreached stretch.
func (a *Analysis) remedy(s Stretch) Stretch {
	f := s.Worst
	if f.Reached() || math.IsNaN(f.Margin) {
		return s
	}
	least, most := a.Setting.Gaps(f.Point)
	for i := range a.Points {
		if p := &a.Points[i]; p.Along >= s.From && p.Along <= s.To {
			l, m := a.Setting.Gaps(p.Point)
			least, most = max(least, l), min(most, m)
		}
	}
	if least <= most {
		s.Gap = min(max(float64(a.Setting.Gap), least), most)
	}
	s.Turn = f.turn()
	return s
}

// turn is the angle by which the edge would have to turn square to its line to the pivot, 0 where even square to it is not enough.
func (f Face) turn() float64 {
	if sin := math.Abs(f.sin); sin < 1 {
		l := min(sin-math.Abs(f.Excess), 1)
		return math.Atan2(sin, math.Sqrt((1-sin)*(1+sin))) - math.Atan2(l, math.Sqrt((1-l)*(1+l)))
	}
	return 0
}

// Gaps are the gaps between which the wheel reaches a point, mm: where sin κ, which grows with the gap, is as large as the edge's direction
// admits, either way.
func (g Setting) Gaps(p Point) (least, most float64) {
	from := p.At.Minus(g.pivot())
	k, c := g.Wheel.Curvature(), float64(g.Contact)
	admitted, middle := from.Cross(p.Edge).Length(), k*(from.Dot(from)-c*c)/2
	gap := func(m float64) float64 { return 2 * m / (1 + math.Sqrt(max(0, 1+2*k*m))) }
	return gap(middle - admitted), gap(middle + admitted)
}

// Gaps are the gaps at which the wheel reaches all of the places; false where no gap does.
func (a *Analysis) Gaps() (least, most float64, ok bool) {
	least, most = math.Inf(-1), math.Inf(1)
	for i := range a.Points {
		l, m := a.Setting.Gaps(a.Points[i].Point)
		least, most = max(least, l), min(most, m)
	}
	return least, most, least <= most && len(a.Points) > 0
}

// unevenness compares every place of the +side wing with its mirror image.
func (a *Analysis) unevenness() {
	last := len(a.Points) - 1
	for i := range a.Points {
		right := &a.Points[i].Face
		if !(right.Along > 0 && right.Along <= a.Edge.Left) || !right.Reached() {
			continue
		}
		left := a.Points[last-i].Face
		if left.Along != -right.Along {
			left = a.face(-right.Along)
		}
		if d := right.Wedge - left.Wedge; left.Reached() && math.Abs(d) > math.Abs(a.Uneven.Wedge) {
			a.Uneven = Difference{right.Along, d}
		}
	}
}
