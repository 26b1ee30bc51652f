package rpc

import (
	"context"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
)

func TestEveryKindHasItsCode(t *testing.T) {
	for kind, want := range map[fault.Kind]codes.Code{
		fault.Internal:     codes.Internal,
		fault.BadRequest:   codes.InvalidArgument,
		fault.Impossible:   codes.FailedPrecondition,
		fault.NotFound:     codes.NotFound,
		fault.TooMuch:      codes.ResourceExhausted,
		fault.Unavailable:  codes.Unavailable,
		fault.Cancelled:    codes.Canceled,
		fault.TimedOut:     codes.DeadlineExceeded,
		fault.NoSuchMethod: codes.Unimplemented,
		fault.Conflict:     codes.Aborted,
		fault.Exists:       codes.AlreadyExists,
		fault.Forbidden:    codes.PermissionDenied,
	} {
		if got := codeOf(&fault.Fault{Kind: kind}); got != want {
			t.Errorf("kind %d: code %v, want %v", kind, got, want)
		}
	}
	if len(codeTable) != int(fault.Forbidden)+1 {
		t.Errorf("%d kinds are in the table and %d are declared", len(codeTable), fault.Forbidden+1)
	}
	if got := codeOf(&fault.Fault{Kind: 99}); got != codes.Internal {
		t.Errorf("a kind nobody declared: %v, want Internal", got)
	}
}

// A reason that the schema does not list could not be looked up by those who get it.
func TestEveryReasonIsInTheSchema(t *testing.T) {
	lists := map[string]struct {
		prefix string
		values map[string]int32
	}{
		"Reason":      {"REASON_", arrisv1.Reason_value},
		"FieldReason": {"FIELD_REASON_", arrisv1.FieldReason_value},
	}
	found := map[string]int{}
	for where, texts := range reasonsBelow(t, "..") {
		list := lists[where.list]
		for _, text := range texts {
			found[where.list]++
			if _, ok := list.values[list.prefix+text]; !ok {
				t.Errorf("%s: %s%s is not in the schema", where.file, list.prefix, text)
			}
		}
	}
	if found["Reason"] < 7 || found["FieldReason"] < 10 {
		t.Errorf("too few reasons were found (%v): this test looks in the wrong place", found)
	}
	for code, f := range reasonTable {
		if _, ok := arrisv1.Reason_value["REASON_"+string(f.Reason)]; !ok {
			t.Errorf("code %v: reason %s is not in the schema", code, f.Reason)
		}
	}
}

type place struct{ file, list string }

