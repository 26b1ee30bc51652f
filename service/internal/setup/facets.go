package setup

import (
	"context"
	"errors"
	"fmt"
	"strconv"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// Facets are bevels of equal width behind a land, turning evenly so that the last one's front end has a given tangent.
type Facets struct {
	Land  unit.Length
	Count int
	Last  unit.Angle
}

// mostFacets is how many facets are planned behind a land at most.
const mostFacets = 12

func (w Facets) held(said bool) bool { return said }

// lay lays the row, and where the holder has leg positions sees that each facet can be set. Where one cannot, it names the nearest
// count that can.
func (w Facets) lay(ctx context.Context, l *layout) error {
	fresh := l.again()
	n, err := w.row(ctx, l)
	if err != nil || n == nil {
		return err
	}
	n.Unit, n.Value = "facets", shop.Some(float64(w.Count))
	for off := 1; off < mostFacets; off++ {
		for _, count := range [...]int{w.Count - off, w.Count + off} {
			if !w.works(ctx, fresh.again(), count) {
				continue
			}
			if count < w.Count {
				n = n.most(float64(count))
			} else {
				n = n.least(float64(count))
			}
			n.Message += fmt.Sprintf("; with %d it works", count)
			return n.err()
		}
	}
	return n.err()
}

func (w Facets) works(ctx context.Context, l *layout, count int) bool {
	w.Count = count
	if count < 1 || count > mostFacets {
		return false
	}
	n, err := w.row(ctx, l)
	return n == nil && err == nil
}

// row lays land and facets. The refusal is about a facet that cannot be set.
func (w Facets) row(ctx context.Context, l *layout) (*no, error) {
	f, err := l.land(w.Land, "facets.land_width_mm")
	if err != nil {
		return nil, err
	}
	if !f.steel.Known {
		return nil, l.unknownSteel("a row of facets")
	}
	row, err := l.behind.surface.Facets(f.stack, w.Count, w.Last, f.steel.Value)
	if err != nil {
		return nil, w.noRow(f, err)
	}
	for i, b := range row[1:] {
		facet := laid{Bevel: shop.Bevel{Angle: b.Front, Width: shop.Some(b.Chord)}, of: -1, angle: "facets.last_front_angle_deg", width: "facets.count", word: l.say("facet %s", strconv.Itoa(i+1))}
		if i == w.Count-1 {
			facet.Width = shop.Maybe[unit.Length]{} // it runs to the heel
		}
		l.add(facet)
	}
	if l.q.Unheld || len(l.behind.holder.Positions) == 0 {
		l.out.Cautions = append(l.out.Cautions, l.caution("FACETS_NOT_TRIED", Note, "", "No station and holder with leg positions were named, so nothing says whether each facet can be set."))
		return nil, nil
	}
	return l.seat(ctx)
}

// noRow says why there is no row of facets.
func (w Facets) noRow(f face, err error) error {
	far := f.bevels[0].hollow.Far
	var crossing *geometry.CrossingError
	switch {
	case w.Last >= far:
		return refuse(BevelsNotFalling, "facets.last_front_angle_deg", "the wheel's tangent falls from edge to heel: the land ends at %s, and the last facet is to start at %s; keep it below that", degrees(far), degrees(w.Last)).
			contradicts().angle(w.Last).most(far.Degrees()).err()
	case errors.As(err, &crossing):
		return refuse(BevelsCross, "facets.count", "%v; another count or a smaller last angle would not", crossing).contradicts().err()
	}
	return refuse(BevelNeverEnds, "facets.last_front_angle_deg", "%v; fewer facets or a larger last angle reach the heel sooner", err).angle(w.Last).err()
}

// seat finds a leg position and a place of the support for every bevel, heel first as they are ground, each by the order of
// [score.compare]; what moves least is what moves least from the bevel before it.
func (l *layout) seat(ctx context.Context) (*no, error) {
	f, err := l.face()
	if err != nil {
		return nil, err
	}
	var now *shop.Settings
	for i := len(f.bevels) - 1; i >= 0; i-- {
		if i == 0 && l.q.Behind.said() {
			now = nil // the land is ground on a machine of its own
		}
		settings, n, err := l.settle(ctx, f, i, now)
		if n != nil || err != nil {
			return n, err
		}
		b := &l.bevels[i]
		b.Given.Leg, b.Given.Position = settings.Leg, settings.Position
		switch {
		case settings.Position != "":
			b.how = l.say("the leg at position %s", settings.Position)
		case settings.Leg.Known:
			b.how = l.say("the leg at %s", l.degrees(settings.Leg.Value))
		}
		now = &settings
	}
	return nil, nil
}

// settle is how one bevel is best set. A leg that was said stays, and the land stays at the recipe's; otherwise it is one of the
// holder's own positions.
func (l *layout) settle(ctx context.Context, f face, i int, now *shop.Settings) (shop.Settings, *no, error) {
	r := l.at(i)
	q := Question{Common: l.q.Common, Given: withoutSupport(l.bevels[i].Given.Over(l.q.Given)), Now: now, Rounding: Rounding{}.in(l.q.Unit)}
	legSaid := q.Given.Leg.Known || q.Given.Position != ""
	recipe := r.recipe.Settings
	chosen := len(r.holder.Positions) > 0 && !legSaid && (i > 0 || !recipe.Leg.Known && recipe.Position == "")
	if chosen {
		q.Free = []Free{FreeSupport, FreeLeg}
	}
	x, err := newSearch(*r, q)
	if err != nil {
		return shop.Settings{}, nil, err
	}
	f.bevels = f.bevels[i : i+1]
	choices, n := x.choices(f, f.bevels[0], 1)
	if n != nil {
		return shop.Settings{}, nil, n.in("given").err()
	}
	p, n := x.best(ctx, []face{f}, choices)
	switch {
	case n == nil:
		settings := x.way(p[0].choice, "").Settings
		x.settle(&settings, p[0])
		return settings, nil, nil
	case chosen && n.Kind == fault.Impossible:
		number := "the land"
		if i > 0 {
			number = fmt.Sprintf("facet %d", i)
		}
		return shop.Settings{}, refuse(FacetsNotSettable, "facets.count", "of %d facets %s, with a front angle of %s, can be set with no leg position of the holder: %s",
			len(l.bevels)-1, number, degrees(l.bevels[i].Angle), n.in("given").Message), nil
	}
	return shop.Settings{}, nil, n.in("given").err()
}

// Turns are bevels made by turning the adjuster away from the edge's setting, clockwise positive. Widths are of the land and of every
// bevel but the last.
type Turns struct {
	Turns  []float64
	Widths []unit.Length
}

func (w Turns) held(bool) bool { return true }

func (w Turns) lay(_ context.Context, l *layout) error {
	if l.q.Behind.said() {
		return fault.Field("behind_rig", fault.Contradiction, "turns are those of one adjuster: leave it out")
	}
	t, err := l.turner()
	if err != nil {
		return err
	}
	l.add(laid{Bevel: shop.Bevel{Angle: t.edge.front, Width: shop.Some(w.Widths[0]), Given: t.own}, angle: "grind.bevels[0]", width: "turns.widths_mm[0]", word: l.say("land"), how: l.say("at the edge's setting")})
	for i, n := range w.Turns {
		field := fmt.Sprintf("turns.adjuster_turns[%d]", i)
		f, err := l.face()
		if err != nil {
			return err
		}
		front, refused := t.turned(f, i+1, n, field)
		if refused != nil {
			return refused.err()
		}
		b := laid{Bevel: shop.Bevel{Angle: front, Given: t.own}, angle: field, width: fmt.Sprintf("turns.widths_mm[%d]", i+1), word: l.say("bevel %s", strconv.Itoa(i+2)), how: l.say("%s from the edge's setting", sense(l.in.Language, n))}
		if i+1 < len(w.Widths) {
			b.Width = shop.Some(w.Widths[i+1])
		}
		l.add(b)
	}
	per := t.per(&t.edge, shop.DatumSlide) * float64(t.perTurn)
	l.out.PerTurn = shop.Some(per)
	l.tell("At the edge's setting a turn of the adjuster clockwise makes the edge %s.", l.signed(unit.Angle(per)))
	if play := t.support.Adjuster.Value.Backlash; play > 0 {
		l.out.Cautions = append(l.out.Cautions, l.caution("TAKE_UP_PLAY", Note, tradeSource, "The adjuster has %s of play: finish every move the same way, or count the turns from where the screw takes hold.", l.mm(play)))
	}
	return nil
}

// turner is a support on an adjuster, from where it grinds the edge.
type turner struct {
	search
	choice  choice
	own     shop.Settings // of the question's bevel
	edge    stand
	perTurn unit.Length // of reading, clockwise
}

// turner finds the edge's setting: the one given, or the one that grinds the question's edge exactly.
func (l *layout) turner() (turner, error) {
	r := *l.asked.at(0)
	r.others = nil // all bevels are ground where the edge is
	t := turner{search: search{rig: r, machine: r.machine(l.q.Doubts)}}
	given := l.q.Given
	if len(l.start.Bevels) > 0 {
		given, t.own = l.start.Bevels[0].Given.Over(given), withoutSupport(l.start.Bevels[0].Given)
	}
	t.settings = r.fill(given)
	t.q = Question{Common: l.q.Common, Rounding: Rounding{}.in(l.q.Unit)}
	if !r.support.Slide.Known || !r.support.Adjuster.Known {
		return t, refuse(RigDoesNotFit, "rig.support", "there is no adjuster to turn: this %s has no slide with an adjuster", supportWords[r.support.Kind]).err()
	}
	if err := invalid(t.missing("given", t.settings, false, false)); err != nil {
		return t, err
	}
	t.perTurn = r.support.Adjuster.Value.Lead
	if !r.support.Adjuster.Value.ClockwiseRaises {
		t.perTurn = -t.perTurn
	}
	t.choice, t.supportFree = t.givenChoice(), t.settings.Datum == shop.DatumUnset
	f, b := firstFace(r.faces()), bevel{}
	if t.supportFree {
		var err error
		if f, err = l.edge(); err != nil {
			return t, err
		}
		b = f.bevels[0]
	}
	n := t.checkChoice(t.choice)
	if n == nil {
		t.edge, n = t.stand(f, b, t.choice)
	}
	if n != nil {
		return t, n.in("given").err()
	}
	if t.supportFree {
		t.edge.set, t.edge.front = t.edge.exact, t.edge.wanted
	}
	t.supportFree = false
	return t, nil
}

// turned is the front angle that a bevel behind those of a face gets after so many turns.
func (t turner) turned(f face, index int, n float64, field string) (unit.Angle, *no) {
	from, travel := t.edge.set.reading, t.support.Slide.Value.Travel
	reading := from + unit.Length(n)*t.perTurn
	if outside(reading, travel) {
		least, most := float64((travel.Least-from)/t.perTurn), float64((travel.Most-from)/t.perTurn)
		least, most = min(least, most), max(least, most)
		refused := refuse(BeyondTravel, field, "%s from the edge's setting the slide would read %s; it goes from %s to %s, which is from %s to %s turns", sense(words.Language{}, n), mm(reading), mm(travel.Least), mm(travel.Most),
			unit.FormatFixed(least, 2), unit.FormatFixed(most, 2))
		refused.Unit, refused.Value = "turns", shop.Some(n)
		return 0, refused.least(least).most(most)
	}
	t.settings.Datum, t.settings.Support = shop.DatumSlide, reading
	b := bevel{index: index}
	b.behind, b.below = f.stack.End()
	s, refused := t.stand(f, b, t.choice)
	if refused != nil {
		refused.Field = field
	}
	return s.front, refused
}
