package gateway_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"

	"arris.example/gateway"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// Many sheets come as one file in pieces. What goes wrong before the first is an answer like any other; after it the connection breaks, so
// that half a file is never taken for a whole one.
func TestManySheetsAreOneFile(t *testing.T) {
	_, handler := behind(t, service.Config{Demo: true}, gateway.Options{})
	item := func(key string, stickOut float64) string {
		return fmt.Sprintf(`{"key":%q,"request":{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"},"given":{"stickOutMm":%g}}}`, key, stickOut)
	}
	var items []string
	for i := range 30 {
		items = append(items, item(fmt.Sprint("tool ", i), 40+float64(i%10)))
	}
	items[7] = item("far", 250)
	ask := `{"order":"SHEET_ORDER_FEW_CHANGES","items":[` + strings.Join(items, ",") + "]}"
	server := httptest.NewServer(handler)
	defer server.Close()
	var files [2][]byte
	for i := range files {
		answer, err := http.Post(server.URL+"/v1/shops/main:renderSheets", "application/json", strings.NewReader(ask))
		if err != nil {
			t.Fatal(err)
		}
		files[i], err = io.ReadAll(answer.Body)
		if err = errors.Join(err, answer.Body.Close()); err != nil {
			t.Fatal(err)
		}
		header := answer.Header
		if answer.StatusCode != http.StatusOK || header.Get("Content-Type") != "application/pdf" || header.Get("X-Content-Type-Options") != "nosniff" ||
			!strings.HasPrefix(header.Get("Content-Disposition"), "inline; filename=") || header.Get("X-Request-Id") == "" {
			t.Errorf("%d %v", answer.StatusCode, header)
		}
	}
	if !bytes.Equal(files[0], files[1]) || !bytes.HasPrefix(files[0], []byte("%PDF-")) || !bytes.HasSuffix(bytes.TrimSpace(files[0]), []byte("%%EOF")) {
		t.Errorf("%d and %d bytes, %.10q to %q", len(files[0]), len(files[1]), files[0], files[0][len(files[0])-10:])
	}
	many := strings.Repeat(item("one", 45)+",", 500) + item("one", 45)
	for body, says := range map[string]string{
		`{}`:           "1 to 500 items",
		`{"items":[]}`: "1 to 500 items",
		`{"items":[` + item("a", 45) + "," + item("a", 46) + `]}`:   "is also the key of item 0",
		`{"items":[` + item("a", 250) + "," + item("b", 251) + `]}`: "NO_SHEETS",
		`{"items":[` + many + `]}`:                                  "501 items are more than the 500",
		`{"paperSize":"A3","items":[` + item("a", 45) + `]}`:        "paperSize",
		`{"items":[{"key":"a","request":{}}],"colour":1}`:           "colour",
		`{"items":[` + item("a", 45):                                "body: is not JSON",
		``:                                                          "body: is empty",
	} {
		if w := post(handler, "/v1/shops/main:renderSheets", body, "Content-Type", "application/json"); w.Code < 400 || w.Code >= 500 || !strings.Contains(w.Body.String(), says) {
			t.Errorf("%.60s: %d %s", body, w.Code, w.Body)
		}
	}
	if w := send(handler, http.MethodGet, "/v1/shops/main:renderSheets", ""); w.Code != http.StatusMethodNotAllowed {
		t.Errorf("GET: %d", w.Code)
	}
	late := post(handler, "/v1/shops/main:renderSheets", ask, "Content-Type", "application/json", "Grpc-Timeout", "1m")
	if late.Code != http.StatusGatewayTimeout || strings.Contains(late.Body.String(), "%PDF") {
		t.Errorf("in a millisecond: %d %.80s", late.Code, late.Body)
	}
}

