package ui_test

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/query/querytest"
	"readback/capture/wire"
	"readback/web/counts"
	"readback/web/ui"
)

// rebuilds is a shop with a year of rebuilds, their symptoms and what was decided.
func rebuilds(t *testing.T) *querytest.Shop {
	t.Helper()
	s := querytest.New(t, memory.New())
	wrong := []string{
		"thrust washer scored", "sleeve is worn", "thrust washer scored", "cable frayed", "impeller cracked", "lip seal leaking", "thrust washer scored",
		"bearing noisy", "strainer blocked", "gasket torn", "winding is wet", "coupling bent", "wear rings worn",
	}
	for i := range 40 {
		s.Now = time.Date(2026, 1, 2+9*i, 9, 0, 0, 0, time.UTC)
		job := fmt.Sprintf("MW-%d", 2001+i)
		s.Open(t, job, "mr5", map[string]string{"rebuild": "yes"})
		s.Say(t, job, "Ines", fmt.Sprintf("serial number MR-%d", 471+i%17), wrong[i%len(wrong)], wrong[i%7], "shaft runout 0.08 mm")
		state, err := s.Floor.State(t.Context(), job)
		if err != nil {
			t.Fatal(err)
		}
		of := state.Decidable[0]
		if _, _, err := s.Floor.Dispose(t.Context(), job, wire.Dispose{
			ID: journaltest.ID(9001 + i), Finding: of.ID(), Reading: of.Reading, Is: []string{"rework", "use as is", "scrap"}[i%3],
			Reason: "The customer wants it on Monday, and the designer was asked whether it will do.", Person: "Martin Hale",
		}); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// TestCountsAreForEveryone looks at the page of counts at each size, by day and in the dark.
func TestCountsAreForEveryone(t *testing.T) {
	t.Parallel()
	specs := func() []string { return []string{"bevel-head", "mr5"} }
	of := func(s *querytest.Shop) string {
		common, err1 := counts.Handler(s, specs, zerolog.Nop())
		pages, err2 := ui.Handler(nil)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		mux := http.NewServeMux()
		mux.Handle("GET /counts", common)
		mux.Handle("/", pages)
		server := httptest.NewServer(mux)
		t.Cleanup(server.Close)
		return server.URL + "/counts"
	}
	full, empty := of(rebuilds(t)), of(querytest.New(t, memory.New()))
	for name, address := range map[string]string{"full": full, "none": empty, "wrong": full + "?from=2026-03-02&to=2026-03-01"} {
		t.Run(name, func(t *testing.T) {
			p := newDevice(t, tablet, "light").open(address)
			p.await(`document.documentElement.dataset.sheet && document.querySelector("#spec")`)
			looksEverywhere(t, p, "counts-"+name, tablet)
		})
	}
	p := newDevice(t, tablet, "light").open(full)
	p.await(`document.querySelector("#symptoms tbody tr")`)
	if first := p.text("#symptoms tbody tr"); !strings.HasPrefix(first, "thrust washer: scored") {
		t.Errorf("the first is %q", first)
	}
	eval[bool](p, `(document.getElementById("spec").value = "bevel-head", document.querySelector("#ask [type=submit]").click(), true)`)
	p.await(`document.body.innerText.includes("No note of this time tells of a symptom.")`)
}
