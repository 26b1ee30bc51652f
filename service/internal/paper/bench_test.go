package paper_test

import (
	"bytes"
	"compress/zlib"
	"io"
	"math"
	"syscall"
	"testing"
	"time"

	"arris.example/service/internal/paper"
)

// BenchmarkVolumePages writes full pages into a volume; beside it, the same pages' SVG is deflated and no more.
func BenchmarkVolumePages(b *testing.B) {
	page := paper.Page{Size: paper.A4}
	for i := range 50 {
		y := 12 + 5*float64(i)
		page.Write(12, y, 3.6, i%5 == 0, "Set the stick-out to 45.0 mm; the leg to 30.0°; set the wheel gap to 108.5 mm.")
		page.Draw(0.2, paper.Point{X: 120, Y: y}, paper.Point{X: 160 + 30*math.Sin(y), Y: y + 3})
		page.Add(paper.Line{Arc: &paper.Arc{Centre: paper.Point{X: 150, Y: y}, Radius: 3 + y/100, Sweep: 4}, Width: 0.3})
	}
	var svg bytes.Buffer
	if err := paper.SVG(&svg, "", page); err != nil {
		b.Fatal(err)
	}
	v := paper.NewVolume(io.Discard, "pages")
	zip := zlib.NewWriter(io.Discard)
	var ours, bare time.Duration
	for b.Loop() {
		ours += busy(b, func() {
			if err := v.Add("", []paper.Page{page}); err != nil {
				b.Fatal(err)
			}
		})
		bare += busy(b, func() {
			zip.Reset(io.Discard)
			if _, err := zip.Write(svg.Bytes()); err != nil {
				b.Fatal(err)
			}
			if err := zip.Close(); err != nil {
				b.Fatal(err)
			}
		})
	}
	b.ReportMetric(float64(b.N)/ours.Seconds(), "pages/s")
	b.ReportMetric(ours.Seconds()/bare.Seconds(), "×deflating")
}

// busy is how long something keeps processors busy: on a machine that others use as well, that tells what one core can do.
func busy(b *testing.B, what func()) time.Duration {
	b.Helper()
	worked := func() time.Duration {
		var used syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
			b.Fatal(err)
		}
		return time.Duration(used.Utime.Nano() + used.Stime.Nano())
	}
	before := worked()
	what()
	return worked() - before
}
