package api

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/records"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/store"
)

// writeIn is who writes, by which request.
func writeIn(ctx context.Context, req writing) records.Write {
	method, _ := grpc.Method(ctx)
	return records.Write{
		Caller: store.Caller{Person: rpc.Person(ctx), Method: method, RequestID: req.GetRequestId(), Hash: hashOf(method, req)},
		DryRun: req.GetValidateOnly(),
	}
}

// hashOf tells one request's body from another's, so that a request id is not used for two.
func hashOf(method string, req proto.Message) string {
	body, err := proto.MarshalOptions{Deterministic: true}.Marshal(req)
	if err != nil { // what was just read can be written
		body = []byte(err.Error())
	}
	sum := sha256.Sum256(append([]byte(method+"\n"), body...))
	return hex.EncodeToString(sum[:])
}

// versionIn is the version that an etag stands for; one that was never given is no record's.
func versionIn(etag string) int64 {
	if etag == "" {
		return 0
	}
	version, err := strconv.ParseInt(etag, 36, 64)
	if err != nil || version < 1 {
		return -1
	}
	return version
}

func etagOf(r store.Record) string { return strconv.FormatInt(r.Version, 36) }

func lastOf(name string) string { return name[strings.LastIndexByte(name, '/')+1:] }

// externalIDsIn are external ids in the order in which they are kept.
func externalIDsIn(list []*arrisv1.ExternalId) []store.ExternalID {
	ids := each(list, func(id *arrisv1.ExternalId) store.ExternalID {
		return store.ExternalID{System: id.GetSystem(), Value: id.GetValue()}
	})
	slices.SortFunc(ids, func(a, b store.ExternalID) int {
		return cmp.Or(cmp.Compare(a.System, b.System), cmp.Compare(a.Value, b.Value))
	})
	return ids
}

// stamp puts on a message what the store knows of its record. All records have these fields.
func stamp(m proto.Message, r store.Record) {
	to := m.ProtoReflect()
	field := func(name protoreflect.Name) protoreflect.FieldDescriptor {
		return to.Descriptor().Fields().ByName(name)
	}
	at := func(name protoreflect.Name, t time.Time) {
		if !t.IsZero() {
			to.Set(field(name), protoreflect.ValueOfMessage(timestamppb.New(t).ProtoReflect()))
		}
	}
	to.Set(field("uid"), protoreflect.ValueOfString(r.UID))
	to.Set(field("etag"), protoreflect.ValueOfString(etagOf(r)))
	at("create_time", r.Created)
	at("update_time", r.Updated)
	at("delete_time", r.Deleted)
	ids := to.Mutable(field("external_ids")).List()
	ids.Truncate(0)
	for _, id := range r.ExternalIDs {
		ids.Append(protoreflect.ValueOfMessage((&arrisv1.ExternalId{System: id.System, Value: id.Value}).ProtoReflect()))
	}
}

// conflictFault tells that a record was changed meanwhile, and what the caller wanted otherwise than it is now.
func conflictFault(now store.Record, changes []*arrisv1.FieldChange) error {
	text := fmt.Sprintf("%s was changed meanwhile; its etag is now %s", now.Name, etagOf(now))
	if len(changes) > 0 {
		fields := each(changes, func(c *arrisv1.FieldChange) string { return c.GetField() })
		text += "; what you send differs from it in " + strings.Join(fields, ", ")
	}
	return &fault.Fault{Kind: fault.Conflict, Reason: records.EtagMismatch, Message: text + "; read it again and decide",
		Detail: &arrisv1.Conflict{Name: now.Name, Etag: etagOf(now), Differences: changes}}
}
