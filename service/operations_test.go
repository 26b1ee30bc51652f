//go:build unix

package service_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/deploy/postgrestest"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// onBothStores runs a test on a service that keeps its shop in a file, and in PostgreSQL.
func onBothStores(t *testing.T, run func(*testing.T, service.Config)) {
	t.Helper()
	t.Run("file", func(t *testing.T) { run(t, service.Config{Demo: true, Store: filepath.Join(t.TempDir(), "shop.db")}) })
	t.Run("PostgreSQL", func(t *testing.T) {
		server, err := postgrestest.Start()
		if err != nil {
			t.Fatal(err)
		}
		if server == nil {
			t.Skip("PostgreSQL is not installed here (Debian's postgresql)")
		}
		defer server.Stop()
		run(t, service.Config{Demo: true, Store: server.Database(t)})
	})
}

// printer asks for operations.
type printer struct {
	*testing.T
	arrisv1.OperationServiceClient
	sheets arrisv1.SheetServiceClient
}

func printerOf(t *testing.T, conn grpc.ClientConnInterface) printer {
	return printer{t, arrisv1.NewOperationServiceClient(conn), arrisv1.NewSheetServiceClient(conn)}
}

func (p printer) print(list []*arrisv1.BatchItem, order arrisv1.SheetOrder) *arrisv1.Operation {
	p.Helper()
	op, err := p.PrintSheets(p.Context(), &arrisv1.PrintSheetsRequest{Shop: "shops/main", Items: list, Order: order})
	if err != nil {
		p.Fatal(err)
	}
	return op
}

// wait waits until an operation has ended in a state.
func (p printer) wait(name string, state arrisv1.OperationState) *arrisv1.Operation {
	p.Helper()
	for deadline := time.Now().Add(2 * time.Minute); ; {
		op, err := p.WaitOperation(p.Context(), &arrisv1.WaitOperationRequest{Name: name, Timeout: durationpb.New(5 * time.Second)})
		if err != nil {
			p.Fatal(err)
		}
		if op.GetDone() {
			if op.GetState() != state || op.GetEndTime() == nil || op.GetExpireTime() == nil || op.GetTimeLeft() != nil {
				p.Fatalf("it ended as %v", op)
			}
			return op
		}
		if time.Now().After(deadline) {
			p.Fatalf("it does not end: %v", op)
		}
	}
}

const (
	succeeded = arrisv1.OperationState_OPERATION_STATE_SUCCEEDED
	failed    = arrisv1.OperationState_OPERATION_STATE_FAILED
	cancelled = arrisv1.OperationState_OPERATION_STATE_CANCELLED
	asAsked   = arrisv1.SheetOrder_SHEET_ORDER_UNSPECIFIED
	inOrder   = arrisv1.SheetOrder_SHEET_ORDER_FEW_CHANGES
)

// all reads a file that comes in pieces.
func all(t *testing.T, pieces grpc.ServerStreamingClient[httpbody.HttpBody], err error) (file []byte) {
	t.Helper()
	for err == nil {
		var piece *httpbody.HttpBody
		if piece, err = pieces.Recv(); err == nil {
			file = append(file, piece.GetData()...)
		}
	}
	if !errors.Is(err, io.EOF) {
		t.Fatal(err)
	}
	return file
}

func (p printer) volume(name string) []byte {
	p.Helper()
	pieces, err := p.DownloadVolume(p.Context(), &arrisv1.DownloadVolumeRequest{Name: name})
	return all(p.T, pieces, err)
}

// rendered is what RenderSheets makes of items, of a time.
func (p printer) rendered(list []*arrisv1.BatchItem, asOf *timestamppb.Timestamp) []byte {
	p.Helper()
	var dated []*arrisv1.BatchItem
	for _, item := range list {
		item = proto.CloneOf(item)
		item.Request.AsOfTime = asOf
		dated = append(dated, item)
	}
	pieces, err := p.sheets.RenderSheets(p.Context(), &arrisv1.RenderSheetsRequest{Shop: "shops/main", Items: dated})
	return all(p.T, pieces, err)
}

// sparse are items of which one in thirty can be ground, so that many are done soon.
func sparse(n int) (list []*arrisv1.BatchItem) {
	for i := range n {
		edge := 5.0
		if i%30 == 0 {
			edge = 30 + float64(i%40)
		}
		list = append(list, item(fmt.Sprint(i), edge))
	}
	return list
}

func TestTime(t *testing.T) {
	onBothStores(t, func(t *testing.T, cfg service.Config) {
		_, conn := started(t, cfg)
		p := printerOf(t, conn)
		b := time.Now()
		op := p.print(itemsOf(200), inOrder)
		op = p.wait(op.GetName(), succeeded)
		t.Log(time.Since(b), op)
		b = time.Now()
		op = p.print(sparse(1050), inOrder)
		op = p.wait(op.GetName(), succeeded)
		t.Log(time.Since(b), op)
	})
	_ = bytes.Equal
	_ = context.Background
	_ = strings.Contains
	_ = codes.OK
	_ = status.Code
}
