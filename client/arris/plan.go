package arris

import (
	"context"
	"io"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// Run plans.
func (c *planCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	return p.calculate(c.Out.whole(), func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.PlanBevels(ctx, req)
	})
}

func (c *planCommand) request(stdin io.Reader) (*arrisv1.PlanBevelsRequest, error) {
	req := &arrisv1.PlanBevelsRequest{}
	if err := c.Source.read(stdin, req); err != nil {
		return nil, err
	}
	c.Source.put(&req.Shop, &req.AsOfTime)
	c.Out.Format.put(&req.Wording)
	c.Soften.over(&req.SoftenedHeelMm)
	err := c.Wanted.put(req.Shop,
		func(name string) { req.GrindSource = &arrisv1.PlanBevelsRequest_Recipe{Recipe: name} },
		func(g *arrisv1.Grind) { req.GrindSource = &arrisv1.PlanBevelsRequest_Grind{Grind: g} })
	if err != nil {
		return nil, err
	}
	c.Set.put(&req.Given)
	if err := c.putPlan(req); err != nil {
		return nil, err
	}
	if err := c.Behind.put(&req.BehindRig, req.Shop); err != nil {
		return nil, err
	}
	return req, c.Rig.put(&req.Rig, req.Shop)
}

// putPlan puts the kind of plan in. A land and the last facet's angle go with a kind: one that is said, or the file's.
func (c *planCommand) putPlan(req *arrisv1.PlanBevelsRequest) error {
	switch {
	case c.Micro.width.said:
		req.Plan = &arrisv1.PlanBevelsRequest_MicroBevel{MicroBevel: &arrisv1.MicroBevelPlan{}}
	case (c.Relief.said || c.Clears.said) && req.GetLand() == nil:
		req.Plan = &arrisv1.PlanBevelsRequest_Land{Land: &arrisv1.LandPlan{}}
	case c.Facets != nil && req.GetFacets() == nil:
		req.Plan = &arrisv1.PlanBevelsRequest_Facets{Facets: &arrisv1.FacetPlan{}}
	case len(c.Turns) > 0 && req.GetTurns() == nil:
		req.Plan = &arrisv1.PlanBevelsRequest_Turns{Turns: &arrisv1.TurnsPlan{}}
	}
	switch {
	case req.GetPlan() == nil && c.Land.said:
		return wrongUsage("--land needs to know what lies behind it: say --relief, --clears, --facets or --turns")
	case c.Land.said && req.GetMicroBevel() != nil:
		return wrongUsage("--land and --micro: plan one after the other, for a micro bevel lies in front of a land")
	case c.Last.said && req.GetFacets() == nil:
		return wrongUsage("--last is the angle in front of the last of --facets; a relief has its own by --relief")
	}
	switch plan := req.GetPlan().(type) {
	case *arrisv1.PlanBevelsRequest_MicroBevel:
		c.Micro.steeper.over(&plan.MicroBevel.SteeperDeg)
		c.Micro.width.over(&plan.MicroBevel.WidthMm)
	case *arrisv1.PlanBevelsRequest_Land:
		c.putLand(plan.Land)
	case *arrisv1.PlanBevelsRequest_Facets:
		c.Land.over(&plan.Facets.LandWidthMm)
		c.Last.over(&plan.Facets.LastFrontAngleDeg)
		if c.Facets != nil {
			plan.Facets.Count = c.Facets
		}
	case *arrisv1.PlanBevelsRequest_Turns:
		return c.putTurns(plan.Turns)
	}
	return nil
}

func (c *planCommand) putLand(land *arrisv1.LandPlan) {
	c.Land.over(&land.WidthMm)
	switch {
	case c.Relief.said:
		land.Relief = &arrisv1.LandPlan_FrontAngleDeg{FrontAngleDeg: c.Relief.deg}
	case c.Clears.said:
		land.Relief = &arrisv1.LandPlan_ClearsRadiusMm{ClearsRadiusMm: c.Clears.mm}
	}
}

// putTurns puts the turns in, and the widths in front of each: the land's, then those of all bevels but the last.
func (c *planCommand) putTurns(plan *arrisv1.TurnsPlan) error {
	if len(c.Turns) == 0 {
		if c.Land.said && len(plan.WidthsMm) > 0 {
			plan.WidthsMm[0] = c.Land.mm
		}
		return nil
	}
	if !c.Land.said {
		return wrongUsage("--turns needs the width of the edge's own bevel: say it by --land")
	}
	plan.AdjusterTurns, plan.WidthsMm = nil, []float64{c.Land.mm}
	for i, t := range c.Turns {
		plan.AdjusterTurns = append(plan.AdjusterTurns, t.turns)
		switch last := i == len(c.Turns)-1; {
		case last && t.width.said:
			return wrongUsage("the last of --turns runs to the heel: it has no width")
		case !last && !t.width.said:
			return wrongUsage("--turns %s has no width, and bevels follow: write %[1]s@3mm", number(t.turns))
		case !last:
			plan.WidthsMm = append(plan.WidthsMm, t.width.mm)
		}
	}
	return nil
}

