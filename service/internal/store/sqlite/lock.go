//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"syscall"

	"arris.example/service/internal/store"
)

// lock takes the lock file beside a shop's file. The lock is the operating system's and ends with the process, however that ends; the
// file's text only says whose it is.
func lock(path, who string) (release func() error, err error) {
	f, err := os.OpenFile(path+".lock", os.O_RDWR|os.O_CREATE, 0o644)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, store.Errorf(store.Unavailable, "the folder of %s is not there: make it first", path)
	}
	if err != nil {
		return nil, Fault(err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		text := make([]byte, 300)
		n, _ := f.Read(text)
		f.Close() //nolint:errcheck // the lock is another's
		holder := strings.TrimSpace(string(text[:n]))
		if holder == "" {
			holder = "another process"
		}
		return nil, store.Errorf(store.Locked, "%s is open in %s: ask it with --server, or stop it first", path, holder)
	}
	err = errors.Join(f.Truncate(0), write(f, fmt.Sprintf("%s (process %d)\n", who, os.Getpid())))
	if err != nil {
		return nil, errors.Join(Fault(err), f.Close())
	}
	return f.Close, nil
}

func write(f *os.File, text string) error {
	_, err := f.WriteAt([]byte(text), 0)
	return err
}
