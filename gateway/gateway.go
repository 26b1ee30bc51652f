// Package gateway is the REST face of the API: it translates HTTP and JSON into gRPC calls, serves the API's description with a page
// to browse it, and answers probes. It dials the service like any client, so that a REST call passes the same interceptors.
package gateway

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"net/http"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
	gatewayv1 "arris.example/proto/gateway/arris/v1"
)

// Defaults of Options.
const (
	DefaultMaxBodyBytes = 1 << 20
	DefaultTimeout      = 10 * time.Second
)

// Options say how to serve. The zero value is fit for use.
type Options struct {
	// MaxBodyBytes is the most a request's body may have; 0: DefaultMaxBodyBytes.
	MaxBodyBytes int64
	// Timeout is how long a call may take when the caller does not ask for less with Grpc-Timeout; 0: DefaultTimeout.
	Timeout time.Duration
	// Logger gets what is refused before it reaches the service; nil: nobody does.
	Logger *slog.Logger
	// Registerer gets the metrics; nil: a registry of the gateway's own, which nobody reads.
	Registerer prometheus.Registerer
	// Pages are further handlers for exact paths, such as `/metrics`.
	Pages map[string]http.Handler
	// Kiosk is the touch page at /kiosk/.
	Kiosk Kiosk
}

type gateway struct {
	pages    map[string]http.Handler
	docs     http.Handler
	kiosk    http.Handler
	mux      *runtime.ServeMux
	calls    http.Handler // mux, with large answers compressed
	routes   routes
	headers  http.Header // of every answer, unless a page has its own
	maxBody  int64
	timeout  time.Duration
	log      *slog.Logger
	refusals *prometheus.CounterVec
}

// New makes the handler for all of REST, calling the service over conn, which the caller keeps open and closes.
func New(conn grpc.ClientConnInterface, opts Options) (http.Handler, error) {
	g := &gateway{
		docs: docsPage(),
		headers: http.Header{
			"X-Content-Type-Options":  {"nosniff"},
			"Content-Security-Policy": {"default-src 'none'; frame-ancestors 'none'"},
			"Cache-Control":           {"no-store"},
		},
		maxBody: cmp.Or(opts.MaxBodyBytes, DefaultMaxBodyBytes),
		timeout: cmp.Or(opts.Timeout, DefaultTimeout),
		log:     cmp.Or(opts.Logger, slog.New(slog.DiscardHandler)),
		refusals: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "arris_gateway_refusals_total",
			Help: "Requests that the gateway refused by itself, by the reason the caller was given.",
		}, []string{"reason"}),
	}
	if opts.Registerer != nil {
		if err := opts.Registerer.Register(g.refusals); err != nil {
			return nil, fmt.Errorf("gateway: metrics: %w", err)
		}
	}
	var err error
	if g.routes, err = readRoutes(); err != nil {
		return nil, fmt.Errorf("gateway: %w", err)
	}
	assets, err := readAssets(opts.Kiosk.Files)
	if err != nil {
		return nil, fmt.Errorf("gateway: the kiosk's files: %w", err)
	}
	g.kiosk = g.readOnly(g.kioskPage(assets))
	g.pages = g.ownPages(conn, opts)
	g.mux = g.newMux()
	if err := errors.Join(register(g.mux, conn), g.registerFiles(conn)); err != nil {
		return nil, fmt.Errorf("gateway: %w", err)
	}
	if g.calls, err = packed(g.mux); err != nil {
		return nil, fmt.Errorf("gateway: %w", err)
	}
	return g, nil
}

// register routes to all services of a connection.
func register(mux *runtime.ServeMux, conn grpc.ClientConnInterface) error {
	ctx := context.Background()
	return errors.Join(
		gatewayv1.RegisterGrindServiceHandlerClient(ctx, mux, arrisv1.NewGrindServiceClient(conn)),
		gatewayv1.RegisterShopServiceHandlerClient(ctx, mux, arrisv1.NewShopServiceClient(conn)),
		gatewayv1.RegisterWheelServiceHandlerClient(ctx, mux, arrisv1.NewWheelServiceClient(conn)),
		gatewayv1.RegisterToolServiceHandlerClient(ctx, mux, arrisv1.NewToolServiceClient(conn)),
		gatewayv1.RegisterRecipeServiceHandlerClient(ctx, mux, arrisv1.NewRecipeServiceClient(conn)),
		gatewayv1.RegisterSharpeningServiceHandlerClient(ctx, mux, arrisv1.NewSharpeningServiceClient(conn)),
		gatewayv1.RegisterSheetServiceHandlerClient(ctx, mux, arrisv1.NewSheetServiceClient(conn)),
		gatewayv1.RegisterOperationServiceHandlerClient(ctx, mux, arrisv1.NewOperationServiceClient(conn)),
	)
}

func (g *gateway) newMux() *runtime.ServeMux {
	nothing := func(string) (string, bool) { return "", false }
	return runtime.NewServeMux(
		runtime.WithMarshalerOption(runtime.MIMEWildcard, &runtime.HTTPBodyMarshaler{Marshaler: newJSON()}),
		runtime.SetQueryParameterParser(&queryParser{}),
		runtime.WithForwardResponseOption(contained),
		runtime.WithErrorHandler(g.onError),
		runtime.WithRoutingErrorHandler(g.onRoutingError),
		runtime.WithIncomingHeaderMatcher(incomingHeader),
		runtime.WithOutgoingHeaderMatcher(nothing), // the request id is set here already
		runtime.WithOutgoingTrailerMatcher(nothing),
		runtime.WithDisablePathLengthFallback(), // no POST is ever taken for a GET
		runtime.WithWriteContentLength(),
	)
}

