package geometry

import (
	"math"
	"slices"

	"arris.example/geometry/unit"
)

// Recession is how much steel may be ground off a nose, without seating the tool again, before the edge angle has changed to
// another: the pivot comes nearer to the edge by what is lost. False where no loss brings it there.
func (w Wheel) Recession(p Pivot, gap unit.Length, to unit.Angle) (unit.Length, bool) {
	behind, ok := w.Behind(to, p.Below, gap)
	lost := p.Behind - behind
	return lost, ok && lost >= 0 && tangentReach(Pivot{behind, p.Below}, to) >= 0
}

// Reseat is how much steel may be ground off a nose before the edge angle is a tolerance away from what it was, to either side. False
// where the nose may recede as far as the pivot.
func (w Wheel) Reseat(p Pivot, edge, tolerance unit.Angle) (unit.Length, bool) {
	gap, least := w.Gap(p, edge), unit.Length(math.Inf(1))
	for _, to := range [...]unit.Angle{edge - tolerance, edge + tolerance} {
		if lost, ok := w.Recession(p, gap, to); ok {
			least = min(least, lost)
		}
	}
	return least, least.IsFinite()
}

// Regrind is the way from one set of bevels to another through the same steel. The whole new surface advances into the tool along the
// reference line, from where it first touches the old one to where the old one is gone.
type Regrind struct {
	before, after Stack
	cuts          []float64 // depths between which the distance of the two surfaces only grows or only falls
	first, last   float64   // how far behind the old edge the new one is when it first touches, and when it is complete
}

// NewRegrind plans a regrind. Where the new bevels end higher than the old ones, as a micro bevel does, only the depth they share is
// compared. No bevels before or after leave nothing to do.
func NewRegrind(before, after Stack) Regrind {
	r := Regrind{before: before, after: after}
	r.cuts = before.cuts(after)
	for i, depth := range r.cuts {
		d := r.distance(depth)
		if i == 0 {
			r.first, r.last = d, d
		}
		r.first, r.last = min(r.first, d), max(r.last, d)
	}
	return r
}

// LengthLost is how far the edge moves back along the reference line until the new bevels are whole: the new surface must lie behind the
// old one everywhere. Going keener costs none; going blunter costs the distance by which the old heel stands behind the new; a micro
// bevel costs its set-back. The bevels before may have come from other wheels.
func (r Regrind) LengthLost() unit.Length { return unit.Length(r.last) }

// Advance is how far the new surface goes from its first touch until it is whole: the length lost, and what only grinds the heel away.
func (r Regrind) Advance() unit.Length { return unit.Length(r.last - r.first) }

// RegrindStage is a tool on the way.
type RegrindStage struct {
	Lost  unit.Length // length lost since the start
	Width unit.Length // of the new surface so far, along its chords
	Steel float64     // ground off so far, mm² of the section: mm³ per mm of edge
	Whole bool        // nothing is left of the old bevels
}

// MostSharpenings is how many stages [Regrind.Stages] plans at most.
const MostSharpenings = 1000

// Stages are the sharpenings from the first touch to the whole new bevel, each of which advances the new surface by a length. Going
// blunter starts at the edge and costs that length every time; going keener starts at the heel and leaves the edge as it is until the
// last. A length not above 0, or so small that it takes more than [MostSharpenings], plans none: false.
func (r Regrind) Stages(perSharpening unit.Length) ([]RegrindStage, bool) {
	count := math.Ceil(float64(r.Advance()/perSharpening) - 1e-9) // 3.0000000001 sharpenings are 3
	if !(perSharpening > 0 && count <= MostSharpenings) {
		return nil, false
	}
	stages := make([]RegrindStage, 0, int(max(1, count)))
	for i := range cap(stages) {
		stages = append(stages, r.Stage(unit.Length(i+1)*perSharpening))
	}
	return stages, true
}

