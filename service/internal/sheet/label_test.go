package sheet_test

import (
	"bytes"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"arris.example/deploy/outside"
	"arris.example/geometry/unit"
	"arris.example/service/internal/code"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/shop"
)

const public = "https://grinding.example.org"

var stocks = map[string]sheet.Stock{
	"62x29": sheet.Label62x29, "89x28": sheet.Label89x28, "50x30": sheet.Label50x30, "A4": sheet.A4x24, "Letter": sheet.Letterx30,
}

// pageSizes are those that poppler prints, in points of 1/72 in.
var pageSizes = map[string]string{"62x29": "175.75 x 82.2", "89x28": "252.28 x 79.37", "50x30": "141.73 x 85.04", "A4": "595.28 x 841.89", "Letter": "612 x 792"}

// everything is one of each thing that has labels, some twice.
func everything() (names []string) {
	for _, record := range demo.Records(time.Now()) {
		switch r := record.(type) {
		case shop.Tool:
			names = append(names, r.Name)
		case shop.Station:
			names = append(names, r.Name)
		case shop.Wheel:
			names = append(names, r.Name)
		case shop.Holder:
			names = append(names, r.Name)
		}
	}
	return append(names, names[0])
}

// pictured are pictures of a PDF's pages, as files, of 300 dots to the inch.
func pictured(t *testing.T, pdf string) []string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "page")
	outside.Run(t, "poppler-utils", "pdftoppm", "-r", "300", "-gray", pdf, to)
	files, _ := filepath.Glob(to + "*.pgm")
	return files
}

// decoded are the texts of the codes in pictures, as zbar reads them, which fails where a picture has none.
func decoded(t *testing.T, files ...string) (texts []string) {
	t.Helper()
	for _, line := range strings.Split(outside.Run(t, "zbar-tools", "zbarimg", append([]string{"-q", "--raw", "--nodbus", "-Sdisable", "-Sqrcode.enable"}, files...)...), "\n") {
		if line != "" {
			texts = append(texts, line)
		}
	}
	return texts
}

