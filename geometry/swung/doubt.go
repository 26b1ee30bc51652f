package swung

import (
	"errors"
	"math"
	"slices"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// Size is one that the wedge along an edge depends on.
type Size int

// The sizes: the setting's first, then the edge's. All are mm but the roll, which is radians.
const (
	OfGap Size = iota
	OfBehind
	OfBelow
	OfAside
	OfRoll
	OfContact
	OfDiameter // at the same gap
	OfFluteRadius
	OfSetback
	OfHalfWidth
	sizes
)

// Offsets are how far sizes are off.
type Offsets [sizes]float64

func (o Offsets) dot(p Offsets) (sum float64) {
	for i := range o {
		sum += o[i] * p[i]
	}
	return sum
}

// plus is o + f·p.
func (o Offsets) plus(p Offsets, f float64) Offsets {
	for i := range o {
		o[i] += f * p[i]
	}
	return o
}

// Input is something that was measured or set, by what a unit of it changes: a stick-out is {OfBehind: 1}; a leg's radian moves the pivot as
// [geometry.SwingHolder.PerLeg] says; a wheel's diameter under a support that stays is {OfDiameter: 1, OfGap: -0.5}. Changes are proportional:
// of a leg's circle they are the tangent, which two degrees leave by less than a thousandth of the leg.
type Input struct {
	Changes   Offsets
	HalfWidth float64 // at 95 % (k = 2), in the input's unit
}

// Budget is what the wedge along an edge depends on, and how well that is known. Inputs are independent of one another.
type Budget struct {
	Setting Setting
	// Shape is the edge when its sizes are off, false where they make none. Only the last sizes of the offsets count.
	Shape  func(Offsets) (Edge, bool)
	Inputs []Input
	// Draws at a place where sensitivities are not enough; 0 is DefaultDraws. All places together share MostDraws.
	Draws int
	// Uniform gives the next number of [0, 1); the same numbers give the same doubts. Without it nothing is drawn.
	Uniform func() float64
}

// DefaultDraws know a 95 % half-width to about one part in fifty. MostDraws are two or three seconds' work.
const (
	DefaultDraws = 10_000
	MostDraws    = 2_000_000
)

// Doubt is how well the wedge is known at a place. Nothing but Face is set where that is not reached.
type Doubt struct {
	Face
	Expanded float64 // half-width at 95 % by sensitivities: the law of propagation of uncertainty, JCGM 100:2008, 5.1.2
	Parts    []Part  // of every input, the largest first
	// Bent tells that the wedge does not follow its inputs in a straight line within their doubts, or is not reached in all of them: Expanded
	// then has no meaning, and the inputs were drawn (JCGM 101:2008).
	Bent bool
	// Drawn is the shortest interval that holds 95 % of the wedges drawn, and Unreached the part of the draws that do not reach the place.
	// Where that is more than half there is no interval, nor where nothing is drawn.
	Drawn     geometry.Interval
	Unreached float64
}

// Part is an input's part in the doubt.
type Part struct {
	Input       int     // its place in the budget
	Sensitivity float64 // rad per unit of the input
	Angle       float64 // what its doubt alone does, at 95 %
}

// Along is how well the wedge is known at parts of the wings: −1 is the −side wing's end, 0 the nose, 1 the +side wing's end. Nil where the
// budget's shape is none.
func (b Budget) Along(parts []float64) []Doubt {
	edges, ok := b.nearby()
	if !ok {
		return nil
	}
	pivot := b.Setting.pivot()
	doubts := make([]Doubt, len(parts))
	all := make([]Part, len(parts)*len(b.Inputs))
	bent := 0
	for i, part := range parts {
		d := &doubts[i]
		d.Point = edges.as.part(part)
		b.Setting.grind(pivot, &d.Face)
		if !d.Reached() {
			continue
		}
		d.Parts = all[i*len(b.Inputs) : (i+1)*len(b.Inputs) : (i+1)*len(b.Inputs)]
		b.linear(d, &edges, part)
		if d.Bent = !b.straight(d, &edges, part); d.Bent {
			bent++
		}
	}
	b.draw(doubts, parts, bent)
	return doubts
}

// part of a wing as a point.
func (e Edge) part(part float64) Point {
	if part < 0 {
		return e.At(part * e.Left)
	}
	return e.At(part * e.Right)
}

// shapeStep is by how much an edge's size is moved for its derivative, mm. Points follow sizes of millimetres by plain formulas, so the step's
// square (1e-8) is what is lost, and rounding less.
const shapeStep = 1e-4

// nearby is what every place is compared with: the edge with one of its sizes a step more, and a step less, where an input changes that size;
// and edge and setting with each input off by its half-width.
type nearby struct {
	as         Edge
	more, less [sizes]Edge
	moved      [sizes]bool
	up, down   []stand
}

// stand is an edge on a setting; not ok where sizes are off so far that they make none.
type stand struct {
	edge    Edge
	setting Setting
	ok      bool
}

// off is where sizes that are off put edge and setting.
func (b *Budget) off(o Offsets) (s stand) {
	var made bool
	s.edge, made = b.Shape(o)
	s.setting, s.ok = b.Setting.off(o)
	s.ok = s.ok && made
	return s
}

// wedge at a part of a wing; false where it is not reached.
func (s *stand) wedge(part float64) (float64, bool) {
	if !s.ok {
		return 0, false
	}
	f := Face{Point: s.edge.part(part)}
	s.setting.grind(s.setting.pivot(), &f)
	return f.Wedge, f.Reached()
}

func (b *Budget) nearby() (n nearby, ok bool) {
	if n.as, ok = b.Shape(Offsets{}); !ok {
		return n, false
	}
	for _, in := range b.Inputs {
		n.up = append(n.up, b.off(Offsets{}.plus(in.Changes, in.HalfWidth)))
		n.down = append(n.down, b.off(Offsets{}.plus(in.Changes, -in.HalfWidth)))
		for s := OfFluteRadius; s < sizes; s++ {
			n.moved[s] = n.moved[s] || in.Changes[s] != 0
		}
	}
	for s, moved := range n.moved {
		if !moved {
			continue
		}
		var less, more bool
		n.more[s], more = b.Shape(Offsets{}.plus(unitOf(Size(s)), shapeStep))
		n.less[s], less = b.Shape(Offsets{}.plus(unitOf(Size(s)), -shapeStep))
		if !more || !less {
			return n, false
		}
	}
	return n, true
}

func unitOf(s Size) (o Offsets) {
	o[s] = 1
	return o
}

// linear combines the inputs' parts, the largest first.
func (b *Budget) linear(d *Doubt, edges *nearby, part float64) {
	slopes := b.slopes(&d.Face, edges, part)
	for i, in := range b.Inputs {
		s := slopes.dot(in.Changes)
		d.Parts[i] = Part{Input: i, Sensitivity: s, Angle: math.Abs(s * in.HalfWidth)}
	}
	var sum float64
	for _, p := range d.Parts {
		sum += p.Angle * p.Angle
	}
	d.Expanded = math.Sqrt(sum)
	slices.SortStableFunc(d.Parts, func(p, q Part) int {
		switch {
		case p.Angle > q.Angle:
			return -1
		case p.Angle < q.Angle:
			return 1
		}
		return 0
	})
}

// slopes are the wedge's derivatives, from the relation n·(E − P) = g + k(g² − ρ² + c²)/2 as an implicit function of the wedge: each is a
// short term over how far the pivot lies from the point along the face, square to the edge.
func (b *Budget) slopes(f *Face, edges *nearby, part float64) (o Offsets) {
	g := &b.Setting
	k, gap, c := g.Wheel.Curvature(), float64(g.Gap), float64(g.Contact)
	pivot := g.pivot()
	from := f.At.Minus(pivot)
	inv := f.sense() / f.lever(from)
	perPivot := f.Normal.Plus(from.Times(k)).Times(inv)
	sin, cos := math.Sincos(float64(g.Roll))

	o[OfGap] = (1 + k*gap) * inv
	o[OfBehind] = perPivot.Back
	o[OfBelow] = perPivot.Side*sin - perPivot.Up*cos
	o[OfAside] = perPivot.Up*sin + perPivot.Side*cos
	o[OfRoll] = perPivot.Up*pivot.Side - perPivot.Side*(pivot.Up-float64(g.Centre))
	o[OfContact] = k * c * inv
	o[OfDiameter] = -k * k / 2 * (gap*gap - f.reach*f.reach + c*c) / 2 * inv
	for s, moved := range edges.moved {
		if moved {
			more, less := edges.more[s].part(part), edges.less[s].part(part)
			o[s] = (g.lean(&less, f.signed()) - g.lean(&more, f.signed())) / (2 * shapeStep) * inv
		}
	}
	return o
}

// lean is what of the relation depends on the point: n·(E − P) + kρ²/2 at a wedge.
func (g *Setting) lean(p *Point, wedge float64) float64 {
	from := p.At.Minus(g.pivot())
	n, _ := p.facing(wedge)
	return n.Dot(from) + g.Wheel.Curvature()*from.Dot(from)/2
}

// bentTooMuch is the share of the expanded uncertainty that its ends may be off for sensitivities to count: JCGM 101:2008, 8.1 compares the
// ends of both intervals; this compares them without drawing.
const bentTooMuch = 0.05

// straight tells whether sensitivities hold within the inputs' doubts. Each input alone, off to either side by its half-width, and all of them
// together, off so that the wedge moves most, have to move it as foretold; and half as far again, together, the place has to be reached.
func (b *Budget) straight(d *Doubt, edges *nearby, part float64) bool {
	var steepest Offsets
	var bend float64
	for _, p := range d.Parts {
		in := &b.Inputs[p.Input]
		up, ok1 := edges.up[p.Input].wedge(part)
		down, ok2 := edges.down[p.Input].wedge(part)
		if !ok1 || !ok2 {
			return false
		}
		bend += math.Abs(up+down-2*d.Wedge) / 2
		if d.Expanded > 0 {
			steepest = steepest.plus(in.Changes, in.HalfWidth*p.Sensitivity*in.HalfWidth/d.Expanded)
		}
	}
	for _, way := range [...]float64{-1, 1} {
		at, beyond := b.off(Offsets{}.plus(steepest, way)), b.off(Offsets{}.plus(steepest, 1.5*way))
		wedge, ok1 := at.wedge(part)
		_, ok2 := beyond.wedge(part)
		if !ok1 || !ok2 {
			return false
		}
		bend = max(bend, math.Abs(wedge-d.Wedge-way*d.Expanded))
	}
	return bend <= bentTooMuch*d.Expanded+1e-12
}

// off is the setting when its sizes are; false where they make no wheel.
func (g Setting) off(o Offsets) (Setting, bool) {
	g.Gap += length(o[OfGap])
	g.Pivot.Behind += length(o[OfBehind])
	g.Pivot.Below += length(o[OfBelow])
	g.Aside += length(o[OfAside])
	g.Roll += unit.Angle(o[OfRoll])
	g.Contact += length(o[OfContact])
	if o[OfDiameter] != 0 && !g.Wheel.Flat() {
		diameter := g.Wheel.Diameter() + length(o[OfDiameter])
		g.Wheel = geometry.RoundWheel(diameter)
		return g, diameter > 0
	}
	return g, true
}

// draw the inputs at the places where sensitivities are not enough.
func (b *Budget) draw(doubts []Doubt, parts []float64, bent int) {
	if bent == 0 || b.Uniform == nil {
		return
	}
	draws := b.Draws
	if draws == 0 {
		draws = DefaultDraws
	}
	draws = max(geometry.LeastTrials, min(draws, MostDraws/bent))
	inputs := make([]geometry.Distribution, len(b.Inputs))
	for i, in := range b.Inputs {
		inputs[i].Standard = in.HalfWidth / 2
	}
	for i := range doubts {
		if d := &doubts[i]; d.Bent {
			d.Drawn, d.Unreached = b.drawn(inputs, parts[i], draws)
		}
	}
}

// drawn is the shortest interval that holds 95 % of the wedges, and the part of the draws that do not reach.
func (b *Budget) drawn(inputs []geometry.Distribution, part float64, draws int) (geometry.Interval, float64) {
	model := func(draw []float64) (float64, bool) {
		var o Offsets
		for i, x := range draw {
			o = o.plus(b.Inputs[i].Changes, x)
		}
		drawn := b.off(o)
		return drawn.wedge(part)
	}
	spread, err := geometry.Propagate(inputs, model, b.Uniform, draws)
	var failed *geometry.TrialError
	if errors.As(err, &failed) {
		return geometry.Interval{}, float64(failed.Unanswered) / float64(draws)
	}
	return spread.Shortest(0.95), spread.Unanswered
}
