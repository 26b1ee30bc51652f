package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"go.uber.org/goleak"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	arrisv1 "arris.example/proto/arris/v1"
)

// TestMain lets the test binary stand for the program itself, so that signals can be sent to it.
func TestMain(m *testing.M) {
	os.Unsetenv("XDG_DATA_HOME")
	if os.Getenv("ARRISD_TEST_AS_PROGRAM") != "" {
		main()
		return
	}
	goleak.VerifyTestMain(m)
}

// watched is output that a test can wait for.
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

func (w *watched) await(t *testing.T, word string) {
	t.Helper()
	for deadline := time.Now().Add(20 * time.Second); !strings.Contains(w.String(), word); time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("no %q in:\n%s", word, w)
		}
	}
}

// started runs the program on free ports until the test ends, and gives its output, its log and a way to end it.
func started(t *testing.T, args ...string) (out, log *watched, end func() int) {
	t.Helper()
	if os.Getenv("XDG_DATA_HOME") == "" { // a test's own shop, unless it has one
		t.Setenv("XDG_DATA_HOME", t.TempDir())
	}
	out, log = &watched{}, &watched{}
	ctx, cancel := context.WithCancel(context.Background())
	code := make(chan int, 1)
	go func() {
		code <- run(ctx, time.Now(), append([]string{"--http=127.0.0.1:0", "--grpc=127.0.0.1:0"}, args...), out, log)
	}()
	end = sync.OnceValue(func() int {
		cancel()
		return <-code
	})
	t.Cleanup(func() { end() })
	log.await(t, "ready in")
	return out, log, end
}

func get(t *testing.T, url string) (int, string) {
	t.Helper()
	resp, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Get(url)
	if err != nil {
		t.Fatal(err)
	}
	return readAll(t, resp)
}

func readAll(t *testing.T, resp *http.Response) (int, string) {
	t.Helper()
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(text)
}

func found(t *testing.T, text, pattern string) []string {
	t.Helper()
	match := regexp.MustCompile(pattern).FindStringSubmatch(text)
	if match == nil {
		t.Fatalf("no %s in:\n%s", pattern, text)
	}
	return match[1:]
}

// Everything that the demonstration prints works as it is printed.
func TestDemoShowsWhatWorks(t *testing.T) {
	out, log, end := started(t, "--demo")
	out.await(t, "Ctrl-C")
	text := out.String()
	for _, want := range []string{
		"bowl-50 on station north", "108.5 mm", "45.0 mm", "30.0°", "edge angle of 50.0° ±", "a protractor on the bevel shows 52.9°", "eye and breathing protection",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in:\n%s", want, text)
		}
	}
	if strings.Contains(text, "%!") || strings.Contains(text, "<no value>") {
		t.Errorf("the text has holes:\n%s", text)
	}

	curl := found(t, text, `curl -s (\S+) -H 'Content-Type: (\S+)' -d '([^']+)'`)
	resp, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Post(curl[0], curl[1], strings.NewReader(curl[2]))
	if err != nil {
		t.Fatal(err)
	}
	code, body := readAll(t, resp)
	var answer struct {
		Setup struct {
			Steps []struct {
				Support struct{ WheelGap struct{ SetMm float64 } }
			}
		}
	}
	if err := json.Unmarshal([]byte(body), &answer); err != nil || code != http.StatusOK {
		t.Fatalf("curl line: %d %v %s", code, err, body)
	}
	if gap := answer.Setup.Steps[0].Support.WheelGap.SetMm; gap != 108.5 {
		t.Errorf("curl line: wheel gap %v", gap)
	}

	if code, page := get(t, found(t, text, `API page +(\S+)`)[0]); code != http.StatusOK || !strings.Contains(page, "/openapi.json") {
		t.Errorf("API page: %d", code)
	}
	if code, numbers := get(t, found(t, text, `metrics +(\S+)`)[0]); code != http.StatusOK || !strings.Contains(numbers, "arris_solves_total") || !strings.Contains(numbers, "go_goroutines") {
		t.Errorf("metrics: %d\n%s", code, numbers)
	}

	conn, err := grpc.NewClient(found(t, text, `gRPC +(\S+)`)[0], grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if resp, err := healthv1.NewHealthClient(conn).Check(t.Context(), &healthv1.HealthCheckRequest{}); err != nil || resp.GetStatus() != healthv1.HealthCheckResponse_SERVING {
		t.Errorf("gRPC health: %v %v", resp, err)
	}
	if code := end(); code != 0 {
		t.Errorf("exit code %d, log:\n%s", code, log)
	}
	if _, err := net.DialTimeout("tcp", conn.Target(), time.Second); err == nil {
		t.Error("gRPC still listens")
	}
	found(t, log.String(), `ready in (\d+) ms`)
}

