package swung

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/space"
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
	return g.stance(g.frame(nose), f, support)
}

func (g Setting) stance(from [3]space.Dir, f Face, support geometry.Point) Stance {
	s := Stance{Contact: g.contact(f, support), Lean: lean(from, g.frame(f))}
	if !g.Wheel.Flat() {
		s.Elevation = float64(s.Contact.Elevation())
	}
	return s
}

// contact is where a face meets the rim: from the pivot along the wheel's tangent, as in the planar pose.
func (g Setting) contact(f Face, support geometry.Point) geometry.Point {
	if g.Wheel.Flat() {
		return geometry.Point{Up: support.Up + length(f.run)}
	}
	return geometry.Point{}.Along(support.Elevation()+angle(g.ahead(f)), g.Wheel.Radius())
}

// ahead is the angle at the axle from the pivot up to the contact; 0 for a flat abrasive.
func (g Setting) ahead(f Face) float64 {
	k := g.Wheel.Curvature()
	return math.Atan2(k*f.run, 1+k*f.reach*f.sin)
}

// frame is the wheel's own directions as the tool sees them: out of the rim where the pivot is, up along the rim there, along the axle.
func (g Setting) frame(f Face) [3]space.Dir {
	sin, cos := math.Sincos(g.ahead(f))
	return [3]space.Dir{
		f.Run.Times(sin).Minus(f.Normal.Times(cos)),
		f.Run.Times(-cos).Minus(f.Normal.Times(sin)),
		f.Axle,
	}
}

// lean is the turn that takes the tool from one stance to another, in the directions it had in the first.
func lean(from, to [3]space.Dir) Lean {
	turned := func(v space.Dir) space.Vec {
		var w space.Vec
		for i := range from {
			w = w.Plus(from[i].Times(to[i].Dot(v)))
		}
		return w
	}
	back, up, side := turned(space.Back), turned(space.Up), turned(space.Side)
	axis := space.Vec{Back: up.Side - side.Up, Up: side.Back - back.Side, Side: back.Up - up.Back}
	level := math.Hypot(back.Back, back.Side)
	return Lean{
		Yaw:   math.Atan2(back.Side, back.Back),
		Pitch: math.Atan2(back.Up, level),
		Roll:  math.Atan2(-side.Up, up.Up),
		Angle: math.Atan2(axis.Length(), back.Back+up.Up+side.Side-1),
	}
}
