package gateway_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"arris.example/gateway"
	"arris.example/service"
)

const codePublic = "https://grinding.example.org"

// A code on paper leads to the kiosk's page with what it holds, and nowhere else whatever is in it.
func TestCodesLeadToTheKiosk(t *testing.T) {
	handler := echoing(t)
	for path, want := range map[string]string{
		"/s?shop=main&recipe=bowl-50/3&station=north&wheel=north-fine&tool=bowl-gouge-12&diameter_mm=187.4&as_of_time=2026-11-28T14:54:33.818Z&own_settings=true": "sheet?shop=main&recipe=bowl-50/3&station=north&wheel=north-fine&tool=bowl-gouge-12&diameter_mm=187.4&as_of_time=2026-11-28T14:54:33.818Z&own_settings=true",
		"/s?shop=main&as_of_time=2026-11-28T14:54:33Z":       "sheet?shop=main&as_of_time=2026-11-28T14:54:33Z",
		"/l?shop=main&code=T.BOWL-GOUGE-12.3":                "code?shop=main&code=T.BOWL-GOUGE-12.3",
		"/l?shop=main&code=%23%2F%2Fevil.example%0d%0aX%3A1": "code?shop=main&code=" + url.QueryEscape("#//evil.example\r\nX:1"),
	} {
		for _, method := range []string{http.MethodGet, http.MethodHead} {
			w := send(handler, method, path, "")
			at, err := url.Parse(codePublic + path)
			if err != nil {
				t.Fatal(err)
			}
			to, err := at.Parse(w.Header().Get("Location"))
			if w.Code != http.StatusSeeOther || err != nil {
				t.Fatalf("%s: %d %s %v", path, w.Code, w.Header().Get("Location"), err)
			}
			if to.Scheme+"://"+to.Host+to.Path != codePublic+"/kiosk/" || to.RawQuery != "" {
				t.Errorf("%s leads to %s", path, to)
			}
			view, holds, _ := strings.Cut(to.EscapedFragment(), "?")
			wantView, wantHolds, _ := strings.Cut(want, "?")
			got, err := url.ParseQuery(holds)
			wanted, _ := url.ParseQuery(wantHolds)
			if view != wantView || err != nil || got.Encode() != wanted.Encode() {
				t.Errorf("%s: %s, want %s", path, to.Fragment, want)
			}
		}
	}
	// Behind a proxy that puts a path before all of them, the page is below that path too.
	at, _ := url.Parse(codePublic + "/arris/s")
	if to, err := at.Parse(send(handler, http.MethodGet, "/s?shop=main&as_of_time=2026-11-28T14:54:33Z", "").Header().Get("Location")); err != nil || to.Path != "/arris/kiosk/" {
		t.Error(to, err)
	}
}

func TestCodesThatLeadNowhere(t *testing.T) {
	handler := echoing(t)
	const whole = "/s?shop=main&as_of_time=2026-11-28T14:54:33Z"
	for path, says := range map[string]string{
		"/s":           "shop",
		"/s?shop=main": "as_of_time",
		"/s?shop=Main%2F..&as_of_time=2026-11-28T14:54:33Z": "shop",
		whole + "&station=//evil.example":                   "station",
		whole + "&recipe=bowl-50":                           "recipe",
		whole + "&recipe=bowl-50/0":                         "recipe",
		whole + "&diameter_mm=-1":                           "diameter_mm",
		whole + "&diameter_mm=NaN":                          "diameter_mm",
		whole + "&diameter_mm=big":                          "big",
		whole + "&next=https://evil.example":                "next",
		whole + "&station=north&station=south":              "2 times",
		whole + "&shop=other":                               "2 times",
		whole + "&tool=" + strings.Repeat("a", 2000):        "2000",
		whole + "&tool=%zz":                                 "escape",
		"/l?shop=main":                                      "code",
		"/l?code=T.BOWL-GOUGE-12.3":                         "shop",
		"/l?shop=main&code=x&url=https://evil.example":      "url",
	} {
		w := send(handler, http.MethodGet, path, "")
		if a := readAnswer(t, w); w.Code != http.StatusBadRequest || w.Header().Get("Location") != "" || !strings.Contains(a.Message, says) {
			t.Errorf("%.80s: %d %s %s; want %q", path, w.Code, w.Header().Get("Location"), a.Message, says)
		}
	}
	if w := send(handler, http.MethodPost, whole, ""); w.Code != http.StatusMethodNotAllowed {
		t.Errorf("posted: %d", w.Code)
	}
}

