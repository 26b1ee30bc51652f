package gateway

import (
	"cmp"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	statusv1 "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/anypb"
	"google.golang.org/protobuf/types/known/durationpb"

	arrisv1 "arris.example/proto/arris/v1"
)

// domain is the domain of every ErrorInfo, the service's as well.
const domain = "arris.example"

// refusal is a no of the gateway's own, before or after the service had its say.
type refusal struct {
	code       codes.Code
	status     int // 0: what the code stands for
	reason     arrisv1.Reason
	message    string
	violations []violationProto
}

type violationProto = *errdetails.BadRequest_FieldViolation

// violation is one thing that is wrong, its field named as the caller wrote it.
func violation(field string, why arrisv1.FieldReason, format string, args ...any) violationProto {
	return &errdetails.BadRequest_FieldViolation{
		Field:       field,
		Reason:      strings.TrimPrefix(why.String(), "FIELD_REASON_"),
		Description: fmt.Sprintf(format, args...),
	}
}

// invalid refuses a request for everything that is wrong with it at once.
func invalid(violations ...violationProto) refusal {
	texts := make([]string, len(violations))
	for i, v := range violations {
		texts[i] = v.GetField() + ": " + v.GetDescription()
	}
	return refusal{
		code: codes.InvalidArgument, reason: arrisv1.Reason_REASON_INVALID_FIELD, message: strings.Join(texts, "; "), violations: violations,
	}
}

// textMark begins the text that a refusal travels as through code that keeps nothing of an error but its text.
const textMark = "violations of fields: "

// asText is a refusal of fields for such a journey.
func (no *refusal) asText() error {
	packed, err := proto.Marshal(&errdetails.BadRequest{FieldViolations: no.violations})
	if err != nil {
		return errors.New(no.message)
	}
	return errors.New(textMark + base64.StdEncoding.EncodeToString(packed))
}

// fromText is the refusal that arrived as text.
func fromText(text string) (refusal, bool) {
	packed, marked := strings.CutPrefix(text, textMark)
	all := &errdetails.BadRequest{}
	bytes, err := base64.StdEncoding.DecodeString(packed)
	if !marked || err != nil || proto.Unmarshal(bytes, all) != nil {
		return refusal{}, false
	}
	return invalid(all.GetFieldViolations()...), true
}

// unexplained are the refusals for statuses without a reason, made by the gRPC client between here and the service. Where there is
// no message, the status's own is told.
var unexplained = map[codes.Code]refusal{
	codes.Canceled:          {reason: arrisv1.Reason_REASON_CANCELLED, message: "the caller gave up"},
	codes.DeadlineExceeded:  {reason: arrisv1.Reason_REASON_TIMED_OUT, message: "the call's time ran out; allow more, or ask for less at once"},
	codes.Unavailable:       {reason: arrisv1.Reason_REASON_SERVICE_UNAVAILABLE, message: "the service takes no calls now; ask again soon"},
	codes.ResourceExhausted: {reason: arrisv1.Reason_REASON_BODY_TOO_LARGE},
	codes.InvalidArgument:   {reason: arrisv1.Reason_REASON_INVALID_FIELD},
	codes.NotFound:          {reason: arrisv1.Reason_REASON_NOT_FOUND},
	codes.Unimplemented:     {reason: arrisv1.Reason_REASON_NO_SUCH_METHOD},
}

// tryAgainAfter is what callers are told when the service is away.
const tryAgainAfter = time.Second

// onError answers every call that was not answered well.
func (g *gateway) onError(ctx context.Context, _ *runtime.ServeMux, _ runtime.Marshaler, w http.ResponseWriter, r *http.Request, err error) {
	if body, ok := r.Body.(*requestBody); ok && body.refused != nil {
		g.refuse(w, r, *body.refused)
		return
	}
	st := status.Convert(err)
	if no, ok := fromText(st.Message()); ok {
		g.refuse(w, r, no)
		return
	}
	var routed *runtime.HTTPStatusError
	if errors.As(err, &routed) && routed.HTTPStatus == http.StatusBadRequest {
		st = status.New(codes.InvalidArgument, routed.Error())
	}
	if hasReason(st) { // the service's own, logged and counted there
		writeStatus(w, st.Proto(), runtime.HTTPStatusFromCode(st.Code()))
		return
	}
	no, known := unexplained[st.Code()]
	if !known {
		g.log.ErrorContext(ctx, "call failed", "error", err, "request_id", r.Header.Get(requestIDHeader))
		g.refuse(w, r, refusal{code: codes.Internal, reason: arrisv1.Reason_REASON_INTERNAL, message: "something went wrong here that is not your fault"})
		return
	}
	no.code, no.message = st.Code(), cmp.Or(no.message, st.Message())
	g.refuse(w, r, no)
}

