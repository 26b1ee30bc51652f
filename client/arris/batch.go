package arris

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

const (
	mostItems        = 256       // a message may have
	mostMessageBytes = 512 << 10 // half of what a message may have, whatever else is in it
	mostAnswerBytes  = 64 << 20  // more than 256 answers with all their parts
	underWay         = 4         // messages asked and not answered yet; with the rows read ahead all that is ever held
)

// Run solves a file's rows.
func (c *batchCommand) Run(p *program) (err error) {
	file, err := opened(c.File, p.In)
	if err != nil {
		return err
	}
	defer func() { _ = file.Close() }() // only read
	rows, err := c.Rows.rows(c.File, file)
	if err != nil {
		return err
	}
	p.json, p.speech = c.Output == "json", rows.speech()
	if c.DryRun {
		return c.check(p, rows)
	}
	t := &tally{program: p, file: fileName(c.File), size: sizeOf(file), out: p.results(c), quiet: c.Output != "table" && isTerminal(p.Out)}
	err = p.connected(c.Call, func(grind arrisv1.GrindServiceClient) error { return c.ask(p.ctx, grind, rows, t) })
	return t.end(err)
}

// sizeOf is how many bytes a file has, 0 where that is not known.
func sizeOf(file io.Reader) int64 {
	if f, ok := file.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
			return info.Size()
		}
	}
	return 0
}

// check reads every row and asks nothing.
func (c *batchCommand) check(p *program, rows *checkedRows) error {
	t := &tally{program: p, file: fileName(c.File), out: none{}, quiet: true}
	for p.ctx.Err() == nil {
		row, err := rows.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return t.end(err)
		}
		if err := t.add(row, nil); err != nil {
			return err
		}
	}
	if err := t.end(p.ctx.Err()); err != nil && !errors.Is(err, errSome) {
		return err
	}
	_, err := fmt.Fprintf(p.Out, "%s: %d of %d rows can be asked; nothing was\n", t.file, t.rows-t.refused, t.rows)
	if err == nil && t.refused > 0 {
		err = errSome
	}
	return err
}

// message is some rows in order, those that are wrong among them, and what is asked for the others.
type message struct {
	rows    []batchRow
	request *arrisv1.StreamSolveSetupsRequest
}

// ask sends the rows that can be asked and tells every row's answer, in the file's order. Three things go on at once: rows are read, as
// far ahead as one message; what has been read is sent, with no more than a few messages unanswered; answers are told. Whoever
// waits for more rows keeps nobody waiting: what is there is sent.
func (c *batchCommand) ask(ctx context.Context, grind arrisv1.GrindServiceClient, rows *checkedRows, t *tally) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	stream, err := grind.StreamSolveSetups(ctx, grpc.MaxCallRecvMsgSize(mostAnswerBytes))
	if err != nil {
		return err
	}
	read, sent := make(chan batchRow, mostItems), make(chan message, underWay)
	var unreadable error // of the file; told when all before it has been answered
	go func() {
		defer close(read)
		unreadable = readAll(ctx, rows, read)
	}()
	go func() {
		defer close(sent)
		c.send(ctx, stream, read, sent)
	}()
	for m := range sent {
		if err := t.answer(ctx, stream, m, c.Call.Timeout, cancel); err != nil {
			return err
		}
	}
	if err := context.Cause(ctx); err != nil {
		return err
	}
	if unreadable != nil { // the channels are closed one after the other, so it is there
		return unreadable
	}
	if _, err := stream.Recv(); !errors.Is(err, io.EOF) {
		return errors.Join(err, errors.New("the server answers more than it was asked"))
	}
	return nil
}

// readAll reads rows until the end, which is no error, or until nobody wants them.
func readAll(ctx context.Context, rows *checkedRows, to chan<- batchRow) error {
	for {
		row, err := rows.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		select {
		case to <- row:
		case <-ctx.Done():
			return nil
		}
	}
}

// send puts what has been read into messages. An error of the stream is told where answers are received, for there it is the whole one.
func (c *batchCommand) send(ctx context.Context, stream grpc.BidiStreamingClient[arrisv1.StreamSolveSetupsRequest, arrisv1.StreamSolveSetupsResponse], read <-chan batchRow, sent chan<- message) {
	var left *batchRow // that had no room in the message before
	for {
		m := c.message(read, &left)
		if len(m.rows) == 0 {
			break
		}
		select {
		case sent <- m:
		case <-ctx.Done():
			return
		}
		if len(m.request.GetItems()) > 0 && stream.Send(m.request) != nil {
			return
		}
	}
	_ = stream.CloseSend()
}

// message takes the rows that are there, waiting for one at least; it is empty at the end.
func (c *batchCommand) message(read <-chan batchRow, left **batchRow) message {
	m := message{request: &arrisv1.StreamSolveSetupsRequest{Shop: fullName("shops", c.Rows.Shop)}}
	if c.Summary {
		m.request.Detail = arrisv1.AnswerDetail_ANSWER_DETAIL_SUMMARY
	}
	bytes := 0
	for len(m.rows) < mostItems {
		row, ok := batchRow{}, true
		switch {
		case *left != nil:
			row, *left = **left, nil
		case len(m.rows) == 0:
			row, ok = <-read
		default:
			select {
			case row, ok = <-read:
			default:
				return m
			}
		}
		if !ok {
			return m
		}
		item := &arrisv1.BatchItem{Key: row.key, Request: row.ask}
		if bytes += proto.Size(item); bytes > mostMessageBytes && len(m.rows) > 0 {
			*left = &row
			return m
		}
		m.rows = append(m.rows, row)
		if row.ask != nil {
			m.request.Items = append(m.request.Items, item)
		}
	}
	return m
}

// answer receives what answers a message and tells it.
func (t *tally) answer(ctx context.Context, stream grpc.BidiStreamingClient[arrisv1.StreamSolveSetupsRequest, arrisv1.StreamSolveSetupsResponse], m message, patience time.Duration, cancel context.CancelCauseFunc) error {
	var results []*arrisv1.BatchResult
	if asked := len(m.request.GetItems()); asked > 0 {
		late := time.AfterFunc(patience, func() { cancel(errLate) })
		got, err := stream.Recv()
		late.Stop()
		switch {
		case errors.Is(context.Cause(ctx), errLate):
			return errLate
		case errors.Is(err, io.EOF):
			return errors.New("the server ended the answers early")
		case err != nil:
			return err
		}
		if results = got.GetResults(); len(results) != asked {
			return fmt.Errorf("the server answers %d rows where %d were asked", len(results), asked)
		}
	}
	for _, row := range m.rows {
		var result *arrisv1.BatchResult
		if row.ask != nil {
			result, results = results[0], results[1:]
			if result.GetKey() != row.key {
				return fmt.Errorf("the server answers %q where %q was asked", result.GetKey(), row.key)
			}
		}
		if err := t.add(row, result); err != nil {
			return err
		}
	}
	return t.told()
}
