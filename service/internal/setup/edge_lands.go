package setup

import (
	"cmp"
	"math"
	"slices"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// chain is the bevels of the edge's own face, from the edge back: as the engine stacks them, with their places in the grind and where the
// last one runs out of the steel.
type chain struct {
	swung.Stack
	bevels []int
	heel   func(swung.Face) float64 // of the last
}

// chain is a plan's, without what is ground on the other face.
func (x *search) chain(p plan, t shaped) chain {
	c := chain{Stack: swung.Stack{Edge: t.edge}}
	own := slices.DeleteFunc(slices.Clone(p), func(s stand) bool { return s.face.side != p[len(p)-1].face.side })
	slices.SortFunc(own, func(a, b stand) int { return cmp.Compare(a.bevel.index, b.bevel.index) })
	for _, s := range own {
		y := x.at(s.bevel)
		c.Bevels = append(c.Bevels, swung.Bevel{Setting: y.swing(s, t), Width: float64(s.bevel.width.Value)})
		c.bevels, c.heel = append(c.bevels, s.bevel.index), y.heel(s, t)
	}
	return c
}

// follow lays the bevels along the wings. Each is ground through the line where the one before it ends, by the same relation as the edge.
func (x *search) follow(p plan, t shaped, e *WholeEdge) {
	c := x.chain(p, t)
	for i := range e.Places {
		if e.Places[i].Reached {
			e.Places[i].Lands = c.lands(e.Places[i].Point.Along)
		}
	}
}

// lands are the bevels at a place of the edge, as far as they can be ground.
func (c chain) lands(along float64) []EdgeLand {
	found, _ := c.At(along) // what is wrong with the next one shows in its not being there
	corners := swung.Corners(found)
	lands := make([]EdgeLand, len(found))
	for i, l := range found {
		lands[i].Bevel = c.bevels[i]
		if i > 0 {
			lands[i].Corner = shop.Some(unit.Angle(corners[i-1]))
		}
		arc := l.Length
		if i == len(c.Bevels)-1 {
			arc = c.heel(l.Face)
		}
		if arc > 0 {
			width := l.Arc(arc).Minus(l.At).Length() * math.Sin(l.Skew())
			lands[i].Arc, lands[i].Width = shop.Some(unit.Length(arc)), shop.Some(unit.Length(width))
		}
	}
	return lands
}
