package geometry_test

import (
	"math"
	"slices"
	"testing"

	"arris.example/geometry"
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
		corner, ok := w.RollCorner(p, g, l, tilt)
		keep(name+"corner", ok, float64(corner))
	}
	return got
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
	r := newRand(t)
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
