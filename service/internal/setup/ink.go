package setup

import (
	"context"
	"errors"
	"fmt"
	"math"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// Ink is an ink test: the bevel was inked, the wheel turned by hand, and the ink went somewhere.
type Ink struct {
	Trials []InkTrial                 // the latest last
	Ground shop.Maybe[geometry.Wheel] // the wheel that ground the bevel
	Chord  shop.Maybe[unit.Length]    // of the bevel
}

// InkTrial is how the machine stood and where the ink went.
type InkTrial struct {
	Settings   shop.Settings
	Mark       geometry.Mark
	BehindEdge shop.Maybe[unit.Length] // in place of Mark
}

const (
	// inkTells is the least difference that ink shows: it lifts the far end of a 10 mm bevel by 0.05 mm, or moves the mark on a flat
	// bevel by half a millimetre under a 200 mm wheel.
	inkTells = 0.3 * unit.Degree
	// firstMove is how far to go where a mark only tells which way.
	firstMove = 2 * unit.Degree
	// markDoubt is what the place of a mark is good to, by rule on a smear.
	markDoubt unit.Length = 0.5
	// inkRounds is how often a bevel is put where it was found, at most, and settled how little that has to move it then, in radians.
	inkRounds = 60
	settled   = 1e-7
)

// inkTest is an ink test on one rig; its settings are the last trial's.
type inkTest struct {
	search
	ink    Ink
	ground geometry.Wheel // the rig's own, where nobody knows
	sized  bool           // the place of a mark between the ends is a size
	tried  []tried
}

// tried is a trial with what its setting would grind.
type tried struct {
	stand
	mark  geometry.Mark
	place shop.Maybe[unit.Length] // behind the edge, where that is a size
}

// inked is what the trials say together. Angles of settings are the edge angles that they would grind.
type inked struct {
	aimed         unit.Angle // the setting to try next; once they agree, the best there is
	open, shut    unit.Angle // the gap that it halves, where it halves one
	own, reading  shop.Maybe[unit.Angle]
	half          unit.Angle // how well ink tells the bevel's angle
	blunter       shop.Maybe[unit.Angle]
	agrees, sized bool
	least, most   unit.Angle // the right setting lies between; infinite where no trial bounds it
}

func (s Solver) matchInk(ctx context.Context, q Common, ink Ink) (Matched, error) {
	r, err := s.resolve(ctx, q)
	if err != nil {
		return Matched{}, err
	}
	if err := checkWheel(r).err(); err != nil {
		return Matched{}, err
	}
	t, err := r.inkTest(q, ink)
	if err != nil {
		return Matched{}, err
	}
	found, err := t.read()
	if err != nil {
		return Matched{}, err
	}
	y, p, err := t.next(ctx, &found)
	if err != nil {
		return Matched{}, err
	}
	steps := y.steps(p)
	out := Matched{Next: &steps[0], Blunter: found.blunter, Agrees: shop.Some(found.agrees), Basis: y.basis()}
	for _, trial := range t.tried {
		out.Trials = append(out.Trials, trial.front)
	}
	if found.own.Known {
		last := t.last()
		doubt := geometry.Combined([]geometry.Contribution{{Sensitivity: 1, HalfWidth: float64(found.half)}, {Sensitivity: 1, HalfWidth: float64(expanded(t.inputs(&last.stand), every))}})
		out.Edge, out.Reading, out.Expanded = found.own, found.reading, shop.Some(doubt)
		if out.Recipes, err = s.nearest(ctx, q, r, found.own.Value, doubt); err != nil {
			return Matched{}, err
		}
	}
	out.Text = t.text(found, out)
	out.Cautions = y.cautions(p, steps, t.inkCautions(found)...)
	return out, nil
}

func (t inkTest) last() tried { return t.tried[len(t.tried)-1] }

// inkTest predicts what every trial's setting would grind, and puts the marks beside that.
func (r *rig) inkTest(q Common, ink Ink) (inkTest, error) {
	t := inkTest{search: search{rig: *r, machine: r.machine(q.Doubts), q: Question{Common: q, Rounding: Rounding{}.in(q.Unit)}}, ink: ink, ground: ink.Ground.Or(r.surface)}
	_, t.sized, _ = t.surface.InkOffset(t.ground, 1, 0) // of any bevel
	if chord := ink.Chord; chord.Known && !(chord.Value < t.ground.Diameter()) {
		return t, refuse(NoSuchBevel, "ink.chord_mm", "a bevel %s long is longer than the wheel that ground it is wide, %s", mm(chord.Value), mm(t.ground.Diameter())).
			length(chord.Value).most(float64(t.ground.Diameter())).err()
	}
	for i, trial := range ink.Trials {
		field := fmt.Sprintf("ink.trials[%d]", i)
		t.settings = r.fill(trial.Settings)
		if err := t.checkForecast(); err != nil {
			return t, under(err, "settings", field+".settings")
		}
		p, n := t.forecast(t.settings)
		if n != nil {
			n.Ways = t.reachable(n, q.Grind)
			return t, n.in(field + ".settings").err()
		}
		one, err := t.marked(trial, field)
		if err != nil {
			return t, err
		}
		one.stand = firstStand(p)
		t.tried = append(t.tried, one)
	}
	return t, nil
}

// firstStand is the stand of the face that [firstFace] means.
func firstStand(p plan) stand {
	if p[0].face.side == UpperSide {
		return p[1]
	}
	return p[0]
}

// marked reads a trial's mark. A mark in millimetres is a size in between, and at the ends, or where it is none, the third of the bevel
// that it lies in counts.
func (t inkTest) marked(trial InkTrial, field string) (tried, error) {
	chord, at := t.ink.Chord, trial.BehindEdge
	switch {
	case !at.Known:
		middle := shop.Maybe[unit.Length]{Value: chord.Value / 2, Known: t.sized && chord.Known && trial.Mark == geometry.MarkMiddle}
		return tried{mark: trial.Mark, place: middle}, nil
	case !chord.Known:
		return tried{}, fault.Field("ink.chord_mm", fault.Missing, "a mark in millimetres means little without the bevel's chord: measure it from edge to heel, or say where the mark is, for example INK_MARK_EDGE")
	}
	var outside *geometry.InkError
	if _, _, err := t.surface.InkOffset(t.ground, chord.Value, at.Value-chord.Value/2); errors.As(err, &outside) {
		return tried{}, refuse(MarkOutsideBevel, field+".behind_edge_mm", "a mark %s behind the edge is not on a bevel of %s: it lies from 0 to that", mm(at.Value), mm(chord.Value)).
			length(at.Value).least(0).most(float64(chord.Value)).err()
	}
	one := tried{mark: geometry.MarkMiddle}
	share := at.Value / chord.Value
	switch {
	case share < 1./3:
		one.mark = geometry.MarkEdge
	case share > 2./3:
		one.mark = geometry.MarkHeel
	}
	one.place = shop.Maybe[unit.Length]{Value: at.Value, Known: t.sized && share > 0.05 && share < 0.95}
	return one, nil
}

// read takes the size of the last mark where it is one, and otherwise what all marks say of the direction.
func (t inkTest) read() (inked, error) {
	bracket, err := t.bracket()
	if err != nil {
		return inked{}, err
	}
	last := t.last()
	switch {
	case last.place.Known:
		if found, n := t.size(last); n == nil {
			return found, nil
		}
	case t.sized && last.mark == geometry.MarkMiddle:
		return inked{aimed: last.front, half: inkTells, blunter: shop.Some[unit.Angle](0), agrees: true, sized: true}, nil
	}
	return bracket, nil
}

// size reads a mark between the ends: where it lies, the bevel has the tangent that the wheel would grind there. No size is told where
// the machine cannot follow.
func (t inkTest) size(last tried) (inked, *no) {
	own, n := t.through(last)
	if n != nil {
		return inked{}, n
	}
	toMiddle := t.arc(own.Front, t.ink.Chord.Value/2)
	set, n := t.tangent(last.stand, toMiddle)
	if n != nil {
		return inked{}, n
	}
	aimed, n := t.agreeing(last.stand, toMiddle)
	if n != nil {
		return inked{}, n
	}
	half, _, _ := t.surface.InkOffset(t.ground, t.ink.Chord.Value, -min(markDoubt, t.ink.Chord.Value/2))
	blunter := set - toMiddle.Far
	return inked{
		aimed: aimed, own: shop.Some(own.Front), reading: shop.Some(own.Reading), half: half, blunter: shop.Some(blunter),
		agrees: math.Abs(float64(blunter)) <= float64(inkTells), sized: true,
	}, nil
}

// through is the bevel that touches the wheel at a mark. Where the mark is in the tool follows from the bevel as it is believed to be, and
// again as it is found to be: a round leaves a twentieth of what was wrong on a usual reach, and half on a long keen bevel on a table.
func (t inkTest) through(last tried) (own geometry.Hollow, n *no) {
	own = t.arc(last.front, t.ink.Chord.Value)
	for range inkRounds {
		toMark := t.arc(own.Front, last.place.Value)
		there, n := t.tangent(last.stand, toMark)
		if n != nil {
			return own, n
		}
		before := own.Front
		own = t.arc(there-(toMark.Far-toMark.Front), t.ink.Chord.Value)
		if math.Abs(float64(own.Front-before)) < settled {
			return own, nil
		}
	}
	return own, refuse(IllConditioned, "ink", "the mark tells nothing of the bevel's angle")
}

// arc is the bevel as its own wheel ground it, up to a chord, which the caller has held against that wheel.
func (t inkTest) arc(front unit.Angle, chord unit.Length) geometry.Hollow {
	h, _ := t.ground.HollowOfChord(front, chord)
	return h
}

// tangent is the wheel's at the end of an arc of the bevel, brought to the wheel as the machine stands.
func (t inkTest) tangent(at stand, arc geometry.Hollow) (unit.Angle, *no) {
	behind, below := arc.End()
	s, n := t.stand(at.face, bevel{behind: behind, below: below}, at.choice)
	return s.front, n
}

// agreeing is the edge angle of the setting that gives the end of an arc the tangent that it has.
func (t inkTest) agreeing(at stand, arc geometry.Hollow) (unit.Angle, *no) {
	free := t.search
	free.supportFree = true
	behind, below := arc.End()
	s, n := free.stand(at.face, bevel{front: arc.Far, behind: behind, below: below}, at.choice)
	if n != nil {
		return 0, n
	}
	settings := t.settings
	free.settle(&settings, s)
	p, n := t.forecast(settings)
	if n != nil {
		return 0, n
	}
	return firstStand(p).front, nil
}

// bracket searches by marks that are only signs: move until the mark changes ends, then halve. A mark in between is as wide as the ink
// is thick, so where the heel's marks end and where the edge's begin are searched for apart, and the right setting lies midway.
func (t inkTest) bracket() (inked, error) {
	heels, err := t.flip(geometry.MarkEdge)
	if err != nil {
		return inked{}, err
	}
	edges, err := t.flip(geometry.MarkHeel)
	if err != nil {
		return inked{}, err
	}
	one := edges
	if edges.Done || !heels.Done && heels.High-heels.Low > edges.High-edges.Low {
		one = heels
	}
	b := inked{
		aimed: alongEdges(one.Next), open: alongEdges(one.Low), shut: alongEdges(one.High),
		least: alongEdges(heels.Low), most: alongEdges(edges.High), agrees: heels.Done && edges.Done,
	}
	if !b.bounded() {
		return b, nil
	}
	middle := (b.least + b.most) / 2
	b.half, b.blunter = b.most-middle, shop.Some(t.last().front-middle)
	b.own, b.reading = t.bevelOf(middle)
	if b.agrees {
		b.aimed = middle
	}
	return b, nil
}

func (b inked) bounded() bool { return !math.IsInf(float64(b.most-b.least), 0) }

// The search runs along any coordinate; here that is the edge angle which a setting would grind, its degrees taken for millimetres.
func alongEdges(at unit.Length) unit.Angle { return unit.Degrees(float64(at)) }
func alongSearch(a unit.Angle) unit.Length { return unit.Length(a.Degrees()) }

// flip searches for where the marks change to the edge, with those in between counted as one or the other.
func (t inkTest) flip(between geometry.Mark) (geometry.InkSearch, error) {
	keen, blunt := t.bounds()
	var trials []geometry.InkTrial
	for _, one := range t.tried {
		mark := one.mark
		if mark == geometry.MarkMiddle {
			if mark = between; one.front <= keen || one.front >= blunt {
				continue // an end says more
			}
		}
		trials = append(trials, geometry.InkTrial{Setting: alongSearch(one.front), Mark: mark})
	}
	step := firstMove
	if t.sized && t.ink.Chord.Known { // a mark at an end is at least that far off
		least, _, _ := t.surface.InkOffset(t.ground, t.ink.Chord.Value, -t.ink.Chord.Value/2)
		step = max(step, least)
	}
	found, err := geometry.NextInkTrial(trials, alongSearch(step), alongSearch(inkTells))
	var wrong *geometry.InkSearchError
	if errors.As(err, &wrong) {
		keen, blunt := alongEdges(wrong.TooKeen), alongEdges(wrong.TooBlunt)
		return found, refuse(TrialsContradict, "ink.trials", "a setting of %s marked the heel, so it is too keen, and one of %s marked the edge, so it is too blunt, though it is no blunter: try one of them again, with less ink",
			degrees(keen), degrees(blunt)).angle(blunt).least(keen.Degrees()).err()
	}
	return found, err
}

// bounds are the bluntest setting that marked the heel and the keenest that marked the edge.
func (t inkTest) bounds() (keen, blunt unit.Angle) {
	keen, blunt = unit.Angle(math.Inf(-1)), unit.Angle(math.Inf(1))
	for _, one := range t.tried {
		switch one.mark {
		case geometry.MarkHeel:
			keen = max(keen, one.front)
		case geometry.MarkEdge:
			blunt = min(blunt, one.front)
		}
	}
	return keen, blunt
}

// bevelOf is the edge and reading of a bevel that a setting agrees with. Settings and bevel share the reading; on unlike wheels it takes
// the chord to tell the edge.
func (t inkTest) bevelOf(setting unit.Angle) (edge, reading shop.Maybe[unit.Angle]) {
	if !t.ink.Chord.Known {
		return shop.Maybe[unit.Angle]{Value: setting, Known: t.surface == t.ground}, reading
	}
	h, err := t.surface.HollowOfChord(setting, t.ink.Chord.Value)
	if err != nil {
		return edge, reading
	}
	own, err := t.ground.FrontOfReading(h.Reading, h.Chord)
	return shop.Maybe[unit.Angle]{Value: own, Known: err == nil}, shop.Maybe[unit.Angle]{Value: h.Reading, Known: err == nil}
}

// next solves for the setting to try, from the last trial's. Where no step of the support lies inside what is still open, the trials have
// told all they can.
func (t inkTest) next(ctx context.Context, found *inked) (search, plan, error) {
	y, p, err := t.solveFor(ctx, found.aimed)
	if err != nil || found.sized || found.agrees || !found.bounded() || p[0].front > found.open && p[0].front < found.shut {
		return y, p, err
	}
	found.agrees, found.aimed = true, (found.least+found.most)/2
	return t.solveFor(ctx, found.aimed)
}

func (t inkTest) solveFor(ctx context.Context, edge unit.Angle) (search, plan, error) {
	given := t.settings
	given.Datum, given.Support, given.Tilt = shop.DatumUnset, 0, 0
	y, err := newSearch(t.rig, Question{Common: t.q.Common, Given: given, Now: &t.settings, Rounding: t.q.Rounding})
	if err != nil {
		return y, nil, err
	}
	f := t.last().face
	f.bevels = []bevel{{front: edge, width: t.ink.Chord}}
	p, n := y.plan(ctx, []face{f})
	if n != nil {
		n.Field, n.Message = "ink.trials", fmt.Sprintf("the setting to try next, for %s, cannot be made: %s", degrees(edge), n.Message)
	}
	return y, p, n.err()
}

// text says what the marks mean and the one move to make.
func (t inkTest) text(found inked, out Matched) string {
	move := out.Next.Text
	if m := out.Next.Support.Move; m != nil {
		move = m.Text
	}
	var text string
	switch last := t.last(); {
	case found.agrees && math.Abs(float64(found.aimed-last.front)) < float64(inkTells):
		text = t.say("The setting agrees with the bevel as well as ink can tell")
	case found.agrees:
		text = t.say("The setting that agrees with the bevel as well as ink can tell is found: %s", move)
	case found.sized:
		text = t.say("The setting is %s than the bevel in its middle: %s", t.signed(found.blunter.Value), move)
	case found.bounded():
		text = t.say("The right setting grinds between %s and %s; halve that: %s", t.degrees(found.least), t.degrees(found.most), move)
	case last.mark == geometry.MarkMiddle:
		text = t.say("Try to one side: %s, until the mark changes to an end", move)
	case last.mark == geometry.MarkEdge:
		text = t.say("The setting is blunter than the bevel; by how much this mark does not tell: %s, until the mark changes ends", move)
	default:
		text = t.say("The setting is keener than the bevel; by how much this mark does not tell: %s, until the mark changes ends", move)
	}
	if t.last().mark == geometry.MarkMiddle && !t.sized {
		text += t.say(". On a wheel as large as the one that ground a hollow bevel, or larger, a mark in the middle is the ink's thickness, not agreement")
	}
	if !out.Edge.Known {
		return text
	}
	text += t.say(". The bevel's edge is %s ±%s", t.degrees(out.Edge.Value), t.doubt(out.Expanded.Value))
	if off := found.aimed - out.Edge.Value; found.agrees || found.sized {
		if math.Abs(float64(off)) > float64(inkTells) {
			text += t.say("; ground there it becomes %s, because another wheel ground it before", t.degrees(found.aimed))
		}
	}
	return text + t.nearestText(out.Recipes)
}

func (t inkTest) inkCautions(found inked) []Caution {
	list := append(t.perFace(), t.caution("WHEEL_BY_HAND", Warning, tradeSource, "For an ink test switch the machine off and turn the wheel by hand."))
	if !t.ink.Ground.Known && found.own.Known {
		list = append(list, t.caution("GROUND_BY_UNKNOWN", Note, "", "Which wheel ground the bevel was not said: its edge angle is told as if it had been this size."))
	}
	return list
}
