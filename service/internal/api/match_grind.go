package api

import (
	"context"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// MatchGrind finds which grind is on a tool, from measurements or from ink.
func (g *Grind) MatchGrind(ctx context.Context, req *arrisv1.MatchGrindRequest) (*arrisv1.MatchGrindResponse, error) {
	match := matchIn(req)
	note(ctx, match.Common)
	found, err := g.solver.Match(ctx, match)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return matchedOut(found), nil
}

func matchIn(req *arrisv1.MatchGrindRequest) setup.Match {
	m := setup.Match{Common: setup.Common{
		Shop: req.GetShop(), Rig: rigIn(req.GetRig()), AsOf: timeIn(req.GetAsOfTime()),
		Doubts: doubtsIn(req.GetDoubts()), Unit: unitIn(req.GetWording().GetLengthUnit()), Language: req.GetWording().GetLanguageCode(),
	}}
	switch by := req.GetEvidence().(type) {
	case *arrisv1.MatchGrindRequest_Measured:
		m.Measured = measuredIn(by.Measured)
	case *arrisv1.MatchGrindRequest_Ink:
		m.Ink = inkIn(by.Ink)
	}
	return m
}

func measuredIn(m *arrisv1.MeasuredBevel) *setup.Measured {
	return &setup.Measured{
		Chord: maybeMM(m.ChordMm), Steel: maybeMM(m.SteelDepthMm), Reading: maybeDeg(m.ReadingDeg),
		ChordDoubt: lengthDoubtIn(m.GetChordDoubt()), SteelDoubt: lengthDoubtIn(m.GetSteelDoubt()), ReadingDoubt: angleDoubtIn(m.GetReadingDoubt()),
	}
}

var marks = map[arrisv1.InkMark]geometry.Mark{
	arrisv1.InkMark_INK_MARK_EDGE:   geometry.MarkEdge,
	arrisv1.InkMark_INK_MARK_MIDDLE: geometry.MarkMiddle,
	arrisv1.InkMark_INK_MARK_HEEL:   geometry.MarkHeel,
}

func inkIn(i *arrisv1.InkTest) *setup.Ink {
	out := &setup.Ink{Chord: maybeMM(i.ChordMm)}
	switch by := i.GetGroundBy().(type) {
	case *arrisv1.InkTest_GroundDiameterMm:
		out.Ground = shop.Some(geometry.RoundWheel(mm(by.GroundDiameterMm)))
	case *arrisv1.InkTest_FlatBevel:
		out.Ground = shop.Maybe[geometry.Wheel]{Value: geometry.FlatAbrasive(), Known: by.FlatBevel}
	}
	for _, t := range i.GetTrials() {
		trial := setup.InkTrial{Settings: settingsIn(t.GetSettings())}
		switch mark := t.GetMark().(type) {
		case *arrisv1.InkTrial_Where:
			trial.Mark = marks[mark.Where]
		case *arrisv1.InkTrial_BehindEdgeMm:
			trial.BehindEdge = shop.Some(mm(mark.BehindEdgeMm))
		}
		out.Trials = append(out.Trials, trial)
	}
	return out
}

func matchedOut(m setup.Matched) *arrisv1.MatchGrindResponse {
	out := &arrisv1.MatchGrindResponse{
		EdgeAngleDeg: optDeg(m.Edge), BevelReadingDeg: optDeg(m.Reading), ExpandedUncertaintyDeg: optDeg(m.Expanded), Recipes: each(m.Recipes, recipeMatchOut),
		BlunterDeg: optDeg(m.Blunter), Text: m.Text, Cautions: each(m.Cautions, cautionOut), ErrorBudget: each(m.Budget, budgetOut),
		TrialEdgeAnglesDeg: each(m.Trials, unit.Angle.Degrees), Basis: basisOut(m.Basis), Improve: improveOut(m.Improve),
	}
	if m.Next != nil {
		out.Next = stepOut(*m.Next)
	}
	if m.Agrees.Known {
		out.Agrees = &m.Agrees.Value
	}
	return out
}

func recipeMatchOut(r setup.RecipeMatch) *arrisv1.RecipeMatch {
	return &arrisv1.RecipeMatch{Recipe: r.Name, DisplayName: r.DisplayName, DifferenceDeg: r.Difference.Degrees(), WithinUncertainty: r.Within}
}
