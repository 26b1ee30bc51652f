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

// Run plans a regrind.
func (c *regrindCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	return p.calculate(c.Out.whole(), func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.PlanRegrind(ctx, req)
	})
}

func (c *regrindCommand) request(stdin io.Reader) (*arrisv1.PlanRegrindRequest, error) {
	req := &arrisv1.PlanRegrindRequest{}
	if err := c.Source.read(stdin, req); err != nil {
		return nil, err
	}
	c.Source.put(&req.Shop, &req.AsOfTime)
	c.Out.Format.put(&req.Wording)
	c.Loss.over(&req.UsualLossMm)
	c.Tolerance.over(&req.ToleranceDeg)
	c.Set.put(&req.Settings)
	if c.Sharpenings != nil {
		req.Sharpenings = c.Sharpenings
	}
	if len(c.Today) > 0 {
		bevels, err := bevelsOf(c.Today, req.Shop)
		if err != nil {
			return nil, err
		}
		req.Today = &arrisv1.Grind{Bevels: bevels}
	}
	err := c.Wanted.put(req.Shop,
		func(name string) { req.GrindSource = &arrisv1.PlanRegrindRequest_Recipe{Recipe: name} },
		func(g *arrisv1.Grind) { req.GrindSource = &arrisv1.PlanRegrindRequest_Grind{Grind: g} })
	if err != nil {
		return nil, err
	}
	return req, c.Rig.put(&req.Rig, req.Shop)
}

// regrindRow is the answer beside one of its sharpenings.
type regrindRow struct {
	*arrisv1.PlanRegrindResponse
	stage *arrisv1.RegrindStage
}

// regrindRows has a row for each sharpening, and one where there is none.
func regrindRows(a *arrisv1.PlanRegrindResponse) []regrindRow {
	if len(a.GetStages()) == 0 {
		return []regrindRow{{a, nil}}
	}
	var rows []regrindRow
	for _, s := range a.GetStages() {
		rows = append(rows, regrindRow{a, s})
	}
	return rows
}

// regrindColumns hold the row's own sharpening first, then what all of them share.
var regrindColumns = []column[regrindRow]{
	{"sharpening", func(r regrindRow) string {
		if r.stage == nil {
			return ""
		}
		return strconv.Itoa(int(r.stage.GetSharpening()))
	}},
	{"length_lost_so_far_mm", func(r regrindRow) string {
		if r.stage == nil {
			return ""
		}
		return number(r.stage.GetLengthLostMm())
	}},
	{"new_bevel_width_mm", func(r regrindRow) string {
		if r.stage == nil {
			return ""
		}
		return number(r.stage.GetNewBevelWidthMm())
	}},
	{"today_edge_angle_deg", func(r regrindRow) string { return number(r.GetTodayEdgeAngleDeg()) }},
	{"wanted_edge_angle_deg", func(r regrindRow) string { return number(r.GetWantedEdgeAngleDeg()) }},
	{"length_lost_at_once_mm", func(r regrindRow) string { return number(r.GetLengthLostMm()) }},
	{"sharpenings", func(r regrindRow) string { return strconv.Itoa(int(r.GetSharpenings())) }},
	{"loss_each_mm", func(r regrindRow) string { return number(r.GetLossEachMm()) }},
	{"seat_again_after_mm", func(r regrindRow) string { return optional(r.SeatAgainAfterMm) }},
	{"loss_deg_per_mm", func(r regrindRow) string { return optional(r.LossDegPerMm) }},
	{"text", func(r regrindRow) string { return harmless(r.GetText()) }},
}

// regrind says what it costs, and how it goes.
func (v *sheet) regrind(a *arrisv1.PlanRegrindResponse) {
	v.heading("Regrind: from " + unit.FormatFixed(a.GetTodayEdgeAngleDeg(), 1) + "° to " + unit.FormatFixed(a.GetWantedEdgeAngleDeg(), 1) + "°")
	if a.GetText() != "" {
		v.paragraph(sentence(a.GetText()))
	}
	rows := []table.Row{
		{"all at once", v.lengthText(a.GetLengthLostMm(), 2), "of the tool's length lost"},
		{"spread", v.lengthText(a.GetLossEachMm(), 2), "each, over " + strconv.Itoa(int(a.GetSharpenings())) + " sharpenings"},
	}
	if a.SeatAgainAfterMm != nil {
		rows = append(rows, table.Row{"seat it again", v.smallText(a.SeatAgainAfterMm), "after so much is ground off the nose"})
	}
	if a.LossDegPerMm != nil {
		rows = append(rows, table.Row{"drift", unit.FormatFixed(a.GetLossDegPerMm(), 2) + "°", "of edge angle for each millimetre ground off before that"})
	}
	v.grid(nil, rows)
	v.stages(a.GetStages())
	v.cautions(a.GetCautions())
	v.based(a.GetBasis())
}

// mostStages is how many sharpenings are listed for people; of more the middle is left out.
const mostStages = 12

func (v *sheet) stages(stages []*arrisv1.RegrindStage) {
	if len(stages) == 0 {
		return
	}
	v.heading("After each sharpening")
	var rows []table.Row
	for i, s := range stages {
		switch left := len(stages) - i; {
		case len(stages) > mostStages && i == mostStages-2:
			rows = append(rows, table.Row{"…", "", ""})
		case len(stages) > mostStages && i > mostStages-2 && left > 1:
		default:
			rows = append(rows, table.Row{strconv.Itoa(int(s.GetSharpening())), v.lengthText(s.GetLengthLostMm(), 2), v.lengthText(s.GetNewBevelWidthMm(), 1)})
		}
	}
	v.grid(table.Row{"sharpening", "length lost", "new bevel"}, rows, 1, 2)
}
