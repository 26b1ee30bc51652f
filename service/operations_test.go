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

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
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

// sparse are items of which one in seventy can be ground, so that many are done soon; the others are too keen.
func sparse(n int) (list []*arrisv1.BatchItem) {
	for i := range n {
		edge := 5.0
		if i%70 == 69 {
			edge = 30 + float64(i%40)
		}
		list = append(list, item(fmt.Sprint(i), edge))
	}
	return list
}

// Many items are printed in volumes of 500, as RenderSheets prints them; what cannot be ground is listed in its order, each with its reason.
func TestManySheetsArePrintedInVolumes(t *testing.T) {
	onBothStores(t, func(t *testing.T, cfg service.Config) {
		_, conn := started(t, cfg)
		p, list := printerOf(t, conn), sparse(1050)
		op := p.wait(p.print(list, asAsked).GetName(), succeeded)
		batch := op.GetSheets()
		if batch.GetItemCount() != 1050 || batch.GetDoneCount() != 1050 || batch.GetRefusedCount() != 1035 || len(batch.GetVolumes()) != 3 {
			t.Fatal(op)
		}
		if kept := op.GetExpireTime().AsTime().Sub(op.GetEndTime().AsTime()); kept != 24*time.Hour {
			t.Errorf("it is kept for %v", kept)
		}
		for i, v := range batch.GetVolumes() {
			got, want := p.volume(v.GetName()), p.rendered(list[500*i:min(500*(i+1), len(list))], batch.GetAsOfTime())
			if !bytes.Equal(got, want) || int64(len(got)) != v.GetByteCount() || v.GetSheetCount() == 0 {
				t.Errorf("%v: %d bytes, and %d by RenderSheets", v, len(got), len(want))
			}
		}
		next := 0
		for token, more := "", true; more; more = token != "" {
			page, err := p.ListRefusedSheets(t.Context(), &arrisv1.ListRefusedSheetsRequest{Parent: op.GetName(), PageSize: 700, PageToken: token})
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range page.GetRefused() {
				if next%70 == 69 {
					next++
				}
				if r.GetKey() != fmt.Sprint(next) || reasonIn(status.FromProto(r.GetError())) != "EDGE_TOO_KEEN" {
					t.Fatalf("%v where %d is next", r, next)
				}
				next++
			}
			token = page.GetNextPageToken()
		}
		if next != len(list)-1 {
			t.Errorf("the refused ones end at %d", next)
		}
	})
}

