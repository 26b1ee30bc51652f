package gateway

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"

	"buf.build/go/protovalidate"
	"github.com/grpc-ecosystem/grpc-gateway/v2/utilities"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// kioskPage is where codes on paper lead, as seen from their own path, so that a prefix put before all of them stays.
const kioskPage = "kiosk/"

// longestCode is more than any code on paper holds.
const longestCode = 2000

// codePage leads what a code on paper holds to the kiosk's page, which then asks the API with the same fields: `/s?shop=main&…` to
// `/kiosk/#sheet?shop=main&…`. It leads nowhere else, and lets nothing through that the request it stands for would not take.
func (g *gateway) codePage(view string, request func() proto.Message) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if len(r.URL.RawQuery) > longestCode {
			g.refuse(w, r, invalid(violation("query", arrisv1.FieldReason_FIELD_REASON_TOO_LONG, "has %d letters; no code has more than %d", len(r.URL.RawQuery), longestCode)))
			return
		}
		query, err := url.ParseQuery(r.URL.RawQuery)
		if err == nil {
			err = fitsRequest(query, request())
		}
		if err != nil {
			g.refuse(w, r, invalid(violation("query", arrisv1.FieldReason_FIELD_REASON_BAD_FORM, "is of no code of ours: %s", err)))
			return
		}
		w.Header().Set("Location", kioskPage+"#"+view+"?"+query.Encode())
		w.WriteHeader(http.StatusSeeOther)
	})
}

// fitsRequest holds a code's query to what its request declares. In a code the shop is its id alone.
func fitsRequest(query url.Values, request proto.Message) error {
	named := url.Values{}
	for key, values := range query {
		if len(values) != 1 {
			return fmt.Errorf("%s is said %d times", key, len(values))
		}
		named[key] = values
	}
	named.Set("shop", "shops/"+query.Get("shop"))
	if err := (&queryParser{}).Parse(request, named, utilities.NewDoubleArray(nil)); err != nil {
		if no, ok := fromText(err.Error()); ok {
			return errors.New(no.message)
		}
		return err
	}
	return protovalidate.Validate(request)
}
