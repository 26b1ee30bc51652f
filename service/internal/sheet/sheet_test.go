package sheet_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"arris.example/deploy/outside"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/demo/demotest"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlite"
)

// maker makes sheets of the demonstration shop.
func maker() sheet.Maker { return makerOf(demotest.Reader()) }

func makerOf(reader store.Named) sheet.Maker {
	return sheet.Maker{Solver: setup.Solver{Records: reader}, Reader: reader, Engine: "1.2.3"}
}

// changed makes sheets of the demonstration shop with some records changed, and more.
func changed(t testing.TB, change func(any) any, more ...any) sheet.Maker {
	t.Helper()
	kept, err := sqlite.Memory(t.Context(), func() time.Time { return time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC) })
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { kept.Close() })
	records := demo.Records(time.Now())
	for i := range records {
		records[i] = change(records[i])
	}
	if _, err := store.Seed(t.Context(), kept, demo.Name, store.Caller{}, append(records, more...)...); err != nil {
		t.Fatal(err)
	}
	return makerOf(store.Named{Store: kept})
}

// asks are questions that the demonstration shop answers: every kind of support, of tool with one bevel and two, one grind and several.
var asks = map[string]setup.Common{
	"bowl":      asked("bowl-50", "north", ""),
	"facets":    asked("hollowing-58", "west", "hollowing-gouge-10"),
	"skew":      asked("skew-36", "north", "skew-25"),
	"scraper":   asked("scraper-75", "south", ""),
	"rake":      asked("negative-rake-60", "south", "negative-rake-25"),
	"detail":    asked("detail-30", "north", "detail-gouge-6"),
	"roughing":  asked("roughing-45", "west", "roughing-gouge-32"),
	"with land": asked("bowl-50-relief", "north", "bowl-gouge-12"),
	"edge":      along(asked("bowl-50", "north", "bowl-gouge-12")),
}

// along asks for the whole edge as well.
func along(c setup.Common) setup.Common {
	c.Edge = true
	return c
}

func asked(recipe, station, tool string) setup.Common {
	c := setup.Common{Shop: demo.Name, Recipe: demo.Name + "/recipes/" + recipe}
	c.Rig.Station.Name = demo.Name + "/stations/" + station
	if tool != "" {
		c.Rig.Tool.Name = demo.Name + "/tools/" + tool
	}
	return c
}

