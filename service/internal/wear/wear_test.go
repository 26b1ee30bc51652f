package wear_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strconv"
	"testing"
	"time"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/wear"
)

var start = time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)

const day = 24 * time.Hour

// days is a time so many days after the start.
func days(n float64) time.Time { return start.Add(time.Duration(n * float64(day))) }

func sized(at, diameter, halfWidth float64) shop.Measurement {
	return shop.Measurement{Occurred: days(at), Diameter: shop.Some(unit.Length(diameter)), Doubt: shop.Some(unit.Length(halfWidth))}
}

func ground(name string, at, minutes float64) shop.Sharpening {
	return shop.Sharpening{Name: name, Occurred: days(at), Minutes: shop.Some(minutes)}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g within %.3g", what, got, want, tolerance)
	}
}

func forecast(t *testing.T, l wear.Log, at time.Time) float64 {
	t.Helper()
	f, err := l.Forecast(at)
	if err != nil {
		t.Fatal(err)
	}
	return float64(f.Diameter)
}

// A wheel that loses 0.05 mm a day exactly, by hand: 200 − 0.05·60 = 197, and 190 is reached after 200 days.
func TestWearByDays(t *testing.T) {
	l := wear.Of(shop.Wheel{Diameter: 198}, []shop.Measurement{sized(40, 198, 0.2), sized(0, 200, 0.2), sized(20, 199, 0.2)}, nil)
	if l.Basis != wear.ByDays || !l.Tells() {
		t.Fatalf("by %d, tells %v", l.Basis, l.Tells())
	}
	near(t, "on day 60", forecast(t, l, days(60)), 197, 1e-9)
	near(t, "days until 190", l.Reaches(190).Expected.Sub(start).Hours()/24, 200, 1e-6)
	// Looking back from before the last measurement gives what was last measured: the past is not forecast.
	near(t, "on day 10", forecast(t, l, days(10)), 198, 1e-9)
}

// Where every measurement has work before it, wear goes by hours at the wheel: 1 mm in 4 hours, twice; what is to come is used as the log was,
// 8 hours in 40 days. By days alone the second step, in half the time, would be twice the pace.
func TestWearByUse(t *testing.T) {
	measured := []shop.Measurement{sized(0, 200, 0.2), sized(30, 199, 0.2), sized(40, 198, 0.2)}
	worked := []shop.Sharpening{ground("a", 10, 120), ground("b", 20, 120), ground("c", 35, 120), ground("wrong", 38, 600), ground("d", 40, 120)}
	worked = append(worked, shop.Sharpening{Name: "fix", Occurred: days(38), Corrects: "wrong"})
	l := wear.Of(shop.Wheel{Diameter: 198}, measured, worked)
	if l.Basis != wear.ByUse {
		t.Fatal("by days")
	}
	near(t, "on day 60", forecast(t, l, days(60)), 198-0.25*4, 1e-9)
	near(t, "days until 197", l.Reaches(197).Expected.Sub(start).Hours()/24, 60, 1e-6)
	// A measurement with no work before it: use does not explain the wear.
	if l := wear.Of(shop.Wheel{}, append(measured, sized(50, 197, 0.2)), worked); l.Basis != wear.ByDays {
		t.Error("by use, though nothing was kept between the last two measurements")
	}
}

