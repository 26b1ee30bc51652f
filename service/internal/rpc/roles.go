package rpc

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
)

// RoleTooLow is the reason where a caller's role does not do for a method.
const RoleTooLow fault.Reason = "ROLE_TOO_LOW"

// roles are the least roles that our methods declare, by full method name.
type roles map[string]arrisv1.Role

func newRoles(services []protoreflect.ServiceDescriptor) roles {
	declared := roles{}
	for _, service := range services {
		for i := range service.Methods().Len() {
			m := service.Methods().Get(i)
			role, _ := proto.GetExtension(m.Options(), arrisv1.E_Role).(arrisv1.Role)
			declared["/"+string(service.FullName())+"/"+string(m.Name())] = role
		}
	}
	return declared
}

// check holds a caller's role to what a method declares. Each role includes the ones below it. Methods that are not ours, health and
// reflection, declare none.
func (r roles) check(method string, has arrisv1.Role) error {
	if needs := r[method]; needs > has {
		return &fault.Fault{Kind: fault.Forbidden, Reason: RoleTooLow, Message: fmt.Sprintf("%s needs the role %s, and callers here have %s",
			method[strings.LastIndexByte(method, '/')+1:], roleWord(needs), roleWord(has))}
	}
	return nil
}

func roleWord(role arrisv1.Role) string {
	return strings.ToLower(strings.TrimPrefix(role.String(), "ROLE_"))
}
