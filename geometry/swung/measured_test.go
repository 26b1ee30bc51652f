package swung_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
)

var uneven = []swung.Spot{
	{-7, 11.2}, {-5.5, 7.05}, {-3.5, 2.95}, {-2, 0.92}, {-0.8, 0.21}, {0, 0}, {0.9, 0.18}, {2.2, 1.15}, {3.1, 2.31}, {4.6, 5.02}, {6.2, 9.13}, {7.7, 14.1},
}

// Values of SciPy 1.10.1: interpolate.make_smoothing_spline(x, y, w, lam), w = 1 but 1e10 at the nose, for lam = 0.05 and 0.5, whose root
// mean square residual is then the doubt given here; and interpolate.CubicSpline(x, y, bc_type="natural") for no doubt.
func TestMeasuredAgainstSciPy(t *testing.T) {
	for _, c := range []struct {
		doubt float64
		at    [][4]float64 // along, back, slope, bend
	}{
		{0.015673130806937288, [][4]float64{
			{-7, 11.184055351, -2.863037393, 0}, {-4.3, 4.391253811, -1.972494990, 0.407973523}, {-0.8, 0.182954702, -0.384804427, 0.312018411},
			{0, 0, -0.041278642, 0.546796054}, {0.4, 0.026657834, 0.173131831, 0.525256308}, {2.2, 1.153280895, 1.069231358, 0.486595365},
			{5.5, 7.177192073, 2.630020653, 0.530795115}, {7.7, 14.081501235, 3.426258204, 0},
		}},
		{0.07086498444489762, [][4]float64{
			{-7, 11.087024097, -2.718803741, 0}, {-4.3, 4.438001061, -2.018928992, 0.403870573}, {-0.8, 0.162269935, -0.387497528, 0.449286300},
			{0, 0, -0.013231718, 0.486378226}, {0.4, 0.033653885, 0.181591925, 0.487739988}, {2.2, 1.149947967, 1.055763860, 0.479598410},
			{5.5, 7.265563379, 2.655414219, 0.450764427}, {7.7, 13.965434091, 3.257249268, 0},
		}},
		{0, [][4]float64{
			{-7, 11.2, -2.899697205, 0}, {-4.3, 4.397186087, -1.950096894, 0.385392338}, {-0.8, 0.21, -0.388384593, 0.140622363},
			{0, 0, -0.066979760, 0.662889718}, {0.4, 0.023764558, 0.179615764, 0.570087901}, {2.2, 1.15, 1.071987585, 0.524881198},
			{5.5, 7.160640080, 2.616128799, 0.548035615}, {7.7, 14.1, 3.461978060, 0},
		}},
	} {
		m, err := swung.NewMeasured(uneven, c.doubt)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range c.at {
			back, slope, bend := m.At(want[0])
			what := fmt.Sprintf("doubt %g, at %g: ", c.doubt, want[0])
			near(t, what+"back", back, want[1], 2e-8)
			near(t, what+"slope", slope, want[2], 2e-8)
			near(t, what+"bend", bend, want[3], 2e-7)
		}
	}
}

// The spline's misses are of the doubt's size, its slope and bend are its own derivatives, and no other curve through the same smoothed
// places bends less: it is the natural spline through them.
func TestMeasuredIsWhatItSays(t *testing.T) {
	r := chance.New(t)
	for range 300 {
		var spots []swung.Spot
		doubt := uniform(r, 0.005, 0.3)
		for along := -uniform(r, 3, 12); len(spots) < 5 || along < 2; along += uniform(r, 0.2, 2) {
			if math.Abs(along) >= swung.LeastStep { // or it would be the nose
				spots = append(spots, swung.Spot{Along: along, Back: 0.2*along*along + doubt*r.NormFloat64()})
			}
		}
		m, err := swung.NewMeasured(spots, doubt)
		if err != nil {
			t.Fatal(err)
		}
		var sum float64
		smoothed := make([]swung.Spot, len(spots))
		for i, s := range spots {
			back, _, _ := m.At(s.Along)
			smoothed[i] = swung.Spot{Along: s.Along, Back: back}
			sum += sq((back - s.Back) / doubt)
		}
		if n := float64(len(spots)); sum > n*(1+1e-9) {
			t.Errorf("the misses' squares add up to %g of %g", sum, n)
		}
		through, err := swung.NewMeasured(smoothed, 0)
		if err != nil {
			t.Fatal(err)
		}
		for range 20 {
			const e = 1e-4
			along := uniform(r, spots[0].Along-1, spots[len(spots)-1].Along+1)
			back, slope, bend := m.At(along)
			again, _, _ := through.At(along)
			near(t, "back, through the smoothed places", again, back, 1e-9)
			b0, s0, _ := m.At(along - e)
			b1, s1, _ := m.At(along + e)
			near(t, "slope by differences", slope, (b1-b0)/(2*e), 1e-3)
			near(t, "bend by differences", bend, (s1-s0)/(2*e), 0.1)
		}
		if back, _, _ := m.At(0); back != 0 {
			t.Errorf("%g behind the nose at the nose", back)
		}
	}
}

