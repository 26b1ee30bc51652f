// Package arris is the command line. It knows the API alone: every answer comes over a connection, to a service in the same
// process that its caller provides or to a server, and is the same either way.
package arris

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"

	"github.com/alecthomas/kong"
	kongcompletion "github.com/jotaen/kong-completion"
	"github.com/posener/complete"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// Exit codes. Scripts rely on them: they are documented in the help and do not change.
const (
	ExitOK          = 0
	ExitOther       = 1
	ExitUsage       = 2   // a flag, a unit, a file that cannot be read or written
	ExitRefused     = 3   // the request contradicts itself or lacks something
	ExitImpossible  = 4   // the request is fine, the world cannot
	ExitNotFound    = 5   // no such recipe, station, …
	ExitAway        = 6   // no server, or no answer in time
	ExitSome        = 7   // of a batch some rows are refused or cannot be read; the others are answered
	ExitConflict    = 8   // somebody else changed the record meanwhile; nothing was changed
	ExitExists      = 9   // there is such a record already, or the request id was used for something else
	ExitInterrupted = 130 // the caller's context ended
)

// Local connects to a service in this process that keeps its shop in a place, and returns what ends both. It is called only when there
// is something to ask and no server is named.
type Local func(Place) (conn grpc.ClientConnInterface, end func() error, err error)

// Place is where a shop is kept.
type Place struct {
	Store  string // a file or postgres://…; empty: the demonstration shop, in memory
	Writes bool   // records are changed; else another process may have the file open meanwhile
}

// Streams are what the command reads and writes.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// Run runs the command with its arguments, without the program's name, and returns the exit code. Width, colour and the
// alphabet of drawings follow from Out and the environment (COLUMNS, NO_COLOR, TERM, LC_ALL, LC_CTYPE, LANG).
func Run(ctx context.Context, args []string, local Local, s Streams) int {
	p := &program{ctx: ctx, local: local, Streams: s, screen: screenOf(s.Out), speech: inFlags}
	var typed commands
	exited := -1
	parser, err := kong.New(&typed,
		kong.Name("arris"), kong.Description(about), kong.Writers(s.Out, s.Err), kong.Bind(p),
		kong.Exit(func(code int) { exited = code }),
		kong.WithHyphenPrefixedParameters(true), // -15deg is a value
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, FlagsLast: true, NoExpandSubcommands: true, WrapUpperBound: widestHelp, ValueFormatter: kong.DefaultHelpValueFormatter}),
	)
	if err != nil { // a mistake in the flags' own definition
		return p.fail(err)
	}
	kongcompletion.Register(parser, kongcompletion.WithPredictor("file", complete.PredictFiles("*")))
	if exited >= 0 { // the shell asked for completions
		return exited
	}
	parsed, err := parser.Parse(args)
	if exited >= 0 { // help was asked for
		return exited
	}
	if err != nil {
		return p.fail(usageError{hinted(err, parsed)})
	}
	if err := parsed.Run(); err != nil {
		return p.fail(err)
	}
	return max(exited, ExitOK)
}

// hinted says where to read on.
func hinted(err error, parsed *kong.Context) error {
	var parse *kong.ParseError
	if parsed == nil && errors.As(err, &parse) {
		parsed = parse.Context
	}
	help := "arris --help"
	if parsed != nil && parsed.Selected() != nil {
		help = "arris " + parsed.Selected().Path() + " --help"
	}
	return fmt.Errorf("%w\nsee: %s", err, help)
}

// program is one run of the command.
type program struct {
	Streams
	ctx    context.Context
	local  Local
	screen screen
	speech speech
	json   bool   // whether errors of the API are told as JSON too
	asked  string // the server asked, empty for this process
	kept   string // what to say of the shop that this process asked
	limit  string // the time allowed, in words
}

