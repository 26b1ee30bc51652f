package arris_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"net"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"go.uber.org/goleak"
	"google.golang.org/grpc"

	"arris.example/client/arris"
	"arris.example/geometry/worked"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// exitLeaked is the exit code of a command that leaves goroutines behind; no script expects it.
const exitLeaked = 99

func TestMain(m *testing.M) {
	testscript.Main(leakFree{m}, map[string]func(){"arris": func() {
		code := arris.Run(context.Background(), os.Args[1:], inProcess, arris.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr})
		if err := goleak.Find(); err != nil {
			fmt.Fprintln(os.Stderr, err)
			code = exitLeaked
		}
		os.Exit(code)
	}})
}

// leakFree fails tests that pass but leave goroutines behind.
type leakFree struct{ *testing.M }

func (l leakFree) Run() int {
	code := l.M.Run()
	if err := goleak.Find(); code == 0 && err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return code
}

// inProcess is the real service, as the program has it.
func inProcess(p arris.Place) (grpc.ClientConnInterface, func() error, error) {
	s, err := service.New(service.Config{Demo: p.Store == "", Store: p.Store, ReadOnlyStore: p.Store != "" && !p.Writes, OneCall: true})
	if err != nil {
		return nil, nil, err
	}
	conn, err := s.Dial()
	if err != nil {
		return nil, nil, err
	}
	return conn, func() error { return errors.Join(conn.Close(), stopped(s)) }, nil
}

func stopped(s *service.Service) error {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	return s.Stop(ctx)
}

// listening serves on a port of its own until the test ends, and returns the address.
func listening(t *testing.T, cfg service.Config) string {
	t.Helper()
	s, err := service.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	served := make(chan error, 1)
	go func() { served <- s.Serve(listener) }()
	t.Cleanup(func() {
		if err := errors.Join(stopped(s), <-served); err != nil {
			t.Error(err)
		}
	})
	return listener.Addr().String()
}

// stub is a server that answers whatever a test needs.
type stub struct {
	arrisv1.UnimplementedGrindServiceServer
	solve  func(context.Context) (*arrisv1.SolveSetupResponse, error)
	stream func(stream) error
}

type stream = grpc.BidiStreamingServer[arrisv1.StreamSolveSetupsRequest, arrisv1.StreamSolveSetupsResponse]

func (s stub) StreamSolveSetups(many stream) error { return s.stream(many) }

func (s stub) SolveSetup(ctx context.Context, _ *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	return s.solve(ctx)
}

// AnalyzeEdge answers with a solid that is a binary glTF's head alone.
func (stub) AnalyzeEdge(context.Context, *arrisv1.AnalyzeEdgeRequest) (*arrisv1.AnalyzeEdgeResponse, error) {
	head := binary.LittleEndian.AppendUint32(binary.LittleEndian.AppendUint32([]byte("glTF"), 2), 12)
	return &arrisv1.AnalyzeEdgeResponse{Edge: &arrisv1.Edge{Mesh: &arrisv1.EdgeMesh{Gltf: head, Triangles: 1}}}, nil
}

// hostile names things so as to take over a terminal: it clears the screen, sets the title, turns the direction of writing.
func hostile(context.Context) (*arrisv1.SolveSetupResponse, error) {
	const evil = "\x1b[2J\x1b]0;owned\x07\u009b31m\u202egnirts\nnext"
	return &arrisv1.SolveSetupResponse{Setup: &arrisv1.Setup{
		Steps: []*arrisv1.Step{{
			StickOut: &arrisv1.LengthSetting{SetMm: 45, Text: evil},
			Support:  &arrisv1.SupportSetting{SetBy: "wheel_gap", WheelGap: &arrisv1.LengthSetting{SetMm: -3.2, Text: evil}},
			Text:     "=1+1",
		}},
		Cautions: []*arrisv1.Caution{{Severity: arrisv1.Severity_SEVERITY_STOP, Text: evil, Source: evil}},
		Basis:    &arrisv1.Basis{Station: "shops/main/stations/" + evil, RecipeRevision: evil},
	}}, nil
}

// hostileMany answers every row as hostile does.
func hostileMany(many stream) error {
	for {
		req, err := many.Recv()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		answer := &arrisv1.StreamSolveSetupsResponse{}
		for _, item := range req.GetItems() {
			one, err := hostile(many.Context())
			if err != nil {
				return err
			}
			answer.Results = append(answer.Results, &arrisv1.BatchResult{Key: item.GetKey(), Outcome: &arrisv1.BatchResult_Setup{Setup: one.GetSetup()}})
		}
		if err := many.Send(answer); err != nil {
			return err
		}
	}
}

