package api

import (
	"strings"

	"go.einride.tech/aip/fieldmask"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/fieldmaskpb"

	"arris.example/service/internal/fault"
)

// maskIn reads an update mask: fields of a message by their names in the schema or in JSON, or `*` alone for all.
func maskIn(mask *fieldmaskpb.FieldMask, of protoreflect.MessageDescriptor) (*fieldmaskpb.FieldMask, error) {
	if fieldmask.IsFullReplacement(mask) {
		return mask, nil
	}
	read := &fieldmaskpb.FieldMask{}
	for _, path := range mask.GetPaths() {
		if path == fieldmask.WildcardPath {
			return nil, fault.Field("update_mask", fault.Contradiction, "has * and other fields; * is all of them, so say it alone")
		}
		named, err := pathIn(path, of)
		if err != nil {
			return nil, err
		}
		read.Paths = append(read.Paths, named)
	}
	return read, nil
}

// pathIn is a path in the schema's names.
func pathIn(path string, of protoreflect.MessageDescriptor) (string, error) {
	var names []string
	var last protoreflect.FieldDescriptor
	for _, word := range strings.Split(path, ".") {
		if last != nil && (last.Message() == nil || last.IsList()) {
			return "", fault.Field("update_mask", fault.BadForm, "names %q, but %s is changed as a whole", path, last.Name())
		}
		if last != nil {
			of = last.Message()
		}
		last = of.Fields().ByName(protoreflect.Name(word))
		if last == nil {
			last = of.Fields().ByJSONName(word)
		}
		if last == nil {
			return "", fault.Field("update_mask", fault.UnknownField, "names %q; fields of %s are %s", path, of.Name(), fieldNames(of))
		}
		names = append(names, string(last.Name()))
	}
	return strings.Join(names, "."), nil
}

func fieldNames(of protoreflect.MessageDescriptor) string {
	names := make([]string, of.Fields().Len())
	for i := range names {
		names[i] = string(of.Fields().Get(i).Name())
	}
	return strings.Join(names, ", ")
}
