//go:build unix

package drill_test

import (
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"arris.example/deploy/outside"
)

// small runs a command in a file system of its own, of some megabytes, in memory, mounted at a folder with what the folder had; then it
// does what before says. The mount is the command's alone and ends with it.
func small(t *testing.T, folder, before string, command ...string) []string {
	t.Helper()
	unshare := outside.Program(t, "util-linux", "unshare")
	if out, err := exec.Command(unshare, "--map-root-user", "--mount", "true").CombinedOutput(); err != nil {
		t.Skipf("file systems may not be mounted here: %s", out)
	}
	script := `set -e; folder=$1; shift
		[ -z "$(ls "$folder")" ] || cp -r "$folder"/. "$COPY"
		mount -t tmpfs -o size=6m none "$folder"
		cp -r "$COPY"/. "$folder"
		` + before + `
		exec "$@"`
	return append([]string{"env", "COPY=" + t.TempDir(), unshare, "--map-root-user", "--mount", "sh", "-c", script, "sh", folder}, command...)
}

// inside is a path as a server in a file system of its own sees it.
func (r *running) inside(path string) string {
	return fmt.Sprintf("/proc/%d/root%s", r.command.Process.Pid, path)
}

func holder(id string) (path, body string) {
	return "/v1/shops/main/holders?holderId=" + id, fmt.Sprintf(`{"displayName":%q,"clamp":{"barBehindFaceMm":30,"barBelowMm":12}}`, strings.Repeat("x", 190))
}

// On a full disk a write is refused, with the reason, and nothing of it is there; reading goes on; when there is room again, writing does.
func TestFullDisk(t *testing.T) {
	p := needed(t, built)
	folder := t.TempDir()
	store := filepath.Join(folder, "shop.db")
	server := start(t, store, small(t, folder, "", string(p))...)
	write := func(id string, status int, says string) error {
		path, body := holder(id)
		return server.answers(http.MethodPost, path, body, status, says)
	}
	if err := write("before", http.StatusOK, "before"); err != nil {
		t.Fatal(err)
	}
	ballast := server.inside(filepath.Join(folder, "ballast"))
	if err := fillUp(ballast, 1<<20); err != nil {
		t.Fatal(err)
	}
	var kept []string
	refused := ""
	for i := 0; refused == ""; i++ {
		id := fmt.Sprintf("holder-%d", i)
		switch err := write(id, http.StatusOK, id); {
		case i == 1000:
			t.Fatal("a thousand writes on a full disk")
		case err == nil:
			kept = append(kept, id)
		default:
			refused = id
		}
	}
	for _, err := range []error{
		write(refused, http.StatusServiceUnavailable, "no room left"),
		server.answers(http.MethodGet, "/v1/shops/main/holders/"+refused, "", http.StatusNotFound, "NOT_FOUND"),
		server.answers(http.MethodGet, "/v1/shops/main/holders/before", "", http.StatusOK, "before"),
		server.ready(http.StatusOK),
		os.Remove(ballast),
		write(refused, http.StatusOK, refused),
		write("after", http.StatusOK, "after"),
		p.check(copied(t, server.inside(store))),
	} {
		if err != nil {
			t.Error(err)
		}
	}
	for _, id := range append(kept, "before", refused, "after") {
		if err := server.answers(http.MethodGet, "/v1/shops/main/holders/"+id, "", http.StatusOK, id); err != nil {
			t.Error(err)
		}
	}
	t.Logf("%d writes until the disk was full", len(kept))
}

// fillUp writes a file until the disk is full but for some bytes.
func fillUp(path string, but int64) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	block := make([]byte, 4096)
	size := -but
	for ; err == nil; size += int64(len(block)) {
		_, err = f.Write(block)
	}
	if !errors.Is(err, syscall.ENOSPC) {
		return err
	}
	return errors.Join(f.Truncate(size), f.Close())
}

// copied is a copy of a shop's file and its journal: SQLite does not open files of another process's file systems.
func copied(t *testing.T, store string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "copy.db")
	for _, end := range []string{"", "-wal"} {
		text, err := os.ReadFile(store + end)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(to+end, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return to
}

// On a disk that may only be read a server does not start, and says why; the shop stays as it was and can be looked at.
func TestReadOnlyDisk(t *testing.T) {
	p := needed(t, built)
	folder := t.TempDir()
	store := filepath.Join(folder, "shop.db")
	server := start(t, store, string(p))
	server.kill()
	refused := launch(t, store, small(t, folder, `mount -o remount,ro "$folder"`, string(p))...)
	refused.exits(t, 1, "may not be written")
}

// A file that was damaged while nobody had it open is found out, and a backup put in its place.
func TestDamagedFile(t *testing.T) {
	p := needed(t, built)
	store := filepath.Join(t.TempDir(), "shop.db")
	server := start(t, store, string(p))
	path, body := holder("kept")
	if err := server.answers(http.MethodPost, path, body, http.StatusOK, "kept"); err != nil {
		t.Fatal(err)
	}
	backup := store + ".backup"
	if out, err := exec.Command(string(p), "backup", store, backup).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	server.end(t)
	if err := p.check(store); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(store)
	if err != nil {
		t.Fatal(err)
	}
	for at := 4096 * 3; at < len(text); at++ { // all but the schema
		text[at] ^= 0x55
	}
	if err := os.WriteFile(store, text, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := p.check(store); err == nil || !strings.Contains(err.Error(), "restore a backup") {
		t.Errorf("checked: %v", err)
	}
	launch(t, store, string(p)).exits(t, 1, "restore a backup")
	if out, err := exec.Command(string(p), "restore", backup, store).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	server = start(t, store, string(p))
	if err := server.answers(http.MethodGet, "/v1/shops/main/holders/kept", "", http.StatusOK, "kept"); err != nil {
		t.Error(err)
	}
}
