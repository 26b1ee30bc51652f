package geometry_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// The tilts of a platform against a search of the whole circle; the line's distance measured from two points on the surface.
func TestTiltsAgainstSearch(t *testing.T) {
	r := chance.New(t)
	var none int
	for range 500 {
		p := geometry.Platform{
			Hinge:   geometry.Point{Out: unit.Length(uniform(r, 20, 200)), Up: unit.Length(uniform(r, -120, 60))},
			Surface: unit.Length(uniform(r, 0, 30)),
		}
		line, above := uniform(r, -150, 250), uniform(r, 0, 12)
		off := func(tilt float64) float64 {
			sin, cos := math.Sincos(tilt)
			out := float64(p.Hinge.Out) - sin*(float64(p.Surface)+above)
			up := float64(p.Hinge.Up) + cos*(float64(p.Surface)+above)
			return cos*up - sin*out - line // cross product of the surface's direction and a place on the line
		}
		want := crossings(off, -math.Pi, math.Pi)
		low, high, ok := p.Tilts(unit.Length(line), unit.Length(above))
		if ok != (len(want) > 0) {
			t.Errorf("%+v, line %g: found %v, a search %v", p, line, ok, want)
		}
		if !ok {
			none++
			continue
		}
		if len(want) != 2 {
			t.Fatalf("%+v, line %g: a search found %v", p, line, want)
		}
		near(t, "lower tilt, rad", float64(low), want[0], 1e-6) // as a square root where the two coincide
		near(t, "higher tilt, rad", float64(high), want[1], 1e-6)
		for _, tilt := range []unit.Angle{low, high} {
			near(t, "line, mm", float64(p.Line(tilt, unit.Length(above))), line, 1e-11)
		}
	}
	if none < 20 || none > 400 {
		t.Errorf("%d of 500 platforms had no tilt: the rigs are not what they should be", none)
	}
}

// The readings of a slide against a search along its travel.
func TestReadingsAgainstSearch(t *testing.T) {
	r := chance.New(t)
	var none int
	for range 500 {
		g := shopRig(r)
		s := geometry.Slide{
			Origin:    geometry.Point{Out: unit.Length(uniform(r, -150, 150)), Up: unit.Length(uniform(r, -200, 200))},
			Direction: unit.Degrees(uniform(r, -80, 80)),
		}
		gap := uniform(r, 0, 200)
		off := func(reading float64) float64 {
			sin, cos := math.Sincos(float64(s.Direction))
			out, up := float64(s.Origin.Out)+reading*cos, float64(s.Origin.Up)+reading*sin
			if g.wheel.Flat() {
				return out - gap
			}
			return math.Hypot(out, up) - float64(g.wheel.Radius()) - gap
		}
		want := crossings(off, -4000, 4000)
		low, high, ok := s.Readings(g.wheel, unit.Length(gap))
		if ok != (len(want) > 0) {
			t.Errorf("%+v on %+v, gap %g: found %v, a search %v", s, g.wheel, gap, ok, want)
		}
		if !ok {
			none++
			continue
		}
		near(t, "lower reading, mm", float64(low), want[0], 1e-6)
		near(t, "higher reading, mm", float64(high), want[len(want)-1], 1e-6)
		// Both satisfy the gap, also where they nearly coincide.
		near(t, "gap at the lower reading, mm", g.wheel.GapTo(s.At(low)), unit.Length(gap), 1e-11)
		near(t, "gap at the higher reading, mm", g.wheel.GapTo(s.At(high)), unit.Length(gap), 1e-11)
		if !g.wheel.Flat() && unit.Length(gap) < s.NearestApproach()-g.wheel.Radius() {
			t.Errorf("%+v: answered nearer than its nearest approach", s)
		}
	}
	if none == 0 || none > 250 {
		t.Errorf("%d of 500 slides had no reading: the rigs are not what they should be", none)
	}
}

func TestNearestApproach(t *testing.T) {
	r := chance.New(t)
	for range 200 {
		s := geometry.Slide{
			Origin:    geometry.Point{Out: unit.Length(uniform(r, -150, 150)), Up: unit.Length(uniform(r, -200, 200))},
			Direction: unit.Degrees(uniform(r, -180, 180)),
		}
		least := math.Inf(1)
		for reading := -300.; reading < 300; reading += 0.05 {
			least = math.Min(least, float64(s.At(unit.Length(reading)).FromOrigin()))
		}
		if n := float64(s.NearestApproach()); !(n <= least+1e-12) {
			t.Errorf("%+v: nearest approach %g, but the slide passes at %g", s, n, least)
		}
		w := wheelOfRadius(10)
		if _, _, ok := s.Readings(w, s.NearestApproach()-10+1e-9); !ok {
			t.Errorf("%+v: no reading at its nearest approach", s)
		}
	}
}

// Room below the tool against a corner of a holder let down, in small steps, until it strikes the wheel.
func TestRoomBelowAgainstLettingDown(t *testing.T) {
	r := chance.New(t)
	var free int
	for range 1000 {
		radius, edge, behind := uniform(r, 40, 500), unit.Degrees(uniform(r, 15, 85)), uniform(r, 0.5, 150)
		// The wheel's axle, seen from the nose: square to the tangent, on the side the bevel faces.
		sin, cos := math.Sincos(float64(edge))
		axleBack, axleUp := -radius*sin, -radius*cos
		over := func(below float64) float64 { return math.Hypot(behind-axleBack, -below-axleUp) - radius }
		room := wheelOfRadius(radius).RoomBelow(edge, unit.Length(behind))
		struck := crossings(over, 0, 2*radius)
		switch {
		case len(struck) == 0:
			free++
			if !math.IsInf(float64(room), 1) {
				t.Errorf("R %g, %v, %g behind: room %v, but nothing is struck", radius, edge, behind, room)
			}
		default:
			near(t, "room, mm", float64(room), struck[0], 1e-6)
		}
	}
	if free < 100 || free > 900 {
		t.Errorf("%d of 1000 corners were free: the rigs are not what they should be", free)
	}

	// Below a flat abrasive the room is down to the bevel's own plane.
	near(t, "room over a flat abrasive, mm", geometry.FlatAbrasive().RoomBelow(30*unit.Degree, 100), unit.Length(100/math.Sqrt(3)), 1e-12)
}

// A platform's front edge is where its sides say: before the hinge along the surface, and the surface's height above it.
func TestPlatformFront(t *testing.T) {
	p := geometry.Platform{Hinge: geometry.Point{Out: 120, Up: -30}, Surface: 5}
	level := p.Front(0, 15)
	near(t, "level: out", level.Out, 105, 1e-12)
	near(t, "level: up", level.Up, -25, 1e-12)
	upright := p.Front(90*unit.Degree, 15)
	near(t, "upright: out", upright.Out, 115, 1e-12)
	near(t, "upright: up", upright.Up, -45, 1e-12)
}

// On a flat abrasive the tilt alone makes the edge angle: the pose at that tilt is the pose of a pivot anywhere along it.
func TestFlatTiltIsPitch(t *testing.T) {
	flat := geometry.FlatAbrasive()
	for deg := 5.; deg < 90; deg += 5 {
		edge := unit.Degrees(deg)
		pose := flat.Pose(geometry.Pivot{Behind: 100, Below: 20}, edge, geometry.Point{})
		near(t, "tilt, rad", geometry.FlatTilt(edge), pose.Pitch, 1e-15)
	}
}
