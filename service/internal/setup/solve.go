package setup

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// Solve answers a question with the steps of a set-up.
func (s Solver) Solve(ctx context.Context, q Question) (Setup, error) {
	q.Mesh = false // of a prediction only: a thousand set-ups may be asked for at once
	x, p, offset, err := s.solved(ctx, q)
	if err != nil {
		return Setup{}, err
	}
	if q.Brief {
		return x.brief(p, offset), nil
	}
	answer := x.describe(p, offset)
	answer.Edge, err = x.edgeBeside(ctx, p, 0)
	return answer, err
}

// solved is the search for a question, and the plan it finds.
func (s Solver) solved(ctx context.Context, q Question) (x search, p plan, offset unit.Angle, err error) {
	r, err := s.resolve(ctx, q.Common)
	if err != nil {
		return x, nil, 0, err
	}
	if err := checkWheel(r).err(); err != nil {
		return x, nil, 0, err
	}
	if err := s.elsewhere(ctx, q.Common, &r); err != nil {
		return x, nil, 0, err
	}
	q.Rounding = q.Rounding.in(q.Unit)
	faces, err := r.wanted(q.Grind, func(other []face) bool {
		x, err := newSearch(r, q)
		if err != nil {
			return false
		}
		_, _, n := x.planned(ctx, other)
		return n == nil
	})
	if err != nil {
		return x, nil, 0, err
	}
	if x, err = newSearch(r, q); err != nil {
		return x, nil, 0, err
	}
	if x.wing, err = x.aim(q.Grind); err != nil {
		return x, nil, 0, err
	}
	p, offset, n := x.planned(ctx, faces)
	if n != nil {
		if n.Kind == fault.Impossible {
			n.Ways = x.ways(ctx, faces)
		}
		return x, nil, 0, n.in("given").err()
	}
	return x, p, offset, x.checkWing(ctx, faces, p).err()
}

// wanted is the grind asked for, or the recipe's, as bevels on faces, held against what the shop grinds. Where that refuses it, it
// names the nearest edge that works.
func (r *rig) wanted(asked *shop.Grind, works func([]face) bool) ([]face, error) {
	g := r.recipe.Grind
	if asked != nil {
		g = *asked
	}
	if len(g.Bevels) == 0 {
		return nil, fault.Field("grind", fault.Missing, "say which bevels are wanted, or name a recipe")
	}
	faces, err := r.grind(g)
	if err != nil {
		return nil, err
	}
	if n := checkEdge(*r, faces[len(faces)-1].bevels[0].front, wholeEdge(faces)); n != nil {
		if first := faces[len(faces)-1].bevels[0]; singleOf(g.Bevels[0].Of) == shop.Reading && first.sized {
			n.Message = "a bevel of " + degrees(g.Bevels[0].Angle) + " reading would be " + mm(first.hollow.Chord) + " long, and " + n.Message
		}
		n.Ways = r.edgeWays(g, faces, works)
		return nil, n.err()
	}
	return faces, nil
}

// wholeEdge is the angle between the faces that meet at the edge.
func wholeEdge(faces []face) unit.Angle {
	var whole unit.Angle
	for _, f := range faces {
		whole += f.bevels[0].front
	}
	return whole
}

// search is one question on one rig.
type search struct {
	rig
	machine
	q                               Question
	settings                        shop.Settings // given, then the recipe's
	wing                            *wingAim
	near                            shop.Maybe[spot]
	supportFree, stickFree, legFree bool
}

func newSearch(r rig, q Question) (search, error) {
	x := search{rig: r, machine: r.machine(q.Doubts), q: q, settings: r.fill(q.Given)}
	x.free(q.Free)
	if err := x.checkFree(); err != nil {
		return x, err
	}
	if err := x.checkSaid(); err != nil {
		return x, err
	}
	if q.Now != nil && q.Now.Datum != shop.DatumUnset {
		now, n := x.locate(x.faces()[0], *q.Now)
		if n != nil {
			return x, n.in("now").err()
		}
		x.near = shop.Some(now)
	}
	return x, nil
}

