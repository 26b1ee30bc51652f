package setup

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// CurveQuestion asks whether bevels clear the inside of a bowl: a radius, or a profile from rim to middle.
type CurveQuestion struct {
	Common
	Radius  unit.Length
	Profile []geometry.ProfilePoint // in place of the radius
	Lift    shop.Maybe[unit.Angle]  // allowed; unknown: [UsualLift]
}

// UsualLift is how far a land may lift the edge off the wood where nobody says: 3°, on a radius of 40 mm a land of 4.2 mm.
const UsualLift = 3 * unit.Degree

// CurveAnswer is what clears, and what would.
type CurveAnswer struct {
	Clears     bool
	Tightest   shop.Maybe[unit.Length] // of the bevels; unknown: none is wide enough
	Curve      shop.Maybe[unit.Length] // what it was held against; unknown: a profile that is nowhere hollow
	TightestAt shop.Maybe[geometry.ProfilePoint]
	Lift       shop.Maybe[unit.Angle]
	Longest    shop.Maybe[unit.Length] // land
	Relief     shop.Maybe[unit.Angle]
	Underside  shop.Maybe[unit.Angle]
	Shaft      shop.Maybe[unit.Length]
	ShaftAt    shop.Maybe[geometry.ProfilePoint] // the edge cuts
	ShaftNear  shop.Maybe[geometry.ProfilePoint]
	Limit      string
	Cautions   []Caution
	Basis      Basis
	Text       string
}

// CheckCurve holds bevels against a curve.
func (s Solver) CheckCurve(ctx context.Context, q CurveQuestion) (CurveAnswer, error) {
	q.Unheld = true
	r, err := s.resolve(ctx, q.Common)
	if err != nil {
		return CurveAnswer{}, err
	}
	if err := s.elsewhere(ctx, q.Common, &r); err != nil {
		return CurveAnswer{}, err
	}
	faces, err := r.wanted(q.Grind, nil)
	if err != nil {
		return CurveAnswer{}, err
	}
	c := riding{rig: r, face: firstFace(faces), q: q, lift: q.Lift.Or(UsualLift)}
	if !c.face.bevels[len(c.face.bevels)-1].sized {
		return CurveAnswer{}, r.unknownSteel("where the heel is")
	}
	out := CurveAnswer{Tightest: finite(c.face.stack.TightestCurve()), Basis: (&search{rig: r}).basis(), Curve: shop.Some(q.Radius)}
	profile, err := c.profile(&out)
	if err != nil {
		return CurveAnswer{}, err
	}
	if out.Curve.Known {
		c.hold(&out)
	}
	if q.Profile != nil {
		c.shaft(profile, &out)
	}
	out.Clears = out.Limit == ""
	out.Text = c.text(out)
	return out, nil
}

// riding is a tool that rides on edge and land end inside a curve.
type riding struct {
	rig
	face face
	q    CurveQuestion
	lift unit.Angle // allowed
}

func finite(v unit.Length) shop.Maybe[unit.Length] {
	return shop.Maybe[unit.Length]{Value: v, Known: v.IsFinite()}
}

// span is how far apart points of a profile have to be to show a curve that bevels feel: edge to heel.
func (c riding) span() unit.Length {
	behind, below := c.face.stack.End()
	return unit.Length(math.Hypot(float64(behind), float64(below)))
}

// profile reads the question's, and takes its tightest place as the curve.
func (c riding) profile(out *CurveAnswer) (geometry.Profile, error) {
	if c.q.Profile == nil {
		return geometry.Profile{}, nil
	}
	profile, err := geometry.NewProfile(c.q.Profile)
	if err != nil {
		return profile, badProfile(err)
	}
	tightest, hollow := profile.Tightest(c.span())
	out.Curve = shop.Maybe[unit.Length]{Value: tightest.Radius, Known: hollow}
	if hollow {
		out.TightestAt = shop.Some(c.q.Profile[tightest.At])
	}
	return profile, nil
}

