package drawing

import (
	"cmp"
	"slices"
)

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

// obstacle is a stroke as letters meet it.
type obstacle struct {
	bounds      Rect
	pay, leader float64   // what a label and a leader pay
	outline     []Point   // of an area on which letters read badly; nil: it is none
	stretches   []stretch // so that most of a long stroke can be passed over at once
}

// stretch is a few points of a stroke in a row.
type stretch struct {
	points []Point
	bounds Rect
}

// obstacles are the strokes, those first that cost most.
func obstacles(strokes []Stroke) []obstacle {
	all := make([]obstacle, len(strokes))
	for i := range strokes {
		s := &strokes[i]
		o := obstacle{bounds: s.Bounds}
		o.pay, o.leader = s.pays()
		// A wheel is large and pale: letters may stand on it.
		if s.Closed && s.Role != RoleWheel {
			o.outline = s.Points
		}
		const atOnce = 4 // lines
		for from := 0; from+1 < len(s.Points); from += atOnce {
			st := stretch{points: s.Points[from:min(from+atOnce+1, len(s.Points))], bounds: EmptyRect()}
			st.bounds.Include(st.points...)
			o.stretches = append(o.stretches, st)
		}
		all[i] = o
	}
	slices.SortStableFunc(all, func(a, b obstacle) int { return cmp.Compare(b.pay, a.pay) })
	return all
}

// pays is what a label pays for covering a stroke, and a leader for running over it or close beside: with another dimension's line it is easily
// mixed up.
func (s *Stroke) pays() (label, leader float64) {
	switch {
	case s.Head:
		return payHead, 8
	case s.Role == RoleConstruction:
		return payAxis, 0.7
	case s.Role == RoleDimension:
		return payDimension, 5
	}
	return payOutline, 2
}

// under is what it costs to have this below a label, whose bounds meet its own; a line along a text is worse than one across.
func (o *obstacle) under(s *Slab, em float64) float64 {
	length, touches := o.crossings(s)
	switch {
	case touches:
		return o.pay * (1 + length/em) / 2
	case o.outline != nil && Holds(o.outline, s.Centre):
		return payInside
	}
	return 0
}

// across is what it costs to have this in a leader's way, likewise.
func (o *obstacle) across(band *Slab, em float64) float64 {
	if length, touches := o.crossings(band); touches {
		return o.leader * (0.5 + length/em)
	}
	return 0
}

// crossings is how much of the stroke lies in a slab that its bounds meet.
func (o *obstacle) crossings(s *Slab) (length float64, touches bool) {
	for i := range o.stretches {
		if st := &o.stretches[i]; st.bounds.Meets(s.Bounds) {
			part, hit := crossings(s, st.points)
			length, touches = length+part, touches || hit
		}
	}
	return length, touches
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
