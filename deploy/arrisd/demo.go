package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"text/template"

	"arris.example/client/kiosk"
	arrisv1 "arris.example/proto/arris/v1"
)

// The question that the demonstration asks, the same one that its curl line poses.
const (
	demoShop    = "shops/main"
	demoRecipe  = "shops/main/recipes/bowl-50"
	demoStation = "shops/main/stations/north"
)

// demoView is what the demonstration shows, in the words of demoText.
type demoView struct {
	Setup                 *arrisv1.Setup
	HTTP, GRPC            string // HTTP with its scheme
	Shop, Recipe, Station string
	Kiosk                 bool   // whether its page was built
	Trust                 string // what curl is told to trust, with a space behind
	Kept                  string // where the shop is kept; empty: in memory
}

const demoText = `
Arris with its demonstration shop. One set-up, {{last .Recipe}} on station {{last .Station}}:
{{range $i, $step := .Setup.Steps}}
  {{$step.Text}}.
  {{- with $step.Predicted}}
  That grinds an edge angle of {{printf "%.1f" .EdgeAngleDeg}}° ± {{printf "%.1f" .ExpandedUncertaintyDeg}}°
  {{- if .BevelReadingDeg}}; a protractor on the bevel shows {{printf "%.1f" .GetBevelReadingDeg}}°{{end}}.
  {{- end}}
  {{- with $step.Improve}}
  {{.Text}}.
  {{- end}}
{{end}}
{{- range .Setup.Cautions}}
{{wrap .Text}}
{{- end}}

  kiosk     {{.HTTP}}/kiosk/{{if not .Kiosk}}  (not built: make kiosk, then start again){{end}}
  REST      {{.HTTP}}/v1/{{.Shop}}:solveSetup
  API page  {{.HTTP}}/docs/
  metrics   {{.HTTP}}/metrics
  gRPC      {{.GRPC}}

{{if .Kept}}The shop is kept in {{.Kept}} and found again next time; delete the file to begin anew.
{{else}}The shop is kept in memory and gone when this ends; --store FILE keeps it.
{{end}}
Ask it yourself:

  curl -s {{.Trust}}{{.HTTP}}/v1/{{.Shop}}:solveSetup -H 'Content-Type: application/json' -d '{"recipe":"{{.Recipe}}","rig":{"station":"{{.Station}}"}}'

Ctrl-C ends it.
`

// showDemo solves one set-up over the server's own gRPC and prints it in words, with the addresses to go on from.
func showDemo(ctx context.Context, to io.Writer, srv *server, s settings) error {
	answer, err := arrisv1.NewGrindServiceClient(srv.conn).SolveSetup(ctx, &arrisv1.SolveSetupRequest{
		Shop:        demoShop,
		GrindSource: &arrisv1.SolveSetupRequest_Recipe{Recipe: demoRecipe},
		Rig:         &arrisv1.Rig{StationSource: &arrisv1.Rig_Station{Station: demoStation}},
	})
	if ctx.Err() != nil {
		return nil //nolint:nilerr // ended by its owner while it was shown
	}
	if err != nil {
		return fmt.Errorf("the demonstration does not solve: %w", err)
	}
	page, err := template.New("demo").Funcs(template.FuncMap{"last": lastPart, "wrap": wrap}).Parse(demoText)
	if err != nil {
		return fmt.Errorf("the demonstration's text: %w", err)
	}
	return page.Execute(to, demoView{
		Setup: answer.GetSetup(), HTTP: srv.scheme() + "://" + reachable(srv.webAt), GRPC: reachable(srv.rpcAt),
		Shop: demoShop, Recipe: demoRecipe, Station: demoStation, Kiosk: kiosk.Built(), Trust: curlTrust(s.TLSCert), Kept: s.Store,
	})
}

// curlTrust has curl trust the authority that arris tls init put beside a certificate; others it knows, or not, by itself.
func curlTrust(cert string) string {
	authority := filepath.Join(filepath.Dir(cert), "authority.crt")
	if _, err := os.Stat(authority); cert == "" || err != nil {
		return ""
	}
	return "--cacert " + authority + " "
}

// reachable is a listener's address as someone on this machine can use it.
func reachable(l net.Listener) string {
	at, ok := l.Addr().(*net.TCPAddr)
	if !ok || !at.IP.IsUnspecified() {
		return l.Addr().String()
	}
	return fmt.Sprintf("localhost:%d", at.Port)
}

func lastPart(name string) string { return name[strings.LastIndexByte(name, '/')+1:] }

// wrap breaks a text into lines for a terminal, as one item of a list.
func wrap(text string) string {
	const width = 96
	var out strings.Builder
	out.WriteString("  -")
	used := len("  -")
	for _, word := range strings.Fields(text) {
		if used+1+len(word) > width {
			out.WriteString("\n   ")
			used = len("   ")
		}
		out.WriteString(" " + word)
		used += 1 + len(word)
	}
	return out.String()
}