// written is a sheet as a PDF file.
func written(t *testing.T, d paper.Document) string {
	t.Helper()
	var text bytes.Buffer
	if err := paper.PDF(&text, d); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(name, text.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// Others read the sheets: they are sound PDF of the right size, have their faces in them, and say in reading order what the solver says.
func TestSheetsReadByOthers(t *testing.T) {
	m := maker()
	for name, ask := range asks {
		for size, points := range map[paper.Size]string{paper.A4: "595.28 x 841.89", paper.Letter: "612 x 792"} {
			t.Run(fmt.Sprintf("%s on %s", name, points), func(t *testing.T) {
				d, found, err := m.Setup(t.Context(), "", setup.Question{Common: ask}, size)
				if err != nil {
					t.Fatal(err)
				}
				file := written(t, d)
				if said := outside.Run(t, "qpdf", "qpdf", "--check", file); !strings.Contains(said, "No syntax or stream encoding errors") {
					t.Error(said)
				}
				info := outside.Run(t, "poppler-utils", "pdfinfo", file)
				if !strings.Contains(info, "Page size:       "+points+" pts") || !strings.Contains(info, fmt.Sprintf("Pages:           %d\n", len(d.Pages))) {
					t.Error(info)
				}
				for _, font := range strings.Split(strings.TrimSpace(outside.Run(t, "poppler-utils", "pdffonts", file)), "\n")[2:] {
					if fields := strings.Fields(font); len(fields) < 5 || fields[4] != "yes" {
						t.Errorf("a face is not in it: %s", font)
					}
				}
				inOrder(t, strings.Join(strings.Fields(outside.Run(t, "poppler-utils", "pdftotext", "-raw", file, "-")), " "), found)
			})
		}
	}
}

// inOrder wants a sheet's numbers, as they are printed, in the order of the steps, and all cautions.
func inOrder(t *testing.T, text string, found setup.Setup) {
	t.Helper()
	rest := text
	last := map[string]string{}
	for i, step := range found.Steps {
		rest = after(t, rest, step.Text)
		if set := step.StickOut; set != nil && last["stick-out"] != set.Text {
			lead := "Set the stick-out to "
			if set.Measured {
				lead = "Measure: the tool, from seat to nose, is "
			}
			rest = after(t, rest, lead+set.Text)
			last["stick-out"] = set.Text
		}
		if step.Leg != nil && last["the leg"] != step.Leg.Text {
			rest = after(t, rest, "Set the leg to "+step.Leg.Text)
			last["the leg"] = step.Leg.Text
		}
		if set := step.Support.Lengths[step.Support.SetBy]; step.Support.SetBy != shop.DatumTilt && (i == 0 || last["support"] != set.Text) {
			rest = after(t, rest, " to "+set.Text)
			last["support"] = set.Text
		}
		rest = after(t, rest, fmt.Sprintf("angle %.1f° ± %.1f°", step.Predicted.Edge.Degrees(), step.Predicted.Expanded.Degrees()))
		if step.Predicted.Reading.Known {
			rest = after(t, rest, fmt.Sprintf("reads %.1f°", step.Predicted.Reading.Value.Degrees()))
		}
	}
	if found.Edge != nil {
		rest = after(t, rest, "The whole edge "+found.Edge.Summary.Text)
		after(t, rest, "Wedge angle along the edge")
	}
	for _, c := range found.Cautions {
		if !strings.Contains(text, c.Text) {
			t.Errorf("no caution %q", c.Text)
		}
	}
	if !strings.Contains(text, "arris 1.2.3 · page 1 of ") || !strings.Contains(text, "Proved on ") {
		t.Error("no version, or nowhere to sign")
	}
}

// after is what follows a text.
func after(t *testing.T, text, what string) string {
	t.Helper()
	_, rest, found := strings.Cut(text, what)
	if !found {
		t.Fatalf("no %q in what follows:\n%s", what, text)
	}
	return rest
}

// The check bar is 100 mm long on the paper that another program sees: found in a picture of 600 dots to the inch by its darkest row.
func TestCheckBarIsTrue(t *testing.T) {
	m := maker()
	d, _, err := m.Setup(t.Context(), "", setup.Question{Common: asks["bowl"]}, paper.A4)
	if err != nil {
		t.Fatal(err)
	}
	const dots = 600
	to := filepath.Join(t.TempDir(), "page")
	outside.Run(t, "poppler-utils", "pdftoppm", "-r", strconv.Itoa(dots), "-gray", "-y", "6600", "-H", "300", "-x", "0", "-W", "4960", written(t, d), to)
	files, _ := filepath.Glob(to + "*.pgm")
	if len(files) != 1 {
		t.Fatal(files)
	}
	wide, high, grey := picture(t, files[0])
	longest := 0
	for y := range high {
		run := 0
		for x := range wide {
			if grey[y*wide+x] < 128 {
				run++
				longest = max(longest, run)
			} else {
				run = 0
			}
		}
	}
	// From the middle of the first tick to that of the last; the ticks are 0.3 mm wide.
	if long := float64(longest)*25.4/dots - 0.3; math.Abs(long-100) > 0.05 {
		t.Errorf("the check bar is %.3f mm long", long)
	}
}

// picture reads a portable graymap.
func picture(t *testing.T, name string) (wide, high int, grey []byte) {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var most int
	if _, err := fmt.Sscanf(string(text[:40]), "P5\n%d %d\n%d\n", &wide, &high, &most); err != nil {
		t.Fatal(err)
	}
	return wide, high, text[len(text)-wide*high:]
}

// The same question gives the same bytes, from a maker of its own as well.
func TestSheetsAreTheSameBytes(t *testing.T) {
	for name, ask := range asks {
		var first []byte
		for range 3 {
			d, _, err := changed(t, func(r any) any { return r }).Setup(t.Context(), "", setup.Question{Common: ask}, paper.A4)
			if err != nil {
				t.Fatal(err)
			}
			var out bytes.Buffer
			if err := errors.Join(paper.PDF(&out, d), paper.SVG(&out, d.Title, d.Pages[0])); err != nil {
				t.Fatal(err)
			}
			if first == nil {
				first = out.Bytes()
			}
			if !bytes.Equal(first, out.Bytes()) {
				t.Errorf("%s: other bytes", name)
			}
		}
	}
}

// textOf are all words of a sheet, joined by blanks.
func textOf(d paper.Document) string {
	var all []string
	for _, page := range d.Pages {
		for _, m := range page.Marks {
			if w, ok := m.(paper.Words); ok {
				all = append(all, strings.ReplaceAll(w.Text, "\u00a0", " "))
			}
		}
	}
	return strings.Join(all, " ")
}

// A bevel that is ground on another machine says where, with which diameter of what date, and takes none of its settings from the first.
func TestBevelOnAnotherMachine(t *testing.T) {
	q := setup.Question{Common: asked("bowl-50-relief", "north", "bowl-gouge-12")}
	recipe, err := demotest.Reader().Recipe(t.Context(), q.Recipe, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	q.Recipe, q.Grind = "", &recipe.Grind
	q.Rig.Holder.Name = recipe.Holder
	q.Given = recipe.Settings
	q.Places = make([]setup.RigSource, len(recipe.Grind.Bevels))
	q.Places[1].Station.Name = demo.Name + "/stations/south"
	d, found, err := maker().Setup(t.Context(), "", q, paper.A4)
	if err != nil {
		t.Fatal(err)
	}
	text := textOf(d)
	for _, want := range []string{"On station south", "The wheel there: ⌀ 187.4 mm, measured ", found.Steps[0].Support.Lengths[found.Steps[0].Support.SetBy].Text} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in %s", want, text)
		}
	}
	if strings.Contains(text, "Leave ") {
		t.Errorf("something is left as it is on another machine: %s", text)
	}
}

// In inches everything is in inches, but the bar that the print is checked by.
func TestSheetsInInches(t *testing.T) {
	c := asks["bowl"]
	c.Unit = setup.Inches
	d, found, err := maker().Setup(t.Context(), "", setup.Question{Common: c}, paper.Letter)
	if err != nil {
		t.Fatal(err)
	}
	perSixteenth := found.Steps[0].Support.Lengths[shop.DatumWheelGap].PerMM * 25.4 / 16 * 180 / math.Pi
	g, _, err := maker().Gauges(t.Context(), sheet.WheelGap, setup.Question{Common: c}, paper.Letter)
	if err != nil {
		t.Fatal(err)
	}
	text := textOf(d) + " " + textOf(g)
	for _, want := range []string{
		"100 mm = 3 15/16 in. Measure it", "the bar below measures 100.0 mm = 3 15/16 in;", "⌀ 7 7/8 in", fmt.Sprintf("1/16 in more is %.2f° blunter", perSixteenth), "gap 4 17/64 in", "wheel ⌀ 7 ",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in %s", want, text)
		}
	}
	for _, metric := range regexp.MustCompile(`\S+ mm\b`).FindAllString(text, -1) {
		if metric != "100 mm" && metric != "100.0 mm" {
			t.Errorf("%q on a sheet in inches: %s", metric, text)
		}
	}
}

