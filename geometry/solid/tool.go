package solid

import (
	"fmt"
	"math"

	"arris.example/geometry/flute"
	"arris.example/geometry/space"
	"arris.example/geometry/swung"
)

// Tool is what a finished tool is made of.
type Tool struct {
	Bar    flute.Bar
	Edge   swung.Edge
	Bevels []swung.Bevel // from the edge back, at least one; the last runs to the heel
	Behind float64       // where the body is cut square, behind the nose
}

// What a body may be asked for: how many triangles at most, and how many bevels a tool has.
const (
	LeastTriangles = 1000
	MostTriangles  = 200_000
	MostBevels     = 12
)

// BuildError tells why a tool makes no body.
type BuildError struct {
	Why   Why
	Along float64 // where, as a length along the flute's section
	Bevel int     // which
	Value float64 // of Count the triangles, of Bevels how many, of TooShort the length; otherwise 0
	Least float64 // of TooShort what would do
}

// Why is a reason for which a tool makes no body.
type Why int

// The reasons.
const (
	Unground Why = iota + 1 // beyond the wings' ends the wheel does not reach what is left of the edge
	NoHeel                  // the bevel does not run out of the bar
	TooShort                // the cut lies before the heel
	Count                   // of triangles
	Bevels                  // how many
)

func (e *BuildError) Error() string {
	switch e.Why {
	case Unground:
		return fmt.Sprintf("the wheel, as it stands at the wing's end, leaves the bar whole %.2f mm along the flute", e.Along)
	case NoHeel:
		return fmt.Sprintf("bevel %d does not run out of the bar %.2f mm along the flute", e.Bevel+1, e.Along)
	case TooShort:
		return fmt.Sprintf("cut %.2f mm behind the nose; the heel runs back to %.2f mm", e.Value, e.Least)
	case Bevels:
		return fmt.Sprintf("%.0f bevels; a tool has 1 to %d", e.Value, MostBevels)
	default:
		return fmt.Sprintf("%.0f triangles; a mesh has %d to %d", e.Value, LeastTriangles, MostTriangles)
	}
}

// body is a tool while it is cut into strips. A place on it is a length along the flute from the floor as far as the rim, and beyond that a
// length round the outside: where the last wheel goes into the bar at the rim, its face begins there on the outside itself.
type body struct {
	Tool
	rim, mouth float64         // the flute's mouth, along the flute and around the bar
	ends       [2][]swung.Land // how the wheels stand at the wings' ends, −side and +side
}

func newBody(t Tool) (*body, error) {
	if n := len(t.Bevels); n < 1 || n > MostBevels {
		return nil, &BuildError{Why: Bevels, Value: float64(n)}
	}
	if err := t.Bar.Check(t.Edge.Section); err != nil {
		return nil, err
	}
	b := &body{Tool: t}
	b.rim, _ = t.Bar.Rim(t.Edge.Section)
	mouth := t.Edge.Section.At(b.rim)
	b.mouth = t.Bar.AroundAt(mouth.Side, mouth.Up)
	for i, end := range [2]float64{-min(t.Edge.Left, b.rim), min(t.Edge.Right, b.rim)} {
		lands, err := b.stack().At(end)
		if err != nil {
			return nil, err
		}
		b.ends[i] = lands
	}
	return b, nil
}

func (t Tool) stack() swung.Stack { return swung.Stack{Edge: t.Edge, Bevels: t.Bevels} }

// station is the body's section along one place: the corners that a walk from the edge down the ground faces, along the bar and back along the
// flute, or beyond the rim along the bar, passes.
type station struct {
	place  float64
	arcs   []arc
	heel   float64   // around the bar
	start  float64   // around the bar, beyond the rim
	normal space.Dir // of the flute
}

// arc is a bevel at a station.
type arc struct {
	face   swung.Face
	length float64
}

// empty tells whether no steel is ground there.
func (s *station) empty() bool { return s.bevels() == 0 }

