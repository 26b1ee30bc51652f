package swung

import (
	"math"
	"slices"

	"arris.example/geometry"
	"arris.example/geometry/space"
	"arris.example/geometry/unit"
)

// A wedge at a point fixes the face's normal there, n = −m cos ω + (t × m) sin ω with m the flute's normal. Put into the relation, the pivots
// P that grind one wedge at a nose N and another at a wing's place W lie in a plane, whatever the gap and the contact:
//
//	P·(n_W − n_N + k(W − N)) = n_W·W − n_N·N + k(W² − N²)/2
//
// In the tool's plane that is a line of `behind` and `below`. A stick-out meets it once, a turning leg twice: no root has to be searched for.

// facing is the normal of a ground face with a wedge at a point, and how it turns per radian of wedge.
func (p *Point) facing(wedge float64) (normal, turn space.Dir) {
	sin, cos := math.Sincos(wedge)
	ahead := p.Edge.Cross(p.Flute)
	return ahead.Times(sin).Minus(p.Flute.Times(cos)), ahead.Times(cos).Plus(p.Flute.Times(sin))
}

// GapFor is the gap at which a setting grinds a wedge at a point, whatever its own gap is. False where no gap does with the pivot clear of
// the wheel.
func (g Setting) GapFor(p Point, wedge unit.Angle) (gap unit.Length, ok bool) {
	k, c := g.Wheel.Curvature(), float64(g.Contact)
	from := p.At.Minus(g.pivot())
	normal, turn := p.facing(float64(wedge))
	half := normal.Dot(from) + k*(from.Dot(from)-c*c)/2
	under := 1 + 2*k*half
	if !(under >= 0 && half >= 0 && turn.Dot(from) > 0) {
		return 0, false
	}
	return length(2 * half / (1 + math.Sqrt(under))), true
}

// Family is pivots with one size free, from one value of it to another: made by [Legs] or [StickOuts].
type Family struct {
	From, To float64 // of a leg's angle in radians, at most a turn apart, or of a stick-out in mm
	base     geometry.Pivot
	leg      float64 // 0: what is free moves the pivot back
}

// Legs are a swing holder's pivots at a stick-out, by the leg's angle.
func Legs(h geometry.SwingHolder, stickOut unit.Length, from, to unit.Angle) Family {
	joint := geometry.Pivot{Behind: stickOut + h.JointBehindFace, Below: h.JointBelowAxis}
	return Family{From: float64(from), To: float64(to), base: joint, leg: float64(h.Leg)}
}

// StickOuts are a holder's pivots by the stick-out, from where its pivot is at a stick-out of 0.
func StickOuts(atNone geometry.Pivot, from, to unit.Length) Family {
	return Family{From: float64(from), To: float64(to), base: atNone}
}

// Pivot at a value of the free size.
func (f Family) Pivot(x float64) geometry.Pivot {
	if f.leg == 0 {
		return geometry.Pivot{Behind: f.base.Behind + length(x), Below: f.base.Below}
	}
	sin, cos := math.Sincos(x)
	return geometry.Pivot{Behind: f.base.Behind + length(f.leg*cos), Below: f.base.Below + length(f.leg*sin)}
}

// moves is how the pivot moves with the free size.
func (f Family) moves(x float64) (behind, below float64) {
	if f.leg == 0 {
		return 1, 0
	}
	sin, cos := math.Sincos(x)
	return -f.leg * sin, f.leg * cos
}

// pivotLine is the pivots with behind·(how far behind) + below·(how far below) = rest.
type pivotLine struct{ behind, below, rest float64 }

// meets are the family's values whose pivots lie on the line, ascending: at most two.
func (f Family) meets(l pivotLine) []float64 {
	z := l.rest - l.behind*float64(f.base.Behind) - l.below*float64(f.base.Below)
	if f.leg == 0 {
		return f.only(z / l.behind)
	}
	amplitude := f.leg * math.Hypot(l.behind, l.below)
	if !(math.Abs(z) <= amplitude) {
		return nil
	}
	middle := math.Atan2(l.below, l.behind)
	half := math.Atan2(math.Sqrt((amplitude-z)*(amplitude+z)), z)
	return f.only(f.turned(middle-half), f.turned(middle+half))
}

// turned is the same angle, the first from the range's start on.
func (f Family) turned(x float64) float64 {
	return x + 2*math.Pi*math.Ceil((f.From-x)/(2*math.Pi))
}

