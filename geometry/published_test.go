package geometry_test

import (
	"fmt"
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/space"
	"arris.example/geometry/unit"
)

// Values others printed, each with its source. "Common table" means that the layout is a handbook's and the numbers were computed
// again for this project.

// Axle, nose and pivot are a triangle with sides R, r and d whose angle at the nose is 90° + β when the pivot lies on the reference
// line. The worked examples of any trigonometry text are therefore set-ups, absurd ones included.
func TestPublishedLawOfCosines(t *testing.T) {
	for _, c := range []struct {
		source                  string
		radius, reach, toAxle   float64
		atNose, atAxle, atPivot string
	}{
		{"Sullivan, Precalculus, law of cosines: a 2, b 3, C 60°", 2, 3, math.Sqrt(7), "60", "79.1066", "40.8934"},
		{"triangle 5-8-12, as printed in classroom texts", 5, 8, 12, "133.4325", "28.9550", "17.6124"},
	} {
		t.Run(c.source, func(t *testing.T) {
			w, p := wheelOfRadius(c.radius), geometry.Pivot{Behind: unit.Length(c.reach)}
			edge := must[unit.Angle](t)(w.EdgeAngle(p, unit.Length(c.toAxle-c.radius)))
			reads(t, "angle at the nose, °", edge.Degrees()+90, c.atNose)
			near(t, "pivot to axle, mm", float64(w.Radius()+w.Gap(p, edge)), c.toAxle, 1e-14)

			pivot := geometry.Point{Out: unit.Length(c.toAxle)}
			pose := w.Pose(p, edge, pivot)
			reads(t, "angle at the axle, °", pose.Elevation.Degrees(), c.atAxle)
			toNose := geometry.Point{Out: pose.Contact.Out - pivot.Out, Up: pose.Contact.Up}
			reads(t, "angle at the pivot, °", 180-toNose.Elevation().Degrees(), c.atPivot)
		})
	}
}

// Support triangle worked by the law of cosines: C² = R² + L² + 2 R L sin β with R 100, L 150, β 40°.
func TestPublishedSupportTriangle(t *testing.T) {
	w, p, edge := wheelOfRadius(100), geometry.Pivot{Behind: 150}, unit.Degrees(40)
	gap := w.Gap(p, edge)
	reads(t, "C, mm", float64(100+gap), "227.560164")
	reads(t, "dC/dβ, mm/°", float64(unit.Degree)/w.Sensitivity(p, edge, gap).Gap, "0.881305")

	worn := wheelOfRadius(95)
	drifted := must[unit.Angle](t)(worn.EdgeAngle(p, gap+5))
	reads(t, "β at the same C on R 95, °", drifted.Degrees(), "45.30241")
	reads(t, "C that restores 40°, mm", float64(95+worn.Gap(p, edge)), "223.258699")
}

// Sagitta and half-angle of a chord, common table.
func TestPublishedSagitta(t *testing.T) {
	for _, c := range []struct {
		diameter, chord float64
		depth, keener   string
	}{
		{150, 10, "0.166852", "3.82255"},
		{200, 10, "0.125078", "2.86598"},
		{250, 10, "0.100040", "2.29244"},
		{152.4, 12.7, "0.265044", "4.78019"},
		{80, 10, "0.313730", "7.18076"},
	} {
		h := must[geometry.Hollow](t)(geometry.RoundWheel(unit.Length(c.diameter)).HollowOfChord(40*unit.Degree, unit.Length(c.chord)))
		reads(t, "depth of hollow, mm", float64(h.Depth), c.depth)
		reads(t, "edge keener than the reading by, °", (h.Reading - h.Front).Degrees(), c.keener)
		near(t, "far tangent, °", (h.Far - h.Reading).Degrees(), (h.Reading - h.Front).Degrees(), 1e-12)
	}
}

