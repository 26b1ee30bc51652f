package swung

import (
	"fmt"
	"math"

	"arris.example/geometry"
	"arris.example/geometry/space"
	"arris.example/geometry/unit"
)

// Bevel is a face ground along a whole edge, or behind another that is.
type Bevel struct {
	Setting Setting
	Width   float64 // mm, square to the edge or to the end of the bevel before; of the last bevel it does not count
}

// Stack is an edge's bevels from the edge back. A bevel behind another starts where that one's width ends.
type Stack struct {
	Edge   Edge
	Bevels []Bevel // at least one
}

// Land is a bevel's face at a place of the edge, and how long its arc is to the next bevel; of the last bevel 0.
type Land struct {
	Face
	Length float64
}

// End is where the next bevel starts.
func (l Land) End() space.Vec { return l.Arc(l.Length) }

// StackError tells why a bevel cannot be ground at a place of the edge.
type StackError struct {
	Why   StackWhy
	Bevel int     // counted from the edge, from 0
	Along float64 // the place, as a length along the flute's section
	// Value is by how much: of Unreached the [Face.Excess], of Rising the angle in radians by which the bevel would have to start lower, of
	// Biting how deep its wheel goes into the edge, mm.
	Value float64
}

// StackWhy is a reason for which a bevel cannot be ground.
type StackWhy int

// The reasons.
const (
	Unreached StackWhy = iota + 1 // the wheel does not touch the start of the bevel along its direction
	Rising                        // it would grind air: the bevel before has already taken the steel
	Biting                        // its wheel would take the edge in front of it
)

func (e *StackError) Error() string {
	at := fmt.Sprintf("bevel %d, %.2f mm along the flute", e.Bevel+1, e.Along)
	switch e.Why {
	case Rising:
		return fmt.Sprintf("%s, would grind air: it has to start more than %.2f° lower", at, e.Value*180/math.Pi)
	case Biting:
		return fmt.Sprintf("%s: its wheel would go %.3f mm into the edge", at, e.Value)
	}
	side := "near to"
	if e.Value > 0 {
		side = "far from"
	}
	return fmt.Sprintf("%s, is not reached: the pivot is too %s the wheel", at, side)
}

// At are the bevels at a place between the wings' ends, as far as they can be ground; what is wrong with the next one is a [*StackError]. The
// relation asks for the direction of the curve a
// bevel starts on: the difference of its points a step to either side. Those of the third bevel take the second's two steps away, and so
// on; over the ends of the wings the plan goes on by its own rule.
func (s Stack) At(along float64) ([]Land, error) {
	step := (s.Edge.Left + s.Edge.Right) * 1e-4 // error: its square times the curve's third derivative, below 1e-7 rad
	n := len(s.Bevels)
	row := make([]Land, 2*n-1)
	for i := range row {
		f := s.Bevels[0].Setting.Face(s.Edge.At(along + float64(i-n+1)*step))
		if !f.Reached() {
			return nil, &StackError{Unreached, 0, along, f.Excess}
		}
		row[i] = s.land(0, f)
	}
	lands := []Land{row[n-1]}
	for b := 1; b < n; b++ {
		for i := range len(row) - 2 { // in place: what is overwritten is not read again
			f := s.Bevels[b].Setting.Face(behind(row[i], row[i+1], row[i+2]))
			if !f.Reached() {
				return lands, &StackError{Unreached, b, along, f.Excess}
			}
			row[i] = s.land(b, f)
		}
		row = row[:len(row)-2]
		next := append(lands, row[len(row)/2]) //nolint:gocritic // kept if it is right
		if err := checkLast(next, along); err != nil {
			return lands, err
		}
		lands = next
	}
	return lands, nil
}

// behind is the place at which the next bevel starts, from three neighbouring lands.
func behind(left, here, right Land) Point {
	return Point{
		Along: here.Along,
		At:    here.End(),
		Edge:  right.End().Minus(left.End()).Dir(),
		Flute: here.NormalAt(here.Length),
		Rate:  1,
	}
}

func (s Stack) land(bevel int, f Face) Land {
	l := Land{Face: f}
	if bevel < len(s.Bevels)-1 {
		l.Length = f.ArcOf(s.Bevels[bevel].Width)
	}
	return l
}

// checkLast holds the last of some lands to cutting steel and leaving the edge.
func checkLast(lands []Land, along float64) error {
	b := len(lands) - 1
	before, last := lands[b-1], lands[b]
	if rise := last.Run.Dot(before.NormalAt(before.Length)); rise >= 0 {
		return &StackError{Rising, b, along, math.Asin(min(1, rise))}
	}
	if deep := last.cuts(lands[0].At, Rim{}); deep > LeastCut {
		return &StackError{Biting, b, along, deep}
	}
	return nil
}

// Beyond are the bevels where all wheels stand as they do at a wing's end, whose lands are given, on the line along the tool through a point:
// what a tool has beyond its wings. The widths follow. False where a wheel does not reach.
func Beyond(end []Land, p Point) ([]Land, bool) {
	first, ok := end[0].Beyond(p)
	if !ok {
		return nil, false
	}
	lands := []Land{{Face: first}}
	for b := 1; b < len(end); b++ {
		before := &lands[b-1]
		before.Length, ok = before.metBy(end[b].Face, end[b-1].Length)
		if !ok { // the steel before the next wheel runs to the heel
			before.Length = math.Inf(1)
			return lands, true
		}
		lands = append(lands, Land{Face: end[b].through(before.End())})
	}
	return lands, true
}

// metBy is the length at which another wheel crosses a face's arc, sought up to some times what it is near by.
func (f Face) metBy(other Face, near float64) (float64, bool) {
	low, high := 0.0, 4*near
	if other.cuts(f.Arc(low), Rim{}) >= 0 {
		return 0, true
	}
	if other.cuts(f.Arc(high), Rim{}) < 0 {
		return 0, false
	}
	for range 60 {
		if middle := (low + high) / 2; other.cuts(f.Arc(middle), Rim{}) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return high, true
}

// through is the face that the wheel leaves, standing as it does, at another place of its rim.
func (f Face) through(at space.Vec) Face {
	v := at.Minus(f.At)
	sin, cos := math.Sincos(math.Atan2(f.curve*v.Dot(f.Run), 1-f.curve*v.Dot(f.Normal)))
	there := f
	there.At = at
	there.Normal = f.Normal.Times(cos).Minus(f.Run.Times(sin))
	there.Run = f.Run.Times(cos).Plus(f.Normal.Times(sin))
	return there
}

// Corners are the angles by which the surface turns from each bevel to the next, radians: one fewer than there are bevels.
func Corners(lands []Land) []float64 {
	var corners []float64
	for b := 1; b < len(lands); b++ {
		corners = append(corners, lands[b-1].NormalAt(lands[b-1].Length).AngleTo(lands[b].Normal))
	}
	return corners
}

// Then is the setting of a further bevel, behind those there are, for the angle that its front has at the nose: the planar relation with the
// pivot seen from where the last bevel's width ends.
func (s Stack) Then(w geometry.Wheel, p geometry.Pivot, front unit.Angle) (Setting, error) {
	lands, err := s.At(0)
	if err != nil {
		return Setting{}, err
	}
	last := lands[len(lands)-1]
	end := last.Arc(last.ArcOf(s.Bevels[len(lands)-1].Width))
	return Setting{Wheel: w, Pivot: p, Gap: w.Gap(p.SeenFrom(length(end.Back), length(-end.Up)), front)}, nil
}