// A dressing is a step and no wear; one that was written down before it was measured counts for the measurement that follows.
func TestDressingIsAStep(t *testing.T) {
	measured := []shop.Measurement{sized(0, 200, 0.1), sized(20, 199, 0.1), {Occurred: days(30), Dressed: true}, sized(40, 196.5, 0.1), sized(60, 195.5, 0.1)}
	l := wear.Of(shop.Wheel{Diameter: 195.5}, measured, nil)
	w, err := l.Wear()
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Measurements) != 4 || len(w.Steps) != 1 {
		t.Fatalf("%d measurements, steps %v", len(l.Measurements), w.Steps)
	}
	near(t, "taken", float64(w.Steps[0].Taken), 1.5, 1e-9) // 1 mm of the 2.5 is wear: 0.05 a day over 20 days
	near(t, "on day 80", forecast(t, l, days(80)), 194.5, 1e-9)
	// Dressed since and not measured: what it had worn by then, by the log, and as much as the log's dressings took; 1 mm where it knows none.
	for most, l := range map[float64]wear.Log{
		1.5: wear.Of(shop.Wheel{Diameter: 195.5, Doubt: shop.Some(unit.Length(0.1)), Dressed: days(70)}, measured, nil),
		1:   wear.Of(shop.Wheel{Diameter: 199, Doubt: shop.Some(unit.Length(0.1)), Dressed: days(70)}, measured[:2], nil),
	} {
		f, err := l.Forecast(days(70))
		if err != nil {
			t.Fatal(err)
		}
		before, after := l.Believed(days(70).Add(-time.Second)), l.Believed(days(90))
		near(t, "known within", float64(after.HalfWidth), float64(l.Wheel.Diameter-f.Diameter+f.HalfWidth)+most, 1e-9)
		near(t, "more than before", float64(after.HalfWidth-before.HalfWidth), most, 1e-4)
		if !after.Dressed || before.Dressed {
			t.Errorf("dressed %v, a second before %v", after.Dressed, before.Dressed)
		}
	}
	// Without a rate only the dressing counts.
	alone := wear.Of(shop.Wheel{Diameter: 200, Doubt: shop.Some(unit.Length(0.1)), Dressed: days(70)}, measured[:1], nil)
	near(t, "known within, by one measurement", float64(alone.Believed(days(71)).HalfWidth), 1.1, 1e-9)
}

// A strip around the rim, half a millimetre thick: its middle is 0.5 mm larger in diameter, and its doubt π times the diameter's.
func TestDiameterFromAStrip(t *testing.T) {
	d, doubt, ok := wear.Diameter(shop.Measurement{Around: shop.Some(unit.Length(math.Pi * 187.9)), Tape: 0.5})
	if !ok {
		t.Fatal("no size")
	}
	near(t, "diameter", float64(d), 187.4, 1e-9)
	near(t, "doubt", float64(doubt), 1/math.Pi, 1e-9)
	if _, _, ok := wear.Diameter(shop.Measurement{Dressed: true}); ok {
		t.Error("a dressing has a size")
	}
}

// What the log does not tell is not told: no rate from one measurement, no days where wear cannot be told from none.
func TestLogsThatTellNothing(t *testing.T) {
	for what, measured := range map[string][]shop.Measurement{
		"nothing":      nil,
		"one":          {sized(0, 200, 0.2)},
		"a dressing":   {{Occurred: start, Dressed: true}},
		"two at once":  {sized(0, 200, 0.2), sized(0, 199.9, 0.2)},
		"barely wears": {sized(0, 200, 0.5), sized(10, 199.9, 0.5), sized(20, 199.95, 0.5)},
	} {
		l := wear.Of(shop.Wheel{Diameter: 200}, measured, nil)
		if l.Tells() || l.Reaches(150) != (wear.When{}) {
			t.Errorf("%s: it tells %v", what, l.Reaches(150))
		}
		if _, err := l.Forecast(days(30)); what != "barely wears" && !wear.TooFew(err) {
			t.Errorf("%s: forecast with %v", what, err)
		}
		if b := l.Believed(days(30)); b.HalfWidth < wear.ByCalliper || math.IsInf(float64(b.HalfWidth), 0) || math.IsNaN(float64(b.HalfWidth)) {
			t.Errorf("%s: believed within %v", what, b.HalfWidth)
		}
	}
}

