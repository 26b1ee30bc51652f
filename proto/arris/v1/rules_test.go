package arrisv1_test

import (
	"iter"
	"slices"
	"strings"
	"testing"
	"unicode"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/api/annotations"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protodesc"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/descriptorpb"

	_ "arris.example/proto/arris/v1"
)

// units are the endings a floating-point field may have, so that no number travels without its unit (AIP-141).
var units = []string{
	"_mm", "_deg", "_rpm", "_mps", "_percent", "_count", "_turns", "_seconds", "_minutes",
	"_mm3", "_g", "_deg_per_mm", "_deg_per_deg", "_mm_per_turn", "_mm_per_day", "_mm_per_hour", "_deg_per_turn",
}

// exceptions are fields and methods a rule would refuse, each with the reason why it may stay.
var exceptions = map[protoreflect.FullName]string{
	"arris.v1.GrindRefusal.value":             "the refused quantity may be of any kind; its unit is the field beside it",
	"arris.v1.GrindRefusal.least":             "as value",
	"arris.v1.GrindRefusal.most":              "as value",
	"arris.v1.BudgetItem.half_width":          "lengths and angles share the list; the unit is the field beside it",
	"arris.v1.BudgetItem.deg_per_unit":        "degrees per the unit of the field beside it",
	"arris.v1.Difference.from":                "lengths and angles share the list; the unit is the field beside it",
	"arris.v1.Difference.to":                  "as from",
	"arris.v1.OrderSetupsRequest.items":       "at most 1000, likewise",
	"arris.v1.RenderSheetsRequest.items":      "at most 500, likewise",
	"arris.v1.PrintSheetsRequest.items":       "at most 10000, likewise",
	"arris.v1.BatchSolveSetupsRequest.items":  "at most 1000, held by the rule: one wrong item must not refuse the others",
	"arris.v1.StreamSolveSetupsRequest.items": "at most 256, held by the rule: one wrong item must not end the stream",
}

// A breach is a declaration that breaks a rule, and how.
type breach struct {
	subject protoreflect.FullName
	fault   string
}

// A rule looks at all files of the API and returns what breaks it.
type rule func(files []protoreflect.FileDescriptor) []breach

var rules = map[string]rule{
	"methods": methodBreaches,
	"lists":   listBreaches,
	"units":   unitBreaches,
	"input":   inputBreaches,
	"enums":   enumBreaches,
}

func TestAPIKeepsItsRules(t *testing.T) {
	files := filesOf("arris.v1")
	if len(files) == 0 {
		t.Fatal("no file of package arris.v1 is linked into this test")
	}
	excused := map[protoreflect.FullName]bool{}
	for name, rule := range rules {
		t.Run(name, func(t *testing.T) {
			for _, b := range rule(files) {
				if _, ok := exceptions[b.subject]; ok {
					excused[b.subject] = true
					continue
				}
				t.Errorf("%s %s", b.subject, b.fault)
			}
		})
	}
	for subject := range exceptions {
		if !excused[subject] {
			t.Errorf("%s is in the table of exceptions and breaks no rule: take it out", subject)
		}
	}
}

func filesOf(pkg protoreflect.FullName) []protoreflect.FileDescriptor {
	var files []protoreflect.FileDescriptor
	protoregistry.GlobalFiles.RangeFilesByPackage(pkg, func(file protoreflect.FileDescriptor) bool {
		files = append(files, file)
		return true
	})
	slices.SortFunc(files, func(a, b protoreflect.FileDescriptor) int { return strings.Compare(a.Path(), b.Path()) })
	return files
}

// ---- methods

// methodBreaches: every method is reachable over HTTP and declares the role it needs. A method to which the
// client streams has no route: HTTP with JSON cannot carry it.
func methodBreaches(files []protoreflect.FileDescriptor) []breach {
	var found []breach
	for method := range methodsIn(files) {
		if !method.IsStreamingClient() && !hasRoute(method) {
			found = append(found, breach{method.FullName(), "has no google.api.http route"})
		}
		if !hasRole(method) {
			found = append(found, breach{method.FullName(), "does not declare the role it needs: option (arris.v1.role)"})
		}
	}
	return found
}

func hasRoute(method protoreflect.MethodDescriptor) bool {
	http, ok := proto.GetExtension(method.Options(), annotations.E_Http).(*annotations.HttpRule)
	return ok && http.GetPattern() != nil
}

func hasRole(method protoreflect.MethodDescriptor) bool {
	role, err := protoregistry.GlobalTypes.FindExtensionByName("arris.v1.role")
	if err != nil {
		return false
	}
	return method.Options().ProtoReflect().Get(role.TypeDescriptor()).Enum() != 0
}

