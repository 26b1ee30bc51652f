package unit_test

import (
	"fmt"

	"arris.example/geometry/unit"
)

func ExampleParseLength() {
	for _, text := range []string{"58mm", "2 9/32in", `1¾"`, "1.75", "4,5mm", "50°"} {
		l, err := unit.ParseLength(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(l)
	}
	// Output:
	// 58 mm
	// 57.94375 mm
	// 44.45 mm
	// not a readable length: 1.75 has no unit: write 1.75mm or 1.75in
	// not a readable length: "4,5mm" has a comma in its number: write 4.5mm
	// not a readable length: 50° is an angle: write 58mm, 5.8cm, 1.75in or 2 9/32in
}

func ExampleParseAngle() {
	for _, text := range []string{"50°", "13°32.6'", "30'"} {
		a, err := unit.ParseAngle(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(a)
	}
	// Output:
	// 50°
	// 13.543333°
	// not a readable angle: 30' has no degrees in front: write 0°30' or 0.5°
}

func ExampleInchFraction() {
	f, err := unit.InchFraction(41.3*unit.Millimetre, 64)
	fmt.Println(f, "and", f.Residual, err)
	// Output: 1 5/8 in and 0.025 mm <nil>
}

// A rest gap of at most 3 mm is shown as 7/64 in: 1/8 in is nearer, but above
// the limit.
func ExampleInchFractionDown() {
	limit := 3 * unit.Millimetre
	nearest, _ := unit.InchFraction(limit, 64)
	safe, _ := unit.InchFractionDown(limit, 64)
	fmt.Println(nearest, nearest.Length() > limit)
	fmt.Println(safe, safe.Length() > limit)
	// Output:
	// 1/8 in true
	// 7/64 in false
}

func ExampleLength_RoundTo() {
	gap := 108.45 * unit.Millimetre
	fmt.Println(gap.RoundTo(0.1, unit.TieUp), gap.RoundTo(0.1, unit.TieDown))
	// Output: 108.5 mm 108.4 mm
}
