package kiosk_test

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"arris.example/client/kiosk"
)

// There is always something to show.
func TestFilesHaveThePageOrTheWordOfIt(t *testing.T) {
	name := "placeholder.html"
	if kiosk.Built() {
		name = "index.html"
	}
	if text, err := fs.ReadFile(kiosk.Files(), name); err != nil || !strings.Contains(string(text), "<html") {
		t.Errorf("%s: %v %q", name, err, text)
	}
}

// Where the page cannot be built, whoever wants the server has it all the same, and whoever wants the page is told why not.
func TestWithoutNodeTheServerIsStillBuilt(t *testing.T) {
	tools := t.TempDir() // all that the script needs, Node aside
	for _, tool := range []string{"bash", "dirname", "cmp", "env"} {
		path, err := exec.LookPath(tool)
		if err == nil {
			err = os.Symlink(path, filepath.Join(tools, tool))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		args []string
		fine bool
	}{{nil, false}, {[]string{"--optional"}, true}} {
		build := exec.CommandContext(t.Context(), filepath.Join("..", "..", ".ci", "kiosk"), c.args...)
		build.Env = []string{"PATH=" + tools}
		out, err := build.CombinedOutput()
		if (err == nil) != c.fine || !strings.Contains(string(out), "the kiosk's page") {
			t.Errorf("%v: %v\n%s", c.args, err, out)
		}
	}
}
