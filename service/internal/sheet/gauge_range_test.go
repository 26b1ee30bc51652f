package sheet_test

import (
	"math"
	"slices"
	"testing"

	"arris.example/geometry/unit"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// byCoordinates is the edge angle of a tool that swings about a pivot behind and below its nose, held so far from the axle: the nose is put
// where the circle about the pivot cuts the rim, above the line between axle and pivot, and the tool turned until the pivot is where it is.
func byCoordinates(behind, below, axle, radius float64) float64 {
	reach := math.Hypot(behind, below)
	x := (axle*axle + radius*radius - reach*reach) / (2 * axle)
	y := math.Sqrt(radius*radius - x*x)
	along := math.Atan2(-y, axle-x) + math.Atan2(below, behind) // the tool's axis, from the nose to the handle
	tangent := math.Atan2(-x, y)                                // the rim's, downwards
	return (along - tangent) * 180 / math.Pi
}

// swingPivot is the demonstration shop's swing holder's: joint 22 behind the face and 9 below the axis, leg 74.
func swingPivot(stickOut, leg float64) (behind, below float64) {
	sin, cos := math.Sincos(leg * math.Pi / 180)
	return stickOut + 22 + 74*cos, 9 + 74*sin
}

// The lengths and angles that a gauge may have are those at which the edge is off by the tolerance, put there by coordinates.
func TestGaugesKnowTheirTolerance(t *testing.T) {
	m, q := maker(), setup.Question{Common: asks["bowl"]}
	found, err := m.Solver.Solve(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	axle := 100 + float64(found.Steps[0].Support.Lengths[shop.DatumWheelGap].Set)
	edge := func(stickOut, leg float64) float64 {
		behind, below := swingPivot(stickOut, leg)
		return byCoordinates(behind, below, axle, 100)
	}
	ground := edge(45, 30)
	near(t, "the edge by coordinates", ground, found.Steps[0].Predicted.Edge.Degrees(), 1e-6)
	blocks, _, err := m.Solver.StickOuts(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	b, tolerance := blocks[0], blocks[0].Tolerance.Degrees()
	near(t, "at the shortest stick-out", edge(float64(b.From), 30)-ground, tolerance, 1e-5)
	near(t, "at the longest", ground-edge(float64(b.To), 30), tolerance, 1e-5)
	legs, _, err := m.Solver.Legs(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	l := legs[0]
	near(t, "with the leg at its least", math.Abs(edge(45, l.From.Degrees())-ground), tolerance, 1e-5)
	near(t, "at its most", math.Abs(edge(45, l.To.Degrees())-ground), tolerance, 1e-5)
	if !(b.From < 45 && b.To > 45 && l.From < l.Leg && l.To > l.Leg) {
		t.Errorf("good from %v to %v, from %v to %v", b.From, b.To, l.From, l.To)
	}
}

// A block may be so much too long or too short that the edge is off by the tolerance: the pocket is moved by it, by coordinates.
func TestBlocksKnowTheirTolerance(t *testing.T) {
	q := setup.Question{Common: asked("bowl-50", "north", "bowl-gouge-12")}
	q.Now = &shop.Settings{Datum: shop.DatumSlide, Support: 150}
	spacings, found, err := maker().Solver.Spacers(t.Context(), q)
	if err != nil || len(spacings) != 1 || len(spacings[0].Blocks) != 1 {
		t.Fatal(spacings, err)
	}
	edge := func(block unit.Length) float64 {
		behind, below := swingPivot(45, 30)
		return byCoordinates(behind, below, math.Hypot(150+float64(block), 110), 100)
	}
	b, ground := spacings[0].Blocks[0], found.Steps[0].Predicted.Edge.Degrees()
	near(t, "with the difference itself", edge(b.Exact), ground, 1e-6)
	near(t, "with the shortest block", math.Abs(edge(b.From)-ground), 1, 1e-5)
	near(t, "with the longest", math.Abs(edge(b.To)-ground), 1, 1e-5)
	if !(b.From < b.Length && b.Length < b.To) {
		t.Errorf("%v is good from %v to %v", b.Length, b.From, b.To)
	}
	// From the other side the block is where the machine stands, and what it is off moves the stop.
	q.Now.Support = 220
	spacings, found, err = maker().Solver.Spacers(t.Context(), q)
	if err != nil || !slices.Equal(spacings[0].Blocks[0].Steps, []int{setup.NowStanding}) {
		t.Fatal(spacings, err)
	}
	b = spacings[0].Blocks[0]
	edge = func(block unit.Length) float64 {
		behind, below := swingPivot(45, 30)
		return byCoordinates(behind, below, math.Hypot(220-float64(block), 110), 100)
	}
	near(t, "from outside, with the shortest", math.Abs(edge(b.From)-found.Steps[0].Predicted.Edge.Degrees()), 1, 1e-5)
	near(t, "from outside, with the longest", math.Abs(edge(b.To)-found.Steps[0].Predicted.Edge.Degrees()), 1, 1e-5)
}

// A bevel that fits its card has its edge off by the tolerance on the smallest and the largest wheel: the rim is laid through edge and heel by
// coordinates, and its tangent taken at the edge.
func TestBevelCardsKnowTheirWheels(t *testing.T) {
	cards, _, err := maker().Solver.BevelCards(t.Context(), setup.Question{Common: asks["bowl"]})
	if err != nil {
		t.Fatal(err)
	}
	c := cards[0]
	edge := func(diameter unit.Length) float64 {
		sin, cos := math.Sincos(float64(c.Reading))
		chord, radius := float64(c.Lower.Chord), float64(diameter)/2
		// The axle lies before the bevel, square to the middle of its chord, which goes back and down from the edge at the origin.
		out := math.Sqrt(radius*radius - chord*chord/4)
		x, y := chord/2*cos-out*sin, chord/2*sin+out*cos
		near(t, "the rim at the heel", math.Hypot(chord*cos-x, chord*sin-y), radius, 1e-9)
		return math.Atan2(-x, y) * 180 / math.Pi
	}
	near(t, "with its own wheel", edge(c.Diameter), c.Edge.Degrees(), 1e-9)
	near(t, "with the smallest", c.Edge.Degrees()-edge(c.From), c.Tolerance.Degrees(), 1e-5)
	near(t, "with the largest", edge(c.To)-c.Edge.Degrees(), c.Tolerance.Degrees(), 1e-5)
}
