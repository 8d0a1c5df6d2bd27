package ui_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/hear/heartest"
)

// occupied is a shop with one recogniser, which the first bench holds in the middle of "seat clean"; the
// second has a microphone.
func occupied(t *testing.T) (s *shop, one, two *tab) {
	t.Helper()
	s, one = hearing(t, &heartest.Engine{Ears: 1})
	one.hold()
	one.sound("seat", 2)
	one.await(is("hearing"))
	two = newDevice(t, phone, "light").openSheet(s, "MW-1041")
	two.mic()
	return s, one, two
}

// TestEveryEarInUse: where another bench has the recogniser, the note waits for its turn, and the page says so.
func TestEveryEarInUse(t *testing.T) {
	t.Parallel()
	s, one, two := occupied(t)
	two.speak("valve fitted")
	two.await(`document.getElementById("talk-words").innerText.includes("No recogniser is free")`)
	two.shoot("talk-queued")
	one.sound(" clean", 20)
	one.release()
	two.await(settled("valve fitted") + ` && !document.getElementById("talk-words").innerText.includes("recogniser")`)
	if diff := cmp.Diff([]string{"seat clean", "valve fitted"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// loud is room and speech that loudness tells from it, in which no letter is heard.
func (p *tab) loud() {
	p.t.Helper()
	p.sound("", 20)
	p.sound(strings.Repeat("\u2003", 4*320), 0)
}

// TestWaitingForARecogniserIsNotSpoken: with the sound on, too, an open microphone hears on while its note waits.
func TestWaitingForARecogniserIsNotSpoken(t *testing.T) {
	t.Parallel()
	s := newShopWhole(t, floor.Register{}, &heartest.Engine{Ears: 1}, &hummer{word: 20 * time.Millisecond}, nil)
	one := s.sheet(tablet)
	one.mic()
	one.hold()
	one.sound("seat", 2)
	one.await(is("hearing"))
	two := newDeviceOf(t, sounding, phone, "light").listenAt(s.address + "/jobs/MW-1041")
	two.await(openLoud)
	two.mic()
	eval[chromedp.Void](two, collects)
	two.choose("open")
	two.tap()
	two.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	two.loud()
	two.sound("valve ", 0)
	two.await(inQueue + ` && document.getElementById("talk-words").getAttribute("aria-live") === "polite"`)
	eval[bool](two, `new Promise((done) => setTimeout(done, 1000, true))`) // in which it would be speaking
	two.sound("fitted", 60)
	two.await(inQueue)
	if said := eval[[]map[string]any](two, "said"); len(said) > 0 {
		t.Errorf("while the note waits the page says %v", said)
	}
	one.sound(" clean", 20)
	one.release()
	two.await(settled("valve fitted") + " && !" + inQueue)
	if diff := cmp.Diff([]string{"seat clean", "valve fitted"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestNotesBehindOneThatWaits: what an open microphone hears while a note waits for a recogniser is a note of its own,
// kept, and sent in its turn.
func TestNotesBehindOneThatWaits(t *testing.T) {
	t.Parallel()
	s, one, two := occupied(t)
	two.choose("open")
	two.tap()
	two.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	for i, text := range []string{"valve fitted", "shaft held", "inlet free"} {
		two.loud()
		two.await(inQueue)
		two.sound(text, 60)
		two.await(inQueue + fmt.Sprintf(` && document.getElementById("line").dataset.waiting === "%d"`, i))
	}
	if says := two.text("#slab-say"); !strings.Contains(says, "in its turn") {
		t.Errorf("of the last of them stands %q", says)
	}
	two.shoot("talk-queued-behind")
	two.tap()
	two.say("cover is on") // behind them, in the order in which it was said
	one.sound(" clean", 20)
	one.release()
	two.await(allSent + " && !" + inQueue)
	if diff := cmp.Diff([]string{"seat clean", "valve fitted", "shaft held", "inlet free", "cover is on"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestLineCutWhileANoteWaits: nobody waits for a recogniser over a line that is down.
func TestLineCutWhileANoteWaits(t *testing.T) {
	t.Parallel()
	s, one, two := occupied(t)
	two.hold()
	two.sound("valve fitted", 20)
	two.await(inQueue)
	s.line.cut()
	two.await(cutOff + " && !" + inQueue)
	two.release()
	one.release()
	two.await(`document.getElementById("line").dataset.waiting === "1"`)
	s.line.mend()
	two.await(allSent + " && " + settled("valve fitted"))
}

// TestThePageSpeaksAndHoldsNoEar: a note that is let go as the page speaks holds no recogniser, and nothing of it is
// recorded.
func TestThePageSpeaksAndHoldsNoEar(t *testing.T) {
	t.Parallel()
	s, one := hearing(t, &heartest.Engine{Ears: 1})
	two := newDevice(t, phone, "light").openSheet(s, "MW-1041")
	two.mic()
	one.choose("open")
	one.tap()
	one.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	one.sound("seat clean", 2)
	one.await(is("hearing"))
	eval[chromedp.Void](one, `document.dispatchEvent(new CustomEvent("readback:speaking"))`)
	one.await(is("speaking"))
	two.speak("valve fitted")
	two.await(settled("valve fitted"))
	eval[chromedp.Void](one, `document.dispatchEvent(new CustomEvent("readback:silent"))`)
	one.await(is("listening"))
	one.sound("shaft held", 60)
	one.await(settled("shaft held"))
	if diff := cmp.Diff([]string{"valve fitted", "shaft held"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}
