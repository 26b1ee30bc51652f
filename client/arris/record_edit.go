package arris

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

type editCommand struct {
	namedChange
}

// madeAlways are the fields that the service makes of every record, with its name.
var madeAlways = map[string]bool{"name": true, "uid": true, "etag": true, "create_time": true, "update_time": true, "delete_time": true}

var errNoEditor = errors.New("no editor is named: set EDITOR, or use set with fields")

// Run opens the record in an editor and keeps what was changed there. Nobody has to wait for the editor: somebody else's change meanwhile
// is a conflict. What cannot be kept stays in a file.
func (c *editCommand) Run(p *program, n noun) error {
	var old proto.Message
	err := p.at(c.recordFlags, changes, func(d desk) (err error) {
		old, err = d.latest(n, c.Name)
		return err
	})
	if err != nil {
		return err
	}
	text, err := n.editable(old)
	if err != nil {
		return err
	}
	file, err := p.edited(n.word, text)
	if err != nil {
		return err
	}
	changed, err := n.merged(old, file)
	if err != nil {
		return leftError{err, file}
	}
	paths := changedPaths(old, changed)
	if len(paths) == 0 {
		return errors.Join(os.Remove(file), p.print("nothing changed\n", nil))
	}
	kept := false
	err = p.at(c.recordFlags, changes, func(d desk) error {
		record, err := d.update(n, changed, paths, c.changeFlags)
		kept = err == nil && !c.Check
		return c.show(d, c.Output, record, err)
	})
	switch {
	case kept:
		return errors.Join(os.Remove(file), err)
	case err != nil:
		return leftError{err, file}
	}
	_, err = fmt.Fprintln(p.Err, leftError{nil, file}.advice()) // checked alone
	return err
}

// leftError is an error after which an edited text is left in a file.
type leftError struct {
	error
	file string
}

func (l leftError) Unwrap() error { return l.error }

// advice is what to do with the text.
func (l leftError) advice() string {
	if status.Code(l.error) == codes.Aborted {
		return "what you wrote is in " + l.file + ": edit again, and put your changes in"
	}
	return "what you wrote is in " + l.file
}

// editable is a record's JSON without what the service makes.
func (n noun) editable(record proto.Message) ([]byte, error) {
	shown := proto.Clone(record)
	n.eachMade(shown, func(m protoreflect.Message, f protoreflect.FieldDescriptor) { m.Clear(f) })
	text, err := protojson.MarshalOptions{Multiline: true, Indent: "  "}.Marshal(shown)
	return append(text, '\n'), err
}

// makes tells whether the service makes a field, by its path.
func (n noun) makes(path string) bool {
	first, _, _ := strings.Cut(path, ".")
	return madeAlways[first] || slices.Contains(n.made, first)
}

// eachMade goes over the fields that the service makes.
func (n noun) eachMade(record proto.Message, do func(protoreflect.Message, protoreflect.FieldDescriptor)) {
	m := record.ProtoReflect()
	list := m.Descriptor().Fields()
	for i := range list.Len() {
		f := list.Get(i)
		if n.makes(string(f.Name())) {
			do(m, f)
		}
	}
}

// merged is the edited record with what the service makes as it was.
func (n noun) merged(old proto.Message, file string) (proto.Message, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, usageError{err}
	}
	changed := n.record()
	if err := protojson.Unmarshal(text, changed); err != nil {
		return nil, usageError{errors.New(jsonTrouble(err, changed))}
	}
	n.eachMade(old, func(m protoreflect.Message, f protoreflect.FieldDescriptor) {
		to := changed.ProtoReflect()
		if to.Clear(f); m.Has(f) {
			to.Set(f, m.Get(f))
		}
	})
	return changed, nil
}

// edited lets the caller's editor change a text in a file, and returns the file.
func (p *program) edited(word string, text []byte) (string, error) {
	editor := strings.Fields(os.Getenv("EDITOR"))
	if len(editor) == 0 {
		return "", usageError{errNoEditor}
	}
	file, err := os.CreateTemp("", "arris-"+word+"-*.json")
	if err != nil {
		return "", usageError{err}
	}
	_, err = file.Write(text)
	if err = errors.Join(err, file.Close()); err != nil {
		return "", usageError{err}
	}
	run := exec.CommandContext(p.ctx, editor[0], append(editor[1:], file.Name())...)
	var complaint bytes.Buffer
	run.Stdin, run.Stdout, run.Stderr = p.In, p.Err, &complaint
	if err := run.Run(); err != nil {
		return "", usageError{fmt.Errorf("%s; nothing was changed, the text is in %s", strings.TrimSpace(editor[0]+": "+err.Error()+" "+complaint.String()), file.Name())}
	}
	return file.Name(), nil
}
