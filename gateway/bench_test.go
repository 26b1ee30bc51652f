package gateway_test

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protojson"

	"arris.example/gateway"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

const solveBody = `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`

// How fast a solve over REST is beside the least that any server in its place must do: read the request's JSON, write the answer's.
// Both are asked in turns by 32 callers in the same run; `of-bare` is the share of the bare handler's rate that the solve reaches.
func BenchmarkSolveSetupOverREST(b *testing.B) {
	_, handler := behind(b, service.Config{Demo: true}, gateway.Options{})
	full, bare := newLoad(b, handler), newLoad(b, bareHandler(b, handler))
	const batch = 2000
	var fullTime, bareTime time.Duration
	for b.Loop() {
		fullTime += full.ask(b, batch)
		bareTime += bare.ask(b, batch)
	}
	calls := float64(b.N * batch)
	b.ReportMetric(calls/fullTime.Seconds(), "calls/s")
	b.ReportMetric(calls/bareTime.Seconds(), "bare-calls/s")
	b.ReportMetric(bareTime.Seconds()/fullTime.Seconds(), "of-bare")
}

// bareHandler decodes every request and encodes the answer that handler gives to it.
func bareHandler(b *testing.B, handler http.Handler) http.Handler {
	w := post(handler, solvePath, solveBody)
	if w.Code != http.StatusOK {
		b.Fatalf("%d %s", w.Code, w.Body)
	}
	var answer arrisv1.SolveSetupResponse
	if err := protojson.Unmarshal(w.Body.Bytes(), &answer); err != nil {
		b.Fatal(err)
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err == nil {
			err = protojson.Unmarshal(body, &arrisv1.SolveSetupRequest{})
		}
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		text, err := protojson.MarshalOptions{EmitDefaultValues: true}.Marshal(&answer)
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		_, _ = w.Write(text)
	})
}

const callers = 32

// load asks a server over TCP with many callers at once.
type load struct {
	url    string
	client *http.Client
}

func newLoad(b *testing.B, handler http.Handler) load {
	server := httptest.NewServer(handler)
	transport := &http.Transport{MaxIdleConnsPerHost: callers}
	b.Cleanup(func() {
		transport.CloseIdleConnections()
		server.Close()
	})
	return load{server.URL + solvePath, &http.Client{Transport: transport}}
}

func (l load) ask(b *testing.B, times int64) time.Duration {
	var left atomic.Int64
	left.Store(times)
	var all sync.WaitGroup
	start := time.Now()
	for range callers {
		all.Go(func() {
			for left.Add(-1) >= 0 {
				resp, err := l.client.Post(l.url, "application/json", bytes.NewReader([]byte(solveBody)))
				if err != nil {
					b.Error(err)
					return
				}
				_, _ = io.Copy(io.Discard, resp.Body)
				if resp.Body.Close(); resp.StatusCode != http.StatusOK {
					b.Errorf("status %d", resp.StatusCode)
				}
			}
		})
	}
	all.Wait()
	return time.Since(start)
}
