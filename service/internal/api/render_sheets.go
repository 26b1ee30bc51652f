package api

import (
	"bytes"
	"context"
	"fmt"
	"io"
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
	if _, err := in.speech(); err != nil {
		return err
	}
	if err := in.check(); err != nil {
		return err
	}
	order, err := s.order(ctx, in, req.GetOrder())
	if err != nil {
		return err
	}
	out := &chunks{send: func(data []byte) error { return stream.Send(&httpbody.HttpBody{ContentType: pdf, Data: data}) }}
	printed, refused, err := s.volume(ctx, out, in, order, paperSizes[req.GetPaperSize()], func(int) {})
	switch {
	case err != nil:
		return err
	case printed == 0:
		return noSheets(len(refused), refused)
	}
	return out.flush()
}

// volume prints items in an order as one PDF, tells after each how many are done, and gives how many were printed and why the others were
// not; these stand on its last page. Where none can be printed, what was written is no PDF.
func (s *Sheets) volume(ctx context.Context, out io.Writer, in items, order []int, size paper.Size, tell func(int)) (printed int, refused []*arrisv1.BatchResult, err error) {
	speech, err := in.speech()
	if err != nil {
		return 0, nil, err
	}
	volume := paper.NewVolume(out, speech.Say("Setup sheets"))
	var missing []sheet.Missing
	for n, i := range order {
		key := in.list[i].GetKey()
		document, refusal, err := s.item(ctx, in, in.list[i], size)
		switch {
		case err != nil:
			return 0, nil, err
		case refusal != nil:
			missing = append(missing, sheet.Missing{Key: key, Why: refusal.GetMessage()})
			refused = append(refused, &arrisv1.BatchResult{Key: key, Outcome: &arrisv1.BatchResult_Error{Error: refusal}})
		default:
			printed++
			if err := volume.Add(key+": "+document.Title, document.Pages); err != nil {
				return 0, nil, err
			}
		}
		tell(n + 1)
	}
	if printed == 0 {
		return 0, refused, nil
	}
	if len(missing) > 0 {
		if err := volume.Add(speech.Say("Not in this volume"), s.maker.Missing(speech, missing, size).Pages); err != nil {
			return 0, nil, err
		}
	}
	return printed, refused, volume.Close()
}

// speech is how the volume itself speaks.
func (in items) speech() (setup.Speech, error) {
	speech, err := setup.SpeechIn(in.wording.GetLanguageCode(), unitIn(in.wording.GetLengthUnit()))
	if err != nil {
		return speech, refused(err)
	}
	return speech, nil
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

// noSheets says why none of many sheets is printed, with the first reasons.
func noSheets(asked int, refused []*arrisv1.BatchResult) error {
	var why []string
	for _, r := range refused[:min(reasonsTold, len(refused))] {
		why = append(why, fmt.Sprintf("%q: %s", r.GetKey(), r.GetError().GetMessage()))
	}
	return &fault.Fault{Kind: fault.Impossible, Reason: noSheetsReason,
		Message: fmt.Sprintf("none of %d sheets can be made: %s", asked, strings.Join(why, "; "))}
}

// reasonsTold is how many reasons are told where there is nothing else.
const reasonsTold = 3

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
