package setup

import (
	"context"
	"fmt"
	"strings"
	"time"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/wear"
)

// Solver answers questions about set-ups from a shop's records.
type Solver struct {
	Records store.Reader
	Now     func() time.Time // nil: the machine's clock
}

// day is the time that a question is about.
func (s Solver) day(asOf time.Time) time.Time {
	switch {
	case !asOf.IsZero():
		return asOf
	case s.Now != nil:
		return s.Now()
	}
	return time.Now()
}

// rig is one machine, holder and tool, with nothing left to look up.
type rig struct {
	station    shop.Station
	support    shop.Support
	wheel      shop.Wheel
	surface    geometry.Wheel
	belief     wear.Belief // of a wheel that is kept
	holder     shop.Holder
	tool       shop.Tool
	recipe     shop.Recipe
	hasStation bool
	hasRecipe  bool
	asides     Asides
	on         time.Time   // that the question is about
	in         Speech      // how texts are said
	others     map[int]rig // of bevels that are ground elsewhere, by index
}

// tolerance is how far an edge angle may be off: the recipe's, or a degree where none says.
func (r rig) tolerance() unit.Angle { return r.recipe.Tolerance.Or(1 * unit.Degree) }

// resolve makes one rig of a question.
func (s Solver) resolve(ctx context.Context, q Common) (rig, error) {
	r := rig{asides: q.Rig.Asides, on: s.day(q.AsOf)}
	var err error
	if r.in, err = SpeechIn(q.Language, q.Unit); err != nil {
		return r, err
	}
	if err := checkNames(q); err != nil {
		return r, err
	}
	steps := []func(context.Context, Common, *rig) error{s.tool, s.recipe, s.station, s.wheel}
	if !q.Unheld {
		steps = append(steps, s.holder, pickSupport)
	}
	for _, step := range steps {
		if err := step(ctx, q, &r); err != nil {
			return r, err
		}
	}
	r.surface = r.wheel.Surface()
	return r, checkFit(r)
}

// elsewhere resolves the rigs of bevels that are not ground where the others are. The tool stays the same.
func (s Solver) elsewhere(ctx context.Context, q Common, r *rig) error {
	for i, place := range q.Places {
		if !place.said() {
			continue
		}
		if place.Tool.said() {
			return fault.Field(fmt.Sprintf("grind.bevels[%d].rig.tool", i), fault.Contradiction, "all bevels are on one tool: name it in rig.tool")
		}
		there := q
		there.Rig = q.Rig.overlaid(place)
		other, err := s.resolve(ctx, there)
		if err != nil {
			return err
		}
		if err := checkWheel(other).err(); err != nil {
			return err
		}
		if r.others == nil {
			r.others = map[int]rig{}
		}
		r.others[i] = other
	}
	return nil
}

func (r RigSource) said() bool {
	return r.Station.said() || r.Wheel.said() || r.Support != "" || r.Holder.said() || r.Tool.said() || r.Asides != Asides{}
}

// checkNames holds every name against the shop of the request.
func checkNames(q Common) error {
	names := []struct{ field, name string }{
		{"rig.station", q.Rig.Station.Name},
		{"rig.wheel", q.Rig.Wheel.Name},
		{"rig.holder", q.Rig.Holder.Name},
		{"rig.tool", q.Rig.Tool.Name},
		{"recipe", q.Recipe},
	}
	if t := q.Rig.Tool.Inline; t != nil && q.Recipe == "" && q.Grind == nil {
		names = append(names, struct{ field, name string }{"rig.inline_tool.recipe", t.Recipe})
	}
	for _, n := range names {
		switch {
		case n.name == "":
		case q.Shop == "":
			parts := strings.SplitN(n.name, "/", 3)
			return fault.Field("shop", fault.Missing, "%s is a name, so say whose: shop %q, or write the thing out", n.field, strings.Join(parts[:min(2, len(parts))], "/"))
		case !strings.HasPrefix(n.name, q.Shop+"/"):
			return fault.Field(n.field, fault.Contradiction, "%s is not in %s", n.name, q.Shop)
		}
	}
	return nil
}

func (s Solver) tool(ctx context.Context, q Common, r *rig) (err error) {
	r.tool, _, err = look(ctx, q.Rig.Tool, q.AsOf, s.Records.Tool)
	return err
}

func (s Solver) recipe(ctx context.Context, q Common, r *rig) (err error) {
	name := q.Recipe
	if name == "" && q.Grind == nil {
		name = r.tool.Recipe
	}
	if name == "" {
		return nil
	}
	r.hasRecipe = true
	r.recipe, err = s.Records.Recipe(ctx, name, q.AsOf)
	return err
}

func (s Solver) station(ctx context.Context, q Common, r *rig) (err error) {
	r.station, r.hasStation, err = look(ctx, q.Rig.Station, q.AsOf, s.Records.Station)
	return err
}

