package api

import (
	"bytes"
	"cmp"
	"encoding/json"
	"slices"
	"strconv"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
)

// unlike are the fields in which two records always differ, or which follow from others.
var unlike = map[protoreflect.Name]bool{
	"uid": true, "etag": true, "create_time": true, "update_time": true, "delete_time": true,
	"revision": true, "newest_revision": true, "published_revision": true, "name": true,
}

// differences are the fields in which two messages of one type differ, by their paths.
func differences(before, after proto.Message) []*arrisv1.FieldChange {
	var found []*arrisv1.FieldChange
	compare("", before.ProtoReflect(), after.ProtoReflect(), func(path, b, a string) {
		found = append(found, &arrisv1.FieldChange{Field: path, Before: b, After: a})
	})
	slices.SortStableFunc(found, func(a, b *arrisv1.FieldChange) int { return cmp.Compare(a.GetField(), b.GetField()) })
	return found
}

// compare tells the fields in which two messages differ.
func compare(path string, before, after protoreflect.Message, tell func(path, before, after string)) {
	fields := before.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		if path == "" && unlike[f.Name()] || !before.Has(f) && !after.Has(f) {
			continue
		}
		at := path + string(f.Name())
		switch {
		case f.IsList():
			compareLists(at, f, before.Get(f).List(), after.Get(f).List(), tell)
		case f.Message() != nil && before.Has(f) && after.Has(f) && !wellKnown(f):
			compare(at+".", before.Get(f).Message(), after.Get(f).Message(), tell)
		default:
			if b, a := shownField(before, f), shownField(after, f); b != a {
				tell(at, b, a)
			}
		}
	}
}

func compareLists(path string, f protoreflect.FieldDescriptor, before, after protoreflect.List, tell func(path, before, after string)) {
	for i := range max(before.Len(), after.Len()) {
		at := path + "[" + strconv.Itoa(i) + "]"
		if f.Message() != nil && i < before.Len() && i < after.Len() {
			compare(at+".", before.Get(i).Message(), after.Get(i).Message(), tell)
			continue
		}
		if b, a := shownItem(f, before, i), shownItem(f, after, i); b != a {
			tell(at, b, a)
		}
	}
}

func wellKnown(f protoreflect.FieldDescriptor) bool {
	return f.Message().ParentFile().Package() == "google.protobuf"
}

func shownField(m protoreflect.Message, f protoreflect.FieldDescriptor) string {
	if !m.Has(f) {
		return ""
	}
	return shownValue(f, m.Get(f))
}

func shownItem(f protoreflect.FieldDescriptor, list protoreflect.List, i int) string {
	if i >= list.Len() {
		return ""
	}
	return shownValue(f, list.Get(i))
}

// shownValue is a value as JSON.
func shownValue(f protoreflect.FieldDescriptor, v protoreflect.Value) string {
	switch {
	case f.Message() != nil:
		text, err := protojson.Marshal(v.Message().Interface())
		var tight bytes.Buffer // the library varies its spaces from build to build
		if err != nil || json.Compact(&tight, text) != nil {
			return ""
		}
		return tight.String()
	case f.Enum() != nil:
		if value := f.Enum().Values().ByNumber(v.Enum()); value != nil {
			return strconv.Quote(string(value.Name()))
		}
	}
	text, err := json.Marshal(v.Interface())
	if err != nil { // a number that is none: nothing that is kept
		return ""
	}
	return string(text)
}