// Few changes are OrderSetups' order; a selection is tools on stations; a second request with the same id is the first.
func TestWhatIsPrintedAndInWhichOrder(t *testing.T) {
	registry := prometheus.NewRegistry()
	_, conn := started(t, service.Config{Demo: true, Registerer: registry})
	p, list := printerOf(t, conn), []*arrisv1.BatchItem{item("a", 50), item("keen", 5), item("b", 40), item("c", 50), {Key: "empty"}, item("d", 40)}
	op := p.wait(p.print(list, inOrder).GetName(), succeeded)
	pieces, err := p.sheets.RenderSheets(t.Context(), &arrisv1.RenderSheetsRequest{Shop: "shops/main", Items: dated(list, op), Order: inOrder})
	if got, want := p.volume(op.GetName()+"/volumes/1"), all(t, pieces, err); !bytes.Equal(got, want) || op.GetSheets().GetRefusedCount() != 2 {
		t.Errorf("%d bytes, and %d by RenderSheets; %v", len(got), len(want), op)
	}

	ask := &arrisv1.PrintSheetsRequest{Shop: "shops/main", RequestId: "once", Selection: &arrisv1.SheetSelection{
		Of: &arrisv1.SheetSelection_RecipeFilter{RecipeFilter: `name = "shops/main/recipes/bowl-50"`}, Stations: []string{"shops/main/stations/north", "shops/main/stations/south"},
	}}
	first, err := p.PrintSheets(t.Context(), proto.CloneOf(ask))
	if err != nil {
		t.Fatal(err)
	}
	second, err := p.PrintSheets(t.Context(), proto.CloneOf(ask))
	if err != nil || second.GetName() != first.GetName() {
		t.Errorf("%v, %v; the first is %v", second, err, first)
	}
	ask.PaperSize = arrisv1.PaperSize_PAPER_SIZE_LETTER
	if _, err := p.PrintSheets(t.Context(), ask); reasonIn(status.Convert(err)) != "REQUEST_ID_REUSED" {
		t.Error(err)
	}
	by := func(key, station string) *arrisv1.BatchItem {
		return &arrisv1.BatchItem{Key: key, Request: &arrisv1.SolveSetupRequest{
			Shop: "shops/main", GrindSource: &arrisv1.SolveSetupRequest_Recipe{Recipe: "shops/main/recipes/bowl-50"},
			Rig: &arrisv1.Rig{StationSource: &arrisv1.Rig_Station{Station: station}},
		}}
	}
	first = p.wait(first.GetName(), succeeded)
	want := p.rendered([]*arrisv1.BatchItem{by("bowl-50 on north", "shops/main/stations/north"), by("bowl-50 on south", "shops/main/stations/south")}, first.GetSheets().GetAsOfTime())
	if got := p.volume(first.GetName() + "/volumes/1"); !bytes.Equal(got, want) {
		t.Errorf("%d bytes, and %d by RenderSheets", len(got), len(want))
	}
	page, err := p.ListOperations(t.Context(), &arrisv1.ListOperationsRequest{Parent: "shops/main", PageSize: 1})
	if err != nil || len(page.GetOperations()) != 1 || page.GetOperations()[0].GetName() != first.GetName() || page.GetNextPageToken() == "" {
		t.Fatal(page, err)
	}
	page, err = p.ListOperations(t.Context(), &arrisv1.ListOperationsRequest{Parent: "shops/main", PageSize: 1, PageToken: page.GetNextPageToken()})
	if err != nil || len(page.GetOperations()) != 1 || page.GetOperations()[0].GetName() != op.GetName() || page.GetNextPageToken() != "" {
		t.Fatal(page, err)
	}
	if err := testutil.GatherAndCompare(registry, strings.NewReader(`
		# HELP arris_operations_ended_total Operations that ended in this process, by how: succeeded or failed.
		# TYPE arris_operations_ended_total counter
		arris_operations_ended_total{state="failed"} 0
		arris_operations_ended_total{state="succeeded"} 2
	`), "arris_operations_ended_total"); err != nil {
		t.Error(err)
	}
	counted, err := p.PrintSheets(t.Context(), &arrisv1.PrintSheetsRequest{Shop: "shops/main", Selection: &arrisv1.SheetSelection{
		Of: &arrisv1.SheetSelection_ToolFilter{}, Stations: []string{"shops/main/stations/west"},
	}})
	if err != nil || counted.GetSheets().GetItemCount() < 5 {
		t.Error(counted, err)
	}
	if _, err := p.DeleteOperation(t.Context(), &arrisv1.DeleteOperationRequest{Name: counted.GetName()}); err != nil {
		t.Error(err)
	}
}

// dated are items of an operation's time.
func dated(list []*arrisv1.BatchItem, op *arrisv1.Operation) (all []*arrisv1.BatchItem) {
	for _, item := range list {
		if item = proto.CloneOf(item); item.GetRequest() != nil {
			item.Request.AsOfTime = op.GetSheets().GetAsOfTime()
		}
		all = append(all, item)
	}
	return all
}