// Sheets are printed after their call: over REST an operation is started, waited for, listed, and its volume is a file like RenderSheets'.
func TestAnOperationsVolumeIsOneFile(t *testing.T) {
	_, handler := behind(t, service.Config{Demo: true}, gateway.Options{})
	const items = `"items":[{"key":"tool 1","request":{"recipe":"shops/main/recipes/bowl-50","asOfTime":"2026-11-20T09:00:00Z",` +
		`"rig":{"station":"shops/main/stations/north"},"given":{"stickOutMm":45}}},{"key":"far","request":{"recipe":"shops/main/recipes/bowl-50",` +
		`"asOfTime":"2026-11-20T09:00:00Z","rig":{"station":"shops/main/stations/north"},"given":{"stickOutMm":250}}}]`
	ask := func(method, path, body, says string) map[string]any {
		t.Helper()
		w := send(handler, method, path, body, "Content-Type", "application/json")
		var answer map[string]any
		if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil || !strings.Contains(w.Body.String(), says) {
			t.Fatalf("%s %s: %d %s", method, path, w.Code, w.Body)
		}
		return answer
	}
	started := ask(http.MethodPost, "/v1/shops/main:printSheets", "{"+items+"}", `"itemCount":2`)
	name, _ := started["name"].(string)
	ask(http.MethodGet, "/v1/"+name+":wait?timeout=30s", "", `"state":"OPERATION_STATE_SUCCEEDED"`)
	ask(http.MethodGet, "/v1/shops/main/operations?pageSize=5", "", name)
	ask(http.MethodGet, "/v1/"+name+"/refusedSheets", "", `"key":"far"`)
	ask(http.MethodPost, "/v1/"+name+":cancel", "{}", "OPERATION_ENDED")
	w := send(handler, http.MethodGet, "/v1/"+name+"/volumes/1:download", "")
	rendered := post(handler, "/v1/shops/main:renderSheets", "{"+items+"}", "Content-Type", "application/json")
	if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/pdf" || w.Header().Get("Content-Disposition") != "inline; filename=sheets-1.pdf" ||
		!bytes.Equal(w.Body.Bytes(), rendered.Body.Bytes()) {
		t.Errorf("%d %v, %d bytes, and %d by renderSheets", w.Code, w.Header(), w.Body.Len(), rendered.Body.Len())
	}
	ask(http.MethodGet, "/v1/"+name+"/volumes/2:download", "", "there is no volume 2")
	ask(http.MethodGet, "/v1/"+name+"/volumes/0:download", "", "INVALID_FIELD")
	ask(http.MethodGet, "/v1/"+name+"/volumes/1:download?colour=red", "", "colour")
	ask(http.MethodGet, "/v1/"+name+":wait?timeout=soon", "", "timeout")
	if w := send(handler, http.MethodDelete, "/v1/"+name, ""); w.Code != http.StatusOK || strings.TrimSpace(w.Body.String()) != "{}" {
		t.Errorf("deleted: %d %s", w.Code, w.Body)
	}
	ask(http.MethodGet, "/v1/"+name, "", "NOT_FOUND")
	for path, want := range map[string]int{"/v1/" + name + "/volumes/1:download": http.StatusMethodNotAllowed, "/v1/" + name + ":wait": http.StatusMethodNotAllowed} {
		if w := post(handler, path, "{}", "Content-Type", "application/json"); w.Code != want {
			t.Errorf("POST %s: %d %s", path, w.Code, w.Body)
		}
	}
}

// half is a service whose files end in the middle.
type half struct {
	arrisv1.UnimplementedSheetServiceServer
}

func (half) RenderSheets(_ *arrisv1.RenderSheetsRequest, to grpc.ServerStreamingServer[httpbody.HttpBody]) error {
	return errors.Join(to.Send(&httpbody.HttpBody{ContentType: "application/pdf", Data: []byte("%PDF-")}), status.Error(codes.Internal, "spilt"))
}

func TestHalfAFileIsNoFile(t *testing.T) {
	pipe := bufconn.Listen(1 << 16)
	s := grpc.NewServer()
	arrisv1.RegisterSheetServiceServer(s, half{})
	go func() { _ = s.Serve(pipe) }()
	defer s.Stop()
	conn, err := grpc.NewClient("passthrough:///half", grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return pipe.DialContext(ctx) }))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close() }()
	handler, err := gateway.New(conn, gateway.Options{})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(handler)
	defer server.Close()
	answer, err := http.Post(server.URL+"/v1:renderSheets", "application/json", strings.NewReader(`{"items":[]}`))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	if got, err := io.ReadAll(answer.Body); err == nil || string(got) != "%PDF-" {
		t.Errorf("%q, %v: half a file looks whole", got, err)
	}
}