// listBreaches: every List method pages, with AIP-158's names.
func listBreaches(files []protoreflect.FileDescriptor) []breach {
	var found []breach
	for method := range methodsIn(files) {
		if !strings.HasPrefix(string(method.Name()), "List") {
			continue
		}
		for _, want := range []struct {
			message protoreflect.MessageDescriptor
			field   protoreflect.Name
			kind    protoreflect.Kind
		}{
			{method.Input(), "page_size", protoreflect.Int32Kind},
			{method.Input(), "page_token", protoreflect.StringKind},
			{method.Output(), "next_page_token", protoreflect.StringKind},
		} {
			field := want.message.Fields().ByName(want.field)
			if field == nil || field.Kind() != want.kind {
				found = append(found, breach{want.message.FullName(), "needs " + want.kind.String() + " " + string(want.field) + ", because a List method pages"})
			}
		}
	}
	return found
}

// ---- fields

// unitBreaches: a floating-point field is a double and its name ends in its unit.
func unitBreaches(files []protoreflect.FileDescriptor) []breach {
	var found []breach
	for field := range fieldsIn(files) {
		switch element(field).Kind() {
		case protoreflect.FloatKind:
			found = append(found, breach{field.FullName(), "is a float: use double"})
		case protoreflect.DoubleKind:
			if !endsInUnit(field.Name()) {
				found = append(found, breach{field.FullName(), "does not end in a unit: " + strings.Join(units, " ")})
			}
		}
	}
	return found
}

func endsInUnit(name protoreflect.Name) bool {
	return slices.ContainsFunc(units, func(unit string) bool { return strings.HasSuffix(string(name), unit) })
}

// inputBreaches: what a request can carry is bounded by declaration, so that one interceptor refuses the rest.
func inputBreaches(files []protoreflect.FileDescriptor) []breach {
	var found []breach
	for _, message := range requestMessages(files) {
		fields := message.Fields()
		for i := range fields.Len() {
			for _, fault := range inputFaults(fields.Get(i)) {
				found = append(found, breach{fields.Get(i).FullName(), fault})
			}
		}
	}
	return found
}

func inputFaults(field protoreflect.FieldDescriptor) []string {
	declared, _ := proto.GetExtension(field.Options(), validate.E_Field).(*validate.FieldRules)
	var faults []string
	switch {
	case field.IsMap():
		if declared.GetMap().GetMaxPairs() == 0 {
			faults = append(faults, "has no map.max_pairs")
		}
		faults = append(faults, valueFaults(field.MapKey(), declared.GetMap().GetKeys())...)
		return append(faults, valueFaults(field.MapValue(), declared.GetMap().GetValues())...)
	case field.IsList():
		if declared.GetRepeated().GetMaxItems() == 0 {
			faults = append(faults, "has no repeated.max_items")
		}
		return append(faults, valueFaults(field, declared.GetRepeated().GetItems())...)
	case field.Kind() == protoreflect.DoubleKind && !field.HasPresence():
		faults = append(faults, "cannot tell 0 from absent: make it optional, and required where it is")
	}
	return append(faults, valueFaults(field, declared)...)
}

// valueFaults looks at the rules for one value: the field's own, or those of its items, keys or values.
func valueFaults(field protoreflect.FieldDescriptor, declared *validate.FieldRules) []string {
	switch field.Kind() {
	case protoreflect.DoubleKind:
		if !declared.GetDouble().GetFinite() {
			return []string{"does not refuse NaN and infinity: double.finite"}
		}
	case protoreflect.StringKind:
		text := declared.GetString()
		bounded := text.HasMaxLen() || text.HasMaxBytes() || text.HasLen() || text.HasPattern() || text.HasConst() || len(text.GetIn()) > 0
		if !bounded {
			return []string{"may be of any length: string.max_len or string.pattern"}
		}
	case protoreflect.BytesKind:
		if !declared.GetBytes().HasMaxLen() && !declared.GetBytes().HasLen() {
			return []string{"may be of any length: bytes.max_len"}
		}
	case protoreflect.EnumKind:
		if !declared.GetEnum().GetDefinedOnly() && len(declared.GetEnum().GetIn()) == 0 {
			return []string{"takes numbers that are no value of it: enum.defined_only"}
		}
	}
	return nil
}

// requestMessages returns our messages that are or travel in the request of some method.
func requestMessages(files []protoreflect.FileDescriptor) []protoreflect.MessageDescriptor {
	var reached []protoreflect.MessageDescriptor
	ours := map[protoreflect.FullName]bool{}
	for _, file := range files {
		ours[file.Package()] = true
	}
	seen := map[protoreflect.FullName]bool{}
	var visit func(protoreflect.MessageDescriptor)
	visit = func(message protoreflect.MessageDescriptor) {
		if message == nil || seen[message.FullName()] || !ours[message.ParentFile().Package()] {
			return
		}
		seen[message.FullName()] = true
		reached = append(reached, message)
		for i := range message.Fields().Len() {
			visit(element(message.Fields().Get(i)).Message())
		}
	}
	for method := range methodsIn(files) {
		visit(method.Input())
	}
	return reached
}

