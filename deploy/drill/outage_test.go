//go:build unix

package drill_test

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// insist lets all write and ask again, the same as before, for what failed, until they are told to stop. What they were told
// meanwhile is in the result.
func (c crew) insist(conn grpc.ClientConnInterface) (stop func() (told []error)) {
	var writing sync.WaitGroup
	var stopped atomic.Bool
	told := make([][]error, len(c))
	for i, w := range c {
		writing.Go(func() {
			for !stopped.Load() {
				err := w.write(conn)
				for err != nil && !stopped.Load() {
					told[i] = append(told[i], err)
					time.Sleep(20 * time.Millisecond)
					err = w.do(conn)
				}
			}
		})
	}
	return func() (all []error) {
		stopped.Store(true)
		writing.Wait()
		for _, t := range told {
			all = append(all, t...)
		}
		return all
	}
}

// The database is stopped, restarted and paused amid writes. Meanwhile the server says that its store is away and is not ready, still
// calculates, and comes back by itself; nothing is lost, and nothing done twice by those who ask again.
func TestDatabaseGoesAwayAmidWrites(t *testing.T) {
	store := address(t)
	p := needed(t, built)
	server := start(t, store, string(p))
	crew := newCrew(writers, seeded(t))
	for _, outage := range []struct {
		what       string
		away, back func() error
		lasts      time.Duration
	}{
		{"stopped", database.StopNow, database.Start, 3 * time.Second},
		{"restarted", database.StopNow, database.Start, 0},
		{"paused", func() error { return database.Signal(syscall.SIGSTOP) }, func() error { return database.Signal(syscall.SIGCONT) }, 8 * time.Second},
	} {
		t.Run(outage.what, func(t *testing.T) {
			stop := sync.OnceValue(crew.insist(server.conn))
			defer stop()
			time.Sleep(300 * time.Millisecond)
			before, _ := crew.count()
			if err := outage.away(); err != nil {
				t.Fatal(err)
			}
			if outage.lasts > 0 {
				eventually(t, func() error { return server.ready(http.StatusServiceUnavailable) })
				for _, err := range []error{
					server.answers(http.MethodGet, "/v1/shops/main/tools/writer-0", "", http.StatusServiceUnavailable, "STORE_UNAVAILABLE"),
					server.answers(http.MethodPost, "/v1:solveSetup", scraper, http.StatusOK, `"setup"`),
				} {
					if err != nil {
						t.Error(err)
					}
				}
				time.Sleep(outage.lasts - 2*time.Second)
			}
			if err := outage.back(); err != nil {
				t.Fatal(err)
			}
			eventually(t, func() error { return server.ready(http.StatusOK) })
			eventually(t, func() error {
				if now, _ := crew.count(); now < before+10 {
					return fmt.Errorf("%d writes were answered before, %d now", before, now)
				}
				return nil
			})
			told := stop()
			if len(told) == 0 {
				t.Error("nobody noticed")
			}
			for _, err := range told {
				if !away(err) {
					t.Errorf("told: %v", err)
				}
			}
			if err := crew.settle(server.conn); err != nil {
				t.Fatal(err)
			}
			has, err := crew.survey(server.conn)
			if err != nil {
				t.Fatal(err)
			}
			if faults := crew.audit(has); len(faults) > 0 {
				t.Error(strings.Join(faults, "\n"))
			}
			now, _ := crew.count()
			t.Logf("%d writes answered before, %d after; %d refused meanwhile", before, now-before, len(told))
		})
	}
	if err := p.check(store); err != nil {
		t.Error(err)
	}
}

// away tells whether an error says that the store is away, as it should be said; a caller's own patience may end first.
func away(err error) bool {
	st := status.Convert(err)
	for _, d := range st.Details() {
		if info, ok := d.(*errdetails.ErrorInfo); ok {
			return st.Code() == codes.Unavailable && info.GetReason() == "STORE_UNAVAILABLE"
		}
	}
	return st.Code() == codes.DeadlineExceeded
}

// eventually waits until something is as it should be, up to half a minute.
func eventually(t *testing.T, so func() error) {
	t.Helper()
	var err error
	for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		if err = so(); err == nil {
			return
		}
	}
	t.Fatalf("after half a minute: %v", err)
}

// ask asks over REST and gives the answer's status and text; 0 and why where there is none.
func (r *running) ask(method, path, body string) (int, string) {
	req, err := http.NewRequest(method, r.web+path, strings.NewReader(body))
	if err != nil {
		return 0, err.Error()
	}
	resp, err := (&http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}).Do(req)
	if err != nil {
		return 0, err.Error()
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		return 0, err.Error()
	}
	return resp.StatusCode, string(text)
}

// answers fails unless a question is answered with a status and a text.
func (r *running) answers(method, path, body string, status int, says string) error {
	code, text := r.ask(method, path, body)
	if code != status || !strings.Contains(text, says) {
		return fmt.Errorf("%s %s: %d %s, want %d with %q", method, path, code, text, status, says)
	}
	return nil
}

// ready fails unless the probe answers so.
func (r *running) ready(status int) error {
	return r.answers(http.MethodGet, "/readyz", "", status, "")
}

// scraper is a set-up that is written out whole, so that no store is asked.
const scraper = `{"rig":{"inlineWheel":{"diameterMm":200},"inlineHolder":{"none":{}},"inlineTool":{"kind":"TOOL_KIND_SCRAPER","bladeThicknessMm":6}},
	"grind":{"bevels":[{"frontAngleDeg":75}]}}`
