package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// Stack is a tool's bevels from edge to heel, each an arc that starts where the one before it ends. The arcs may be of different
// wheels.
type Stack []StackBevel

// StackBevel is one bevel with its front end's place in the tool.
type StackBevel struct {
	Hollow
	Behind, Below unit.Length
}

// End is the bevel's heel end, from the edge.
func (b StackBevel) End() (behind, below unit.Length) {
	back, down := b.Hollow.End()
	return b.Behind + back, b.Below + down
}

// End is where the last bevel ends; the edge, where there is none.
func (s Stack) End() (behind, below unit.Length) {
	if len(s) == 0 {
		return 0, 0
	}
	return s[len(s)-1].End()
}

// Then is the stack with one more bevel behind it.
//
// A bevel without width, or one that does not fall from front to heel, is a [*ShapeError]. One whose front angle is not below the tangent
// where the bevel before it ends would grind air there: a [*RisingError]. With unequal wheels that is not enough: a large wheel can
// reach over a hollow and take the edge in front of it, and a small one can turn up so fast that its arc leaves the steel before the
// heel. Either is a [*CrossingError]. What passes is what the wheels leave, in whichever order they grind.
func (s Stack) Then(h Hollow) (Stack, error) {
	if !(h.Chord > 0 && h.Front > 0 && h.Far < math.Pi) {
		return nil, &ShapeError{Front: h.Front, Far: h.Far, Width: h.Chord}
	}
	if n := len(s); n > 0 && !(h.Front < s[n-1].Far) {
		return nil, &RisingError{Front: h.Front, Before: s[n-1].Far}
	}
	behind, below := s.End()
	next := StackBevel{Hollow: h, Behind: behind, Below: below}
	if err := s.crossing(next); err != nil {
		return nil, err
	}
	return append(s[:len(s):len(s)], next), nil
}

// touching is how far a wheel may seem to reach into a bevel by rounding alone: a nanometre, a millionth of what ink shows.
const touching = 1e-9

// crossing holds the wheel of every bevel to leaving the ends of every other bevel's arc alone, which is to leave the arcs alone: two
// rims cross twice at most, so where one cut only into the middle of the other's arc, all the rest of it, with the ends of its own arc,
// would lie inside the other wheel.
func (s Stack) crossing(next StackBevel) error {
	for i, b := range s {
		if deep, at := next.into(b); deep > touching {
			return newCrossing(len(s), i, deep, at)
		}
		if deep, at := b.into(next); deep > touching {
			return newCrossing(i, len(s), deep, at)
		}
	}
	return nil
}

// into is how deep the whole wheel of one bevel reaches over the ends of another bevel's arc, and over which; 0 or below is clear.
func (b StackBevel) into(other StackBevel) (deep float64, at vec2) {
	front, heel := other.place(), point2(other.End())
	if b.depthOf(front) > b.depthOf(heel) {
		return b.depthOf(front), front
	}
	return b.depthOf(heel), heel
}

// depthOf is how deep a place lies inside the bevel's wheel. Seen from the front end, with n the normal there out of the steel,
// F = n·P − k P²/2 is positive inside, and the depth is 2F / (1 + √(1 − 2kF)), for a flat abrasive too.
func (b StackBevel) depthOf(at vec2) float64 {
	p, k := at.minus(b.place()), b.curvature()
	sin, cos := math.Sincos(float64(b.Front))
	f := vec2{-sin, cos}.dot(p) - k*p.dot(p)/2
	return 2 * f / (1 + math.Sqrt(max(0, 1-2*k*f)))
}

func (b StackBevel) place() vec2 { return point2(b.Behind, b.Below) }

// onArc is the place at a length along the arc from its front end.
func (b StackBevel) onArc(l float64) vec2 {
	half := l * b.curvature() / 2
	chord := l
	if half != 0 {
		chord *= math.Sin(half) / half
	}
	sin, cos := math.Sincos(float64(b.Front) + half)
	return b.place().plus(vec2{cos, sin}.times(chord))
}

// curvature is 1/R of the wheel that ground a bevel, from the chord and the sagitta: 0 of a flat bevel, and of none.
func (h Hollow) curvature() float64 {
	if h.Depth == 0 {
		return 0
	}
	l, d := float64(h.Chord), float64(h.Depth)
	return 8 * d / (l*l + 4*d*d)
}

