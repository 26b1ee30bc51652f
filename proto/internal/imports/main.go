// Command imports writes the .proto files of other projects that ours import into a folder, where the
// schema compiler finds them:
//
//	go run ./proto/internal/imports .proto-imports
//
// Their text is not kept in this repository, and no schema registry is needed to get it: every one of
// these files travels, compiled, inside a Go module that go.mod pins, so printing the descriptors that
// are linked into this command gives exactly the version our Go code is built with.
//
// To import a further third-party file from ours, add its descriptor to the list below.
package main

import (
	"fmt"
	"os"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"github.com/jhump/protoreflect/v2/protoprint"
	"google.golang.org/genproto/googleapis/api/annotations"
	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/protobuf/reflect/protoreflect"

	openapi "github.com/grpc-ecosystem/grpc-gateway/v2/protoc-gen-openapiv3/options"
)

// imported lists the files ours may import; what they import in turn is written too.
var imported = []protoreflect.FileDescriptor{
	annotations.File_google_api_annotations_proto,
	annotations.File_google_api_client_proto,
	annotations.File_google_api_field_behavior_proto,
	annotations.File_google_api_field_info_proto,
	annotations.File_google_api_resource_proto,
	httpbody.File_google_api_httpbody_proto,
	errdetails.File_google_rpc_error_details_proto,
	status.File_google_rpc_status_proto,
	validate.File_buf_validate_validate_proto,
	openapi.File_protoc_gen_openapiv3_options_annotations_proto,
}

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: imports FOLDER")
		os.Exit(2)
	}
	if err := write(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "imports:", err)
		os.Exit(1)
	}
}

// write replaces folder by one that holds the imported files and nothing else.
func write(folder string) error {
	if err := os.RemoveAll(folder); err != nil {
		return err
	}
	printer := protoprint.Printer{Compact: true}
	return printer.PrintProtosToFileSystem(closure(imported), folder)
}

// closure adds to files all they import, without the files of google.protobuf: the compiler has those.
func closure(files []protoreflect.FileDescriptor) []protoreflect.FileDescriptor {
	var all []protoreflect.FileDescriptor
	seen := map[string]bool{}
	var visit func(protoreflect.FileDescriptor)
	visit = func(file protoreflect.FileDescriptor) {
		if seen[file.Path()] || file.Package() == "google.protobuf" {
			return
		}
		seen[file.Path()] = true
		all = append(all, file)
		for i := range file.Imports().Len() {
			visit(file.Imports().Get(i).FileDescriptor)
		}
	}
	for _, file := range files {
		visit(file)
	}
	return all
}
