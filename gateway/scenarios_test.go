package gateway_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"arris.example/gateway"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// shop is a shop that is asked over REST.
type shop struct {
	*testing.T
	http.Handler
}

// shopIn serves a shop that is kept in a file.
func shopIn(t *testing.T, file string, role arrisv1.Role) shop {
	t.Helper()
	_, handler := behind(t, service.Config{Demo: true, Store: file, Role: role}, gateway.Options{})
	return shop{t, handler}
}

// ask wants a status, and gives the answer.
func (s shop) ask(status int, method, path, body string) map[string]any {
	s.Helper()
	w := send(s.Handler, method, "/v1/shops/main"+path, body, "Content-Type", "application/json")
	var answer map[string]any
	if err := json.Unmarshal(w.Body.Bytes(), &answer); w.Code != status || err != nil {
		s.Fatalf("%s %s %s: %d %s, want %d", method, path, body, w.Code, w.Body, status)
	}
	return answer
}

func (s shop) post(path, body string) map[string]any {
	s.Helper()
	return s.ask(http.StatusOK, http.MethodPost, path, body)
}

// number is a number in an answer, at a path such as steps.0.edge.
func (s shop) number(in any, path string) float64 {
	s.Helper()
	for part := range strings.SplitSeq(path, ".") {
		switch at := in.(type) {
		case map[string]any:
			in = at[part]
		case []any:
			var i int
			if _, err := fmt.Sscan(part, &i); err == nil && i < len(at) {
				in = at[i]
			}
		}
	}
	n, ok := in.(float64)
	if !ok {
		s.Fatalf("no number at %s", path)
	}
	return n
}

func (s shop) near(what string, got, want, tolerance float64) {
	s.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		s.Errorf("%s is %.6g, want %.6g within %g", what, got, want, tolerance)
	}
}

// says fails unless an answer has a text somewhere, or with not before it unless it has not.
func (s shop) says(answer any, words string) {
	s.Helper()
	text, err := json.Marshal(answer)
	if err != nil {
		s.Fatal(err)
	}
	wanted, not := strings.CutPrefix(words, "not ")
	if strings.Contains(string(text), wanted) == not {
		s.Errorf("want %q in %s", words, text)
	}
}

// A wheel wears, is measured, dressed and replaced, and what is solved with it says what it was believed to be.
func TestWearOverREST(t *testing.T) {
	s := shopIn(t, filepath.Join(t.TempDir(), "shop.db"), 0)
	const solve = `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/%s"}}`
	// A wheel 20 mm smaller than the pocket was set for grinds blunter; set anew to the old gap, keener.
	for setting, want := range map[string]float64{`"slideMm":177.11`: 59.3, `"wheelGapMm":108.49`: 48.0} {
		predicted := s.post(":predictGrind", `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north","inlineWheel":{"diameterMm":180}},
			"settings":{`+setting+`}}`)
		s.near(setting, s.number(predicted, "steps.0.predicted.edgeAngleDeg"), want, 0.05)
	}

	s.post("/wheels?wheelId=worn", `{"diameterMm":200,"measureTime":"2026-06-01T00:00:00Z","smallestDiameterMm":170,"station":"shops/main/stations/west"}`)
	if code := send(s.Handler, http.MethodGet, "/v1/shops/main/wheels/worn:forecastWear", "").Code; code != http.StatusBadRequest {
		t.Errorf("a forecast from one measurement: %d", code)
	}
	for day, diameter := range map[string]float64{"07-02": 198.2, "07-31": 196.7, "09-01": 194.6, "10-02": 193.0, "10-29": 191.2} {
		s.post("/wheels/worn/measurements", fmt.Sprintf(`{"diameterMm":%g,"occurTime":"2026-%sT00:00:00Z"}`, diameter, day))
	}
	// The line and its interval by the e-Handbook of Statistical Methods, 4.1.4.1 and 4.5.1.2, worked out with another program.
	forecast := s.ask(http.StatusOK, http.MethodGet, "/wheels/worn:forecastWear?forecastTime=2026-11-28T00:00:00Z", "")
	s.near("diameter on day 180", s.number(forecast, "diameterMm"), 189.553, 0.001)
	s.near("rate", s.number(forecast, "rateMmPerDay"), 0.0583073, 1e-7)
	german := s.ask(http.StatusOK, http.MethodGet, "/wheels/worn:forecastWear?forecastTime=2026-11-28T00:00:00Z&wording.languageCode=de", "")
	s.says(german, "Am 28. November 2026 sollte sie 189,55 mm")

	s.post("/wheels/worn/measurements", `{"aroundMm":588.7}`)
	s.near("by a strip", s.number(s.ask(http.StatusOK, http.MethodGet, "/wheels/worn", ""), "diameterMm"), 187.4, 0.05)
	before := s.post(":solveSetup", fmt.Sprintf(solve, "west"))
	s.says(before, "not is stale")
	s.post("/wheels/worn/measurements", `{"dressed":true}`)
	stale := s.post(":solveSetup", fmt.Sprintf(solve, "west"))
	s.says(stale, "is stale, ±")
	const doubt = "setup.steps.0.predicted.expandedUncertaintyDeg"
	if was, is := s.number(before, doubt), s.number(stale, doubt); !(is > was) {
		t.Errorf("known within %g° before it was dressed, %g° after", was, is)
	}
	s.post("/wheels/worn/measurements", `{"diameterMm":186.9}`)
	s.says(s.post(":solveSetup", fmt.Sprintf(solve, "west")), "not is stale")

	// Another wheel on the station: what is solved by the station's name is solved with that one, and what was solved before can be again.
	s.post("/wheels?wheelId=fresh", `{"diameterMm":150}`)
	s.post("/wheels/fresh:mount", `{"station":"shops/main/stations/west"}`)
	after := s.post(":solveSetup", fmt.Sprintf(solve, "west"))
	s.near("gap with the new wheel", s.number(after, "setup.steps.0.support.wheelGap.exactMm"), 113.55, 0.005)
	s.says(s.ask(http.StatusOK, http.MethodGet, "/wheels/worn", ""), `"station":""`)
}

