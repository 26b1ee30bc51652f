package gateway

import (
	"bytes"
	"errors"
	"io"
	"mime"
	"net"
	"net/http"
	"reflect"
	"strings"
	"unicode/utf8"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// jsonCodec reads and writes the API's JSON: lowerCamelCase out with zeros said and no needless space, proto names accepted in,
// unknown fields refused.
type jsonCodec struct{ runtime.JSONPb }

func newJSON() *jsonCodec {
	return &jsonCodec{runtime.JSONPb{
		MarshalOptions:   protojson.MarshalOptions{EmitDefaultValues: true},
		UnmarshalOptions: protojson.UnmarshalOptions{DiscardUnknown: false},
	}}
}

// usualAnswer is how many bytes most answers fit in.
const usualAnswer = 4 << 10

// Marshal writes a message. protojson puts in spaces or not from build to build; here they always go.
func (j *jsonCodec) Marshal(v any) ([]byte, error) {
	message, ok := v.(proto.Message)
	if !ok { // the runtime's own envelope around an item of a stream
		text, err := j.JSONPb.Marshal(v)
		return compact(text), err
	}
	text, err := j.MarshalAppend(make([]byte, 0, usualAnswer), message)
	return compact(text), err
}

// compact drops, in place, the spaces outside strings from JSON that is known to be well formed. It is json.Compact without
// checking again what was just written.
func compact(text []byte) []byte {
	kept := text[:0]
	for rest := text; len(rest) > 0; {
		next := bytes.IndexAny(rest, "\" ")
		if next < 0 {
			return append(kept, rest...)
		}
		kept = append(kept, rest[:next]...)
		rest = rest[next:]
		if rest[0] == ' ' {
			rest = rest[1:]
			continue
		}
		end := stringEnd(rest)
		kept = append(kept, rest[:end]...)
		rest = rest[end:]
	}
	return kept
}

// stringEnd is how long the JSON string is that text begins with.
func stringEnd(text []byte) int {
	for i := 1; i < len(text); i++ {
		switch text[i] {
		case '\\':
			i++
		case '"':
			return i + 1
		}
	}
	return len(text)
}

// NewDecoder reads a request's body. What is wrong with it is kept in the body, from where the error handler takes it: the generated
// code in between would make plain text of it. Of a PATCH that code reads the body itself, so that there what is wrong travels as text.
func (j *jsonCodec) NewDecoder(r io.Reader) runtime.Decoder {
	return runtime.DecoderFunc(func(v any) error {
		message, whole, ok := messageIn(v)
		if !ok {
			return j.JSONPb.NewDecoder(r).Decode(v)
		}
		var refused *refusal
		if body, isRequest := r.(*requestBody); isRequest {
			body.refused = body.decode(j.UnmarshalOptions, message, whole)
			refused = body.refused
		} else {
			text, err := io.ReadAll(r)
			if err != nil {
				return err
			}
			if refused = decode(text, j.UnmarshalOptions, message); refused != nil {
				return refused.asText()
			}
		}
		if refused != nil {
			return errors.New(refused.message)
		}
		return nil
	})
}

// messageIn is the message that a body is read into, and whether it is the whole request: a record's body is one of its fields, of which the
// generated code gives the place.
func messageIn(v any) (message proto.Message, whole, ok bool) {
	if message, ok = v.(proto.Message); ok {
		return message, true, true
	}
	place := reflect.ValueOf(v)
	if place.Kind() != reflect.Pointer || place.Elem().Kind() != reflect.Pointer {
		return nil, false, false
	}
	if place.Elem().IsNil() {
		place.Elem().Set(reflect.New(place.Elem().Type().Elem()))
	}
	message, ok = place.Elem().Interface().(proto.Message)
	return message, false, ok
}

// requestBody is the body of a request that becomes a call.
type requestBody struct {
	io.ReadCloser
	request *http.Request
	largest int64
	refused *refusal
}

func (b *requestBody) decode(options protojson.UnmarshalOptions, message proto.Message, whole bool) *refusal {
	if wrong := b.wrongContent(); wrong != nil {
		return wrong
	}
	if whole {
		if wrong := b.wrongQuery(); wrong != nil {
			return wrong
		}
	}
	text, err := b.read()
	if err != nil {
		return b.unreadable(err)
	}
	return decode(text, options, message)
}

// decode reads a body's text into a message, and says everything that is wrong with it.
func decode(text []byte, options protojson.UnmarshalOptions, message proto.Message) *refusal {
	switch {
	case len(bytes.TrimSpace(text)) == 0:
		return one(violation("body", arrisv1.FieldReason_FIELD_REASON_MISSING, "is empty; send a JSON object, {} at least"))
	case !utf8.Valid(text):
		return one(violation("body", arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "is not UTF-8; JSON is"))
	}
	if err := options.Unmarshal(text, message); err != nil {
		found := invalid(explain(text, message.ProtoReflect().Descriptor(), err)...)
		return &found
	}
	return nil
}

func one(v violationProto) *refusal {
	r := invalid(v)
	return &r
}

// wrongContent refuses what is not said to be JSON.
func (b *requestBody) wrongContent() *refusal {
	kind := b.request.Header.Get("Content-Type")
	if kind == "" || isJSON(kind) {
		return nil
	}
	r := one(violation("Content-Type", arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "is %q; it must be application/json", kind))
	r.status = http.StatusUnsupportedMediaType
	return r
}

// wrongQuery refuses what a caller says outside a body that has everything: it would be overlooked, and an overlooked wish is a wrong answer.
func (b *requestBody) wrongQuery() *refusal {
	query := b.request.URL.RawQuery
	if query == "" {
		return nil
	}
	name, _, _ := strings.Cut(query, "=")
	return one(violation(shortened(name), arrisv1.FieldReason_FIELD_REASON_UNKNOWN_FIELD, "is in the query; say everything in the JSON body"))
}

// isJSON accepts JSON in UTF-8, which is the only JSON there is.
func isJSON(contentType string) bool {
	kind, params, err := mime.ParseMediaType(contentType)
	charset := params["charset"]
	return err == nil && kind == "application/json" && (charset == "" || strings.EqualFold(charset, "utf-8"))
}

func (b *requestBody) read() ([]byte, error) {
	if b.request.ContentLength > b.largest {
		return nil, &http.MaxBytesError{Limit: b.largest}
	}
	var buffer bytes.Buffer
	buffer.Grow(int(max(b.request.ContentLength, 0)) + bytes.MinRead)
	_, err := buffer.ReadFrom(b.ReadCloser)
	return buffer.Bytes(), err
}

// unreadable is the refusal of a body that did not arrive.
func (b *requestBody) unreadable(err error) *refusal {
	var tooLarge *http.MaxBytesError
	var network net.Error
	switch {
	case errors.As(err, &tooLarge):
		return &refusal{
			code: codes.ResourceExhausted, reason: arrisv1.Reason_REASON_BODY_TOO_LARGE,
			message: "the body has more than the " + count(tooLarge.Limit) + " bytes that are taken",
		}
	case errors.As(err, &network) && network.Timeout():
		return &refusal{
			code: codes.DeadlineExceeded, reason: arrisv1.Reason_REASON_TIMED_OUT, message: "the body did not arrive in time; send it again",
		}
	case b.request.Context().Err() != nil:
		return &refusal{code: codes.Canceled, reason: arrisv1.Reason_REASON_CANCELLED, message: "the caller gave up"}
	}
	return one(violation("body", arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "ends before it should; send it again"))
}