// A day with codes, over REST: a sheet is made, things change, and its code says so; labels are drawn, scanned and typed.
func TestCodesOverREST(t *testing.T) {
	_, handler := behind(t, service.Config{Demo: true, PublicURL: codePublic}, gateway.Options{})
	s := shop{t, handler}
	made := time.Now().UTC().Format(time.RFC3339Nano)
	held := ":checkSheet?recipe=bowl-50/1&station=north&wheel=north-fine&tool=bowl-gouge-12&diameter_mm=200&as_of_time=" + made
	if found := s.ask(http.StatusOK, http.MethodGet, held, ""); found["superseded"] != false || !strings.Contains(found["text"].(string), "still holds") {
		t.Error(found)
	}
	s.post("/wheels/north-fine/measurements", `{"diameterMm":197}`)
	found := s.ask(http.StatusOK, http.MethodGet, held+"&wording.length_unit=LENGTH_UNIT_INCH", "")
	if found["superseded"] != true || !strings.Contains(found["text"].(string), "7 3/4 in") {
		t.Error(found)
	}
	found = s.ask(http.StatusOK, http.MethodGet, held, "")
	change, _ := found["changes"].([]any)[0].(map[string]any)
	if change["kind"] != "SHEET_CHANGE_KIND_SETTINGS_MOVED" || s.number(found, "settings.0.from") != 108.5 || s.number(found, "offDeg") > -0.05 {
		t.Error(found)
	}
	s.post("/stations/north:lock", `{"lockReason":"the guard is loose"}`)
	if found = s.ask(http.StatusOK, http.MethodGet, held, ""); !strings.Contains(fmt.Sprint(found["changes"]), "SHEET_CHANGE_KIND_STATION_LOCKED") {
		t.Error(found)
	}
	s.ask(http.StatusNotFound, http.MethodGet, ":resolveCode?code=nothing-of-ours", "")
	s.ask(http.StatusBadRequest, http.MethodGet, ":checkSheet?recipe=bowl-50/1", "")
	s.ask(http.StatusBadRequest, http.MethodGet, held+"&colour=red", "")
	if w := send(handler, http.MethodGet, "/v1/shops/none:checkSheet?as_of_time="+made, ""); w.Code != http.StatusNotFound {
		t.Errorf("%d %s", w.Code, w.Body)
	}

	for code, want := range map[string]string{
		"T.BOWL-GOUGE-12.3":                                             "CODE_KIND_TOOL shops/main/tools/bowl-gouge-12",
		codePublic + "/l?shop=main&code=S.NORTH.G":                      "CODE_KIND_STATION shops/main/stations/north",
		codePublic + "/s?shop=main&recipe=bowl-50/1&as_of_time=" + made: "CODE_KIND_SHEET shops/main/recipes/bowl-50/revisions/1",
	} {
		if found := s.ask(http.StatusOK, http.MethodGet, ":resolveCode?code="+url.QueryEscape(code), ""); fmt.Sprint(found["kind"], " ", found["name"]) != want {
			t.Errorf("%s: %v", code, found)
		}
	}
	// What a sheet's address holds is held to what its request declares.
	s.ask(http.StatusBadRequest, http.MethodGet, ":resolveCode?code="+url.QueryEscape(codePublic+"/s?shop=main&station=..%2F..&as_of_time="+made), "")

	const names = `"names":["shops/main/tools/bowl-gouge-12","shops/main/stations/north"]`
	for body, want := range map[string]string{
		"{" + names + "}": "application/pdf inline; filename=label.pdf",
		"{" + names + `,"format":"LABEL_FORMAT_SVG","page":2}`:                                 "image/svg+xml inline; filename=label.svg",
		"{" + names + `,"size":"LABEL_SIZE_A4_70_BY_37","start":24,"asOfTime":"` + made + `"}`: "application/pdf inline; filename=label.pdf",
	} {
		w := post(handler, "/v1/shops/main:renderLabel", body, "Content-Type", "application/json")
		if got := w.Header().Get("Content-Type") + " " + w.Header().Get("Content-Disposition"); w.Code != http.StatusOK || got != want {
			t.Errorf("%s: %d %s", body, w.Code, got)
		}
	}
	for body, says := range map[string]string{
		`{}`: "names", `{"names":[]}`: "names", `{"names":["shops/main/recipes/bowl-50"]}`: "names[0]", `{"names":["bowl-gouge-12"]}`: "names[0]",
		`{"names":["shops/other/tools/x"]}`: "is not in shops/main", `{"names":["shops/main/tools/bowl-guge-12"]}`: "nearest: shops/main/tools/bowl-gouge-12",
		"{" + names + `,"start":2}`: "has 1 on a page", "{" + names + `,"start":0}`: "start", "{" + names + `,"size":"LABEL_SIZE_10_BY_10"}`: "LABEL_SIZE_10_BY_10",
		"{" + names + `,"page":1}`: "a PDF has all pages", "{" + names + `,"format":"LABEL_FORMAT_SVG","page":3}`: "there are 2",
	} {
		w := post(handler, "/v1/shops/main:renderLabel", body, "Content-Type", "application/json")
		if w.Code < 400 || w.Code >= 500 || !strings.Contains(w.Body.String(), says) {
			t.Errorf("%s: %d %s; want %q", body, w.Code, w.Body, says)
		}
	}
	if w := post(handler, "/v1/shops/main:renderSheet", `{"setup":{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}},"format":"SHEET_FORMAT_SVG"}`,
		"Content-Type", "application/json"); !strings.Contains(w.Body.String(), "Scan for changes.") {
		t.Errorf("a sheet without its code: %d", w.Code)
	}
}
