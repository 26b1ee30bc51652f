package gateway

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/dynamicpb"

	arrisv1 "arris.example/proto/arris/v1"
)

// The library that reads JSON stops at the first mistake and names neither the field's place nor what would work. So when it
// has refused a body, and only then, the body is walked once more beside the schema, and everything found is said at once.

// mostViolations bounds the answer to a body that is wrong all over.
const mostViolations = 20

// explain says what is wrong with a body that was refused with err. Fields are named as the caller wrote them.
func explain(text []byte, want protoreflect.MessageDescriptor, err error) []violationProto {
	if found := syntaxMistake(text); found != nil {
		return []violationProto{found}
	}
	var e explainer
	e.message("", text, want)
	if len(e.found) == 0 { // a mistake that only the library knows of
		e.say("body", arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "cannot be read: %s", plain(err))
	}
	return e.found
}

// plain is the library's message without its own prefix, which has spaces that vary from build to build.
func plain(err error) string {
	text := strings.ReplaceAll(err.Error(), "\u00a0", " ")
	return strings.TrimSpace(strings.TrimPrefix(text, "proto:"))
}

// syntaxMistake says where text stops being JSON, or nothing where all of it is.
func syntaxMistake(text []byte) violationProto {
	var all json.RawMessage
	var syntax *json.SyntaxError
	err := json.Unmarshal(text, &all)
	if !errors.As(err, &syntax) {
		return nil
	}
	before := text[:min(int(syntax.Offset), len(text))]
	line := 1 + bytes.Count(before, []byte("\n"))
	column := len(before) - (bytes.LastIndexByte(before, '\n') + 1)
	return violation("body", arrisv1.FieldReason_FIELD_REASON_BAD_FORM,
		"is not JSON at line %d, column %d: %s; send one JSON object", line, max(column, 1), syntax.Error())
}

type explainer struct{ found []violationProto }

func (e *explainer) say(field string, why arrisv1.FieldReason, format string, args ...any) {
	if len(e.found) < mostViolations {
		e.found = append(e.found, violation(field, why, format, args...))
	}
}

// message looks at a JSON value that should be the message.
func (e *explainer) message(path string, text []byte, want protoreflect.MessageDescriptor) {
	if kindOf(text) != "an object" {
		e.say(orBody(path), arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "is %s; it must be an object in braces", kindOf(text))
		return
	}
	seen := map[protoreflect.Name]string{} // fields and choices already made, with the name they were made by
	members(text, func(key string, value []byte) {
		at := join(path, key)
		field := fieldOf(want, key)
		if field == nil {
			e.unknown(at, key, want)
			return
		}
		e.twice(at, key, field, seen)
		if kindOf(value) != "null" {
			e.value(at, value, field)
		}
	})
}

func fieldOf(m protoreflect.MessageDescriptor, key string) protoreflect.FieldDescriptor {
	if field := m.Fields().ByJSONName(key); field != nil {
		return field
	}
	return m.Fields().ByName(protoreflect.Name(key))
}

// twice notes a field, and says so if it, or another of the same choice, was there before.
func (e *explainer) twice(at, key string, field protoreflect.FieldDescriptor, seen map[protoreflect.Name]string) {
	if _, again := seen[field.Name()]; again {
		e.say(at, arrisv1.FieldReason_FIELD_REASON_CONTRADICTION, "is said twice; say it once")
		return
	}
	seen[field.Name()] = key
	choice := field.ContainingOneof()
	if choice == nil || choice.IsSynthetic() {
		return
	}
	name := "oneof " + choice.Name()
	if other, made := seen[name]; made {
		e.say(at, arrisv1.FieldReason_FIELD_REASON_CONTRADICTION, "cannot be said together with %s; say one of them", other)
		return
	}
	seen[name] = key
}

// value looks at the value of a field, or at all of its items.
func (e *explainer) value(at string, text []byte, field protoreflect.FieldDescriptor) {
	switch {
	case field.IsMap(): // the API has none; the library's own words must do
	case !field.IsList():
		e.single(at, text, field)
	case kindOf(text) != "a list":
		e.say(at, arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "is %s; it must be a list in brackets", kindOf(text))
	default:
		items(text, func(i int, item []byte) { e.single(at+"["+strconv.Itoa(i)+"]", item, field) })
	}
}

