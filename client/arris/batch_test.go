package arris_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"

	"arris.example/client/arris"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// sixty is a class's tools: on three stations, with two that cannot be ground as asked.
func sixty() string {
	var rows strings.Builder
	rows.WriteString("key,recipe,station,stick_out_mm\n")
	stations := []string{"north", "south", "west"}
	for i := range 60 {
		stickOut := 40 + i%12
		if i == 17 || i == 33 {
			stickOut = 250 // the slides end before
		}
		fmt.Fprintf(&rows, "tool-%02d,bowl-50,%s,%d\n", i, stations[i/20], stickOut)
	}
	return rows.String()
}

func TestSixtyRowsTwoOfThemImpossible(t *testing.T) {
	for _, format := range []string{"json", "csv", "table"} {
		first := run(t, sixty(), "batch", "-", "-o", format)
		if first.code != arris.ExitSome {
			t.Fatalf("%s exits with %d: %s", format, first.code, first.errors)
		}
		if told := strings.Count(first.errors, "["); told != 2 || !strings.HasSuffix(first.errors, "standard input: 2 of 60 rows refused\n") {
			t.Errorf("%s tells %d reasons: %s", format, told, first.errors)
		}
		for _, row := range []string{`line 19, key "tool-17": `, `line 35, key "tool-33": `} {
			if !strings.Contains(first.errors, row) {
				t.Errorf("%s does not tell of %s: %s", format, row, first.errors)
			}
		}
		if again := run(t, sixty(), "batch", "-", "-o", format); again != first {
			t.Errorf("%s is not the same when run again", format)
		}
	}
	answers, refusals := 0, 0
	for i, line := range strings.Split(strings.TrimSuffix(run(t, sixty(), "batch", "-", "-o", "json").out, "\n"), "\n") {
		var result struct {
			Key   string
			Setup *struct{ Steps []any }
			Error *struct{ Code int }
		}
		if err := json.Unmarshal([]byte(line), &result); err != nil || result.Key != fmt.Sprintf("tool-%02d", i) {
			t.Fatalf("line %d is %.80s, %v", i, line, err)
		}
		if result.Setup != nil && len(result.Setup.Steps) == 1 {
			answers++
		}
		if result.Error != nil && result.Error.Code == int(codes.FailedPrecondition) {
			refusals++
		}
	}
	if answers != 58 || refusals != 2 {
		t.Errorf("%d answers and %d reasons, want 58 and 2", answers, refusals)
	}
}

// lines makes requests as they are read, with keys or without; nothing holds them all.
type lines struct {
	left, made int
	keyed      bool
	rest       []byte
}

func (l *lines) Read(p []byte) (int, error) {
	if len(l.rest) == 0 {
		if l.left == 0 {
			return 0, io.EOF
		}
		l.left--
		l.made++
		request := fmt.Sprintf(`{"grind":{"bevels":[{"frontAngleDeg":%d}]},"given":{"stickOutMm":45}}`, 20+l.made%60)
		if l.keyed {
			request = fmt.Sprintf(`{"key":"tool number %d","request":%s}`, l.made, request)
		}
		l.rest = []byte(request + "\n")
	}
	n := copy(p, l.rest)
	l.rest = l.rest[n:]
	return n, nil
}

// counted counts lines and looks, every so often, at how much memory is in use.
type counted struct {
	every, lines, looked int
	inUse                []uint64
}

func (c *counted) Write(p []byte) (int, error) {
	c.lines += bytes.Count(p, []byte("\n"))
	for c.lines >= c.looked+c.every {
		c.looked += c.every
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		c.inUse = append(c.inUse, m.HeapAlloc)
	}
	return len(p), nil
}

// at is a service in this process made of a stub.
func at(s stub) arris.Local {
	return func(arris.Place) (grpc.ClientConnInterface, func() error, error) {
		made, err := service.New(service.Config{Grind: s})
		if err != nil {
			return nil, nil, err
		}
		conn, err := made.Dial()
		if err != nil {
			return nil, nil, err
		}
		return conn, func() error { return errors.Join(conn.Close(), stopped(made)) }, nil
	}
}