// silent answers when the caller has gone.
func silent(ctx context.Context) (*arrisv1.SolveSetupResponse, error) {
	<-ctx.Done()
	return nil, ctx.Err()
}

func silentMany(many stream) error {
	_, err := silent(many.Context())
	return err
}

func TestScripts(t *testing.T) {
	closed, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	nobody := closed.Addr().String()
	if err := closed.Close(); err != nil {
		t.Fatal(err)
	}
	places := map[string]string{
		"SERVER":  listening(t, service.Config{Demo: true}),
		"SHARED":  listening(t, service.Config{Demo: true}),
		"HOSTILE": listening(t, service.Config{Grind: stub{solve: hostile, stream: hostileMany}}),
		"SILENT":  listening(t, service.Config{Grind: stub{solve: silent, stream: silentMany}}),
		"NOBODY":  nobody,
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata",
		Setup: func(e *testscript.Env) error {
			for name, value := range places {
				e.Setenv(name, value)
			}
			e.Setenv("TZ", "UTC")
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits, "number": numberIs, "cell": cellIs, "wellformed": wellFormed, "fits": fits, "plain": plain, "gltf": binaryGLTF,
			"first": firstWord,
		},
		RequireExplicitExec: true, RequireUniqueNames: true,
	})
}

// exits CODE COMMAND… runs a command that must end with the code.
func exits(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var ended *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &ended) {
		got = ended.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exits with %d, want %d", got, want)
	}
}

// firstWord NAME puts the first word that was printed into the environment.
func firstWord(ts *testscript.TestScript, _ bool, args []string) {
	words := strings.Fields(ts.ReadFile("stdout"))
	if len(words) == 0 {
		ts.Fatalf("nothing was printed")
	}
	ts.Setenv(args[0], words[0])
}

// numberIs FILE PATH VALUE TOLERANCE holds a number of a JSON answer to what it must be.
func numberIs(ts *testscript.TestScript, _ bool, args []string) {
	value, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	tolerance, err := strconv.ParseFloat(args[3], 64)
	ts.Check(err)
	ts.Check(worked.Expectation{Path: args[1], Value: value, Tolerance: tolerance}.Check([]byte(ts.ReadFile(args[0]))))
}

// cellIs FILE ROW COLUMN VALUE [TOLERANCE] holds a cell of a CSV answer to what it must be; rows count from 1 below the header.
func cellIs(ts *testscript.TestScript, _ bool, args []string) {
	text := ts.ReadFile(args[0])
	if strings.Count(text, "\n") != strings.Count(text, "\r\n") {
		ts.Fatalf("a line ends without CR LF")
	}
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	ts.Check(err)
	row, err := strconv.Atoi(args[1])
	ts.Check(err)
	for i, name := range rows[0] {
		if name != args[2] {
			continue
		}
		if len(args) == 4 && rows[row][i] == args[3] || len(args) == 5 && near(rows[row][i], args[3], args[4]) {
			return
		}
		ts.Fatalf("%s of row %d is %q, want %s", name, row, rows[row][i], strings.Join(args[3:], " ± "))
	}
	ts.Fatalf("no column is called %s", args[2])
}

func near(got, want, tolerance string) bool {
	var v [3]float64
	for i, s := range []string{got, want, tolerance} {
		read, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return false
		}
		v[i] = read
	}
	return math.Abs(v[0]-v[1]) <= v[2]
}

// wellFormed FILE reads XML to its end.
func wellFormed(ts *testscript.TestScript, _ bool, args []string) {
	decoder := xml.NewDecoder(strings.NewReader(ts.ReadFile(args[0])))
	elements := 0
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		ts.Check(err)
		if _, ok := token.(xml.StartElement); ok {
			elements++
		}
	}
	if elements < 10 {
		ts.Fatalf("a drawing has more than %d elements", elements)
	}
}

// fits FILE COLUMNS holds that no line is wider, and that none ends in spaces.
func fits(ts *testscript.TestScript, _ bool, args []string) {
	columns, err := strconv.Atoi(args[1])
	ts.Check(err)
	for _, line := range strings.Split(ts.ReadFile(args[0]), "\n") {
		if n := len([]rune(line)); n > columns {
			ts.Fatalf("%d columns, at most %d: %q", n, columns, line)
		}
		if strings.HasSuffix(line, " ") {
			ts.Fatalf("ends in a space: %q", line)
		}
	}
}

// plain FILE holds that nothing in it steers a terminal.
func plain(ts *testscript.TestScript, neg bool, args []string) {
	text := ts.ReadFile(args[0])
	at := strings.IndexFunc(text, func(r rune) bool {
		return r != '\n' && r != '\r' && (r < ' ' || 0x7f <= r && r < 0xa0 || r == '\u202e')
	})
	if neg != (at >= 0) {
		ts.Fatalf("plain: %v, at %d", !neg, at)
	}
}

