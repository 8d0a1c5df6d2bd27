package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"

	"readback/capture/journal"
)

// atBench holds when the sheet names somebody, and the line is theirs.
func atBench(name string) string {
	return fmt.Sprintf(`%s && document.getElementById("who-name").textContent === %q && document.getElementById("who-wait").hidden`, allSent, name)
}

// give opens the form by keys and gives a name.
func (p *tab) give(name string) {
	p.t.Helper()
	p.tabTo("#who-change")
	p.press(kb.Enter)
	p.await(`document.getElementById("handover").open && document.activeElement.id === "handover-name"`)
	p.write(name)
	p.press(kb.Enter)
}

// closed waits until the form is closed and the field has the focus again, which changes
// nothing in the page that an await would see.
const closed = `new Promise((done) => {
	const look = () => (!document.getElementById("handover").open && document.activeElement.id === "field" ? done(true) : setTimeout(look, 10));
	look();
})`

// by returns who said each note of a job, as "person: note".
func (s *shop) by(job string) (notes []string) {
	s.t.Helper()
	entries, err := s.store.Entries(s.t.Context(), job, 0, 1000)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, e := range entries {
		if e.Kind == journal.Note {
			notes = append(notes, e.Person+": "+e.Text)
		}
		if e.Bench != "" {
			s.t.Errorf("note %q comes from %q: the bench was taken for another", e.Text, e.Bench)
		}
	}
	return notes
}

// TestHandOver: a name is given, the bench is handed over, and each note stands in the
// journal under who said it. The next person is told where the job stands and starts anew.
func TestHandOver(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	if who := p.text(".notes .above"); !strings.Contains(who, "not stated") || !strings.Contains(who, "Give a name") {
		t.Errorf("before a name was given the sheet says %q", who)
	}
	p.verdictOn("seat is clean")
	p.give("Ines")
	p.await(atBench("Ines"))
	eval[bool](p, closed)
	p.verdictOn("build spacer 64 millimetres")

	p.give("Tom")
	p.await(atBench("Tom") + " && " + settled("where are we"))
	eval[bool](p, closed)
	if say := p.text("#slab-say"); !strings.HasPrefix(say, "Last: Build spacer, sixty-four millimetres. In. Next: ") || !strings.Contains(say, "left to do") {
		t.Errorf("who comes is told %q", say)
	}
	p.shoot("handed-over")
	p.verdictOn("scratch that")
	if standing := p.text("#callouts"); !strings.Contains(standing, "64 mm") {
		t.Errorf("Tom took back what Ines had said: %q", p.text("#slab-say"))
	}

	p.do("reload", chromedp.Reload())
	p.await(drawn + " && " + atBench("Tom"))
	p.verdictOn("shaft held")
	want := []string{
		"not stated: seat is clean", "Ines: build spacer 64 millimetres", "Ines: handing over to Tom",
		"Tom: where are we", "Tom: scratch that", "Tom: shaft held",
	}
	if diff := cmp.Diff(want, s.by("MW-1041")); diff != "" {
		t.Errorf("who said what (-want +kept):\n%s", diff)
	}
}

// TestHandOverWithTheLineDown: the notes that wait go under the name of who typed them,
// over a reload too, before the line is the next person's.
func TestHandOverWithTheLineDown(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(phone)
	eval[bool](p, keepsPages)
	p.give("Ines")
	p.await(atBench("Ines"))
	s.line.cut()
	p.await(cutOff)
	for i, note := range []string{"build spacer 64 millimetres", "seat is clean"} {
		p.say(note)
		p.await(fmt.Sprintf(`document.getElementById("line").dataset.waiting === "%d"`, i+1))
	}
	p.give("Tom")
	p.await(`document.getElementById("line").dataset.waiting === "4" && !document.getElementById("who-wait").hidden`)
	if said := p.text(".notes .above"); !strings.Contains(said, "Tom") || !strings.Contains(said, "3 notes of Ines still to be sent") || !strings.Contains(said, "when the line is back") {
		t.Errorf("with the line down the sheet says %q", said)
	}
	p.shoot("handed-over-line-down")
	p.say("shaft held")
	p.await(`document.getElementById("line").dataset.waiting === "5"`)
	p.do("reload with the line down", chromedp.Reload())
	p.await(cutOff + ` && document.getElementById("line").dataset.waiting === "5" && document.getElementById("who-name").textContent === "Tom"`)

	s.line.mend()
	p.await(atBench("Tom") + ` && document.getElementById("callouts").dataset.entries === "6"`)
	want := []string{
		"Ines: build spacer 64 millimetres", "Ines: seat is clean", "Ines: handing over to Tom",
		"Tom: where are we", "Tom: shaft held",
	}
	if diff := cmp.Diff(want, s.by("MW-1041")); diff != "" {
		t.Errorf("who said what (-want +kept):\n%s", diff)
	}
	if n := eval[int](p, inOutbox); n != 0 {
		t.Errorf("%d notes are left in the outbox", n)
	}
}

