package paper_test

import (
	"bytes"
	"os/exec"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"arris.example/deploy/chance"
	"arris.example/deploy/outside"
	"arris.example/service/internal/paper"
)

// fribidi puts lines in the order in which they are seen.
func fribidi(t *testing.T, lines []string) []string {
	t.Helper()
	outside.Run(t, "libfribidi-bin", "fribidi", "--version")
	order := exec.Command("fribidi", "--nobreak", "--nopad", "--ltr")
	order.Stdin = strings.NewReader(strings.Join(lines, "\n") + "\n")
	out, err := order.Output()
	if err != nil {
		t.Fatal(err)
	}
	out = norm.NFKC.Bytes(out) // it joins Arabic letters by those that Unicode has for their shapes
	return strings.Split(string(bytes.TrimSuffix(out, []byte("\n"))), "\n")
}

// Letters, numbers and signs of all kinds stand in the order in which GNU FriBidi puts them, with isolates and without.
func TestOrderAgainstAnother(t *testing.T) {
	random := chance.New(t)
	pool := []rune("abcdefאבגדהוزرذدوا0123456789٠١٢٣٤   ()[]+-,.:/%°⌀$±–·'\"!")
	var lines []string
	for range 4000 {
		var line []rune
		for range 1 + random.IntN(14) {
			line = append(line, pool[random.IntN(len(pool))])
		}
		if random.IntN(3) == 0 {
			at := random.IntN(len(line))
			lines = append(lines, string(line[:at])+paper.Isolate(string(line[at:]))+", ⌀ 200 mm")
			continue
		}
		lines = append(lines, strings.TrimSpace(string(line))+"x")
	}
	// Brackets are turned around by the shapes that they get.
	bare := strings.NewReplacer("\u2066", "", "\u2067", "", "\u2069", "", "(", "|", ")", "|", "[", "¦", "]", "¦")
	wrong := 0
	for i, want := range fribidi(t, lines) {
		if got := bare.Replace(paper.Visual(lines[i])); got != bare.Replace(want) {
			if wrong++; wrong < 10 {
				t.Errorf("%q is seen as %q, want %q", lines[i], got, bare.Replace(want))
			}
		}
	}
	if wrong > 0 {
		t.Errorf("%d of %d", wrong, len(lines))
	}
}