// binaryGLTF FILE holds a file's head to what glTF 2.0 says of binary files (4.4.2): magic, version, length.
func binaryGLTF(ts *testscript.TestScript, _ bool, args []string) {
	text := []byte(ts.ReadFile(args[0]))
	if len(text) < 12 || string(text[:4]) != "glTF" || binary.LittleEndian.Uint32(text[4:]) != 2 ||
		int(binary.LittleEndian.Uint32(text[8:])) != len(text) {
		ts.Fatalf("%d bytes that begin %q are no binary glTF", len(text), text[:min(12, len(text))])
	}
}

// Every worked example, asked by the command as a request file, in this process and of a server: the values hold, and both
// answers are the same to the last byte.
func TestWorkedExamples(t *testing.T) {
	server := listening(t, service.Config{Demo: true})
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	for _, e := range all {
		verb := map[string]string{
			"solveSetup": "solve", "predictGrind": "predict", "transferSetup": "transfer", "matchGrind": "match",
			"planBevels": "plan", "checkCurve": "curve", "planRegrind": "regrind",
			"analyzeEdge": "edge", "mapEdge": "map", "findFurthestWing": "furthest", "fitFlute": "flute",
		}[e.Call]
		if verb == "" {
			if e.Call != "" && e.Call != "batchSolveSetups" { // which the command does by rows
				t.Errorf("no command makes the call %s", e.Call)
			}
			continue
		}
		asked++
		t.Run(e.Name, func(t *testing.T) {
			here := run(t, e.Request, verb, "-f", "-", "-o", "json")
			there := run(t, e.Request, verb, "-f", "-", "-o", "json", "--server", server)
			if here.code != there.code || here.out != there.out || here.code != arris.ExitOK && here.errors == "" {
				t.Errorf("in process %+v\nfrom the server %+v", here, there)
			}
			answer := []byte(here.out)
			if here.code != arris.ExitOK {
				answer = refusal(t, here.errors)
			}
			for _, x := range e.Expect {
				if err := x.Check(answer); err != nil {
					t.Error(err)
				}
			}
		})
	}
	if asked < 30 {
		t.Errorf("only %d examples were asked; they are not read", asked)
	}
}

type ran struct {
	code        int
	out, errors string
}

func run(t *testing.T, stdin string, args ...string) ran {
	t.Helper()
	return runWithin(t.Context(), stdin, args...)
}

func runWithin(ctx context.Context, stdin string, args ...string) ran {
	var out, errs bytes.Buffer
	code := arris.Run(ctx, args, inProcess, arris.Streams{In: strings.NewReader(stdin), Out: &out, Err: &errs})
	return ran{code, out.String(), errs.String()}
}

