package setup

import (
	"context"
	"fmt"
	"math"
	"path"
	"slices"
	"strconv"
	"time"

	"arris.example/geometry"
	"arris.example/geometry/trend"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/wear"
	"arris.example/service/internal/words"
)

// WearQuestion asks how a wheel wears.
type WearQuestion struct {
	Wheel string
	AsOf  time.Time
	On    time.Time // the day to look forward to; zero: the day asked

	Language string // of texts
	Unit     LengthUnit
}

// WearAnswer is how a wheel wears, and what that does to the recipes ground on it.
type WearAnswer struct {
	Wheel     shop.Wheel
	Count     int // measurements that count
	Basis     wear.Basis
	Rate      float64 // mm of diameter per day, or per hour at the wheel
	Wears     bool    // told from none, at 95 %
	Forecast  trend.Forecast
	On        time.Time
	Dressed   bool // and not measured since
	Smallest  wear.When
	RestGapAt time.Time
	Recipes   []RecipeWear
	Texts     []string
}

// RecipeWear is what wear does to a recipe.
type RecipeWear struct {
	Recipe    string
	Tolerance unit.Angle
	PerMM     float64                 // radians per millimetre of diameter lost, the support left where it is
	Limit     shop.Maybe[unit.Length] // the diameter at which it is a tolerance off
	LimitAt   time.Time               // when that is expected; zero: not foreseen
	Doubt     unit.Angle              // on the day, for want of knowing the diameter
	MeasureAt time.Time               // when that passes the tolerance; zero: not foreseen
	Text      string
	restGapAt unit.Length // the diameter at which its platform stands too far off; 0: it never does
}

// TooFewMeasurements is the reason where a log is too short.
const TooFewMeasurements fault.Reason = "TOO_FEW_MEASUREMENTS"

// ForecastWear looks forward from a wheel's log.
func (s Solver) ForecastWear(ctx context.Context, q WearQuestion) (WearAnswer, error) {
	in, err := SpeechIn(q.Language, q.Unit)
	if err != nil {
		return WearAnswer{}, err
	}
	w, err := s.Records.Wheel(ctx, q.Wheel, q.AsOf)
	if err != nil {
		return WearAnswer{}, err
	}
	if w.Flat {
		return WearAnswer{}, fault.Field("name", fault.Contradiction, "%s is a flat abrasive: it has no diameter that wears", w.Name)
	}
	kept, err := s.Records.WheelLog(ctx, q.Wheel, q.AsOf)
	if err != nil {
		return WearAnswer{}, err
	}
	log := wear.Of(w, kept.Measured, kept.Ground)
	a := WearAnswer{Wheel: w, Count: len(log.Measurements), Basis: log.Basis, On: q.On}
	if a.On.IsZero() {
		a.On = s.day(q.AsOf)
	}
	fit, err := log.Wear()
	if err != nil {
		return a, &fault.Fault{Kind: fault.Impossible, Reason: TooFewMeasurements, Message: fmt.Sprintf("%s: %v; measure the wheel again after some use, half a day later at the soonest", w.Name, err)}
	}
	if a.Forecast, err = log.Forecast(a.On); err != nil {
		return a, fault.Field("forecast_time", fault.OutOfRange, "%v", err)
	}
	a.Rate, a.Wears = fit.Rate, log.Tells()
	a.Dressed = log.Believed(a.On).Dressed
	if w.Smallest.Known {
		a.Smallest = log.Reaches(w.Smallest.Value)
	}
	if a.Recipes, err = s.wornRecipes(ctx, q, w, log, a.On); err != nil {
		return a, err
	}
	for _, r := range a.Recipes {
		if at := log.Reaches(r.restGapAt).Expected; r.restGapAt > 0 && earlier(at, a.RestGapAt) {
			a.RestGapAt = at
		}
	}
	a.Texts = a.words(in, fit, log)
	return a, nil
}

// earlier tells whether a time is before another, where zero is never.
func earlier(a, b time.Time) bool { return !a.IsZero() && (b.IsZero() || a.Before(b)) }

// wornRecipes are the published recipes that can be ground where the wheel is mounted, the most urgent first.
func (s Solver) wornRecipes(ctx context.Context, q WearQuestion, w shop.Wheel, log wear.Log, on time.Time) ([]RecipeWear, error) {
	if w.Station == "" {
		return nil, nil
	}
	shopName := store.ShopOf(w.Name)
	recipes, err := s.Records.Recipes(ctx, shopName, q.AsOf)
	if err != nil {
		return nil, err
	}
	var worn []RecipeWear
	for _, r := range recipes {
		ask := Question{Common: Common{Shop: shopName, Recipe: r.RevisionName(), AsOf: q.AsOf, Language: q.Language, Unit: q.Unit}}
		ask.Rig.Station.Name, ask.Rig.Wheel.Name = w.Station, w.Name
		x, p, _, err := s.solved(ctx, ask)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err == nil { // what cannot be ground there has nothing to lose
			worn = append(worn, x.worn(p, log, on))
		}
	}
	slices.SortStableFunc(worn, func(a, b RecipeWear) int { return compareTimes(a.urgent(), b.urgent()) })
	return worn, nil
}

// compareTimes orders times, never last.
func compareTimes(a, b time.Time) int {
	switch {
	case a.Equal(b):
		return 0
	case earlier(a, b):
		return -1
	}
	return 1
}

