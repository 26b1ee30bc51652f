package drawing

import (
	"math"
	"slices"
)

// Point is a place or a way in the plane, in millimetres, y upwards.
type Point struct{ X, Y float64 }

// Pt is a point.
func Pt(x, y float64) Point { return Point{x, y} }

// Along is the point a distance away in a direction, radians.
func (p Point) Along(direction, distance float64) Point {
	sin, cos := math.Sincos(direction)
	return Point{p.X + distance*cos, p.Y + distance*sin}
}

// Direction of the way to another point, radians.
func (p Point) Direction(to Point) float64 { return math.Atan2(to.Y-p.Y, to.X-p.X) }

// Distance to another point. Nothing that is drawn is so far away that squares overflow.
func (p Point) Distance(to Point) float64 {
	x, y := to.X-p.X, to.Y-p.Y
	return math.Sqrt(x*x + y*y)
}

// Between is the point a share of the way to another.
func (p Point) Between(to Point, share float64) Point {
	return Point{p.X + (to.X-p.X)*share, p.Y + (to.Y-p.Y)*share}
}

// Rect is an upright rectangle.
type Rect struct{ Least, Most Point }

// EmptyRect holds nothing yet.
func EmptyRect() Rect {
	inf := math.Inf(1)
	return Rect{Point{inf, inf}, Point{-inf, -inf}}
}

// Empty tells whether it holds nothing.
func (r Rect) Empty() bool { return r.Least.X > r.Most.X }

// Include widens the rectangle to points.
func (r *Rect) Include(points ...Point) {
	for _, p := range points {
		r.Least = Point{min(r.Least.X, p.X), min(r.Least.Y, p.Y)}
		r.Most = Point{max(r.Most.X, p.X), max(r.Most.Y, p.Y)}
	}
}

// Width is its level side.
func (r Rect) Width() float64 { return r.Most.X - r.Least.X }

// Height is its upright side.
func (r Rect) Height() float64 { return r.Most.Y - r.Least.Y }

// Widened is the rectangle with a margin all round.
func (r Rect) Widened(by float64) Rect {
	return Rect{Point{r.Least.X - by, r.Least.Y - by}, Point{r.Most.X + by, r.Most.Y + by}}
}

// Slab is a rectangle that may be turned: a label's.
type Slab struct {
	Centre   Point
	HalfW    float64
	HalfH    float64
	Turn     float64 // radians
	cos, sin float64
	Bounds   Rect
}

// NewSlab is a rectangle around a centre, turned counter-clockwise by radians.
func NewSlab(centre Point, width, height, turn float64) Slab {
	way := Point{X: 1}
	if turn != 0 {
		way = toward(turn)
	}
	s := newSlab(centre, width, height, way.X, way.Y)
	s.Turn = turn
	return s
}

// newSlab is one by the cosine and sine of its turn.
func newSlab(centre Point, width, height, cos, sin float64) Slab {
	s := Slab{Centre: centre, HalfW: width / 2, HalfH: height / 2, cos: cos, sin: sin}
	across := math.Abs(s.HalfW*cos) + math.Abs(s.HalfH*sin)
	up := math.Abs(s.HalfW*sin) + math.Abs(s.HalfH*cos)
	s.Bounds = Rect{Point{centre.X - across, centre.Y - up}, Point{centre.X + across, centre.Y + up}}
	return s
}

// Corners of the slab, counter-clockwise.
func (s Slab) Corners() []Point {
	wx, wy, hx, hy := s.HalfW*s.cos, s.HalfW*s.sin, -s.HalfH*s.sin, s.HalfH*s.cos
	x, y := s.Centre.X, s.Centre.Y
	return []Point{{x + wx + hx, y + wy + hy}, {x - wx + hx, y - wy + hy}, {x - wx - hx, y - wy - hy}, {x + wx - hx, y + wy - hy}}
}

// Grown is the slab with a margin all round.
func (s Slab) Grown(by float64) Slab {
	return NewSlab(s.Centre, 2*(s.HalfW+by), 2*(s.HalfH+by), s.Turn)
}

// local is a point in the slab's own directions, from its centre.
func (s *Slab) local(p Point) Point {
	x, y := p.X-s.Centre.X, p.Y-s.Centre.Y
	return Point{x*s.cos + y*s.sin, y*s.cos - x*s.sin}
}

