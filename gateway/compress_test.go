package gateway_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net/http/httptest"
	"strings"
	"testing"

	"arris.example/gateway"
	"arris.example/service"
)

// A large answer is compressed for whoever takes that, is read back whole by the standard library, and is a fraction of its size. Small
// ones, refusals and files stay as they are.
func TestLargeAnswersAreCompressed(t *testing.T) {
	_, handler := behind(t, service.Config{Demo: true}, gateway.Options{})
	const setup = `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`
	var items []string
	for i := range 30 {
		items = append(items, fmt.Sprintf(`{"key":"%d","request":%s}`, i, setup))
	}
	many := `{"items":[` + strings.Join(items, ",") + `]}`
	ask := func(verb, body, takes string) *httptest.ResponseRecorder {
		return post(handler, "/v1/shops/main:"+verb, body, "Content-Type", "application/json", "Accept-Encoding", takes)
	}
	plain, small := ask("batchSolveSetups", many, "br"), ask("batchSolveSetups", many, "gzip, br")
	if coding := plain.Header().Get("Content-Encoding"); coding != "" || plain.Code != 200 {
		t.Fatalf("%d, coding %q where none is taken", plain.Code, coding)
	}
	if small.Header().Get("Content-Encoding") != "gzip" || small.Header().Get("Vary") != "Accept-Encoding" {
		t.Errorf("headers %v of %d bytes", small.Header(), small.Body.Len())
	}
	if small.Body.Len() > plain.Body.Len()/5 {
		t.Errorf("%d bytes of %d", small.Body.Len(), plain.Body.Len())
	}
	z, err := gzip.NewReader(small.Body)
	if err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(z); err != nil || !bytes.Equal(unspaced(text), unspaced(plain.Body.Bytes())) {
		t.Errorf("%v: %d bytes read back, want the %d of the plain answer", err, len(text), plain.Body.Len())
	}
	for what, w := range map[string]*httptest.ResponseRecorder{
		"small":      ask("solveSetup", setup, "gzip"),
		"a file":     ask("renderSheet", `{"setup":`+setup+`}`, "gzip"),
		"in pieces":  ask("renderSheets", many, "gzip"),
		"a refusal":  ask("solveSetup", `{"recipe":"`+strings.Repeat("x", 20_000)+`"}`, "gzip"),
		"not wanted": ask("batchSolveSetups", many, "gzip;q=0"),
	} {
		if coding := w.Header().Get("Content-Encoding"); coding != "" {
			t.Errorf("%s: %q", what, coding)
		}
	}
}

// unspaced is JSON without spaces, of which protojson writes now more, now less.
func unspaced(text []byte) []byte { return bytes.ReplaceAll(text, []byte(" "), nil) }
