package ui_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/hear/speechtest"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
	"readback/parse"
)

// knows has people say a note each on a job of their own, so that the shop knows them.
func (s *shop) knows(people ...string) {
	s.t.Helper()
	s.openJob("MW-1099", nil)
	for i, name := range people {
		seat, _, err := s.floor.Sit(s.t.Context(), "MW-1099", floor.Speaker{Person: name}, func([]byte) {})
		if err != nil {
			s.t.Fatal(err)
		}
		if _, err := seat.Say(s.t.Context(), wire.Note{ID: journaltest.ID(900 + i), Text: "seat clean"}); err != nil {
			s.t.Fatal(err)
		}
		seat.Leave()
	}
}

// TestHandWords: the page and the parser know the same command.
func TestHandWords(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	for _, text := range []string{
		"hand the bench to Martin Hale", " Hand  the bench to\tmartin hale. ", "HAND THE BENCH TO T. Okafor!", "hand the bench to", "hand the bench to .", "hand the bench to Ω", "?hand the bench to it?",
		"handing over to Martin", "note hand the bench to Martin", "hand the benches to Martin", "",
	} {
		name, _ := parse.HandsBench(text)
		if onPage := eval[string](p, fmt.Sprintf(`import(document.querySelector("script[type=module]").src.replace("sheet.js", "person.js")).then((m) => m.handsTo(%q))`, text)); onPage != name {
			t.Errorf("%q hands over to %q on the page, and to %q for the parser", text, onPage, name)
		}
	}
}

// TestHandedOverByVoice: a name that is spoken is asked about, a no changes nothing, and after a yes the
// bench is the other person's as if it had been picked.
func TestHandedOverByVoice(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	s.knows("Martin Hale")
	p.give("Ines")
	p.await(atBench("Ines"))
	eval[bool](p, closed)
	p.verdictOn("build spacer 64 millimetres")
	eval[chromedp.Void](p, collects)

	const asks = `document.getElementById("slab-say").textContent === "Hand the bench to Martin Hale? Yes or no."`
	p.speak("hand the bench to martin hale")
	p.await(asks)
	p.shoot("hand-asked")
	p.speak("no")
	p.await(`document.getElementById("slab-say").textContent.startsWith("Say again.")`)
	p.await(atBench("Ines"))
	p.speak("hand the bench to martin hale")
	p.await(asks)
	p.speak("yes")
	p.await(atBench("Martin Hale") + " && " + settled("where are we"))
	if say := p.text("#slab-say"); !strings.HasPrefix(say, "Last: Build spacer, sixty-four millimetres. In. Next: ") {
		t.Errorf("who comes is told %q", say)
	}
	if said := eval[[]string](p, `said.map((s) => s.text)`); !slices.Equal(said, []string{
		"Hand the bench to Martin Hale? Yes or no.", "Say again.", "Hand the bench to Martin Hale? Yes or no.", "Martin Hale is at the bench.",
	}) {
		t.Errorf("it says %q", said)
	}
	p.shoot("handed-by-voice")
	p.speak("hand the bench to martin hale")
	p.await(asks)
	p.speak("yes")
	p.await(`document.getElementById("hint").innerText === "Martin Hale is at the bench already."`)
	p.speak("hand the bench to tomas okafor")
	p.await(`document.getElementById("slab-say").textContent.startsWith("That name cannot be spoken here.")`)
	p.speak("hand the bench to ines")
	p.await(`document.getElementById("slab-say").textContent === "Hand the bench to Ines? Yes or no."`)
	p.speak("yes")
	p.await(atBench("Ines") + ` && document.getElementById("callouts").dataset.entries === "6"`)
	want := []string{"Ines: build spacer 64 millimetres", "Ines: handing over to Martin Hale", "Martin Hale: where are we", "Martin Hale: handing over to Ines", "Ines: where are we"}
	if diff := cmp.Diff(want, s.by("MW-1041")); diff != "" {
		t.Errorf("who said what (-want +kept):\n%s", diff)
	}
}

