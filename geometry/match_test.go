package geometry_test

import (
	"errors"
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// A bevel that was ground is known again from its chord and the steel, and the slopes are those of the answer.
func TestMatchFindsWhatWasGround(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		diameter := uniform(r, 80, 300)
		w := geometry.RoundWheel(unit.Length(diameter))
		edge, steel := uniform(r, 15, 75), uniform(r, 3, 12)
		h := depthOf(t, w, edge, steel)
		if h.Reading > 85*unit.Degree {
			continue // the chord hardly follows the angle there
		}
		m := must[geometry.Measured](t)(w.MatchChord(h.Chord, unit.Length(steel)))
		near(t, "edge angle, °", m.Edge.Degrees(), edge, 1e-9)
		near(t, "reading, °", m.Reading.Degrees(), h.Reading.Degrees(), 1e-9)

		at := func(chord, steel, diameter float64) float64 {
			m := must[geometry.Measured](t)(geometry.RoundWheel(unit.Length(diameter)).MatchChord(unit.Length(chord), unit.Length(steel)))
			return float64(m.Edge)
		}
		chord := float64(h.Chord)
		const step = 1e-4
		slope := func(f func(off float64) float64) float64 { return (f(step) - f(-step)) / (2 * step) }
		near(t, "per chord", m.PerMM.Chord, slope(func(x float64) float64 { return at(chord+x, steel, diameter) }), 1e-5)
		near(t, "per steel", m.PerMM.Steel, slope(func(x float64) float64 { return at(chord, steel+x, diameter) }), 1e-5)
		near(t, "per radius", m.PerMM.Radius, slope(func(x float64) float64 { return at(chord, steel, diameter+2*x) }), 1e-5)
	}
}

// The bevel of bowl-50 as somebody finds it: 10.03 mm of chord through 8 mm of steel reads 52.9° and is 50°.
func TestMatchOfBowl50(t *testing.T) {
	h := depthOf(t, north, 50, 8)
	m := must[geometry.Measured](t)(north.MatchChord(unit.Length(math.Round(float64(h.Chord)*100)/100), 8))
	reads(t, "reading, °", m.Reading.Degrees(), "52.9")
	reads(t, "edge angle, °", m.Edge.Degrees(), "50.0")
	flat := must[geometry.Measured](t)(geometry.FlatAbrasive().MatchChord(16, 8))
	near(t, "flat bevel twice the steel, °", flat.Edge.Degrees(), 30, 1e-12)
}

func TestMatchRefused(t *testing.T) {
	for _, c := range []struct {
		w            geometry.Wheel
		chord, steel unit.Length
	}{
		{north, 7, 8}, {north, 8, 8}, {north, 200, 8}, {north, 10, 0}, {north, 10, -1}, {geometry.FlatAbrasive(), 7, 8},
		{north, unit.Length(math.NaN()), 8}, {north, 10, unit.Length(math.NaN())},
	} {
		var chord *geometry.ChordError
		if _, err := c.w.MatchChord(c.chord, c.steel); !errors.As(err, &chord) || chord.Chord != c.chord && c.chord.IsFinite() {
			t.Errorf("%v through %v: %v", c.chord, c.steel, err)
		}
	}
}

// The same edge carried to another wheel, holder or support, and home again, is the same.
func TestTransferThereAndBack(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		here, there := shopRig(r), shopRig(r)
		edge := must[unit.Angle](t)(here.wheel.EdgeAngle(here.pivot, here.wheel.Gap(here.pivot, here.edge)))
		if geometry.Conditioning(there.pivot, edge) < 0.1 {
			continue
		}
		edge = must[unit.Angle](t)(there.wheel.EdgeAngle(there.pivot, there.wheel.Gap(there.pivot, edge)))
		near(t, "gap at home, mm", here.wheel.Gap(here.pivot, edge), here.wheel.Gap(here.pivot, here.edge), 1e-10)
	}
}