func (e *explainer) single(at string, text []byte, field protoreflect.FieldDescriptor) {
	switch field.Kind() {
	case protoreflect.MessageKind:
		if field.Message().ParentFile().Package() == "google.protobuf" {
			e.wellKnown(at, text, field.Message())
			return
		}
		e.message(at, text, field.Message())
	case protoreflect.DoubleKind, protoreflect.FloatKind:
		e.number(at, text, field)
	case protoreflect.EnumKind:
		e.enum(at, text, field.Enum())
	case protoreflect.BoolKind:
		if kindOf(text) != "true or false" {
			e.say(at, arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "is %s; it must be true or false", shown(text))
		}
	case protoreflect.StringKind:
		if kindOf(text) != "text" {
			e.say(at, arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "is %s; it must be text in quotes", shown(text))
		}
	default: // whole numbers
		if _, err := strconv.ParseInt(strings.Trim(string(text), `"`), 10, 64); err != nil {
			e.say(at, arrisv1.FieldReason_FIELD_REASON_NOT_A_NUMBER, "is %s; it must be a whole number", shown(text))
		}
	}
}

// number accepts what the library accepts: numbers, numbers in quotes, and the three names of what is no number, which the
// service then refuses.
func (e *explainer) number(at string, text []byte, field protoreflect.FieldDescriptor) {
	word := strings.Trim(string(text), `"`)
	if slices.Contains([]string{"NaN", "Infinity", "-Infinity"}, word) {
		return
	}
	isNumber := kindOf(text) == "a number" || kindOf(text) == "text" && json.Valid([]byte(word)) && kindOf([]byte(word)) == "a number"
	switch _, err := strconv.ParseFloat(word, 64); {
	case !isNumber:
		e.say(at, arrisv1.FieldReason_FIELD_REASON_NOT_A_NUMBER, "is %s; write the number alone%s", shown(text), unitHint(field.Name()))
	case err != nil:
		e.say(at, arrisv1.FieldReason_FIELD_REASON_OUT_OF_RANGE, "is %s, which is larger than any number can be", shown(text))
	}
}

func (e *explainer) enum(at string, text []byte, want protoreflect.EnumDescriptor) {
	var name string
	var number int32
	if json.Unmarshal(text, &number) == nil {
		return
	}
	if json.Unmarshal(text, &name) == nil && want.Values().ByName(protoreflect.Name(name)) != nil {
		return
	}
	var names []string
	for i := range want.Values().Len() {
		if value := want.Values().Get(i); value.Number() != 0 {
			names = append(names, string(value.Name()))
		}
	}
	e.say(at, arrisv1.FieldReason_FIELD_REASON_UNKNOWN_VALUE, "is %s; say one of %s", shown(text), strings.Join(names, ", "))
}

// wellKnown asks the library about its own types, which have forms of their own.
func (e *explainer) wellKnown(at string, text []byte, want protoreflect.MessageDescriptor) {
	if protojson.Unmarshal(text, dynamicpb.NewMessage(want)) == nil {
		return
	}
	form := "the JSON form of a " + string(want.Name())
	if want.Name() == "Timestamp" {
		form = "a time such as 2026-11-24T09:30:00Z"
	}
	e.say(at, arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "is %s; it must be %s", shown(text), form)
}

// kindOf is what a well-formed JSON value is, in words.
func kindOf(text []byte) string {
	text = bytes.TrimSpace(text)
	if len(text) == 0 {
		return "nothing"
	}
	switch text[0] {
	case '{':
		return "an object"
	case '[':
		return "a list"
	case '"':
		return "text"
	case 't', 'f':
		return "true or false"
	case 'n':
		return "null"
	}
	return "a number"
}

// shown is a value as it was written; of what is long or nested only what kind of thing it is.
func shown(text []byte) string {
	if kind := kindOf(text); kind == "an object" || kind == "a list" {
		return kind
	}
	return shortened(string(bytes.TrimSpace(text)))
}

// members calls do for each member of a well-formed JSON object, in the order they are written.
func members(object []byte, do func(key string, value []byte)) {
	read := json.NewDecoder(bytes.NewReader(object))
	_, _ = read.Token() // the brace; the object is well formed, so nothing below fails
	for read.More() {
		key, _ := read.Token()
		var value json.RawMessage
		if read.Decode(&value) != nil {
			return
		}
		do(fmt.Sprint(key), value)
	}
}

// items calls do for each item of a well-formed JSON list.
func items(list []byte, do func(i int, item []byte)) {
	read := json.NewDecoder(bytes.NewReader(list))
	_, _ = read.Token()
	for i := 0; read.More(); i++ {
		var item json.RawMessage
		if read.Decode(&item) != nil {
			return
		}
		do(i, item)
	}
}

func join(path, key string) string {
	key = shortened(key)
	if path == "" {
		return key
	}
	return path + "." + key
}

func orBody(path string) string {
	if path == "" {
		return "body"
	}
	return path
}
