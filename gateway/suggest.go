package gateway

import (
	"strings"

	"github.com/agnivade/levenshtein"
	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
)

// unknown says that there is no such field, and which one may be meant.
func (e *explainer) unknown(at, key string, in protoreflect.MessageDescriptor) {
	if field := otherUnit(key, in); field != nil {
		e.say(at, arrisv1.FieldReason_FIELD_REASON_WRONG_UNIT, "is in a unit that is not taken; say %s%s", field.JSONName(), unitHint(field.Name()))
		return
	}
	if field := nearest(key, in); field != nil {
		e.say(at, arrisv1.FieldReason_FIELD_REASON_UNKNOWN_FIELD, "is not known; did you mean %s?", field.JSONName())
		return
	}
	e.say(at, arrisv1.FieldReason_FIELD_REASON_UNKNOWN_FIELD, "is not known; known here are %s", jsonNames(in))
}

func jsonNames(m protoreflect.MessageDescriptor) string {
	const most = 16
	var names []string
	for i := range min(m.Fields().Len(), most) {
		names = append(names, m.Fields().Get(i).JSONName())
	}
	if m.Fields().Len() > most {
		names = append(names, "…")
	}
	if len(names) == 0 {
		return "no fields at all"
	}
	return strings.Join(names, ", ")
}

// units are the endings by which fields carry their unit.
var units = []struct{ ending, name string }{
	{"_mm_per_turn", "millimetres"}, {"_mm", "millimetres"}, {"_deg", "degrees"}, {"_rpm", "turns per minute"}, {"_mps", "metres per second"},
}

// otherUnits are endings that people write for units the API does not take, longest first.
var otherUnits = []string{"inches", "radians", "inch", "feet", "rad", "in", "cm", "ft", "um", "m"}

func unitHint(field protoreflect.Name) string {
	for _, u := range units {
		if strings.HasSuffix(string(field), u.ending) {
			return ", in " + u.name
		}
	}
	return ""
}

// otherUnit is the field that key would be if it ended in the unit the API takes.
func otherUnit(key string, in protoreflect.MessageDescriptor) protoreflect.FieldDescriptor {
	for i := range in.Fields().Len() {
		field := in.Fields().Get(i)
		for _, u := range units {
			stem, carries := strings.CutSuffix(string(field.Name()), u.ending)
			if !carries {
				continue
			}
			for _, other := range otherUnits {
				if flat(key) == flat(stem)+other {
					return field
				}
			}
		}
	}
	return nil
}

// flat is a name without the marks between its words, so that spelling styles compare alike.
func flat(name string) string { return strings.ToLower(strings.ReplaceAll(name, "_", "")) }

// nearest is the field whose name is least edits away, if that is at most a third of the name: nearer than chance.
func nearest(key string, in protoreflect.MessageDescriptor) protoreflect.FieldDescriptor {
	const longest = 64 // no field's name is as long
	if len(key) > longest {
		return nil
	}
	var best protoreflect.FieldDescriptor
	least := max(2, len(key)/3) + 1
	for i := range in.Fields().Len() {
		field := in.Fields().Get(i)
		if d := levenshtein.ComputeDistance(flat(key), flat(string(field.Name()))); d < least {
			best, least = field, d
		}
	}
	return best
}