// TestSheetSaysWhoHandedOver: who signs the job off stands on the sheet; where nobody gave
// a name the answer asks for one.
func TestSheetSaysWhoHandedOver(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	p.verdictOn("build spacer 64 millimetres") // what is out is settled before the job is handed over
	if eval[bool](p, `!document.getElementById("over").hidden`) {
		t.Errorf("before the hand-over the sheet says %q", p.text("#over"))
	}
	p.verdictOn("handed over")
	if say := p.text("#slab-say"); !strings.HasSuffix(say, "say who you are on the sheet, then hand over again.") {
		t.Errorf("a hand-over without a name is answered %q", say)
	}
	if over := p.text("#over"); !strings.Contains(over, "nobody’s name stands with it") {
		t.Errorf("the sheet says %q", over)
	}
	p.inSight("#over", "#slab-word", "#who-change", "#next-where", "#field")
	p.shoot("signed-off-by-nobody")
	p.give("Ines")
	p.await(atBench("Ines"))
	eval[bool](p, closed)
	p.say("handed over") // again, now with a name
	p.await(`document.getElementById("slab").dataset.word === "left" && document.getElementById("over").textContent.includes("by Ines")`)
	if over := p.text("#over"); !strings.Contains(over, "by Ines: ") || !strings.Contains(over, " left to do, ") || !strings.Contains(over, " findings open.") {
		t.Errorf("the sheet says %q", over)
	}
	p.inSight("#over", "#slab-word", "#next-where", "#field")
	for _, screen := range screens {
		p.show(screen, "light")
		p.shoot("signed-off")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	checkAccess(t, p, everyRule)
}

// TestAnotherSheetOfTheBench: the name is the bench's, whichever sheet was given it.
func TestAnotherSheetOfTheBench(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1041", nil)
	s.openJob("MW-1042", nil)
	d := newDevice(t, tablet, "light")
	one, two := d.openSheet(s, "MW-1041"), d.openSheet(s, "MW-1042")
	one.give("Ines")
	two.await(atBench("Ines"))
	two.verdictOn("seat is clean")
	if diff := cmp.Diff([]string{"Ines: seat is clean"}, s.by("MW-1042")); diff != "" {
		t.Errorf("who said what (-want +kept):\n%s", diff)
	}
}

// TestNamesThatAreNone: what cannot be a name is refused in words, and nothing is entered.
func TestNamesThatAreNone(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(phone)
	longest := strings.Repeat("Ω", 100)
	p.give(longest)
	p.await(atBench(longest))
	for name, want := range map[string]string{
		"":            "Give the name",
		"   ":         "Give the name",
		"To\u0007m":   "character that nobody can see",
		longest + "x": "has 101 characters; it may have 100",
		longest:       "is at the bench already",
		"Not Stated":  "Give another",
	} {
		p.give(name)
		p.await(fmt.Sprintf(`document.getElementById("handover-wrong").innerText.includes(%q) && document.activeElement.id === "handover-name"`, want))
		p.press(kb.Escape)
		eval[bool](p, closed)
	}
	if kept := s.by("MW-1041"); len(kept) > 0 {
		t.Errorf("notes were entered: %q", kept)
	}
	p.await(atBench(longest))
}

// TestHandOverFormFits looks at the form at each size: nothing cut off, nothing too small
// for wet hands, and no fault of access.
func TestHandOverFormFits(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	p.give("Ines")
	p.await(atBench("Ines"))
	p.tabTo("#who-change")
	p.press(kb.Enter)
	p.await(`document.getElementById("handover").open`)
	p.write("Tom")
	for _, sheet := range []string{"light", "dark"} {
		for _, screen := range []screen{phone, phoneTyping, tabletTyping, wall, tablet} {
			p.show(screen, sheet)
			p.shoot("handover-" + sheet)
			p.inSight("#handover-title", "#handover-name", "#handover-go", "#handover-cancel")
			for _, wrong := range eval[[]string](p, misfits) {
				if !strings.HasSuffix(wrong, "is not in sight") { // it lies under the form
					t.Errorf("%s: %s", screen.name, wrong)
				}
			}
			for _, small := range eval[[]string](p, `[...document.querySelectorAll("#handover :is(button, input)")].filter((e) => e.getBoundingClientRect().height < 60 || e.getBoundingClientRect().width < 60).map((e) => e.id)`) {
				t.Errorf("%s: %s is too small", screen.name, small)
			}
		}
		checkAccess(t, p, everyRule)
	}
	p.press(kb.Escape)
	eval[bool](p, closed)
	if who := p.text("#who-name"); who != "Ines" {
		t.Errorf("the form was left, and at the bench is %q", who)
	}
}
