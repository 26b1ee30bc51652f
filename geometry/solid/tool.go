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
	Bevels []Bevel // from the edge back, at least one; the last runs to the heel
	Behind float64 // where the body is cut square, behind the nose
}

// Bevel is a face ground along the whole edge.
type Bevel struct {
	Setting swung.Setting
	Width   float64 // square to the edge; of the last bevel it does not count
}

// The triangles a mesh may be asked to have at most.
const (
	LeastTriangles = 200
	MostTriangles  = 200_000
)

// BuildError tells why a tool makes no body.
type BuildError struct {
	Why   Why
	Along float64 // where, as a length along the flute's section
	Bevel int     // which
	Value float64 // of TooFew and TooMany the triangles; of TooShort the length; otherwise 0
	Least float64 // what would do
}

// Why is a reason for which a tool makes no body.
type Why int

// The reasons.
const (
	NoRim    Why = iota + 1 // the flute does not meet the bar's outside
	Unground                // the wheel does not touch the edge there
	NoHeel                  // the bevel does not run out of the bar
	Air                     // the bevel before has already taken the steel there
	NotRound                // only a round bar's end is closed yet
	PastRim                 // the ground face goes on past the flute's rim, into the bar's side: not closed yet either
	TooShort                // the cut lies before the heel
	TooMany                 // triangles, or too few
)

func (e *BuildError) Error() string {
	switch e.Why {
	case NoRim:
		return "the flute does not meet the outside of the bar"
	case Unground:
		return fmt.Sprintf("the wheel does not grind the edge %.2f mm along the flute with bevel %d", e.Along, e.Bevel+1)
	case NoHeel:
		return fmt.Sprintf("bevel %d does not run out of the bar %.2f mm along the flute", e.Bevel+1, e.Along)
	case Air:
		return fmt.Sprintf("bevel %d grinds air %.2f mm along the flute: the bevel before it is steeper there", e.Bevel+1, e.Along)
	case PastRim:
		return "the ground face goes on past the flute's rim into the side of the bar, and such a body is not closed yet"
	case NotRound:
		return "only tools of round bar make a body"
	case TooShort:
		return fmt.Sprintf("cut %.2f mm behind the nose; the heel runs back to %.2f mm", e.Value, e.Least)
	default:
		return fmt.Sprintf("%.0f triangles; a mesh has %d to %d", e.Value, LeastTriangles, MostTriangles)
	}
}

// station is the body's section along one place of the edge: the corners that a walk from the edge down the ground faces, along the bar and
// back along the flute passes.
type station struct {
	along float64
	arcs  []arc
	heel  flute.Spot
}

// arc is a bevel at a station.
type arc struct {
	face   swung.Face
	length float64
}

// station follows the bevels from the edge to the heel. Where the steel is thinner than the lands, the bevels behind have no length.
func (t Tool) station(along float64) (station, error) {
	faces, err := t.faces(along)
	if err != nil {
		return station{}, err
	}
	s := station{along: along, arcs: make([]arc, len(faces))}
	last, out := 0, false
	for i, f := range faces {
		s.arcs[i].face = f
		if out {
			continue
		}
		most, runsOut := t.toHeel(f)
		if most == 0 && !runsOut {
			return s, &BuildError{Why: PastRim, Along: along, Bevel: i}
		}
		last = i
		if i < len(faces)-1 {
			width := f.ArcOf(t.Bevels[i].Width)
			out = runsOut && most <= width
			s.arcs[i].length = width
			if !out {
				continue
			}
		} else if !runsOut {
			return s, &BuildError{Why: NoHeel, Along: along, Bevel: i}
		}
		s.arcs[i].length = most
	}
	at := s.arcs[last].face.Arc(s.arcs[last].length)
	s.heel = t.Bar.Outline(t.Bar.AroundAt(at.Side, at.Up))
	return s, nil
}

// faces are the bevels' faces at a place of the edge. A bevel behind another starts on the curve where that one ends, and the relation asks
// for the curve's direction: the difference of its points a step to either side, which takes those of the bevel before two steps away, and so on.
func (t Tool) faces(along float64) ([]swung.Face, error) {
	step := (t.Edge.Left + t.Edge.Right) * 1e-4 // its square, times the curve's third derivative, is below 1e-7 rad
	n := len(t.Bevels)
	row := make([]swung.Face, 2*n-1)
	for i := range row {
		f, ok := t.first(along + float64(i-n+1)*step)
		if !ok {
			return nil, &BuildError{Why: Unground, Along: along}
		}
		row[i] = f
	}
	faces := []swung.Face{row[n-1]}
	for b := 1; b < n; b++ {
		next := make([]swung.Face, len(row)-2)
		for i := range next {
			f, ok := t.behind(b, row[i], row[i+1], row[i+2])
			if !ok {
				return nil, &BuildError{Why: Unground, Along: along, Bevel: b}
			}
			next[i] = f
		}
		before, f := row[len(row)/2], next[len(next)/2]
		if f.Run.Dot(before.NormalAt(before.ArcOf(t.Bevels[b-1].Width))) >= 0 {
			return nil, &BuildError{Why: Air, Along: along, Bevel: b}
		}
		faces, row = append(faces, f), next
	}
	return faces, nil
}

// first is the face at the edge; beyond the wings' ends it is what the wheel leaves as it stands there.
func (t Tool) first(along float64) (swung.Face, bool) {
	end := min(max(along, -t.Edge.Left), t.Edge.Right)
	f := t.Bevels[0].Setting.Face(t.Edge.At(end))
	if end == along || !f.Reached() {
		return f, f.Reached()
	}
	return f.Beyond(t.Edge.At(along))
}

// behind is the face of a bevel behind another, of which it takes three neighbouring faces.
func (t Tool) behind(bevel int, left, here, right swung.Face) (swung.Face, bool) {
	width := t.Bevels[bevel-1].Width
	end := func(f swung.Face) space.Vec { return f.Arc(f.ArcOf(width)) }
	f := t.Bevels[bevel].Setting.Face(swung.Point{
		Along: here.Along,
		At:    end(here),
		Edge:  end(right).Minus(end(left)).Dir(),
		Flute: here.NormalAt(here.ArcOf(width)),
		Rate:  1,
	})
	return f, f.Reached()
}

// toHeel is the length of the ground arc from the edge to where it leaves the bar; false where it does not leave it. An edge outside of the
// steel by less than a rounding is on the bar: at the ends on the flute's rim there is no face, unless the arc runs into the steel from there.
func (t Tool) toHeel(f swung.Face) (float64, bool) {
	const rounding = 1e-9
	inside := func(l float64) float64 {
		p := f.Arc(l)
		return t.Bar.Inside(p.Side, p.Up)
	}
	if inside(0) <= rounding {
		return 0, !(inside(1e-3) > rounding)
	}
	step, low := t.Behind/64, 0.0
	for high := step; high < 4*t.Behind; low, high = high, high+step {
		if inside(high) <= 0 {
			return crossing(low, high, inside), true
		}
	}
	return math.NaN(), false
}

// crossing is where a function passes 0 from above, by halving and secants between (the Illinois form of regula falsi).
func crossing(low, high float64, f func(float64) float64) float64 {
	fl, fh := f(low), f(high)
	for range 60 {
		if fh == 0 || high-low <= 1e-13*high {
			break
		}
		x := (low*fh - high*fl) / (fh - fl)
		if !(x > low && x < high) {
			x = (low + high) / 2
		}
		switch y := f(x); {
		case y > 0:
			low, fl, fh = x, y, fh/2
		default:
			high, fh, fl = x, y, fl/2
		}
	}
	return high
}
