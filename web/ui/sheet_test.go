package ui_test

import (
	"fmt"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
)

// The conditions of a bench sheet that tests wait for.
const (
	connected = `document.getElementById("line").dataset.line === "up"`
	cutOff    = `document.getElementById("line").dataset.line === "down"`
	drawn     = connected + ` && document.querySelector("#callouts > li")`
	allSent   = connected + ` && document.getElementById("line").dataset.waiting === "0"`
	atField   = `document.activeElement.id === "field"`
)

// sheet opens an MR-5 as MW-1041, and its sheet by day on a device of that size. Its pages may use what may
// names: "microphone", "camera".
func (s *shop) sheet(size screen, may ...string) *tab {
	s.t.Helper()
	s.openJob("MW-1041", nil)
	d := newDevice(s.t, size, "light")
	for _, what := range may {
		d.permit(s, what, browser.PermissionSettingGranted)
	}
	return d.openSheet(s, "MW-1041")
}

// openSheet opens a job's sheet and waits until it shows the job.
func (d *device) openSheet(s *shop, job string) *tab {
	d.t.Helper()
	p := d.open(s.address + "/jobs/" + job)
	p.await(drawn)
	if s.hears { // and must not hear the sheet's own signals
		eval[chromedp.Void](p, `localStorage.setItem("readback.sound", JSON.stringify({ mode: "off" }))`)
		p.do("reload", chromedp.Reload())
		p.await(drawn)
	}
	return p
}

// verdictOn says a note on a sheet, waits until its answer stands large and the sheet is
// up to it, and returns the word that is shown.
func (p *tab) verdictOn(note string) string {
	p.t.Helper()
	p.say(note)
	p.await(settled(note))
	return eval[string](p, `document.getElementById("slab").dataset.word`)
}

// settled holds when a note is the newest, its verdict stands large, and the sheet shows
// what the job is after it.
func settled(note string) string {
	return fmt.Sprintf(`(() => {
		const newest = document.querySelector("#notes > li");
		return newest.querySelector(".text")?.textContent === %q
			&& newest.id === "n" + document.getElementById("callouts").dataset.entries
			&& newest.dataset.id === document.getElementById("slab").dataset.id;
	})()`, note)
}

// text returns what an element says.
func (p *tab) text(selector string) string {
	p.t.Helper()
	return eval[string](p, fmt.Sprintf(`document.querySelector(%q).innerText`, selector))
}

// texts returns what each of the elements says.
func (p *tab) texts(selector string) []string {
	p.t.Helper()
	return eval[[]string](p, fmt.Sprintf(`[...document.querySelectorAll(%q)].map((e) => e.innerText.trim())`, selector))
}

// words returns the verdicts of the notes on the sheet, newest first.
func (p *tab) words() []string {
	p.t.Helper()
	return eval[[]string](p, `[...document.querySelectorAll("#notes > li[data-word]")].map((e) => e.dataset.word)`)
}

// inSight fails for each element that is not wholly on the screen with nothing over it.
func (p *tab) inSight(selectors ...string) {
	p.t.Helper()
	for _, selector := range selectors {
		if !eval[bool](p, fmt.Sprintf(`(() => {
			const e = document.querySelector(%q), box = e.getBoundingClientRect();
			const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
			return box.height > 0 && box.top >= 0 && box.bottom <= innerHeight && e.contains(top);
		})()`, selector)) {
			p.t.Errorf("%s is not in sight", selector)
		}
	}
}
