package figure

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// Whatever a server sends is drawn or refused: never a panic, never a document that is not one, never a line too long.
func FuzzRender(f *testing.F) {
	seed, err := proto.Marshal(sample(f))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(seed, 80, true)
	f.Add([]byte{}, 20, false)
	f.Fuzz(func(t *testing.T, wire []byte, columns int, ascii bool) {
		figure := &arrisv1.Figure{}
		if proto.Unmarshal(wire, figure) != nil {
			return
		}
		var svg, text bytes.Buffer
		if err := SVG(&svg, figure, Options{Dark: ascii}); err == nil {
			checkDocument(t, &svg)
		}
		if err := Terminal(&text, figure, TerminalOptions{Columns: columns, ASCII: ascii}); err != nil {
			return
		}
		for _, line := range strings.Split(text.String(), "\n") {
			if columns == 0 {
				columns = usualColumns
			}
			if columnsOf(line) > columns {
				t.Fatalf("a line of %d in %d columns", columnsOf(line), columns)
			}
		}
	})
}

// The same of whole edges, and of a plot alone.
func FuzzRenderEdge(f *testing.F) {
	seed, err := proto.Marshal(sampleEdge(f))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(seed, 80, 14, true)
	f.Add(seed, 20, 5, false)
	f.Add([]byte{}, 20, 0, false)
	f.Fuzz(func(t *testing.T, wire []byte, columns, rows int, ascii bool) {
		edge := &arrisv1.Edge{}
		if proto.Unmarshal(wire, edge) != nil {
			return
		}
		var page, plot, text bytes.Buffer
		if err := EdgeSVG(&page, edge, Options{Dark: ascii}); err == nil {
			checkDocument(t, &page)
		}
		if err := PlotSVG(&plot, edge.GetWedgePlot(), Options{}); err == nil {
			checkDocument(t, &plot)
		}
		if PlotTerminal(&text, edge.GetWedgePlot(), TerminalOptions{Columns: columns, Rows: rows, ASCII: ascii}) != nil {
			return
		}
		if columns == 0 {
			columns = usualColumns
		}
		for _, line := range strings.Split(text.String(), "\n") {
			if columnsOf(line) > columns {
				t.Fatalf("a line of %d in %d columns: %q", columnsOf(line), columns, line)
			}
		}
	})
}

// checkDocument fails for what is not well-formed or has an attribute that is no number where a number should be.
func checkDocument(t *testing.T, document io.Reader) {
	t.Helper()
	decoder := xml.NewDecoder(document)
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		start, _ := token.(xml.StartElement)
		for _, a := range start.Attr {
			if a.Name.Local != "class" && (strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf")) {
				t.Fatalf("%s of %s is %q", a.Name.Local, start.Name.Local, a.Value)
			}
		}
	}
}
