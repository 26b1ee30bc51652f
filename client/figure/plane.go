package figure

import (
	"math"
	"slices"
)

// point is a place or a way in the plane, in millimetres, y upwards.
type point struct{ x, y float64 }

func (p point) along(direction, distance float64) point {
	sin, cos := math.Sincos(direction)
	return point{p.x + distance*cos, p.y + distance*sin}
}

func (p point) direction(to point) float64 { return math.Atan2(to.y-p.y, to.x-p.x) }

func (p point) distance(to point) float64 { return math.Hypot(to.x-p.x, to.y-p.y) }

// between is the point a share of the way to another.
func (p point) between(to point, share float64) point {
	return point{p.x + (to.x-p.x)*share, p.y + (to.y-p.y)*share}
}

// rect is an upright rectangle.
type rect struct{ least, most point }

func emptyRect() rect {
	inf := math.Inf(1)
	return rect{point{inf, inf}, point{-inf, -inf}}
}

func (r rect) empty() bool { return r.least.x > r.most.x }

func (r *rect) include(points ...point) {
	for _, p := range points {
		r.least = point{min(r.least.x, p.x), min(r.least.y, p.y)}
		r.most = point{max(r.most.x, p.x), max(r.most.y, p.y)}
	}
}

func (r rect) width() float64  { return r.most.x - r.least.x }
func (r rect) height() float64 { return r.most.y - r.least.y }

// widened is the rectangle with a margin all round.
func (r rect) widened(by float64) rect {
	return rect{point{r.least.x - by, r.least.y - by}, point{r.most.x + by, r.most.y + by}}
}

// slab is a rectangle that may be turned: a label's.
type slab struct {
	centre   point
	halfW    float64
	halfH    float64
	turn     float64 // radians
	cos, sin float64
	corners  [4]point
	bounds   rect
}

func newSlab(centre point, width, height, turn float64) slab {
	s := slab{centre: centre, halfW: width / 2, halfH: height / 2, turn: turn, bounds: emptyRect()}
	s.sin, s.cos = math.Sincos(turn)
	for i, c := range [4]point{{s.halfW, s.halfH}, {-s.halfW, s.halfH}, {-s.halfW, -s.halfH}, {s.halfW, -s.halfH}} {
		s.corners[i] = point{centre.x + c.x*s.cos - c.y*s.sin, centre.y + c.x*s.sin + c.y*s.cos}
		s.bounds.include(s.corners[i])
	}
	return s
}

// grown is the slab with a margin all round.
func (s slab) grown(by float64) slab {
	return newSlab(s.centre, 2*(s.halfW+by), 2*(s.halfH+by), s.turn)
}

// local is a point in the slab's own directions, from its centre.
func (s slab) local(p point) point {
	x, y := p.x-s.centre.x, p.y-s.centre.y
	return point{x*s.cos + y*s.sin, y*s.cos - x*s.sin}
}

// crossing is how much of a line from a to b lies in the slab; false where they do not even touch.
func (s slab) crossing(a, b point) (length float64, touches bool) {
	way := emptyRect()
	if way.include(a, b); !way.meets(s.bounds) {
		return 0, false
	}
	a, b = s.local(a), s.local(b)
	from, to := 0.0, 1.0
	if !clip(a.x, b.x, s.halfW, &from, &to) || !clip(a.y, b.y, s.halfH, &from, &to) {
		return 0, false
	}
	return (to - from) * a.distance(b), true
}

// clip narrows the stretch of a way from a to b to where it is within ±half.
func clip(a, b, half float64, from, to *float64) bool {
	if a == b {
		return math.Abs(a) <= half
	}
	enter, leave := (-half-a)/(b-a), (half-a)/(b-a)
	*from = max(*from, min(enter, leave))
	*to = min(*to, max(enter, leave))
	return *from <= *to
}

// meets tells whether two slabs overlap: no side of either keeps them apart.
func (s slab) meets(o slab) bool {
	return !s.apart(o) && !o.apart(s)
}

func (s slab) apart(o slab) bool {
	r := emptyRect()
	for _, c := range o.corners {
		r.include(s.local(c))
	}
	return r.least.x > s.halfW || r.most.x < -s.halfW || r.least.y > s.halfH || r.most.y < -s.halfH
}

// nearest is the point of the slab's edge or inside that is nearest to another.
func (s slab) nearest(p point) point {
	l := s.local(p)
	l = point{min(max(l.x, -s.halfW), s.halfW), min(max(l.y, -s.halfH), s.halfH)}
	return point{s.centre.x + l.x*s.cos - l.y*s.sin, s.centre.y + l.x*s.sin + l.y*s.cos}
}

// crossedAt is where a closed outline crosses a level, from left to right: inside lies between the first and second, and so on.
func crossedAt(outline []point, level float64) []float64 {
	var crossed []float64
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if (a.y > level) != (b.y > level) {
			crossed = append(crossed, a.x+(level-a.y)/(b.y-a.y)*(b.x-a.x))
		}
	}
	slices.Sort(crossed)
	return crossed
}

// holds tells whether a closed outline has a point inside: it crosses the point's level an odd number of times before it.
func holds(outline []point, p point) bool {
	before, _ := slices.BinarySearch(crossedAt(outline, p.y), p.x)
	return before%2 == 1
}

// meets tells whether two rectangles overlap or touch.
func (r rect) meets(o rect) bool {
	return r.least.x <= o.most.x && o.least.x <= r.most.x && r.least.y <= o.most.y && o.least.y <= r.most.y
}

// contains tells whether another rectangle lies within.
func (r rect) contains(o rect) bool {
	return r.least.x <= o.least.x && r.least.y <= o.least.y && o.most.x <= r.most.x && o.most.y <= r.most.y
}
