package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"readback/capture/wire"
	"readback/capture/ws"
)

const (
	loadBenches = 100
	loadPace    = 500 * time.Millisecond // between two notes of a bench
)

// BenchmarkShop is a shop at work: 100 benches, two on each job, say the demo's notes at two
// a second each, over real websockets into a real server. One iteration is a second of it:
//
//	go test ./cmd/readback -run '^$' -bench Shop -benchtime 20x
//
// An answer's time is from the sending of the note until its answer is read. In the same
// seconds the same disk syncs 4 KiB ten times a second for comparison.
func BenchmarkShop(b *testing.B) {
	data := b.TempDir()
	p := begin(b, data)
	seats := make([]*ws.Bench, loadBenches)
	for n := range seats {
		job := fmt.Sprintf("MW-%d", 1041+n/2)
		p.open(b, job)
		seats[n] = p.sit(b, job, fmt.Sprintf("bench %d", n))
	}
	said := strings.Split(strings.TrimSpace(demoNotes(b, 51)), "\n")
	var answers, syncs []time.Duration
	second := 0
	for b.Loop() {
		a, s := workSecond(b, seats, said, data, second)
		answers, syncs = append(answers, a...), append(syncs, s...)
		second++
	}
	b.ReportMetric(0, "ns/op") // it is the pace, a second
	b.ReportMetric(ms(quantile(answers, 50)), "p50-ms")
	b.ReportMetric(ms(quantile(answers, 99)), "p99-ms")
	b.ReportMetric(ms(quantile(syncs, 50)), "fdatasync-p50-ms")
	b.ReportMetric(ms(quantile(answers, 50))/ms(quantile(syncs, 50)), "fdatasyncs/answer")
	b.ReportMetric(float64(len(answers))/float64(second), "notes/s")
	b.ReportMetric(p.resident(b), "rss-MiB")
	for _, s := range seats {
		if err := s.Close(); err != nil {
			b.Error(err)
		}
	}
	p.stop(b)
	if n := len(kept(b, data)); n != len(answers)+loadBenches/2 {
		b.Errorf("%d notes were answered, %d entries are kept", len(answers), n)
	}
}

// workSecond lets every bench say two notes, each at its own moment.
func workSecond(b *testing.B, seats []*ws.Bench, said []string, data string, second int) (answers, syncs []time.Duration) {
	b.Helper()
	took := make([][2]time.Duration, len(seats))
	start := time.Now()
	var wait sync.WaitGroup
	for n, seat := range seats {
		wait.Go(func() {
			for i := range 2 {
				at := start.Add(time.Duration(i)*loadPace + time.Duration(n)*loadPace/loadBenches)
				time.Sleep(time.Until(at))
				note := wire.Note{ID: newID(b), Text: said[(2*second+i+n)%len(said)]}
				begun := time.Now()
				if _, err := seat.Say(b.Context(), note); err != nil {
					b.Error(err)
				}
				took[n][i] = time.Since(begun)
			}
		})
	}
	syncs = syncTimes(b, data, 10, start.Add(time.Second))
	wait.Wait()
	for _, t := range took {
		answers = append(answers, t[:]...)
	}
	return answers, syncs
}

// syncTimes syncs 4 KiB, written in place, n times until the end.
func syncTimes(b *testing.B, data string, n int, end time.Time) (took []time.Duration) {
	b.Helper()
	f, err := os.OpenFile(filepath.Join(data, "sync"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	block := make([]byte, 4096)
	begun := time.Now()
	for i := range n {
		time.Sleep(time.Until(begun.Add(end.Sub(begun) * time.Duration(i) / time.Duration(n))))
		block[0]++
		if _, err := f.WriteAt(block, 0); err != nil {
			b.Fatal(err)
		}
		at := time.Now()
		if err := syscall.Fdatasync(int(f.Fd())); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(at))
	}
	return took
}

// BenchmarkServe is a server from its process's start, on an empty folder, until it says
// that it is well; then what it holds in memory while nobody works.
func BenchmarkServe(b *testing.B) {
	var starts []time.Duration
	resident := 0.0
	for b.Loop() {
		begun := time.Now()
		p := begin(b, filepath.Join(b.TempDir(), strconv.Itoa(len(starts))))
		if status, _ := p.get(b, "/healthz"); status != 200 {
			b.Fatalf("health: %d", status)
		}
		starts = append(starts, time.Since(begun))
		b.StopTimer()
		resident = max(resident, p.resident(b))
		p.stop(b)
		b.StartTimer()
	}
	b.ReportMetric(ms(quantile(starts, 50)), "healthy-p50-ms")
	b.ReportMetric(ms(slices.Min(starts)), "healthy-min-ms")
	b.ReportMetric(resident, "rss-MiB")
}

// resident returns how much memory the process holds, in MiB.
func (p *process) resident(tb testing.TB) float64 {
	tb.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.Process.Pid))
	if err != nil {
		tb.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			kib, err := strconv.Atoi(strings.TrimSuffix(strings.TrimSpace(rest), " kB"))
			if err != nil {
				tb.Fatal(err)
			}
			return float64(kib) / 1024
		}
	}
	tb.Fatalf("no VmRSS in %s", text)
	return 0
}
