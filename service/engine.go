package service

import (
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/api"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/store"
)

// engine is what calculates, on the demonstration shop's records or on none.
func engine(demonstrate bool) arrisv1.GrindServiceServer {
	if demonstrate {
		return api.NewGrind(demo.Shop{})
	}
	return api.NewGrind(store.Empty{})
}
