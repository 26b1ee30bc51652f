package arris

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"arris.example/client/arris/internal/fields"
)

type importCommand struct {
	File    string      `arg:"" predictor:"file" help:"A CSV file as list -o csv writes it; - reads standard input."`
	Decimal decimalMark `default:"." placeholder:"MARK" group:"Request:" help:"The decimal mark: . with commas between cells, or , with semicolons."`
	Check   bool        `group:"Request:" help:"Check everything and tell what would be done; keep nothing."`
	recordFlags
}

// outcomes of a row.
const (
	rowNew       = "new"
	rowUnchanged = "unchanged"
	rowUpdated   = "updated"
	rowRefused   = "refused"
)

// imported is what became of a row.
type imported struct {
	ID      string `json:"id"`
	Line    int    `json:"line"`
	Outcome string `json:"outcome"`
	Reason  string `json:"reason,omitempty"`
}

// Run keeps every row: a record that is not there is made, one that is there gets what the row says otherwise, and where nothing differs
// nothing is done. Each row is whole or not at all; one that is refused stops no other.
func (c *importCommand) Run(p *program, n noun) error {
	file, err := opened(c.File, p.In)
	if err != nil {
		return err
	}
	defer func() { _ = file.Close() }() // only read
	rows, err := c.open(file, n)
	if err != nil {
		return err
	}
	p.json = c.Output == "json"
	p.speech = inFields
	// Not by desk's own time: that is for one answer, and a file has many.
	return p.asking(c.Call, making(c.Check), func(conn grpc.ClientConnInterface) error {
		done, err := c.importRows(desk{p, p.ctx, conn, c.shop(), c.Call.Timeout}, n, rows)
		told := c.tell(p, n, done)
		if err != nil { // before what is wrong with rows, which was told
			return err
		}
		return told
	})
}

// open reads the header: an id, and fields of the record. What the service makes may stand there, and is passed over.
func (c *importCommand) open(file io.Reader, n noun) (*cellRows, error) {
	from := &bounded{from: file}
	r, err := from.reader(fileName(c.File))
	if err != nil {
		return nil, err
	}
	rows, err := cellRowsOf(fileName(c.File), from, r, c.Decimal)
	if err != nil {
		return nil, err
	}
	var wrong []string
	if !slices.Contains(rows.header, idColumn) {
		wrong = append(wrong, "has no column "+idColumn+", which says what each is called in names")
	}
	for i, name := range rows.header {
		switch {
		case slices.Index(rows.header, name) < i:
			wrong = append(wrong, fmt.Sprintf("column %q is there twice", name))
		case name != idColumn && !n.makes(name):
			if err := fields.Check(n.record(), name); err != nil {
				wrong = append(wrong, err.Error())
			}
		}
	}
	err = rows.wrongHeader(wrong)
	return rows, err
}

func (c *importCommand) importRows(d desk, n noun, rows *cellRows) (done []imported, err error) {
	lines := map[string]int{}
	for {
		row, line, wrong, err := rows.next()
		if errors.Is(err, io.EOF) {
			return done, nil
		}
		if err != nil {
			return done, err
		}
		one := imported{Line: line}
		switch {
		case len(wrong) > 0:
			err = errors.New(wrong[0].String())
		default:
			one.ID = strings.TrimSpace(row[slices.Index(rows.header, idColumn)])
			if first, twice := lines[one.ID]; twice {
				err = fmt.Errorf("%s: %q is in line %d already", idColumn, one.ID, first)
				break
			}
			lines[one.ID] = line
			one.Outcome, err = c.importRow(d, n, one.ID, rows.header, row)
		}
		if ends(err) {
			return done, err
		}
		if err != nil {
			one.Outcome, one.Reason = rowRefused, visible(strings.TrimSpace(d.program.words(err)))
			_, _ = fmt.Fprintf(d.program.Err, "%s, line %d: %s\n", rows.file, line, one.Reason)
		}
		done = append(done, one)
	}
}

// ends tells whether an error is not of one row.
func ends(err error) bool {
	switch status.Code(err) {
	case codes.Unavailable, codes.DeadlineExceeded, codes.Canceled, codes.Unauthenticated, codes.PermissionDenied:
		return true
	}
	return false
}

// words are an error's for people.
func (p *program) words(err error) string {
	if st, ok := status.FromError(err); ok {
		return p.refusalWords(st)
	}
	return err.Error()
}

func (c *importCommand) importRow(d desk, n noun, id string, header, row []string) (outcome string, err error) {
	if id == "" {
		return "", fmt.Errorf("%s: is empty; it says what the record is called in names", idColumn)
	}
	d, end := d.within(c.Call.Timeout)
	defer end()
	old, err := d.latest(n, id)
	isNew := status.Code(err) == codes.NotFound
	if err != nil && !isNew {
		return "", err
	}
	record := n.record()
	if !isNew {
		record = proto.Clone(old)
	}
	for i, path := range header {
		if strings.TrimSpace(row[i]) == "" || path == idColumn || n.makes(path) {
			continue
		}
		if err := (fields.Setter{Shop: d.shop, Decimal: c.Decimal.pointed}).Set(record, path, spoken(row[i])); err != nil {
			return "", err
		}
	}
	change := changeFlags{Check: c.Check}
	if isNew {
		_, err = d.create(n, d.shop, id, record, change)
		return rowNew, err
	}
	paths := changedPaths(old, record)
	if len(paths) == 0 {
		return rowUnchanged, nil
	}
	_, err = d.update(n, record, paths, change)
	return rowUpdated, err
}

// tell says what became of the rows.
func (c *importCommand) tell(p *program, n noun, done []imported) error {
	count := map[string]int{}
	for _, one := range done {
		count[one.Outcome]++
	}
	var out bytes.Buffer
	switch c.Output {
	case "json":
		text, err := json.MarshalIndent(done, "", "  ")
		if err != nil {
			return err
		}
		out.Write(append(text, '\n'))
	case "csv":
		w := newCSV(&out)
		writeRows(w, "", importColumns, done)
		w.Flush()
		if err := w.Error(); err != nil {
			return err
		}
	default:
		var say []string
		for _, outcome := range []string{rowNew, rowUpdated, rowUnchanged, rowRefused} {
			if count[outcome] > 0 {
				say = append(say, strconv.Itoa(count[outcome])+" "+outcome)
			}
		}
		if len(say) == 0 {
			say = []string{"the file has no " + n.word}
		}
		if c.Check {
			say = append(say, "nothing was kept")
		}
		out.WriteString(strings.Join(say, ", ") + "\n")
	}
	if err := p.print(out.String(), nil); err != nil {
		return err
	}
	if count[rowRefused] > 0 {
		return errSome
	}
	return nil
}

var importColumns = []column[imported]{
	{"id", func(i imported) string { return harmless(i.ID) }},
	{"line", func(i imported) string { return strconv.Itoa(i.Line) }},
	{"outcome", func(i imported) string { return i.Outcome }},
	{"reason", func(i imported) string { return harmless(i.Reason) }},
}
