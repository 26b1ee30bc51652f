package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// Stack is a tool's bevels from edge to heel, each an arc that starts where the one before it ends.
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

// Then is the stack with one more bevel behind it. A front angle that is not below the tangent where the bevel before it ends would
// grind air: a [*RisingError].
func (s Stack) Then(h Hollow) (Stack, error) {
	if n := len(s); n > 0 && h.Front >= s[n-1].Far {
		return nil, &RisingError{Front: h.Front, Before: s[n-1].Far}
	}
	behind, below := s.End()
	return append(s[:len(s):len(s)], StackBevel{Hollow: h, Behind: behind, Below: below}), nil
}

// Corner is the angle by which the surface turns where bevel i ends and the next begins.
func (s Stack) Corner(i int) unit.Angle { return s[i].Far - s[i+1].Front }

// RisingError tells that a bevel starts at or above the tangent where the one before it ends.
type RisingError struct{ Front, Before unit.Angle }

func (e *RisingError) Error() string {
	return fmt.Sprintf("a bevel of %v behind one that ends at %v would grind air", e.Front, e.Before)
}

// SetBack is how far a micro bevel in front of a bevel moves the edge along the reference line: the sine rule in the triangle of old
// edge, new edge and the micro bevel's heel end.
func SetBack(micro Hollow, bevel unit.Angle) unit.Length {
	return micro.Chord * unit.Length(math.Sin(float64(micro.Reading-bevel))/math.Sin(float64(bevel)))
}

// Facets are n further bevels of equal width behind a stack, from its end to where the steel below the edge ends, turning evenly so
// that the last one's front end has the given tangent. Steel that is already ground through, no facets, or a last tangent that the
// stack's own end is not above is a [*FacetError].
//
// With equal widths all arcs turn by the same θ, so even corners γ fix every tangent: front_i = far + (i−1)θ − iγ. The width follows
// from the depth, which grows with it.
func (w Wheel) Facets(s Stack, n int, last unit.Angle, steel unit.Length) (Stack, error) {
	_, below := s.End()
	left := steel - below
	if n < 1 || len(s) == 0 || !(left > 0) || !(last < s[len(s)-1].Far) || !(last > 0) {
		return nil, &FacetError{Count: n, Last: last, Left: left}
	}
	depth := func(width unit.Length) unit.Length {
		_, sum := w.evenFacets(s, n, last, width).End()
		return sum - below
	}
	// n facets of reading above `last` at least are as deep as their widths times its sine; the deepest are upright.
	low, high := left/unit.Length(n), left/unit.Length(float64(n)*math.Sin(float64(last)))
	if !w.Flat() {
		high = min(high, w.Diameter())
	}
	for range 80 { // halves 200 mm to below the last bit
		middle := (low + high) / 2
		if depth(middle) < left {
			low = middle
		} else {
			high = middle
		}
	}
	return w.evenFacets(s, n, last, high), nil
}

func (w Wheel) evenFacets(s Stack, n int, last unit.Angle, width unit.Length) Stack {
	theta := unit.Angle(2 * math.Asin(min(1, w.k*float64(width)/2)))
	far := s[len(s)-1].Far
	corner := (far + unit.Angle(n-1)*theta - last) / unit.Angle(n)
	out := s[:len(s):len(s)]
	for range n {
		h, _ := w.HollowOfChord(out[len(out)-1].Far-corner, width)
		behind, below := out.End()
		out = append(out, StackBevel{Hollow: h, Behind: behind, Below: below})
	}
	return out
}

// FacetError tells that a row of facets does not exist.
type FacetError struct {
	Count int
	Last  unit.Angle
	Left  unit.Length
}

func (e *FacetError) Error() string {
	return fmt.Sprintf("no row of %d facets ends at %v over %v of steel", e.Count, e.Last, e.Left)
}

// Deviation is how far a stack's corners stand proud of the smooth curve that touches all its bevels' middles: the height of the
// largest corner over the arc that rounds it from middle to middle.
func (s Stack) Deviation() unit.Length {
	var most unit.Length
	for i := range len(s) - 1 {
		turn := float64(s[i].Reading - s[i+1].Reading)
		half := float64(min(s[i].Chord, s[i+1].Chord)) / 2
		// An arc that touches both chords at `half` from the corner stays half·tan(turn/4) below it.
		most = max(most, unit.Length(math.Abs(half*math.Tan(turn/4))))
	}
	return most
}

// Softened is a heel rounded with a radius: how much of the last bevel and of the bar's underside the round takes, both the same
// length from the corner. The underside runs parallel to the reference line, so the corner turns by the bevel's tangent there.
func Softened(last Hollow, radius unit.Length) unit.Length {
	return radius * unit.Length(math.Tan(float64(last.Far)/2))
}
