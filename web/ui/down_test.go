package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"
)

// keepsPages waits until the worker keeps the pages' files.
const keepsPages = `navigator.serviceWorker.ready.then((r) => new Promise((done) => {
	const worker = r.active;
	if (worker.state === "activated") done(true);
	worker.addEventListener("statechange", () => worker.state === "activated" && done(true));
}))`

// holdsOutbox holds back what the page reads from its outbox until release is called; the
// page is marked once a read is held.
const holdsOutbox = `(() => {
	const own = Object.getOwnPropertyDescriptor(IDBTransaction.prototype, "oncomplete");
	const released = new Promise((done) => (window.release = done));
	Object.defineProperty(IDBTransaction.prototype, "oncomplete", { ...own, set(done) {
		const held = this.mode === "readonly" && this.objectStoreNames.contains("notes");
		own.set.call(this, held ? (e) => ((document.body.dataset.held = "yes"), released.then(() => done(e))) : done);
	} });
})()`

// inOutbox counts the notes that the browser keeps.
const inOutbox = `new Promise((done) => {
	indexedDB.open("readback").onsuccess = (e) => {
		const count = e.target.result.transaction("notes").objectStore("notes").count();
		count.onsuccess = () => done(count.result);
	};
})`

// TestNotesWhileTheLineIsDown: they are kept over a reload, sent in order when it is back,
// each once, and a stop among the late answers is shown first.
func TestNotesWhileTheLineIsDown(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1041", map[string]string{"base": "long"})
	p := newDevice(t, tablet, "light").openSheet(s, "MW-1041")
	eval[bool](p, keepsPages)
	p.verdictOn("build spacer 88.5 millimetres")

	s.line.cut()
	p.await(cutOff)
	before := []string{"collar nut stage one fifty newton metres", "seat is clean", "cut impeller stage one"}
	for i, note := range before {
		p.say(note)
		p.await(fmt.Sprintf(`document.getElementById("line").dataset.waiting === "%d" && document.getElementById("slab").dataset.word === "kept"`, i+1))
	}
	if said := p.text("#line"); !strings.Contains(said, "Not connected") || !strings.Contains(said, "3 notes kept, not checked yet") {
		t.Errorf("with the line down the sheet says %q", said)
	}
	if large := p.text("#slab-say"); !strings.Contains(large, "Kept, not checked yet") {
		t.Errorf("a kept note is answered %q", large)
	}
	p.shoot("line-down")

	p.do("reload with the line down", chromedp.Reload())
	p.await(cutOff + ` && document.getElementById("line").dataset.waiting === "3" && document.querySelector("#callouts > li")`)
	p.await(atField)
	if diff := cmp.Diff([]string{"kept", "kept", "kept", "in"}, p.words()); diff != "" {
		t.Errorf("verdicts after a reload (-want +got):\n%s", diff)
	}
	p.say("stage one seated")
	p.await(`document.getElementById("line").dataset.waiting === "4"`)
	p.shoot("line-down-reloaded")

	s.line.mend()
	p.await(allSent + ` && document.getElementById("callouts").dataset.entries === "6"`)
	want := append(append([]string{"build spacer 88.5 millimetres"}, before...), "stage one seated")
	if diff := cmp.Diff(want, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
	if n := eval[int](p, inOutbox); n != 0 {
		t.Errorf("%d notes are left in the outbox", n)
	}
	p.await(`document.getElementById("slab").dataset.word === "stop"`)
	late := eval[[]string](p, `[...document.querySelectorAll("#late li")].map((e) => e.dataset.word)`)
	if diff := cmp.Diff([]string{"out"}, late); diff != "" {
		t.Errorf("late answers that need a look after the stop (-want +got):\n%s", diff)
	}
	p.inSight("#slab-word", "#late button", "#next-where", "#field")
	p.shoot("late-stop")

	p.do("go to Seen", chromedp.Focus(chromedp.CSS("#late button")))
	p.press(kb.Enter)
	p.await(`document.getElementById("late").hidden && ` + atField + ` && document.getElementById("slab-heard").textContent.includes("stage one seated")`)
}

// TestLostAnswer: a note that was kept and whose answer was lost is sent again, and is in
// the record once.
func TestLostAnswer(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(phone)
	kept := s.writer.Notice()
	s.line.silence()
	p.say("build spacer 64 millimetres")
	<-kept
	p.say("seat is clean") // waits behind the first
	p.await(`document.getElementById("line").dataset.waiting === "2"`)
	s.line.cut()
	p.await(cutOff)
	s.line.mend()
	p.await(allSent + ` && document.getElementById("callouts").dataset.entries === "3"`)
	if diff := cmp.Diff([]string{"build spacer 64 millimetres", "seat is clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"done", "in"}, p.words()); diff != "" {
		t.Errorf("verdicts (-want +got):\n%s", diff)
	}
}

// TestTwoTabsOfOneTablet share an outbox, and still send each note once.
func TestTwoTabsOfOneTablet(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1041", nil)
	d := newDevice(t, tablet, "light")
	one, two := d.openSheet(s, "MW-1041"), d.openSheet(s, "MW-1041")
	s.line.cut()
	one.await(cutOff)
	two.await(cutOff)
	one.say("build spacer 64 millimetres")
	one.await(`document.getElementById("line").dataset.waiting === "1"`)
	two.say("seat is clean")
	two.await(`document.getElementById("line").dataset.waiting === "1"`)
	s.line.mend()
	for _, p := range []*tab{one, two} {
		p.await(allSent + ` && document.getElementById("callouts").dataset.entries === "3"`)
		if words := p.words(); len(words) != 2 {
			t.Errorf("a tab shows %v, want two verdicts", words)
		}
	}
	if kept := s.kept("MW-1041"); len(kept) != 2 {
		t.Errorf("the journal has %q, want each note once", kept)
	}
}

// refused opens a sheet whose server has a full disk, and says a note to it.
func refused(t *testing.T, note string) (*shop, *tab) {
	t.Helper()
	s := newShop(t)
	p := s.sheet(tablet)
	s.store.full.Store(true)
	p.say(note)
	p.await(`document.getElementById("slab").dataset.word === "refused"`)
	return s, p
}

// takeBack takes the refused note back to the field.
func (p *tab) takeBack(note string) {
	p.t.Helper()
	eval[chromedp.Void](p, `document.querySelector("#notes .acts button").click()`)
	p.await(fmt.Sprintf(`document.getElementById("field").value === %q && %s`, note, atField))
}

// TestRefusedNote: a note of which the server kept nothing stays here, says so, and can be
// taken back to the field.
func TestRefusedNote(t *testing.T) {
	t.Parallel()
	s, p := refused(t, "seat is clean")
	if say := p.text("#slab-say"); !strings.Contains(say, "disk is full") {
		t.Errorf("a refused note is answered %q", say)
	}
	p.shoot("refused")
	p.do("reload", chromedp.Reload())
	p.await(drawn + ` && document.querySelector("#notes > li[data-word=refused]")`)
	s.store.full.Store(false)
	p.takeBack("seat is clean")
	p.press(kb.Enter)
	p.await(settled("seat is clean"))
	if diff := cmp.Diff([]string{"seat is clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestLetGoWhileTheOutboxIsRead: a refused note that was taken back to the field does not
// come again from a list of the outbox that was read a moment before.
func TestLetGoWhileTheOutboxIsRead(t *testing.T) {
	t.Parallel()
	s, p := refused(t, "seat is clean")
	s.store.full.Store(false)

	s.line.cut()
	p.await(cutOff)
	eval[chromedp.Void](p, holdsOutbox)
	s.line.mend()
	p.await(`document.body.dataset.held === "yes"`)
	p.takeBack("seat is clean")
	eval[chromedp.Void](p, `window.release()`)
	p.press(kb.Enter)
	p.await(settled("seat is clean"))
	if diff := cmp.Diff([]string{"done"}, p.words()); diff != "" {
		t.Errorf("verdicts (-want +got):\n%s", diff)
	}
}

// TestOutboxThatCannotBeRead: the sheet says so, and goes on.
func TestOutboxThatCannotBeRead(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	eval[bool](p, keepsPages)
	s.line.cut()
	p.await(cutOff)
	eval[chromedp.Void](p, `void (IDBIndex.prototype.getAll = () => { throw new DOMException("it is broken", "UnknownError"); })`)
	p.write("seat is clean")
	s.line.mend()
	p.await(`document.getElementById("hint").innerText.includes("cannot be read (it is broken)")`)
	p.press(kb.Enter)
	p.await(settled("seat is clean"))
}

// TestStateCutShort: a state of which only a part came over is no state; the sheet stays as
// it was, and the next one is drawn.
func TestStateCutShort(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	eval[chromedp.Void](p, `(() => {
		window.whole = window.fetch;
		window.fetch = async (...asked) => {
			const reply = await window.whole(...asked), text = await reply.text();
			document.body.dataset.cut = "yes";
			return new Response(text.slice(0, text.length / 2), reply);
		};
	})()`)
	p.say("seat is clean")
	p.await(`document.body.dataset.cut === "yes" && document.getElementById("slab").dataset.word === "done"`)
	if n := eval[int](p, `document.querySelectorAll("#callouts > li").length`); n < 10 {
		t.Errorf("the sheet has %d callouts left", n)
	}
	eval[chromedp.Void](p, `window.fetch = window.whole`)
	p.say("build spacer 64 millimetres")
	p.await(settled("build spacer 64 millimetres"))
}