// badProfile names the point at which a profile is none.
func badProfile(err error) error {
	var wrong *geometry.ProfileError
	if !errors.As(err, &wrong) {
		return err
	}
	field, why, help := fmt.Sprintf("profile.points[%d]", wrong.At), fault.Contradiction, "leave one of them out"
	switch wrong.Kind {
	case geometry.ProfileCount:
		field, why, help = "profile.points", fault.Missing, "measure more of it"
		if wrong.At > geometry.MostProfilePoints {
			why, help = fault.TooLong, "leave out every other one"
		}
	case geometry.ProfileOutside:
		why, help = fault.OutOfRange, "measure from the axis, which is 0"
	case geometry.ProfileCrosses:
		help = "list the points in the order they lie, from rim to middle, and measure these again"
	}
	return fault.Field(field, why, "%v; %s", wrong, help)
}

// hold holds the bevels against the curve's radius. Every limit has a radius from which on it is kept; the one that comes first as the
// curve gets tighter has the largest.
func (c riding) hold(out *CurveAnswer) {
	stack, curve := c.face.stack, out.Curve.Value
	if lift, err := geometry.Lift(stack[0].Chord, curve); err == nil {
		out.Lift = shop.Some(lift)
	}
	if room, err := stack.UndersideRoom(curve); err == nil {
		out.Underside = shop.Some(room)
	}
	out.Longest = shop.Some(geometry.LongestLand(curve, c.lift))
	out.Relief = c.relief(curve, out.Longest.Value)
	var largest unit.Length
	for _, l := range c.limits() {
		if l.least > curve && l.least > largest {
			largest, out.Limit = l.least, l.name
		}
	}
}

// limit is what touches, or lifts too much, below a radius.
type limit struct {
	name  string
	least unit.Length
}

// limits are the limits of a riding tool, in the order of the tool.
func (c riding) limits() []limit {
	stack := c.face.stack
	list := []limit{{"lift", stack[0].Chord / unit.Length(2*math.Sin(min(float64(c.lift), math.Pi/2)))}}
	for i := 1; i < len(stack); i++ {
		name := fmt.Sprintf("bevel %d", i+1)
		if i == len(stack)-1 {
			name = "heel"
		}
		list = append(list, limit{name, geometry.Stack{stack[0], stack[i]}.TightestCurve()})
	}
	// The underside's room runs out where the heel's dip is asin(|EH| / 2ρ).
	heel, below := c.span(), c.endBelow()
	return append(list, limit{"underside", heel * heel / (2 * below)})
}

func (c riding) endBelow() unit.Length {
	_, below := c.face.stack.End()
	return below
}

// relief is the steepest relief that clears behind the land, or behind the longest allowed.
func (c riding) relief(curve, longest unit.Length) (front shop.Maybe[unit.Angle]) {
	first := c.face.bevels[0]
	land, wheel := first.hollow, c.at(0).surface
	if land.Chord > longest {
		shorter, err := wheel.HollowOfChord(first.front, longest)
		if err != nil {
			return front
		}
		land = shorter
	}
	front.Value, front.Known = c.at(1).surface.ReliefFor(land, curve, c.endBelow())
	return front
}

// shaft finds how much room a profile leaves the bar behind the bevels.
func (c riding) shaft(profile geometry.Profile, out *CurveAnswer) {
	above, known := c.aboveLine()
	room, err := profile.ShaftRoom(c.face.stack, geometry.Shaft{Below: c.endBelow(), Above: above}, c.span())
	if err != nil || !room.Room.IsFinite() {
		return // somewhere the land does not even fit, or no wood lies beside the shaft
	}
	out.Shaft, out.ShaftAt, out.ShaftNear = shop.Some(room.Room), shop.Some(c.q.Profile[room.At]), shop.Some(c.q.Profile[room.Against])
	if room.Room < 0 && out.Limit == "" {
		out.Limit = "shaft"
	}
	if !known {
		out.Cautions = append(out.Cautions, c.caution("FLUTE_SIDE_NOT_CHECKED", Note, "", "How far the bar stands above the flute floor is not known, so towards the other side of the bowl it is taken to end there."))
	}
}