// Random logs, told in any order, give one answer; a day that is foreseen is the day on which the forecast says so; and the diameter is known
// within a limit until the day that is said, and no longer.
func TestForeseenDaysAgreeWithTheForecast(t *testing.T) {
	random := chance.New(t)
	told := 0
	for range 300 {
		measured, worked, wheel := randomLog(random)
		l := wear.Of(wheel, measured, worked)
		random.Shuffle(len(measured), func(i, j int) { measured[i], measured[j] = measured[j], measured[i] })
		random.Shuffle(len(worked), func(i, j int) { worked[i], worked[j] = worked[j], worked[i] })
		if again := wear.Of(wheel, measured, worked); !reflect.DeepEqual(l, again) {
			t.Fatalf("in another order: %+v, then %+v", l, again)
		}
		smallest := wheel.Diameter - unit.Length(1+20*random.Float64())
		if when := l.Reaches(smallest); !when.Expected.IsZero() && when.Expected.After(l.Measurements[len(l.Measurements)-1].Occurred) {
			told++
			near(t, "the forecast on the day that is foreseen", forecast(t, l, when.Expected), float64(smallest), 1e-5)
			if when.Earliest.After(when.Expected) {
				t.Errorf("earliest %v, expected %v", when.Earliest, when.Expected)
			}
		}
		limit := unit.Length(0.3 + 2*random.Float64())
		until := l.KnownWithin(limit)
		if last := l.Measurements[len(l.Measurements)-1].Occurred; until.After(last) {
			off := func(at time.Time) float64 {
				f, err := l.Forecast(at)
				if err != nil {
					t.Fatal(err)
				}
				return math.Abs(float64(wheel.Diameter-f.Diameter)) + float64(f.HalfWidth)
			}
			if before, after := off(until.Add(-time.Hour)), off(until.Add(time.Hour)); before > float64(limit) || after <= float64(limit) {
				t.Errorf("known within %v until %v: %.6f an hour before, %.6f an hour after", limit, until, before, after)
			}
		}
	}
	if told < 100 {
		t.Errorf("only %d of 300 logs told a day: they test nothing", told)
	}
}

// randomLog is a wheel's log of a year: measured with a calliper now and then, dressed at times, and in half of the cases with its work.
func randomLog(random *rand.Rand) (measured []shop.Measurement, worked []shop.Sharpening, wheel shop.Wheel) {
	perDay, diameter, at := 0.005+0.05*random.Float64(), 200.0, 0.0
	byUse := random.IntN(2) == 0
	for i := range 4 + random.IntN(8) {
		m := sized(at, diameter+0.1*random.NormFloat64(), 0.2)
		if i > 0 && random.IntN(4) == 0 {
			m.Dressed = true
			diameter -= 0.5
			m.Diameter.Value -= 0.5
		}
		measured = append(measured, m)
		wheel.Diameter = m.Diameter.Value
		step := 5 + 40*random.Float64()
		if byUse {
			worked = append(worked, ground("s"+strconv.Itoa(i), at+step/2, step*(5+5*random.Float64())))
		}
		at += step
		diameter -= perDay * step
	}
	return measured, worked, wheel
}

// Who measures twice mends the first: no rate follows from readings a moment apart, and a slip is gone when the wheel was measured again.
func TestMeasuredAgainSoon(t *testing.T) {
	const second = 1.0 / 86_400
	wheel := shop.Wheel{Diameter: 186.4}
	dressed := sized(60, 186.6, 0.5)
	dressed.Dressed = true
	moments := wear.Of(wheel, []shop.Measurement{sized(0, 187.4, 0.5), dressed, sized(60+10*second, 186.4, 0.5)}, nil)
	if len(moments.Measurements) != 2 || !moments.Measurements[1].Dressed || moments.Measurements[1].Diameter.Value != 186.4 {
		t.Errorf("of a dressing and two readings: %+v", moments.Measurements)
	}
	slip := wear.Of(wheel, []shop.Measurement{sized(0, 187.4, 0.5), sized(60, 235, 0.5), sized(60+60*second, 186.4, 0.5)}, nil)
	once := wear.Of(wheel, []shop.Measurement{sized(0, 187.4, 0.5), sized(60+60*second, 186.4, 0.5)}, nil)
	if !reflect.DeepEqual(slip, once) {
		t.Errorf("with the slip %+v, without %+v", slip, once)
	}
	for name, l := range map[string]wear.Log{"moments": moments, "slip": wear.Of(wheel, []shop.Measurement{sized(60, 235, 0.5), sized(60+60*second, 186.4, 0.5)}, nil)} {
		for _, at := range []float64{61, 90, 2000} {
			if b := l.Believed(days(at)); b != (wear.Belief{HalfWidth: wear.ByCalliper}) {
				t.Errorf("%s, on day %v: %+v", name, at, b)
			}
		}
	}
	// Every morning is no moment: nothing of a daily log is left out, though a morning be early.
	var daily []shop.Measurement
	for i := range 20 {
		daily = append(daily, sized(float64(i)-0.02*float64(i%2), 200-0.2*float64(i), 0.2))
	}
	if l := wear.Of(wheel, daily, nil); len(l.Measurements) != len(daily) || !l.Tells() {
		t.Errorf("%d of %d mornings count, tells %v", len(l.Measurements), len(daily), l.Tells())
	}
}

