package arris

import (
	"context"
	"io"
	"slices"

	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// Run tells what is ground along an edge.
func (c *edgeCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	a := c.Answer
	answer := answerFlags{Format: a.Format, Draw: a.Draw, SVG: a.SVG, Mesh: a.Solid.Mesh}
	return p.calculate(outcome{answer, c.Call}, func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.AnalyzeEdge(ctx, req)
	})
}

// AfterApply refuses what no format can show.
func (a edgeAnswerFlags) AfterApply() error {
	return answerFlags{Format: a.Format, Draw: a.Draw}.AfterApply()
}

func (c *edgeCommand) request(stdin io.Reader) (*arrisv1.AnalyzeEdgeRequest, error) {
	req := &arrisv1.AnalyzeEdgeRequest{}
	if err := c.Source.read(stdin, req); err != nil {
		return nil, err
	}
	c.Source.put(&req.Shop, &req.AsOfTime)
	c.Answer.put(req)
	c.Doubts.put(&req.Doubts)
	if err := c.Shape.put(&req.Edge, stdin); err != nil {
		return nil, err
	}
	if len(c.Free) > 0 {
		req.Free = nil
		for _, word := range c.Free {
			req.Free = append(req.Free, freeSetting(word))
		}
	}
	putSettings(c.Set, &req.Settings, &req.Given)
	err := c.Wanted.put(req.Shop,
		func(name string) { req.GrindSource = &arrisv1.AnalyzeEdgeRequest_Recipe{Recipe: name} },
		func(g *arrisv1.Grind) { req.GrindSource = &arrisv1.AnalyzeEdgeRequest_Grind{Grind: g} })
	if err != nil {
		return nil, err
	}
	if err := c.Wing.put(req.GetGrind()); err != nil {
		return nil, err
	}
	return req, putSwungRig(c.Rig, c.Swung, &req.Rig, req.Shop)
}

// put puts the parts in that were asked for.
func (a edgeAnswerFlags) put(req *arrisv1.AnalyzeEdgeRequest) {
	a.Format.put(&req.Wording)
	overCount(a.Points, &req.Points)
	overCount(a.Solid.Triangles, &req.MeshTriangles)
	a.Sharpening.over(&req.SharpeningMm)
	views := a.Draw || a.SVG != "" || a.Format.Output == "table" && !a.NoPlot
	for part, said := range map[arrisv1.EdgePart]bool{
		arrisv1.EdgePart_EDGE_PART_VIEWS: views, arrisv1.EdgePart_EDGE_PART_MESH: a.Solid.Mesh != "",
		arrisv1.EdgePart_EDGE_PART_STEEL: a.Steel || a.Sharpening.said, arrisv1.EdgePart_EDGE_PART_UNCERTAINTY: a.Uncertainty,
	} {
		if said && !slices.Contains(req.Include, part) {
			req.Include = append(req.Include, part)
		}
	}
	slices.Sort(req.Include)
}

func overCount(said *int32, field **int32) {
	if said != nil {
		*field = said
	}
}

// putSettings puts what is set where it counts: with a place of the support it is the whole setting, else it is decided before solving.
func putSettings(s settingFlags, settings, given **arrisv1.Settings) {
	set := proto.CloneOf(*settings)
	s.put(&set)
	if set.GetSupport() != nil || *settings != nil {
		*settings = set
		return
	}
	s.put(given)
}

// putSwungRig puts in the rig of a swung tool.
func putSwungRig(r rigFlags, s swungFlags, field **arrisv1.Rig, shop string) error {
	if err := r.put(field, shop); err != nil {
		return err
	}
	return s.put(field)
}

// putSwungTool puts in a swung tool that is described whole, its edge too.
func putSwungTool(s swungFlags, shape shapeFlags, field **arrisv1.Rig, stdin io.Reader) error {
	if err := s.put(field); err != nil || !shape.said() {
		return err
	}
	tool, err := describedTool(field, "the edge's shape describes")
	if err != nil {
		return err
	}
	return shape.put(&tool.Edge, stdin)
}

// put puts in the tool's sections, on top of a tool that is described, and how pivot, tool and wheel lie beside one another.
func (s swungFlags) put(field **arrisv1.Rig) error {
	if s.Flute.flute != nil || s.Bar.bar != nil {
		tool, err := describedTool(field, "--flute and --bar describe")
		if err != nil {
			return err
		}
		if s.Flute.flute != nil {
			tool.Flute = s.Flute.flute
		}
		if s.Bar.bar != nil {
			tool.Bar = s.Bar.bar
		}
	}
	for _, aside := range []struct {
		said  bool
		put   func(**float64)
		field func(*arrisv1.Asides) **float64
	}{
		{s.PivotAside.said, s.PivotAside.over, func(a *arrisv1.Asides) **float64 { return &a.PivotAsideMm }},
		{s.ToolRoll.said, s.ToolRoll.over, func(a *arrisv1.Asides) **float64 { return &a.ToolRollDeg }},
		{s.ContactAside.said, s.ContactAside.over, func(a *arrisv1.Asides) **float64 { return &a.ContactAsideMm }},
	} {
		if aside.said {
			aside.put(aside.field(made(&made(field).Asides)))
		}
	}
	return nil
}