// each answers every message by what a function makes of its items.
func each(of func([]*arrisv1.BatchItem) ([]*arrisv1.BatchResult, error)) func(stream) error {
	return func(many stream) error {
		for {
			req, err := many.Recv()
			if errors.Is(err, io.EOF) {
				return nil
			}
			if err != nil {
				return err
			}
			results, err := of(req.GetItems())
			if err != nil {
				return err
			}
			if err := many.Send(&arrisv1.StreamSolveSetupsResponse{Results: results}); err != nil {
				return err
			}
		}
	}
}

func plainResults(items []*arrisv1.BatchItem) ([]*arrisv1.BatchResult, error) {
	results := make([]*arrisv1.BatchResult, len(items))
	for i, item := range items {
		setup := &arrisv1.Setup{Steps: []*arrisv1.Step{{StickOut: &arrisv1.LengthSetting{SetMm: item.GetRequest().GetGiven().GetStickOutMm()}}}}
		results[i] = &arrisv1.BatchResult{Key: item.GetKey(), Outcome: &arrisv1.BatchResult_Setup{Setup: setup}}
	}
	return results, nil
}

// A hundred thousand rows take no more memory than ten thousand, but for what finds a key again: some 50 bytes each.
func TestMemoryStaysFlat(t *testing.T) {
	const slack = 8 << 20 // a row that stayed would be some 500 bytes, so 45 MB, or 22 MB
	for _, c := range []struct {
		format string
		keyed  bool
		rows   int
	}{{"json", true, 100_000}, {"csv", false, 50_000}, {"table", false, 50_000}} {
		out := &counted{every: c.rows / 10}
		if c.format == "csv" {
			out.looked = 1 // its header
		}
		var most atomic.Int64
		local := at(stub{stream: each(func(items []*arrisv1.BatchItem) ([]*arrisv1.BatchResult, error) {
			most.Store(max(most.Load(), int64(len(items))))
			return plainResults(items)
		})})
		var errs bytes.Buffer
		code := arris.Run(t.Context(), []string{"batch", "-", "-o", c.format}, local, arris.Streams{In: &lines{left: c.rows, keyed: c.keyed}, Out: out, Err: &errs})
		if code != arris.ExitOK || out.lines < c.rows || most.Load() > 256 {
			t.Fatalf("exits with %d after %d lines, %d items in a message: %s", code, out.lines, most.Load(), errs.String())
		}
		allowed := uint64(slack)
		if c.keyed {
			allowed += 64 * uint64(c.rows)
		}
		if slices.Max(out.inUse) > out.inUse[0]+allowed {
			t.Errorf("%s: in use after each tenth of %d rows: %v bytes", c.format, c.rows, out.inUse)
		}
	}
}

// A server that answers nothing is sent a few messages and no more, and no more is read than those hold.
func TestUnansweredRowsAreFew(t *testing.T) {
	const enough = 10 * 256
	var got atomic.Int64
	ctx, cancel := context.WithCancel(t.Context())
	in := &watched{from: &lines{left: 1 << 30}}
	local := at(stub{stream: func(many stream) error {
		for {
			req, err := many.Recv()
			if err != nil {
				return err
			}
			if got.Add(int64(len(req.GetItems()))) > enough {
				cancel()
				return errors.New("too many")
			}
		}
	}})
	ended := make(chan ran, 1)
	go func() {
		var errs bytes.Buffer
		code := arris.Run(ctx, []string{"batch", "-", "--timeout", "1s"}, local, arris.Streams{In: in, Out: io.Discard, Err: &errs})
		ended <- ran{code: code, errors: errs.String()}
	}()
	end := <-ended
	if end.code != arris.ExitAway || got.Load() > enough || got.Load() == 0 {
		t.Errorf("%d rows were sent to a server that answers none; it ends with %+v", got.Load(), end)
	}
	if read := in.reads.Load(); read > 2*enough {
		t.Errorf("%d rows were read while none was answered", read)
	}
}

