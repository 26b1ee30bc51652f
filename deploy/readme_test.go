package deploy_test

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// exits are the exit codes of README's commands that do not end with 0, by what tells them: refusals that it shows, and rows that are refused.
var exits = map[string]int{"--stick-out 1.75mm": 3, "--gap 145mm": 4, "sheets --tools all": 7, "tool import tools.csv --check": 7}

// TestREADMEsCommands types README's commands one after the other, as somebody new does, in a folder and with a home of their own. Those that
// ask a server, or start one, are left to the tests of the server.
func TestREADMEsCommands(t *testing.T) {
	folder := t.TempDir()
	if out, err := exec.CommandContext(t.Context(), "go", "build", "-o", filepath.Join(folder, "bin")+"/", "./arris").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	text, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	typed, begun := 0, map[string]bool{}
	for _, line := range strings.Split(string(text), "\n") {
		ours := strings.HasPrefix(line, "bin/arris ") || strings.HasPrefix(line, "printf ")
		if !ours || strings.Contains(line, "--server ") {
			continue
		}
		want := 0
		for part, code := range exits {
			if strings.Contains(line, part) {
				want, begun[part] = code, true
			}
		}
		shell := exec.CommandContext(t.Context(), "sh", "-c", line)
		shell.Dir, shell.Env = folder, []string{"PATH=" + os.Getenv("PATH"), "HOME=" + folder, "LANG=C.UTF-8"}
		out, err := shell.CombinedOutput()
		var ended *exec.ExitError
		code := 0
		if errors.As(err, &ended) {
			code = ended.ExitCode()
		} else if err != nil {
			t.Fatal(err)
		}
		if code != want {
			t.Errorf("%s\nexits with %d, want %d:\n%s", line, code, want, out)
		}
		typed++
	}
	if typed < 30 || len(begun) != len(exits) {
		t.Errorf("README has %d commands, and of those that refuse %v", typed, begun)
	}
}
