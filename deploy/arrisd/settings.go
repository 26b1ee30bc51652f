package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"maps"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/alecthomas/kong"
	"go.yaml.in/yaml/v3"

	"arris.example/client/arris"
)

// settings are what can be set; the names of the flags are those of the config file, and with ARRIS_ before them those of the
// environment.
type settings struct {
	Demo      bool   `name:"demo" help:"Put the demonstration shop into the store where it is not yet, and print one set-up solved with it. Without a store it is kept in memory."`
	Store     string `name:"store" help:"Where shops are kept: a file, postgres://USER@HOST/DATABASE, or none. Unless said in the file that arris uses on this machine, with --demo in memory." placeholder:"FILE"`
	Role      string `name:"role" help:"What callers may do, ${default} unless said: viewer, operator, keeper or owner. Nobody signs in yet, so it is the same for all." enum:"viewer,operator,keeper,owner" default:"owner"`
	HTTP      string `name:"http" help:"Where REST, pages and metrics listen, ${default} unless said." default:"127.0.0.1:8480" placeholder:"HOST:PORT"`
	GRPC      string `name:"grpc" help:"Where gRPC listens, ${default} unless said." default:"127.0.0.1:8481" placeholder:"HOST:PORT"`
	TLSCert   string `name:"tls-cert" help:"Encrypt both: PEM file with the server's certificate, and those between it and its authority. Read again when it changes. arris tls init makes one." placeholder:"FILE"`
	TLSKey    string `name:"tls-key" help:"PEM file with that certificate's key." placeholder:"FILE"`
	LogLevel  string `name:"log-level" help:"Least level that is logged: debug, info, warn or error." enum:"debug,info,warn,error" default:"info"`
	LogFormat string `name:"log-format" help:"How the log is written: text or json." enum:"text,json" default:"text"`
	Config    string `name:"config" help:"YAML file with settings, named like the flags." placeholder:"FILE"`
	Version   bool   `name:"version" help:"Print the version and end." env:"-"`
}

const description = `Arris: grinder settings for turning tools, over gRPC and REST.

Settings come from flags, then the environment, then the config file, then the defaults.

To look after a store: arrisd backup, arrisd restore and arrisd check, each with --help.`

// readSettings reads flags, environment and config file. It says done when there is nothing more to do, as after --help.
func readSettings(args []string, stdout io.Writer) (s settings, done bool, err error) {
	first, done, err := parse(args, stdout, nil)
	if err != nil || done || first.Config == "" {
		return first, done, err
	}
	file, err := readFile(first.Config)
	if err != nil {
		return settings{}, false, err
	}
	return parse(args, stdout, file)
}

func parse(args []string, stdout io.Writer, file map[string]string) (s settings, done bool, err error) {
	parser, err := kong.New(&s, kong.Name("arrisd"), kong.Description(description), kong.DefaultEnvars("ARRIS"),
		kong.Writers(stdout, stdout), kong.Exit(func(int) { done = true }), kong.Resolvers(belowEnvironment(file)))
	if err != nil {
		return settings{}, false, err
	}
	if _, err := parser.Parse(args); err != nil && !done {
		return settings{}, false, err
	}
	if done {
		return settings{}, true, nil
	}
	return s, false, s.check()
}

// belowEnvironment answers with the config file's values where the environment says nothing. Left to itself the parser would
// ask the file last and let it win.
func belowEnvironment(file map[string]string) kong.Resolver {
	return kong.ResolverFunc(func(_ *kong.Context, _ *kong.Path, flag *kong.Flag) (any, error) {
		for _, name := range flag.Envs {
			if _, said := os.LookupEnv(name); said {
				return nil, nil //nolint:nilnil // how a resolver says that it has no value
			}
		}
		if value, said := file[flag.Name]; said {
			return value, nil
		}
		return nil, nil //nolint:nilnil // as above
	})
}

// noStore is what --store says where nothing is to be kept.
const noStore = "none"

// place decides where shops are kept: where nobody says, in the file of the user's own shop, which the command line uses too. A demonstration
// leaves that alone.
func (s *settings) place() error {
	switch {
	case s.Store == noStore:
		s.Store = ""
		return nil
	case s.Store != "" || s.Demo:
		return nil
	}
	s.Store = arris.OwnFile()
	if s.Store == "" {
		return fmt.Errorf("--store: there is no home directory to keep a shop in; say a file, postgres://USER@HOST/DATABASE, or %s", noStore)
	}
	return os.MkdirAll(filepath.Dir(s.Store), 0o700)
}

// kept is where shops are kept, for the log: of a database's address no more than where it is.
func (s *settings) kept() string {
	switch u, err := url.Parse(s.Store); {
	case s.Store == "" && s.Demo:
		return "memory"
	case s.Store == "":
		return noStore
	case err == nil && u.Host != "":
		return u.Scheme + "://" + u.Host + u.Path
	case strings.Contains(s.Store, "://"):
		return "a database"
	}
	return s.Store
}

// inFile are the settings a config file may have.
var inFile = []string{"demo", "grpc", "http", "log-format", "log-level", "role", "store", "tls-cert", "tls-key"}

func readFile(name string) (map[string]string, error) {
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("--config: there is no file %s", name)
	}
	if err != nil {
		return nil, fmt.Errorf("--config: %w", err)
	}
	var raw map[string]any
	if err := yaml.Unmarshal(text, &raw); err != nil {
		return nil, fmt.Errorf("--config: %s: %w", name, err)
	}
	values := map[string]string{}
	for _, key := range slices.Sorted(maps.Keys(raw)) {
		if !slices.Contains(inFile, key) {
			return nil, fmt.Errorf("--config: %s: %q is no setting; there are %s", name, key, strings.Join(inFile, ", "))
		}
		switch value := raw[key].(type) {
		case string, bool, int:
			values[key] = fmt.Sprint(value)
		default:
			return nil, fmt.Errorf("--config: %s: %s must be a single value", name, key)
		}
	}
	return values, nil
}

// check finds what the parser cannot.
func (s settings) check() error {
	for flag, address := range map[string]string{"--http": s.HTTP, "--grpc": s.GRPC} {
		if _, _, err := net.SplitHostPort(address); err != nil {
			return fmt.Errorf("%s: %q is no address; write HOST:PORT, for example 127.0.0.1:8480, or :0 for any free port", flag, address)
		}
	}
	switch {
	case s.TLSCert != "" && s.TLSKey == "":
		return errors.New("--tls-cert: its key is missing; say its file by --tls-key")
	case s.TLSKey != "" && s.TLSCert == "":
		return errors.New("--tls-key: the certificate that it belongs to is missing; say its file by --tls-cert")
	}
	return nil
}

func newLogger(s settings, to io.Writer) *slog.Logger {
	var level slog.Level
	if err := level.UnmarshalText([]byte(s.LogLevel)); err != nil {
		level = slog.LevelInfo // not reached: the parser knows the levels
	}
	options := &slog.HandlerOptions{Level: level}
	if s.LogFormat == "json" {
		return slog.New(slog.NewJSONHandler(to, options))
	}
	return slog.New(slog.NewTextHandler(to, options))
}
