package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"github.com/gofrs/flock"

	"arris.example/service/internal/store"
)

// lock takes the lock file beside a shop's file. The lock is the operating system's and ends with the process, however that ends; the
// file's text only says whose it is, where the system lets others read it.
func lock(path, who string) (release func() error, err error) {
	const mode = 0o644
	name := path + ".lock"
	l := flock.New(name, flock.SetFlag(os.O_RDWR|os.O_CREATE), flock.SetPermissions(mode))
	free, err := l.TryLock()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, store.Errorf(store.Unavailable, "the folder of %s is not there: make it first", path)
	case err != nil:
		return nil, Fault(err)
	case !free:
		text, _ := os.ReadFile(name)
		holder := strings.TrimSpace(string(text))
		if holder == "" {
			holder = "another process"
		}
		return nil, store.Errorf(store.Locked, "%s is open in %s: ask it with --server, or stop it first", path, holder)
	}
	_ = os.WriteFile(name, fmt.Appendf(nil, "%s (process %d)\n", who, os.Getpid()), mode)
	return l.Close, nil
}
