package setup

import (
	"math"
	"strconv"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// The English names of things, as the trade says them.
var (
	datumWords = map[shop.Datum]string{
		shop.DatumSlide:          "the slide",
		shop.DatumWheelGap:       "the wheel gap",
		shop.DatumWheelGapFar:    "the wheel gap to the far side of the bar",
		shop.DatumPivotToAxle:    "the distance from axle to pivot",
		shop.DatumFaceDistance:   "the distance from the wheel's face",
		shop.DatumHeight:         "the support's height",
		shop.DatumTilt:           "the platform's tilt",
		shop.DatumPlatformToAxle: "the platform's distance from the axle",
	}
	steelWords = map[shop.Steel]string{
		shop.CarbonSteel:    "carbon steel",
		shop.HighSpeedSteel: "high-speed steel",
		shop.PowderSteel:    "powder-metal high-speed steel",
	}
	angleWords = map[shop.AngleOf]string{
		shop.FrontAngle:         "a front angle",
		shop.Reading:            "a bevel reading",
		shop.IncludedFrontAngle: "an included angle",
		shop.IncludedReading:    "an included reading",
	}
	supportWords = map[shop.SupportKind]string{
		shop.AnySupport: "support",
		shop.Bar:        "bar",
		shop.Pocket:     "pocket",
		shop.Platform:   "platform",
	}
)

// datum is what a support is set by, in words.
func (r *rig) datum(d shop.Datum) string {
	if d == shop.DatumHeight && r.support.Kind != shop.AnySupport {
		return "the " + supportWords[r.support.Kind] + "'s height"
	}
	return datumWords[d]
}

// length is a length in the unit of the answer.
func (x *search) length(l unit.Length) string {
	return PrintLength(l, x.q.Unit, decimals(float64(x.q.Rounding.lengthStep())))
}

func (x *search) angle(a unit.Angle) string {
	return unit.FormatFixed(a.Degrees(), decimals(x.q.Rounding.angleStep().Degrees())) + "°"
}

// setLength and setAngle print what is set: finer than the step where somebody gave it finer.
func (x *search) setLength(l unit.Length) string {
	if sixtyFourth := unit.Inch / 64; x.q.Unit == Inches && math.Abs(float64(l-l.RoundTo(sixtyFourth, unit.TieEven))) > 0.005 {
		return unit.FormatFixed(float64(l/unit.Inch), 3) + " in"
	}
	return PrintLength(l, x.q.Unit, max(decimals(float64(x.q.Rounding.lengthStep())), decimals(float64(l))))
}

func (x *search) setAngle(a unit.Angle) string {
	return unit.FormatFixed(a.Degrees(), max(decimals(x.q.Rounding.angleStep().Degrees()), decimals(a.Degrees()))) + "°"
}

// PrintLength is a length in a unit for people: millimetres with so many places, inches to 1/64.
func PrintLength(l unit.Length, u LengthUnit, places int) string {
	metric := unit.FormatFixed(float64(l), places) + " mm"
	if u == Millimetres {
		return metric
	}
	f, err := unit.InchFraction(l, 64)
	switch {
	case err != nil:
		return metric
	case u == Inches:
		return f.String()
	}
	return metric + " (" + f.String() + ")"
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
func signed(a unit.Angle) string {
	if a < 0 {
		return unit.FormatFixed(-a.Degrees(), 2) + "° keener"
	}
	return unit.FormatFixed(a.Degrees(), 2) + "° blunter"
}

// turns is a number of turns as people make them: halves, thirds, quarters, with "about" where none fits within a fiftieth.
func turns(n float64) string {
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
	word := " turns"
	if n <= 1 {
		word = " turn"
	}
	if text == "0" {
		return unit.FormatFixed(n, 2) + word
	}
	if best > 0.02 {
		return "about " + text + word + " (" + unit.FormatFixed(n, 2) + ")"
	}
	return text + word
}

// direction says which way a support goes as its reading changes, for people who stand before the machine.
func direction(slide unit.Angle, further bool) (arrow, word string) {
	sector := int(math.Round(slide.Degrees()/90)+4) % 4
	if !further {
		sector = (sector + 2) % 4
	}
	return [...]string{"→", "↑", "←", "↓"}[sector], [...]string{"out", "up", "in", "down"}[sector]
}
