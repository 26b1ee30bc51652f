package setup

import (
	"cmp"
	"math"
	"slices"

	"arris.example/geometry/space"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// link is a bevel of a chain along the wings.
type link struct {
	bevel   int
	setting swung.Setting
	width   shop.Maybe[unit.Length]
	heel    func(swung.Face) float64
}

// chain is the bevels of the edge's own face, from the edge back.
func (x *search) chain(p plan, t shaped) (chain []link) {
	for _, s := range p {
		if s.face.side == p[len(p)-1].face.side {
			y := x.at(s.bevel)
			chain = append(chain, link{s.bevel.index, y.swing(s, t), s.bevel.width, y.heel(s, t)})
		}
	}
	slices.SortFunc(chain, func(a, b link) int { return cmp.Compare(a.bevel, b.bevel) })
	return chain
}

// follow lays the bevels along the wings. Each is ground through the line where the one before it ends, by the same relation as the edge.
func (x *search) follow(p plan, t shaped, e *WholeEdge) {
	chain := x.chain(p, t)
	for i := range e.Places {
		if e.Places[i].Reached {
			e.Places[i].Lands = t.lands(chain, e.Places[i].Point.Along)
		}
	}
}

// lands are the bevels at a place of the edge, as far as they are reached. A bevel's front end is a line whose direction follows from its
// neighbours, so that every bevel takes one place more to either side.
func (t shaped) lands(chain []link, along float64) (lands []EdgeLand) {
	step := 1e-3 * math.Max(t.edge.Left, t.edge.Right)
	line := make([]swung.Point, 2*len(chain)+1)
	for k := range line {
		line[k] = t.edge.At(along + step*float64(k-len(chain)))
	}
	before := space.Vec{}
	for i, l := range chain {
		middle := len(line) / 2
		f := l.setting.Face(line[middle])
		if !f.Reached() {
			return lands
		}
		land := EdgeLand{Bevel: l.bevel}
		if i > 0 {
			land.Corner = shop.Some(unit.Angle(before.AngleTo(f.Normal)))
		}
		if arc := l.heel(f); arc > 0 {
			land.Arc, land.Width = shop.Some(unit.Length(arc)), shop.Some(unit.Length(f.Arc(arc).Minus(f.At).Length()*math.Sin(f.Skew())))
			before = f.NormalAt(arc)
		}
		lands = append(lands, land)
		if !l.width.Known || i == len(chain)-1 {
			return lands
		}
		var ok bool
		if line, ok = l.ends(line); !ok {
			return lands
		}
	}
	return lands
}

// ends is the line along which a bevel ends, shorter by a place at both ends.
func (l link) ends(line []swung.Point) (next []swung.Point, ok bool) {
	at := make([]space.Vec, len(line))
	for k, p := range line {
		f := l.setting.Face(p)
		if !f.Reached() {
			return nil, false
		}
		at[k] = f.Arc(f.ArcOf(float64(l.width.Value)))
	}
	for k := 1; k < len(at)-1; k++ {
		next = append(next, swung.Point{Along: line[k].Along, At: at[k], Edge: at[k+1].Minus(at[k-1]).Dir(), Flute: line[k].Flute})
	}
	return next, true
}