// fill completes settings from the tool and the recipe. A butted tool's own length is its stick-out.
func (r *rig) fill(given shop.Settings) shop.Settings {
	if r.holder.Kind == shop.Butted && !given.StickOut.Known {
		given.StickOut = r.tool.OverallLength
	}
	return given.Over(r.recipe.Settings)
}

func (x *search) free(free []Free) {
	x.supportFree = len(free) == 0
	for _, f := range free {
		switch f {
		case FreeSupport:
			x.supportFree = true
		case FreeStickOut:
			x.stickFree = true
		case FreeLeg:
			x.legFree = true
		}
	}
}

// checkFree wants something free, and nothing both free and given.
func (x *search) checkFree() error {
	given := x.q.Given
	switch {
	case x.supportFree && given.Datum != shop.DatumUnset:
		n := refuse(NothingFree, "given.support", "the support's place is given and nothing is free: say what may be chosen, stick-out or leg, or ask for a prediction")
		if len(x.q.Free) > 0 {
			n = refuse(NothingFree, "free", "the support's place is given and free at once: leave one out")
		}
		return n.contradicts().err()
	case x.stickFree && given.StickOut.Known, x.legFree && (given.Leg.Known || given.Position != ""):
		return refuse(NothingFree, "free", "a setting is given and free at once: leave one out").contradicts().err()
	case x.stickFree && x.holder.Kind != shop.Swing && x.holder.Kind != shop.Clamp:
		return refuse(NothingFree, "free", "this rig has no stick-out to choose: only a clamp or a swing holder has").contradicts().err()
	case x.legFree && x.holder.Kind != shop.Swing:
		return refuse(NothingFree, "free", "this holder has no leg: only a swing holder has").contradicts().err()
	}
	return nil
}

// checkSaid names what is missing, all at once, and what looks like another unit.
func (x *search) checkSaid() error {
	f := x.missing("given", x.settings, x.stickFree, x.legFree)
	if !x.supportFree && x.settings.Datum == shop.DatumUnset {
		f = append(f, fault.Violation{Field: "given.support", Reason: fault.Missing, Text: "the support is not free, so say where it stands: slide_mm, wheel_gap_mm, …"})
	}
	return invalid(f)
}

// missing lists the settings a holder needs and nobody said, under the question's own word for them, and the tool's measures.
func (r *rig) missing(word string, s shop.Settings, stickFree, legFree bool) (list []fault.Violation) {
	holds := r.holder.Kind
	if needsStickOut := holds == shop.Clamp || holds == shop.Swing || holds == shop.Butted; needsStickOut && !stickFree {
		switch {
		case !s.StickOut.Known:
			list = append(list, fault.Violation{Field: word + ".stick_out_mm", Reason: fault.Missing, Text: "say how far the tool stands out of its holder (of a butted handle: seat to nose)"})
		case s.StickOut.Value < leastStickOut:
			list = append(list, fault.Violation{Field: word + ".stick_out_mm", Reason: fault.WrongUnit,
				Text: fmt.Sprintf("%s is no stick-out; did you mean inch? %s in are %s", mm(s.StickOut.Value), unit.FormatFixed(float64(s.StickOut.Value), 2), mm(s.StickOut.Value*unit.Inch))})
		}
	}
	if holds == shop.Swing && !legFree && !s.Leg.Known && s.Position == "" {
		list = append(list, fault.Violation{Field: word + ".leg", Reason: fault.Missing, Text: "say the leg's angle or position: leg_angle_deg or leg_position"})
	}
	return append(list, r.unmeasured()...)
}

