package setup

import (
	"context"
	"fmt"
	"math"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// Gauge is a card that is held between a wheel and a support: one end lies on the rim, the other against the support. It sets the wheel gap
// of one bevel without a rule.
type Gauge struct {
	Step         int // of the set-up
	Bevel        int
	Edge         unit.Angle // ground with it
	Gap          unit.Length
	Diameter     unit.Length // of the wheel that its arc fits; 0: a flat abrasive
	SupportWords string      // what its other end is held against: "bar", "pocket"
	SeatOf       unit.Length // radius of the bar that its other end fits; 0: none
	Pointed      bool        // its other end is a point, at the pivot
	HalfArc      unit.Length // half the chord of its arc
	Tolerance    unit.Angle
	From, To     unit.Length // diameters with which it grinds the edge within the tolerance; infinite where no larger wheel is too large
}

// halfArc is how wide a gauge lies on a wheel to either side: enough not to rock, little enough to find room.
const halfArc unit.Length = 12

// leastGauge is the smallest gap that a card can be held in.
const leastGauge unit.Length = 8

// NoGauge is the reason where no card can set what is asked.
const NoGauge fault.Reason = "NO_GAUGE"

// Gauges solves a question and gives the gauges for its wheel gaps, one for each step, in their order.
func (s Solver) Gauges(ctx context.Context, q Question) ([]Gauge, Setup, error) {
	return gauged(ctx, s, q, func(x *search, p plan) (all []Gauge, err error) {
		for i := range p {
			g, err := x.at(p[i].bevel).gauge(p[i])
			if err != nil {
				return nil, err
			}
			g.Step = i
			all = append(all, g)
		}
		return all, nil
	})
}

// gauged solves a question and makes gauges of the plan.
func gauged[T any](ctx context.Context, s Solver, q Question, of func(*search, plan) ([]T, error)) ([]T, Setup, error) {
	q.Figure, q.Figures, q.Edge = false, false, false
	x, p, offset, err := s.solved(ctx, q)
	if err != nil {
		return nil, Setup{}, err
	}
	all, err := of(&x, p)
	if err != nil {
		return nil, Setup{}, err
	}
	return all, x.describe(p, offset), nil
}

// noGauge is the refusal where no card can set or check what is asked.
func noGauge(format string, args ...any) error {
	return &fault.Fault{Kind: fault.Impossible, Reason: NoGauge, Message: fmt.Sprintf(format, args...)}
}

// groundWith is what a stand grinds with another choice, the support staying where it is set.
func (x *search) groundWith(s stand, c choice) (unit.Angle, error) {
	pivot, _ := x.pivotOf(s.face, c)
	return x.surface.EdgeAngle(pivot.SeenFrom(s.bevel.behind, s.bevel.below), s.set.gap)
}

// strays is how far what is ground instead is off what a stand grinds, in tolerances: 1 is just within. What grinds nothing is beyond.
func (x *search) strays(s stand, edge unit.Angle, err error) float64 {
	if err != nil {
		return math.Inf(1)
	}
	return math.Abs(float64((edge - s.front) / x.tolerance()))
}

// border is how far a value can go from where nothing strays towards a limit before something strays by more than the tolerance. It goes by
// steps, for what strays may come back, and halves the last one.
func border[T ~float64](from, limit T, strays func(T) float64) T {
	const steps, halvings = 400, 50
	good := from
	for i := 1; i <= steps; i++ {
		next := from + (limit-from)*T(i)/steps
		if strays(next) <= 1 {
			good = next
			continue
		}
		for range halvings {
			if middle := good + (next-good)/2; strays(middle) <= 1 {
				good = middle
			} else {
				next = middle
			}
		}
		return good
	}
	return limit
}

// gauge is the card for a stand.
func (x *search) gauge(s stand) (Gauge, error) {
	g := Gauge{
		Bevel: s.bevel.index, Edge: s.front, Gap: s.set.gap, SupportWords: x.say(supportWords[x.support.Kind]), HalfArc: halfArc, Tolerance: x.tolerance(),
	}
	if x.support.Kind == shop.Platform {
		return g, noGauge("a platform is set by its tilt, not by a gap: no gauge fits between it and the wheel; a bevel card checks what it grinds")
	}
	g.Gap -= x.support.Near
	g.Pointed = x.support.Near == 0
	if x.support.Kind == shop.Bar {
		g.SeatOf = x.support.Near
	}
	if g.Gap < leastGauge {
		return g, noGauge("the gap is %s; a gauge can be held in one of %s or more: choose a longer stick-out", PrintLength(g.Gap, x.q.Unit, 1), PrintLength(leastGauge, x.q.Unit, 1))
	}
	if x.surface.Flat() {
		g.From, g.To = 0, unit.Length(math.Inf(1))
		return g, nil
	}
	g.Diameter = x.surface.Diameter()
	g.HalfArc = min(halfArc, 0.6*x.surface.Radius())
	g.From, g.To = x.gaugeRange(s, g)
	return g, nil
}

// gaugeRange is with which diameters a gauge grinds the edge within the tolerance. On a smaller wheel the middle of its arc lies on the rim
// and the gap is kept. On a larger one its corners do, and the gap is larger by as much as the arcs differ in depth.
func (x *search) gaugeRange(s stand, g Gauge) (from, to unit.Length) {
	band := x.surface.BandAtGap(s.pivot, s.front, g.Tolerance)
	off := func(diameter unit.Length) unit.Angle {
		wheel := geometry.RoundWheel(diameter)
		gap := s.set.gap + depthOf(g.Diameter/2, g.HalfArc) - depthOf(diameter/2, g.HalfArc)
		edge, err := wheel.EdgeAngle(s.pivot, gap)
		if err != nil {
			return unit.Angle(math.Inf(1))
		}
		return unit.Angle(math.Abs(float64(edge - s.front)))
	}
	const largest = 2000 // no larger wheel is known here
	if off(largest) <= g.Tolerance {
		return band.Smallest, unit.Length(math.Inf(1))
	}
	low, high := g.Diameter, unit.Length(largest)
	for range 60 {
		if middle := low + (high-low)/2; off(middle) <= g.Tolerance {
			low = middle
		} else {
			high = middle
		}
	}
	return band.Smallest, low
}

// depthOf is how deep an arc of a radius is over half a chord.
func depthOf(radius, half unit.Length) unit.Length {
	return radius - unit.Length(math.Sqrt(float64(radius*radius-half*half)))
}
