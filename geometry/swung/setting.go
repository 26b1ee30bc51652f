package swung

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/space"
	"arris.example/geometry/unit"
)

// Setting is how tool and machine stand to each other: all that a swing on a pivot fixes.
type Setting struct {
	Wheel geometry.Wheel
	Pivot geometry.Pivot
	Gap   unit.Length // pivot to wheel surface
	// What is usually 0, and makes wings unequal when it is not.
	Aside  unit.Length // pivot to +side of the tool's plane
	Roll   unit.Angle  // of the tool in its holder, about its bar's centre; positive leans the flute towards +side
	Centre unit.Length // the bar's centre above the flute floor (negative), about which it rolls
	// c: the contact beyond the pivot's plane along the axle, towards +side. The relation holds while it is nearer than the pivot is along
	// the face: at wedges near 90° and contacts of centimetres it would not be, and the face's direction there is then only its limit.
	Contact unit.Length
}

// AtNose is the setting of a pivot that grinds an edge angle at the nose.
func AtNose(w geometry.Wheel, p geometry.Pivot, edge unit.Angle) Setting {
	return Setting{Wheel: w, Pivot: p, Gap: w.Gap(p, edge)}
}

// pivot is its place in the tool frame. A tool rolled one way sees its pivot rolled the other.
func (g Setting) pivot() space.Vec {
	p := space.Vec{Back: float64(g.Pivot.Behind), Up: -float64(g.Pivot.Below), Side: float64(g.Aside)}
	if g.Roll == 0 {
		return p
	}
	sin, cos := math.Sincos(float64(g.Roll))
	up, side := p.Up-float64(g.Centre), p.Side
	return space.Vec{Back: p.Back, Up: float64(g.Centre) + up*cos + side*sin, Side: side*cos - up*sin}
}

// LeastMargin is the smallest [Face.Margin] that is still worth setting. There the angle moves as a square root: a millimetre of gap can
// be ten degrees and more.
const LeastMargin = 0.05

// onNormal is |sin κ| from which on the pivot lies on the face's normal, as far as numbers tell: cos κ is then below 1.5e-7, and the
// direction it gives no better than 1e-9.
const onNormal = 1 - 1e-14

// Face is what a setting grinds at a point of an edge.
type Face struct {
	Point
	// Margin is how far |sin κ| stays under the most that the edge's direction admits, |q × t|. Below 0 the wheel cannot touch the point
	// with its edge lying along the rim, and nothing that follows is set. It is below 0, too, where the pivot lies on the face's normal:
	// nothing then says which way the wheel runs.
	Margin float64
	// Excess is sin κ beyond what is admitted, with its sign: above 0 the pivot is too far from the wheel for this point, below 0 too near.
	Excess float64
	Normal space.Dir // of the ground face, out of the steel, towards the axle
	Run    space.Dir // along the ground arc at the edge, towards the heel
	Axle   space.Dir // of the axle, towards +side at the nose
	Wedge  float64   // between the ground face and the flute, square to the edge
	sin    float64   // of κ
	reach  float64   // ρ, pivot to the point
	run    float64   // pivot's distance from the point along Run
	curve  float64   // k
}

// Reached tells whether the wheel grinds the point.
func (f Face) Reached() bool { return f.Margin >= 0 }

// Face at a point.
func (g Setting) Face(p Point) Face {
	return g.face(g.pivot(), p)
}

func (g Setting) face(pivot space.Vec, p Point) Face {
	f := Face{Point: p}
	g.grind(pivot, &f)
	return f
}

// grind fills in what follows from a face's point.
func (g *Setting) grind(pivot space.Vec, f *Face) {
	k, gap, c := g.Wheel.Curvature(), float64(g.Gap), float64(g.Contact)
	from := f.At.Minus(pivot)
	rho := from.Length()
	q := from.Times(1 / rho)
	sin := (gap + k*(gap*gap-rho*rho+c*c)/2) / rho

	across := q.Across(f.Edge) // |q × t| long, and (t × q) × t in direction
	l := across.Length()
	f.Margin, f.sin, f.reach, f.curve = l-math.Abs(sin), sin, rho, k
	if !(f.Margin >= 0 && l > 0 && math.Abs(sin) < onNormal) {
		f.Margin = min(f.Margin, -math.SmallestNonzeroFloat64)
		f.Excess = math.Copysign(math.Abs(sin)-l, sin)
		return
	}
	e1 := across.Times(1 / l)
	e2 := f.Edge.Cross(e1)
	f.Normal = e1.Times(sin / l).Plus(e2.Times(math.Sqrt((l-sin)*(l+sin)) / l))
	f.Wedge = math.Atan2(f.Normal.Cross(f.Flute).Length(), -f.Normal.Dot(f.Flute))
	f.lay(q, c)
}

