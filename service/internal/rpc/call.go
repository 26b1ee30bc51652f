package rpc

import (
	"context"
	"crypto/rand"
	"log/slog"
	"regexp"
	"strings"
	"time"

	"google.golang.org/grpc/metadata"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
)

// requestIDKey is the metadata key a request id comes and goes under.
const requestIDKey = "x-request-id"

// call is what is known of one call besides its request. The method fills in its part with Note; one call is served by one
// goroutine, so nothing is locked.
type call struct {
	chain *Interceptors
	id    string
	noted bool
	about Calculation
}

type callKey struct{}

func (c *call) header() metadata.MD { return metadata.MD{requestIDKey: {c.id}} }

// Calculation is what a calculation was about, as far as metrics and log care.
type Calculation struct {
	Tool    arrisv1.ToolKind
	Support Support
}

// Support is the kind of support, one of a few so that the metrics stay small.
type Support string

// The kinds of support. AnySupport is a bare distance from the wheel.
const (
	AnySupport Support = "any"
	Bar        Support = "bar"
	Pocket     Support = "pocket"
	Platform   Support = "platform"
)

// Note says what this call calculates, as soon as the method knows. Outside a call it does nothing.
func Note(ctx context.Context, about Calculation) {
	if call, ok := ctx.Value(callKey{}).(*call); ok {
		call.noted, call.about = true, about
	}
}

// RequestID is the id of the call that ctx belongs to, empty outside one.
func RequestID(ctx context.Context) string {
	if call, ok := ctx.Value(callKey{}).(*call); ok {
		return call.id
	}
	return ""
}

// personKey is the metadata key of the opaque id of whoever calls.
const personKey = "x-arris-person"

// Person is the opaque id of whoever calls; empty where nobody said, or said something that is no id.
func Person(ctx context.Context) string {
	if given := metadata.ValueFromIncomingContext(ctx, personKey); len(given) == 1 && saneID.MatchString(given[0]) {
		return given[0]
	}
	return ""
}

// kind is the calculation as a label: `bowl_gouge/pocket`. It takes no more values than there are kinds.
func (c *call) kind() string {
	if !c.noted {
		return "unknown"
	}
	return toolLabel(c.about.Tool) + "/" + supportLabel(c.about.Support)
}

func toolLabel(kind arrisv1.ToolKind) string {
	if name, ok := arrisv1.ToolKind_name[int32(kind)]; ok {
		return strings.ToLower(strings.TrimPrefix(name, "TOOL_KIND_"))
	}
	return "other"
}

func supportLabel(s Support) string {
	switch s {
	case AnySupport, Bar, Pocket, Platform:
		return string(s)
	}
	return "other"
}

// saneID is what a caller's own request id must look like: it goes into logs and headers.
var saneID = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._:-]{0,63}$`)

// requestID is the caller's id if it is sane, otherwise a new one.
func requestID(ctx context.Context) string {
	if given := metadata.ValueFromIncomingContext(ctx, requestIDKey); len(given) == 1 && saneID.MatchString(given[0]) {
		return given[0]
	}
	return rand.Text()
}

// logCall writes one line for the call: no bodies, and causes only where the fault is ours.
func (i *Interceptors) logCall(ctx context.Context, method string, call *call, refused *fault.Fault, took time.Duration) {
	level := levelOf(method, refused)
	if !i.log.Enabled(ctx, level) {
		return
	}
	attrs := make([]slog.Attr, 0, 8)
	attrs = append(attrs, slog.String("method", method), slog.String("code", codeOf(refused).String()))
	if refused != nil {
		attrs = append(attrs, slog.String("reason", string(refused.Reason)))
	}
	attrs = append(attrs, slog.Duration("took", took), slog.String("request_id", call.id))
	if call.noted {
		attrs = append(attrs, slog.String("kind", call.kind()))
	}
	if level >= slog.LevelWarn {
		attrs = append(attrs, causeAttrs(refused)...)
	}
	i.log.LogAttrs(ctx, level, "call", attrs...)
}

// levelOf is how loud a call is: a prober's questions are a whisper, what the caller did wrong is ordinary, what we did wrong is not.
func levelOf(method string, refused *fault.Fault) slog.Level {
	switch {
	case refused == nil && strings.HasPrefix(method, "/grpc.health."):
		return slog.LevelDebug
	case refused == nil:
		return slog.LevelInfo
	case refused.Kind == fault.Internal:
		return slog.LevelError
	case refused.Kind == fault.Unavailable:
		return slog.LevelWarn
	}
	return slog.LevelInfo
}
