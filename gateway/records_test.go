package gateway_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"arris.example/gateway"
	"arris.example/service"
)

// Of a record's body, everything that is wrong is told as of a whole request, whichever method it comes with.
func TestRecordBodies(t *testing.T) {
	_, handler := behind(t, service.Config{Demo: true}, gateway.Options{})
	const holders, clamp = "/v1/shops/main/holders", "/v1/shops/main/holders/bar-clamp"
	for _, c := range []struct {
		method, path, content, body string
		status                      int
		says                        string
	}{
		{http.MethodPost, holders, "application/json", `{"clamp":{"barBehindFaceMm":14,"barBelowMm":16}}`, http.StatusOK, `"name":"shops/main/holders/h-`},
		{http.MethodPost, holders + "?holderId=mine", "application/json", `{"clamp":{"barBehindFaceMm":14,"barBelowMm":16}}`, http.StatusOK, `"name":"shops/main/holders/mine"`},
		{http.MethodPatch, clamp, "application/json", `{"displayName":"Mine"}`, http.StatusOK, `"displayName":"Mine"`},
		{http.MethodPatch, clamp, "application/json", `{"clamp":{"barBelowMm":17}}`, http.StatusOK, `"barBehindFaceMm":14`},
		{http.MethodPost, holders, "application/json", `{"sharpness":3}`, http.StatusBadRequest, "sharpness"},
		{http.MethodPatch, clamp, "application/json", `{"dispalyName":"x"}`, http.StatusBadRequest, "did you mean displayName?"},
		{http.MethodPatch, clamp, "application/json", `{"clamp":{"barBelow":17}}`, http.StatusBadRequest, `"fieldViolations":[{"field":"clamp.barBelow","description":"is not known; did you mean barBelowMm?","reason":"UNKNOWN_FIELD"}]`},
		{http.MethodPatch, clamp, "application/json", `{"clamp":{"barBelowMm":"17 mm"}}`, http.StatusBadRequest, "clamp.barBelowMm"},
		{http.MethodPost, holders, "application/json", `null`, http.StatusBadRequest, "must be an object"},
		{http.MethodPatch, clamp, "application/json", `null`, http.StatusBadRequest, "must be an object"},
		{http.MethodPatch, clamp, "application/json", ``, http.StatusBadRequest, "is empty"},
		{http.MethodPost, holders, "text/plain", `{}`, http.StatusUnsupportedMediaType, "Content-Type"},
		{http.MethodPatch, clamp, "application/x-www-form-urlencoded", `{}`, http.StatusUnsupportedMediaType, "Content-Type"},
		{http.MethodPatch, clamp + "?sharpness=3", "application/json", `{"displayName":"x"}`, http.StatusBadRequest, "sharpness"},
		{http.MethodGet, holders + "?fliter=name", "", ``, http.StatusBadRequest, `"fieldViolations":[{"field":"fliter","description":"is not known; did you mean filter?","reason":"UNKNOWN_FIELD"}]`},
		{http.MethodGet, holders + "?filter=name+%3D+(", "", ``, http.StatusBadRequest, `"message":"filter: cannot be read from character `},
		{http.MethodGet, holders + "?page_size=1&showDeleted=true", "", ``, http.StatusOK, `"nextPageToken":"e`},
		{http.MethodGet, holders + "?pageSize=many", "", ``, http.StatusBadRequest, "many"},
		{http.MethodDelete, "/v1/shops/main/holders/mine", "", ``, http.StatusOK, `"deleteTime":"2`},
		{http.MethodPut, clamp, "application/json", `{}`, http.StatusMethodNotAllowed, "DELETE or GET or PATCH"},
	} {
		r := httptest.NewRequest(c.method, c.path, strings.NewReader(c.body))
		if c.content != "" {
			r.Header.Set("Content-Type", c.content)
		}
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		if w.Code != c.status || !strings.Contains(w.Body.String(), c.says) {
			t.Errorf("%s %s %s: %d %s, want %d %q", c.method, c.path, c.body, w.Code, w.Body, c.status, c.says)
		}
	}
}

