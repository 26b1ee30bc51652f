package sheet

import (
	"context"
	"path"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"arris.example/geometry/unit"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// The line that matters on a label, by what it is for.

var (
	toolWords = map[shop.ToolKind]string{
		shop.BowlGouge: "bowl gouge", shop.SpindleGouge: "spindle gouge", shop.RoughingGouge: "spindle roughing gouge", shop.HollowingGouge: "hollowing gouge",
		shop.Skew: "skew", shop.PartingTool: "parting tool", shop.Scraper: "scraper", shop.NegativeRakeScraper: "negative-rake scraper",
	}
	steelWords    = map[shop.Steel]string{shop.CarbonSteel: "carbon steel", shop.HighSpeedSteel: "high-speed steel", shop.PowderSteel: "powder steel"}
	abrasiveWords = map[shop.Abrasive]string{shop.Bonded: "bonded", shop.Superabrasive: "superabrasive", shop.Coated: "coated", shop.Stone: "stone"}
	edgeWords     = map[shop.AngleOf]string{
		shop.FrontAngle: "edge angle ", shop.Reading: "bevel reading ", shop.IncludedFrontAngle: "included angle ", shop.IncludedReading: "included reading ",
	}
)

// toolTag: its kind, its size, the edge angle of its recipe, its steel.
func (m Maker) toolTag(ctx context.Context, name string, q Labels) (display, line string, err error) {
	t, err := m.Reader.Tool(ctx, name, q.AsOf)
	if err != nil {
		return "", "", err
	}
	var edge []string
	if t.Recipe != "" {
		r, known, err := found(m.Reader.Recipe(ctx, t.Recipe, q.AsOf))
		if err != nil {
			return "", "", err
		}
		if known && len(r.Grind.Bevels) > 0 {
			edge = edgeOf(r.Grind)
		}
	}
	return t.DisplayName, first(phrases(slices.Concat([]string{unsaid(toolWords[t.Kind], t.DisplayName), toolSize(t, q.Unit)}, edge, []string{steelWords[t.Steel]})...)), nil
}

// edgeOf is a grind's first bevel; of a tool with one above the edge as well, both.
func edgeOf(g shop.Grind) []string {
	text := edgeWords[g.Bevels[0].Of] + degreesShort(g.Bevels[0].Angle)
	if up := g.Upper; up.Known {
		return []string{text + " below", degreesShort(up.Value.Angle) + " above"}
	}
	return []string{text}
}

// toolSize is what a tool's bar or blade measures.
func toolSize(t shop.Tool, u setup.LengthUnit) string {
	switch bar := t.Bar.Value; {
	case bar.Diameter > 0:
		return "⌀ " + lengthShort(bar.Diameter, u)
	case bar.Width > 0:
		return lengthShort(bar.Width, u) + " × " + lengthShort(bar.Thickness, u)
	case t.Thickness.Known:
		return lengthShort(t.Thickness.Value, u) + " thick"
	}
	return ""
}

// stationTag: its wheel and the spindle's speed.
func (m Maker) stationTag(ctx context.Context, name string, q Labels) (display, line string, err error) {
	s, err := m.Reader.Station(ctx, name, q.AsOf)
	if err != nil {
		return "", "", err
	}
	w, mounted, err := found(m.Reader.MountedWheel(ctx, name, q.AsOf))
	if err != nil {
		return "", "", err
	}
	wheel, speed := "no wheel", ""
	if mounted {
		wheel = "wheel " + path.Base(w.Name)
	}
	if s.SpindleRPM.Known {
		speed = "spindle " + rpm(s.SpindleRPM.Value)
	}
	return s.DisplayName, first(phrases(wheel, speed)), nil
}

// wheelTag: its abrasive, what its speed must not exceed, and the diameters it lives between. What it measures today does not stay true.
func (m Maker) wheelTag(ctx context.Context, name string, q Labels) (display, line string, err error) {
	w, err := m.Reader.Wheel(ctx, name, q.AsOf)
	if err != nil {
		return "", "", err
	}
	what := strings.TrimSpace(abrasiveWords[w.Abrasive] + " " + w.Grit)
	flat, size, least, marked := "", "", "", ""
	switch {
	case w.Flat:
		flat = "flat"
	case w.NewDiameter.Known:
		size = "new ⌀ " + lengthShort(w.NewDiameter.Value, q.Unit)
	}
	if w.Smallest.Known && !w.Flat {
		least = "not below " + lengthShort(w.Smallest.Value, q.Unit)
	}
	switch {
	case w.MarkedRPM.Known:
		marked = "at most " + rpm(w.MarkedRPM.Value)
	case w.MarkedMPS.Known:
		marked = "at most " + strings.TrimSuffix(unit.FormatFixed(w.MarkedMPS.Value, 1), ".0") + " m/s"
	}
	return w.DisplayName, first(phrases(what, marked, flat, size, least)), nil
}

// holderTag: how it holds, with the length that tells it from others.
func (m Maker) holderTag(ctx context.Context, name string, q Labels) (display, line string, err error) {
	h, err := m.Reader.Holder(ctx, name, q.AsOf)
	said := func(kind string) string { return unsaid(kind, h.DisplayName) }
	switch h.Kind {
	case shop.NoHolder:
		line = said("lies on the platform")
	case shop.Clamp:
		line = phrases(said("clamp"), "bar "+lengthShort(h.Behind, q.Unit)+" behind the face")
	case shop.Swing:
		line = phrases(said("swing holder"), "leg "+lengthShort(h.Arm.Leg, q.Unit))
	case shop.Butted:
		line = said("handle butted in the pocket")
	case shop.BarePivot:
		line = phrases("pivot "+lengthShort(h.Behind, q.Unit)+" behind", lengthShort(h.Below, q.Unit)+" below")
	}
	return h.DisplayName, first(line), err
}

// unsaid is a kind, where the name does not say it.
func unsaid(kind, display string) string {
	if strings.Contains(strings.ToLower(display), kind) {
		return ""
	}
	return kind
}

// first is a text with a capital.
func first(text string) string {
	letter, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(letter)) + text[size:]
}

// lengthShort is a size as people call it: 12 mm, not 12.0 mm.
func lengthShort(l unit.Length, u setup.LengthUnit) string {
	return strings.Replace(setup.PrintLength(l, u, 1), ".0 mm", " mm", 1)
}

func degreesShort(a unit.Angle) string { return strings.Replace(degrees(a), ".0°", "°", 1) }
