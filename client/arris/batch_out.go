package arris

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/jedib0t/go-pretty/v6/table"
	"golang.org/x/term"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	statuspb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"

	arrisv1 "arris.example/proto/arris/v1"
)

var (
	// errSome is the end of a batch of which some rows have no answer; they have been told already.
	errSome = errors.New("some rows have no answer")
	errLate = errors.New("no answer in time")
)

// results tells answers one after the other.
type results interface {
	add(row batchRow, result *arrisv1.BatchResult) error
	flush() error // what a reader should see by now
	end() error
}

func (p *program) results(c *batchCommand) results {
	switch c.Output {
	case "json":
		return &jsonLines{bufio.NewWriter(p.Out)}
	case "csv":
		return &csvLines{w: newCSV(p.Out)}
	}
	return &tableBlocks{out: p.Out, screen: p.screen}
}

// none tells nothing.
type none struct{}

func (none) add(batchRow, *arrisv1.BatchResult) error { return nil }
func (none) flush() error                             { return nil }
func (none) end() error                               { return nil }

// jsonLines is a line for each row: its key with its set-up or the error.
type jsonLines struct{ w *bufio.Writer }

func (j *jsonLines) add(_ batchRow, result *arrisv1.BatchResult) error {
	whole := protojson.MarshalOptions{EmitDefaultValues: true}
	text, err := whole.Marshal(result)
	if err != nil && result.GetError() != nil { // details of a kind that this program does not know
		text, err = whole.Marshal(&arrisv1.BatchResult{Key: result.GetKey(), Outcome: &arrisv1.BatchResult_Error{
			Error: &statuspb.Status{Code: result.GetError().GetCode(), Message: result.GetError().GetMessage()},
		}})
	}
	if err != nil {
		return err
	}
	var line bytes.Buffer
	if err := json.Compact(&line, text); err != nil { // protojson puts in spaces or not from build to build
		return err
	}
	line.WriteByte('\n')
	_, err = j.w.Write(line.Bytes())
	return err
}

func (j *jsonLines) flush() error { return j.w.Flush() }
func (j *jsonLines) end() error   { return j.w.Flush() }

// csvLines are rows for each step of a set-up, or one that says why there is none.
type csvLines struct {
	w      *csv.Writer
	headed bool
}

// csvBegin are the columns before those of the steps; why there is no answer comes last.
var csvBegin, csvEnd = []string{"key", "line", "step"}, []string{"refused", "reason"}

func (c *csvLines) head() {
	if !c.headed {
		c.headed = true
		_ = c.w.Write(append(append(append([]string{}, csvBegin...), names(stepColumns)...), csvEnd...))
	}
}

func (c *csvLines) add(row batchRow, result *arrisv1.BatchResult) error {
	c.head()
	result = cleaned(result)
	begin := []string{harmless(line(row.key)), strconv.Itoa(row.line)}
	for i, s := range result.GetSetup().GetSteps() {
		_ = c.w.Write(append(append(append(begin, strconv.Itoa(i+1)), cells(stepColumns, s)...), "", ""))
	}
	if e := result.GetError(); e != nil {
		empty := make([]string, 1+len(stepColumns))
		_ = c.w.Write(append(append(begin, empty...), harmless(reasonWord(result)), harmless(e.GetMessage())))
	}
	return c.w.Error()
}

func (c *csvLines) flush() error {
	c.w.Flush()
	return c.w.Error()
}

func (c *csvLines) end() error {
	c.head()
	return c.flush()
}

// reasonWord is the reason of a refusal: TOOL_CANNOT_REACH_WHEEL.
func reasonWord(result *arrisv1.BatchResult) string {
	st := status.FromProto(result.GetError())
	for _, detail := range st.Details() {
		if info, ok := detail.(*errdetails.ErrorInfo); ok {
			return line(info.GetReason())
		}
	}
	return strings.ToUpper(codeWords(st.Code()))
}

// tableBlocks are tables of as many rows as a message may have, so that none waits for the end of a long file.
type tableBlocks struct {
	out    io.Writer
	screen screen
	rows   []table.Row
	told   bool
}

// widestKey is as much of a key as fits beside the settings.
const widestKey = 18

func (b *tableBlocks) add(row batchRow, result *arrisv1.BatchResult) error {
	result = cleaned(result)
	key := wrapped(line(row.key), widestKey)
	v := sheet{screen: b.screen, found: setupFindings(result.GetSetup())}
	for _, s := range v.found.steps {
		a := anglesOf(s)
		setting := ""
		if all := readings(s.GetSupport()); len(all) > 0 {
			setting = all[0].label + " " + all[0].text
		}
		if v.bevels() > 1 {
			setting += ", bevel " + strconv.Itoa(int(s.GetBevel())+1)
		}
		setting += prefixed(", ", v.sideName(s.GetSide()))
		b.rows = append(b.rows, table.Row{
			key, lengthWords(s.GetStickOut()), legWords(s),
			angleText(a.GetEdgeAngleDeg(), a) + " " + doubtText(a), readingText(a), setting,
		})
		key = ""
	}
	if result.GetError() != nil {
		b.rows = append(b.rows, table.Row{key, "", "", "", "", "refused: " + strings.ReplaceAll(strings.ToLower(reasonWord(result)), "_", " ")})
	}
	if len(b.rows) >= mostItems {
		return b.block()
	}
	return nil
}

// legWords is a leg by its mark, where it has one, or its angle.
func legWords(s *arrisv1.Step) string {
	if s.GetLegPosition() != "" {
		return wrapped("position "+s.GetLegPosition(), widestKey)
	}
	return angleWords(s.GetLegAngle())
}