func hasReason(st *status.Status) bool {
	for _, detail := range st.Proto().GetDetails() {
		if detail.MessageIs((*errdetails.ErrorInfo)(nil)) {
			return true
		}
	}
	return false
}

// onRoutingError answers where no method is.
func (g *gateway) onRoutingError(
	_ context.Context, _ *runtime.ServeMux, _ runtime.Marshaler, w http.ResponseWriter, r *http.Request, httpStatus int,
) {
	if allowed := g.routes.allowed(r.URL.Path); httpStatus == http.StatusMethodNotAllowed && len(allowed) > 0 {
		g.wrongMethod(w, r, allowed...)
		return
	}
	g.refuse(w, r, refusal{
		code: codes.NotFound, reason: arrisv1.Reason_REASON_NO_SUCH_METHOD,
		message: fmt.Sprintf("there is nothing at %q; /openapi.json lists what there is, /docs/ shows it", shortened(r.URL.Path)),
	})
}

func (g *gateway) wrongMethod(w http.ResponseWriter, r *http.Request, allowed ...string) {
	w.Header().Set("Allow", strings.Join(allowed, ", "))
	g.refuse(w, r, refusal{
		code: codes.Unimplemented, status: http.StatusMethodNotAllowed, reason: arrisv1.Reason_REASON_NO_SUCH_METHOD,
		message: fmt.Sprintf("%s is not for this path; use %s", shortened(r.Method), strings.Join(allowed, " or ")),
	})
}

// refuse logs, counts and answers a refusal of the gateway's own.
func (g *gateway) refuse(w http.ResponseWriter, r *http.Request, no refusal) {
	id, reason := r.Header.Get(requestIDHeader), strings.TrimPrefix(no.reason.String(), "REASON_")
	g.refusals.WithLabelValues(reason).Inc()
	g.log.InfoContext(r.Context(), "refused by the gateway", "code", no.code.String(), "reason", reason, "request_id", id)
	details := []proto.Message{&errdetails.ErrorInfo{Reason: reason, Domain: domain, Metadata: map[string]string{"request_id": id}}}
	if len(no.violations) > 0 {
		details = append(details, &errdetails.BadRequest{FieldViolations: no.violations})
	}
	if no.code == codes.Unavailable {
		details = append(details, &errdetails.RetryInfo{RetryDelay: durationpb.New(tryAgainAfter)})
	}
	answer := &statusv1.Status{Code: int32(no.code), Message: no.message}
	for _, detail := range details {
		if packed, err := anypb.New(detail); err == nil { // it always is: all are plain messages
			answer.Details = append(answer.Details, packed)
		}
	}
	httpStatus := no.status
	if httpStatus == 0 {
		httpStatus = runtime.HTTPStatusFromCode(no.code)
	}
	writeStatus(w, answer, httpStatus)
}

// writeStatus writes a google.rpc.Status as the answer.
func writeStatus(w http.ResponseWriter, answer *statusv1.Status, httpStatus int) {
	text, err := newJSON().Marshal(answer)
	if err != nil { // a detail of a type that this program does not know
		answer = withoutUnknownDetails(answer)
		text, err = newJSON().Marshal(answer)
	}
	if err != nil {
		http.Error(w, "{}", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Length", strconv.Itoa(len(text)))
	if wait := retryAfter(answer); wait != "" {
		w.Header().Set("Retry-After", wait)
	}
	w.WriteHeader(httpStatus)
	_, _ = w.Write(text) // a caller who is gone cannot be told
}

func withoutUnknownDetails(st *statusv1.Status) *statusv1.Status {
	known := &statusv1.Status{Code: st.GetCode(), Message: st.GetMessage()}
	for _, detail := range st.GetDetails() {
		if _, err := detail.UnmarshalNew(); err == nil {
			known.Details = append(known.Details, detail)
		}
	}
	return known
}

// retryAfter is the wait of a RetryInfo in whole seconds, rounded up.
func retryAfter(st *statusv1.Status) string {
	for _, detail := range st.GetDetails() {
		var retry errdetails.RetryInfo
		if detail.MessageIs(&retry) && detail.UnmarshalTo(&retry) == nil {
			wait := retry.GetRetryDelay()
			seconds := wait.GetSeconds()
			if wait.GetNanos() > 0 {
				seconds++
			}
			return count(seconds)
		}
	}
	return ""
}

func count(n int64) string { return strconv.FormatInt(n, 10) }

// shortened keeps an answer from repeating a long mistake in full.
func shortened(s string) string {
	const most = 60
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return s
}
