package paper_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"arris.example/deploy/outside"
	"arris.example/service/internal/paper"
)

// kept puts bytes into a file.
func kept(t *testing.T, data []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "volume.pdf")
	if err := os.WriteFile(name, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// said is a page with a text.
func said(text string) paper.Page {
	p := paper.Page{Size: paper.A4}
	p.Write(20, 30, 5, false, text)
	return p
}

// A volume has its pages in order and a bookmark for each sheet, which leads to the sheet's first page, as others read it.
func TestVolumeHasBookmarks(t *testing.T) {
	var out bytes.Buffer
	v := paper.NewVolume(&out, "Class of 12, «Ä»")
	var want []string
	page := 1
	for i := range 30 {
		title := fmt.Sprintf("Sheet %d (⌀ %d mm)", i, 200-i)
		var pages []paper.Page
		for n := range i%3 + 1 {
			pages = append(pages, said(fmt.Sprintf("sheet %d, page %d of it", i, n)))
		}
		want = append(want, fmt.Sprintf("%s on %d", title, page))
		page += len(pages)
		before := out.Len()
		if err := v.Add(title, pages); err != nil {
			t.Fatal(err)
		}
		if out.Len() == before {
			t.Fatal("nothing was written by Add")
		}
	}
	if err := v.Close(); err != nil {
		t.Fatal(err)
	}
	file := kept(t, out.Bytes())
	outside.Run(t, "qpdf", "qpdf", "--check", file)
	var read struct {
		Outlines []struct {
			Title string
			Page  int `json:"destpageposfrom1"`
		}
	}
	if err := json.Unmarshal([]byte(outside.Run(t, "qpdf", "qpdf", "--json", "--json-key=outlines", file)), &read); err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, o := range read.Outlines {
		got = append(got, fmt.Sprintf("%s on %d", o.Title, o.Page))
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("bookmarks\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if text := outside.Run(t, "poppler-utils", "pdftotext", "-f", "3", "-l", "3", file, "-"); strings.TrimSpace(text) != "sheet 1, page 1 of it" {
		t.Errorf("page 3 says %q", text)
	}
	if info := outside.Run(t, "poppler-utils", "pdfinfo", file); !strings.Contains(info, "Class of 12, «Ä»") {
		t.Error(info)
	}
}

// full takes so many bytes and no more.
type full struct{ room int }

var errFull = errors.New("no room")

func (f *full) Write(p []byte) (int, error) {
	if f.room -= len(p); f.room < 0 {
		return 0, errFull
	}
	return len(p), nil
}

// A disk that fills is told by whoever comes next, and by the end at the latest. A volume without a page is none.
func TestVolumeTellsOfAFullDisk(t *testing.T) {
	v := paper.NewVolume(&full{room: 2000}, "")
	var err error
	for i := 0; err == nil && i < 100; i++ {
		err = v.Add("", []paper.Page{said(fmt.Sprint("page ", i))})
	}
	if !errors.Is(err, errFull) {
		t.Errorf("Add: %v", err)
	}
	if err := v.Close(); !errors.Is(err, errFull) {
		t.Errorf("Close: %v", err)
	}
	if err := paper.PDF(&full{room: 700}, paper.Document{Pages: []paper.Page{said("one")}}); !errors.Is(err, errFull) {
		t.Errorf("PDF: %v", err)
	}
	if err := paper.NewVolume(&full{room: 2000}, "").Close(); err == nil {
		t.Error("a PDF without pages")
	}
}
