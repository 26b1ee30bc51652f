package geometry_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// rigs is how many random rigs the oracle is asked about.
func rigs() int {
	if testing.Short() {
		return 1000
	}
	return 10_000
}

// The planar relation against the slow oracle, both ways, on random and near-degenerate rigs.
//
// Tolerances, with ε = 2⁻⁵³, reach r, k = 1/R, d = R + g, C = cos(β−δ):
//
// Gap. c = a sin β − h cos β + k r²/2 carries a few roundings of its largest terms, ε (r + k r²/2) each; g follows c as
// dg/dc = R/d = 1/(1 + k g). Rounding g itself adds ε g. So 12 ε (r + k r²/2 + |g|)/(1 + k g).
//
// Edge angle. The half turn is atan √(n/f), where n + f = 4r and C = √(n f)/2r; n and f each carry a few roundings of
// ε r (2 + 2 k r), and the angle follows as (δn √(f/n) + δf √(n/f))/4r ≤ ε (1 + k r)·2/C. δ and the final sum add a few ε π.
// So 4 ε (1 + k r)/C + 8 ε.
//
// To feel them: on the reference set-up (R 100, r 139) a gap is held to 2e-13 mm and an angle to 2e-15 rad, which at 250 mm is
// 5e-10 µm. The worst rig drawn (reach fifty times the radius, C at its limit) holds an angle to 5e-13 rad, still 1e-7 µm there.
func TestPlanarAgainstOracle(t *testing.T) {
	r := chance.New(t)
	var worstGap, worstEdge float64
	for range rigs() {
		g := anyRig(r)
		k, reach := g.wheel.Curvature(), float64(g.pivot.Reach())

		gap := g.wheel.Gap(g.pivot, g.edge)
		gapTolerance := 12 * ulp * (reach + k*reach*reach/2 + math.Abs(float64(gap))) / (1 + k*float64(gap))
		off := math.Abs(float64(gap)-slowGap(g)) / gapTolerance
		worstGap = math.Max(worstGap, off)
		if !(off <= 1) {
			t.Errorf("%+v: gap %v, oracle %v, tolerance %g mm", g, float64(gap), slowGap(g), gapTolerance)
		}

		edge, err := g.wheel.EdgeAngle(g.pivot, gap)
		if err != nil {
			t.Errorf("%+v: %v", g, err) // never given up, however absurd
			continue
		}
		want := slowEdgeAngle(g, float64(gap))
		edgeTolerance := 4*ulp*(1+k*reach)/geometry.Conditioning(g.pivot, edge) + 8*ulp
		off = math.Abs(math.Remainder(float64(edge)-want, 2*math.Pi)) / edgeTolerance
		worstEdge = math.Max(worstEdge, off)
		if !(off <= 1) {
			t.Errorf("%+v: edge %v, oracle %v, tolerance %g rad", g, float64(edge), want, edgeTolerance)
		}
	}
	t.Logf("worst error: %.2f of the gap's tolerance, %.2f of the angle's", worstGap, worstEdge)
}

// The oracle is worth asking only if its own two ways agree: the gap found by placing the nose must give the edge angle back when
// the tool is swung to it.
func TestOracleAgreesWithItself(t *testing.T) {
	r := chance.New(t)
	for range 500 {
		g := shopRig(r)
		near(t, "edge angle, rad", slowEdgeAngle(g, slowGap(g)), float64(g.edge), 1e-14)
	}
}

// A pose is right when its nose stands on the surface, the tool's pivot on the support, the tangent an edge angle below the axis,
// and the contact is the upper of the two.
func TestPoseStandsWhereItSays(t *testing.T) {
	r := chance.New(t)
	for range rigs() {
		g := shopRig(r)
		gap := g.wheel.Gap(g.pivot, g.edge)
		support := geometry.Point{Out: gap, Up: unit.Length(uniform(r, -100, 100))}
		if !g.wheel.Flat() {
			support = geometry.Point{}.Along(unit.Degrees(uniform(r, -80, 80)), g.wheel.Radius()+gap)
		}
		pose := g.wheel.Pose(g.pivot, g.edge, support)
		const fine = 1e-11 // mm: a few dozen roundings of half a metre
		near(t, "nose from the surface, mm", g.wheel.GapTo(pose.Contact), 0, fine)
		pivot := pose.Place(g.pivot.Behind, -g.pivot.Below)
		near(t, "pivot from the support, mm", math.Hypot(float64(pivot.Out-support.Out), float64(pivot.Up-support.Up)), 0, fine)
		near(t, "axis over tangent, rad", pose.Pitch-(pose.Elevation-90*unit.Degree), g.edge, 1e-14)
		if g.wheel.Flat() {
			near(t, "elevation on a flat abrasive", pose.Elevation, 0, 0)
			continue
		}
		near(t, "elevation, rad", pose.Elevation, pose.Contact.Elevation(), 1e-14)
		if over := pose.Elevation - support.Elevation(); !(over > 0) {
			t.Errorf("%+v: the contact lies %v below the line from axle to support", g, -over)
		}
	}
}