func (h Hollow) arcLength() float64 {
	if turn := float64(h.Far-h.Front) / 2; turn != 0 {
		return float64(h.Chord) * turn / math.Sin(turn)
	}
	return float64(h.Chord)
}

// Corners are the angles by which the surface turns from each bevel to the next: one fewer than there are bevels.
func (s Stack) Corners() []unit.Angle {
	if len(s) < 2 {
		return nil
	}
	corners := make([]unit.Angle, len(s)-1)
	for i := range corners {
		corners[i] = s[i].Far - s[i+1].Front
	}
	return corners
}

// Deviation is how far a stack's corners stand proud of a smooth curve at most: of the arc that touches the two chords at a corner at
// the middle of the shorter one. The hollows lie below the chords by their depths besides.
func (s Stack) Deviation() unit.Length {
	var most float64
	for i := range max(0, len(s)-1) {
		turn := float64(s[i].Reading - s[i+1].Reading)
		half := float64(min(s[i].Chord, s[i+1].Chord)) / 2
		most = max(most, math.Abs(half*math.Tan(turn/4))) // ρ (1/cos(turn/2) − 1), ρ = half / tan(turn/2)
	}
	return unit.Length(most)
}

// Softened is what rounding a heel with a radius takes off the last bevel (its chord) and off the bar's underside, which runs parallel
// to the reference line. The round touches both. False where the bevel is too short for it, or there is no corner.
//
// With the heel as origin the round's centre lies a radius above the underside and R + radius from the axle, which is quadratic in
// how far behind the heel it touches the underside.
func Softened(last Hollow, radius unit.Length) (bevel, underside unit.Length, ok bool) {
	r, k := float64(radius), last.curvature()
	sin, cos := math.Sincos(float64(last.Far))
	sinHalf := math.Sin(float64(last.Far) / 2)
	rise := 2 * r * sinHalf * sinHalf // r (1 − cos)
	if !(r > 0 && sin > 0) {
		return 0, 0, false
	}
	back := 2 * rise / (sin + math.Sqrt(sin*sin+2*k*rise))
	// The place on the arc lies towards the centre from the axle, at an angle φ from the heel's.
	cosTurn := (1 + k*(back*sin+r*cos)) / (1 + k*r)
	chord := (r*sin - back*cos) / ((1 + k*r) * math.Sqrt((1+cosTurn)/2))
	return unit.Length(chord), unit.Length(back), chord <= float64(last.Chord)
}

// ShapeError tells that something is no bevel: it has no width, or does not fall from its front end to its heel.
type ShapeError struct {
	Front, Far unit.Angle
	Width      unit.Length
}

func (e *ShapeError) Error() string {
	if !(e.Width > 0) {
		return fmt.Sprintf("a bevel from %v cannot be %v wide; it needs a width above 0", e.Front, e.Width)
	}
	return fmt.Sprintf("a bevel from %v to %v does not fall from edge to heel; its tangents must lie between 0° and 180°", e.Front, e.Far)
}

// RisingError tells that a bevel starts at or above the tangent where the one before it ends.
type RisingError struct{ Front, Before unit.Angle }

func (e *RisingError) Error() string {
	return fmt.Sprintf("a bevel of %v behind one that ends at %v would grind air", e.Front, e.Before)
}

// CrossingError tells that the wheel of one bevel takes what should be another's surface. Bevels are counted from the edge, from 0. If the
// wheel is of the later bevel, it damages an earlier one; if of an earlier, the later one's arc has left the steel.
type CrossingError struct {
	Wheel, Bevel  int
	Depth         unit.Length // at most
	Behind, Below unit.Length // where, from the edge
}

func newCrossing(wheel, bevel int, deep float64, at vec2) *CrossingError {
	return &CrossingError{wheel, bevel, unit.Length(deep), unit.Length(at.behind), unit.Length(at.below)}
}

func (e *CrossingError) Error() string {
	if e.Wheel > e.Bevel {
		return fmt.Sprintf("the wheel of bevel %d would take %v off bevel %d, %v behind the edge", e.Wheel+1, e.Depth, e.Bevel+1, e.Behind)
	}
	return fmt.Sprintf("bevel %d leaves the steel: %v behind the edge the wheel of bevel %d has been %v deeper", e.Bevel+1, e.Behind, e.Wheel+1, e.Depth)
}
