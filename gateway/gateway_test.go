package gateway_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"go.uber.org/goleak"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"

	"arris.example/gateway"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/proto/openapi"
	"arris.example/service"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// solver is a GrindService whose solving is whatever a test needs.
type solver struct {
	arrisv1.UnimplementedGrindServiceServer
	solve func(context.Context, *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error)
}

func (s solver) SolveSetup(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	return s.solve(ctx, req)
}

// echoes answers with what it was asked, so that tests see what arrived.
func echoes(_ context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	return &arrisv1.SolveSetupResponse{Setup: &arrisv1.Setup{Steps: []*arrisv1.Step{{Text: req.String()}}}}, nil
}

func waits(ctx context.Context, _ *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	<-ctx.Done()
	return nil, ctx.Err()
}

// behind is a gateway in front of a service, both ended with the test.
func behind(t testing.TB, cfg service.Config, opts gateway.Options) (*service.Service, http.Handler) {
	t.Helper()
	s, err := service.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := s.Dial()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := conn.Close(); err != nil {
			t.Error(err)
		}
		if err := s.Stop(context.Background()); err != nil {
			t.Error(err)
		}
	})
	handler, err := gateway.New(conn, opts)
	if err != nil {
		t.Fatal(err)
	}
	return s, handler
}

func echoing(t testing.TB) http.Handler {
	_, handler := behind(t, service.Config{Grind: solver{solve: echoes}}, gateway.Options{})
	return handler
}

func post(handler http.Handler, path, body string, headers ...string) *httptest.ResponseRecorder {
	return send(handler, http.MethodPost, path, body, headers...)
}

func send(handler http.Handler, method, path, body string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	return w
}

// answer is a google.rpc.Status as a REST caller reads it.
type answer struct {
	Code    int
	Message string
	Details []struct {
		Type            string `json:"@type"`
		Reason, Domain  string
		Metadata        map[string]string
		FieldViolations []struct{ Field, Reason, Description string }
	}
}

func readAnswer(t *testing.T, w *httptest.ResponseRecorder) answer {
	t.Helper()
	var a answer
	if kind := w.Header().Get("Content-Type"); kind != "application/json" {
		t.Errorf("Content-Type %q", kind)
	}
	if err := json.Unmarshal(w.Body.Bytes(), &a); err != nil {
		t.Fatalf("%v in %s", err, w.Body)
	}
	return a
}

func (a answer) reason() string {
	for _, d := range a.Details {
		if d.Type == "type.googleapis.com/google.rpc.ErrorInfo" && d.Domain == "arris.example" && d.Metadata["request_id"] != "" {
			return d.Reason
		}
	}
	return ""
}

// violations is every violation as `field:REASON`.
func (a answer) violations() []string {
	var all []string
	for _, d := range a.Details {
		for _, v := range d.FieldViolations {
			all = append(all, v.Field+":"+v.Reason)
		}
	}
	return all
}

func wantRefusal(t *testing.T, w *httptest.ResponseRecorder, status int, reason string) answer {
	t.Helper()
	a := readAnswer(t, w)
	if w.Code != status || a.reason() != reason || a.Message == "" {
		t.Errorf("got %d %q, want %d %q: %s", w.Code, a.reason(), status, reason, w.Body)
	}
	return a
}

const solvePath = "/v1/shops/main:solveSetup"

func TestCallsPass(t *testing.T) {
	handler := echoing(t)
	for path, arrives := range map[string]string{solvePath: `shop:"shops/main"`, "/v1:solveSetup": `rig:{`} {
		w := post(handler, path, `{"rig":{"station":"shops/main/stations/north"},"recipe":"shops/main/recipes/bowl-50"}`,
			"Content-Type", "application/json; charset=UTF-8")
		if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/json" {
			t.Fatalf("%s: %d %s", path, w.Code, w.Body)
		}
		var got struct {
			Setup struct{ Steps []struct{ Text string } }
		}
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		text := strings.ReplaceAll(got.Setup.Steps[0].Text, `: `, `:`)
		for _, want := range []string{arrives, "shops/main/stations/north", "shops/main/recipes/bowl-50"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: %q did not arrive, but %s", path, want, text)
			}
		}
	}
}