// The length that is said of the bar in inches is its own, to the mark of a rule.
func TestCheckBarInInches(t *testing.T) {
	bar, err := unit.InchFraction(100, 64)
	if err != nil || bar.String() != "3 15/16 in" || math.Abs(float64(bar.Residual)) > 0.02 {
		t.Errorf("100 mm is %v and %v, %v", bar, bar.Residual, err)
	}
}

// A drawing calls an angle as the text beside it does, in every language: only the bevel that makes the edge has an edge angle.
func TestDrawingsCallAnglesAsTheTextDoes(t *testing.T) {
	said := map[bool]map[string]bool{false: {}, true: {}} // by whether it is of the edge: what angles are called
	for name, ask := range asks {
		for _, code := range []string{"en", "de", "es"} {
			ask.Language = code
			d, found, err := maker().Setup(t.Context(), "", setup.Question{Common: ask}, paper.A4)
			if err != nil {
				t.Fatal(err)
			}
			text := strings.ToLower(textOf(d))
			for _, step := range found.Steps {
				label := labelOf(t, step.Figure, "edge_angle")
				if !strings.Contains(text, strings.ToLower(label)+" ± ") {
					t.Errorf("%s in %s: the drawing says %q, the text does not", name, code, label)
				}
				said[step.Bevel == 0][strings.TrimRight(label, "0123456789.,°")] = true
			}
		}
	}
	for label := range said[true] {
		if said[false][label] {
			t.Errorf("a bevel behind the edge has %q as the edge has", label)
		}
	}
	if len(said[false]) != 3 || len(said[true]) != 3 {
		t.Errorf("angles are called %v in three languages", said)
	}
}

