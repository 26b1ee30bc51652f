package arris

import (
	"bytes"
	"encoding/json"
	"strings"
	"unicode"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// jsonText is a message in the API's JSON: lowerCamelCase, zeros said, two spaces a level. protojson puts in spaces or not from
// build to build; here they are always the same.
func jsonText(m proto.Message) ([]byte, error) {
	text, err := protojson.MarshalOptions{EmitDefaultValues: true}.Marshal(m)
	if err != nil {
		return nil, err
	}
	var indented bytes.Buffer
	if err := json.Indent(&indented, text, "", "  "); err != nil {
		return nil, err
	}
	indented.WriteByte('\n')
	return indented.Bytes(), nil
}

// visible is a text that does nothing to a terminal: what would move the cursor, change colours or turn the direction of
// writing is shown as a replacement character. Line ends stay.
func visible(text string) string {
	return strings.Map(func(r rune) rune {
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r)) {
			return unicode.ReplacementChar
		}
		return r
	}, strings.ToValidUTF8(text, string(unicode.ReplacementChar)))
}

// line is a visible text on one line.
func line(text string) string { return strings.ReplaceAll(visible(text), "\n", " ") }

// cleaned is a copy of a message whose texts are visible lines, for everything that a terminal or a spreadsheet gets to see.
func cleaned[M proto.Message](m M) M {
	c, _ := proto.Clone(m).(M) // a clone has its original's type
	cleanTexts(c.ProtoReflect())
	return c
}

func cleanTexts(m protoreflect.Message) {
	m.Range(func(field protoreflect.FieldDescriptor, value protoreflect.Value) bool {
		switch {
		case field.IsMap():
			cleanMap(value.Map(), field.MapValue().Kind())
		case field.IsList():
			for i := range value.List().Len() {
				if kept, changed := cleanValue(field.Kind(), value.List().Get(i)); changed {
					value.List().Set(i, kept)
				}
			}
		default:
			if kept, changed := cleanValue(field.Kind(), value); changed {
				m.Set(field, kept)
			}
		}
		return true
	})
}

func cleanMap(m protoreflect.Map, kind protoreflect.Kind) {
	m.Range(func(key protoreflect.MapKey, value protoreflect.Value) bool {
		if kept, changed := cleanValue(kind, value); changed {
			m.Set(key, kept)
		}
		return true
	})
}

// cleanValue cleans a message in place, and gives back a text that is to be put in another's place.
func cleanValue(kind protoreflect.Kind, value protoreflect.Value) (protoreflect.Value, bool) {
	switch kind {
	case protoreflect.StringKind:
		return protoreflect.ValueOfString(line(value.String())), true
	case protoreflect.MessageKind, protoreflect.GroupKind:
		cleanTexts(value.Message())
	}
	return value, false
}
