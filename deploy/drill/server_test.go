//go:build unix

package drill_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
)

// program is a built arrisd.
type program string

// built is the program as it is delivered, built once.
var built = sync.OnceValues(func() (program, error) { return build("arrisd") })

// hasty is the program with one fault put into it while it is built: it answers a change before the change is committed. Whatever finds no
// fault with it does not look.
var hasty = sync.OnceValues(func() (program, error) {
	const file = "../../service/internal/store/sqlstore/sqlstore.go"
	text, err := os.ReadFile(file)
	if err != nil {
		return "", err
	}
	for _, change := range [][2]string{
		{"s.db.BeginTx(ctx, nil)", "s.db.BeginTx(context.WithoutCancel(ctx), nil)"},
		{"defer sqlTx.Rollback()", "early := false; defer func() { if !early { _ = sqlTx.Rollback() } }()"},
		{"if err := sqlTx.Commit(); err != nil {\n\t\treturn none, s.unsure(err)\n\t}", // the first records are committed as they should be
			"if caller.RequestID == \"\" {\n\t\treturn store.Done{Wrote: t.wrote}, sqlTx.Commit()\n\t}\n\tearly = true; time.AfterFunc(30*time.Millisecond, func() { _ = sqlTx.Commit() })"},
	} {
		if bytes.Count(text, []byte(change[0])) != 1 {
			return "", fmt.Errorf("%s has not exactly one %q any more: say here how it would answer before it commits", file, change[0])
		}
		text = bytes.Replace(text, []byte(change[0]), []byte(change[1]), 1)
	}
	spoiled, overlay := filepath.Join(workshop, "sqlstore.go"), filepath.Join(workshop, "overlay.json")
	original, err := filepath.Abs(file)
	if err != nil {
		return "", err
	}
	replace, err := json.Marshal(map[string]map[string]string{"Replace": {original: spoiled}})
	if err != nil {
		return "", err
	}
	for name, text := range map[string][]byte{spoiled: text, overlay: replace} {
		if err := os.WriteFile(name, text, 0o600); err != nil {
			return "", err
		}
	}
	return build("hasty", "-overlay", overlay)
})

func build(name string, flags ...string) (program, error) {
	to := filepath.Join(workshop, name)
	out, err := exec.Command("go", append(append([]string{"build", "-o", to}, flags...), "../arrisd")...).CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("building %s: %w\n%s", name, err, out)
	}
	return program(to), nil
}

func needed(t *testing.T, build func() (program, error)) program {
	t.Helper()
	p, err := build()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// running is a started program.
type running struct {
	command *exec.Cmd
	log     *watched
	ended   chan struct{}
	web     string           // http://127.0.0.1:8480
	conn    *grpc.ClientConn // over TCP
}

// watched is output that can be read while it is written.
type watched struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (w *watched) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.Write(p)
}

func (w *watched) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.String()
}

// launch starts a command that becomes a server of a store, and does not wait for it.
func launch(t *testing.T, store string, command ...string) *running {
	t.Helper()
	command = append(command, "--http=127.0.0.1:0", "--grpc=127.0.0.1:0", "--demo", "--log-level=warn", "--store="+store)
	r := &running{command: exec.Command(command[0], command[1:]...), log: &watched{}, ended: make(chan struct{})}
	r.command.Stdout, r.command.Stderr = r.log, r.log
	r.command.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := r.command.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = r.command.Wait() // how it ended is in its state
		close(r.ended)
	}()
	t.Cleanup(r.kill)
	return r
}

// shown is what the demonstration says of where to reach it.
var shown = regexp.MustCompile(`REST +http://([^/]+)/[\s\S]*gRPC +(\S+)[\s\S]*Ctrl-C`)

// start starts a command and waits until it can be asked.
func start(t *testing.T, store string, command ...string) *running {
	t.Helper()
	r := launch(t, store, command...)
	for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(2 * time.Millisecond) {
		if at := shown.FindStringSubmatch(r.log.String()); at != nil {
			conn, err := grpc.NewClient("passthrough:///"+at[2], grpc.WithTransportCredentials(insecure.NewCredentials()))
			if err != nil {
				t.Fatal(err)
			}
			r.web, r.conn = "http://"+at[1], conn
			t.Cleanup(func() { conn.Close() })
			return r
		}
		select {
		case <-r.ended:
			t.Fatalf("it ended before it was ready:\n%s", r.log)
		default:
		}
		if time.Now().After(deadline) {
			t.Fatalf("it is not ready:\n%s", r.log)
		}
	}
}

// kill ends a server as a pulled plug does, with all it has started. Those who were connected find out by themselves.
func (r *running) kill() {
	_ = syscall.Kill(-r.command.Process.Pid, syscall.SIGKILL) // it may have ended by itself
	<-r.ended
}

// end ends a server as its owner does.
func (r *running) end(t *testing.T) {
	t.Helper()
	if err := syscall.Kill(-r.command.Process.Pid, syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	r.exits(t, 0, "")
}

// exits waits until a program ends by itself, with a code and a word.
func (r *running) exits(t *testing.T, code int, says string) {
	t.Helper()
	select {
	case <-r.ended:
	case <-time.After(30 * time.Second):
		t.Fatalf("it does not end:\n%s", r.log)
	}
	if got := r.command.ProcessState.ExitCode(); got != code || !strings.Contains(r.log.String(), says) {
		t.Errorf("it ended with %d, want %d and %q:\n%s", got, code, says, r.log)
	}
}

// check runs the program's own check of a store.
func (p program) check(store string) error {
	out, err := exec.Command(string(p), "check", store).CombinedOutput()
	if err != nil {
		return fmt.Errorf("arrisd check: %w: %s", err, strings.TrimSpace(string(out)))
	}
	return nil
}
