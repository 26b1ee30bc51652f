//go:build unix

// Package postgrestest runs a PostgreSQL for tests.
package postgrestest

import (
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"arris.example/deploy/outside"
)

// Server is a PostgreSQL of the tests' own.
type Server struct {
	folder string
	bin    string
	dbs    int
}

// Start starts a PostgreSQL in a temporary folder on a unix socket, without syncing, and returns nil where there is none
// installed; where everything is required that is a failure. Call Stop at the end.
func Start() (*Server, error) {
	bin := filepath.Dir(newest())
	if bin == "." {
		if outside.Required() {
			return nil, fmt.Errorf("initdb is missing: install Debian's postgresql")
		}
		return nil, nil //nolint:nilnil // nothing is installed and nothing is required
	}
	folder, err := os.MkdirTemp("", "arris-pg")
	if err != nil {
		return nil, err
	}
	s := &Server{folder: folder, bin: bin}
	if os.Getuid() == 0 {
		if err := s.giveAway(); err != nil {
			return nil, err
		}
	}
	if err := s.run("initdb", "-D", s.data(), "-A", "trust", "-U", "postgres", "-E", "UTF8", "--no-sync", "--locale=C"); err != nil {
		return nil, err
	}
	err = s.Start()
	return s, err
}

func newest() string {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if len(found) > 0 {
		return found[len(found)-1]
	}
	path, err := exec.LookPath("initdb")
	if err != nil {
		return ""
	}
	return path
}

// giveAway lets the user postgres own the folder, because PostgreSQL does not run as root.
func (s *Server) giveAway() error {
	uid, gid, err := postgresUser()
	if err != nil {
		return err
	}
	return os.Chown(s.folder, uid, gid)
}

func postgresUser() (uid, gid int, err error) {
	u, err := user.Lookup("postgres")
	if err != nil {
		return 0, 0, err
	}
	if uid, err = strconv.Atoi(u.Uid); err != nil {
		return 0, 0, err
	}
	gid, err = strconv.Atoi(u.Gid)
	return uid, gid, err
}

func (s *Server) data() string { return filepath.Join(s.folder, "data") }

func (s *Server) run(name string, args ...string) error {
	command := exec.Command(filepath.Join(s.bin, name), args...) //nolint:noctx // pg_ctl has its own patience
	command.Dir = s.folder
	if os.Getuid() == 0 {
		uid, gid, err := postgresUser()
		if err != nil {
			return err
		}
		command.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
	}
	log, err := os.Create(filepath.Join(s.folder, name+".log"))
	if err != nil {
		return err
	}
	defer log.Close() //nolint:errcheck // it was read by then
	command.Stdout, command.Stderr = log, log
	if err := command.Run(); err != nil {
		text, _ := os.ReadFile(log.Name())
		return fmt.Errorf("%s: %w: %s", name, err, text)
	}
	return nil
}

// Start starts the server; StopNow kills it as a machine that loses its power does.
func (s *Server) Start() error {
	return s.run("pg_ctl", "-D", s.data(), "-w", "-l", filepath.Join(s.folder, "server.log"), "start",
		"-o", "-k "+s.folder+" -c listen_addresses='' -c fsync=off -c max_connections=100")
}

// StopNow kills the server's processes.
func (s *Server) StopNow() error {
	return s.run("pg_ctl", "-D", s.data(), "-m", "immediate", "-w", "stop")
}

// Signal sends a signal to the server's main process and its children: SIGSTOP pauses it.
func (s *Server) Signal(sig syscall.Signal) error {
	text, err := os.ReadFile(filepath.Join(s.data(), "postmaster.pid"))
	if err != nil {
		return err
	}
	first, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(first)
	if err != nil {
		return err
	}
	children, _ := exec.Command("ps", "-o", "pid=", "--ppid", first).Output() //nolint:noctx // without ps only new connections hang
	for _, child := range strings.Fields(string(children)) {
		if id, err := strconv.Atoi(child); err == nil {
			_ = syscall.Kill(id, sig) // it may have ended by itself
		}
	}
	return syscall.Kill(pid, sig)
}

// Database makes a fresh database and gives its address.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	s.dbs++
	name := "t" + strconv.Itoa(s.dbs)
	if err := s.run("createdb", "-h", s.folder, "-U", "postgres", name); err != nil {
		t.Fatal(err)
	}
	return "postgres:///" + name + "?user=postgres&host=" + url.QueryEscape(s.folder)
}

// Stop ends the server and deletes its folder.
func (s *Server) Stop() error {
	if err := s.StopNow(); err != nil {
		return err
	}
	return os.RemoveAll(s.folder)
}
