package arris

import (
	"bytes"
	"encoding"
	"io"
	"io/fs"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/alecthomas/kong"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"arris.example/client/arris/internal/authority"
	arrisv1 "arris.example/proto/arris/v1"
)

func TestOnlyThisMachineIsTrustedWithoutTLS(t *testing.T) {
	hosts, err := authority.ParseHosts([]string{"shop.local"})
	folder := authority.Folder(t.TempDir())
	if err == nil {
		err = folder.Make(hosts, time.Now())
	}
	if err != nil {
		t.Fatal(err)
	}
	for host, want := range map[string]string{
		"localhost": "insecure", "LOCALHOST": "insecure", "127.0.0.1": "insecure", "127.8.8.8": "insecure", "::1": "insecure",
		"192.0.2.7": "tls", "localhost.example": "tls", "shop.example": "tls", "::": "tls", "0.0.0.0": "tls",
	} {
		for _, c := range []struct {
			flags callFlags
			want  string
		}{{callFlags{}, want}, {callFlags{Plaintext: true}, "insecure"}, {callFlags{TLSCA: folder.Path(authority.CertFile)}, "tls"}} {
			got, err := c.flags.protection(host)
			if err != nil || got.Info().SecurityProtocol != c.want {
				t.Errorf("%s with %+v: %v %v, want %s", host, c.flags, got, err, c.want)
			}
		}
	}
}