// HEAD answers with the headers of GET and no body (RFC 9110, 9.3.2), also where there is nothing.
func TestHeadOfRecords(t *testing.T) {
	_, handler := behind(t, service.Config{Demo: true}, gateway.Options{})
	server := httptest.NewServer(handler)
	t.Cleanup(server.Close)
	type answer struct {
		status int
		kind   string
		length int64
	}
	ask := func(method, path string) (a answer, body []byte) {
		r, err := http.NewRequestWithContext(t.Context(), method, server.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		w, err := server.Client().Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer w.Body.Close()
		if body, err = io.ReadAll(w.Body); err != nil {
			t.Fatal(err)
		}
		return answer{w.StatusCode, w.Header.Get("Content-Type"), w.ContentLength}, body
	}
	for path, status := range map[string]int{"/v1/shops/main/holders/bar-clamp": http.StatusOK, "/v1/shops/main/holders/none": http.StatusNotFound, "/v1/shops/main:solveSetup": http.StatusMethodNotAllowed} {
		get, body := ask(http.MethodGet, path)
		head, nothing := ask(http.MethodHead, path)
		if head != get || head.status != status || len(nothing) > 0 || int64(len(body)) != head.length {
			t.Errorf("HEAD %s: %+v %q; GET: %+v %q", path, head, nothing, get, body)
		}
	}
}

// A change that depends on a header is refused: passed over, it would be written over what the caller has not seen. Reading may say such a header.
func TestPreconditionsOfHTTP(t *testing.T) {
	_, handler := behind(t, service.Config{Demo: true}, gateway.Options{})
	const clamp = "/v1/shops/main/holders/bar-clamp"
	for _, header := range []string{"If-Match", "If-None-Match", "If-Unmodified-Since"} {
		for method, status := range map[string]int{http.MethodPatch: http.StatusBadRequest, http.MethodDelete: http.StatusBadRequest, http.MethodGet: http.StatusOK} {
			r := httptest.NewRequest(method, clamp, strings.NewReader(`{"displayName":"Written over"}`))
			r.Header.Set("Content-Type", "application/json")
			r.Header.Set(header, `"stale"`)
			w := httptest.NewRecorder()
			handler.ServeHTTP(w, r)
			if w.Code != status || strings.Contains(w.Body.String(), "Written over") || (status != http.StatusOK && !strings.Contains(w.Body.String(), "field etag")) {
				t.Errorf("%s with %s: %d %s", method, header, w.Code, w.Body)
			}
		}
	}
}

// A sheet is a file, in one line of curl: its type, a name to be saved by, and nothing in it that may run.
func TestSheetsAreFiles(t *testing.T) {
	_, handler := behind(t, service.Config{Demo: true}, gateway.Options{})
	const ask = `"setup":{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`
	for _, c := range []struct {
		path, body, content, begins, policy string
	}{
		{"/v1/shops/main:renderSheet", "{" + ask + "}", "application/pdf", "%PDF-", "frame-ancestors 'none'"},
		{"/v1/shops/main:renderSheet", `{"format":"SHEET_FORMAT_SVG","paperSize":"PAPER_SIZE_LETTER",` + ask + "}", "image/svg+xml", "<?xml", "sandbox"},
		{"/v1:renderSheet", `{"setup":{"rig":{"inlineWheel":{"diameterMm":200},"inlineHolder":{"none":{}},"inlineTool":{"kind":"TOOL_KIND_SCRAPER","bladeThicknessMm":6}},"grind":{"bevels":[{"frontAngleDeg":75}]}}}`,
			"application/pdf", "%PDF-", "default-src 'none'"},
		{"/v1/shops/main:renderGauge", "{" + ask + "}", "application/pdf", "%PDF-", "default-src 'none'"},
		{"/v1/shops/main:renderGauge", `{"format":"GAUGE_FORMAT_DXF",` + ask + "}", "image/vnd.dxf", "  0\nSECTION", "default-src 'none'"},
		{"/v1/shops/main:renderGauge", `{"kind":"GAUGE_KIND_BEVEL",` + ask + "}", "application/pdf", "%PDF-", "default-src 'none'"},
		{"/v1/shops/main:renderGauge", `{"kind":"GAUGE_KIND_LEG","format":"GAUGE_FORMAT_SVG",` + ask + "}", "image/svg+xml", "<?xml", "sandbox"},
	} {
		w := post(handler, c.path, c.body, "Content-Type", "application/json")
		header := w.Header()
		if w.Code != http.StatusOK || header.Get("Content-Type") != c.content || !strings.HasPrefix(w.Body.String(), c.begins) {
			t.Errorf("%s: %d %s %.40q", c.path, w.Code, header.Get("Content-Type"), w.Body)
		}
		if !strings.Contains(header.Get("Content-Security-Policy"), c.policy) || header.Get("X-Content-Type-Options") != "nosniff" ||
			!strings.HasPrefix(header.Get("Content-Disposition"), "inline; filename=") {
			t.Errorf("%s: %v", c.path, header)
		}
	}
	for body, says := range map[string]string{
		`{}`: "rig.wheel",
		`{"format":"SHEET_FORMAT_SVG","page":2,` + ask + "}": "there are 1",
		`{"page":1,` + ask + "}":                             "a PDF has all pages",
		`{"format":"SHEET_FORMAT_DOCX",` + ask + "}":         "SHEET_FORMAT_DOCX",
		`{"setup":{"recipe":"shops/main/recipes/none"}}`:     "nearest",
		`{"setup":{"grind":{"bevels":[{"frontAngleDeg":50},{"frontAngleDeg":55}]},"rig":{"station":"shops/main/stations/north","holder":"shops/main/holders/swing"}}}`: "BEVELS_NOT_FALLING",
	} {
		if w := post(handler, "/v1/shops/main:renderSheet", body, "Content-Type", "application/json"); w.Code < 400 || w.Code >= 500 || !strings.Contains(w.Body.String(), says) {
			t.Errorf("%s: %d %s", body, w.Code, w.Body)
		}
	}
}
