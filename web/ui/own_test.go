package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"readback/capture/floor/floortest"
	"readback/capture/hear"
)

// recognition stands for the browser's own, which needs somebody outside who hears: the test says what it
// has heard. It keeps to the order of the events of the Web Speech API.
const recognition = `globalThis.SpeechRecognition = globalThis.webkitSpeechRecognition = class {
	start() {
		globalThis.own = this;
		document.body.dataset.own = this.continuous ? "whole" : "one";
	}
	said(text, isFinal) {
		this.onspeechstart?.(new Event("speechstart"));
		this.onresult?.({ results: [Object.assign([{ transcript: text, confidence: 0.9 }], { isFinal })] });
	}
	fails(error) {
		this.onerror?.({ error });
		this.gone();
	}
	gone() {
		delete document.body.dataset.own;
		this.onend?.(new Event("end"));
	}
	stop() {
		if (this.last) this.said(this.last, true);
		setTimeout(() => this.gone());
	}
	abort() { setTimeout(() => this.gone()); }
};`

// browserHears opens a sheet whose browser can hear by itself.
func browserHears(t *testing.T) (*shop, *tab) {
	t.Helper()
	return browserHearsBy(t, ears())
}

// browserHearsBy is [browserHears] with the engine of the server.
func browserHearsBy(t *testing.T, engine hear.Engine) (*shop, *tab) {
	t.Helper()
	s := newShopThatHears(t, floortest.Register(t), engine)
	s.openJob("MW-1041", nil)
	p := newDevice(t, tablet, "light").open("about:blank")
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: recognition})
	p.do("open the sheet", chromedp.Navigate(s.address+"/jobs/MW-1041"))
	p.await(drawn + ` && !document.getElementById("talk").hidden`)
	return s, p
}

// TestTheLeadInOfTheBrowsersOwn: in an open microphone what the browser has heard begins with the lead-in, or
// is nothing; a key needs none.
func TestTheLeadInOfTheBrowsersOwn(t *testing.T) {
	t.Parallel()
	s, p := browserHearsBy(t, &guessing{Engine: ears(), leadIn: "bench seven"})
	p.letListen()
	p.tells("What's left?")
	p.await(settled("what's left"))
	p.choose("open")
	p.await(`document.getElementById("talk-how").innerText.includes("Each note then begins with “bench seven”")`)
	p.tap()
	said := func(text string) {
		t.Helper()
		p.await(`document.body.dataset.own === "one"`)
		eval[bool](p, fmt.Sprintf(`(own.said(%q, true), own.gone(), true)`, text))
	}
	said("What do I need?")
	said("Bench 7, where are we?")
	p.await(settled("where are we"))
	if kept := s.kept("MW-1041"); len(kept) != 2 || p.text("#talk-words") != "" {
		t.Errorf("kept: %q, the strip says %q", kept, p.text("#talk-words"))
	}
}

// letListen turns the browser's own recognition on, past the warning.
func (p *tab) letListen() {
	p.t.Helper()
	eval[bool](p, `new Promise((done) => {
		document.getElementById("ways").addEventListener("close", () => done(true), { once: true });
		document.getElementById("talk-ways").click();
		document.getElementById("own-on").click();
		document.getElementById("own-accept").click();
		document.getElementById("ways-done").click();
	})`)
}

// tells speaks a note to the browser's own recognition while the key is held.
func (p *tab) tells(text string) {
	p.t.Helper()
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.await(is("listening") + ` && document.body.dataset.own === "whole"`)
	eval[bool](p, fmt.Sprintf(`(own.said(%q, false), own.last = %q, true)`, text[:len(text)/2], text))
	p.await(is("hearing"))
	p.release()
}

