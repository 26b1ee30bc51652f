package fields

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/geometry/unit"
)

// Error says what is wrong with a path or the value typed for it.
type Error struct{ Path, Problem string }

func (e *Error) Error() string { return e.Path + ": " + e.Problem }

// Setter puts typed values into a record of a shop.
type Setter struct {
	Shop    string                       // shops/main: names without a slash are of this shop
	Decimal func(string) (string, error) // a number with a decimal point; nil where they have one
}

// collections are what the names in fields are of.
var collections = map[protoreflect.Name]string{
	"station": "stations", "wheel": "wheels", "holder": "holders", "tool": "tools", "recipe": "recipes", "corrects": "sharpenings",
}

// Set puts a value in place of a field's. An empty one takes the field away. A length or an angle without a unit is in the unit of the
// field's name. The error is an [*Error].
func (s Setter) Set(m proto.Message, path, value string) error {
	at := m.ProtoReflect()
	parts := strings.Split(path, ".")
	for i, part := range parts {
		name, place, err := split(part)
		f := at.Descriptor().Fields().ByName(protoreflect.Name(name))
		if f == nil || err != nil {
			return &Error{path, unknown(at.Descriptor(), name)}
		}
		if isExternalIDs(f) && i == len(parts)-2 {
			setExternalID(at, f, parts[i+1], value)
			return nil
		}
		if place < 0 && i == len(parts)-1 {
			return s.put(at, f, path, value)
		}
		if at, err = within(at, f, place); err != nil {
			return &Error{path, err.Error()}
		}
		if i == len(parts)-1 {
			return &Error{path, "is a message: write one of its fields, such as " + path + "." + string(at.Descriptor().Fields().Get(0).Name())}
		}
	}
	return nil
}

// Check tells whether a record has such a field, whichever places in lists are there. The error is an [*Error].
func Check(m proto.Message, path string) error {
	at := m.ProtoReflect().Descriptor()
	parts := strings.Split(path, ".")
	for i, part := range parts {
		name, place, err := split(part)
		f := at.Fields().ByName(protoreflect.Name(name))
		last := i == len(parts)-1
		switch {
		case f == nil || err != nil:
			return &Error{path, unknown(at, name)}
		case isExternalIDs(f) && i == len(parts)-2, last && place < 0:
			return nil
		case f.Message() == nil || isTime(f) || last || (place >= 0) != f.IsList():
			return &Error{path, "there is no such field; " + string(f.Name()) + " is written otherwise, see show"}
		}
		at = f.Message()
	}
	return nil
}

// split takes the place off a part of a path; -1 where there is none.
func split(part string) (name string, place int, err error) {
	name, rest, listed := strings.Cut(part, "[")
	if !listed {
		return name, -1, nil
	}
	place, err = strconv.Atoi(strings.TrimSuffix(rest, "]"))
	if err == nil && (place < 0 || !strings.HasSuffix(rest, "]")) {
		err = strconv.ErrSyntax
	}
	return name, place, err
}

// unknown says which fields there are.
func unknown(d protoreflect.MessageDescriptor, name string) string {
	var names []string
	for i := range d.Fields().Len() {
		names = append(names, string(d.Fields().Get(i).Name()))
	}
	return fmt.Sprintf("there is no field %q; there are %s", name, strings.Join(names, ", "))
}

// within goes down into a message's field; a list grows by one at most.
func within(at protoreflect.Message, f protoreflect.FieldDescriptor, place int) (protoreflect.Message, error) {
	switch {
	case f.Message() == nil || isTime(f):
		return nil, fmt.Errorf("%s has no fields of its own", f.Name())
	case f.IsList() && place < 0:
		return nil, fmt.Errorf("%s is a list: write %s[0] for its first", f.Name(), f.Name())
	case !f.IsList() && place >= 0:
		return nil, fmt.Errorf("%s is no list", f.Name())
	case !f.IsList():
		return at.Mutable(f).Message(), nil
	}
	list := at.Mutable(f).List()
	if place > list.Len() {
		return nil, fmt.Errorf("%s has %d entries: the next is %s[%d]", f.Name(), list.Len(), f.Name(), list.Len())
	}
	if place == list.Len() {
		list.AppendMutable()
	}
	return list.Get(place).Message(), nil
}

func setExternalID(at protoreflect.Message, f protoreflect.FieldDescriptor, system, value string) {
	old := at.Get(f).List()
	kept := at.NewField(f).List()
	put := func(value string) {
		id := kept.AppendMutable().Message()
		id.Set(id.Descriptor().Fields().ByName("system"), protoreflect.ValueOfString(system))
		id.Set(id.Descriptor().Fields().ByName("value"), protoreflect.ValueOfString(value))
	}
	found := value == ""
	for i := range old.Len() {
		if id := old.Get(i).Message(); text(id, "system") != system {
			kept.Append(old.Get(i))
		} else if !found {
			put(value)
			found = true
		}
	}
	if !found {
		put(value)
	}
	at.Set(f, protoreflect.ValueOfList(kept))
}

