package api

import (
	"context"
	"fmt"
	"io"
	"strings"

	"google.golang.org/genproto/googleapis/api/httpbody"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/sheet"
)

// labelStocks are the sizes of labels; unset is 62 × 29 mm.
var labelStocks = map[arrisv1.LabelSize]sheet.Stock{
	arrisv1.LabelSize_LABEL_SIZE_UNSPECIFIED: sheet.Label62x29, arrisv1.LabelSize_LABEL_SIZE_62_BY_29: sheet.Label62x29,
	arrisv1.LabelSize_LABEL_SIZE_89_BY_28: sheet.Label89x28, arrisv1.LabelSize_LABEL_SIZE_50_BY_30: sheet.Label50x30,
	arrisv1.LabelSize_LABEL_SIZE_A4_70_BY_37: sheet.A4x24, arrisv1.LabelSize_LABEL_SIZE_LETTER_66_7_BY_25_4: sheet.Letterx30,
}

// RenderLabel draws labels.
func (s *Sheets) RenderLabel(ctx context.Context, req *arrisv1.RenderLabelRequest) (*httpbody.HttpBody, error) {
	for i, name := range req.GetNames() {
		if !strings.HasPrefix(name, req.GetShop()+"/") {
			return nil, fault.Field(fmt.Sprintf("names[%d]", i), fault.Contradiction, "%s is not in %s", name, req.GetShop())
		}
	}
	ctx, release, err := s.turns.turn(ctx, true)
	if err != nil {
		return nil, err
	}
	defer release()
	document, err := s.maker.Labels(ctx, sheet.Labels{
		Names: req.GetNames(), Stock: labelStocks[req.GetSize()], Start: int(req.GetStart()), AsOf: timeIn(req.GetAsOfTime()),
		Language: req.GetWording().GetLanguageCode(), Unit: unitIn(req.GetWording().GetLengthUnit()),
	})
	if err != nil {
		return nil, refused(err)
	}
	if req.GetFormat() == arrisv1.LabelFormat_LABEL_FORMAT_SVG {
		return oneOf(document.Pages, req.Page, func(out io.Writer, p paper.Page) error { return paper.SVG(out, document.Title, p) }, "image/svg+xml")
	}
	return pdfOf(document, req.Page)
}
