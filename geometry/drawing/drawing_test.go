package drawing_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
)

// inside tells whether a point lies in a turned rectangle: left of all its sides, as its corners go round.
func inside(s drawing.Slab, p drawing.Point) bool {
	corners := s.Corners()
	for i, a := range corners {
		b := corners[(i+1)%4]
		if (b.X-a.X)*(p.Y-a.Y)-(b.Y-a.Y)*(p.X-a.X) < 0 {
			return false
		}
	}
	return true
}

// How much of a line lies in a label, against stepping along the line.
func TestCrossingAgainstSteps(t *testing.T) {
	random := chance.New(t)
	point := func() drawing.Point { return drawing.Pt(20*random.Float64()-10, 20*random.Float64()-10) }
	hits := 0
	for range 2000 {
		s := drawing.NewSlab(point(), 0.5+8*random.Float64(), 0.5+4*random.Float64(), 2*math.Pi*random.Float64())
		a, b := point(), point()
		const steps = 2000
		within := 0
		for i := range steps {
			if inside(s, a.Between(b, (float64(i)+0.5)/steps)) {
				within++
			}
		}
		want := a.Distance(b) * float64(within) / steps
		got, touches := s.Crossing(a, b)
		if touches {
			hits++
		}
		if slack := 1.1 * a.Distance(b) / steps; math.Abs(got-want) > slack || !touches && within > 0 {
			t.Fatalf("from %v to %v through %v: %.5f, %v; by steps %.5f", a, b, s.Corners(), got, touches, want)
		}
	}
	if hits < 200 {
		t.Errorf("only %d of 2000 lines touch: they test nothing", hits)
	}
}

// cluttered is a figure with many dimensions around a circle.
func cluttered(random *rand.Rand) *drawing.Figure {
	place := func() drawing.Place {
		return geometry.Point{Out: unit.Length(200*random.Float64() - 100), Up: unit.Length(200*random.Float64() - 100)}
	}
	items := []drawing.Item{{Part: "wheel", Role: drawing.RoleWheel, Shape: drawing.Arc{Radius: 80, Sweep: unit.Degrees(360)}}}
	for range 5 {
		items = append(items, drawing.Item{Part: "length", Role: drawing.RoleDimension,
			Shape: drawing.Dimension{From: place(), To: place(), Offset: unit.Length(30*random.Float64() - 15), Text: "stick-out 45.0 mm"}})
	}
	items = append(items,
		drawing.Item{Part: "angle", Role: drawing.RoleDimension, Shape: drawing.Angle{Apex: place(), Radius: 30, Start: 0.3, Sweep: 1, Text: "edge angle 50.0°"}},
		drawing.Item{Part: "text", Role: drawing.RoleWheel, Shape: drawing.Text{At: place(), Text: "wheel"}})
	return drawing.Boxed(items, "")
}

// Letters find places where none covers another's, the same ones each time; what is drawn stays within the frame.
func TestLettersKeepApart(t *testing.T) {
	random := chance.New(t)
	arranged := func(f *drawing.Figure) *drawing.Drawing {
		d := drawing.Take(f, func(frame drawing.Rect) float64 { return frame.Width() / 46 })
		l := drawing.Layout{Drawing: d, Size: func(l *drawing.Label) (width, height float64) {
			return 0.6 * d.Em * float64(len([]rune(l.Text))), d.Em
		}}
		l.Arrange()
		return d
	}
	together := 0
	for range 60 {
		f := cluttered(random)
		d, again := arranged(f), arranged(f)
		for i, a := range d.Labels {
			if !a.Placed || a.Place.Slab.Centre != again.Labels[i].Place.Slab.Centre {
				t.Fatalf("%q: %v, then %v", a.Text, a.Place.Slab.Centre, again.Labels[i].Place.Slab.Centre)
			}
			for _, b := range d.Labels[:i] {
				if a.Place.Slab.Meets(b.Place.Slab) {
					together++
				}
			}
		}
		for _, s := range d.Strokes {
			for _, p := range s.Points {
				if f := d.Frame; p.X < f.Least.X || p.Y < f.Least.Y || p.X > f.Most.X || p.Y > f.Most.Y {
					t.Fatalf("%v is outside %v", p, f)
				}
			}
		}
	}
	if together > 0 {
		t.Errorf("%d labels cover others", together)
	}
}
