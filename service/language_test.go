package service_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/deploy/outside"
	"arris.example/geometry/worked"
	arrisv1 "arris.example/proto/arris/v1"
)

// Every worked example, asked in German and Spanish, gets the same answer as in English: all but its texts alike, and in every text the same
// numbers, written with a comma, and no English word.
func TestAnswersInOtherLanguages(t *testing.T) {
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	conn := dialDemo(t)
	texts := 0
	for _, e := range all {
		if e.Call == "" {
			continue
		}
		t.Run(e.Name, func(t *testing.T) {
			english := answerIn(t, "en", e, func(request string) []byte { return ask(t, conn, e.Call, request) })
			for _, code := range []string{"de", "es"} {
				own := answerIn(t, code, e, func(request string) []byte { return ask(t, conn, e.Call, request) })
				texts += sameAnswer(t, code, e.Call, "", english, own)
			}
		})
	}
	if texts < 2000 {
		t.Errorf("only %d texts were compared", texts)
	}
}

// How a wheel wears is told in other languages too.
func TestForecastsInOtherLanguages(t *testing.T) {
	wheels := arrisv1.NewWheelServiceClient(dialDemo(t))
	const worn = "shops/main/wheels/south-white"
	for day, diameter := range []float64{198.2, 196.7, 194.6, 193.0, 191.2} { // one a month, and what was measured before
		at := timestamppb.New(time.Date(2026, time.Month(4+day), 2, 0, 0, 0, 0, time.UTC))
		measured := &arrisv1.WheelMeasurement{Size: &arrisv1.WheelMeasurement_DiameterMm{DiameterMm: diameter}, OccurTime: at}
		if _, err := wheels.CreateWheelMeasurement(t.Context(), &arrisv1.CreateWheelMeasurementRequest{Parent: worn, WheelMeasurement: measured}); err != nil {
			t.Fatal(err)
		}
	}
	ask := func(code string) (any, int) {
		answer, err := wheels.ForecastWear(t.Context(), &arrisv1.ForecastWearRequest{
			Name: worn, ForecastTime: timestamppb.New(time.Date(2027, 3, 5, 0, 0, 0, 0, time.UTC)),
			Wording: &arrisv1.Wording{LanguageCode: code},
		})
		if err != nil {
			t.Fatal(err)
		}
		return asJSON(t, answer), len(answer.GetTexts()) + len(answer.GetRecipes())
	}
	said := 0
	english, _ := ask("en")
	for _, code := range []string{"de", "es"} {
		own, n := ask(code)
		sameAnswer(t, code, "", "", english, own)
		said += n
	}
	if said < 10 {
		t.Errorf("only %d texts", said)
	}
}

// answerIn asks an example's question in a language, with all parts that have texts.
func answerIn(t *testing.T, code string, e worked.Example, ask func(string) []byte) any {
	t.Helper()
	var request map[string]any
	if err := json.Unmarshal([]byte(e.Request), &request); err != nil {
		t.Skip("it is no request at all: ", err)
	}
	switch e.Call {
	case "batchSolveSetups":
		for _, item := range request["items"].([]any) {
			if asked, ok := item.(map[string]any)["request"].(map[string]any); ok {
				speak(asked, code)
			}
		}
	case "transferSetup":
		speak(request["from"].(map[string]any), code)
	default:
		speak(request, code)
	}
	switch e.Call {
	case "solveSetup", "predictGrind":
		include(request, "PART_ERROR_BUDGET", "PART_FIGURE", "PART_STEP_FIGURES", "PART_PROOF")
	case "analyzeEdge":
		include(request, "EDGE_PART_VIEWS", "EDGE_PART_STEEL")
	}
	text, err := json.Marshal(request)
	if err != nil {
		t.Fatal(err)
	}
	var answer any
	if err := json.Unmarshal(ask(string(text)), &answer); err != nil {
		t.Fatal(err)
	}
	return answer
}

func speak(request map[string]any, code string) {
	wording, ok := request["wording"].(map[string]any)
	if !ok {
		wording = map[string]any{}
	}
	wording["languageCode"] = code
	request["wording"] = wording
}