// only what lies in the range.
func (f Family) only(values ...float64) []float64 {
	values = slices.DeleteFunc(values, func(x float64) bool { return !(x >= f.From && x <= f.To) })
	slices.Sort(values)
	return slices.Compact(values)
}

// Target is a nose and a wing wanted together, the wing's place by its length along the flute: its sign says which wing. Of the setting the
// wheel and what is usually 0 count; pivot and gap are what is looked for.
type Target struct {
	Edge    Edge
	Setting Setting
	Nose    unit.Angle // wedge there
	Along   float64
	Wedge   unit.Angle
}

// Answer is a setting that grinds the wanted nose, and what it makes of the wing.
type Answer struct {
	At      float64 // the family's free size
	Setting Setting
	Wing    Face
	PerUnit float64 // of the wing's wedge per unit of the free size while the gap keeps the nose: rad/mm or rad/rad
}

// Answers are all settings of a family that grind both, by ascending free size. Where every value of it does, as on an edge straight across
// a flat blade, there is one answer.
func (t Target) Answers(f Family) []Answer {
	line := t.line(float64(t.Wedge))
	if math.Hypot(line.behind, line.below) < 1e-12 {
		if a, ok := t.Nearest(f); ok && t.miss(a) < 1e-9 {
			return []Answer{a}
		}
		return nil
	}
	var found []Answer
	for _, x := range f.meets(line) {
		// The relation is met; the branch, the pivot's clearance and a contact too far off the plane remain.
		if a, ok := t.at(f, x); ok && math.Abs(a.Wing.Wedge-float64(t.Wedge)) < 1e-6 {
			found = append(found, a)
		}
	}
	return found
}

// line of the pivots that grind the nose and a wedge on the wing.
func (t Target) line(wedge float64) pivotLine {
	nose, wing := t.Edge.At(0), t.Edge.At(t.Along)
	k := t.Setting.Wheel.Curvature()
	n, _ := nose.facing(float64(t.Nose))
	w, _ := wing.facing(wedge)
	across := w.Minus(n).Plus(wing.At.Minus(nose.At).Times(k))
	rest := w.Dot(wing.At) - n.Dot(nose.At) + k*(wing.At.Dot(wing.At)-nose.At.Dot(nose.At))/2
	origin, behind, below := t.Setting.pivotFrame()
	return pivotLine{across.Dot(behind), across.Dot(below), rest - across.Dot(origin)}
}

// pivotFrame is the pivot at 0 behind and 0 below, and how it moves with each, in the frame of a tool that may be rolled.
func (g Setting) pivotFrame() (origin, behind, below space.Vec) {
	g.Pivot = geometry.Pivot{}
	origin = g.pivot()
	g.Pivot.Below = 1
	return origin, space.Back, g.pivot().Minus(origin)
}

// at a value of the free size; false where the wheel does not grind the wanted nose, or does not reach the wing.
func (t Target) at(f Family, x float64) (Answer, bool) {
	a, ok := t.On(f.Pivot(x))
	if !ok {
		return Answer{}, false
	}
	a.At = x
	line := t.line(a.Wing.Wedge)
	behind, below := f.moves(x)
	from := a.Wing.At.Minus(a.Setting.pivot())
	a.PerUnit = (line.behind*behind + line.below*below) / a.Wing.lever(from)
	return a, true
}

// On is what a pivot makes of the wing while the gap is the one that grinds the wanted nose. False where none does, or does not reach the
// wing, or with a face that has turned over the flute. PerUnit stays 0.
func (t Target) On(p geometry.Pivot) (Answer, bool) {
	g := t.Setting
	g.Pivot = p
	gap, ok := g.GapFor(t.Edge.At(0), t.Nose)
	if !ok {
		return Answer{}, false
	}
	g.Gap = gap
	a := Answer{Setting: g, Wing: g.Face(t.Edge.At(t.Along))}
	return a, a.Wing.Reached() && a.Wing.sense() > 0
}

// signed is the wedge with a sign: below 0 where the face has turned over the flute, which [Face.Wedge] does not tell.
func (f *Face) signed() float64 { return f.sense() * f.Wedge }

func (f *Face) sense() float64 { return math.Copysign(1, f.Normal.Dot(f.Edge.Cross(f.Flute))) }

// lever is how far the pivot lies from the point along the face, square to the edge: what the wedge follows a setting by is over it. It is kept
// from 0, where the margin is.
func (f *Face) lever(from space.Vec) float64 {
	return max(f.Normal.Cross(f.Edge).Dot(from), 1e-9*f.reach)
}