// Several people share a shop.
func TestSharingOverREST(t *testing.T) {
	file := filepath.Join(t.TempDir(), "shop.db")
	t.Run("owner", func(t *testing.T) { shareAsOwner(shopIn(t, file, 0)) })
	// Whoever may stop a station may not release it: that takes a higher role, and a reason.
	t.Run("operator", func(t *testing.T) {
		s := shopIn(t, file, arrisv1.Role_ROLE_OPERATOR)
		s.post("/stations/north:lock", `{"lockReason":"the guard is loose"}`)
		s.says(s.post(":solveSetup", `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`), "SEVERITY_STOP")
		s.says(s.ask(http.StatusForbidden, http.MethodPost, "/stations/north:unlock", `{"unlockReason":"tightened"}`), "ROLE_TOO_LOW")
	})
	t.Run("keeper", func(t *testing.T) {
		s := shopIn(t, file, arrisv1.Role_ROLE_KEEPER)
		s.says(s.post(":solveSetup", `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`), "the guard is loose")
		s.says(s.ask(http.StatusBadRequest, http.MethodPost, "/stations/north:unlock", `{}`), "unlock_reason")
		s.post("/stations/north:unlock", `{"unlockReason":"tightened"}`)
		s.says(s.post(":solveSetup", `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`), "not SEVERITY_STOP")
	})
}

func shareAsOwner(s shop) {
	s.Helper()
	const recipe = "/recipes/bowl-50"
	// Two edit one recipe. The second is told what differs, field by field, and nothing of the first's is lost.
	seen := s.ask(http.StatusOK, http.MethodGet, recipe, "")
	change := func(status int, field string) map[string]any {
		s.Helper()
		return s.ask(status, http.MethodPatch, recipe, fmt.Sprintf(`{"etag":%q,%s}`, seen["etag"], field))
	}
	change(http.StatusOK, `"toleranceDeg":0.8`)
	conflict := change(http.StatusConflict, `"toleranceDeg":0.5`)
	s.says(conflict, "ETAG_MISMATCH")
	s.says(conflict, `{"after":"0.5","before":"0.8","field":"tolerance_deg"}`)
	s.near("the first one's", s.number(s.ask(http.StatusOK, http.MethodGet, recipe+"/revisions/2", ""), "toleranceDeg"), 0.8, 0)

	// A repeated request id gives the same answer and one record; with another body it is refused.
	const measured = "/wheels/south-white/measurements?requestId=m-1"
	first := s.post(measured, `{"diameterMm":187.2}`)
	if again := s.post(measured, `{"diameterMm":187.2}`); again["name"] != first["name"] {
		s.Errorf("the same request: %v, then %v", first["name"], again["name"])
	}
	s.says(s.ask(http.StatusConflict, http.MethodPost, measured, `{"diameterMm":187.1}`), "REQUEST_ID_REUSED")

	// 48 tools told twice are 48 new, then as they were; with three changed, three have a new version.
	steel := func(first int) (etags map[string]int) {
		etags = map[string]int{}
		for i := 1; i <= 48; i++ {
			thick := 8
			if i <= 3 {
				thick = first
			}
			kept := s.ask(http.StatusOK, http.MethodPatch, fmt.Sprintf("/tools/rack-%02d?allowMissing=true", i),
				fmt.Sprintf(`{"kind":"TOOL_KIND_BOWL_GOUGE","steelUnderFluteMm":%d,"externalIds":[{"system":"inventory","value":"T-%d"}]}`, thick, i))
			etags[fmt.Sprint(kept["etag"])]++
		}
		return etags
	}
	for _, step := range []struct {
		first int
		want  string
	}{{8, "map[1:48]"}, {8, "map[1:48]"}, {9, "map[1:45 2:3]"}} {
		if got := fmt.Sprint(steel(step.first)); got != step.want {
			s.Errorf("etags %s, want %s", got, step.want)
		}
	}
	s.says(s.ask(http.StatusOK, http.MethodGet, `/tools?filter=external_id%20=%20%22inventory:T-2%22`, ""), "tools/rack-02")
}
