package arris

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	"arris.example/client/arris/internal/fields"
)

// showRecord shows a record whole: its fields by the names they are set by.
func (p *program) showRecord(shop, format string, record proto.Message, err error) error {
	if err != nil {
		return err
	}
	switch format {
	case "json":
		text, err := jsonText(record)
		return p.print(string(text), err)
	case "csv":
		return p.showCSV([]proto.Message{record})
	}
	v := sheet{screen: p.screen}
	v.heading(shortName(shop, fields.Get(cleaned(record), "name")))
	var rows []table.Row
	for _, f := range fields.All(cleaned(record)) {
		if f.Path != "name" && f.Path != "uid" && f.Path != "etag" {
			rows = append(rows, table.Row{f.Path, shortName(shop, toTheSecond(f))})
		}
	}
	if len(rows) > 0 {
		v.grid(nil, rows)
	}
	return p.print(v.text.String(), nil)
}

// toTheSecond is a value without the parts of a second that a time may have.
func toTheSecond(f fields.Field) string {
	at, err := time.Parse(time.RFC3339Nano, f.Value)
	if err != nil || !strings.HasSuffix(f.Path, "_time") {
		return f.Value
	}
	return at.Format(time.RFC3339)
}

// showList shows records one a row.
func (p *program) showList(n noun, shop, format string, list []proto.Message) error {
	switch format {
	case "json":
		return p.showJSONList(list)
	case "csv":
		return p.showCSV(list)
	}
	if len(list) == 0 {
		return p.print("no "+n.word+"\n", nil)
	}
	v := sheet{screen: p.screen}
	header := table.Row{n.word}
	for _, c := range n.columns {
		header = append(header, c.head)
	}
	var rows []table.Row
	for _, record := range list {
		said := map[string]string{}
		for _, f := range fields.All(cleaned(record)) {
			said[f.Path] = f.Value
		}
		row := table.Row{lastOf(said["name"]) + deletedMark(said)}
		for _, c := range n.columns {
			row = append(row, c.text(shop, said))
		}
		rows = append(rows, row)
	}
	v.grid(header, rows)
	return p.print(v.text.String(), nil)
}

func deletedMark(said map[string]string) string {
	if said["delete_time"] != "" {
		return " (deleted)"
	}
	return ""
}

// text is a cell for people: the first of the column's fields that is said, with its unit.
func (c recordColumn) text(shop string, said map[string]string) string {
	for _, path := range c.fields {
		value := said[path]
		switch {
		case value == "":
		case value == "{}":
			return path
		case strings.HasSuffix(path, "_mm"):
			return hundredths(value) + " mm"
		case strings.HasSuffix(path, "_deg"):
			return hundredths(value) + "°"
		case strings.HasSuffix(path, "_time"):
			return timeText(value)
		default:
			return shortName(shop, value)
		}
	}
	return ""
}

// hundredths is a number to the second decimal, as far as anybody reads it in a list.
func hundredths(value string) string {
	n, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return value
	}
	return number(math.Round(100*n) / 100)
}

// timeText is a time by the clock of whoever reads it; dayText is its day.
func timeText(value string) string {
	at, err := time.Parse(time.RFC3339Nano, value)
	if err != nil {
		return value
	}
	return at.Local().Format("2006-01-02 15:04")
}

func dayText(value string) string { return strings.Split(timeText(value), " ")[0] }

// shortName is a name within a shop as people type it: north for shops/main/stations/north.
func shortName(shop, name string) string {
	rest, ok := strings.CutPrefix(name, shop+"/")
	if !ok {
		return name
	}
	if _, last, nested := strings.Cut(rest, "/"); nested {
		return last
	}
	return rest
}

func lastOf(name string) string { return name[strings.LastIndexByte(name, '/')+1:] }

// showJSONList writes a list as one JSON array.
func (p *program) showJSONList(list []proto.Message) error {
	var out bytes.Buffer
	out.WriteByte('[')
	for i, record := range list {
		text, err := jsonText(record)
		if err != nil {
			return err
		}
		if i > 0 {
			out.WriteByte(',')
		}
		out.Write(text)
	}
	out.WriteByte(']')
	var indented bytes.Buffer
	if err := json.Indent(&indented, out.Bytes(), "", "  "); err != nil {
		return err
	}
	return p.print(indented.String()+"\n", nil)
}

// showCSV writes records with a column for each field that any of them has. The same file can be imported.
func (p *program) showCSV(list []proto.Message) error {
	var columns []fields.Field
	seen, named := map[string]bool{}, len(list) == 0
	rows := make([]map[string]string, len(list))
	for i, record := range list {
		rows[i] = map[string]string{}
		for _, f := range fields.All(cleaned(record)) {
			rows[i][f.Path] = f.Value
			named = named || f.Path == "name"
			if !seen[f.Path] && !madeAlways[f.Path] {
				seen[f.Path] = true
				columns = append(columns, f)
			}
		}
	}
	slices.SortFunc(columns, fields.Field.Before)
	var out bytes.Buffer
	w := newCSV(&out)
	var row []string
	if named {
		row = append(row, idColumn)
	}
	for _, c := range columns {
		row = append(row, c.Path)
	}
	_ = w.Write(row) // it keeps its error
	for _, said := range rows {
		if row = row[:0]; named {
			row = append(row, lastOf(said["name"]))
		}
		for _, c := range columns {
			row = append(row, cell(said[c.Path]))
		}
		_ = w.Write(row)
	}
	w.Flush()
	return p.print(out.String(), w.Error())
}

// idColumn is the column of a CSV file with the last part of a record's name.
const idColumn = "id"

// cell is a value for a spreadsheet: a number stays one, a text never becomes a formula; spoken is the value again.
func cell(value string) string {
	if _, err := strconv.ParseFloat(value, 64); err == nil {
		return value
	}
	if safe := harmless(value); safe != value || spoken(value) == value {
		return safe
	}
	return "'" + value
}

func spoken(text string) string {
	if bare, ok := strings.CutPrefix(text, "'"); ok && cell(bare) == text {
		return bare
	}
	return text
}

// print writes a whole answer at once.
func (p *program) print(text string, err error) error {
	if err == nil {
		_, err = fmt.Fprint(p.Out, text)
	}
	return err
}