// ---- enums

// enumBreaches: values carry the enum's name, and 0 is never a choice.
func enumBreaches(files []protoreflect.FileDescriptor) []breach {
	var found []breach
	for enum := range enumsIn(files) {
		prefix := screamingSnake(string(enum.Name())) + "_"
		zero := enum.Values().ByNumber(0)
		if zero == nil || string(zero.Name()) != prefix+"UNSPECIFIED" {
			found = append(found, breach{enum.FullName(), "has no value " + prefix + "UNSPECIFIED = 0"})
		}
		for i := range enum.Values().Len() {
			if value := enum.Values().Get(i); !strings.HasPrefix(string(value.Name()), prefix) {
				found = append(found, breach{value.FullName(), "does not begin with " + prefix})
			}
		}
	}
	return found
}

func screamingSnake(camel string) string {
	var out strings.Builder
	for i, r := range camel {
		if i > 0 && unicode.IsUpper(r) {
			out.WriteByte('_')
		}
		out.WriteRune(unicode.ToUpper(r))
	}
	return out.String()
}

// ---- walking

// element is the field that says what a field holds: itself, or for a map the field of its values.
func element(field protoreflect.FieldDescriptor) protoreflect.FieldDescriptor {
	if field.IsMap() {
		return field.MapValue()
	}
	return field
}

func methodsIn(files []protoreflect.FileDescriptor) iter.Seq[protoreflect.MethodDescriptor] {
	return func(yield func(protoreflect.MethodDescriptor) bool) {
		for _, file := range files {
			for i := range file.Services().Len() {
				methods := file.Services().Get(i).Methods()
				for j := range methods.Len() {
					if !yield(methods.Get(j)) {
						return
					}
				}
			}
		}
	}
}

func fieldsIn(files []protoreflect.FileDescriptor) iter.Seq[protoreflect.FieldDescriptor] {
	return func(yield func(protoreflect.FieldDescriptor) bool) {
		for message := range messagesIn(files) {
			for i := range message.Fields().Len() {
				if !yield(message.Fields().Get(i)) {
					return
				}
			}
		}
	}
}

// A scope is a file or a message: what may declare messages and enums.
type scope interface {
	Messages() protoreflect.MessageDescriptors
	Enums() protoreflect.EnumDescriptors
}

func messagesIn(files []protoreflect.FileDescriptor) iter.Seq[protoreflect.MessageDescriptor] {
	return func(yield func(protoreflect.MessageDescriptor) bool) {
		eachScope(files, func(s scope) bool {
			message, ok := s.(protoreflect.MessageDescriptor)
			return !ok || message.IsMapEntry() || yield(message)
		})
	}
}

func enumsIn(files []protoreflect.FileDescriptor) iter.Seq[protoreflect.EnumDescriptor] {
	return func(yield func(protoreflect.EnumDescriptor) bool) {
		eachScope(files, func(s scope) bool {
			for i := range s.Enums().Len() {
				if !yield(s.Enums().Get(i)) {
					return false
				}
			}
			return true
		})
	}
}

// eachScope visits the files and all messages in them, nested ones too, until visit returns false.
func eachScope(files []protoreflect.FileDescriptor, visit func(scope) bool) {
	var descend func(s scope) bool
	descend = func(s scope) bool {
		if !visit(s) {
			return false
		}
		for i := range s.Messages().Len() {
			if !descend(s.Messages().Get(i)) {
				return false
			}
		}
		return true
	}
	for _, file := range files {
		if !descend(file) {
			return
		}
	}
}

// ---- the rules can fail

