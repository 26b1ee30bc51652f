package setup

import (
	"context"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// StickOutBlock is a card that sets how far a tool stands out of its holder: one end lies against the holder's front face, a stop holds the
// nose.
type StickOutBlock struct {
	Steps     []int // of the set-up that are ground with it
	StickOut  unit.Length
	Tolerance unit.Angle
	From, To  unit.Length // stick-outs with which all of them are ground within the tolerance, all else being as it is set
	Diameter  unit.Length // of the wheel; 0: a flat abrasive
	Above     unit.Length // the nose above the tool's back; 0: not known
}

// StickOuts solves a question and gives the blocks that set its stick-outs, one for each, in the order of the steps.
func (s Solver) StickOuts(ctx context.Context, q Question) ([]StickOutBlock, Setup, error) {
	return gauged(ctx, s, q, (*search).stickOutBlocks)
}

func (x *search) stickOutBlocks(p plan) (all []StickOutBlock, err error) {
	for _, of := range x.alike(p, func(s stand) any { return s.choice.stickOut }) {
		y, s := x.at(p[of[0]].bevel), p[of[0]]
		switch y.holder.Kind {
		case shop.Clamp, shop.Swing:
		case shop.Butted:
			err = noGauge("the handle stands in its pocket: from seat to nose the tool is as long as it is, and a rule measures it; the wheel gap has a gauge")
			continue
		case shop.BarePivot:
			err = noGauge("of this holder only the pivot is known, not its front face: name the holder, or write it out, and its stick-out has a block")
			continue
		default:
			err = noGauge("a tool that lies on a platform stands out of no holder; a bevel card checks what is ground there")
			continue
		}
		b := StickOutBlock{Steps: of, StickOut: s.choice.stickOut, Tolerance: y.tolerance(), Diameter: y.diameter(), Above: s.face.above.Or(0)}
		strays := func(stickOut unit.Length) (most float64) {
			for _, i := range of {
				c := p[i].choice
				c.stickOut = stickOut
				edge, err := y.groundWith(p[i], c)
				most = max(most, y.strays(p[i], edge, err))
			}
			return most
		}
		b.From = border(b.StickOut, max(b.StickOut-mostOff, 0), strays)
		b.To = border(b.StickOut, b.StickOut+mostOff, strays)
		all = append(all, b)
	}
	if len(all) == 0 {
		return nil, err
	}
	return all, nil
}

// mostOff is how far off a length is thought to be at most.
const mostOff unit.Length = 50

// diameter is the wheel's, 0 for a flat abrasive.
func (r *rig) diameter() unit.Length {
	if r.surface.Flat() {
		return 0
	}
	return r.surface.Diameter()
}

// alike are a plan's steps in groups, in their order: on the same rig, and the same in what a key says.
func (x *search) alike(p plan, key func(stand) any) (groups [][]int) {
	type kind struct {
		place int // of a bevel that is ground elsewhere, else -1
		key   any
	}
	where := map[kind]int{}
	for i, s := range p {
		k := kind{-1, key(s)}
		if _, moved := x.others[s.bevel.index]; moved {
			k.place = s.bevel.index
		}
		n, known := where[k]
		if !known {
			n = len(groups)
			where[k], groups = n, append(groups, nil)
		}
		groups[n] = append(groups[n], i)
	}
	return groups
}
