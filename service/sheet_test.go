package service_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"

	"arris.example/geometry/worked"
	arrisv1 "arris.example/proto/arris/v1"
)

// The numbers on paper are the API's on every worked example that solves: each step's settings, as they are told in words, its edge angle with
// its doubt, and its bevel reading. What is refused as a question is refused as a sheet, for the same reason.
func TestSheetsHaveTheNumbersOfTheAnswers(t *testing.T) {
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	conn := dialDemo(t)
	grind, sheets := arrisv1.NewGrindServiceClient(conn), arrisv1.NewSheetServiceClient(conn)
	printed := 0
	for _, e := range all {
		if e.Call != "solveSetup" {
			continue
		}
		t.Run(e.Name, func(t *testing.T) {
			req := &arrisv1.SolveSetupRequest{}
			if err := protojson.Unmarshal([]byte(e.Request), req); err != nil {
				t.Skip("it is no request at all: ", err)
			}
			req.Wording = nil // what is looked for is in English; language_test.go holds other languages against it
			answer, refused := grind.SolveSetup(t.Context(), req)
			sheet := &arrisv1.RenderSheetRequest{Setup: req, Format: arrisv1.SheetFormat_SHEET_FORMAT_SVG}
			text := ""
			for page := int32(1); ; page++ {
				sheet.Page = &page
				body, err := sheets.RenderSheet(t.Context(), sheet)
				if page == 1 && refused != nil {
					if reasonIn(status.Convert(err)) != reasonIn(status.Convert(refused)) {
						t.Errorf("as a sheet: %v; as a question: %v", err, refused)
					}
					return
				}
				if page > 1 && status.Code(err) == codes.InvalidArgument {
					break
				}
				if err != nil {
					t.Fatal(err)
				}
				text += textsOf(t, body.GetData())
			}
			printed++
			for _, step := range answer.GetSetup().GetSteps() {
				for _, want := range numbersOf(step) {
					if !strings.Contains(text, want) {
						t.Errorf("no %q on paper:\n%s", want, text)
					}
				}
			}
		})
	}
	if printed < 20 {
		t.Errorf("only %d examples were printed", printed)
	}
}

// Every worked example that solves has every kind of gauge, on paper and to cut, or is refused one because the set-up has no use for it or it is
// larger than the paper; what is refused as a question is refused as a gauge, for the same reason.
func TestWorkedExamplesHaveTheirGauges(t *testing.T) {
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	conn := dialDemo(t)
	grind, sheets := arrisv1.NewGrindServiceClient(conn), arrisv1.NewSheetServiceClient(conn)
	drawn, formats := map[arrisv1.GaugeKind]int{}, []arrisv1.GaugeFormat{arrisv1.GaugeFormat_GAUGE_FORMAT_PDF, arrisv1.GaugeFormat_GAUGE_FORMAT_SVG, arrisv1.GaugeFormat_GAUGE_FORMAT_DXF}
	for _, e := range all {
		req := &arrisv1.SolveSetupRequest{}
		if e.Call != "solveSetup" || protojson.Unmarshal([]byte(e.Request), req) != nil {
			continue // a request that cannot be read is refused before there is a gauge
		}
		_, refused := grind.SolveSetup(t.Context(), req)
		for kind := range arrisv1.GaugeKind_name {
			for _, format := range formats {
				body, err := sheets.RenderGauge(t.Context(), &arrisv1.RenderGaugeRequest{Setup: req, Kind: arrisv1.GaugeKind(kind), Format: format})
				reason := reasonIn(status.Convert(err))
				switch {
				case refused != nil:
					if reason != reasonIn(status.Convert(refused)) {
						t.Errorf("%s, %s: %v; as a question: %v", e.Name, arrisv1.GaugeKind(kind), err, refused)
					}
				case err == nil && len(body.GetData()) > 0:
					drawn[arrisv1.GaugeKind(kind)]++
				case reason != "NO_GAUGE" && (reason != "TOO_LARGE_FOR_PAPER" || format == arrisv1.GaugeFormat_GAUGE_FORMAT_DXF):
					t.Errorf("%s, %s, %s: %v", e.Name, arrisv1.GaugeKind(kind), format, err)
				}
			}
		}
	}
	for kind, least := range map[arrisv1.GaugeKind]int{
		arrisv1.GaugeKind_GAUGE_KIND_UNSPECIFIED: 30, arrisv1.GaugeKind_GAUGE_KIND_WHEEL_GAP: 30, arrisv1.GaugeKind_GAUGE_KIND_STICK_OUT: 30,
		arrisv1.GaugeKind_GAUGE_KIND_SPACERS: 9, arrisv1.GaugeKind_GAUGE_KIND_BEVEL: 30, arrisv1.GaugeKind_GAUGE_KIND_LEG: 30,
	} {
		if drawn[kind] < least {
			t.Errorf("%s was drawn only %d times", kind, drawn[kind])
		}
	}
}

