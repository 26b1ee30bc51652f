package openapi_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/api/annotations"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	_ "arris.example/proto/arris/v1"
	"arris.example/proto/openapi"
)

type document struct {
	OpenAPI string `json:"openapi"`
	Info    struct {
		Title string `json:"title"`
	} `json:"info"`
	Paths map[string]map[string]struct {
		OperationID string `json:"operationId"`
	} `json:"paths"`
	Components map[string]map[string]any `json:"components"`
}

func parse(t *testing.T) document {
	t.Helper()
	var doc document
	if err := json.Unmarshal(openapi.JSON, &doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

// Two templates that differ in their variables' names alone are one path twice (OpenAPI 3.1, Paths Object), and a variable is one of the
// operation's parameters.
func TestPathsAreTemplatesOfTheirOwn(t *testing.T) {
	variable := regexp.MustCompile(`\{([^}]*)\}`)
	seen := map[string]string{}
	var doc struct {
		Paths map[string]map[string]struct {
			Parameters []struct{ Name, In string }
		}
	}
	if err := json.Unmarshal(openapi.JSON, &doc); err != nil {
		t.Fatal(err)
	}
	for path, operations := range doc.Paths {
		if other, twice := seen[variable.ReplaceAllString(path, "{}")]; twice {
			t.Errorf("%s and %s are one path", other, path)
		}
		seen[variable.ReplaceAllString(path, "{}")] = path
		var want []string
		for _, found := range variable.FindAllStringSubmatch(path, -1) {
			want = append(want, found[1])
		}
		for verb, operation := range operations {
			var got []string
			for _, p := range operation.Parameters {
				if p.In == "path" {
					got = append(got, p.Name)
				}
			}
			if !slices.Equal(got, want) {
				t.Errorf("%s %s has the parameters %v, want %v", verb, path, got, want)
			}
		}
	}
}

func TestOneDocumentDescribesEveryRoute(t *testing.T) {
	doc := parse(t)
	if !strings.HasPrefix(doc.OpenAPI, "3.1.") || doc.Info.Title != "Arris" {
		t.Errorf("OpenAPI %q titled %q, want 3.1 titled Arris", doc.OpenAPI, doc.Info.Title)
	}
	var got []string
	for _, operations := range doc.Paths {
		for verb, operation := range operations {
			got = append(got, verb+" "+operation.OperationID)
		}
	}
	slices.Sort(got)
	want := routes()
	if len(want) == 0 {
		t.Fatal("the schema has no routes: this test looks in the wrong place")
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("operations (-schema +document):\n%s", diff)
	}
}

// routes returns verb and operation id of every route the schema declares, in order.
func routes() []string {
	var found []string
	protoregistry.GlobalFiles.RangeFilesByPackage("arris.v1", func(file protoreflect.FileDescriptor) bool {
		for i := range file.Services().Len() {
			service := file.Services().Get(i)
			for j := range service.Methods().Len() {
				method := service.Methods().Get(j)
				main, _ := proto.GetExtension(method.Options(), annotations.E_Http).(*annotations.HttpRule)
				if main.GetPattern() == nil {
					continue
				}
				for k, route := range append([]*annotations.HttpRule{main}, main.GetAdditionalBindings()...) {
					id := fmt.Sprintf("%s_%s", service.Name(), method.Name())
					if k > 0 {
						id = fmt.Sprintf("%s_%d", id, k)
					}
					found = append(found, verb(route)+" "+id)
				}
			}
		}
		return true
	})
	slices.Sort(found)
	return found
}

func verb(route *annotations.HttpRule) string {
	switch route.GetPattern().(type) {
	case *annotations.HttpRule_Get:
		return "get"
	case *annotations.HttpRule_Put:
		return "put"
	case *annotations.HttpRule_Post:
		return "post"
	case *annotations.HttpRule_Delete:
		return "delete"
	case *annotations.HttpRule_Patch:
		return "patch"
	}
	return "custom"
}

func TestReferencesResolve(t *testing.T) {
	doc := parse(t)
	var whole any
	if err := json.Unmarshal(openapi.JSON, &whole); err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	collectReferences(whole, used)
	if len(used) == 0 {
		t.Fatal("the document refers to nothing")
	}
	for _, reference := range slices.Sorted(maps.Keys(used)) {
		name, ok := strings.CutPrefix(reference, "#/components/schemas/")
		if !ok || doc.Components["schemas"][name] == nil {
			t.Errorf("%s leads nowhere", reference)
		}
	}
}

func collectReferences(node any, into map[string]bool) {
	switch node := node.(type) {
	case map[string]any:
		for key, value := range node {
			if reference, ok := value.(string); ok && key == "$ref" {
				into[reference] = true
			}
			collectReferences(value, into)
		}
	case []any:
		for _, value := range node {
			collectReferences(value, into)
		}
	}
}
