package arris

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	statuspb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/anypb"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
)

// batchRow is a row of a batch: what it asks, or what is wrong with it.
type batchRow struct {
	line  int
	key   string // the row's own; where rows have none, its line
	keyed bool
	ask   *arrisv1.SolveSetupRequest
	wrong []trouble
	read  int64 // bytes of the file up to about here
}

// batchRows reads one row after another; the last is followed by io.EOF, and any other error ends the file early.
type batchRows interface {
	next() (batchRow, error)
	speech() speech // the file's own words
}

// rows reads a file as what it is: lines of JSON where it begins with a brace, else CSV.
func (c *rowFlags) rows(file string, in io.Reader) (*checkedRows, error) {
	name := fileName(file)
	counted := &counter{from: in}
	from := &bounded{from: counted}
	r, err := from.reader(name)
	if err != nil {
		return nil, err
	}
	keys := &keys{seen: map[[keyBytes]byte]int{}}
	if beginsWithBrace(r) {
		return &checkedRows{c, &jsonRows{name: name, from: from, lines: r}, keys, counted}, nil
	}
	t, err := tableOf(name, from, r, c.Decimal, batchFields)
	if err != nil {
		return nil, err
	}
	return &checkedRows{c, &csvRows{t, c.Shop}, keys, counted}, nil
}

// beginsWithBrace looks ahead no further than it must, for more may not come before there is an answer.
func beginsWithBrace(r *bufio.Reader) bool {
	for n := 1; n <= r.Size(); n++ {
		head, err := r.Peek(n)
		if err != nil {
			return false
		}
		if last := head[n-1]; !strings.ContainsRune(" \t\r\n", rune(last)) {
			return last == '{'
		}
	}
	return false
}

// counter counts the bytes read.
type counter struct {
	from io.Reader
	n    int64
}

// Read reads on.
func (c *counter) Read(p []byte) (int, error) {
	n, err := c.from.Read(p)
	c.n += int64(n)
	return n, err
}

// checkedRows holds rows to what all files share: keys, and what the command says for rows that do not.
type checkedRows struct {
	flags   *rowFlags
	rows    batchRows
	keys    *keys
	counted *counter
}

func (c *checkedRows) speech() speech { return c.rows.speech() }

func (c *checkedRows) next() (batchRow, error) {
	row, err := c.rows.next()
	if err != nil {
		return row, err
	}
	row.read = c.counted.n
	c.keys.check(&row)
	if row.ask == nil {
		return row, nil
	}
	if c.flags.AsOf.said && row.ask.AsOfTime == nil {
		row.ask.AsOfTime = timestamppb.New(c.flags.AsOf.time)
	}
	if row.ask.GetWording().GetLengthUnit() == arrisv1.LengthUnit_LENGTH_UNIT_UNSPECIFIED {
		formatFlags{Unit: c.flags.Unit}.put(&row.ask.Wording)
	}
	if row.ask.GetWording().GetLanguageCode() == "" {
		formatFlags{Language: c.flags.Language}.put(&row.ask.Wording)
	}
	return row, nil
}

// keyBytes is how much of a key's digest is kept to find it again: a chance of 1 in 10¹⁹ that two of a hundred million keys pass for one.
const keyBytes = 16

// keys refuses a key that was there before. Rows either all have one or none, so that no key passes for a line.
type keys struct {
	seen  map[[keyBytes]byte]int // the lines of those seen
	first int                    // the line of the first row that could be read so far
	keyed bool
}

func (k *keys) check(row *batchRow) {
	if !row.keyed {
		row.key = strconv.Itoa(row.line)
	}
	if row.ask == nil {
		return // what its key is cannot be told for sure
	}
	if k.first == 0 {
		k.first, k.keyed = row.line, row.keyed
	}
	bad := func(kind arrisv1.FieldReason, format string, args ...any) {
		row.ask, row.wrong = nil, append(row.wrong, trouble{"key", fmt.Sprintf(format, args...), kind})
	}
	switch {
	case k.keyed && !row.keyed:
		bad(arrisv1.FieldReason_FIELD_REASON_MISSING, "is missing, and line %d has one: give every row its own", k.first)
	case !k.keyed && row.keyed:
		bad(arrisv1.FieldReason_FIELD_REASON_CONTRADICTION, "is there, and line %d has none: give every row its own, or none", k.first)
	case row.keyed:
		digest := [keyBytes]byte{}
		sum := sha256.Sum256([]byte(row.key))
		copy(digest[:], sum[:])
		if line, twice := k.seen[digest]; twice {
			bad(arrisv1.FieldReason_FIELD_REASON_CONTRADICTION, "%q is also the key of line %d: give every row its own", row.key, line)
			return
		}
		k.seen[digest] = row.line
	}
}

