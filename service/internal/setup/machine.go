package setup

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// choice is what is decided before the support is.
type choice struct {
	stickOut unit.Length
	leg      unit.Angle
	position string // the leg's mark, where it stands at one
	onBlock  bool   // the stick-out is set by a block
}

// spot is where a support stands.
type spot struct {
	gap     unit.Length // pivots: centre to wheel surface
	line    unit.Length // tables: reference line to axle
	tilt    unit.Angle  // tables
	reading unit.Length
	at      geometry.Point
	placed  bool // at and reading (tables: tilt) are known, not only the distance from the wheel
}

// stand is one bevel with its support in place: what was wanted exactly, what is set, and what that grinds.
type stand struct {
	face       face
	bevel      bevel
	choice     choice
	pivot      geometry.Pivot // seen from the bevel's front end
	wanted     unit.Angle
	exact, set spot
	datum      shop.Datum
	onBlock    bool       // the support is set by a block
	front      unit.Angle // ground by what is set
	pose       geometry.Pose
	posed      bool
	aside      unit.Length
	restGap    shop.Maybe[unit.Length]
	wear       float64 // radians per millimetre of diameter lost
}

// err is how far what is ground is off what was wanted.
func (s stand) err() unit.Angle { return unit.Angle(math.Abs(float64(s.front - s.wanted))) }

// expanded is the uncertainty that some of the inputs make.
func expanded(budget []BudgetItem, counts func(BudgetItem) bool) unit.Angle {
	contributions := make([]geometry.Contribution, 0, 8)
	for _, item := range budget {
		if counts(item) {
			contributions = append(contributions, geometry.Contribution{Sensitivity: item.Sensitivity, HalfWidth: item.HalfWidth})
		}
	}
	return geometry.Combined(contributions)
}

func every(BudgetItem) bool           { return true }
func repeatable(item BudgetItem) bool { return item.Setting }

// machine turns a tangent into a place of the support and back.
type machine interface {
	// solve puts the support where it grinds the tangent, and rounds. near is where the machine stands, where that is known.
	solve(s *stand, r Rounding, near shop.Maybe[spot]) *no
	// predict puts the support where the settings say.
	predict(s *stand, at shop.Settings) *no
	// locate finds the spot that settings name.
	locate(f face, at shop.Settings) (spot, *no)
	// value is the reading of a datum at a spot; false where this machine has none. A tilt is in radians.
	value(s *stand, d shop.Datum, at spot) (float64, bool)
	// per is the change of edge angle per unit of a datum.
	per(s *stand, d shop.Datum) float64
	// data are the data this machine has.
	data() []shop.Datum
	// inputs are what the angle depends on, with how well it is known.
	inputs(s *stand) []BudgetItem
}

// machine is the one this rig has.
func (r *rig) machine(d Doubts) machine {
	if r.support.Kind == shop.Platform {
		return &table{*r, d}
	}
	return &pivots{*r, d}
}

// pivotOf is where a face's pivot lies behind and below the edge, and how far aside a point pivot lies.
func (r *rig) pivotOf(f face, c choice) (p geometry.Pivot, aside unit.Length) {
	h := r.holder
	switch h.Kind {
	case shop.Clamp:
		p = geometry.Pivot{Behind: c.stickOut + h.Behind, Below: h.Below}
	case shop.Swing:
		p = h.Arm.Pivot(c.stickOut, c.leg)
	case shop.Butted:
		p = geometry.Pivot{Behind: c.stickOut, Below: h.Below}
	default:
		p = geometry.Pivot{Behind: h.Behind, Below: h.Below}
	}
	r.turnOver(&p, f)
	if sigma := r.tool.EdgeToSide; sigma.Known && sigma.Value < 90*unit.Degree {
		edge := geometry.Oblique{EdgeToSide: sigma.Value}
		if h.Kind == shop.Clamp && !h.Yawed {
			p.Behind = edge.NormalReach(c.stickOut) + h.Behind
		} else {
			if h.Kind != shop.Clamp && r.support.Kind != shop.Bar {
				aside = edge.Aside(p.Behind)
			}
			p.Behind = edge.NormalReach(p.Behind)
		}
	}
	return p, aside
}

// turnOver gives a pivot its height below the reference line on this face. A butted tool and a bare pivot turn about the reference
// line; what a swing holder grips is laid in it again, for its leg has to stand below; a clamp does either, as its maker meant it.
func (r *rig) turnOver(p *geometry.Pivot, f face) {
	h, turned := r.holder, f.side == SecondSide || f.side == UpperSide
	switch h.Kind {
	case shop.Butted, shop.BarePivot:
		if turned {
			p.Below = -p.Below
		}
		return
	case shop.Clamp:
	default:
		return
	}
	if h.FromBed {
		p.Below += f.bed.Value
	}
	switch {
	case turned && h.TurnsOver: // the bar stays as far from the registered face, on its other side
		p.Below -= 2 * f.bed.Value
	case turned:
		p.Below += f.above.Value - f.bed.Value
	}
}

// alongBlade is how much of a millimetre of stick-out counts square to the edge.
func (r *rig) alongBlade() float64 {
	if r.tool.EdgeToSide.Known {
		return math.Sin(float64(r.tool.EdgeToSide.Value))
	}
	return 1
}

// roundDatum rounds a value to a step. A tie goes to the blunt side; where the nearest step does not fit the machine, the one on the
// value's other side is taken, and where neither does, the value itself.
func roundDatum(v, step unit.Length, perMM float64, fits func(unit.Length) bool) unit.Length {
	tie := unit.TieDown
	if perMM > 0 {
		tie = unit.TieUp
	}
	rounded := v.RoundTo(step, tie)
	if fits(rounded) {
		return rounded
	}
	if rounded > v {
		step = -step
	}
	if other := (rounded + step).RoundTo(unit.Length(math.Abs(float64(step))), tie); fits(other) {
		return other
	}
	return v
}

// anywhere is for a datum that has no travel.
func anywhere(unit.Length) bool { return true }

// nearestBlock is the block nearest to a length among those that fit the machine; of two equally near the one that grinds blunter.
func nearestBlock(v unit.Length, blocks []unit.Length, perMM float64, fits func(unit.Length) bool) (best unit.Length, ok bool) {
	for _, b := range blocks {
		off, least := math.Abs(float64(b-v)), math.Abs(float64(best-v))
		if fits(b) && (!ok || off < least || off == least && (b > best) == (perMM > 0)) {
			best, ok = b, true
		}
	}
	return best, ok
}

// checkGround refuses what is no edge.
func (s *stand) checkGround() *no {
	if s.front > 0 && s.front < 90*unit.Degree {
		return nil
	}
	return refuse(CannotReach, "settings", "these settings would grind %s, which is no edge", degrees(s.front)).angle(s.front).least(0).most(90)
}
