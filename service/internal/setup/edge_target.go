package setup

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// wingAim is a wedge angle wanted on the wings of a tool.
type wingAim struct {
	shop.WingTarget
	tool shaped
}

// wingCost is how many bevels' work it is to see what a choice does to the wings.
const wingCost = 4

// aim is the wing target of a grind, or of the recipe's; nil where none is.
func (x *search) aim(asked *shop.Grind) (*wingAim, error) {
	g := x.recipe.Grind
	if asked != nil {
		g = *asked
	}
	if !g.Wing.Known {
		return nil, nil
	}
	tool, err := x.shaped(shop.Maybe[shop.EdgeShape]{})
	if err != nil {
		return nil, err
	}
	return &wingAim{WingTarget: g.Wing.Value, tool: tool}, nil
}

// at is the target's place along the flute.
func (a *wingAim) at() float64 {
	if a.Along < 0 {
		return a.Along * a.tool.edge.Left
	}
	return a.Along * a.tool.edge.Right
}

// wingOf is the wedge angle a plan grinds where the target is; false where the wheel does not reach from there to the nose.
func (x *search) wingOf(p plan) (unit.Angle, bool) {
	last := p[len(p)-1]
	y := x.at(last.bevel)
	g := y.swing(last, x.wing.tool)
	edge := x.wing.tool.on(g)
	const between = 4
	for i := range between {
		if !g.Face(edge.At(x.wing.at() * float64(i) / between)).Reached() {
			return 0, false
		}
	}
	f := g.Face(edge.At(x.wing.at()))
	return unit.Angle(f.Wedge), f.Reached()
}

// wingMiss is how far a plan is off the target; 0 where there is none, and half a turn where the target's place is not reached.
func (x *search) wingMiss(p plan) unit.Angle {
	if x.wing == nil {
		return 0
	}
	wedge, ok := x.wingOf(p)
	if !ok {
		return math.Pi
	}
	return unit.Angle(math.Abs(float64(wedge - x.wing.Wedge)))
}

// wingCaution says how far off the wing is, where it is further than it may be.
func (x *search) wingCaution(p plan) (c shop.Maybe[Caution]) {
	if x.wing == nil || x.wingMiss(p) <= x.wing.Tolerance {
		return c
	}
	wedge, ok := x.wingOf(p)
	if !ok {
		c := x.caution("WING_UNREACHED", Warning, "", "%s is not reached by the wheel at all; the analysis of the whole edge says from where on, and what would reach.", x.wing.place(x.in.Language))
		c.Text = words.Upper(c.Text)
		return shop.Some(c)
	}
	off := x.caution("WING_OFF_TARGET", Warning, "", "%s gets %s where %s was wanted, ±%s: %s.",
		x.wing.place(x.in.Language), x.degrees(wedge), x.degrees(x.wing.Wedge), x.degrees(x.wing.Tolerance), x.signed(wedge-x.wing.Wedge))
	off.Text = words.Upper(off.Text)
	return shop.Some(off)
}

// place is the target's place in words.
func (a *wingAim) place(in words.Language) string {
	switch math.Abs(a.Along) {
	case 1:
		return in.Say("the wing's end")
	case 0:
		return in.Say("the nose")
	}
	return in.Say("%s %% of the wing", in.Number(100*math.Abs(a.Along), 0))
}

// solvable tells whether the engine solves nose and wing together: not for an even swing, whose edge follows its setting.
func (a *wingAim) solvable() bool { return a != nil && a.tool.shape.Plan != shop.EvenSwingPlan }

// nosed is the target as the engine takes it: the nose's wedge and the wing's.
func (x *search) nosed(nose unit.Angle) swung.Target {
	g := swung.Setting{Wheel: x.surface, Aside: x.asides.Pivot, Roll: x.asides.Roll, Contact: x.asides.Contact}
	if bar := x.wing.tool.bar; bar.Known {
		g.Centre = unit.Length(bar.Value.Centre())
	}
	return swung.Target{Edge: x.wing.tool.edge, Setting: g, Nose: nose, Along: x.wing.at(), Wedge: x.wing.Wedge}
}

// legFamily is the pivots that a leg free to turn makes, stickFamily those of a free stick-out with a leg.
func (x *search) legFamily() swung.Family {
	return swung.Legs(x.holder.Arm, x.settings.StickOut.Value, x.holder.Leg.Least, x.holder.Leg.Most)
}

func (x *search) stickFamily(leg choice) swung.Family {
	atNone, _ := x.pivotOf(face{}, choice{leg: leg.leg})
	return swung.StickOuts(atNone, shortestStickOut, x.longestTried())
}

// exact are the values of a family's free size that grind nose and wing; where none does, the one that comes nearest.
func exact(t swung.Target, f swung.Family) []float64 {
	var at []float64
	for _, a := range t.Answers(f) {
		at = append(at, a.At)
	}
	if len(at) == 0 {
		if a, ok := t.Nearest(f); ok {
			at = append(at, a.At)
		}
	}
	return at
}