// Crossing is how much of a line from a to b lies in the slab; false where they do not even touch.
func (s *Slab) Crossing(a, b Point) (length float64, touches bool) {
	if s.Bounds.besides(a, b) {
		return 0, false
	}
	return s.through(a, b)
}

// besides tells that a line passes by on one side: most do, and that is soon told.
func (r *Rect) besides(a, b Point) bool {
	return a.X > r.Most.X && b.X > r.Most.X || a.X < r.Least.X && b.X < r.Least.X || a.Y > r.Most.Y && b.Y > r.Most.Y || a.Y < r.Least.Y && b.Y < r.Least.Y
}

func (s *Slab) through(a, b Point) (length float64, touches bool) {
	a, b = s.local(a), s.local(b)
	if s.around(a) && s.around(b) {
		return a.Distance(b), true
	}
	from, to := 0.0, 1.0
	if !clip(a.X, b.X, s.HalfW, &from, &to) || !clip(a.Y, b.Y, s.HalfH, &from, &to) {
		return 0, false
	}
	return (to - from) * a.Distance(b), true
}

// around tells whether a point in the slab's own directions is inside.
func (s *Slab) around(p Point) bool { return math.Abs(p.X) <= s.HalfW && math.Abs(p.Y) <= s.HalfH }

// clip narrows the stretch of a way from a to b to where it is within ±half.
func clip(a, b, half float64, from, to *float64) bool {
	if a > half && b > half || a < -half && b < -half {
		return false
	}
	if a == b {
		return true
	}
	per := 1 / (b - a)
	enter, leave := (-half-a)*per, (half-a)*per
	if enter > leave { // not min and max, which look for NaN: this runs ten thousand times for a drawing
		enter, leave = leave, enter
	}
	if enter > *from {
		*from = enter
	}
	if leave < *to {
		*to = leave
	}
	return *from <= *to
}

// Meets tells whether two slabs overlap: no side of either keeps them apart.
func (s Slab) Meets(o Slab) bool {
	return s.Bounds.Meets(o.Bounds) && !s.apart(&o) && !o.apart(&s)
}

func (s *Slab) apart(o *Slab) bool {
	r := EmptyRect()
	for _, c := range o.Corners() {
		r.Include(s.local(c))
	}
	return r.Least.X > s.HalfW || r.Most.X < -s.HalfW || r.Least.Y > s.HalfH || r.Most.Y < -s.HalfH
}

// meet tells whether two lines cross.
func meet(a, b [2]Point) bool {
	left := func(l [2]Point, p Point) bool { return (l[1].X-l[0].X)*(p.Y-l[0].Y) > (l[1].Y-l[0].Y)*(p.X-l[0].X) }
	return left(a, b[0]) != left(a, b[1]) && left(b, a[0]) != left(b, a[1])
}

// CrossedAt is where a closed outline crosses a level, from left to right: inside lies between the first and second, and so on.
func CrossedAt(outline []Point, level float64) []float64 {
	var crossed []float64
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if (a.Y > level) != (b.Y > level) {
			crossed = append(crossed, a.X+(level-a.Y)/(b.Y-a.Y)*(b.X-a.X))
		}
	}
	slices.Sort(crossed)
	return crossed
}

// Holds tells whether a closed outline has a point inside: it crosses the point's level an odd number of times before it.
func Holds(outline []Point, p Point) (inside bool) {
	last := outline[len(outline)-1]
	for _, next := range outline {
		if (last.Y > p.Y) != (next.Y > p.Y) && last.X+(p.Y-last.Y)/(next.Y-last.Y)*(next.X-last.X) < p.X {
			inside = !inside
		}
		last = next
	}
	return inside
}

// Meets tells whether two rectangles overlap or touch.
func (r Rect) Meets(o Rect) bool {
	return r.Least.X <= o.Most.X && o.Least.X <= r.Most.X && r.Least.Y <= o.Most.Y && o.Least.Y <= r.Most.Y
}

// Contains tells whether another rectangle lies within.
func (r Rect) Contains(o Rect) bool {
	return r.Least.X <= o.Least.X && r.Least.Y <= o.Least.Y && o.Most.X <= r.Most.X && o.Most.Y <= r.Most.Y
}
