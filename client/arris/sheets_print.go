package arris

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
	"unicode"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

const (
	mostInVolume = 500
	filesAtOnce  = 4
)

// printJob is a file to write: a volume, or a sheet of its own.
type printJob struct {
	name  string
	items []*arrisv1.BatchItem
}

// jobs are the files in the order of their sheets.
func (c *sheetsCommand) jobs(items []*arrisv1.BatchItem) (jobs []printJob) {
	if c.Dir != "" {
		digits := len(fmt.Sprint(len(items)))
		for i, item := range items {
			jobs = append(jobs, printJob{filepath.Join(c.Dir, fmt.Sprintf("%0*d-%s.pdf", digits, i+1, fileWord(item.GetKey()))), items[i : i+1]})
		}
		return jobs
	}
	for _, volume := range volumes(items) {
		jobs = append(jobs, printJob{c.Out, volume})
	}
	if len(jobs) > 1 {
		for i := range jobs {
			jobs[i].name = fmt.Sprintf("%s-%d.pdf", strings.TrimSuffix(c.Out, ".pdf"), i+1)
		}
	}
	return jobs
}

// volumes are items in as many lists as calls are needed.
func volumes(items []*arrisv1.BatchItem) (all [][]*arrisv1.BatchItem) {
	from, bytes := 0, 0
	for i, item := range items {
		size := proto.Size(item)
		if i-from == mostInVolume || bytes+size > mostMessageBytes && i > from {
			all, from, bytes = append(all, items[from:i]), i, 0
		}
		bytes += size
	}
	if from < len(items) {
		all = append(all, items[from:])
	}
	return all
}

// fileWord is a key as part of a file's name, wherever files are kept.
func fileWord(key string) string {
	const longest = 60
	word := []rune(strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("-_.", r) {
			return r
		}
		return '-'
	}, key))
	return strings.Trim(string(word[:min(longest, len(word))]), ".-")
}

// print writes all files that are not written yet.
func (c *sheetsCommand) print(p *program, sheets arrisv1.SheetServiceClient, items []*arrisv1.BatchItem, log *journal) error {
	if c.DryRun {
		return nil
	}
	press := &press{command: c, program: p, sheets: sheets, log: log, all: len(items), began: time.Now()}
	jobs := c.jobs(items)
	if err := press.run(jobs); err != nil {
		if len(log.done) > 0 || press.made > 0 {
			_, _ = fmt.Fprintln(p.Err, "stopped; run the same command again and it goes on from there")
		}
		return err
	}
	c.tellOthers(p, jobs)
	return log.end()
}

// tellOthers says how many sheets of other runs lie in the folder: they could be taken for these.
func (c *sheetsCommand) tellOthers(p *program, jobs []printJob) {
	if c.Dir == "" {
		return
	}
	printed := map[string]bool{}
	for _, job := range jobs {
		printed[filepath.Base(job.name)] = true
	}
	files, err := os.ReadDir(c.Dir)
	if err != nil { // it is no part of what was asked for
		return
	}
	others := 0
	for _, file := range files {
		if ending(file.Name()) == ".pdf" && !printed[file.Name()] {
			others++
		}
	}
	if others > 0 {
		_, _ = fmt.Fprintf(p.Err, "%s: .pdf files of other runs lie there too: %d\n", visible(c.Dir), others)
	}
}

// press prints files, some at the same time.
type press struct {
	command *sheetsCommand
	program *program
	sheets  arrisv1.SheetServiceClient
	log     *journal
	all     int
	began   time.Time

	mu          sync.Mutex
	meter       meter
	there, made int // sheets found printed, and printed
}

func (s *press) run(jobs []printJob) error {
	ctx, cancel := context.WithCancelCause(s.program.ctx)
	defer cancel(nil)
	todo := make(chan printJob)
	var working sync.WaitGroup
	for range filesAtOnce {
		working.Go(func() {
			for job := range todo {
				if err := s.print(ctx, job); err != nil {
					cancel(err)
				}
			}
		})
	}
	for _, job := range jobs {
		select {
		case todo <- job:
		case <-ctx.Done():
		}
	}
	close(todo)
	working.Wait()
	s.meter.clear(s.program.Err)
	return context.Cause(ctx)
}

// print writes a file, whole or not at all, unless it is there.
func (s *press) print(ctx context.Context, job printJob) error {
	if s.log.has(job.name) {
		return s.count(func() error { s.there += len(job.items); return nil })
	}
	target, err := replaceable(job.name)
	if err != nil {
		return usageError{err}
	}
	sum, render := sha256.New(), s.volume
	if s.command.Dir != "" {
		render = s.single
	}
	if err := replaceAs(s.log.mark(), target, func(to io.Writer) error { return render(ctx, job, io.MultiWriter(to, sum)) }); err != nil {
		if ctx.Err() == nil && isOfFiles(err) {
			return usageError{err}
		}
		return err
	}
	return s.count(func() error {
		s.made += len(job.items)
		return s.log.note(job.name, hex.EncodeToString(sum.Sum(nil)))
	})
}

// isOfFiles tells whether a file could not be made or written.
func isOfFiles(err error) bool {
	var of *fs.PathError
	return errors.As(err, &of)
}

// count takes a file as done and says how far all is.
func (s *press) count(done func() error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	err := done()
	s.meter.show(s.program.Err, func() string {
		words := fmt.Sprintf("%d of %d sheets", s.there+s.made, s.all)
		if s.made > 0 {
			words += fmt.Sprintf(", about %s left", timeLeft(int64(s.made), int64(s.all-s.there), time.Since(s.began)))
		}
		return words
	})
	return err
}

// tryAgain is how long a server that has too much to do is left alone.
const tryAgain = 2 * time.Second

// single asks for one sheet, until the server has time for it.
func (s *press) single(ctx context.Context, job printJob, to io.Writer) error {
	for {
		sheet, err := s.sheet(ctx, job.items[0])
		if err == nil {
			_, err = to.Write(sheet.GetData())
			return err
		}
		if status.Code(err) != codes.ResourceExhausted {
			return err
		}
		select {
		case <-time.After(tryAgain):
		case <-ctx.Done():
			return context.Cause(ctx)
		}
	}
}

func (s *press) sheet(ctx context.Context, item *arrisv1.BatchItem) (*httpbody.HttpBody, error) {
	ctx, cancel := context.WithTimeout(ctx, s.command.Call.Timeout)
	defer cancel()
	return s.sheets.RenderSheet(ctx, &arrisv1.RenderSheetRequest{Setup: s.whole(item), PaperSize: papers[s.command.Paper], Key: item.GetKey()})
}

// volume writes a volume's pieces as they come; each has its time.
func (s *press) volume(ctx context.Context, job printJob, to io.Writer) error {
	req := &arrisv1.RenderSheetsRequest{Shop: fullName("shops", s.command.Rows.Shop), Items: job.items, PaperSize: papers[s.command.Paper]}
	s.command.Rows.format().put(&req.Wording)
	return s.program.inPieces(ctx, s.command.Call.Timeout, to, func(ctx context.Context) (grpc.ServerStreamingClient[httpbody.HttpBody], error) {
		return s.sheets.RenderSheets(ctx, req)
	})
}

// whole is an item's question with the shop that counts for all.
func (s *press) whole(item *arrisv1.BatchItem) *arrisv1.SolveSetupRequest {
	ask := item.GetRequest()
	if ask.GetShop() == "" {
		ask.Shop = fullName("shops", s.command.Rows.Shop)
	}
	return ask
}
