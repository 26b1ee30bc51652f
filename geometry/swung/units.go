package swung

import "arris.example/geometry/unit"

func length(f float64) unit.Length { return unit.Length(f) }
func angle(f float64) unit.Angle   { return unit.Angle(f) }
