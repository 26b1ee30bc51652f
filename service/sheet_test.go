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
