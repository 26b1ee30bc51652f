package api

import (
	"context"

	"google.golang.org/protobuf/proto"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// AnalyzeEdge says what is ground along the whole edge of a swung tool.
func (g *Grind) AnalyzeEdge(ctx context.Context, req *arrisv1.AnalyzeEdgeRequest) (*arrisv1.AnalyzeEdgeResponse, error) {
	question := analyzeIn(req)
	note(ctx, question.Common)
	ctx, release, err := g.turns.turn(ctx, question.Ask.Doubt || question.Ask.Mesh)
	if err != nil {
		return nil, err
	}
	defer release()
	found, err := g.solver.AnalyzeEdge(ctx, question)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return &arrisv1.AnalyzeEdgeResponse{
		Edge: edgeOut(&found.Edge), Steps: each(found.Steps, stepOut), Cautions: each(found.Cautions, cautionOut), Basis: basisOut(found.Basis),
	}, nil
}

func analyzeIn(req *arrisv1.AnalyzeEdgeRequest) setup.EdgeQuestion {
	q := setup.EdgeQuestion{
		Question: setup.Question{
			Common: grindAskedIn(req), Given: settingsIn(req.GetGiven()), Rounding: roundingIn(req.GetRounding()), Free: freeIn(req.GetFree()),
		},
		Ask: setup.EdgeAsk{
			Shape: edgeShapeIn(req.GetEdge()), Points: int(req.GetPoints()), Triangles: int(req.GetMeshTriangles()), Sharpening: mm(req.GetSharpeningMm()),
		},
	}
	q.Doubts = doubtsIn(req.GetDoubts())
	if req.GetSettings() != nil {
		settings := settingsIn(req.GetSettings())
		q.Settings = &settings
	}
	for _, part := range req.GetInclude() {
		q.Ask.Views = q.Ask.Views || part == arrisv1.EdgePart_EDGE_PART_VIEWS
		q.Ask.Steel = q.Ask.Steel || part == arrisv1.EdgePart_EDGE_PART_STEEL
		q.Ask.Doubt = q.Ask.Doubt || part == arrisv1.EdgePart_EDGE_PART_UNCERTAINTY
		q.Ask.Mesh = q.Ask.Mesh || part == arrisv1.EdgePart_EDGE_PART_MESH
		q.Ask.Poses = q.Ask.Poses || part == arrisv1.EdgePart_EDGE_PART_POSES
	}
	return q
}

func edgeOut(e *setup.WholeEdge) *arrisv1.Edge {
	if e == nil {
		return nil
	}
	out := &arrisv1.Edge{
		Points: each(e.Places, edgePointOut), Summary: edgeSummaryOut(e.Summary), Findings: each(e.Findings, edgeFindingOut), PlanView: figureOut(e.Plan),
		EndView: figureOut(e.End), WedgePlot: edgePlotOut(*e), Text: e.Text,
	}
	if e.Mesh != nil {
		out.Mesh = &arrisv1.EdgeMesh{Gltf: e.Mesh.GLTF, Triangles: int32(e.Mesh.Triangles)}
	}
	if s := e.Steel; s != nil {
		out.Steel = &arrisv1.EdgeSteel{
			RemovedMm3: opt(s.Removed, 1), RemovedG: opt(s.Mass, 1), NoseSetBackMm: float64(s.NoseBack), LeftSetBackMm: float64(s.LeftBack),
			RightSetBackMm: float64(s.RightBack), Text: s.Text,
		}
		if s.Sharpenings.Known {
			out.Steel.SharpeningsLeft = proto.Int32(int32(s.Sharpenings.Value))
		}
	}
	return out
}

func edgePointOut(p setup.EdgePlace) *arrisv1.EdgePoint {
	out := &arrisv1.EdgePoint{
		AlongPercent: 100 * p.Share, AlongFluteMm: p.Point.Along, SideMm: p.Point.At.Side, BackMm: p.Point.At.Back, UpMm: p.Point.At.Up,
		Reached: p.Reached, MarginCount: p.Margin, IllConditioned: p.Poor, Undercut: arrisv1.Undercut(p.Undercut), Lands: each(p.Lands, edgeLandOut),
	}
	if !p.Reached {
		return out
	}
	out.WedgeAngleDeg, out.AxisAngleDeg = proto.Float64(p.Wedge.Degrees()), proto.Float64(p.Axis.Degrees())
	out.ExpandedUncertaintyDeg, out.MonteCarlo = optDeg(p.Expanded), p.MonteCarlo
	turn := func(radians float64) *float64 { return proto.Float64(unit.Angle(radians).Degrees()) }
	out.RollDeg, out.YawDeg, out.PitchDeg, out.LeanDeg = turn(p.Lean.Roll), turn(p.Lean.Yaw), turn(p.Lean.Pitch), turn(p.Lean.Angle)
	out.ContactAngleDeg, out.ContactAsideMm = optDeg(p.Elevation), proto.Float64(float64(p.Aside))
	if p.Contact.Known {
		out.ContactHeightMm = proto.Float64(float64(p.Contact.Value.Up))
	}
	if p.Pose.Known {
		out.Pose = edgePoseOut(p.Pose.Value)
	}
	return out
}

func edgePoseOut(p swung.Pose) *arrisv1.EdgePose {
	turn := func(radians float64) float64 { return unit.Angle(radians).Degrees() }
	return &arrisv1.EdgePose{
		YawDeg: turn(p.Turn.Yaw), PitchDeg: turn(p.Turn.Pitch), RollDeg: turn(p.Turn.Roll),
		NoseOutMm: float64(p.Nose.Out), NoseUpMm: float64(p.Nose.Up), NoseAsideMm: float64(p.Aside),
	}
}

func edgeLandOut(l setup.EdgeLand) *arrisv1.EdgeLand {
	return &arrisv1.EdgeLand{Bevel: int32(l.Bevel), WidthMm: optMM(l.Width), ArcMm: optMM(l.Arc), CornerDeg: optDeg(l.Corner)}
}

func edgeSummaryOut(s setup.EdgeSummary) *arrisv1.EdgeSummary {
	out := &arrisv1.EdgeSummary{
		NoseWedgeAngleDeg: optDeg(s.Nose), LeftWedgeAngleDeg: optDeg(s.Left), RightWedgeAngleDeg: optDeg(s.Right), SidesDifferDeg: s.Differ.Degrees(),
		MostLeanDeg: s.Lean.Degrees(), ReachedPercent: 100 * s.Reached, WingLengthMm: float64(s.Wing), Text: s.Text,
	}
	out.LeastWedgeAngleDeg, out.LeastAtPercent = extremeOut(s.Least)
	out.MostWedgeAngleDeg, out.MostAtPercent = extremeOut(s.Most)
	return out
}

func extremeOut(e shop.Maybe[setup.Extreme]) (wedge, at *float64) {
	if !e.Known {
		return nil, nil
	}
	return proto.Float64(e.Value.Wedge.Degrees()), proto.Float64(100 * e.Value.Share)
}

func edgeFindingOut(f setup.EdgeFinding) *arrisv1.EdgeFinding {
	return &arrisv1.EdgeFinding{
		Code: f.Code, Severity: arrisv1.Severity(f.Severity), FromPercent: 100 * f.From, ToPercent: 100 * f.To, ByMm: optMM(f.ByMM), ByDeg: optDeg(f.ByAngle),
		Text: f.Text, Ways: each(f.Ways, wayOut),
	}
}

func edgePlotOut(e setup.WholeEdge) *arrisv1.EdgePlot {
	p := e.Plot
	if p == nil {
		return nil
	}
	out := &arrisv1.EdgePlot{
		Title: p.Title, AlongLabel: p.AlongLabel, AngleLabel: p.AngleLabel,
		LeastDeg: p.Least.Degrees(), MostDeg: p.Most.Degrees(), AlongTicksPercent: []float64{-100, -50, 0, 50, 100},
		AngleTicksDeg: each(p.Ticks, unit.Angle.Degrees),
	}
	for _, s := range p.Series {
		series := &arrisv1.EdgeSeries{Label: s.Label}
		for i, a := range s.Angles {
			point := &arrisv1.EdgeSeriesPoint{AlongPercent: 100 * e.Places[i].Share}
			if a != nil {
				point.AngleDeg = proto.Float64(a.Degrees())
			}
			series.Points = append(series.Points, point)
		}
		out.Series = append(out.Series, series)
	}
	return out
}