// labelsOf cuts pictures of pages into pictures of their labels, of which there are so many.
func labelsOf(t *testing.T, pages []string, s sheet.Stock, count int) (files []string) {
	t.Helper()
	const dots = 300 / 25.4
	folder := t.TempDir()
	for i, page := range pages {
		wide, _, grey := picture(t, page)
		for place := range min(s.Columns*s.Rows, count-i*s.Columns*s.Rows) {
			left, top := int(dots*(s.Left+float64(place%s.Columns)*s.Across)), int(dots*(s.Top+float64(place/s.Columns)*s.Down))
			w, h := int(dots*s.Label.Width), int(dots*s.Label.Height)
			text := fmt.Appendf(nil, "P5\n%d %d\n255\n", w, h)
			for y := top; y < top+h; y++ {
				text = append(text, grey[y*wide+left:y*wide+left+w]...)
			}
			files = append(files, filepath.Join(folder, fmt.Sprintf("%d-%d.pgm", i, place)))
			if err := os.WriteFile(files[len(files)-1], text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	return files
}

// same fails unless two lists have the same texts, in whatever order.
func same(t *testing.T, got, want []string) {
	t.Helper()
	count := map[string]int{}
	for _, w := range want {
		count[w]++
	}
	for _, g := range got {
		count[g]--
	}
	for text, n := range count {
		if n != 0 {
			t.Errorf("%d too few of the codes %q", n, text)
		}
	}
}

// Others read the labels: the pages are as large as they should be, have their faces in them, and every code holds the address it should.
func TestLabelsReadByOthers(t *testing.T) {
	names := everything()
	for size, stock := range stocks {
		for _, address := range []string{public, ""} {
			if address == "" && size != "62x29" {
				continue // one is like the other
			}
			t.Run(size+" "+address, func(t *testing.T) {
				m := maker()
				m.Public = address
				d, err := m.Labels(t.Context(), sheet.Labels{Names: names, Stock: stock})
				if err != nil {
					t.Fatal(err)
				}
				file := written(t, d)
				if said := outside.Run(t, "qpdf", "qpdf", "--check", file); !strings.Contains(said, "No syntax or stream encoding errors") {
					t.Error(said)
				}
				perPage := stock.Columns * stock.Rows
				pages := (len(names) + perPage - 1) / perPage
				info := outside.Run(t, "poppler-utils", "pdfinfo", file)
				if !strings.Contains(info, "Page size:       "+pageSizes[size]+" pts") || !strings.Contains(info, fmt.Sprintf("Pages:           %d\n", pages)) {
					t.Error(info)
				}
				fonts := strings.Split(strings.TrimSpace(outside.Run(t, "poppler-utils", "pdffonts", file)), "\n")[2:]
				for _, font := range fonts {
					if fields := strings.Fields(font); len(fields) < 5 || fields[4] != "yes" {
						t.Errorf("a face is not in it: %s", font)
					}
				}
				if len(fonts) == 0 {
					t.Error("there are no faces")
				}
				var want []string
				for _, name := range names {
					if address == "" {
						want = append(want, code.ShortID(name))
						continue
					}
					want = append(want, public+"/l?shop=main&code="+code.ShortID(name))
				}
				same(t, decoded(t, labelsOf(t, pictured(t, file), stock, len(names))...), want)
				onLabels(t, d, stock, 0, len(names))
				text := strings.ReplaceAll(textOf(d), " ", "")
				for _, name := range names {
					if !strings.Contains(text, code.ShortID(name)) {
						t.Errorf("no %s in %s", code.ShortID(name), text)
					}
				}
			})
		}
	}
}

// onLabels fails where a mark leaves its label, the letters of one lie on the code of another, or a code is not as it should be.
func onLabels(t *testing.T, d paper.Document, s sheet.Stock, first, count int) {
	t.Helper()
	perPage, codes := s.Columns*s.Rows, 0
	for i, page := range d.Pages {
		for _, m := range page.Marks {
			var least, most paper.Point
			switch m := m.(type) {
			case paper.Words:
				least = paper.Point{X: m.At.X, Y: m.At.Y - 0.76*m.Size} // DejaVu's capitals and descenders
				most = paper.Point{X: m.At.X + paper.Width(m.Text, m.Size, m.Bold), Y: m.At.Y + 0.24*m.Size}
			case paper.Tiles:
				codes++
				least, most = soundCode(t, m)
			default:
				t.Errorf("a mark %T", m)
			}
			inside := false
			for place := range perPage {
				if n := i*perPage + place; n < first || n >= first+count {
					continue
				}
				x, y := s.Left+float64(place%s.Columns)*s.Across, s.Top+float64(place/s.Columns)*s.Down
				inside = inside || least.X >= x && least.Y >= y && most.X <= x+s.Label.Width && most.Y <= y+s.Label.Height
			}
			if !inside {
				t.Errorf("page %d: %v leaves its label: from %v to %v", i+1, m, least, most)
			}
		}
	}
	if codes != count {
		t.Errorf("%d codes for %d labels", codes, count)
	}
}

// soundCode is where a code lies with what stays white around it. Its modules are wide enough, and nothing of it is narrower.
func soundCode(t *testing.T, all paper.Tiles) (least, most paper.Point) {
	t.Helper()
	module := all[0].Height
	least, most = all[0].At, all[0].At
	for _, tile := range all {
		least.X, least.Y = min(least.X, tile.At.X), min(least.Y, tile.At.Y)
		most.X, most.Y = max(most.X, tile.At.X+tile.Width), max(most.Y, tile.At.Y+tile.Height)
	}
	if module < 0.4 {
		t.Errorf("modules of %.3f mm", module)
	}
	quiet := 4 * module // ISO/IEC 18004
	return paper.Point{X: least.X - quiet + 1e-6, Y: least.Y - quiet + 1e-6}, paper.Point{X: most.X + quiet - 1e-6, Y: most.Y + quiet - 1e-6}
}

// hostile are names that people, or programs, may give.
var hostile = []string{
	`<script>alert(1)</script> & "quoted" </svg>`, strings.Repeat("x", 500), strings.Repeat("a long name ", 40), "مِثقار \u202e\u2067abc", "gouge 🪵🔥",
	"\u200b\u200b", "",
}

// Whatever things are called, codes are read, nothing leaves its label, and an SVG stays one, without script. The longest ids there are get
// a code too, and stand on the label whole.
func TestLabelsOfHostileNames(t *testing.T) {
	long := demo.Name + "/tools/" + strings.Repeat("w", 63)
	names := []string{long}
	m := changed(t, func(record any) any {
		tool, ok := record.(shop.Tool)
		if i := len(names) - 1; ok && i < len(hostile) {
			if tool.DisplayName = hostile[i]; i == 0 {
				tool.Name = long
			}
			names = append(names, tool.Name)
			return tool
		}
		return record
	})
	m.Public = public
	for size, stock := range stocks {
		t.Run(size, func(t *testing.T) {
			d, err := m.Labels(t.Context(), sheet.Labels{Names: names, Stock: stock})
			if err != nil {
				t.Fatal(err)
			}
			file := written(t, d)
			outside.Run(t, "qpdf", "qpdf", "--check", file)
			onLabels(t, d, stock, 0, len(names))
			var got, want []string
			for _, text := range decoded(t, labelsOf(t, pictured(t, file), stock, len(names))...) { // an address has no room everywhere
				got = append(got, strings.TrimPrefix(text, public+"/l?shop=main&code="))
			}
			for _, name := range names {
				want = append(want, code.ShortID(name))
			}
			same(t, got, want)
			text := strings.ReplaceAll(textOf(d), " ", "")
			for _, short := range want {
				if !strings.Contains(text, short) {
					t.Errorf("the short id %s is not whole in %s", short, text)
				}
			}
			for _, page := range d.Pages {
				var svg bytes.Buffer
				if err := paper.SVG(&svg, d.Title, page); err != nil {
					t.Fatal(err)
				}
				soundXML(t, svg.String())
			}
		})
	}
}

// A sheet that was begun is used up from where it is.
func TestLabelsFromAPlaceOn(t *testing.T) {
	m := maker()
	names := everything()[:5]
	d, err := m.Labels(t.Context(), sheet.Labels{Names: names, Stock: sheet.A4x24, Start: 22})
	if err != nil {
		t.Fatal(err)
	}
	if len(d.Pages) != 2 {
		t.Fatalf("%d pages", len(d.Pages))
	}
	onLabels(t, d, sheet.A4x24, 21, len(names))
	for size, stock := range stocks {
		_, err := m.Labels(t.Context(), sheet.Labels{Names: names, Stock: stock, Start: stock.Columns*stock.Rows + 1})
		if f, ok := fault.As(err); !ok || f.Violations[0].Field != "start" {
			t.Errorf("%s: %v", size, err)
		}
	}
}

// What matters is on them.
func TestWhatLabelsSay(t *testing.T) {
	for name, want := range map[string][]string{
		"tools/bowl-gouge-12":    {"Bowl gouge, 12 mm flute", "⌀ 16 mm, edge angle 50°", "high-speed steel", "T.BOWL-GOUGE-12.3"},
		"tools/skew-25":          {"8 mm thick", "included angle 36°", "T.SKEW-25.Q"},
		"stations/north":         {"North, by the door", "Wheel north-fine", "spindle 1425 rpm"},
		"wheels/south-white":     {"Bonded F80", "new ⌀ 200 mm", "not below 150 mm", "at most 35 m/s"},
		"wheels/north-fine":      {"Superabrasive B151", "at most 3450 rpm"},
		"wheels/flat-disc":       {"Coated P120", "flat", "at most 30 m/s"},
		"holders/swing":          {"Swing holder", "Leg 74 mm"},
		"holders/bar-clamp":      {"Clamp for gouges", "Bar 14 mm behind the face"},
		"holders/butt-seat":      {"Handle butted in the pocket"},
		"tools/negative-rake-25": {"edge angle 40° below, 20° above"},
	} {
		d, err := maker().Labels(t.Context(), sheet.Labels{Names: []string{demo.Name + "/" + name}, Stock: sheet.Label89x28})
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range want {
			if text := textOf(d); !strings.Contains(text, w) {
				t.Errorf("%s: no %q in %q", name, w, text)
			}
		}
	}
	for size, stock := range stocks { // nothing of it is cut, on none of the sizes
		d, err := maker().Labels(t.Context(), sheet.Labels{Names: everything(), Stock: stock})
		if text := textOf(d); err != nil || strings.Contains(text, "…") {
			t.Errorf("%s: %v, cut: %s", size, err, text)
		}
	}
	d, err := maker().Labels(t.Context(), sheet.Labels{Names: []string{demo.Name + "/tools/bowl-gouge-12"}, Stock: sheet.Label89x28, Unit: setup.Inches})
	if err != nil || !strings.Contains(textOf(d), "⌀ 5/8 in") {
		t.Errorf("in inches: %s, %v", textOf(d), err)
	}
	if _, err := maker().Labels(t.Context(), sheet.Labels{Names: []string{demo.Name + "/tools/none"}, Stock: sheet.Label89x28}); err == nil {
		t.Error("there is a label of nothing")
	}
}

// The same labels are the same bytes, and so is a sheet with its code.
func TestCodesAreTheSameBytes(t *testing.T) {
	var first []byte
	for range 3 {
		m := changed(t, func(r any) any { return r })
		m.Public = public
		var out bytes.Buffer
		for _, stock := range []sheet.Stock{sheet.Label62x29, sheet.A4x24} {
			d, err := m.Labels(t.Context(), sheet.Labels{Names: everything(), Stock: stock})
			if err := errors.Join(err, paper.PDF(&out, d), paper.SVG(&out, d.Title, d.Pages[0])); err != nil {
				t.Fatal(err)
			}
		}
		q := setup.Question{Common: asks["bowl"]}
		q.AsOf = time.Date(2027, 1, 2, 14, 54, 33, 0, time.UTC)
		d, _, err := m.Setup(t.Context(), "", q, paper.A4)
		if err := errors.Join(err, paper.PDF(&out, d), paper.SVG(&out, d.Title, d.Pages[0])); err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = out.Bytes()
		}
		if !bytes.Equal(first, out.Bytes()) {
			t.Error("other bytes")
		}
	}
}

// The code on a sheet holds what it rests on, whatever it is of, and others read it. Without a public address there is none, nor where there
// is nothing of a shop to tell of later.
func TestCodesOnSheets(t *testing.T) {
	at := time.Date(2027, 1, 2, 14, 54, 33, 0, time.UTC)
	for name, ask := range asks {
		for _, size := range []paper.Size{paper.A4, paper.Letter} {
			if size == paper.Letter && name != "bowl" {
				continue // the heading is the same
			}
			t.Run(fmt.Sprintf("%s on %.0f mm", name, size.Width), func(t *testing.T) {
				m := maker()
				m.Public = public
				q := setup.Question{Common: ask}
				q.AsOf = at
				d, found, err := m.Setup(t.Context(), "", q, size)
				if err != nil {
					t.Fatal(err)
				}
				got := decoded(t, pictured(t, written(t, d))[0])
				if len(got) != 1 {
					t.Fatal(got)
				}
				u, err := url.Parse(got[0])
				if err != nil || !strings.HasPrefix(got[0], public+"/s?") {
					t.Fatal(got, err)
				}
				want := url.Values{"shop": {"main"}, "as_of_time": {"2027-01-02T14:54:33Z"}, "recipe": {filepath.Base(ask.Recipe) + "/1"},
					"station": {filepath.Base(ask.Rig.Station.Name)}, "wheel": {filepath.Base(found.Basis.Wheel)}, "diameter_mm": {fmt.Sprint(float64(found.Basis.WheelDiameter))}}
				if ask.Rig.Tool.Name != "" {
					want.Set("tool", filepath.Base(ask.Rig.Tool.Name))
				}
				if u.Query().Encode() != want.Encode() {
					t.Errorf("%s holds %v, want %v", name, u.Query(), want)
				}
				for _, mark := range d.Pages[0].Marks {
					if tiles, ok := mark.(paper.Tiles); ok {
						least, most := soundCode(t, tiles)
						if least.X < 0 || least.Y < 0 || most.X > size.Width {
							t.Errorf("the code leaves the page: %v to %v", least, most)
						}
						clearOf(t, d.Pages[0], least, most)
					}
				}
				if text := textOf(d); !strings.Contains(text, "As of 2027-01-02. Scan for changes.") {
					t.Error("nothing says what the code is for")
				}
			})
		}
	}
	m := maker()
	d, _, err := m.Setup(t.Context(), "", setup.Question{Common: asks["bowl"]}, paper.A4)
	if err != nil || codesOf(d) != 0 {
		t.Errorf("%d codes that lead nowhere, %v", codesOf(d), err)
	}
	m.Public = public
	q := setup.Question{Common: setup.Common{Grind: &shop.Grind{Bevels: []shop.Bevel{{Angle: 50 * unit.Degree}}}}}
	q.Rig.Wheel.Inline, q.Rig.Holder.Inline = &shop.Wheel{Diameter: 200}, &shop.Holder{Kind: shop.BarePivot, Behind: 131.1, Below: 46}
	q.Rig.Tool.Inline = &shop.Tool{SteelUnderFlute: shop.Some(demo8)}
	if d, _, err = m.Setup(t.Context(), "", q, paper.A4); err != nil || codesOf(d) != 0 {
		t.Errorf("%d codes of nothing, %v", codesOf(d), err)
	}
	// Half of it named: what is named is held, and that the rest is not.
	q = setup.Question{Common: asks["bowl"]}
	q.Given.StickOut = shop.Some(demo8 * 5)
	if d, _, err = m.Setup(t.Context(), "", q, paper.A4); err != nil || !strings.HasSuffix(decoded(t, pictured(t, written(t, d))[0])[0], "&own_settings=true") {
		t.Errorf("%v, %v", decoded(t, pictured(t, written(t, d))[0]), err)
	}
}

const demo8 = unit.Length(8)

// Whatever things are called, a sheet's code is read and nothing lies on it.
func TestCodesOnSheetsOfHostileNames(t *testing.T) {
	for _, name := range hostile {
		m := changed(t, func(record any) any {
			switch r := record.(type) {
			case shop.Recipe:
				r.DisplayName = name
				return r
			case shop.Wheel:
				r.DisplayName = name
				return r
			}
			return record
		})
		m.Public = public
		d, _, err := m.Setup(t.Context(), "", setup.Question{Common: asks["bowl"]}, paper.A4)
		if err != nil {
			t.Fatal(err)
		}
		if got := decoded(t, pictured(t, written(t, d))[0]); len(got) != 1 || !strings.HasPrefix(got[0], public+"/s?shop=main&recipe=bowl-50/1&station=north&") {
			t.Errorf("%.20q: %v", name, got)
		}
		for _, mark := range d.Pages[0].Marks {
			if tiles, ok := mark.(paper.Tiles); ok {
				least, most := soundCode(t, tiles)
				clearOf(t, d.Pages[0], least, most)
			}
		}
	}
}

func codesOf(d paper.Document) (n int) {
	for _, page := range d.Pages {
		for _, m := range page.Marks {
			if _, ok := m.(paper.Tiles); ok {
				n++
			}
		}
	}
	return n
}

// clearOf fails where words or lines reach into what stays white around a code.
func clearOf(t *testing.T, page paper.Page, least, most paper.Point) {
	t.Helper()
	in := func(x, y float64) bool { return x > least.X && x < most.X && y > least.Y && y < most.Y }
	for _, m := range page.Marks {
		switch m := m.(type) {
		case paper.Words:
			right := m.At.X + paper.Width(m.Text, m.Size, m.Bold)
			for x := m.At.X; x <= right; x += 0.5 {
				if in(x, m.At.Y) || in(x, m.At.Y-0.7*m.Size) {
					t.Errorf("%q is in the code's white", m.Text)
					break
				}
			}
		case paper.Line:
			for _, p := range m.Points {
				if in(p.X, p.Y) {
					t.Errorf("a line ends in the code's white: %v", p)
				}
			}
		}
	}
}

// A code in an SVG is the one of the PDF: drawn from the SVG's own path, zbar reads the same.
func TestCodeInSVG(t *testing.T) {
	m := maker()
	m.Public = public
	d, err := m.Labels(t.Context(), sheet.Labels{Names: []string{demo.Name + "/tools/bowl-gouge-12"}, Stock: sheet.Label62x29})
	if err != nil {
		t.Fatal(err)
	}
	var svg bytes.Buffer
	if err := paper.SVG(&svg, d.Title, d.Pages[0]); err != nil {
		t.Fatal(err)
	}
	path := regexp.MustCompile(`<path d="([^"]+)" fill="#000"`).FindStringSubmatch(svg.String())
	if path == nil {
		t.Fatal(svg.String())
	}
	const dots = 20 // a millimetre
	wide, high := 62*dots, 29*dots
	grey := bytes.Repeat([]byte{255}, wide*high)
	for _, tile := range regexp.MustCompile(`M([\d.]+) ([\d.]+)H([\d.]+)V([\d.]+)H([\d.]+)Z`).FindAllStringSubmatch(path[1], -1) {
		var left, top, right, low float64
		if _, err := fmt.Sscan(strings.Join(tile[1:5], " "), &left, &top, &right, &low); err != nil {
			t.Fatal(err)
		}
		for y := int(top*dots + 0.5); y < int(low*dots+0.5); y++ {
			for x := int(left*dots + 0.5); x < int(right*dots+0.5); x++ {
				grey[y*wide+x] = 0
			}
		}
	}
	file := filepath.Join(t.TempDir(), "code.pgm")
	if err := os.WriteFile(file, append(fmt.Appendf(nil, "P5\n%d %d\n255\n", wide, high), grey...), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := strings.TrimSpace(outside.Run(t, "zbar-tools", "zbarimg", "-q", "--raw", "--nodbus", file)); got != public+"/l?shop=main&code=T.BOWL-GOUGE-12.3" {
		t.Error(got)
	}
}