// aboveLine is how far the bar stands above the reference line, where that is known.
func (r rig) aboveLine() (unit.Length, bool) {
	depth, _ := r.steel()
	switch {
	case r.tool.Kind.TwoBevels():
		return depth.Value, depth.Known
	case r.tool.Kind == shop.NegativeRakeScraper:
		return r.tool.EdgeBelowTop.Value, true
	}
	return 0, r.tool.Kind == shop.Scraper
}

// text says all of it.
func (c riding) text(out CurveAnswer) string {
	if !out.Curve.Known {
		return c.say("The profile is nowhere hollow, so no bevel bridges it") + c.limitText(out.Limit) + "." + c.shaftText(out)
	}
	where := c.say("a radius of %s", c.fine(out.Curve.Value))
	if at := out.TightestAt; at.Known {
		where = c.say("a radius of %s, the profile's tightest, %s", c.fine(out.Curve.Value), c.place(at.Value))
	}
	say := []string{c.say("Does not clear %s", where) + c.limitText(out.Limit) + "."}
	if out.Clears {
		say[0] = c.say("Clears %s.", where)
	}
	switch {
	case len(c.face.stack) == 1:
	case out.Tightest.Known:
		say = append(say, c.say("The corners behind the land clear %s and more.", c.fine(out.Tightest.Value)))
	default:
		say = append(say, c.say("A corner behind the land stands proud of it, so these bevels clear no hollow."))
	}
	say = append(say, c.landText(out)...)
	return strings.Join(say, " ") + c.shaftText(out)
}

func (c riding) fine(v unit.Length) string { return c.in.Length(v, 2) }

func (c riding) place(p geometry.ProfilePoint) string {
	return c.say("%s from the axis and %s below the rim", c.fine(p.FromAxis), c.fine(p.BelowRim))
}

// landText says what the land lifts, and which relief would clear behind it.
func (c riding) landText(out CurveAnswer) []string {
	land, longest := c.face.stack[0].Chord, out.Longest.Value
	text := c.say("The land of %s does not fit", c.fine(land))
	if out.Lift.Known {
		text = c.say("The land of %s lifts the edge %s", c.fine(land), c.degrees(out.Lift.Value))
	}
	say := []string{text + c.say("; %s is allowed, which a land of %s makes.", c.degrees(c.lift), c.fine(longest))}
	tooLong := land > longest
	clears, none := words.Text("Behind this land a relief of up to %s clears."), words.Text("No relief behind this land clears: the edge is too keen for this curve and this much steel.")
	if tooLong {
		clears, none = "Behind such a land a relief of up to %s clears.", "No relief behind such a land clears: the edge is too keen for this curve and this much steel."
	}
	switch {
	case out.Relief.Known:
		say = append(say, c.say(clears, c.degrees(out.Relief.Value)))
	case len(c.face.stack) > 1 || tooLong:
		say = append(say, c.say(none))
	}
	return say
}

// limitText says what comes first.
func (c riding) limitText(name string) string {
	switch name {
	case "":
		return ""
	case "lift":
		return c.say(": the land lifts the edge too far")
	case "shaft":
		return c.say(": the shaft strikes the wood")
	case "heel":
		return c.say(": the heel touches first")
	case "underside":
		return c.say(": the underside touches first")
	}
	return c.say(": the corner where bevel %s ends touches first", strings.TrimPrefix(name, "bevel "))
}

func (c riding) shaftText(out CurveAnswer) string {
	room := out.Shaft
	if !room.Known {
		return ""
	}
	at, near := c.place(out.ShaftAt.Value), c.place(out.ShaftNear.Value)
	if room.Value < 0 {
		return c.say(" The shaft would stand %s in the wood, with the edge %s, beside the wood %s.", c.fine(-room.Value), at, near)
	}
	return c.say(" The shaft has %s of room at least, with the edge %s, beside the wood %s.", c.fine(room.Value), at, near)
}
