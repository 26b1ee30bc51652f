package geometry_test

import (
	"errors"
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// bench is ink without any of the engine's ink: a bevel ground at one gap by one wheel, tried at another gap on another wheel. The tool
// is lowered about its pivot until some place of the bevel touches; the place is found by asking of every one how far the wheel's
// centre, which runs on a circle about the pivot, has come round when that place touches.
type bench struct {
	wheel  geometry.Wheel
	pivot  geometry.Pivot
	bevel  geometry.Hollow
	ground geometry.Wheel
}

// touches is how far behind the bevel's middle, along the chord, the wheel touches with the pivot at a gap.
func (b bench) touches(gap float64) float64 {
	const each = 4000
	pivot := placeOf(b.pivot.Behind, b.pivot.Below)
	first, at := math.Inf(1), 0.0
	for i, p := range outline(geometry.Stack{{Hollow: b.bevel}}, each) {
		axle := stand(float64(b.wheel.Diameter()), gap, pivot, p).axle
		// Lowering the tool is the axle rising about the pivot in the tool's frame, towards the bevel; the place met first is met when the
		// axle has come the least way.
		from := axle.less(pivot)
		if way := math.Atan2(-from.down, -from.back); way < first {
			first, at = way, (float64(i)/each-0.5)*float64(b.bevel.Chord)
		}
	}
	return at
}

func (b bench) mark(gap float64) geometry.Mark {
	half := float64(b.bevel.Chord) / 2
	switch at := b.touches(gap); {
	case at < -half*0.9:
		return geometry.MarkEdge
	case at > half*0.9:
		return geometry.MarkHeel
	}
	return geometry.MarkMiddle
}

// middleGap is the gap at which the bench's wheel grinds the bevel's own tangent at its middle: what a search should find.
func (b bench) middleGap() float64 {
	sin, cos := math.Sincos(float64(b.bevel.Reading))
	back := b.bevel.Chord/2*unit.Length(cos) + b.bevel.Depth*unit.Length(sin)
	down := b.bevel.Chord/2*unit.Length(sin) - b.bevel.Depth*unit.Length(cos)
	return float64(b.wheel.Gap(b.pivot.SeenFrom(back, down), b.bevel.Reading))
}

// On the same or a larger wheel the mark is at an end and says which way only. Whatever the start, the search ends next to the gap that
// agrees, in no more trials than moves to the flip and halvings.
func TestInkSearchConverges(t *testing.T) {
	r := chance.New(t)
	var most int
	for i := range 150 {
		diameter := uniform(r, 120, 250)
		larger := diameter * []float64{1, uniform(r, 1.01, 1.5)}[i%2]
		ground := geometry.RoundWheel(unit.Length(diameter))
		b := bench{
			wheel:  geometry.RoundWheel(unit.Length(larger)),
			pivot:  swing.Pivot(unit.Length(uniform(r, 30, 60)), unit.Degrees(uniform(r, 10, 50))),
			bevel:  depthOf(t, ground, uniform(r, 35, 65), uniform(r, 5, 9)),
			ground: ground,
		}
		agrees, off := b.middleGap(), uniform(r, -6, 6)
		const step, resolution = 1.5, 0.1 // a turn; a quarter of the smallest move anybody makes
		// Along a slide that runs outwards the setting gets blunter; along a stick-out, say, keener.
		along := sign(r)
		var trials []geometry.InkTrial
		search := geometry.InkSearch{Next: unit.Length(along * (agrees + off))}
		for !search.Done {
			if len(trials) > 5+5 {
				t.Fatalf("%d trials from %g mm off: %+v", len(trials), off, trials)
			}
			trials = append(trials, geometry.InkTrial{Setting: search.Next, Mark: b.mark(along * float64(search.Next))})
			var err error
			if search, err = geometry.NextInkTrial(trials, unit.Length(along*step), resolution); err != nil {
				t.Fatal(err)
			}
		}
		most = max(most, len(trials))
		// A larger wheel rides on both ends, off the middle by the difference of the sagittas; that much of the gap may go on it.
		slack := 0.02 + 3*float64(b.bevel.Chord*b.bevel.Chord)/8*(ground.Curvature()-b.wheel.Curvature())
		near(t, "gap found, mm", along*float64(search.Next), agrees, resolution/2+slack)
		if !(float64(search.Low) <= along*agrees+slack && along*agrees-slack <= float64(search.High)) {
			t.Errorf("%v is not from %v to %v", along*agrees, search.Low, search.High)
		}
	}
	t.Logf("at most %d trials", most)
}

// On a flat bevel or a smaller wheel the mark's place is a size, and one move lands within the tolerance of the job's description,
// 0.05°: the exact one from anywhere that leaves a mark between the ends, though the bevel is believed to be two degrees off; the linear
// one from a third of a degree off.
func TestInkLandsInOneMove(t *testing.T) {
	r := chance.New(t)
	var flats, marked, linear int
	for range 400 {
		diameter := uniform(r, 120, 220)
		ground := geometry.FlatAbrasive()
		if r.IntN(2) == 0 {
			ground = geometry.RoundWheel(unit.Length(diameter * uniform(r, 1.1, 2)))
		}
		b := bench{
			wheel:  geometry.RoundWheel(unit.Length(diameter)),
			pivot:  swing.Pivot(unit.Length(uniform(r, 30, 60)), unit.Degrees(uniform(r, 10, 50))),
			bevel:  depthOf(t, ground, uniform(r, 35, 65), uniform(r, 5, 9)),
			ground: ground,
		}
		agrees := b.middleGap()
		gap := unit.Length(agrees + uniform(r, -3, 3))
		at := unit.Length(b.touches(float64(gap)))
		if math.Abs(float64(at)) > 0.45*float64(b.bevel.Chord) {
			continue // at an end: no size
		}
		marked++
		if ground.Flat() {
			flats++
		}
		// What a gap leaves of the difference, in degrees of edge angle.
		s := b.wheel.Sensitivity(b.pivot, b.bevel.Front, unit.Length(agrees))
		left := func(gap unit.Length) float64 { return unit.Angle((float64(gap) - agrees) * s.Gap).Degrees() }

		believed := must[geometry.Hollow](t)(ground.HollowOfChord(b.bevel.Front+unit.Degrees(uniform(r, -2, 2)), b.bevel.Chord))
		found, sized, err := b.wheel.ReadInk(b.pivot, gap, believed, at)
		if err != nil || !sized {
			t.Fatalf("%v, %v", sized, err)
		}
		near(t, "left after the exact move, °", left(found.Gap), 0, 0.05)
		near(t, "edge angle, °", found.Edge.Degrees(), b.bevel.Front.Degrees(), 0.05)

		blunter, sized, err := b.wheel.InkOffset(ground, b.bevel.Chord, at)
		if err != nil || !sized {
			t.Fatalf("%v, %v", sized, err)
		}
		if b.wheel.InkMark(ground, blunter, b.bevel.Chord) != geometry.MarkMiddle {
			t.Errorf("%v would not be marked in the middle", blunter)
		}
		if math.Abs(found.Blunter.Degrees()) < 0.33 {
			linear++
			near(t, "left after the linear move, °", left(gap+s.Correction(blunter)), 0, 0.05)
		}
	}
	t.Logf("%d marks between the ends, %d on flat bevels, %d within a third of a degree", marked, flats, linear)
	if flats < 50 || marked-flats < 20 || linear < 15 {
		t.Error("too few marks to tell")
	}
}

func TestInkRefused(t *testing.T) {
	var outside *geometry.InkError
	for _, at := range []unit.Length{5.1, -5.1, unit.Length(math.NaN())} {
		if _, _, err := north.InkOffset(geometry.FlatAbrasive(), 10, at); !errors.As(err, &outside) {
			t.Errorf("a mark at %v: %v", at, err)
		}
	}
	if _, _, err := north.InkOffset(geometry.FlatAbrasive(), 0, 0); !errors.As(err, &outside) {
		t.Errorf("no bevel: %v", err)
	}
	for _, w := range []geometry.Wheel{north, geometry.RoundWheel(210), geometry.FlatAbrasive()} {
		if _, sized, err := w.InkOffset(north, 10, 1); sized || err != nil {
			t.Errorf("on the same or a larger wheel: %v, %v", sized, err)
		}
	}
	for blunter, want := range map[unit.Angle]geometry.Mark{0: geometry.MarkMiddle, 1e-9: geometry.MarkEdge, -1e-9: geometry.MarkHeel} {
		if got := north.InkMark(north, blunter, 10); got != want {
			t.Errorf("%v blunter on an equal wheel marks %v", blunter, got)
		}
	}
}

func TestInkSearchRefused(t *testing.T) {
	var wrong *geometry.InkSearchError
	one := []geometry.InkTrial{{100, geometry.MarkEdge}}
	for name, err := range map[string]error{
		"no trial":      second(geometry.NextInkTrial(nil, 1, 0.1)),
		"no move":       second(geometry.NextInkTrial(one, 0, 0.1)),
		"infinite":      second(geometry.NextInkTrial(one, unit.Length(math.Inf(1)), 0.1)),
		"no resolution": second(geometry.NextInkTrial(one, 1, 0)),
		"not a setting": second(geometry.NextInkTrial([]geometry.InkTrial{{unit.Length(math.NaN()), geometry.MarkEdge}}, 1, 0.1)),
	} {
		if !errors.As(err, &wrong) || wrong.TooKeen != wrong.TooBlunt {
			t.Errorf("%s: %v", name, err)
		}
	}
	contradict := []geometry.InkTrial{{100, geometry.MarkEdge}, {101, geometry.MarkHeel}}
	if err := second(geometry.NextInkTrial(contradict, 1, 0.1)); !errors.As(err, &wrong) || wrong.TooKeen != 101 || wrong.TooBlunt != 100 {
		t.Errorf("%v", err)
	}
	// Along a coordinate that runs the other way the same marks agree.
	if s, err := geometry.NextInkTrial(contradict, -1, 0.1); err != nil || s.Next != 100.5 || s.Low != 100 || s.High != 101 || s.Done {
		t.Errorf("%+v, %v", s, err)
	}
	// A resolution finer than numbers are ends all the same.
	next := unit.Length(math.Nextafter(101, 102))
	if s, err := geometry.NextInkTrial([]geometry.InkTrial{{101, geometry.MarkHeel}, {next, geometry.MarkEdge}}, 1, 1e-300); err != nil || !s.Done {
		t.Errorf("%+v, %v", s, err)
	}
}

func second[T any](_ T, err error) error { return err }
