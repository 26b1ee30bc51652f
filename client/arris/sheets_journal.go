package arris

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"
)

// journal is a file beside unfinished sheets that says which of them are done, so that the same command, when it is run again after it was
// stopped, goes on from there: of the same moment, so that the sheets are as they would have been. When all is done it is taken away.
type journal struct {
	name string // empty: nothing is kept
	Rows string `json:"rows"` // a digest of what was asked
	AsOf time.Time
	done map[string]string // files and their digests
}

// doneFile is a line of a journal: a file that was written whole.
type doneFile struct {
	File   string `json:"file"`
	Digest string `json:"sha256"`
}

// journal finds the journal of the same command stopped before, or begins one.
func (c *sheetsCommand) journal(rows []batchRow) (*journal, error) {
	log := &journal{AsOf: time.Now().UTC().Truncate(time.Second), done: map[string]string{}}
	if c.DryRun {
		return log, nil
	}
	var err error
	if log.Rows, err = c.digest(rows); err != nil {
		return nil, err
	}
	log.name = c.Out + ".unfinished"
	if _, err := os.Stat(filepath.Dir(c.Out)); err != nil { // told by the name that people gave
		return nil, usageError{unwritable(c.Out, err)}
	}
	if c.Dir != "" {
		log.name = filepath.Join(c.Dir, ".unfinished")
		if err := os.MkdirAll(c.Dir, 0o755); err != nil {
			return nil, usageError{err}
		}
		if err := log.sweep(); err != nil {
			return nil, usageError{err}
		}
	}
	if err := log.recall(); err != nil {
		return nil, usageError{err}
	}
	return log, nil
}

// mark is in the names of files that are being written for these rows.
func (j *journal) mark() string {
	if j.Rows == "" {
		return ""
	}
	return j.Rows[:16] + "-"
}

// sweep takes away what an earlier run of the same rows was in the middle of writing into this folder when it was killed. What others
// are writing there just now stays.
func (j *journal) sweep() error {
	folder := filepath.Dir(j.name)
	files, err := os.ReadDir(folder)
	for _, file := range files {
		if strings.HasPrefix(file.Name(), beside+j.mark()) {
			err = errors.Join(err, os.Remove(filepath.Join(folder, file.Name())))
		}
	}
	return err
}

// digest tells one command's rows from another's.
func (c *sheetsCommand) digest(rows []batchRow) (string, error) {
	sum := sha256.New()
	_, _ = fmt.Fprintf(sum, "%q %q %q\n", c.Paper, c.Order, c.Rows.Shop) // a digest takes everything
	for _, row := range rows {
		if row.ask == nil {
			continue
		}
		ask, err := proto.MarshalOptions{Deterministic: true}.Marshal(row.ask)
		if err != nil {
			return "", err
		}
		_, _ = fmt.Fprintf(sum, "%q %x\n", row.key, ask)
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// recall takes over what an earlier run of the same rows has done. Another's journal is nothing to go on from.
func (j *journal) recall() error {
	text, err := os.ReadFile(j.name)
	if errors.Is(err, fs.ErrNotExist) {
		return j.begin()
	}
	if err != nil {
		return err
	}
	lines := bufio.NewScanner(bytes.NewReader(text))
	before := journal{}
	if !lines.Scan() || json.Unmarshal(lines.Bytes(), &before) != nil || before.Rows != j.Rows {
		return j.begin()
	}
	j.AsOf = before.AsOf
	for lines.Scan() {
		var d doneFile
		if json.Unmarshal(lines.Bytes(), &d) == nil { // the last may be cut
			j.done[d.File] = d.Digest
		}
	}
	return errors.Join(lines.Err(), j.begin())
}

// begin writes the journal anew, with what is known to be done.
func (j *journal) begin() error {
	return replaceAs(j.mark(), j.name, func(to io.Writer) error {
		lines := json.NewEncoder(to)
		err := lines.Encode(j)
		for file, digest := range j.done {
			err = errors.Join(err, lines.Encode(doneFile{file, digest}))
		}
		return err
	})
}

// has tells whether a file is done, and still as it was written.
func (j *journal) has(file string) bool {
	digest, done := j.done[filepath.Base(file)]
	if !done {
		return false
	}
	from, err := os.Open(file)
	if err != nil {
		return false
	}
	defer func() { _ = from.Close() }() // only read
	sum := sha256.New()
	_, err = io.Copy(sum, from)
	return err == nil && hex.EncodeToString(sum.Sum(nil)) == digest
}

// note keeps that a file is done.
func (j *journal) note(file, digest string) error {
	to, err := os.OpenFile(j.name, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	return errors.Join(json.NewEncoder(to).Encode(doneFile{filepath.Base(file), digest}), to.Close())
}

// end takes the journal away.
func (j *journal) end() error {
	if j.name == "" {
		return nil
	}
	return os.Remove(j.name)
}
