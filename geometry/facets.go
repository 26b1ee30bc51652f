package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// MostFacets is how many facets [Wheel.Facets] lays in a row at most. A tool with half as many is round to the eye.
const MostFacets = 100

// Facets are n further bevels of equal width behind a stack, from its end to where the steel below the edge ends, turning evenly so
// that the last one's front end has the given tangent. Steel that is already ground through, no facets or more than [MostFacets], or a
// last tangent that is not between 0 and the stack's own end is a [*FacetError]; facets so wide and corners so small that one wheel
// takes the next facet's surface are a [*CrossingError].
func (w Wheel) Facets(s Stack, n int, last unit.Angle, steel unit.Length) (Stack, error) {
	_, below := s.End()
	left := steel - below
	refused := &FacetError{Count: n, Last: last, Left: left}
	if n < 1 || n > MostFacets || len(s) == 0 || !(left > 0) || !(last > 0 && last < s[len(s)-1].Far) {
		return nil, refused
	}
	row := facetRow{k: w.k, n: n, far: float64(s[len(s)-1].Far), last: float64(last)}
	width, ok := row.width(float64(left))
	if !ok {
		return nil, refused
	}
	_, corner := row.turns(width)
	var err error
	for range n {
		var h Hollow
		if h, err = w.HollowOfChord(s[len(s)-1].Far-unit.Angle(corner), unit.Length(width)); err != nil {
			return nil, refused
		}
		if s, err = s.Then(h); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// facetRow is n facets of equal widths behind a tangent. All arcs then turn by the same θ, so even corners γ fix every tangent:
// front_i = far + (i−1)θ − iγ, and front_n = last.
type facetRow struct {
	k         float64
	n         int
	far, last float64
}

// turns are the angle by which every facet's arc turns and every corner's.
func (r facetRow) turns(width float64) (arc, corner float64) {
	arc = 2 * math.Asin(min(1, r.k*width/2))
	return arc, (r.far + float64(r.n-1)*arc - r.last) / float64(r.n)
}

// depth is how much steel the row takes with facets of a width.
func (r facetRow) depth(width float64) float64 {
	arc, corner := r.turns(width)
	var sum float64
	for i := range r.n {
		sum += math.Sin(r.far + (float64(i)+0.5)*arc - float64(i+1)*corner)
	}
	return width * sum
}

// width is the width at which the row takes the steel that is left. Hollows make a row steeper, so it is at most that of flat
// facets, and the depth grows with it.
func (r facetRow) width(left float64) (float64, bool) {
	flat := facetRow{n: r.n, far: r.far, last: r.last}
	low, high := 0.0, left/flat.depth(1)*(1+1e-9)
	if r.k > 0 {
		high = min(high, 2/r.k)
	}
	if !(high > 0 && r.depth(high) >= left) {
		return 0, false
	}
	for range 64 { // 64 halvings leave nothing between the two
		if middle := (low + high) / 2; r.depth(middle) < left {
			low = middle
		} else {
			high = middle
		}
	}
	return high, true
}

// FacetError tells that a row of facets does not exist.
type FacetError struct {
	Count int
	Last  unit.Angle  // front tangent of the last facet
	Left  unit.Length // steel below the stack's end
}

func (e *FacetError) Error() string {
	return fmt.Sprintf("no row of %d facets ends at %v over %v of steel", e.Count, e.Last, e.Left)
}