// include asks for more parts.
func include(request map[string]any, parts ...any) {
	said, _ := request["include"].([]any)
	for _, part := range parts {
		if !slices.Contains(said, part) {
			said = append(said, part)
		}
	}
	request["include"] = said
}

// sameAnswer walks two answers, and tells how many texts they have. What refuses is in English throughout, but for the ways out.
func sameAnswer(t *testing.T, code, field, path string, english, own any) (texts int) {
	t.Helper()
	switch e := english.(type) {
	case map[string]any:
		o, ok := own.(map[string]any)
		if !ok || len(e) != len(o) {
			t.Errorf("%s %s: %v and %v", code, path, english, own)
			return 0
		}
		for key := range e {
			if key == "request_id" || key == "violations" || key == "message" {
				continue
			}
			texts += sameAnswer(t, code, key, path+"."+key, e[key], o[key])
		}
	case []any:
		o, ok := own.([]any)
		if !ok || len(e) != len(o) {
			t.Errorf("%s %s: %v and %v", code, path, english, own)
			return 0
		}
		for i := range e {
			texts += sameAnswer(t, code, field, fmt.Sprintf("%s[%d]", path, i), e[i], o[i])
		}
	case string:
		if slices.Contains([]string{"text", "texts", "description", "lines", "title", "label", "alongLabel", "angleLabel", "source", "measuredTo"}, field) {
			sameText(t, code, path, e, own.(string))
			return 1
		}
		if e != own {
			t.Errorf("%s %s: %v and %v", code, path, english, own)
		}
	default:
		if !reflect.DeepEqual(english, own) {
			t.Errorf("%s %s: %v and %v", code, path, english, own)
		}
	}
	return texts
}

var (
	someNumber = regexp.MustCompile(`\d+([.,]\d+)?`)
	someWord   = regexp.MustCompile(`\p{L}{2,}`)
	// alike are words that two languages share, and what is no word.
	alike = map[string][]string{
		"de": {"mm", "in", "CFR", "arris", "an", "April", "August", "September", "November"},
		"es": {"mm", "in", "CFR", "arris", "no", "manual", "horizontal", "error"},
	}
)

// sameText compares a text with its English.
func sameText(t *testing.T, code, path, english, own string) {
	t.Helper()
	numbers := func(text string) []string {
		list := someNumber.FindAllString(strings.ReplaceAll(text, ",", "."), -1)
		slices.Sort(list)
		return list
	}
	if a, b := numbers(english), numbers(own); !slices.Equal(a, b) {
		t.Errorf("%s %s: the numbers of %q are %v, and those of %q are %v", code, path, english, a, own, b)
	}
	if regexp.MustCompile(`\d\.\d`).MatchString(own) && !regexp.MustCompile(`\d\.\d{3}\D`).MatchString(own) && !strings.Contains(own, "1910.215") {
		t.Errorf("%s %s: a decimal point in %q", code, path, own)
	}
	said := someWord.FindAllString(withoutNames(english), -1)
	for _, word := range someWord.FindAllString(withoutNames(own), -1) {
		if slices.Contains(said, word) && !slices.Contains(alike[code], word) {
			t.Errorf("%s %s: %q is English in %q", code, path, word, own)
		}
	}
}

// given are what people called things: ids of a shop, and names of records.
var given = regexp.MustCompile(`shops/\S+|\b[a-z]+(-[a-z0-9]+)+\b|\bnorth\b|\bsouth\b|\bwest\b`)

func withoutNames(text string) string { return given.ReplaceAllString(text, "") }

