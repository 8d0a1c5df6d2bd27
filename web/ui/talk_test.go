package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"
)

// collects notes what the page gives to the voice.
const collects = `(() => { window.said = []; document.addEventListener("readback:say", (e) => window.said.push(e.detail)); })()`

// TestHoldToTalk: a note lasts as long as the space bar is held; the words that are heard are
// shown meanwhile, and the answer stands large as that to a typed note does.
func TestHoldToTalk(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	if how := p.text("#talk"); !strings.Contains(how, "Off") || !strings.Contains(how, "Hold Space") {
		t.Errorf("at first the strip says %q", how)
	}
	p.hold()
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32) // the key repeats
	p.sound("build spacer sixty four millimetres", 4)
	p.await(is("hearing") + ` && document.getElementById("talk-words").innerText.startsWith("build spacer sixty four")`)
	p.shoot("talk-hearing")
	if kept := s.kept("MW-1041"); len(kept) > 0 {
		t.Errorf("in the middle of the note %q is kept", kept)
	}
	p.release()
	p.await(settled("build spacer sixty four millimetres") + " && " + is("off"))
	if word := eval[string](p, `document.getElementById("slab").dataset.word`); word != "in" {
		t.Errorf("its verdict is %q", word)
	}
	if eval[string](p, `document.getElementById("field").value`) != "" {
		t.Error("the space bar has typed spaces")
	}
	p.write("seat")
	p.press(" ") // in a field that holds text it is a space
	p.say("is clean")
	p.await(settled("seat is clean"))

	if diff := cmp.Diff([]string{"build spacer sixty four millimetres", "seat is clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestPedalAndButton: another key is taken by pressing it, and kept; the button works by touch.
func TestPedalAndButton(t *testing.T) {
	t.Parallel()
	_, p := hearing(t, ears())
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.do("choose another key", chromedp.Click(chromedp.CSS("#ways-key")))
	p.press(kb.Tab)
	p.await(`document.getElementById("ways-key-now").innerText.includes("Tab is needed")`)
	p.key(input.DispatchKeyEventTypeRawKeyDown, "F13", "F13", 124)
	p.key(input.DispatchKeyEventTypeKeyUp, "F13", "F13", 124)
	p.await(`document.getElementById("ways-key-now").innerText.includes("F13")`)
	p.do("done", chromedp.Click(chromedp.CSS("#ways-done")))
	p.await(`!document.getElementById("ways").open`)
	p.do("reload", chromedp.Reload())
	p.await(drawn)
	p.mic()
	p.write("half a note") // a pedal writes nothing, whatever stands in the field
	p.key(input.DispatchKeyEventTypeRawKeyDown, "F13", "F13", 124)
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	p.sound("seat clean", 20)
	p.key(input.DispatchKeyEventTypeKeyUp, "F13", "F13", 124)
	p.await(settled("seat clean"))
	if field := eval[string](p, `document.getElementById("field").value`); field != "half a note" {
		t.Errorf("the field holds %q", field)
	}

	at := eval[[]float64](p, `(() => { const b = document.getElementById("talk-press").getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()`)
	mouse := func(kind input.DispatchMouseEventType) {
		call(p, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: at[0], Y: at[1], Button: input.MouseButtonLeft, ClickCount: 1})
	}
	mouse(input.DispatchMouseEventTypeMousePressed)
	p.await(is("listening"))
	p.sound("valve fitted", 20)
	mouse(input.DispatchMouseEventTypeMouseReleased)
	p.await(settled("valve fitted") + " && " + is("off"))
}

// TestTapToTalk: silence ends the note, and so does a second tap.
func TestTapToTalk(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	p.choose("tap")
	tap := func() {
		p.tap()
		p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	}
	tap()
	p.sound("seat clean", 60)
	p.await(settled("seat clean") + " && " + is("off"))
	tap()
	p.sound("valve fitted", 5)
	p.await(is("hearing"))
	p.tap()
	p.await(settled("valve fitted") + " && " + is("off"))
	if diff := cmp.Diff([]string{"seat clean", "valve fitted"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestOpenMicrophone: one note after the other begins and ends by itself, until it is turned off.
func TestOpenMicrophone(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	p.choose("open")
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	p.sound("", 900) // eighteen seconds in which nobody speaks
	p.sound("seat clean", 60)
	p.await(settled("seat clean") + " && " + is("listening"))
	p.say("shaft held") // typing goes on beside it
	p.await(settled("shaft held"))
	p.sound("valve fitted", 60)
	p.await(settled("valve fitted") + " && " + is("listening"))
	p.tap()
	p.await(is("off") + ` && document.body.dataset.mic === "off"`)
	if diff := cmp.Diff([]string{"seat clean", "shaft held", "valve fitted"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

const twoWays = "build spacer sixty four millimetres|build spacer sixty five millimetres"

// TestAskedBack: what was half heard is asked, large and aloud, and recorded after a yes alone.
func TestAskedBack(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	eval[chromedp.Void](p, collects)
	asked := `document.getElementById("slab").dataset.word === "unclear" && document.getElementById("slab-say").innerText.startsWith("Did you say build spacer sixty four millimetres?")`
	p.speak(twoWays)
	p.await(asked)
	p.shoot("talk-asked")
	if heard := p.text("#slab-heard"); !strings.Contains(heard, "not recorded") {
		t.Errorf("above the question stands %q", heard)
	}
	p.inSight("#slab-word", "#talk-press", "#next-where", "#field")
	p.speak("no")
	p.await(`document.getElementById("slab-say").innerText.startsWith("Say again.") && document.getElementById("slab").dataset.word === "unclear"`)
	if kept := s.kept("MW-1041"); len(kept) > 0 {
		t.Errorf("after a no %q is kept", kept)
	}
	p.speak(twoWays)
	p.await(asked)
	p.speak("yes")
	p.await(settled("build spacer sixty four millimetres"))
	if diff := cmp.Diff([]string{"build spacer sixty four millimetres"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
	type say struct {
		Text, Earcon string
		Urgent       bool
	}
	question := say{Text: "Did you say build spacer sixty four millimetres? Yes or no.", Earcon: "ask"}
	if diff := cmp.Diff([]say{question, {Text: "Say again.", Earcon: "ask"}, question}, eval[[]say](p, "window.said")); diff != "" {
		t.Errorf("said aloud (-want +got):\n%s", diff)
	}
	p.speak("") // a key that was held for nothing
	p.await(is("off"))
	p.verdictOn("seat is clean")
}

// TestLineCutInANote: what was spoken when the line broke, and while it was down, is kept over a
// reload and sent in order with what was typed.
func TestLineCutInANote(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	eval[bool](p, keepsPages)
	eval[chromedp.Void](p, collects)
	p.hold()
	p.sound("build spacer", 2)
	p.await(is("hearing"))
	s.line.cut()
	p.await(cutOff)
	p.sound(" sixty four millimetres", 10)
	p.release()
	waits := func(n int) string { return fmt.Sprintf(`document.getElementById("line").dataset.waiting === "%d"`, n) }
	p.await(waits(1) + ` && document.getElementById("slab").dataset.word === "kept" && document.getElementById("talk-words").innerText.includes("Kept, not checked") && said.length === 1 && said[0].text === "Kept, not checked."`)
	p.shoot("talk-kept")
	p.say("seat is clean")
	p.await(waits(2))
	p.speak("valve fitted")
	p.await(waits(3))
	if texts := p.texts("#notes .text"); !strings.HasPrefix(texts[0], "spoken, 0.") {
		t.Errorf("the list shows %q", texts)
	}
	for n := eval[int](p, inOutbox); n != 3; n = eval[int](p, inOutbox) { // on the disk
	}
	p.do("reload with the line down", chromedp.Reload())
	p.await(cutOff + " && " + waits(3) + ` && !document.getElementById("talk").hidden`)
	s.line.mend()
	p.await(allSent + ` && document.getElementById("callouts").dataset.entries === "4"`)
	want := []string{"build spacer sixty four millimetres", "seat is clean", "valve fitted"}
	if diff := cmp.Diff(want, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
	if n := eval[int](p, inOutbox); n != 0 {
		t.Errorf("%d notes are left in the outbox", n)
	}
	if diff := cmp.Diff([]string{"done", "done", "in"}, p.words()); diff != "" {
		t.Errorf("verdicts (-want +got):\n%s", diff)
	}
}

// TestLostAnswerToASpokenNote: it is sent again with its id, and is in the record once.
func TestLostAnswerToASpokenNote(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	kept := s.writer.Notice()
	p.hold()
	p.sound("build spacer sixty four millimetres", 20)
	p.await(is("hearing"))
	s.line.silence()
	p.release()
	<-kept
	s.line.cut()
	p.await(cutOff + ` && document.getElementById("line").dataset.waiting === "1"`)
	s.line.mend()
	p.await(allSent + ` && document.getElementById("callouts").dataset.entries === "2" && document.getElementById("slab").dataset.word === "in"`)
	if diff := cmp.Diff([]string{"build spacer sixty four millimetres"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestAQuestionOutlivesTheLine: what was asked when the line broke is asked again.
func TestAQuestionOutlivesTheLine(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	p.speak(twoWays)
	p.await(`document.getElementById("slab").dataset.word === "unclear"`)
	s.line.cut()
	p.await(cutOff + ` && document.getElementById("line").dataset.waiting === "1" && document.getElementById("slab").dataset.word === "kept"`)
	s.line.mend()
	p.await(allSent + ` && document.getElementById("slab").dataset.word === "unclear" && document.querySelector("#notes > li[data-word=refused]")`)
	p.shoot("talk-asked-late")
	p.speak("yes")
	p.await(settled("build spacer sixty four millimetres") + ` && !document.querySelector("#notes > li[data-word=refused]")`)
	if diff := cmp.Diff([]string{"build spacer sixty four millimetres"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestHalfDuplex: the page does not hear itself, and a key that is pressed makes it silent.
func TestHalfDuplex(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	eval[chromedp.Void](p, `document.addEventListener("readback:hush", () => {
		document.body.dataset.hushed = "yes";
		document.dispatchEvent(new CustomEvent("readback:silent"));
	})`)
	speaks := func(what string) {
		eval[chromedp.Void](p, fmt.Sprintf(`document.dispatchEvent(new CustomEvent("readback:%s"))`, what))
	}
	// hearsAgain waits for the end of the echo: a frame is taken then.
	hearsAgain := func() { eval[bool](p, `new Promise((done) => setTimeout(done, 300, true))`) }
	p.choose("open")
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	p.sound("seat", 2)
	p.await(is("hearing"))
	speaks("speaking")
	p.await(is("speaking"))
	p.sound("clean valve fitted", 60) // its own voice
	speaks("silent")
	p.sound("shaft held", 60) // the room still speaks
	hearsAgain()
	p.sound("valve fitted", 60)
	p.await(settled("valve fitted"))
	p.choose("hold")
	speaks("speaking")
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.await(is("listening") + ` && document.body.dataset.hushed === "yes"`)
	hearsAgain()
	p.sound("seat clean", 20)
	p.release()
	p.await(settled("seat clean"))
	if diff := cmp.Diff([]string{"valve fitted", "seat clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestSpokenByWhom: a note is of who spoke it, also where that person has left when it is sent.
func TestSpokenByWhom(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	p.give("Ines")
	p.await(atBench("Ines"))
	eval[bool](p, closed)
	p.speak("seat clean")
	p.await(settled("seat clean"))
	s.line.cut()
	p.await(cutOff)
	p.speak("build spacer sixty four millimetres")
	p.await(`document.getElementById("line").dataset.waiting === "1"`)
	p.give("Tom")
	p.await(`document.getElementById("line").dataset.waiting === "3"`)
	eval[bool](p, closed)
	p.speak("valve fitted")
	p.await(`document.getElementById("line").dataset.waiting === "4"`)
	s.line.mend()
	p.await(atBench("Tom") + ` && document.getElementById("callouts").dataset.entries === "6"`)
	p.choose("open")
	p.tap()
	p.await(is("listening"))
	p.sound("", 20) // a note is open on the line
	p.await(is("listening"))
	eval[chromedp.Void](p, `document.getElementById("who-change").click()`)
	p.await(`document.getElementById("handover").open`)
	p.write("Ines")
	p.press(kb.Enter)
	p.await(atBench("Ines") + " && " + settled("where are we"))
	p.sound("shaft held", 60)
	p.await(settled("shaft held"))
	want := []string{
		"Ines: seat clean", "Ines: build spacer sixty four millimetres", "Ines: handing over to Tom", "Tom: where are we",
		"Tom: valve fitted", "Tom: handing over to Ines", "Ines: where are we", "Ines: shaft held",
	}
	if diff := cmp.Diff(want, s.by("MW-1041")); diff != "" {
		t.Errorf("who said what (-want +kept):\n%s", diff)
	}
}

// TestRefusedSpokenNote: its sound stays here, and it can be sent again.
func TestRefusedSpokenNote(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	s.store.full.Store(true)
	p.speak("seat clean")
	p.await(`document.querySelector("#notes > li[data-word=refused]")`)
	if says := p.text("#talk-words"); !strings.Contains(says, "isk is full") {
		t.Errorf("the strip says %q", says)
	}
	p.shoot("talk-refused")
	s.store.full.Store(false)
	p.do("send it again", chromedp.Click(chromedp.CSS("#notes .acts button")))
	p.await(settled("seat clean"))
	if diff := cmp.Diff([]string{"seat clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// sounded holds once the tone was heard for a second.
const sounded = `document.getElementById("talk-words").innerText.startsWith("tone")`

const inQueue = `document.getElementById("talk-words").innerText.includes("No recogniser is free")`

// TestTooLongANote: it ends at twelve seconds, and the page says so.
func TestTooLongANote(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	p.hold()
	p.sound("seat clean", 700)
	p.await(settled("seat clean") + ` && document.getElementById("talk-words").innerText.includes("twelve seconds")`)
	p.release()
	p.speak("valve fitted")
	p.await(settled("valve fitted"))
	if diff := cmp.Diff([]string{"seat clean", "valve fitted"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestHiddenSheetIsDeaf: two sheets of one bench must not both record what is said.
func TestHiddenSheetIsDeaf(t *testing.T) {
	t.Parallel()
	_, p := hearing(t, ears())
	p.choose("open")
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	eval[chromedp.Void](p, `(() => {
		Object.defineProperty(document, "hidden", { value: true });
		document.dispatchEvent(new Event("visibilitychange"));
	})()`)
	p.await(is("off") + ` && document.body.dataset.mic === "off"`)
}
