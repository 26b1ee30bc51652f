package geometry_test

import (
	"errors"
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// From a setting to the angle and back. Errors of the way there are magnified by r C on the way back, so they meet the tolerance of
// the gap alone.
func TestSettingToAngleAndBack(t *testing.T) {
	r := chance.New(t)
	for range 5000 {
		g := shopRig(r)
		gap := g.wheel.Gap(g.pivot, g.edge)
		edge := must[unit.Angle](t)(g.wheel.EdgeAngle(g.pivot, gap))
		near(t, "edge angle, rad", edge, g.edge, 1e-13)
		near(t, "gap again, mm", g.wheel.Gap(g.pivot, edge), gap, 1e-11)
		if a, ok := g.wheel.Behind(edge, g.pivot.Below, gap); !ok || math.Abs(float64(a-g.pivot.Behind)) > 1e-10 {
			t.Errorf("%+v: the length behind comes back as %v, %v", g, a, ok)
		}
	}
}

func TestLegToAngleAndBack(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		g := shopRig(r)
		s := geometry.SwingHolder{JointBehindFace: 22, JointBelowAxis: 9, Leg: unit.Length(uniform(r, 30, 120))}
		leg := unit.Degrees(uniform(r, -170, 170))
		low, high, ok := g.wheel.LegAngles(s, 45, g.edge, g.wheel.Gap(s.Pivot(45, leg), g.edge))
		if !ok {
			continue // the two leg angles coincide there, and rounding decides
		}
		nearest := math.Min(math.Abs(float64(low-leg)), math.Abs(float64(high-leg)))
		near(t, "leg angle, rad", nearest, 0, 1e-6)
		if !(low <= high) || low <= -math.Pi || high > math.Pi {
			t.Errorf("leg angles %v and %v are not in order", low, high)
		}
	}
}

func TestPlatformToAngleAndBack(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		w, edge := wheelOfRadius(logUniform(r, 20, 1e6)), unit.Degrees(uniform(r, 1, 179))
		back := must[unit.Angle](t)(w.LineAngle(w.LineFor(edge)))
		near(t, "edge angle, rad", back, edge, 1e-13)
	}
}

// A bevel's tangents, reading, chord and depth belong to one circle: its middle is a depth away from the chord's.
func TestHollowIsAnArc(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		w := wheelOfRadius(logUniform(r, 20, 1e9))
		front, steel := unit.Degrees(uniform(r, 5, 85)), unit.Length(uniform(r, 1, 15))
		h := must[geometry.Hollow](t)(w.HollowOfDepth(front, steel))
		if !(h.Reading >= h.Front && h.Far >= h.Reading) {
			t.Errorf("%+v: the angles do not rise towards the heel", h)
		}
		same := must[geometry.Hollow](t)(w.HollowOfChord(front, h.Chord))
		near(t, "reading, rad", same.Reading, h.Reading, 1e-13)
		near(t, "front of the reading, rad", must[unit.Angle](t)(w.FrontOfReading(h.Reading, h.Chord)), front, 1e-13)

		// The wheel's axle lies below the front end, square to the tangent. Both ends and the arc's middle are on the rim.
		radius := float64(w.Radius())
		behind, below := h.End()
		toHeel := func(back, down float64) float64 { // less R, without subtracting two radii
			sin, cos := math.Sincos(float64(front))
			return (back*back + down*down + 2*radius*(back*sin-down*cos)) / (2 * radius)
		}
		near(t, "heel from the rim, mm", toHeel(float64(behind), float64(below)), 0, 1e-12)
		sin, cos := math.Sincos(float64(h.Reading))
		middleBack := float64(behind)/2 - float64(h.Depth)*(-sin) // the hollow lies above the chord
		middleDown := float64(below)/2 - float64(h.Depth)*cos
		near(t, "middle from the rim, mm", toHeel(middleBack, middleDown), 0, 1e-12)
	}
}