// TestHandedOverByTyping: whom the shop knows gets the bench at once, another after the form was asked; with
// the line down the page says what holds it up.
func TestHandedOverByTyping(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.knows("Martin Hale")
	p := s.sheet(phone)
	eval[bool](p, keepsPages)
	eval[chromedp.Void](p, collects)
	p.say("hand the bench to MARTIN HALE.")
	p.await(atBench("Martin Hale"))
	p.say("hand the bench to Tomas Okafor")
	p.await(`document.getElementById("handover").open && document.getElementById("handover-name").value === "Tomas Okafor" && document.getElementById("handover-why").innerText.includes("Nobody of the name Tomas Okafor")`)
	p.shoot("hand-unknown")
	p.press(kb.Escape)
	eval[bool](p, closed)
	p.await(atBench("Martin Hale"))
	p.say("hand the bench to Tomas Okafor")
	p.await(`document.getElementById("handover").open`)
	p.press(kb.Enter)
	p.await(atBench("Tomas Okafor") + " && " + settled("where are we"))
	eval[bool](p, closed)

	s.line.cut()
	p.await(cutOff)
	p.say("seat is clean")
	p.await(`document.getElementById("line").dataset.waiting === "1"`)
	p.say("hand the bench to Martin Hale")
	p.await(`document.getElementById("who-name").textContent === "Martin Hale" && !document.getElementById("who-wait").hidden`)
	if said := eval[string](p, `said.at(-1).text`); said != "Martin Hale is at the bench. 2 notes of Tomas Okafor still to be sent, under that name. Then the bench is handed over, when the line is back." {
		t.Errorf("it says %q", said)
	}
	s.line.mend()
	p.await(atBench("Martin Hale") + ` && document.getElementById("callouts").dataset.entries === "6"`)
	want := []string{"Martin Hale: handing over to Tomas Okafor", "Tomas Okafor: where are we", "Tomas Okafor: seat is clean", "Tomas Okafor: handing over to Martin Hale", "Martin Hale: where are we"}
	if diff := cmp.Diff(want, s.by("MW-1041")); diff != "" {
		t.Errorf("who said what (-want +kept):\n%s", diff)
	}
}

