package service

import (
	"cmp"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/api"
	"arris.example/service/internal/records"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/store"
)

// register registers all our services: those that calculate read the store that the others write. It gives the one with work that goes on.
func register(to grpc.ServiceRegistrar, cfg Config, kept store.Store, chain *rpc.Interceptors) *api.Operations {
	grind := cfg.Grind
	costly := api.NewTurns()
	if grind == nil {
		grind = api.NewGrind(store.Named{Store: kept}, costly)
	}
	keeper := records.Keeper{Store: kept}
	arrisv1.RegisterGrindServiceServer(to, grind)
	arrisv1.RegisterShopServiceServer(to, api.NewShops(keeper))
	arrisv1.RegisterWheelServiceServer(to, api.NewWheels(keeper))
	arrisv1.RegisterToolServiceServer(to, api.NewTools(keeper))
	arrisv1.RegisterRecipeServiceServer(to, api.NewRecipes(keeper))
	arrisv1.RegisterSharpeningServiceServer(to, api.NewSharpenings(keeper))
	sheets := api.NewSheets(kept, costly, cfg.PublicURL)
	operations := api.NewOperations(kept, sheets, chain, cmp.Or(cfg.KeepOperations, api.KeepOperations))
	arrisv1.RegisterSheetServiceServer(to, sheets)
	arrisv1.RegisterOperationServiceServer(to, operations)
	return operations
}

// descriptors are our own services, as the schema has them.
func descriptors() []protoreflect.ServiceDescriptor {
	var all []protoreflect.ServiceDescriptor
	for _, file := range []protoreflect.FileDescriptor{
		arrisv1.File_arris_v1_grind_service_proto, arrisv1.File_arris_v1_shop_service_proto, arrisv1.File_arris_v1_wheel_service_proto,
		arrisv1.File_arris_v1_tool_service_proto, arrisv1.File_arris_v1_recipe_service_proto, arrisv1.File_arris_v1_sharpening_service_proto,
		arrisv1.File_arris_v1_sheet_service_proto, arrisv1.File_arris_v1_operation_service_proto,
	} {
		all = append(all, file.Services().Get(0))
	}
	return all
}
