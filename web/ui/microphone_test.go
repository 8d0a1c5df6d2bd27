package ui_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/heartest"
)

// The tone that the browser's microphone hears.
const (
	toneHertz = 1000
	toneLevel = 8000 // its peak
)

// microphone gives the browser of all tests one that hears a tone. No page may use it before
// [device.allow].
func microphone() []chromedp.ExecAllocatorOption {
	file := filepath.Join(os.TempDir(), "readback-test-tone.wav")
	if err := os.WriteFile(file, tone(), 0o600); err != nil {
		return nil // the test that listens says so
	}
	return []chromedp.ExecAllocatorOption{
		chromedp.Flag("use-fake-device-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-audio-capture", file),
	}
}

// tone is a WAV of one second, 48 kHz, mono, whose end fits its beginning.
func tone() []byte {
	const rate = 48000
	var b bytes.Buffer
	put := func(v any) { _ = binary.Write(&b, binary.LittleEndian, v) } // memory takes everything
	b.WriteString("RIFF")
	put(uint32(36 + 2*rate))
	b.WriteString("WAVEfmt ")
	put(uint32(16))
	put([]uint16{1, 1})
	put([]uint32{rate, 2 * rate})
	put([]uint16{2, 16})
	b.WriteString("data")
	put(uint32(2 * rate))
	for i := range rate {
		put(int16(toneLevel * math.Sin(2*math.Pi*toneHertz*float64(i)/rate)))
	}
	return b.Bytes()
}

// permit decides whether the shop's pages get the microphone or the camera on this device.
func (d *device) permit(s *shop, what string, setting browser.PermissionSetting) {
	d.t.Helper()
	_, err := chromedp.Call(d.ctx, browser.SetPermission, browser.SetPermissionParams{
		Permission: &browser.PermissionDescriptor{Name: what}, Setting: setting,
		Origin: s.address, BrowserContextID: chromedp.FromContext(d.ctx).BrowserContextID,
	})
	if err != nil {
		d.t.Fatal(err)
	}
}

// hearing starts a shop that hears what is written into the sound, and opens a sheet of it whose
// microphone is the test's: see [tab.sound].
func hearing(t *testing.T, engine hear.Engine) (*shop, *tab) {
	t.Helper()
	s := newShopThatHears(t, floor.Register{}, engine)
	p := s.sheet(tablet)
	p.mic()
	return s, p
}

// ears is an engine for several benches.
func ears() *heartest.Engine { return &heartest.Engine{Ears: 4} }

// mic brings a microphone of the test into the page, once the strip is there.
func (p *tab) mic() {
	p.t.Helper()
	p.await(`!document.getElementById("talk").hidden`)
	eval[chromedp.Void](p, `document.dispatchEvent(new CustomEvent("readback:source", { detail: async (take, fault) => {
		Object.assign(window, { take, unplug: fault });
		document.body.dataset.mic = "on";
		return { stop: () => (document.body.dataset.mic = "off") };
	} }))`)
}

// sound speaks a text into it, and then so many frames of silence.
func (p *tab) sound(text string, silence int) {
	p.t.Helper()
	eval[chromedp.Void](p, fmt.Sprintf(`((text, silence) => {
		const pcm = new Int16Array(Math.ceil(text.length / 320) * 320);
		[...text].forEach((c, i) => (pcm[i] = c.charCodeAt(0)));
		for (let i = 0; i < pcm.length; i += 320) window.take(pcm.slice(i, i + 320));
		for (let i = 0; i < silence; i++) window.take(new Int16Array(320));
	})(%q, %d)`, text, silence))
}

// is holds in a state of the strip.
func is(state string) string {
	return fmt.Sprintf(`document.getElementById("talk").dataset.talk === %q`, state)
}

// key is what a key of the keyboard or a pedal does.
func (p *tab) key(kind input.DispatchKeyEventType, key, code string, number int64) {
	p.t.Helper()
	e := input.DispatchKeyEventParams{Type: kind, Key: key, Code: code, WindowsVirtualKeyCode: number}
	if kind == input.DispatchKeyEventTypeKeyDown && len(key) == 1 {
		e.Text = key
	}
	call(p, input.DispatchKeyEvent, e)
}

// hold presses the space bar and waits until the page listens; release lets it go.
func (p *tab) hold() {
	p.t.Helper()
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
}

func (p *tab) release() {
	p.t.Helper()
	p.key(input.DispatchKeyEventTypeKeyUp, " ", "Space", 32)
}

// tap presses the space bar shortly.
func (p *tab) tap() {
	p.t.Helper()
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.release()
}

// speak holds the space bar while it says a note.
func (p *tab) speak(text string) {
	p.t.Helper()
	p.hold()
	p.sound(text, 20)
	p.release()
}

// choose takes one of the ways to talk.
func (p *tab) choose(way string) {
	p.t.Helper()
	eval[bool](p, fmt.Sprintf(`new Promise((done) => {
		document.getElementById("ways").addEventListener("close", () => done(true), { once: true });
		document.getElementById("talk-ways").click();
		document.querySelector("[data-way=%s]").click();
		document.getElementById("ways-done").click();
	})`, way))
	p.await(fmt.Sprintf(`document.getElementById("talk").dataset.way === %q`, way))
}

// toneEngine hears whether the sound is the tone of the browser's microphone, at its rate and as
// loud as it is.
type toneEngine struct{ heartest.Engine }

func (e *toneEngine) Open(context.Context, hear.Words) (hear.Ear, error) { return &toneEar{}, nil }

type toneEar struct {
	hear.Ear
	pcm []int16
}

func (e *toneEar) Begin(context.Context) error { e.pcm = nil; return nil }
func (e *toneEar) Close() error                { return nil }

func (e *toneEar) Write(_ context.Context, pcm []int16) (hear.Live, error) {
	e.pcm = append(e.pcm, pcm...)
	live := hear.Live{State: hear.Speaking, Level: -15}
	if len(e.pcm) > hear.Rate {
		live.Words = []string{"tone"}
	}
	return live, nil
}

func (e *toneEar) End(context.Context) (hear.Heard, error) {
	text := "seat clean"
	if wrong := notTone(e.pcm); wrong != "" {
		text = "valve fitted " + wrong
	}
	h := hear.Heard{Gate: -8, Level: -15, Noise: -90}
	for w := range strings.FieldsSeq(text) {
		h.Words = append(h.Words, hear.Word{Text: w})
	}
	h.Plain = h.Words
	return h, nil
}

func (e *toneEar) Score(_ context.Context, sentences ...string) ([]hear.Fit, error) {
	out := make([]hear.Fit, len(sentences))
	for i := range out {
		out[i].Score = -1e6 * float64(min(i, 1))
	}
	return out, nil
}

// notTone says in what way the middle of a sound is not the tone, or "".
func notTone(pcm []int16) string {
	if len(pcm) < hear.Rate/2 {
		return fmt.Sprintf("short %d", len(pcm))
	}
	pcm = pcm[len(pcm)/2-hear.Rate/8:][:hear.Rate/4]
	var re, im, power float64
	for i, x := range pcm {
		sin, cos := math.Sincos(2 * math.Pi * toneHertz * float64(i) / hear.Rate)
		re, im, power = re+float64(x)*cos, im+float64(x)*sin, power+float64(x)*float64(x)
	}
	n := float64(len(pcm))
	peak := 2 * math.Hypot(re, im) / n
	if share := (re*re + im*im) * 2 / n / power; share < 0.9 || peak < 0.5*toneLevel || peak > 1.5*toneLevel {
		return fmt.Sprintf("share %.2f peak %.0f", share, peak)
	}
	return ""
}
