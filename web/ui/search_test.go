package ui_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"

	"readback/capture/journal"
	"readback/parse"
)

// searched opens a shop with two jobs in which the same went wrong in other words, and its search.
func searched(t *testing.T, query string) (*shop, *tab) {
	t.Helper()
	s := newShop(t)
	s.openJob("MW-1060", map[string]string{"base": "short", "stages": "3"})
	s.bench("MW-1060", "thrust washer badly scratched", "no wear on the sleeve", "end play down 90.10", "end play up 87.10", "thrust washer replaced")
	s.openJob("MW-1061", map[string]string{"base": "long", "stages": "3"})
	s.bench("MW-1061", "thrust washer scored", "shaft seized after sand", "end play down 90.10", "end play up 87.00", "collar nut stage one 51 newton metres")
	s.openJob("MW-1062", map[string]string{"base": "long", "stages": "3"})
	s.bench("MW-1062", "end play down 90.10", "end play up 88.50", "rotor locked solid, silt everywhere", "collar nut stage one 48 newton metres")
	s.kept("MW-1062")
	p := newDevice(t, tablet, "light").open(s.address + "/search" + query)
	p.await(`document.activeElement.id === "q"`)
	return s, p
}

// ask types a query in place of the last and waits for what is said of it.
func (p *tab) ask(query, condition string) {
	p.t.Helper()
	eval[chromedp.Void](p, `void (document.getElementById("q").value = "", document.getElementById("q").focus())`)
	p.say(query)
	p.await(fmt.Sprintf(`document.getElementById("found").textContent !== "Looking." && new URLSearchParams(location.search).get("q") === %q && (%s)`, strings.TrimSpace(query), condition))
}

// list returns the texts of all that a selector finds.
func (p *tab) list(selector string) []string {
	p.t.Helper()
	return eval[[]string](p, fmt.Sprintf(`[...document.querySelectorAll(%q)].map((e) => e.textContent)`, selector))
}

