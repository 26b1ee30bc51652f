//go:build unix

package drill_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
)

// sheetItems are sheets of one recipe. Most of the first volume's reach too far to be ground, so that it is soon done.
func sheetItems(n int) (list []*arrisv1.BatchItem) {
	for i := range n {
		stickOut := 40 + float64(i%10)
		if i < 500 && i%50 != 0 {
			stickOut = 250
		}
		list = append(list, &arrisv1.BatchItem{Key: fmt.Sprint("tool ", i), Request: &arrisv1.SolveSetupRequest{
			GrindSource: &arrisv1.SolveSetupRequest_Recipe{Recipe: "shops/main/recipes/bowl-50"},
			Rig:         &arrisv1.Rig{StationSource: &arrisv1.Rig_Station{Station: "shops/main/stations/north"}},
			Given:       &arrisv1.Settings{StickOutMm: &stickOut},
		}})
	}
	return list
}

// until waits for an operation to be as wanted.
func (r *running) until(t *testing.T, name string, wanted func(*arrisv1.Operation) bool) *arrisv1.Operation {
	t.Helper()
	client := arrisv1.NewOperationServiceClient(r.conn)
	for deadline := time.Now().Add(2 * time.Minute); ; time.Sleep(20 * time.Millisecond) {
		op, err := client.WaitOperation(t.Context(), &arrisv1.WaitOperationRequest{Name: name, Timeout: durationpb.New(0)})
		if err != nil {
			t.Fatalf("%v\n%s", err, r.log)
		}
		if wanted(op) {
			return op
		}
		if op.GetDone() || time.Now().After(deadline) {
			t.Fatalf("it is %v\n%s", op, r.log)
		}
	}
}

// file reads a file that comes in pieces.
func file(pieces grpc.ServerStreamingClient[httpbody.HttpBody], err error) ([]byte, error) {
	var all []byte
	for err == nil {
		var piece *httpbody.HttpBody
		if piece, err = pieces.Recv(); err == nil {
			all = append(all, piece.GetData()...)
		}
	}
	if errors.Is(err, io.EOF) {
		err = nil
	}
	return all, err
}

// asPrinted tells what is wrong with an operation's volumes: they are those that RenderSheets makes of the same items.
func (r *running) asPrinted(ctx context.Context, op *arrisv1.Operation, list []*arrisv1.BatchItem) error {
	if got, want := len(op.GetSheets().GetVolumes()), (len(list)+499)/500; got != want {
		return fmt.Errorf("%d volumes, want %d", got, want)
	}
	for i, v := range op.GetSheets().GetVolumes() {
		got, err := file(arrisv1.NewOperationServiceClient(r.conn).DownloadVolume(ctx, &arrisv1.DownloadVolumeRequest{Name: v.GetName()}))
		if err != nil {
			return err
		}
		ask := &arrisv1.RenderSheetsRequest{Shop: "shops/main"}
		for _, item := range list[500*i : min(500*(i+1), len(list))] {
			item = proto.CloneOf(item)
			item.Request.AsOfTime = timestamppb.New(op.GetSheets().GetAsOfTime().AsTime())
			ask.Items = append(ask.Items, item)
		}
		want, err := file(arrisv1.NewSheetServiceClient(r.conn).RenderSheets(ctx, ask))
		if err != nil {
			return err
		}
		if !bytes.Equal(got, want) {
			return fmt.Errorf("%s has %d bytes, and %d by RenderSheets", v.GetName(), len(got), len(want))
		}
	}
	return nil
}

// A server that is killed while it prints goes on, when it is back, with the volume that was under way, and what it prints is the same.
func TestKilledServerGoesOnPrinting(t *testing.T) {
	for where, at := range map[string]func() string{
		"file": func() string { return filepath.Join(t.TempDir(), "shop.db") }, "PostgreSQL": func() string { return address(t) },
	} {
		t.Run(where, func(t *testing.T) {
			store, p, list := at(), needed(t, built), sheetItems(540)
			server := start(t, store, string(p))
			op, err := arrisv1.NewOperationServiceClient(server.conn).PrintSheets(t.Context(), &arrisv1.PrintSheetsRequest{Shop: "shops/main", Items: list})
			if err != nil {
				t.Fatal(err)
			}
			server.until(t, op.GetName(), func(op *arrisv1.Operation) bool { return len(op.GetSheets().GetVolumes()) == 1 })
			server.kill()
			if err := p.check(store); err != nil {
				t.Error(err)
			}
			server = start(t, store, string(p))
			began := time.Now()
			op = server.until(t, op.GetName(), (*arrisv1.Operation).GetDone)
			if op.GetState() != arrisv1.OperationState_OPERATION_STATE_SUCCEEDED || op.GetSheets().GetRefusedCount() != 490 {
				t.Errorf("it ended as %v", op)
			}
			t.Logf("done %v after the server was back", time.Since(began).Round(time.Second))
			if err := server.asPrinted(t.Context(), op, list); err != nil {
				t.Error(err)
			}
			server.end(t)
		})
	}
}

// On a full disk printing fails, with the reason; when there is room again, it does not.
func TestPrintingOnAFullDisk(t *testing.T) {
	p := needed(t, built)
	folder := t.TempDir()
	store := filepath.Join(folder, "shop.db")
	server := start(t, store, small(t, folder, "", string(p))...)
	ballast := server.inside(filepath.Join(folder, "ballast"))
	if err := fillUp(ballast, 100<<10); err != nil {
		t.Fatal(err)
	}
	client := arrisv1.NewOperationServiceClient(server.conn)
	ask := &arrisv1.PrintSheetsRequest{Shop: "shops/main", Items: sheetItems(560)[500:]}
	op, err := client.PrintSheets(t.Context(), ask)
	if err != nil {
		t.Fatal(err)
	}
	op = server.until(t, op.GetName(), (*arrisv1.Operation).GetDone)
	if op.GetState() != arrisv1.OperationState_OPERATION_STATE_FAILED || !strings.Contains(op.GetError().GetMessage(), "no room left") {
		t.Errorf("it ended as %v", op)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if op, err = client.PrintSheets(t.Context(), ask); err != nil {
		t.Fatal(err)
	}
	op = server.until(t, op.GetName(), (*arrisv1.Operation).GetDone)
	if op.GetState() != arrisv1.OperationState_OPERATION_STATE_SUCCEEDED {
		t.Errorf("with room again it ended as %v", op)
	}
	if err := p.check(copied(t, server.inside(store))); err != nil {
		t.Error(err)
	}
}