// watched counts how often it is read.
type watched struct {
	from  io.Reader
	reads atomic.Int64
}

func (w *watched) Read(p []byte) (int, error) {
	w.reads.Add(1)
	return w.from.Read(p)
}

// Who sends a row and waits for its answer gets it, whether more rows follow or not.
func TestARowIsAnsweredBeforeTheNextComes(t *testing.T) {
	rows, write := io.Pipe()
	answers, out := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		var errs bytes.Buffer
		code := arris.Run(t.Context(), []string{"batch", "-", "-o", "json"}, inProcess, arris.Streams{In: rows, Out: out, Err: &errs})
		ended <- code
		out.CloseWithError(errors.New(errs.String()))
	}()
	read := json.NewDecoder(answers)
	for i := range 3 {
		if _, err := fmt.Fprintln(write, `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`); err != nil {
			t.Fatal(err)
		}
		var answer struct{ Key string }
		if err := read.Decode(&answer); err != nil || answer.Key != fmt.Sprint(i+1) {
			t.Fatalf("row %d is answered %v, %v", i+1, answer, err)
		}
	}
	write.Close()
	if code := <-ended; code != arris.ExitOK {
		t.Errorf("exits with %d", code)
	}
}

// An interrupted batch ends at once, though its input stays open, and what it has told are whole lines.
func TestInterruptedBatchEnds(t *testing.T) {
	for _, format := range []string{"json", "csv"} {
		rows, write := io.Pipe()
		ctx, cancel := context.WithCancel(t.Context())
		out := &until{lines: 5, then: cancel}
		go func() {
			for i := 0; ; i++ {
				if _, err := fmt.Fprintf(write, `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`+"\n"); err != nil {
					return
				}
			}
		}()
		var errs bytes.Buffer
		code := arris.Run(ctx, []string{"batch", "-", "-o", format}, inProcess, arris.Streams{In: rows, Out: out, Err: &errs})
		rows.Close() // only now
		if code != arris.ExitInterrupted || !strings.HasSuffix(errs.String(), "arris: interrupted\n") || !strings.Contains(errs.String(), "stopped after") {
			t.Errorf("%s exits with %d: %s", format, code, errs.String())
		}
		if text := out.String(); !strings.HasSuffix(text, "\n") || strings.Count(text, "\n") < 5 {
			t.Errorf("%s ends with %q", format, text[max(0, len(text)-80):])
		}
	}
}

// until does something once so many lines are written.
type until struct {
	bytes.Buffer
	lines int
	then  func()
	once  sync.Once
}

func (u *until) Write(p []byte) (int, error) {
	n, err := u.Buffer.Write(p)
	if bytes.Count(u.Bytes(), []byte("\n")) >= u.lines {
		u.once.Do(u.then)
	}
	return n, err
}