func (s Solver) wheel(ctx context.Context, q Common, r *rig) (err error) {
	var said bool
	r.wheel, said, err = look(ctx, q.Rig.Wheel, q.AsOf, s.Records.Wheel)
	switch {
	case err != nil || said && q.Rig.Wheel.Inline != nil:
		return err
	case said:
		return s.believe(ctx, q, r)
	case r.station.Name == "" || q.Rig.Station.Inline != nil:
		return fault.Field("rig.wheel", fault.Missing, "say where the tool is ground: a station (its wheel comes with it), a wheel's name, or a wheel written out, {\"diameterMm\": 200}")
	}
	if r.wheel, err = s.Records.MountedWheel(ctx, r.station.Name, q.AsOf); err != nil {
		return err
	}
	return s.believe(ctx, q, r)
}

// believe asks the wheel's log how well its diameter is known by now. What it says counts in place of how well it was measured.
func (s Solver) believe(ctx context.Context, q Common, r *rig) error {
	if r.wheel.Flat {
		return nil
	}
	log, err := s.Records.WheelLog(ctx, r.wheel.Name, q.AsOf)
	if err != nil {
		return err
	}
	r.belief = wear.Of(r.wheel, log.Measured, log.Ground).Believed(r.on)
	r.wheel.Doubt = shop.Some(r.belief.HalfWidth)
	return nil
}

func (s Solver) holder(ctx context.Context, q Common, r *rig) (err error) {
	var said bool
	r.holder, said, err = look(ctx, q.Rig.Holder, q.AsOf, s.Records.Holder)
	switch {
	case said || err != nil:
		return err
	case r.recipe.Holder != "":
		r.holder, err = s.Records.Holder(ctx, r.recipe.Holder, q.AsOf)
		return err
	case r.hasRecipe || supportByID(r.station, q.Rig.Support).Kind == shop.Platform:
		r.holder = shop.Holder{Kind: shop.NoHolder}
		return nil
	}
	return fault.Field("rig.holder", fault.Missing, "say what holds the tool: a holder's name, a holder written out, or {\"none\": {}} for a platform")
}

// look gives a source's thing and whether it was said at all.
func look[T any](ctx context.Context, s Source[T], asOf time.Time, read func(context.Context, string, time.Time) (T, error)) (T, bool, error) {
	if s.Inline != nil {
		return *s.Inline, true, nil
	}
	if s.Name == "" {
		var none T
		return none, false, nil
	}
	thing, err := read(ctx, s.Name, asOf)
	return thing, true, err
}

// takes tells whether a support takes a holder of a kind.
func takes(support shop.SupportKind, holder shop.HolderKind) bool {
	switch holder {
	case shop.Clamp:
		return support == shop.Bar
	case shop.Swing, shop.Butted:
		return support == shop.Pocket
	case shop.NoHolder:
		return support == shop.Platform
	default:
		return support != shop.Platform
	}
}

// pickSupport finds the support a holder stands on.
func pickSupport(_ context.Context, q Common, r *rig) error {
	if q.Rig.Support != "" {
		r.support = supportByID(r.station, q.Rig.Support)
		if r.support.ID == "" {
			return fault.Field("rig.support", fault.UnknownValue, "%q is not a support of this station; it has %s", q.Rig.Support, supportIDs(r.station))
		}
		return nil
	}
	var found []shop.Support
	for _, s := range r.station.Supports {
		if takes(s.Kind, r.holder.Kind) {
			found = append(found, s)
		}
	}
	switch len(found) {
	case 1:
		r.support = found[0]
		return nil
	case 0:
		return bareSupport(r)
	}
	return fault.Field("rig.support", fault.Missing, "several supports take this holder; name one of %s", supportIDs(r.station))
}

// bareSupport stands for a machine nobody described: a distance from the wheel and no more.
func bareSupport(r *rig) error {
	if len(r.station.Supports) > 0 {
		return refuse(RigDoesNotFit, "rig.station", "no support of this station takes the holder; it has %s, and the holder needs a %s",
			supportIDs(r.station), neededSupport(r.holder.Kind)).err()
	}
	if r.holder.Kind == shop.NoHolder {
		r.support.Kind = shop.Platform
	}
	return nil
}

func neededSupport(k shop.HolderKind) string {
	switch k {
	case shop.Clamp:
		return "bar"
	case shop.NoHolder:
		return "platform"
	default:
		return "pocket"
	}
}

func supportByID(s shop.Station, id string) shop.Support {
	for _, support := range s.Supports {
		if support.ID == id {
			return support
		}
	}
	return shop.Support{}
}

func supportIDs(s shop.Station) string {
	var ids []string
	for _, support := range s.Supports {
		ids = append(ids, support.ID)
	}
	if len(ids) == 0 {
		return "none"
	}
	return strings.Join(ids, ", ")
}

// checkFit refuses what does not go together.
func checkFit(r rig) error {
	if r.support.Kind != shop.AnySupport && !takes(r.support.Kind, r.holder.Kind) {
		return refuse(RigDoesNotFit, "rig.support", "the holder needs a %s, and %s is not one", neededSupport(r.holder.Kind), r.support.ID).err()
	}
	if t := r.tool; t.Thickness.Known && t.EdgeBelowTop.Known && t.EdgeBelowTop.Value >= t.Thickness.Value {
		return fault.Field("rig.tool.edge_below_top_mm", fault.Contradiction, "the edge cannot lie %s below the top of a blade that is %s thick", mm(t.EdgeBelowTop.Value), mm(t.Thickness.Value))
	}
	return nil
}