func TestSmallerWheelGrindsDeeperHollow(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		small, factor := logUniform(r, 20, 1e4), uniform(r, 1.01, 10)
		front, steel := unit.Degrees(uniform(r, 5, 85)), unit.Length(uniform(r, 1, 15))
		deep := must[geometry.Hollow](t)(wheelOfRadius(small).HollowOfDepth(front, steel))
		shallow := must[geometry.Hollow](t)(wheelOfRadius(small*factor).HollowOfDepth(front, steel))
		flat := must[geometry.Hollow](t)(geometry.FlatAbrasive().HollowOfDepth(front, steel))
		same := func(chord unit.Length, w geometry.Wheel) unit.Length {
			return must[geometry.Hollow](t)(w.HollowOfChord(front, chord)).Depth
		}
		if chord := shallow.Chord / 2; !(same(chord, wheelOfRadius(small)) > same(chord, wheelOfRadius(small*factor))) {
			t.Errorf("chord %v: R %g grinds no deeper than R %g", chord, small, small*factor)
		}
		if !(deep.Reading > shallow.Reading && shallow.Reading > flat.Reading) {
			t.Errorf("front %v, steel %v: readings %v, %v, %v do not fall as wheels grow", front, steel, deep.Reading, shallow.Reading, flat.Reading)
		}
		if flat.Depth != 0 || flat.Reading != front && math.Abs(float64(flat.Reading-front)) > 1e-15 {
			t.Errorf("a flat abrasive leaves %+v", flat)
		}
	}
}

// Bevels no wheel can grind are refused with the most that it can, and that is granted.
func TestBevelTooLargeIsRefused(t *testing.T) {
	w := wheelOfRadius(20)
	for _, c := range []struct {
		grind func(unit.Length) (geometry.Hollow, error)
		size  unit.Length
		most  float64
	}{
		{func(l unit.Length) (geometry.Hollow, error) { return w.HollowOfChord(40*unit.Degree, l) }, 41, 40},
		{func(l unit.Length) (geometry.Hollow, error) { return w.HollowOfDepth(60*unit.Degree, l) }, 31, 30}, // R (1 + cos 60°)
	} {
		_, err := c.grind(c.size)
		var bevel *geometry.BevelError
		if !errors.As(err, &bevel) {
			t.Fatalf("%v: %v", c.size, err)
		}
		near(t, "most, mm", float64(bevel.Most), c.most, 1e-12)
		if _, err := c.grind(bevel.Most * (1 - 1e-12)); err != nil {
			t.Errorf("the refusal offers %v, which is refused: %v", bevel.Most, err)
		}
	}
}

func TestBevelWithoutSizeIsRefused(t *testing.T) {
	for _, w := range []geometry.Wheel{north, geometry.FlatAbrasive()} {
		for _, steel := range []unit.Length{0, -8, unit.Length(math.NaN())} {
			if h, err := w.HollowOfDepth(50*unit.Degree, steel); err == nil {
				t.Errorf("%v of steel is ground to %+v", steel, h)
			}
		}
		if h, err := w.HollowOfChord(50*unit.Degree, -3); err == nil {
			t.Errorf("a chord of -3 mm is ground to %+v", h)
		}
	}
}

// A line beyond the rim is refused with the most there is; on a flat abrasive a line says nothing about the angle.
func TestLineWithoutAngleIsRefused(t *testing.T) {
	for _, line := range []unit.Length{100.5, -100.5, unit.Length(math.NaN())} {
		_, err := north.LineAngle(line)
		var refused *geometry.LineError
		if !errors.As(err, &refused) {
			t.Fatalf("a line at %v: %v", line, err)
		}
		if _, err := north.LineAngle(refused.Most); err != nil {
			t.Errorf("the refusal offers %v, which is refused: %v", refused.Most, err)
		}
	}
	if edge, err := geometry.FlatAbrasive().LineAngle(50); err == nil {
		t.Errorf("on a flat abrasive a line at 50 mm is said to grind %v", edge)
	}
}