// labelOf is the text of an angle in a drawing.
func labelOf(t *testing.T, f *drawing.Figure, part string) string {
	t.Helper()
	for _, item := range f.Items {
		if a, is := item.Shape.(drawing.Angle); is && item.Part == part {
			return a.Text
		}
	}
	t.Fatalf("no %s in the drawing", part)
	return ""
}

// Where a tool has two faces, a step says what is one face's and what both have together; faces differ.
func TestBothFacesTogether(t *testing.T) {
	for _, name := range []string{"skew", "rake"} {
		d, found, err := maker().Setup(t.Context(), "", setup.Question{Common: asks[name]}, paper.A4)
		if err != nil {
			t.Fatal(err)
		}
		text := textOf(d)
		for _, step := range found.Steps {
			own, both := step.Predicted, step.Predicted.IncludedEdge
			want := fmt.Sprintf("Edge angle %.1f° ± %.1f° on this side; both faces together %.1f°", own.Edge.Degrees(), own.Expanded.Degrees(), both.Value.Degrees())
			if !both.Known || !strings.Contains(text, want) {
				t.Errorf("%s: no %q in %s", name, want, text)
			}
		}
	}
}

// Taken apart, every page of a sheet says what it belongs to, above all else that is on it.
func TestFurtherPagesHaveAHead(t *testing.T) {
	further := 0
	for name, ask := range asks {
		for _, size := range []paper.Size{paper.A4, paper.Letter} {
			d, found, err := maker().Setup(t.Context(), "tool-07", setup.Question{Common: ask}, size)
			if err != nil {
				t.Fatal(err)
			}
			b := found.Basis
			for i := 1; i < len(d.Pages); i++ {
				further++
				low := headEnd(d.Pages[i])
				above := textOf(paper.Document{Pages: []paper.Page{{Marks: slices.DeleteFunc(slices.Clone(d.Pages[i].Marks), func(m paper.Mark) bool {
					w, is := m.(paper.Words)
					return !is || w.At.Y > low
				})}}})
				for _, want := range []string{
					"For tool-07", path.Base(path.Dir(path.Dir(b.Recipe))) + ", revision " + path.Base(b.Recipe), path.Base(b.Station), path.Base(b.Wheel),
					fmt.Sprintf("⌀ %.1f mm, measured %s", float64(b.WheelDiameter), b.WheelMeasured.Format(time.DateOnly)), fmt.Sprintf("page %d of %d", i+1, len(d.Pages)),
				} {
					if !strings.Contains(above, want) {
						t.Errorf("%s, page %d: no %q above it: %q", name, i+1, want, above)
					}
				}
				if b.Tool != "" && !strings.Contains(above, path.Base(b.Tool)) {
					t.Errorf("%s, page %d: no tool above it: %q", name, i+1, above)
				}
				for _, m := range bodyOf(d.Pages[i]).Marks {
					if l, is := m.(paper.Line); is && len(l.Points) > 0 && l.Points[0].Y < low {
						t.Errorf("%s, page %d: a line reaches into the head", name, i+1)
					}
				}
				standApart(t, d.Pages[i])
			}
		}
	}
	if further < 5 {
		t.Errorf("only %d further pages: they test nothing", further)
	}
}

