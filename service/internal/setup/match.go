package setup

import (
	"cmp"
	"context"
	"errors"
	"math"
	"path"
	"slices"
	"strings"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// Match asks which grind is on a tool: from what was measured, or from where ink was rubbed off.
type Match struct {
	Common
	Measured *Measured
	Ink      *Ink
}

// Measured is a bevel as it was measured, square to the edge. Of a tool with two bevels it is one face's.
type Measured struct {
	Chord, Steel           shop.Maybe[unit.Length]
	Reading                shop.Maybe[unit.Angle]
	ChordDoubt, SteelDoubt shop.LengthDoubt
	ReadingDoubt           shop.AngleDoubt
}

// Matched is the grind that was found.
type Matched struct {
	Edge, Reading, Expanded shop.Maybe[unit.Angle] // unknown while ink has only shown a sign
	Recipes                 []RecipeMatch          // nearest first
	Next                    *Step                  // ink: the move that corrects the setting, or halves what is open
	Blunter                 shop.Maybe[unit.Angle] // ink: the last setting than the bevel
	Agrees                  shop.Maybe[bool]
	Trials                  []unit.Angle // ink: what every trial's setting would grind
	Budget                  []BudgetItem
	Improve                 *Improvement
	Text                    string
	Cautions                []Caution
	Basis                   Basis
}

// RecipeMatch is a recipe beside what was found.
type RecipeMatch struct {
	Name, DisplayName string
	Difference        unit.Angle // recipe less found
	Within            bool       // what was found is no better known than that
}

// mostMatches is how many recipes are worth reading.
const mostMatches = 5

// What a bevel's measures are good to at 95 % where nobody says: read off a small calliper, as common practice.
const (
	chordDoubt   unit.Length = 0.3
	steelDoubt   unit.Length = 0.1
	readingDoubt             = ByScale
)

// toldBadly is the doubt beyond which an edge angle is no help in choosing a recipe.
const toldBadly = 5 * unit.Degree

// Match answers which grind is on a tool.
func (s Solver) Match(ctx context.Context, q Match) (Matched, error) {
	switch {
	case q.Ink != nil && len(q.Ink.Trials) > 0:
		return s.matchInk(ctx, q.Common, *q.Ink)
	case q.Measured != nil:
		return s.matchMeasured(ctx, q.Common, *q.Measured)
	}
	return Matched{}, fault.Field("evidence", fault.Missing, "say what was measured, or where ink was rubbed off")
}

func (s Solver) matchMeasured(ctx context.Context, q Common, m Measured) (Matched, error) {
	q.Unheld = true
	r, err := s.resolve(ctx, q)
	if err != nil {
		return Matched{}, err
	}
	e := r.evidence(m)
	if open, _ := e.routes(); len(open) == 0 {
		return Matched{}, fault.Field("measured", fault.Missing,
			"one measurement does not tell the edge of a hollow bevel: say two of chord_mm, steel_depth_mm (or the tool's own) and reading_deg")
	}
	f, err := e.read()
	if err != nil {
		return Matched{}, r.noSuchBevel(m, err)
	}
	if err := checkMatched(f.edge); err != nil {
		return Matched{}, err
	}
	x := search{rig: r, q: Question{Common: q}}
	out := Matched{
		Edge: shop.Some(f.edge), Reading: shop.Some(f.reading), Expanded: shop.Some(f.expanded), Agrees: f.agrees, Basis: x.basis(),
	}
	if len(f.budget) > 0 {
		out.Budget, out.Improve = x.ranked(f.budget), x.improve(f.budget)
	}
	if out.Recipes, err = s.nearest(ctx, q, r, f.edge, f.expanded); err != nil {
		return Matched{}, err
	}
	out.Text, out.Cautions = x.measuredText(m, out), x.measuredCautions(out)
	return out, nil
}

// The measures that tell an edge, by their places in a row of them.
const (
	byChord = iota
	bySteel
	byReading
	byDiameter
	measureCount
)

// measures is a row of numbers, one for each measure, in millimetres and radians.
type measures [measureCount]float64

func (m measures) wheel() geometry.Wheel { return geometry.RoundWheel(unit.Length(m[byDiameter])) }

// evidence is what was measured, and how well.
type evidence struct {
	values measures
	known  [measureCount]bool
	doubts [measureCount]BudgetItem
}

// told is what evidence tells, and how it follows every measure.
type told struct {
	edge, reading unit.Angle
	per           measures
}

// route is one way from measures to an edge.
type route struct {
	needs []int
	edge  func(measures) (edge, reading unit.Angle, err error)
}

// The routes. All but the first take the reading for what it is; of a flat bevel it is the edge itself.
var (
	chordAndSteel = route{[]int{byChord, bySteel}, func(m measures) (edge, reading unit.Angle, err error) {
		found, err := m.wheel().MatchChord(unit.Length(m[byChord]), unit.Length(m[bySteel]))
		return found.Edge, found.Reading, err
	}}
	chordAndReading = route{[]int{byChord, byReading}, func(m measures) (edge, reading unit.Angle, err error) {
		edge, err = m.wheel().FrontOfReading(unit.Angle(m[byReading]), unit.Length(m[byChord]))
		return edge, unit.Angle(m[byReading]), err
	}}
	steelAndReading = route{[]int{bySteel, byReading}, func(m measures) (edge, reading unit.Angle, err error) {
		edge, err = m.wheel().FrontOfReading(unit.Angle(m[byReading]), geometry.ChordThrough(unit.Angle(m[byReading]), unit.Length(m[bySteel])))
		return edge, unit.Angle(m[byReading]), err
	}}
	readingOfAFlat = route{[]int{byReading}, func(m measures) (edge, reading unit.Angle, err error) {
		return unit.Angle(m[byReading]), unit.Angle(m[byReading]), nil
	}}
)

// evidence puts the measures in a row, with the tool's own steel where nobody measured it.
func (r *rig) evidence(m Measured) evidence {
	if !m.Steel.Known {
		faces := r.faces()
		m.Steel = faces[len(faces)-1].steel
	}
	return evidence{
		values: measures{float64(m.Chord.Value), float64(m.Steel.Value), float64(m.Reading.Value), float64(r.surface.Diameter())},
		known:  [...]bool{m.Chord.Known, m.Steel.Known, m.Reading.Known, !r.surface.Flat()},
		doubts: [...]BudgetItem{
			{Quantity: "chord", Words: "the bevel's chord", HalfWidth: float64(m.ChordDoubt.Or(chordDoubt))},
			{Quantity: "steel_depth", Words: "the steel's depth", HalfWidth: float64(m.SteelDoubt.Or(steelDoubt))},
			{Quantity: "reading", Words: "the bevel reading", HalfWidth: float64(m.ReadingDoubt.Or(readingDoubt)), IsAngle: true},
			{Quantity: "wheel_diameter", Words: "the diameter of the wheel that ground it", HalfWidth: float64(r.wheel.Doubt.Or(ByCalliper))},
		},
	}
}

// routes are those that this evidence allows, and how many there would be with all of it.
func (e evidence) routes() (open []route, all int) {
	ways := []route{chordAndSteel, chordAndReading, steelAndReading}
	if !e.known[byDiameter] {
		ways = []route{chordAndSteel, readingOfAFlat}
	}
	for _, w := range ways {
		if !slices.ContainsFunc(w.needs, func(i int) bool { return !e.known[i] }) {
			open = append(open, w)
		}
	}
	return open, len(ways)
}

// follow goes a route, and finds how the edge follows every measure on it from a small step to either side; at a limit one side has to
// do. JCGM 100:2008, 5.1.3, note 2 has sensitivities found so.
func (e evidence) follow(w route) (t told, err error) {
	if t.edge, t.reading, err = w.edge(e.values); err != nil {
		return t, err
	}
	for i := range e.values {
		if e.known[i] {
			t.per[i] = w.slope(e.values, i)
		}
	}
	return t, nil
}

func (w route) slope(at measures, i int) float64 {
	const step = 1e-5
	edge := func(off float64) (unit.Angle, float64) {
		moved := at
		moved[i] += off
		if edge, _, err := w.edge(moved); err == nil {
			return edge, off
		}
		edge, _, _ := w.edge(at)
		return edge, 0
	}
	low, down := edge(-step)
	high, up := edge(step)
	if up == down {
		return 0
	}
	return float64(high-low) / (up - down)
}

// budget is what the doubts of the measures do to an angle that follows them so.
func (e evidence) budget(per measures) []BudgetItem {
	var list []BudgetItem
	for i, item := range e.doubts {
		if item.Sensitivity = per[i]; per[i] != 0 {
			list = append(list, item)
		}
	}
	return list
}

// found is what evidence tells in the end.
type found struct {
	told
	expanded unit.Angle
	budget   []BudgetItem
	agrees   shop.Maybe[bool] // where all was measured
}

// read takes the route that tells the edge best. With all measured, two routes differ by more than their doubts explain where a measure
// is wrong; nobody knows which, so that every route's edge is then within the doubt.
func (e evidence) read() (f found, err error) {
	open, all := e.routes()
	told := make([]told, len(open))
	for i, w := range open {
		if told[i], err = e.follow(w); err != nil {
			return f, err
		}
		budget := e.budget(told[i].per)
		if half := min(expanded(budget, every), 90*unit.Degree); i == 0 || half < f.expanded { // no edge is further off than that
			f.told, f.expanded, f.budget = told[i], half, budget
		}
	}
	if len(open) < all {
		return f, nil
	}
	apart := told[0].per
	for i := range apart {
		apart[i] -= told[1].per[i]
	}
	f.agrees = shop.Some(math.Abs(float64(told[0].edge-told[1].edge)) <= float64(expanded(e.budget(apart), every)))
	for _, other := range told {
		if !f.agrees.Value {
			f.expanded = max(f.expanded, unit.Angle(math.Abs(float64(other.edge-f.edge))))
		}
	}
	return f, nil
}

// noSuchBevel refuses measures that no bevel has.
func (r *rig) noSuchBevel(m Measured, err error) error {
	var chordError *geometry.ChordError
	if errors.As(err, &chordError) {
		n := refuse(NoSuchBevel, "measured.chord_mm", "a bevel goes down through all of the steel, so its chord of %s must be longer than the steel is deep, %s",
			mm(chordError.Chord), mm(chordError.Steel)).length(chordError.Chord).least(float64(chordError.Steel))
		if !r.surface.Flat() {
			n.Message += ", and shorter than the wheel's diameter, " + mm(r.surface.Diameter())
			n = n.most(float64(r.surface.Diameter()))
		}
		return n.err()
	}
	var bevelError *geometry.BevelError
	if errors.As(err, &bevelError) {
		field := "measured.chord_mm"
		if !m.Chord.Known {
			field = "measured.reading_deg"
		}
		return refuse(NoSuchBevel, field, "such a bevel would be %s long, and this wheel of %s cannot have ground it", mm(bevelError.Size), mm(bevelError.Most)).
			length(bevelError.Size).most(float64(bevelError.Most)).err()
	}
	return err
}

// checkMatched refuses what is no edge.
func checkMatched(edge unit.Angle) error {
	switch {
	case edge <= 0:
		return refuse(TooKeen, "measured", "by these measures the edge would be %s: measure again, and check the wheel's diameter", degrees(edge)).angle(edge).least(0).most(90).err()
	case edge >= 90*unit.Degree:
		return refuse(TooBlunt, "measured", "by these measures the edge would be %s: measure again, and check the wheel's diameter", degrees(edge)).angle(edge).least(0).most(90).err()
	}
	return nil
}

// measuredText says the two angles that people mix up, both.
func (x *search) measuredText(m Measured, found Matched) string {
	shows := words.Text("A protractor would show %s, the edge is %s ±%s")
	if m.Reading.Known {
		shows = "A protractor shows %s, the edge is %s ±%s"
	}
	text := x.say(shows, x.degrees(found.Reading.Value), x.degrees(found.Edge.Value), x.doubt(found.Expanded.Value))
	if x.tool.Kind.TwoBevels() {
		text += x.say(", both of one face alone")
	}
	if found.Agrees.Known && found.Agrees.Value {
		text += x.say("; chord, steel and reading agree")
	}
	return text + x.nearestText(found.Recipes)
}

func (x *search) nearestText(list []RecipeMatch) string {
	if len(list) == 0 {
		return ""
	}
	text := x.say("; nearest: %s", path.Base(list[0].Name))
	if !list[0].Within {
		text += ", " + x.signed(list[0].Difference)
	}
	return text
}

func (x *search) measuredCautions(found Matched) (list []Caution) {
	switch {
	case found.Agrees.Known && !found.Agrees.Value:
		list = append(list, x.caution("MEASURES_DISAGREE", Warning, "",
			"Chord, steel and reading do not agree within what each is good to, so one of them is wrong, and the edge may be anywhere within ±%s: measure again.", x.doubt(found.Expanded.Value)))
	case found.Expanded.Value > toldBadly && found.Improve != nil:
		list = append(list, x.caution("TOLD_BADLY", Warning, "", "These measures tell the edge to ±%s only. %s.", x.doubt(found.Expanded.Value), found.Improve.Text))
	}
	return append(list, x.perFace()...)
}

// perFace reminds of which angle of a tool with two bevels is meant.
func (x *search) perFace() []Caution {
	if !x.tool.Kind.TwoBevels() {
		return nil
	}
	return []Caution{x.caution("ONE_FACE", Note, "", "The angles are of one face, from the mid-plane; both faces together are the included angle. Match the other face by itself: they may differ.")}
}

// nearest are the shop's recipes for the tool's kind, all where the kind is not known, whose edge is nearest to the one found.
func (s Solver) nearest(ctx context.Context, q Common, r rig, edge, expanded unit.Angle) ([]RecipeMatch, error) {
	if q.Shop == "" {
		return nil, nil
	}
	recipes, err := s.Records.Recipes(ctx, q.Shop, q.AsOf)
	if err != nil {
		return nil, err
	}
	var list []RecipeMatch
	for _, recipe := range recipes {
		front, ok := r.edgeOf(recipe)
		if !ok || !suits(recipe, r.tool) {
			continue
		}
		off := front - edge
		list = append(list, RecipeMatch{Name: recipe.Name, DisplayName: recipe.DisplayName, Difference: off, Within: math.Abs(float64(off)) <= float64(expanded)})
	}
	slices.SortStableFunc(list, func(a, b RecipeMatch) int {
		off := func(m RecipeMatch) float64 { return math.Round(math.Abs(m.Difference.Degrees()) * 1e9) }
		return cmp.Or(cmp.Compare(off(a), off(b)), strings.Compare(a.Name, b.Name))
	})
	return list[:min(mostMatches, len(list))], nil
}

// edgeOf is the edge angle that a recipe means, on the tool's lower or first face; false where this wheel cannot grind it through the
// tool's steel.
func (r rig) edgeOf(recipe shop.Recipe) (unit.Angle, bool) {
	r.recipe, r.hasRecipe, r.others = recipe, true, nil
	if r.tool.Kind == shop.AnyTool && len(recipe.Tools) > 0 {
		r.tool.Kind = recipe.Tools[0]
	}
	faces, err := r.grind(recipe.Grind)
	if err != nil {
		return 0, false
	}
	return faces[len(faces)-1].bevels[0].front, true
}
