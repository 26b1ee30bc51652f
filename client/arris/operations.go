package arris

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
)

// What a server goes on with after the call that asked for it.

var operations = noun{
	word: "operation", service: "OperationService", message: "Operation", collection: "operations",
	columns: []recordColumn{
		col("state", "state"), col("since", "create_time"), col("sheets", "sheets.item_count"), col("done", "sheets.done_count"),
		col("refused", "sheets.refused_count"), col("left", "time_left"), col("kept until", "expire_time"),
	},
}

type operationCommands struct {
	List   listOperationsCommand  `cmd:"" help:"List what goes on and what has ended."`
	Show   showOperationCommand   `cmd:"" help:"Tell how far one is."`
	Wait   waitOperationCommand   `cmd:"" help:"Wait until one has ended."`
	Fetch  fetchOperationCommand  `cmd:"" help:"Wait until one has ended, and write what it made to files."`
	Cancel cancelOperationCommand `cmd:"" help:"End one before its time; what it made is gone."`
	Delete deleteOperationCommand `cmd:"" help:"Forget one and what it made."`
}

type (
	listOperationsCommand struct {
		Most int `placeholder:"COUNT" group:"Request:" help:"So many at most, the newest. Default: all."`
		recordFlags
	}
	showOperationCommand   struct{ namedLook }
	waitOperationCommand   struct{ namedLook }
	cancelOperationCommand struct{ namedLook }
	deleteOperationCommand struct{ namedLook }
	fetchOperationCommand  struct {
		namedLook
		Out string `required:"" placeholder:"FILE.pdf" predictor:"file" group:"Paper:" help:"Where to; of several volumes FILE-1.pdf, FILE-2.pdf and so on."`
	}
)

// Help shows how operations are asked for.
func (*operationCommands) Help() string {
	return `Examples:

    arris sheets class.csv --background --server shop.example:8081
    arris operation list --server shop.example:8081
    arris operation fetch o-4k2 --out class.pdf --server shop.example:8081
    arris operation cancel o-4k2 --server shop.example:8081

A server that keeps a shop goes on with an operation after the command has ended, and after its own end when it is back.
` + exitCodeHelp
}

// Run lists operations.
func (c *listOperationsCommand) Run(p *program) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		list, err := d.pages(operations.service, "ListOperations", map[string]any{"parent": d.shop}, c.Most)
		if err != nil {
			return err
		}
		return p.showList(operations, d.shop, c.Output, list)
	})
}

// Run shows an operation.
func (c *showOperationCommand) Run(p *program) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		op, err := arrisv1.NewOperationServiceClient(d.conn).GetOperation(d.ctx, &arrisv1.GetOperationRequest{Name: operations.name(d.shop, c.Name)})
		return p.showOperation(d.shop, c.Output, op, err)
	})
}

// showOperation shows an operation; to people without the details of its error, which are for programs.
func (p *program) showOperation(shop, format string, op *arrisv1.Operation, err error) error {
	if err == nil && format == "table" && op.GetError() != nil {
		op = proto.CloneOf(op)
		op.Error.Details = nil
	}
	return p.showRecord(shop, format, op, err)
}

// Run cancels an operation.
func (c *cancelOperationCommand) Run(p *program) error {
	return p.at(c.recordFlags, changes, func(d desk) error {
		op, err := d.call(operations.service, "CancelOperation", map[string]any{"name": operations.name(d.shop, c.Name)})
		return p.showRecord(d.shop, c.Output, op, err)
	})
}

// Run deletes an operation.
func (c *deleteOperationCommand) Run(p *program) error {
	return p.at(c.recordFlags, changes, func(d desk) error {
		if _, err := d.call(operations.service, "DeleteOperation", map[string]any{"name": operations.name(d.shop, c.Name)}); err != nil {
			return err
		}
		return p.print("deleted\n", nil)
	})
}

// Run waits for an operation.
func (c *waitOperationCommand) Run(p *program) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		op, err := d.ended(operations.name(d.shop, c.Name))
		if err != nil {
			return err
		}
		if err := p.showOperation(d.shop, c.Output, op, nil); err != nil {
			return err
		}
		return outcomeOf(op)
	})
}

// outcomeOf is the error that an operation ended with.
func outcomeOf(op *arrisv1.Operation) error {
	switch op.GetState() {
	case arrisv1.OperationState_OPERATION_STATE_FAILED:
		return status.ErrorProto(op.GetError())
	case arrisv1.OperationState_OPERATION_STATE_CANCELLED:
		return fmt.Errorf("%s was cancelled", lastOf(op.GetName()))
	default:
		return nil
	}
}

// ended waits until an operation has ended, however long that is, and says meanwhile how far it is.
func (d desk) ended(name string) (*arrisv1.Operation, error) {
	const atOnce = 5 * time.Second
	client, show := arrisv1.NewOperationServiceClient(d.conn), meter{}
	defer show.clear(d.program.Err)
	for {
		ctx, end := context.WithTimeout(d.program.ctx, atOnce+d.patience)
		op, err := client.WaitOperation(ctx, &arrisv1.WaitOperationRequest{Name: name, Timeout: durationpb.New(min(atOnce, d.patience/2))})
		end()
		if err != nil || op.GetDone() {
			return op, err
		}
		show.show(d.program.Err, func() string {
			words := fmt.Sprintf("%d of %d sheets", op.GetSheets().GetDoneCount(), op.GetSheets().GetItemCount())
			if op.GetTimeLeft() != nil {
				words += fmt.Sprintf(", about %s left", op.GetTimeLeft().AsDuration())
			}
			return words
		})
	}
}

