package setup

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// BevelQuestion asks for bevels to be planned.
type BevelQuestion struct {
	Common
	Given    shop.Settings // decided; a support's place is the one the edge is ground with
	Behind   RigSource     // where the bevels behind the first are ground, when not where that one is
	Want     Wanted
	Softened shop.Maybe[unit.Length] // radius of the heel
}

// Wanted is what is wanted of the bevels: a [MicroBevel], a [Land], [Facets] or [Turns].
type Wanted interface {
	// held tells whether holder and support count, given whether there are any to count.
	held(said bool) bool
	// lay adds the bevels to a plan.
	lay(ctx context.Context, l *layout) error
}

// BevelPlan is a grind that [Solver.Solve] takes, and what it is like.
type BevelPlan struct {
	Grind             shop.Grind
	Of                []int         // which of the question's bevels each is ground with, -1 none
	Given             shop.Settings // what it was planned with
	Lent              Lent
	Bevels            []PlannedBevel
	SetBack           shop.Maybe[unit.Length]
	LargestCorner     shop.Maybe[unit.Angle]
	Deviation         shop.Maybe[unit.Length]
	SoftenedBevel     shop.Maybe[unit.Length]
	SoftenedUnderside shop.Maybe[unit.Length]
	PerTurn           shop.Maybe[float64] // radians of edge angle per turn, clockwise
	Cautions          []Caution
	Basis             Basis
	Text              string
}

// Lent is what a recipe adds to a rig that does not say it itself: who goes on without the recipe needs it.
type Lent struct {
	Holder                     string
	NoHolder                   bool
	SteelUnderFlute, Thickness shop.Maybe[unit.Length]
}

// lent is what the recipe adds to what a question says of its rig.
func (r *rig) lent(said RigSource) (l Lent) {
	if !r.hasRecipe {
		return l
	}
	if !said.Holder.said() {
		l.Holder, l.NoHolder = r.recipe.Holder, r.recipe.Holder == ""
	}
	t := r.tool
	switch {
	case said.Tool.Name != "" || t.Thickness.Known || t.SteelUnderFlute.Known || t.Kind == shop.NegativeRakeScraper: // what counts is the tool's
	case t.Kind.Flat():
		l.Thickness = r.recipe.Steel
	default:
		l.SteelUnderFlute = r.recipe.Steel
	}
	return l
}

// PlannedBevel is one bevel of a plan. What needs the steel's depth is absent where that is not known.
type PlannedBevel struct {
	Front   unit.Angle
	Reading shop.Maybe[unit.Angle]
	Width   shop.Maybe[unit.Length]
	Hollow  shop.Maybe[unit.Length]
	Corner  shop.Maybe[unit.Angle] // from the bevel before it
	Text    string
}

// mostBevels is how many bevels a grind has at most.
const mostBevels = 16

// PlanBevels answers what is wanted of the bevels.
func (s Solver) PlanBevels(ctx context.Context, q BevelQuestion) (BevelPlan, error) {
	l, err := s.layout(ctx, q)
	if err != nil {
		return BevelPlan{}, err
	}
	if err := q.Want.lay(ctx, &l); err != nil {
		return BevelPlan{}, err
	}
	if n := len(l.bevels); n > mostBevels {
		return BevelPlan{}, fault.Field("grind.bevels", fault.TooLong, "that makes %d bevels; a grind has at most %d", n, mostBevels)
	}
	g := l.grind()
	faces, err := l.wanted(&g, nil)
	if err != nil {
		return BevelPlan{}, l.named(err)
	}
	return l.describe(firstFace(faces))
}

// layout is a plan in the making.
type layout struct {
	rig    // with the places of the planned bevels, by their index
	q      BevelQuestion
	asked  rig // the same with the places of the question's bevels
	behind rig // where bevels behind the first are ground
	start  shop.Grind
	bevels []laid
	out    BevelPlan
	told   []string // sentences about the whole
}

// laid is a planned bevel, and how to speak of it.
type laid struct {
	shop.Bevel
	of           int    // the question's bevel that it is ground with, -1 none
	angle, width string // the fields that ask for its angle and its width
	word, how    string
}

// layout resolves a question. Holder and support count only where they matter, so that bevels can be planned without them.
func (s Solver) layout(ctx context.Context, q BevelQuestion) (layout, error) {
	l := layout{q: q}
	if q.Behind.Tool.said() {
		return l, fault.Field("behind_rig.tool", fault.Contradiction, "all bevels are on one tool: name it in rig.tool")
	}
	q.Unheld = true
	r, err := s.resolve(ctx, q.Common)
	if err != nil {
		return l, err
	}
	said := r.hasStation && (q.Rig.Holder.said() || r.recipe.Holder != "")
	if q.Want.held(said) {
		q.Unheld = false
		if r, err = s.resolve(ctx, q.Common); err != nil {
			return l, err
		}
	}
	if err := checkWheel(r).err(); err != nil {
		return l, err
	}
	l.q.Unheld, l.rig, l.asked, l.start = q.Unheld, r, r, r.recipe.Grind
	if q.Grind != nil {
		l.start = *q.Grind
	}
	if err := s.elsewhere(ctx, q.Common, &l.asked); err != nil {
		return l, err
	}
	there := q.Common
	there.Places = []RigSource{{}, q.Behind}
	err = s.elsewhere(ctx, there, &r)
	l.behind = *r.at(1)
	return l, err
}

