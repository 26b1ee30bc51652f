package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// Profile is the inside of a bowl in the plane through its axis, as points from the rim to the middle of the bottom. On the other side
// of the axis it goes on as its mirror image.
type Profile struct {
	points []vec2 // behind: from the axis; below: the rim
}

// ProfilePoint is one measured place.
type ProfilePoint struct {
	FromAxis unit.Length // 0 or more
	BelowRim unit.Length
}

// MostProfilePoints is how many points a profile may have: one a millimetre on the largest bowl that a lathe turns.
const MostProfilePoints = 1000

// NewProfile is the profile through points from rim to middle. Fewer than three or more than [MostProfilePoints], one beyond the axis or
// not finite, the same place twice in a row, or a line that crosses or touches itself, is a [*ProfileError].
func NewProfile(points []ProfilePoint) (Profile, error) {
	if n := len(points); n < 3 || n > MostProfilePoints {
		return Profile{}, &ProfileError{Kind: ProfileCount, At: n}
	}
	p := Profile{points: make([]vec2, 0, len(points))}
	for i, from := range points {
		at := vec2{float64(from.FromAxis), float64(from.BelowRim)}
		if !(at.behind >= 0) || !from.FromAxis.IsFinite() || !from.BelowRim.IsFinite() {
			return Profile{}, &ProfileError{Kind: ProfileOutside, At: i}
		}
		if i > 0 && at == p.points[i-1] {
			return Profile{}, &ProfileError{Kind: ProfileRepeated, At: i, With: i - 1}
		}
		p.points = append(p.points, at)
	}
	if at, with, crosses := p.crossesItself(); crosses {
		return Profile{}, &ProfileError{Kind: ProfileCrosses, At: at, With: with}
	}
	return p, nil
}

