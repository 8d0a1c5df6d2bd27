package ui_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"

	"readback/capture/voice"
)

// ownVoices stands for a browser with voices of its own, which come late. It speaks at once, or
// fails at once in the voices that are named in failing, is not let in those named in refusing, and says
// nothing more in those named in hanging; what begins with Keep it speaks until it is cancelled.
const ownVoices = `(() => {
	const own = new EventTarget();
	let voices = [], now = null;
	const over = (how = {}) => { const u = now; now = null; how.error ? u?.onerror?.(how) : u?.onend?.(how); };
	window.spokenByBrowser = [];
	Object.assign(window, { failing: [], refusing: [], hanging: [] });
	window.cancelled = 0;
	Object.defineProperty(window, "speechSynthesis", { value: Object.assign(own, {
		getVoices: () => voices,
		speak(u) {
			spokenByBrowser.push(u.voice.name + " " + u.rate + " " + u.volume + ": " + u.text);
			now = u;
			if (failing.includes(u.voice.name)) setTimeout(over, 5, { error: "network" });
			else if (refusing.includes(u.voice.name)) setTimeout(over, 5, { error: "not-allowed" });
			else if (hanging.includes(u.voice.name)) return;
			else if (!u.text.startsWith("Keep")) setTimeout(over, 5);
		},
		cancel() { cancelled++; over({ error: "canceled" }); },
	}) });
	window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
	window.voicesCome = (all) => { voices = all; own.dispatchEvent(new Event("voiceschanged")); return true; };
})();`

// Voices of the browser: two on the device, of which one is of another language, and one that
// sends what is spoken away.
const (
	wren  = `{ name: "Wren", lang: "en-GB", localService: true }`
	autre = `{ name: "Autre", lang: "fr-FR", localService: true }`
	cloud = `{ name: "Cumulus", lang: "en-US", localService: false, default: true }`
)

// voicesCome gives the browser its voices.
func (p *tab) voicesCome(all ...string) {
	p.t.Helper()
	eval[bool](p, `voicesCome([`+strings.Join(all, ", ")+`])`)
}

// listenWith is [listenTo] on a browser that has voices of its own once they have come. before
// runs in the page before its scripts.
func listenWith(t *testing.T, s *shop, before string) *tab {
	t.Helper()
	s.openJob("MW-1041", nil)
	p := newDeviceOf(t, sounding, tablet, "light").open("about:blank")
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: hears + ownVoices + before})
	p.do("open", chromedp.Navigate(s.address+"/jobs/MW-1041"))
	p.await(drawn + " && " + openLoud)
	return p
}

// byBrowser returns what the browser's voices said since it was asked last.
func (p *tab) byBrowser() []string {
	p.t.Helper()
	return eval[[]string](p, `spokenByBrowser.splice(0)`)
}

const (
	signalsOnly = `document.getElementById("sound-open").innerText === "Signals only"`
	withVoice   = `document.getElementById("sound-open").innerText === "Sound"`
)

// A voice of the browser's own is used if it is chosen and there; it is given words and no
// signs. Until it is there the server speaks.
func TestVoiceOfTheBrowser(t *testing.T) {
	t.Parallel()
	h := &hummer{word: quick}
	p := listenWith(t, newVoicedShop(t, h), "")
	eval[bool](p, choose(`{ voice: "browser:Wren", speed: 1.2, volume: 0.5 }`))
	p.verdictOn("seat is clean")
	p.heard(1)
	if asked := h.rendered(); len(asked) != 1 || asked[0] != "low 1.20: Seat clean." {
		t.Errorf("before the browser has its voices the server renders %q", asked)
	}
	p.voicesCome(wren, autre)
	if options := p.texts("#sound-voice option"); !slices.Contains(options, "Wren") || slices.Contains(options, "Autre") {
		t.Errorf("the voices to choose are %q", options)
	}
	p.verdictOn("collar nut stage one fifty one newton metres")
	p.heard(2)
	said := p.byBrowser()
	if len(said) < 3 || said[0] != "Wren 1.2 0.5: Collar nut one, fifty-one newton metres." || said[1] != "Wren 1.2 0.5: Out." || strings.ContainsAny(strings.Join(said[1:], ""), "·°") {
		t.Errorf("the browser says %q", said)
	}
	if asked := h.rendered(); len(asked) != 1 {
		t.Errorf("the server renders %q too", asked)
	}
}

