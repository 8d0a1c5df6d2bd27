package seal_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
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
	dir := b.TempDir()
	return seal.Config{
		Data: filepath.Join(dir, "data"), KeyFile: filepath.Join(dir, "key"), Source: m,
		Notice: func() <-chan struct{} { return nil }, Now: time.Now, Log: zerolog.Nop(),
	}, m
}

// sealAll seals the journal from its beginning, and returns the seal of its job.
func sealAll(b *testing.B, cfg seal.Config) *seal.Seal {
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
	proof, err := sealer.Prove(ctx, "MW-1041", benchEntries, 0)
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
		sealAll(b, cfg)
		n++
	}
	b.ReportMetric(float64(benchEntries*n)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkVerify checks the bundle of a job of 5,000 entries.
func BenchmarkVerify(b *testing.B) {
	cfg, m := benchShop(b)
	proof := sealAll(b, cfg)
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