// Segments of a circle.
func TestPublishedSegments(t *testing.T) {
	for _, c := range []struct {
		source        string
		radius        float64
		chord         float64
		height, angle string
	}{
		// Common table, laid out as in Machinery's Handbook, "Segments of Circles for Radius = 1"; chords to full length here.
		{"radius 1, 30°", 1, 2 * math.Sin(math.Pi/12), "0.03407", "30.00000"},
		{"radius 1, 45°", 1, 2 * math.Sin(math.Pi/8), "0.07612", "45.00000"},
		{"radius 1, 60°", 1, 1, "0.13397", "60.00000"},
		{"radius 1, 90°", 1, math.Sqrt2, "0.29289", "90.00000"},
		{"radius 1, 120°", 1, math.Sqrt(3), "0.50000", "120.00000"},
		// Worked examples of help.matheass.eu, "Circular sections".
		{"c 21, h 6", 12.1875, 21, "6.0000000", "118.97953"},
		{"arc 1 at 45°, r 1.2732395", 4 / math.Pi, 8 / math.Pi * math.Sin(math.Pi/8), "0.096919589", "45.00000"},
	} {
		t.Run(c.source, func(t *testing.T) {
			h := must[geometry.Hollow](t)(wheelOfRadius(c.radius).HollowOfChord(0, unit.Length(c.chord)))
			reads(t, "height", float64(h.Depth), c.height)
			reads(t, "angle, °", h.Far.Degrees(), c.angle)
		})
	}
}

// Chords of a unit circle as printed to five places: 2 sin of half the angle.
func TestPublishedChords(t *testing.T) {
	for angle, chord := range map[float64]string{30: "0.51764", 45: "0.76537", 60: "1.00000", 90: "1.41421", 120: "1.73205"} {
		// The same segment met as a bevel: half the angle is how much keener the edge is than the reading, and with an edge that
		// lies along the axis the heel's height is chord × sin of the reading.
		steel := 1 - math.Cos(float64(unit.Degrees(angle)))
		h := must[geometry.Hollow](t)(wheelOfRadius(1).HollowOfDepth(0, unit.Length(steel)))
		reads(t, fmt.Sprintf("chord of %g°", angle), float64(h.Chord), chord)
		near(t, "reading, °", h.Reading.Degrees(), angle/2, 1e-12)
	}
}

// ISO 3002-1 planes: a double bevel's included angle in the normal plane from the one in the axial plane when the edge is skewed
// by ψ, tan(βn/2) = tan(βaxial/2)/cos ψ.
func TestPublishedPlanesISO3002(t *testing.T) {
	skewed := geometry.Oblique{EdgeToSide: 70 * unit.Degree} // ψ = 20°
	for axial, normal := range map[float64]string{40: "42.345664", 30: "31.830532"} {
		half := skewed.Normal(unit.Degrees(axial / 2))
		reads(t, fmt.Sprintf("normal of %g° axial, °", axial), 2*half.Degrees(), normal)
		near(t, "and back, °", 2*skewed.Axial(half).Degrees(), axial, 1e-12)
	}
}

// The same planes measured: the bevel through an edge at σ to the blade is cut along the blade.
func TestPlanesByVectors(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		sigma, normal := uniform(r, 0.2, math.Pi/2), uniform(r, 0.05, 1.5)
		edge := space.Dir{Back: -math.Cos(sigma), Side: math.Sin(sigma)} // in the flat of the blade
		square := space.Dir{Back: math.Sin(sigma), Side: math.Cos(sigma)}
		bevel := square.Times(math.Cos(normal)).Plus(space.Vec{Up: -math.Sin(normal)})
		face := edge.Cross(bevel)
		// Along the blade the face goes down by face.Back/face.Up for each step back.
		axial := math.Atan2(face.Back/face.Up, 1)
		got := geometry.Oblique{EdgeToSide: unit.Angle(sigma)}.Axial(unit.Angle(normal))
		near(t, "axial angle, rad", float64(got), axial, 1e-14)
	}
}