// Run fetches what an operation made.
func (c *fetchOperationCommand) Run(p *program) error {
	if ending(c.Out) != ".pdf" {
		return wrongUsage("--out is %q; it must end with .pdf", c.Out)
	}
	return p.at(c.recordFlags, looks, func(d desk) error {
		op, err := d.ended(operations.name(d.shop, c.Name))
		if err == nil {
			err = outcomeOf(op)
		}
		if err != nil {
			return err
		}
		sheets, volumes := 0, op.GetSheets().GetVolumes()
		for i, v := range volumes {
			name := c.Out
			if len(volumes) > 1 {
				name = fmt.Sprintf("%s-%d.pdf", strings.TrimSuffix(c.Out, ".pdf"), i+1)
			}
			if err := d.fetch(v.GetName(), name); err != nil {
				return err
			}
			sheets += int(v.GetSheetCount())
		}
		if err := p.print(fmt.Sprintf("%d of %d sheets printed\n", sheets, op.GetSheets().GetItemCount()), nil); err != nil {
			return err
		}
		return d.tellRefused(op)
	})
}

// fetch writes a volume to a file, whole or not at all.
func (d desk) fetch(volume, name string) error {
	target, err := replaceable(name)
	if err != nil {
		return usageError{err}
	}
	err = replaceBy(target, func(to io.Writer) error {
		return d.program.inPieces(d.program.ctx, d.patience, to, func(ctx context.Context) (grpc.ServerStreamingClient[httpbody.HttpBody], error) {
			return arrisv1.NewOperationServiceClient(d.conn).DownloadVolume(ctx, &arrisv1.DownloadVolumeRequest{Name: volume})
		})
	})
	if isOfFiles(err) {
		return usageError{err}
	}
	return err
}

// tellRefused says which sheets an operation could not make, and why.
func (d desk) tellRefused(op *arrisv1.Operation) error {
	if op.GetSheets().GetRefusedCount() == 0 {
		return nil
	}
	d, end := d.within(d.patience)
	defer end()
	list, err := d.pages(operations.service, "ListRefusedSheets", map[string]any{"parent": op.GetName()}, 0)
	if err != nil {
		return err
	}
	for _, m := range list {
		if r, ok := m.(*arrisv1.BatchResult); ok {
			d.program.tellRow(lastOf(op.GetName()), batchRow{key: r.GetKey(), keyed: true}, withoutCall(r).GetError())
		}
	}
	_, _ = fmt.Fprintf(d.program.Err, "%s: %d of %d sheets refused\n", lastOf(op.GetName()), op.GetSheets().GetRefusedCount(), op.GetSheets().GetItemCount())
	return errSome
}

// inPieces writes a file's pieces as they come; each has its time.
func (p *program) inPieces(ctx context.Context, patience time.Duration, to io.Writer, ask func(context.Context) (grpc.ServerStreamingClient[httpbody.HttpBody], error)) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	late := time.AfterFunc(patience, func() { cancel(errLate) })
	defer late.Stop()
	pieces, err := ask(ctx)
	for err == nil {
		var piece *httpbody.HttpBody
		if piece, err = pieces.Recv(); err == nil {
			late.Reset(patience)
			_, err = to.Write(piece.GetData())
		}
	}
	switch {
	case errors.Is(err, io.EOF):
		return nil
	case errors.Is(context.Cause(ctx), errLate):
		return errLate
	}
	return err
}

func sheetWord(n int) string {
	if n == 1 {
		return "sheet"
	}
	return "sheets"
}

// start lets a server print rows after this command has ended.
func (c *sheetsCommand) start(p *program, conn grpc.ClientConnInterface, rows []batchRow) error {
	ask := &arrisv1.PrintSheetsRequest{Shop: fullName("shops", c.Rows.Shop), PaperSize: papers[c.Paper], RequestId: c.RequestID}
	c.Rows.format().put(&ask.Wording)
	if c.Order == "few-changes" {
		ask.Order = arrisv1.SheetOrder_SHEET_ORDER_FEW_CHANGES
	}
	if c.Rows.AsOf.said {
		ask.AsOfTime = timestamppb.New(c.Rows.AsOf.time)
	}
	for _, row := range rows {
		if row.ask == nil {
			p.tellRow(c.fileName(), row, nil)
			continue
		}
		ask.Items = append(ask.Items, itemOf(row))
	}
	ctx, cancel := context.WithTimeout(p.ctx, c.Call.Timeout)
	defer cancel()
	op, err := arrisv1.NewOperationServiceClient(conn).PrintSheets(ctx, ask)
	if err != nil {
		return err
	}
	text := fmt.Sprintf("%s prints %d %s\nfetch them: arris operation fetch %[1]s --out FILE.pdf --server %[4]s\n", lastOf(op.GetName()), len(ask.GetItems()), sheetWord(len(ask.GetItems())), c.Call.Server)
	if err := p.print(text, nil); err != nil {
		return err
	}
	if unread := len(rows) - len(ask.GetItems()); unread > 0 {
		_, _ = fmt.Fprintf(p.Err, "%s: %d of %d rows refused\n", c.fileName(), unread, len(rows))
		return errSome
	}
	return nil
}
