package ui_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/voice"
)

// hummer renders a hum for each word.
type hummer struct {
	word time.Duration // how long it hums for one

	mu    sync.Mutex
	asked []string // voice: words
}

func (*hummer) Name() string { return "hummer" }

func (*hummer) Voices() []voice.Voice {
	return []voice.Voice{{ID: "low", Name: "A low hum"}, {ID: "high", Name: "A high hum"}}
}

func (h *hummer) Render(_ context.Context, words, v string, speed float64) ([]byte, error) {
	h.mu.Lock()
	h.asked = append(h.asked, fmt.Sprintf("%s %.2f: %s", v, speed, words))
	h.mu.Unlock()
	n := int(h.word.Seconds()*16000) * len(strings.Fields(words))
	b := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x80\x3e\x00\x00\x00\x7d\x00\x00\x02\x00\x10\x00data")
	b = binary.LittleEndian.AppendUint32(b, uint32(2*n))
	for i := range n {
		b = binary.LittleEndian.AppendUint16(b, uint16(i%80*100+500))
	}
	return b, nil
}

func (h *hummer) rendered() []string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return slices.Clone(h.asked)
}

// newVoicedShop is [newShop] with a voice.
func newVoicedShop(t *testing.T, with voice.Renderer) *shop {
	t.Helper()
	return newShopSpeaking(t, floor.Register{}, with)
}

// hears writes down what a page plays, from its first moment.
const hears = `window.heard = [];
addEventListener("readback:speaking", (e) => {
	heard.push(e.detail.what + ": " + e.detail.text);
	if (!(e.detail.seconds > 0)) heard.push("no length");
});
addEventListener("readback:silent", () => heard.push("silent"));`

// listenAt opens a page, and writes down what it plays.
func (d *device) listenAt(address string) *tab {
	d.t.Helper()
	p := d.open("about:blank")
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: hears})
	p.do("open "+address, chromedp.Navigate(address))
	p.await(drawn)
	return p
}

// listenTo opens a job's sheet on a tablet whose loudspeaker is open, as a device that was
// there when the job was opened: its first caution was spoken.
func listenTo(t *testing.T, s *shop, job string) *tab {
	t.Helper()
	p := newDeviceOf(t, sounding, tablet, "light").listenAt(s.address + "/jobs/" + job)
	p.await(openLoud)
	return p
}

const openLoud = `["voice", "signals"].includes(document.getElementById("sound-open").dataset.sound)`

// heard returns what the page played, once it has fallen silent so many times.
func (p *tab) heard(silences int) []string {
	p.t.Helper()
	p.await(fmt.Sprintf(`heard.filter((h) => h === "silent").length >= %d`, silences))
	return eval[[]string](p, `heard`)
}

// forget forgets what was played.
func (p *tab) forget() { eval[bool](p, `(heard.length = 0, true)`) }

const quick = 5 * time.Millisecond

func TestAnswerIsSignalledThenSaid(t *testing.T) {
	t.Parallel()
	s := newVoicedShop(t, &hummer{word: quick})
	s.openJob("MW-1041", nil)
	p := listenTo(t, s, "MW-1041")
	p.verdictOn("build spacer 64 millimetres")
	want := []string{"signal: in", "say: Build spacer, sixty-four millimetres.", "say: In.", "silent"}
	if diff := cmp.Diff(want, p.heard(1)); diff != "" {
		t.Errorf("in (-want +heard):\n%s", diff)
	}
	p.forget()
	p.verdictOn("collar nut stage two about forty seven newton metres")
	if got := p.heard(1); got[0] != "signal: ask" {
		t.Errorf("what is asked sounds as %q", got)
	}
	p.forget()
	p.verdictOn("collar nut stage one fifty one newton metres")
	if got := p.heard(1); got[0] != "signal: out" || !slices.Contains(got, "say: Collar nut one, fifty-one newton metres.") || !slices.Contains(got, "say: Out.") {
		t.Errorf("what is out sounds as %q", got)
	}
	if p.text("#spoken") != "" {
		t.Errorf("nothing is spoken, and the line says %q", p.text("#spoken"))
	}
}

