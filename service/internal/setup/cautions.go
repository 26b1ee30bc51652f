package setup

import (
	"cmp"
	"math"
	"slices"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// Where the limits come from. The wording is ours; the limits are theirs.
const (
	restGapSource words.Text = "29 CFR 1910.215(a)(4) allows 1/8 in (3.175 mm); 3 mm is the usual metric figure and the stricter"
	tradeSource   words.Text = "common practice"
	makerSource   words.Text = "the machine's manual and local rules come first"
)

// usualRestGap is the largest gap between a platform and the wheel where the shop sets none: the stricter of 1/8 in and 3 mm.
const usualRestGap unit.Length = 3

// cautions are the warnings that belong to this set-up, the most serious first; more are added to them.
func (x *search) cautions(p plan, steps []Step, more ...Caution) []Caution {
	list := slices.Concat(x.keptCautions(), more) // ahead of all that is as serious
	once := func(more []Caution) {
		for _, c := range more {
			if !slices.Contains(list, c) {
				list = append(list, c)
			}
		}
	}
	for i := range p {
		once(x.at(p[i].bevel).keptCautions())
	}
	for _, c := range []shop.Maybe[Caution]{x.wingCaution(p), x.staleCaution(p)} {
		if c.Known {
			list = append(list, c.Value)
		}
	}
	last := steps[len(steps)-1]
	for i := range p {
		once(x.at(p[i].bevel).standCautions(p[i], steps[i]))
	}
	if last.Predicted.IncludedEdge.Known && x.tool.Kind == shop.NegativeRakeScraper && last.Predicted.IncludedEdge.Value >= 90*unit.Degree {
		list = append(list, x.caution("NO_GRINDING_BURR", Note, tradeSource, "At an included angle of 90° or more grinding raises no burr to cut with."))
	}
	return bySeverity(append(list, x.rigCautions()...))
}

// rigCautions are the warnings that belong to the tool and the machine as they are, whatever is ground.
func (x *search) rigCautions() (list []Caution) {
	add := func(found bool, code string, severity Severity, source, text words.Text) {
		if found {
			list = append(list, x.caution(code, severity, source, text))
		}
	}
	add(x.tool.Kind == shop.RoughingGouge, "NOT_ON_BOWLS", Warning, tradeSource, "A spindle roughing gouge is never used on bowls: its tang can break.")
	add(x.tool.Steel == shop.CarbonSteel, "COOL_OFTEN", Note, tradeSource, "Carbon steel loses its hardness where it turns blue: light touches, and cool it in water often.")
	add(x.tool.Steel == shop.HighSpeedSteel || x.tool.Steel == shop.PowderSteel,
		"DO_NOT_QUENCH", Note, tradeSource, "Do not quench hot high-speed steel: it can crack. Let it cool in air.")
	add(x.wheel.Abrasive == shop.Superabrasive, "DO_NOT_DRESS", Note, tradeSource, "Never dress a superabrasive wheel.")
	add(!x.station.SpindleRPM.Known || !x.wheel.MarkedRPM.Known && (!x.wheel.MarkedMPS.Known || x.wheel.Diameter == 0),
		"SPEED_NOT_CHECKED", Note, makerSource, "The wheel's speed was not checked: the spindle's speed or the speed marked on the wheel is not known. Never exceed the marked speed.")
	if x.hasRecipe && !suits(x.recipe, x.tool) {
		list = append(list, x.caution("TOOL_NOT_IN_RECIPE", Warning, "", "The recipe is not meant for this kind of tool.").by(x.recipe.RevisionName()))
	}
	return append(list, x.caution("BEFORE_GRINDING", Note, makerSource,
		"Wear eye and breathing protection, keep fingers and cloth away, stand aside while the wheel starts, and turn it by hand once before switching on. Have a trained person change and test wheels. These numbers set a tool; they do not certify a machine."))
}

// caution words a caution. No source is given where the numbers above speak for themselves.
func (r *rig) caution(code string, severity Severity, source, text words.Text, args ...string) Caution {
	c := Caution{Code: code, Severity: severity, Text: r.say(text, args...)}
	if source != "" {
		c.Source = r.say(source)
	}
	return c
}

// by is a caution with a record for its source.
func (c Caution) by(record string) Caution {
	c.Source = record
	return c
}

func bySeverity(list []Caution) []Caution {
	slices.SortStableFunc(list, func(a, b Caution) int { return cmp.Compare(b.Severity, a.Severity) })
	return list
}

func suits(r shop.Recipe, t shop.Tool) bool {
	if t.Kind == shop.AnyTool || len(r.Tools) == 0 {
		return true
	}
	return slices.Contains(r.Tools, t.Kind)
}

// standCautions are the warnings of one stand.
func (x *search) standCautions(s stand, step Step) []Caution {
	var list []Caution
	a := step.Predicted
	limit := min(x.station.LargestRestGap.Or(usualRestGap), usualRestGap)
	if a.RestGap.Known && a.RestGap.Value > limit {
		list = append(list, x.caution("REST_GAP_TOO_WIDE", Warning, restGapSource, "The platform's front edge stands %s from the wheel; at most %s is allowed. Move it up with the wheel stopped, and solve again.",
			x.length(a.RestGap.Value), x.mm(limit)))
	}
	if off := s.front - s.wanted; math.Abs(float64(off)) > float64(0.5*unit.Degree)*(1+1e-9) {
		list = append(list, x.caution("ROUNDING_OFF", Warning, "", "The steps or blocks at hand leave the angle %s than wanted.", x.signed(off)))
	}
	switch {
	case !a.Reading.Known:
		list = append(list, x.caution("NO_BEVEL_READING", Note, "", "The steel's depth is not known, so there is no bevel reading. On a hollow grind a protractor shows more than the edge angle."))
	case a.Reading.Value > 90*unit.Degree:
		list = append(list, x.caution("HEEL_AHEAD_OF_EDGE", Warning, "", "The heel would stand ahead of the edge: the bevel reading is above 90°."))
	}
	if x.support.Slide.Known && x.support.Kind != shop.Platform && s.set.placed {
		if slope := x.support.Slide.Value.GapPerReading(x.surface, s.set.reading); math.Abs(slope) < 0.2 {
			list = append(list, x.caution("SLIDE_SQUARE_TO_LINE", Warning, "", "Here the slide moves almost square to the line of centres: the reading hardly changes the gap. Set by the wheel gap."))
		}
	}
	if travel := x.support.Slide; travel.Known && !x.supportFree && s.set.placed && outside(s.set.reading, travel.Value.Travel) {
		list = append(list, x.caution("BEYOND_TRAVEL", Warning, "", "The slide's travel does not reach there: it would read %s.", x.length(s.set.reading)))
	}
	if tilts := x.support.Table.Tilts; x.support.Kind == shop.Platform && !x.supportFree && s.datum == shop.DatumTilt && (s.set.tilt < tilts.Least || s.set.tilt > tilts.Most) {
		list = append(list, x.caution("BEYOND_TRAVEL", Warning, "", "The platform does not tilt that far: it goes from %s to %s.", x.degrees(tilts.Least), x.degrees(tilts.Most)))
	}
	if a.Corner.Known && math.Abs(float64(a.Corner.Value-a.Edge)) > float64(0.5*unit.Degree) {
		list = append(list, x.caution("CORNERS_DIFFER", Warning, "", "Rolled in this seat the corners get %s where the nose gets %s: a seat on the flute's own axis makes them equal.",
			x.degrees(a.Corner.Value), x.degrees(a.Edge)))
	}
	if math.Abs(float64(s.aside)) > 0.5 {
		list = append(list, x.caution("POCKET_ASIDE", Warning, "", "A straight oblique edge meets the wheel %s to the side of the pocket. In a pocket in line with the wheel its bevel would twist.",
			x.length(unit.Length(math.Abs(float64(s.aside))))))
	}
	return list
}

func outside(v unit.Length, r shop.LengthRange) bool { return v < r.Least || v > r.Most }

// offTarget warns when settings grind something other than was meant.
func (x *search) offTarget(p plan, m *meaning, putRight string) []Caution {
	off := p[0].front - m.fronts[0]
	if math.Abs(float64(off)) <= float64(0.5*unit.Degree) {
		return nil
	}
	c := x.caution("OFF_TARGET", Warning, "", "These settings grind %s where %s was meant: %s.", x.degrees(p[0].front), x.degrees(m.fronts[0]), x.signed(off))
	if putRight != "" {
		c.Text += x.say(" Put right first: %s.", putRight)
	}
	return []Caution{c}
}