// csvRows are rows of CSV.
type csvRows struct {
	table *rowTable[asking]
	shop  string
}

// speech is of columns: stick_out for --stick-out.
func (c *csvRows) speech() speech {
	return speech{way: (*arrisv1.Way).GetText, field: func(path string) string {
		if flag, ok := strings.CutPrefix(flagOf(path), "--"); ok {
			return strings.ReplaceAll(flag, "-", "_") + " (" + path + ")"
		}
		return path
	}}
}

func (c *csvRows) next() (batchRow, error) {
	typed, line, wrong, err := c.table.next()
	if err != nil {
		return batchRow{}, err
	}
	row := batchRow{line: line, key: typed.key, keyed: typed.key != "", wrong: wrong}
	if len(wrong) > 0 {
		return row, nil
	}
	req := &arrisv1.SolveSetupRequest{}
	typed.Ask.Source.Shop = c.shop
	if row.wrong = contradiction(typed.put(req)); len(row.wrong) == 0 {
		row.ask = req
	}
	return row, nil
}

// contradiction is what makes no sense together, nothing without an error.
func contradiction(err error) []trouble {
	if err == nil {
		return nil
	}
	return []trouble{{reason: err.Error(), kind: arrisv1.FieldReason_FIELD_REASON_CONTRADICTION}}
}

// jsonRows are lines of JSON: an item with a key and a request, or a request alone.
type jsonRows struct {
	name  string
	from  *bounded
	lines *bufio.Reader
	line  int
	ended bool
}

// speech is of the API's own fields.
func (*jsonRows) speech() speech {
	return speech{way: (*arrisv1.Way).GetText, field: func(path string) string { return path }}
}

func (j *jsonRows) next() (batchRow, error) {
	for !j.ended {
		j.from.row()
		text, err := j.lines.ReadBytes('\n')
		j.line++
		switch {
		case errors.Is(err, io.EOF):
			j.ended = true
		case err != nil:
			return batchRow{}, usageError{fmt.Errorf("%s, line %d: %w; the rest is not read", j.name, j.line, err)}
		}
		if text = bytes.TrimSpace(text); len(text) > 0 {
			return j.read(text), nil
		}
	}
	return batchRow{}, io.EOF
}

func (j *jsonRows) read(text []byte) batchRow {
	row := batchRow{line: j.line}
	bad := func(reason string) batchRow {
		row.wrong = []trouble{{reason: reason, kind: arrisv1.FieldReason_FIELD_REASON_BAD_FORM}}
		return row
	}
	if !utf8.Valid(text) {
		return bad("is not UTF-8; JSON is")
	}
	var shape map[string]json.RawMessage
	if err := json.Unmarshal(text, &shape); err != nil {
		return bad(err.Error() + "; each line is one request, whole")
	}
	_, hasKey := shape["key"]
	_, hasRequest := shape["request"]
	if !hasKey && !hasRequest {
		req := &arrisv1.SolveSetupRequest{}
		if err := protojson.Unmarshal(text, req); err != nil {
			return bad(lineTrouble(err, req))
		}
		row.ask = req
		return row
	}
	if hasKey && json.Unmarshal(shape["key"], &row.key) != nil {
		return bad("its key is no text")
	}
	row.keyed = row.key != ""
	item := &arrisv1.BatchItem{}
	if err := protojson.Unmarshal(text, item); err != nil {
		return bad(lineTrouble(err, item))
	}
	if item.GetRequest() == nil {
		return bad("has no request")
	}
	row.ask = item.GetRequest()
	return row
}

// lineTrouble says what is wrong with a line's JSON, which is all on line 1 for those who read it.
func lineTrouble(err error, m proto.Message) string {
	return strings.Replace(jsonTrouble(err, m), "(line 1:", "(column ", 1)
}

// refused is what is wrong with a row as the API would answer it.
func (r batchRow) refused() *statuspb.Status {
	st := &statuspb.Status{Code: int32(codes.InvalidArgument)}
	bad := &errdetails.BadRequest{}
	var texts []string
	for _, t := range r.wrong {
		texts = append(texts, t.String())
		bad.FieldViolations = append(bad.FieldViolations, &errdetails.BadRequest_FieldViolation{
			Field: t.column, Description: t.reason, Reason: strings.TrimPrefix(t.kind.String(), "FIELD_REASON_"),
		})
	}
	st.Message = "line " + strconv.Itoa(r.line) + ": " + strings.Join(texts, "; ")
	info := &errdetails.ErrorInfo{Reason: "INVALID_FIELD", Domain: "arris.example"}
	for _, detail := range []proto.Message{info, bad} {
		if packed, err := anypb.New(detail); err == nil { // both are messages of ours with nothing in them that cannot be packed
			st.Details = append(st.Details, packed)
		}
	}
	return st
}