// What is asked wrongly starts nothing, and says what would.
func TestPrintingAskedWrongly(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	const shop = `{"shop":"shops/main",`
	for ask, want := range map[string]string{
		shop + `"items":[]}`:                        "items: there is nothing to solve; send 1 to 10000",
		shop + `"items":[{"key":"a"},{"key":"a"}]}`: "items[1].key",
		shop + `"items":[{"key":"a"}],"selection":{"toolFilter":"","stations":["shops/main/stations/north"]}}`: "selection: is said beside 1 items",
		shop + `"selection":{"toolFilter":"colour = \"red\"","stations":["shops/main/stations/north"]}}`:       `selection.tool_filter: asks for "colour"`,
		shop + `"selection":{"recipeFilter":"name =","stations":["shops/main/stations/north"]}}`:               "selection.recipe_filter: cannot be read from character 7 on; compare",
		shop + `"selection":{"toolFilter":"name = \"no\"","stations":["shops/main/stations/north"]}}`:          "finds no tools",
		shop + `"selection":{"toolFilter":""}}`:                                                                "stations",
		shop + `"selection":{"stations":["shops/main/stations/north"]}}`:                                       "selection: say one of tool_filter, recipe_filter",
		`{"items":[{"key":"a"}]}`: "shop",
		shop + `"items":[{"key":"a"}],"asOfTime":"1066-10-14T09:00:00Z"}`: "as_of_time",
	} {
		st := a.refuse(codes.InvalidArgument, "INVALID_FIELD", "OperationService", "PrintSheets", "%s", ask)
		if !strings.Contains(st.Message(), want) {
			t.Errorf("%s: %s", ask, st.Message())
		}
	}
	a.refuse(codes.NotFound, "NOT_FOUND", "OperationService", "PrintSheets", `{"shop":"shops/moon","items":[{"key":"a"}]}`)
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "OperationService", "ListOperations", `{"parent":"shops/main","pageToken":"x"}`)
	late := a.refuse(codes.InvalidArgument, "INVALID_FIELD", "OperationService", "WaitOperation", `{"name":"shops/main/operations/o-1","timeout":"60s"}`)
	if !strings.Contains(late.Message(), "timeout: is 1m0s; it must be from 0s to 30s") {
		t.Error(late.Message())
	}
	a.refuse(codes.NotFound, "NOT_FOUND", "OperationService", "ListOperations", `{"parent":"shops/moon"}`)
	for _, method := range []string{"GetOperation", "WaitOperation", "CancelOperation", "DeleteOperation"} {
		a.refuse(codes.NotFound, "NOT_FOUND", "OperationService", method, `{"name":"shops/main/operations/o-1"}`)
	}
	many := make([]string, 10_001)
	for i := range many {
		many[i] = fmt.Sprintf(`{"key":"%d"}`, i)
	}
	a.refuse(codes.ResourceExhausted, "TOO_COSTLY", "OperationService", "PrintSheets", shop+`"items":[%s]}`, strings.Join(many, ","))
	none := a.ask("OperationService", "PrintSheets", shop+`"items":[{"key":"a"},{"key":"b","request":{}}]}`)
	op := printerOf(t, a.conn).wait(none["name"].(string), failed)
	if reasonIn(status.FromProto(op.GetError())) != "NO_SHEETS" || !strings.Contains(op.GetError().GetMessage(), `none of 2 sheets can be made: "a"`) {
		t.Error(op.GetError())
	}
}

// Where nothing is kept, or the process ends with its call, nothing is begun that nobody would go on with.
func TestNothingGoesOnWithoutAKeptShop(t *testing.T) {
	const ask = `{"shop":"shops/main","items":[{"key":"a"}]}`
	nowhere := askerOf(t, service.Config{})
	nowhere.refuse(codes.FailedPrecondition, "NOTHING_GOES_ON", "OperationService", "PrintSheets", ask)
	nowhere.refuse(codes.NotFound, "NOT_FOUND", "OperationService", "GetOperation", `{"name":"shops/main/operations/o-1"}`)
	path := filepath.Join(t.TempDir(), "shop.db")
	s, conn := started(t, service.Config{Demo: true, Store: path})
	op := printerOf(t, conn).print([]*arrisv1.BatchItem{item("a", 50)}, asAsked)
	printerOf(t, conn).wait(op.GetName(), succeeded)
	if err := s.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, cfg := range []service.Config{{Store: path, ReadOnlyStore: true}, {Store: path, OneCall: true}} {
		a := askerOf(t, cfg)
		a.refuse(codes.FailedPrecondition, "NOTHING_GOES_ON", "OperationService", "PrintSheets", ask)
		if len(printerOf(t, a.conn).volume(op.GetName()+"/volumes/1")) == 0 {
			t.Error("what was printed cannot be read")
		}
	}
}