func (p *tab) lists(what, selector string, want ...string) {
	p.t.Helper()
	if diff := cmp.Diff(want, p.list(selector)); diff != "" {
		p.t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

// TestSearchShowsWhatWasMeant: words that mean the same are found and lit, what is denied is not, and
// beside a job stands what was done in the end.
func TestSearchShowsWhatWasMeant(t *testing.T) {
	t.Parallel()
	_, p := searched(t, "")
	p.ask("gouged thrust washer", `document.querySelectorAll("#hits > li").length === 2`)
	jobs := p.list("#hits .head h2 a")
	slices.Sort(jobs)
	if diff := cmp.Diff([]string{"MW-1060", "MW-1061"}, jobs); diff != "" {
		t.Errorf("jobs (-want +got):\n%s", diff)
	}
	lit := p.list("#hits mark")
	slices.Sort(lit)
	if diff := cmp.Diff([]string{"scored", "scratched", "thrust washer", "thrust washer"}, slices.Compact(lit)); diff != "" && !slices.Contains(lit, "thrust") {
		t.Errorf("lit (-want +got):\n%s", diff)
	}
	if ended := p.text("#hits .ended"); !strings.Contains(ended, "thrust washer replaced") {
		t.Errorf("in the end: %q", ended)
	}
	p.shoot("search-meant")
	p.ask("worn sleeve", `document.getElementById("found").textContent.includes("No note")`)
	p.ask(`"locked solid"`, `document.querySelectorAll("#hits > li").length === 1`)
	p.ask("stuck -sand", `document.querySelectorAll("#hits > li").length === 1`)
	p.lists("stuck without sand", "#hits .head h2 a", "MW-1062")
	p.ask("thurst washer", `document.querySelectorAll("#hits > li").length === 2 && document.getElementById("found").textContent.includes("thurst")`)

	p.ask("locked", `document.querySelectorAll("#hits > li").length === 2`)
	eval[chromedp.Void](p, `document.querySelector("[aria-label='Jobs like MW-1062']").click()`)
	p.await(`document.getElementById("chips").innerText.includes("jobs like MW-1062") && document.querySelector("#hits .head h2 a").textContent === "MW-1061"`)
	p.shoot("search-like")
	eval[chromedp.Void](p, `document.querySelector("#chips button").click()`)
	p.await(`document.getElementById("chips").children.length === 0 && document.getElementById("hits").children.length === 0 && location.search.indexOf("like") < 0`)
}

// TestSearchChips: filters that were typed and those of the counts are chips that can be taken out again,
// by keys as well, and the address keeps them.
func TestSearchChips(t *testing.T) {
	t.Parallel()
	s, p := searched(t, "")
	p.ask("end play over 2 mm in long base", `document.querySelectorAll("#chips li").length === 3 && document.querySelectorAll("#hits > li").length === 1`)
	p.lists("chips", "#chips bdi", "end play", "over 2 mm", "long base")
	p.lists("jobs", "#hits .head h2 a", "MW-1061")
	if came := p.text("#hits .came"); !strings.Contains(came, "warn") {
		t.Errorf("beside the note stands %q", came)
	}
	p.shoot("search-chips")
	p.tabTo(`#chips li:last-child button`)
	p.press(kb.Enter)
	p.await(`document.querySelectorAll("#chips li").length === 2 && document.querySelectorAll("#hits > li").length === 2 && document.activeElement.id === "q"`)
	if q := eval[string](p, `document.getElementById("q").value`); q != "end play over 2 mm" {
		t.Errorf("the field holds %q", q)
	}

	p.ask("collar nut", `document.querySelectorAll("#hits > li").length === 2 && !document.getElementById("narrow").hidden`)
	eval[chromedp.Void](p, `document.getElementById("narrow").open = true`)
	if counts := p.list("#facets button"); !slices.Contains(counts, "out (1)") || !slices.Contains(counts, "in (1)") || !slices.Contains(counts, "Ines (2)") || !slices.Contains(counts, "collar nut torque (2)") {
		t.Errorf("the counts are %q", counts)
	}
	p.shoot("search-counts")
	eval[chromedp.Void](p, `[...document.querySelectorAll("#facets button")].find((b) => b.textContent === "out (1)").click()`)
	p.await(`document.querySelectorAll("#hits > li").length === 1 && new URLSearchParams(location.search).get("verdict") === "out"`)
	p.lists("chips", "#chips bdi", "verdict out")
	again := newDevice(t, phone, "dark").open(s.address + eval[string](p, `location.pathname + location.search`))
	again.await(`document.querySelectorAll("#hits > li").length === 1 && document.querySelectorAll("#chips li").length === 1`)
	again.shoot("search-kept")
	eval[chromedp.Void](p, `document.querySelector("#chips button").click()`)
	p.await(`document.querySelectorAll("#hits > li").length === 2 && document.querySelectorAll("#chips li").length === 0`)

	eval[chromedp.Void](p, `document.querySelector("[data-order=newest]").click()`)
	p.await(`document.querySelector("[data-order=newest]").ariaPressed === "true" && document.querySelector("#hits .head h2 a").textContent === "MW-1062"`)
	p.do("a filter that is none", chromedp.Navigate(s.address+"/search?q=washer&from=soon"))
	p.await(`document.getElementById("found").textContent.includes("soon") && document.querySelector("#chips button")`)
	eval[chromedp.Void](p, `document.querySelector("#chips button").click()`)
	p.await(`document.querySelectorAll("#hits > li").length > 0`)
}

// TestSearchOfHostileNotes: what notes hold is text, keeps to its place, and turns nothing around it.
func TestSearchOfHostileNotes(t *testing.T) {
	t.Parallel()
	s, p := searched(t, "")
	hostile := []string{
		`seized <script>window.owned = 1</script><img src=x onerror="window.owned = 1"><style>*{display:none}</style>`,
		"seized \u202egnihtyreve denrut\u202c \u2067\u061c shaft",
		"seized " + strings.Repeat("z", 10_000),
		"seized \x1b[31m\u200b\ufeff " + strings.Repeat("\u0301", 300),
	}
	for i, text := range hostile { // what older programs may have kept: a bench refuses some of it
		e := journal.Entry{
			Job: "MW-1062", ID: fmt.Sprintf("01J9%022d", i), Kind: journal.Note, Person: `<b>"Ines"</b>`, Text: text, At: journal.InstantOf(time.Now()),
			Utterance: &parse.Utterance{Text: text, Kind: parse.Remark}, Answer: []byte(`{}`),
		}
		if _, err := s.writer.Append(t.Context(), e); err != nil {
			t.Fatal(err)
		}
	}
	s.kept("MW-1062")
	p.ask("seized", `document.querySelectorAll("#hits .notes > li").length === 6`)
	shown := p.list("#hits .text")
	for _, text := range hostile {
		if !slices.Contains(shown, text) {
			t.Errorf("%.60q is not shown as it was said", text)
		}
	}
	eval[chromedp.Void](p, `document.getElementById("narrow").open = true`)
	for _, screen := range screens {
		p.show(screen, "light")
		p.shoot("search-hostile")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	if eval[bool](p, `"owned" in window || document.querySelectorAll("#hits script, #hits img, #hits style, #facets b").length > 0`) {
		t.Error("a note was run as markup")
	}
	if !eval[bool](p, `[...document.querySelectorAll("#hits .text")].every((e) => getComputedStyle(e.querySelector("bdi")).unicodeBidi === "isolate" && getComputedStyle(e).overflow === "clip")`) {
		t.Error("a note may turn what stands beside it, or cover it")
	}

	p.ask("(a+)+$ .* [[ *", `document.getElementById("found").textContent.includes("no word") || document.getElementById("found").textContent.includes("No note")`)
	p.ask(strings.Repeat("long ", 300), `document.getElementById("found").textContent.includes("fewer")`)
	p.ask("<script>window.owned = 1</script>", `document.querySelectorAll("#hits .notes > li").length === 1`)
	p.ask(`seized by <b>"Ines"</b>`, `!document.getElementById("found").querySelector("b")`)
	if eval[bool](p, `"owned" in window`) {
		t.Error("a query was run as markup")
	}
}

// TestKeptSearches: a search that was kept by name tells how many notes are new to it until somebody looks,
// on any device, and can be removed.
func TestKeptSearches(t *testing.T) {
	t.Parallel()
	s, p := searched(t, "")
	p.ask("gouged washer", `document.querySelectorAll("#hits > li").length === 2 && !document.getElementById("keep").hidden`)
	if !eval[bool](p, `document.getElementById("kept").hidden`) {
		t.Error("searches are shown though none is kept")
	}
	eval[chromedp.Void](p, `(document.getElementById("keep").open = true, document.getElementById("name").focus())`)
	p.say(`<b>washers</b> gone`)
	p.await(`document.querySelector("#keep-wrong").textContent.includes("slash")`)
	eval[chromedp.Void](p, `(document.getElementById("name").value = "", document.getElementById("name").focus())`)
	p.say("washers <b>gone")
	p.await(`document.querySelector("#searches button")?.ariaLabel === "washers <b>gone, nothing new" && !document.getElementById("kept").hidden`)

	s.bench("MW-1062", "thrust washer deeply scored", "no scratches on the washer")
	s.kept("MW-1062")
	other := newDevice(t, phone, "light").open(s.address + "/search")
	other.await(`document.querySelector("#searches .fresh .count")?.textContent === "1 new" && document.getElementById("news").textContent.includes("1 new")`)
	for _, screen := range screens {
		other.show(screen, "light")
		other.shoot("search-saved")
		for _, wrong := range eval[[]string](other, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	checkAccess(t, other, everyRule)
	eval[chromedp.Void](other, `document.querySelector("#searches button").click()`)
	other.await(`document.querySelector("#hits .text")?.textContent === "thrust washer deeply scored" && document.querySelector("#hits small:not(h2 small)").textContent.startsWith("new · note") && document.querySelector("#searches .count").textContent === "nothing new"`)
	if n := len(other.list("#hits .notes > li")); n != 3 {
		t.Errorf("%d notes are shown", n)
	}
	if q := eval[string](other, `document.getElementById("q").value + " " + document.querySelector("[data-order=newest]").ariaPressed`); q != "gouged washer true" {
		t.Errorf("it shows %q", q)
	}
	other.shoot("search-saved-new")
	eval[chromedp.Void](other, `document.querySelector("#searches .away").click()`)
	other.await(`document.getElementById("kept").hidden && document.getElementById("searches").children.length === 0`)
}