// What a log does not tell grows no further than the log is long, and nothing beyond what a wheel can lose.
func TestDoubtHasAnEnd(t *testing.T) {
	wheel := shop.Wheel{Diameter: 187, Smallest: shop.Some[unit.Length](150)}
	two := wear.Of(wheel, []shop.Measurement{sized(0, 187.1, 0.5), sized(1, 187, 0.5)}, nil)
	if two.Tells() {
		t.Fatal("a tenth in a day, known to half a millimetre, tells wear")
	}
	// By hand: the line through both at twice the log's length is 186.9, its band 0.5·√(1 + 1/2 + 1.5²/0.5).
	want := 0.1 + 0.5*math.Sqrt(6)
	for _, at := range []float64{2, 8, 400} {
		near(t, "known within", float64(two.Believed(days(at)).HalfWidth), want, 1e-9)
	}
	if soon := two.Believed(days(1.2)).HalfWidth; float64(soon) >= want {
		t.Errorf("known within %v soon after", soon)
	}
	fast := wear.Of(wheel, []shop.Measurement{sized(0, 199, 0.2), sized(10, 193, 0.2), sized(20, 187, 0.2)}, nil)
	near(t, "known within, years later", float64(fast.Believed(days(2000)).HalfWidth), 187-150, 1e-9)
	wheel.Smallest = shop.Maybe[unit.Length]{}
	if half := wear.Of(wheel, fast.Measurements, nil).Believed(days(2000)).HalfWidth; half != 187/2. {
		t.Errorf("of a wheel that says no smallest diameter: %v", half)
	}
}

// A measurement that does not fit is left out and said; the last one, which is on record, is not. A wheel that grows by its log tells no wear.
func TestSlipsOfOtherDays(t *testing.T) {
	line := []shop.Measurement{sized(0, 200, 0.2), sized(20, 199, 0.2), sized(40, 198, 0.2), sized(60, 197, 0.2), sized(80, 196, 0.2)}
	wheel := shop.Wheel{Diameter: 196, Doubt: shop.Some[unit.Length](0.2)}
	clean := wear.Of(wheel, line, nil)
	slip := sized(30, 235, 0.2)
	l := wear.Of(wheel, append([]shop.Measurement{slip}, line...), nil)
	if len(l.Odd) != 1 || !reflect.DeepEqual(l.Odd[0], slip) || !l.Tells() || l.Believed(days(81)) != clean.Believed(days(81)) {
		t.Errorf("odd %+v, tells %v, %+v instead of %+v", l.Odd, l.Tells(), l.Believed(days(81)), clean.Believed(days(81)))
	}
	last := sized(100, 180, 0.2)
	l = wear.Of(shop.Wheel{Diameter: 180}, append(line, last), nil)
	if w, err := l.Wear(); err != nil || len(l.Odd) != 0 || w.Outlier != len(line) {
		t.Errorf("of a last one that does not fit: %+v, %+v, %v", l.Odd, w, err)
	}
	grows := wear.Of(shop.Wheel{Diameter: 190}, []shop.Measurement{sized(0, 180, 0.2), sized(50, 185, 0.2), sized(100, 190, 0.2)}, nil)
	if b := grows.Believed(days(120)); grows.Tells() || !grows.Grows() || b.Worn != 0 || !b.Aged || (grows.Reaches(150) != wear.When{}) {
		t.Errorf("tells %v, grows %v, %+v", grows.Tells(), grows.Grows(), b)
	}
}
