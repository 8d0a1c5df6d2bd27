package ui_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/seal"
)

// brokenSeal opens the seal of a record whose newest head was changed on the disk, and which has a job that cannot
// be sealed for a gap. good is the same before that.
func brokenSeal(t *testing.T) (good, broken *seal.Sealer) {
	t.Helper()
	m := memory.New()
	if _, err := m.Append(t.Context(), []journal.Entry{journaltest.Opening("MW-1041", 1), journaltest.Note("MW-1041", 2)}); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	if err := os.Mkdir(data, 0o700); err != nil {
		t.Fatal(err)
	}
	open := func() *seal.Sealer {
		s, err := seal.Open(t.Context(), seal.Config{
			Data: data, KeyFile: filepath.Join(dir, "key"), Source: m, Notice: func() <-chan struct{} { return nil }, Now: time.Now, Log: zerolog.Nop(),
		})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
		return s
	}
	sealer := open()
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- sealer.Run(ctx) }()
	if _, err := sealer.Prove(t.Context(), "MW-1041", 2, 0); err != nil {
		t.Fatal(err)
	}
	stop()
	<-done
	heads := filepath.Join(data, "seal", "heads.jsonl")
	text, err := os.ReadFile(heads)
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.Replace(string(text), `"size":3`, `"size":4`, 1)
	if changed == string(text) {
		t.Fatalf("nothing was changed in %s", text)
	}
	if err := os.WriteFile(heads, []byte(changed), 0o600); err != nil {
		t.Fatal(err)
	}
	return sealer, open()
}

// TestSealTroubleIsShown: where the record is not sealed any more the list of jobs and the page of a lead say so, and
// what to do; where it is, neither says anything.
func TestSealTroubleIsShown(t *testing.T) {
	t.Parallel()
	good, broken := brokenSeal(t)
	for name, sealer := range map[string]*seal.Sealer{"good": good, "broken": broken} {
		t.Run(name, func(t *testing.T) {
			s := newShopWhole(t, floor.Register{}, nil, nil, sealer)
			s.openJob("MW-1041", map[string]string{"stages": "3"})
			s.bench("MW-1041", "seat is clean")
			for page, v := range map[string]struct{ path, ready, at string }{
				"jobs": {"/", `document.querySelectorAll("#jobs tbody tr").length === 1 && document.querySelector("#options select")`, "#seal .wrong"},
				"lead": {"/jobs/MW-1041/lead", `document.documentElement.dataset.sheet && document.querySelector(".events > li")`, ".seal"},
			} {
				p := newDevice(t, tablet, "light").open(s.address + v.path)
				p.await(v.ready)
				said := strings.Join(p.texts(v.at), "\n")
				if name == "good" {
					if said != "" {
						t.Errorf("%s: it says %q", page, said)
					}
					continue
				}
				for _, want := range []string{"The record is not sealed any more", "Notes are still taken", "run readback doctor"} {
					if !strings.Contains(said, want) {
						t.Errorf("%s: it does not say %q: %q", page, want, said)
					}
				}
				looksEverywhere(t, p, "seal-"+page, phone)
			}
		})
	}
}
