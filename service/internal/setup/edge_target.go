package setup

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
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
		return shop.Some(Caution{"WING_UNREACHED", Warning, x.wing.place() + " is not reached by the wheel at all; AnalyzeEdge says from where on, and what would reach.", ""})
	}
	return shop.Some(Caution{"WING_OFF_TARGET", Warning, fmt.Sprintf("%s gets %s where %s was wanted, ±%s: %s.",
		x.wing.place(), degrees(wedge), degrees(x.wing.Wedge), degrees(x.wing.Tolerance), signed(wedge-x.wing.Wedge)), ""})
}

// place is the target's place in words.
func (a *wingAim) place() string {
	switch math.Abs(a.Along) {
	case 1:
		return "The wing's end"
	case 0:
		return "The nose"
	}
	return unit.FormatFixed(100*math.Abs(a.Along), 0) + " % of the wing"
}

// attained is a choice and the wedge angle it makes on the wing.
type attained struct {
	choice choice
	wedge  unit.Angle
}

// checkWing refuses a wing that nothing among the free settings makes: it says what they do make, and the nearest.
func (x *search) checkWing(ctx context.Context, faces []face, p plan) *no {
	if x.wing == nil || !x.supportFree || !x.stickFree && !x.legFree || x.wingMiss(p) <= x.wing.Tolerance {
		return nil
	}
	all, n := x.attainable(ctx, faces)
	if n != nil {
		return n
	}
	field := "grind.wing.wedge_angle_deg"
	if len(all) == 0 {
		return refuse(WingOutOfReach, field, "with none of the settings that are free does the wheel reach %s; a smaller setback would", lower(x.wing.place())).angle(x.wing.Wedge)
	}
	least, most := all[0].wedge, all[0].wedge
	for _, a := range all {
		least, most = min(least, a.wedge), max(most, a.wedge)
	}
	if x.wing.Wedge >= least-x.wing.Tolerance && x.wing.Wedge <= most+x.wing.Tolerance {
		return nil // the nearest of a few leg positions: the answer says by how much it misses
	}
	n = refuse(WingOutOfReach, field, "with the nose as wanted %s can get from %s to %s, not %s", lower(x.wing.place()), degrees(least), degrees(most), degrees(x.wing.Wedge)).
		angle(x.wing.Wedge).least(least.Degrees()).most(most.Degrees())
	slices.SortStableFunc(all, func(a, b attained) int {
		return cmp.Compare(math.Abs(float64(a.wedge-x.wing.Wedge)), math.Abs(float64(b.wedge-x.wing.Wedge)))
	})
	for _, a := range all[:min(mostWays, len(all))] {
		n.Ways = append(n.Ways, x.way(a.choice, fmt.Sprintf("%s, which makes it %s", x.choiceText(a.choice), degrees(a.wedge))))
	}
	return n
}

// attainable is what the free settings make of the wing.
func (x *search) attainable(ctx context.Context, faces []face) (all []attained, n *no) {
	choices, n := x.choices(faces[0], faces[0].bevels[0], wingCost)
	if n != nil {
		return nil, n
	}
	for i, c := range choices {
		if i%64 == 63 && ctx.Err() != nil {
			return nil, &no{Fault: cancelled(ctx)}
		}
		p, n := x.try(faces, c)
		if n != nil {
			continue
		}
		if wedge, ok := x.wingOf(p); ok {
			all = append(all, attained{choice: c, wedge: wedge})
		}
	}
	return all, nil
}

func (x *search) choiceText(c choice) string {
	text := "a stick-out of " + x.length(c.stickOut)
	if c.position != "" {
		return text + " with the leg at position " + c.position
	}
	if x.holder.Kind == shop.Swing {
		text += " with the leg at " + degrees(c.leg)
	}
	return text
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
		out.Limit = limit(t.runningBack(best + 0.02))
	}
	e := t.runningBack(best)
	out.Wing, out.Least = unit.Angle(g.Face(e.At(e.Right)).Wedge), keenest(g, e)
	out.Text = fmt.Sprintf("The wings may run back %s; their ends then get %s, and no place is keener than %s.", mm(roundDown(best, 0.01)), degrees(out.Wing), degrees(out.Least))
	if out.Limit != "" {
		out.Text += " Further back " + furthestWords[out.Limit] + "."
	}
	return out, nil
}

// furthestWords say what comes first beyond a setback.
var furthestWords = map[string]string{
	unreached: "the wheel no longer touches the edge along its own line", illConditioned: "the angle moves as a square root of the setting",
	undercutEdge: "the wheel would cut the edge away beside the place it grinds", undercutArc: "the wheel would cut into the face beside the one it grinds",
	undercutOther: "the wheel would cut into another part of the edge", leanTooFar: "the tool leans further than holder and pocket let it",
	wedgeTooKeen: "a place would be keener than asked for",
}

// noSetback refuses where not even an edge straight across is ground.
func (x *search) noSetback(limit string, least unit.Angle) *no {
	n := refuse(WingOutOfReach, "settings", "no setback works on this setting, not even an edge straight across: %s", furthestWords[limit])
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
