package swung

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/space"
	"arris.example/geometry/unit"
)

// Stance is where tool and wheel stand to each other when a point of the edge is ground.
type Stance struct {
	Contact   geometry.Point // on the rim, in the wheel frame
	Elevation float64        // of the contact at the axle; 0 for a flat abrasive
	Lean      Lean           // of the tool, from how it stood when the nose was ground
}

// Lean is a turn of the tool: yawed about its up direction, then pitched about its side, then rolled about its own axis. Yaw is positive
// when the handle goes to +side, pitch when the handle rises, roll when the flute leans towards +side. Angle is the whole turn, whatever its axis.
type Lean struct{ Roll, Yaw, Pitch, Angle float64 }

// Stance of a face while the pivot stands at a place of the wheel frame; nose is the face at the nose, which leans are counted from. Both
// must be reached.
func (g Setting) Stance(nose, f Face, support geometry.Point) Stance {
	from := g.frame(&nose)
	return g.stance(&from, &f, support)
}

// Pose is how the tool stands in the wheel frame: yawed, pitched and rolled from lying level, its handle straight out from the wheel and its
// flute up, with its nose at a place, and so far along the axle from where the wheel touches.
type Pose struct {
	Turn  Lean
	Nose  geometry.Point
	Aside unit.Length
}

// Pose while a face is ground and the pivot stands at a place of the wheel frame. The face must be reached.
func (g Setting) Pose(f Face, support geometry.Point) Pose {
	near := g.frame(&f)
	sin, cos := 0.0, 1.0 // of the pivot's elevation
	if d := math.Hypot(float64(support.Out), float64(support.Up)); d > 0 && !g.Wheel.Flat() {
		sin, cos = float64(support.Up)/d, float64(support.Out)/d
	}
	frame := [3]space.Dir{near[0].Times(cos).Minus(near[1].Times(sin)), near[0].Times(sin).Plus(near[1].Times(cos)), near[2]}
	contact := g.contact(&f, support)
	return Pose{
		Turn:  lean(&[3]space.Dir{space.Back, space.Up, space.Side}, &frame),
		Nose:  geometry.Point{Out: contact.Out - length(frame[0].Dot(f.At)), Up: contact.Up - length(frame[1].Dot(f.At))},
		Aside: -length(frame[2].Dot(f.At)),
	}
}

func (g Setting) stance(from *[3]space.Dir, f *Face, support geometry.Point) Stance {
	to := g.frame(f)
	s := Stance{Contact: g.contact(f, support), Lean: lean(from, &to)}
	if !g.Wheel.Flat() {
		s.Elevation = float64(s.Contact.Elevation())
	}
	return s
}

// contact is where a face meets the rim: from the pivot along the wheel's tangent, as in the planar pose.
func (g Setting) contact(f *Face, support geometry.Point) geometry.Point {
	if g.Wheel.Flat() {
		return geometry.Point{Up: support.Up + length(f.run)}
	}
	sin, cos := g.ahead(f)
	out, up := float64(support.Out), float64(support.Up)
	if out == 0 && up == 0 {
		out = 1
	}
	scale := float64(g.Wheel.Radius()) / math.Sqrt(out*out+up*up)
	return geometry.Point{Out: length(scale * (cos*out - sin*up)), Up: length(scale * (sin*out + cos*up))}
}

// ahead is the angle at the axle from the pivot up to the contact, by its sine and cosine; 0 for a flat abrasive.
func (g Setting) ahead(f *Face) (sin, cos float64) {
	k := g.Wheel.Curvature()
	along, in := k*f.run, 1+k*f.reach*f.sin
	whole := math.Sqrt(along*along + in*in)
	return along / whole, in / whole
}

// frame is the wheel's own directions as the tool sees them: out of the rim where the pivot is, up along the rim there, along the axle.
func (g Setting) frame(f *Face) [3]space.Dir {
	sin, cos := g.ahead(f)
	return [3]space.Dir{
		f.Run.Times(sin).Minus(f.Normal.Times(cos)),
		f.Run.Times(-cos).Minus(f.Normal.Times(sin)),
		f.Axle,
	}
}

// lean is the turn that takes the tool from one stance to another, in the directions it had in the first.
func lean(from, to *[3]space.Dir) Lean {
	var back, up, side space.Vec // where the tool's own directions go
	for i := range from {
		back = back.Plus(from[i].Times(to[i].Back))
		up = up.Plus(from[i].Times(to[i].Up))
		side = side.Plus(from[i].Times(to[i].Side))
	}
	axis := space.Vec{Back: up.Side - side.Up, Up: side.Back - back.Side, Side: back.Up - up.Back}
	level := math.Sqrt(back.Back*back.Back + back.Side*back.Side)
	return Lean{
		Yaw:   math.Atan2(back.Side, back.Back),
		Pitch: math.Atan2(back.Up, level),
		Roll:  math.Atan2(-side.Up, up.Up),
		Angle: math.Atan2(axis.Length(), back.Back+up.Up+side.Side-1),
	}
}
