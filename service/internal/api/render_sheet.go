package api

import (
	"bytes"
	"context"

	"google.golang.org/genproto/googleapis/api/httpbody"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/store"
)

// Sheets is the SheetService.
type Sheets struct {
	arrisv1.UnimplementedSheetServiceServer
	maker sheet.Maker
}

// NewSheets makes sheets of what records say.
func NewSheets(records store.Reader) *Sheets {
	return &Sheets{maker: sheet.Maker{Solver: setup.Solver{Records: records}, Reader: records, Engine: EngineVersion}}
}

// paperSizes are the sizes of paper; unset is A4.
var paperSizes = map[arrisv1.PaperSize]paper.Size{
	arrisv1.PaperSize_PAPER_SIZE_UNSPECIFIED: paper.A4, arrisv1.PaperSize_PAPER_SIZE_A4: paper.A4, arrisv1.PaperSize_PAPER_SIZE_LETTER: paper.Letter,
}

// RenderSheet lays a solved set-up out on paper.
func (s *Sheets) RenderSheet(ctx context.Context, req *arrisv1.RenderSheetRequest) (*httpbody.HttpBody, error) {
	question := solveIn(req.GetSetup())
	note(ctx, question.Common)
	document, found, err := s.maker.Setup(ctx, question, paperSizes[req.GetPaperSize()])
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return bodyOf(document, req)
}

// bodyOf is a document in the format asked for.
func bodyOf(d paper.Document, req *arrisv1.RenderSheetRequest) (*httpbody.HttpBody, error) {
	var out bytes.Buffer
	if req.GetFormat() != arrisv1.SheetFormat_SHEET_FORMAT_SVG {
		err := paper.PDF(&out, d)
		return &httpbody.HttpBody{ContentType: "application/pdf", Data: out.Bytes()}, err
	}
	page := 1
	if req.Page != nil {
		page = int(req.GetPage())
	}
	if page > len(d.Pages) {
		return nil, fault.Field("page", fault.OutOfRange, "is %d; this sheet has %d", page, len(d.Pages))
	}
	err := paper.SVG(&out, d.Title, d.Pages[page-1])
	return &httpbody.HttpBody{ContentType: "image/svg+xml", Data: out.Bytes()}, err
}
