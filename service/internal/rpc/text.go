package rpc

import (
	"fmt"
	"strconv"
	"unicode"

	"golang.org/x/text/unicode/norm"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"arris.example/service/internal/fault"
)

// writing is a request whose texts are kept.
type writing interface {
	proto.Message
	GetValidateOnly() bool
}

// tidy puts every text below a message into Unicode's normal form C, so that what looks alike is alike, and tells of control characters:
// they show as nothing, and end lines where there is one. Only notes have several lines.
func tidy(path string, m protoreflect.Message) (found []fault.Violation) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		if !m.Has(f) || f.Kind() != protoreflect.StringKind && f.Message() == nil {
			continue
		}
		at := path + string(f.Name())
		if !f.IsList() {
			value, wrong := tidyValue(at, f, m.Get(f))
			m.Set(f, value)
			found = append(found, wrong...)
			continue
		}
		list := m.Get(f).List()
		for i := range list.Len() {
			value, wrong := tidyValue(at+"["+strconv.Itoa(i)+"]", f, list.Get(i))
			list.Set(i, value)
			found = append(found, wrong...)
		}
	}
	return found
}

func tidyValue(at string, f protoreflect.FieldDescriptor, v protoreflect.Value) (protoreflect.Value, []fault.Violation) {
	if f.Message() != nil {
		return v, tidy(at+".", v.Message())
	}
	text := norm.NFC.String(v.String())
	for i, r := range []rune(text) {
		if unicode.IsControl(r) && (f.Name() != "notes" || r != '\n' && r != '\r' && r != '\t') {
			return v, []fault.Violation{{Field: at, Reason: fault.BadForm,
				Text: fmt.Sprintf("has the control character %U as its letter %d; write plain text on one line", r, i+1)}}
		}
	}
	return protoreflect.ValueOfString(text), nil
}
