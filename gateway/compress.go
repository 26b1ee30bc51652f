package gateway

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"strconv"
	"strings"
	"sync"
)

// worthPacking is how many bytes an answer has before it is compressed: fewer are with the caller in TCP's first flight, ten segments
// (RFC 6928), so that packing them costs time and saves none.
const worthPacking = 14_000

// packing compresses an answer of JSON that is large and written at once. All else, pieces too, passes as it is.
type packing struct {
	http.ResponseWriter
	begun bool
}

// packed gives a writer that compresses, where the caller takes that.
func packed(w http.ResponseWriter, r *http.Request) http.ResponseWriter {
	if accepted(strings.Join(r.Header.Values("Accept-Encoding"), ","), "gzip") {
		return &packing{ResponseWriter: w}
	}
	return w
}

// Unwrap is for http.ResponseController: what is written in pieces is flushed.
func (p *packing) Unwrap() http.ResponseWriter { return p.ResponseWriter }

// WriteHeader begins an answer that is not packed.
func (p *packing) WriteHeader(status int) {
	p.begun = true
	p.ResponseWriter.WriteHeader(status)
}

func (p *packing) Write(answer []byte) (int, error) {
	whole := !p.begun && p.Header().Get("Content-Length") == strconv.Itoa(len(answer))
	p.begun = true
	if !whole || len(answer) < worthPacking || p.Header().Get("Content-Type") != "application/json" {
		return p.ResponseWriter.Write(answer)
	}
	small := gzipped(answer)
	p.Header().Set("Content-Encoding", "gzip")
	p.Header().Add("Vary", "Accept-Encoding")
	p.Header().Set("Content-Length", strconv.Itoa(len(small)))
	if _, err := p.ResponseWriter.Write(small); err != nil {
		return 0, err
	}
	return len(answer), nil
}

var packers = sync.Pool{New: func() any {
	w, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed) // only an unknown level fails
	return w
}}

func gzipped(text []byte) []byte {
	var small bytes.Buffer
	w := packers.Get().(*gzip.Writer) //nolint:errcheck,forcetypeassert // nothing else is put there
	defer packers.Put(w)
	w.Reset(&small)
	_, _ = w.Write(text) // into memory
	_ = w.Close()
	return small.Bytes()
}