// planted is a schema in which, for every rule, something keeps it and something breaks it.
const planted = `
name: "planted.proto" package: "planted" syntax: "proto3"
dependency: "google/api/annotations.proto" dependency: "buf/validate/validate.proto" dependency: "arris/v1/role.proto"
service { name: "Plants"
  method { name: "ListGood" input_type: ".planted.Good" output_type: ".planted.Good"
    options { [google.api.http] { get: "/v1/good" } [arris.v1.role]: ROLE_VIEWER } }
  method { name: "ListBad" input_type: ".planted.Bad" output_type: ".planted.Answer" options { [arris.v1.role]: ROLE_UNSPECIFIED } }
  method { name: "Pour" input_type: ".planted.Good" output_type: ".planted.Answer" client_streaming: true
    options { [arris.v1.role]: ROLE_VIEWER } }
}
message_type { name: "Good"
  field { name: "page_size" number: 1 type: TYPE_INT32 label: LABEL_OPTIONAL }
  field { name: "page_token" number: 2 type: TYPE_STRING label: LABEL_OPTIONAL options { [buf.validate.field] { string { max_len: 9 } } } }
  field { name: "next_page_token" number: 3 type: TYPE_STRING label: LABEL_OPTIONAL options { [buf.validate.field] { string { pattern: "^x$" } } } }
  field { name: "gap_mm" number: 4 type: TYPE_DOUBLE label: LABEL_OPTIONAL proto3_optional: true oneof_index: 0
    options { [buf.validate.field] { double { finite: true } } } }
  field { name: "blocks_mm" number: 5 type: TYPE_DOUBLE label: LABEL_REPEATED
    options { [buf.validate.field] { repeated { max_items: 3 items { double { finite: true } } } } } }
  field { name: "kind" number: 6 type: TYPE_ENUM type_name: ".planted.GoodKind" label: LABEL_OPTIONAL
    options { [buf.validate.field] { enum { defined_only: true } } } }
  oneof_decl { name: "_gap_mm" }
}
message_type { name: "Bad"
  field { name: "gap" number: 1 type: TYPE_DOUBLE label: LABEL_OPTIONAL }
  field { name: "narrow_mm" number: 2 type: TYPE_FLOAT label: LABEL_OPTIONAL }
  field { name: "blocks_mm" number: 3 type: TYPE_DOUBLE label: LABEL_REPEATED }
  field { name: "note" number: 4 type: TYPE_STRING label: LABEL_OPTIONAL }
  field { name: "blob" number: 5 type: TYPE_BYTES label: LABEL_OPTIONAL }
  field { name: "kind" number: 6 type: TYPE_ENUM type_name: ".planted.Bad.Kind" label: LABEL_OPTIONAL }
  field { name: "inner" number: 7 type: TYPE_MESSAGE type_name: ".planted.Inner" label: LABEL_OPTIONAL }
  field { name: "sizes" number: 8 type: TYPE_MESSAGE type_name: ".planted.Bad.SizesEntry" label: LABEL_REPEATED }
  nested_type { name: "SizesEntry" options { map_entry: true }
    field { name: "key" number: 1 type: TYPE_STRING label: LABEL_OPTIONAL }
    field { name: "value" number: 2 type: TYPE_DOUBLE label: LABEL_OPTIONAL } }
  enum_type { name: "Kind" value { name: "NONE" number: 0 } value { name: "KIND_SOME" number: 1 } }
}
message_type { name: "Inner"
  field { name: "names" number: 1 type: TYPE_STRING label: LABEL_REPEATED options { [buf.validate.field] { repeated { max_items: 3 } } } } }
message_type { name: "Answer"
  field { name: "text" number: 1 type: TYPE_STRING label: LABEL_OPTIONAL } }
enum_type { name: "GoodKind" value { name: "GOOD_KIND_UNSPECIFIED" number: 0 } value { name: "GOOD_KIND_ONE" number: 1 } }
`

func TestRulesFindWhatIsPlanted(t *testing.T) {
	var source descriptorpb.FileDescriptorProto
	if err := prototext.Unmarshal([]byte(planted), &source); err != nil {
		t.Fatal(err)
	}
	file, err := protodesc.NewFile(&source, protoregistry.GlobalFiles)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{
		"methods": {"planted.Plants.ListBad", "planted.Plants.ListBad"}, // no route, no role
		"lists":   {"planted.Answer", "planted.Bad", "planted.Bad"},
		"units":   {"planted.Bad.gap", "planted.Bad.narrow_mm", "planted.Bad.sizes"},
		"input": {
			"planted.Bad.blob",
			"planted.Bad.blocks_mm", "planted.Bad.blocks_mm", // number of items, items not finite
			"planted.Bad.gap", "planted.Bad.gap", // absent or 0, not finite
			"planted.Bad.kind",
			"planted.Bad.note",
			"planted.Bad.sizes", "planted.Bad.sizes", "planted.Bad.sizes", // number, keys, values
			"planted.Inner.names",
		},
		"enums": {"planted.Bad.Kind", "planted.Bad.NONE"},
	}
	for name, rule := range rules {
		var got []string
		for _, b := range rule([]protoreflect.FileDescriptor{file}) {
			got = append(got, string(b.subject))
		}
		slices.Sort(got)
		if diff := cmp.Diff(want[name], got); diff != "" {
			t.Errorf("rule %s (-want +got):\n%s", name, diff)
		}
	}
}
