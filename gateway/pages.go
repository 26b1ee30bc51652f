package gateway

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/swaggest/swgui/v5emb"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/proto/openapi"
)

const (
	docsPath    = "/docs/"
	openapiPath = "/openapi.json"
	// probeTimeout is how long the service may take to say whether it is ready.
	probeTimeout = 2 * time.Second
)

//go:embed index.html
var indexPage []byte

// pageSecurity lets a page use what this server serves and nothing else: no other host is asked for anything, whatever a
// bundle would like. The page for browsing has its start-up script and styles written into it.
const pageSecurity = "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; " +
	"img-src 'self' data:; font-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// ownPages are the paths that are no methods of the API.
func (g *gateway) ownPages(conn grpc.ClientConnInterface, opts Options) map[string]http.Handler {
	pages := map[string]http.Handler{
		"/":                                fixed("text/html; charset=utf-8", indexPage),
		openapiPath:                        fixed("application/json", openapi.JSON),
		strings.TrimSuffix(docsPath, "/"):  http.RedirectHandler(docsPath, http.StatusMovedPermanently),
		strings.TrimSuffix(kioskPath, "/"): http.RedirectHandler(kioskPath, http.StatusMovedPermanently),
		kioskConfigPath:                    kioskConfig(opts.Kiosk),
		"/healthz":                         fixed("application/json", []byte(`{"status":"alive"}`)),
		"/readyz":                          g.readiness(healthv1.NewHealthClient(conn)),
	}
	for path, handler := range opts.Pages {
		pages[path] = handler
	}
	for path, handler := range pages {
		pages[path] = g.readOnly(handler)
	}
	g.docs = g.readOnly(g.docs)
	return pages
}

// readOnly lets GET and HEAD through.
func (g *gateway) readOnly(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			g.wrongMethod(w, r, http.MethodGet, http.MethodHead)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// fixed serves the same bytes to everybody.
func fixed(contentType string, content []byte) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		if strings.HasPrefix(contentType, "text/html") {
			w.Header().Set("Content-Security-Policy", pageSecurity)
		}
		w.Header().Set("Content-Type", contentType)
		_, _ = w.Write(content)
	})
}

// docsPage is the page that browses the API's description, with everything it needs in this program.
func docsPage() http.Handler {
	page := v5emb.New("Arris API", openapiPath, docsPath)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", pageSecurity)
		w.Header().Set("Cache-Control", "no-cache") // may be kept, must be asked about
		page.ServeHTTP(w, r)
	})
}

// readiness tells whether calls would be answered, which a live process may not be ready for.
func (g *gateway) readiness(health healthv1.HealthClient) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), probeTimeout)
		defer cancel()
		answer, err := health.Check(ctx, &healthv1.HealthCheckRequest{})
		if err == nil && answer.GetStatus() == healthv1.HealthCheckResponse_SERVING {
			fixed("application/json", []byte(`{"status":"ready"}`)).ServeHTTP(w, r)
			return
		}
		g.refuse(w, r, refusal{
			code: codes.Unavailable, reason: arrisv1.Reason_REASON_SERVICE_UNAVAILABLE, message: "the service is ending, or its store does not answer; ask again soon",
		})
	})
}

// routes are the paths of the API with their HTTP methods, as its description lists them.
type routes []route

type route struct {
	path    *regexp.Regexp
	methods []string
}

var pathVariable = regexp.MustCompile(`\\\{[^}]*\\\}`)

func readRoutes() (routes, error) {
	var description struct {
		Paths map[string]map[string]json.RawMessage `json:"paths"`
	}
	if err := json.Unmarshal(openapi.JSON, &description); err != nil {
		return nil, fmt.Errorf("the API's description: %w", err)
	}
	var all routes
	for path, operations := range description.Paths {
		pattern, err := regexp.Compile("^" + pathVariable.ReplaceAllString(regexp.QuoteMeta(path), "[^/:]+") + "$")
		if err != nil {
			return nil, fmt.Errorf("the API's description: path %s: %w", path, err)
		}
		var methods []string
		for method := range operations {
			if method = strings.ToUpper(method); slices.Contains(httpMethods, method) {
				methods = append(methods, method)
			}
		}
		slices.Sort(methods)
		all = append(all, route{pattern, methods})
	}
	return all, nil
}

var httpMethods = []string{http.MethodGet, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete}

// allowed is the methods a path takes.
func (all routes) allowed(path string) []string {
	var methods []string
	for _, r := range all {
		if r.path.MatchString(path) {
			methods = append(methods, r.methods...)
		}
	}
	slices.Sort(methods)
	return slices.Compact(methods)
}