// lay finds the plane the wheel turns in: square to the face's normal lies the axle, and along it the pivot is c before the contact.
func (f *Face) lay(q space.Dir, c float64) {
	towards := f.Normal.Times(f.sin).Minus(q) // cos κ long: from the point to the pivot, along the wheel's tangent plane
	cos := towards.Length()
	towards = towards.Times(1 / cos)
	f.Run, f.run = towards, f.reach*cos
	if c != 0 {
		sin := min(max(c/f.run, -1), 1) // a contact further off than the pivot is taken as far as the pivot: see [Setting.Contact]
		turn := math.Sqrt((1 - sin) * (1 + sin))
		f.Run = towards.Times(turn).Plus(f.Normal.Cross(towards).Times(sin))
		f.run *= turn
	}
	f.Axle = f.Normal.Cross(f.Run)
}

// ToAxis is the angle between the ground face and the tool's axis: at the nose the edge angle.
func (f Face) ToAxis() float64 {
	return math.Atan2(-f.Normal.Back, math.Hypot(f.Normal.Up, f.Normal.Side))
}

// Skew is the angle ψ between the edge and the ground arc: 90° where the face runs back square to the edge.
func (f Face) Skew() float64 { return f.Run.AngleTo(f.Edge) }

// Arc is the face's point at a length along the ground arc, from the edge. The face through an edge is made of these arcs of the wheel:
// exactly so while the contact stays in the pivot's plane, since the tool only turns about the pivot.
func (f Face) Arc(length float64) space.Vec {
	run, out := bow(f.curve, length)
	return f.At.Plus(f.Run.Times(run)).Plus(f.Normal.Times(out))
}

// bow is where an arc of a curvature ends that is so long: along its first tangent and off it.
func bow(curve, length float64) (along, off float64) {
	sin, cos := math.Sincos(curve * length / 2)
	chord := length
	if curve != 0 {
		chord = 2 * sin / curve
	}
	return chord * cos, chord * sin
}

// NormalAt is the face's normal there, out of the steel.
func (f Face) NormalAt(length float64) space.Dir {
	sin, cos := math.Sincos(f.curve * length)
	return f.Normal.Times(cos).Minus(f.Run.Times(sin))
}

// Beyond is the face that the wheel leaves, standing as it does when it grinds f, where it cuts the flute's straight line through another
// point: what a tool has beyond its wings' ends. The point is moved along that line to the wheel, and its edge runs along the cut. False
// where the wheel does not reach the line.
func (f Face) Beyond(p Point) (Face, bool) {
	v := p.At.Minus(f.At)
	in, down := v.Dot(f.Normal), v.Dot(f.Run)
	ahead, along := f.Normal.Back, f.Run.Back
	// The line v + x·back meets k(in² + down²) = 2 in, and leaves the wheel towards the handle where x is larger: a x² + 2 b x + c = 0.
	a, b := f.curve*(ahead*ahead+along*along), f.curve*(in*ahead+down*along)-ahead
	c := f.curve*(in*in+down*down) - 2*in
	under := b*b - a*c
	if !(under > 0) || !(b+math.Sqrt(under) > 0) {
		return Face{}, false
	}
	p.At.Back -= c / (b + math.Sqrt(under))
	length := f.Run.Dot(p.At.Minus(f.At))
	turn := math.Atan2(f.curve*length, 1-f.curve*f.Normal.Dot(p.At.Minus(f.At)))
	sin, cos := math.Sincos(turn)
	there := f
	there.Point = p
	there.Normal = f.Normal.Times(cos).Minus(f.Run.Times(sin))
	there.Run = f.Run.Times(cos).Plus(f.Normal.Times(sin))
	there.Edge = there.Normal.Cross(p.Flute).Dir()
	if there.Edge.Dot(p.Edge) < 0 {
		there.Edge = there.Edge.Times(-1)
	}
	there.Wedge = math.Atan2(there.Normal.Cross(p.Flute).Length(), -there.Normal.Dot(p.Flute))
	return there, true
}

// ArcOf is the length along the ground arc of a chord square to the edge at the edge: a land's width.
func (f Face) ArcOf(width float64) float64 {
	chord := width / math.Sin(f.Skew())
	if f.curve == 0 {
		return chord
	}
	return 2 * math.Asin(min(1, f.curve*chord/2)) / f.curve
}
