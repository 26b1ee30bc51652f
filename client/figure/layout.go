package figure

import (
	"math"
	"slices"

	arrisv1 "arris.example/proto/arris/v1"
)

// Letters get the place where they cover least: every label has candidates, a candidate costs what it covers and how far it is from
// where a draughtsman would write, and the cheapest together win, found by choosing again and again for one label while the
// others stay.

// label is a text that looks for a place.
type label struct {
	text    string
	part    string
	freedom int // the less, the earlier it chooses
	offers  func(width, height, em float64) []spot
	place   spot
	placed  bool
}

// spot is a place for a label.
type spot struct {
	slab   slab
	leader []point // a line from what is meant to the text; empty: the text is near enough
	worse  float64 // than the best spot of its label
}

// band is the room a leader wants to itself, without where it starts: lines so near to it are taken for it.
func (s spot) band(em float64) slab {
	if len(s.leader) == 0 {
		return slab{}
	}
	from, to := s.leader[0], s.leader[1]
	length := from.distance(to)
	from = from.between(to, min(0.5, 0.5*em/max(length, em)))
	return newSlab(from.between(to, 0.5), from.distance(to), 0.7*em, from.direction(to))
}

// label adds one, unless it is empty.
func (d *drawing) label(s stroke, text string, freedom int, offers func(width, height, em float64) []spot) {
	if text != "" {
		d.labels = append(d.labels, &label{text: text, part: s.part, freedom: freedom, offers: offers})
	}
}

// upright turns a line's direction so that text along it is not upside down; steep text is read from the right.
func upright(direction float64) float64 {
	const steep = 80 * math.Pi / 180
	turn := math.Remainder(direction, math.Pi)
	if turn < -steep {
		turn += math.Pi
	}
	return turn
}

// clearance between a line and the text along it, in letter heights.
const clearance = 0.25

// alongLine offers places beside a dimension line, best at its middle on the outer side, then beyond its ends, then elsewhere with a
// leader.
func alongLine(a, b point, outer float64) func(width, height, em float64) []spot {
	return func(width, height, em float64) []spot {
		way, length := a.direction(b), a.distance(b)
		turn := upright(way)
		middle := a.between(b, 0.5)
		var spots []spot
		off := clearance * em
		if width > length-em { // over the ends of the extension lines
			off += overshoot * em
		}
		for _, side := range []float64{outer, -outer} {
			for _, shift := range []float64{0, -0.12, 0.12, -0.25, 0.25, -0.38, 0.38} {
				at := middle.along(way, shift*length).along(way+math.Pi/2, side*(height/2+off))
				worse := 4 * math.Abs(shift)
				if side != outer {
					worse++
				}
				spots = append(spots, spot{slab: newSlab(at, width, height, turn), worse: worse})
			}
		}
		for _, end := range []float64{-1, 1} { // in line with the dimension, beyond its end
			foot := middle.along(way, end*(length/2+(headLength+tail)*em))
			at := foot.along(way, end*(width/2+clearance*em))
			leader := []point{middle.along(way, end*length/2), foot}
			spots = append(spots, spot{slab: newSlab(at, width, height, turn), leader: leader, worse: 4})
		}
		return append(spots, ledOut(middle, width, height, em, 6)...)
	}
}

// nearArc offers places around an angle's arc, best outside its middle.
func nearArc(a arc) func(width, height, em float64) []spot {
	return func(width, height, em float64) []spot {
		var spots []spot
		for _, share := range []float64{0.5, 0.35, 0.65, 0.2, 0.8} {
			angle := a.start + share*a.sweep
			worse := 3 * math.Abs(share-0.5)
			for _, in := range []float64{0, math.Pi} {
				at := beside(a.at(angle), angle+in, width, height, clearance*em)
				spots = append(spots, spot{slab: newSlab(at, width, height, 0), worse: worse})
				worse++
			}
			spots = append(spots, ledOut(a.at(angle), width, height, em, 1+5*math.Abs(share-0.5))...)
		}
		return spots
	}
}

// around offers the point itself, then places near to it.
func around(p point) func(width, height, em float64) []spot {
	return func(width, height, em float64) []spot {
		spots := []spot{{slab: newSlab(p, width, height, 0)}}
		for _, far := range []float64{1, 2, 3, 5, 8} {
			for turn := 0.0; turn < 2*math.Pi-1e-9; turn += math.Pi / 4 {
				spots = append(spots, spot{slab: newSlab(p.along(turn, far*em), width, height, 0), worse: far})
			}
		}
		return spots
	}
}

// ledOut offers level text all around a point, joined to it by a leader.
func ledOut(p point, width, height, em, worse float64) []spot {
	var spots []spot
	for _, far := range []float64{2, 3.5, 5, 7, 9, 12, 16} {
		for step := range 24 {
			direction := float64(step) * math.Pi / 12
			s := newSlab(beside(p, direction, width, height, far*em), width, height, 0)
			foot := s.nearest(p)
			leader := []point{p, p.between(foot, 1-clearance*em/max(p.distance(foot), em))}
			spots = append(spots, spot{slab: s, leader: leader, worse: worse + 0.35*far})
		}
	}
	return spots
}

// beside is where the centre of a level box stands that keeps a distance from a point, in a direction.
func beside(p point, direction, width, height, distance float64) point {
	sin, cos := math.Sincos(direction)
	return point{p.x + cos*(distance+width/2), p.y + sin*(distance+height/2)}
}

