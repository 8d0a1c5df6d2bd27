package ui_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"readback/capture/hear/speechtest"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

// state is a job as a page gets it.
func (s *shop) state(job string) wire.State {
	s.t.Helper()
	state, err := s.floor.State(s.t.Context(), job)
	if err != nil {
		s.t.Fatal(err)
	}
	return state
}

// decide presses the button beside the first finding of a rule and callout, and fills in the form.
func (p *tab) decide(of, is, reason, name string) {
	p.t.Helper()
	eval[bool](p, fmt.Sprintf(`(document.querySelector('[data-decide=%q]').click(), true)`, of))
	p.await(`document.getElementById("decide").open`)
	eval[bool](p, fmt.Sprintf(`(document.querySelector('#decide-ways [value=%q]').click(), document.getElementById("decide-reason").focus(), true)`, is))
	p.write(reason)
	eval[bool](p, `(document.getElementById("decide-person").select(), true)`)
	p.write(name)
	p.press(kb.Enter)
}

// TestDispositionOnTheSheet: a reading that is out holds up the hand-over until somebody with a name
// decides; another browser sees it at once, and a value measured anew is decided anew.
func TestDispositionOnTheSheet(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	other := newDevice(t, phone, "light").openSheet(s, "MW-1041")
	p.verdictOn("shaft runout 0.08 mm")
	if word := p.verdictOn("handed over"); word != "stop" || !strings.Contains(p.text("#slab-say"), "not handed over") {
		t.Fatalf("it is answered %s, %q", word, p.text("#slab-say"))
	}
	if eval[bool](p, `document.getElementById("over").checkVisibility()`) {
		t.Fatal("the sheet says that it was handed over")
	}
	const of = "limit shaft_runout"

	eval[bool](p, fmt.Sprintf(`(document.querySelector('[data-decide=%q]').click(), document.getElementById("decide-go").click(), true)`, of))
	p.await(`document.getElementById("decide-wrong").textContent.includes("Choose what")`)
	eval[bool](p, `(document.querySelector('#decide-ways [value="rework"]').click(), document.getElementById("decide-go").click(), true)`)
	p.await(`document.getElementById("decide-wrong").textContent.includes("reason")`)
	p.write("It was bent.") // the form has put the cursor there
	eval[bool](p, `(document.getElementById("decide-go").click(), true)`)
	p.await(`document.getElementById("decide-wrong").textContent.includes("name")`)
	p.write("Martin Hale")
	p.press(kb.Enter)
	reworked := `document.querySelector("#open-list .decided p")?.textContent.includes("to be reworked and taken again. Martin Hale: It was bent.")`
	p.await(reworked)
	other.await(reworked)

	p.decide(of, "use as is", "Asked the <b>designer</b>.", "Martin Hale")
	p.await(`document.getElementById("decide-sure").textContent.includes("Is that so?") && document.getElementById("decide-go").textContent === "Yes, use as is"`)
	if n := len(s.state("MW-1041").Dispositions); n != 1 {
		t.Fatalf("%d dispositions are kept before it was confirmed", n)
	}
	p.press(kb.Enter) // once more, as a key that bounces: no
	p.await(`document.getElementById("decide").open && document.getElementById("decide-go").textContent === "Decide"`)
	eval[bool](p, `(document.getElementById("decide-go").click(), true)`)
	p.await(`document.getElementById("decide-sure").textContent.includes("Is that so?")`)
	eval[bool](p, `(document.getElementById("decide-go").click(), true)`)
	accepted := `[...document.querySelectorAll("#given-list .became")].map((e) => e.textContent).join() === "Accepted.,Replaced by number 5." && !document.getElementById("open").checkVisibility()`
	for _, one := range []*tab{p, other} {
		one.await(accepted)
		if place := one.text(`[data-callout="shaft_runout"] .places li`); !strings.Contains(place, "used as is") || !strings.Contains(place, "out") {
			t.Errorf("the reading stands as %q", place)
		}
	}
	for _, screen := range screens {
		p.show(screen, "light")
		p.shoot("sheet-disposition-light")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	p.show(tablet, "light")
	eval[bool](p, `(document.getElementById("field").focus(), true)`)
	p.verdictOn("shaft runout 0.09 mm")
	p.await(`document.querySelector("#open-list .decided")?.textContent.includes("No disposition yet")`)
	p.await(`document.querySelector("#given-list .became").textContent === "No longer stands."`)
	p.verdictOn("shaft runout 0.04 mm")
	p.await(`!document.getElementById("open").checkVisibility()`)
	p.say("handed over")
	p.await(`document.getElementById("over").checkVisibility()`)
}

// deciding is a sheet that hears, with Ines at the bench and a reading that is out.
func deciding(t *testing.T) (*shop, *tab) {
	t.Helper()
	s, p := hearing(t, &guessing{Engine: ears(), guess: "note the customer accepts it"})
	p.give("Ines")
	p.await(atBench("Ines"))
	eval[bool](p, closed)
	p.verdictOn("shaft runout 0.08 mm")
	return s, p
}

// TestDispositionByVoice: what is out is asked about, then why; the reason is kept as sound, and the job may be handed over.
func TestDispositionByVoice(t *testing.T) {
	t.Parallel()
	s, p := deciding(t)
	eval[chromedp.Void](p, collects)
	const asks = "Shaft runout, zero point zero eight millimetres, out. At most zero point zero five millimetres. Use it as is? Yes or no."
	const why = "Say note, and then why."
	for _, turn := range [][2]string{
		{"use the part as is", asks},
		{"no", "Say again. Nothing was recorded."},
		{"use the part as is", asks},
		{"yes", why},
		{"never mind", "Nothing was decided. Nothing was recorded."},
		{"use the part as is", asks},
		{"yes", why},
	} {
		p.speak(turn[0])
		p.await(fmt.Sprintf(`document.getElementById("slab-say").textContent === %q`, turn[1]))
		p.shoot("decide-by-voice")
	}
	p.speak("note the customer accepts it")
	p.await(`document.getElementById("talk-words").innerText === "Decided: use as is. Shaft runout, zero point zero eight millimetres, out. At most zero point zero five millimetres." && !document.getElementById("open").checkVisibility()`)
	p.shoot("decided-by-voice")
	if said := eval[[]string](p, `said.map((s) => s.text)`); !strings.HasPrefix(said[len(said)-1], "Decided: use as is. Shaft runout, ") || !slices.Contains(said, asks) {
		t.Errorf("it says %q", said)
	}
	given := s.state("MW-1041").Dispositions
	if len(given) != 1 || given[0].Is != rules.UseAsIs || given[0].Person != "Ines" || given[0].Reason != "as said in number 3 (a guess at the words): the customer accepts it" {
		t.Fatalf("decided: %+v", given)
	}
	p.await(`document.querySelector("#n3 audio, #n3 .evidence") !== null`)
	p.speak("handed over")
	p.await(`document.getElementById("over").checkVisibility()`)
}

// TestTheLineBreaksBeforeTheReason: nothing was decided, the page says so, and the yes is no note of its own.
func TestTheLineBreaksBeforeTheReason(t *testing.T) {
	t.Parallel()
	s, p := deciding(t)
	p.speak("use the part as is")
	p.await(`document.getElementById("slab-say").textContent.endsWith("Use it as is? Yes or no.")`)
	p.speak("yes")
	p.await(`document.getElementById("slab-say").textContent === "Say note, and then why."`)
	s.line.cut()
	p.await(cutOff + ` && document.getElementById("hint").innerText === "The line broke before it was said that it is decided. Look on the sheet, when the line is back."`)
	s.line.mend()
	p.await(`document.getElementById("line").dataset.waiting === "0"`)
	p.verdictOn("seat clean")
	if state := s.state("MW-1041"); state.Entries != 3 || len(state.Dispositions) != 0 {
		t.Errorf("the record has %d entries, and %+v", state.Entries, state.Dispositions)
	}
}

// TestDecidedByAVoiceAlone: in a real browser with the real recogniser and a real voice, by sound alone.
func TestDecidedByAVoiceAlone(t *testing.T) { //nolint:paralleltest // a recogniser beside many browsers misses its time limits
	speechtest.Need(t)
	address, _ := program(t)
	p := inRoom(t, address, "Ines")
	if status := eval[int](p, `fetch("/api/jobs", { method: "POST", body: JSON.stringify({ id: "MW-1041", spec: "mr5", person: "Ines" }) }).then((r) => r.status)`); status != 201 {
		t.Fatalf("the job is opened with %d", status)
	}
	p.do("open the sheet", chromedp.Navigate(address+"/jobs/MW-1041"))
	p.await(drawn + ` && !document.getElementById("talk").hidden`)
	p.verdictOn("shaft runout 0.08 mm")
	p.choose("open")
	p.await(is("off"))
	p.do("turn the microphone on", chromedp.Click(chromedp.CSS("#talk-press"))) // the last touch

	const question = "Shaft runout, zero point zero eight millimetres, out. At most zero point zero five millimetres. Use it as is? Yes or no."
	p.replies("use the part as is", question, "yes", came{Verdict: "asked", Say: "Say note, and then why."})
	const reason = "note the customer wants it back today"
	kept := false
	for n, say := 0, reason; n < 2*attempts && !kept; n++ {
		m := p.voice(speakers[n%len(speakers)], say)
		t.Logf("%q: %+v", say, m)
		kept = m.Type == "answer"
		say = map[bool]string{true: "yes", false: reason}[strings.HasPrefix(m.Say, "Was that a remark")]
	}
	if !kept {
		t.Fatal("the reason is not understood")
	}
	p.await(`logged("spoken").includes("say: Decided: use as is.")`)
	type entry struct {
		Kind, Sound, Person string
		Disposition         *struct{ Is, Reason string }
	}
	entries := record[entry](t, address+"/api/jobs/MW-1041/export?as=json")
	if len(entries) != 4 || entries[2].Sound == "" || entries[3].Disposition == nil {
		t.Fatalf("the record has %+v", entries)
	}
	if d := entries[3].Disposition; d.Is != "use as is" || !strings.HasPrefix(d.Reason, "as said in number 3 (") || entries[3].Person != "Ines" {
		t.Errorf("decided: %+v by %q", d, entries[3].Person)
	}
	p.utter("read that back") // the microphone is open still, and the sheet is not deaf
}

// TestDispositionTyped: its words open the form, and are no note.
func TestDispositionTyped(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	for _, text := range []string{
		"use the part as is", " Use  it as is. ", "REWORK THE PART!", "scrap the part", "scrap that part", "scrap", "scratch that", "use the part as is on stage three", "note use the part as is", "",
	} {
		is, _ := parse.Disposition(text)
		if onPage := eval[string](p, fmt.Sprintf(`import(document.querySelector("script[type=module]").src.replace("sheet.js", "decide.js")).then((m) => m.disposes(%q))`, text)); onPage != is {
			t.Errorf("%q is %q on the page, and %q for the parser", text, onPage, is)
		}
	}
	p.say("use the part as is")
	p.await(`document.getElementById("hint").innerText === "Nothing is out that takes that."`)
	p.verdictOn("shaft runout 0.08 mm")
	p.verdictOn("impeller stage one cut")
	p.say("Use the part as is.")
	p.await(`document.getElementById("decide").open && document.querySelector("#decide-ways input:checked").value === "use as is" && document.activeElement.id === "decide-reason"`)
	if of := p.text("#decide-finding"); !strings.HasPrefix(of, "Shaft runout") {
		t.Errorf("it is of %q", of)
	}
	if n := s.state("MW-1041").Entries; n != 3 {
		t.Errorf("the record has %d entries", n)
	}
	for _, screen := range []screen{phone, phoneTyping, tabletTyping, wall, tablet} {
		p.show(screen, "light")
		eval[bool](p, `(document.getElementById("decide-go").scrollIntoView({ block: "end" }), true)`)
		p.shoot("sheet-decide-voice")
		p.inSight("#decide-go", "#decide-cancel", "#decide-said")
		for _, wrong := range eval[[]string](p, misfitsInForm) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
}

// TestTheFormOfADispositionFits looks at the form at each size, by day and in the dark, while it asks and
// while it is asked.
func TestTheFormOfADispositionFits(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	p.verdictOn("end play down 85 up 82 mm")
	p.verdictOn("collar nut stage one fifty one newton metres")
	p.decide("derived end_play", "scrap", "The spacer is worn, and was turned twice before.", "Martin Hale")
	p.await(`document.getElementById("decide-sure").checkVisibility() && document.activeElement.id === "decide-cancel"`)
	p.inSight("#decide-go", "#decide-cancel", "#decide-sure")
	for _, screen := range []screen{phone, phoneTyping, tabletTyping, wall, tablet} {
		p.show(screen, "light")
		p.shoot("sheet-decide-light")
		for _, wrong := range eval[[]string](p, misfits) {
			if !strings.Contains(wrong, "is not in sight") { // the form is above
				t.Errorf("%s: %s", screen.name, wrong)
			}
		}
	}
	checkAccess(t, p, everyRule)
	p.show(tablet, "dark")
	p.shoot("sheet-decide-dark")
	checkAccess(t, p, contrast)
	p.press(kb.Escape)
	p.show(tablet, "light")
	p.await(`!document.getElementById("decide").open`)
	for _, screen := range screens {
		p.show(screen, "light")
		p.shoot("sheet-undecided-light")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	checkAccess(t, p, everyRule)
}

// TestADispositionIsSentOnce: with the line down the form stays, says so, and what it sends again is the
// same one.
func TestADispositionIsSentOnce(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	p.verdictOn("shaft runout 0.08 mm")
	eval[bool](p, `(window.lost = 0, window.really = window.fetch, window.fetch = async (...a) => { const r = await window.really(...a); if (String(a[0]).includes("/dispositions") && !window.lost++) throw new TypeError("lost"); return r; }, true)`)
	p.decide("limit shaft_runout", "rework", "It was bent.", "Martin Hale")
	p.await(`document.getElementById("decide-wrong").textContent.includes("cannot be reached")`)
	if !eval[bool](p, `document.getElementById("decide").open`) {
		t.Error("the form is closed, and what it held is gone")
	}
	p.press(kb.Enter)
	p.await(`!document.getElementById("decide").open`)
	if all := s.state("MW-1041").Dispositions; len(all) != 1 || all[0].Reason != "It was bent." {
		t.Errorf("kept are %+v", all)
	}
}
