package arris

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"arris.example/client/figure"
)

var (
	errNoFigure = errors.New("the answer has no side view")
	errNoMesh   = errors.New("the answer has no solid")
)

// writeDrawing draws the side view in characters, of a whole edge its two views. Each stays as low as the terminal is, so that it can be
// seen whole.
func (s screen) writeDrawing(out io.Writer, found findings) error {
	const prompt, fewest, most = 2, 10, 40
	rows := most
	if s.rows > 0 {
		rows = min(max(s.rows-prompt, fewest), most)
	}
	options := figure.TerminalOptions{Columns: s.columns, Rows: rows, ASCII: s.ascii}
	if plan, end := found.edge.GetPlanView(), found.edge.GetEndView(); plan != nil && end != nil {
		if _, err := io.WriteString(out, s.styled(bold, "Seen from above")+"\n"); err != nil {
			return err
		}
		if err := figure.Terminal(out, plan, options); err != nil {
			return err
		}
		if _, err := io.WriteString(out, "\n"+s.styled(bold, "Seen from the nose")+"\n"); err != nil {
			return err
		}
		return figure.Terminal(out, end, options)
	}
	if found.figure == nil {
		return errNoFigure
	}
	return figure.Terminal(out, found.figure, options)
}

// writeSVG writes the side view to a file, of a whole edge its page.
func writeSVG(name string, found findings) error {
	var text bytes.Buffer
	var err error
	switch {
	case found.figure != nil:
		err = figure.SVG(&text, found.figure, figure.Options{Highlight: lastPart(found)})
	case found.edge.GetPlanView() != nil:
		err = figure.EdgeSVG(&text, found.edge, figure.Options{Title: "Whole edge"})
	default:
		err = errNoFigure
	}
	if err != nil {
		return err
	}
	return writeFile(name, text.Bytes())
}

// writeMesh writes the solid to a file.
func writeMesh(name string, found findings) error {
	if len(found.edge.GetMesh().GetGltf()) == 0 {
		return errNoMesh
	}
	return writeFile(name, found.edge.GetMesh().GetGltf())
}

// writeFile writes beside the file first, then in its place, so that nobody ever finds half of it.
func writeFile(name string, content []byte) error {
	target, err := replaceable(name)
	if err != nil {
		return usageError{err}
	}
	if err := replace(target, content); err != nil {
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
		err = fmt.Errorf("%s: is not a regular file; name one to write to", name)
	}
	return target, err
}

// replace writes a file whole or not at all.
func replace(name string, text []byte) error {
	return replaceBy(name, func(to io.Writer) error {
		_, err := to.Write(text)
		return err
	})
}

// beside begins the name of a file until it is written whole.
const beside = ".arris-"

// replaceBy is replace for what is written piece by piece.
func replaceBy(name string, write func(io.Writer) error) error { return replaceAs("", name, write) }

// replaceAs is replaceBy with the writer's mark in the name that the file has meanwhile.
func replaceAs(mark, name string, write func(io.Writer) error) error {
	half, err := os.CreateTemp(filepath.Dir(name), beside+mark+"*")
	if err != nil {
		return unwritable(name, err)
	}
	err = errors.Join(write(half), half.Chmod(modeOf(name)), half.Close())
	if err == nil {
		err = os.Rename(half.Name(), name)
	}
	if err != nil {
		return errors.Join(unwritable(name, err), os.Remove(half.Name()))
	}
	return nil
}

// unwritable is why a file could not be written, by the name that people gave it: the one beside it is nobody's but ours.
func unwritable(name string, err error) error {
	if _, gone := os.Stat(filepath.Dir(name)); errors.Is(gone, fs.ErrNotExist) {
		return fmt.Errorf("%s: there is no folder %s; make it first", name, filepath.Dir(name))
	}
	var at *fs.PathError
	if errors.As(err, &at) {
		return &fs.PathError{Op: "write", Path: name, Err: at.Err}
	}
	var moved *os.LinkError // of a rename
	if errors.As(err, &moved) {
		return &fs.PathError{Op: "write", Path: name, Err: moved.Err}
	}
	return err
}

// modeOf is who may read the file: as before, or everyone.
func modeOf(name string) os.FileMode {
	if info, err := os.Stat(name); err == nil {
		return info.Mode().Perm()
	}
	return 0o644
}