// Run solves.
func (c *solveCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	err = p.calculate(c.Out, func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.SolveSetup(ctx, req)
	})
	if err != nil || c.Sheet.File == "" && len(c.Sheet.Gauge) == 0 {
		return err
	}
	return p.asking(c.Out.Call, looks, func(conn grpc.ClientConnInterface) error {
		return p.writePaper(arrisv1.NewSheetServiceClient(conn), req, c.Sheet, c.Out.Call.Timeout)
	})
}

// Run predicts.
func (c *predictCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	c.Out.Answer.Mesh = c.Solid.Mesh
	return p.calculate(c.Out, func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.PredictGrind(ctx, req)
	})
}

// AfterApply refuses what no format can show.
func (a answerFlags) AfterApply() error {
	if a.Draw && a.Format.Output != "table" {
		return fmt.Errorf("--draw draws below the table; with -o %s write the drawing to a file by --svg FILE", a.Format.Output)
	}
	return nil
}

// calculate makes one call and shows its answer.
func (p *program) calculate(o outcome, call func(context.Context, arrisv1.GrindServiceClient) (proto.Message, error)) error {
	p.json = o.Answer.Format.Output == "json"
	return p.connected(o.Call, func(grind arrisv1.GrindServiceClient) error {
		ctx, cancel := context.WithTimeout(p.ctx, o.Call.Timeout)
		defer cancel()
		answer, err := call(ctx, grind)
		if err != nil {
			return err
		}
		return p.show(o.Answer, answer)
	})
}

// connected does something with a connection to what calculates, and ends it.
func (p *program) connected(c callFlags, do func(arrisv1.GrindServiceClient) error) error {
	return p.asking(c, looks, func(conn grpc.ClientConnInterface) error { return do(arrisv1.NewGrindServiceClient(conn)) })
}

// asking does something with a connection, and ends it.
func (p *program) asking(c callFlags, does use, do func(grpc.ClientConnInterface) error) (err error) {
	p.asked, p.limit = c.Server, c.Timeout.String()
	if c.Timeout <= 0 {
		return wrongUsage("--timeout is %s; it must be above 0, such as 30s", c.Timeout)
	}
	conn, end, err := p.connect(c, does)
	if err != nil {
		return err
	}
	defer func() {
		if ended := end(); err == nil {
			err = ended
		}
	}()
	return do(conn)
}

// show writes an answer in the format asked for, all at once.
func (p *program) show(a answerFlags, answer proto.Message) error {
	var text bytes.Buffer
	var err error
	switch a.Format.Output {
	case "json":
		var whole []byte
		whole, err = jsonText(answer)
		text.Write(whole)
	case "csv":
		err = writeCSV(&text, cleaned(answer))
	case "table":
		err = p.writeTable(&text, cleaned(answer), a)
	}
	if err != nil {
		return err
	}
	if _, err := p.Out.Write(text.Bytes()); err != nil {
		return err
	}
	return writeFiles(a, answer)
}

// writeFiles writes what goes to files.
func writeFiles(a answerFlags, answer proto.Message) error {
	if a.SVG != "" {
		if err := writeSVG(a.SVG, findingsOf(cleaned(answer))); err != nil {
			return err
		}
	}
	if a.Mesh != "" {
		return writeMesh(a.Mesh, findingsOf(answer))
	}
	return nil
}

// Run prints the version.
func (c *versionCommand) Run(p *program) error {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return errors.New("this program was built without its version")
	}
	revision := ""
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			revision = s.Value
		}
	}
	if c.Output == "json" {
		_, err := fmt.Fprintf(p.Out, "{\n  \"version\": %q,\n  \"revision\": %q,\n  \"go\": %q\n}\n", info.Main.Version, revision, info.GoVersion)
		return err
	}
	line := "arris " + info.Main.Version
	if revision != "" {
		line += ", revision " + revision
	}
	_, err := fmt.Fprintln(p.Out, line+", "+info.GoVersion)
	return err
}