// Surface speed, π D n: common table, m/s to three places, for 50 and 60 Hz motors and wet wheels; and the speeds of rotation that
// give 35 and 50 m/s.
func TestPublishedSurfaceSpeed(t *testing.T) {
	rpm := []float64{90, 120, 1425, 1725, 2850, 3450}
	for _, c := range []struct {
		diameter float64
		speeds   []string
		at35     string
		at50     string
	}{
		{125, []string{"0.589", "0.785", "9.327", "11.290", "18.653", "22.580"}, "5347.6", "7639.4"},
		{150, []string{"0.707", "0.942", "11.192", "13.548", "22.384", "27.096"}, "4456.3", "6366.2"},
		{152.4, []string{"0.718", "0.958", "11.371", "13.765", "22.742", "27.530"}, "4386.2", "6265.9"},
		{200, []string{"0.942", "1.257", "14.923", "18.064", "29.845", "36.128"}, "3342.3", "4774.6"},
		{203.2, []string{"0.958", "1.277", "15.161", "18.353", "30.323", "36.706"}, "3289.6", "4699.5"},
		{250, []string{"1.178", "1.571", "18.653", "22.580", "37.306", "45.160"}, "2673.8", "3819.7"},
		{254, []string{"1.197", "1.596", "18.952", "22.941", "37.903", "45.883"}, "2631.7", "3759.6"},
	} {
		d := unit.Length(c.diameter)
		for i, want := range c.speeds {
			reads(t, fmt.Sprintf("Ø%g at %g rpm, m/s", c.diameter, rpm[i]), geometry.SurfaceSpeed(d, rpm[i]), want)
		}
		reads(t, fmt.Sprintf("rpm of Ø%g at 35 m/s", c.diameter), geometry.SpindleSpeed(d, 35), c.at35)
		reads(t, fmt.Sprintf("rpm of Ø%g at 50 m/s", c.diameter), geometry.SpindleSpeed(d, 50), c.at50)
	}
}

// Surface speed in feet per minute: π D n / 12 with D in inches; 1 ft/min is 0.00508 m/s exactly.
func TestPublishedSurfaceSpeedInFeet(t *testing.T) {
	const foot = 0.00508 // m/s
	eight := geometry.SurfaceSpeed(8*unit.Inch, 1725)
	reads(t, "8 in at 1725 rpm, m/s", eight, "18.3532")
	reads(t, "8 in at 1725 rpm, ft/min", eight/foot, "3612.83")
	reads(t, "6 in at 6500 ft/min, rpm", geometry.SpindleSpeed(6*unit.Inch, 6500*foot), "4138.03")
}

// Speeds printed on wheels for 80 m/s are rounded: 12 250 on Ø125, 6650 on Ø230; computed they are these.
func TestPublishedMarkedSpeeds(t *testing.T) {
	reads(t, "Ø125 at 80 m/s, rpm", geometry.SpindleSpeed(125, 80), "12223")
	reads(t, "Ø230 at 80 m/s, rpm", geometry.SpindleSpeed(230, 80), "6643")
}

// JCGM 100:2008 (GUM), H.1, calibration of an end gauge: components of 25, 9.7, 2.9 and 16.6 nm combine to 32 nm. The combination
// does not care that those are lengths.
func TestPublishedGUMEndGauge(t *testing.T) {
	for _, c := range []struct {
		components []float64
		want       string
	}{
		{[]float64{25, 9.7, 2.9, 16.6}, "32"},
		{[]float64{25, 9.68, 2.887, 16.599}, "31.66"}, // not rounded in between
	} {
		var parts []geometry.Contribution
		for i, u := range c.components {
			sensitivity := []float64{1, -1, 0.5, 4}[i%4] // any split into sensitivity and width combines to the same
			parts = append(parts, geometry.Contribution{Sensitivity: sensitivity, HalfWidth: u / math.Abs(sensitivity)})
		}
		reads(t, "combined, nm", float64(geometry.Combined(parts)), c.want)
	}
}