// A tool on a platform: its reference line runs at the tilt, at its distance from the axle, through the contact.
func TestPoseOnPlatformLiesOnIt(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		g := shopRig(r)
		tilt, line := unit.Degrees(uniform(r, -60, 60)), unit.Length(uniform(r, -100, 100))
		if !g.wheel.Flat() {
			line = g.wheel.LineFor(g.edge)
		}
		pose := g.wheel.PoseOnPlatform(g.edge, tilt, line)
		near(t, "nose from the surface, mm", g.wheel.GapTo(pose.Contact), 0, 1e-12)
		near(t, "pitch", pose.Pitch, tilt, 0)
		table := geometry.Platform{Hinge: pose.Place(unit.Length(uniform(r, -50, 200)), 0)}
		near(t, "line through contact and handle from the axle, mm", table.Line(tilt, 0), line, 1e-11)
		if !g.wheel.Flat() {
			near(t, "axis over tangent, rad", pose.Pitch-(pose.Elevation-90*unit.Degree), g.edge, 1e-14)
		}
	}
}

// placedGap is [slowGap] in plain arithmetic, for searches that ask thousands of times.
func placedGap(w geometry.Wheel, a, h, edge float64) float64 {
	sin, cos := math.Sincos(edge - math.Pi/2)
	out, up := a*cos+h*sin, a*sin-h*cos
	if w.Flat() {
		return out
	}
	radius := float64(w.Radius())
	return math.Hypot(radius+out, up) - radius
}

// crossings are where f changes sign on a fine grid over an interval, to the last bit.
func crossings(f func(float64) float64, from, till float64) (at []float64) {
	const steps = 2000
	for i := range steps {
		low, high := from+(till-from)*float64(i)/steps, from+(till-from)*float64(i+1)/steps
		rising := f(low) < 0
		if rising == (f(high) < 0) {
			continue
		}
		for range 60 {
			if middle := (low + high) / 2; (f(middle) < 0) == rising {
				low = middle
			} else {
				high = middle
			}
		}
		at = append(at, low)
	}
	return at
}

// Leg angles against a search of the whole circle with the tool placed by hand at every step.
func TestLegAnglesAgainstSearch(t *testing.T) {
	r := chance.New(t)
	var found, none int
	for range 500 {
		g := shopRig(r)
		s := geometry.SwingHolder{
			JointBehindFace: unit.Length(uniform(r, 0, 50)),
			JointBelowAxis:  unit.Length(uniform(r, -10, 30)),
			Leg:             unit.Length(uniform(r, 20, 120)),
		}
		stickOut, gap := unit.Length(uniform(r, 20, 90)), uniform(r, 20, 250)
		off := func(leg float64) float64 {
			p := s.Pivot(stickOut, unit.Angle(leg))
			return placedGap(g.wheel, float64(p.Behind), float64(p.Below), float64(g.edge)) - gap
		}
		want := crossings(off, -math.Pi, math.Pi)
		low, high, ok := g.wheel.LegAngles(s, stickOut, g.edge, unit.Length(gap))
		if ok != (len(want) > 0) {
			t.Errorf("%+v, %+v, gap %g: found %v, a search %v", g, s, gap, ok, want)
		}
		if !ok {
			none++
			continue
		}
		found++
		if len(want) != 2 {
			t.Fatalf("%+v, %+v, gap %g: a search found %v", g, s, gap, want)
		}
		// Where the two nearly coincide a leg angle moves as a square root: 1e-6 rad is 0.1 µm on the longest leg.
		near(t, "lower leg angle, rad", float64(low), want[0], 1e-6)
		near(t, "higher leg angle, rad", float64(high), want[1], 1e-6)
	}
	if found < 100 || none < 20 {
		t.Errorf("%d rigs with an answer and %d without: the rigs are not what they should be", found, none)
	}
}

// How far behind the pivot must lie, against a bisection with the tool placed by hand.
func TestBehindAgainstBisection(t *testing.T) {
	r := chance.New(t)
	var found, none int
	for range 2000 {
		g := shopRig(r)
		below, gap := uniform(r, -20, 100), uniform(r, -60, 300)
		off := func(a float64) float64 { return placedGap(g.wheel, a, below, float64(g.edge)) - gap }
		a, ok := g.wheel.Behind(g.edge, unit.Length(below), unit.Length(gap))
		if want := off(0) < 0; ok != want { // the gap grows with the length behind
			t.Errorf("%+v, below %g, gap %g: found %v, want %v", g, below, gap, ok, want)
		}
		if !ok {
			none++
			continue
		}
		found++
		want := crossings(off, 0, 3000)
		if len(want) != 1 {
			t.Fatalf("%+v, below %g, gap %g: a search found %v", g, below, gap, want)
		}
		near(t, "behind, mm", float64(a), want[0], 1e-9)
	}
	if found < 100 || none < 50 {
		t.Errorf("%d rigs with an answer and %d without: the rigs are not what they should be", found, none)
	}
}
