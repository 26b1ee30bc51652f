package gateway

import (
	"compress/gzip"
	"net/http"

	"github.com/klauspost/compress/gzhttp"
)

// worthPacking is how many bytes an answer has before it is compressed: fewer are with the caller in TCP's first flight, ten segments
// (RFC 6928), so that packing them costs time and saves none.
const worthPacking = 14_000

// packed compresses large answers of JSON for whoever takes that. Files are passed on as they are: PDF is compressed already.
func packed(h http.Handler) (http.Handler, error) {
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(worthPacking), gzhttp.CompressionLevel(gzip.BestSpeed), gzhttp.EnableZstd(false),
		gzhttp.ContentTypes([]string{"application/json"}))
	if err != nil {
		return nil, err
	}
	return wrap(h), nil
}
