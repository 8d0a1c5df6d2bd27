package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"readback/capture/floor/floortest"
)

// TestTheBrowsersMicrophone: sound goes from the browser's own microphone through the worklet to
// the engine as it is, at 16 kHz.
func TestTheBrowsersMicrophone(t *testing.T) {
	t.Parallel()
	engine := &toneEngine{}
	s := newShopThatHears(t, floortest.Register(t), engine)
	p := s.sheet(tablet, "microphone")
	p.await(`!document.getElementById("talk").hidden`)
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.await(is("hearing") + ` && document.getElementById("talk-level").dataset.loud === "some"`)
	p.await(sounded)
	p.release()
	p.await(settled("seat clean"))
}

// TestTurnedOffWhileItOpens: a microphone that the browser gives after it was turned off is stopped, and
// one that was turned on again meanwhile listens.
func TestTurnedOffWhileItOpens(t *testing.T) {
	t.Parallel()
	s := newShopThatHears(t, floortest.Register(t), &toneEngine{})
	p := s.sheet(tablet, "microphone")
	p.await(`!document.getElementById("talk").hidden`)
	p.choose("open")
	eval[chromedp.Void](p, `(() => {
		const own = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
		Object.assign(window, { gives: [], tracks: [] });
		navigator.mediaDevices.getUserMedia = (c) => new Promise((done) => {
			const n = window.gives.push(async () => {
				const stream = await own(c);
				window.tracks[n] = stream.getTracks()[0];
				done(stream);
			}) - 1;
		});
	})()`)
	p.tap()
	p.await(is("listening"))
	p.tap()
	p.await(is("off"))
	p.tap()
	p.await(is("listening"))
	eval[any](p, `window.gives[1]()`)
	p.await(is("hearing"))
	eval[any](p, `window.gives[0]()`)
	const ended = `(async (n) => { while (window.tracks[n].readyState !== "ended") await new Promise((done) => setTimeout(done, 20)); return true; })`
	eval[bool](p, ended+`(0)`)
	if !eval[bool](p, is("hearing")+` && window.tracks[1].readyState === "live"`) {
		t.Error("the one that was turned on again is off")
	}
	p.tap()
	eval[bool](p, ended+`(1)`)
	p.await(is("off"))
	p.tap()
	p.tap()
	eval[any](p, `window.gives[2]()`)
	eval[bool](p, ended+`(2)`)
}

// TestNoMicrophone: whatever is wrong with it is said in words, and typing goes on.
func TestNoMicrophone(t *testing.T) {
	t.Parallel()
	s := newShopThatHears(t, floortest.Register(t), ears())
	s.openJob("MW-1041", nil)
	for _, tt := range []struct{ name, setting, make, want string }{
		{"refused", "denied", ``, "was refused"},
		{"missing", "granted", `navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("none", "NotFoundError"))`, "no microphone"},
		{"in use", "granted", `navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("busy", "NotReadableError"))`, "another program"},
		{"wrong rate", "granted", `Object.defineProperty(BaseAudioContext.prototype, "sampleRate", { get: () => 44100 })`, "44100"},
		{"not to be had here", "granted", `Object.defineProperty(navigator, "mediaDevices", { value: undefined })`, "https"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := newDevice(t, phone, "light")
			p := d.openSheet(s, "MW-1041")
			d.permit(s, "microphone", browser.PermissionSetting(tt.setting))
			p.await(`!document.getElementById("talk").hidden`)
			if tt.make != "" {
				eval[chromedp.Void](p, "void ("+tt.make+")")
			}
			eval[chromedp.Void](p, collects)
			p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
			p.await(fmt.Sprintf(`document.getElementById("talk-words").innerText.includes(%q)`, tt.want) + " && " + is("off"))
			p.release()
			if !eval[bool](p, fmt.Sprintf(`said.length === 1 && said[0].earcon === "ask" && said[0].text.includes(%q)`, tt.want)) {
				t.Errorf("aloud it says %v", eval[any](p, `said`))
			}
			p.shoot("talk-" + strings.ReplaceAll(tt.name, " ", "-"))
			for _, wrong := range eval[[]string](p, misfits) {
				t.Errorf("%s", wrong)
			}
			p.say("seat is clean")
			p.await(`document.querySelector("#notes .text").textContent === "seat is clean"`)
		})
	}
}

// TestUnplugged: a microphone that goes in the middle of a note ends it with what there is.
func TestUnplugged(t *testing.T) {
	t.Parallel()
	s := newShopThatHears(t, floortest.Register(t), &toneEngine{})
	p := s.sheet(tablet, "microphone")
	p.await(`!document.getElementById("talk").hidden`)
	eval[chromedp.Void](p, `(() => {
		const own = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
		navigator.mediaDevices.getUserMedia = async (c) => (window.stream = await own(c));
	})()`)
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.await(is("hearing"))
	p.await(sounded)
	eval[chromedp.Void](p, collects)
	eval[chromedp.Void](p, `void window.stream.getAudioTracks()[0].dispatchEvent(new Event("ended"))`)
	// Cut as it is, nothing of it may be recorded unasked: see TestACutNoteIsMarked.
	p.await(`document.getElementById("slab-heard").innerText.includes("seat clean") && document.getElementById("talk-words").innerText.includes("unplugged") && said.some((s) => s.earcon === "ask" && s.text.includes("unplugged"))`)
	p.release()
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32) // it is there again
	p.await(is("hearing") + ` && !document.getElementById("talk-words").innerText.includes("unplugged")`)
	p.release()
}