func TestMeasuredEven(t *testing.T) {
	wing := []swung.Spot{{0, 0}, {1, 0.3}, {2.5, 1.4}, {4, 3.9}, {6, 8.6}}
	m, err := swung.NewMeasuredEven(wing, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	for _, along := range []float64{0, 0.3, 1, 3.3, 6, 8} {
		b, s, d := m.At(along)
		b1, s1, d1 := m.At(-along)
		near(t, "back", b1, b, 1e-12)
		near(t, "slope", s1, -s, 1e-12)
		near(t, "bend", d1, d, 1e-12)
	}
	if _, slope, _ := m.At(0); math.Abs(slope) > 1e-14 {
		t.Errorf("the nose slopes by %g", slope)
	}
}

func TestSpotsAcross(t *testing.T) {
	section := flute.Parabola(4)
	spots, err := swung.SpotsAcross(section, []swung.Spot{{-6, 3}, {0, 0}, {5, 2}})
	if err != nil {
		t.Fatal(err)
	}
	for i, side := range []float64{-6, 0, 5} {
		near(t, "side", section.At(spots[i].Along).Side, side, 1e-12)
	}
	var wrong *swung.SpotError
	if _, err := swung.SpotsAcross(flute.Round(4), []swung.Spot{{0, 0}, {-4.5, 3}}); !errors.As(err, &wrong) ||
		wrong.Why != swung.SpotOffFlute || wrong.Index != 1 || wrong.Value != -4.5 || wrong.Limit != -4 {
		t.Errorf("off the flute: %v", err)
	}
}

func TestRefusedSpots(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := []swung.Spot{{-3, 2}, {-1, 0.2}, {0, 0}, {1, 0.2}, {3, 2}}
	with := func(i int, s swung.Spot) []swung.Spot {
		spots := append([]swung.Spot(nil), good...)
		spots[i] = s
		return spots
	}
	many := make([]swung.Spot, 501)
	for i := range many {
		many[i].Along = float64(i-250) / 10
	}
	for _, c := range []struct {
		spots []swung.Spot
		doubt float64
		want  swung.SpotError
	}{
		{nil, 0, swung.SpotError{Index: -1, Value: 0, Limit: 4, Why: swung.SpotsTooFew}},
		{good[:3], 0, swung.SpotError{Index: 2, Value: 3, Limit: 4, Why: swung.SpotsTooFew}},
		{many, 0, swung.SpotError{Index: 500, Value: 501, Limit: 500, Why: swung.SpotsTooMany}},
		{with(1, swung.Spot{-4, 2}), 0, swung.SpotError{Index: 1, Value: -4, Limit: -3, Why: swung.SpotUnsorted}},
		{with(1, swung.Spot{-3, 2}), 0, swung.SpotError{Index: 1, Value: -3, Limit: -2.999, Why: swung.SpotTwice}},
		{with(2, swung.Spot{0, 0.5}), 0.125, swung.SpotError{Index: 2, Value: 0.5, Limit: 0.375, Why: swung.SpotAtNose}},
		{with(4, swung.Spot{inf, 2}), 0, swung.SpotError{Index: 4, Value: inf, Limit: flute.MostSize, Why: swung.SpotTooFar}},
		{with(4, swung.Spot{3, -2e4}), 0, swung.SpotError{Index: 4, Value: -2e4, Limit: flute.MostSize, Why: swung.SpotTooFar}},
		{good, -0.1, swung.SpotError{Value: -0.1, Limit: flute.MostSize, Why: swung.SpotDoubt}},
		{[]swung.Spot{{1, 0}, {2, 1}, {3, 2}, {4, 3}}, 0, swung.SpotError{Value: 1, Why: swung.SpotNoNose}},
		{[]swung.Spot{{-4, 3}, {-3, 2}, {-2, 1}, {-1, 0}}, 0, swung.SpotError{Index: 3, Value: -1, Why: swung.SpotNoNose}},
	} {
		var wrong *swung.SpotError
		if _, err := swung.NewMeasured(c.spots, c.doubt); !errors.As(err, &wrong) || *wrong != c.want || wrong.Error() == "" {
			t.Errorf("%v: %+v, want %+v", c.spots[:min(6, len(c.spots))], err, c.want)
		}
	}
	if _, err := swung.NewMeasured(with(4, swung.Spot{3, nan}), 0); err == nil {
		t.Error("NaN is taken")
	}
	if _, err := swung.NewMeasured(good, nan); err == nil {
		t.Error("a doubt of NaN is taken")
	}
	var wrong *swung.SpotError
	if _, err := swung.NewMeasuredEven(good, 0); !errors.As(err, &wrong) || wrong.Why != swung.SpotOnOtherWing {
		t.Errorf("both wings for even ones: %v", err)
	}
}

func BenchmarkMeasured(b *testing.B) {
	spots := make([]swung.Spot, swung.MostSpots)
	for i := range spots {
		along := float64(i-250) / 25
		spots[i] = swung.Spot{Along: along, Back: 0.1 * along * along}
	}
	for range b.N {
		if _, err := swung.NewMeasured(spots, 0.05); err != nil {
			b.Fatal(err)
		}
	}
}
