package sqlite

import (
	"errors"
	"io"
	"os"
	"path/filepath"
)

// copyFile copies a file and syncs the copy.
func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close() //nolint:errcheck // it was only read
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close())
}

// move gives a finished file its name, both on the disk when it returns.
func move(from, to string) error {
	if err := syncPath(from); err != nil {
		return Fault(err)
	}
	if err := os.Rename(from, to); err != nil {
		return Fault(err)
	}
	if err := syncPath(filepath.Dir(to)); err != nil {
		return Fault(err)
	}
	return nil
}

func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