var plannedColumns = []column[*arrisv1.PlannedBevel]{
	{"front_angle_deg", func(b *arrisv1.PlannedBevel) string { return number(b.GetFrontAngleDeg()) }},
	{"reading_deg", func(b *arrisv1.PlannedBevel) string { return optional(b.ReadingDeg) }},
	{"width_mm", func(b *arrisv1.PlannedBevel) string { return optional(b.WidthMm) }},
	{"hollow_depth_mm", func(b *arrisv1.PlannedBevel) string { return optional(b.HollowDepthMm) }},
	{"corner_deg", func(b *arrisv1.PlannedBevel) string { return optional(b.CornerDeg) }},
	{"text", func(b *arrisv1.PlannedBevel) string { return harmless(b.GetText()) }},
}

// plan shows the bevels, and how to ask for their settings.
func (v *sheet) plan(a *arrisv1.PlanBevelsResponse) {
	v.heading("Plan")
	if a.GetText() != "" {
		v.paragraph(sentence(a.GetText()))
	}
	v.plannedBevels(a.GetBevels())
	if rows := v.planFacts(a); len(rows) > 0 {
		v.grid(nil, rows)
	}
	v.planSettings(a)
	v.cautions(a.GetCautions())
}

// planSettings is the command that asks for the settings, to be typed as it stands where the plan has all that it takes.
func (v *sheet) planSettings(a *arrisv1.PlanBevelsResponse) {
	if len(a.GetGrind().GetBevels()) == 0 {
		return
	}
	v.heading("Its settings")
	if open := planOpen(a); len(open) > 0 {
		v.paragraph("Say too what the plan did not take: " + strings.Join(open, ", ") + ".")
	}
	lines := []string{strings.Join(append([]string{"arris solve"}, rigFlagsText(a.GetRig())...), " ")}
	for _, b := range a.GetGrind().GetBevels() {
		lines = append(lines, "    --bevel "+bevelText(b))
	}
	if upper := a.GetGrind().GetUpperBevel(); upper != nil {
		lines = append(lines, "    --upper "+bevelText(upper))
	}
	if given := settingFlagsText(a.GetGiven()); len(given) > 0 {
		lines = append(lines, "    "+strings.Join(given, " "))
	}
	for i, line := range lines {
		if i < len(lines)-1 {
			line += " \\"
		}
		v.text.WriteString(strings.Repeat(" ", indent) + line + "\n")
	}
}

// planOpen is what solving needs beside a plan, by what has not been said as flags.
func planOpen(a *arrisv1.PlanBevelsResponse) (open []string) {
	rig := a.GetRig()
	if station := rig.GetInlineStation(); station != nil {
		open = append(open, "the station that was written out")
	}
	switch holder := rig.GetInlineHolder(); {
	case rig.GetHolderSource() == nil:
		open = append(open, "a holder")
	case holder != nil && holder.GetNone() == nil && holder.GetPivot() == nil:
		open = append(open, "the holder that was written out")
	}
	if a.GetGiven().StickOutMm == nil && rig.GetInlineHolder().GetNone() == nil && rig.GetInlineHolder().GetPivot() == nil {
		open = append(open, "the stick-out and leg, if its holder has them")
	}
	return open
}

func (v *sheet) plannedBevels(bevels []*arrisv1.PlannedBevel) {
	if len(bevels) == 0 {
		return
	}
	var rows []table.Row
	for i, b := range bevels {
		rows = append(rows, table.Row{
			placeOf(i, len(bevels)), v.styled(bold, degreesText(&b.FrontAngleDeg)), degreesText(b.ReadingDeg), v.lengthOf(b.WidthMm),
			v.smallText(b.HollowDepthMm), degreesText(b.CornerDeg),
		})
	}
	v.grid(table.Row{"bevel", "angle in front", "bevel reading", "width", "hollow", "corner"}, rows, 2, 3, 4, 5, 6)
}

// placeOf is a bevel's number, counted from the edge, with the words for the first and the last.
func placeOf(i, of int) string {
	name := strconv.Itoa(i + 1)
	switch i {
	case 0:
		return name + ", the edge"
	case of - 1:
		return name + ", the heel"
	}
	return name
}

func (v *sheet) planFacts(a *arrisv1.PlanBevelsResponse) []table.Row {
	var rows []table.Row
	add := func(label, text string, note string) {
		if text != "" {
			rows = append(rows, table.Row{label, text, note})
		}
	}
	add("edge set back", v.smallText(a.EdgeSetBackMm), "along the tool")
	add("largest corner", degreesText(a.LargestCornerDeg), "turn of the surface between two bevels")
	add("corners proud", v.smallText(a.DeviationMm), "of the smooth curve")
	add("softened heel", v.lengthOf(a.SoftenedLengthMm), "of the last bevel")
	add("softened bar", v.lengthOf(a.SoftenedUndersideMm), "of its underside")
	add("adjuster", degreesText(a.EdgeDegPerTurn), "of edge angle a turn, at the edge's setting")
	return rows
}

// degreesText is an angle to a tenth, nothing where there is none.
func degreesText(deg *float64) string {
	if deg == nil {
		return ""
	}
	return unit.FormatFixed(*deg, 1) + "°"
}

// lengthOf is a length of the answer, nothing where there is none.
func (v *sheet) lengthOf(mm *float64) string {
	if mm == nil {
		return ""
	}
	return strings.TrimSpace(v.lengthText(*mm, 1))
}