// describedTool is the tool that a rig describes, made where there is none; a named tool is not described as well.
func describedTool(field **arrisv1.Rig, what string) (*arrisv1.Tool, error) {
	rig := made(field)
	if rig.GetTool() != "" {
		return nil, wrongUsage("%s a tool, and the tool %s is named: say one or the other", what, rig.GetTool())
	}
	tool := rig.GetInlineTool()
	if tool == nil {
		tool = &arrisv1.Tool{}
		rig.ToolSource = &arrisv1.Rig_InlineTool{InlineTool: tool}
	}
	return tool, nil
}

// said tells whether anything of a shape was.
func (s shapeFlags) said() bool {
	return s.Setback.said || s.Exponent != nil || s.Across || s.Swept.said || s.NoseRadius.said || s.EvenSwing || s.EdgePoints != "" ||
		s.EdgeDoubt.doubt != nil || s.HalfWidth.said || s.WingLength.said
}

// put puts the plan that was said in place of the one there, and the rest on top of it.
func (s shapeFlags) put(field **arrisv1.EdgeShape, stdin io.Reader) error {
	if !s.said() {
		return nil
	}
	shape := made(field)
	if err := s.putPlan(shape, stdin); err != nil {
		return err
	}
	switch {
	case s.HalfWidth.said:
		shape.WingEnd = &arrisv1.EdgeShape_HalfWidthMm{HalfWidthMm: s.HalfWidth.mm}
	case s.WingLength.said:
		shape.WingEnd = &arrisv1.EdgeShape_AlongFluteMm{AlongFluteMm: s.WingLength.mm}
	}
	switch {
	case s.Exponent != nil && shape.GetSetback() == nil:
		return wrongUsage("--exponent belongs to --setback: say how far the wings run back")
	case s.NoseRadius.said && shape.GetSwept() == nil:
		return wrongUsage("--nose-radius belongs to --swept: say how far the wings run back")
	case s.EdgeDoubt.doubt != nil && shape.GetPoints() == nil:
		return wrongUsage("--edge-doubt belongs to --edge-points: name the file of the points")
	case s.Exponent != nil:
		shape.GetSetback().ExponentCount = s.Exponent
	case s.NoseRadius.said:
		s.NoseRadius.over(&shape.GetSwept().NoseRadiusMm)
	case s.EdgeDoubt.doubt != nil:
		shape.GetPoints().Doubt = s.EdgeDoubt.doubt
	}
	return nil
}

func (s shapeFlags) putPlan(shape *arrisv1.EdgeShape, stdin io.Reader) error {
	switch {
	case s.Setback.said:
		shape.Plan = &arrisv1.EdgeShape_Setback{Setback: &arrisv1.SetbackPlan{SetbackMm: &s.Setback.mm}}
	case s.Across:
		shape.Plan = &arrisv1.EdgeShape_Across{Across: &arrisv1.AcrossPlan{}}
	case s.Swept.said:
		shape.Plan = &arrisv1.EdgeShape_Swept{Swept: &arrisv1.SweptPlan{SetbackMm: &s.Swept.mm}}
	case s.EvenSwing:
		shape.Plan = &arrisv1.EdgeShape_EvenSwing{EvenSwing: &arrisv1.EvenSwingPlan{}}
	case s.EdgePoints != "":
		points, err := readEdge(s.EdgePoints, stdin, s.Decimal)
		if err != nil {
			return err
		}
		shape.Plan = &arrisv1.EdgeShape_Points{Points: &arrisv1.PointsPlan{Points: points}}
	}
	return nil
}

// edgeRow is a row of a measured edge.
type edgeRow struct{ side, along, back length }

var edgeFields = []field[edgeRow]{
	{names: []string{"side"}, of: lengths, alone: "place", into: func(p *edgeRow) any { return &p.side }},
	{names: []string{"along", "along_flute"}, of: lengths, alone: "place", into: func(p *edgeRow) any { return &p.along }},
	{names: []string{"back"}, of: lengths, into: func(p *edgeRow) any { return &p.back }},
}

// readEdge reads an edge's points from CSV.
func readEdge(name string, stdin io.Reader, decimal decimalMark) ([]*arrisv1.EdgeShapePoint, error) {
	rows, err := readRows(name, stdin, decimal, edgeFields, func(r edgeRow) []trouble {
		return append(missing("side", r.side.said || r.along.said, "a point needs side or along"), missing("back", r.back.said, "a point needs back")...)
	})
	var points []*arrisv1.EdgeShapePoint
	for _, r := range rows {
		point := &arrisv1.EdgeShapePoint{}
		r.back.over(&point.BackMm)
		if r.side.said {
			point.Place = &arrisv1.EdgeShapePoint_SideMm{SideMm: r.side.mm}
		} else {
			point.Place = &arrisv1.EdgeShapePoint_AlongFluteMm{AlongFluteMm: r.along.mm}
		}
		points = append(points, point)
	}
	return points, err
}

// put puts the angle wanted on the wings into bevels, for a recipe's are as they are.
func (w wingFlags) put(grind *arrisv1.Grind) error {
	if !w.Wing.said && w.WingAt == nil && !w.WingTolerance.said {
		return nil
	}
	if grind == nil {
		return wrongUsage("--wing, --wing-at and --wing-tolerance belong to bevels: say the edge by --edge or --bevel in place of a recipe")
	}
	target := made(&grind.Wing)
	w.Wing.over(&target.WedgeAngleDeg)
	w.WingTolerance.over(&target.ToleranceDeg)
	if w.WingAt != nil {
		target.AlongPercent = w.WingAt
	}
	return nil
}