// A stop, of another bench too, breaks into what is being said, which is said again after
// it. A note of one's own waits, and one of another bench is not said at all.
func TestStopBreaksIn(t *testing.T) {
	t.Parallel()
	s := newVoicedShop(t, &hummer{word: 120 * time.Millisecond})
	s.openJob("MW-1051", map[string]string{"base": "long", "stages": "3"})
	p := listenTo(t, s, "MW-1051")
	p.say("shaft runout 0.03 millimetres")
	p.await(`!document.getElementById("spoken").hidden && heard.at(-1) === "say: Shaft runout, zero point zero three millimetres."`)
	p.inSight("#spoken")
	p.shoot("speaking")
	if !eval[bool](p, speaking) {
		t.Error("it speaks, and says that it does not")
	}
	p.say("shaft runout 0.02 millimetres")
	p.await(settled("shaft runout 0.02 millimetres"))
	s.bench("MW-1051", "build spacer 88.5 millimetres", "build spacer 88.9 millimetres", "seat is clean", "cut impeller stage one")
	got := p.heard(1)
	stop := slices.Index(got, "signal: out")
	first := "say: Shaft runout, zero point zero three millimetres."
	if stop < 2 || got[stop-1] != first || !strings.HasPrefix(got[stop+1], "say: Another bench: ") {
		t.Fatalf("heard was %q", got)
	}
	again := slices.Index(got[stop:], first)
	second := slices.Index(got, "say: Shaft runout, zero point zero two millimetres.")
	if again < 0 || second < stop+again {
		t.Errorf("after the stop the first reading must be said again, then the second: %q", got)
	}
	for _, h := range got {
		if strings.Contains(h, "eighty-eight") {
			t.Errorf("a note of another bench is spoken: %q", h)
		}
	}
	if eval[bool](p, speaking) {
		t.Error("it is silent, and says that it speaks")
	}
}

const speaking = `(async () => (await import(document.querySelector("script[type=module]").src.replace("sheet.js", "speak.js"))).isSpeaking())()`

