package api

import (
	"context"

	"google.golang.org/protobuf/proto"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// PlanBevels goes from what is wanted of the bevels to a grind.
func (g *Grind) PlanBevels(ctx context.Context, req *arrisv1.PlanBevelsRequest) (*arrisv1.PlanBevelsResponse, error) {
	question := planIn(req)
	note(ctx, question.Common)
	found, err := g.solver.PlanBevels(ctx, question)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	out := planOut(found)
	out.Rig = lentOut(req.GetRig(), found.Lent)
	for i, b := range out.GetGrind().GetBevels() {
		b.Rig = placeOf(req, i, found.Of[i])
	}
	return out, nil
}

// lentOut is a request's rig with what its recipe adds.
func lentOut(said *arrisv1.Rig, from setup.Lent) *arrisv1.Rig {
	rig := &arrisv1.Rig{}
	if said != nil {
		rig = proto.CloneOf(said)
	}
	switch {
	case from.Holder != "":
		rig.HolderSource = &arrisv1.Rig_Holder{Holder: from.Holder}
	case from.NoHolder:
		rig.HolderSource = &arrisv1.Rig_InlineHolder{InlineHolder: &arrisv1.Holder{Kind: &arrisv1.Holder_None{None: &arrisv1.NoHolder{}}}}
	}
	if from.SteelUnderFlute.Known || from.Thickness.Known {
		tool := &arrisv1.Tool{}
		if inline := rig.GetInlineTool(); inline != nil {
			tool = inline
		}
		tool.SteelUnderFluteMm, tool.BladeThicknessMm = optMM(from.SteelUnderFlute), optMM(from.Thickness)
		rig.ToolSource = &arrisv1.Rig_InlineTool{InlineTool: tool}
	}
	return rig
}

// placeOf is the rig that a request gives the planned bevel i, which is ground with its own bevel of (−1: with none).
func placeOf(req *arrisv1.PlanBevelsRequest, i, of int) *arrisv1.Rig {
	switch {
	case i > 0 && req.GetBehindRig() != nil:
		return req.GetBehindRig()
	case of >= 0 && of < len(req.GetGrind().GetBevels()):
		return req.GetGrind().GetBevels()[of].GetRig()
	}
	return nil
}

func planIn(req *arrisv1.PlanBevelsRequest) setup.BevelQuestion {
	q := setup.BevelQuestion{
		Common: grindAskedIn(req), Given: settingsIn(req.GetGiven()), Behind: rigIn(req.GetBehindRig()), Softened: maybeMM(req.SoftenedHeelMm),
	}
	switch w := req.GetPlan().(type) {
	case *arrisv1.PlanBevelsRequest_MicroBevel:
		q.Want = setup.MicroBevel{Steeper: unit.Degrees(w.MicroBevel.GetSteeperDeg()), Width: mm(w.MicroBevel.GetWidthMm())}
	case *arrisv1.PlanBevelsRequest_Land:
		q.Want = landIn(w.Land)
	case *arrisv1.PlanBevelsRequest_Facets:
		q.Want = setup.Facets{Land: mm(w.Facets.GetLandWidthMm()), Count: int(w.Facets.GetCount()), Last: unit.Degrees(w.Facets.GetLastFrontAngleDeg())}
	case *arrisv1.PlanBevelsRequest_Turns:
		q.Want = setup.Turns{Turns: w.Turns.GetAdjusterTurns(), Widths: each(w.Turns.GetWidthsMm(), mm)}
	}
	return q
}

func landIn(l *arrisv1.LandPlan) setup.Land {
	out := setup.Land{Width: mm(l.GetWidthMm())}
	switch r := l.GetRelief().(type) {
	case *arrisv1.LandPlan_FrontAngleDeg:
		out.Relief = unit.Degrees(r.FrontAngleDeg)
	case *arrisv1.LandPlan_ClearsRadiusMm:
		out.Clears = shop.Some(mm(r.ClearsRadiusMm))
	}
	return out
}

func planOut(p setup.BevelPlan) *arrisv1.PlanBevelsResponse {
	return &arrisv1.PlanBevelsResponse{
		Grind: grindOut(p.Grind), Given: settingsOut(p.Given), Bevels: each(p.Bevels, plannedOut), EdgeSetBackMm: optMM(p.SetBack),
		LargestCornerDeg: optDeg(p.LargestCorner), DeviationMm: optMM(p.Deviation), SoftenedLengthMm: optMM(p.SoftenedBevel),
		SoftenedUndersideMm: optMM(p.SoftenedUnderside), EdgeDegPerTurn: opt(p.PerTurn, perDegree), Cautions: each(p.Cautions, cautionOut),
		Basis: basisOut(p.Basis), Text: p.Text,
	}
}

func grindOut(g shop.Grind) *arrisv1.Grind {
	out := &arrisv1.Grind{Bevels: each(g.Bevels, bevelOut)}
	if g.Upper.Known {
		out.UpperBevel = bevelOut(g.Upper.Value)
	}
	if w := g.Wing; w.Known {
		out.Wing = &arrisv1.WingTarget{
			WedgeAngleDeg: proto.Float64(w.Value.Wedge.Degrees()), AlongPercent: proto.Float64(100 * w.Value.Along), ToleranceDeg: proto.Float64(w.Value.Tolerance.Degrees()),
		}
	}
	return out
}

func plannedOut(b setup.PlannedBevel) *arrisv1.PlannedBevel {
	return &arrisv1.PlannedBevel{
		FrontAngleDeg: b.Front.Degrees(), ReadingDeg: optDeg(b.Reading), WidthMm: optMM(b.Width), HollowDepthMm: optMM(b.Hollow),
		CornerDeg: optDeg(b.Corner), Text: b.Text,
	}
}
