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
	offers  offers
	Place   Spot
	Placed  bool
}

// label adds one, unless it is empty.
func (d *Drawing) label(s Stroke, text string, freedom int, offers offers) {
	if text != "" {
		d.Labels = append(d.Labels, &Label{Text: text, Part: s.Part, freedom: freedom, offers: offers})
	}
}

// Layout finds the places of labels.
type Layout struct {
	Drawing *Drawing
	Size    func(l *Label) (width, height float64)
	Inside  *Rect                              // where labels must stay; nil: the frame grows around them
	Snap    func(p Point, width float64) Point // to where a text of a width can stand, level; nil: anywhere
	seekers []*seeker
	below   []obstacle
}

// seeker is a label with the spots that were found for it so far, best first by themselves.
type seeker struct {
	*Label
	width, height float64
	rings         []ring // of spots not looked at yet
	spots         []priced
	chosen        int // of the spots; none: not placed
}

const none = -1

// priced is a spot with what it costs on the drawing without other labels: that much, or at least that much.
type priced struct {
	spot
	cost  float64
	whole bool
}

// Arrange gives every label its place, except where there is none inside.
func (l *Layout) Arrange() {
	l.seekers, l.below = nil, obstacles(l.Drawing.Strokes, l.Drawing.Em)
	for _, label := range l.Drawing.Labels {
		width, height := l.Size(label)
		l.seekers = append(l.seekers, &seeker{Label: label, width: width, height: height, rings: label.offers(width, height, l.Drawing.Em), chosen: none})
	}
	// Texts along lines have the least choice: they go first.
	slices.SortStableFunc(l.seekers, func(a, b *seeker) int { return a.freedom - b.freedom })
	for round := 0; round < 8 && l.improve(); round++ {
	}
	l.seekers = nil
}

// improve chooses anew for each label in turn and tells whether that changed anything.
func (l *Layout) improve() (changed bool) {
	for _, s := range l.seekers {
		best, cost := l.best(s)
		if l.Inside != nil && cost >= payText {
			best = none
		}
		changed = changed || best != s.chosen
		if s.chosen, s.Placed = best, best != none; s.Placed {
			s.Place = s.spots[best].chosen()
		}
	}
	return changed
}

// best is the cheapest spot while the other labels stay, the one it has if none is cheaper. All that a spot covers comes on top of how good it
// is by itself: once that is not better than what was found, nothing that follows is.
func (l *Layout) best(s *seeker) (best int, least float64) {
	best, least = s.chosen, math.Inf(1)
	if best != none {
		spot := &s.spots[best]
		least = spot.cost + l.against(s, &spot.spot)
	}
	for i := 0; ; i++ {
		for i == len(s.spots) {
			if len(s.rings) == 0 || s.rings[0].worse >= least {
				return best, least
			}
			l.look(s)
		}
		spot := &s.spots[i]
		if spot.worse >= least {
			return best, least
		}
		if !spot.whole && spot.cost < least {
			l.price(spot, least)
		}
		if spot.cost >= least {
			continue
		}
		if cost := spot.cost + l.against(s, &spot.spot); cost < least {
			best, least = i, cost
		}
	}
}

// look finds the spots of a label's next ring.
func (l *Layout) look(s *seeker) {
	next := s.rings[0]
	s.rings = s.rings[1:]
	for spot := range next.spots {
		spot.worse = next.worse
		if l.Snap != nil {
			spot.slab = NewSlab(l.Snap(spot.slab.Centre, s.width), s.width, s.height, 0)
		}
		if l.Inside == nil || l.Inside.Contains(spot.slab.Bounds) {
			s.spots = append(s.spots, priced{spot: spot})
		}
	}
}

// against is what a spot costs beside the other labels.
func (l *Layout) against(self *seeker, s *spot) (cost float64) {
	near := clearance * l.Drawing.Em
	room := s.slab.Bounds.Widened(2 * math.Sqrt2 * near) // what is beyond is not near, however both are turned
	for _, other := range l.seekers {
		if other == self || !other.Placed {
			continue
		}
		if slab := other.Place.Slab; room.Meets(slab.Bounds) {
			if s.slab.Meets(slab) {
				cost += payText
			} else if s.slab.Grown(near).Meets(slab.Grown(near)) {
				cost += payNear
			}
		}
		cost += besideLeader(&s.slab, other.Place.Leader, near)
		if s.led {
			cost += besideLeader(&other.Place.Slab, s.leader[:], near)
			if len(other.Place.Leader) > 0 && meet(s.leader, [2]Point(other.Place.Leader)) {
				cost += payNear
			}
		}
	}
	return cost
}

// besideLeader is what it costs that another label's leader runs through letters, or so near that it seems to be theirs.
func besideLeader(s *Slab, leader []Point, near float64) float64 {
	switch {
	case len(leader) == 0 || !Crosses(s.Grown(near), leader):
		return 0
	case Crosses(*s, leader):
		return payText / 2
	}
	return payNear
}

// price reckons what a spot costs on the drawing without other labels, up to a limit: above it, no more needs to be known.
func (l *Layout) price(s *priced, limit float64) {
	em := l.Drawing.Em
	f, o := l.Drawing.Frame, s.slab.Bounds
	out := max(f.Least.X-o.Least.X, 0) + max(o.Most.X-f.Most.X, 0) + max(f.Least.Y-o.Least.Y, 0) + max(o.Most.Y-f.Most.Y, 0)
	s.cost = s.worse + payOutside*out/em
	add := func(cost float64) (more bool) {
		if cost >= limit-s.cost { // it may be more
			s.cost = max(s.cost+cost, limit)
			return false
		}
		s.cost += cost
		return true
	}
	for i := range l.below {
		if !add(l.below[i].under(&s.slab, em, limit-s.cost)) {
			return
		}
	}
	if s.led {
		band := s.band(em)
		for i := range l.below {
			if !add(l.below[i].across(&band, em, limit-s.cost)) {
				return
			}
		}
	}
	s.whole = true
}
