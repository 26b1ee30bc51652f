package setup

import (
	"context"
	"fmt"
	"strconv"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// MapQuestion asks which settings of a holder grind a whole edge. An empty axis is what is given.
type MapQuestion struct {
	Common
	Given  shop.Settings
	Shape  shop.Maybe[shop.EdgeShape]
	Sticks []unit.Length
	Legs   []unit.Angle
	Gaps   []unit.Length
}

// EdgeMap is every combination tried.
type EdgeMap struct {
	Cells    []EdgeCell // stick-outs outermost, then legs, then gaps
	Feasible int
	Nose     shop.Maybe[shop.AngleRange] // over the feasible cells
	Wing     shop.Maybe[shop.AngleRange]
	Text     string
	Basis    Basis
}

// EdgeCell is one combination; Trouble is empty where the whole edge is ground.
type EdgeCell struct {
	StickOut unit.Length
	Leg      unit.Angle
	Gap      unit.Length
	Trouble  string
	Nose     shop.Maybe[unit.Angle]
	Wing     shop.Maybe[unit.Angle]
}

// MostCells is how many combinations a map may have.
const MostCells = 20_000

// The troubles of a cell that a whole edge's findings do not have.
const (
	noseUnreached = "NOSE_UNREACHED"
	edgeAngle     = "EDGE_ANGLE"
	beyondTravel  = "BEYOND_TRAVEL"
	stickTooLong  = "STICK_OUT_TOO_LONG"
	legOutOfRange = "LEG_OUT_OF_RANGE"
)

// MapEdge tries every combination.
func (s Solver) MapEdge(ctx context.Context, q MapQuestion) (EdgeMap, error) {
	r, err := s.resolve(ctx, q.Common)
	if err != nil {
		return EdgeMap{}, err
	}
	if err := checkWheel(r).err(); err != nil {
		return EdgeMap{}, err
	}
	x := search{rig: r, machine: r.machine(q.Doubts), q: Question{Common: q.Common, Rounding: Rounding{}.in(q.Unit)}, settings: r.fill(q.Given)}
	t, err := x.shaped(q.Shape)
	if err != nil {
		return EdgeMap{}, err
	}
	if err := x.axes(&q); err != nil {
		return EdgeMap{}, err
	}
	m := EdgeMap{Basis: x.basis(), Cells: make([]EdgeCell, 0, len(q.Sticks)*len(q.Legs)*len(q.Gaps))}
	for _, stick := range q.Sticks {
		for _, leg := range q.Legs {
			if ctx.Err() != nil {
				return EdgeMap{}, ctx.Err()
			}
			for _, gap := range q.Gaps {
				m.add(x.cell(t, choice{stickOut: stick, leg: leg}, gap))
			}
		}
	}
	m.Text = m.words(r)
	return m, nil
}

// axes completes the axes with what is given, and bounds the map.
func (x *search) axes(q *MapQuestion) error {
	swings := x.holder.Kind == shop.Swing
	if len(q.Legs) > 0 && !swings {
		return fault.Field("leg", fault.Contradiction, "this holder has no leg: only a swing holder has")
	}
	if x.holder.Kind == shop.BarePivot && len(q.Sticks) > 0 {
		return fault.Field("stick_out", fault.Contradiction, "a bare pivot has no stick-out: it is measured from the nose")
	}
	list := x.missing("given", x.settings, len(q.Sticks) > 0, len(q.Legs) > 0)
	if err := invalid(list); err != nil {
		return err
	}
	if len(q.Sticks) == 0 {
		q.Sticks = []unit.Length{x.settings.StickOut.Value}
	}
	if len(q.Legs) == 0 {
		leg := shop.Maybe[unit.Angle]{}
		if swings {
			if leg = x.legOf(x.settings); !leg.Known {
				return x.unknownPosition(x.settings.Position).in("given").err()
			}
		}
		q.Legs = []unit.Angle{leg.Value}
	}
	if cells := len(q.Sticks) * len(q.Legs) * len(q.Gaps); cells > MostCells {
		return &fault.Fault{Kind: fault.TooMuch, Reason: TooCostly, Message: fmt.Sprintf(
			"%s, %s and %s are %d combinations; at most %d are tried at once: take fewer steps, or map a part",
			counted(len(q.Sticks), "stick-out"), counted(len(q.Legs), "leg angle"), counted(len(q.Gaps), "gap"), cells, MostCells)}
	}
	return nil
}

// counted is a number of things in words.
func counted(n int, thing string) string {
	if n != 1 {
		thing += "s"
	}
	return strconv.Itoa(n) + " " + thing
}

// cell tries one combination.
func (x *search) cell(t shaped, c choice, gap unit.Length) EdgeCell {
	out := EdgeCell{StickOut: c.stickOut, Leg: c.leg, Gap: gap}
	if n := x.checkChoice(c); n != nil {
		out.Trouble = stickTooLong
		if n.Reason == LegOutOfRange {
			out.Trouble = legOutOfRange
		}
		return out
	}
	y := *x
	y.settings.Datum, y.settings.Support = shop.DatumWheelGap, gap
	s, n := y.stand(y.faces()[0], bevel{}, c)
	if n != nil {
		out.Trouble = noseUnreached
		if n.Reason == BeyondTravel {
			out.Trouble = beyondTravel
		}
		return out
	}
	out.Nose = shop.Some(s.front)
	g := y.swing(s, t)
	e := t.on(g)
	right, left := g.Face(e.At(e.Right)), g.Face(e.At(-e.Left))
	if right.Reached() && left.Reached() {
		out.Wing = shop.Some(unit.Angle(min(right.Wedge, left.Wedge)))
	}
	switch travel := x.support.Slide; {
	case checkEdge(x.rig, s.front, s.front) != nil:
		out.Trouble = edgeAngle
	case travel.Known && s.set.placed && outside(s.set.reading, travel.Value.Travel):
		out.Trouble = beyondTravel
	default:
		out.Trouble = x.trouble(s, g, t, e)
	}
	return out
}

// add counts a cell in.
func (m *EdgeMap) add(c EdgeCell) {
	m.Cells = append(m.Cells, c)
	if c.Trouble != "" {
		return
	}
	m.Feasible++
	m.Nose, m.Wing = widened(m.Nose, c.Nose), widened(m.Wing, c.Wing)
}

// widened is a range with another angle in it.
func widened(r shop.Maybe[shop.AngleRange], a shop.Maybe[unit.Angle]) shop.Maybe[shop.AngleRange] {
	switch {
	case !a.Known:
		return r
	case !r.Known:
		return shop.Some(shop.AngleRange{Least: a.Value, Most: a.Value})
	}
	return shop.Some(shop.AngleRange{Least: min(r.Value.Least, a.Value), Most: max(r.Value.Most, a.Value)})
}

func (m EdgeMap) words(r rig) string {
	text := r.say("%s of %s combinations grind the whole edge", strconv.Itoa(m.Feasible), strconv.Itoa(len(m.Cells)))
	if m.Feasible > 0 && m.Wing.Known {
		text += r.say(", with noses of %s to %s and wings of %s to %s",
			r.degrees(m.Nose.Value.Least), r.degrees(m.Nose.Value.Most), r.degrees(m.Wing.Value.Least), r.degrees(m.Wing.Value.Most))
	}
	return text + "."
}
