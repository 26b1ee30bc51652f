package setup

import (
	"arris.example/geometry/swung"
)

// undercutKinds are the engine's kinds in ours: neighbouring arcs that cross are the face's.
var undercutKinds = map[swung.UndercutKind]Undercut{
	swung.Folded: UndercutArc, swung.AtEdge: UndercutEdge, swung.OnLand: UndercutArc, swung.Elsewhere: UndercutElsewhere,
}

var undercutCodes = map[Undercut]string{UndercutEdge: undercutEdge, UndercutArc: undercutArc, UndercutElsewhere: undercutOther}

// undercuts marks the places at which the wheel cuts into another part of the edge or its land.
func (x *search) undercuts(s stand, t shaped, a *swung.Analysis, e *WholeEdge) {
	for _, cut := range a.Undercuts(x.heel(s, t), x.rim()) {
		for i := range e.Places {
			if along := e.Places[i].Point.Along; along >= cut.From && along <= cut.To {
				e.Places[i].Undercut = undercutKinds[cut.Kind]
			}
		}
	}
}

// rim is how far the abrasive goes to either side of the pivot's plane, which is taken to be its middle.
func (x *search) rim() swung.Rim {
	half := float64(x.wheel.Width.Value) / 2
	return swung.Rim{Left: half, Right: half}
}

// heel is how long the first bevel's arc is at a face: its width, or as far as there is steel; where the bar is not known, as long as at
// the nose, and 0 where that is not known either.
func (x *search) heel(s stand, t shaped) func(swung.Face) float64 {
	if s.bevel.width.Known {
		return func(f swung.Face) float64 { return f.ArcOf(float64(s.bevel.width.Value)) }
	}
	hollow, ok := s.bevel.reground(x.surface, s.face, s.front)
	if !ok {
		return func(swung.Face) float64 { return 0 }
	}
	if !t.bar.Known {
		return func(f swung.Face) float64 { return f.ArcOf(float64(hollow.Chord)) }
	}
	most := 4 * float64(hollow.Chord)
	return func(f swung.Face) float64 { return t.runOut(f, most) }
}

// runOut is where the ground arc leaves the bar, at most so far from the edge.
func (t shaped) runOut(f swung.Face, most float64) float64 {
	const steps = 24
	inside := func(length float64) bool {
		p := f.Arc(length)
		return t.bar.Value.Inside(p.Side, p.Up) >= 0
	}
	for i := 1; i <= steps; i++ {
		in, out := most*float64(i-1)/steps, most*float64(i)/steps
		if inside(out) {
			continue
		}
		for range 20 {
			if middle := (in + out) / 2; inside(middle) {
				in = middle
			} else {
				out = middle
			}
		}
		return in
	}
	return most
}
