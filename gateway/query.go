package gateway

import (
	"maps"
	"net/url"
	"slices"
	"strings"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"github.com/grpc-ecosystem/grpc-gateway/v2/utilities"
	"google.golang.org/protobuf/proto"
)

// queryParser reads a request's query, and refuses fields that the request does not have: the library passes them over, and a list whose
// filter is misspelt would be the whole list.
type queryParser struct{ runtime.DefaultQueryParser }

// Parse reads the query into the message.
func (q *queryParser) Parse(message proto.Message, values url.Values, filter *utilities.DoubleArray) error {
	var e explainer
	of := message.ProtoReflect().Descriptor()
	for _, key := range slices.Sorted(maps.Keys(values)) {
		if name, _, _ := strings.Cut(key, "."); fieldOf(of, name) == nil {
			e.unknown(key, name, of)
		}
	}
	if len(e.found) > 0 {
		no := invalid(e.found...)
		return no.asText()
	}
	return q.DefaultQueryParser.Parse(message, values, filter)
}