// A flat abrasive is what a wheel becomes as it grows: at a radius of 10⁹ mm everything differs by r²/2R at most.
func TestFlatIsTheLimit(t *testing.T) {
	r := chance.New(t)
	huge, flat := wheelOfRadius(1e9), geometry.FlatAbrasive()
	for range 1000 {
		g := shopRig(r)
		reach := float64(g.pivot.Reach())
		sagitta := reach * reach / 2e9
		gap := flat.Gap(g.pivot, g.edge)
		near(t, "gap, mm", huge.Gap(g.pivot, g.edge), gap, 2*sagitta)
		onFlat := must[unit.Angle](t)(flat.EdgeAngle(g.pivot, gap))
		onHuge := must[unit.Angle](t)(huge.EdgeAngle(g.pivot, gap))
		near(t, "edge angle, rad", onHuge, onFlat, 10*2*sagitta/reach) // C is 0.1 or more
		a, ok := flat.Behind(g.edge, g.pivot.Below, gap)
		b, okHuge := huge.Behind(g.edge, g.pivot.Below, gap)
		if !ok || !okHuge {
			t.Errorf("%+v: no length behind", g)
		}
		near(t, "behind, mm", b, a, 2*sagitta/math.Sin(float64(g.edge)))
		behind := unit.Length(uniform(r, 1, 100))
		near(t, "room below, mm", huge.RoomBelow(g.edge, behind), flat.RoomBelow(g.edge, behind), 1e-2)
		s, sHuge := flat.Sensitivity(g.pivot, g.edge, gap), huge.Sensitivity(g.pivot, g.edge, gap)
		near(t, "per gap", sHuge.Gap, s.Gap, 1e-6)
		near(t, "per behind", sHuge.Behind, s.Behind, 1e-6)
		near(t, "per below", sHuge.Below, s.Below, 1e-6)
	}
}

// With the pivot on the axle the tool swings round with its nose on the rim: every edge angle is β = δ − 90°, the pivot can be
// nowhere else, and nothing is NaN.
func TestPivotOnTheAxle(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		w := wheelOfRadius(logUniform(r, 20, 1e6))
		sin, cos := math.Sincos(uniform(r, -1.5, 1.5))
		p := geometry.Pivot{Behind: w.Radius() * unit.Length(cos), Below: w.Radius() * unit.Length(sin)}
		edge := p.Dip() - 90*unit.Degree
		// 1 + 2kc is rounded at ε, so d = R √ε' is noise of some 10⁻⁸ R.
		near(t, "gap over radius", float64(w.Gap(p, edge)/w.Radius()), -1, 1e-7)
		back, err := w.EdgeAngle(p, -w.Radius())
		if err == nil {
			near(t, "edge angle, rad", back, edge, 1e-7)
		}
		pose := w.Pose(p, edge, geometry.Point{})
		near(t, "nose from the rim over radius", float64(w.GapTo(pose.Contact)/w.Radius()), 0, 1e-14)
		if perReading := (geometry.Slide{}).GapPerReading(w, 0); math.IsNaN(perReading) {
			t.Error("a slide through the axle has no slope")
		}
	}
}

// What the tool cannot span is refused with the gaps at which it can, and those work.
func TestReachRefusedAndOffered(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		g := anyRig(r)
		least, most := g.wheel.Reachable(g.pivot)
		beyond := most * unit.Length(1+logUniform(r, 1e-9, 10))
		_, err := g.wheel.EdgeAngle(g.pivot, beyond)
		var reach *geometry.ReachError
		if !errors.As(err, &reach) {
			t.Fatalf("%+v at a gap of %v: %v", g, beyond, err)
		}
		if reach.Least != least || reach.Most != most {
			t.Errorf("%+v: the refusal offers %v to %v, the tool reaches %v to %v", g, reach.Least, reach.Most, least, most)
		}
		for _, part := range []unit.Length{0.001, 0.5, 0.999} {
			offered := least + part*(most-least)
			if _, err := g.wheel.EdgeAngle(g.pivot, offered); err != nil {
				t.Errorf("%+v: %v is offered and refused: %v", g, offered, err)
			}
		}
	}
}