func TestProtoNamesAreAcceptedAndCamelCaseIsAnswered(t *testing.T) {
	w := post(echoing(t), solvePath, `{"given":{"stick_out_mm":45}}`)
	if text := w.Body.String(); w.Code != http.StatusOK || !strings.Contains(text, "stick_out_mm:45") || !strings.Contains(text, `"errorBudget"`) {
		t.Errorf("%d %s", w.Code, text)
	}
}

// Zeros are said, so that a caller need not know which of them mean nothing; what was not measured stays away.
func TestDefaultsAreWrittenAndAbsentIsNot(t *testing.T) {
	text := post(echoing(t), solvePath, `{}`).Body.String()
	for _, want := range []string{`"bevel":0`, `"cautions":[]`, `"legPosition":""`, `"touchFirstAppliedDeg":0`} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in %s", want, text)
		}
	}
	if strings.Contains(text, "null") {
		t.Errorf("null in %s", text)
	}
}

func TestAnswersHaveNoNeedlessSpace(t *testing.T) {
	for _, body := range []string{`{}`, `{"unknown":1}`} {
		text := post(echoing(t), solvePath, body).Body.Bytes()
		var compact bytes.Buffer
		if err := json.Compact(&compact, text); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(text, compact.Bytes()) {
			t.Errorf("not compact: %s", text)
		}
	}
}

