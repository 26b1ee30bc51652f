package arris

import (
	"context"
	"io"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// Run finds the furthest wing.
func (c *furthestCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	return p.calculate(c.Out.whole(), func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.FindFurthestWing(ctx, req)
	})
}

func (c *furthestCommand) request(stdin io.Reader) (*arrisv1.FindFurthestWingRequest, error) {
	req := &arrisv1.FindFurthestWingRequest{}
	if err := c.Source.read(stdin, req); err != nil {
		return nil, err
	}
	c.Source.put(&req.Shop, &req.AsOfTime)
	c.Out.Format.put(&req.Wording)
	c.Least.over(&req.LeastWedgeAngleDeg)
	putSettings(c.Set, &req.Settings, &req.Given)
	if err := c.Shape.put(&req.Edge, stdin); err != nil {
		return nil, err
	}
	err := c.Wanted.put(req.Shop,
		func(name string) { req.GrindSource = &arrisv1.FindFurthestWingRequest_Recipe{Recipe: name} },
		func(g *arrisv1.Grind) { req.GrindSource = &arrisv1.FindFurthestWingRequest_Grind{Grind: g} })
	if err != nil {
		return nil, err
	}
	return req, putSwungRig(c.Rig, c.Swung, &req.Rig, req.Shop)
}

var furthestColumns = []column[*arrisv1.FindFurthestWingResponse]{
	{"setback_mm", func(a *arrisv1.FindFurthestWingResponse) string { return number(a.GetSetbackMm()) }},
	{"limit", func(a *arrisv1.FindFurthestWingResponse) string { return harmless(a.GetLimit()) }},
	{"wing_angle_deg", func(a *arrisv1.FindFurthestWingResponse) string { return number(a.GetWingAngleDeg()) }},
	{"least_wedge_angle_deg", func(a *arrisv1.FindFurthestWingResponse) string { return number(a.GetLeastWedgeAngleDeg()) }},
	{"text", func(a *arrisv1.FindFurthestWingResponse) string { return harmless(a.GetText()) }},
}

// furthest says how far the wings go, what they are like there, and what stops them.
func (v *sheet) furthest(a *arrisv1.FindFurthestWingResponse) {
	v.heading("Furthest wings")
	v.paragraph(sentence(a.GetText()))
	wing, least := a.GetWingAngleDeg(), a.GetLeastWedgeAngleDeg()
	v.grid(nil, []table.Row{
		{"setback", v.styled(bold, v.lengthText(a.GetSetbackMm(), 1)), "from the nose to the wings' ends"},
		{"wing", degreesText(&wing), "wedge angle at the ends"},
		{"least", degreesText(&least), "wedge angle anywhere"},
	})
	if a.GetText() == "" {
		v.paragraph("Further back: " + troubleWords(a.GetLimit(), "not tried") + ".")
	}
	if flags := edgeFlagsText(a.GetEdge()); len(flags) > 0 {
		v.paragraph("Type it as " + strings.Join(flags, " ") + ".")
	}
	v.based(a.GetBasis())
}
