package api

import (
	"bytes"
	"context"
	"fmt"
	"strings"

	"google.golang.org/genproto/googleapis/api/httpbody"
	statuspb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/grpc"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
)

// mostInVolume is how many sheets a volume may have.
const mostInVolume = 500

// RenderSheets sends many sheets as one PDF, as it is made.
func (s *Sheets) RenderSheets(req *arrisv1.RenderSheetsRequest, stream grpc.ServerStreamingServer[httpbody.HttpBody]) error {
	ctx := stream.Context()
	in := items{shop: req.GetShop(), wording: req.GetWording(), list: req.GetItems(), detail: arrisv1.AnswerDetail_ANSWER_DETAIL_FULL, most: mostInVolume}
	speech, err := setup.SpeechIn(req.GetWording().GetLanguageCode(), unitIn(req.GetWording().GetLengthUnit()))
	if err != nil {
		return refused(err)
	}
	if err := in.check(); err != nil {
		return err
	}
	order, err := s.order(ctx, in, req.GetOrder())
	if err != nil {
		return err
	}
	out := &chunks{send: func(data []byte) error { return stream.Send(&httpbody.HttpBody{ContentType: pdf, Data: data}) }}
	volume, size := paper.NewVolume(out, speech.Say("Setup sheets")), paperSizes[req.GetPaperSize()]
	var missing []sheet.Missing
	for _, i := range order {
		document, refusal, err := s.item(ctx, in, in.list[i], size)
		switch {
		case err != nil:
			return err
		case refusal != nil:
			missing = append(missing, sheet.Missing{Key: in.list[i].GetKey(), Why: refusal.GetMessage()})
			continue
		}
		if err := volume.Add(in.list[i].GetKey()+": "+document.Title, document.Pages); err != nil {
			return err
		}
	}
	if len(missing) == len(order) {
		return noSheets(missing)
	}
	if len(missing) > 0 {
		if err := volume.Add(speech.Say("Not in this volume"), s.maker.Missing(speech, missing, size).Pages); err != nil {
			return err
		}
	}
	if err := volume.Close(); err != nil {
		return err
	}
	return out.flush()
}

// order is in which order items are printed; those that cannot be ground come last, where they say so.
func (s *Sheets) order(ctx context.Context, in items, how arrisv1.SheetOrder) ([]int, error) {
	var order []int
	if how != arrisv1.SheetOrder_SHEET_ORDER_FEW_CHANGES {
		for i := range in.list {
			order = append(order, i)
		}
		return order, nil
	}
	brief := in
	brief.detail = arrisv1.AnswerDetail_ANSWER_DETAIL_SUMMARY
	of, found, err := brief.solved(ctx, s.maker.Solver, func(*arrisv1.BatchItem, *statuspb.Status) {})
	if err != nil {
		return nil, err
	}
	answered := map[int]bool{}
	for _, q := range setup.Queue(found) {
		order = append(order, of[q.Index])
		answered[of[q.Index]] = true
	}
	for i := range in.list {
		if !answered[i] {
			order = append(order, i)
		}
	}
	return order, nil
}

// item lays one item's sheet out, in its turn among what is costly, or says why there is none.
func (s *Sheets) item(ctx context.Context, in items, item *arrisv1.BatchItem, size paper.Size) (d paper.Document, refusal *statuspb.Status, err error) {
	within, release, err := s.turns.part(ctx)
	if err != nil {
		return d, nil, err
	}
	defer release()
	refusal = rpc.Item(within, item, func() (about rpc.Calculation, err error) {
		var found setup.Setup
		if d, found, err = s.maker.Setup(within, item.GetKey(), in.question(item), size); err != nil {
			return about, refused(err)
		}
		return aboutBasis(found.Basis), nil
	})
	return d, refusal, ctx.Err()
}

// noSheetsReason is the reason where none of many sheets can be made.
const noSheetsReason fault.Reason = "NO_SHEETS"

// noSheets says why there is no volume, with the first reasons.
func noSheets(missing []sheet.Missing) error {
	const told = 3
	var why []string
	for _, m := range missing[:min(told, len(missing))] {
		why = append(why, fmt.Sprintf("%q: %s", m.Key, m.Why))
	}
	return &fault.Fault{Kind: fault.Impossible, Reason: noSheetsReason,
		Message: fmt.Sprintf("none of %d sheets can be made: %s", len(missing), strings.Join(why, "; "))}
}

// chunks is a writer that sends what is written in pieces.
type chunks struct {
	send func([]byte) error
	held bytes.Buffer
}

// chunkBytes is how large a piece is: many fit into a message's limit.
const chunkBytes = 64 << 10

// Write takes what is written, and sends it when there is enough.
func (c *chunks) Write(p []byte) (int, error) {
	c.held.Write(p)
	for c.held.Len() >= chunkBytes {
		if err := c.send(bytes.Clone(c.held.Next(chunkBytes))); err != nil {
			return 0, err
		}
	}
	return len(p), nil
}

// flush sends the rest.
func (c *chunks) flush() error {
	if c.held.Len() == 0 {
		return nil
	}
	return c.send(c.held.Bytes())
}
