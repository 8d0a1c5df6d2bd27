//go:build unix

package clean_test

import (
	"slices"
	"syscall"
	"testing"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/clean"
)

// processor is how long the process has computed, whatever else the machine does.
func processor() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkFrame reports the share of a core that one stream keeps busy, at the pace of speech.
func BenchmarkFrame(b *testing.B) {
	c := cleaner(b, clean.Mix)
	pcm := slices.Concat(vowel(hear.Rate), noise(7, hear.Rate, 1000))
	out := make([]int16, hear.Frame)
	at := 0
	b.ReportAllocs()
	before := processor()
	for b.Loop() {
		if _, err := c.Frame(pcm[at:at+hear.Frame], out); err != nil {
			b.Fatal(err)
		}
		at = (at + hear.Frame) % len(pcm)
	}
	b.ReportMetric((processor()-before).Seconds()/float64(b.N)/0.01*100, "%core")
}

func BenchmarkStart(b *testing.B) {
	b.Run("factory", func(b *testing.B) {
		for b.Loop() {
			f, err := clean.New(b.Context())
			if err != nil {
				b.Fatal(err)
			}
			if err := f.Close(b.Context()); err != nil {
				b.Fatal(err)
			}
		}
	})
	f, err := factory()
	if err != nil {
		b.Fatal(err)
	}
	b.Run("cleaner", func(b *testing.B) {
		for b.Loop() {
			c, err := f.Cleaner(b.Context(), clean.Mix)
			if err != nil {
				b.Fatal(err)
			}
			if err := c.Close(b.Context()); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("reset", func(b *testing.B) {
		c := cleaner(b, clean.Mix)
		for b.Loop() {
			if err := c.Reset(b.Context()); err != nil {
				b.Fatal(err)
			}
		}
	})
}