// Where the server has no voice, one of this device speaks without being chosen, as soon as it is
// there, and the page says so. One that sends what is spoken away does not.
func TestVoiceOfTheDeviceStandsIn(t *testing.T) {
	t.Parallel()
	p := listenWith(t, newShop(t), "")
	p.await(signalsOnly)
	p.voicesCome(cloud, autre)
	p.verdictOn("build spacer 64 millimetres")
	p.heard(1)
	if said := p.byBrowser(); len(said) != 0 || !eval[bool](p, signalsOnly) {
		t.Errorf("nobody chose it, and it says %q", said)
	}
	p.forget()
	p.voicesCome(cloud, autre, wren)
	p.await(withVoice)
	p.verdictOn("seat is clean")
	if diff := cmp.Diff([]string{"signal: in", "say: Seat clean.", "silent"}, p.heard(1)); diff != "" {
		t.Errorf("heard (-want +heard):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"Wren 1 1: Seat clean."}, p.byBrowser()); diff != "" {
		t.Errorf("the browser (-want +said):\n%s", diff)
	}
	p.openSound()
	if says := p.text("#sound-state"); !strings.Contains(says, "This server has no voice") || !strings.Contains(says, "Wren, a voice of this device, speaks") {
		t.Errorf("the form says %q", says)
	}
	if chosen := p.chosenVoice(); chosen != "None chosen: Wren" {
		t.Errorf("the form shows %q", chosen)
	}
}

// chosenVoice is what the form shows as the voice.
func (p *tab) chosenVoice() string {
	p.t.Helper()
	return eval[string](p, `document.getElementById("sound-voice").selectedOptions[0].textContent`)
}

// A sentence that waits for a touch is spoken by a voice that has come meanwhile.
func TestVoiceComesWhileASentenceWaits(t *testing.T) {
	t.Parallel()
	p := listenWith(t, newShop(t), "")
	p.await(signalsOnly)
	eval[bool](p, `(document.dispatchEvent(new CustomEvent("readback:talking", { detail: true })), true)`)
	p.verdictOn("seat is clean")
	p.voicesCome(wren)
	eval[bool](p, `(document.dispatchEvent(new CustomEvent("readback:talking", { detail: false })), true)`)
	if diff := cmp.Diff([]string{"signal: in", "say: Seat clean.", "silent"}, p.heard(1)); diff != "" {
		t.Errorf("heard (-want +heard):\n%s", diff)
	}
}

// The only voice there is can be chosen by keys, is not shown as chosen before, and says where it
// sends what is spoken. Once it is gone the form says that too.
func TestOnlyVoiceIsChosenByKeys(t *testing.T) {
	t.Parallel()
	p := listenWith(t, newShop(t), "")
	p.voicesCome(cloud)
	p.openSound()
	if chosen := p.chosenVoice(); chosen != "None" {
		t.Errorf("before it is chosen the form shows %q", chosen)
	}
	if note := p.text("#sound-voice-note"); !strings.Contains(note, "Cumulus sends what is spoken out of the shop, and speaks only if you choose it") {
		t.Errorf("beside it stands %q", note)
	}
	p.tabTo("#sound-voice")
	p.press(kb.ArrowDown)
	p.await(withVoice)
	if note := p.text("#sound-voice-note"); !strings.Contains(note, "Cumulus sends what is spoken to somebody else’s service") {
		t.Errorf("beside it stands %q once it is chosen", note)
	}
	if chosen := p.chosenVoice(); chosen != "Cumulus (sends what is spoken away)" {
		t.Errorf("chosen is %q", chosen)
	}
	p.tabTo("#sound-try")
	p.press(kb.Enter)
	p.heard(1)
	if said := p.byBrowser(); len(said) != 2 || said[1] != "Cumulus 1 1: In." {
		t.Errorf("the browser says %q", said)
	}
	p.voicesCome(wren)
	if chosen, note := p.chosenVoice(), p.text("#sound-voice-note"); chosen != "In its place: Wren" || !strings.Contains(note, "not here now") {
		t.Errorf("once it is gone the form shows %q, and says %q", chosen, note)
	}
	p.press(kb.Enter)
	p.heard(2)
	if said := p.byBrowser(); len(said) != 2 || said[1] != "Wren 1 1: In." {
		t.Errorf("in its place is said %q", said)
	}
}

// A choice of before, of a voice that is sent what is spoken and was not marked as such, is none.
func TestUnmarkedChoiceSendsNothingAway(t *testing.T) {
	t.Parallel()
	h := &hummer{word: quick}
	p := listenWith(t, newVoicedShop(t, h), `localStorage.setItem("readback.sound", '{"voice":"browser:Cumulus"}');`)
	p.voicesCome(cloud)
	p.verdictOn("seat is clean")
	p.heard(1)
	if said, asked := p.byBrowser(), h.rendered(); len(said) != 0 || len(asked) != 1 {
		t.Errorf("the browser says %q, the server renders %q", said, asked)
	}
	if chosen := p.chosenVoice(); chosen != "The server’s usual voice" {
		t.Errorf("the form shows %q", chosen)
	}
}

// A voice of the browser that fails gives the sentence to another.
func TestBrokenVoiceGivesWay(t *testing.T) {
	t.Parallel()
	h := &hummer{word: quick}
	p := listenWith(t, newVoicedShop(t, h), "")
	p.voicesCome(cloud)
	eval[bool](p, `(failing.push("Cumulus"), true)`)
	eval[bool](p, choose(`{ voice: "service:Cumulus" }`))
	p.verdictOn("seat is clean")
	p.heard(1)
	if diff := cmp.Diff([]string{"low 1.00: Seat clean."}, h.rendered()); diff != "" || len(p.byBrowser()) != 1 {
		t.Errorf("rendered (-want +got):\n%s", diff)
	}
	if note := eval[string](p, `document.getElementById("sound-voice-note").textContent`); !strings.Contains(note, "failed") {
		t.Errorf("the form says %q", note)
	}
}

// TestACautionThatWasNotSpoken: where the browser refused to speak, or its voice did not end, the caution of the opening is spoken
// again on the next sheet, until it was said.
func TestACautionThatWasNotSpoken(t *testing.T) {
	t.Parallel()
	for _, how := range []string{"refusing", "hanging"} {
		t.Run(how, func(t *testing.T) {
			t.Parallel()
			s := newShop(t)
			s.openJobOf("bevel-head", "MW-1077", nil)
			p := newDeviceOf(t, sounding, tablet, "light").open("about:blank")
			source := hears + ownVoices + fmt.Sprintf(`if (location.protocol === "http:") {
				localStorage.setItem("readback.sound", '{"speed":1.3}'); // so that a voice is given up after no whole number of ms
				const own = setTimeout;
				window.setTimeout = (f, ms, ...more) => own(f, ms > 2_500 && ms %% 1 ? ms / 50 : ms, ...more);
				voicesCome([%s]);
				if (!sessionStorage.getItem("mended")) %s.push("Wren");
			}`, wren, how)
			call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: source})
			p.do("open", chromedp.Navigate(s.address+"/jobs/MW-1077"))
			p.await(drawn + " && " + openLoud)
			want := []string{"caution: Caution.", "caution: " + p.text("#next-caution"), "silent"}
			const kept = `localStorage.getItem("readback.cautioned.MW-1077") !== null`
			for _, spoken := range []bool{false, true} {
				if diff := cmp.Diff(want, p.heard(1)); diff != "" {
					t.Errorf("spoken %t (-want +heard):\n%s", spoken, diff)
				}
				if eval[bool](p, kept) != spoken {
					t.Errorf("spoken %t: it is not so that the device keeps that it was", spoken)
				}
				eval[chromedp.Void](p, `sessionStorage.setItem("mended", "yes")`)
				p.do("reload", chromedp.Reload())
				p.await(drawn + " && " + openLoud)
			}
			p.verdictOn("where are we")
			if got := p.heard(1); got[0] != "signal: in" {
				t.Errorf("once it was spoken is heard %q", got)
			}
		})
	}
}

