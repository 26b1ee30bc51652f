package setup

import (
	"errors"
	"fmt"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// face is one face of a tool, with its own bevels and its own place on the support.
type face struct {
	side   Side
	bevels []bevel
	stack  geometry.Stack
	steel  shop.Maybe[unit.Length] // depth below the edge, where the last bevel runs out
	above  shop.Maybe[unit.Length] // the reference line above the bed, when the tool lies on this face's back
	bed    shop.Maybe[unit.Length] // the same on the tool's first face
}

// bevel is one bevel with its front end's place in the tool.
type bevel struct {
	index         int
	front         unit.Angle
	hollow        geometry.Hollow
	sized         bool // the hollow is known
	behind, below unit.Length
	width         shop.Maybe[unit.Length] // as wanted
	given         shop.Settings           // decided for this bevel
}

// reground is the bevel's hollow when its front end gets another angle than planned.
func (b bevel) reground(w geometry.Wheel, f face, front unit.Angle) (geometry.Hollow, bool) {
	var h geometry.Hollow
	err := error(&geometry.BevelError{})
	switch {
	case b.width.Known:
		h, err = w.HollowOfChord(front, b.width.Value)
	case f.steel.Known:
		h, err = w.HollowOfDepth(front, f.steel.Value-b.below)
	}
	return h, err == nil
}

// faces are the faces to grind, in order.
func (r *rig) faces() []face {
	steel, above := r.steel()
	switch {
	case r.tool.Kind.TwoBevels():
		return []face{{side: FirstSide, steel: steel, above: above, bed: above}, {side: SecondSide, steel: steel, above: above, bed: above}}
	case r.tool.Kind == shop.NegativeRakeScraper:
		y := r.tool.EdgeBelowTop
		return []face{
			{side: UpperSide, steel: y, above: y, bed: above},
			{side: FirstSide, steel: steel, above: above, bed: above},
		}
	}
	return []face{{side: OnlySide, steel: steel, above: above, bed: above}}
}

// steel is the depth of steel below the edge and the height of the reference line above the bed.
func (r *rig) steel() (depth, above shop.Maybe[unit.Length]) {
	t := r.tool
	switch {
	case t.Kind.TwoBevels():
		half := t.Thickness
		if !half.Known {
			half = r.recipe.Steel
		}
		half.Value /= 2
		return half, half
	case t.Kind == shop.NegativeRakeScraper:
		lower := shop.Maybe[unit.Length]{Value: t.Thickness.Value - t.EdgeBelowTop.Value, Known: t.Thickness.Known && t.EdgeBelowTop.Known}
		return lower, lower
	case t.Thickness.Known:
		return t.Thickness, t.Thickness
	case t.SteelUnderFlute.Known:
		return t.SteelUnderFlute, t.SteelUnderFlute
	}
	return r.recipe.Steel, r.recipe.Steel
}

// grind plans the bevels of every face.
func (r *rig) grind(g shop.Grind) ([]face, error) {
	faces := r.faces()
	for i := range faces {
		f := &faces[i]
		plan := g.Bevels
		path := func(i int) string { return fmt.Sprintf("grind.bevels[%d]", i) }
		if f.side == UpperSide {
			if !g.Upper.Known {
				return nil, fault.Field("grind.upper_bevel", fault.Missing, "a negative-rake tool has a bevel above its edge too: say its angle")
			}
			plan, path = []shop.Bevel{g.Upper.Value}, func(int) string { return "grind.upper_bevel" }
		} else if g.Upper.Known && r.tool.Kind != shop.NegativeRakeScraper {
			return nil, fault.Field("grind.upper_bevel", fault.Contradiction, "only a negative-rake tool has a bevel above its edge")
		}
		if err := r.chain(f, plan, path, g.Upper); err != nil {
			return nil, err
		}
	}
	return faces, nil
}

// chain lays a face's bevels one behind the other, each starting where the one before it ends, each with its own wheel.
func (r *rig) chain(f *face, plan []shop.Bevel, path func(int) string, upper shop.Maybe[shop.Bevel]) error {
	for i, wanted := range plan {
		field, on := path(i), r.at(i)
		b := bevel{index: i, width: wanted.Width, given: wanted.Given}
		b.behind, b.below = f.stack.End()
		if err := on.checkWidth(field, wanted, plan, i); err != nil {
			return err
		}
		if err := on.front(&b, *f, wanted, field, upper); err != nil {
			return err
		}
		if err := on.size(&b, *f, field); err != nil {
			return err
		}
		if err := f.lay(b, field); err != nil {
			return err
		}
	}
	return nil
}

// at is the rig a bevel is ground on.
func (r *rig) at(index int) *rig {
	if other, ok := r.others[index]; ok {
		return &other
	}
	return r
}

// lay puts a bevel behind those a face has.
func (f *face) lay(b bevel, field string) error {
	f.bevels = append(f.bevels, b)
	hollow := b.hollow
	if !b.sized { // the steel's depth is not known, so any width stands for the last bevel's
		hollow = geometry.Hollow{Front: b.front, Reading: b.front, Far: b.front, Chord: 1}
	}
	stack, err := f.stack.Then(hollow)
	var rising *geometry.RisingError
	var crossing *geometry.CrossingError
	switch {
	case err == nil:
		f.stack = stack
		return nil
	case errors.As(err, &rising):
		return refuse(BevelsNotFalling, field, "the wheel's tangent falls from edge to heel: bevel %d starts at %s where the one before it ends at %s, so it would grind air; keep it below that",
			b.index+1, degrees(rising.Front), degrees(rising.Before)).contradicts().angle(rising.Front).most(rising.Before.Degrees()).err()
	case errors.As(err, &crossing):
		return refuse(BevelsCross, field, "%v; a wheel of another size, a narrower bevel or a smaller angle would not", crossing).contradicts().err()
	case b.index == 0:
		f.stack = geometry.Stack{{Hollow: hollow}} // a lone bevel may be upright
		return nil
	}
	return refuse(BevelsNotFalling, field, "%v", err).contradicts().angle(b.front).err()
}

// checkWidth wants a width on every bevel but the last. Angles that rise are the more telling mistake, so they are named first.
func (r *rig) checkWidth(field string, wanted shop.Bevel, plan []shop.Bevel, i int) error {
	if wanted.Width.Known || i == len(plan)-1 {
		return nil
	}
	if next := plan[i+1]; next.Of == wanted.Of && next.Angle >= wanted.Angle {
		return refuse(BevelsNotFalling, fmt.Sprintf("grind.bevels[%d]", i+1), "angles fall from edge to heel: %s comes after %s; list the edge's bevel first",
			degrees(next.Angle), degrees(wanted.Angle)).contradicts().angle(next.Angle).most(wanted.Angle.Degrees()).err()
	}
	return fault.Field(field+".width_mm", fault.Missing, "every bevel but the last needs its width, the land's chord")
}

// front finds the tangent at a bevel's front end from whichever angle was asked for.
func (r *rig) front(b *bevel, f face, wanted shop.Bevel, field string, upper shop.Maybe[shop.Bevel]) error {
	angle := wanted.Angle
	if isIncluded(wanted.Of) {
		switch {
		case r.tool.Kind.TwoBevels():
			angle /= 2
		case r.tool.Kind == shop.NegativeRakeScraper && f.side != UpperSide && upper.Value.Of == singleOf(wanted.Of):
			if angle -= upper.Value.Angle; angle <= 0 {
				return refuse(TooKeen, field, "the bevel above the edge has %s by itself, so %s together leave nothing for this one", degrees(upper.Value.Angle), degrees(wanted.Angle)).
					angle(wanted.Angle).least(upper.Value.Angle.Degrees()).err()
			}
		default:
			return fault.Field(field, fault.Contradiction, "only a tool with two bevels has an included angle; say front_angle_deg or reading_deg")
		}
	}
	if singleOf(wanted.Of) == shop.FrontAngle {
		b.front = angle
		return nil
	}
	chord := wanted.Width
	if !chord.Known {
		if !f.steel.Known {
			return fault.Field(field, fault.Missing, "a bevel reading needs the steel's depth: say the tool's steel_under_flute_mm or blade_thickness_mm, or front_angle_deg instead")
		}
		chord = shop.Some(geometry.ChordThrough(angle, f.steel.Value-b.below))
	}
	front, err := r.surface.FrontOfReading(angle, chord.Value)
	if err != nil {
		return refuse(TooKeen, field, "a bevel of %s reading would be %s long, more than the wheel's diameter", degrees(angle), mm(chord.Value)).
			length(chord.Value).most(float64(r.surface.Diameter())).err()
	}
	if front <= 0 {
		return refuse(TooKeen, field, "a bevel reading of %s would be %s long and its front angle %s", degrees(angle), mm(chord.Value), degrees(front)).angle(front).least(0).err()
	}
	b.front = front
	return nil
}

// isIncluded tells whether an angle counts both faces together.
func isIncluded(of shop.AngleOf) bool { return of != singleOf(of) }

// singleOf is the same angle of one face alone.
func singleOf(of shop.AngleOf) shop.AngleOf {
	switch of {
	case shop.IncludedFrontAngle:
		return shop.FrontAngle
	case shop.IncludedReading:
		return shop.Reading
	}
	return of
}

// nothing is a length that no machine can tell from none, a picometre; the last binary digits of 2 m are less.
const nothing unit.Length = 1e-9

// size finds a bevel's hollow, where enough is known, and refuses one that does not fit the steel.
func (r *rig) size(b *bevel, f face, field string) error {
	left := f.steel.Value - b.below
	hollow, ok := b.reground(r.surface, f, b.front)
	if !ok {
		if b.width.Known {
			return refuse(LandTooLong, field+".width_mm", "a bevel %s wide is wider than the wheel's diameter", mm(b.width.Value)).contradicts().
				length(b.width.Value).most(float64(r.surface.Diameter())).err()
		}
		if f.steel.Known {
			return refuse(BevelNeverEnds, field, "from %s this wheel never comes out of %s of steel", degrees(b.front), mm(left)).length(left).err()
		}
		return nil
	}
	b.hollow, b.sized = hollow, true
	if !b.width.Known || !f.steel.Known {
		return nil
	}
	if _, down := hollow.End(); down > left+nothing {
		// A land that goes deeper than the steel passes its end on the way, so the whole bevel exists.
		most, _ := r.surface.HollowOfDepth(b.front, left)
		return refuse(LandTooLong, field+".width_mm", "the steel ends first: from %s the whole bevel is %s wide", degrees(b.front), mm(most.Chord)).contradicts().
			length(b.width.Value).most(float64(most.Chord)).err()
	}
	return nil
}