// It is off until the warning was read, and off again after a reload; what it hears is asked about first.
func TestTheBrowsersOwnRecognition(t *testing.T) {
	t.Parallel()
	s, p := browserHears(t)
	eval[bool](p, `(document.getElementById("talk-ways").click(), true)`)
	if eval[bool](p, `document.getElementById("own").hidden || !document.getElementById("own-warning").hidden`) {
		t.Error("there is no choice of who listens, or a warning without a cause")
	}
	eval[bool](p, `(document.getElementById("own-on").click(), true)`)
	p.await(`!document.getElementById("own-warning").hidden`)
	if on := eval[string](p, `document.activeElement.id`); on != "own-leave" {
		t.Errorf("the focus is on %s", on)
	}
	for _, screen := range screens {
		p.show(screen, "light")
		eval[bool](p, `(document.getElementById("own-warning").scrollIntoView({ block: "nearest" }), true)`)
		p.shoot("own-warning")
		for _, wrong := range eval[[]string](p, misfitsInForm) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	p.show(tablet, "light")
	eval[bool](p, `(document.getElementById("own-leave").click(), document.getElementById("ways-done").click(), true)`)
	p.mic()
	p.speak("what's left") // still heard by the server
	p.await(settled("what's left"))
	p.letListen()

	p.tells("Collar nut stage 1, 48.0 Nm.")
	p.await(`document.getElementById("slab-say").innerText === "Did you say collar nut stage 1 48.0 Nm? Yes or no."`)
	p.shoot("own-asked")
	if kept := s.kept("MW-1041"); len(kept) != 1 {
		t.Fatalf("kept before a yes: %q", kept)
	}
	p.tells("Yes.")
	p.await(settled("collar nut stage 1 48.0 Nm"))
	if word := eval[string](p, `document.getElementById("slab").dataset.word`); word != "in" {
		t.Errorf("the reading is %q", word)
	}
	p.tells("What's left?")
	p.await(settled("what's left") + ` && document.querySelector("#notes > li").innerText.includes("heard by the browser")`)
	p.tells("Scratch that.")
	p.await(`document.getElementById("slab-say").innerText === "Did you say scratch that? Yes or no."`)
	p.tells("No.")
	p.await(`document.getElementById("slab-say").innerText.startsWith("Say again.")`)

	entries, err := s.store.Entries(t.Context(), "MW-1041", 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	if e := entries[2]; !strings.Contains(string(e.Heard), `"engine":"browser"`) || !strings.Contains(string(e.Heard), `"reply":"yes"`) || e.Sound != "" {
		t.Errorf("the record says %s, sound %q", e.Heard, e.Sound)
	}
	p.do("come again", chromedp.Reload())
	p.await(drawn + ` && !document.getElementById("talk").hidden && !document.getElementById("talk").hasAttribute("data-own")`)
}

// misfitsInForm lists targets of the open form that are too small, and text that is cut.
const misfitsInForm = `(() => {
	const wrong = [];
	for (const e of document.querySelectorAll("dialog[open] *")) {
		if (!e.checkVisibility({ visibilityProperty: true })) continue;
		const box = e.getBoundingClientRect();
		if (e.matches("button") && (box.width < 48 || box.height < 48)) wrong.push("small: " + e.id);
		if (e.clientWidth && e.scrollWidth > e.clientWidth + 1) wrong.push("cut: " + e.outerHTML.slice(0, 80));
	}
	return wrong;
})()`

// What goes wrong is said in words, and nothing is kept; a note that is said with the line down is asked
// about when it is back, and listed.
func TestTheBrowsersOwnRecognitionFails(t *testing.T) {
	t.Parallel()
	s, p := browserHears(t)
	p.letListen()
	for _, tt := range []struct{ code, words string }{{"network", "cannot reach"}, {"not-allowed", "was refused"}, {"audio-capture", "finds no microphone"}, {"odd", "has failed (odd)"}} {
		p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
		p.await(is("listening") + ` && document.body.dataset.own`)
		eval[bool](p, fmt.Sprintf(`(own.said("collar nut", true), own.fails(%q), true)`, tt.code))
		p.release()
		p.await(is("off") + fmt.Sprintf(` && document.getElementById("talk-words").innerText.includes(%q)`, tt.words))
	}
	p.choose("open")
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.own === "one"`)
	eval[bool](p, `(own.fails("no-speech"), true)`) // it listens on
	p.await(`document.body.dataset.own === "one"`)
	p.tap()
	p.await(is("off"))
	p.choose("hold")
	s.line.cut()
	p.await(`document.getElementById("line").dataset.line === "down"`)
	p.tells("collar nut stage one 48 newton metres")
	p.await(`document.getElementById("line").dataset.waiting === "1"`)
	s.line.mend()
	p.await(`document.getElementById("line").dataset.waiting === "0" && document.querySelector("#notes > li").innerText.includes("nothing was recorded")`)
	if kept := s.kept("MW-1041"); len(kept) != 0 {
		t.Errorf("kept: %q", kept)
	}
}

// What the browser has heard steers the page as what the server hears does: a photo after a yes, the
// jobs at once, and nothing of it is left to be sent.
func TestTheBrowsersOwnWordsSteerThePage(t *testing.T) {
	t.Parallel()
	s, p := browserHears(t)
	p.letListen()
	p.tells("Seat clean.")
	p.await(`document.getElementById("slab-say").innerText === "Did you say seat clean? Yes or no."`)
	p.tells("Yes.")
	p.await(settled("seat clean"))
	p.tells("Take a photo.")
	p.await(`document.getElementById("slab-say").innerText === "Did you say take a photo? Yes or no."`)
	p.tells("Yes.")
	p.await(`document.getElementById("camera").open && document.getElementById("camera-of").innerText === "seat clean"`)
	eval[chromedp.Void](p, `document.getElementById("camera-cancel").click()`)
	p.await(`!document.getElementById("camera").open`)
	p.tells("Make a note it rattles when cold")
	p.await(`document.getElementById("slab-say").innerText.startsWith("Was that a remark, to be kept in these words: make a note it rattles when cold?")`)
	p.tells("Yes.")
	p.await(settled("make a note it rattles when cold") + ` && document.querySelector("#notes > li .guess")`)
	if n := eval[int](p, inOutbox); n != 0 {
		t.Errorf("%d notes are left in the outbox", n)
	}
	p.tells("Back to the jobs.")
	p.await(`location.pathname === "/" && document.querySelector("#jobs tbody tr")`)
	if n := eval[int](p, inOutbox); n != 0 {
		t.Errorf("%d notes are left in the outbox", n)
	}
	if kept := s.kept("MW-1041"); len(kept) != 2 {
		t.Errorf("kept: %q", kept)
	}
}