// station follows the bevels from the edge to the heel. Where the steel is thinner than the lands, the bevels behind have no length.
func (b *body) station(place float64) (station, error) {
	s := station{place: place, start: math.NaN()}
	point := b.Edge.At(place)
	if over := math.Abs(place) - b.rim; over >= 0 {
		s.start = math.Copysign(b.mouth-over, place)
		if over > 0 {
			point = b.outside(s.start)
		}
	}
	lands, err := b.lands(place, point)
	if err != nil {
		return s, err
	}
	s.normal = lands[0].Flute
	err = b.follow(&s, lands)
	return s, err
}

// outside is a point's line on the outside of the bar.
func (b *body) outside(around float64) swung.Point {
	spot := b.Bar.Outline(around)
	return swung.Point{Along: around, At: space.Vec{Up: spot.Up, Side: spot.Side}, Edge: space.Side, Flute: direction(spot.Before)}
}

func direction(d flute.Direction) space.Dir { return space.Dir{Up: d.Up, Side: d.Side} }

// lands are the bevels at a place; beyond the wings' ends they are what the wheels leave as they stand there.
func (b *body) lands(place float64, point swung.Point) ([]swung.Land, error) {
	if place >= -b.Edge.Left && place <= b.Edge.Right && math.Abs(place) <= b.rim {
		return b.stack().At(place)
	}
	side := 0
	if place > 0 {
		side = 1
	}
	lands, ok := swung.Beyond(b.ends[side], point)
	if !ok {
		return nil, &BuildError{Why: Unground, Along: place}
	}
	return lands, nil
}

// follow measures the arcs.
func (b *body) follow(s *station, lands []swung.Land) error {
	s.arcs = make([]arc, len(b.Bevels))
	at, out := lands[0].At, false
	for i := range s.arcs {
		if i >= len(lands) || out {
			s.arcs[i].face = lands[min(i, len(lands)-1)].Face
			continue
		}
		f := lands[i].Face
		most, runsOut := b.toHeel(f)
		last := i == len(b.Bevels)-1
		if last && !runsOut {
			return &BuildError{Why: NoHeel, Along: s.place, Bevel: i}
		}
		out = runsOut && (last || most <= lands[i].Length)
		s.arcs[i] = arc{f, lands[i].Length}
		if out {
			s.arcs[i].length = most
		}
		at = f.Arc(s.arcs[i].length)
	}
	s.heel = b.Bar.AroundAt(at.Side, at.Up)
	if !math.IsNaN(s.start) && at == lands[0].At {
		s.heel = s.start
	}
	return nil
}

// toHeel is the length of the ground arc from its start to where it leaves the bar. One that starts on the bar's outside, as on the flute's
// rim, may leave at once.
func (b *body) toHeel(f swung.Face) (float64, bool) {
	const rounding, least = 1e-9, 1e-4
	inside := func(l float64) float64 {
		p := f.Arc(l)
		return b.Bar.Inside(p.Side, p.Up)
	}
	low := 0.0
	if inside(0) <= rounding {
		if low = least; inside(low) <= rounding {
			return 0, true
		}
	}
	step := b.Behind / 64
	for high := low + step; high < 4*b.Behind; low, high = high, high+step {
		if inside(high) <= 0 {
			return crossing(low, high, inside), true
		}
	}
	return math.NaN(), false
}

// crossing is where a function passes 0 from above, by secants; an end that stays is believed half as much each time (the Illinois form of
// regula falsi).
func crossing(low, high float64, f func(float64) float64) float64 {
	fl, fh := f(low), f(high)
	stayed := 0 // the end that stayed last: -1 the low one, 1 the high one
	for range 60 {
		if fh == 0 || high-low <= 1e-12*high {
			break
		}
		x := (low*fh - high*fl) / (fh - fl)
		if !(x > low && x < high) {
			x = (low + high) / 2
		}
		if y := f(x); y > 0 {
			if low, fl = x, y; stayed > 0 {
				fh /= 2
			}
			stayed = 1
		} else {
			if high, fh = x, y; stayed < 0 {
				fl /= 2
			}
			stayed = -1
		}
	}
	return high
}