func (s Setter) put(at protoreflect.Message, f protoreflect.FieldDescriptor, path, value string) error {
	if value == "" {
		at.Clear(f)
		return nil
	}
	v, err := s.read(at, f, value)
	if err != nil {
		return &Error{path, err.Error()}
	}
	at.Set(f, v)
	return nil
}

func (s Setter) read(at protoreflect.Message, f protoreflect.FieldDescriptor, value string) (protoreflect.Value, error) {
	switch {
	case f.IsList() && f.Message() != nil:
		return readMessages(at.NewField(f), value)
	case f.IsList():
		list := at.NewField(f).List()
		for w := range strings.SplitSeq(value, ",") {
			v, err := s.readPlain(f, strings.TrimSpace(w))
			if err != nil {
				return protoreflect.Value{}, err
			}
			list.Append(v)
		}
		return protoreflect.ValueOfList(list), nil
	case isTime(f):
		return readTime(value)
	case f.Message() != nil:
		v := at.NewField(f)
		if err := protojson.Unmarshal([]byte(value), v.Message().Interface()); err != nil {
			return v, fmt.Errorf("write one of its fields by its path, or the whole as JSON: %w", err)
		}
		return v, nil
	}
	return s.readPlain(f, value)
}

func readMessages(v protoreflect.Value, value string) (protoreflect.Value, error) {
	var each []json.RawMessage
	err := json.Unmarshal([]byte(value), &each)
	for i := 0; err == nil && i < len(each); i++ {
		err = protojson.Unmarshal(each[i], v.List().AppendMutable().Message().Interface())
	}
	if err != nil {
		err = fmt.Errorf("is a list: write its entries' fields by their paths, or the whole as JSON: %w", err)
	}
	return v, err
}

func readTime(value string) (protoreflect.Value, error) {
	for _, layout := range []string{time.RFC3339, time.DateOnly} {
		if at, err := time.Parse(layout, value); err == nil {
			return protoreflect.ValueOfMessage(timestamppb.New(at).ProtoReflect()), nil
		}
	}
	return protoreflect.Value{}, fmt.Errorf("%q is no time: write 2026-11-20T09:00:00Z, or 2026-11-20", value)
}

func (s Setter) readPlain(f protoreflect.FieldDescriptor, value string) (protoreflect.Value, error) {
	if _, isName := collections[f.Name()]; isName || f.Kind() != protoreflect.StringKind {
		value = strings.TrimSpace(value) // spaces are a text's own, and nothing else's
	}
	switch f.Kind() {
	case protoreflect.DoubleKind:
		n, err := s.readNumber(string(f.Name()), value)
		return protoreflect.ValueOfFloat64(n), err
	case protoreflect.Int32Kind:
		n, err := strconv.ParseInt(value, 10, 32)
		if err != nil {
			return protoreflect.Value{}, fmt.Errorf("%q is no whole number", value)
		}
		return protoreflect.ValueOfInt32(int32(n)), nil
	case protoreflect.BoolKind:
		switch value {
		case "yes", "true":
			return protoreflect.ValueOfBool(true), nil
		case "no", "false":
			return protoreflect.ValueOfBool(false), nil
		}
		return protoreflect.Value{}, fmt.Errorf("is %q; write yes or no", value)
	case protoreflect.EnumKind:
		return readWord(f.Enum(), value)
	case protoreflect.StringKind:
		if of, ok := collections[f.Name()]; ok && !strings.Contains(value, "/") {
			value = s.Shop + "/" + of + "/" + value
		}
		if f.Name() == "subject" && !strings.HasPrefix(value, "shops/") { // of any collection
			value = s.Shop + "/" + value
		}
		return protoreflect.ValueOfString(value), nil
	}
	return protoreflect.Value{}, fmt.Errorf("cannot be typed here")
}

// readNumber reads a bare number in the unit of the field's name, or one with a unit of its own where that is a length's or an angle's.
func (s Setter) readNumber(name, value string) (float64, error) {
	if s.Decimal != nil {
		pointed, err := s.Decimal(value)
		if err != nil {
			return 0, err
		}
		value = pointed
	}
	n, err := strconv.ParseFloat(value, 64)
	switch {
	case err == nil && !math.IsNaN(n) && !math.IsInf(n, 0):
		return n, nil
	case strings.HasSuffix(name, "_mm"):
		l, err := unit.ParseLength(value)
		return l.Millimetres(), err
	case strings.HasSuffix(name, "_deg"):
		a, err := unit.ParseAngle(value)
		return a.Degrees(), err
	}
	return 0, fmt.Errorf("%q is no number", value)
}

// readWord reads an enum's value by its word or by its name in the schema.
func readWord(e protoreflect.EnumDescriptor, value string) (protoreflect.Value, error) {
	var words []string
	for i := range e.Values().Len() {
		v := e.Values().Get(i)
		if v.Number() == 0 {
			continue
		}
		w := word(e, v)
		if value == w || value == string(v.Name()) {
			return protoreflect.ValueOfEnum(v.Number()), nil
		}
		words = append(words, w)
	}
	return protoreflect.Value{}, fmt.Errorf("is %q; there are %s", value, strings.Join(words, ", "))
}
