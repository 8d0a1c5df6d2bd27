package ui_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"readback/search/history"
)

// TestManyJobs: of many jobs those worked on last are listed, and the others when they are asked for.
func TestManyJobs(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	if err := history.Fill(t.Context(), s.store, 1, 52, history.Until); err != nil {
		t.Fatal(err)
	}
	s.openJob("MW-1041", map[string]string{"stages": "3"})
	s.bench("MW-1041", "seat is clean")
	before := s.line.carried.Load()
	p := newDevice(t, tablet, "light").open(s.address + "/")
	p.await(`document.querySelectorAll("#jobs tbody tr").length === 12 && !document.getElementById("older").hidden && document.querySelector("#options select")`)
	if weight := s.line.carried.Load() - before; weight > heaviest {
		t.Errorf("the list weighs %d bytes", weight)
	}
	rows := p.list("#jobs tbody tr")
	if !strings.HasPrefix(rows[0], "MW-1041") || !strings.HasPrefix(rows[1], "MW-751") || !strings.HasSuffix(rows[1], "2025") && !strings.HasSuffix(rows[1], "2026") {
		t.Errorf("the first rows are %q", rows[:2])
	}
	eval[chromedp.Void](p, `document.getElementById("older").focus()`)
	for _, screen := range screens {
		p.show(screen, "light")
		p.shoot("jobs-many")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	p.press(kb.Enter)
	p.await(`document.querySelectorAll("#jobs tbody tr").length === 53 && document.getElementById("older").hidden`)
	if at := eval[string](p, `new Promise((done) => { const look = () => (document.activeElement.closest("#jobs") ? done(document.activeElement.textContent) : setTimeout(look, 20)); look(); })`); at != "MW-740" {
		t.Errorf("the focus is at %q", at)
	}
}
