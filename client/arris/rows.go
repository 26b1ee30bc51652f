package arris

import (
	"bufio"
	"cmp"
	"encoding"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/agnivade/levenshtein"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// A field is something a column of a file can say about a T.
type field[T any] struct {
	names []string // any of them; that of the flag first, then that of the API
	of    quantity
	alone string // of the fields with the same word here a row says one
	into  func(*T) any
}

// A quantity decides what ends a column's name and what its cells hold.
type quantity int

const (
	words   quantity = iota // texts, and values that bring their own unit
	lengths                 // name_mm, name_cm, name_in with numbers, or name with lengths as flags take them
	angles                  // name_deg with numbers, or name with angles as flags take them
)

var endings = map[quantity][]string{lengths: {"_mm", "_cm", "_in"}, angles: {"_deg"}}

// bound is a field as a file's header names it: its name, and the unit its numbers are in, none where cells bring their own.
type bound[T any] struct {
	field[T]
	name, unit string
}

// trouble is what is wrong with a row, and in which column if it is one.
type trouble struct {
	column, reason string
	kind           arrisv1.FieldReason
}

func (t trouble) String() string {
	if t.column == "" {
		return t.reason
	}
	return t.column + ": " + t.reason
}

// at is a trouble with its place.
func (t trouble) at(file string, line int) string {
	return fmt.Sprintf("%s, line %d, %s", file, line, t)
}

// bounded reads a file whose rows end: a quote left open would take the whole of it for one.
type bounded struct {
	from io.Reader
	left int
}

var errEndless = fmt.Errorf("has more than %d bytes; is a quote left open?", mostRequestBytes)

// Read reads on, unless the row is too long already.
func (b *bounded) Read(p []byte) (int, error) {
	if b.left <= 0 {
		return 0, errEndless
	}
	n, err := b.from.Read(p[:min(len(p), b.left)])
	b.left -= n
	return n, err
}

// row begins another row.
func (b *bounded) row() { b.left = mostRequestBytes }

// bom begins files of spreadsheets that say that they are UTF-8.
const bom = "\ufeff"

// reader makes a file ready to be read by rows: no byte order mark, and not another alphabet.
func (b *bounded) reader(name string) (*bufio.Reader, error) {
	b.row()
	r := bufio.NewReader(b)
	head, err := r.Peek(len(bom))
	switch {
	case len(head) == 0 && errors.Is(err, io.EOF):
		return nil, wrongUsage("%s: is empty", name)
	case len(head) == 0:
		return nil, usageError{fmt.Errorf("%s: %w", name, err)}
	case string(head) == bom:
		_, err := r.Discard(len(bom))
		return r, err
	case head[0] == 0xff || head[0] == 0xfe: // no UTF-8 begins so, and UTF-16 does
		return nil, wrongUsage("%s: is not UTF-8; save it as CSV in UTF-8", name)
	}
	return r, nil
}

// cellRows reads CSV (RFC 4180) with a header.
type cellRows struct {
	file    string
	decimal decimalMark
	from    *bounded
	csv     *csv.Reader
	header  []string
	line    int // of the last row
}

// rowTable reads CSV whose header says what the columns are.
type rowTable[T any] struct {
	*cellRows
	columns []bound[T]
}

func newTable[T any](file string, from *bounded, decimal decimalMark, fields []field[T]) (*rowTable[T], error) {
	r, err := from.reader(file)
	if err != nil {
		return nil, err
	}
	return tableOf(file, from, r, decimal, fields)
}

// tableOf reads the header.
func tableOf[T any](file string, from *bounded, r io.Reader, decimal decimalMark, fields []field[T]) (*rowTable[T], error) {
	rows, err := cellRowsOf(file, from, r, decimal)
	if err != nil {
		return nil, err
	}
	t := &rowTable[T]{cellRows: rows}
	var wrong []string
	for i, name := range rows.header {
		column, err := bind(name, i, t.columns, fields)
		if err != nil {
			wrong = append(wrong, err.Error())
		}
		t.columns = append(t.columns, column)
	}
	return t, rows.wrongHeader(wrong)
}

func cellRowsOf(file string, from *bounded, r io.Reader, decimal decimalMark) (*cellRows, error) {
	t := &cellRows{file: file, decimal: decimal, from: from, csv: csv.NewReader(r)}
	t.csv.Comma, t.csv.FieldsPerRecord, t.csv.ReuseRecord = decimal.between(), -1, true
	from.row()
	header, err := t.csv.Read()
	switch {
	case errors.Is(err, io.EOF):
		return nil, wrongUsage("%s: is empty", file)
	case err != nil:
		return nil, usageError{fmt.Errorf("%s: %w", file, err)}
	}
	if other := map[decimalMark]string{'.': ";", ',': ","}[decimal]; len(header) == 1 && strings.Contains(header[0], other) {
		return nil, wrongUsage("%s: its cells have %q between them; say so by --decimal %s", file, other, map[string]string{";": ",", ",": "."}[other])
	}
	for _, name := range header {
		t.header = append(t.header, strings.TrimSpace(name))
	}
	return t, nil
}

// wrongHeader is all that is wrong with a header at once, nothing if nothing is.
func (t *cellRows) wrongHeader(wrong []string) error {
	if len(wrong) == 0 {
		return nil
	}
	return wrongUsage("%s: %s", t.file, strings.Join(wrong, "\n"+t.file+": "))
}

// bind finds the field that a header's name means.
func bind[T any](name string, at int, before []bound[T], fields []field[T]) (bound[T], error) {
	none := bound[T]{name: name}
	switch {
	case name == "":
		return none, fmt.Errorf("column %d has no name", at+1)
	case !utf8.ValidString(name):
		return none, fmt.Errorf("the name of column %d is not UTF-8; save the file as CSV in UTF-8", at+1)
	case slices.ContainsFunc(before, func(b bound[T]) bool { return b.name == name }):
		return none, fmt.Errorf("the column %s is there twice", name)
	}
	for _, f := range fields { // a name as it stands wins, so that leg may bring a position
		if slices.Contains(f.names, name) {
			return bound[T]{f, name, ""}, nil
		}
	}
	for _, f := range fields {
		for _, ending := range endings[f.of] {
			if start, ok := strings.CutSuffix(name, ending); ok && slices.Contains(f.names, start) {
				return bound[T]{f, name, ending[1:]}, nil
			}
		}
	}
	return none, fmt.Errorf("no column is called %q; nearest known: %s", name, strings.Join(nearest(name, columnNames(fields)), ", "))
}

// columnNames are all names that columns may have.
func columnNames[T any](fields []field[T]) []string {
	var list []string
	for _, f := range fields {
		for _, name := range f.names {
			if f.of == words {
				list = append(list, name)
			}
			for _, ending := range endings[f.of] {
				list = append(list, name+ending)
			}
		}
	}
	return list
}

// nearest are the three names most like a wrong one.
func nearest(wrong string, known []string) []string {
	distance := make(map[string]int, len(known))
	for _, name := range known {
		distance[name] = levenshtein.ComputeDistance(strings.ToLower(wrong), strings.ToLower(name))
	}
	list := slices.Compact(slices.Sorted(slices.Values(known)))
	slices.SortStableFunc(list, func(a, b string) int { return cmp.Compare(distance[a], distance[b]) })
	return list[:min(3, len(list))]
}

// next reads the next row that says something: its cells, its line, what is wrong with it. At the end the error is io.EOF; any other ends
// the reading.
func (t *cellRows) next() (row []string, line int, wrong []trouble, err error) {
	for {
		t.from.row()
		row, err := t.csv.Read()
		var broken *csv.ParseError
		switch {
		case errors.As(err, &broken):
			t.line = broken.StartLine
			return nil, t.line, []trouble{{reason: broken.Err.Error(), kind: arrisv1.FieldReason_FIELD_REASON_BAD_FORM}}, nil
		case errors.Is(err, io.EOF):
			return nil, 0, nil, io.EOF
		case err != nil:
			return nil, 0, nil, usageError{fmt.Errorf("%s, the row after line %d: %w; the rest is not read", t.file, max(t.line, 1), err)}
		}
		t.line, _ = t.csv.FieldPos(0)
		if slices.IndexFunc(row, func(cell string) bool { return strings.TrimSpace(cell) != "" }) < 0 {
			continue // spreadsheets leave such rows at the end
		}
		if len(row) != len(t.header) {
			reason := fmt.Sprintf("has %d cells, and the header %d", len(row), len(t.header))
			return nil, t.line, []trouble{{reason: reason, kind: arrisv1.FieldReason_FIELD_REASON_BAD_FORM}}, nil
		}
		return row, t.line, nil, nil
	}
}

// next reads the next row into a thing.
func (t *rowTable[T]) next() (thing T, line int, wrong []trouble, err error) {
	row, line, wrong, err := t.cellRows.next()
	if err == nil && len(wrong) == 0 {
		thing, wrong = t.read(row)
	}
	return thing, line, wrong, err
}

// read reads a row's cells; all that is wrong is told at once.
func (t *rowTable[T]) read(row []string) (thing T, wrong []trouble) {
	said := map[string]string{}
	for i, cell := range row {
		column := t.columns[i]
		cell = strings.TrimSpace(cell)
		if cell == "" {
			continue
		}
		if other := said[column.alone]; other != "" && column.alone != "" {
			reason := "is said, and so is " + other + ": fill one of the two"
			wrong = append(wrong, trouble{column.name, reason, arrisv1.FieldReason_FIELD_REASON_CONTRADICTION})
			continue
		}
		said[column.alone] = column.name
		if err := column.read(&thing, cell, t.decimal); err != nil {
			wrong = append(wrong, trouble{column.name, err.Error(), reasonOf(err)})
		}
	}
	return thing, wrong
}

// read puts a cell into a thing.
func (b bound[T]) read(thing *T, cell string, decimal decimalMark) error {
	if !utf8.ValidString(cell) {
		return errors.New("is not UTF-8")
	}
	switch to := b.into(thing).(type) {
	case *string:
		*to = strings.Clone(cell) // the reader's own text holds the whole row
		return nil
	case encoding.TextUnmarshaler:
		number, err := decimal.pointed(cell)
		if err != nil {
			return err
		}
		return b.measure(to, number)
	}
	return fmt.Errorf("is a column that nothing reads")
}

// measure reads a number in the column's unit, or a value that brings its own.
func (b bound[T]) measure(to encoding.TextUnmarshaler, cell string) error {
	err := to.UnmarshalText([]byte(cell + b.unit))
	if err == nil || b.unit == "" {
		return err
	}
	if to.UnmarshalText([]byte(cell)) == nil {
		return fmt.Errorf("%q brings a unit, and the column's name has one; write the number alone", cell)
	}
	return cellError{cell, err}
}

// cellError is what is wrong with a number alone, in the words of a cell that has no unit: the reader's own hint shows it with one.
type cellError struct {
	cell string
	error
}

func (e cellError) Error() string {
	var parse *unit.ParseError
	switch {
	case !errors.As(e.error, &parse):
		return e.error.Error()
	case parse.Reason == unit.NotFinite:
		return fmt.Sprintf("%q is not a finite number; write one such as 45.5: its unit is in the column's name", e.cell)
	case parse.Reason == unit.DecimalComma:
		return fmt.Sprintf("%q has a comma in its number; write it with a point, such as 45.5", e.cell)
	}
	return fmt.Sprintf("%q is no plain number; write it alone, such as 45.5: its unit is in the column's name", e.cell)
}

func (e cellError) Unwrap() error { return e.error }

// readRows reads a whole file of points. All that is wrong with it is told at once.
func readRows[T any](name string, stdin io.Reader, decimal decimalMark, fields []field[T], lacking func(T) []trouble) ([]T, error) {
	file, err := opened(name, stdin)
	if err != nil {
		return nil, err
	}
	defer func() { _ = file.Close() }() // only read
	t, err := newTable(fileName(name), &bounded{from: file}, decimal, fields)
	if err != nil {
		return nil, err
	}
	var rows []T
	var wrong []string
	for {
		row, line, troubles, err := t.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if len(troubles) == 0 {
			troubles = lacking(row)
		}
		for _, w := range troubles {
			wrong = append(wrong, w.at(fileName(name), line))
		}
		if rows = append(rows, row); len(rows) > mostPointRows {
			return nil, wrongUsage("%s: has more than %d points", fileName(name), mostPointRows)
		}
	}
	switch {
	case len(wrong) > 0:
		return nil, wrongUsage("%s", strings.Join(wrong, "\n"))
	case len(rows) == 0:
		return nil, wrongUsage("%s: has a header and no points below it", fileName(name))
	}
	return rows, nil
}

// mostPointRows is more than the API takes of any points, which then says how many it does.
const mostPointRows = 10_000

// missing is the trouble of a cell that says nothing.
func missing(column string, said bool, needs string) []trouble {
	if said {
		return nil
	}
	return []trouble{{column, "is empty; " + needs, arrisv1.FieldReason_FIELD_REASON_MISSING}}
}

// pointed is a cell with a decimal point, whatever the file's mark.
func (d decimalMark) pointed(cell string) (string, error) {
	switch {
	case d == ',' && strings.Contains(cell, "."):
		return "", fmt.Errorf("%q has a point, and --decimal says that a comma stands before decimals", cell)
	case d == ',':
		return strings.ReplaceAll(cell, ",", "."), nil
	}
	return cell, nil
}

// fieldReasons are the API's words for what units refuse; all else is the form.
var fieldReasons = map[unit.Reason]arrisv1.FieldReason{
	unit.NotANumber:  arrisv1.FieldReason_FIELD_REASON_NOT_A_NUMBER,
	unit.NotFinite:   arrisv1.FieldReason_FIELD_REASON_NOT_FINITE,
	unit.TooLong:     arrisv1.FieldReason_FIELD_REASON_TOO_LONG,
	unit.NoUnit:      arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT,
	unit.UnknownUnit: arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT,
	unit.WrongUnit:   arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT,
}

func reasonOf(err error) arrisv1.FieldReason {
	var parse *unit.ParseError
	if errors.As(err, &parse) {
		if reason, ok := fieldReasons[parse.Reason]; ok {
			return reason
		}
	}
	return arrisv1.FieldReason_FIELD_REASON_BAD_FORM
}
