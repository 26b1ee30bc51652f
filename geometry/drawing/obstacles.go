package drawing

import (
	"cmp"
	"slices"
)

// What a label pays for covering, and for reaching out of the frame by a letter height.
const (
	payText      = 1000
	payNear      = 20 // so near that two texts read as one
	payHead      = 60
	payOutline   = 40
	payDimension = 40
	payInside    = 6
	payAxis      = 3
	payOutside   = 0.4
)

// obstacle is a stroke as letters meet it.
type obstacle struct {
	bounds        Rect
	label, leader pay
	outline       []Point   // of an area on which letters read badly; nil: it is none
	stretches     []stretch // so that most of a long stroke can be passed over at once
}

// pay is what a crossing costs: for touching at all, and for every letter height along.
type pay struct{ touch, along float64 }

// stretch is a few points of a stroke in a row.
type stretch struct {
	points []Point
	bounds Rect
}

// obstacles are the strokes, those first that cost most.
func obstacles(strokes []Stroke, em float64) []obstacle {
	all := make([]obstacle, len(strokes))
	const atOnce = 4 // lines
	points := 0
	for i := range strokes {
		points += len(strokes[i].Points)
	}
	stretches := make([]stretch, 0, points/atOnce+len(strokes)) // of them all
	for i := range strokes {
		s := &strokes[i]
		if s.Centre {
			s = s.longer(clearance * em)
		}
		o := obstacle{bounds: s.Bounds}
		o.label, o.leader = s.pays()
		// A wheel is large and pale: letters may stand on it.
		if s.Closed && s.Role != RoleWheel {
			o.outline = s.Points
		}
		first := len(stretches)
		for from := 0; from+1 < len(s.Points); from += atOnce {
			st := stretch{points: s.Points[from:min(from+atOnce+1, len(s.Points))], bounds: EmptyRect()}
			st.bounds.Include(st.points...)
			stretches = append(stretches, st)
		}
		o.stretches = stretches[first:]
		all[i] = o
	}
	slices.SortStableFunc(all, func(a, b obstacle) int { return cmp.Compare(b.label.touch, a.label.touch) })
	return all
}

// longer is a straight stroke that goes on at both ends: letters so near read as if they belonged to it.
func (s *Stroke) longer(by float64) *Stroke {
	long, a, b := *s, s.Points[0], s.Points[1]
	way := a.Direction(b)
	long.Points, long.Bounds = []Point{a.Along(way, -by), b.Along(way, by)}, EmptyRect()
	long.Bounds.Include(long.Points...)
	return &long
}

// pays is what a label pays for covering a stroke, and a leader for running over it or close beside. For a label a line along it is worse than
// one across; a leader is easily mixed up with another dimension's line.
func (s *Stroke) pays() (label, leader pay) {
	covered := func(whole float64) pay { return pay{whole / 2, whole / 2} }
	run := func(whole float64) pay { return pay{whole / 2, whole} }
	switch {
	case s.Head:
		return covered(payHead), run(8)
	case s.Centre:
		return covered(payOutline), run(2)
	case s.Role == RoleConstruction:
		return covered(payAxis), run(0.7)
	case s.Role == RoleDimension:
		return covered(payDimension), run(5)
	}
	return covered(payOutline), run(2)
}

// under is what it costs to have this below a label, up to a limit.
func (o *obstacle) under(s *Slab, em, limit float64) float64 {
	if !o.bounds.Meets(s.Bounds) {
		return 0
	}
	cost := o.crossed(s, o.label, em, limit)
	if cost == 0 && o.outline != nil && Holds(o.outline, s.Centre) {
		return payInside
	}
	return cost
}

// across is what it costs to have this in a leader's way, up to a limit.
func (o *obstacle) across(band *Slab, em, limit float64) float64 {
	if !o.bounds.Meets(band.Bounds) {
		return 0
	}
	return o.crossed(band, o.leader, em, limit)
}

// crossed is what it costs where a slab and the stroke cross, up to a limit: above it, the rest of the stroke is not looked at.
func (o *obstacle) crossed(s *Slab, p pay, em, limit float64) (cost float64) {
	length := 0.0
	for i := range o.stretches {
		st := &o.stretches[i]
		if !st.bounds.Meets(s.Bounds) {
			continue
		}
		if part, hit := crossings(s, st.points); hit {
			length += part
			if cost = p.touch + p.along*length/em; cost >= limit {
				break
			}
		}
	}
	return cost
}

// crossings is how much of a path lies in a slab.
func crossings(s *Slab, path []Point) (length float64, touches bool) {
	for i := 1; i < len(path); i++ {
		if s.Bounds.besides(path[i-1], path[i]) {
			continue
		}
		if part, hit := s.through(path[i-1], path[i]); hit {
			length, touches = length+part, true
		}
	}
	return length, touches
}

// Crosses tells whether a path runs below a label.
func Crosses(s Slab, path []Point) bool {
	_, touches := crossings(&s, path)
	return touches
}