// Best of a holder's fixed pivots: the one whose wing is nearest to the wanted; false where none grinds the nose and reaches the wing.
func (t Target) Best(pivots []geometry.Pivot) (index int, best Answer, ok bool) {
	for i, p := range pivots {
		if a, reached := t.On(p); reached && (!ok || t.miss(a) < t.miss(best)) {
			index, best, ok = i, a, true
		}
	}
	return index, best, ok
}

func (t Target) miss(a Answer) float64 { return math.Abs(a.Wing.Wedge - float64(t.Wedge)) }

// Attained is a range of a family's free size in which the nose is ground and the wing reached, with the least and the largest wedge the
// wing gets. All between them is attained too.
type Attained struct {
	From, To    float64
	Least, Most Answer
}

// attainedSteps divide a family's range where it has to be searched: a part narrower than that may be missed.
const attainedSteps = 256

// Attainable are the ranges of a family, ascending; none where no value of it will do.
func (t Target) Attainable(f Family) []Attained {
	if !(f.From <= f.To) {
		return nil
	}
	reached := func(x float64) bool { _, ok := t.at(f, x); return ok }
	var all []Attained
	for _, r := range runs(evenly(f.From, f.To, attainedSteps), reached) {
		all = append(all, Attained{From: r.Low, To: r.High, Least: t.extreme(f, r, 1), Most: t.extreme(f, r, -1)})
	}
	return all
}

// extreme of the wing's wedge within a range: the least of its sign-fold.
func (t Target) extreme(f Family, r geometry.Interval, sign float64) Answer {
	of := func(x float64) float64 {
		if a, ok := t.at(f, x); ok {
			return sign * a.Wing.Wedge
		}
		return math.Inf(1)
	}
	a, _ := t.at(f, leastOf(evenly(r.Low, r.High, attainedSteps/4), of))
	return a
}

// Nearest is the attainable wing that comes nearest to the wanted one, where no answer meets it; false where nothing is attainable.
func (t Target) Nearest(f Family) (nearest Answer, ok bool) {
	for _, a := range t.Attainable(f) {
		for _, end := range [...]Answer{a.Least, a.Most} {
			if !ok || t.miss(end) < t.miss(nearest) {
				nearest, ok = end, true
			}
		}
	}
	return nearest, ok
}

// evenly are n + 1 values from one to another, both exactly among them.
func evenly(from, to float64, n int) []float64 {
	values := make([]float64, n+1)
	for i := range values {
		values[i] = from + (to-from)*float64(i)/float64(n)
	}
	values[n] = to
	return values
}

// runs are the ranges of a value that are good, found on ascending samples and bisected to where they end. What lies between two samples is
// not seen.
func runs(samples []float64, good func(float64) bool) (found []geometry.Interval) {
	before := false
	for i, x := range samples {
		now := good(x)
		switch {
		case now && !before:
			start := x
			if i > 0 {
				start = lastGood(x, samples[i-1], good)
			}
			found = append(found, geometry.Interval{Low: start, High: x})
		case now:
			found[len(found)-1].High = x
		case before:
			found[len(found)-1].High = lastGood(samples[i-1], x, good)
		}
		before = now
	}
	return found
}

// lastGood is the good value nearest to a bad one, by bisection.
func lastGood(good, bad float64, is func(float64) bool) float64 {
	for range 50 {
		middle := good + (bad-good)/2
		if middle == good || middle == bad {
			break
		}
		if is(middle) {
			good = middle
		} else {
			bad = middle
		}
	}
	return good
}

// leastOf is where a function is least: the best of ascending samples, refined between its neighbours by golden section.
func leastOf(samples []float64, of func(float64) float64) float64 {
	const golden, steps = 0.6180339887498949, 40 // to 1e-8 of the way: a minimum is flat, and no more shows
	best, least := 0, of(samples[0])
	for i, x := range samples {
		if y := of(x); y < least {
			best, least = i, y
		}
	}
	low, high := samples[max(0, best-1)], samples[min(len(samples)-1, best+1)]
	for range steps {
		left, right := high-golden*(high-low), low+golden*(high-low)
		if of(left) < of(right) {
			high = right
		} else {
			low = left
		}
	}
	if x := (low + high) / 2; of(x) < least {
		return x
	}
	return samples[best]
}
