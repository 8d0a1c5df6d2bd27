package ui_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestTalkFits looks at the strip and at the form at each size, and at their access.
func TestTalkFits(t *testing.T) {
	t.Parallel()
	_, p := hearing(t, ears())
	p.speak("build spacer sixty four millimetres")
	p.await(settled("build spacer sixty four millimetres"))
	sizes := []screen{phone, phoneTyping, tabletTyping, wall, tablet}
	for _, way := range []string{"hold", "tap", "open", "type"} {
		p.choose(way)
		for _, screen := range sizes {
			p.show(screen, "light")
			p.shoot("talk-" + way)
			p.inSight("#talk-word", "#talk-ways", "#field")
			for _, wrong := range eval[[]string](p, misfits) {
				t.Errorf("%s, %s: %s", way, screen.name, wrong)
			}
		}
	}
	checkAccess(t, p, everyRule)
	p.choose("hold")
	p.speak(twoWays)
	p.await(`document.getElementById("slab").dataset.word === "unclear"`)
	for _, sheet := range []string{"light", "dark"} {
		for _, screen := range sizes {
			p.show(screen, sheet)
			p.shoot("talk-asked-" + sheet)
			p.inSight("#talk-press", "#field")
			for _, wrong := range eval[[]string](p, misfits) {
				t.Errorf("asked, %s: %s", screen.name, wrong)
			}
		}
		checkAccess(t, p, everyRule)
	}
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.do("start the check", chromedp.Click(chromedp.CSS("#check-go")))
	p.await(`document.getElementById("check-say").innerText.startsWith("Be quiet")`)
	for _, sheet := range []string{"light", "dark"} {
		for _, screen := range sizes {
			p.show(screen, sheet)
			p.shoot("ways-" + sheet)
			for _, wrong := range eval[[]string](p, misfits) {
				if !strings.HasSuffix(wrong, "is not in sight") { // it lies under the form
					t.Errorf("form, %s: %s", screen.name, wrong)
				}
			}
		}
		checkAccess(t, p, everyRule)
	}
}

// TestDeafServer: a server that cannot hear is told of once, and the sheet is one for typing.
func TestDeafServer(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(phone)
	p.await(`!document.getElementById("deaf").hidden && document.getElementById("talk").hidden`)
	if why := p.text("#deaf-why"); !strings.Contains(why, "started without hearing") {
		t.Errorf("it says %q", why)
	}
	p.press(" ")
	p.write("seat is clean")
	p.press(kb.Enter)
	p.await(`document.querySelector("#notes .text")?.textContent === "seat is clean" && document.getElementById("deaf").hidden`)
	p.do("reload", chromedp.Reload())
	p.await(drawn)
	p.verdictOn("shaft held")
	if eval[bool](p, `!document.getElementById("deaf").hidden`) {
		t.Error("it is said again after a reload")
	}
}
