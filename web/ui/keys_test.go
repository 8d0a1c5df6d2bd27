package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// tabTo presses Tab until an element has the focus, and fails if the focus cannot be seen
// on the way.
func (p *tab) tabTo(selector string) {
	p.t.Helper()
	const most = 40
	for range most {
		p.press(kb.Tab)
		if unseen := eval[string](p, `(() => {
			const e = document.activeElement, style = getComputedStyle(e), box = e.getBoundingClientRect();
			const inSight = box.bottom > 0 && box.top < innerHeight && box.right > 0;
			return e === document.body || (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2 && inSight) ? "" : e.outerHTML.slice(0, 120);
		})()`); unseen != "" {
			p.t.Errorf("the focus cannot be seen at %s", unseen)
		}
		if eval[bool](p, fmt.Sprintf(`document.activeElement.matches(%q)`, selector)) {
			return
		}
	}
	p.t.Fatalf("%d times Tab do not lead to %s", most, selector)
}

// TestKeyboardAlone goes from the list of jobs to a verdict and on to the search without
// touching anything but keys.
func TestKeyboardAlone(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := newDevice(t, tablet, "light").open(s.address + "/")
	p.await(`document.querySelector("#options select")`)
	p.tabTo("#id")
	p.write("MW-1045")
	p.tabTo("[name=spec]")
	p.press(kb.ArrowDown) // the list stands at the gear head
	p.await(`document.getElementById("option-stages")`)
	p.tabTo("#option-stages")
	p.do("mark what stands there", chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	p.write("3")
	p.tabTo("#person")
	p.write("Ines")
	p.tabTo("button[type=submit]")
	p.press(kb.Enter)
	p.await(`location.pathname === "/jobs/MW-1045" && ` + drawn)
	if word := p.verdictOn("build spacer 64 millimetres"); word != "in" {
		t.Errorf("the first reading is %q", word)
	}
	if options := p.text("#options"); !strings.Contains(options, "3") {
		t.Errorf("the sheet has the options %q", options)
	}
	p.tabTo(".lamp-switch")
	p.press(" ")
	p.await(`document.documentElement.dataset.sheet === "dark"`)
	p.press(kb.Escape)
	p.await(atField)

	p.tabTo(`a[href="/search"]`)
	p.press(kb.Enter)
	p.await(`location.pathname === "/search" && document.activeElement.id === "q"`)
	s.kept("MW-1045")
	p.write("spacer")
	p.press(kb.Enter)
	p.await(`document.querySelector("#hits .notes a")`)
	p.tabTo("#hits .notes a")
	p.press(kb.Enter)
	p.await(`location.pathname === "/jobs/MW-1045" && location.hash === "#n2" && ` + drawn)
}

// TestJobThatCannotBeOpened: what is wrong is said in words, and what was filled in stays.
func TestJobThatCannotBeOpened(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1046", map[string]string{"stages": "3"})
	p := newDevice(t, phone, "light").open(s.address + "/")
	p.await(`document.querySelector("#options select")`)
	for id, want := range map[string]string{"MW-1046": "there already", "not a number": "cannot be a job's id"} {
		p.do("fill in", chromedp.SetValue(chromedp.CSS("#id"), id), chromedp.Focus(chromedp.CSS("#id")))
		p.press(kb.Enter)
		p.await(fmt.Sprintf(`document.getElementById("wrong").innerText.includes(%q) && document.getElementById("id").value === %q`, want, id))
		if !eval[bool](p, `(() => { const box = document.getElementById("wrong").getBoundingClientRect(); return box.top >= 0 && box.bottom <= innerHeight; })()`) {
			t.Errorf("what is wrong with %q is out of sight", id)
		}
	}
	p.shoot("open-refused")
}

// TestEarlyNote: a note that was entered before the sheet's script was there is in the
// address, where the browser puts a form's fields. It comes back to the field.
func TestEarlyNote(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1047", nil)
	p := newDevice(t, phone, "light").open(s.address + "/jobs/MW-1047?note=seat+is+clean")
	p.await(drawn + ` && document.getElementById("field").value === "seat is clean" && location.search === ""`)
	p.await(atField)
	p.press(kb.Enter)
	p.await(settled("seat is clean"))
}

// TestFieldKeepsFocus: whatever is touched, the next word lands in the field.
func TestFieldKeepsFocus(t *testing.T) {
	t.Parallel()
	s := fullShop(t)
	p := newDevice(t, wall, "light").openSheet(s, "MW-1041")
	p.await(atField)
	p.verdictOn("build spacer 88.5 millimetres")
	p.shoot("sheet-in")
	touched := []string{"#slab-word", "#next", ".local", "#notes li:nth-child(2)", ".lamp-switch", "#callouts h3", "#line", ".block .job"}
	for i, selector := range touched {
		p.do("click "+selector, chromedp.Click(chromedp.CSS(selector)))
		p.press("x")
		p.await(fmt.Sprintf(`%s && document.getElementById("field").value === %q`, atField, strings.Repeat("x", i+1)))
	}
	p.press(kb.Enter)
	p.await(settled(strings.Repeat("x", len(touched))) + " && " + atField)
}

// The options of a job are understood as they are said, in any order, and filled in.
func TestOptionsAreUnderstoodAsTheyAreSaid(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := newDevice(t, phone, "light").open(s.address + "/")
	p.await(`document.querySelector("#spec option[value=mr5]")`)
	eval[bool](p, `(() => { const s = document.getElementById("spec"); s.value = "mr5"; s.dispatchEvent(new Event("change")); return true; })()`)
	p.await(`document.getElementById("said")`)
	eval[bool](p, `(() => { document.getElementById("said").focus(); return true; })()`)
	p.write("long base eight stages two cut rebuild")
	p.press(kb.Enter)
	p.await(`document.getElementById("said-hint").textContent.startsWith("Base long")`)
	got := eval[string](p, `["base", "stages", "cut_impellers", "rebuild"].map((o) => document.getElementById("option-" + o).value).join(" ")`)
	if got != "long 8 2 yes" {
		t.Errorf("the options are %q, want long 8 2 yes", got)
	}
}
