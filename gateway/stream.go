package gateway

import (
	"errors"
	"io"
	"net/http"
	"strings"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	arrisv1 "arris.example/proto/arris/v1"
)

// Answers that come in pieces, many sheets as one file, take this one handler instead of the library's, which puts a line's end after every
// piece and, where something goes wrong, an error in the middle of the file. Here an error before the first piece is answered like any
// other; after it the connection breaks, so that nobody takes half a file for a whole one.

const (
	verbOfSheets = ":renderSheets"
	// longestFile is how long a file in pieces may take, when the caller does not ask for less with Grpc-Timeout.
	longestFile = 10 * time.Minute
	// slowestPiece is how long a piece may take on its way to the caller.
	slowestPiece = time.Minute
)

// timeFor is how long a call may take.
func (g *gateway) timeFor(path string) time.Duration {
	if strings.HasSuffix(path, verbOfSheets) {
		return max(g.timeout, longestFile)
	}
	return g.timeout
}

// registerFiles routes what is answered in pieces; what is registered last is found first.
func (g *gateway) registerFiles(conn grpc.ClientConnInterface) error {
	sheets := arrisv1.NewSheetServiceClient(conn)
	var errs []error
	for _, path := range []string{"/v1/{shop=shops/*}" + verbOfSheets, "/v1" + verbOfSheets} {
		errs = append(errs, g.mux.HandlePath(http.MethodPost, path, func(w http.ResponseWriter, r *http.Request, in map[string]string) {
			if err := g.sendSheets(w, r, in, sheets); err != nil {
				_, out := runtime.MarshalerForRequest(g.mux, r)
				g.onError(r.Context(), g.mux, out, w, r, err)
			}
		}))
	}
	return errors.Join(errs...)
}

// sendSheets answers with a file's pieces; the error is of a call that has not begun to answer.
func (g *gateway) sendSheets(w http.ResponseWriter, r *http.Request, in map[string]string, sheets arrisv1.SheetServiceClient) error {
	req := &arrisv1.RenderSheetsRequest{}
	reader, _ := runtime.MarshalerForRequest(g.mux, r)
	if err := reader.NewDecoder(r.Body).Decode(req); err != nil {
		return status.Error(codes.InvalidArgument, err.Error())
	}
	if shop, inPath := in["shop"]; inPath {
		req.Shop = shop
	}
	ctx, err := runtime.AnnotateContext(r.Context(), g.mux, r, arrisv1.SheetService_RenderSheets_FullMethodName)
	if err != nil {
		return err
	}
	pieces, err := sheets.RenderSheets(ctx, req)
	if err != nil {
		return err
	}
	first, err := pieces.Recv()
	if err != nil {
		return err
	}
	if err := contained(ctx, w, first); err != nil {
		return err
	}
	w.Header().Set("Content-Type", first.GetContentType())
	send(w, first, pieces.Recv)
	return nil
}

// send writes pieces as they come, and breaks the connection where the rest does not.
func send(w http.ResponseWriter, piece *httpbody.HttpBody, next func() (*httpbody.HttpBody, error)) {
	way := http.NewResponseController(w)
	for {
		_ = way.SetWriteDeadline(time.Now().Add(slowestPiece)) // a writer that knows no deadlines has none
		if _, err := w.Write(piece.GetData()); err != nil {
			panic(http.ErrAbortHandler) // the caller is gone
		}
		_ = way.Flush() // likewise
		var err error
		if piece, err = next(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			panic(http.ErrAbortHandler)
		}
	}
}