// crossesItself finds two pieces of the line, each named by its first point, that have a place in common, other than neighbours their
// common end. Neighbours have more than that when the line turns back on itself.
func (p Profile) crossesItself() (at, with int, crosses bool) {
	for i := range len(p.points) - 1 {
		a, b := p.points[i], p.points[i+1]
		for j := range i {
			c, d := p.points[j], p.points[j+1]
			if j == i-1 {
				back, on := c.minus(a), b.minus(a)
				crosses = back.cross(on) == 0 && back.dot(on) > 0
			} else {
				crosses = piecesMeet(a, b, c, d)
			}
			if crosses {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

// piecesMeet tells whether two straight pieces have a place in common: each has its ends on both sides of the other's line, or they lie on
// one line and overlap.
func piecesMeet(a, b, c, d vec2) bool {
	ab, cd := b.minus(a), d.minus(c)
	sideC, sideD := ab.cross(c.minus(a)), ab.cross(d.minus(a))
	sideA, sideB := cd.cross(a.minus(c)), cd.cross(b.minus(c))
	if sideC == 0 && sideD == 0 {
		return overlap(a.behind, b.behind, c.behind, d.behind) && overlap(a.below, b.below, c.below, d.below)
	}
	return oppositeSides(sideA, sideB) && oppositeSides(sideC, sideD)
}

func oppositeSides(a, b float64) bool { return !(a > 0 && b > 0) && !(a < 0 && b < 0) }

func overlap(a, b, c, d float64) bool { return max(min(a, b), min(c, d)) <= min(max(a, b), max(c, d)) }

// ProfileFault is what is wrong with a profile.
type ProfileFault int

// The faults.
const (
	ProfileCount    ProfileFault = iota // At points are too few or too many
	ProfileOutside                      // point At lies beyond the axis or is not finite
	ProfileRepeated                     // points At and With are the same place
	ProfileCrosses                      // the pieces from points At and With onwards meet
)

// ProfileError tells why points are no profile. Points are counted from the rim, from 0.
type ProfileError struct {
	Kind     ProfileFault
	At, With int
}

func (e *ProfileError) Error() string {
	switch e.Kind {
	case ProfileCount:
		return fmt.Sprintf("a profile of %d points; it needs from 3 to %d, from the rim to the middle of the bottom", e.At, MostProfilePoints)
	case ProfileOutside:
		return fmt.Sprintf("point %d of the profile must be finite and not beyond the axis", e.At+1)
	case ProfileRepeated:
		return fmt.Sprintf("points %d and %d of the profile are the same place", e.With+1, e.At+1)
	}
	return fmt.Sprintf("the profile crosses itself: the piece after point %d meets the piece after point %d", e.At+1, e.With+1)
}

// ProfileCurve is how a profile bends at a point: the circle through the point and a neighbour on each side.
type ProfileCurve struct {
	At     int         // the point, counted from the rim, from 0
	Radius unit.Length // infinite where it is straight
}

// Tightest is the point with the smallest concave radius. The radius at a point is that of the circle through it and, on each side, the
// nearest point that is at least a span away: a circle gives its radius whatever the spacing, and with a span of about the bevel's
// length, the wobble of points measured closer than that does not count. Past the middle the neighbours are the mirror image's. False
// where the profile is nowhere concave.
func (p Profile) Tightest(span unit.Length) (ProfileCurve, bool) {
	best := ProfileCurve{Radius: unit.Length(math.Inf(1))}
	for i := range p.points {
		if _, bend, ok := p.bend(i, float64(span)); ok && bend > 0 && unit.Length(1/bend) < best.Radius {
			best = ProfileCurve{At: i, Radius: unit.Length(1 / bend)}
		}
	}
	return best, best.Radius.IsFinite()
}

// bend is the direction towards the rim of the circle at a point, and its curvature: positive where the wood is hollow.
//
// With a and b the ways from the neighbours, inversion about the point takes the circle to a line along a/a² + b/b², and the curvature is
// 2 sin of the turn over the distance of the neighbours. At the rim, which has no neighbour, there is none.
func (p Profile) bend(i int, span float64) (towardsRim vec2, curvature float64, ok bool) {
	before, okBefore := p.neighbour(i, -1, span)
	after, okAfter := p.neighbour(i, 1, span)
	if !okBefore || !okAfter {
		return vec2{}, 0, false
	}
	a, b := p.points[i].minus(before), after.minus(p.points[i])
	along := a.times(1 / a.dot(a)).plus(b.times(1 / b.dot(b)))
	length, apart := along.length(), after.minus(before).length()
	if length == 0 || apart == 0 {
		return vec2{}, 0, false // the line comes back to where it was
	}
	return along.times(-1 / length), 2 * a.cross(b) / (a.length() * b.length() * apart), true
}

// neighbour is the nearest point in a direction along the profile that is at least a span away.
func (p Profile) neighbour(i, step int, span float64) (vec2, bool) {
	for j := i + step; ; j += step {
		at, ok := p.point(j)
		if !ok {
			return vec2{}, false
		}
		if away := at.minus(p.points[i]).length(); away > 0 && away >= span {
			return at, true
		}
	}
}

// point is one of the profile's or, past the middle, of its mirror image. A last point on the axis is its own image, and comes twice.
func (p Profile) point(j int) (vec2, bool) {
	n := len(p.points)
	switch {
	case j < 0 || j >= 2*n:
		return vec2{}, false
	case j < n:
		return p.points[j], true
	}
	at := p.points[2*n-1-j]
	return vec2{-at.behind, at.below}, true
}

// Shaft is the bar of a tool as it stands behind its heel, straight and parallel to the reference line.
type Shaft struct {
	Below unit.Length // its underside, below the reference line
	Above unit.Length // its upper side, above the reference line
}

// ShaftRoom is where a tool's shaft comes nearest to the wood.
type ShaftRoom struct {
	At       int         // the point at which the edge cuts
	Against  int         // the point that is nearest to the shaft
	Opposite bool        // that point is on the other side of the bowl
	Room     unit.Length // between the two, square to the shaft; below 0 the shaft would be in the wood
}

// ShaftRoom rides a tool from rim to middle and finds where its shaft has the least room. At every point but the first the land lies on
// the wood, its heel towards the rim and its chord off the tangent by the lift in the circle through the point and its neighbours
// ([Profile.Tightest], same span). The shaft's underside is held against all points between there and the rim that lie behind the
// tool's heel, and its upper side against the other side of the bowl. The tool is taken to lie in the plane through the axis, handle out
// over the rim. A land that does not fit at a point is a [*CurveError]; no bevels are a [*ShapeError].
func (p Profile) ShaftRoom(s Stack, shaft Shaft, span unit.Length) (ShaftRoom, error) {
	if len(s) == 0 {
		return ShaftRoom{}, &ShapeError{}
	}
	worst := ShaftRoom{Room: unit.Length(math.Inf(1))}
	for i := range p.points {
		towardsRim, curvature, ok := p.bend(i, float64(span))
		if !ok {
			continue
		}
		half := curvature * float64(s[0].Chord) / 2
		if !(math.Abs(half) <= 1) {
			return ShaftRoom{}, &CurveError{Land: s[0].Chord, Curve: unit.Length(1 / math.Abs(curvature))}
		}
		// Seen from the rim the air is on the turning side: from the tangent over the chord to the reference line.
		back := towardsRim.turned(-math.Asin(half) - float64(s[0].Reading))
		if room := p.roomAlong(i, back, s, shaft); room.Room < worst.Room {
			worst = room
		}
	}
	return worst, nil
}

// roomAlong is the least room with the edge at a point and the reference line running back in a direction.
func (p Profile) roomAlong(at int, back vec2, s Stack, shaft Shaft) ShaftRoom {
	up := vec2{back.below, -back.behind} // out of the flute
	heel, _ := s.End()
	worst := ShaftRoom{At: at, Room: unit.Length(math.Inf(1))}
	for j, from := range p.points {
		near := from.minus(p.points[at])
		if room := unit.Length(-near.dot(up)) - shaft.Below; j < at && near.dot(back) >= float64(heel) && room < worst.Room {
			worst.Against, worst.Opposite, worst.Room = j, false, room
		}
		far := vec2{-from.behind, from.below}.minus(p.points[at])
		if room := unit.Length(far.dot(up)) - shaft.Above; far.dot(back) > 0 && from.behind > 0 && room < worst.Room {
			worst.Against, worst.Opposite, worst.Room = j, true, room
		}
	}
	return worst
}
