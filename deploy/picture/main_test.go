package main

import (
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// The README's picture is what the program draws now, but for the last digit of another processor.
func TestPictureIsTrue(t *testing.T) {
	file, err := os.Open(filepath.Join("..", "pictures", "gouge.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	kept, err := png.Decode(file)
	if err != nil {
		t.Fatal(err)
	}
	drawn, err := picture()
	if err != nil {
		t.Fatal(err)
	}
	if kept.Bounds() != drawn.Bounds() {
		t.Fatalf("kept %v, drawn %v", kept.Bounds(), drawn.Bounds())
	}
	off := 0
	for y := range drawn.Bounds().Dy() {
		for x := range drawn.Bounds().Dx() {
			a, _, _, _ := kept.At(x, y).RGBA()
			b, _, _, _ := drawn.At(x, y).RGBA()
			if math.Abs(float64(a)-float64(b)) > 4*257 {
				off++
			}
		}
	}
	if size := drawn.Bounds().Dx() * drawn.Bounds().Dy(); off > size/500 {
		t.Errorf("%d of %d pixels differ: go run ./deploy/picture > deploy/pictures/gouge.png", off, size)
	}
}
