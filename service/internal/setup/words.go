package setup

import (
	"math"
	"strconv"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// The names of things, as the trade says them.
var (
	datumWords = map[shop.Datum]words.Text{
		shop.DatumSlide:          "the slide",
		shop.DatumWheelGap:       "the wheel gap",
		shop.DatumWheelGapFar:    "the wheel gap to the far side of the bar",
		shop.DatumPivotToAxle:    "the distance from axle to pivot",
		shop.DatumFaceDistance:   "the distance from the wheel's face",
		shop.DatumHeight:         "the support's height",
		shop.DatumTilt:           "the platform's tilt",
		shop.DatumPlatformToAxle: "the platform's distance from the axle",
	}
	heightWords = map[shop.SupportKind]words.Text{
		shop.AnySupport: datumWords[shop.DatumHeight],
		shop.Bar:        "the bar's height",
		shop.Pocket:     "the pocket's height",
		shop.Platform:   "the platform's height",
	}
	steelWords = map[shop.Steel]string{ // in refusals only
		shop.CarbonSteel:    "carbon steel",
		shop.HighSpeedSteel: "high-speed steel",
		shop.PowderSteel:    "powder-metal high-speed steel",
	}
	angleWords = map[shop.AngleOf]words.Text{
		shop.FrontAngle:         "a front angle of %s",
		shop.Reading:            "a bevel reading of %s",
		shop.IncludedFrontAngle: "an included angle of %s",
		shop.IncludedReading:    "an included reading of %s",
	}
	supportWords = map[shop.SupportKind]words.Text{
		shop.AnySupport: "support",
		shop.Bar:        "bar",
		shop.Pocket:     "pocket",
		shop.Platform:   "platform",
	}
	theSupport = map[shop.SupportKind]words.Text{ // within a sentence
		shop.AnySupport: "the support",
		shop.Bar:        "the bar",
		shop.Pocket:     "the pocket",
		shop.Platform:   "the platform",
	}
	stayWords = map[shop.SupportKind]words.Text{
		shop.AnySupport: "leave the support as it is",
		shop.Bar:        "leave the bar as it is",
		shop.Pocket:     "leave the pocket as it is",
		shop.Platform:   "leave the platform as it is",
	}
)

// say says a text in the question's language.
func (r *rig) say(t words.Text, args ...string) string { return r.in.Say(t, args...) }

// datum is what a support is set by, in words.
func (r *rig) datum(d shop.Datum) words.Text {
	if d == shop.DatumHeight {
		return heightWords[r.support.Kind]
	}
	return datumWords[d]
}

// measuredTo is where a distance from the wheel, or a height, ends: at a pocket whose gauged surface nobody told, in the middle of what sits in it.
func (r *rig) measuredTo(d shop.Datum) string {
	if d != shop.DatumWheelGap && d != shop.DatumFaceDistance && d != shop.DatumHeight {
		return ""
	}
	switch {
	case r.support.Kind == shop.Bar && d == shop.DatumHeight:
		return r.say("to the top of the bar")
	case r.support.Kind == shop.Bar:
		return r.say("to the near side of the bar")
	case r.support.Kind != shop.Pocket:
		return ""
	case d != shop.DatumHeight && r.support.Near != 0:
		return r.say("to the pocket's gauged surface")
	case r.holder.Kind == shop.Butted:
		return r.say("to the handle's seat")
	}
	return r.say("to the middle of the ball")
}

// degrees and mm are an angle and a length in a text; the functions of the same names print them in refusals.
func (r *rig) degrees(a unit.Angle) string { return r.in.Degrees(a) }
func (r *rig) mm(l unit.Length) string     { return r.in.Number(float64(l), 2) + " mm" }

// percent is a share.
func (r *rig) percent(share float64) string { return r.in.Number(100*share, 0) }

// length is a length in the unit of the answer.
func (x *search) length(l unit.Length) string {
	return x.in.Length(l, decimals(float64(x.q.Rounding.lengthStep())))
}

func (x *search) angle(a unit.Angle) string {
	return x.in.Number(a.Degrees(), decimals(x.q.Rounding.angleStep().Degrees())) + "°"
}

// setLength and setAngle print what is set: finer than the step where somebody gave it finer.
func (x *search) setLength(l unit.Length) string {
	return x.in.Setting(l, max(decimals(float64(x.q.Rounding.lengthStep())), decimals(float64(l))))
}

func (x *search) setAngle(a unit.Angle) string {
	return x.in.Number(a.Degrees(), max(decimals(x.q.Rounding.angleStep().Degrees()), decimals(a.Degrees()))) + "°"
}

// PrintLength is a length in a unit, as English has it.
func PrintLength(l unit.Length, u LengthUnit, places int) string {
	return Speech{Unit: u}.Length(l, places)
}

// Speech is how texts are said: in a language, and of lengths in a unit. The zero value is English, in millimetres.
type Speech struct {
	words.Language
	Unit LengthUnit
}

// SpeechIn is speech in the language of a tag.
func SpeechIn(tag string, u LengthUnit) (Speech, error) {
	in, spoken := words.In(tag)
	if !spoken {
		return Speech{}, fault.Field("wording.language_code", fault.UnknownValue, "nothing is said in %q here; choose one of %s", tag, strings.Join(words.Codes(), ", "))
	}
	return Speech{in, u}, nil
}

// Length is a length for people: millimetres with so many places, inches to 1/64.
func (s Speech) Length(l unit.Length, places int) string {
	metric := s.Number(float64(l), places) + " mm"
	if s.Unit == Millimetres {
		return metric
	}
	f, err := unit.InchFraction(l, 64)
	switch {
	case err != nil:
		return metric
	case s.Unit == Inches:
		return f.String()
	}
	return metric + " (" + f.String() + ")"
}

// Setting is a length that somebody sets: nothing of it is left out, so inches have what is beyond a 64th beside it. Where millimetres are said
// as well, they have it.
func (s Speech) Setting(l unit.Length, places int) string {
	if f, err := unit.InchFraction(l, 64); err == nil && s.Unit == Inches {
		return s.Marked(f.Exact())
	}
	return s.Length(l, places)
}

// decimals is how many places a step needs, at most 3.
func decimals(step float64) int {
	for places := range 3 {
		if scaled := step * math.Pow10(places); math.Abs(scaled-math.Round(scaled)) < 1e-9 {
			return places
		}
	}
	return 3
}

// signed is an angle with its sign and direction in words: a positive difference is blunter.
func (r *rig) signed(a unit.Angle) string {
	if a < 0 {
		return r.say("%s° keener", r.in.Number(-a.Degrees(), 2))
	}
	return r.say("%s° blunter", r.in.Number(a.Degrees(), 2))
}

// turns is a number of turns as people make them: halves, thirds, quarters, with "about" where none fits within a fiftieth.
func turns(in words.Language, n float64) string {
	n = math.Abs(n)
	best, text := math.Inf(1), ""
	for _, part := range []struct {
		size float64
		text string
	}{{0, ""}, {0.25, "1/4"}, {1.0 / 3, "1/3"}, {0.5, "1/2"}, {2.0 / 3, "2/3"}, {0.75, "3/4"}, {1, ""}} {
		whole := math.Floor(n)
		if off := math.Abs(n - whole - part.size); off < best {
			best = off
			if part.size == 1 {
				whole++
			}
			text = strings.TrimSpace(strconv.Itoa(int(whole)) + " " + part.text)
			if whole == 0 && part.text != "" {
				text = part.text
			}
		}
	}
	exact := in.Number(n, 2)
	switch about := best > 0.02; {
	case text == "0":
		return in.Say("%s turn", exact)
	case text == "1" && about:
		return in.Say("about 1 turn (%s)", exact)
	case text == "1":
		return in.Say("1 turn")
	case n <= 1 && about:
		return in.Say("about %s turn (%s)", text, exact)
	case n <= 1:
		return in.Say("%s turn", text)
	case about:
		return in.Say("about %s turns (%s)", text, exact)
	}
	return in.Say("%s turns", text)
}

// sense is a number of turns with the way they go.
func sense(in words.Language, n float64) string {
	if n < 0 {
		return in.Say("%s anticlockwise", turns(in, n))
	}
	return in.Say("%s clockwise", turns(in, n))
}

// direction says which way a support goes as its reading changes, for people who stand before the machine: what, and how far.
func direction(slide unit.Angle, further bool) words.Text {
	sector := int(math.Round(slide.Degrees()/90)+4) % 4
	if !further {
		sector = (sector + 2) % 4
	}
	return [...]words.Text{"→ %s out %s", "↑ %s up %s", "← %s in %s", "↓ %s down %s"}[sector]
}
