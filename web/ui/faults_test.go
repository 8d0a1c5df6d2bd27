package ui_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"readback/capture/floor"
)

// TestLateStopsAreSpokenFirst: of notes that waited for the line the stop is heard before all else.
func TestLateStopsAreSpokenFirst(t *testing.T) {
	t.Parallel()
	s := newVoicedShop(t, &hummer{word: quick})
	s.openJob("MW-1041", nil)
	s.bench("MW-1041", "build spacer sixty four millimetres")
	p := listenTo(t, s, "MW-1041")
	eval[bool](p, keepsPages)
	s.line.cut()
	p.await(cutOff)
	p.say("seat is clean")
	p.say("cover is on")
	p.say("valve fitted")
	p.await(`document.getElementById("line").dataset.waiting === "3"`)
	p.forget()
	s.line.mend()
	p.await(allSent + ` && heard.filter((h) => h === "silent").length > 0 && heard.includes("say: Seat clean.")`)
	var said []string
	for _, h := range eval[[]string](p, `heard`) {
		if text, ok := strings.CutPrefix(h, "say: "); ok && !strings.HasPrefix(text, "Stop: ") {
			said = append(said, text)
		}
	}
	if want := []string{"Cover on.", "Valve fitted.", "Seat clean."}; !slices.Equal(said, want) { // the valve as well stops the cover
		t.Errorf("said %q, want %q", said, want)
	}
}

// TestAKeyCutsTheVoiceOff: whoever holds the key while the page speaks is listened to, and the page
// is silent.
func TestAKeyCutsTheVoiceOff(t *testing.T) {
	t.Parallel()
	s := newShopWhole(t, floor.Register{}, ears(), &hummer{word: 2 * time.Second}, nil) // it would speak for long
	s.openJob("MW-1041", nil)
	p := listenTo(t, s, "MW-1041")
	p.mic()
	p.say("build spacer sixty four millimetres")
	p.await(is("speaking") + ` && heard.some((h) => h.startsWith("say: "))`)
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.await(`heard.includes("silent") && ` + is("listening") + ` && document.body.dataset.mic === "on"`)
	p.sound("seat clean", 20)
	p.release()
	p.await(settled("seat clean"))
	if kept := s.kept("MW-1041"); !slices.Equal(kept, []string{"build spacer sixty four millimetres", "seat clean"}) {
		t.Errorf("kept %q", kept)
	}
}

// TestAMicrophoneOfAnotherRate: sound of 44,100 samples a second comes to the engine as the tone
// that it is, at the engine's rate.
func TestAMicrophoneOfAnotherRate(t *testing.T) {
	t.Parallel()
	s := newShopThatHears(t, floor.Register{}, &toneEngine{})
	p := s.sheet(tablet, "microphone")
	p.await(`!document.getElementById("talk").hidden`)
	eval[chromedp.Void](p, `void (navigator.mediaDevices.getUserMedia = async () => {
		const context = new AudioContext({ sampleRate: 44100 });
		const out = context.createMediaStreamDestination();
		const tone = new OscillatorNode(context, { frequency: 1000 });
		tone.connect(new GainNode(context, { gain: 8000 / 32768 })).connect(out);
		tone.start();
		await context.resume();
		document.body.dataset.rate = context.sampleRate;
		return out.stream;
	})`)
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.await(is("hearing") + ` && document.body.dataset.rate === "44100"`)
	p.await(sounded)
	p.release()
	p.await(settled("seat clean"))
}

// TestASoundOverTwoPages: the loudspeaker and the microphone that one click has opened are open on
// the page that is gone to by voice.
func TestASoundOverTwoPages(t *testing.T) {
	t.Parallel()
	s := newShopWhole(t, floor.Register{}, ears(), &hummer{word: quick}, nil)
	s.openJob("MW-1041", nil)
	p := newDevice(t, tablet, "light").open("about:blank") // a browser that waits for a touch
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: hears + strings.Replace(carries, `mode: "off"`, `mode: "voice"`, 1)})
	p.do("open the jobs", chromedp.Navigate(s.address+"/"))
	p.await(`!document.getElementById("talk").hidden && document.querySelector("#jobs tbody tr")`)
	p.choose("open")
	p.do("turn the microphone on", chromedp.Click(chromedp.CSS("#talk-press")))
	p.await(listens + ` && ` + openLoud)
	p.sound("job mike whiskey one zero four one", 60)
	p.await(`location.pathname === "/jobs/MW-1041" && ` + openLoud + ` && heard.includes("say: Job Mike Whiskey one zero four one.") && ` + listens)
	p.sound("seat clean", 60)
	p.await(settled("seat clean"))
}
