package paper

import (
	"io"
	"math"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// PDF writes a document. The same document gives the same bytes. Lengths are true to the printer's points; faces are embedded.
func PDF(w io.Writer, d Document) error {
	out := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: A4.Width, Ht: A4.Height}})
	day := time.Unix(0, 0).UTC() // a document's own time would make two of the same differ
	out.SetCreationDate(day)
	out.SetModificationDate(day)
	out.SetCatalogSort(true)
	out.SetProducer("arris", true)
	out.SetTitle(d.Title, true)
	out.SetMargins(0, 0, 0)
	out.SetAutoPageBreak(false, 0)
	out.AddUTF8FontFromBytes(family, "", upright.ttf)
	out.AddUTF8FontFromBytes(family, "B", heavy.ttf)
	out.SetLineJoinStyle("round")
	for _, p := range d.Pages {
		out.AddPageFormat("P", fpdf.SizeType{Wd: p.Width, Ht: p.Height})
		for _, m := range p.Marks {
			switch m := m.(type) {
			case Line:
				pdfLine(out, m)
			case Words:
				pdfWords(out, m)
			case Tiles:
				pdfTiles(out, m)
			}
		}
	}
	return out.Output(w)
}

const family = "dejavu"

func pdfLine(out *fpdf.Fpdf, l Line) {
	style := ""
	if l.Fill != nil {
		grey := int(math.Round(255 * (1 - float64(*l.Fill))))
		out.SetFillColor(grey, grey, grey)
		style = "F"
	}
	if l.Width > 0 {
		out.SetLineWidth(l.Width)
		out.SetDashPattern(l.Dashes, 0)
		style += "D"
	}
	if style == "" {
		return
	}
	if l.Arc != nil {
		pdfArc(out, *l.Arc)
	} else {
		out.MoveTo(l.Points[0].X, l.Points[0].Y)
		for _, p := range l.Points[1:] {
			out.LineTo(p.X, p.Y)
		}
	}
	if l.Closed {
		out.ClosePath()
	}
	out.DrawPath(style)
}

// pdfArc goes along an arc by cubic curves of up to 45°, each within 4e-6 of the radius.
func pdfArc(out *fpdf.Fpdf, a Arc) {
	pieces := max(1, int(math.Ceil(a.Sweep/(math.Pi/4)-1e-9)))
	step := a.Sweep / float64(pieces)
	reach := a.Radius * 4 / 3 * math.Tan(step/4)
	from := a.At(a.Start)
	out.MoveTo(from.X, from.Y)
	for i := range pieces {
		begin, end := a.Start+float64(i)*step, a.Start+float64(i+1)*step
		p, q := a.At(begin), a.At(end)
		out.CurveBezierCubicTo(p.X-reach*math.Sin(begin), p.Y-reach*math.Cos(begin), q.X+reach*math.Sin(end), q.Y+reach*math.Cos(end), q.X, q.Y)
	}
}

func pdfWords(out *fpdf.Fpdf, t Words) {
	text := Settable(t.Text, t.Bold)
	if text == "" {
		return
	}
	style := ""
	if t.Bold {
		style = "B"
	}
	out.SetFont(family, style, 12)
	out.SetFontUnitSize(t.Size)
	if t.Turn != 0 {
		out.TransformBegin()
		out.TransformRotate(t.Turn*180/math.Pi, t.At.X, t.At.Y)
	}
	if t.Rim {
		pdfRim(out, t, text)
	}
	out.SetTextColor(0, 0, 0)
	out.Text(t.At.X, t.At.Y, text)
	if t.Turn != 0 {
		out.TransformEnd()
	}
}

// pdfRim clears a band below words, a little less high than they are.
func pdfRim(out *fpdf.Fpdf, t Words, text string) {
	out.SetFillColor(255, 255, 255)
	out.Rect(t.At.X-0.1*t.Size, t.At.Y-0.82*t.Size, Width(text, t.Size, t.Bold)+0.2*t.Size, 1.0*t.Size, "F")
}