// A volume's page of what is missing is for people at a printer: the API's names for fields are none of their words.
func TestMissingSaysNoFields(t *testing.T) {
	in, err := setup.SpeechIn("", setup.Millimetres)
	if err != nil {
		t.Fatal(err)
	}
	ask := setup.Question{Common: setup.Common{Shop: demo.Name, Grind: &shop.Grind{Bevels: []shop.Bevel{{Of: shop.FrontAngle, Angle: 50 * unit.Degree}}}}}
	ask.Rig.Station.Name, ask.Rig.Holder.Name = demo.Name+"/stations/north", demo.Name+"/holders/swing"
	_, _, err = maker().Setup(t.Context(), "", ask, paper.A4)
	refused, is := fault.As(err)
	if !is || !strings.Contains(refused.Message, "given.stick_out_mm: say") {
		t.Fatalf("refused by %v", err)
	}
	for why, want := range map[string]string{
		refused.Message: strings.NewReplacer("given.stick_out_mm", "stick-out", "given.leg", "leg", "leg_angle_deg", "leg angle", "leg_position", "leg position").Replace(refused.Message),
		"grind.bevels[1].width_mm: every bevel but the last needs its width":           "bevel 2, width: every bevel but the last needs its width",
		"rig.tool.steel_under_flute_mm must be at least 0.5; given.leg must be finite": "steel under flute must be at least 0.5; leg must be finite",
		`rig.support: "a_b.c" is not a support; nearest: shops/main/wheels/a-b`:        `support: "a_b.c" is not a support; nearest: shops/main/wheels/a-b`,
		"the stick-out of 45.2 mm is too long. Shorten it":                             "the stick-out of 45.2 mm is too long. Shorten it",
	} {
		text := textOf(maker().Missing(in, []sheet.Missing{{Key: "07", Why: why}}, paper.A4))
		if !strings.Contains(text, want) {
			t.Errorf("no %q in %q", want, text)
		}
		if rest := regexp.MustCompile(`"[^"]*"`).ReplaceAllString(strings.ReplaceAll(text, "1.2.3", ""), ""); regexp.MustCompile(`[a-z]_[a-z]|[a-z]\.[a-z]|\[\d`).MatchString(rest) {
			t.Errorf("a field's name on paper: %s", text)
		}
	}
}

