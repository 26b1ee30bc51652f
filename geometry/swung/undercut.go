package swung

import (
	"math"

	"arris.example/geometry/space"
)

// Undercut is a part of an edge or its land that the wheel grinds away while it grinds another part.
type Undercut struct {
	Kind     UndercutKind
	From, To float64 // along the edge, from the first place to the last that suffer it
	Worst    float64 // the place where it is worst
	Down     float64 // how far from the edge there, along the ground arc
	// Radius is that of the hollow across the arc that the wheel, straight along its axle, would have to follow there; 0 for other kinds.
	Radius float64
	// Depth is how deep the wheel goes into the place that suffers most, and By the place that it then grinds. It is 0 where the places are
	// too near one another for it to be seen.
	Depth, By float64
}

// UndercutKind tells how an undercut comes about.
type UndercutKind int

// The kinds, the worst first.
const (
	Folded    UndercutKind = iota + 1 // neighbouring arcs cross before the heel
	AtEdge                            // the edge is hollow along the axle
	OnLand                            // the land is hollow along the axle
	Elsewhere                         // the wheel of a pose far away
)

func (k UndercutKind) String() string {
	return [...]string{"none", "folded", "at the edge", "on the land", "elsewhere"}[k]
}

// LeastCut is the smallest depth that counts as cut, mm. Where the contact lies off the pivot's plane a land is known only to five times as
// much, and that counts.
const LeastCut = 0.002

// Rim is how far the abrasive goes from the contact along the axle to either side, mm. The zero value is one whose width is not known: it
// counts as unbounded.
type Rim struct{ Left, Right float64 }

func (r Rim) covers(across float64) bool {
	return r == Rim{} || across <= r.Right && across >= -r.Left
}

// Undercuts are the parts of edge and land that the wheel would cut while it grinds others. heel is how long the land's arc is at a face.
func (a *Analysis) Undercuts(heel func(Face) float64, rim Rim) []Undercut {
	var found []Undercut
	for i := range a.Points {
		f := &a.Points[i].Face
		if !f.Reached() {
			continue
		}
		length := heel(*f)
		u := f.local(a.Setting, length)
		u.Depth, u.By = a.depth(f, length, rim)
		if u.Kind == 0 && u.Depth > 0 {
			u.Kind = Elsewhere
		}
		if u.Kind == 0 {
			continue
		}
		if last := len(found) - 1; last >= 0 && i > 0 && found[last].Kind == u.Kind && found[last].To == a.Points[i-1].Along {
			found[last].join(u)
		} else {
			found = append(found, u)
		}
	}
	return found
}

// join adds the next place to a stretch.
func (u *Undercut) join(next Undercut) {
	next.From = u.From
	worse := next.Depth > u.Depth || next.Depth == u.Depth && next.Radius < u.Radius
	if u.To = next.To; worse {
		*u = next
	}
}

// sweep is how the wheel moves past a face, per length of edge: what of the edge's direction lies along the axle, and how fast the face's
// normal and the arc's direction at the edge turn towards the axle.
type sweep struct{ s, nu, mu float64 }

// sweep by differentiating what fixes the normal: n·n = 1, n·t = 0 and n·q = sin κ.
func (f *Face) sweep(pivot space.Vec) sweep {
	q := f.At.Minus(pivot).Times(1 / f.reach)
	away := q.Dot(f.Edge) // ρ'
	turned := f.Edge.Minus(q.Times(away)).Times(1 / f.reach)

	alongEdge := -f.Normal.Dot(f.Bend)                             // n'·t
	alongQ := -away*(f.sin/f.reach+f.curve) - f.Normal.Dot(turned) // n'·q
	square := f.Edge.Dot(q.Cross(f.Normal))                        // det(t, q, n), not 0 while the margin is above 0
	change := q.Cross(f.Normal).Times(alongEdge).Plus(f.Normal.Cross(f.Edge).Times(alongQ)).Times(1 / square)

	s, nu := f.Edge.Dot(f.Axle), change.Dot(f.Axle)
	return sweep{s, nu, (nu*f.reach*f.sin - s) / f.run}
}

// speed is how far the arc moves along the axle at a length along it. It has to be above 0 or neighbouring arcs have crossed.
func (w sweep) speed(curve, length float64) float64 {
	along, off := bow(curve, length)
	return w.s + off*w.nu + along*w.mu
}

// turn is how fast the face's normal turns towards the axle there. It must not be below 0: the wheel cannot grind a face that is hollow
// along its axle.
func (w sweep) turn(curve, length float64) float64 {
	sin, cos := math.Sincos(curve * length)
	return w.nu*cos - w.mu*sin
}

// local tells whether the neighbouring poses cut the edge or its land. Over the land turn has one change of sign at the most, and where it
// is not below 0 speed, whose second derivative it is, has its least at an end or at one place between.
func (f *Face) local(g Setting, heel float64) Undercut {
	w := f.sweep(g.pivot())
	u := Undercut{From: f.Along, To: f.Along, Worst: f.Along}
	hollow := func(kind UndercutKind, down float64) {
		u.Kind, u.Down, u.Radius = kind, down, w.speed(f.curve, down)/-w.turn(f.curve, down)
	}
	turn := math.Atan2(-w.mu, w.nu)
	lowest := heel
	if f.curve > 0 && turn > 0 {
		lowest = min(heel, turn/f.curve)
	}
	switch {
	case !(w.s > 0):
		u.Kind = Folded
	case w.nu < 0:
		hollow(AtEdge, 0)
	case !(w.speed(f.curve, lowest) > 0):
		u.Kind, u.Down = Folded, lowest
	case w.turn(f.curve, heel) < 0:
		hollow(OnLand, heel)
	}
	return u
}

// depth is the deepest that the wheels of all poses go into a point of the edge or its land, beyond what counts, and whose pose it is.
func (a *Analysis) depth(f *Face, heel float64, rim Rim) (depth, by float64) {
	marks := [...]space.Vec{f.At, f.Arc(heel / 2), f.Arc(heel)}
	for i := range a.Points {
		other := &a.Points[i].Face
		if !other.Reached() || other.Along == f.Along {
			continue
		}
		for j, mark := range marks {
			limit := LeastCut
			if j > 0 && a.Setting.Contact != 0 {
				limit *= 5
			}
			if d := other.cuts(mark, rim); d > max(depth, limit) {
				depth, by = d, other.Along
			}
		}
	}
	return depth, by
}

// cuts is how deep a point lies in the wheel that grinds a face: R less its distance from the axle, written so that it holds for a flat
// abrasive too. It is below 0 outside the wheel and 0 beside it.
func (f *Face) cuts(p space.Vec, rim Rim) float64 {
	from := p.Minus(f.At)
	if !rim.covers(from.Dot(f.Axle)) {
		return 0
	}
	in, down := from.Dot(f.Normal), from.Dot(f.Run)
	x, y := 1-f.curve*in, f.curve*down
	return (2*in - f.curve*(in*in+down*down)) / (1 + math.Sqrt(x*x+y*y))
}