// Stage is the tool when the new surface has advanced from its first touch by a length. Beyond the whole there is nothing more to do.
func (r Regrind) Stage(advance unit.Length) RegrindStage {
	at := min(r.first+max(0, float64(advance)), r.last)
	s := RegrindStage{Lost: unit.Length(max(0, at)), Whole: at >= r.last-touching}
	if s.Whole {
		at = r.last
	}
	for i := 1; i < len(r.cuts); i++ {
		if from, to := r.touched(r.cuts[i-1], r.cuts[i], at); to > from {
			chord := vec2{r.after.behindAt(to) - r.after.behindAt(from), to - from}
			s.Width += unit.Length(chord.length())
			s.Steel += r.steel(from, to, at)
		}
	}
	return s
}

// distance is how far the old surface lies behind the new one at a depth, the edges together.
func (r Regrind) distance(depth float64) float64 {
	return r.before.behindAt(depth) - r.after.behindAt(depth)
}

// touched is the part of a stretch of depths where the new surface, its edge `at` behind the old one, lies behind the old one. The
// distance of the two is monotonic between the stretch's ends.
func (r Regrind) touched(from, to, at float64) (low, high float64) {
	in, out := from, to
	if r.distance(to) < r.distance(from) {
		in, out = to, from
	}
	switch {
	case r.distance(in) > at:
		return 0, 0
	case r.distance(out) <= at:
		return from, to
	}
	start := in
	for range 60 {
		if middle := (in + out) / 2; r.distance(middle) <= at {
			in = middle
		} else {
			out = middle
		}
	}
	return min(start, in), max(start, in)
}

// steel is the section between the two surfaces between two depths: Gauss's rule of five points, exact to 9th powers of the depth,
// where an arc over 10 mm departs from a parabola by little more than its 4th.
func (r Regrind) steel(from, to, at float64) float64 {
	half, middle := (to-from)/2, (to+from)/2
	var sum float64
	for _, g := range [...]struct{ place, weight float64 }{
		{0, 128. / 225},
		{0.5384693101056831, 0.47862867049936647}, {-0.5384693101056831, 0.47862867049936647},
		{0.9061798459386640, 0.23692688505618909}, {-0.9061798459386640, 0.23692688505618909},
	} {
		sum += g.weight * (at - r.distance(middle+half*g.place))
	}
	return max(0, sum*half)
}

// cuts are the depths at which the distance between two surfaces may turn: where a bevel of either ends, and where two arcs have the same
// tangent. At a depth y below an arc's front end cos τ = cos front − k y, so equal tangents are at one depth.
func (s Stack) cuts(other Stack) []float64 {
	_, deep := s.End()
	_, otherDeep := other.End()
	most := max(0, float64(min(deep, otherDeep)))
	cuts := []float64{0, most}
	keep := func(depth float64) {
		if depth > 0 && depth < most {
			cuts = append(cuts, depth)
		}
	}
	for _, b := range s {
		keep(float64(b.Below))
		for _, c := range other {
			keep(float64(c.Below))
			level := b.level() - c.level()
			keep(level / (b.curvature() - c.curvature()))
		}
	}
	slices.Sort(cuts)
	return slices.Compact(cuts)
}

// level is cos τ of a bevel's circle at the edge's depth, were it so long.
func (b StackBevel) level() float64 {
	return math.Cos(float64(b.Front)) + b.curvature()*float64(b.Below)
}

// behindAt is how far behind the edge a stack's surface is at a depth below it.
func (s Stack) behindAt(depth float64) float64 {
	i := len(s) - 1
	for i > 0 && float64(s[i].Below) > depth {
		i--
	}
	if i < 0 {
		return 0
	}
	b := s[i]
	sin, cos := math.Sincos(float64(b.Front))
	k, t := b.curvature(), depth-float64(b.Below)
	u := 2*t*cos - k*t*t
	if u == 0 {
		return float64(b.Behind)
	}
	return float64(b.Behind) + u/(sin+math.Sqrt(max(0, sin*sin+k*u)))
}