// wingLegs are the leg angles, rounded both ways, that grind nose and wing; none where there is no wing wanted, or the stick-out is free too.
// They come before the steps that are tried in any case: where the slide does not go there, another may do.
func (x *search) wingLegs(b bevel) (list []choice) {
	if !x.wing.solvable() || x.stickFree {
		return nil
	}
	for _, leg := range exact(x.nosed(b.front), x.legFamily()) {
		list = append(list, x.legsNear(unit.Angle(leg))...)
	}
	return slices.DeleteFunc(list, func(c choice) bool {
		return x.checkChoice(choice{stickOut: x.settings.StickOut.Value, leg: c.leg}) != nil
	})
}

// wingSticks are the stick-outs, rounded both ways, that grind nose and wing with a leg; likewise.
func (x *search) wingSticks(b bevel, leg choice) (list []choice) {
	if !x.wing.solvable() {
		return nil
	}
	for _, stick := range exact(x.nosed(b.front), x.stickFamily(leg)) {
		list = append(list, x.sticksNear(unit.Length(stick))...)
	}
	return list
}

// checkWing refuses a wing that nothing among the free settings makes: it says what they do make, and the nearest.
func (x *search) checkWing(ctx context.Context, faces []face, p plan) *no {
	if !x.wing.solvable() || !x.supportFree || !x.stickFree && !x.legFree || x.wingMiss(p) <= x.wing.Tolerance {
		return nil
	}
	b := faces[0].bevels[0]
	field := "grind.wing.wedge_angle_deg"
	least, most, ok := x.attainable(b)
	switch {
	case !ok:
		return refuse(WingOutOfReach, field, "with none of the settings that are free does the wheel reach %s; a smaller setback would", x.wing.place(words.Language{})).angle(x.wing.Wedge)
	case x.wing.Wedge >= least-x.wing.Tolerance && x.wing.Wedge <= most+x.wing.Tolerance:
		return nil // the nearest of a few leg positions, or of what can be set: the answer says by how much it misses
	}
	n := refuse(WingOutOfReach, field, "with the nose as wanted %s can get from %s to %s, not %s", x.wing.place(words.Language{}), degrees(least), degrees(most), degrees(x.wing.Wedge)).
		angle(x.wing.Wedge).least(least.Degrees()).most(most.Degrees())
	n.Ways = x.wingWays(ctx, faces)
	return n
}

// attainable is what the free settings make of the wing, from the least to the largest; false where they do not reach it.
func (x *search) attainable(b bevel) (least, most unit.Angle, ok bool) {
	least, most = math.Pi, 0
	t := x.nosed(b.front)
	for _, f := range x.families() {
		for _, a := range t.Attainable(f) {
			least, most, ok = min(least, unit.Angle(a.Least.Wing.Wedge)), max(most, unit.Angle(a.Most.Wing.Wedge)), true
		}
	}
	return least, most, ok
}

// families are the pivots that the free settings can make.
func (x *search) families() (list []swung.Family) {
	legs := []choice{x.givenLeg()}
	switch {
	case !x.legFree:
	case len(x.holder.Positions) > 0:
		legs = x.legs(face{}, bevel{})
	case !x.stickFree:
		return []swung.Family{x.legFamily()}
	default:
		legs = x.legSteps()
	}
	for _, leg := range legs {
		f := x.stickFamily(leg)
		if !x.stickFree {
			f.From, f.To = float64(x.settings.StickOut.Value), float64(x.settings.StickOut.Value)
		}
		list = append(list, f)
	}
	return list
}

// wingWays are the settings that come nearest, each tried whole: what it says it makes, it makes.
func (x *search) wingWays(ctx context.Context, faces []face) (ways []Way) {
	choices, n := x.choices(faces[0], faces[0].bevels[0], wingCost)
	if n != nil {
		return nil
	}
	type attained struct {
		choice
		wedge unit.Angle
	}
	var all []attained
	for i, c := range choices {
		if i%64 == 63 && ctx.Err() != nil {
			return nil
		}
		if p, n := x.try(faces, c); n == nil {
			if wedge, ok := x.wingOf(p); ok {
				all = append(all, attained{c, wedge})
			}
		}
	}
	miss := func(a attained) float64 { return math.Abs(float64(a.wedge - x.wing.Wedge)) }
	slices.SortStableFunc(all, func(a, b attained) int { return cmp.Compare(miss(a), miss(b)) })
	for _, a := range all[:min(mostWays, len(all))] {
		ways = append(ways, x.way(a.choice, x.say("%s, which makes it %s", x.choiceText(a.choice), x.degrees(a.wedge))))
	}
	return ways
}

