package arris_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"arris.example/client/arris"
	"arris.example/deploy/outside"
)

// files are a folder's, by name.
func files(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string][]byte{}
	for _, f := range list {
		if all[f.Name()], err = os.ReadFile(filepath.Join(dir, f.Name())); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// A class of twelve with sixty tools, two of them impossible: 58 sheets and two reasons, and the same bytes when it is done again.
func TestSixtySheetsTwoOfThemImpossible(t *testing.T) {
	const day = "2026-11-20"
	dir := t.TempDir()
	for _, where := range []string{"once", "again"} {
		folder := filepath.Join(dir, where)
		single := run(t, sixty(), "sheets", "-", "--dir", folder, "--as-of", day)
		if single.code != arris.ExitSome || !strings.HasPrefix(single.out, "58 of 60 sheets printed; ") {
			t.Fatalf("exits with %d: %s%s", single.code, single.out, single.errors)
		}
		if told := strings.Count(single.errors, "["); told != 2 || !strings.Contains(single.errors, `line 19, key "tool-17": `) || !strings.HasSuffix(single.errors, "2 of 60 rows refused\n") {
			t.Errorf("tells %d reasons: %s", told, single.errors)
		}
		if volume := run(t, sixty(), "sheets", "-", "--out", filepath.Join(folder, "class.pdf"), "--as-of", day); volume.code != arris.ExitSome {
			t.Fatalf("exits with %d: %s", volume.code, volume.errors)
		}
	}
	once, again := files(t, filepath.Join(dir, "once")), files(t, filepath.Join(dir, "again"))
	if len(once) != 59 || len(again) != 59 {
		t.Fatalf("%d and %d files, want 58 sheets and a volume", len(once), len(again))
	}
	for name, bytesOnce := range once {
		if !bytes.Equal(bytesOnce, again[name]) {
			t.Errorf("%s is not the same when made again", name)
		}
	}
	volume := filepath.Join(dir, "once", "class.pdf")
	outside.Run(t, "qpdf", "qpdf", "--check", volume)
	var read struct{ Outlines []struct{ Title string } }
	if err := json.Unmarshal([]byte(outside.Run(t, "qpdf", "qpdf", "--json", "--json-key=outlines", volume)), &read); err != nil {
		t.Fatal(err)
	}
	var keys []string
	for _, o := range read.Outlines {
		key, _, _ := strings.Cut(o.Title, ":")
		keys = append(keys, key)
	}
	if len(keys) != 58 || slices.Contains(keys, "tool-17") {
		t.Errorf("%d bookmarks: %s", len(keys), keys)
	}
	// The files are in the volume's order, each with its own key's stick-out.
	names := slices.DeleteFunc(slices.Sorted(maps.Keys(once)), func(name string) bool { return name == "class.pdf" })
	for i, name := range names {
		if want := fmt.Sprintf("%02d-%s.pdf", i+1, keys[i]); name != want {
			t.Errorf("file %d is %s, want %s", i, name, want)
		}
	}
	// Each shows its key, by itself as in the volume.
	whole := outside.Run(t, "poppler-utils", "pdftotext", volume, "-")
	for i, name := range names {
		single := outside.Run(t, "poppler-utils", "pdftotext", filepath.Join(dir, "once", name), "-")
		if lines := strings.Split(single, "\n"); !slices.Contains(lines, "For") || !slices.Contains(lines, keys[i]) {
			t.Errorf("%s is not for %s:\n%s", name, keys[i], single)
		}
		if !slices.Contains(strings.Split(whole, "\n"), keys[i]) {
			t.Errorf("nothing in the volume is for %s", keys[i])
		}
	}
	var n int
	if _, err := fmt.Sscanf(names[30][3:], "tool-%d", &n); err != nil {
		t.Fatal(err)
	}
	if text := outside.Run(t, "poppler-utils", "pdftotext", filepath.Join(dir, "once", names[30]), "-"); !strings.Contains(text, fmt.Sprintf("%d.0 mm", 40+n%12)) {
		t.Errorf("%s says\n%s", names[30], text)
	}
}

// Stopped in the middle and run again, it goes on: what was written stays, the rest is of the same moment, and nothing is left beside it.
func TestStoppedSheetsGoOn(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "class")
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan int, 1)
	var out, errs bytes.Buffer
	go func() {
		ended <- arris.Run(ctx, []string{"sheets", "-", "--dir", dir}, inProcess, arris.Streams{In: strings.NewReader(sixty()), Out: &out, Err: &errs})
	}()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(time.Millisecond) {
		if written, _ := filepath.Glob(filepath.Join(dir, "*.pdf")); len(written) >= 5 {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("nothing is written")
		}
	}
	stop()
	if code := <-ended; code != arris.ExitInterrupted || !strings.Contains(errs.String(), "run the same command again") {
		t.Fatalf("exits with %d: %s", code, errs.String())
	}
	before, times := files(t, dir), map[string]time.Time{}
	if len(before) >= 58 || before[".unfinished"] == nil {
		t.Fatalf("%d files when stopped", len(before))
	}
	var began struct{ AsOf time.Time }
	if err := json.NewDecoder(bytes.NewReader(before[".unfinished"])).Decode(&began); err != nil {
		t.Fatal(err)
	}
	for name := range before {
		info, err := os.Stat(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		times[name] = info.ModTime()
	}
	// One that was written is damaged meanwhile: it is written anew.
	if err := os.WriteFile(filepath.Join(dir, first(before)), []byte("spilt"), 0o600); err != nil {
		t.Fatal(err)
	}
	// Had it been killed, half a sheet would lie there, too. What another command is writing just then is not touched.
	var of struct{ Rows string }
	if err := json.NewDecoder(bytes.NewReader(before[".unfinished"])).Decode(&of); err != nil {
		t.Fatal(err)
	}
	const others = ".arris-12345"
	for _, half := range []string{".arris-" + of.Rows[:16] + "-678", others} {
		if err := os.WriteFile(filepath.Join(dir, half), []byte("%PDF-1."), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if again := run(t, sixty(), "sheets", "-", "--dir", dir); again.code != arris.ExitSome {
		t.Fatalf("exits with %d: %s", again.code, again.errors)
	}
	whole := filepath.Join(t.TempDir(), "whole")
	if got := run(t, sixty(), "sheets", "-", "--dir", whole, "--as-of", began.AsOf.Format(time.RFC3339)); got.code != arris.ExitSome {
		t.Fatal(got.errors)
	}
	after, want := files(t, dir), files(t, whole)
	if after[others] == nil {
		t.Error("what another command was writing is gone")
	}
	delete(after, others)
	if len(after) != 58 || len(want) != 58 {
		t.Fatalf("%d files, %d in one go", len(after), len(want))
	}
	kept := 0
	for name := range want {
		if !bytes.Equal(after[name], want[name]) {
			t.Errorf("%s is not as made in one go", name)
		}
		if info, err := os.Stat(filepath.Join(dir, name)); err == nil && info.ModTime().Equal(times[name]) {
			kept++
		}
	}
	if kept != len(before)-2 {
		t.Errorf("%d files stayed as they were, want %d", kept, len(before)-2)
	}
	// Other rows do not go on from a journal of these.
	if err := os.WriteFile(filepath.Join(dir, ".unfinished"), before[".unfinished"], 0o600); err != nil {
		t.Fatal(err)
	}
	fewer := strings.Join(strings.SplitAfter(sixty(), "\n")[:4], "")
	got := run(t, fewer, "sheets", "-", "--dir", dir, "--as-of", "2026-11-01")
	if got.code != arris.ExitOK || !strings.HasPrefix(got.out, "3 of 3") || got.errors != dir+": .pdf files of other runs lie there too: 58\n" {
		t.Errorf("%d: %s%s", got.code, got.out, got.errors)
	}
}

// A file that cannot be written is named as people named it, not by the journal beside it.
func TestSheetsIntoNoFolder(t *testing.T) {
	name := filepath.Join(t.TempDir(), "none", "class.pdf")
	if r := run(t, sixty(), "sheets", "-", "--out", name); r.code != arris.ExitUsage || r.errors != "arris: "+name+": there is no folder "+filepath.Dir(name)+"; make it first\n" {
		t.Errorf("exits with %d: %s%s", r.code, r.out, r.errors)
	}
}

// first is the name of one sheet there is.
func first(all map[string][]byte) string {
	for _, name := range slices.Sorted(maps.Keys(all)) {
		if strings.HasSuffix(name, ".pdf") {
			return name
		}
	}
	return ""
}
