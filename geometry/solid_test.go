package geometry_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// A planar solid, with none of the engine's formulas: a bar's section as the place where the steel begins on each of many levels below
// the edge, from which whole wheels are subtracted. A wheel stands where the machine puts it: at a distance from the pivot, touching
// the place where a bevel starts.

type place struct{ back, down float64 }

func (a place) less(b place) place  { return place{a.back - b.back, a.down - b.down} }
func (a place) far(b place) float64 { return math.Hypot(a.back-b.back, a.down-b.down) }

func placeOf(behind, below unit.Length) place { return place{float64(behind), float64(below)} }

const levels = 400

// section is a bar whose end stands half a millimetre ahead of the edge to be, with what was put against it.
type section struct {
	steel float64
	wheel []tooling
}

func (s section) level(i int) float64 { return s.steel * float64(i) / levels }

// begins is where the steel begins on a level when everything inside a wheel, or on the far side of a flat abrasive, is gone from the
// bar's end back. What a wheel takes further back, with steel in front of it, makes it infinite. The order of grinding is nothing to
// it.
func (s section) begins(level float64) float64 {
	begins := -0.5
	for range s.wheel {
		for _, t := range s.wheel {
			if from, to := t.spans(level); from <= begins {
				begins = max(begins, to)
			}
		}
	}
	for _, t := range s.wheel {
		if from, to := t.spans(level); from > begins && to > from {
			return math.Inf(1)
		}
	}
	return begins
}

// tooling is an abrasive in the tool's frame.
type tooling struct {
	axle   place
	radius float64 // 0: flat
	on     place   // of a flat one: a place on it and its direction out of the tool
	out    place
}

// spans is what of a level lies inside.
func (t tooling) spans(level float64) (from, to float64) {
	if t.radius == 0 {
		return math.Inf(-1), t.on.back - t.out.down*(level-t.on.down)/t.out.back
	}
	half := t.radius*t.radius - (level-t.axle.down)*(level-t.axle.down)
	if half < 0 {
		return math.Inf(-1), math.Inf(-1)
	}
	return t.axle.back - math.Sqrt(half), t.axle.back + math.Sqrt(half)
}

// stand puts an abrasive of a diameter (0: flat) against a place of the tool, with the pivot at a gap: two circles meet in two places,
// and of those the one is meant that has the pivot on the handle's side.
func stand(diameter, gap float64, pivot, at place) tooling {
	to := pivot.less(at)
	r := math.Hypot(to.back, to.down)
	unitTo := place{to.back / r, to.down / r}
	reach := gap // of the direction out of the tool towards the abrasive, on the line to the pivot
	if diameter != 0 {
		radius := diameter / 2
		d := radius + gap
		// from the place: |axle| = R, |axle − pivot| = d
		reach = -(radius*radius + r*r - d*d) / (2 * r) / radius * r
	}
	cos := -reach / r
	sin := math.Sqrt((1 - cos) * (1 + cos))
	out := place{unitTo.back*cos - unitTo.down*sin, unitTo.back*sin + unitTo.down*cos}
	if along := out.down*to.back - out.back*to.down; along < 0 {
		out = place{unitTo.back*cos + unitTo.down*sin, -unitTo.back*sin + unitTo.down*cos}
	}
	radius := diameter / 2
	return tooling{axle: place{at.back + radius*out.back, at.down + radius*out.down}, radius: radius, on: at, out: out}
}

// planned is where a stack says the steel begins on a level: of each bevel the circle through its ends and the bottom of its hollow.
func planned(s geometry.Stack, level float64) float64 {
	b := s[0]
	for _, next := range s[1:] {
		if float64(next.Below) <= level {
			b = next
		}
	}
	from, to := placeOf(b.Behind, b.Below), placeOf(b.End())
	if b.Depth == 0 {
		return from.back + (to.back-from.back)*(level-from.down)/(to.down-from.down)
	}
	chord, sagitta := from.far(to), float64(b.Depth)
	radius := (chord*chord/4 + sagitta*sagitta) / (2 * sagitta)
	alongBack, alongDown := (to.back-from.back)/chord, (to.down-from.down)/chord
	axle := place{
		(from.back+to.back)/2 - alongDown*(radius-sagitta),
		(from.down+to.down)/2 + alongBack*(radius-sagitta),
	}
	return axle.back + math.Sqrt(max(0, radius*radius-(level-axle.down)*(level-axle.down)))
}

// plan is a stack with all that grinds it.
type plan struct {
	diameters []float64
	pivot     geometry.Pivot
	steel     float64
	stack     geometry.Stack // as wanted
	refused   error          // what the engine says of it
}

// anyPlan draws one to six bevels, each ground by a wheel of its own or flat, with corners from a tenth of a degree to twenty.
func anyPlan(r *rand.Rand) plan {
	for bevels := 1 + r.IntN(6); ; {
		p := plan{
			pivot: geometry.Pivot{Behind: unit.Length(uniform(r, 70, 250)), Below: unit.Length(uniform(r, -10, 90))},
			steel: uniform(r, 3, 14),
		}
		if p.lay(r, bevels) {
			return p
		}
	}
}

