//go:build unix

package drill_test

import (
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"arris.example/deploy/outside"
)

// A commit is on the disk before it is answered: between the last write to the journal and the answer's first byte the journal was synced.
// The system calls of a running server show it.
func TestCommitIsSyncedBeforeItIsAnswered(t *testing.T) {
	trace := tracer(t)
	lines, err := traced(t, trace, needed(t, built))
	if err != nil {
		t.Fatal(err)
	}
	order, err := commitOrder(lines)
	if err != nil {
		t.Errorf("%v in\n%s", err, strings.Join(order, "\n"))
	}
	t.Log("\n" + strings.Join(order, "\n"))
	if lines, err = traced(t, trace, needed(t, hasty)); err != nil {
		t.Fatal(err)
	}
	if order, err := commitOrder(lines); err == nil {
		t.Errorf("a server that answers before it commits looks right:\n%s", strings.Join(order, "\n"))
	}
}

// tracer is strace, where it is installed and allowed to look.
func tracer(t *testing.T) string {
	t.Helper()
	path := outside.Program(t, "strace", "strace")
	if out, err := exec.Command(path, "-o", os.DevNull, "true").CombinedOutput(); err != nil {
		t.Skipf("strace may not trace here: %s", out)
	}
	return path
}

// traced starts a server under a tracer, asks it for one write over REST, and gives the system calls it made for that.
func traced(t *testing.T, trace string, p program) ([]string, error) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "trace")
	server := start(t, filepath.Join(t.TempDir(), "shop.db"),
		trace, "-f", "-yy", "-qq", "-s", "16", "-e", "trace=read,write,writev,sendto,pwrite64,fsync,fdatasync", "-o", file, string(p))
	before, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	code, text := server.ask(http.MethodPost, "/v1/shops/main/holders?holderId=traced&requestId=traced-1", `{"clamp":{"barBehindFaceMm":30,"barBelowMm":12}}`)
	if code != http.StatusOK {
		return nil, fmt.Errorf("%d %s", code, text)
	}
	server.kill()
	all, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return strings.Split(string(all[len(before):]), "\n"), nil
}

// What is looked for in a trace: a call's beginning has its file, the end of one that was interrupted has not.
var (
	request = regexp.MustCompile(`read\(\d+<TCP.*"POST /v1/`)
	journal = regexp.MustCompile(`pwrite64\(\d+<[^>]*-wal>`)
	synced  = regexp.MustCompile(`^(\d+) +f(?:data)?sync\(\d+<[^>]*-wal>(.*)`)
	resumed = regexp.MustCompile(`^(\d+) +<\.\.\. f(?:data)?sync resumed>\) += 0`)
	answer  = regexp.MustCompile(`write\(\d+<TCP.*"HTTP/1\.1 200 OK`)
)

// commitOrder gives the lines that matter, from the request to its answer, and an error unless the last write to the journal was followed
// by a sync that had ended when the answer began.
func commitOrder(lines []string) (order []string, err error) {
	const nothing, asked, dirty, clean = 0, 1, 2, 3
	state, syncing := nothing, map[string]bool{}
	for _, line := range lines {
		sync := synced.FindStringSubmatch(line)
		back := resumed.FindStringSubmatch(line)
		switch {
		case state == nothing && !request.MatchString(line):
			continue
		case state == nothing:
			state = asked
		case journal.MatchString(line):
			if state == dirty { // the last one counts
				order = order[:len(order)-1]
			}
			state, syncing = dirty, map[string]bool{} // a sync under way does not count for what is written now
		case len(sync) > 0 && strings.HasSuffix(sync[2], "= 0"):
			state = clean
		case len(sync) > 0:
			syncing[sync[1]] = true
		case len(back) > 0 && syncing[back[1]]:
			state = clean
		case answer.MatchString(line):
			order = append(order, line)
			if state != clean {
				return order, fmt.Errorf("answered before it was synced")
			}
			return order, nil
		default:
			continue
		}
		order = append(order, line)
	}
	return order, fmt.Errorf("no answer was seen")
}