func TestTextsSteerNoTerminal(t *testing.T) {
	for text, want := range map[string]string{
		"bowl gouge, 12 mm ½″ ±": "bowl gouge, 12 mm ½″ ±",
		"\x1b[2J":                "\ufffd[2J",
		"a\u009b31mb":            "a\ufffd31mb",
		"a\u202eb\u2066c":        "a\ufffdb\ufffdc",
		"\xff\xfe":               "\ufffd",
		"two\nlines":             "two\nlines",
		"a\rb\x7f":               "a\ufffdb\ufffd",
	} {
		if got := visible(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

// Every text of an answer is cleaned, wherever it stands, and the answer itself stays as it was.
func TestCleaningReachesEveryText(t *testing.T) {
	answer := &arrisv1.SolveSetupResponse{}
	texts := fill(answer.ProtoReflect(), 0)
	if texts < 30 {
		t.Fatalf("only %d texts were filled in", texts)
	}
	before := proto.Clone(answer)
	left := 0
	eachText(cleaned(answer).ProtoReflect(), func(s string) {
		if s != "\ufffd[1m" {
			left++
		}
	})
	if left > 0 || !proto.Equal(answer, before) {
		t.Errorf("%d of %d texts are left as they were; the answer kept: %v", left, texts, proto.Equal(answer, before))
	}
}

// fill sets every text of a message to an escape sequence and makes every message in it.
func fill(m protoreflect.Message, depth int) (texts int) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		field := fields.Get(i)
		switch {
		case depth > 6 || field.IsMap():
		case field.IsList() && field.Message() != nil:
			texts += fill(m.Mutable(field).List().AppendMutable().Message(), depth+1)
		case field.Message() != nil:
			texts += fill(m.Mutable(field).Message(), depth+1)
		case field.IsList() && field.Kind() == protoreflect.StringKind:
			m.Mutable(field).List().Append(protoreflect.ValueOfString("\x1b[1m"))
			texts++
		case field.Kind() == protoreflect.StringKind:
			m.Set(field, protoreflect.ValueOfString("\x1b[1m"))
			texts++
		}
	}
	return texts
}

func eachText(m protoreflect.Message, see func(string)) {
	m.Range(func(field protoreflect.FieldDescriptor, value protoreflect.Value) bool {
		switch {
		case field.IsList() && field.Message() != nil:
			for i := range value.List().Len() {
				eachText(value.List().Get(i).Message(), see)
			}
		case field.Message() != nil:
			eachText(value.Message(), see)
		case field.IsList() && field.Kind() == protoreflect.StringKind:
			for i := range value.List().Len() {
				see(value.List().Get(i).String())
			}
		case field.Kind() == protoreflect.StringKind:
			see(value.String())
		}
		return true
	})
}

// What a file says is read back as it was, and no cell of it is a formula.
func TestCellsComeBack(t *testing.T) {
	for _, value := range []string{"", "=1+1", "-3.2", "-3.2 mm", "'=1+1", "''=1+1", "'quoted'", "'", "+49", "@A1", "'-3", "it's"} {
		c := cell(value)
		if _, err := strconv.ParseFloat(value, 64); err != nil && strings.IndexAny(c, "=+-@") == 0 {
			t.Errorf("%q is the cell %q", value, c)
		}
		if got := spoken(c); got != value {
			t.Errorf("%q is the cell %q, which reads %q", value, c, got)
		}
	}
}

func TestSpreadsheetsSeeNoFormula(t *testing.T) {
	for text, want := range map[string]string{
		"=1+1": "'=1+1", "+1": "'+1", "-3.2 mm": "'-3.2 mm", "@A1": "'@A1", "Set the leg": "Set the leg", "": "", "→ out": "→ out",
	} {
		if got := harmless(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

// Every flag that a refusal speaks of is one that there is, and every setting of the API has its flag.
func TestFieldsAndFlagsAgree(t *testing.T) {
	parser, err := kong.New(&commands{}, kong.Vars{})
	if err != nil {
		t.Fatal(err)
	}
	known, solving := map[string]bool{}, map[string]bool{}
	for _, command := range parser.Model.Children {
		for _, flag := range command.Flags {
			known["--"+flag.Name] = true
			solving["--"+flag.Name] = solving["--"+flag.Name] || command.Name == "solve"
		}
	}
	for field, flags := range fieldFlags {
		for _, flag := range strings.FieldsFunc(flags, func(r rune) bool { return r == ',' || r == ' ' }) {
			if strings.HasPrefix(flag, "--") && !known[flag] {
				t.Errorf("%s names the flag %s, which there is not", field, flag)
			}
		}
	}
	settings := (&arrisv1.Settings{}).ProtoReflect().Descriptor().Fields()
	for i := range settings.Len() {
		name := string(settings.Get(i).Name())
		if flag := fieldFlags[name]; !solving[flag] || !solving["--now-"+strings.TrimPrefix(flag, "--")] {
			t.Errorf("the setting %s has no flag of its own, or none for now", name)
		}
	}
}

func TestFieldsThereAreToldByTheirFlags(t *testing.T) {
	for path, want := range map[string]string{
		"from.given.stick_out_mm":              "--stick-out (given.stick_out_mm)",
		"to.station":                           "--to-station (to.station)",
		"to.inline_wheel.diameter_mm":          "--to-wheel (to.inline_wheel.diameter_mm)",
		"given.wheel_gap_mm":                   "--to-gap (given.wheel_gap_mm)",
		"to.inline_station.supports[0].slide":  "to.inline_station.supports[0].slide",
		"blunter_deg":                          "--blunter (blunter_deg)",
		"from.grind.bevels[0].front_angle_deg": "--bevel (grind.bevels[0].front_angle_deg)",
	} {
		if got := transferFields(path); got != want {
			t.Errorf("%s is told as %q, want %q", path, got, want)
		}
	}
}

func TestFieldsAreToldByTheirFlags(t *testing.T) {
	for path, want := range map[string]string{
		"given.stick_out_mm":               "--stick-out (given.stick_out_mm)",
		"settings.wheel_gap_mm":            "--gap (settings.wheel_gap_mm)",
		"now.slide_mm":                     "--now-slide (now.slide_mm)",
		"grind.bevels[1].front_angle_deg":  "--bevel (grind.bevels[1].front_angle_deg)",
		"rig.inline_holder.pivot.below_mm": "--pivot-below (rig.inline_holder.pivot.below_mm)",
		"rounding.blocks_mm[2]":            "--block (rounding.blocks_mm[2])",
		"doubts.leg.half_width_deg":        "doubts.leg.half_width_deg",
		"rig.inline_station.slide[":        "rig.inline_station.slide[",
		"ink.trials[1].settings.slide_mm":  "--slide (ink.trials[1].settings.slide_mm)",
		"today.bevels[0].width_mm":         "--today (today.bevels[0].width_mm)",
		"behind_rig.wheel":                 "--behind-wheel (behind_rig.wheel)",
		"given.wheel_gap_mm":               "--gap (given.wheel_gap_mm)",
	} {
		if got := fieldText(path); got != want {
			t.Errorf("%s is told as %q, want %q", path, got, want)
		}
	}
}

// Whatever bevel or settings an answer offers, the flags that say so read back as the same.
func TestOffersReadBack(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 1))
	for range 2000 {
		deg := float64(random.IntN(89000)+1000) / 1000
		offered := &arrisv1.Bevel{}
		bevelKinds[random.IntN(len(bevelKinds))].set(offered, deg)
		if random.IntN(2) == 0 {
			offered.WidthMm = proto.Float64(float64(random.IntN(20000)+1) / 1000)
		}
		var read bevel
		if err := read.UnmarshalText([]byte(bevelText(offered))); err != nil || !proto.Equal(read.wanted, offered) {
			t.Fatalf("%v is written %s and read %v, %v", offered, bevelText(offered), read.wanted, err)
		}
	}
	for text, want := range map[string]*arrisv1.Settings{
		"--stick-out 43.2mm --leg 30deg": {StickOutMm: proto.Float64(43.2), Leg: &arrisv1.Settings_LegAngleDeg{LegAngleDeg: 30}},
		"--leg position:3 --gap-far 12mm": {
			Leg: &arrisv1.Settings_LegPosition{LegPosition: "3"}, Support: &arrisv1.Settings_WheelGapFarMm{WheelGapFarMm: 12},
		},
		"--tilt -12.5deg": {Support: &arrisv1.Settings_PlatformTiltDeg{PlatformTiltDeg: -12.5}},
	} {
		if got := strings.Join(settingFlagsText(want), " "); got != text {
			t.Errorf("%v is told as %q, want %q", want, got, text)
		}
		typed := &commands{}
		parser, err := kong.New(typed, kong.WithHyphenPrefixedParameters(true))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := parser.Parse(append([]string{"solve"}, strings.Fields(text)...)); err != nil {
			t.Fatal(err)
		}
		var got *arrisv1.Settings
		if typed.Solve.Ask.Set.put(&got); !proto.Equal(got, want) {
			t.Errorf("%s reads as %v, want %v", text, got, want)
		}
	}
}

// Any text is a value or refused; what is read as a bevel is written so that it reads back as the same.
func FuzzValues(f *testing.F) {
	for _, text := range []string{"50deg@3mm", "reading:52.9°", "included:36deg@1/8in", "position:3", "flat", "200mm", "sized", "rule", "2026-11-20", ":@", "@", ""} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, value := range []encoding.TextUnmarshaler{
			&length{}, &angle{}, &leg{}, &wheel{}, &touchFirst{}, &lengthDoubt{}, &angleDoubt{}, &moment{},
		} {
			if err := value.UnmarshalText([]byte(text)); err != nil && strings.TrimSpace(err.Error()) == "" {
				t.Errorf("%T refuses %q without a word", value, text)
			}
		}
		var read, again bevel
		if read.UnmarshalText([]byte(text)) != nil {
			return
		}
		written := bevelText(read.wanted)
		if err := again.UnmarshalText([]byte(written)); err != nil || bevelText(again.wanted) != written {
			t.Errorf("%q is written %q, which reads as %v, %v", text, written, again.wanted, err)
		}
	})
}

