package setup

import (
	"cmp"
	"context"
	"math"
	"path"
	"slices"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// Spacing is how the steps of a set-up that differ in one length are set one after the other without a rule: a stop is clamped where one of
// them stands, and for each other a block is put between the stop and what is set.
type Spacing struct {
	What      Spaced
	Support   string      // in words: "the bar", "the pocket"
	At        unit.Length // what is set without a block
	Without   []int       // the steps that need none; -1 is where the machine stands now
	Blocks    []Spacer    // the shortest first
	Diameter  unit.Length // of the wheel; 0: a flat abrasive
	Tolerance unit.Angle
}

// Spaced is the length that a block changes.
type Spaced int

// The lengths.
const (
	SpacedSlide    Spaced = iota // between a stop and the support, along its slide: the support goes further out
	SpacedGap                    // between a gauge of the wheel gap and the support, which has no slide that anybody described
	SpacedStickOut               // between the nose and its stop: the tool stands out less
)

// Spacer is a block.
type Spacer struct {
	Length   unit.Length // as it is cut; of a block on hand, as that is
	Exact    unit.Length // the difference itself
	From, To unit.Length // lengths with which the edge stays within the tolerance, all else being as it is set
	OnHand   bool
	Name     string // of the block on hand, where it is kept
	Shim     bool   // too thin to cut
	Steps    []int  // of the set-up that are ground with it; -1 is where the machine stands now
}

// NowStanding stands for where the machine stands now among the steps of a spacing.
const NowStanding = -1

// thinnest is the thinnest block that can be cut and held; below it a shim does.
const thinnest unit.Length = 2

// onHand is a block that need not be cut.
type onHand struct {
	length unit.Length
	name   string // empty: it was said with the question
}

// Spacers solves a question and gives the blocks that its steps differ by.
func (s Solver) Spacers(ctx context.Context, q Question) ([]Spacing, Setup, error) {
	hand := make([]onHand, 0, len(q.Rounding.Blocks))
	for _, b := range q.Rounding.Blocks {
		hand = append(hand, onHand{b, ""})
	}
	if q.Shop != "" {
		kept, err := s.Records.Gauges(ctx, q.Shop, q.AsOf)
		if err != nil {
			return nil, Setup{}, err
		}
		for _, g := range kept {
			hand = append(hand, onHand{g.Length, called(g.Name, g.DisplayName)})
		}
	}
	return gauged(ctx, s, q, func(x *search, p plan) ([]Spacing, error) { return x.spacings(p, hand) })
}

// called is what people call a record.
func called(name, display string) string {
	if display != "" {
		return display
	}
	return path.Base(name)
}

func (x *search) spacings(p plan, hand []onHand) (all []Spacing, err error) {
	err = noGauge("all is set once and stays: there is nothing to space. Blocks are for a grind of several bevels, or from where the machine stands now (now) to this set-up")
	for _, of := range x.alike(p, func(stand) any { return nil }) {
		y := x.at(p[of[0]].bevel)
		if y.holder.Kind == shop.Clamp || y.holder.Kind == shop.Swing {
			if s, spaced := y.stickOutSpacing(p, of, hand); spaced {
				all = append(all, s)
			}
		}
		if y.support.Kind == shop.Platform {
			err = noGauge("a platform is set by its tilt: blocks space what moves along a line")
			continue
		}
		if s, spaced := y.supportSpacing(p, of, hand); spaced {
			all = append(all, s)
		}
	}
	if len(all) == 0 {
		return nil, err
	}
	return all, nil
}

// place is where a step has something, or where that stands now.
type place struct {
	step int
	at   unit.Length
}

// supportSpacing is for a pivot's support: along its slide, where that is known, else by the gap.
func (x *search) supportSpacing(p plan, of []int, hand []onHand) (Spacing, bool) {
	s := Spacing{What: SpacedGap, Support: x.say(theSupport[x.support.Kind])}
	at := func(t spot) unit.Length { return t.gap - x.support.Near }
	gap := func(at unit.Length) unit.Length { return at + x.support.Near }
	if !slices.ContainsFunc(of, func(i int) bool { return !p[i].set.placed }) {
		s.What = SpacedSlide
		at = func(t spot) unit.Length { return t.reading }
		gap = func(at unit.Length) unit.Length { return x.surface.GapTo(x.support.Slide.Value.At(at)) }
	}
	var places []place
	if now := x.near.Value; x.near.Known && now.placed == (s.What == SpacedSlide) {
		places = append(places, place{NowStanding, at(now)})
	}
	for _, i := range of {
		places = append(places, place{i, at(p[i].set)})
	}
	x.space(&s, places, hand, p, func(i int, at unit.Length) (unit.Angle, error) { return x.surface.EdgeAngle(p[i].pivot, gap(at)) })
	return s, len(s.Blocks) > 0
}

// stickOutSpacing is for the stick-out: the stop is where the longest needs it.
func (x *search) stickOutSpacing(p plan, of []int, hand []onHand) (Spacing, bool) {
	s := Spacing{What: SpacedStickOut}
	var places []place
	for _, i := range of {
		places = append(places, place{i, -p[i].choice.stickOut})
	}
	x.space(&s, places, hand, p, func(i int, at unit.Length) (unit.Angle, error) {
		c := p[i].choice
		c.stickOut = -at
		return x.groundWith(p[i], c)
	})
	s.At = -s.At
	return s, len(s.Blocks) > 0
}

// space finds the blocks between the lowest place and the others, each used by itself so that their errors do not add up.
func (x *search) space(s *Spacing, places []place, hand []onHand, p plan, edge func(step int, at unit.Length) (unit.Angle, error)) {
	s.Diameter, s.Tolerance = x.diameter(), x.tolerance()
	slices.SortStableFunc(places, func(a, b place) int { return cmp.Compare(a.at, b.at) })
	s.At = places[0].at
	for _, to := range places {
		b := Spacer{Exact: to.at - s.At, Steps: []int{to.step}}
		// Where the machine stands now is where the stop is put from: what its block is off, all steps are.
		counted := []place{to}
		if to.step == NowStanding {
			counted = slices.DeleteFunc(slices.Clone(places), func(p place) bool { return p.step == NowStanding })
		}
		strays := func(length unit.Length) (most float64) {
			for _, c := range counted {
				at := s.At + length
				if to.step == NowStanding {
					at = c.at + b.Exact - length
				}
				ground, err := edge(c.step, at)
				most = max(most, x.strays(p[c.step], ground, err))
			}
			return most
		}
		b.From = border(b.Exact, max(0, b.Exact-mostOff), strays)
		b.To = border(b.Exact, b.Exact+mostOff, strays)
		b.Length = b.Exact.RoundTo(x.q.Rounding.lengthStep(), unit.TieUp)
		if b.Length == 0 || b.Exact < thinnest && b.From == 0 {
			s.Without = append(s.Without, to.step)
			continue
		}
		b.choose(hand)
		s.join(b)
	}
}

// choose takes the block on hand that is nearest, where one is good enough.
func (b *Spacer) choose(hand []onHand) {
	off := func(l unit.Length) float64 { return math.Abs(float64(l - b.Exact)) }
	for _, h := range hand {
		if h.length >= b.From && h.length <= b.To && (!b.OnHand || off(h.length) < off(b.Length)) {
			b.Length, b.OnHand, b.Name = h.length, true, h.name
		}
	}
	b.Shim = !b.OnHand && b.Length < thinnest
}

// join adds a block, or gives one that is there another step.
func (s *Spacing) join(b Spacer) {
	for i := range s.Blocks {
		if have := &s.Blocks[i]; have.Length == b.Length {
			have.Steps = append(have.Steps, b.Steps...)
			have.From, have.To = max(have.From, b.From), min(have.To, b.To)
			return
		}
	}
	s.Blocks = append(s.Blocks, b)
}