// Bodies that are refused before the service sees them: HTTP status, reason, and each violation by field and reason.
func TestBadBodies(t *testing.T) {
	handler := echoing(t)
	bevel := func(inside string) string { return `{"grind":{"bevels":[{` + inside + `}]}}` }
	for name, c := range map[string]struct {
		body       string
		violations []string
		says       string
	}{
		"misspelt field":         {bevel(`"frontAngelDeg":50`), []string{"grind.bevels[0].frontAngelDeg:UNKNOWN_FIELD"}, "did you mean frontAngleDeg?"},
		"misspelt as in proto":   {bevel(`"front_angel_deg":50`), []string{"grind.bevels[0].front_angel_deg:UNKNOWN_FIELD"}, "did you mean frontAngleDeg?"},
		"unit left out":          {bevel(`"frontAngle":50`), []string{"grind.bevels[0].frontAngle:UNKNOWN_FIELD"}, "did you mean frontAngleDeg?"},
		"unlike any field":       {bevel(`"colour":"red"`), []string{"grind.bevels[0].colour:UNKNOWN_FIELD"}, "known here are frontAngleDeg"},
		"other unit":             {`{"given":{"stickOutIn":1.75}}`, []string{"given.stickOutIn:WRONG_UNIT"}, "stickOutMm, in millimetres"},
		"other unit of an angle": {bevel(`"front_angle_rad":0.87`), []string{"grind.bevels[0].front_angle_rad:WRONG_UNIT"}, "frontAngleDeg, in degrees"},
		"text for a number":      {bevel(`"frontAngleDeg":"50°"`), []string{"grind.bevels[0].frontAngleDeg:NOT_A_NUMBER"}, `is "50°"; write the number alone, in degrees`},
		"true for a number":      {`{"given":{"stickOutMm":true}}`, []string{"given.stickOutMm:NOT_A_NUMBER"}, "is true"},
		"list for a number":      {`{"given":{"stickOutMm":[1]}}`, []string{"given.stickOutMm:NOT_A_NUMBER"}, "is a list"},
		"unit in the value":      {`{"given":{"stickOutMm":"1.75 in"}}`, []string{"given.stickOutMm:NOT_A_NUMBER"}, "in millimetres"},
		"number too large":       {`{"given":{"stickOutMm":1e999}}`, []string{"given.stickOutMm:OUT_OF_RANGE"}, "1e999"},
		"key twice":              {`{"given":{"stickOutMm":1,"stickOutMm":2}}`, []string{"given.stickOutMm:CONTRADICTION"}, "twice"},
		"key in both spellings":  {`{"given":{"stickOutMm":1,"stick_out_mm":2}}`, []string{"given.stick_out_mm:CONTRADICTION"}, "twice"},
		"two of a choice":        {bevel(`"frontAngleDeg":50,"readingDeg":52`), []string{"grind.bevels[0].readingDeg:CONTRADICTION"}, "frontAngleDeg"},
		"no value of the list":   {`{"free":["SUPPORT"]}`, []string{"free[0]:UNKNOWN_VALUE"}, "FREE_SETTING_SUPPORT"},
		"no list":                {`{"free":"FREE_SETTING_SUPPORT"}`, []string{"free:BAD_FORM"}, "brackets"},
		"no object":              {`{"rig":"north"}`, []string{"rig:BAD_FORM"}, "is text; it must be an object"},
		"no text":                {`{"recipe":7}`, []string{"recipe:BAD_FORM"}, "is 7; it must be text"},
		"no bool":                {`{"touchFirstSized":"yes"}`, []string{"touchFirstSized:BAD_FORM"}, "true or false"},
		"no time":                {`{"asOfTime":"yesterday"}`, []string{"asOfTime:BAD_FORM"}, "2026-11-24T09:30:00Z"},
		"list for the body":      {`[1]`, []string{"body:BAD_FORM"}, "must be an object"},
		"null for the body":      {`null`, []string{"body:BAD_FORM"}, "must be an object"},
		"number for the body":    {`50`, []string{"body:BAD_FORM"}, "must be an object"},
		"empty":                  {``, []string{"body:MISSING"}, "{}"},
		"blank":                  {" \n\t", []string{"body:MISSING"}, "{}"},
		"cut off":                {`{"given":{`, []string{"body:BAD_FORM"}, "line 1, column 10"},
		"missing comma":          {"{\"free\":[]\n\"shop\":1}", []string{"body:BAD_FORM"}, "line 2, column 1"},
		"single quotes":          {`{'free':[]}`, []string{"body:BAD_FORM"}, "column 2"},
		"bare NaN":               {`{"given":{"stickOutMm":NaN}}`, []string{"body:BAD_FORM"}, "is not JSON"},
		"garbage behind":         {`{} {}`, []string{"body:BAD_FORM"}, "column 4"},
		"not UTF-8":              {"{\"recipe\":\"\xc3\x28\"}", []string{"body:BAD_FORM"}, "UTF-8"},
		"half a surrogate pair":  {`{"recipe":"\ud800"}`, []string{"body:BAD_FORM"}, "cannot be read"},
		"nested without end":     {strings.Repeat("[", 100_000), []string{"body:BAD_FORM"}, "is not JSON"},
		"nested below a name":    {`{"rig":` + strings.Repeat(`{"rig":`, 5000) + `1` + strings.Repeat(`}`, 5001), []string{"rig.rig:UNKNOWN_FIELD"}, "known here"},
		"everything at once": {
			`{"recipee":"x","given":{"stickOutMm":"45mm","legDeg":1},"free":[1,"X"],"rig":[]}`,
			[]string{"recipee:UNKNOWN_FIELD", "given.stickOutMm:NOT_A_NUMBER", "given.legDeg:UNKNOWN_FIELD", "free[1]:UNKNOWN_VALUE", "rig:BAD_FORM"},
			"did you mean recipe?",
		},
	} {
		a := wantRefusal(t, post(handler, solvePath, c.body), http.StatusBadRequest, "INVALID_FIELD")
		if got := a.violations(); !slices.Equal(got, c.violations) {
			t.Errorf("%s: violations %v, want %v", name, got, c.violations)
		}
		if !strings.Contains(a.Message, c.says) {
			t.Errorf("%s: %q does not say %q", name, a.Message, c.says)
		}
	}
}

func TestAnswersToHopelessBodiesAreBounded(t *testing.T) {
	body := `{"x":0` + strings.Repeat(`,"`+strings.Repeat("y", 100)+`":1`, 5000) + `}`
	w := post(echoing(t), solvePath, body)
	a := wantRefusal(t, w, http.StatusBadRequest, "INVALID_FIELD")
	if n := len(a.violations()); n != 20 || w.Body.Len() > 20_000 {
		t.Errorf("%d violations in %d bytes", n, w.Body.Len())
	}
}

// What JSON can say and a number cannot be arrives at the service, which refuses it for gRPC and REST alike.
func TestNumbersThatAreNoneAreRefusedByTheService(t *testing.T) {
	handler := echoing(t)
	for _, value := range []string{`"NaN"`, `"Infinity"`, `"-Infinity"`} {
		a := wantRefusal(t, post(handler, solvePath, `{"given":{"stickOutMm":`+value+`}}`), http.StatusBadRequest, "INVALID_FIELD")
		if got := a.violations(); !slices.Equal(got, []string{"given.stick_out_mm:NOT_FINITE"}) {
			t.Errorf("%s: %v", value, got)
		}
	}
	a := wantRefusal(t, post(handler, solvePath, `{"given":{"stickOutMm":-5}}`), http.StatusBadRequest, "INVALID_FIELD")
	if got := a.violations(); !slices.Equal(got, []string{"given.stick_out_mm:OUT_OF_RANGE"}) {
		t.Errorf("-5: %v", got)
	}
}