// add puts a bevel behind those there are.
func (l *layout) add(b laid) {
	i := len(l.bevels)
	l.bevels = append(l.bevels, b)
	place, own := l.asked.others[b.of]
	if i > 0 && l.q.Behind.said() {
		place, own = l.behind, true
	}
	if own {
		if l.others == nil {
			l.others = map[int]rig{}
		}
		l.others[i] = place
	}
}

// again is the plan before any bevel was laid.
func (l *layout) again() *layout {
	fresh := *l
	fresh.bevels, fresh.others, fresh.told, fresh.out = nil, nil, nil, BevelPlan{}
	return &fresh
}

// grind is what has been laid.
func (l *layout) grind() shop.Grind {
	g := shop.Grind{Upper: l.start.Upper}
	for _, b := range l.bevels {
		g.Bevels = append(g.Bevels, b.Bevel)
	}
	return g
}

// face is the face with what has been laid.
func (l *layout) face() (face, error) {
	faces, err := l.rig.grind(l.grind())
	if err != nil {
		return face{}, l.named(err)
	}
	return firstFace(faces), nil
}

// firstFace is the face that a plan is made for: of two alike the first, and never a negative-rake tool's upper one.
func firstFace(faces []face) face {
	if faces[0].side == UpperSide {
		return faces[1]
	}
	return faces[0]
}

// named puts the plan's own fields into a refusal in place of the grind's.
func (l *layout) named(err error) error {
	f, ok := fault.As(err)
	if !ok {
		return err
	}
	detail, ok := f.Detail.(*Refusal)
	if !ok {
		return err
	}
	for i, b := range l.bevels {
		switch path := fmt.Sprintf("grind.bevels[%d]", i); detail.Field {
		case path:
			detail.Field, detail.Ways = b.angle, nil
			return err
		case path + ".width_mm":
			detail.Field = b.width
			return err
		}
	}
	return err
}

// edge is the face with the question's first bevel alone.
func (l *layout) edge() (face, error) {
	if len(l.start.Bevels) == 0 {
		return face{}, fault.Field("grind", fault.Missing, "say which edge to start from: name a recipe, or write its bevel out")
	}
	faces, err := l.asked.grind(shop.Grind{Bevels: l.start.Bevels[:1], Upper: l.start.Upper})
	if err != nil {
		return face{}, err
	}
	return firstFace(faces), nil
}

// land lays a land at the question's edge, and gives the face with it.
func (l *layout) land(width unit.Length, field string) (face, error) {
	f, err := l.edge()
	if err != nil {
		return f, err
	}
	l.add(laid{
		Bevel: shop.Bevel{Angle: f.bevels[0].front, Width: shop.Some(width), Given: l.start.Bevels[0].Given},
		angle: "grind.bevels[0]", width: field, word: l.say("land"),
	})
	return l.face()
}

// unknownSteel asks for the measure that says how deep the steel is.
func (r rig) unknownSteel(what string) error {
	field := "rig.tool.steel_under_flute_mm"
	if r.tool.Kind.Flat() {
		field = "rig.tool.blade_thickness_mm"
	}
	return fault.Field(field, fault.Missing, "%s needs the steel's depth: measure it", what)
}

