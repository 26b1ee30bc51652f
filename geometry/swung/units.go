package swung

import "arris.example/geometry/unit"

func length(f float64) unit.Length { return unit.Length(f) }
