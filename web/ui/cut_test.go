package ui_test

import (
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"readback/capture/floor"
)

// records writes down the ends of spoken notes that a page sends.
const records = `(() => {
	window.ends = [];
	const send = WebSocket.prototype.send;
	WebSocket.prototype.send = function (data) {
		if (typeof data === "string" && JSON.parse(data).type === "sound-end") ends.push(JSON.parse(data).cut ?? false);
		return send.call(this, data);
	};
})();`

// recording opens a sheet with a microphone of the test, whose ends of notes are written down.
func recording(t *testing.T) (*shop, *tab) {
	t.Helper()
	s := newShopThatHears(t, floor.Register{}, ears())
	p := s.sheet(tablet)
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: records})
	p.do("reload", chromedp.Reload())
	p.await(drawn)
	p.mic()
	return s, p
}

// goesHidden and isSeen are what the browser tells of a page that another lies over, and no longer.
const (
	goesHidden = `(() => { Object.defineProperty(document, "hidden", { value: true, configurable: true }); document.dispatchEvent(new Event("visibilitychange")); })()`
	isSeen     = `(() => { delete document.hidden; document.dispatchEvent(new Event("visibilitychange")); })()`
)

// TestACutNoteIsMarked: what ends a note by force is told to the server, which then takes nothing of it unasked;
// what ends it as meant is not.
func TestACutNoteIsMarked(t *testing.T) {
	t.Parallel()
	_, p := recording(t)
	ends := func(what, way string, want bool, end, after string) {
		t.Helper()
		p.choose(way)
		if way == "hold" {
			p.hold()
		} else {
			p.tap()
			p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
		}
		p.sound("seat", 2)
		p.await(is("hearing"))
		eval[chromedp.Void](p, `void (ends.length = 0)`)
		eval[chromedp.Void](p, end)
		p.await(`ends.length > 0`)
		if got := eval[[]bool](p, `ends`); got[0] != want {
			t.Errorf("%s: the ends of notes are marked %v, want %v", what, got, want)
		}
		if after != "" {
			eval[chromedp.Void](p, after)
		}
		if way == "hold" {
			p.release()
		}
		p.await(is("off"))
	}
	const (
		how   = `document.getElementById("talk-ways").click()`
		done  = `document.getElementById("ways-done").click()`
		press = `document.getElementById("talk-press").click()`
		full  = `for (let i = 0; i < 600; i++) window.take(new Int16Array(320))`
	)
	ends("let go", "hold", false, `document.dispatchEvent(new KeyboardEvent("keyup", { key: " ", code: "Space" }))`, "")
	ends("tapped again", "tap", false, press, "")
	ends("silence", "tap", false, `for (let i = 0; i < 60; i++) window.take(new Int16Array(320)); `+press, "")
	ends("twelve seconds", "hold", true, full, "")
	ends("another window", "hold", true, `dispatchEvent(new Event("blur"))`, "")
	ends("unplugged", "hold", true, `window.unplug("The microphone was unplugged.")`, "")
	ends("how to talk", "tap", true, how, done)
	ends("hidden", "tap", true, goesHidden, isSeen)
	ends("turned off", "open", true, press, "")
}

// TestACutNoteIsKeptAsSuch: the mark outlives the line, and the page.
func TestACutNoteIsKeptAsSuch(t *testing.T) {
	t.Parallel()
	s, p := recording(t)
	eval[bool](p, keepsPages)
	p.hold()
	p.sound("seat", 2)
	p.await(is("hearing"))
	s.line.cut()
	p.await(cutOff)
	p.sound(" is cle", 10)
	eval[chromedp.Void](p, `window.unplug("The microphone was unplugged.")`)
	p.await(`document.getElementById("line").dataset.waiting === "1"`)
	p.release()
	p.speak("valve fitted")
	p.await(`document.getElementById("line").dataset.waiting === "2"`)
	for n := eval[int](p, inOutbox); n != 2; n = eval[int](p, inOutbox) { // on the disk
	}
	p.do("reload with the line down", chromedp.Reload())
	p.await(cutOff + ` && document.getElementById("line").dataset.waiting === "2"`)
	s.line.mend()
	p.await(allSent)
	if got := fmt.Sprint(eval[[]bool](p, `ends`)); got != "[true false]" {
		t.Errorf("the ends of the kept notes are marked %s", got)
	}
}
