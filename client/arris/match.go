package arris

import (
	"context"
	"io"
	"strconv"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// Run matches.
func (c *matchCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	return p.calculate(c.Out.whole(), func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.MatchGrind(ctx, req)
	})
}

func (c *matchCommand) request(stdin io.Reader) (*arrisv1.MatchGrindRequest, error) {
	req := &arrisv1.MatchGrindRequest{}
	if err := c.Source.read(stdin, req); err != nil {
		return nil, err
	}
	c.Source.put(&req.Shop, &req.AsOfTime)
	c.Out.Format.put(&req.Wording)
	c.Doubts.put(&req.Doubts)
	if err := c.putEvidence(req); err != nil {
		return nil, err
	}
	return req, c.Rig.put(&req.Rig, req.Shop)
}

// putEvidence puts in what was measured, or one more trial with ink.
func (c *matchCommand) putEvidence(req *arrisv1.MatchGrindRequest) error {
	settings := latest(req.GetInk().GetTrials())
	c.Set.put(&settings)
	moved := !proto.Equal(settings, latest(req.GetInk().GetTrials()))
	marked := c.Mark != nil || c.MarkAt.said
	measured := c.Reading.said || c.DoubtReading.doubt != nil || c.DoubtChord.doubt != nil || c.DoubtSteel.doubt != nil
	switch {
	case marked && measured:
		return wrongUsage("ink by --mark or --mark-at, and a bevel measured by --reading: say one or the other")
	case moved && !marked:
		return wrongUsage("settings belong to a trial with ink: say where it was rubbed off by --mark or --mark-at")
	case marked || c.GroundBy.flat || c.GroundBy.diameter.said || req.GetInk() != nil && !measured:
		c.putInk(req, settings, marked)
	case measured || c.Chord.said || req.GetMeasured() != nil:
		c.putMeasured(req)
	}
	return nil
}

// latest are the settings of the last trial, from which the next one starts.
func latest(trials []*arrisv1.InkTrial) *arrisv1.Settings {
	if len(trials) == 0 {
		return nil
	}
	settings, _ := proto.Clone(trials[len(trials)-1].GetSettings()).(*arrisv1.Settings) // a clone has its original's type
	return settings
}

// putInk adds the trial that was said to those of the file, as the latest.
func (c *matchCommand) putInk(req *arrisv1.MatchGrindRequest, settings *arrisv1.Settings, marked bool) {
	ink := req.GetInk()
	if ink == nil {
		ink = &arrisv1.InkTest{}
		req.Evidence = &arrisv1.MatchGrindRequest_Ink{Ink: ink}
	}
	switch {
	case c.GroundBy.flat:
		ink.GroundBy = &arrisv1.InkTest_FlatBevel{FlatBevel: true}
	case c.GroundBy.diameter.said:
		ink.GroundBy = &arrisv1.InkTest_GroundDiameterMm{GroundDiameterMm: c.GroundBy.diameter.mm}
	}
	c.Chord.over(&ink.ChordMm)
	if !marked {
		return
	}
	trial := &arrisv1.InkTrial{Settings: settings}
	if c.MarkAt.said {
		trial.Mark = &arrisv1.InkTrial_BehindEdgeMm{BehindEdgeMm: c.MarkAt.mm}
	} else {
		trial.Mark = &arrisv1.InkTrial_Where{Where: arrisv1.InkMark(arrisv1.InkMark_value["INK_MARK_"+enumWord(*c.Mark)])}
	}
	ink.Trials = append(ink.Trials, trial)
}

// putMeasured puts in the bevel as it was measured. Its steel is the evidence's, for a named tool may have another.
func (c *matchCommand) putMeasured(req *arrisv1.MatchGrindRequest) {
	bevel := req.GetMeasured()
	if bevel == nil {
		bevel = &arrisv1.MeasuredBevel{}
		req.Evidence = &arrisv1.MatchGrindRequest_Measured{Measured: bevel}
	}
	c.Chord.over(&bevel.ChordMm)
	c.Reading.over(&bevel.ReadingDeg)
	c.Rig.Steel.over(&bevel.SteelDepthMm)
	c.Rig.Steel = length{}
	if c.DoubtChord.doubt != nil {
		bevel.ChordDoubt = c.DoubtChord.doubt
	}
	if c.DoubtSteel.doubt != nil {
		bevel.SteelDoubt = c.DoubtSteel.doubt
	}
	if c.DoubtReading.doubt != nil {
		bevel.ReadingDoubt = c.DoubtReading.doubt
	}
}

// matchRow is the answer beside one of its recipes.
type matchRow struct {
	*arrisv1.MatchGrindResponse
	recipe *arrisv1.RecipeMatch
}