// contained keeps a drawing from running anything, wherever it is opened: SVG can hold script. It has a name to be saved by.
func contained(ctx context.Context, w http.ResponseWriter, answer proto.Message) error {
	body, ok := answer.(*httpbody.HttpBody)
	if !ok {
		return nil
	}
	ending := ".pdf"
	switch body.GetContentType() {
	case "image/svg+xml":
		ending = ".svg"
		w.Header().Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'; sandbox")
	case "image/vnd.dxf":
		ending = ".dxf"
	}
	name := "sheet"
	method, _ := runtime.RPCMethod(ctx)
	if _, what, ok := strings.Cut(method, "/Render"); ok { // RenderLabel writes a label
		name = strings.ToLower(what)
	}
	w.Header().Set("Content-Disposition", "inline; filename="+name+ending)
	return nil
}

const requestIDHeader = "X-Request-Id"

// personHeader has the opaque id of whoever calls.
const personHeader = "X-Arris-Person"

// incomingHeader lets the request id and the caller's through to the service, and nothing else that happens to be in a request.
func incomingHeader(name string) (string, bool) {
	return strings.ToLower(name), name == requestIDHeader || name == personHeader
}

// saneID is what a caller's own request id must look like, as in the service.
var saneID = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._:-]{0,63}$`)

func (g *gateway) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if id := r.Header.Values(requestIDHeader); len(id) != 1 || !saneID.MatchString(id[0]) {
		r.Header.Set(requestIDHeader, rand.Text())
	}
	header := w.Header()
	header[requestIDHeader] = r.Header[requestIDHeader]
	maps.Copy(header, g.headers)
	defer g.recovered(w, r)
	g.handlerOf(r.URL.Path).ServeHTTP(w, r)
}

func (g *gateway) handlerOf(path string) http.Handler {
	if page, ok := g.pages[path]; ok {
		return page
	}
	if strings.HasPrefix(path, docsPath) {
		return g.docs
	}
	if strings.HasPrefix(path, kioskPath) {
		return g.kiosk
	}
	return http.HandlerFunc(g.rest)
}

// preconditions are the headers by which HTTP makes a change depend on what was seen (RFC 9110, 13.1). Here that is a field, and a header that
// was passed over would let a change be written over somebody else's.
var preconditions = []string{"If-Match", "If-None-Match", "If-Unmodified-Since"}

// precondition refuses a change that depends on a header.
func precondition(r *http.Request) (refusal, bool) {
	if r.Method == http.MethodGet {
		return refusal{}, false
	}
	for _, header := range preconditions {
		if r.Header.Get(header) != "" {
			return invalid(violation(header, arrisv1.FieldReason_FIELD_REASON_UNKNOWN_FIELD,
				"is not looked at; send the record's etag as the field etag: in the body of PATCH and POST, in the query of DELETE")), true
		}
	}
	return refusal{}, false
}

// timeoutForm is what the gateway's runtime takes for a Grpc-Timeout.
var timeoutForm = regexp.MustCompile(`^[0-9]{1,8}[HMSmun]$`)

func (g *gateway) rest(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodHead { // GET without the body, which the server leaves away
		asGet := *r
		asGet.Method = http.MethodGet
		r = &asGet
	}
	if asked := r.Header.Get("Grpc-Timeout"); asked != "" && !timeoutForm.MatchString(asked) {
		g.refuse(w, r, invalid(violation("Grpc-Timeout", arrisv1.FieldReason_FIELD_REASON_BAD_FORM,
			"is %q; it must be digits and a unit of H, M, S, m, u or n, for example 500m for half a second", asked)))
		return
	}
	if no, depends := precondition(r); depends {
		g.refuse(w, r, no)
		return
	}
	// The library takes `shops/main:solveSetup` for a shop's name where its verb has no such method.
	if r.Method != http.MethodPost && strings.Contains(r.URL.Path, ":") {
		if !slices.Contains(g.routes.allowed(r.URL.Path), r.Method) {
			g.onRoutingError(r.Context(), nil, nil, w, r, http.StatusMethodNotAllowed)
			return
		}
	}
	ctx, cancel := context.WithTimeout(r.Context(), g.timeFor(r.URL.Path))
	defer cancel()
	r = r.WithContext(ctx)
	body := &requestBody{ReadCloser: http.MaxBytesReader(w, r.Body, g.maxBody), request: r, largest: g.maxBody}
	r.Body = body
	if wrong := body.wrongContent(); wrong != nil && r.Method == http.MethodPatch { // of others it is asked when the body is read
		g.refuse(w, r, *wrong)
		return
	}
	g.calls.ServeHTTP(w, r)
}

// recovered keeps a mistake of ours in one request from being silence to its caller.
func (g *gateway) recovered(w http.ResponseWriter, r *http.Request) {
	value := recover()
	if value == nil {
		return
	}
	if value == http.ErrAbortHandler { //nolint:errorlint // net/http compares it so, too
		panic(value)
	}
	g.log.ErrorContext(r.Context(), "panic in the gateway", "panic", fmt.Sprint(value), "stack", string(debug.Stack()),
		"request_id", r.Header.Get(requestIDHeader))
	g.refuse(w, r, refusal{code: codes.Internal, reason: arrisv1.Reason_REASON_INTERNAL,
		message: "something went wrong here that is not your fault; the log has it under the request's id"})
}
