package swung_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/swung"
)

// The oracle holds the tool, as a body, by its pivot in front of the wheel and turns it until the edge's place meets the rim with the
// edge lying along it. It knows no plane of the pivot, no κ and no normal: three unknowns of a turn, three conditions in the wheel's own
// frame, Newton from the neighbouring place's turn.

// vector in the wheel frame: out, up, along the axle; in the tool frame: back, up, side.
type vector [3]float64

func (a vector) plus(b vector) vector   { return vector{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a vector) times(f float64) vector { return vector{f * a[0], f * a[1], f * a[2]} }
func (a vector) dot(b vector) float64   { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a vector) length() float64        { return math.Sqrt(a.dot(a)) }
func (a vector) cross(b vector) vector {
	return vector{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// turned is a turned about a vector by its length.
func (a vector) turned(by vector) vector {
	angle := by.length()
	if angle == 0 {
		return a
	}
	axis := by.times(1 / angle)
	sin, cos := math.Sincos(angle)
	return a.times(cos).plus(axis.cross(a).times(sin)).plus(axis.times(axis.dot(a) * (1 - cos)))
}

// held is a tool by its own three directions in the wheel frame.
type held [3]vector

func (h held) of(tool vector) vector {
	return h[0].times(tool[0]).plus(h[1].times(tool[1])).plus(h[2].times(tool[2]))
}

func (h held) turned(by vector) held { return held{h[0].turned(by), h[1].turned(by), h[2].turned(by)} }

// bench is the machine: a wheel of a radius (0: flat) with its axle along the third direction, and the pivot out from it.
type bench struct {
	radius, gap, contact float64
	pivot                vector // in the tool frame
}

// place is a point of an edge in the tool frame.
type place struct{ at, edge, flute vector }

func placeOf(p swung.Point) place {
	of := func(b, u, s float64) vector { return vector{b, u, s} }
	return place{
		of(p.At.Back, p.At.Up, p.At.Side), of(p.Edge.Back, p.Edge.Up, p.Edge.Side), of(p.Flute.Back, p.Flute.Up, p.Flute.Side),
	}
}

// outward of the rim at a point of the wheel frame, and how far the point lies outside.
func (b bench) outward(p vector) (dir vector, off float64) {
	if b.radius == 0 {
		return vector{1, 0, 0}, p[0]
	}
	l := math.Hypot(p[0], p[1])
	return vector{p[0] / l, p[1] / l, 0}, l - b.radius
}

// meet turns the tool until the place meets the rim; false where Newton does not get there.
func (b bench) meet(h held, p place) (held, vector, bool) {
	var misses [3]float64
	for range 50 {
		arm := h.of(p.at.plus(b.pivot.times(-1)))
		at := arm.plus(vector{b.radius + b.gap, 0, 0})
		edge := h.of(p.edge)
		out, off := b.outward(at)
		misses = [3]float64{off, edge.dot(out), arm[2] - b.contact}
		if math.Abs(misses[0]) < 1e-10 && math.Abs(misses[1]) < 1e-13 && math.Abs(misses[2]) < 1e-10 {
			return h, at, true
		}
		// A small turn δ moves the place by δ × arm and the edge by δ × edge.
		var rows [3]vector
		for i := range 3 {
			var by vector
			by[i] = 1
			moved, swung := by.cross(arm), by.cross(edge)
			var tilt float64 // of outward, as the place goes round the rim
			if b.radius != 0 {
				round := vector{-out[1], out[0], 0}
				tilt = edge.dot(round) * moved.dot(round) / (off + b.radius)
			}
			rows[0][i], rows[1][i], rows[2][i] = moved.dot(out), swung.dot(out)+tilt, moved[2]
		}
		by, ok := solve3(rows, misses)
		if !ok {
			return h, at, false
		}
		if l := by.length(); l > 0.3 {
			by = by.times(0.3 / l)
		}
		h = h.turned(by.times(-1))
	}
	return h, vector{}, math.Abs(misses[0]) < 1e-8 && math.Abs(misses[1]) < 1e-10 && math.Abs(misses[2]) < 1e-8
}

func solve3(rows [3]vector, right [3]float64) (vector, bool) {
	det := rows[0].dot(rows[1].cross(rows[2]))
	if det == 0 || math.IsNaN(det) {
		return vector{}, false
	}
	x := rows[1].cross(rows[2]).times(right[0]).plus(rows[2].cross(rows[0]).times(right[1])).plus(rows[0].cross(rows[1]).times(right[2]))
	return x.times(1 / det), true
}

// atNose turns the tool, its plane square to the axle, until the nose is on the rim above the line of centres.
func (b bench) atNose(behind, below float64) held {
	reach, at := math.Hypot(behind, below), b.radius+b.gap
	low, high := 0., math.Pi // of the nose's direction from the pivot, from the axle upwards
	for range 80 {
		u := (low + high) / 2
		nose := vector{at - reach*math.Cos(u), reach * math.Sin(u), 0}
		if _, off := b.outward(nose); off < 0 {
			low = u
		} else {
			high = u
		}
	}
	// In the tool the nose lies (−behind, +below) from the pivot; turned, it lies in direction π − low.
	turn := (math.Pi - low) - math.Atan2(below, -behind)
	h := held{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	return h.turned(vector{0, 0, turn})
}

// benchOf builds the machine of a setting; the pivot's roll is by turning the tool about its bar's centre the other way.
func benchOf(g swung.Setting, part float64) bench {
	b := bench{gap: float64(g.Gap), contact: part * float64(g.Contact)}
	if !g.Wheel.Flat() {
		b.radius = float64(g.Wheel.Radius())
	}
	centre := vector{0, float64(g.Centre), 0}
	p := vector{float64(g.Pivot.Behind), -float64(g.Pivot.Below), part * float64(g.Aside)}
	// back × up = side, so a flute that leans to +side is turned about back by +roll, and the pivot by −roll as the tool sees it.
	b.pivot = p.plus(centre.times(-1)).turned(vector{-part * float64(g.Roll), 0, 0}).plus(centre)
	return b
}

// nose is the tool at the nose: from the plain setting what makes it uneven is brought in little by little.
func nosePose(g swung.Setting, e swung.Edge) (bench, held, bool) {
	b := benchOf(g, 0)
	h := b.atNose(float64(g.Pivot.Behind), float64(g.Pivot.Below))
	ok := true
	for i := 0; i <= 8 && ok; i++ {
		b = benchOf(g, float64(i)/8)
		h, _, ok = b.meet(h, placeOf(e.At(0)))
	}
	return b, h, ok
}

// wedgeOf measures the angle between flute and rim, square to the edge.
func (b bench) wedgeOf(h held, at vector, p place) float64 {
	out, _ := b.outward(at)
	edge := h.of(p.edge)
	bevel, channel := out.cross(edge), h.of(p.flute.cross(p.edge))
	return math.Atan2(bevel.cross(channel).length(), bevel.dot(channel))
}

// walk goes from the nose to one wing's end in steps and calls visit at each; where no pose is found it halves the step until it is sure
// of the place, and returns it.
func walk(b bench, h held, e swung.Edge, end float64, steps int, visit func(along float64, h held, at vector)) (limit float64, all bool) {
	along, step := 0.0, end/float64(steps)
	for math.Abs(along) < math.Abs(end)*(1-1e-12) {
		next := along + step
		if math.Abs(next) > math.Abs(end) {
			next = end
		}
		turned, at, ok := b.meet(h, placeOf(e.At(next)))
		// A jump to a pose that does not belong to this branch is no pose either.
		if ok = ok && turned[0].plus(h[0].times(-1)).length() < 0.5 && turned[1].plus(h[1].times(-1)).length() < 0.5; !ok {
			if step /= 2; math.Abs(step) < 1e-6*math.Abs(end) {
				return along, false
			}
			continue
		}
		along, h = next, turned
		visit(along, h, at)
	}
	return end, true
}

// lean of the tool by turning it as yaw, pitch and roll say.
func leant(from held, l swung.Lean) held {
	// Yaw takes back to +side, which is a turn about up by −yaw; pitch about side raises the handle; roll about back leans up to side.
	own := held{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	own = own.turned(vector{0, -l.Yaw, 0})
	own = own.turned(own[2].times(l.Pitch))
	own = own.turned(own[0].times(l.Roll))
	return held{from.of(own[0]), from.of(own[1]), from.of(own[2])}
}

func TestAgainstTurningTheTool(t *testing.T) {
	r := chance.New(t)
	var settings, visited, limits, uneven, flat int
	for settings < 2000 {
		section, reach := anyFlute(r)
		e := swung.Even(section, anyPlan(r, reach), reach)
		g, _ := anyRig(r)
		noseFace := g.Face(e.At(0))
		if noseFace.Margin < 0.02 {
			continue
		}
		settings++
		b, h, ok := nosePose(g, e)
		if !ok {
			t.Errorf("%+v: the tool does not come to the nose", g)
			continue
		}
		if g.Contact != 0 {
			uneven++
		}
		if g.Wheel.Flat() {
			flat++
		}
		for _, end := range []float64{e.Right, -e.Left} {
			v, l := compareWing(t, r, e, g, b, h, noseFace, end)
			visited += v
			limits += l
		}
		if t.Failed() {
			t.Fatalf("edge %+v\nsetting %+v", e, g)
		}
	}
	t.Logf("%d settings, %d of them uneven and %d on a flat abrasive: %d places, %d limits", settings, uneven, flat, visited, limits)
	if visited < 50_000 || limits < 200 || uneven < 500 || flat < 100 {
		t.Error("the settings are not what they should be")
	}
}

// anySupport draws where the pivot stands round the wheel, and how far that is turned up from straight out.
func (b bench) anySupport(r *rand.Rand) (elevation float64, at geometry.Point) {
	if b.radius == 0 {
		return 0, geometry.Point{Out: lengthOf(b.gap), Up: lengthOf(uniform(r, -50, 50))}
	}
	elevation = uniform(r, -60, 60) * degree
	sin, cos := math.Sincos(elevation)
	d := b.radius + b.gap
	return elevation, geometry.Point{Out: lengthOf(d * cos), Up: lengthOf(d * sin)}
}

func compareWing(t *testing.T, r *rand.Rand, e swung.Edge, g swung.Setting, b bench, h held, noseFace swung.Face, end float64) (visited, limits int) {
	elevation, support := b.anySupport(r)
	limit, all := walk(b, h, e, end, 24, func(along float64, turned held, at vector) {
		f := g.Face(e.At(along))
		if !f.Reached() {
			if f.Margin < -1e-9 {
				t.Errorf("at %g: unreached by %g, but turning the tool reaches it", along, f.Margin)
			}
			return
		}
		if f.Margin < 1e-5 {
			return
		}
		visited++
		near(t, "wedge, °", f.Wedge/degree, b.wedgeOf(turned, at, placeOf(f.Point))/degree, 1e-6)
		s := g.Stance(noseFace, f, support)
		contact := at
		if b.radius != 0 {
			contact = at.turned(vector{0, 0, elevation})
		} else {
			contact[1] += float64(support.Up)
		}
		near(t, "contact out", float64(s.Contact.Out), contact[0], 1e-6)
		near(t, "contact up", float64(s.Contact.Up), contact[1], 1e-6)
		for i, dir := range leant(h, s.Lean) {
			if off := dir.plus(turned[i].times(-1)).length(); off > 1e-6*degree {
				t.Errorf("at %g: lean %+v is off by %g° in direction %d", along, s.Lean, off/degree, i)
			}
		}
		p := g.Pose(f, support)
		turn := vector{0, 0, elevation}
		for i, dir := range leant(held{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, p.Turn) {
			if off := dir.plus(turned[i].turned(turn).times(-1)).length(); off > 1e-6*degree {
				t.Errorf("at %g: pose %+v is off by %g° in direction %d", along, p, off/degree, i)
			}
		}
		nose := contact.plus(turned.of(placeOf(f.Point).at).turned(turn).times(-1))
		near(t, "nose out", float64(p.Nose.Out), nose[0], 1e-6)
		near(t, "nose up", float64(p.Nose.Up), nose[1], 1e-6)
		near(t, "nose aside", float64(p.Aside), nose[2]-contact[2], 1e-6)
	})
	places := make([]float64, 97)
	for i := range places {
		places[i] = end * float64(i) / 96
		if end < 0 {
			places[i] = end * float64(96-i) / 96
		}
	}
	a := swung.Analyse(e, g, support, places)
	if all {
		for _, s := range a.Unreached {
			t.Errorf("unreached from %g to %g, by %g at %g: turning the tool reaches all", s.From, s.To, s.Worst.Margin, s.Worst.Along)
		}
		return visited, 0
	}
	if len(a.Unreached) == 0 {
		t.Errorf("all is reached, but turning the tool gets no further than %g of %g (margin there %g)", limit, end, g.Face(e.At(limit)).Margin)
		return visited, 1
	}
	first := a.Unreached[0].From
	if end < 0 {
		first = a.Unreached[len(a.Unreached)-1].To
	}
	near(t, "where the reach ends", first, limit, 1e-3*math.Abs(end))
	return visited, 1
}
