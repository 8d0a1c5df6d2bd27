package ui_test

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/rs/zerolog"

	"readback/capture/journal/memory"
	"readback/capture/query/querytest"
	"readback/rules/drift"
	"readback/web/trend"
	"readback/web/ui"
)

// driftOf serves the page of drift over a shop's journal, beside the assets.
func driftOf(t *testing.T, s *querytest.Shop) (address string) {
	t.Helper()
	charts, err1 := trend.Handler(s, zerolog.Nop())
	pages, err2 := ui.Handler(nil)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("GET /drift", charts)
	mux.Handle("/", pages)
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	return server.URL + "/drift"
}

// TestDriftIsForEveryone looks at the page of drift at each size, by day and in the dark:
// with nothing, little and much on it.
func TestDriftIsForEveryone(t *testing.T) {
	t.Parallel()
	full, empty := querytest.New(t, memory.New()), querytest.New(t, memory.New())
	full.History(t, 150, 3)
	full.Open(t, "MW-1-"+strings.Repeat("long", 9), "mr5", nil)
	full.Say(t, "MW-1-"+strings.Repeat("long", 9), "Tom", "shaft runout 0.03 mm")
	atFull, atEmpty := driftOf(t, full), driftOf(t, empty)
	for name, address := range map[string]string{
		"none":     atEmpty,
		"choice":   atFull,
		"nuts":     atFull + "?of=mr5:collar_nut_torque&rules=eight",
		"spacer":   atFull + "?of=mr5:build_spacer",
		"few":      atFull + "?of=mr5:shaft_runout",
		"every":    atFull + "?of=mr5:",
		"wrong":    atFull + "?of=mr5:build_spacer&weight=2",
		"one-less": atFull + "?of=mr5:collar_nut_torque&place=stage%3D2&instrument=wrench+7",
	} {
		t.Run(name, func(t *testing.T) {
			p := newDevice(t, tablet, "light").open(address)
			p.await(`document.documentElement.dataset.sheet && document.querySelector("#of")`)
			looksEverywhere(t, p, "drift-"+name, tablet)
		})
	}
}

