package sheet

import (
	"context"
	"math"
	"path"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// The line that matters on a label, by what it is for.

var (
	toolWords = map[shop.ToolKind]words.Text{
		shop.BowlGouge: "bowl gouge", shop.SpindleGouge: "spindle gouge", shop.RoughingGouge: "spindle roughing gouge", shop.HollowingGouge: "hollowing gouge",
		shop.Skew: "skew", shop.PartingTool: "parting tool", shop.Scraper: "scraper", shop.NegativeRakeScraper: "negative-rake scraper",
	}
	steelWords    = map[shop.Steel]words.Text{shop.CarbonSteel: "carbon steel", shop.HighSpeedSteel: "high-speed steel", shop.PowderSteel: "powder steel"}
	abrasiveWords = map[shop.Abrasive]words.Text{shop.Bonded: "bonded", shop.Superabrasive: "superabrasive", shop.Coated: "coated", shop.Stone: "stone"}
	edgeWords     = map[shop.AngleOf]words.Text{
		shop.FrontAngle: "edge angle %s", shop.Reading: "bevel reading %s", shop.IncludedFrontAngle: "included angle %s", shop.IncludedReading: "included reading %s",
	}
)

// toolTag: its kind, its size, the edge angle of its recipe, its steel.
func (l labelling) toolTag(ctx context.Context, name string) (display, line string, err error) {
	t, err := l.Reader.Tool(ctx, name, l.asOf)
	if err != nil {
		return "", "", err
	}
	edge := ""
	if t.Recipe != "" {
		r, known, err := found(l.Reader.Recipe(ctx, t.Recipe, l.asOf))
		if err != nil {
			return "", "", err
		}
		if known && len(r.Grind.Bevels) > 0 {
			edge = l.edgeOf(r.Grind)
		}
	}
	return t.DisplayName, phrases(l.unsaid(toolWords[t.Kind], t.DisplayName), l.toolSize(t), edge, l.say(steelWords[t.Steel])), nil
}

// edgeOf is a grind's first bevel; of a tool with one above the edge as well, both.
func (in speech) edgeOf(g shop.Grind) string {
	text := in.say(edgeWords[g.Bevels[0].Of], in.shortAngle(g.Bevels[0].Angle))
	if up := g.Upper; up.Known {
		return in.say("%s below, %s above", text, in.shortAngle(up.Value.Angle))
	}
	return text
}

// toolSize is what a tool's bar or blade measures.
func (in speech) toolSize(t shop.Tool) string {
	switch bar := t.Bar.Value; {
	case bar.Diameter > 0:
		return "⌀ " + in.shortLength(bar.Diameter)
	case bar.Width > 0:
		return in.shortLength(bar.Width) + " × " + in.shortLength(bar.Thickness)
	case t.Thickness.Known:
		return in.say("%s thick", in.shortLength(t.Thickness.Value))
	}
	return ""
}

// stationTag: its wheel and the spindle's speed.
func (l labelling) stationTag(ctx context.Context, name string) (display, line string, err error) {
	s, err := l.Reader.Station(ctx, name, l.asOf)
	if err != nil {
		return "", "", err
	}
	w, mounted, err := found(l.Reader.MountedWheel(ctx, name, l.asOf))
	if err != nil {
		return "", "", err
	}
	wheel, speed := l.say("no wheel"), ""
	if mounted {
		wheel = l.say("wheel %s", path.Base(w.Name))
	}
	if s.SpindleRPM.Known {
		speed = l.say("spindle %s", l.rpm(s.SpindleRPM.Value))
	}
	return s.DisplayName, phrases(wheel, speed), nil
}

func (in speech) rpm(v float64) string { return in.say("%s rpm", in.Number(v, 0)) }

// wheelTag: its abrasive, what its speed must not exceed, and the diameters it lives between. What it measures today does not stay true.
func (l labelling) wheelTag(ctx context.Context, name string) (display, line string, err error) {
	w, err := l.Reader.Wheel(ctx, name, l.asOf)
	if err != nil {
		return "", "", err
	}
	what := strings.TrimSpace(l.say(abrasiveWords[w.Abrasive]) + " " + paper.Isolate(w.Grit))
	flat, size, least, marked := "", "", "", ""
	switch {
	case w.Flat:
		flat = l.say("flat")
	case w.NewDiameter.Known:
		size = l.say("new ⌀ %s", l.shortLength(w.NewDiameter.Value))
	}
	if w.Smallest.Known && !w.Flat {
		least = l.say("not below %s", l.shortLength(w.Smallest.Value))
	}
	switch {
	case w.MarkedRPM.Known:
		marked = l.say("at most %s", l.rpm(w.MarkedRPM.Value))
	case w.MarkedMPS.Known:
		marked = l.say("at most %s", l.Marked(strings.TrimSuffix(unit.FormatFixed(w.MarkedMPS.Value, 1), ".0"))+" m/s")
	}
	return w.DisplayName, phrases(what, marked, flat, size, least), nil
}

// holderTag: how it holds, with the length that tells it from others.
func (l labelling) holderTag(ctx context.Context, name string) (display, line string, err error) {
	h, err := l.Reader.Holder(ctx, name, l.asOf)
	said := func(kind words.Text) string { return l.unsaid(kind, h.DisplayName) }
	switch h.Kind {
	case shop.NoHolder:
		line = phrases(said("lies on the platform"))
	case shop.Clamp:
		line = phrases(said("clamp"), l.say("bar %s behind the face", l.shortLength(h.Behind)))
	case shop.Swing:
		line = phrases(said("swing holder"), l.say("leg %s", l.shortLength(h.Arm.Leg)))
	case shop.Butted:
		line = phrases(said("handle butted in the pocket"))
	case shop.BarePivot:
		line = phrases(l.say("pivot %s behind, %s below", l.shortLength(h.Behind), l.shortLength(h.Below)))
	}
	return h.DisplayName, line, err
}

// unsaid is a kind, where the name does not say it.
func (in speech) unsaid(kind words.Text, display string) string {
	said := in.say(kind)
	if strings.Contains(strings.ToLower(display), strings.ToLower(said)) {
		return ""
	}
	return said
}

// shortLength is a size as people call it: 12 mm, not 12.0 mm.
func (in speech) shortLength(l unit.Length) string { return in.Length(l, tenths(float64(l))) }

func (in speech) shortAngle(a unit.Angle) string {
	return in.Number(a.Degrees(), tenths(a.Degrees())) + "°"
}

// tenths is how many places show a number's tenths, if it has any.
func tenths(v float64) int {
	if math.Mod(math.Round(10*v), 10) == 0 {
		return 0
	}
	return 1
}