// An operation that is cancelled or deleted stops within two seconds, and nothing of it is left to fetch; what expires is gone by itself.
func TestOperationsEndBeforeTheirTime(t *testing.T) {
	onBothStores(t, func(t *testing.T, cfg service.Config) {
		cfg.KeepOperations = 10 * time.Second
		_, conn := started(t, cfg)
		p := printerOf(t, conn)
		long := append(sparse(500), itemsOf(1000)[500:]...)
		op := p.print(long, asAsked)
		var running *arrisv1.Operation
		for running = op; len(running.GetSheets().GetVolumes()) == 0 || running.GetSheets().GetDoneCount() == 500; time.Sleep(20 * time.Millisecond) {
			var err error
			if running, err = p.GetOperation(t.Context(), &arrisv1.GetOperationRequest{Name: op.GetName()}); err != nil || running.GetDone() {
				t.Fatal(running, err)
			}
		}
		if running.GetTimeLeft().AsDuration() <= 0 || running.GetStartTime() == nil {
			t.Errorf("no time left: %v", running)
		}
		ended, err := p.CancelOperation(t.Context(), &arrisv1.CancelOperationRequest{Name: op.GetName()})
		if err != nil || ended.GetState() != cancelled || len(ended.GetSheets().GetVolumes()) != 0 {
			t.Fatal(ended, err)
		}
		began := time.Now()
		after := p.wait(p.print([]*arrisv1.BatchItem{item("a", 50)}, asAsked).GetName(), succeeded) // it waits for the one that was cancelled
		if took := time.Since(began); took > 5*time.Second {
			t.Errorf("the next one took %v", took)
		}
		if again, err := p.CancelOperation(t.Context(), &arrisv1.CancelOperationRequest{Name: op.GetName()}); err != nil || again.GetState() != cancelled {
			t.Error(again, err)
		}
		if _, err := p.CancelOperation(t.Context(), &arrisv1.CancelOperationRequest{Name: after.GetName()}); reasonIn(status.Convert(err)) != "OPERATION_ENDED" {
			t.Error(err)
		}
		pieces, err := p.DownloadVolume(t.Context(), &arrisv1.DownloadVolumeRequest{Name: op.GetName() + "/volumes/1"})
		if err == nil {
			_, err = pieces.Recv()
		}
		if status.Code(err) != codes.NotFound {
			t.Error(err)
		}
		if _, err := p.DeleteOperation(t.Context(), &arrisv1.DeleteOperationRequest{Name: op.GetName()}); err != nil {
			t.Error(err)
		}
		for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(100 * time.Millisecond) {
			_, err := p.GetOperation(t.Context(), &arrisv1.GetOperationRequest{Name: after.GetName()})
			if status.Code(err) == codes.NotFound {
				break
			}
			if err != nil || time.Now().After(deadline) {
				t.Fatalf("it does not expire: %v", err)
			}
		}
	})
}

// A service that is stopped while it prints lets go of the operation; who opens the store next goes on after the last whole volume, and what
// comes of it is the same.
func TestOperationsGoOnAfterTheServer(t *testing.T) {
	onBothStores(t, func(t *testing.T, cfg service.Config) {
		s, conn := started(t, cfg)
		p := printerOf(t, conn)
		list := append(sparse(500), itemsOf(100)[75:]...)
		for i := range list {
			list[i].Key = fmt.Sprint("n", i)
		}
		op := p.print(list, asAsked)
		for {
			running, err := p.GetOperation(t.Context(), &arrisv1.GetOperationRequest{Name: op.GetName()})
			if err != nil || running.GetDone() {
				t.Fatal(running, err)
			}
			if len(running.GetSheets().GetVolumes()) == 1 {
				break
			}
			time.Sleep(5 * time.Millisecond)
		}
		before := p.volume(op.GetName() + "/volumes/1")
		ctx, end := context.WithTimeout(t.Context(), 5*time.Second)
		defer end()
		if err := s.Stop(ctx); err != nil {
			t.Fatal(err)
		}
		_, conn = started(t, cfg)
		p = printerOf(t, conn)
		op = p.wait(op.GetName(), succeeded)
		if !bytes.Equal(p.volume(op.GetName()+"/volumes/1"), before) || !bytes.Equal(before, p.rendered(list[:500], op.GetSheets().GetAsOfTime())) {
			t.Error("the first volume is another")
		}
		if !bytes.Equal(p.volume(op.GetName()+"/volumes/2"), p.rendered(list[500:], op.GetSheets().GetAsOfTime())) || len(op.GetSheets().GetVolumes()) != 2 {
			t.Errorf("the second volume is another: %v", op)
		}
	})
}

// A caller who did not hear the answer asks again: what was begun is told, though its filter selects nothing any more.
func TestPrintingAskedAgainIsTheSame(t *testing.T) {
	_, conn := started(t, service.Config{Demo: true})
	p := printerOf(t, conn)
	ask := &arrisv1.PrintSheetsRequest{Shop: "shops/main", RequestId: "once", Selection: &arrisv1.SheetSelection{
		Of: &arrisv1.SheetSelection_ToolFilter{ToolFilter: `name = "shops/main/tools/skew-25"`}, Stations: []string{"shops/main/stations/north"},
	}}
	first, err := p.PrintSheets(t.Context(), proto.CloneOf(ask))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := arrisv1.NewToolServiceClient(conn).DeleteTool(t.Context(), &arrisv1.DeleteToolRequest{Name: "shops/main/tools/skew-25"}); err != nil {
		t.Fatal(err)
	}
	again, err := p.PrintSheets(t.Context(), proto.CloneOf(ask))
	if err != nil || again.GetName() != first.GetName() {
		t.Errorf("%v, %v; the first is %v", again, err, first)
	}
	ask.RequestId = "another"
	if _, err := p.PrintSheets(t.Context(), ask); err == nil {
		t.Error("a filter that selects nothing prints")
	}
}
