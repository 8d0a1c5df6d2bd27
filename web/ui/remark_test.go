package ui_test

import (
	"context"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/heartest"
	"readback/capture/wire"
)

// guessing is an engine that guesses at free speech, of a shop with a lead-in and a warning.
type guessing struct {
	*heartest.Engine

	guess, leadIn, warning string
	again                  string // what a service makes of it later
}

// hearAgain is what a service does with a remark that was kept.
func (g *guessing) hearAgain(f *floor.Floor) func(context.Context, string, int64, wire.HearAgain) (wire.Answer, error) {
	return func(ctx context.Context, job string, seq int64, ask wire.HearAgain) (wire.Answer, error) {
		seat, _, err := f.Sit(ctx, job, floor.Speaker{Person: ask.Person}, func([]byte) {})
		if err != nil {
			return wire.Answer{}, err
		}
		defer seat.Leave()
		answer, _, err := seat.SayHeard(ctx, wire.Note{ID: ask.ID, Text: g.again, Of: seq}, floor.Spoken{Guess: true})
		return answer, err
	}
}

func (g *guessing) Guess(context.Context, []int16) (hear.Guess, error) {
	return hear.Guess{Text: g.guess, By: "test"}, nil
}

// TestARemark: what is said in free words is kept, its words are marked as a guess, and can be put
// right by typing; neither is a reading.
func TestARemark(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, &guessing{Engine: ears(), guess: "note build spacer sixty four millimetres went <b>gold</b>", again: "note build spacer 64 millimetres went old"})
	p.speak("~note build spacer sixty four millimetres")
	p.await(settled("note build spacer sixty four millimetres went <b>gold</b>"))
	if word := eval[string](p, `document.getElementById("slab").dataset.word`); word != "noted" {
		t.Errorf("its verdict is %q", word)
	}
	if said := p.text("#slab"); !strings.Contains(said, "Guessed: “note build") || !strings.Contains(said, "Its words are a guess, and no reading") {
		t.Errorf("the slab says %q", said)
	}
	if row := p.text("#notes > li"); !strings.Contains(row, "Words guessed from its sound") {
		t.Errorf("its row says %q", row)
	}
	p.shoot("remark")
	eval[chromedp.Void](p, `(() => {
		const own = window.fetch;
		window.asked = [];
		window.fetch = async (at, init) => {
			if (!String(at).endsWith("/hear")) return own(at, init);
			window.asked.push(JSON.parse(init.body).id);
			if (window.asked.length > 1) return own(at, init);
			await new Promise((done) => (window.release = done));
			throw new TypeError("the answer was lost");
		};
	})()`)
	eval[chromedp.Void](p, `document.querySelector("#n2 .guess button:last-child").click()`)
	p.await(`document.querySelector("#n2 .guess button:last-child").disabled && document.querySelector("#n2 .guess button:last-child").innerText === "Being heard again"`)
	p.shoot("remark-being-heard")
	eval[chromedp.Void](p, `window.release()`)
	p.await(`document.getElementById("hint").innerText.includes("cannot be reached") && !document.querySelector("#n2 .guess button:last-child").disabled`)
	eval[chromedp.Void](p, `document.querySelector("#n2 .guess button:last-child").click()`)
	p.await(`window.asked.length === 2 && window.asked[0] === window.asked[1] && !document.querySelector("#n2 .guess button:last-child").disabled`)
	p.await(`document.querySelector("#n2 .guess").textContent.includes("Heard again, still a guess, in note 3: “note build spacer 64 millimetres went old”")`)
	p.shoot("remark-again")
	right := func() {
		t.Helper()
		eval[chromedp.Void](p, `document.querySelector("#n2 .guess button").click()`)
		p.await(`document.getElementById("field-label").textContent.startsWith("Note 2, put right")`)
	}
	right()
	if field := eval[string](p, `document.getElementById("field").value`); field != "note build spacer 64 millimetres went old" {
		t.Errorf("the field holds %q", field)
	}
	eval[chromedp.Void](p, `(() => { const f = document.getElementById("field"); f.value = ""; f.dispatchEvent(new Event("input")); })()`)
	p.await(`document.getElementById("field-label").textContent === "Your note"`)
	right()
	p.shoot("remark-right")
	eval[chromedp.Void](p, `(() => { document.getElementById("field").value = "build spacer 64 mm, and it went cold"; document.getElementById("entry").requestSubmit(); })()`)
	p.await(settled("build spacer 64 mm, and it went cold"))
	p.await(`document.querySelector("#n2 .guess").textContent.includes("Put right in note 4: “build spacer 64 mm, and it went cold”")`)
	p.shoot("remark-righted")
	p.do("reload", chromedp.Reload())
	p.await(drawn)
	p.await(`document.querySelector("#n2 .guess")?.textContent.includes("Put right in note 4")`)
	p.say("build spacer 64 mm") // the field is for notes again
	p.await(settled("build spacer 64 mm"))
	if word := eval[string](p, `document.getElementById("slab").dataset.word`); word != "in" {
		t.Errorf("a reading behind it is %q", word)
	}
	want := []string{"note build spacer sixty four millimetres went <b>gold</b>", "note build spacer 64 millimetres went old", "build spacer 64 mm, and it went cold", "build spacer 64 mm"}
	if diff := cmp.Diff(want, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestLeadIn: an open microphone takes what begins with the lead-in, also when it was kept while the
// line was down; a key needs none.
func TestLeadIn(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, &guessing{Engine: ears(), leadIn: "bench seven", warning: "What is spoken here leaves this net: the sound of each note is sent to far.example."})
	p.await(`document.getElementById("deaf-why").checkVisibility() && document.getElementById("deaf-why").textContent.includes("leaves this net")`)
	p.shoot("warned")
	p.say("cover is on")
	p.await(settled("cover is on") + ` && document.getElementById("deaf-why").checkVisibility()`)
	p.do("seen", chromedp.Click(chromedp.CSS("#deaf-seen")), chromedp.Focus(chromedp.CSS("#field")))
	p.speak("seat clean")
	p.await(settled("seat clean"))
	p.choose("open")
	if how := p.text("#talk"); !strings.Contains(how, "Each note then begins with “bench seven”") {
		t.Errorf("the strip says %q", how)
	}
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	if ways := p.text("#ways"); !strings.Contains(ways, "begins with “bench seven”") || !strings.Contains(ways, "Heard by: test. What is spoken here leaves this net") {
		t.Errorf("the form says %q", ways)
	}
	p.shoot("ways-lead-in")
	p.do("done", chromedp.Click(chromedp.CSS("#ways-done")))
	p.await(`!document.getElementById("ways").open && document.activeElement.id === "field"`) // its end comes a moment later
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	p.sound("valve fitted", 5)
	p.await(is("hearing")) // else what is said next may come into the same note
	p.sound("", 60)
	p.await(is("listening") + ` && document.getElementById("talk-words").textContent === ""`)
	p.sound("bench seven shaft held", 60)
	p.await(settled("shaft held") + " && " + is("listening"))
	p.sound("valve fitted", 5)
	p.await(is("hearing"))
	s.line.cut()
	p.await(cutOff)
	p.sound("", 620) // it grows as long as a note may be, and is kept
	p.await(`document.querySelectorAll('#notes > li[data-word="kept"]').length === 1`)
	s.line.mend()
	p.await(connected + ` && document.querySelectorAll('#notes > li[data-word="kept"]').length === 0`)
	p.await(is("listening"))
	p.sound("bench seven inlet free", 60)
	p.await(settled("inlet free"))
	if diff := cmp.Diff([]string{"cover is on", "seat clean", "shaft held", "inlet free"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestStandByOutlivesTheLine: the sheet says that it stands by, and does so when the line is back too,
// until "resume".
func TestStandByOutlivesTheLine(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, &guessing{Engine: ears(), leadIn: "bench seven"})
	standsBy := `document.getElementById("talk").hasAttribute("data-standby") && document.getElementById("talk-word").innerText === "Standing by"`
	p.choose("open")
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	p.sound("bench seven stand by", 60)
	p.await(standsBy)
	s.line.cut()
	p.await(cutOff + " && " + standsBy)
	s.line.mend()
	p.await(connected + " && " + is("listening"))
	p.sound("bench seven seat clean", 60)
	p.await(standsBy + ` && document.getElementById("talk-words").innerText === "Say “bench seven resume” to go on."`)
	for _, screen := range screens {
		p.show(screen, "light")
		p.shoot("standing-by")
		p.inSight("#talk-word", "#talk-words")
	}
	if kept := s.kept("MW-1041"); len(kept) != 0 {
		t.Errorf("kept: %q", kept)
	}
	p.tap()
	p.await(is("off") + ` && document.getElementById("talk-word").innerText === "Off" && document.getElementById("talk-words").innerText.includes("resume")`)
	p.shoot("standing-by-off")
	p.tap()
	p.await(is("listening") + " && " + standsBy)
	p.sound("bench seven resume", 60)
	p.await(is("listening") + ` && document.getElementById("talk-word").innerText === "Listening"`)
	p.sound("bench seven seat clean", 60)
	p.await(settled("seat clean"))
}