// reasonsBelow is every string that the code gives the type Reason or FieldReason: as a constant, or in a Fault or Violation.
func reasonsBelow(t *testing.T, root string) map[place][]string {
	t.Helper()
	found := map[place][]string{}
	err := filepath.WalkDir(root, func(file string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return err
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		ast.Inspect(parsed, func(n ast.Node) bool {
			list, values := reasonsIn(n)
			for _, v := range values {
				if text, ok := stringOf(v); ok {
					found[place{file, list}] = append(found[place{file, list}], text)
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

func reasonsIn(n ast.Node) (list string, values []ast.Expr) {
	switch n := n.(type) {
	case *ast.ValueSpec:
		if name := lastName(n.Type); name == "Reason" || name == "FieldReason" {
			return name, n.Values
		}
	case *ast.CallExpr: // a conversion
		if name := lastName(n.Fun); name == "Reason" || name == "FieldReason" {
			return name, n.Args
		}
	case *ast.CompositeLit:
		owner := map[string]string{"Fault": "Reason", "Violation": "FieldReason"}[lastName(n.Type)]
		for _, e := range n.Elts {
			if kv, ok := e.(*ast.KeyValueExpr); ok && owner != "" && lastName(kv.Key) == "Reason" {
				values = append(values, kv.Value)
			}
		}
		return owner, values
	}
	return "", nil
}

func lastName(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

func stringOf(e ast.Expr) (string, bool) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(lit.Value)
	return text, err == nil
}

func TestStatusCarriesEverythingTheCallerNeeds(t *testing.T) {
	refusal := &arrisv1.GrindRefusal{Field: "wheel_gap_mm", Unit: "mm", Value: proto.Float64(145), Most: proto.Float64(138.92)}
	st := statusOf(&fault.Fault{
		Kind: fault.Impossible, Reason: "TOOL_CANNOT_REACH_WHEEL", Message: "reach ends at 138.92 mm", Detail: refusal,
		Cause: errors.New("for the log"),
	}, "id-1")
	if st.Code() != codes.FailedPrecondition || st.Message() != "reach ends at 138.92 mm" {
		t.Errorf("got %v %q", st.Code(), st.Message())
	}
	info, got := detailOf[*errdetails.ErrorInfo](t, st), detailOf[*arrisv1.GrindRefusal](t, st)
	if info.GetReason() != "TOOL_CANNOT_REACH_WHEEL" || info.GetDomain() != "arris.example" || info.GetMetadata()["request_id"] != "id-1" {
		t.Errorf("ErrorInfo is %v", info)
	}
	if !proto.Equal(got, refusal) {
		t.Errorf("the rule's detail is %v, want %v", got, refusal)
	}
}

func TestStatusListsViolations(t *testing.T) {
	st := statusOf(fault.Field("given.stick_out_mm", fault.OutOfRange, "is %d mm; at most %d mm", 3000, 2000), "id")
	violations := detailOf[*errdetails.BadRequest](t, st).GetFieldViolations()
	if len(violations) != 1 {
		t.Fatalf("violations: %v", violations)
	}
	if v := violations[0]; v.GetField() != "given.stick_out_mm" || v.GetReason() != "OUT_OF_RANGE" ||
		v.GetDescription() != "is 3000 mm; at most 2000 mm" {
		t.Errorf("violation: %v", v)
	}
}

func TestStatusSaysWhenToTryAgain(t *testing.T) {
	st := statusOf(&fault.Fault{Kind: fault.Unavailable, Reason: "STORE_UNAVAILABLE"}, "id")
	if wait := detailOf[*errdetails.RetryInfo](t, st).GetRetryDelay().AsDuration(); wait != tryAgainAfter {
		t.Errorf("retry after %v, want %v", wait, tryAgainAfter)
	}
}

func TestInternalFaultsKeepTheirSecrets(t *testing.T) {
	secret := "disk at /var/lib"
	for _, err := range []error{
		errors.New(secret),
		fmt.Errorf("op: %w", errors.New(secret)),
		&fault.Fault{Kind: fault.Internal, Reason: fault.Mistake, Message: secret, Detail: &arrisv1.GrindRefusal{Field: secret}},
		status.Error(codes.Unknown, secret),
		status.Error(codes.DataLoss, secret),
	} {
		st := statusOf(faultOf(err), "id-7")
		if st.Code() != codes.Internal || detailOf[*errdetails.ErrorInfo](t, st).GetReason() != "INTERNAL" {
			t.Errorf("%v: got %v", err, st)
		}
		if all := st.Proto().String(); strings.Contains(all, secret) || !strings.Contains(st.Message(), "id-7") {
			t.Errorf("%v: the caller is told %q", err, all)
		}
	}
}

func TestErrorsOfOthersGetAReason(t *testing.T) {
	for _, c := range []struct {
		err    error
		code   codes.Code
		reason string
	}{
		{context.Canceled, codes.Canceled, "CANCELLED"},
		{fmt.Errorf("reading: %w", context.Canceled), codes.Canceled, "CANCELLED"},
		{context.DeadlineExceeded, codes.DeadlineExceeded, "TIMED_OUT"},
		{status.Error(codes.NotFound, "unknown service"), codes.NotFound, "NOT_FOUND"},
		{status.Error(codes.Canceled, "stream closed"), codes.Canceled, "CANCELLED"},
		{status.Error(codes.Unimplemented, "no such"), codes.Unimplemented, "NO_SUCH_METHOD"},
		{status.Error(codes.InvalidArgument, "bad"), codes.InvalidArgument, "INVALID_FIELD"},
		{fmt.Errorf("outer: %w", fault.Field("a", fault.Missing, "say it")), codes.InvalidArgument, "INVALID_FIELD"},
	} {
		st := statusOf(faultOf(c.err), "id")
		if got := detailOf[*errdetails.ErrorInfo](t, st).GetReason(); st.Code() != c.code || got != c.reason {
			t.Errorf("%v: %v %s, want %v %s", c.err, st.Code(), got, c.code, c.reason)
		}
	}
}

// detailOf is the one detail of its type that a status has.
func detailOf[T proto.Message](t *testing.T, st *status.Status) T {
	t.Helper()
	var found T
	n := 0
	for _, d := range st.Details() {
		if d, ok := d.(T); ok {
			found = d
			n++
		}
	}
	if n != 1 {
		t.Fatalf("%d details of type %T in %v", n, found, st)
	}
	return found
}
