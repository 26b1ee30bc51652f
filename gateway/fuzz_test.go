package gateway_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"arris.example/gateway"
	"arris.example/service"
)

// Whatever bytes come as a body, the answer is a set-up or a refusal with a reason, in JSON, and never our own mistake.
func FuzzBody(f *testing.F) {
	for _, seed := range []string{
		`{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`,
		`{"rig":{"inlineWheel":{"diameterMm":200},"inlineHolder":{"pivot":{"behindMm":131,"belowMm":46}}},"grind":{"bevels":[{"frontAngleDeg":50}]}}`,
		`{"given":{"stickOutMm":"NaN"},"grind":{"bevels":[{"frontAngelDeg":50,"widthMm":1e999}]}}`,
		`{"free":["FREE_SETTING_LEG",3],"asOfTime":"2026-11-24T09:30:00Z","now":{"slideMm":-0}}`,
		`{"a":{"b":[{}]}} x`, `[[[[`, `"\ud800"`, `nul`, ``, `{"rig":null,"rig":null}`,
	} {
		f.Add([]byte(seed))
	}
	_, handler := behind(f, service.Config{Demo: true}, gateway.Options{})
	f.Fuzz(func(t *testing.T, body []byte) {
		w := post(handler, solvePath, string(body))
		if !json.Valid(w.Body.Bytes()) {
			t.Fatalf("%q is answered %q", body, w.Body)
		}
		if w.Code == http.StatusOK {
			if text := w.Body.String(); strings.Contains(text, `"NaN"`) || strings.Contains(text, `Infinity"`) {
				t.Fatalf("%q is answered without a number: %s", body, text)
			}
			return
		}
		a := readAnswer(t, w)
		if a.reason() == "" || a.reason() == "INTERNAL" || a.Message == "" {
			t.Fatalf("%q is refused as %s", body, w.Body)
		}
		if a.reason() == "INVALID_FIELD" && len(a.violations()) == 0 {
			t.Fatalf("%q: no field is named in %s", body, w.Body)
		}
	})
}
