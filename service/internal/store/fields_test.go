package store_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// kept are the types whose JSON is stored.
var kept = []any{shop.Station{}, shop.Wheel{}, shop.Holder{}, shop.Tool{}, shop.Recipe{}, store.RecipeHead{},
	shop.Shop{}, shop.Gauge{}, shop.Inspection{}, shop.Measurement{}, shop.Sharpening{}}

// What is stored outlives the program that wrote it, so a field's name and type, and an enumeration's numbers, are a promise.
func TestStoredFieldsAreThoseOfTheList(t *testing.T) {
	found := map[string]bool{}
	enums := map[string]bool{}
	for _, record := range kept {
		walk(t, reflect.TypeOf(record), found, enums)
	}
	for _, line := range constants(t, "../shop", enums) {
		found[line] = true
	}
	var lines []string
	for line := range found {
		lines = append(lines, line)
	}
	slices.Sort(lines)
	text, err := os.ReadFile("testdata/fields.txt")
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Split(strings.TrimSpace(string(text)), "\n")
	if d := cmp.Diff(want, lines); d != "" {
		t.Errorf("what is stored is not as testdata/fields.txt lists it (-list +code):\n%s\n"+
			"A field that is only added: add its line to the list. One that is renamed, removed or changes its type, or a number of an\n"+
			"enumeration: shops have it on disk, so write a migration in sqlite/migrations and postgres/migrations that rewrites the bodies\n"+
			"in records and history, and then change the list.", d)
	}
}

// walk notes every stored field below a type as `type.field kind`. Unexported fields would be lost.
func walk(t *testing.T, typ reflect.Type, found, enums map[string]bool) {
	switch {
	case typ.Kind() == reflect.Slice:
		walk(t, typ.Elem(), found, enums)
		return
	case typ.Kind() == reflect.Int && typ.PkgPath() != "":
		enums[typ.Name()] = true
		return
	case typ.Kind() != reflect.Struct || typ == reflect.TypeFor[time.Time]():
		return
	}
	for field := range typ.Fields() {
		line := fmt.Sprintf("%s.%s %s", typ, field.Name, field.Type)
		if !field.IsExported() || field.Tag != "" {
			t.Errorf("%s: an unexported field is not stored, and a tag would hide a name from this test", line)
		}
		if !found[line] {
			found[line] = true
			walk(t, field.Type, found, enums)
		}
	}
}

// constants lists the enumerations' values, `Type number Name`, from the source of their package.
func constants(t *testing.T, folder string, enums map[string]bool) (lines []string) {
	files, err := filepath.Glob(folder + "/*.go")
	if err != nil || len(files) == 0 {
		t.Fatal("no source in", folder)
	}
	for _, file := range files {
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, decl := range parsed.Decls {
			block, ok := decl.(*ast.GenDecl)
			if !ok || block.Tok != token.CONST {
				continue
			}
			lines = append(lines, values(t, block, enums)...)
		}
	}
	return lines
}

func values(t *testing.T, block *ast.GenDecl, enums map[string]bool) (lines []string) {
	name := ""
	for i, spec := range block.Specs {
		v := spec.(*ast.ValueSpec)
		if typ, ok := v.Type.(*ast.Ident); ok {
			name = typ.Name
		}
		if !enums[name] {
			continue
		}
		if word, ok := first(v.Values); i == 0 && (!ok || word != "iota") || i > 0 && len(v.Values) > 0 {
			t.Errorf("%s is not numbered by one iota from 0, which is all this test reads", name)
		}
		lines = append(lines, fmt.Sprintf("shop.%s %02d %s", name, i, v.Names[0].Name))
	}
	return lines
}

func first(of []ast.Expr) (string, bool) {
	if len(of) == 0 {
		return "", false
	}
	id, ok := of[0].(*ast.Ident)
	if !ok {
		return "", false
	}
	return id.Name, true
}

func TestNewerDataIsRefused(t *testing.T) {
	for body, kind := range map[string]store.Kind{
		`{"Name":"x","Sharpness":3}`: store.Newer,
		`{"Name":"x"} {}`:            store.Damaged,
		`{"Name":`:                   store.Damaged,
		``:                           store.Damaged,
	} {
		r := store.Record{Draft: store.Draft{Name: "shops/main/tools/x", Body: body}}
		if _, err := store.Unpack[shop.Tool](r); !store.Is(err, kind) {
			t.Errorf("%q: %v, want kind %d", body, err, kind)
		}
	}
}
