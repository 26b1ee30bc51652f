package swung_test

import (
	"errors"
	"math"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/space"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// stacked is row six's gouge with bevels of the given fronts at the nose.
func stacked(t *testing.T, width float64, fronts ...float64) swung.Stack {
	t.Helper()
	e, g := rowSix(4, 6.5)
	s := swung.Stack{Edge: e, Bevels: []swung.Bevel{{Setting: g, Width: width}}}
	for _, front := range fronts {
		next, err := s.Then(g.Wheel, g.Pivot, unit.Degrees(front))
		if err != nil {
			t.Fatal(err)
		}
		s.Bevels = append(s.Bevels, swung.Bevel{Setting: next, Width: width})
	}
	return s
}

// At the nose the whole edge's stack is the planar one.
func TestStackAtTheNose(t *testing.T) {
	s := stacked(t, 1.5, 45, 33)
	lands, err := s.At(0)
	if err != nil {
		t.Fatal(err)
	}
	planar := geometry.Stack{}
	for b, front := range []float64{55, 45, 33} {
		h, err := s.Bevels[b].Setting.Wheel.HollowOfChord(unit.Degrees(front), 1.5)
		if err != nil {
			t.Fatal(err)
		}
		if planar, err = planar.Then(h); err != nil {
			t.Fatal(err)
		}
		near(t, "front behind", lands[b].At.Back, float64(planar[b].Behind), 1e-8)
		near(t, "front below", -lands[b].At.Up, float64(planar[b].Below), 1e-8)
		near(t, "front angle", lands[b].ToAxis(), front*degree, 1e-8)
	}
	for i, corner := range swung.Corners(lands) {
		near(t, "corner", corner, float64(planar.Corners()[i]), 1e-8)
	}
}

// A land's width is square to its edge: the distance of its end from the tangent there. The plane through edge and land's end is measured,
// not the arc.
func TestLandIsSquareToTheEdge(t *testing.T) {
	s := stacked(t, 1.5, 45)
	for _, along := range s.Edge.Places(33) {
		lands, err := s.At(along)
		if err != nil {
			t.Fatal(err)
		}
		l := lands[0]
		// The chord leaves the arc's first direction by its sagitta, some hundredths of a millimetre over the wheel's 125.
		near(t, "width", l.End().Minus(l.At).Across(l.Edge).Length(), 1.5, 1.5*0.006)
		if wide := l.Length * math.Sin(l.Skew()); math.Abs(wide-1.5) > 1e-4 {
			t.Errorf("the arc at %g is %g long, %g square to the edge", along, l.Length, wide)
		}
	}
}

// The second bevel's normal has to be square to the curve it starts on, however that is differenced: here with a step a hundred times as
// long and five points.
func TestStackFollowsTheLandsEnd(t *testing.T) {
	s := stacked(t, 1.2, 45, 35)
	at := func(along float64, bevel int) space.Vec {
		lands, err := s.At(along)
		if err != nil {
			t.Fatal(err)
		}
		return lands[bevel].End()
	}
	for _, along := range s.Edge.Places(17) {
		lands, err := s.At(along)
		if err != nil {
			t.Fatal(err)
		}
		for b := 1; b < 3; b++ {
			const h = 0.05
			d := at(along-2*h, b-1).Minus(at(along+2*h, b-1)).Plus(at(along+h, b-1).Minus(at(along-h, b-1)).Times(8)).Dir()
			near(t, "square to the curve", lands[b].Normal.Dot(d), 0, 1e-5)
			near(t, "edge along it", lands[b].Edge.AngleTo(d), 0, 1e-5)
		}
	}
}

// The corner between land and relief changes along a swept wing.
func TestCornersAlongTheWing(t *testing.T) {
	s := stacked(t, 1.5, 40)
	corner := func(along float64) float64 {
		lands, err := s.At(along)
		if err != nil {
			t.Fatal(err)
		}
		return swung.Corners(lands)[0]
	}
	nose, end := corner(0), corner(s.Edge.Right)
	near(t, "both wings", corner(-s.Edge.Left), end, 1e-9)
	if math.Abs(end-nose) < degree {
		t.Errorf("the corner is %.2f° at the nose and %.2f° at the end", nose/degree, end/degree)
	}
	t.Logf("corner %.2f° at the nose, %.2f° at the wing's end", nose/degree, end/degree)
}

// Beyond the ends the wheels stand still: every face's points lie on the wheel as it stood, and at the end itself nothing changes.
func TestBeyondTheWing(t *testing.T) {
	s := stacked(t, 1.5, 45)
	end, err := s.At(s.Edge.Right)
	if err != nil {
		t.Fatal(err)
	}
	radius := float64(s.Bevels[0].Setting.Wheel.Radius())
	for _, over := range []float64{1e-9, 0.3, 1.5} {
		lands, ok := swung.Beyond(end, s.Edge.At(s.Edge.Right+over))
		if !ok || len(lands) != 2 {
			t.Fatal("not reached")
		}
		for b, l := range lands {
			axle := end[b].At.Plus(end[b].Normal.Times(radius))
			for _, length := range []float64{0, 1, 4} {
				near(t, "on the wheel", l.Arc(length).Minus(axle).Across(end[b].Axle).Length(), radius, 1e-8)
			}
		}
		if over < 1e-6 {
			near(t, "land at the end", lands[0].Length, end[0].Length, 1e-6)
			near(t, "relief at the end", lands[1].Normal.AngleTo(end[1].Normal), 0, 1e-6)
		}
	}
}

func TestStackRefusals(t *testing.T) {
	var refused *swung.StackError
	for _, c := range []struct {
		why swung.StackWhy
		gap float64
	}{{swung.Rising, 3}, {swung.Unreached, 90}} {
		s := stacked(t, 1.5, 45)
		s.Bevels[1].Setting.Gap = s.Bevels[0].Setting.Gap + unit.Length(c.gap)
		if _, err := s.At(0); !errors.As(err, &refused) || refused.Why != c.why || refused.Bevel != 1 {
			t.Errorf("gap %g: %v", c.gap, err)
		}
	}
	// A wheel of 3 m over a land that a wheel of 40 mm has hollowed takes the edge.
	s := stacked(t, 6)
	s.Bevels[0].Setting = swung.AtNose(geometry.RoundWheel(40), s.Bevels[0].Setting.Pivot, 55*unit.Degree)
	next, err := s.Then(geometry.RoundWheel(3000), s.Bevels[0].Setting.Pivot, 70*unit.Degree)
	if err != nil {
		t.Fatal(err)
	}
	s.Bevels = append(s.Bevels, swung.Bevel{Setting: next})
	if _, err := s.At(0); !errors.As(err, &refused) || refused.Why != swung.Biting || !(refused.Value > 0.1) {
		t.Error(err)
	}
}