func TestEscapeAndStopSilence(t *testing.T) {
	t.Parallel()
	s := newVoicedShop(t, &hummer{word: 2 * time.Second})
	s.openJob("MW-1041", nil)
	p := listenTo(t, s, "MW-1041")
	p.say("shaft runout 0.03 millimetres")
	p.await(`heard.at(-1)?.startsWith("say: ")`)
	p.press(kb.Escape)
	if diff := cmp.Diff([]string{"signal: in", "say: Shaft runout, zero point zero three millimetres.", "silent"}, p.heard(1)); diff != "" {
		t.Errorf("Escape (-want +heard):\n%s", diff)
	}
	p.say("shaft runout 0.02 millimetres")
	p.await(`heard.at(-1)?.startsWith("say: ")`)
	p.say("stop")
	if got := p.heard(2); len(got) != 6 {
		t.Errorf("stop: heard was %q", got)
	}
	if diff := cmp.Diff([]string{"shaft runout 0.03 millimetres", "shaft runout 0.02 millimetres"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("stop is no note (-want +kept):\n%s", diff)
	}
}

// A caution is spoken once: that of the opening on the first sheet, that of a step with its
// answer, and nothing of the past on a sheet that is opened later.
func TestCautionIsSpokenOnce(t *testing.T) {
	t.Parallel()
	s := newVoicedShop(t, &hummer{word: quick})
	options, notes := demoNotes(t, "mr5-demo.txt")
	s.openJob("MW-1041", options)
	s.openJobOf("bevel-head", "MW-1077", nil)
	d := newDeviceOf(t, sounding, tablet, "light")
	p := d.listenAt(s.address + "/jobs/MW-1041")
	p.await(openLoud)
	for _, note := range notes[:6] {
		p.verdictOn(note)
	}
	p.await(`heard.at(-1) === "silent" && heard.some((h) => h.includes("may harm skin"))`)
	told := map[string]int{}
	for _, h := range eval[[]string](p, `heard`) {
		if text, ok := strings.CutPrefix(h, "caution: "); ok && text != "Caution." {
			told[text]++
		}
	}
	for text, n := range told {
		if n != 1 {
			t.Errorf("%d times %q", n, text)
		}
	}
	if len(told) < 3 {
		t.Errorf("the cautions were %v", told)
	}
	p.do("reload", chromedp.Reload())
	p.await(drawn + ` && document.getElementById("slab").dataset.word !== "none"`)
	p.verdictOn("turned by hand as found")
	got := p.heard(1)
	if got[0] != "signal: in" || got[1] != "say: Turned by hand as found." {
		t.Errorf("after a reload is heard %q", got)
	}

	q := d.listenAt(s.address + "/jobs/MW-1077")
	want := append([]string{"caution: Caution."}, "caution: "+q.text("#next-caution"), "silent")
	if diff := cmp.Diff(want, q.heard(1)); diff != "" {
		t.Errorf("the opening's caution (-want +heard):\n%s", diff)
	}
	q.do("reload", chromedp.Reload())
	q.await(drawn + " && " + openLoud)
	q.verdictOn("where are we")
	if got := q.heard(1); got[0] != "signal: in" {
		t.Errorf("after a reload is heard %q", got)
	}
}

func TestSilenceIsSilent(t *testing.T) {
	t.Parallel()
	h := &hummer{word: quick}
	s := newVoicedShop(t, h)
	s.openJob("MW-1041", nil)
	p := listenTo(t, s, "MW-1041")
	for _, mute := range []string{`{ mode: "off" }`, `{ mode: "voice", volume: 0 }`} {
		eval[bool](p, choose(mute))
		p.await(`document.getElementById("sound-open").innerText === "Sound off"`)
		p.verdictOn("shaft runout 0.03 millimetres")
		p.verdictOn("collar nut stage one fifty one newton metres")
	}
	if got, asked := eval[[]string](p, `heard`), h.rendered(); len(got)+len(asked) != 0 {
		t.Errorf("heard was %q, rendered %q", got, asked)
	}
	eval[bool](p, choose(`{ mode: "signals", volume: 0.5 }`))
	p.verdictOn("collar nut stage two forty eight newton metres")
	if diff := cmp.Diff([]string{"signal: in", "silent"}, p.heard(1)); diff != "" || len(h.rendered()) != 0 {
		t.Errorf("signals alone (-want +heard), rendered %q:\n%s", h.rendered(), diff)
	}
	eval[bool](p, choose(`{ mode: "off" }`))
	p.verdictOn("stop") // there is nothing that it could stop: it is a note
}

func choose(change string) string {
	return `(async () => (await import(document.querySelector("script[type=module]").src.replace("sheet.js", "sound.js"))).choose(` + change + `) ?? true)()`
}

// Without a voice on the server the page says so, and signals sound.
func TestWithoutAVoiceSignalsSound(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1041", nil)
	p := listenTo(t, s, "MW-1041")
	p.await(`document.getElementById("sound-open").innerText === "Signals only"`)
	p.verdictOn("collar nut stage one fifty one newton metres")
	if diff := cmp.Diff([]string{"signal: out", "silent"}, p.heard(1)); diff != "" {
		t.Errorf("heard (-want +heard):\n%s", diff)
	}
	p.tabTo("#sound-open")
	p.press(kb.Enter)
	p.await(`document.getElementById("sound").open`)
	if says := p.text("#sound"); !strings.Contains(says, "This server has no voice") || !strings.Contains(says, "flite") {
		t.Errorf("the form says %q", says)
	}
}

// A browser is silent until somebody touches the page. It says so, and then speaks what
// still matters: the caution, and not every verdict that went by.
func TestBrowserWaitsForATouch(t *testing.T) {
	t.Parallel()
	s := newVoicedShop(t, &hummer{word: quick})
	options, _ := demoNotes(t, "mr5-demo.txt")
	s.openJobOf("bevel-head", "MW-1077", nil)
	s.openJob("MW-1041", options)
	p := newDevice(t, phone, "light").listenAt(s.address + "/jobs/MW-1077")
	p.await(`document.getElementById("sound-open").innerText === "Tap for sound"`)
	p.inSight("#sound-open")
	p.shoot("tap-for-sound")
	for _, wrong := range eval[[]string](p, misfits) {
		t.Error(wrong)
	}
	if got := eval[[]string](p, `heard`); len(got) != 0 {
		t.Errorf("before a touch is heard %q", got)
	}
	box := eval[[]float64](p, `(() => { const b = document.getElementById("sound-open").getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()`)
	call(p, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true})
	point := []*input.TouchPoint{{X: box[0], Y: box[1]}}
	call(p, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: point})
	call(p, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}})
	if got := p.heard(1); len(got) != 3 || !strings.HasPrefix(got[1], "caution: ") {
		t.Errorf("after a touch is heard %q", got)
	}
}

// openSound opens the form by keys.
func (p *tab) openSound() {
	p.t.Helper()
	p.tabTo("#sound-open")
	p.press(kb.Enter)
	p.await(`document.getElementById("sound").open`)
}

