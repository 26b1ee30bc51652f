package geometry_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// checkValues are testdata/geometry.json: computed by root finding on the tool's pose in the wheel's frame, with none of the
// engine's formulas, and given to six decimals.
type checkValues struct {
	Planar []struct {
		Radius float64 `json:"wheel_radius_mm"`
		Behind float64 `json:"pivot_behind_tip_mm"`
		Below  float64 `json:"pivot_below_axis_mm"`
		Edge   float64 `json:"nose_angle_deg"`
		Axle   float64 `json:"pivot_to_axle_mm"`
	}
	Land []struct {
		Radius       float64 `json:"wheel_radius_mm"`
		SecondRadius float64 `json:"second_wheel_radius_mm"`
		Behind       float64 `json:"pivot_behind_tip_mm"`
		Below        float64 `json:"pivot_below_axis_mm"`
		Edge         float64 `json:"primary_edge_tangent_deg"`
		Chord        float64 `json:"land_chord_mm"`
		Second       float64 `json:"second_angle_deg"`
		EndBack      float64 `json:"land_end_back_mm"`
		EndDown      float64 `json:"land_end_down_mm"`
		Axle         float64 `json:"pivot_to_axle_primary_mm"`
		SecondAxle   float64 `json:"pivot_to_axle_second_mm"`
	}
	Slide []struct {
		Origin    [2]float64 `json:"slide_origin_from_axle_mm"`
		Direction float64    `json:"slide_angle_deg"`
		Axle      float64    `json:"pivot_to_axle_mm"`
		Readings  []float64  `json:"readings_mm"`
	}
	Platform []struct {
		Radius float64 `json:"wheel_radius_mm"`
		Line   float64 `json:"face_line_to_axle_mm"`
		Edge   float64 `json:"angle_deg"`
	}
	Chord []struct {
		Radius  float64 `json:"wheel_radius_mm"`
		Edge    float64 `json:"edge_tangent_deg"`
		Steel   float64 `json:"steel_depth_mm"`
		Chord   float64 `json:"bevel_chord_mm"`
		Reading float64 `json:"chord_angle_deg"`
		Depth   float64 `json:"hollow_depth_mm"`
	}
}

// lastDigit is one unit of the last digit given: a nanometre, or of an angle four nanometres at 250 mm.
const lastDigit = 1e-6

func readChecks(t *testing.T) (c checkValues) {
	t.Helper()
	data, err := os.ReadFile("testdata/geometry.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &c); err != nil {
		t.Fatal(err)
	}
	if len(c.Planar)*len(c.Land)*len(c.Slide)*len(c.Platform)*len(c.Chord) == 0 {
		t.Fatal("a list of testdata/geometry.json is empty")
	}
	return c
}

func wheelOfRadius(mm float64) geometry.Wheel { return geometry.RoundWheel(unit.Length(2 * mm)) }

func TestCheckPlanar(t *testing.T) {
	for i, c := range readChecks(t).Planar {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			w := wheelOfRadius(c.Radius)
			p := geometry.Pivot{Behind: unit.Length(c.Behind), Below: unit.Length(c.Below)}
			near(t, "pivot to axle, mm", float64(w.Radius()+w.Gap(p, unit.Degrees(c.Edge))), c.Axle, lastDigit)

			edge := must[unit.Angle](t)(w.EdgeAngle(p, unit.Length(c.Axle-c.Radius)))
			near(t, "edge angle, °", edge.Degrees(), c.Edge, lastDigit)
		})
	}
}

func TestCheckLand(t *testing.T) {
	for i, c := range readChecks(t).Land {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			first, second := wheelOfRadius(c.Radius), wheelOfRadius(c.SecondRadius)
			p := geometry.Pivot{Behind: unit.Length(c.Behind), Below: unit.Length(c.Below)}
			near(t, "pivot to axle, mm", float64(first.Radius()+first.Gap(p, unit.Degrees(c.Edge))), c.Axle, lastDigit)

			land := must[geometry.Hollow](t)(first.HollowOfChord(unit.Degrees(c.Edge), unit.Length(c.Chord)))
			behind, below := land.End()
			near(t, "land end behind the nose, mm", float64(behind), c.EndBack, lastDigit)
			near(t, "land end below the reference line, mm", float64(below), c.EndDown, lastDigit)

			atEnd := p.SeenFrom(behind, below)
			gap := second.Gap(atEnd, unit.Degrees(c.Second))
			near(t, "pivot to the second axle, mm", float64(second.Radius()+gap), c.SecondAxle, lastDigit)
			front := must[unit.Angle](t)(second.EdgeAngle(atEnd, unit.Length(c.SecondAxle-c.SecondRadius)))
			near(t, "front angle, °", front.Degrees(), c.Second, lastDigit)
		})
	}
}

func TestCheckSlide(t *testing.T) {
	for i, c := range readChecks(t).Slide {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			s := geometry.Slide{
				Origin:    geometry.Point{Out: unit.Length(c.Origin[0]), Up: unit.Length(c.Origin[1])},
				Direction: unit.Degrees(c.Direction),
			}
			w := wheelOfRadius(50) // the reading depends on the distance to the axle alone
			low, high, ok := s.Readings(w, unit.Length(c.Axle-50))
			if !ok {
				t.Fatal("no reading")
			}
			for _, want := range c.Readings {
				nearest := low
				if math.Abs(float64(high)-want) < math.Abs(float64(low)-want) {
					nearest = high
				}
				near(t, "reading, mm", float64(nearest), want, lastDigit)
				near(t, "pivot to axle, mm", float64(s.At(unit.Length(want)).FromOrigin()), c.Axle, lastDigit)
			}
			for _, reading := range []unit.Length{low, high} {
				near(t, "pivot to axle at either reading, mm", float64(s.At(reading).FromOrigin()), c.Axle, lastDigit)
			}
		})
	}
}

func TestCheckPlatform(t *testing.T) {
	for i, c := range readChecks(t).Platform {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			w := wheelOfRadius(c.Radius)
			edge := must[unit.Angle](t)(w.LineAngle(unit.Length(c.Line)))
			near(t, "edge angle, °", edge.Degrees(), c.Edge, lastDigit)
			near(t, "face line to axle, mm", float64(w.LineFor(unit.Degrees(c.Edge))), c.Line, lastDigit)
		})
	}
}

func TestCheckChord(t *testing.T) {
	for i, c := range readChecks(t).Chord {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			w := wheelOfRadius(c.Radius)
			h := must[geometry.Hollow](t)(w.HollowOfDepth(unit.Degrees(c.Edge), unit.Length(c.Steel)))
			near(t, "chord, mm", float64(h.Chord), c.Chord, lastDigit)
			near(t, "bevel reading, °", h.Reading.Degrees(), c.Reading, lastDigit)
			near(t, "depth of hollow, mm", float64(h.Depth), c.Depth, lastDigit)

			_, below := h.End()
			near(t, "steel depth, mm", float64(below), c.Steel, 1e-12)
			near(t, "chord through the steel, mm",
				float64(geometry.ChordThrough(unit.Degrees(c.Reading), unit.Length(c.Steel))), c.Chord, lastDigit)
			front := must[unit.Angle](t)(w.FrontOfReading(unit.Degrees(c.Reading), unit.Length(c.Chord)))
			near(t, "edge angle of the reading, °", front.Degrees(), c.Edge, lastDigit)
		})
	}
}