// unmeasured lists the measures of the tool that its place above a bed needs and nobody gave.
func (r *rig) unmeasured() (list []fault.Violation) {
	faces, h := r.faces(), r.holder
	onTable := r.support.Kind == shop.Platform && r.tool.Kind.Flat() && !r.surface.Flat()
	onBed := h.Kind == shop.Clamp && (h.FromBed || len(faces) > 1 && (h.TurnsOver || r.tool.Kind == shop.NegativeRakeScraper))
	if !onTable && !onBed {
		return nil
	}
	missing := func(field string, known bool) {
		if !known {
			list = append(list, fault.Violation{Field: "rig.tool." + field, Reason: fault.Missing, Text: "the angle depends on how high the edge lies above what the tool lies on: measure it"})
		}
	}
	switch {
	case r.tool.Kind == shop.NegativeRakeScraper:
		missing("blade_thickness_mm", r.tool.Thickness.Known)
		missing("edge_below_top_mm", r.tool.EdgeBelowTop.Known)
	case r.tool.Kind.Flat():
		missing("blade_thickness_mm", faces[0].above.Known)
	default:
		missing("steel_under_flute_mm", faces[0].above.Known)
	}
	return list
}

// leastStickOut is the shortest stick-out anybody sets: below it a number was meant in inches, or is a slip.
const leastStickOut unit.Length = 5

// invalid joins violations into one fault; none is no fault.
func invalid(list []fault.Violation) error {
	if len(list) == 0 {
		return nil
	}
	f := fault.Field(list[0].Field, list[0].Reason, "%s", list[0].Text)
	f.Violations = list
	return f
}

// plan is every stand of a set-up, edge bevels last.
type plan []stand

// planned plans, with the edge's bevel moved to the blunt side when that is asked for.
func (x *search) planned(ctx context.Context, faces []face) (plan, unit.Angle, *no) {
	offset := x.q.TouchFirst
	if x.q.TouchSized {
		p, n := x.plan(ctx, faces)
		if n != nil {
			return nil, 0, n
		}
		offset = x.touchFirst(p)
	}
	if offset > 0 {
		faces = blunter(faces, offset)
		if n := checkEdge(x.rig, faces[len(faces)-1].bevels[0].front, wholeEdge(faces)); n != nil {
			n.Field = "touch_first"
			return nil, offset, n
		}
	}
	p, n := x.plan(ctx, faces)
	return p, offset, n
}

// blunter is the same faces with their edge's bevels blunter by an angle.
func blunter(faces []face, by unit.Angle) []face {
	faces = slices.Clone(faces)
	for i := range faces {
		faces[i].bevels = slices.Clone(faces[i].bevels)
		faces[i].bevels[0].front += by
	}
	return faces
}

// plan puts the support for every bevel of every face. With the support free all share one stick-out and leg, the best; with the
// support given each finds its own.
func (x *search) plan(ctx context.Context, faces []face) (plan, *no) {
	if x.supportFree {
		bevels := 0
		for _, f := range faces {
			bevels += len(f.bevels)
		}
		if x.wing != nil {
			bevels += wingCost
		}
		choices, n := x.choices(faces[0], faces[0].bevels[0], bevels)
		if n != nil {
			return nil, n
		}
		return x.best(ctx, faces, choices)
	}
	var whole plan
	for _, f := range faces {
		for i := len(f.bevels) - 1; i >= 0; i-- {
			single := f
			single.bevels = f.bevels[i : i+1]
			choices, n := x.choices(f, f.bevels[i], 1)
			if n != nil {
				return nil, n
			}
			p, n := x.best(ctx, []face{single}, choices)
			if n != nil {
				return nil, n
			}
			whole = append(whole, p...)
		}
	}
	return whole, nil
}