// numbersOf are a step's numbers as a sheet has them.
func numbersOf(s *arrisv1.Step) (all []string) {
	p := s.GetPredicted()
	all = append(all, fmt.Sprintf(" angle %.1f° ± %.1f°", p.GetEdgeAngleDeg(), p.GetExpandedUncertaintyDeg()))
	if p.BevelReadingDeg != nil {
		all = append(all, fmt.Sprintf("reads %.1f°", p.GetBevelReadingDeg()))
	}
	support := s.GetSupport()
	for name, setting := range map[string]*arrisv1.LengthSetting{
		"slide": support.GetSlide(), "wheel_gap": support.GetWheelGap(), "wheel_gap_far": support.GetWheelGapFar(), "pivot_to_axle": support.GetPivotToAxle(),
		"face_distance": support.GetFaceDistance(), "height": support.GetHeight(), "platform_to_axle": support.GetPlatformToAxle(), "": s.GetStickOut(),
	} {
		if setting != nil && (name == "" || name == support.GetSetBy()) {
			all = append(all, strings.Replace(setting.GetText(), "-", "−", 1))
		}
	}
	for name, setting := range map[string]*arrisv1.AngleSetting{"platform_tilt": support.GetPlatformTilt(), "": s.GetLegAngle()} {
		if setting != nil && (name == "" || name == support.GetSetBy()) {
			all = append(all, strings.Replace(setting.GetText(), "-", "−", 1))
		}
	}
	return all
}

// textsOf are all texts of an SVG, in order, joined by blanks.
func textsOf(t *testing.T, svg []byte) string {
	t.Helper()
	var texts []string
	for reader := xml.NewDecoder(strings.NewReader(string(svg))); ; {
		token, err := reader.Token()
		if errors.Is(err, io.EOF) {
			return strings.Join(texts, " ")
		}
		if err != nil {
			t.Fatal(err)
		}
		if text, ok := token.(xml.CharData); ok && strings.TrimSpace(string(text)) != "" {
			texts = append(texts, strings.TrimSpace(string(text)))
		}
	}
}

// Set-ups in an order of few changes are those asked, less those refused, and say what is set anew.
func TestOrderedSetups(t *testing.T) {
	client := arrisv1.NewGrindServiceClient(dialDemo(t))
	list := itemsOf(40)
	list[5] = item("keen", 5)
	got, err := client.OrderSetups(t.Context(), &arrisv1.OrderSetupsRequest{Shop: "shops/main", Items: list})
	if err != nil {
		t.Fatal(err)
	}
	seen, changes := map[string]bool{}, 0
	for i, s := range got.GetSetups() {
		seen[s.GetKey()] = true
		changes += len(s.GetChanging())
		for _, c := range s.GetChanging() { // one station, one leg, one stick-out: only the bar or pocket moves
			if c != arrisv1.Changing_CHANGING_SUPPORT {
				t.Errorf("%d: %v changes", i, c)
			}
		}
	}
	if len(seen) != 39 || seen["keen"] || got.GetSetups()[0].GetKey() != "0" || len(got.GetRefused()) != 1 || got.GetRefused()[0].GetKey() != "keen" {
		t.Errorf("%d set-ups, %v refused", len(seen), got.GetRefused())
	}
	if int(got.GetChanges()) != changes || got.GetChangesAsAsked() < got.GetChanges() {
		t.Errorf("%d changes told, %d as asked, %d counted", got.GetChanges(), got.GetChangesAsAsked(), changes)
	}
	if _, err := client.OrderSetups(t.Context(), &arrisv1.OrderSetupsRequest{}); status.Code(err) != codes.InvalidArgument {
		t.Error(err)
	}
}
