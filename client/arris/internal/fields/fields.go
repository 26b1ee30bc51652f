// Package fields reads and writes a record's fields by their paths, as people type them: `grit=F100`, `clamp.bar_below_mm=12.5mm`,
// `supports[0].slide.least_mm=40`. Paths are the schema's own names; what stands in a list has its place in brackets, from 0, and another
// system's name for a record is `external_ids.SYSTEM`.
package fields

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"
)

// Field is a field that is said.
type Field struct {
	Path, Value string
	order       []int // of its declarations, and its place in lists
}

// Before tells whether a field is declared before another.
func (f Field) Before(other Field) int {
	return cmp.Or(slices.Compare(f.order, other.order), cmp.Compare(f.Path, other.Path))
}

// All are a message's fields that are said, in the order of their declaration.
func All(m proto.Message) []Field {
	var list []Field
	all(m.ProtoReflect(), "", nil, func(f Field) { list = append(list, f) })
	return list
}

// Get is the value of a field, empty where it is not said.
func Get(m proto.Message, path string) string {
	for _, f := range All(m) {
		if f.Path == path {
			return f.Value
		}
	}
	return ""
}

func all(m protoreflect.Message, path string, order []int, tell func(Field)) {
	list := m.Descriptor().Fields()
	said := false
	for i := range list.Len() {
		if f := list.Get(i); m.Has(f) {
			said = true
			field(f, m.Get(f), path+string(f.Name()), append(slices.Clone(order), i), tell)
		}
	}
	if !said && path != "" { // a message that says something by being there
		tell(Field{strings.TrimSuffix(path, "."), "{}", order})
	}
}

func field(f protoreflect.FieldDescriptor, v protoreflect.Value, path string, order []int, tell func(Field)) {
	switch {
	case f.IsList() && isExternalIDs(f):
		for i := range v.List().Len() {
			id := v.List().Get(i).Message()
			tell(Field{path + "." + text(id, "system"), text(id, "value"), append(slices.Clone(order), i)})
		}
	case f.IsList() && f.Message() != nil:
		for i := range v.List().Len() {
			all(v.List().Get(i).Message(), path+"["+strconv.Itoa(i)+"].", append(slices.Clone(order), i), tell)
		}
	case f.IsList():
		var words []string
		for i := range v.List().Len() {
			words = append(words, plain(f, v.List().Get(i)))
		}
		tell(Field{path, strings.Join(words, ","), order})
	case isTime(f):
		at, _ := v.Message().Interface().(*timestamppb.Timestamp) // isTime
		tell(Field{path, at.AsTime().Format(time.RFC3339Nano), order})
	case f.Message() != nil:
		all(v.Message(), path+".", order, tell)
	default:
		tell(Field{path, plain(f, v), order})
	}
}

// plain is a value that is no message.
func plain(f protoreflect.FieldDescriptor, v protoreflect.Value) string {
	switch f.Kind() {
	case protoreflect.EnumKind:
		if value := f.Enum().Values().ByNumber(v.Enum()); value != nil {
			return word(f.Enum(), value)
		}
		return strconv.Itoa(int(v.Enum()))
	case protoreflect.BoolKind:
		if v.Bool() {
			return "yes"
		}
		return "no"
	case protoreflect.DoubleKind:
		return strconv.FormatFloat(v.Float(), 'f', -1, 64)
	}
	return v.String()
}

// word is an enum's value without the enum's name: bowl-gouge.
func word(e protoreflect.EnumDescriptor, value protoreflect.EnumValueDescriptor) string {
	prefix := strings.TrimSuffix(string(e.Values().ByNumber(0).Name()), "UNSPECIFIED")
	return strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(string(value.Name()), prefix)), "_", "-")
}

func isTime(f protoreflect.FieldDescriptor) bool {
	return f.Message() != nil && f.Message().FullName() == "google.protobuf.Timestamp"
}

func isExternalIDs(f protoreflect.FieldDescriptor) bool { return f.Name() == "external_ids" }

func text(m protoreflect.Message, name protoreflect.Name) string {
	return m.Get(m.Descriptor().Fields().ByName(name)).String()
}
