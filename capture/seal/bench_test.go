package seal_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/journal/sqlite"
	"readback/capture/seal"
)

// benchEntries is the size of a long job.
const benchEntries = 5000

// benchShop returns what seals a job of benchEntries, and its journal.
func benchShop(b *testing.B) (seal.Config, *memory.Store) {
	b.Helper()
	m := memory.New()
	batch := []journal.Entry{journaltest.Opening("MW-1041", 0)}
	for i := 1; i < benchEntries; i++ {
		batch = append(batch, journaltest.Note("MW-1041", i))
	}
	if _, err := m.Append(b.Context(), batch); err != nil {
		b.Fatal(err)
	}
	return benchConfig(b, m), m
}

// benchConfig returns what seals a journal.
func benchConfig(b *testing.B, m *memory.Store) seal.Config {
	b.Helper()
	dir := b.TempDir()
	return seal.Config{
		Data: filepath.Join(dir, "data"), KeyFile: filepath.Join(dir, "key"), Source: m,
		Notice: func() <-chan struct{} { return nil }, Now: time.Now, Log: zerolog.Nop(),
	}
}

// sealAll seals the journal from its beginning until a job has so many entries, and returns its seal.
func sealAll(b *testing.B, cfg seal.Config, job string, entries uint64) *seal.Seal {
	b.Helper()
	if err := errors.Join(os.RemoveAll(cfg.Data), os.MkdirAll(cfg.Data, 0o700)); err != nil {
		b.Fatal(err)
	}
	sealer, err := seal.Open(b.Context(), cfg)
	if err != nil {
		b.Fatal(err)
	}
	ctx, cancel := context.WithCancel(b.Context())
	done := make(chan error, 1)
	go func() { done <- sealer.Run(ctx) }()
	proof, err := sealer.Prove(ctx, job, entries, 0)
	cancel()
	<-done
	if err = errors.Join(err, sealer.Close()); err != nil {
		b.Fatal(err)
	}
	return proof
}

// BenchmarkSeal seals a job of 5,000 entries, from the journal to a signed head on the disk.
func BenchmarkSeal(b *testing.B) {
	cfg, _ := benchShop(b)
	n := 0
	for b.Loop() {
		sealAll(b, cfg, "MW-1041", benchEntries)
		n++
	}
	b.ReportMetric(float64(benchEntries*n)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkVerify checks the bundle of a job of 5,000 entries.
func BenchmarkVerify(b *testing.B) {
	cfg, m := benchShop(b)
	proof := sealAll(b, cfg, "MW-1041", benchEntries)
	entries, err := m.Entries(b.Context(), "MW-1041", 0, benchEntries)
	if err != nil {
		b.Fatal(err)
	}
	text, err := json.Marshal(map[string]any{"entries": entries, "seal": proof})
	if err != nil {
		b.Fatal(err)
	}
	sealText, err := json.Marshal(proof)
	if err != nil {
		b.Fatal(err)
	}
	n := 0
	for b.Loop() {
		r, err := seal.Verify(b.Context(), bytes.NewReader(text), seal.Expect{})
		if err != nil || !r.Holds() || r.Entries != benchEntries {
			b.Fatalf("%+v, error %v", r, err)
		}
		n++
	}
	b.ReportMetric(float64(benchEntries*n)/b.Elapsed().Seconds(), "entries/s")
	b.ReportMetric(float64(len(text))/benchEntries, "bundle-B/entry")
	b.ReportMetric(float64(len(sealText))/benchEntries, "seal-B/entry")
}

// BenchmarkSealJobs seals 1,000 jobs of five entries each.
func BenchmarkSealJobs(b *testing.B) {
	const jobs = 1000
	m := memory.New()
	var batch []journal.Entry
	for i := range 5 * jobs {
		job := fmt.Sprintf("MW-%d", 1000+i%jobs)
		if i < jobs {
			batch = append(batch, journaltest.Opening(job, i))
		} else {
			batch = append(batch, journaltest.Note(job, i))
		}
	}
	if _, err := m.Append(b.Context(), batch); err != nil {
		b.Fatal(err)
	}
	cfg := benchConfig(b, m)
	n := 0
	for b.Loop() {
		sealAll(b, cfg, "MW-1999", 5)
		n++
	}
	b.ReportMetric(float64(5*jobs*n)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkAnswer keeps notes one by one in a journal on the disk, by turns without a sealer and with one that follows:
// ratio is what an answer takes with it, to what it takes without, each in the middle.
func BenchmarkAnswer(b *testing.B) {
	for _, pace := range []time.Duration{0, 20 * time.Millisecond} { // as fast as the disk can, and 50 a second
		b.Run(pace.String(), func(b *testing.B) {
			without, with := []time.Duration{}, []time.Duration{}
			n := 0
			for b.Loop() {
				for _, sealed := range []bool{n%2 == 0, n%2 != 0} {
					took := answers(b, sealed, pace)
					if sealed {
						with = append(with, took...)
					} else {
						without = append(without, took...)
					}
				}
				n++
			}
			slices.Sort(without)
			slices.Sort(with)
			a, z := without[len(without)/2], with[len(with)/2]
			b.ReportMetric(float64(a.Microseconds()), "µs-without")
			b.ReportMetric(float64(z.Microseconds()), "µs-with")
			b.ReportMetric(float64(z)/float64(a), "ratio")
		})
	}
}

// answers returns how long each of some commits takes.
func answers(b *testing.B, sealed bool, pace time.Duration) []time.Duration {
	b.Helper()
	const notes = 200
	dir := b.TempDir()
	data := filepath.Join(dir, "data")
	store, err := sqlite.Open(b.Context(), data)
	if err != nil {
		b.Fatal(err)
	}
	defer store.Close()
	writer := journal.NewWriter(store)
	ctx, cancel := context.WithCancel(b.Context())
	var work sync.WaitGroup
	work.Go(func() { _ = writer.Run(ctx) })
	if sealed {
		sealer, err := seal.Open(ctx, seal.Config{Data: data, KeyFile: filepath.Join(dir, "key"), Source: store, Notice: writer.Notice, Now: time.Now, Log: zerolog.Nop()})
		if err != nil {
			b.Fatal(err)
		}
		defer sealer.Close()
		work.Go(func() { _ = sealer.Run(ctx) })
	}
	defer work.Wait()
	defer cancel()
	took := make([]time.Duration, notes)
	for i := range took {
		e := journaltest.Note("MW-1041", i)
		if i == 0 {
			e = journaltest.Opening("MW-1041", i)
		}
		time.Sleep(pace)
		began := time.Now()
		if _, err := writer.Append(b.Context(), e); err != nil {
			b.Fatal(err)
		}
		took[i] = time.Since(began)
	}
	return took
}