func TestDrawingsReplaceRegularFilesOnly(t *testing.T) {
	dir := t.TempDir()
	file, link, dangling := filepath.Join(dir, "a.svg"), filepath.Join(dir, "link.svg"), filepath.Join(dir, "nothing.svg")
	for _, err := range []error{
		os.WriteFile(file, []byte("old"), 0o640), os.Symlink(file, link), os.Symlink(filepath.Join(dir, "no", "such"), dangling),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	found := findings{figure: &arrisv1.Figure{
		Least: &arrisv1.FigurePoint{OutMm: -10, UpMm: -10}, Most: &arrisv1.FigurePoint{OutMm: 10, UpMm: 10},
		Items: []*arrisv1.FigureItem{{Part: "wheel", Role: arrisv1.FigureRole_FIGURE_ROLE_WHEEL, Shape: &arrisv1.FigureItem_Arc{
			Arc: &arrisv1.FigureArc{Centre: &arrisv1.FigurePoint{}, RadiusMm: 10, SweepDeg: 360},
		}}},
	}}
	if err := writeSVG(link, found); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil || !strings.Contains(string(text), "<svg") {
		t.Errorf("the file behind the link holds %q, %v", text, err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode().Type() != fs.ModeSymlink {
		t.Errorf("the link is %v, %v", info, err)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("who may read it changed: %v, %v", info, err)
	}
	for _, name := range []string{dir, dangling, os.DevNull, filepath.Join(dir, "no", "such.svg")} {
		if err := writeSVG(name, found); err == nil || !strings.Contains(err.Error(), name) || strings.Contains(err.Error(), ".arris-") {
			t.Errorf("a drawing was written to %s: %v", name, err)
		}
	}
	left, err := filepath.Glob(filepath.Join(dir, ".arris-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("half a drawing is left: %v, %v", left, err)
	}
}

// A server says two addresses, and the one for REST is taken for the other sooner or later. The complaint is what a gRPC client gets there.
func TestPortForREST(t *testing.T) {
	rest := httptest.NewServer(http.NotFoundHandler())
	defer rest.Close()
	said := &bytes.Buffer{}
	if code := Run(t.Context(), []string{"solve", "bowl-50", "--station", "north", "--server", rest.Listener.Addr().String()}, nil, Streams{Out: io.Discard, Err: said}); code != ExitAway {
		t.Errorf("exits with %d", code)
	}
	if !strings.Contains(said.String(), "that is a port for REST") || strings.Contains(said.String(), "--tls-ca") {
		t.Error(said)
	}
}

// What breaks of an item of a list stands under its words (two for the margin, two for the dash).
func TestListsHang(t *testing.T) {
	v := sheet{screen: screen{columns: 20}}
	v.item("one two three four five six")
	if want := "  - one two three\n    four five six\n"; v.text.String() != want {
		t.Errorf("%q, want %q", v.text.String(), want)
	}
}

func TestStylesSayNothingTheWordsDoNot(t *testing.T) {
	coloured := screen{columns: 80, colour: true}
	sheetOf := func(s screen) string {
		v := sheet{screen: s, unit: "mm", found: findings{
			steps:    []*arrisv1.Step{{StickOut: &arrisv1.LengthSetting{Text: "45.0 mm"}}},
			cautions: []*arrisv1.Caution{{Severity: arrisv1.Severity_SEVERITY_STOP, Text: "Stop."}, {Severity: arrisv1.Severity_SEVERITY_WARNING, Text: "Mind."}},
		}}
		v.settings()
		v.cautions(v.found.cautions)
		return v.text.String()
	}
	withColour, without := sheetOf(coloured), sheetOf(screen{columns: 80})
	if !strings.Contains(withColour, "\x1b[1;31mSTOP\x1b[0m") {
		t.Errorf("nothing is styled: %q", withColour)
	}
	unstyled := withColour
	for _, style := range []string{bold, red, yellow, "0"} {
		unstyled = strings.ReplaceAll(unstyled, "\x1b["+style+"m", "")
	}
	if unstyled != without || strings.ContainsFunc(without, func(r rune) bool { return r != '\n' && unicode.IsControl(r) }) {
		t.Errorf("with colour and without it the words differ:\n%s\n%s", unstyled, without)
	}
}
