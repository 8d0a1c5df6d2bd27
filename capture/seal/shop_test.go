package seal_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/seal"
)

// shop is a journal with a sealer beside it.
type shop struct {
	t       *testing.T
	data    string // folder of the seal
	keyFile string
	witness string
	store   seal.Source
	memory  *memory.Store

	mu     sync.Mutex
	notice chan struct{}
	log    bytes.Buffer
	logged sync.Mutex
}

func (s *shop) Write(p []byte) (int, error) {
	s.logged.Lock()
	defer s.logged.Unlock()
	return s.log.Write(p)
}

func (s *shop) said() string {
	s.logged.Lock()
	defer s.logged.Unlock()
	return s.log.String()
}

func newShop(t *testing.T) *shop {
	t.Helper()
	m := memory.New()
	at := t.TempDir()
	s := &shop{t: t, data: filepath.Join(at, "data"), keyFile: filepath.Join(at, "key", "seal.key"), store: m, memory: m, notice: make(chan struct{})}
	if err := os.Mkdir(s.data, 0o700); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *shop) tellNotice() <-chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.notice
}

// keep commits entries.
func (s *shop) keep(entries ...journal.Entry) {
	s.t.Helper()
	results, err := s.memory.Append(s.t.Context(), entries)
	for _, r := range results {
		err = errors.Join(err, r.Err)
	}
	if err != nil {
		s.t.Fatal(err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	close(s.notice)
	s.notice = make(chan struct{})
}

// work keeps n entries, on three jobs.
func (s *shop) work(from, n int) {
	s.t.Helper()
	var entries []journal.Entry
	for i := from; i < from+n; i++ {
		entries = append(entries, entryOf(i))
	}
	s.keep(entries...)
}

func entryOf(i int) journal.Entry {
	job := fmt.Sprintf("MW-%d", 1041+i%3)
	switch {
	case i < 3:
		return journaltest.Opening(job, i)
	case i%10 == 9:
		return journaltest.Photo(job, i, 2)
	case i%10 == 7:
		return journaltest.Purge(job, i, 2)
	}
	return journaltest.Note(job, i)
}

func (s *shop) config() seal.Config {
	return seal.Config{
		Data: s.data, KeyFile: s.keyFile, Witness: s.witness, Source: s.store, Notice: s.tellNotice,
		Now: time.Now, Log: zerolog.New(s),
	}
}

// open starts a sealer; the function ends it.
func (s *shop) open() (*seal.Sealer, func()) {
	s.t.Helper()
	sealer, err := seal.Open(s.t.Context(), s.config())
	if err != nil {
		s.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(s.t.Context())
	done := make(chan error, 1)
	go func() { done <- sealer.Run(ctx) }()
	return sealer, func() {
		s.t.Helper()
		cancel()
		if err := errors.Join(<-done, sealer.Close()); !errors.Is(err, context.Canceled) {
			s.t.Errorf("the sealer ended with %v", err)
		}
	}
}

// until waits for what the sealer's status is to say.
func (s *shop) until(sealer *seal.Sealer, what string, holds func(seal.Status) bool) seal.Status {
	s.t.Helper()
	for range 2000 {
		if status := sealer.Status(); holds(status) {
			return status
		}
		time.Sleep(5 * time.Millisecond)
	}
	s.t.Fatalf("%s: the status stays %+v\n%s", what, sealer.Status(), s.said())
	return seal.Status{}
}

func size(n uint64) func(seal.Status) bool {
	return func(s seal.Status) bool { return s.Newest.Head.Size == n }
}

// bundle exports a job as web/export does, with what else there is to say signed.
func bundle(t *testing.T, sealer *seal.Sealer, entries []journal.Entry, since uint64) []byte {
	t.Helper()
	proof, err := sealer.Prove(t.Context(), entries[0].Job, uint64(len(entries)), since)
	if err != nil {
		t.Fatal(err)
	}
	rest := map[string]json.RawMessage{
		"handed_over": json.RawMessage(`{"person":"Ines","left":0,"at":"2031-03-04T08:00:01Z"}`),
		"evidence":    json.RawMessage(`[{"seq":2,"sort":"sound","state":"kept"},{"seq":4,"sort":"sound","state":"purged"}]`),
	}
	if err := sealer.Sign(t.Context(), proof, rest); err != nil {
		t.Fatal(err)
	}
	return write(t, entries, proof, rest)
}

func write(t *testing.T, entries []journal.Entry, proof *seal.Seal, rest map[string]json.RawMessage) []byte {
	t.Helper()
	all := map[string]any{"entries": entries, "seal": proof}
	for name, value := range rest {
		all[name] = value
	}
	text, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func (s *shop) entries(job string) []journal.Entry {
	s.t.Helper()
	entries, err := s.memory.Entries(s.t.Context(), job, 0, 1<<20)
	if err != nil {
		s.t.Fatal(err)
	}
	return entries
}

// verify checks a bundle with nothing from elsewhere.
func verify(t *testing.T, text []byte, want seal.Expect) (seal.Report, error) {
	t.Helper()
	return seal.Verify(t.Context(), bytes.NewReader(text), want)
}

func time5ms() <-chan time.Time { return time.After(5 * time.Millisecond) }

func entriesOf(i int) []journal.Entry { return []journal.Entry{entryOf(i)} }