// faltering is a hummer that has no time for a while.
type faltering struct {
	hummer
	busy atomic.Bool
}

func (f *faltering) Render(ctx context.Context, words, v string, speed float64) ([]byte, error) {
	wav, err := f.hummer.Render(ctx, words, v, speed)
	if f.busy.Load() {
		return nil, fmt.Errorf("render: %w", context.DeadlineExceeded)
	}
	return wav, err
}

// laterBy lets the page's clock run ahead.
const laterBy = `(() => { const own = Date.now; window.ahead = 0; Date.now = () => own() + ahead; })();`

// A server that fails in the middle of a shift leaves the sentence to a voice of this device, and
// is asked again after a minute.
func TestServersVoiceFails(t *testing.T) {
	t.Parallel()
	f := &faltering{hummer: hummer{word: quick}}
	p := listenWith(t, newVoicedShop(t, f), laterBy)
	p.voicesCome(cloud, wren)
	p.await(`document.getElementById("sound-voice").options.length === 5`)
	eval[bool](p, choose(`{ voice: "high" }`))
	f.busy.Store(true)
	p.verdictOn("seat is clean")
	p.heard(1)
	if diff := cmp.Diff([]string{"Wren 1 1: Seat clean."}, p.byBrowser()); diff != "" {
		t.Errorf("the browser (-want +said):\n%s", diff)
	}
	if says := eval[string](p, `document.getElementById("sound-state").textContent`); !strings.Contains(says, "took too long") || !strings.Contains(says, "Wren, a voice of this device, speaks") || !eval[bool](p, withVoice) {
		t.Errorf("the form says %q", says)
	}
	if chosen := p.chosenVoice(); chosen != "A high hum" {
		t.Errorf("chosen is %q", chosen)
	}
	f.busy.Store(false)
	asked := len(f.rendered())
	p.verdictOn("build spacer 64 millimetres")
	p.heard(2)
	if got := f.rendered(); len(got) != asked {
		t.Errorf("within the minute the server is asked for %q", got[asked:])
	}
	p.byBrowser()
	eval[bool](p, `(ahead = 61_000, true)`)
	p.verdictOn("build spacer 63 millimetres")
	p.heard(3)
	if said, got := p.byBrowser(), f.rendered(); len(said) != 0 || len(got) == asked {
		t.Errorf("after the minute the browser says %q, and the server renders %q", said, got[asked:])
	}
	if says := eval[string](p, `document.getElementById("sound-state").textContent`); strings.Contains(says, "took too long") {
		t.Errorf("once the server speaks again the form says %q", says)
	}
}

