package paper_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"testing"

	"arris.example/deploy/outside"
	"arris.example/service/internal/paper"
)

// Areas are as dark as they say, whatever was drawn before, letters black, and a rim clears what is below: in the picture that another
// program draws.
func TestShadesInAPicture(t *testing.T) {
	shades := []paper.Shade{0, 1, 0.5, 0, 0.23, 1}
	page := paper.Page{Size: paper.Size{Width: 100, Height: 20}}
	square := func(x, wide float64, shade paper.Shade) {
		page.Add(paper.Line{Points: []paper.Point{{X: x, Y: 2}, {X: x + wide, Y: 2}, {X: x + wide, Y: 18}, {X: x, Y: 18}}, Closed: true, Fill: &shade})
	}
	for i, shade := range shades {
		square(10*float64(i), 10, shade)
	}
	square(60, 40, 0.5)
	page.Add(paper.Words{At: paper.Point{X: 70, Y: 15}, Size: 12, Rim: true, Turn: math.Pi / 60, Text: "■"})
	var out bytes.Buffer
	if err := paper.PDF(&out, paper.Document{Pages: []paper.Page{page}}); err != nil {
		t.Fatal(err)
	}
	file := kept(t, out.Bytes())
	const perMM = 4
	outside.Run(t, "poppler-utils", "pdftoppm", "-r", fmt.Sprint(25.4*perMM), "-gray", "-singlefile", file, file)
	picture, err := os.ReadFile(file + ".pgm")
	if err != nil {
		t.Fatal(err)
	}
	var wide, high, most int
	if _, err := fmt.Sscanf(string(picture[:40]), "P5\n%d %d\n%d\n", &wide, &high, &most); err != nil {
		t.Fatal(err)
	}
	grey := picture[len(picture)-wide*high:]
	at := func(x, y float64) float64 { return float64(grey[int(y*perMM)*wide+int(x*perMM)]) / 255 }
	for i, shade := range shades {
		if got := 1 - at(10*float64(i)+5, 10); math.Abs(got-float64(shade)) > 0.01 {
			t.Errorf("area %d is %.2f dark, want %.2f", i, got, shade)
		}
	}
	if letter, rim, around := at(75.5, 10), at(75.5, 6), at(95, 10); letter > 0.01 || rim < 0.99 || math.Abs(around-0.5) > 0.01 {
		t.Errorf("the letter is %.2f light, its rim %.2f, what is around %.2f", letter, rim, around)
	}
}
