package setup

import (
	"context"
	"math"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// BevelCard is a card with a notch that checks a ground bevel. One side of the notch lies on the tool's reference line, the other on the bevel:
// on a hollow grind it touches edge and heel only, so the notch is as wide as the bevel reads, not as the edge is keen. A tool whose two
// faces meet at the edge is checked on both at once.
type BevelCard struct {
	Steps        []int // of the set-up: one, or the two faces'
	Bevel        int
	Edge         unit.Angle  // the edge angle, or the front angle of a bevel further back; of two faces the included one
	Reading      unit.Angle  // the notch: what the two sides make together
	Lower, Upper NotchSide   // the upper one, of a single face, lies on the reference line and touches no bevel
	Clear        unit.Length // how far the edge stays from the notch's corner, of a bevel that does not begin at the edge
	Across       bool        // the edge runs at an angle to the blade, and the card is held square to it
	Kind         shop.ToolKind
	Tolerance    unit.Angle
	Diameter     unit.Length // of the wheel; 0: a flat abrasive
	From, To     unit.Length // diameters with which a bevel that fits has its edge within the tolerance; infinite where no larger wheel is too large
}

// NotchSide is one side of a notch, and the bevel that lies on it.
type NotchSide struct {
	Reading unit.Angle  // from the reference line
	Start   unit.Length // where along the side, from the corner, the bevel begins
	Chord   unit.Length // of the bevel; 0: not known, on a flat abrasive, or no bevel
}

// Both tells whether it checks the two faces of a tool together.
func (c BevelCard) Both() bool { return c.Upper.Reading > 0 }

// BevelCards solves a question and gives the cards that check its bevels, in the order of the steps.
func (s Solver) BevelCards(ctx context.Context, q Question) ([]BevelCard, Setup, error) {
	return gauged(ctx, s, q, (*search).bevelCards)
}

func (x *search) bevelCards(p plan) (all []BevelCard, err error) {
	for i, s := range p {
		other, partner := facing(p, i)
		if partner && other < i {
			continue // checked together with that
		}
		y := x.at(s.bevel)
		c := BevelCard{Steps: []int{i}, Bevel: s.bevel.index, Edge: s.front, Kind: y.kind(), Tolerance: y.tolerance(), Diameter: y.diameter(),
			Across: y.tool.EdgeToSide.Known && y.tool.EdgeToSide.Value < 90*unit.Degree}
		if c.Lower, err = y.touched(s); err != nil {
			return nil, err
		}
		if partner {
			if c.Upper, err = y.touched(p[other]); err != nil {
				return nil, err
			}
			if s.face.side == UpperSide || s.face.side == SecondSide {
				c.Lower, c.Upper = c.Upper, c.Lower
			}
			c.Steps, c.Edge = append(c.Steps, other), s.front+p[other].front
		}
		if c.Bevel > 0 {
			c.Clear = c.Lower.Start*unit.Length(math.Cos(float64(c.Lower.Reading))) - s.bevel.behind
		}
		c.Reading = c.Lower.Reading + c.Upper.Reading
		if c.Reading < leastNotch || c.Reading > mostNotch {
			return nil, noGauge("the bevel reads %s; a notch can be cut from %s to %s", degrees(c.Reading), degrees(leastNotch), degrees(mostNotch))
		}
		c.From, c.To = c.wheels()
		all = append(all, c)
	}
	return all, nil
}

// A notch is cut between these angles: a keener one breaks off, a blunter one holds nothing.
const (
	leastNotch = 10 * unit.Degree
	mostNotch  = 150 * unit.Degree
)

// kind is the tool's, or where no tool is said the one that the recipe is for.
func (r *rig) kind() shop.ToolKind {
	if r.tool.Kind == shop.AnyTool && len(r.recipe.Tools) > 0 {
		return r.recipe.Tools[0]
	}
	return r.tool.Kind
}

// facing is the step of the face that meets another's at the edge.
func facing(p plan, i int) (int, bool) {
	for j := range p {
		if p[j].face.side != p[i].face.side && p[j].bevel.index == p[i].bevel.index {
			return j, true
		}
	}
	return 0, false
}

// touched is how a bevel lies in its notch. A flat abrasive's is straight however long it is.
func (x *search) touched(s stand) (NotchSide, error) {
	hollow, known := s.bevel.reground(x.surface, s.face, s.front)
	side := NotchSide{Reading: hollow.Reading, Chord: hollow.Chord}
	if !known {
		if !x.surface.Flat() {
			return side, noGauge("how long the bevel gets is not known, so neither is what a card laid on its hollow touches: say the tool's steel_under_flute_mm or blade_thickness_mm")
		}
		side.Reading = s.front
	}
	side.Start = s.bevel.below / unit.Length(math.Sin(float64(side.Reading)))
	return side, nil
}

// wheels are the diameters with which a bevel that fits the notch has its edge within the tolerance: the same chord on another wheel turns the
// tangent at the edge by another half of its arc.
func (c BevelCard) wheels() (from, to unit.Length) {
	if c.Diameter == 0 {
		return 0, unit.Length(math.Inf(1))
	}
	turn := func(diameter unit.Length) unit.Angle {
		return unit.Angle(math.Asin(float64(c.Lower.Chord/diameter)) + math.Asin(float64(c.Upper.Chord/diameter)))
	}
	strays := func(diameter unit.Length) float64 {
		return math.Abs(float64((c.Reading - turn(diameter) - c.Edge) / c.Tolerance))
	}
	from = border(c.Diameter, max(c.Lower.Chord, c.Upper.Chord), strays)
	if turn(c.Diameter) <= c.Tolerance {
		return from, unit.Length(math.Inf(1))
	}
	return from, border(c.Diameter, largestWheel, strays)
}

// largestWheel is the largest diameter that is told of; whatever is good with it is good with all larger ones.
const largestWheel unit.Length = 2000