func TestBodiesOverTheLimit(t *testing.T) {
	const limit = 1000
	_, handler := behind(t, service.Config{Grind: solver{solve: echoes}}, gateway.Options{MaxBodyBytes: limit})
	large := `{"recipe":"` + strings.Repeat("a", limit) + `"}`
	for name, r := range map[string]*http.Request{
		"said beforehand": httptest.NewRequest(http.MethodPost, solvePath, strings.NewReader(large)),
		"in pieces":       httptest.NewRequest(http.MethodPost, solvePath, io.MultiReader(strings.NewReader(large))),
	} {
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		if a := wantRefusal(t, w, http.StatusTooManyRequests, "BODY_TOO_LARGE"); !strings.Contains(a.Message, "1000") {
			t.Errorf("%s: %q does not say the limit", name, a.Message)
		}
	}
	fits := `{"rig":{}}` + strings.Repeat(" ", limit-10)
	if w := post(handler, solvePath, fits); w.Code != http.StatusOK {
		t.Errorf("a body of just the limit: %d %s", w.Code, w.Body)
	}
}

func TestWhatIsSaidOutsideTheBodyIsNotOverlooked(t *testing.T) {
	handler := echoing(t)
	a := wantRefusal(t, post(handler, solvePath, `{}`, "Content-Type", "application/x-www-form-urlencoded"), http.StatusUnsupportedMediaType, "INVALID_FIELD")
	if got := a.violations(); !slices.Equal(got, []string{"Content-Type:BAD_FORM"}) || !strings.Contains(a.Message, "application/json") {
		t.Errorf("%v %s", got, a.Message)
	}
	wantRefusal(t, post(handler, solvePath, `{}`, "Content-Type", "application/json; charset=latin1"), http.StatusUnsupportedMediaType, "INVALID_FIELD")
	a = wantRefusal(t, post(handler, solvePath+"?recipe=x", `{}`), http.StatusBadRequest, "INVALID_FIELD")
	if got := a.violations(); !slices.Equal(got, []string{"recipe:UNKNOWN_FIELD"}) {
		t.Errorf("%v", got)
	}
	a = wantRefusal(t, post(handler, solvePath, `{}`, "Grpc-Timeout", "soon"), http.StatusBadRequest, "INVALID_FIELD")
	if got := a.violations(); !slices.Equal(got, []string{"Grpc-Timeout:BAD_FORM"}) {
		t.Errorf("%v", got)
	}
}

func TestWrongPathsAndMethods(t *testing.T) {
	handler := echoing(t)
	for _, path := range []string{
		"/v1", "/v1/", "/v1/shops/main:solveEverything", "/v1/shops/a/b:solveSetup", "/v2:solveSetup", "/favicon.ico",
		"//", "/v1//shops/main:solveSetup", "/../etc/passwd", "/v1/shops/main:solveSetup/",
	} {
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			wantRefusal(t, send(handler, method, path, `{}`), http.StatusNotFound, "NO_SUCH_METHOD")
		}
	}
	for _, method := range []string{http.MethodGet, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions, "BREW"} {
		for _, path := range []string{solvePath, "/v1:predictGrind"} {
			w := send(handler, method, path, ``)
			wantRefusal(t, w, http.StatusMethodNotAllowed, "NO_SUCH_METHOD")
			if allow := w.Header().Get("Allow"); allow != "POST" {
				t.Errorf("%s %s: Allow %q", method, path, allow)
			}
		}
	}
	for _, path := range []string{"/", "/openapi.json", "/docs/", "/healthz", "/readyz"} {
		w := post(handler, path, `{}`)
		wantRefusal(t, w, http.StatusMethodNotAllowed, "NO_SUCH_METHOD")
		if allow := w.Header().Get("Allow"); allow != "GET, HEAD" {
			t.Errorf("POST %s: Allow %q", path, allow)
		}
	}
	override := post(handler, solvePath, `{}`, "X-HTTP-Method-Override", "DELETE")
	if override.Code != http.StatusOK {
		t.Errorf("a header changed the method: %d", override.Code)
	}
}

