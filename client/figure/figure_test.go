package figure

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"arris.example/geometry/drawing"
	arrisv1 "arris.example/proto/arris/v1"
)

// sample is a solved set-up as the service draws it; a test there keeps the file true.
func sample(t testing.TB) *arrisv1.Figure {
	t.Helper()
	text, err := os.ReadFile("testdata/bowl-50.json")
	if err != nil {
		t.Fatal(err)
	}
	f := &arrisv1.Figure{}
	if err := protojson.Unmarshal(text, f); err != nil {
		t.Fatal(err)
	}
	return f
}

func svgOf(t testing.TB, f *arrisv1.Figure, o Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := SVG(&b, f, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func terminalOf(t testing.TB, f *arrisv1.Figure, o TerminalOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := Terminal(&b, f, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// element is a start tag with the text that follows it.
type element struct {
	name string
	attr map[string]string
	text string
}

// elements reads a document back with a real XML parser.
func elements(t testing.TB, document string) (all []element) {
	t.Helper()
	decoder := xml.NewDecoder(strings.NewReader(document))
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := element{name: token.Name.Local, attr: map[string]string{}}
			for _, a := range token.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			all = append(all, e)
		case xml.CharData:
			if len(all) > 0 {
				all[len(all)-1].text += strings.TrimSpace(string(token))
			}
		}
	}
}

var decimal = regexp.MustCompile(`-?\d+(?:\.\d+)?`)

func numbers(t testing.TB, text string) (found []float64) {
	t.Helper()
	for _, s := range decimal.FindAllString(text, -1) {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		found = append(found, v)
	}
	return found
}

// written is half the last place that is written, and a little for its own rounding.
const written = 0.005 + 1e-9

func near(got, want float64) bool { return math.Abs(got-want) <= written }

func arcOf(a *arrisv1.FigureArc) drawing.CircleArc {
	return drawing.CircleArc{Centre: drawing.Pt(a.GetCentre().GetOutMm(), a.GetCentre().GetUpMm()), Radius: a.GetRadiusMm(),
		Start: a.GetStartDeg() * math.Pi / 180, Sweep: a.GetSweepDeg() * math.Pi / 180}
}

// Every path and circle of the figure must stand in the document where the figure has it, in order.
func TestSVGIsToScale(t *testing.T) {
	f := sample(t)
	var shapes []element
	for _, e := range elements(t, svgOf(t, f, Options{})) {
		if class := e.attr["class"]; e.name == "circle" || e.name == "path" &&
			!strings.HasPrefix(class, "dimension ") && !strings.HasPrefix(class, "leader ") {
			shapes = append(shapes, e)
		}
	}
	next := 0
	for i, item := range f.GetItems() {
		var want []float64
		switch {
		case item.GetPath() != nil:
			for _, p := range item.GetPath().GetPoints() {
				want = append(want, p.GetOutMm(), -p.GetUpMm())
			}
		case item.GetArc().GetSweepDeg() == 360:
			a := item.GetArc()
			want = []float64{a.GetCentre().GetOutMm(), -a.GetCentre().GetUpMm(), a.GetRadiusMm()}
		case item.GetArc() != nil:
			a := arcOf(item.GetArc())
			from, to := a.At(a.Start), a.At(a.Start+a.Sweep)
			want = []float64{from.X, -from.Y, a.Radius, a.Radius, 0, 0, 0, to.X, -to.Y}
		default:
			continue
		}
		if next == len(shapes) {
			t.Fatalf("item %d (%s) is not drawn", i, item.GetPart())
		}
		shape := shapes[next]
		next++
		if !strings.HasSuffix(shape.attr["class"], " "+item.GetPart()) {
			t.Errorf("item %d (%s) is drawn as %q", i, item.GetPart(), shape.attr["class"])
		}
		got := numbers(t, shape.attr["cx"]+" "+shape.attr["cy"]+" "+shape.attr["r"]+" "+shape.attr["d"])
		if len(got) != len(want) {
			t.Fatalf("item %d (%s): %d numbers, want %d", i, item.GetPart(), len(got), len(want))
		}
		for n := range want {
			if !near(got[n], want[n]) {
				t.Errorf("item %d (%s): number %d is %v, want %v", i, item.GetPart(), n, got[n], want[n])
			}
		}
	}
	if next != len(shapes) {
		t.Errorf("%d shapes are drawn, the figure has %d", len(shapes), next)
	}
}

// A dimension's arrowheads must touch what it measures: their tips are the gap's ends.
func TestDimensionsReachWhatTheyMeasure(t *testing.T) {
	var gap *arrisv1.FigureDimension
	f := sample(t)
	for _, item := range f.GetItems() {
		if item.GetPart() == "wheel_gap" && item.GetDimension() != nil {
			gap = item.GetDimension()
		}
	}
	var tips [][]float64
	for _, e := range elements(t, svgOf(t, f, Options{})) {
		if e.attr["class"] == "dimension wheel_gap" && e.attr["fill"] == "#000" && e.name == "path" {
			tips = append(tips, numbers(t, e.attr["d"])[:2])
		}
	}
	want := []*arrisv1.FigurePoint{gap.GetFrom(), gap.GetTo()}
	if len(tips) != 2 {
		t.Fatalf("%d arrowheads, want 2", len(tips))
	}
	for i, tip := range tips {
		if !near(tip[0], want[i].GetOutMm()) || !near(tip[1], -want[i].GetUpMm()) {
			t.Errorf("arrowhead %d points at %v, want %v", i, tip, want[i])
		}
	}
}

func TestSVGHoldsAllItDraws(t *testing.T) {
	for _, o := range []Options{{}, {WidthMM: 60}, {Highlight: "wheel_gap", Dark: true}} {
		document := svgOf(t, sample(t), o)
		all := elements(t, document)
		view := numbers(t, all[0].attr["viewBox"])
		width, height := numbers(t, all[0].attr["width"])[0], numbers(t, all[0].attr["height"])[0]
		if want := o.WidthMM; want != 0 && width != want {
			t.Errorf("width %v, want %v", width, want)
		}
		if ratio := width / height * view[3] / view[2]; math.Abs(ratio-1) > 1e-3 {
			t.Errorf("the picture is stretched by %v", ratio)
		}
		for _, e := range all[1:] {
			if e.name != "path" {
				continue
			}
			xy := numbers(t, e.attr["d"])
			if strings.Contains(e.attr["d"], "A") {
				xy = append(xy[:2:2], xy[7:]...)
			}
			for i := 0; i+1 < len(xy); i += 2 {
				if xy[i] < view[0] || xy[i] > view[0]+view[2] || xy[i+1] < view[1] || xy[i+1] > view[1]+view[3] {
					t.Errorf("%s reaches %v, %v, outside of %v", e.attr["class"], xy[i], xy[i+1], view)
				}
			}
			if size := numbers(t, e.attr["font-size"]); len(size) == 1 && size[0]*width/view[2] < 1.5 {
				t.Errorf("letters of %v mm in print", size[0]*width/view[2])
			}
		}
		if strings.Contains(document, "NaN") || strings.Contains(document, "-0.00\"") {
			t.Error("the document holds no number where there should be one")
		}
	}
}

// No label of the sample may cover another, an arrowhead or an outline of what is drawn.
func TestLabelsCoverNothing(t *testing.T) {
	d, err := taken(sample(t), func(frame drawing.Rect) float64 { return frame.Width() / lettersAcross })
	if err != nil {
		t.Fatal(err)
	}
	s := svg{d: d}
	l := drawing.Layout{Drawing: d, Size: s.size}
	l.Arrange()
	if len(d.Labels) != 7 {
		t.Fatalf("%d labels, want 7", len(d.Labels))
	}
	for i, a := range d.Labels {
		if !a.Placed {
			t.Fatalf("%q has no place", a.Text)
		}
		for _, b := range d.Labels[:i] {
			if a.Place.Slab.Meets(b.Place.Slab) {
				t.Errorf("%q covers %q", a.Text, b.Text)
			}
		}
		for _, st := range d.Strokes {
			if st.Role != drawing.RoleConstruction && drawing.Crosses(a.Place.Slab, st.Points) {
				t.Errorf("%q covers a line of %s", a.Text, st.Part)
			}
		}
	}
}

func TestTextIsEscaped(t *testing.T) {
	const nasty = "</text><script>x()</script>&\"'\x00\x1b[2J"
	f := sample(t)
	for _, item := range f.GetItems() {
		item.Part = nasty
		if item.GetDimension() != nil {
			item.GetDimension().Text = nasty
		}
	}
	f.Description = nasty
	kept, saidInText, saidInTitle := strings.NewReplacer("\x00", "\ufffd", "\x1b", "\ufffd").Replace(nasty), 0, 0
	for _, e := range elements(t, svgOf(t, f, Options{Title: nasty, Highlight: nasty})) {
		switch {
		case e.name == "script":
			t.Fatal("markup came through")
		case e.name == "text" && e.text == kept:
			saidInText++
		case (e.name == "title" || e.name == "desc") && e.text == kept:
			saidInTitle++
		}
	}
	if saidInText < 3 || saidInTitle != 2 {
		t.Errorf("the text stands in %d labels and %d of title and desc; want 3 and 2", saidInText, saidInTitle)
	}
	if out := terminalOf(t, f, TerminalOptions{}); strings.ContainsAny(out, "\x1b\x00") {
		t.Error("a control character reached the terminal")
	}
}

func TestSameFigureSameBytes(t *testing.T) {
	for range 3 {
		a, b := sample(t), sample(t)
		if svgOf(t, a, Options{}) != svgOf(t, b, Options{}) || terminalOf(t, a, TerminalOptions{}) != terminalOf(t, b, TerminalOptions{}) {
			t.Fatal("the same figure gave two drawings")
		}
		if !proto.Equal(a, b) {
			t.Fatal("drawing changed the figure")
		}
	}
}

// Every number of every kind of shape, made impossible in turn, must be refused by the item's name and leave nothing written.
func TestImpossibleNumbersAreRefused(t *testing.T) {
	at := func(out, up float64) *arrisv1.FigurePoint { return &arrisv1.FigurePoint{OutMm: out, UpMm: up} }
	with := func(v float64) []*arrisv1.FigureItem {
		return []*arrisv1.FigureItem{
			{Shape: &arrisv1.FigureItem_Path{Path: &arrisv1.FigurePath{Points: []*arrisv1.FigurePoint{at(0, 0), at(v, 1)}}}},
			{Shape: &arrisv1.FigureItem_Path{Path: &arrisv1.FigurePath{Points: []*arrisv1.FigurePoint{at(1, v)}}}},
			{Shape: &arrisv1.FigureItem_Arc{Arc: &arrisv1.FigureArc{Centre: at(v, 0), RadiusMm: 1}}},
			{Shape: &arrisv1.FigureItem_Arc{Arc: &arrisv1.FigureArc{RadiusMm: v}}},
			{Shape: &arrisv1.FigureItem_Arc{Arc: &arrisv1.FigureArc{StartDeg: v}}},
			{Shape: &arrisv1.FigureItem_Arc{Arc: &arrisv1.FigureArc{SweepDeg: v}}},
			{Shape: &arrisv1.FigureItem_Text{Text: &arrisv1.FigureText{At: at(v, 0), Text: "x"}}},
			{Shape: &arrisv1.FigureItem_Dimension{Dimension: &arrisv1.FigureDimension{From: at(v, 0)}}},
			{Shape: &arrisv1.FigureItem_Dimension{Dimension: &arrisv1.FigureDimension{To: at(0, v)}}},
			{Shape: &arrisv1.FigureItem_Dimension{Dimension: &arrisv1.FigureDimension{OffsetMm: v}}},
			{Shape: &arrisv1.FigureItem_Angle{Angle: &arrisv1.FigureAngle{Apex: at(0, v)}}},
			{Shape: &arrisv1.FigureItem_Angle{Angle: &arrisv1.FigureAngle{RadiusMm: v}}},
			{Shape: &arrisv1.FigureItem_Angle{Angle: &arrisv1.FigureAngle{StartDeg: v}}},
			{Shape: &arrisv1.FigureItem_Angle{Angle: &arrisv1.FigureAngle{SweepDeg: v}}},
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300} {
		for _, item := range with(v) {
			item.Part = "rim"
			f := &arrisv1.Figure{Items: []*arrisv1.FigureItem{{}, item}}
			var out bytes.Buffer
			for _, err := range []error{SVG(&out, f, Options{}), Terminal(&out, f, TerminalOptions{})} {
				if err == nil || !strings.Contains(err.Error(), `item 1 ("rim")`) {
					t.Errorf("%v: error %v, want one that names item 1", item, err)
				}
			}
			if out.Len() != 0 {
				t.Errorf("%v: %d bytes were written", item, out.Len())
			}
		}
		for _, item := range with(1) { // the same with a possible number must pass
			if err := SVG(io.Discard, &arrisv1.Figure{Items: []*arrisv1.FigureItem{item}}, Options{}); err != nil {
				t.Errorf("%v: %v", item, err)
			}
		}
	}
	box := &arrisv1.Figure{Least: at(math.NaN(), 0), Most: at(1, 1)}
	if err := SVG(io.Discard, box, Options{}); err == nil || !strings.Contains(err.Error(), "box") {
		t.Errorf("a box that is none: %v", err)
	}
}

func TestTooMuchIsRefused(t *testing.T) {
	text := func(s string) *arrisv1.FigureItem {
		return &arrisv1.FigureItem{Shape: &arrisv1.FigureItem_Text{Text: &arrisv1.FigureText{Text: s}}}
	}
	repeat := func(item *arrisv1.FigureItem, n int) (items []*arrisv1.FigureItem) {
		for range n {
			items = append(items, item)
		}
		return items
	}
	path := &arrisv1.FigureItem{Shape: &arrisv1.FigureItem_Path{Path: &arrisv1.FigurePath{
		Points: make([]*arrisv1.FigurePoint, mostPoints)}}}
	for name, items := range map[string][]*arrisv1.FigureItem{
		"items":         repeat(&arrisv1.FigureItem{}, mostItems+1),
		"texts":         repeat(text("x"), mostTexts+1),
		"points":        repeat(path, 2),
		"bytes":         {text(strings.Repeat("x", mostText+1))},
		"without point": {{Shape: &arrisv1.FigureItem_Path{Path: &arrisv1.FigurePath{}}}},
		"negative":      {{Shape: &arrisv1.FigureItem_Arc{Arc: &arrisv1.FigureArc{RadiusMm: -1}}}},
	} {
		if err := SVG(io.Discard, &arrisv1.Figure{Items: items}, Options{}); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("error %v, want one about %s", err, name)
		}
	}
}

// A newer server may draw in shapes, roles and for parts that this client has never heard of; an old one may send nothing.
func TestWhatIsUnknownIsLeftOut(t *testing.T) {
	f := sample(t)
	plain := svgOf(t, f, Options{})
	f.Items = append(f.Items, nil, &arrisv1.FigureItem{Part: "spindle"})
	if svgOf(t, f, Options{}) != plain {
		t.Error("an item without a shape changed the drawing")
	}
	for _, item := range f.GetItems() {
		if item != nil {
			item.Role = 77
		}
	}
	elements(t, svgOf(t, f, Options{}))
	elements(t, svgOf(t, nil, Options{}))
	if out := terminalOf(t, nil, TerminalOptions{}); out != "\n" {
		t.Errorf("nothing is drawn as %q", out)
	}
}

func TestHighlightIsBold(t *testing.T) {
	for _, e := range elements(t, svgOf(t, sample(t), Options{Highlight: "stick_out"})) {
		if bold := e.attr["font-weight"] == "bold"; e.name == "text" && e.attr["class"] != "" && bold != (e.attr["class"] == "stick_out") {
			t.Errorf("%s: bold is %v", e.text, bold)
		}
	}
}

func TestOptionsOutOfRangeAreRefused(t *testing.T) {
	for _, width := range []float64{-1, math.NaN(), math.Inf(1)} {
		if err := SVG(io.Discard, sample(t), Options{WidthMM: width}); err == nil {
			t.Errorf("a width of %v mm was taken", width)
		}
	}
	for _, o := range []TerminalOptions{{Columns: 19}, {Columns: 401}, {Columns: -1}, {Rows: 4}, {Rows: -1}, {Rows: 401}} {
		if err := Terminal(io.Discard, sample(t), o); err == nil {
			t.Errorf("%+v was taken", o)
		}
	}
}