// matchRows has a row for each recipe, nearest first, and one where none is near.
func matchRows(a *arrisv1.MatchGrindResponse) []matchRow {
	if len(a.GetRecipes()) == 0 {
		return []matchRow{{a, nil}}
	}
	var rows []matchRow
	for _, r := range a.GetRecipes() {
		rows = append(rows, matchRow{a, r})
	}
	return rows
}

// matchColumns hold first what was found, which every row repeats, then the row's own recipe, then the next setting.
var matchColumns = append([]column[matchRow]{
	{"found_edge_angle_deg", func(m matchRow) string { return optional(m.EdgeAngleDeg) }},
	{"found_bevel_reading_deg", func(m matchRow) string { return optional(m.BevelReadingDeg) }},
	{"found_expanded_uncertainty_deg", func(m matchRow) string { return optional(m.ExpandedUncertaintyDeg) }},
	{"setting_blunter_deg", func(m matchRow) string { return optional(m.BlunterDeg) }},
	{"agrees", func(m matchRow) string { return yesOrNot(m.Agrees) }},
	{"recipe", func(m matchRow) string { return harmless(m.recipe.GetRecipe()) }},
	{"recipe_less_found_deg", func(m matchRow) string {
		if m.recipe == nil {
			return ""
		}
		return number(m.recipe.GetDifferenceDeg())
	}},
	{"within_uncertainty", func(m matchRow) string {
		if m.recipe == nil {
			return ""
		}
		return yes(m.recipe.GetWithinUncertainty())
	}},
	{"found_text", func(m matchRow) string { return harmless(m.GetText()) }},
}, nextColumns()...)

// nextColumns are a step's, of the setting to try next.
func nextColumns() []column[matchRow] {
	var list []column[matchRow]
	for _, c := range stepColumns {
		list = append(list, column[matchRow]{"next_" + c.name, func(m matchRow) string {
			if m.GetNext() == nil {
				return ""
			}
			return c.of(m.GetNext())
		}})
	}
	return list
}

func yesOrNot(is *bool) string {
	if is == nil {
		return ""
	}
	return yes(*is)
}

func yes(is bool) string {
	if is {
		return "yes"
	}
	return "no"
}

// match says which grind it is, the recipes next to it, and what to do.
func (v *sheet) match(a *arrisv1.MatchGrindResponse) {
	v.heading("Match")
	v.paragraph(sentence(a.GetText()))
	if rows := v.matchFound(a); len(rows) > 0 {
		v.grid(nil, rows)
	}
	v.matchRecipes(a.GetRecipes())
	if a.GetNext() != nil {
		v.found.steps = []*arrisv1.Step{a.GetNext()}
		v.steps("Next setting")
	}
	v.doubtOf(a.GetImprove())
	if len(a.GetErrorBudget()) > 0 {
		v.heading("Where ± comes from")
		v.budget(a.GetErrorBudget())
	}
	v.cautions(a.GetCautions())
	v.based(a.GetBasis())
}

func (v *sheet) matchFound(a *arrisv1.MatchGrindResponse) []table.Row {
	var rows []table.Row
	found := &arrisv1.Angles{ExpandedUncertaintyDeg: a.GetExpandedUncertaintyDeg()}
	if a.EdgeAngleDeg != nil {
		words := angleText(a.GetEdgeAngleDeg(), found)
		if a.ExpandedUncertaintyDeg != nil {
			words += " " + doubtText(found)
		}
		rows = append(rows, table.Row{"edge angle", v.styled(bold, words), ""})
	}
	if a.BevelReadingDeg != nil {
		rows = append(rows, table.Row{"bevel reading", v.styled(bold, angleText(a.GetBevelReadingDeg(), found)), "what a protractor on the bevel shows"})
	}
	for i, deg := range a.GetTrialEdgeAnglesDeg() {
		note := "what the setting of that trial grinds"
		if i == len(a.GetTrialEdgeAnglesDeg())-1 && a.BlunterDeg != nil {
			note = bluntness(a.GetBlunterDeg()) + " than the bevel"
		}
		rows = append(rows, table.Row{"trial " + strconv.Itoa(i+1), degreesText(&deg), note})
	}
	return rows
}

// bluntness is a difference of angles in words.
func bluntness(deg float64) string {
	if deg < 0 {
		return unit.FormatFixed(-deg, 1) + "° keener"
	}
	return unit.FormatFixed(deg, 1) + "° blunter"
}

func (v *sheet) matchRecipes(recipes []*arrisv1.RecipeMatch) {
	if len(recipes) == 0 {
		return
	}
	v.heading("Nearest recipes")
	var rows []table.Row
	for _, r := range recipes {
		fits := "no match"
		if r.GetWithinUncertainty() {
			fits = "matches"
		}
		rows = append(rows, table.Row{v.found.shortName(r.GetRecipe()), bluntness(r.GetDifferenceDeg()), fits, r.GetDisplayName()})
	}
	v.grid(nil, rows, 2)
}