func TestSoundIsChosenByKeys(t *testing.T) {
	t.Parallel()
	h := &hummer{word: quick}
	s := newVoicedShop(t, h)
	s.openJob("MW-1041", nil)
	p := listenTo(t, s, "MW-1041")
	p.openSound()
	p.await(`document.getElementById("sound-voice").options.length === 3`) // the usual one, low, high
	p.tabTo("#sound-voice")
	p.press(kb.ArrowDown)
	p.press(kb.ArrowDown)
	p.tabTo("#sound-speed")
	p.press(kb.ArrowRight)
	p.press(kb.ArrowRight)
	p.tabTo("#sound-ask")
	p.press(kb.Enter)
	if diff := cmp.Diff([]string{"signal: ask", "silent"}, p.heard(1)); diff != "" {
		t.Errorf("a signal that is tried (-want +heard):\n%s", diff)
	}
	p.tabTo("#sound-try")
	p.press(kb.Enter)
	want := []string{"signal: ask", "silent", "signal: in", "say: Collar nut three, forty-eight newton metres.", "say: In.", "silent"}
	if diff := cmp.Diff(want, p.heard(2)); diff != "" {
		t.Errorf("the voice that is tried (-want +heard):\n%s", diff)
	}
	if asked := h.rendered(); !slices.Contains(asked, "high 1.10: In.") {
		t.Errorf("rendered was %q", asked)
	}
	p.tabTo("#sound-done")
	p.press(kb.Enter)
	eval[bool](p, strings.ReplaceAll(closed, "handover", "sound"))
	p.do("reload", chromedp.Reload())
	p.await(drawn + " && " + openLoud)
	p.verdictOn("seat is clean")
	p.heard(1)
	if asked := h.rendered(); asked[len(asked)-1] != "high 1.10: Seat clean." {
		t.Errorf("after a reload is rendered %q", asked)
	}
	p.openSound()
	p.tabTo("#sound input:checked")
	p.press(kb.ArrowUp) // round to the last: nothing
	p.await(`document.getElementById("sound-open").innerText === "Sound off"`)
}

// TestSoundFormFits looks at the form at each size: nothing cut off, nothing too small for
// wet hands, and no fault of access.
func TestSoundFormFits(t *testing.T) {
	t.Parallel()
	s := newVoicedShop(t, &hummer{word: quick})
	s.openJob("MW-1041", nil)
	p := listenTo(t, s, "MW-1041")
	p.openSound()
	for _, sheet := range []string{"light", "dark"} {
		for _, screen := range []screen{phone, phoneTyping, tabletTyping, wall, tablet} {
			p.show(screen, sheet)
			p.shoot("sound-" + sheet)
			if screen.height >= 800 {
				p.inSight("#sound-title", "#sound-voice", "#sound-volume", "#sound-done", "#sound-try")
			}
			for _, wrong := range eval[[]string](p, misfits) {
				if !strings.HasSuffix(wrong, "is not in sight") { // it lies under the form
					t.Errorf("%s: %s", screen.name, wrong)
				}
			}
			for _, small := range eval[[]string](p, `[...document.querySelectorAll("#sound :is(button, input, select)")].filter((e) => e.getBoundingClientRect().height < 60 || e.getBoundingClientRect().width < 60).map((e) => e.id || e.value)`) {
				t.Errorf("%s: %s is too small", screen.name, small)
			}
		}
		checkAccess(t, p, everyRule)
	}
}

// TestRealVoice plays what flite renders.
func TestRealVoice(t *testing.T) {
	t.Parallel()
	program, err := voice.Find(t.Context(), "flite")
	if err != nil && os.Getenv("CI") == "true" {
		t.Fatal(err)
	}
	if err != nil {
		t.Skip(err)
	}
	s := newVoicedShop(t, program)
	s.openJob("MW-1041", nil)
	p := listenTo(t, s, "MW-1041")
	eval[bool](p, `(window.lengths = [], addEventListener("readback:speaking", (e) => lengths.push(e.detail.seconds)), true)`)
	p.verdictOn("collar nut stage three forty eight newton metres")
	if diff := cmp.Diff([]string{"signal: in", "say: Collar nut three, forty-eight newton metres.", "say: In.", "silent"}, p.heard(1)); diff != "" {
		t.Errorf("heard (-want +heard):\n%s", diff)
	}
	if l := eval[[]float64](p, `lengths`); l[0] > 0.5 || l[1] < 1 || l[1] > 6 || l[2] < 0.1 || l[2] > 1 {
		t.Errorf("the signal and the sentences last %v s", l)
	}
}
