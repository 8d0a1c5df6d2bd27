package sqlite_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"syscall"
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
)

// BenchmarkAppend is one note from a bench until its commit is on the disk, with this
// many benches waiting at a time. Compare it with BenchmarkFdatasync of the same run.
func BenchmarkAppend(b *testing.B) {
	for _, waiting := range []int{1, 8, 64} {
		b.Run(fmt.Sprintf("waiting=%d", waiting), func(b *testing.B) {
			s := open(b, b.TempDir())
			ctx, cancel := context.WithCancel(b.Context())
			w, done := journal.NewWriter(s), make(chan error, 1)
			go func() { done <- w.Run(ctx) }()
			var n atomic.Int64
			work := func() {
				note := int(n.Add(1))
				if _, err := w.Append(ctx, journaltest.Note(crashJob(note), note)); err != nil {
					b.Error(err)
				}
			}
			if waiting == 1 {
				for b.Loop() {
					work()
				}
			} else {
				b.SetParallelism(max(waiting/runtime.GOMAXPROCS(0), 1))
				b.RunParallel(func(pb *testing.PB) {
					for pb.Next() {
						work()
					}
				})
			}
			b.ReportMetric(float64(n.Load())/b.Elapsed().Seconds(), "notes/s")
			cancel()
			<-done
		})
	}
}

// BenchmarkFdatasync is what the disk alone costs: 4 KiB written in place and synced.
func BenchmarkFdatasync(b *testing.B) {
	f, err := os.Create(filepath.Join(b.TempDir(), "log"))
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	page := make([]byte, 4096)
	for at := range int64(1024) {
		if _, err := f.WriteAt(page, at*4096); err != nil {
			b.Fatal(err)
		}
	}
	n := int64(0)
	for b.Loop() {
		if _, err := f.WriteAt(page, n%1024*4096); err != nil {
			b.Fatal(err)
		}
		if err := syscall.Fdatasync(int(f.Fd())); err != nil {
			b.Fatal(err)
		}
		n++
	}
}
