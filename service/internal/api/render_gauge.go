package api

import (
	"context"
	"io"

	"google.golang.org/genproto/googleapis/api/httpbody"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/sheet"
)

// gaugeKinds are the kinds of gauge; unset is the wheel gap's.
var gaugeKinds = map[arrisv1.GaugeKind]sheet.Kind{
	arrisv1.GaugeKind_GAUGE_KIND_UNSPECIFIED: sheet.WheelGap, arrisv1.GaugeKind_GAUGE_KIND_WHEEL_GAP: sheet.WheelGap,
	arrisv1.GaugeKind_GAUGE_KIND_STICK_OUT: sheet.StickOut, arrisv1.GaugeKind_GAUGE_KIND_SPACERS: sheet.Spacers,
	arrisv1.GaugeKind_GAUGE_KIND_BEVEL: sheet.Bevel, arrisv1.GaugeKind_GAUGE_KIND_LEG: sheet.Leg,
}

// RenderGauge draws the cards that set a set-up or check what it ground, at 1:1.
func (s *Sheets) RenderGauge(ctx context.Context, req *arrisv1.RenderGaugeRequest) (*httpbody.HttpBody, error) {
	question, kind := solveIn(req.GetSetup()), gaugeKinds[req.GetKind()]
	note(ctx, question.Common)
	ctx, release, err := s.turns.turn(ctx, true)
	if err != nil {
		return nil, err
	}
	defer release()
	if req.GetFormat() == arrisv1.GaugeFormat_GAUGE_FORMAT_DXF {
		if req.GetPaperSize() != arrisv1.PaperSize_PAPER_SIZE_UNSPECIFIED {
			return nil, fault.Field("paper_size", fault.Contradiction, "is %s, and a DXF has no paper; leave it unset", req.GetPaperSize())
		}
		cards, found, err := s.maker.Cards(ctx, kind, question)
		if err != nil {
			return nil, refused(err)
		}
		noteBasis(ctx, found.Basis)
		return oneOf(cards, req.Page, paper.DXF, "image/vnd.dxf")
	}
	document, found, err := s.maker.Gauges(ctx, kind, question, paperSizes[req.GetPaperSize()])
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	if req.GetFormat() == arrisv1.GaugeFormat_GAUGE_FORMAT_SVG {
		return oneOf(document.Pages, req.Page, func(out io.Writer, p paper.Page) error { return paper.SVG(out, document.Title, p) }, "image/svg+xml")
	}
	return pdfOf(document, req.Page)
}
