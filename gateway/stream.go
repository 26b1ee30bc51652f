package gateway

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strings"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"github.com/grpc-ecosystem/grpc-gateway/v2/utilities"
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
	verbOfVolume = ":download"
	verbOfWait   = ":wait"
	// longestFile is how long a file in pieces may take, when the caller does not ask for less with Grpc-Timeout.
	longestFile = 10 * time.Minute
	// slowestPiece is how long a piece may take on its way to the caller.
	slowestPiece = time.Minute
	// longestWait is more than anybody may ask to wait for an operation.
	longestWait = 40 * time.Second
)

// timeFor is how long a call may take.
func (g *gateway) timeFor(path string) time.Duration {
	switch {
	case strings.HasSuffix(path, verbOfSheets), strings.HasSuffix(path, verbOfVolume):
		return max(g.timeout, longestFile)
	case strings.HasSuffix(path, verbOfWait):
		return max(g.timeout, longestWait)
	}
	return g.timeout
}

// pieces are a file's, as they come.
type pieces = grpc.ServerStreamingClient[httpbody.HttpBody]

// file is a method that answers with a file in pieces: its route, and how it is asked with a request's body and what its path names.
type file struct {
	verb, path, method string
	ask                func(ctx context.Context, r *http.Request, in map[string]string) (pieces, error)
}

// files are all methods that answer in pieces.
func (g *gateway) files(conn grpc.ClientConnInterface) []file {
	sheets, operations := arrisv1.NewSheetServiceClient(conn), arrisv1.NewOperationServiceClient(conn)
	render := func(ctx context.Context, r *http.Request, in map[string]string) (pieces, error) {
		req := &arrisv1.RenderSheetsRequest{}
		reader, _ := runtime.MarshalerForRequest(g.mux, r)
		if err := reader.NewDecoder(r.Body).Decode(req); err != nil {
			return nil, status.Error(codes.InvalidArgument, err.Error())
		}
		if shop, inPath := in["shop"]; inPath {
			req.Shop = shop
		}
		return sheets.RenderSheets(ctx, req)
	}
	download := func(ctx context.Context, r *http.Request, in map[string]string) (pieces, error) {
		req := &arrisv1.DownloadVolumeRequest{Name: in["name"]}
		inPath := utilities.NewDoubleArray([][]string{{"name"}})
		if err := runtime.PopulateQueryParameters(req, r.URL.Query(), inPath); err != nil {
			return nil, status.Error(codes.InvalidArgument, err.Error())
		}
		return operations.DownloadVolume(ctx, req)
	}
	return []file{
		{http.MethodPost, "/v1/{shop=shops/*}" + verbOfSheets, arrisv1.SheetService_RenderSheets_FullMethodName, render},
		{http.MethodPost, "/v1" + verbOfSheets, arrisv1.SheetService_RenderSheets_FullMethodName, render},
		{http.MethodGet, "/v1/{name=shops/*/operations/*/volumes/*}" + verbOfVolume, arrisv1.OperationService_DownloadVolume_FullMethodName, download},
	}
}

// registerFiles routes what is answered in pieces; what is registered last is found first.
func (g *gateway) registerFiles(conn grpc.ClientConnInterface) error {
	var errs []error
	for _, f := range g.files(conn) {
		errs = append(errs, g.mux.HandlePath(f.verb, f.path, func(w http.ResponseWriter, r *http.Request, in map[string]string) {
			if err := g.sendFile(w, r, in, f); err != nil {
				_, out := runtime.MarshalerForRequest(g.mux, r)
				g.onError(r.Context(), g.mux, out, w, r, err)
			}
		}))
	}
	return errors.Join(errs...)
}

// sendFile answers with a file's pieces; the error is of a call that has not begun to answer.
func (g *gateway) sendFile(w http.ResponseWriter, r *http.Request, in map[string]string, f file) error {
	ctx, err := runtime.AnnotateContext(r.Context(), g.mux, r, f.method)
	if err != nil {
		return err
	}
	all, err := f.ask(ctx, r, in)
	if err != nil {
		return err
	}
	first, err := all.Recv()
	if err != nil {
		return err
	}
	if err := contained(ctx, w, first); err != nil {
		return err
	}
	if _, number, isVolume := strings.Cut(in["name"], "/volumes/"); isVolume {
		w.Header().Set("Content-Disposition", "inline; filename=sheets-"+number+".pdf")
	}
	w.Header().Set("Content-Type", first.GetContentType())
	send(w, first, all.Recv)
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
