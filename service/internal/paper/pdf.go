package paper

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"strings"
	"sync"
	"unicode/utf16"
)

// PDF writes a document. The same document gives the same bytes. Lengths are true to a thousandth of a millimetre; faces are embedded.
func PDF(w io.Writer, d Document) error {
	v := NewVolume(w, d.Title)
	if err := v.Add("", d.Pages); err != nil {
		return err
	}
	return v.Close()
}

// Volume is a PDF of any length, as ISO 32000-1 describes it: what is added is written at once, so that it needs no memory for pages, only for
// where they are and what its letters look like. It is for one goroutine at a time.
type Volume struct {
	out       *bufio.Writer
	written   int64
	err       error // the first one; then nothing is written any more
	title     string
	starts    []int64 // of the objects, by their numbers less one; 0: not yet
	pages     []int   // their objects
	bookmarks []bookmark
	ink       ink
	squeezed  bytes.Buffer
}

// bookmark is a title in a volume's list of contents, and the page it leads to.
type bookmark struct {
	title string
	page  int
}

// Objects that are written last and referred to before.
const (
	catalogObject = iota + 1
	pagesObject
	resourcesObject
	infoObject
	outlinesObject
	firstFree
)

// NewVolume begins a PDF.
func NewVolume(w io.Writer, title string) *Volume {
	v := &Volume{out: bufio.NewWriterSize(w, 1<<15), title: title, starts: make([]int64, firstFree-1)}
	v.printf("%%PDF-1.7\n%%\xe2\xe3\xcf\xd3\n") // bytes above 127: it is not text
	return v
}

// Add writes pages, and has a bookmark lead to the first of them unless its title is empty. It hands over to the writer below what it has
// written before it returns.
func (v *Volume) Add(title string, pages []Page) error {
	if title != "" && len(pages) > 0 {
		v.bookmarks = append(v.bookmarks, bookmark{title, len(v.starts) + 2})
	}
	for _, p := range pages {
		v.page(p)
	}
	if err := v.out.Flush(); v.err == nil {
		v.err = err
	}
	return v.err
}

// Close writes what all pages share. Without a page there is no PDF.
func (v *Volume) Close() error {
	if len(v.pages) == 0 {
		return fmt.Errorf("a PDF without pages")
	}
	v.resources()
	kids := make([]string, len(v.pages))
	for i, page := range v.pages {
		kids[i] = fmt.Sprintf("%d 0 R", page)
	}
	v.object(pagesObject, "<</Type/Pages/Count %d/Kids[%s]>>", len(kids), strings.Join(kids, " "))
	v.object(infoObject, "<</Title %s/Producer %s>>", textString(v.title), textString("arris"))
	contents := v.contents()
	// A printer that scales would spoil what is at 1:1.
	v.object(catalogObject, "<</Type/Catalog/Pages %d 0 R/ViewerPreferences<</DisplayDocTitle true/PrintScaling/None>>%s>>", pagesObject, contents)
	v.trailer()
	if err := v.out.Flush(); v.err == nil {
		v.err = err
	}
	return v.err
}

func (v *Volume) write(p []byte) {
	if v.err == nil {
		_, v.err = v.out.Write(p)
		v.written += int64(len(p))
	}
}

func (v *Volume) printf(format string, args ...any) { v.write(fmt.Appendf(nil, format, args...)) }

// next is the number of an object to come.
func (v *Volume) next() int {
	v.starts = append(v.starts, 0)
	return len(v.starts)
}

// object writes one whose number was given before.
func (v *Volume) object(number int, format string, args ...any) {
	v.starts[number-1] = v.written
	v.printf("%d 0 obj\n", number)
	v.printf(format, args...)
	v.printf("\nendobj\n")
}

// zips are compressors to use again: each has more than a megabyte of tables. Level 2 takes half the usual one's time for 8 % more bytes.
var zips = sync.Pool{New: func() any {
	zip, err := zlib.NewWriterLevel(nil, 2)
	if err != nil {
		panic(err) // there is such a level
	}
	return zip
}}

// stream writes an object of bytes and gives its number.
func (v *Volume) stream(more string, data []byte) int {
	v.squeezed.Reset()
	zip := zips.Get().(*zlib.Writer) //nolint:errcheck,forcetypeassert // nothing else is kept
	zip.Reset(&v.squeezed)
	_, _ = zip.Write(data) // a bytes.Buffer never fails
	_ = zip.Close()
	zips.Put(zip)
	number := v.next()
	v.starts[number-1] = v.written
	v.printf("%d 0 obj\n<</Filter/FlateDecode/Length %d%s>>\nstream\n", number, v.squeezed.Len(), more)
	v.write(v.squeezed.Bytes())
	v.printf("\nendstream\nendobj\n")
	return number
}

// pointsPerMM are the printer's points, 72 to the inch.
const pointsPerMM = 72 / 25.4

func (v *Volume) page(p Page) {
	content := v.stream("", v.ink.page(p))
	page := v.next()
	v.object(page, "<</Type/Page/Parent %d 0 R/Resources %d 0 R/MediaBox[0 0 %.2f %.2f]/Contents %d 0 R>>",
		pagesObject, resourcesObject, p.Width*pointsPerMM, p.Height*pointsPerMM, content)
	v.pages = append(v.pages, page)
}

// resources are the faces, by the names that pages call them.
func (v *Volume) resources() {
	var fonts strings.Builder
	for i := range v.ink.faces {
		if used := &v.ink.faces[i]; len(used.glyphs) > 0 {
			fmt.Fprintf(&fonts, "/F%d %d 0 R", i, v.font(used))
		}
	}
	v.object(resourcesObject, "<</Font<<%s>>>>", &fonts)
}

// contents writes the bookmarks and gives what the catalog says of them.
func (v *Volume) contents() string {
	if len(v.bookmarks) == 0 {
		v.object(outlinesObject, "null")
		return ""
	}
	first := len(v.starts) + 1
	last := first + len(v.bookmarks) - 1
	for i, b := range v.bookmarks {
		var around string
		if i > 0 {
			around += fmt.Sprintf("/Prev %d 0 R", first+i-1)
		}
		if first+i < last {
			around += fmt.Sprintf("/Next %d 0 R", first+i+1)
		}
		v.object(v.next(), "<</Title %s/Parent %d 0 R/Dest[%d 0 R/Fit]%s>>", textString(b.title), outlinesObject, b.page, around)
	}
	v.object(outlinesObject, "<</Type/Outlines/First %d 0 R/Last %d 0 R/Count %d>>", first, last, len(v.bookmarks))
	return fmt.Sprintf("/Outlines %d 0 R/PageMode/UseOutlines", outlinesObject)
}

// trailer is the table of where objects start.
func (v *Volume) trailer() {
	table := v.written
	v.printf("xref\n0 %d\n%010d 65535 f \n", len(v.starts)+1, 0)
	for _, start := range v.starts {
		v.printf("%010d 00000 n \n", start)
	}
	v.printf("trailer\n<</Size %d/Root %d 0 R/Info %d 0 R>>\nstartxref\n%d\n%%%%EOF\n", len(v.starts)+1, catalogObject, infoObject, table)
}

// textString is a text as PDF has it outside of pages: UTF-16, marked as such.
func textString(text string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, unit := range utf16.Encode([]rune(text)) {
		fmt.Fprintf(&b, "%04X", unit)
	}
	b.WriteString(">")
	return b.String()
}
