package service_test

import (
	"bufio"
	"fmt"
	"os"
	"strings"
	"testing"
)

func TestProbe(t *testing.T) {
	f, err := os.Open(os.Getenv("PROBE"))
	if err != nil {
		t.Skip()
	}
	client := dialDemo(t)
	s := bufio.NewScanner(f)
	for s.Scan() {
		name, rest, _ := strings.Cut(s.Text(), "|")
		if rest == "" { continue }
		call, req, _ := strings.Cut(rest, " ")
		fmt.Printf("== %s\n%s\n", name, ask(t, client, call, req))
	}
}
