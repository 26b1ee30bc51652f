package geometry_test

import (
	"math"
	"slices"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// answers asks every exported function and returns what each answered, by name; what was refused is left out.
func answers(diameter, behind, below, angle, gap, size, aside, turn float64) map[string][]float64 {
	got := map[string][]float64{}
	keep := func(name string, ok bool, values ...float64) {
		if ok {
			got[name] = values
		}
	}
	kept := func(name string, err error, values ...float64) {
		if err != nil {
			_ = err.Error() // a refusal must be printable, whatever was asked
		}
		keep(name, err == nil, values...)
	}

	d, edge, g, l, tilt := unit.Length(diameter), unit.Angle(angle), unit.Length(gap), unit.Length(size), unit.Angle(turn)
	p := geometry.Pivot{Behind: unit.Length(behind), Below: unit.Length(below)}
	point := geometry.Point{Out: unit.Length(behind), Up: unit.Length(aside)}
	holder := geometry.SwingHolder{JointBehindFace: p.Behind, JointBelowAxis: p.Below, Leg: l}
	leg := holder.Pivot(g, tilt)
	legBehind, legBelow := holder.PerLeg(tilt)
	keep("holder", true, float64(leg.Behind), float64(leg.Below), float64(legBehind), float64(legBelow))
	from := p.SeenFrom(l, g)
	keep("pivot", true, float64(p.Reach()), float64(p.Dip()), float64(from.Behind), float64(from.Below))
	keep("speed", true, geometry.SurfaceSpeed(d, gap), geometry.SpindleSpeed(d, gap))

	table := geometry.Platform{Hinge: point, Surface: l}
	front := table.Front(tilt, g)
	keep("platform", true, float64(table.Line(tilt, g)), float64(table.LinePerTilt(tilt)), float64(front.Out), float64(front.Up))
	low, high, ok := table.Tilts(g, unit.Length(below))
	keep("tilts", ok, float64(low), float64(high))
	keep("flat tilt", true, float64(geometry.FlatTilt(edge)))
	oblique := geometry.Oblique{EdgeToSide: tilt}
	keep("oblique", true, float64(oblique.NormalReach(l)), float64(oblique.Aside(l)), float64(oblique.Axial(edge)), float64(oblique.Normal(edge)))
	part := geometry.Contribution{Sensitivity: aside, HalfWidth: size}
	keep("uncertainty", true, float64(geometry.Combined([]geometry.Contribution{part, part})), float64(geometry.TouchFirst(part.Angle())))
	if edge > 0.01 && edge < 3 {
		keep("chord through", true, float64(geometry.ChordThrough(edge, l)))
	}
	keep("conditioning", p.Reach() != 0, geometry.Conditioning(p, edge))

	slide := geometry.Slide{Origin: point, Direction: tilt}
	keep("slide", true, float64(slide.NearestApproach()))
	for name, w := range map[string]geometry.Wheel{"round ": geometry.RoundWheel(d), "flat ": geometry.FlatAbrasive()} {
		keep(name+"wheel", true, w.Curvature(), float64(w.Radius()), float64(w.Diameter()), float64(w.GapTo(point)))
		keep(name+"gap", true, float64(w.Gap(p, edge)))
		back, err := w.EdgeAngle(p, g)
		kept(name+"edge angle", err, float64(back))
		least, most := w.Reachable(p)
		keep(name+"reachable", true, float64(least), float64(most))
		if geometry.Conditioning(p, edge) > geometry.LeastConditioning {
			s := w.Sensitivity(p, edge, g)
			keep(name+"sensitivity", true, s.Gap, s.Behind, s.Below, s.Curvature, w.PerDiameterAtGap(s), w.PerDiameterAtPivot(s))
		}
		a, ok := w.Behind(edge, p.Below, g)
		keep(name+"behind", ok, float64(a))
		low, high, ok := w.LegAngles(holder, l, edge, g)
		keep(name+"leg angles", ok, float64(low), float64(high))
		pose := w.Pose(p, edge, point)
		place := pose.Place(l, g)
		keep(name+"pose", true, float64(pose.Contact.Out), float64(pose.Contact.Up), float64(pose.Elevation), float64(pose.Pitch), float64(place.Out), float64(place.Up))
		pose = w.PoseOnPlatform(edge, tilt, g)
		keep(name+"platform pose", true, float64(pose.Contact.Out), float64(pose.Contact.Up), float64(pose.Elevation), float64(pose.Pitch))
		lower, higher, ok := slide.Readings(w, g)
		keep(name+"readings", ok, float64(lower), float64(higher), float64(slide.At(lower).Out), float64(slide.At(higher).Up))
		keep(name+"gap per reading", true, slide.GapPerReading(w, l))
		line, err := w.LineAngle(g)
		kept(name+"line angle", err, float64(line))
		if !w.Flat() && edge > 0.01 && edge < 3 {
			keep(name+"line", true, float64(w.LineFor(edge)), w.PerLine(edge), w.PerDiameterAtLine(edge))
		}
		h, err := w.HollowOfChord(edge, l)
		heelBehind, heelBelow := h.End()
		kept(name+"hollow of chord", err, float64(h.Reading), float64(h.Far), float64(h.Depth), float64(heelBehind), float64(heelBelow))
		h, err = w.HollowOfDepth(edge, l)
		kept(name+"hollow of depth", err, float64(h.Reading), float64(h.Far), float64(h.Chord), float64(h.Depth))
		reading, err := w.FrontOfReading(edge, l)
		kept(name+"front of reading", err, float64(reading))
		keep(name+"room", true, float64(w.RoomBelow(edge, l)))
		corner, ok := swung.Corner(w, p, g, l, tilt)
		keep(name+"corner", ok, float64(corner))
		askBevels(asked{w, p, edge, tilt, g, l, unit.Length(aside)}, name, keep, kept)
	}
	askProfile(p, point, l, g, keep, kept)
	return got
}

// asked is one wheel with everything that may be asked of it.
type asked struct {
	w          geometry.Wheel
	p          geometry.Pivot
	edge, turn unit.Angle
	gap, size  unit.Length
	aside      unit.Length
}

type (
	keeper  func(name string, ok bool, values ...float64)
	refuser func(name string, err error, values ...float64)
)

// askBevels asks what is made of more bevels than one, of wear, of ink and of regrinding.
func askBevels(q asked, name string, keep keeper, kept refuser) {
	w, p, l := q.w, q.p, q.size
	s := askStack(q, name, keep, kept)
	for what, d := range map[string]func() (unit.Length, bool){
		"pivot": func() (unit.Length, bool) { return geometry.DiameterAtPivot(p, q.edge, q.gap) },
		"gap":   func() (unit.Length, bool) { return geometry.DiameterAtGap(p, q.edge, q.gap) },
		"line":  func() (unit.Length, bool) { return geometry.DiameterAtLine(q.edge, q.gap) },
	} {
		diameter, ok := d()
		keep(name+"diameter at "+what, ok, float64(diameter))
	}
	for _, band := range []geometry.WearBand{w.BandAtPivot(p, q.edge, q.turn), w.BandAtGap(p, q.edge, q.turn), w.BandAtLine(q.edge, q.turn)} {
		keep(name+"band", true, float64(band.Smallest), float64(band.Largest))
	}
	keep(name+"around", true, float64(geometry.AroundToDiameter(l, q.gap)))
	m, err := w.MatchChord(l, p.Below)
	kept(name+"match", err, float64(m.Edge), float64(m.Reading), m.PerMM.Chord, m.PerMM.Steel, m.PerMM.Radius)

	ground, h := geometry.RoundWheel(2*l), geometry.Hollow{}
	if len(s) > 0 {
		h = s[0].Hollow
	}
	blunter, sized, err := w.InkOffset(ground, l, q.gap)
	kept(name+"ink offset", err, float64(blunter))
	keep(name+"ink", sized, float64(blunter), float64(w.InkMark(ground, q.edge, l)))
	found, _, err := w.ReadInk(p, q.gap, h, q.aside)
	kept(name+"ink reading", err, float64(found.Edge), float64(found.Blunter), float64(found.Gap))
	if geometry.Conditioning(p, q.edge) > geometry.LeastConditioning {
		if sensitivity := w.Sensitivity(p, q.edge, w.Gap(p, q.edge)); sensitivity.Gap != 0 {
			keep(name+"correction", true, float64(sensitivity.Correction(q.turn)))
		}
	}
	trials := []geometry.InkTrial{{p.Behind, geometry.Mark(len(s) % 3)}, {p.Below, geometry.MarkHeel}, {q.gap, geometry.MarkEdge}}
	for n := range trials {
		search, err := geometry.NextInkTrial(trials[:n+1], q.aside, l)
		kept(name+"ink search", err, float64(search.Next), float64(search.Low), float64(search.High))
	}
	lost, ok := w.Recession(p, q.gap, q.edge)
	keep(name+"recession", ok, float64(lost))
	lost, ok = w.Reseat(p, q.edge, q.turn)
	keep(name+"reseat", ok, float64(lost))
}

// askStack builds a stack and asks everything of it.
func askStack(q asked, name string, keep keeper, kept refuser) geometry.Stack {
	var s geometry.Stack
	for i, front := range []unit.Angle{q.edge, q.turn, q.edge / 2, q.turn / 3} {
		wheel := q.w
		if i%2 == 1 {
			wheel = geometry.RoundWheel(q.size)
		}
		h, err := wheel.HollowOfChord(front, q.size/unit.Length(4*i+1))
		if err != nil {
			continue
		}
		next, err := s.Then(h)
		if kept(name+"stack", err); err == nil {
			s = next
		}
	}
	row, err := q.w.Facets(s, 3, q.turn, q.size)
	kept(name+"facets", err)
	for _, bevels := range []geometry.Stack{s, row} {
		behind, below := bevels.End()
		keep(name+"stack", true, float64(behind), float64(below), float64(bevels.Deviation()), float64(bevels.TightestCurve()))
		for _, corner := range bevels.Corners() {
			keep(name+"corners", true, float64(corner))
		}
		room, err := bevels.UndersideRoom(q.gap)
		kept(name+"underside", err, float64(room))
		if len(bevels) == 0 {
			continue
		}
		bevel, underside, ok := geometry.Softened(bevels[len(bevels)-1].Hollow, q.gap)
		keep(name+"softened", ok, float64(bevel), float64(underside))
		front, ok := q.w.ReliefFor(bevels[0].Hollow, q.gap, q.size)
		keep(name+"relief", ok, float64(front))
	}
	lift, err := geometry.Lift(q.size, q.gap)
	kept(name+"lift", err, float64(lift), float64(geometry.LongestLand(q.gap, q.turn)))
	recipe, err := q.w.BevelsFor(q.edge, q.turn, q.gap, q.size, geometry.RoundWheel(q.size))
	kept(name+"recipe", err, float64(recipe.TightestCurve()))
	plan := geometry.NewRegrind(s, recipe)
	stage := plan.Stage(q.gap)
	keep(name+"regrind", true, float64(plan.Advance()), float64(plan.LengthLost()), float64(stage.Width), float64(stage.Lost), stage.Steel)
	stages, ok := plan.Stages(q.size)
	keep(name+"stages", ok, float64(len(stages)))
	return s
}

// askProfile asks of a profile of five points, and of draws at its ends and middle.
func askProfile(p geometry.Pivot, at geometry.Point, size, gap unit.Length, keep keeper, kept refuser) {
	profile, err := geometry.NewProfile([]geometry.ProfilePoint{
		{FromAxis: size, BelowRim: 0}, {FromAxis: p.Behind, BelowRim: p.Below}, {FromAxis: at.Out, BelowRim: at.Up}, {FromAxis: gap, BelowRim: size},
		{FromAxis: 0, BelowRim: 2 * size},
	})
	kept("profile", err)
	curve, ok := profile.Tightest(gap)
	keep("tightest", ok, float64(curve.Radius))
	land, err := geometry.FlatAbrasive().HollowOfChord(0.8, size/10)
	if err != nil {
		return
	}
	room, err := profile.ShaftRoom(geometry.Stack{{Hollow: land}}, geometry.Shaft{Below: size}, gap)
	kept("shaft room", err, float64(room.Room))

	d := geometry.Distribution{Mean: float64(gap), Standard: float64(size)}
	keep("draw", true, d.At(0), d.At(0.5), geometry.Within(float64(gap), float64(size)).At(0.999), geometry.NumericalTolerance(float64(size), 2))
	var n float64
	spread, err := geometry.Propagate([]geometry.Distribution{d}, func(x []float64) (float64, bool) { return x[0], x[0] > 0 },
		func() float64 { n++; return math.Mod(n*math.Phi, 1) }, geometry.LeastTrials)
	inner, shortest := spread.Symmetric(0.9), spread.Shortest(0.9)
	kept("spread", err, spread.Mean, spread.Standard, spread.Unanswered, inner.Low, inner.High, shortest.Low, shortest.High)
}

// Lengths from a nanometre to a kilometre and angles within a turn are sane: no function may be baffled by them, though most such
// set-ups are refused. Diameters and sizes are positive.
func sane(diameter, behind, below, angle, gap, size, aside, turn float64) bool {
	for _, l := range []float64{behind, below, gap, aside} {
		if !(l == 0 || math.Abs(l) > 1e-6 && math.Abs(l) < 1e6) {
			return false
		}
	}
	within := func(v, low, high float64) bool { return v >= low && v <= high }
	return within(diameter, 1, 1e6) && within(size, 1e-6, 1e6) &&
		within(angle, -math.Pi, math.Pi) && within(turn, -math.Pi, math.Pi)
}

// Whatever comes in, there is an answer or a refusal, never a panic; and of sane input no answer is NaN.
func FuzzEngine(f *testing.F) {
	f.Add(200., 131.1, 46., 0.87, 108.49, 8., -110., 0.5)   // bowl-50 on north
	f.Add(200., 100., 0., -math.Pi/2, -100., 4., 0., 0.)    // pivot on the axle
	f.Add(200., 0., 0., 0., 0., 1e-6, 0., 0.)               // no reach
	f.Add(150., 430., -12., 0.7, 405.7, 40., 1., math.Pi/2) // butted handle, upright slide
	f.Add(math.NaN(), math.Inf(1), math.Inf(-1), math.NaN(), math.Inf(1), math.NaN(), math.Inf(-1), math.Inf(1))
	f.Add(0., -1., math.MaxFloat64, 1e300, math.SmallestNonzeroFloat64, -0., 5e-324, -1e300)
	f.Add(-200., math.Inf(1), 9., 0.87, math.NaN(), -8., 0., 7.)
	f.Fuzz(func(t *testing.T, diameter, behind, below, angle, gap, size, aside, turn float64) {
		got := answers(diameter, behind, below, angle, gap, size, aside, turn)
		if !sane(diameter, behind, below, angle, gap, size, aside, turn) {
			return
		}
		if name := findNaN(got); name != "" {
			t.Errorf("%s is NaN", name)
		}
	})
}

func findNaN(answers map[string][]float64) (name string) {
	for name, values := range answers {
		if slices.ContainsFunc(values, math.IsNaN) {
			return name
		}
	}
	return ""
}

// The fuzzer seldom meets the coincidences that make 0/0: a pivot on the axle, a slide through it, an edge square to the tool, a
// bevel as long as the wheel is wide. Here most inputs are chosen to make them.
func TestCoincidencesAreNeverNaN(t *testing.T) {
	r := chance.New(t)
	var tried int
	for range 50_000 {
		diameter := logUniform(r, 1, 1e6)
		length := func() float64 {
			special := []float64{0, diameter, -diameter, diameter / 2, -diameter / 2, 1e-5}
			return append(special, sign(r)*logUniform(r, 1e-5, 1e5))[r.IntN(len(special)+1)]
		}
		angle := func() float64 {
			special := []float64{0, math.Pi / 2, -math.Pi / 2, math.Pi, -math.Pi, math.Pi / 4, math.Pi / 6}
			return append(special, uniform(r, -math.Pi, math.Pi))[r.IntN(len(special)+1)]
		}
		in := [8]float64{diameter, length(), length(), angle(), length(), math.Abs(length()), length(), angle()}
		if !sane(in[0], in[1], in[2], in[3], in[4], in[5], in[6], in[7]) {
			continue
		}
		tried++
		if name := findNaN(answers(in[0], in[1], in[2], in[3], in[4], in[5], in[6], in[7])); name != "" {
			t.Errorf("%s is NaN for %v", name, in)
		}
	}
	if tried < 10_000 {
		t.Errorf("only %d inputs were sane", tried)
	}
}