// refusal is a status in the shape the examples look into: error.code, error.reason, error.violations, error.refusal.
func refusal(t *testing.T, text string) []byte {
	t.Helper()
	var st struct {
		Code    int
		Message string
		Details []map[string]any
	}
	if err := json.Unmarshal([]byte(text), &st); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	names := map[int]string{3: "INVALID_ARGUMENT", 5: "NOT_FOUND", 9: "FAILED_PRECONDITION"}
	found := map[string]any{"code": names[st.Code], "message": st.Message}
	for _, d := range st.Details {
		switch kind, _ := d["@type"].(string); {
		case strings.HasSuffix(kind, ".ErrorInfo"):
			found["reason"] = d["reason"]
		case strings.HasSuffix(kind, ".BadRequest"):
			found["violations"] = d["fieldViolations"]
		case strings.HasSuffix(kind, ".GrindRefusal"):
			found["refusal"] = d
		}
	}
	doc, err := json.Marshal(map[string]any{"error": found})
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// What a refusal offers is typed back, word for word, and works.
func TestOfferedFlagsWork(t *testing.T) {
	for _, args := range [][]string{
		{"solve", "bowl-50", "--station", "north", "--stick-out", "220mm"},
		{"solve", "--edge", "10deg", "--station", "north", "--holder", "swing", "--stick-out", "45mm", "--leg", "30deg", "--steel", "8mm"},
		{"solve", "--bevel", "reading:15deg", "--wheel", "150mm", "--holder", "swing", "--stick-out", "45mm", "--leg", "30deg", "--steel", "8mm"},
		{"predict", "bowl-50", "--station", "north", "--gap", "145mm"},
	} {
		refused := run(t, "", args...)
		if refused.code != arris.ExitImpossible {
			t.Errorf("%q exits with %d: %s", args, refused.code, refused.errors)
		}
		tried := 0
		for line := range strings.Lines(refused.errors) {
			offer, ok := strings.CutPrefix(line, "would work: ")
			if !ok {
				continue
			}
			tried++
			offer, _, _ = strings.Cut(offer, " (")
			if again := run(t, "", replaced(args, strings.Fields(offer))...); again.code != arris.ExitOK {
				t.Errorf("%q with %q exits with %d: %s", args, offer, again.code, again.errors)
			}
		}
		if tried == 0 {
			t.Errorf("%q offers nothing: %s", args, refused.errors)
		}
	}
}

// The command that a plan ends with is typed as it stands, and gives the settings of all its bevels.
func TestPlansCommandWorks(t *testing.T) {
	for _, plan := range []string{
		"bowl-50 --station north --facets 3 --land 3mm --last 28deg",
		"bowl-50 --station north --land 3mm --relief 35deg --behind-station south --soften 1.5mm",
		"bowl-50 --station north --land 3mm --turns=-3@3mm --turns=-6",
		"bowl-50 --station north --micro 3deg@0.5mm --steel 7mm --kind bowl-gouge",
		"bowl-50 --wheel 150mm --micro 3deg@0.5mm --unit inch",
		"--tool bowl-gouge-12 --station north --micro 3deg@0.5mm",
		"skew-36 --station west --kind skew --micro 2deg@0.5mm",
		"scraper-75 --station west --support platform --micro 2deg@0.5mm",
		"--edge 58deg --facets 3 --land 3mm --last 28deg --wheel flat --pivot-behind 85mm --pivot-below 48mm --steel 7mm",
	} {
		planned := run(t, "", append([]string{"plan"}, strings.Fields(plan)...)...)
		_, command, offered := strings.Cut(planned.out, "\n  arris solve ")
		command, _, _ = strings.Cut(command, "\n\n")
		if planned.code != arris.ExitOK || !offered || strings.Contains(planned.out, "Say too") {
			t.Errorf("plan %s exits with %d and offers no whole command: %s%s", plan, planned.code, planned.out, planned.errors)
			continue
		}
		bevels := strings.Count(command, "--bevel ")
		solved := run(t, "", append([]string{"solve"}, strings.Fields(strings.ReplaceAll(command, "\\\n", " "))...)...)
		if ground := strings.Count(solved.out, "wheel gap") + strings.Count(solved.out, "tilt"); solved.code != arris.ExitOK || bevels < 2 || ground < bevels {
			t.Errorf("plan %s offers %d bevels:\n%s\nwhich exits with %d: %s%s", plan, bevels, command, solved.code, solved.out, solved.errors)
		}
	}
}

// replaced puts offered flags in place of those that say the same thing.
func replaced(args, offer []string) []string {
	var kept []string
	for i := 0; i < len(args); i++ {
		same := args[i] == "--edge" && offer[0] == "--bevel"
		for j := 0; j < len(offer); j += 2 {
			same = same || args[i] == offer[j]
		}
		if same {
			i++
			continue
		}
		kept = append(kept, args[i])
	}
	return append(kept, offer...)
}

func TestInterruptedCommandSaysSo(t *testing.T) {
	silence := listening(t, service.Config{Grind: stub{solve: silent}})
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if got := runWithin(ctx, "", "solve", "--server", silence); got.code != arris.ExitInterrupted || got.errors != "arris: interrupted\n" || got.out != "" {
		t.Errorf("got %+v", got)
	}
}

func TestServiceThatCannotStartIsTold(t *testing.T) {
	var errs bytes.Buffer
	broken := func(arris.Place) (grpc.ClientConnInterface, func() error, error) {
		return nil, nil, errors.New("the shop is away")
	}
	code := arris.Run(t.Context(), []string{"solve", "bowl-50"}, broken, arris.Streams{In: strings.NewReader(""), Out: io.Discard, Err: &errs})
	if code != arris.ExitOther || errs.String() != "arris: the shop is away\n" {
		t.Errorf("exits with %d: %s", code, errs.String())
	}
}

// full is a disk, or a pipe whose reader has gone.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

func TestAnswerThatCannotBeWrittenIsNoSuccess(t *testing.T) {
	for _, format := range []string{"table", "json", "csv"} {
		var errs bytes.Buffer
		code := arris.Run(t.Context(), []string{"solve", "bowl-50", "--station", "north", "-o", format}, inProcess,
			arris.Streams{In: strings.NewReader(""), Out: full{}, Err: &errs})
		if code != arris.ExitOther || !strings.Contains(errs.String(), "no space left") {
			t.Errorf("%s exits with %d: %s", format, code, errs.String())
		}
	}
}