// best is the best plan among choices, by the order of [search.compare]; the first of equals wins. Where none works it is the refusal
// of the first.
func (x *search) best(ctx context.Context, faces []face, choices []choice) (plan, *no) {
	var best plan
	var mark score
	var first *no
	for i, c := range choices {
		if i%64 == 63 && ctx.Err() != nil {
			return nil, &no{Fault: cancelled(ctx)}
		}
		p, n := x.try(faces, c)
		switch {
		case n != nil:
			if first == nil {
				first = n
			}
		case len(choices) == 1:
			return p, nil
		default:
			if m := x.score(p); best == nil || m.compare(mark) < 0 {
				best, mark = p, m
			}
		}
	}
	switch {
	case best != nil:
		return best, nil
	case first == nil:
		return nil, refuse(NothingWorks, "free", "there is nothing to choose from: no stick-out or leg in range reaches the wheel at this angle")
	case len(choices) > 1:
		first.Message = fmt.Sprintf("none of %d combinations works; the first: %s", len(choices), first.Message)
		first.Reason = NothingWorks
	}
	return nil, first
}

func cancelled(ctx context.Context) fault.Fault {
	if ctx.Err() == context.DeadlineExceeded {
		return fault.Fault{Kind: fault.TimedOut, Reason: fault.RanOutOfTime, Message: "the time for this call ran out", Cause: ctx.Err()}
	}
	return fault.Fault{Kind: fault.Cancelled, Reason: fault.WasCancelled, Message: "the caller gave up", Cause: ctx.Err()}
}

// try puts every bevel of every face with one choice; the edge's bevels come last.
func (x *search) try(faces []face, c choice) (plan, *no) {
	if n := x.checkChoice(c); n != nil {
		return nil, n
	}
	deepest := 0
	for _, f := range faces {
		deepest = max(deepest, len(f.bevels))
	}
	p := make(plan, 0, deepest*len(faces))
	for i := deepest - 1; i >= 0; i-- {
		for _, f := range faces {
			if i >= len(f.bevels) {
				continue
			}
			s, n := x.stand(f, f.bevels[i], c)
			if n != nil {
				return nil, n
			}
			p = append(p, s)
		}
	}
	return p, nil
}

// stand puts one bevel.
func (x *search) stand(f face, b bevel, c choice) (stand, *no) {
	if x.own(b) {
		x = x.at(b)
		c = x.override(b, c)
		if n := x.checkChoice(c); n != nil {
			return stand{}, n
		}
	}
	s := stand{face: f, bevel: b, choice: c, wanted: b.front}
	pivot, aside := x.pivotOf(f, c)
	s.pivot, s.aside = pivot.SeenFrom(b.behind, b.below), aside
	if x.supportFree {
		n := x.solve(&s, x.q.Rounding, x.near)
		return s, n
	}
	n := x.predict(&s, x.settings)
	s.wanted = b.front
	return s, n
}

// own tells whether a bevel has a rig or settings of its own.
func (x *search) own(b bevel) bool {
	_, moved := x.others[b.index]
	return moved || b.given != shop.Settings{}
}

// at is the search for a bevel: on its own rig, with its own settings, where it has them.
func (x *search) at(b bevel) *search {
	if !x.own(b) {
		return x
	}
	y := *x
	x = &y
	if other, moved := x.others[b.index]; moved {
		x.rig, x.machine, x.near = other, other.machine(x.q.Doubts), shop.Maybe[spot]{}
	}
	x.settings = b.given.Over(x.settings)
	x.supportFree = x.supportFree && b.given.Datum == shop.DatumUnset
	return x
}

// override is a choice with what the bevel's own settings say in its place.
func (x *search) override(b bevel, c choice) choice {
	if b.given.StickOut.Known {
		c.stickOut, c.onBlock = b.given.StickOut.Value, false
	}
	if b.given.Leg.Known || b.given.Position != "" {
		leg := x.givenLeg()
		c.leg, c.position = leg.leg, leg.position
	}
	return c
}