// With the line down what this browser has heard sounds from what it keeps, and a voice of the
// device says the rest.
func TestVoiceWhileTheLineIsDown(t *testing.T) {
	t.Parallel()
	h := &hummer{word: quick}
	s := newVoicedShop(t, h)
	p := listenWith(t, s, "")
	p.verdictOn("seat is clean")
	p.heard(1)
	p.voicesCome(cloud, wren)
	s.line.cut()
	p.await(cutOff)
	p.forget()
	eval[bool](p, sayAloud("Kept, not checked."))
	eval[bool](p, sayAloud("Seat clean."))
	eval[bool](p, sayAloud("Stage 3 is next."))
	p.await(`heard.includes("say: Stage 3 is next.") && heard.at(-1) === "silent"`)
	if diff := cmp.Diff([]string{"Wren 1 1: Kept, not checked.", "Wren 1 1: Stage 3 is next."}, p.byBrowser()); diff != "" {
		t.Errorf("the browser (-want +said):\n%s", diff)
	}
	if !slices.Contains(eval[[]string](p, `heard`), "say: Seat clean.") {
		t.Errorf("what is kept is not heard: %q", eval[[]string](p, `heard`))
	}
}

// TestWhatIsKeptTellsNothingOfTheServer: with the line down and no voice of the device, a sentence that this browser has kept is
// no sign that the server speaks; one that the server sends is.
func TestWhatIsKeptTellsNothingOfTheServer(t *testing.T) {
	t.Parallel()
	s := newVoicedShop(t, &hummer{word: quick})
	p := listenWith(t, s, "")
	p.verdictOn("seat is clean")
	p.heard(1)
	s.line.cut()
	p.await(cutOff)
	for _, text := range []string{"Kept, not checked.", "Seat clean."} {
		p.forget()
		eval[bool](p, sayAloud(text))
		p.heard(1)
		if says := eval[string](p, `document.getElementById("sound-state").textContent`); says != "The server cannot be reached. What was said before still sounds; else signals alone." {
			t.Errorf("behind %q the form says %q", text, says)
		}
	}
	if !slices.Contains(eval[[]string](p, `heard`), "say: Seat clean.") {
		t.Errorf("what is kept is not heard: %q", eval[[]string](p, `heard`))
	}
	s.line.mend()
	p.await(connected)
	p.forget()
	eval[bool](p, sayAloud("Stage 3 is next."))
	p.heard(1)
	if says := eval[string](p, `document.getElementById("sound-state").textContent`); !strings.HasPrefix(says, "After each note") {
		t.Errorf("once the server speaks the form says %q", says)
	}
}

