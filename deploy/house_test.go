// Package deploy_test guards how the house is built: which folder may import which, what lies at the top
// level, and what no file may say. Everything is read in this process, so no cached answer hides a change.
package deploy_test

import (
	"bytes"
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "arris.example"

// A ban is an arrow that must not be drawn: no package below a folder of from, those below fromBut aside,
// imports a package below one of to, those below toBut aside. Our own packages are written without the module.
type ban struct {
	from, fromBut []string
	to, toBut     []string
	reason        string
}

const gatewayRuntime = "github.com/grpc-ecosystem/grpc-gateway"

// wireEdge are the service's packages that speak gRPC: its methods, and what surrounds every call of one.
var wireEdge = []string{"service/internal/api", "service/internal/rpc"}

var bans = []ban{
	{
		from:   []string{"geometry/unit"},
		to:     []string{"geometry", "proto", "service", "gateway", "client", "deploy"},
		toBut:  []string{"geometry/unit"},
		reason: "units are the leaf that everyone may import",
	},
	{
		from:   []string{"geometry"},
		to:     []string{"proto", "service", "gateway", "client", "deploy"},
		reason: "the engine knows values, not who asks for them or how they travel",
	},
	{
		from:   []string{"geometry"},
		to:     []string{"os", "io/fs", "net", "time", "log", "math/rand", "crypto/rand", "context", "sync", "database/sql"},
		reason: "the engine is pure functions of values: no files, network, clock, log, chance, cancelling or sharing",
	},
	{
		from:   []string{"proto"},
		to:     []string{"geometry", "service", "gateway", "client", "deploy"},
		reason: "the API stands by itself, so that anyone can generate from it or link it alone",
	},
	{
		from:    []string{"proto"},
		fromBut: []string{"proto/gateway", "proto/internal"},
		to:      []string{gatewayRuntime},
		reason:  "whoever links the messages would link the gateway's runtime",
	},
	{
		from:   []string{"service"},
		to:     []string{"gateway", "client", "deploy", "proto/gateway", gatewayRuntime},
		reason: "the service answers gRPC and does not know who translates or calls it",
	},
	{
		from:    []string{"service/internal"},
		fromBut: wireEdge,
		to:      []string{"proto", "google.golang.org/grpc", "google.golang.org/protobuf", "google.golang.org/genproto", "buf.build"},
		reason:  "rules speak in values and faults; wire types stop at service/internal/api, and service/internal/rpc turns faults into statuses",
	},
	{
		from:    []string{"service/internal"},
		fromBut: wireEdge,
		to:      wireEdge,
		reason:  "a rule does not know by whom it is called",
	},
	{
		from:    []string{"service"},
		fromBut: []string{"service/internal/store"},
		to:      []string{"database/sql", "modernc.org/sqlite", "github.com/jackc/pgx", "github.com/pressly/goose"},
		reason:  "SQL stays in the store; the rest of the service uses the store's interface",
	},
	{
		from:   []string{"gateway"},
		to:     []string{"geometry", "service", "client", "deploy"},
		toBut:  []string{"geometry/unit"},
		reason: "the gateway dials the service, so that REST passes the same interceptors as gRPC",
	},
	{
		from:   []string{"client"},
		to:     []string{"geometry", "service", "gateway", "deploy"},
		toBut:  []string{"geometry/unit", "geometry/drawing"},
		reason: "clients know the API alone; what they cannot ask of it, no one else can either. How lines and letters are laid out is no secret of the service",
	},
	{
		from:   []string{"client"},
		to:     []string{"proto/gateway", gatewayRuntime},
		reason: "a client calls the API and must not link the gateway's runtime",
	},
}

// forbids returns whether the ban covers an import of to by from.
func (b ban) forbids(from, to string) bool {
	return below(from, b.from) && !below(from, b.fromBut) && below(to, b.to) && !below(to, b.toBut)
}

// below returns whether a package is one of the folders or lies in one of them.
func below(pkg string, folders []string) bool {
	return slices.ContainsFunc(folders, func(folder string) bool {
		return pkg == folder || strings.HasPrefix(pkg, folder+"/")
	})
}

// breaches returns a line for every import that a ban covers, given the imports of each package.
func breaches(imports map[string][]string) []string {
	var found []string
	for _, from := range slices.Sorted(maps.Keys(imports)) {
		for _, to := range imports[from] {
			for _, b := range bans {
				if b.forbids(from, to) {
					found = append(found, fmt.Sprintf("%s imports %s: %s", from, to, b.reason))
				}
			}
		}
	}
	return found
}

func TestImportsKeepTheirDirection(t *testing.T) {
	imports := importsBelow(t, os.DirFS(".."))
	for _, landmark := range []string{"geometry", "proto/arris/v1"} {
		if len(imports[landmark]) == 0 {
			t.Errorf("no import of %s was found: this test looks in the wrong place", landmark)
		}
	}
	for _, breach := range breaches(imports) {
		t.Error(breach)
	}
}

// importsBelow returns what every package of the tree imports, without the module's name; test files and packages for them, whose names
// end in test, aside.
func importsBelow(t *testing.T, tree fs.FS) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	for file, text := range textsBelow(t, tree) {
		if !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") || strings.HasSuffix(path.Dir(file), "test") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), file, text, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		pkg := path.Dir(file)
		for _, spec := range parsed.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatalf("%s: %v", file, err)
			}
			imported = strings.TrimPrefix(imported, module+"/")
			if !slices.Contains(found[pkg], imported) {
				found[pkg] = append(found[pkg], imported)
			}
		}
	}
	for _, imported := range found {
		slices.Sort(imported)
	}
	return found
}

