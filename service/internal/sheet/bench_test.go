package sheet_test

import (
	"fmt"
	"io"
	"maps"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"slices"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// worked is how long this process has kept processors busy, the collector's share included: on a machine that others use as well, that tells
// what one core can do.
func worked(b *testing.B) time.Duration {
	b.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// busy is how much work something takes.
func busy(b *testing.B, what func()) time.Duration {
	b.Helper()
	before := worked(b)
	what()
	return worked(b) - before
}

// question number i of many that have no drawing in common.
func question(i int) setup.Question {
	q := setup.Question{Common: asks["bowl"]}
	q.Given.StickOut = shop.Some(unit.Length(45 + float64(i%2000)/1000))
	return q
}

// set lays out a question's sheet.
func set(b *testing.B, i int) paper.Document {
	b.Helper()
	d, _, err := maker().Setup(b.Context(), "", question(i), paper.A4)
	if err != nil {
		b.Fatal(err)
	}
	return d
}

// BenchmarkSheetFiles makes sheets, each a file of its own, from the question to the last byte, as on one core; beside it only solves.
func BenchmarkSheetFiles(b *testing.B) {
	m := maker()
	set(b, 0) // opens the faces
	i, used, solving := 0, time.Duration(0), time.Duration(0)
	for b.Loop() {
		used += busy(b, func() {
			if err := paper.PDF(io.Discard, set(b, i)); err != nil {
				b.Fatal(err)
			}
		})
		q := question(i)
		q.Figures, q.Proof = true, true
		solving += busy(b, func() {
			if _, err := m.Solver.Solve(b.Context(), q); err != nil {
				b.Fatal(err)
			}
		})
		i++
	}
	b.ReportMetric(float64(i)/used.Seconds(), "sheets/s")
	b.ReportMetric(used.Seconds()/solving.Seconds(), "×solving")
}

// BenchmarkSheetVolume makes the sheets of every kind that the demonstration shop asks for into one volume; beside it only solves.
func BenchmarkSheetVolume(b *testing.B) {
	m := maker()
	set(b, 0)
	v := paper.NewVolume(io.Discard, "All sheets")
	pages, used, solving := 0, time.Duration(0), time.Duration(0)
	names := slices.Sorted(maps.Keys(asks))
	for b.Loop() {
		for _, name := range names {
			q := setup.Question{Common: asks[name]}
			used += busy(b, func() {
				d, _, err := m.Setup(b.Context(), "", q, paper.A4)
				if err == nil {
					err = v.Add(d.Title, d.Pages)
				}
				if err != nil {
					b.Fatal(err)
				}
				pages += len(d.Pages)
			})
			q.Figures, q.Proof, q.Figure = true, true, q.Edge
			solving += busy(b, func() {
				if _, err := m.Solver.Solve(b.Context(), q); err != nil {
					b.Fatal(err)
				}
			})
		}
	}
	used += busy(b, func() {
		if err := v.Close(); err != nil {
			b.Fatal(err)
		}
	})
	b.ReportMetric(float64(pages)/used.Seconds(), "pages/s")
	b.ReportMetric(used.Seconds()/solving.Seconds(), "×solving")
}

// first notes when something is written for the first time.
type first struct{ at time.Time }

func (f *first) Write(p []byte) (int, error) {
	if f.at.IsZero() {
		f.at = time.Now()
	}
	return len(p), nil
}

// BenchmarkSheetFirstByte is how long a reader waits from the question to the first byte: the middle one, and the 99th percentile.
func BenchmarkSheetFirstByte(b *testing.B) {
	set(b, 0)
	var waits []time.Duration
	for b.Loop() {
		start, f := time.Now(), first{}
		if err := paper.PDF(&f, set(b, len(waits))); err != nil {
			b.Fatal(err)
		}
		waits = append(waits, f.at.Sub(start))
	}
	slices.Sort(waits)
	b.ReportMetric(float64(waits[len(waits)/2])/1e6, "ms-middle")
	b.ReportMetric(float64(waits[len(waits)*99/100])/1e6, "ms-99%")
}

// BenchmarkSheetMemory makes 10,000 sheets in volumes of 500 and looks every few milliseconds at how much memory the heap has, in use and not
// yet collected, with the server's GOGC; before it at how much it had.
func BenchmarkSheetMemory(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	const sheets, inVolume = 10_000, 500
	runtime.GC()
	before := heap()
	var most atomic.Uint64
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		for {
			select {
			case <-stop:
				return
			case <-time.After(2 * time.Millisecond):
				most.Store(max(most.Load(), heap()))
			}
		}
	}()
	made := 0
	for b.Loop() {
		for from := 0; from < sheets; from += inVolume {
			v := paper.NewVolume(io.Discard, fmt.Sprint("Volume from sheet ", from+1))
			for i := range inVolume {
				if err := v.Add(fmt.Sprint("Sheet ", from+i+1), set(b, from+i).Pages); err != nil {
					b.Fatal(err)
				}
				made++
			}
			if err := v.Close(); err != nil {
				b.Fatal(err)
			}
		}
	}
	close(stop)
	<-stopped
	b.ReportMetric(float64(most.Load())/1e6, "MB-most")
	b.ReportMetric(float64(before)/1e6, "MB-before")
	b.ReportMetric(float64(made), "sheets")
}

// heap is how many bytes objects take, those that nobody needs any more included.
func heap() uint64 {
	sample := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}
