// Package outside runs programs of others that tests hold ours to.
package outside

import (
	"os"
	"os/exec"
	"testing"
)

// Program is where a program of a Debian package is. Without it the test is skipped; where nothing may be left out it fails.
func Program(t testing.TB, pkg, program string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		Missing(t, program+" is missing: install Debian's "+pkg)
	}
	return path
}

// Run runs a program that reads what was written, and gives what it printed. A program that is not content fails the test.
func Run(t testing.TB, pkg, program string, args ...string) string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), Program(t, pkg, program), args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", program, args, err, out)
	}
	return string(out)
}

// Missing ends a test for want of something: it is skipped, and fails where nothing may be left out.
func Missing(t testing.TB, why string) {
	t.Helper()
	if Required() {
		t.Fatal(why)
	}
	t.Skip(why)
}

// Required tells whether nothing may be left out.
func Required() bool { return os.Getenv("ARRIS_REQUIRE_ALL") == "1" }
