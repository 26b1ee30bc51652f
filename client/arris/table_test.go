package arris

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/jedib0t/go-pretty/v6/table"
)

// A column that no row has anything for is left out, with its header.
func TestEmptyColumnsAreLeftOut(t *testing.T) {
	all := []table.Row{{"recipe", "about", "anew"}, {"a", "", ""}, {"b", "", "1"}}
	if got, want := fmt.Sprint(withoutEmpty(all)), "[[recipe anew] [a ] [b 1]]"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A file that cannot be put in its place is told by the name that people gave, and nothing is left beside it.
func TestFilesThatCannotBePutInPlace(t *testing.T) {
	folder := t.TempDir()
	name := filepath.Join(folder, "sheet.pdf")
	if err := os.Mkdir(name, 0o700); err != nil {
		t.Fatal(err)
	}
	err := replaceBy(name, func(to io.Writer) error { _, err := to.Write([]byte("half")); return err })
	var at *fs.PathError
	if !errors.As(err, &at) || at.Path != name || !isOfFiles(err) {
		t.Errorf("%v", err)
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) != 1 {
		t.Errorf("%v, %v", left, err)
	}
}
