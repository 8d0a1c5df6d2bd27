package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/seal"
	"readback/capture/wire"
	"readback/web"
)

// sealed is a shop whose record is sealed; the server asks the sealer, or what stands in front of it.
func sealed(t *testing.T, front ...func(*shop, web.Sealer) web.Sealer) *shop {
	t.Helper()
	s := openShop(t)
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	if err := os.Mkdir(data, 0o700); err != nil {
		t.Fatal(err)
	}
	commit := make(chan struct{})
	close(commit) // the journal is looked at again and again
	sealer, err := seal.Open(t.Context(), seal.Config{
		Data: data, KeyFile: filepath.Join(dir, "key"), Source: s.store,
		Notice: func() <-chan struct{} { return commit }, Now: time.Now, Log: zerolog.Nop(),
	})
	if err != nil {
		t.Fatal(err)
	}
	var asked web.Sealer = sealer
	for _, f := range front {
		asked = f(s, asked)
	}
	s.Handler = web.New(web.Config{Floor: s.floor, Journal: s.store, Seal: asked, Socket: http.NotFoundHandler(), Guide: http.NotFoundHandler(), Drift: http.NotFoundHandler(), Pages: http.NotFoundHandler(), Log: zerolog.Nop(), Sounds: s.sounds, Photos: s.photos})
	if r := s.ask(t, "GET", "/api/seal/head", ""); r.StatusCode != http.StatusConflict {
		t.Errorf("a head before the first: %d %s", r.StatusCode, r.body)
	}
	s.work(t)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- sealer.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := errors.Join(<-done, sealer.Close()); !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
	})
	return s
}

func TestBundleOverHTTPHolds(t *testing.T) {
	s := sealed(t)
	text := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=json", "").body
	var status seal.Status
	if err := json.Unmarshal([]byte(s.ask(t, "GET", "/api/seal", "").body), &status); err != nil || status.Trouble != "" {
		t.Fatalf("the status %+v, error %v", status, err)
	}
	var head seal.SignedHead
	if err := json.Unmarshal([]byte(s.ask(t, "GET", "/api/seal/head", "").body), &head); err != nil || head != status.Newest {
		t.Errorf("the head %+v, error %v, want %+v", head, err, status.Newest)
	}
	r, err := seal.Verify(t.Context(), bytes.NewReader([]byte(text)), seal.Expect{Key: &status.Fingerprint, Head: &head})
	if err != nil || !r.Holds() || r.Entries != len(said)+1 {
		t.Errorf("the bundle: %+v, error %v", r, err)
	}
	var bundle struct {
		Entries  []journal.Entry
		Evidence json.RawMessage
		Over     *wire.HandedOver `json:"handed_over"`
	}
	if err := json.Unmarshal([]byte(text), &bundle); err != nil || len(bundle.Entries) != len(said)+1 {
		t.Errorf("the entries: %d, error %v", len(bundle.Entries), err)
	}
	since := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=json&since=3", "").body
	if !strings.Contains(since, `"since":{"size":3,`) {
		t.Errorf("from an earlier head: %s", since)
	}
	if r, err := seal.Verify(t.Context(), strings.NewReader(since), seal.Expect{}); err != nil || !r.Holds() {
		t.Errorf("from an earlier head: %+v, error %v", r, err)
	}
	for _, wrong := range []string{"0", "-1", "x", "1e3", "99999999999999999999", "1000"} {
		if r := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=json&since="+wrong, ""); r.StatusCode != http.StatusBadRequest {
			t.Errorf("since=%s: %d %s", wrong, r.StatusCode, r.body)
		}
	}
	for _, as := range []string{"html", "csv"} {
		if r := s.ask(t, "GET", "/api/jobs/MW-1041/export?as="+as, ""); r.StatusCode != http.StatusOK {
			t.Errorf("%s: %d", as, r.StatusCode)
		}
	}
}

// lateNote says a note, and waits until it is sealed, right before a proof is asked for.
type lateNote struct {
	web.Sealer
	t    *testing.T
	shop *shop
	said bool
}

func (l *lateNote) Prove(ctx context.Context, job string, entries, since uint64) (*seal.Seal, error) {
	if !l.said {
		l.said = true
		seat, _, err := l.shop.floor.Sit(ctx, job, floor.Speaker{Bench: "bench 2", Person: "Ines"}, nil)
		if err != nil {
			l.t.Fatal(err)
		}
		defer seat.Leave()
		if _, err := seat.Say(ctx, wire.Note{ID: journaltest.ID(99), Text: "seat clean"}); err != nil {
			l.t.Fatal(err)
		}
		if _, err := l.Sealer.Prove(ctx, job, entries+1, 0); err != nil {
			l.t.Fatal(err)
		}
	}
	return l.Sealer.Prove(ctx, job, entries, since)
}

// A note that is sealed while a job is exported is in the bundle, and the job is not taken for one whose end was
// cut off.
func TestNoteWhileSealIsExported(t *testing.T) {
	s := sealed(t, func(s *shop, own web.Sealer) web.Sealer { return &lateNote{Sealer: own, t: t, shop: s} })
	text := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=json", "").body
	r, err := seal.Verify(t.Context(), strings.NewReader(text), seal.Expect{})
	if err != nil || !r.Holds() || r.Entries != len(said)+2 || !strings.Contains(text, "seat clean") {
		t.Errorf("the bundle: %+v, error %v", r, err)
	}
}

func TestWithoutASeal(t *testing.T) {
	s := openShop(t)
	for _, path := range []string{"/api/seal", "/api/seal/head"} {
		if r := s.ask(t, "GET", path, ""); r.StatusCode != http.StatusNotFound || !strings.Contains(r.body, "not sealed here") {
			t.Errorf("%s: %d %s", path, r.StatusCode, r.body)
		}
	}
}