// looksEverywhere looks at a page that is read and not worked at: at each size by day, on one screen in the dark.
func looksEverywhere(t *testing.T, p *tab, name string, inDark screen) {
	t.Helper()
	for _, screen := range screens {
		p.show(screen, "light")
		p.shootWhole(name + "-light")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	checkAccess(t, p, everyRule)
	p.show(inDark, "dark")
	p.shootWhole(name + "-dark")
	checkAccess(t, p, contrast)
}

// shootWhole is shoot with what is below the screen's edge.
func (p *tab) shootWhole(name string) {
	p.t.Helper()
	if os.Getenv("READBACK_SHOTS") == "" {
		return
	}
	size := eval[float64](p, "document.documentElement.scrollHeight")
	before := p.screen
	p.show(screen{before.name, before.width, int64(math.Min(size, 6000)), before.touch}, eval[string](p, "document.documentElement.dataset.sheet"))
	p.shoot(name)
	p.show(before, eval[string](p, "document.documentElement.dataset.sheet"))
}

// TestDriftIsAskedOnThePage chooses a callout and an instrument as a person does, with no
// script of the page but the lamp's.
func TestDriftIsAskedOnThePage(t *testing.T) {
	t.Parallel()
	s := querytest.New(t, memory.New())
	s.History(t, 150, 3)
	p := newDevice(t, tablet, "light").open(driftOf(t, s))
	choose := func(id, value string) {
		t.Helper()
		if !eval[bool](p, fmt.Sprintf(`(() => { const s = document.getElementById(%q); s.value = %q; return s.value === %q; })()`, id, value, value)) {
			t.Fatalf("%s does not offer %q", id, value)
		}
		eval[bool](p, `(document.querySelector("#ask [type=submit]").click(), true)`)
	}
	choose("of", "mr5:build_spacer")
	p.await(`document.getElementById("limits")?.options.length === 2`)
	choose("limits", "88.4 to 88.6 mm")
	p.await(`document.getElementById("words-title")?.nextElementSibling.textContent.includes("limits of 88.4 to 88.6 mm")`)
	choose("of", "mr5:collar_nut_torque") // the spacer's limits are let go
	p.await(`document.querySelector(".findings .off")?.textContent.includes("Wrench 7 reads")`)
	if off := eval[string](p, `[...document.querySelectorAll(".findings > li")].map((l) => l.className + ":" + l.textContent).join("|")`); strings.Count(off, "off:") != 1 {
		t.Errorf("the findings are %s", off)
	}
	choose("instrument", "wrench 9")
	p.await(`document.readyState === "complete" && document.querySelectorAll(".findings > li").length === 1`) // the page may still be coming in
	if n := eval[int](p, `document.querySelectorAll("#readings tbody tr").length`); n != 100 {
		t.Errorf("%d rows are shown, want the newest 100 of 450", n)
	}
}

// TestNumbersOnThePageAreTheHandbooks: what the page says of the worked example of the
// NIST/SEMATECH e-Handbook, 6.3.2.2, in its table, for those who hear it, and in its chart.
func TestNumbersOnThePageAreTheHandbooks(t *testing.T) {
	t.Parallel()
	s := querytest.Published(t, memory.New())
	s.Series(t, "flow", []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1})
	p := newDevice(t, tablet, "light").open(driftOf(t, s) + "?of=published:flow&rules=eight")
	p.await(`document.querySelector("#numbers")`)
	cells := eval[map[string]string](p, `Object.fromEntries([...document.querySelectorAll("#numbers tbody tr")].map((r) => [r.cells[0].textContent, r.cells[1].textContent]))`)
	for what, want := range map[string]string{
		"Centre of the individuals":      "50.8100 L/min",
		"Mean moving range":              "1.8778 L/min",
		"Upper limit of the individuals": fmt.Sprintf("%.4f L/min", 50.81+3*16.9/9/drift.D2), // printed 55.8041, with d2 cut to 1.128
		"Lower limit of the individuals": fmt.Sprintf("%.4f L/min", 50.81-3*16.9/9/drift.D2), // printed 45.8159
	} {
		if cells[what] != want {
			t.Errorf("%s is %q, want %q", what, cells[what], want)
		}
	}
	if desc := eval[string](p, `document.querySelector("svg desc").textContent`); !strings.Contains(desc, "centre 50.81, limits 45.82 and 55.80.") || !strings.Contains(desc, "No rule fired") {
		t.Errorf("the chart is described as %q", desc)
	}
}

// TestDriftPrints: the charts and their words fit the paper, without what is for the screen.
func TestDriftPrints(t *testing.T) {
	t.Parallel()
	s := querytest.New(t, memory.New())
	s.History(t, 40, 3)
	p := newDevice(t, tablet, "light").open(driftOf(t, s) + "?of=mr5:collar_nut_torque")
	p.await(`document.querySelector("#numbers")`)
	pdf := call(p, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69}).Data
	if dir := os.Getenv("READBACK_SHOTS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "drift.pdf"), pdf, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	p.show(screen{"paper", 718, 3000, false}, "light") // A4 without its margins, at 96 to the inch
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	p.shoot("drift")
	for what, holds := range map[string]string{
		"nothing is wider than the paper": `document.documentElement.scrollWidth <= innerWidth && [...document.querySelectorAll("svg, table")].every((e) => e.getBoundingClientRect().right <= innerWidth)`,
		"no way to other pages":           `!document.querySelector("header nav").checkVisibility()`,
		"no button":                       `!document.querySelector("#ask [type=submit]").checkVisibility()`,
		"all four charts":                 `[...document.querySelectorAll("main svg")].filter((e) => e.checkVisibility()).length === 4`,
		"what is charted":                 `document.querySelector("#of").checkVisibility()`,
	} {
		if !eval[bool](p, holds) {
			t.Errorf("on paper it does not hold: %s", what)
		}
	}
}
