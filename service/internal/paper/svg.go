package paper

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"
)

// SVG writes a page as a document of its own whose user unit is a millimetre. It has no script and refers to nothing.
func SVG(w io.Writer, title string, p Page) error {
	var out bytes.Buffer
	fmt.Fprintf(&out, `<?xml version="1.0" encoding="UTF-8"?>`+"\n"+
		`<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="'DejaVu Sans', Verdana, sans-serif">`+"\n"+
		"<title>%s</title>\n"+`<rect width="%s" height="%s" fill="#fff"/>`+"\n",
		mm(p.Width), mm(p.Height), mm(p.Width), mm(p.Height), escaped(title), mm(p.Width), mm(p.Height))
	for _, m := range p.Marks {
		switch m := m.(type) {
		case Line:
			svgLine(&out, m)
		case Words:
			svgWords(&out, m)
		case Tiles:
			out.WriteString(svgTiles(m))
		}
	}
	out.WriteString("</svg>\n")
	_, err := w.Write(out.Bytes())
	return err
}

// mm writes a length to a thousandth, without a negative zero.
func mm(v float64) string { return string(decimal(nil, v, 3)) }

func xy(p Point) string { return mm(p.X) + " " + mm(p.Y) }

func escaped(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a strings.Builder never fails
	return b.String()
}

func svgLine(out *bytes.Buffer, l Line) {
	style := `fill="none"`
	if l.Fill != nil {
		grey := int(math.Round(255 * (1 - float64(*l.Fill))))
		style = fmt.Sprintf(`fill="#%02x%02x%02x"`, grey, grey, grey)
	}
	if l.Width > 0 {
		style += fmt.Sprintf(` stroke="#000" stroke-width=%q stroke-linejoin="round"`, mm(l.Width))
	}
	if len(l.Dashes) > 0 {
		var dashes []string
		for _, d := range l.Dashes {
			dashes = append(dashes, mm(d))
		}
		style += fmt.Sprintf(` stroke-dasharray=%q`, strings.Join(dashes, " "))
	}
	if l.Arc != nil && l.Arc.Full() {
		fmt.Fprintf(out, `<circle cx=%q cy=%q r=%q %s/>`+"\n", mm(l.Arc.Centre.X), mm(l.Arc.Centre.Y), mm(l.Arc.Radius), style)
		return
	}
	fmt.Fprintf(out, `<path d=%q %s/>`+"\n", svgPath(l), style)
}

func svgPath(l Line) string {
	if a := l.Arc; a != nil {
		large := 0
		if a.Sweep > math.Pi {
			large = 1
		}
		return fmt.Sprintf("M%s A%s %s 0 %d 0 %s", xy(a.At(a.Start)), mm(a.Radius), mm(a.Radius), large, xy(a.At(a.Start+a.Sweep)))
	}
	var b strings.Builder
	for i, p := range l.Points {
		b.WriteString([]string{"M", " L"}[min(i, 1)] + xy(p))
	}
	if l.Closed {
		b.WriteString(" Z")
	}
	return b.String()
}

func svgWords(out *bytes.Buffer, t Words) {
	text := Settable(t.Text, t.Bold)
	if text == "" {
		return
	}
	more := ""
	if t.Bold {
		more = ` font-weight="bold"`
	}
	if turn := mm(-t.Turn * 180 / math.Pi); turn != "0" {
		more += fmt.Sprintf(` transform="rotate(%s %s)"`, turn, xy(t.At))
	}
	// The width is the face's, whatever face there is.
	at := fmt.Sprintf(`x=%q y=%q font-size=%q textLength=%q lengthAdjust="spacingAndGlyphs"%s`, mm(t.At.X), mm(t.At.Y), mm(t.Size), mm(Width(text, t.Size, t.Bold)), more)
	if t.Rim {
		fmt.Fprintf(out, `<text %s stroke="#fff" stroke-width=%q stroke-linejoin="round" fill="#fff">%s</text>`+"\n", at, mm(0.3*t.Size), escaped(text))
	}
	fmt.Fprintf(out, `<text %s>%s</text>`+"\n", at, escaped(text))
}