func (x *search) choiceText(c choice) string {
	stick := x.setLength(c.stickOut)
	switch {
	case c.position != "":
		return x.say("a stick-out of %s with the leg at position %s", stick, c.position)
	case x.holder.Kind == shop.Swing:
		return x.say("a stick-out of %s with the leg at %s", stick, x.degrees(c.leg))
	}
	return x.say("a stick-out of %s", stick)
}

// FurthestQuestion asks how far back the wings of an edge may go.
type FurthestQuestion struct {
	Question
	Settings *shop.Settings
	Shape    shop.Maybe[shop.EdgeShape]
	Least    shop.Maybe[unit.Angle] // keener than this no place may be
}

// Furthest is how far back the wings may go.
type Furthest struct {
	Setback     unit.Length
	Limit       string // what comes first beyond it
	Wing, Least unit.Angle
	Shape       shop.EdgeShape
	Text        string
	Basis       Basis
}

// wedgeTooKeen limits a setback where the wing would be keener than it may be.
const wedgeTooKeen = "WEDGE_TOO_KEEN"

// FindFurthestWing finds the largest setback at which the whole edge is ground.
func (s Solver) FindFurthestWing(ctx context.Context, q FurthestQuestion) (Furthest, error) {
	x, p, err := s.placed(ctx, q.Question, q.Settings)
	if err != nil {
		return Furthest{}, err
	}
	x = *x.at(p[len(p)-1].bevel)
	t, err := x.shaped(q.Shape)
	if err != nil {
		return Furthest{}, err
	}
	if t.shape.Plan != shop.SetbackPlan {
		t.shape = shop.EdgeShape{Plan: shop.SetbackPlan, Exponent: 2, AlongFlute: shop.Some(unit.Length(math.Max(t.edge.Left, t.edge.Right)))}
		t.edge.Left, t.edge.Right = float64(t.shape.AlongFlute.Value), float64(t.shape.AlongFlute.Value)
	}
	least := q.Least.Or(x.station.EdgeAngles.Or(defaultEdgeAngles).Least)
	g := x.swing(p[len(p)-1], t)
	limit := func(e swung.Edge) string {
		if trouble := x.trouble(p[len(p)-1], g, t, e); trouble != "" {
			return trouble
		}
		if keenest(g, e) < least {
			return wedgeTooKeen
		}
		return ""
	}
	most := 4*t.edge.Right + 20 // a wing that runs back further is a spear
	best, ok := t.furthest(most, func(e swung.Edge) bool { return limit(e) == "" })
	if !ok {
		return Furthest{}, x.noSetback(limit(t.runningBack(0)), least).err()
	}
	out := Furthest{Setback: best, Shape: t.shape, Basis: x.basis()}
	out.Shape.Setback = best
	if float64(best) < most {
		out.Limit = limit(t.runningBack(best + 0.01))
	}
	e := t.runningBack(best)
	out.Wing, out.Least = unit.Angle(g.Face(e.At(e.Right)).Wedge), keenest(g, e)
	out.Text = x.say("The wings may run back %s; their ends then get %s, and no place is keener than %s.", x.mm(best), x.degrees(out.Wing), x.degrees(out.Least))
	if out.Limit != "" {
		out.Text += " " + x.say(furthestWords[out.Limit])
	}
	return out, nil
}

// furthestWords say what comes first beyond a setback.
var furthestWords = map[string]words.Text{
	unreached:      "Further back the wheel no longer touches the edge along its own line.",
	illConditioned: "Further back the angle moves as a square root of the setting.",
	undercutEdge:   "Further back the wheel would cut the edge away beside the place it grinds.",
	undercutArc:    "Further back the wheel would cut into the face beside the one it grinds.",
	undercutOther:  "Further back the wheel would cut into another part of the edge.",
	leanTooFar:     "Further back the tool leans further than holder and pocket let it.",
	wedgeTooKeen:   "Further back a place would be keener than asked for.",
}

// noSetback refuses where not even an edge straight across is ground.
func (x *search) noSetback(limit string, least unit.Angle) *no {
	n := refuse(WingOutOfReach, "settings", "no setback works on this setting, not even an edge straight across: %s",
		strings.TrimSuffix(strings.TrimPrefix(string(furthestWords[limit]), "Further back "), "."))
	if limit == wedgeTooKeen {
		n.Field = "least_wedge_angle_deg"
		return n.angle(least)
	}
	if limit == undercutEdge || limit == undercutArc || limit == undercutOther {
		n.Reason = EdgeUndercut
	}
	return n
}

// keenest is the least wedge angle along an edge that is reached.
func keenest(g swung.Setting, e swung.Edge) unit.Angle {
	least := math.Pi
	for _, along := range e.Places(checkedPlaces) {
		if f := g.Face(e.At(along)); f.Reached() {
			least = math.Min(least, f.Wedge)
		}
	}
	return unit.Angle(least)
}