func (b *tableBlocks) block() error {
	if len(b.rows) == 0 {
		return nil
	}
	v := sheet{screen: b.screen}
	if b.told {
		v.text.WriteByte('\n')
	}
	v.grid(table.Row{"key", "stick-out", "leg", "edge angle", "reading", "support"}, b.rows, 2, 3, 4, 5)
	b.told, b.rows = true, b.rows[:0]
	_, err := io.WriteString(b.out, v.text.String())
	return err
}

func (b *tableBlocks) flush() error { return nil }
func (b *tableBlocks) end() error   { return b.block() }

// tally tells the rows' answers, counts them, and on a terminal says how far it is.
type tally struct {
	*program
	file          string
	size          int64 // of the file, 0 where that is not known
	out           results
	quiet         bool // no progress
	rows, refused int
	read          int64
	began         time.Time
	meter         meter
}

// add tells a row's answer; without one only what is wrong with the row.
func (t *tally) add(row batchRow, result *arrisv1.BatchResult) error {
	t.rows++
	t.read = row.read
	if len(row.wrong) > 0 {
		result = &arrisv1.BatchResult{Key: row.key, Outcome: &arrisv1.BatchResult_Error{Error: row.refused()}}
	}
	if result == nil {
		return nil
	}
	if result.GetError() != nil {
		result = withoutCall(result)
		t.refused++
		t.meter.clear(t.Err)
		t.tellRow(t.file, row, result.GetError())
	}
	return t.out.add(row, result)
}

// requestID is where a refusal says which call it was of.
const requestID = "request_id"

// withoutCall is a refusal that does not say which call it was of, so that the same rows give the same bytes.
func withoutCall(result *arrisv1.BatchResult) *arrisv1.BatchResult {
	for _, detail := range result.GetError().GetDetails() {
		info := &errdetails.ErrorInfo{}
		if !detail.MessageIs(info) || detail.UnmarshalTo(info) != nil {
			continue
		}
		delete(info.Metadata, requestID)
		if err := detail.MarshalFrom(info); err != nil {
			continue // it stays as it came
		}
	}
	return result
}

// tellRow says on standard error why a row has no answer, with its line.
func (p *program) tellRow(file string, row batchRow, why *statuspb.Status) {
	place := file
	if row.line > 0 {
		place += fmt.Sprintf(", line %d", row.line)
	}
	if row.keyed {
		place += fmt.Sprintf(", key %q", line(row.key))
	}
	for _, w := range row.wrong {
		_, _ = fmt.Fprintf(p.Err, "%s, %s\n", place, visible(w.String()))
	}
	if len(row.wrong) == 0 {
		_, _ = fmt.Fprintf(p.Err, "%s: %s", place, p.refusalWords(status.FromProto(why)))
	}
}

// told lets the reader see what was told, and how far it is.
func (t *tally) told() error {
	if err := t.out.flush(); err != nil {
		return err
	}
	t.progress()
	return nil
}

func (t *tally) progress() {
	if t.began.IsZero() {
		t.began = time.Now()
	}
	if !t.quiet {
		t.meter.show(t.Err, func() string { return progressText(t.rows, t.refused, t.read, t.size, time.Since(t.began)) })
	}
}

// meter is a line on a terminal that says how far something is.
type meter struct {
	drawn time.Time
	shown bool
}

// oftenest is how often it is drawn again.
const oftenest = 200 * time.Millisecond

// show draws a text where there is a terminal to see it.
func (m *meter) show(on io.Writer, text func() string) {
	now := time.Now()
	if !isTerminal(on) || now.Sub(m.drawn) < oftenest {
		return
	}
	m.drawn, m.shown = now, true
	_, _ = fmt.Fprintf(on, "\r\x1b[K%s", text())
}

// clear takes it off the screen.
func (m *meter) clear(on io.Writer) {
	if m.shown {
		_, _ = io.WriteString(on, "\r\x1b[K")
		m.shown = false
	}
}

// progressText says how far a batch is, and how long it will take where the file's size is known.
func progressText(rows, refused int, read, size int64, took time.Duration) string {
	words := fmt.Sprintf("%d rows", rows)
	if refused > 0 {
		words += fmt.Sprintf(", %d of them refused", refused)
	}
	if size > 0 && read > 0 && took > 0 {
		words += fmt.Sprintf(", %d %%, about %s left", 100*min(read, size)/size, timeLeft(read, size, took))
	}
	return words
}

// end tells what is left, and gives the error that the command ends with.
func (t *tally) end(err error) error {
	t.meter.clear(t.Err)
	if out := t.out.end(); err == nil {
		err = out
	}
	switch {
	case err != nil:
		if t.rows > 0 {
			_, _ = fmt.Fprintf(t.Err, "%s: stopped after %d rows, %d of them refused\n", t.file, t.rows, t.refused)
		}
		return err
	case t.rows == 0:
		return wrongUsage("%s: has no rows", t.file)
	case t.refused > 0:
		_, _ = fmt.Fprintf(t.Err, "%s: %d of %d rows refused\n", t.file, t.refused, t.rows)
		return errSome
	}
	return nil
}

// timeLeft is how long the rest takes when it goes on like this.
func timeLeft(done, all int64, took time.Duration) time.Duration {
	return time.Duration(float64(took) * float64(all-min(done, all)) / float64(done)).Round(time.Second)
}

func isTerminal(stream any) bool {
	file, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(file.Fd()))
}