func TestWithoutDemoNamesAreNotKnown(t *testing.T) {
	out, log, _ := started(t)
	base := "http://" + found(t, log.String(), `http=(\S+)`)[0]
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	resp, err := client.Post(base+"/v1/shops/main:solveSetup", "application/json", strings.NewReader(`{"recipe":"shops/main/recipes/bowl-50"}`))
	if err != nil {
		t.Fatal(err)
	}
	if code, body := readAll(t, resp); code != http.StatusNotFound || !strings.Contains(body, `"NOT_FOUND"`) {
		t.Errorf("%d %s", code, body)
	}
	inline := `{"rig":{"inlineWheel":{"diameterMm":200},"inlineHolder":{"pivot":{"behindMm":131,"belowMm":46}}},"grind":{"bevels":[{"frontAngleDeg":50}]}}`
	resp, err = client.Post(base+"/v1:solveSetup", "application/json", strings.NewReader(inline))
	if err != nil {
		t.Fatal(err)
	}
	if code, body := readAll(t, resp); code != http.StatusOK {
		t.Errorf("inline rig: %d %s", code, body)
	}
	if code, _ := get(t, base+"/readyz"); code != http.StatusOK {
		t.Errorf("readyz: %d", code)
	}
	if out.String() != "" {
		t.Errorf("it prints %q", out)
	}
}

func TestTakenAddressesAreNamed(t *testing.T) {
	taken, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	at := taken.Addr().String()
	for flag, args := range map[string][]string{
		"--http": {"--http=" + at, "--grpc=127.0.0.1:0"},
		"--grpc": {"--http=127.0.0.1:0", "--grpc=" + at},
	} {
		var errs bytes.Buffer
		code := run(t.Context(), time.Now(), args, io.Discard, &errs)
		if text := errs.String(); code != 1 || !strings.Contains(text, at) || !strings.Contains(text, flag) || !strings.Contains(text, "taken") {
			t.Errorf("%s: exit code %d, %s", flag, code, text)
		}
	}
	var errs bytes.Buffer
	code := run(t.Context(), time.Now(), []string{"--http=192.0.2.1:1", "--grpc=127.0.0.1:0"}, io.Discard, &errs) // RFC 5737: nobody's address
	if text := errs.String(); code != 1 || !strings.Contains(text, "192.0.2.1:1") || !strings.Contains(text, "--http") {
		t.Errorf("exit code %d, %s", code, text)
	}
}

func TestWrongUseIsSaidAndEndsWith2(t *testing.T) {
	file := func(text string) string {
		name := filepath.Join(t.TempDir(), "arrisd.yaml")
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return "--config=" + name
	}
	for _, c := range []struct {
		arg, says string
	}{
		{"--htpt=:1", "--http"},
		{"extra", "extra"},
		{"--log-level=loud", "--log-level"},
		{"--log-format=xml", "--log-format"},
		{"--http=8480", `--http: "8480" is no address`},
		{"--grpc=localhost", "HOST:PORT"},
		{"--config=/nowhere/arrisd.yaml", "there is no file /nowhere/arrisd.yaml"},
		{file("htpp: :1\n"), `"htpp" is no setting; there are demo, grpc, http`},
		{file("http: [1, 2]\n"), "http must be a single value"},
		{file("http: \"x"), "--config"},
		{file("log-level: loud\n"), "--log-level"},
		{file("config: other.yaml\n"), `"config" is no setting`},
	} {
		var errs bytes.Buffer
		code := run(t.Context(), time.Now(), []string{c.arg}, io.Discard, &errs)
		if text := errs.String(); code != 2 || !strings.Contains(text, c.says) || !strings.Contains(text, "arrisd --help") {
			t.Errorf("%s: exit code %d, %s", c.arg, code, text)
		}
	}
}

