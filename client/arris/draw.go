package arris

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"arris.example/client/figure"
)

var errNoFigure = errors.New("the answer has no side view")

// writeDrawing draws the side view in characters. It stays as low as the terminal is, so that it can be seen whole.
func (s screen) writeDrawing(out io.Writer, found findings) error {
	if found.figure == nil {
		return errNoFigure
	}
	const prompt, fewest, most = 2, 10, 40
	rows := most
	if s.rows > 0 {
		rows = min(max(s.rows-prompt, fewest), most)
	}
	return figure.Terminal(out, found.figure, figure.TerminalOptions{Columns: s.columns, Rows: rows, ASCII: s.ascii})
}

// writeSVG writes the side view to a file: beside it first, then in its place, so that nobody ever finds half a drawing.
func writeSVG(name string, found findings) error {
	if found.figure == nil {
		return errNoFigure
	}
	var text bytes.Buffer
	options := figure.Options{Highlight: lastPart(found)}
	if err := figure.SVG(&text, found.figure, options); err != nil {
		return err
	}
	target, err := replaceable(name)
	if err != nil {
		return usageError{err}
	}
	if err := replace(target, text.Bytes()); err != nil {
		return usageError{err}
	}
	return nil
}

// lastPart is the dimension of the step that is drawn.
func lastPart(found findings) string {
	if len(found.steps) == 0 {
		return ""
	}
	return found.steps[len(found.steps)-1].GetFigurePart()
}

// replaceable is the file itself behind a name, which must be a regular one or not be there yet.
func replaceable(name string) (string, error) {
	target, err := filepath.EvalSymlinks(name)
	if errors.Is(err, os.ErrNotExist) {
		if _, err := os.Lstat(name); err == nil {
			return "", fmt.Errorf("%s: is a link to nothing; name the file itself", name)
		}
		return name, nil
	}
	if err != nil {
		return "", err
	}
	info, err := os.Stat(target)
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%s: is not a regular file; name one to write the drawing to", name)
	}
	return target, err
}

// replace writes a file whole or not at all.
func replace(name string, text []byte) error {
	beside, err := os.CreateTemp(filepath.Dir(name), ".arris-*")
	if err != nil {
		return err
	}
	_, err = beside.Write(text)
	err = errors.Join(err, beside.Chmod(modeOf(name)), beside.Close())
	if err == nil {
		err = os.Rename(beside.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(beside.Name()))
	}
	return nil
}

// modeOf is who may read the file: as before, or everyone.
func modeOf(name string) os.FileMode {
	if info, err := os.Stat(name); err == nil {
		return info.Mode().Perm()
	}
	return 0o644
}