// bare is a server without our interceptors, which would put what it says in order.
func bare(t *testing.T, s stub) arris.Local {
	server := grpc.NewServer()
	arrisv1.RegisterGrindServiceServer(server, s)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	served := make(chan error, 1)
	go func() { served <- server.Serve(listener) }()
	return func(arris.Place) (grpc.ClientConnInterface, func() error, error) {
		conn, err := grpc.NewClient("passthrough:///"+listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
		return conn, func() error {
			err := conn.Close()
			server.Stop()
			return errors.Join(err, <-served)
		}, err
	}
}

func TestServersThatDoNotKeepToTheirWord(t *testing.T) {
	for name, c := range map[string]struct {
		stream func(stream) error
		code   int
		says   string
	}{
		"too few": {each(func(items []*arrisv1.BatchItem) ([]*arrisv1.BatchResult, error) { return nil, nil }), arris.ExitOther, "answers 0 rows where "},
		"another's answer": {each(func(items []*arrisv1.BatchItem) ([]*arrisv1.BatchResult, error) {
			results, err := plainResults(items)
			results[0].Key = "another"
			return results, err
		}), arris.ExitOther, `answers "another" where "1" was asked`},
		"ends early": {func(many stream) error { return nil }, arris.ExitOther, "ended the answers early"},
		"says too much": {func(many stream) error {
			if err := each(plainResults)(many); err != nil {
				return err
			}
			return many.Send(&arrisv1.StreamSolveSetupsResponse{})
		}, arris.ExitOther, "answers more than it was asked"},
		"goes away": {func(many stream) error {
			if _, err := many.Recv(); err != nil {
				return err
			}
			return status.Error(codes.Unavailable, "gone for lunch")
		}, arris.ExitAway, "gone for lunch"},
		"refuses": {each(func(items []*arrisv1.BatchItem) ([]*arrisv1.BatchResult, error) {
			return nil, status.Error(codes.InvalidArgument, "not so")
		}), arris.ExitRefused, "not so"},
	} {
		var out, errs bytes.Buffer
		code := arris.Run(t.Context(), []string{"batch", "-"}, bare(t, stub{stream: c.stream}), arris.Streams{In: &lines{left: 1000}, Out: &out, Err: &errs})
		if code != c.code || !strings.Contains(errs.String(), c.says) {
			t.Errorf("%s: exits with %d, want %d with %q: %s", name, code, c.code, c.says, errs.String())
		}
	}
}

// Where nobody reads the answers any more, the rows are not read to their end.
func TestBatchWhoseReaderLeft(t *testing.T) {
	for _, format := range []string{"json", "csv", "table"} {
		in := &watched{from: &lines{left: 1 << 30}}
		var errs bytes.Buffer
		code := arris.Run(t.Context(), []string{"batch", "-", "-o", format}, at(stub{stream: each(plainResults)}), arris.Streams{In: in, Out: full{}, Err: &errs})
		if code != arris.ExitOther || !strings.Contains(errs.String(), "no space left") {
			t.Errorf("%s exits with %d: %s", format, code, errs.String())
		}
	}
}

// A quote left open, or a line without end, is found out before it takes all memory; the rows before it are answered.
func TestEndlessRowsAreFoundOut(t *testing.T) {
	for name, begin := range map[string]string{
		"CSV":  "recipe,station\nbowl-50,north\n\"bowl-50,",
		"JSON": `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}` + "\n{",
	} {
		in := &watched{from: io.MultiReader(strings.NewReader(begin), endless{})}
		var out, errs bytes.Buffer
		code := arris.Run(t.Context(), []string{"batch", "-", "-o", "json"}, inProcess, arris.Streams{In: in, Out: &out, Err: &errs})
		if code != arris.ExitUsage || !strings.Contains(errs.String(), "is a quote left open?") || strings.Count(out.String(), `"setup":`) != 1 {
			t.Errorf("%s exits with %d: %s%s", name, code, errs.String(), out.String())
		}
	}
}

type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// Rows that are large one by one go in more messages, so that none is larger than a server takes.
func TestLargeRowsGoInMoreMessages(t *testing.T) {
	positions := strings.Repeat(`{"positionId":"a position with quite a long name indeed, longer than any","legAngleDeg":30},`, 60)
	row := `{"rig":{"inlineHolder":{"swing":{"jointBehindFaceMm":1,"jointBelowAxisMm":1,"legLengthMm":1,"legPositions":[` + strings.TrimSuffix(positions, ",") + `]}}}}` + "\n"
	var messages, rows atomic.Int64
	local := at(stub{stream: each(func(items []*arrisv1.BatchItem) ([]*arrisv1.BatchResult, error) {
		messages.Add(1)
		rows.Add(int64(len(items)))
		return plainResults(items)
	})})
	var errs bytes.Buffer
	code := arris.Run(t.Context(), []string{"batch", "-", "-o", "json"}, local, arris.Streams{In: strings.NewReader(strings.Repeat(row, 1000)), Out: io.Discard, Err: &errs})
	if code != arris.ExitOK || rows.Load() != 1000 || messages.Load() < 1000*int64(len(positions))/2/(512<<10) {
		t.Errorf("exits with %d; %d rows in %d messages: %s", code, rows.Load(), messages.Load(), errs.String())
	}
}

// Every example in the help can be typed as it stands.
func TestHelpExamplesWork(t *testing.T) {
	dir := t.TempDir()
	question := `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`
	files := map[string]string{
		"bowl.csv":        "radius_mm,depth_mm\n120,0\n110,32\n0,74\n",
		"trials.json":     `{"rig":{"station":"shops/main/stations/north","holder":"shops/main/holders/swing"},"ink":{"chordMm":10,"trials":[{"settings":{"stickOutMm":45,"legAngleDeg":30,"wheelGapMm":104},"where":"INK_MARK_HEEL"}]}}`,
		"set-ups.csv":     "key,recipe,station\na,bowl-50,north\n",
		"requests.ndjson": question + "\n",
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	t.Setenv("XDG_DATA_HOME", dir)
	requests := map[string]string{"transfer": `{"from":` + question + `}`, "predict": question, "solve": question}
	tried := 0
	for _, verb := range []string{"solve", "predict", "transfer", "match", "plan", "curve", "regrind", "batch", "tls init", "tls renew"} {
		if err := os.WriteFile("request.json", []byte(requests[verb]), 0o600); err != nil {
			t.Fatal(err)
		}
		for _, example := range examplesOf(run(t, "", append(strings.Fields(verb), "--help")...).out) {
			tried++
			// What only a shell or a server of one's own can do is left out.
			typed := strings.NewReplacer("other-program | ", "", " > settings.csv", "", " --server shop.example:8081", "", " --decimal ,", "").Replace(example)
			if got := run(t, files["requests.ndjson"], wordsOf(typed)[1:]...); got.code != arris.ExitOK || got.out == "" {
				t.Errorf("%s: %+v", example, got)
			}
		}
	}
	if tried < 30 {
		t.Errorf("only %d examples were found", tried)
	}
}

// wordsOf are the words of a command; those in double quotes stay together.
func wordsOf(command string) []string {
	var list []string
	for i, part := range strings.Split(command, `"`) {
		if i%2 == 1 {
			list = append(list, part)
		} else {
			list = append(list, strings.Fields(part)...)
		}
	}
	return list
}

// examplesOf are the commands that a help shows, those of two lines as one.
func examplesOf(help string) []string {
	var list []string
	for _, line := range strings.Split(strings.ReplaceAll(help, "\\\n", ""), "\n") {
		if example, ok := strings.CutPrefix(line, "    "); ok && (strings.HasPrefix(example, "arris ") || strings.Contains(example, "| arris ")) {
			list = append(list, example)
		}
	}
	return list
}

// BenchmarkBatch is what a row costs from reading it to telling its answer, the engine's work included.
func BenchmarkBatch(b *testing.B) {
	b.ReportAllocs()
	request := `{"recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}` + "\n"
	var errs bytes.Buffer
	code := arris.Run(b.Context(), []string{"batch", "-", "-o", "json", "--summary"}, inProcess,
		arris.Streams{In: io.LimitReader(&repeated{text: request}, int64(len(request)*b.N)), Out: io.Discard, Err: &errs})
	if code != arris.ExitOK {
		b.Fatal(errs.String())
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

// repeated is a text over and over.
type repeated struct {
	text string
	at   int
}

func (r *repeated) Read(p []byte) (int, error) {
	n := copy(p, r.text[r.at:])
	r.at = (r.at + n) % len(r.text)
	return n, nil
}