// Whatever things are called, nothing leaves its page, and an SVG stays one, without script.
func TestHostileNames(t *testing.T) {
	for what, name := range map[string]string{
		"markup":        `<script>alert(1)</script> & "quoted" </svg>`,
		"long":          strings.Repeat("x", 500),
		"long words":    strings.Repeat("a long name ", 40),
		"right to left": "مِثقار \u202e\u2067abc",
		"hebrew":        strings.Repeat("אבן שָׁחֹרָה 200 ", 12),
		"arabic, whole": strings.Repeat("م", 500),
		"marks":         "Z" + strings.Repeat("\u0304\u0331", 200),
		"isolates":      "\u2066\u2067\u2069\u2069 12 א",
		"emoji":         "gouge 🪵🔥",
		"nothing":       "\u200b\u200b",
	} {
		t.Run(what, func(t *testing.T) {
			m := changed(t, func(record any) any {
				switch r := record.(type) {
				case shop.Station:
					r.DisplayName = name
					return r
				case shop.Recipe:
					r.DisplayName = name
					return r
				case shop.Wheel:
					r.DisplayName = name
					return r
				}
				return record
			})
			d, _, err := m.Setup(t.Context(), "", setup.Question{Common: asks["bowl"]}, paper.A4)
			if err != nil {
				t.Fatal(err)
			}
			outside.Run(t, "qpdf", "qpdf", "--check", written(t, d))
			for _, page := range d.Pages {
				within(t, page)
				var svg bytes.Buffer
				if err := paper.SVG(&svg, d.Title, page); err != nil {
					t.Fatal(err)
				}
				soundXML(t, svg.String())
			}
		})
	}
}

// within fails where words leave the page or run over one another's lines at the same place.
func within(t *testing.T, page paper.Page) {
	t.Helper()
	for _, m := range page.Marks {
		w, ok := m.(paper.Words)
		if !ok || w.Turn != 0 {
			continue
		}
		right := w.At.X + paper.Width(w.Text, w.Size, w.Bold)
		if w.At.X < 0 || w.At.Y-w.Size < 0 || right > page.Width || w.At.Y > page.Height {
			t.Errorf("%q leaves the page: from %.1f to %.1f, on line %.1f", w.Text, w.At.X, right, w.At.Y)
		}
	}
}

// soundXML reads a document through: no elements but the drawing's own.
func soundXML(t *testing.T, text string) {
	t.Helper()
	for reader := xml.NewDecoder(strings.NewReader(text)); ; {
		token, err := reader.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := token.(xml.StartElement); ok && !regexp.MustCompile(`^(svg|title|rect|path|circle|text)$`).MatchString(e.Name.Local) {
			t.Errorf("an element %s", e.Name.Local)
		}
	}
}

// The SVG has its words where the PDF has them, within 0.01 mm, as another program reads the PDF.
func TestSVGAgreesWithPDF(t *testing.T) {
	d, _, err := maker().Setup(t.Context(), "", setup.Question{Common: asks["bowl"]}, paper.A4)
	if err != nil {
		t.Fatal(err)
	}
	var svg bytes.Buffer
	if err := paper.SVG(&svg, d.Title, d.Pages[0]); err != nil {
		t.Fatal(err)
	}
	// Words as poppler finds them, in points; the left ends of those that begin a line of ours.
	boxes := outside.Run(t, "poppler-utils", "pdftotext", "-bbox", written(t, d), "-")
	compared := 0
	for _, at := range regexp.MustCompile(`<text x="([\d.]+)" y="([\d.]+)" font-size="[\d.]+" textLength="[\d.]+" lengthAdjust="spacingAndGlyphs"(?: font-weight="bold")?>(\S+)</text>`).FindAllStringSubmatch(svg.String(), -1) {
		x, _ := strconv.ParseFloat(at[1], 64)
		found := regexp.MustCompile(`xMin="([\d.]+)" yMin="[\d.]+" xMax="[\d.]+" yMax="[\d.]+">`+regexp.QuoteMeta(at[3])+`</word>`).FindAllStringSubmatch(boxes, -1)
		nearest := math.Inf(1)
		for _, word := range found {
			left, _ := strconv.ParseFloat(word[1], 64)
			nearest = min(nearest, math.Abs(left*25.4/72-x))
		}
		if compared++; nearest > 0.01 {
			t.Errorf("%q is at %.3f mm in the SVG, and %.3f mm aside in the PDF", at[3], x, nearest)
		}
	}
	if compared < 8 {
		t.Errorf("only %d words were compared", compared)
	}
}
