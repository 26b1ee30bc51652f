package api

import (
	"bytes"
	"context"
	"io"

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
	turns Turns
	store store.Store
}

// NewSheets makes sheets of what a store keeps. Their codes lead to the public address, if there is one.
func NewSheets(kept store.Store, costly Turns, public string) *Sheets {
	records := store.Named{Store: kept}
	return &Sheets{turns: costly, store: kept, maker: sheet.Maker{Solver: setup.Solver{Records: records}, Reader: records, Engine: EngineVersion, Public: public}}
}

// paperSizes are the sizes of paper; unset is A4.
var paperSizes = map[arrisv1.PaperSize]paper.Size{
	arrisv1.PaperSize_PAPER_SIZE_UNSPECIFIED: paper.A4, arrisv1.PaperSize_PAPER_SIZE_A4: paper.A4, arrisv1.PaperSize_PAPER_SIZE_LETTER: paper.Letter,
}

// RenderSheet lays a solved set-up out on paper.
func (s *Sheets) RenderSheet(ctx context.Context, req *arrisv1.RenderSheetRequest) (*httpbody.HttpBody, error) {
	question := solveIn(req.GetSetup())
	note(ctx, question.Common)
	ctx, release, err := s.turns.turn(ctx, true)
	if err != nil {
		return nil, err
	}
	defer release()
	document, found, err := s.maker.Setup(ctx, req.GetKey(), question, paperSizes[req.GetPaperSize()])
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	if req.GetFormat() != arrisv1.SheetFormat_SHEET_FORMAT_SVG {
		return pdfOf(document, req.Page)
	}
	return oneOf(document.Pages, req.Page, func(out io.Writer, p paper.Page) error { return paper.SVG(out, document.Title, p) }, "image/svg+xml")
}

const pdf = "application/pdf"

// pdfOf is a document, which has all its pages.
func pdfOf(d paper.Document, which *int32) (*httpbody.HttpBody, error) {
	if which != nil {
		return nil, fault.Field("page", fault.Contradiction, "is %d, and a PDF has all pages; leave it unset", *which)
	}
	var out bytes.Buffer
	err := paper.PDF(&out, d)
	return &httpbody.HttpBody{ContentType: pdf, Data: out.Bytes()}, err
}

// oneOf is one of several pages, in a format that has one.
func oneOf(pages []paper.Page, which *int32, write func(io.Writer, paper.Page) error, kind string) (*httpbody.HttpBody, error) {
	page := 1
	if which != nil {
		page = int(*which)
	}
	if page > len(pages) {
		return nil, fault.Field("page", fault.OutOfRange, "is %d; there are %d", page, len(pages))
	}
	var out bytes.Buffer
	err := write(&out, pages[page-1])
	return &httpbody.HttpBody{ContentType: kind, Data: out.Bytes()}, err
}
