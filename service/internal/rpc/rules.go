package rpc

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/dynamicpb"

	"arris.example/service/internal/fault"
)

// rules checks requests against what their schema declares.
type rules struct{ validator protovalidate.Validator }

// newRules compiles the rules of every request of the services, so that the first caller does not wait for it; or, for one call, none yet.
func newRules(services []protoreflect.ServiceDescriptor, oneCall bool) (*rules, error) {
	if oneCall {
		validator, err := protovalidate.New()
		return &rules{validator}, err
	}
	var requests []protoreflect.MessageDescriptor
	for _, service := range services {
		for i := range service.Methods().Len() {
			requests = append(requests, service.Methods().Get(i).Input())
		}
	}
	validator, err := protovalidate.New(protovalidate.WithMessageDescriptors(requests...))
	if err != nil {
		return nil, fmt.Errorf("the schema's rules do not compile: %w", err)
	}
	r := &rules{validator}
	for _, request := range requests { // the validator keeps quiet about rules that do not compile until they are used
		if err := r.check(dynamicpb.NewMessage(request)); errors.As(err, new(*protovalidate.CompilationError)) {
			return nil, fmt.Errorf("the rules of %s do not compile: %w", request.FullName(), err)
		}
	}
	return r, nil
}

// check says everything that is wrong with a request at once, or nothing.
func (r *rules) check(req any) error {
	switch req := req.(type) {
	case *fault.Fault: // it could not even be read
		return req
	case writing:
		return asFault(req, tidy("", req.ProtoReflect()), r.validator.Validate(req))
	case proto.Message:
		return asFault(req, nil, r.validator.Validate(req))
	}
	return nil
}

// asFault adds what the validator found and makes of all one fault with a violation for each field.
func asFault(req proto.Message, violations []fault.Violation, err error) error {
	var found *protovalidate.ValidationError
	switch {
	case errors.As(err, &found):
		for _, v := range found.Violations {
			violations = append(violations, violationOf(req.ProtoReflect().Descriptor(), v))
		}
	case err != nil:
		return &fault.Fault{Op: "validate", Kind: fault.Internal, Reason: fault.Mistake, Cause: err}
	}
	if len(violations) == 0 {
		return nil
	}
	return invalid(onePerField(violations))
}

// invalid is one fault about several fields.
func invalid(violations []fault.Violation) *fault.Fault {
	texts := make([]string, len(violations))
	for i, v := range violations {
		texts[i] = strings.TrimPrefix(v.Field+": "+v.Text, ": ")
	}
	return &fault.Fault{
		Kind: fault.BadRequest, Reason: fault.InvalidField, Message: strings.Join(texts, "; "), Violations: violations,
	}
}

// onePerField keeps the first thing that is wrong with a field: not a number is also out of every range, and too long is
// also of the wrong form.
func onePerField(all []fault.Violation) []fault.Violation {
	var kept []fault.Violation
	for _, v := range all {
		same := func(other fault.Violation) bool { return other.Field == v.Field }
		at := slices.IndexFunc(kept, same)
		switch {
		case at < 0:
			kept = append(kept, v)
		case v.Reason == fault.NotFinite:
			kept[at] = v
		}
	}
	return kept
}

// violationOf says what is wrong with a field in our own words: value, limit, and what would work.
func violationOf(request protoreflect.MessageDescriptor, v *protovalidate.Violation) fault.Violation {
	owner, last := ownerOf(request, v.Proto.GetField().GetElements())
	if choice := owner.Oneofs().ByName(last); choice != nil && v.Proto.GetRuleId() == "required" {
		return missingChoice(choice, v)
	}
	path := protovalidate.FieldPathString(v.Proto.GetField())
	why, known := reasonByRule(v)
	if !known { // a rule across fields: it says in the schema what it wants
		why = fault.Contradiction
		if slices.Contains(needing, v.Proto.GetRuleId()) {
			why = fault.Missing
		}
		return fault.Violation{Field: path, Reason: why, Text: v.Proto.GetMessage()}
	}
	return fault.Violation{Field: path, Reason: why, Text: textOf(why, wrong{v, owner.Fields().ByName(last)})}
}

// needing are the rules across fields that are broken by what is not said alone.
var needing = []string{"measured_or_dressed", "sliding_platform_has_a_tilt", "platform_described_whole"}

// ownerOf follows a path to the message that holds its last name.
func ownerOf(request protoreflect.MessageDescriptor, path []*validate.FieldPathElement) (protoreflect.MessageDescriptor, protoreflect.Name) {
	if len(path) == 0 {
		return request, ""
	}
	name := protoreflect.Name(path[0].GetFieldName())
	if len(path) == 1 {
		return request, name
	}
	return ownerOf(request.Fields().ByName(name).Message(), path[1:])
}

// reasonByRule is the reason for a standard rule's violation; other rules are not known.
func reasonByRule(v *protovalidate.Violation) (fault.FieldReason, bool) {
	kind, leaf, _ := strings.Cut(v.Proto.GetRuleId(), ".")
	switch leaf {
	case "finite":
		return fault.NotFinite, true
	case "pattern", "prefix", "suffix", "contains":
		return fault.BadForm, true
	case "max_len", "max_bytes", "max_items", "max_pairs":
		return fault.TooLong, true
	case "min_len", "min_items":
		return fault.Missing, true
	case "unique":
		return fault.Contradiction, true
	case "defined_only", "in":
		return fault.UnknownValue, true
	case "not_in":
		if kind == "enum" { // the one value that lists leave out is the one that says nothing
			return fault.Missing, true
		}
		return fault.UnknownValue, true
	case "":
		return fault.Missing, kind == "required"
	}
	if slices.Contains([]string{"double", "float", "int32", "int64", "uint32", "uint64", "timestamp", "duration"}, kind) {
		return fault.OutOfRange, true
	}
	return "", false
}

// missingChoice is the violation of a choice that was not made. It is put to the message that has to make it.
func missingChoice(choice protoreflect.OneofDescriptor, v *protovalidate.Violation) fault.Violation {
	elements := v.Proto.GetField().GetElements()
	path := protovalidate.FieldPathString(validate.FieldPath_builder{Elements: elements[:len(elements)-1]}.Build())
	if path == "" {
		path = string(choice.Name())
	}
	return fault.Violation{Field: path, Reason: fault.Missing, Text: "say one of " + namesOf(choice.Fields())}
}

func namesOf(fields protoreflect.FieldDescriptors) string {
	names := make([]string, fields.Len())
	for i := range names {
		names[i] = string(fields.Get(i).Name())
	}
	return strings.Join(names, ", ")
}