// TestWhoCanBeNamed: the form offers whom the shop knows, and says whose name cannot be spoken, and why.
func TestWhoCanBeNamed(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	s.knows("Tomas Okafor", "John Reed", "Jon Reed", "<b>Martin</b>", "Martin Hale", "Ines")
	p.give("Ines")
	p.await(atBench("Ines"))
	eval[bool](p, closed)
	p.tabTo("#who-change")
	p.press(kb.Enter)
	p.await(`document.getElementById("handover").open && !document.getElementById("handover-known").hidden`)
	want := []string{"Pick a name", "Martin Hale", "<b>Martin</b>", "Jon Reed", "John Reed", "Tomas Okafor"}
	if diff := cmp.Diff(want, eval[[]string](p, `[...document.querySelectorAll("#handover-pick option")].map((o) => o.textContent)`)); diff != "" {
		t.Errorf("to be picked (-want +got):\n%s", diff)
	}
	if said := p.text("#handover-said"); said != "By voice: “hand the bench to Martin Hale”. It is asked first." {
		t.Errorf("the form says %q", said)
	}
	if unsaid := p.text("#handover-unsaid"); unsaid != "Not by voice, pick or type: <b>Martin</b> (no sound is known for “b”); Jon Reed (it sounds like John Reed); John Reed (it sounds like Jon Reed); Tomas Okafor (no sound is known for “tomas”)." {
		t.Errorf("the form says %q", unsaid)
	}
	for _, screen := range []screen{phone, phoneTyping, tabletTyping, wall, tablet} {
		p.show(screen, "light")
		p.shoot("handover-known")
		p.inSight("#handover-title", "#handover-name", "#handover-go", "#handover-cancel")
		for _, wrong := range eval[[]string](p, misfitsInForm) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	checkAccess(t, p, everyRule)
	eval[chromedp.Void](p, `((pick) => { pick.value = "Jon Reed"; pick.dispatchEvent(new Event("change")); })(document.getElementById("handover-pick"))`)
	p.await(`document.getElementById("handover-name").value === "Jon Reed" && document.activeElement.id === "handover-go"`)
	p.press(kb.Enter)
	p.await(atBench("Jon Reed"))
}

// TestHandedOverToAVoiceAlone: in a real browser with the real recogniser and a real voice, by sound alone.
// The microphone hears the page's own voice as well.
func TestHandedOverToAVoiceAlone(t *testing.T) { //nolint:paralleltest // a recogniser beside many browsers misses its time limits
	speechtest.Need(t)
	address, _ := program(t)
	p := inRoom(t, address, "Martin Hale")
	if status := eval[int](p, `fetch("/api/jobs", { method: "POST", body: JSON.stringify({ id: "MW-1041", spec: "mr5", person: "Martin Hale" }) }).then((r) => r.status)`); status != 201 {
		t.Fatalf("the job is opened with %d", status)
	}
	p.do("open the sheet", chromedp.Navigate(address+"/jobs/MW-1041"))
	p.await(drawn + ` && !document.getElementById("talk").hidden`)
	p.verdictOn("seat is clean")
	p.give("Ruth Carter") // whom nobody knows is typed, once
	p.await(atBench("Ruth Carter") + " && " + settled("where are we"))
	eval[bool](p, closed)
	p.choose("open")
	p.await(is("off"))                                                          // while the page speaks a press would only silence it
	p.do("turn the microphone on", chromedp.Click(chromedp.CSS("#talk-press"))) // the last touch

	const hands, question = "hand the bench to martin hale", "Hand the bench to Martin Hale? Yes or no."
	p.replies(hands, question, "no", came{Verdict: "refused"})
	p.await(atBench("Ruth Carter"))
	p.replies(hands, question, "yes", came{Verdict: "taken", Do: "hand"})
	p.await(atBench("Martin Hale") + " && " + settled("where are we") + " && " + is("listening"))
	p.utter("impeller stage one full")
	type entry struct{ Kind, Text, Person string }
	entries := record[entry](t, address+"/api/jobs/MW-1041/export?as=json")
	var kept []string
	for _, e := range entries[1:] {
		kept = append(kept, e.Person+": "+stem(e.Text))
	}
	if diff := cmp.Diff([]string{stem("Martin Hale: seat is clean"), "Martin Hale: handing over to Ruth Carter", "Ruth Carter: where are we", "Ruth Carter: handing over to Martin Hale", "Martin Hale: where are we", "Martin Hale: impeller stage one full"}, kept); diff != "" {
		t.Errorf("who said what (-want +kept):\n%s", diff)
	}
	spoken := eval[[]string](p, `logged("spoken")`)
	at := slices.Index(spoken, "say: Martin Hale is at the bench.")
	if at < 0 || !slices.ContainsFunc(spoken[at:], func(s string) bool { return strings.HasPrefix(s, "say: Last: ") }) {
		t.Errorf("it has said %q", spoken)
	}
}

// replies says what is always asked about, and that word to the question, each again where it was not understood, until
// what comes has the verdict that is wanted, says that, if anything is wanted of it, and has the page do as is wanted.
func (p *tab) replies(text, question, word string, want came) {
	p.t.Helper()
	say := text
	for n := range 2 * attempts {
		asked := say == word
		m := p.voice(speakers[n%len(speakers)], say)
		p.t.Logf("%q: %+v", say, m)
		switch {
		case asked && m.Verdict == want.Verdict && m.Say != question && (want.Say == "" || m.Say == want.Say) && m.Do == want.Do:
			return
		case m.Verdict == "taken", m.Type == "answer":
			p.t.Fatalf("%q was taken as %+v", say, m)
		case m.Say == question:
			say = word
		default:
			say = text
		}
	}
	p.t.Fatalf("%q is not understood", text)
}