// Every route of the description leads somewhere, and 405 knows its methods.
func TestEveryDescribedRouteIsServed(t *testing.T) {
	var description struct{ Paths map[string]map[string]any }
	if err := json.Unmarshal(openapi.JSON, &description); err != nil {
		t.Fatal(err)
	}
	if len(description.Paths) < 4 {
		t.Fatalf("only %d paths", len(description.Paths))
	}
	handler := echoing(t)
	for path := range description.Paths {
		path = regexp.MustCompile(`\{[^}]*\}`).ReplaceAllString(path, "main")
		if w := send(handler, "BREW", path, ""); w.Code != http.StatusMethodNotAllowed || w.Header().Get("Allow") == "" {
			t.Errorf("%s: %d, Allow %q", path, w.Code, w.Header().Get("Allow"))
		}
	}
}

func TestPanicInTheServiceIsInternal(t *testing.T) {
	_, handler := behind(t, service.Config{Grind: solver{
		solve: func(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
			if req.GetRig() == nil {
				panic("a wheel fell off")
			}
			return echoes(ctx, req)
		},
	}}, gateway.Options{})
	a := wantRefusal(t, post(handler, solvePath, `{}`), http.StatusInternalServerError, "INTERNAL")
	if strings.Contains(a.Message, "wheel") {
		t.Errorf("the caller is told what broke: %s", a.Message)
	}
	if w := post(handler, solvePath, `{"rig":{}}`); w.Code != http.StatusOK {
		t.Errorf("the next call: %d %s", w.Code, w.Body)
	}
}

func TestPanicInTheGatewayIsInternal(t *testing.T) {
	var log bytes.Buffer
	_, handler := behind(t, service.Config{}, gateway.Options{
		Logger: slog.New(slog.NewTextHandler(&log, nil)),
		Pages:  map[string]http.Handler{"/broken": http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("a page fell out") })},
	})
	wantRefusal(t, send(handler, http.MethodGet, "/broken", ""), http.StatusInternalServerError, "INTERNAL")
	if !strings.Contains(log.String(), "a page fell out") {
		t.Errorf("the log does not say what broke: %s", &log)
	}
}

func TestTimeRunsOut(t *testing.T) {
	_, handler := behind(t, service.Config{Grind: solver{solve: waits}}, gateway.Options{Timeout: 20 * time.Millisecond})
	wantRefusal(t, post(handler, solvePath, `{}`), http.StatusGatewayTimeout, "TIMED_OUT")
	_, handler = behind(t, service.Config{Grind: solver{solve: waits}}, gateway.Options{Timeout: time.Hour})
	wantRefusal(t, post(handler, solvePath, `{}`, "Grpc-Timeout", "20m"), http.StatusGatewayTimeout, "TIMED_OUT")
}

func TestCallerGivesUp(t *testing.T) {
	arrived, ended := make(chan struct{}), make(chan struct{})
	_, handler := behind(t, service.Config{Grind: solver{
		solve: func(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
			close(arrived)
			defer close(ended)
			return waits(ctx, req)
		},
	}}, gateway.Options{})
	ctx, cancel := context.WithCancel(t.Context())
	go func() {
		<-arrived
		cancel()
	}()
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, httptest.NewRequest(http.MethodPost, solvePath, strings.NewReader(`{}`)).WithContext(ctx))
	<-ended // the call ends with its caller
	wantRefusal(t, w, 499, "CANCELLED")
}