// What a label pays for covering, and for reaching out of the frame by a letter height.
const (
	payText      = 1000
	payNear      = 20 // so near that two texts read as one
	payHead      = 30
	payOutline   = 14
	payDimension = 9
	payInside    = 6
	payAxis      = 2
	payOutside   = 0.4
)

// layout finds the places of labels.
type layout struct {
	d       *drawing
	size    func(l *label) (width, height float64)
	inside  *rect                              // where labels must stay; nil: the frame grows around them
	snap    func(p point, width float64) point // to where a text of a width can stand, level; nil: anywhere
	labels  []*label
	offered [][]spot
	cost    [][]float64 // of each spot by itself
}

// arrange gives every label its place, except where there is none inside.
func (l *layout) arrange() {
	// Texts along lines have the least choice: they go first.
	l.labels = slices.Clone(l.d.labels)
	slices.SortStableFunc(l.labels, func(a, b *label) int { return a.freedom - b.freedom })
	for _, label := range l.labels {
		spots := l.spotsFor(label)
		costs := make([]float64, len(spots))
		for i, s := range spots {
			costs[i] = l.alone(s)
		}
		l.offered, l.cost = append(l.offered, spots), append(l.cost, costs)
	}
	for round := 0; round < 8 && l.improve(); round++ {
	}
}

func (l *layout) spotsFor(label *label) []spot {
	width, height := l.size(label)
	var spots []spot
	for _, s := range label.offers(width, height, l.d.em) {
		if l.snap != nil {
			s.slab = newSlab(l.snap(s.slab.centre, width), width, height, 0)
		}
		if l.inside != nil && !l.inside.contains(s.slab.bounds) {
			continue
		}
		spots = append(spots, s)
	}
	return spots
}

// improve chooses anew for each label in turn and tells whether that changed anything.
func (l *layout) improve() (changed bool) {
	for i, label := range l.labels {
		best, least := -1, math.Inf(1)
		for j, s := range l.offered[i] {
			cost := l.cost[i][j]
			if cost >= least {
				continue
			}
			if cost += l.against(i, s); cost < least {
				best, least = j, cost
			}
		}
		fits := best >= 0 && least < payText
		if l.inside == nil {
			fits = best >= 0
		}
		if !fits {
			changed = changed || label.placed
			label.placed = false
			continue
		}
		chosen := l.offered[i][best]
		changed = changed || !label.placed || label.place.slab != chosen.slab
		label.place, label.placed = chosen, true
	}
	return changed
}

// against is what a spot costs beside the other labels.
func (l *layout) against(self int, s spot) (cost float64) {
	for i, other := range l.labels {
		if i == self || !other.placed {
			continue
		}
		if s.slab.meets(other.place.slab) {
			cost += payText
		} else if s.slab.grown(clearance * l.d.em).meets(other.place.slab.grown(clearance * l.d.em)) {
			cost += payNear
		}
		if crossesAny(s.slab, other.place.leader) || crossesAny(other.place.slab, s.leader) {
			cost += payText / 2
		}
	}
	return cost
}

// alone is what a spot costs on the drawing without other labels.
func (l *layout) alone(s spot) float64 {
	cost, leader := s.worse, s.band(l.d.em)
	for _, st := range l.d.strokes {
		if st.bounds.meets(s.slab.bounds) {
			cost += l.under(s.slab, st)
		}
		if len(s.leader) > 0 && st.bounds.meets(leader.bounds) {
			if length, touches := crossings(leader, st.points); touches {
				cost += payAcross(st) * (0.5 + length/l.d.em)
			}
		}
	}
	f, o := l.d.frame, s.slab.bounds
	over := max(f.least.x-o.least.x, 0) + max(o.most.x-f.most.x, 0) + max(f.least.y-o.least.y, 0) + max(o.most.y-f.most.y, 0)
	return cost + payOutside*over/l.d.em
}

// under is what a stroke below a label costs; a line along a text is worse than one across.
func (l *layout) under(s slab, st stroke) float64 {
	length, touches := crossings(s, st.points)
	switch {
	case touches:
		return payFor(st) * (1 + length/l.d.em) / 2
	case st.covers() && holds(st.points, s.centre):
		return payInside
	}
	return 0
}

func payFor(s stroke) float64 {
	switch {
	case s.head:
		return payHead
	case s.role == arrisv1.FigureRole_FIGURE_ROLE_CONSTRUCTION:
		return payAxis
	case s.role == arrisv1.FigureRole_FIGURE_ROLE_DIMENSION:
		return payDimension
	}
	return payOutline
}

// payAcross is what a leader pays for running over or close beside a line: with another dimension's it is easily mixed up.
func payAcross(s stroke) float64 {
	switch {
	case s.head:
		return 8
	case s.role == arrisv1.FigureRole_FIGURE_ROLE_CONSTRUCTION:
		return 0.7
	case s.role == arrisv1.FigureRole_FIGURE_ROLE_DIMENSION:
		return 5
	}
	return 2
}

// covers tells whether the stroke is an area on which letters read badly. A wheel is large and pale: letters may stand on it.
func (s stroke) covers() bool {
	return s.closed && s.role != arrisv1.FigureRole_FIGURE_ROLE_WHEEL
}

// crossings is how much of a path lies below a label.
func crossings(s slab, path []point) (length float64, touches bool) {
	for i := 1; i < len(path); i++ {
		if part, hit := s.crossing(path[i-1], path[i]); hit {
			length, touches = length+part, true
		}
	}
	return length, touches
}

func crossesAny(s slab, path []point) bool {
	_, touches := crossings(s, path)
	return touches
}