// describe tells what has been laid.
func (l *layout) describe(f face) (BevelPlan, error) {
	out := l.out
	out.Grind, out.Basis, out.Given = l.grind(), (&search{rig: l.rig}).basis(), withoutSupport(l.fill(l.q.Given))
	out.Lent = l.lent(l.q.Rig)
	if first := l.bevels[0].Given; !out.Given.Leg.Known && out.Given.Position == "" {
		out.Given.Leg, out.Given.Position = first.Leg, first.Position
	}
	corners := f.stack.Corners()
	for i, b := range f.bevels {
		out.Of = append(out.Of, l.bevels[i].of)
		planned := PlannedBevel{Front: b.front}
		if b.sized {
			planned.Reading, planned.Width, planned.Hollow = shop.Some(b.hollow.Reading), shop.Some(b.hollow.Chord), shop.Some(b.hollow.Depth)
		}
		if i > 0 {
			planned.Corner = shop.Some(corners[i-1])
		}
		planned.Text = l.bevelText(l.bevels[i], planned)
		out.Bevels = append(out.Bevels, planned)
	}
	last := f.bevels[len(f.bevels)-1]
	if len(corners) > 0 {
		out.LargestCorner = shop.Some(slices.Max(corners))
		if last.sized {
			out.Deviation = shop.Some(f.stack.Deviation())
			l.tell("The largest corner is %s, and corners stand at most %s proud of a smooth curve.", l.degrees(out.LargestCorner.Value), l.fine(out.Deviation.Value))
		} else {
			l.tell("The largest corner is %s.", l.degrees(out.LargestCorner.Value))
		}
	}
	if !last.sized {
		out.Cautions = append(out.Cautions, l.caution("NO_HEEL", Note, "", "The steel's depth is not known, so nothing says where the last bevel ends: it could be too long for the tool."))
	}
	err := l.soften(&out, last)
	if len(out.Bevels) > 1 {
		l.tell("Grind the bevels from the heel to the edge.")
	}
	out.Text = strings.Join(l.told, " ")
	return out, err
}

// soften rounds the heel.
func (l *layout) soften(out *BevelPlan, last bevel) error {
	radius := l.q.Softened
	if !radius.Known {
		return nil
	}
	if !last.sized {
		return l.unknownSteel("a softened heel")
	}
	fits := func(r unit.Length) bool {
		_, _, ok := geometry.Softened(last.hollow, r)
		return ok
	}
	along, under, ok := geometry.Softened(last.hollow, radius.Value)
	if !ok {
		most := turningPoint(0, radius.Value, fits)
		return refuse(HeelTooRound, "softened_heel_mm", "the last bevel is %s wide, too short for a heel of %s radius; %s is the largest that fits", mm(last.hollow.Chord), mm(radius.Value), mm(most)).
			contradicts().length(radius.Value).most(float64(most)).err()
	}
	out.SoftenedBevel, out.SoftenedUnderside = shop.Some(along), shop.Some(under)
	l.tell("A heel rounded with a radius of %s takes %s of the last bevel and %s of the underside.", l.fine(radius.Value), l.fine(along), l.fine(under))
	return nil
}

// turningPoint is the last value that works on the way to one that does not.
func turningPoint(works, not unit.Length, ok func(unit.Length) bool) unit.Length {
	for range 60 { // halvings: nothing is left between the two
		if middle := (works + not) / 2; ok(middle) {
			works = middle
		} else {
			not = middle
		}
	}
	return works
}

// tell adds a sentence about the whole.
func (l *layout) tell(text words.Text, args ...string) {
	l.told = append(l.told, l.say(text, args...))
}

// fine is a length to a hundredth of a millimetre, in the unit of the answer.
func (l *layout) fine(v unit.Length) string { return l.in.Length(v, 2) }

// bevelText says one bevel.
func (l *layout) bevelText(b laid, p PlannedBevel) string {
	parts := []string{l.say("front angle %s", l.degrees(p.Front))}
	if p.Width.Known {
		parts = append(parts, l.say("%s wide", l.fine(p.Width.Value)))
	}
	if p.Reading.Known {
		parts = append(parts, l.say("a protractor shows %s", l.degrees(p.Reading.Value)))
	}
	if b.how != "" {
		parts = append(parts, b.how)
	}
	return words.Upper(b.word) + ": " + strings.Join(parts, ", ")
}

// withoutSupport are settings without the support's place.
func withoutSupport(s shop.Settings) shop.Settings {
	s.Datum, s.Support, s.Tilt = shop.DatumUnset, 0, 0
	return s
}

// MicroBevel is a short steeper bevel in front of those there are.
type MicroBevel struct {
	Steeper unit.Angle
	Width   unit.Length
}

func (w MicroBevel) held(bool) bool { return false }