func TestServiceAway(t *testing.T) {
	conn, err := grpc.NewClient("passthrough:///nobody", grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithContextDialer(func(context.Context, string) (net.Conn, error) { return nil, errors.New("nobody there") }))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	handler, err := gateway.New(conn, gateway.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []*httptest.ResponseRecorder{post(handler, solvePath, `{}`), send(handler, http.MethodGet, "/readyz", "")} {
		a := wantRefusal(t, w, http.StatusServiceUnavailable, "SERVICE_UNAVAILABLE")
		if w.Header().Get("Retry-After") != "1" || strings.Contains(a.Message, "nobody") {
			t.Errorf("Retry-After %q: %s", w.Header().Get("Retry-After"), a.Message)
		}
	}
	if w := send(handler, http.MethodGet, "/healthz", ""); w.Code != http.StatusOK {
		t.Errorf("the gateway itself is alive, but says %d", w.Code)
	}
}

// A body that trickles in is given up, and the server goes on.
func TestSlowCaller(t *testing.T) {
	server := httptest.NewUnstartedServer(echoing(t))
	server.Config.ReadTimeout = 100 * time.Millisecond
	server.Start()
	defer server.Close()
	conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", server.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := io.WriteString(conn, "POST "+solvePath+" HTTP/1.1\r\nHost: x\r\nContent-Length: 100\r\n\r\n{"); err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(conn)
	if err != nil {
		t.Fatal(err)
	}
	if s := string(text); !strings.HasPrefix(s, "HTTP/1.1 504 ") || !strings.Contains(s, `"reason":"TIMED_OUT"`) {
		t.Errorf("the slow caller is answered %q", s)
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	resp, err := client.Post(server.URL+solvePath, "application/json", strings.NewReader(`{}`))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		t.Errorf("the next caller gets %d", resp.StatusCode)
	}
}

func TestRequestIDsGoInAndOut(t *testing.T) {
	var log bytes.Buffer
	_, handler := behind(t, service.Config{Grind: solver{solve: echoes}, Logger: slog.New(slog.NewTextHandler(&log, nil))}, gateway.Options{})
	w := post(handler, solvePath, `{}`, "X-Request-Id", "bench-3")
	if got := w.Header().Values("X-Request-Id"); !slices.Equal(got, []string{"bench-3"}) || !strings.Contains(log.String(), "request_id=bench-3") {
		t.Errorf("header %v, service's log:\n%s", got, &log)
	}
	w = post(handler, solvePath, `{}`, "X-Request-Id", "has space")
	made := w.Header().Get("X-Request-Id")
	if len(made) < 20 || !strings.Contains(log.String(), "request_id="+made) {
		t.Errorf("made %q, service's log:\n%s", made, &log)
	}
	w = post(handler, solvePath, `{"x":1}`, "X-Request-Id", "bench-4")
	if id := readAnswer(t, w).Details[0].Metadata["request_id"]; id != "bench-4" {
		t.Errorf("the gateway's own refusal names %q", id)
	}
}

func TestOnlyTheRequestIDPassesOfTheHeaders(t *testing.T) {
	_, handler := behind(t, service.Config{Grind: solver{solve: echoes}}, gateway.Options{})
	w := post(handler, solvePath, `{}`, "Grpc-Metadata-X-Request-Id", "smuggled", "X-Request-Id", "said")
	if got := w.Header().Get("X-Request-Id"); got != "said" || strings.Contains(strings.Join(slices.Sorted(maps.Keys(w.Header())), " "), "Grpc") {
		t.Errorf("headers %v", w.Header())
	}
}

func TestSafeHeaders(t *testing.T) {
	handler := echoing(t)
	for _, w := range []*httptest.ResponseRecorder{post(handler, solvePath, `{}`), post(handler, solvePath, `{"x":1}`), send(handler, "GET", "/nowhere", "")} {
		if w.Header().Get("X-Content-Type-Options") != "nosniff" || w.Header().Get("Cache-Control") != "no-store" ||
			!strings.Contains(w.Header().Get("Content-Security-Policy"), "default-src 'none'") {
			t.Errorf("headers %v", w.Header())
		}
	}
}

func TestReadinessIsApartFromLiveness(t *testing.T) {
	s, handler := behind(t, service.Config{}, gateway.Options{})
	for _, path := range []string{"/healthz", "/readyz"} {
		if w := send(handler, http.MethodGet, path, ""); w.Code != http.StatusOK {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	s.Drain()
	if w := send(handler, http.MethodGet, "/healthz", ""); w.Code != http.StatusOK {
		t.Errorf("draining, /healthz: %d", w.Code)
	}
	w := send(handler, http.MethodGet, "/readyz", "")
	wantRefusal(t, w, http.StatusServiceUnavailable, "SERVICE_UNAVAILABLE")
}

var otherHost = regexp.MustCompile(`(?i)(?:src|href|action)\s*=\s*["']?(?:https?:)?//|url\(\s*["']?(?:https?:)?//|@import`)

// The page that browses the API, and all it loads, comes from this server.
func TestPagesWorkWithoutANetwork(t *testing.T) {
	handler := withKiosk(t, gateway.Kiosk{Files: built(t)})
	for _, path := range []string{"/", "/docs/"} {
		w := send(handler, http.MethodGet, path, "")
		page := w.Body.String()
		if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			t.Fatalf("%s: %d %s", path, w.Code, w.Header())
		}
		if found := otherHost.FindString(page); found != "" {
			t.Errorf("%s asks another host: %s", path, found)
		}
		policy := w.Header().Get("Content-Security-Policy")
		if !strings.Contains(policy, "default-src 'none'") || !strings.Contains(policy, "connect-src 'self'") || strings.Contains(policy, "//") {
			t.Errorf("%s: policy %q", path, policy)
		}
		links := regexp.MustCompile(`(?:src|href)="([^"]+)"`).FindAllStringSubmatch(page, -1)
		if len(links) < 3 {
			t.Errorf("%s: only %d links", path, len(links))
		}
		for _, link := range links {
			if link[1] == "/metrics" { // whoever serves it mounts it
				continue
			}
			if w := send(handler, http.MethodGet, link[1], ""); w.Code != http.StatusOK || w.Body.Len() == 0 {
				t.Errorf("%s links to %s, which answers %d", path, link[1], w.Code)
			}
		}
	}
	if docs := send(handler, http.MethodGet, "/docs/", "").Body.String(); !strings.Contains(docs, `/openapi.json`) {
		t.Error("/docs/ does not show our description")
	}
	if w := send(handler, http.MethodGet, "/docs", ""); w.Code != http.StatusMovedPermanently || w.Header().Get("Location") != "/docs/" {
		t.Errorf("/docs: %d %s", w.Code, w.Header().Get("Location"))
	}
}

func TestOtherHostsWouldBeFound(t *testing.T) {
	for text, want := range map[string]bool{
		`<script src="https://cdn.example/x.js">`: true, `<link href='//cdn.example/x.css'>`: true, `url(http://x.example/f)`: true,
		`<script src="/docs/x.js">`: false, `<a href="/openapi.json">`: false,
	} {
		if got := otherHost.MatchString(text); got != want {
			t.Errorf("%s: %v", text, got)
		}
	}
}

func TestDescriptionIsServed(t *testing.T) {
	w := send(echoing(t), http.MethodGet, "/openapi.json", "")
	if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/json" || !bytes.Equal(w.Body.Bytes(), openapi.JSON) {
		t.Errorf("%d %v", w.Code, w.Header())
	}
}

func TestFurtherPages(t *testing.T) {
	_, handler := behind(t, service.Config{}, gateway.Options{Pages: map[string]http.Handler{
		"/metrics": http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "numbers") }),
	}})
	if w := send(handler, http.MethodGet, "/metrics", ""); w.Body.String() != "numbers" {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}

