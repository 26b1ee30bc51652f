package kiosk_test

import (
	"context"
	"errors"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"
	"google.golang.org/grpc"

	"arris.example/deploy/outside"
	"arris.example/gateway"
	"arris.example/service"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// helpers are the scripts in test that are no tests: what runs them, and what they share.
var helpers = []string{"all.mjs", "browser.mjs", "paper.mjs"}

// TestInBrowser runs every script of the folder test in Debian's Chromium, each on a demonstration shop of its own, as `node test/all.mjs NAME`
// does by hand: the script exports a function that throws where something is wrong. Its environment has
//
//	ARRIS_URL      where the server is, without a slash at the end
//	ARRIS_CONTROL  POST to /stop ends that server as a plug that is pulled would, POST to /start has it back at the same address with what
//	               it kept; both answer when it is done
//	CHROMIUM       the browser
func TestInBrowser(t *testing.T) {
	scripts, err := filepath.Glob(filepath.Join("test", "*.mjs"))
	if err != nil {
		t.Fatal(err)
	}
	scripts = slices.DeleteFunc(scripts, func(name string) bool { return slices.Contains(helpers, filepath.Base(name)) })
	chromium, node := outside.Program(t, "chromium", "chromium"), outside.Program(t, "nodejs", "node")
	buildPage(t)
	if len(scripts) == 0 {
		t.Fatal("there is no script in the folder test: the page is not tested")
	}
	for _, script := range scripts {
		name := strings.TrimSuffix(filepath.Base(script), ".mjs")
		t.Run(name, func(t *testing.T) {
			shop := newShop(t)
			control := shop.control(t)
			run := exec.CommandContext(t.Context(), node, filepath.Join("test", "all.mjs"), name)
			run.Env = append(os.Environ(), "ARRIS_URL=http://"+shop.address, "ARRIS_CONTROL="+control, "CHROMIUM="+chromium)
			out, err := run.CombinedOutput()
			if err != nil {
				t.Errorf("%v\n%s", err, out)
			} else if len(out) > 0 {
				t.Logf("%s", out)
			}
		})
	}
}

// buildPage builds the page as it stands, and installs what tests need of npm.
func buildPage(t *testing.T) {
	t.Helper()
	if out, err := exec.CommandContext(t.Context(), filepath.Join("..", "..", ".ci", "kiosk")).CombinedOutput(); err != nil {
		outside.Missing(t, string(out))
	}
}

// publicURL is where codes on paper lead to. The page that reads one takes what it says wherever it leads.
const publicURL = "https://grinding.example.org"

// shop is a demonstration shop on a server, which can be away for a while.
type shop struct {
	store   string
	address string

	mu      sync.Mutex
	service *service.Service
	conn    *grpc.ClientConn
	web     *http.Server
	served  chan error
}

func newShop(t *testing.T) *shop {
	t.Helper()
	s := &shop{store: filepath.Join(t.TempDir(), "shop.db"), address: "127.0.0.1:0"}
	if err := s.start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.stop(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// start serves; if it does already, nothing happens.
func (s *shop) start() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.web != nil {
		return nil
	}
	var err error
	if s.service, err = service.New(service.Config{Demo: true, Store: s.store, PublicURL: publicURL}); err != nil {
		return err
	}
	if s.conn, err = s.service.Dial(); err != nil {
		return err
	}
	handler, err := gateway.New(s.conn, gateway.Options{Kiosk: gateway.Kiosk{Files: os.DirFS("dist"), EngineVersion: service.EngineVersion}})
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", s.address)
	if err != nil {
		return err
	}
	if strings.HasSuffix(s.address, ":0") { // at the same address ever after
		s.address = listener.Addr().String()
	}
	s.web, s.served = &http.Server{Handler: handler}, make(chan error, 1)
	go func(web *http.Server, served chan error) { served <- web.Serve(listener) }(s.web, s.served)
	return nil
}

// stop cuts every connection; if nothing is served, nothing happens.
func (s *shop) stop() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.web == nil {
		return nil
	}
	err := errors.Join(s.web.Close(), s.conn.Close())
	if ended := <-s.served; !errors.Is(ended, http.ErrServerClosed) {
		err = errors.Join(err, ended)
	}
	s.web = nil
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	return errors.Join(err, s.service.Stop(ctx))
}

// control is where a script stops and starts the server.
func (s *shop) control(t *testing.T) string {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	handler := http.NewServeMux()
	for path, do := range map[string]func() error{"POST /stop": s.stop, "POST /start": s.start} {
		handler.HandleFunc(path, func(w http.ResponseWriter, _ *http.Request) {
			if err := do(); err != nil {
				http.Error(w, err.Error(), http.StatusInternalServerError)
			}
		})
	}
	web := &http.Server{Handler: handler}
	served := make(chan error, 1)
	go func() { served <- web.Serve(listener) }()
	t.Cleanup(func() {
		if err := web.Close(); err != nil {
			t.Error(err)
		}
		<-served
	})
	return "http://" + listener.Addr().String()
}
