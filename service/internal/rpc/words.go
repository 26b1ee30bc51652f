package rpc

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/service/internal/fault"
)

// wrong is a violation with the field it is about; of a list's item the list.
type wrong struct {
	*protovalidate.Violation
	field protoreflect.FieldDescriptor
}

// textOf is a violation for people: the value, the limit, and with it what would work.
func textOf(why fault.FieldReason, v wrong) string {
	field, declared := v.field, declaredFor(v)
	switch why {
	case fault.NotFinite:
		return fmt.Sprintf("is %s; it must be a finite number, %s", valueText(v), rangeText(declared, field))
	case fault.OutOfRange:
		return fmt.Sprintf("is %s; it must be %s", valueText(v), rangeText(declared, field))
	case fault.TooLong:
		return tooLongText(v)
	case fault.BadForm:
		return fmt.Sprintf("is %s; it must %s", valueText(v), formText(v.RuleValue.String(), declared))
	case fault.UnknownValue, fault.Missing:
		return choiceText(why, v)
	case fault.Contradiction:
		return "says the same thing twice; say each once"
	default: // no declared rule stands for the others
		return v.Proto.GetMessage()
	}
}

// declaredFor is the rules of the field, or of its items where an item is at fault.
func declaredFor(v wrong) *validate.FieldRules {
	declared, _ := proto.GetExtension(v.field.Options(), validate.E_Field).(*validate.FieldRules)
	if items := declared.GetRepeated().GetItems(); items != nil {
		return items
	}
	return declared
}

func valueText(v wrong) string {
	switch value := v.FieldValue.Interface().(type) {
	case float64:
		if math.IsNaN(value) || math.IsInf(value, 0) {
			return number(value)
		}
		return number(value) + unitOf(v.field)
	case string:
		return strconv.Quote(shortened(value))
	case protoreflect.Message:
		if t, ok := value.Interface().(*timestamppb.Timestamp); ok {
			return t.AsTime().Format(time.RFC3339)
		}
		if d, ok := value.Interface().(*durationpb.Duration); ok {
			return d.AsDuration().String()
		}
		return "a " + string(value.Descriptor().Name())
	default:
		return shortened(fmt.Sprint(value))
	}
}

// shortened keeps an answer from repeating a long mistake in full.
func shortened(s string) string {
	const most = 60
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return s
}

// units are the endings of names that carry a unit, longest first where one ends another.
var units = []struct{ ending, text string }{
	{"_mm_per_turn", " mm"}, {"_mm", " mm"}, {"_deg", "°"}, {"_rpm", " rpm"}, {"_mps", " m/s"},
}

func unitOf(field protoreflect.FieldDescriptor) string {
	for _, u := range units {
		if strings.HasSuffix(string(field.Name()), u.ending) {
			return u.text
		}
	}
	return ""
}

// rangeText is the range a number must lie in: `from 20 to 2000 mm`, `above 0 and at most 90°`.
func rangeText(declared *validate.FieldRules, field protoreflect.FieldDescriptor) string {
	if t := declared.GetTimestamp(); t != nil {
		return fmt.Sprintf("a time in the years %d to %d", t.GetGte().AsTime().Year(), t.GetLte().AsTime().Year())
	}
	if d := declared.GetDuration(); d != nil {
		return fmt.Sprintf("from %v to %v", d.GetGte().AsDuration(), d.GetLte().AsDuration())
	}
	if n := declared.GetInt32(); n.HasGte() && n.HasLte() {
		return fmt.Sprintf("a whole number from %d to %d", n.GetGte(), n.GetLte())
	}
	r, unit := declared.GetDouble(), unitOf(field)
	if r.HasGte() && r.HasLte() {
		return fmt.Sprintf("from %s to %s%s", number(r.GetGte()), number(r.GetLte()), unit)
	}
	var bounds []string
	switch {
	case r.HasGte():
		bounds = append(bounds, "at least "+number(r.GetGte())+unit)
	case r.HasGt():
		bounds = append(bounds, "above "+number(r.GetGt())+unit)
	}
	switch {
	case r.HasLte():
		bounds = append(bounds, "at most "+number(r.GetLte())+unit)
	case r.HasLt():
		bounds = append(bounds, "below "+number(r.GetLt())+unit)
	}
	if len(bounds) == 0 {
		return "a number"
	}
	return strings.Join(bounds, " and ")
}

// forms are declared forms in words.
var forms = map[string]string{
	"^([a-z]([a-z0-9-]{0,61}[a-z0-9])?)?$":       idForm,
	"^[a-z]([a-z0-9-]{0,61}[a-z0-9])?$":          idForm,
	"^[a-z]([a-z0-9.-]{0,61}[a-z0-9])?$":         "be small letters, digits, hyphens and dots, a letter first, like inventory",
	"^(shops/[a-z]([a-z0-9-]{0,61}[a-z0-9])?)?$": "be like shops/main",
	"^[!-~]*$":           "be letters, digits and signs of ASCII, without spaces",
	"^[A-Za-z0-9_+/-]*$": "be a name of the IANA time zones, like Europe/Vienna",
	"^([A-Z]{1,4}[ -]?[0-9]{1,4}(/[A-Z]?[0-9]{1,4})?)?$": "be the series and the number as printed, like F80 or B151",
}

const idForm = "be small letters, digits and hyphens, a letter first and no hyphen last, up to 63, like north-fine"

// formText is a form for people: in words, or by its example; the pattern itself is in the API's description.
func formText(pattern string, declared *validate.FieldRules) string {
	if words, known := forms[pattern]; known {
		return words
	}
	if examples := declared.GetString().GetExample(); len(examples) > 0 {
		return "be like " + examples[0] + ", in small letters, digits and hyphens"
	}
	return "have the form " + pattern
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

func tooLongText(v wrong) string {
	if list, ok := v.FieldValue.Interface().(protoreflect.List); ok {
		return fmt.Sprintf("has %d items; at most %v are taken", list.Len(), v.RuleValue.Interface())
	}
	if s, ok := v.FieldValue.Interface().(string); ok {
		return fmt.Sprintf("has %d characters; at most %v are taken", len([]rune(s)), v.RuleValue.Interface())
	}
	return fmt.Sprintf("is too long; at most %v are taken", v.RuleValue.Interface())
}

// choiceText says what may be said: the values where they are a list, the range of a number.
func choiceText(why fault.FieldReason, v wrong) string {
	said := "is not said; it is needed"
	if why == fault.UnknownValue {
		said = "is " + valueText(v) + ", which is not one of its values"
	}
	if choices := choicesOf(v); choices != "" {
		return said + "; say one of " + choices
	}
	if declared := declaredFor(v); declared.HasDouble() {
		return said + ", " + rangeText(declared, v.field)
	}
	return said
}

func choicesOf(v wrong) string {
	if enum := v.field.Enum(); enum != nil {
		var names []string
		for i := range enum.Values().Len() {
			if value := enum.Values().Get(i); value.Number() != 0 {
				names = append(names, string(value.Name()))
			}
		}
		return strings.Join(names, ", ")
	}
	var quoted []string
	for _, choice := range declaredFor(v).GetString().GetIn() {
		quoted = append(quoted, strconv.Quote(choice))
	}
	return strings.Join(quoted, ", ")
}
