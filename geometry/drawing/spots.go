package drawing

import (
	"cmp"
	"iter"
	"math"
	"slices"
)

// Spot is a place for a label.
type Spot struct {
	Slab   Slab
	Leader []Point // a line from what is meant to the text; empty: the text is near enough
}

// spot is one to choose from.
type spot struct {
	slab   Slab
	leader [2]Point // where led
	led    bool
	worse  float64 // than the best spot of its label
}

func (s *spot) chosen() Spot {
	if s.led {
		return Spot{s.slab, []Point{s.leader[0], s.leader[1]}}
	}
	return Spot{Slab: s.slab}
}

// band is the room a leader wants to itself, without where it starts: lines so near to it are taken for it.
func (s *spot) band(em float64) Slab {
	from, to := s.leader[0], s.leader[1]
	length := from.Distance(to)
	from = from.Between(to, min(0.5, 0.5*em/max(length, em)))
	rest := max(from.Distance(to), 1e-9)
	return newSlab(from.Between(to, 0.5), rest, 0.7*em, (to.X-from.X)/rest, (to.Y-from.Y)/rest)
}

// offers are a label's spots for a size of its text, in letters of a height.
type offers func(width, height, em float64) []ring

// ring is spots that are equally good by themselves. They are found only when they are looked at: most labels find a place before.
type ring struct {
	worse float64
	spots iter.Seq[spot]
}

// only is a ring of one spot.
func only(worse float64, find func() spot) ring {
	return ring{worse, func(yield func(spot) bool) { yield(find()) }}
}

// bestFirst puts rings in order.
func bestFirst(rings []ring) []ring {
	slices.SortStableFunc(rings, func(a, b ring) int { return cmp.Compare(a.worse, b.worse) })
	return rings
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
func alongLine(a, b Point, outer float64) offers {
	return func(width, height, em float64) []ring {
		way, length := a.Direction(b), a.Distance(b)
		turn := upright(way)
		middle := a.Between(b, 0.5)
		var rings []ring
		off := clearance * em
		if width > length-em { // over the ends of the extension lines
			off += overshoot * em
		}
		for _, side := range []float64{outer, -outer} {
			for _, shift := range []float64{0, -0.12, 0.12, -0.25, 0.25, -0.38, 0.38} {
				worse := 4 * math.Abs(shift)
				if side != outer {
					worse++
				}
				rings = append(rings, only(worse, func() spot {
					at := middle.Along(way, shift*length).Along(way+math.Pi/2, side*(height/2+off))
					return spot{slab: NewSlab(at, width, height, turn)}
				}))
			}
		}
		for _, end := range []float64{-1, 1} { // in line with the dimension, beyond its end
			rings = append(rings, only(4, func() spot {
				foot := middle.Along(way, end*(length/2+(headLength+tail)*em))
				at := foot.Along(way, end*(width/2+clearance*em))
				return spot{slab: NewSlab(at, width, height, turn), leader: [2]Point{middle.Along(way, end*length/2), foot}, led: true}
			}))
		}
		return bestFirst(append(rings, ledOut(middle, width, height, em, 6)...))
	}
}

// nearArc offers places around an angle's arc, best outside its middle.
func nearArc(a CircleArc) offers {
	return func(width, height, em float64) []ring {
		var rings []ring
		for _, share := range []float64{0.5, 0.35, 0.65, 0.2, 0.8} {
			angle := a.Start + share*a.Sweep
			aside := math.Abs(share - 0.5)
			for i, in := range []float64{0, math.Pi} {
				rings = append(rings, only(3*aside+float64(i), func() spot {
					return spot{slab: NewSlab(beside(a.At(angle), toward(angle+in), width, height, clearance*em), width, height, 0)}
				}))
			}
			if aside < 0.1 || aside > 0.2 { // leaders from close by look the same
				rings = append(rings, ledOut(a.At(angle), width, height, em, 1+5*aside)...)
			}
		}
		return bestFirst(rings)
	}
}

// around offers the point itself, then places near to it, then others on the area that is meant: what is neither on it nor near is joined to
// it by a leader.
func around(p Point, area []Point) offers {
	return func(width, height, em float64) []ring {
		rings := []ring{only(0, func() spot { return spot{slab: NewSlab(p, width, height, 0)} })}
		for _, far := range []float64{0.5, 1, 2, 3, 4, 5, 6, 8} {
			rings = append(rings, ring{far, func(yield func(spot) bool) {
				for _, way := range compass {
					s := spot{slab: NewSlab(Point{p.X + way.X*far*em, p.Y + way.Y*far*em}, width, height, 0)}
					if (far <= 1 || holdsAll(area, &s.slab)) && !yield(s) {
						return
					}
				}
			}})
		}
		for i := 0; i < len(area); i += max(1, len(area)/8) {
			rings = append(rings, outOf(area, ledOut(area[i], width, height, em, 4+0.2*p.Distance(area[i])/em))...)
		}
		if area == nil {
			rings = append(rings, ledOut(p, width, height, em, 4)...)
		}
		return bestFirst(rings)
	}
}

// outOf leaves out of rings what is on an area: it needs no leader.
func outOf(area []Point, rings []ring) []ring {
	for i, r := range rings {
		rings[i].spots = func(yield func(spot) bool) {
			for s := range r.spots {
				if !Holds(area, s.slab.Centre) && !yield(s) {
					return
				}
			}
		}
	}
	return rings
}

// holdsAll tells whether an outline has all of a slab inside.
func holdsAll(outline []Point, s *Slab) bool {
	if outline == nil {
		return false
	}
	for _, c := range s.Corners() {
		if !Holds(outline, c) {
			return false
		}
	}
	return true
}

// compass are 24 ways, all around.
var compass = func() (ways [24]Point) {
	for i := range ways {
		ways[i] = toward(float64(i) * math.Pi / 12)
	}
	return ways
}()

// ledOut offers level text all around a point, joined to it by a leader.
func ledOut(p Point, width, height, em, worse float64) []ring {
	var rings []ring
	for _, far := range []float64{2, 3.5, 5, 7, 9, 12, 16} {
		rings = append(rings, ring{worse + 0.35*far, func(yield func(spot) bool) {
			for _, way := range compass {
				s := NewSlab(beside(p, way, width, height, far*em), width, height, 0)
				foot := footOf(&s, p)
				end := p.Between(foot, 1-clearance*em/max(p.Distance(foot), em))
				if !yield(spot{slab: s, leader: [2]Point{p, end}, led: true}) {
					return
				}
			}
		}})
	}
	return rings
}

// footOf is where a leader from a point ends at a level text: in the middle of a side, or over or under the letters, but not those at an end.
func footOf(s *Slab, p Point) Point {
	x, y := p.X-s.Centre.X, p.Y-s.Centre.Y
	over := min(max(x, -s.HalfW/2), s.HalfW/2)
	if math.Abs(x) >= s.HalfW && math.Abs(y)-s.HalfH < math.Abs(x-over)/2 { // it comes from aside
		return Point{s.Centre.X + math.Copysign(s.HalfW, x), s.Centre.Y}
	}
	return Point{s.Centre.X + over, s.Centre.Y + math.Copysign(s.HalfH, y)}
}

// toward is a way of length 1 in a direction, radians.
func toward(direction float64) Point { return Point{}.Along(direction, 1) }

// beside is where the centre of a level box stands that keeps a distance from a point, on a way of length 1.
func beside(p, way Point, width, height, distance float64) Point {
	return Point{p.X + way.X*(distance+width/2), p.Y + way.Y*(distance+height/2)}
}