func TestHelpAndVersion(t *testing.T) {
	for arg, want := range map[string]string{"--help": "127.0.0.1:8480", "--version": "arrisd "} {
		var out, errs bytes.Buffer
		if code := run(t.Context(), time.Now(), []string{arg}, &out, &errs); code != 0 || !strings.Contains(out.String(), want) || errs.Len() > 0 {
			t.Errorf("%s: exit code %d, %s%s", arg, code, &out, &errs)
		}
	}
}

// Flag over environment over file over default, for each setting by itself.
func TestSettingsInTheirOrder(t *testing.T) {
	name := filepath.Join(t.TempDir(), "arrisd.yaml")
	if err := os.WriteFile(name, []byte("http: file:1\ngrpc: file:2\nlog-level: debug\ndemo: true\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	read := func(args ...string) settings {
		t.Helper()
		s, done, err := readSettings(args, io.Discard)
		if err != nil || done {
			t.Fatalf("%v: %v %v", args, done, err)
		}
		return s
	}
	want := func(what string, got, want settings) {
		t.Helper()
		got.Config = ""
		if got != want {
			t.Errorf("%s: %+v, want %+v", what, got, want)
		}
	}
	defaults := settings{HTTP: "127.0.0.1:8480", GRPC: "127.0.0.1:8481", LogLevel: "info", LogFormat: "text", Role: "owner"}
	want("defaults", read(), defaults)

	ofFile := settings{HTTP: "file:1", GRPC: "file:2", LogLevel: "debug", LogFormat: "text", Role: "owner", Demo: true}
	want("file over defaults", read("--config="+name), ofFile)

	t.Setenv("ARRIS_HTTP", "environment:1")
	t.Setenv("ARRIS_DEMO", "false")
	ofEnvironment := ofFile
	ofEnvironment.HTTP, ofEnvironment.Demo = "environment:1", false
	want("environment over file", read("--config="+name), ofEnvironment)

	ofFlag := ofEnvironment
	ofFlag.HTTP, ofFlag.LogLevel, ofFlag.Demo = "flag:1", "warn", true
	want("flag over all", read("--config="+name, "--http=flag:1", "--log-level=warn", "--demo"), ofFlag)

	t.Setenv("ARRIS_CONFIG", name)
	want("file named by the environment", read(), ofEnvironment)
}

func TestLogAsJSON(t *testing.T) {
	_, log, end := started(t, "--log-format=json")
	end()
	lines := strings.Split(strings.TrimSpace(log.String()), "\n")
	if len(lines) < 3 {
		t.Errorf("only %d lines", len(lines))
	}
	for _, line := range lines {
		if !json.Valid([]byte(line)) {
			t.Errorf("not JSON: %s", line)
		}
	}
}

func TestOpenToTheNetworkIsSaid(t *testing.T) {
	_, log, _ := started(t, "--grpc=:0", "--store=none")
	if !strings.Contains(log.String(), "open to the network") {
		t.Errorf("log:\n%s", log)
	}
	_, log, _ = started(t, "--store=none")
	if strings.Contains(log.String(), "open to the network") {
		t.Errorf("loopback is not the network:\n%s", log)
	}
}

// The program itself, ended by each signal: calls under way are answered, and the exit code is 0.
func TestSignalsEndItWell(t *testing.T) {
	for _, signal := range []os.Signal{syscall.SIGTERM, os.Interrupt} {
		t.Run(signal.String(), func(t *testing.T) {
			out := &watched{}
			program := exec.CommandContext(t.Context(), os.Args[0], "--demo", "--http=127.0.0.1:0", "--grpc=127.0.0.1:0")
			program.Env = append(os.Environ(), "ARRISD_TEST_AS_PROGRAM=1")
			program.Stdout, program.Stderr = out, out
			if err := program.Start(); err != nil {
				t.Fatal(err)
			}
			out.await(t, "Ctrl-C")
			conn, err := grpc.NewClient(found(t, out.String(), `gRPC +(\S+)`)[0], grpc.WithTransportCredentials(insecure.NewCredentials()))
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			if _, err := arrisv1.NewGrindServiceClient(conn).SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: "?"}); err == nil {
				t.Error("a bad request was answered")
			}
			if err := program.Process.Signal(signal); err != nil {
				t.Fatal(err)
			}
			if err := program.Wait(); err != nil {
				t.Errorf("%v\n%s", err, out)
			}
			if text := out.String(); !strings.Contains(text, "stopped") || strings.Contains(text, "cut off") {
				t.Errorf("it did not end in order:\n%s", text)
			}
		})
	}
}