// urgent is when something has to be done about a recipe; zero: not foreseen.
func (r RecipeWear) urgent() time.Time {
	if earlier(r.MeasureAt, r.LimitAt) {
		return r.MeasureAt
	}
	return r.LimitAt
}

// worn is what wear does to the first bevel of a plan.
func (x *search) worn(p plan, log wear.Log, on time.Time) RecipeWear {
	s := p[len(p)-1] // the edge is ground last
	y := x.at(s.bevel)
	out := RecipeWear{Recipe: x.recipe.Name, Tolerance: x.tolerance(), PerMM: s.wear, restGapAt: y.restGapLimit(s)}
	if smallest := y.band(s).Smallest; smallest > 0 {
		out.Limit = shop.Some(smallest)
		out.LimitAt = log.Reaches(smallest).Expected
	}
	if per := y.perDiameter(s); per > 0 {
		out.Doubt = unit.Angle(per * float64(log.Believed(on).HalfWidth))
		out.MeasureAt = log.KnownWithin(unit.Length(float64(out.Tolerance) / per))
	}
	out.Text = out.words(x.in, on)
	return out
}

// band is how far the diameter may change with the support left where it is.
func (x *search) band(s stand) geometry.WearBand {
	if _, flat := x.machine.(*table); flat {
		return x.surface.BandAtLine(s.front, x.tolerance())
	}
	return x.surface.BandAtPivot(s.pivot, s.front, x.tolerance())
}

// perDiameter is what a millimetre of doubt about the diameter does to the angle as it is set.
func (x *search) perDiameter(s stand) float64 {
	for _, item := range x.inputs(&s) {
		if item.Quantity == wheelDiameter {
			return math.Abs(item.Sensitivity)
		}
	}
	return 0
}

// restGapLimit is the diameter at which a platform's front edge, left where it is, stands too far from the wheel.
func (x *search) restGapLimit(s stand) unit.Length {
	if !s.restGap.Known {
		return 0
	}
	return max(0, x.surface.Diameter()-2*max(0, min(x.station.LargestRestGap.Or(usualRestGap), usualRestGap)-s.restGap.Value))
}

func (r RecipeWear) words(in Speech, on time.Time) string {
	drift := in.Say("%s: %s° per millimetre of diameter lost, the support left where it is", path.Base(r.Recipe), in.Marked(fmt.Sprintf("%+.2f", r.PerMM*180/math.Pi)))
	if r.Limit.Known {
		drift += in.Say("; off by %s at %s", in.Degrees(r.Tolerance), in.Length(roundDown(r.Limit.Value, 0.1), 2))
	}
	if !r.LimitAt.IsZero() {
		drift += in.Say(", about %s", in.Day(r.LimitAt))
	}
	drift += in.Say(". Set anew by the diameter on record it may be off by ±%s on %s", in.Degrees(r.Doubt), in.Day(on))
	if !r.MeasureAt.IsZero() {
		drift += in.Say("; measure before %s", in.Day(r.MeasureAt))
	}
	return drift + "."
}

// words are the whole in words, what is most urgent first.
func (a WearAnswer) words(in Speech, fit trend.Wear, log wear.Log) (texts []string) {
	say := func(t words.Text, args ...string) { texts = append(texts, in.Say(t, args...)) }
	if a.Dressed {
		say("Dressed on %s and not measured since: measure it now.", in.Day(a.Wheel.Dressed))
	}
	loses, count := words.Text("It loses %s mm of its diameter a day, ±%s (%s measurements)."), strconv.Itoa(a.Count)
	if a.Basis == wear.ByUse {
		loses = "It loses %s mm of its diameter an hour at the wheel, ±%s (%s measurements)."
	}
	if a.Wears {
		say(loses, in.Marked(significant(a.Rate, 3)), in.Marked(significant(fit.RateHalfWidth, 2)), count)
	} else {
		say(a.tellsNothing(log), count)
	}
	say("On %s it should measure %s ± %s.", in.Day(a.On), in.Length(a.Forecast.Diameter, 2), in.Length(a.Forecast.HalfWidth, 2))
	for _, odd := range log.Odd {
		say("The measurement of %s does not fit the others, and is left out.", in.Day(odd.Occurred))
	}
	if fit.Outlier >= 0 {
		odd := log.Measurements[fit.Outlier]
		say("The measurement of %s does not fit the others: measure again, or enter the dressing that was forgotten.", in.Day(odd.Occurred))
	}
	if !a.Smallest.Expected.IsZero() {
		say("It comes down to its smallest diameter about %s, at the earliest %s.", in.Day(a.Smallest.Expected), in.Day(a.Smallest.Earliest))
	}
	if !a.RestGapAt.IsZero() {
		say("A platform left where it is stands too far from the wheel from about %s on.", in.Day(a.RestGapAt))
	}
	return texts
}

// tellsNothing is why there is no rate of wear, with how many measurements there are.
func (a WearAnswer) tellsNothing(log wear.Log) words.Text {
	switch {
	case log.Grows():
		return "By its log of %s measurements the wheel grows, which none does: one of them is wrong, or another wheel is mounted. Measure again."
	case a.Wheel.Abrasive == shop.Superabrasive:
		return "Wear cannot be told from none by %s measurements: superabrasive wheels barely wear, and a short log tells little."
	}
	return "Wear cannot be told from none by %s measurements: a short log tells little."
}

// significant is a number to so many digits, without an exponent.
func significant(v float64, digits int) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	if err != nil {
		rounded = v
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