// A pivot on the edge itself fixes no angle.
func TestNoReachIsRefused(t *testing.T) {
	for _, w := range []geometry.Wheel{north, geometry.FlatAbrasive()} {
		if edge, err := w.EdgeAngle(geometry.Pivot{}, 0); err == nil {
			t.Errorf("without any reach the edge angle is said to be %v", edge)
		}
	}
}

// A slide that runs along a flat abrasive never comes nearer to it, nor leaves.
func TestSlideAlongFlatAbrasiveHasNoReading(t *testing.T) {
	s := geometry.Slide{Origin: geometry.Point{Out: 100}, Direction: 90 * unit.Degree}
	if low, high, ok := s.Readings(geometry.FlatAbrasive(), 80); ok {
		t.Errorf("readings %v and %v are said to give a gap of 80 mm", low, high)
	}
	near(t, "gap per reading", s.GapPerReading(geometry.FlatAbrasive(), 5), 0, 1e-15)
}

// The relation on the branch it promises: the edge angle grows with the gap all the way.
func TestEdgeAngleGrowsWithGap(t *testing.T) {
	r := chance.New(t)
	for range 500 {
		g := anyRig(r)
		least, most := g.wheel.Reachable(g.pivot)
		last := unit.Angle(math.Inf(-1))
		for i := 1; i < 50; i++ {
			edge := must[unit.Angle](t)(g.wheel.EdgeAngle(g.pivot, least+(most-least)*unit.Length(i)/50))
			if !(edge > last) {
				t.Fatalf("%+v: the edge angle falls from %v to %v as the gap opens", g, last, edge)
			}
			last = edge
		}
	}
}

// A point further down the tool, seen as a nose of its own, is ground with the same tangent that the arc has there.
func TestSeenFromAPointOnTheArc(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		g := shopRig(r)
		h := must[geometry.Hollow](t)(g.wheel.HollowOfChord(g.edge, unit.Length(uniform(r, 0.5, 12))))
		atEnd := g.pivot.SeenFrom(h.End())
		near(t, "gap from the arc's end, mm", g.wheel.Gap(atEnd, h.Far), g.wheel.Gap(g.pivot, g.edge), 1e-11)
		if geometry.Conditioning(atEnd, h.Far) < 0.1 {
			continue // the arc runs past the angles that can be set
		}
		there := must[unit.Angle](t)(g.wheel.EdgeAngle(atEnd, g.wheel.Gap(g.pivot, g.edge)))
		near(t, "tangent at the arc's end, rad", there, h.Far, 1e-12)
	}
}

func TestObliqueThereAndBack(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		o := geometry.Oblique{EdgeToSide: unit.Degrees(uniform(r, 5, 90))}
		normal := unit.Degrees(uniform(r, 1, 89))
		axial := o.Axial(normal)
		near(t, "normal angle, rad", o.Normal(axial), normal, 1e-13)
		if axial > normal+1e-15 {
			t.Errorf("%+v: axial %v is over normal %v", o, axial, normal)
		}
		along := unit.Length(uniform(r, 10, 400))
		near(t, "reach and aside, mm", math.Hypot(float64(o.NormalReach(along)), float64(o.Aside(along))), float64(along), 1e-12)
	}
}

// How far aside the pocket must be for a straight skew: worked for this project by a three-dimensional placement.
func TestObliqueAside(t *testing.T) {
	reads(t, "150 mm at 70°", float64(geometry.Oblique{EdgeToSide: 70 * unit.Degree}.Aside(150)), "51")
	reads(t, "430 mm at 60°", float64(geometry.Oblique{EdgeToSide: 60 * unit.Degree}.Aside(430)), "215")
	square := geometry.Oblique{EdgeToSide: 90 * unit.Degree}
	near(t, "straight across", square.Aside(430), 0, 1e-12)
	near(t, "straight across", square.NormalReach(430), 430, 1e-12)
}