func sayAloud(text string) string {
	return fmt.Sprintf(`(document.dispatchEvent(new CustomEvent("readback:say", { detail: { text: %q } })), true)`, text)
}

// hangs lets the server answer nothing under an address, and the page's patience pass a hundred
// times as fast.
func hangs(address string) string {
	return fmt.Sprintf(`{
	const own = fetch;
	window.fetch = (at, init) => String(at).startsWith(%q) ? new Promise((_, no) => init.signal.addEventListener("abort", () => no(init.signal.reason))) : own(at, init);
	AbortSignal.timeout = (ms) => { const c = new AbortController(); setTimeout(() => c.abort(new DOMException("late", "TimeoutError")), ms / 100); return c.signal; };
}`, address)
}

// A server that gives no words, or no sound, keeps no voice of the device waiting.
func TestServerThatHangs(t *testing.T) {
	t.Parallel()
	for address, with := range map[string]voice.Renderer{"/api/say/words": nil, "/api/say?": &hummer{word: quick}} {
		t.Run(address, func(t *testing.T) {
			t.Parallel()
			p := listenWith(t, newVoicedShop(t, with), hangs(address))
			p.voicesCome(wren)
			eval[bool](p, sayAloud("Stage 3 is next."))
			p.heard(1)
			if said := p.byBrowser(); len(said) != 1 || !strings.HasPrefix(said[0], "Wren 1 1: Stage ") {
				t.Errorf("the browser says %q", said)
			}
			if says := eval[string](p, `document.getElementById("sound-state").textContent`); with != nil && says != "The server takes too long to speak. Wren, a voice of this device, speaks." {
				t.Errorf("the form says %q", says)
			}
		})
	}
}

// How long a clip may sound hangs on who speaks: a server's voice that was chosen is known to the
// sample. A voice of the browser that does not say that it ended is cancelled before the page
// listens again.
func TestVoiceThatDoesNotEnd(t *testing.T) {
	t.Parallel()
	h := &hummer{word: quick}
	p := listenWith(t, newVoicedShop(t, h), `window.waited = []; const own = setTimeout; window.setTimeout = (f, ms, ...more) => { if (ms > 2_500 && ms < 9_000) waited.push(ms); return own(f, ms > 2_500 && ms < 9_000 ? ms / 50 : ms, ...more); };`)
	eval[bool](p, choose(`{ voice: "high" }`))
	eval[bool](p, `(waited.length = 0, true)`)
	eval[bool](p, sayAloud("Stage 3 is next."))
	p.heard(1)
	if n := eval[[]float64](p, `waited.filter((ms) => ms < 3_000)`); len(n) != 1 || n[0] > 2_530 { // 4 hums of 5 ms
		t.Errorf("a clip of 20 ms may sound for %v ms", n)
	}
	p.voicesCome(wren)
	eval[bool](p, choose(`{ voice: "browser:Wren" }`))
	eval[bool](p, `(cancelled = 0, addEventListener("readback:silent", () => heard.push("cancelled " + cancelled)), true)`)
	eval[bool](p, sayAloud("Keep on."))
	if got := p.heard(2); got[len(got)-1] != "cancelled 1" {
		t.Errorf("the microphone hears again after %q", got)
	}
}

// TestVoicesInTheForm looks at the form with what may speak: nothing cut off, no fault of access.
func TestVoicesInTheForm(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		with   voice.Renderer
		voices []string
		says   string
	}{
		"both":    {&hummer{word: quick}, []string{wren, autre, cloud}, "After each note"},
		"browser": {nil, []string{wren}, "Wren, a voice of this device, speaks"},
		"service": {nil, []string{cloud}, "Signals alone sound"},
		"none":    {nil, nil, "Signals alone sound"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := listenWith(t, newVoicedShop(t, c.with), "")
			p.voicesCome(c.voices...)
			p.openSound()
			p.await(fmt.Sprintf(`document.getElementById("sound-state").textContent.includes(%q)`, c.says))
			for _, screen := range []screen{phone, tablet} {
				p.show(screen, "light")
				p.shoot("voices-" + name)
				p.inSight("#sound-title", "#sound-voice", "#sound-done", "#sound-try")
				for _, wrong := range eval[[]string](p, misfits) {
					if !strings.HasSuffix(wrong, "is not in sight") { // it lies under the form
						t.Errorf("%s: %s", screen.name, wrong)
					}
				}
			}
			checkAccess(t, p, everyRule)
		})
	}
}
