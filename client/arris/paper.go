package arris

import (
	"context"
	"fmt"
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	arrisv1 "arris.example/proto/arris/v1"
)

// papers are the values of --paper.
var papers = map[string]arrisv1.PaperSize{"a4": arrisv1.PaperSize_PAPER_SIZE_A4, "letter": arrisv1.PaperSize_PAPER_SIZE_LETTER}

// writePaper writes the sheet and the gauges that were asked for.
func (p *program) writePaper(sheets arrisv1.SheetServiceClient, setup *arrisv1.SolveSetupRequest, f sheetFlags, limit time.Duration) error {
	ctx, cancel := context.WithTimeout(p.ctx, limit)
	defer cancel()
	if f.File != "" {
		sheet, err := sheets.RenderSheet(ctx, &arrisv1.RenderSheetRequest{Setup: setup, PaperSize: papers[f.Paper]})
		if err != nil {
			return err
		}
		if err := writeFile(f.File, sheet.GetData()); err != nil {
			return err
		}
	}
	for _, g := range f.Gauge {
		req := &arrisv1.RenderGaugeRequest{Setup: setup, Format: gaugeFormats[ending(g.file)], Kind: g.kind}
		if req.GetFormat() != arrisv1.GaugeFormat_GAUGE_FORMAT_DXF { // which has no paper
			req.PaperSize = papers[f.Paper]
		}
		if err := writeGauges(ctx, sheets, req, g.file); err != nil {
			return err
		}
	}
	return nil
}

// writeGauges writes gauges, each to a file of its own where a file has but one.
func writeGauges(ctx context.Context, sheets arrisv1.SheetServiceClient, req *arrisv1.RenderGaugeRequest, name string) error {
	return writePages(name, func(page *int32) ([]byte, error) {
		req.Page = page
		gauge, err := sheets.RenderGauge(ctx, req)
		return gauge.GetData(), err
	})
}

// writePages writes a document: whole where its file has all pages, otherwise each page to a file of its own.
func writePages(name string, render func(page *int32) ([]byte, error)) error {
	if ending(name) == ".pdf" {
		whole, err := render(nil)
		if err != nil {
			return err
		}
		return writeFile(name, whole)
	}
	base, as := name[:len(name)-len(ending(name))], name[len(name)-len(ending(name)):]
	for page := int32(1); ; page++ {
		one, err := render(&page)
		if page > 1 && isBeyond(err) {
			return nil
		}
		if err != nil {
			return err
		}
		if page > 1 {
			name = fmt.Sprintf("%s-%d%s", base, page, as)
		}
		if err := writeFile(name, one); err != nil {
			return err
		}
	}
}

// isBeyond tells whether there are no more pages.
func isBeyond(err error) bool {
	st := status.Convert(err)
	for _, d := range st.Details() {
		if bad, ok := d.(*errdetails.BadRequest); ok && st.Code() == codes.InvalidArgument {
			for _, v := range bad.GetFieldViolations() {
				if strings.TrimSpace(v.GetField()) == "page" {
					return true
				}
			}
		}
	}
	return false
}
