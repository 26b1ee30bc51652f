package drawing

import (
	"math"
	"slices"
)

// Letters get the place where they cover least: every label has candidates, a candidate costs what it covers and how far it is from
// where a draughtsman would write, and the cheapest together win, found by choosing again and again for one label while the
// others stay.

// Label is a text that looks for a place.
type Label struct {
	Text    string
	Part    string
	freedom int // the less, the earlier it chooses
	offers  func(width, height, em float64) []Spot
	Place   Spot
	Placed  bool
}

// Spot is a place for a label.
type Spot struct {
	Slab   Slab
	Leader []Point // a line from what is meant to the text; empty: the text is near enough
	worse  float64 // than the best spot of its label
}

// band is the room a leader wants to itself, without where it starts: lines so near to it are taken for it.
func (s Spot) band(em float64) Slab {
	if len(s.Leader) == 0 {
		return Slab{}
	}
	from, to := s.Leader[0], s.Leader[1]
	length := from.Distance(to)
	from = from.Between(to, min(0.5, 0.5*em/max(length, em)))
	return NewSlab(from.Between(to, 0.5), from.Distance(to), 0.7*em, from.Direction(to))
}

// label adds one, unless it is empty.
func (d *Drawing) label(s Stroke, text string, freedom int, offers func(width, height, em float64) []Spot) {
	if text != "" {
		d.Labels = append(d.Labels, &Label{Text: text, Part: s.Part, freedom: freedom, offers: offers})
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
func alongLine(a, b Point, outer float64) func(width, height, em float64) []Spot {
	return func(width, height, em float64) []Spot {
		way, length := a.Direction(b), a.Distance(b)
		turn := upright(way)
		middle := a.Between(b, 0.5)
		var spots []Spot
		off := clearance * em
		if width > length-em { // over the ends of the extension lines
			off += overshoot * em
		}
		for _, side := range []float64{outer, -outer} {
			for _, shift := range []float64{0, -0.12, 0.12, -0.25, 0.25, -0.38, 0.38} {
				at := middle.Along(way, shift*length).Along(way+math.Pi/2, side*(height/2+off))
				worse := 4 * math.Abs(shift)
				if side != outer {
					worse++
				}
				spots = append(spots, Spot{Slab: NewSlab(at, width, height, turn), worse: worse})
			}
		}
		for _, end := range []float64{-1, 1} { // in line with the dimension, beyond its end
			foot := middle.Along(way, end*(length/2+(headLength+tail)*em))
			at := foot.Along(way, end*(width/2+clearance*em))
			leader := []Point{middle.Along(way, end*length/2), foot}
			spots = append(spots, Spot{Slab: NewSlab(at, width, height, turn), Leader: leader, worse: 4})
		}
		return append(spots, ledOut(middle, width, height, em, 6)...)
	}
}

// nearArc offers places around an angle's arc, best outside its middle.
func nearArc(a CircleArc) func(width, height, em float64) []Spot {
	return func(width, height, em float64) []Spot {
		var spots []Spot
		for _, share := range []float64{0.5, 0.35, 0.65, 0.2, 0.8} {
			angle := a.Start + share*a.Sweep
			worse := 3 * math.Abs(share-0.5)
			for _, in := range []float64{0, math.Pi} {
				at := beside(a.At(angle), angle+in, width, height, clearance*em)
				spots = append(spots, Spot{Slab: NewSlab(at, width, height, 0), worse: worse})
				worse++
			}
			spots = append(spots, ledOut(a.At(angle), width, height, em, 1+5*math.Abs(share-0.5))...)
		}
		return spots
	}
}

// around offers the point itself, then places near to it.
func around(p Point) func(width, height, em float64) []Spot {
	return func(width, height, em float64) []Spot {
		spots := []Spot{{Slab: NewSlab(p, width, height, 0)}}
		for _, far := range []float64{1, 2, 3, 5, 8} {
			for turn := 0.0; turn < 2*math.Pi-1e-9; turn += math.Pi / 4 {
				spots = append(spots, Spot{Slab: NewSlab(p.Along(turn, far*em), width, height, 0), worse: far})
			}
		}
		return spots
	}
}

// ledOut offers level text all around a point, joined to it by a leader.
func ledOut(p Point, width, height, em, worse float64) []Spot {
	var spots []Spot
	for _, far := range []float64{2, 3.5, 5, 7, 9, 12, 16} {
		for step := range 24 {
			direction := float64(step) * math.Pi / 12
			s := NewSlab(beside(p, direction, width, height, far*em), width, height, 0)
			foot := s.Nearest(p)
			leader := []Point{p, p.Between(foot, 1-clearance*em/max(p.Distance(foot), em))}
			spots = append(spots, Spot{Slab: s, Leader: leader, worse: worse + 0.35*far})
		}
	}
	return spots
}

// beside is where the centre of a level box stands that keeps a distance from a point, in a direction.
func beside(p Point, direction, width, height, distance float64) Point {
	sin, cos := math.Sincos(direction)
	return Point{p.X + cos*(distance+width/2), p.Y + sin*(distance+height/2)}
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

// Layout finds the places of labels.
type Layout struct {
	Drawing *Drawing
	Size    func(l *Label) (width, height float64)
	Inside  *Rect                              // where labels must stay; nil: the frame grows around them
	Snap    func(p Point, width float64) Point // to where a text of a width can stand, level; nil: anywhere
	labels  []*Label
	offered [][]Spot
	cost    [][]float64 // of each spot by itself; unknown until it is asked for
}

// unknown is a cost that was not reckoned yet; costs are not negative.
const unknown = -1

// Arrange gives every label its place, except where there is none inside.
func (l *Layout) Arrange() {
	// Texts along lines have the least choice: they go first.
	l.labels = slices.Clone(l.Drawing.Labels)
	slices.SortStableFunc(l.labels, func(a, b *Label) int { return a.freedom - b.freedom })
	for _, label := range l.labels {
		spots := l.spotsFor(label)
		costs := make([]float64, len(spots))
		for i := range costs {
			costs[i] = unknown
		}
		l.offered, l.cost = append(l.offered, spots), append(l.cost, costs)
	}
	for round := 0; round < 8 && l.improve(); round++ {
	}
}

func (l *Layout) spotsFor(label *Label) []Spot {
	width, height := l.Size(label)
	var spots []Spot
	for _, s := range label.offers(width, height, l.Drawing.Em) {
		if l.Snap != nil {
			s.Slab = NewSlab(l.Snap(s.Slab.Centre, width), width, height, 0)
		}
		if l.Inside != nil && !l.Inside.Contains(s.Slab.Bounds) {
			continue
		}
		spots = append(spots, s)
	}
	return spots
}

// improve chooses anew for each label in turn and tells whether that changed anything.
func (l *Layout) improve() (changed bool) {
	for i, label := range l.labels {
		best, least := -1, math.Inf(1)
		for j, s := range l.offered[i] {
			if s.worse >= least { // and all that it covers comes on top
				continue
			}
			if l.cost[i][j] == unknown {
				l.cost[i][j] = l.alone(s)
			}
			cost := l.cost[i][j]
			if cost >= least {
				continue
			}
			if cost += l.against(i, s); cost < least {
				best, least = j, cost
			}
		}
		fits := best >= 0 && least < payText
		if l.Inside == nil {
			fits = best >= 0
		}
		if !fits {
			changed = changed || label.Placed
			label.Placed = false
			continue
		}
		chosen := l.offered[i][best]
		changed = changed || !label.Placed || label.Place.Slab != chosen.Slab
		label.Place, label.Placed = chosen, true
	}
	return changed
}

// against is what a spot costs beside the other labels.
func (l *Layout) against(self int, s Spot) (cost float64) {
	for i, other := range l.labels {
		if i == self || !other.Placed {
			continue
		}
		if s.Slab.Meets(other.Place.Slab) {
			cost += payText
		} else if s.Slab.Grown(clearance * l.Drawing.Em).Meets(other.Place.Slab.Grown(clearance * l.Drawing.Em)) {
			cost += payNear
		}
		if Crosses(s.Slab, other.Place.Leader) || Crosses(other.Place.Slab, s.Leader) {
			cost += payText / 2
		}
	}
	return cost
}

// alone is what a spot costs on the drawing without other labels.
func (l *Layout) alone(s Spot) float64 {
	cost, leader := s.worse, s.band(l.Drawing.Em)
	for _, st := range l.Drawing.Strokes {
		if st.Bounds.Meets(s.Slab.Bounds) {
			cost += l.under(s.Slab, st)
		}
		if len(s.Leader) > 0 && st.Bounds.Meets(leader.Bounds) {
			if length, touches := crossings(leader, st.Points); touches {
				cost += payAcross(st) * (0.5 + length/l.Drawing.Em)
			}
		}
	}
	f, o := l.Drawing.Frame, s.Slab.Bounds
	over := max(f.Least.X-o.Least.X, 0) + max(o.Most.X-f.Most.X, 0) + max(f.Least.Y-o.Least.Y, 0) + max(o.Most.Y-f.Most.Y, 0)
	return cost + payOutside*over/l.Drawing.Em
}

// under is what a stroke below a label costs; a line along a text is worse than one across.
func (l *Layout) under(s Slab, st Stroke) float64 {
	length, touches := crossings(s, st.Points)
	switch {
	case touches:
		return payFor(st) * (1 + length/l.Drawing.Em) / 2
	case st.covers() && Holds(st.Points, s.Centre):
		return payInside
	}
	return 0
}

func payFor(s Stroke) float64 {
	switch {
	case s.Head:
		return payHead
	case s.Role == RoleConstruction:
		return payAxis
	case s.Role == RoleDimension:
		return payDimension
	}
	return payOutline
}

// payAcross is what a leader pays for running over or close beside a line: with another dimension's it is easily mixed up.
func payAcross(s Stroke) float64 {
	switch {
	case s.Head:
		return 8
	case s.Role == RoleConstruction:
		return 0.7
	case s.Role == RoleDimension:
		return 5
	}
	return 2
}

// covers tells whether the stroke is an area on which letters read badly. A wheel is large and pale: letters may stand on it.
func (s Stroke) covers() bool {
	return s.Closed && s.Role != RoleWheel
}

// crossings is how much of a path lies below a label.
func crossings(s Slab, path []Point) (length float64, touches bool) {
	for i := 1; i < len(path); i++ {
		if part, hit := s.Crossing(path[i-1], path[i]); hit {
			length, touches = length+part, true
		}
	}
	return length, touches
}

// Crosses tells whether a path runs below a label.
func Crosses(s Slab, path []Point) bool {
	_, touches := crossings(s, path)
	return touches
}