func TestOwnRefusalsAreLoggedAndCounted(t *testing.T) {
	var log bytes.Buffer
	reg := prometheus.NewRegistry()
	_, handler := behind(t, service.Config{Grind: solver{solve: echoes}}, gateway.Options{Logger: slog.New(slog.NewTextHandler(&log, nil)), Registerer: reg})
	post(handler, solvePath, `{"secret":1}`)
	post(handler, solvePath, `{"given":{"stickOutMm":-5}}`) // the service's to count
	send(handler, http.MethodGet, "/nowhere", "")
	err := testutil.GatherAndCompare(reg, strings.NewReader(`
		# HELP arris_gateway_refusals_total Requests that the gateway refused by itself, by the reason the caller was given.
		# TYPE arris_gateway_refusals_total counter
		arris_gateway_refusals_total{reason="INVALID_FIELD"} 1
		arris_gateway_refusals_total{reason="NO_SUCH_METHOD"} 1
	`))
	if err != nil {
		t.Error(err)
	}
	if text := log.String(); strings.Count(text, "refused by the gateway") != 2 || strings.Contains(text, "secret") {
		t.Errorf("log:\n%s", text)
	}
	if _, err := gateway.New(nil, gateway.Options{Registerer: reg}); err == nil {
		t.Error("two gateways share a registry")
	}
}