func (p *plan) lay(r *rand.Rand, bevels int) bool {
	front := unit.Degrees(uniform(r, 30, 85))
	left := unit.Length(p.steel)
	for i := range bevels {
		diameter := logUniform(r, 30, 300)
		if r.IntN(8) == 0 {
			diameter = 0
		}
		h, err := wheelOrFlat(diameter).HollowOfChord(front, unit.Length(logUniform(r, 0.2, 6)))
		if i == bevels-1 {
			h, err = wheelOrFlat(diameter).HollowOfDepth(front, left)
		}
		behind, below := p.stack.End()
		_, down := h.End()
		sound := geometry.Conditioning(p.pivot.SeenFrom(behind, below), front) > 0.2
		if left -= down; err != nil || !sound || left < -1e-9 || h.Far > 90*unit.Degree || front < 5*unit.Degree {
			return false
		}
		if p.refused == nil {
			_, p.refused = p.stack.Then(h)
		}
		p.diameters = append(p.diameters, diameter)
		p.stack = append(p.stack, geometry.StackBevel{Hollow: h, Behind: behind, Below: below})
		front = h.Far - unit.Degrees(logUniform(r, []float64{0.1, 3}[r.IntN(2)], 20))
	}
	return true
}

func wheelOrFlat(diameter float64) geometry.Wheel {
	if diameter == 0 {
		return geometry.FlatAbrasive()
	}
	return geometry.RoundWheel(unit.Length(diameter))
}

// strays grinds a plan and says how far the steel that is left strays from what was planned.
func (p plan) strays() float64 {
	s := section{steel: p.steel}
	for i, b := range p.stack {
		gap := wheelOrFlat(p.diameters[i]).Gap(p.pivot.SeenFrom(b.Behind, b.Below), b.Front)
		s.wheel = append(s.wheel, stand(p.diameters[i], float64(gap), placeOf(p.pivot.Behind, p.pivot.Below), placeOf(b.Behind, b.Below)))
	}
	var most float64
	for i := range levels + 1 {
		most = max(most, math.Abs(s.begins(s.level(i))-planned(p.stack, s.level(i))))
	}
	return most
}

// Five hundred plans that the engine takes are ground, and what is left is what was planned: every land, every
// corner, the edge itself. Of those it refuses for a wheel that reaches too far, what is left is something else.
func TestStacksAgainstSolid(t *testing.T) {
	r := chance.New(t)
	var taken, refused, bevels int
	var worst float64
	for taken < 500 || refused < 100 {
		p := anyPlan(r)
		strays := p.strays()
		var crossing *geometry.CrossingError
		switch {
		case p.refused == nil:
			taken++
			bevels += len(p.stack)
			worst = max(worst, strays)
			if strays > 1e-8 {
				t.Errorf("%+v\nis taken, but what is left strays by %.3g mm", p, strays)
			}
		case errors.As(p.refused, &crossing):
			refused++
			// A wheel that reaches in between two levels, or by less than the solid can see, is not counted against the refusal.
			if crossing.Depth > 1e-3 && !(strays > 1e-4) {
				t.Errorf("%+v\nis refused (%v), but what is left strays by %.3g mm only", p, crossing, strays)
			}
		default:
			t.Fatalf("%+v: %v", p, p.refused)
		}
	}
	t.Logf("%d plans of %d bevels taken, worst %.2g mm; %d refused", taken, bevels, worst, refused)
}

// Facets laid by the engine behind a land, all with the holder's own leg, are what the wheel leaves.
func TestFacetsAgainstSolid(t *testing.T) {
	r := chance.New(t)
	var ground, crossings int
	for ground < 500 {
		diameter := logUniform(r, 80, 300)
		w := geometry.RoundWheel(unit.Length(diameter))
		edge, last := unit.Degrees(uniform(r, 50, 80)), unit.Degrees(uniform(r, 8, 45))
		land := must[geometry.Hollow](t)(w.HollowOfChord(edge, unit.Length(uniform(r, 0.5, 3))))
		p := plan{
			pivot: swing.Pivot(unit.Length(uniform(r, 30, 60)), unit.Degrees(uniform(r, 10, 60))),
			steel: uniform(r, 5, 14),
		}
		s := must[geometry.Stack](t)(geometry.Stack{}.Then(land))
		n := 1 + r.IntN(6)
		s, err := w.Facets(s, n, last, unit.Length(p.steel))
		var crossing *geometry.CrossingError
		if errors.As(err, &crossing) {
			crossings++
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		ground++
		checkRow(t, s, n, last, p.steel)
		p.stack = s
		for range s {
			p.diameters = append(p.diameters, diameter)
		}
		if strays := p.strays(); strays > 1e-8 {
			t.Errorf("%d facets to %v on Ø%.0f stray by %.3g mm", n, last, diameter, strays)
		}
	}
	t.Logf("%d rows ground, %d refused", ground, crossings)
}

// checkRow holds a row of facets behind one land to being even and equal, to its last tangent and to the steel.
func checkRow(t *testing.T, s geometry.Stack, n int, last unit.Angle, steel float64) {
	t.Helper()
	if len(s) != n+1 {
		t.Fatalf("%d bevels, want %d", len(s), n+1)
	}
	for i, corner := range s.Corners() {
		near(t, "corner, rad", corner, s.Corners()[0], 1e-12)
		near(t, "width, mm", s[i+1].Chord, s[1].Chord, 0)
	}
	_, down := s.End()
	near(t, "steel, mm", float64(down), steel, 1e-10)
	near(t, "last tangent, rad", s[n].Front, last, 1e-12)
}