func TestEveryBanCatchesWhatItForbids(t *testing.T) {
	for i, b := range bans {
		for _, from := range b.from {
			for _, to := range b.to {
				planted := map[string][]string{from + "/planted": {to + "/planted"}}
				if !slices.ContainsFunc(breaches(planted), func(s string) bool { return strings.HasSuffix(s, b.reason) }) {
					t.Errorf("ban %d does not catch %s importing %s", i, from, to)
				}
			}
		}
	}
}

func TestAllowedArrowsPass(t *testing.T) {
	allowed := map[string][]string{
		"geometry/unit":                 {"math", "strconv", "fmt"},
		"geometry":                      {"geometry/unit", "math", "errors"},
		"proto/arris/v1":                {"google.golang.org/grpc", "google.golang.org/protobuf/proto"},
		"proto/gateway/arris/v1":        {"proto/arris/v1", gatewayRuntime + "/v2/runtime"},
		"service":                       {"geometry", "proto/arris/v1", "service/internal/api", "google.golang.org/grpc"},
		"service/internal/api":          {"proto/arris/v1", "service/internal/rpc", "service/internal/recipes", "google.golang.org/grpc/codes"},
		"service/internal/rpc":          {"proto/arris/v1", "service/internal/fault", "google.golang.org/grpc/status"},
		"service/internal/recipes":      {"geometry", "geometry/unit", "service/internal/fault", "service/internal/store", "time", "context"},
		"service/internal/store/sqlite": {"database/sql", "modernc.org/sqlite"},
		"gateway":                       {"proto/gateway/arris/v1", "proto/openapi", "geometry/unit", "google.golang.org/grpc"},
		"client/arris":                  {"proto/arris/v1", "geometry/unit", "google.golang.org/grpc"},
		"deploy/arrisd":                 {"service", "gateway", "client/arris", "proto/arris/v1", "geometry"},
		"geometryx":                     {"os"}, // a name that merely begins alike
	}
	for _, breach := range breaches(allowed) {
		t.Error("should be allowed: " + breach)
	}
}

func TestTopLevelHoldsTheSixFoldersOnly(t *testing.T) {
	known := []string{
		"proto", "service", "client", "gateway", "geometry", "deploy",
		"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "Makefile", "buf.yaml", "buf.gen.yaml", "go.mod", "go.sum",
	}
	entries, err := os.ReadDir("..")
	if err != nil {
		t.Fatal(err)
	}
	ignored := ignoredAtTop(t)
	for _, entry := range entries {
		name := entry.Name()
		if !strings.HasPrefix(name, ".") && !slices.Contains(known, name) && !ignored(name) {
			t.Errorf("%s does not belong at the top level: find it a place in %s", name, strings.Join(known[:6], ", "))
		}
	}
}

// ignoredAtTop returns whether version control ignores a name at the top level.
func ignoredAtTop(t *testing.T) func(name string) bool {
	t.Helper()
	text, err := os.ReadFile("../.gitignore")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(text), "\n")
	return func(name string) bool {
		return slices.ContainsFunc(lines, func(line string) bool {
			matched, _ := path.Match(strings.Trim(line, "/"), name)
			return matched
		})
	}
}

// A slip is a word that belongs to one machine and not to the project.
type slip struct {
	pattern *regexp.Regexp
	reason  string
}

var slips = []slip{
	{
		regexp.MustCompile(`(?m)(?:^|[\s"'(=:,` + "`" + `])/(?:root|home|work|Users)/\w`),
		"a path of one person's machine",
	},
	{
		regexp.MustCompile(`(?:registry\.npmjs|registry\.yarnpkg|proxy\.golang|sum\.golang|deb\.debian)\.(?:org|com)`),
		"which registry packages come from is for the machine that fetches them to say",
	},
}

func TestFilesNameNoMachine(t *testing.T) {
	texts := textsBelow(t, os.DirFS(".."))
	for _, file := range slices.Sorted(maps.Keys(texts)) {
		for _, s := range slips {
			if found := s.pattern.Find(texts[file]); found != nil {
				t.Errorf("%s says %q: %s", file, found, s.reason)
			}
		}
	}
}

func TestMachineNamesAreRecognised(t *testing.T) {
	for text, want := range map[string]bool{
		"cd /" + "home/someone/arris": true,
		`path: "/` + "root/go\"":      true,
		"/" + "work/main":             true,
		"from proxy." + "golang.org":  true,
		"/v1/shops/home/x":            false,
		"the bevel/" + "work/angle":   false,
		"FROM scratch\nCOPY arrisd /": false,
	} {
		got := slices.ContainsFunc(slips, func(s slip) bool { return s.pattern.MatchString(text) })
		if got != want {
			t.Errorf("%q: recognised %v, want %v", text, got, want)
		}
	}
}

// textsBelow returns the text files of the tree by their paths, without what tools install or print.
func textsBelow(t *testing.T, tree fs.FS) map[string][]byte {
	t.Helper()
	texts := map[string][]byte{}
	skipped := []string{".git", ".tools", ".proto-imports", ".openapi-parts", "bin", "node_modules", "dist"}
	err := fs.WalkDir(tree, ".", func(name string, entry fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case entry.IsDir() && slices.Contains(skipped, entry.Name()):
			return fs.SkipDir
		case !entry.Type().IsRegular():
			return nil
		}
		text, err := fs.ReadFile(tree, name)
		if err == nil && !bytes.ContainsRune(text, 0) {
			texts[name] = text
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return texts
}