// checkChoice refuses a stick-out the blade has not, and a leg that does not go there.
func (r *rig) checkChoice(c choice) *no {
	if most, ok := r.longestStickOut(); ok && c.stickOut > most {
		return refuse(StickOutTooLong, "settings.stick_out_mm", "a stick-out of %s is longer than the free blade allows, %s", mm(c.stickOut), mm(most)).
			length(c.stickOut).most(float64(most))
	}
	if math.IsNaN(float64(c.leg)) {
		return r.unknownPosition(c.position)
	}
	if r.holder.Kind == shop.Swing && (c.leg < r.holder.Leg.Least || c.leg > r.holder.Leg.Most) {
		return refuse(LegOutOfRange, "settings.leg_angle_deg", "the leg goes from %s to %s, not to %s", degrees(r.holder.Leg.Least), degrees(r.holder.Leg.Most), degrees(c.leg)).
			angle(c.leg).least(r.holder.Leg.Least.Degrees()).most(r.holder.Leg.Most.Degrees())
	}
	return nil
}

func (r *rig) unknownPosition(mark string) *no {
	var marks []string
	for _, p := range r.holder.Positions {
		marks = append(marks, p.ID)
	}
	return refuse(LegOutOfRange, "settings.leg_position", "the holder has no leg position %q; it has %s", mark, cmp.Or(strings.Join(marks, ", "), "none: say its angle"))
}

// longestStickOut is what the blade offers beyond the grip.
func (r *rig) longestStickOut() (unit.Length, bool) {
	if !r.tool.FreeBlade.Known || r.holder.Kind == shop.Butted {
		return 0, false
	}
	return r.tool.FreeBlade.Value - r.tool.SmallestGrip.Value, true
}

// score is what plans are compared by.
type score struct {
	err, wing, doubt unit.Angle
	move             float64
	leg              unit.Angle
	stickOut         unit.Length
}

// Rounded errors within a tolerance's usual 0.05° are as good as none, and doubts are told apart to the same: otherwise chance in the
// last digit would decide.
const alike = 0.05 * unit.Degree

func (x *search) score(p plan) score {
	sc := score{leg: p[0].choice.leg, stickOut: p[0].choice.stickOut}
	for i := range p {
		sc.err = max(sc.err, p[i].err())
		sc.doubt = max(sc.doubt, expanded(x.at(p[i].bevel).inputs(&p[i]), every))
	}
	sc.err = unit.Angle(math.Floor(float64(sc.err / alike)))
	sc.doubt = unit.Angle(math.Floor(float64(sc.doubt / alike)))
	sc.wing = unit.Angle(math.Floor(float64(x.wingMiss(p) / alike)))
	sc.move = x.movement(p[len(p)-1])
	return sc
}

// movement is how much has to be moved from where the machine stands, in millimetres and degrees together.
func (x *search) movement(s stand) float64 {
	if x.q.Now == nil {
		return 0
	}
	var moved float64
	if x.near.Known {
		moved += math.Abs(float64(s.set.gap-x.near.Value.gap)) + math.Abs((s.set.tilt - x.near.Value.tilt).Degrees())
	}
	if now := x.q.Now.StickOut; now.Known {
		moved += math.Abs(float64(s.choice.stickOut - now.Value))
	}
	if now := x.legOf(*x.q.Now); now.Known {
		moved += math.Abs((s.choice.leg - now.Value).Degrees())
	}
	return math.Round(moved*10) / 10
}

// compare puts the better first: least error after rounding, least on the wings, least uncertainty, least movement, lower leg, shorter stick-out.
func (a score) compare(b score) int {
	return cmp.Or(cmp.Compare(a.err, b.err), cmp.Compare(a.wing, b.wing), cmp.Compare(a.doubt, b.doubt), cmp.Compare(a.move, b.move),
		cmp.Compare(a.leg, b.leg), cmp.Compare(a.stickOut, b.stickOut))
}

// touchFirst is the offset that a plan's own repeatability asks for.
func (x *search) touchFirst(p plan) unit.Angle {
	return geometry.TouchFirst(expanded(x.at(p[len(p)-1].bevel).inputs(&p[len(p)-1]), repeatable))
}