// lay puts the micro bevel in front. It ends on the old bevel, whose surface stays; so the edge moves back by the length between the old
// bevel's front end and the new one's, and the old bevel's tangent where the two meet is a little steeper than its front angle was.
func (w MicroBevel) lay(_ context.Context, l *layout) error {
	if l.tool.Kind == shop.NegativeRakeScraper {
		return refuse(RigDoesNotFit, "micro_bevel", "a negative-rake scraper's edge lies between two bevels already: change its upper bevel instead").err()
	}
	old, err := l.old()
	if err != nil {
		return err
	}
	first := old.bevels[0]
	micro, gone, err := l.cutOff(first, w)
	if err != nil {
		return err
	}
	back, _ := micro.End()
	goneBack, goneDown := gone.End()
	rest := shop.Bevel{Angle: gone.Far, Given: l.start.Bevels[0].Given}
	if first.width.Known {
		endBack, endDown := first.hollow.End()
		rest.Width = shop.Some(unit.Length(math.Hypot(float64(endBack-goneBack), float64(endDown-goneDown))))
	}
	// The support's place, where one is given, grinds the old bevel.
	l.add(laid{Bevel: shop.Bevel{Angle: first.front + w.Steeper, Width: shop.Some(w.Width), Given: withoutSupport(l.start.Bevels[0].Given)}, angle: "micro_bevel.steeper_deg", width: "micro_bevel.width_mm", word: l.say("micro bevel")})
	l.add(laid{Bevel: rest, angle: "grind.bevels[0]", width: "grind.bevels[0].width_mm", word: l.say("the bevel it stands on"), how: l.say("ground as %s from the old edge", l.degrees(first.front))})
	for i, b := range l.start.Bevels[1:] {
		field := fmt.Sprintf("grind.bevels[%d]", i+1)
		l.add(laid{Bevel: b, of: i + 1, angle: field, width: field + ".width_mm", word: l.say("bevel %s", strconv.Itoa(i+3))})
	}
	l.out.SetBack = shop.Some(goneBack - back)
	l.tell("The micro bevel moves the edge back by %s.", l.in.Length(goneBack-back, 3))
	return nil
}

// old is the face with the bevels there are.
func (l *layout) old() (face, error) {
	if _, err := l.edge(); err != nil {
		return face{}, err
	}
	on := l.asked
	if l.q.Behind.said() {
		on = l.behind
	}
	faces, err := on.grind(l.start)
	if err != nil {
		return face{}, err
	}
	return firstFace(faces), nil
}

// cutOff is a micro bevel, and what it takes off the bevel it stands on.
func (l *layout) cutOff(first bevel, w MicroBevel) (micro, gone geometry.Hollow, err error) {
	wheel, under := l.asked.at(0).surface, l.asked.at(0).surface
	if l.q.Behind.said() {
		under = l.behind.surface
	}
	front := first.front + w.Steeper
	tooLong := func(most unit.Length) error {
		return refuse(LandTooLong, "micro_bevel.width_mm", "a micro bevel of %s, %s wide, leaves nothing of the bevel it stands on; %s would take all of it", degrees(front), mm(w.Width), mm(most)).
			contradicts().length(w.Width).most(float64(most)).err()
	}
	if micro, err = wheel.HollowOfChord(front, w.Width); err != nil {
		return micro, gone, tooLong(wheel.Diameter())
	}
	_, deep := first.hollow.End()
	_, down := micro.End()
	if first.sized && down >= deep {
		most, _ := wheel.HollowOfDepth(front, deep) // the micro bevel passes this depth on its way
		return micro, gone, tooLong(most.Chord)
	}
	if gone, err = under.HollowOfDepth(first.front, down); err != nil {
		return micro, gone, tooLong(under.Diameter())
	}
	return micro, gone, nil
}

// Land is a land at the edge with a relief behind it: of a front angle, or the steepest that clears a concave radius.
type Land struct {
	Width  unit.Length
	Relief unit.Angle
	Clears shop.Maybe[unit.Length]
}

func (w Land) held(bool) bool { return false }

func (w Land) lay(_ context.Context, l *layout) error {
	f, err := l.land(w.Width, "land.width_mm")
	if err != nil {
		return err
	}
	relief := laid{Bevel: shop.Bevel{Angle: w.Relief}, of: -1, angle: "land.front_angle_deg", word: l.say("relief")}
	if w.Clears.Known {
		relief.angle = "land.clears_radius_mm"
		if relief.Angle, err = l.reliefFor(f, w.Clears.Value); err != nil {
			return err
		}
		l.tell("A relief of %s is the steepest that clears a radius of %s behind this land.", l.degrees(relief.Angle), l.fine(w.Clears.Value))
	}
	l.add(relief)
	return nil
}

// reliefFor is the steepest relief behind a land that clears a radius.
func (l *layout) reliefFor(f face, radius unit.Length) (unit.Angle, error) {
	if !f.steel.Known {
		return 0, l.unknownSteel("a relief that clears a radius")
	}
	land, wheel := f.bevels[0].hollow, l.behind.surface
	clears := func(radius unit.Length) bool {
		_, ok := wheel.ReliefFor(land, radius, f.steel.Value)
		return ok
	}
	front, ok := wheel.ReliefFor(land, radius, f.steel.Value)
	if ok {
		return front, nil
	}
	n := refuse(NoReliefClears, "land.clears_radius_mm", "no relief through %s of steel behind a land of %s clears a radius of %s", mm(f.steel.Value), mm(land.Chord), mm(radius)).length(radius)
	if clears(widest) {
		least := turningPoint(widest, radius, clears)
		n.Message += "; from " + mm(least) + " on there is one"
		n = n.least(float64(least))
	}
	return 0, n.err()
}

// widest is the largest radius anybody calls a curve.
const widest unit.Length = 10000
