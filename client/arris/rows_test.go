package arris

import (
	"bytes"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// rowOf reads one row of CSV below a header.
func rowOf(t *testing.T, c *rowFlags, header, row string) batchRow {
	t.Helper()
	rows, err := c.rows("-", strings.NewReader(header+"\n"+row+"\n"))
	if err != nil {
		t.Fatalf("%s: %v", header, err)
	}
	read, err := rows.next()
	if err != nil {
		t.Fatalf("%s: %v", row, err)
	}
	return read
}

// Whatever solve can be asked by flags about one set-up, a column can ask; what belongs to the command as a whole is listed here.
func TestEveryFlagOfSolveHasItsColumn(t *testing.T) {
	whole := []string{
		"help", "file", "shop", "as-of", "bevel", "block", // bevels and blocks are cells of several
		"doubt-stick-out", "doubt-support", "doubt-leg", "doubt-tilt",
		"output", "unit", "language", "budget", "proof", "whole-edge", "draw", "svg", "sheet", "gauge", "paper", "server", "store", "plaintext", "tls-ca", "timeout",
		// A row names its swung tool; one that is described, and wings wanted, are asked for by lines of JSON.
		"flute", "bar", "pivot-aside", "tool-roll", "contact-aside", "setback", "exponent", "across", "swept", "nose-radius", "even-swing",
		"edge-points", "edge-doubt", "half-width", "wing-length", "decimal", "wing", "wing-at", "wing-tolerance",
	}
	parser, err := kong.New(&commands{})
	if err != nil {
		t.Fatal(err)
	}
	var known []string
	for _, f := range batchFields {
		known = append(known, f.names[0])
	}
	for _, command := range parser.Model.Children {
		if command.Name != "solve" {
			continue
		}
		for _, flag := range command.Flags {
			if name := strings.ReplaceAll(flag.Name, "-", "_"); !slices.Contains(known, name) && !slices.Contains(whole, flag.Name) {
				t.Errorf("--%s has no column", flag.Name)
			}
		}
	}
	for _, name := range columnNames(batchFields) {
		if _, err := bind(name, 0, nil, batchFields); err != nil {
			t.Errorf("the column %s is offered, and %v", name, err)
		}
	}
}

// A column and the flag of its name ask the same.
func TestColumnsAskWhatFlagsAsk(t *testing.T) {
	for _, c := range []struct{ header, row, flags string }{
		{"recipe", "bowl-50", "bowl-50"},
		{"edge_deg,upper", "40,20deg", "--edge 40deg --upper 20deg"},
		{"edge_angle_deg", "47.5", "--edge 47.5deg"},
		{"bevels", "50deg@3mm reading:35deg", "--bevel 50deg@3mm --bevel reading:35deg"},
		{"station,support,wheel,holder", "north,bar,north-fine,swing", "--station north --support bar --wheel north-fine --holder swing"},
		{"wheel", "200mm", "--wheel 200mm"},
		{"wheel", "flat", "--wheel flat"},
		{"wheel_in", "8", "--wheel 8in"},
		{"holder", "none", "--holder none"},
		{"pivot_behind_mm,pivot_below_mm", "131,-4.5", "--pivot-behind 131mm --pivot-below -4.5mm"},
		{"tool", "skew-25", "--tool skew-25"},
		{"kind,thickness_mm,edge_to_side_deg,edge_below_top_mm", "negative-rake-scraper,8,70,2", "--kind negative-rake-scraper --thickness 8mm --edge-to-side 70deg --edge-below-top 2mm"},
		{"steel_cm,flute_radius_mm", "0.8,11", "--steel 0.8cm --flute-radius 11mm"},
		{"stick_out_in,leg_deg", "1 3/4,30", "--stick-out 1.75in --leg 30deg"},
		{"stick_out,leg", "4.5cm,position:3", "--stick-out 4.5cm --leg position:3"},
		{"leg_position", "3", "--leg position:3"},
		{"gap_mm", "108.5", "--gap 108.5mm"},
		{"gap_far_mm", "12", "--gap-far 12mm"},
		{"slide_mm", "177", "--slide 177mm"},
		{"pivot_to_axle_mm", "208", "--axle 208mm"},
		{"face_mm", "77", "--face 77mm"},
		{"height_mm", "229", "--height 229mm"},
		{"tilt_deg", "-12.5", "--tilt -12.5deg"},
		{"platform_mm", "70", "--platform 70mm"},
		{"now_slide_mm,now_stick_out_mm,now_leg_deg", "170,44,25", "--now-slide 170mm --now-stick-out 44mm --now-leg 25deg"},
		{"free,blocks,step_mm,angle_step_deg", "support leg,45mm 50mm,0.5,1", "--free support,leg --block 45mm --block 50mm --step 0.5mm --angle-step 1deg"},
		{"touch_first", "sized", "--touch-first sized"},
		{"touch_first_deg", "0.5", "--touch-first 0.5deg"},
	} {
		typed := &commands{}
		parser, err := kong.New(typed, kong.WithHyphenPrefixedParameters(true))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := parser.Parse(append([]string{"solve"}, strings.Fields(c.flags)...)); err != nil {
			t.Fatal(err)
		}
		want, err := typed.Solve.request(nil)
		if err != nil {
			t.Fatal(err)
		}
		got := rowOf(t, &rowFlags{Decimal: '.', Shop: "main"}, c.header, c.row)
		if len(got.wrong) > 0 || !proto.Equal(got.ask, want) {
			t.Errorf("%s\n%s asks\n%v %v\nand %s\n%v", c.header, c.row, got.ask, got.wrong, c.flags, want)
		}
	}
}

func TestCellsAreReadStrictly(t *testing.T) {
	for _, c := range []struct {
		header, cell, says string
		kind               arrisv1.FieldReason
	}{
		{"stick_out_mm", "45mm", "brings a unit", arrisv1.FieldReason_FIELD_REASON_BAD_FORM},
		{"stick_out_mm", "1.75in", "brings a unit", arrisv1.FieldReason_FIELD_REASON_BAD_FORM},
		{"stick_out", "45", "has no unit", arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT},
		{"stick_out", "45deg", "is an angle", arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT},
		{"stick_out_mm", "NaN", `"NaN" is not a finite number; write one such as 45.5`, arrisv1.FieldReason_FIELD_REASON_NOT_FINITE},
		{"stick_out_mm", "1e999", "not a finite number", arrisv1.FieldReason_FIELD_REASON_NOT_FINITE},
		{"stick_out_mm", "long", `"long" is no plain number; write it alone`, arrisv1.FieldReason_FIELD_REASON_NOT_A_NUMBER},
		{"stick_out_mm", "45 mmm", `"45 mmm" is no plain number; write it alone`, arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT},
		{"stick_out_mm", `"4,5"`, `"4,5" has a comma in its number; write it with a point, such as 45.5`, arrisv1.FieldReason_FIELD_REASON_BAD_FORM},
		{"stick_out_mm", "45\xff", "is not UTF-8", arrisv1.FieldReason_FIELD_REASON_BAD_FORM},
		{"leg", "30", "write 30° or 30deg, or position:30", arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT},
		{"wheel", "200", "neither a wheel's name nor flat", arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT},
		{"bevels", "50 deg", "spaces between", arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT},
		{"free", "gap", "support, stick-out or leg", arrisv1.FieldReason_FIELD_REASON_BAD_FORM},
	} {
		got := rowOf(t, &rowFlags{Decimal: '.', Shop: "main"}, c.header, c.cell)
		if len(got.wrong) != 1 || got.ask != nil || !strings.Contains(got.wrong[0].reason, c.says) || got.wrong[0].kind != c.kind || got.wrong[0].column != c.header {
			t.Errorf("%q under %s: %v, %v; want %v with %q", c.cell, c.header, got.ask, got.wrong, c.kind, c.says)
		}
	}
}

// Each mark reads its own decimals and refuses the other's, which would be a thousand times as much.
func TestDecimalMarks(t *testing.T) {
	point, comma := &rowFlags{Decimal: '.', Shop: "main"}, &rowFlags{Decimal: ',', Shop: "main"}
	for _, c := range []struct {
		command   *rowFlags
		row       string
		stickOut  float64
		isRefused bool
	}{
		{point, "45.5,2", 45.5, false}, {comma, "45,5;2", 45.5, false}, {comma, "45;2", 45, false},
		{comma, "45.5;2", 0, true}, {comma, "1.045,5;2", 0, true}, {point, `"45,5",2`, 0, true},
	} {
		got := rowOf(t, c.command, strings.Join([]string{"stick_out_mm", "steel_mm"}, string(c.command.Decimal.between())), c.row)
		if got.ask.GetGiven().GetStickOutMm() != c.stickOut || (len(got.wrong) > 0) != c.isRefused {
			t.Errorf("with %c %s is %v, %v", c.command.Decimal, c.row, got.ask.GetGiven(), got.wrong)
		}
	}
}

func TestProgressIsToldWithTimeLeft(t *testing.T) {
	for want, c := range map[string]struct {
		rows, refused int
		read, size    int64
		took          time.Duration
	}{
		"0 rows":                        {},
		"512 rows":                      {512, 0, 9000, 0, time.Second},
		"512 rows, 3 of them refused":   {512, 3, 9000, 0, time.Second},
		"512 rows, 25 %, about 3s left": {512, 0, 250, 1000, time.Second},
		"9 rows, 1 of them refused, 100 %, about 0s left": {9, 1, 1100, 1000, time.Minute},
		"100 rows, 1 %, about 16m30s left":                {100, 0, 10, 1000, 10 * time.Second},
	} {
		if got := progressText(c.rows, c.refused, c.read, c.size, c.took); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestReasonsOfRefusedRowsGoIntoTheirPlace(t *testing.T) {
	row := batchRow{line: 7, wrong: []trouble{{"leg_deg", "is odd", arrisv1.FieldReason_FIELD_REASON_OUT_OF_RANGE}, {reason: "is odd as a whole"}}}
	st := row.refused()
	if st.GetMessage() != "line 7: leg_deg: is odd; is odd as a whole" || len(st.GetDetails()) != 2 {
		t.Errorf("got %v", st)
	}
	if got := reasonWord(&arrisv1.BatchResult{Outcome: &arrisv1.BatchResult_Error{Error: st}}); got != "INVALID_FIELD" {
		t.Errorf("the reason is %s", got)
	}
}

// Whatever a file holds, its rows are read, each asked or with something wrong that has words, and in the end it is over.
func FuzzRows(f *testing.F) {
	for _, text := range []string{
		"key,recipe\na,bowl-50\n", "stick_out_mm;leg_deg\n45,5;30\n", "key\n\"a\nb\"\n", "a\"b,c\n", "\ufeffrecipe\nbowl-50", "\xff\xfe", "\n\n",
		`{"key":"a","request":{}}` + "\n" + `{"grind":{}}`, `{`, `{"key":1}`, "recipe,recipe\n", "wheel,wheel_mm\nflat,200\n", "leg_position\n=1+1\n",
	} {
		f.Add(text, false)
		f.Add(text, true)
	}
	f.Fuzz(func(t *testing.T, text string, comma bool) {
		c := &rowFlags{Decimal: '.', Shop: "main"}
		if comma {
			c.Decimal = ','
		}
		rows, err := c.rows("-", strings.NewReader(text))
		if err != nil {
			if strings.TrimSpace(err.Error()) == "" {
				t.Error("refused without a word")
			}
			return
		}
		keys, line := map[string]bool{}, 0
		for range 2 + len(text) {
			row, err := rows.next()
			if errors.Is(err, io.EOF) {
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if (row.ask == nil) == (len(row.wrong) == 0) {
				t.Errorf("line %d asks %v and has wrong %v", row.line, row.ask, row.wrong)
			}
			if row.ask != nil && (row.key == "" || keys[row.key]) {
				t.Errorf("line %d has the key %q, which is none or another's", row.line, row.key)
			}
			if row.ask != nil {
				keys[row.key] = true
			}
			if row.line <= line {
				t.Errorf("line %d comes after line %d", row.line, line)
			}
			line = row.line
			if len(row.wrong) > 0 && row.refused().GetMessage() == "" {
				t.Error("a row is refused without a word")
			}
		}
		t.Errorf("%d bytes have no end", len(text))
	})
}

func TestRowsAreNotHeldTogether(t *testing.T) {
	from := &bounded{from: io.MultiReader(bytes.NewReader([]byte("a,b")), strings.NewReader(strings.Repeat("x", mostRequestBytes+1)))}
	from.row()
	if _, err := io.ReadAll(from); !errors.Is(err, errEndless) {
		t.Errorf("a row without end is read to %v", err)
	}
	from = &bounded{from: strings.NewReader(strings.Repeat("x", 3*mostRequestBytes))}
	buffer, read := make([]byte, 4096), 0
	for {
		from.row()
		n, err := from.Read(buffer)
		read += n
		if err != nil {
			break
		}
	}
	if read != 3*mostRequestBytes {
		t.Errorf("%d bytes of rows that end are read, of %d", read, 3*mostRequestBytes)
	}
}
