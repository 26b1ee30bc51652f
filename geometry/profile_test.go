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

type point = geometry.ProfilePoint

// arcProfile is part of a circle at random places from the rim, which stands at an angle below the circle's middle, to the middle of
// the bottom.
func arcProfile(r *rand.Rand, radius, rim float64, n int) []point {
	var points []point
	for i := range n {
		at := float64(i)
		if i > 0 && i < n-1 {
			at += uniform(r, -0.45, 0.45) // neighbours are from a tenth to nearly twice the mean apart
		}
		sin, cos := math.Sincos(rim + (math.Pi/2-rim)*at/float64(n-1))
		if i == n-1 {
			cos = 0
		}
		points = append(points, point{FromAxis: unit.Length(radius * cos), BelowRim: unit.Length(radius * (sin - math.Sin(rim)))})
	}
	return points
}

func TestProfileRefused(t *testing.T) {
	nan := unit.Length(math.NaN())
	for name, c := range map[string]struct {
		points []point
		want   geometry.ProfileError
	}{
		"two points":    {[]point{{50, 0}, {0, 40}}, geometry.ProfileError{Kind: geometry.ProfileCount, At: 2}},
		"too many":      {make([]point, 1001), geometry.ProfileError{Kind: geometry.ProfileCount, At: 1001}},
		"repeated":      {[]point{{50, 0}, {40, 20}, {40, 20}, {0, 40}}, geometry.ProfileError{Kind: geometry.ProfileRepeated, At: 2, With: 1}},
		"beyond":        {[]point{{50, 0}, {40, 20}, {-1, 40}}, geometry.ProfileError{Kind: geometry.ProfileOutside, At: 2}},
		"not a number":  {[]point{{50, 0}, {40, nan}, {0, 40}}, geometry.ProfileError{Kind: geometry.ProfileOutside, At: 1}},
		"infinite":      {[]point{{50, 0}, {unit.Length(math.Inf(1)), 5}, {0, 40}}, geometry.ProfileError{Kind: geometry.ProfileOutside, At: 1}},
		"crosses":       {[]point{{50, 0}, {40, 30}, {60, 30}, {30, 10}, {0, 50}}, geometry.ProfileError{Kind: geometry.ProfileCrosses, At: 2, With: 0}},
		"touches":       {[]point{{50, 0}, {50, 30}, {60, 30}, {50, 20}, {0, 50}}, geometry.ProfileError{Kind: geometry.ProfileCrosses, At: 2, With: 0}},
		"turns back":    {[]point{{50, 0}, {50, 30}, {50, 20}, {0, 50}}, geometry.ProfileError{Kind: geometry.ProfileCrosses, At: 1, With: 0}},
		"on itself":     {[]point{{50, 0}, {50, 30}, {60, 30}, {60, 40}, {50, 40}, {50, 25}, {0, 60}}, geometry.ProfileError{Kind: geometry.ProfileCrosses, At: 4, With: 0}},
		"back to start": {[]point{{50, 0}, {50, 30}, {60, 30}, {50, 0}}, geometry.ProfileError{Kind: geometry.ProfileCrosses, At: 2, With: 0}},
	} {
		var wrong *geometry.ProfileError
		if _, err := geometry.NewProfile(c.points); !errors.As(err, &wrong) || *wrong != c.want {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, points := range map[string][]point{
		"straight on":          {{50, 0}, {50, 10}, {50, 30}, {0, 30}},
		"undercut rim":         {{40, 0}, {55, 10}, {50, 30}, {0, 40}},
		"hole, not the middle": {{50, 0}, {40, 20}, {5, 30}},
	} {
		if _, err := geometry.NewProfile(points); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A circle gives its radius however unevenly it is measured, also over the middle and whatever the span.
func TestTightestOfCircle(t *testing.T) {
	r := chance.New(t)
	for range 500 {
		radius := uniform(r, 20, 200)
		p := must[geometry.Profile](t)(geometry.NewProfile(arcProfile(r, radius, uniform(r, -1, 1), 4+r.IntN(40))))
		for _, span := range []unit.Length{0, 5} {
			at, ok := p.Tightest(span)
			if !ok {
				t.Fatal("a circle is nowhere concave")
			}
			near(t, "radius, mm", float64(at.Radius), radius, 1e-5*radius)
		}
	}
}

// An ellipse is tightest at the end of its long axis, b²/a; here at the middle of the bottom, b²/a = 60²/80 for a deep one.
func TestTightestOfEllipse(t *testing.T) {
	var points []point
	for i := range 181 {
		sin, cos := math.Sincos(float64(i) / 180 * math.Pi / 2)
		points = append(points, point{FromAxis: unit.Length(max(0, 60*cos)), BelowRim: unit.Length(80 * sin)})
	}
	points[180].FromAxis = 0
	p := must[geometry.Profile](t)(geometry.NewProfile(points))
	at, ok := p.Tightest(0)
	if !ok || at.At != 180 {
		t.Errorf("tightest at point %d", at.At)
	}
	near(t, "radius, mm", float64(at.Radius), 60.*60/80, 0.01)
}

// Points a millimetre apart and read to a tenth say nothing of a radius; taken a bevel's length apart they do.
func TestTightestOfWobble(t *testing.T) {
	r := chance.New(t)
	var points []point
	for i := range 126 {
		sin, cos := math.Sincos(float64(i) / 125 * math.Pi / 2)
		radius := 80 + uniform(r, -0.1, 0.1)
		points = append(points, point{FromAxis: unit.Length(max(0, radius*cos)), BelowRim: unit.Length(radius * sin)})
	}
	points[125].FromAxis = 0
	p := must[geometry.Profile](t)(geometry.NewProfile(points))
	narrow, _ := p.Tightest(0)
	wide, _ := p.Tightest(12)
	if !(narrow.Radius < 20 && wide.Radius > 60 && wide.Radius < 85) {
		t.Errorf("of 80 mm: %v and %v", narrow.Radius, wide.Radius)
	}
}

// A bead and a straight wall are nowhere concave; a bead between two hollows is not what is tightest.
func TestTightestSkipsBeads(t *testing.T) {
	cone := must[geometry.Profile](t)(geometry.NewProfile([]point{{50, 0}, {40, 10}, {30, 20}, {20, 30}}))
	if at, ok := cone.Tightest(0); ok && at.At != 3 {
		t.Errorf("a cone is concave at point %d", at.At)
	}
	bead := must[geometry.Profile](t)(geometry.NewProfile([]point{{60, 0}, {54, 20}, {46, 24}, {46, 28}, {40, 40}, {20, 50}, {0, 52}}))
	at, ok := bead.Tightest(0)
	if !ok || at.At == 2 || at.Radius < 15 { // the bead's tip, point 2, has 6.3 mm
		t.Errorf("tightest at point %d, %v", at.At, at.Radius)
	}
}

// The shaft's room in part of a sphere, open or drawn in at the rim, against the tool put there as a solid: edge and land end on the circle, the bar as two straight
// lines, and the rims as places.
func TestShaftRoomAgainstPlacing(t *testing.T) {
	r := chance.New(t)
	var touching, opposite int
	for range 300 {
		radius, rim := uniform(r, 40, 150), uniform(r, -1.2, 0.5)
		points, middle := arcProfile(r, radius, rim, 30), -radius*math.Sin(rim)
		p := must[geometry.Profile](t)(geometry.NewProfile(points))
		land := chordOf(t, north, uniform(r, 35, 75), uniform(r, 1, 4))
		_, below := land.End()
		s := stackOf(t, land, depthOf(t, north, land.Front.Degrees()-8, 8-float64(below)))
		shaft := geometry.Shaft{Below: 8, Above: unit.Length(uniform(r, 0, 15))}
		got := must[geometry.ShaftRoom](t)(p.ShaftRoom(s, shaft, 0))

		want := math.Inf(1)
		heel, _ := s.End()
		for i, at := range points[1:] {
			edge := place{float64(at.FromAxis), float64(at.BelowRim)}
			// The land's end, by walking back along the circle by an angle whose chord is the land.
			turn := math.Atan2(edge.down-middle, edge.back) - 2*math.Asin(float64(land.Chord)/2/radius)
			end := place{radius * math.Cos(turn), middle + radius*math.Sin(turn)}
			// The tool frame's axes, from the land's chord, which is known in both frames.
			chord := place{(end.back - edge.back) / float64(land.Chord), (end.down - edge.down) / float64(land.Chord)}
			sin, cos := math.Sincos(float64(land.Reading))
			seen := func(q place) (behind, down float64) {
				d := q.less(edge)
				along, inside := d.back*chord.back+d.down*chord.down, d.back*chord.down-d.down*chord.back // inside: towards the air
				return along*cos + inside*sin, along*sin - inside*cos
			}
			for j, other := range points {
				behind, down := seen(place{float64(other.FromAxis), float64(other.BelowRim)})
				if j <= i && behind >= float64(heel) {
					want = min(want, down-float64(shaft.Below))
				}
				behind, down = seen(place{-float64(other.FromAxis), float64(other.BelowRim)})
				if behind > 0 && other.FromAxis > 0 {
					want = min(want, -down-float64(shaft.Above))
				}
			}
		}
		near(t, "room, mm", float64(got.Room), want, 1e-6)
		if got.Room < 0 {
			touching++
		}
		if got.Opposite {
			opposite++
		}
	}
	t.Logf("of 300 shafts %d touch, %d nearest the other side", touching, opposite)
	if touching == 0 || opposite == 0 || opposite == 300 {
		t.Error("one side was never looked at")
	}
}

func TestShaftRoomRefused(t *testing.T) {
	p := must[geometry.Profile](t)(geometry.NewProfile([]point{{10, 0}, {9, 3}, {0, 5}}))
	var shape *geometry.ShapeError
	if _, err := p.ShaftRoom(nil, geometry.Shaft{}, 0); !errors.As(err, &shape) {
		t.Errorf("%v", err)
	}
	var curve *geometry.CurveError
	if _, err := p.ShaftRoom(stackOf(t, chordOf(t, north, 50, 25)), geometry.Shaft{}, 0); !errors.As(err, &curve) {
		t.Errorf("%v", err)
	}
}
