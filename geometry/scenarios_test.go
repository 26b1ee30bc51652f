package geometry_test

import (
	"errors"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// The reference shop. North has a Ø200 wheel and a pocket on a horizontal slide 110 mm below the axle; south has the same slide and
// a worn wheel; the swing holder and the grind bowl-50 go with both. Expected values are the promises of the job's description,
// each to half its last digit.
var (
	north = geometry.RoundWheel(200)
	south = geometry.RoundWheel(187.4)
	west  = geometry.RoundWheel(150)

	slide = geometry.Slide{Origin: geometry.Point{Up: -110}}

	swing = geometry.SwingHolder{JointBehindFace: 22, JointBelowAxis: 9, Leg: 74}
	bowl  = swing.Pivot(45, 30*unit.Degree)
)

const bowlEdge = 50 * unit.Degree

// outer is the reading, of the two the slide has, on the operator's side.
func outer(t *testing.T, w geometry.Wheel, gap unit.Length) float64 {
	t.Helper()
	_, high, ok := slide.Readings(w, gap)
	if !ok {
		t.Fatalf("the slide has no reading for a gap of %v", gap)
	}
	return float64(high)
}

func TestScenarioBowl50(t *testing.T) {
	gap := north.Gap(bowl, bowlEdge)
	reads(t, "wheel gap on north, mm", float64(gap), "108.49")
	reads(t, "slide on north, mm", outer(t, north, gap), "177.11")
	h := must[geometry.Hollow](t)(north.HollowOfDepth(bowlEdge, 8))
	reads(t, "bevel reading, °", h.Reading.Degrees(), "52.88")
	forward := must[unit.Angle](t)(north.EdgeAngle(bowl, 108.49))
	reads(t, "forward from 108.49, °", forward.Degrees(), "50.00")

	reads(t, "wheel gap on west, mm", float64(west.Gap(bowl, bowlEdge)), "113.55")
	onSouth := south.Gap(bowl, bowlEdge)
	reads(t, "wheel gap on south, mm", float64(onSouth), "109.66")
	reads(t, "slide on south, mm", outer(t, south, onSouth), "171.04")
}

func TestScenarioLegFoundAt25(t *testing.T) {
	const gap = 108.49 // as set: the exact 108.4931 gives 46.425
	found := must[unit.Angle](t)(north.EdgeAngle(swing.Pivot(45, 25*unit.Degree), gap))
	reads(t, "edge angle with the leg at 25°", found.Degrees(), "46.42")

	_, leg, ok := north.LegAngles(swing, 45, found, gap)
	if !ok {
		t.Fatal("no leg angle explains what was found")
	}
	near(t, "leg angle that explains it, °", leg.Degrees(), 25, 1e-9)
}

func TestScenarioMoves(t *testing.T) {
	from := outer(t, north, north.Gap(bowl, bowlEdge))
	reads(t, "slide for +2°", outer(t, north, north.Gap(bowl, 52*unit.Degree))-from, "2.315")
	reads(t, "turns of 1.5 mm for +2°", (outer(t, north, north.Gap(bowl, 52*unit.Degree))-from)/1.5, "1.54")
	reads(t, "slide for a micro bevel of 53°", outer(t, north, north.Gap(bowl, 53*unit.Degree))-from, "3.44")

	land := must[geometry.Hollow](t)(north.HollowOfChord(bowlEdge, 3))
	relief := north.Gap(bowl.SeenFrom(land.End()), 35*unit.Degree)
	reads(t, "slide for a relief of 35° behind a 3 mm land", outer(t, north, relief)-from, "-21.67")
}

func TestScenarioReach(t *testing.T) {
	least, most := north.Reachable(bowl)
	near(t, "reach starts, mm", float64(least), 0, 0)
	reads(t, "reach ends, mm", float64(most), "138.92")
	reads(t, "gap for 15°, mm", float64(north.Gap(bowl, 15*unit.Degree)), "64.92")
	reads(t, "gap for 90°, mm", float64(north.Gap(bowl, 90*unit.Degree)), "135.62")

	_, err := north.EdgeAngle(bowl, 145)
	var reach *geometry.ReachError
	if !errors.As(err, &reach) {
		t.Fatalf("a gap of 145 mm: %v", err)
	}
	near(t, "gap in the refusal, mm", float64(reach.Gap), 145, 0)
	for _, offered := range []unit.Length{reach.Least, reach.Most} {
		if _, err := north.EdgeAngle(bowl, offered); err != nil {
			t.Errorf("the refusal offers %v, which is refused: %v", offered, err)
		}
	}
}

func TestScenarioSlideEndsAt175(t *testing.T) {
	behind, ok := north.Behind(bowlEdge, bowl.Below, north.GapTo(slide.At(175)))
	if !ok {
		t.Fatal("no stick-out brings bowl-50 within the travel")
	}
	atZero := swing.Pivot(0, 30*unit.Degree).Behind
	reads(t, "stick-out to suggest, mm", float64(behind-atZero), "43.2")
}

func TestScenarioScraper(t *testing.T) {
	line := north.LineFor(75 * unit.Degree)
	reads(t, "face line of the 6 mm scraper at 75°, mm", float64(line), "25.88")
	thicker := must[unit.Angle](t)(north.LineAngle(line + 10 - 6))
	reads(t, "10 mm scraper on the same platform, °", thicker.Degrees(), "72.6")
}

func TestScenarioSkew(t *testing.T) {
	midPlane := north.LineFor(36 * unit.Degree / 2)
	reads(t, "mid-plane of the skew, mm", float64(midPlane), "95.11")
	reads(t, "platform, mm", float64(midPlane-8./2), "91.11")
}

func TestScenarioButtedHandle(t *testing.T) {
	full := geometry.Pivot{Behind: 430}
	gap := north.Gap(full, 45*unit.Degree)
	reads(t, "pocket to axle, mm", float64(north.Radius()+gap), "505.68")

	shorter := must[unit.Angle](t)(north.EdgeAngle(geometry.Pivot{Behind: 420}, gap))
	reads(t, "10 mm shorter, °", shorter.Degrees(), "55.6")
	seated := must[unit.Angle](t)(north.EdgeAngle(geometry.Pivot{Behind: 430, Below: -12}, gap))
	reads(t, "seat 12 mm above the flute floor, °", seated.Degrees(), "43.2")
}

func TestScenarioFacets(t *testing.T) {
	from := swing.Pivot(40, 30*unit.Degree)
	for _, facet := range []struct {
		front unit.Angle
		land  unit.Length
		gap   string
	}{
		{58 * unit.Degree, 3, "114.79"},
		{42 * unit.Degree, 3, "100.17"},
		{28 * unit.Degree, 0, "84.52"},
	} {
		reads(t, "gap for the facet from "+facet.front.String()+", mm", float64(west.Gap(from, facet.front)), facet.gap)
		land := must[geometry.Hollow](t)(west.HollowOfChord(facet.front, facet.land))
		from = from.SeenFrom(land.End())
	}
}

func TestScenarioNoseRecession(t *testing.T) {
	gap := north.Gap(bowl, bowlEdge)
	ground := must[unit.Angle](t)(north.EdgeAngle(bowl.SeenFrom(2, 0), gap))
	reads(t, "2 mm off the nose, not re-seated, °", ground.Degrees(), "52.0")
}

func TestScenarioWear(t *testing.T) {
	gap := north.Gap(bowl, bowlEdge)
	worn := geometry.RoundWheel(180)
	locked := must[unit.Angle](t)(worn.EdgeAngle(bowl, worn.GapTo(slide.At(unit.Length(outer(t, north, gap))))))
	reads(t, "pocket untouched, °", locked.Degrees(), "59.3")
	reset := must[unit.Angle](t)(worn.EdgeAngle(bowl, gap))
	reads(t, "reset to the same gap, °", reset.Degrees(), "48.0")
	onPlatform := must[unit.Angle](t)(worn.LineAngle(north.LineFor(40 * unit.Degree)))
	reads(t, "platform untouched, °", onPlatform.Degrees(), "31.7")
}

func TestScenarioReadingOf15(t *testing.T) {
	chord := geometry.ChordThrough(15*unit.Degree, 8)
	reads(t, "bevel, mm", float64(chord), "30.9")
	edge := must[unit.Angle](t)(west.FrontOfReading(15*unit.Degree, chord))
	reads(t, "edge, °", edge.Degrees(), "3.1")
}

// What the derivatives say about bowl-50 on north, as derived twice over for this project: degrees per millimetre, and per degree
// of leg.
func TestScenarioSensitivity(t *testing.T) {
	gap := north.Gap(bowl, bowlEdge)
	s := north.Sensitivity(bowl, bowlEdge, gap)
	perMM := func(rad float64) float64 { return unit.Angle(rad).Degrees() }
	reads(t, "gap", perMM(s.Gap), "1.000")
	reads(t, "radius, pivot held", perMM(2*north.PerDiameterAtPivot(s)), "-0.819")
	near(t, "radius, gap held", perMM(2*north.PerDiameterAtGap(s)), 0.181, 0.001) // printed as the sum of the two above
	reads(t, "pivot behind", perMM(s.Behind), "-0.996")
	reads(t, "pivot below", perMM(s.Below), "0.088")
	behind, below := swing.PerLeg(30 * unit.Degree)
	reads(t, "leg", s.Behind*float64(behind)+s.Below*float64(below), "0.741")
}