// What is asked of the SheetService besides sheets is answered in the language asked for, and one that is not spoken is refused by its field.
func TestPaperInTheLanguageAskedFor(t *testing.T) {
	sheets := arrisv1.NewSheetServiceClient(dialDemo(t))
	ask := func(code string) map[string]func() (string, error) {
		wording := &arrisv1.Wording{LanguageCode: code}
		bowl := &arrisv1.SolveSetupRequest{
			Shop: "shops/main", GrindSource: &arrisv1.SolveSetupRequest_Recipe{Recipe: "shops/main/recipes/bowl-50"}, Wording: wording,
			Rig: &arrisv1.Rig{StationSource: &arrisv1.Rig_Station{Station: "shops/main/stations/north"}},
		}
		read := func(body *httpbody.HttpBody, err error) (string, error) {
			if err != nil {
				return "", err
			}
			return textsOf(t, body.GetData()), nil
		}
		return map[string]func() (string, error){
			"sheet": func() (string, error) {
				return read(sheets.RenderSheet(t.Context(), &arrisv1.RenderSheetRequest{Setup: bowl, Key: "tool-07", Format: arrisv1.SheetFormat_SHEET_FORMAT_SVG}))
			},
			"gauge": func() (string, error) {
				return read(sheets.RenderGauge(t.Context(), &arrisv1.RenderGaugeRequest{Setup: bowl, Kind: arrisv1.GaugeKind_GAUGE_KIND_LEG, Format: arrisv1.GaugeFormat_GAUGE_FORMAT_SVG}))
			},
			"label": func() (string, error) {
				return read(sheets.RenderLabel(t.Context(), &arrisv1.RenderLabelRequest{Shop: "shops/main", Names: []string{"shops/main/stations/north"}, Wording: wording, Format: arrisv1.LabelFormat_LABEL_FORMAT_SVG}))
			},
			"check": func() (string, error) {
				answer, err := sheets.CheckSheet(t.Context(), &arrisv1.CheckSheetRequest{Shop: "shops/main", Recipe: "bowl-50/1", Station: "none", AsOfTime: timestamppb.New(time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC)), Wording: wording})
				return answer.GetText(), err
			},
			"volume": func() (string, error) { return volume(t, sheets, wording) },
		}
	}
	for code, says := range map[string]map[string]string{
		"": {"sheet": "For tool-07 ", "gauge": "Leg template: ", "label": "spindle 1425 rpm", "check": "There is no station none any more.", "volume": "Not in this volume: 1"},
		"de": {"sheet": "Für tool-07 ", "gauge": "Schenkellehre: ", "label": "Spindel 1425 U/min", "check": "Die Station none gibt es nicht mehr.",
			"volume": "Nicht in diesem Band: 1"},
		"es": {"sheet": "Para tool-07 ", "gauge": "Plantilla de la pata: ", "label": "husillo 1425 rpm", "check": "La estación none ya no existe.",
			"volume": "No están en este volumen: 1"},
	} {
		for what, asked := range ask(code) {
			if text, err := asked(); err != nil || !strings.Contains(strings.ReplaceAll(text, "\u00a0", " "), says[what]) {
				t.Errorf("%s in %q: no %q in %q, %v", what, code, says[what], text, err)
			}
		}
	}
	for what, asked := range ask("fr") {
		_, err := asked()
		if text := fmt.Sprint(status.Convert(err).Proto()); status.Code(err) != codes.InvalidArgument || !strings.Contains(text, "wording.language_code") {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// volume is the text of a volume of two sheets, the first of which can be made; both are worded as the volume is, and each shows its key.
func volume(t *testing.T, sheets arrisv1.SheetServiceClient, wording *arrisv1.Wording) (string, error) {
	t.Helper()
	stream, err := sheets.RenderSheets(t.Context(), &arrisv1.RenderSheetsRequest{Shop: "shops/main", Wording: wording, Items: []*arrisv1.BatchItem{item("tool-07", 50), item("tool-08", 5)}})
	if err != nil {
		return "", err
	}
	var pdf []byte
	for {
		piece, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return "", err
		}
		pdf = append(pdf, piece.GetData()...)
	}
	name := filepath.Join(t.TempDir(), "volume.pdf")
	if err := os.WriteFile(name, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	text := outside.Run(t, "poppler-utils", "pdftotext", "-layout", name, "-")
	for _, want := range map[string][]string{
		"": {"For", "Set "}, "de": {"Für", "einstellen"}, "es": {"Para", "Ajustar"},
	}[wording.GetLanguageCode()] {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in the volume in %q:\n%s", want, wording.GetLanguageCode(), text)
		}
	}
	if !regexp.MustCompile(`(For|Für|Para) +tool-07`).MatchString(text) {
		t.Errorf("the key is not on its sheet:\n%s", text)
	}
	return text, nil
}
