package ui_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// demoJobs are the demo's jobs, each with the word that stands large after telling notes of
// it: the slips of the day, and what closes them. Such a note is said once in its job.
var demoJobs = []struct {
	job, spec, notes string
	words            map[string]string // by note
}{
	{"MW-1041", "mr5", "mr5-demo.txt", map[string]string{
		"build spacer eighty eight point five millimetres": "in",
		"seat is clean":          "done",
		"stage two, thirty five": "unclear",
		"foot pounds":            "in",
		"collar nut stage three fifty one newton metres":        "out",
		"collar nut stage four about forty seven newton metres": "unclear",
		"cover is on":                        "stop",
		"rod two loosened to seat the cable": "void",
		"rod four twenty two point four":     "out",
		"pump came in seized":                "noted",
	}},
	{"MW-1077", "bevel-head", "bevel-demo.txt", map[string]string{
		"head came in noisy and hot":                                 "noted",
		"backlash as found forty two hundredths":                     "out",
		"new gear set fitted":                                        "done",
		"spacer sleeve twenty four millimetres":                      "stop",
		"wrong one, spacer sleeve thirty one point five millimetres": "in",
		"bearing height fifty two point three seven":                 "unclear",
		"shim pack nought point six millimetres":                     "out",
		"rolling torque one point four":                              "unclear",
		"newton metres":                                              "in",
		"gear shim taken out":                                        "void",
		"cover screw two twenty four":                                "order",
		"screw three turned by fifty degrees":                        "out",
		"housing temperature about sixty degrees":                    "unclear",
		"housing temperature sixty two degrees":                      "order",
		"housing temperature sixty four degrees":                     "in",
		"handed over":                                                "done",
	}},
}

// TestDemoJob plays each of the demo's jobs into the field of a live sheet: every verdict
// stands large and in the list, and at the end nothing is left and nothing open.
func TestDemoJob(t *testing.T) {
	t.Parallel()
	for _, demo := range demoJobs {
		t.Run(demo.spec, func(t *testing.T) {
			t.Parallel()
			options, notes := demoNotes(t, demo.notes)
			s := newShop(t)
			s.openJobOf(demo.spec, demo.job, options)
			p := newDevice(t, tablet, "light").openSheet(s, demo.job)
			shown := map[string][]string{}
			for _, note := range notes {
				shown[note] = append(shown[note], p.verdictOn(note))
				p.await(atField)
			}
			for note, word := range demo.words {
				if diff := cmp.Diff([]string{word}, shown[note]); diff != "" {
					t.Errorf("what stood large after %q (-want +shown):\n%s", note, diff)
				}
			}
			if next := p.text("#next-where"); next != "Nothing is left to do" {
				t.Errorf("at the end of the job comes next: %q", next)
			}
			if first := p.text("#first"); first != "" {
				t.Errorf("at the end of the job this is open: %q", first)
			}
			if diff := cmp.Diff(notes, s.kept(demo.job)); diff != "" {
				t.Errorf("notes in the journal (-said +kept):\n%s", diff)
			}
			newestFirst := slices.Clone(notes)
			slices.Reverse(newestFirst)
			if diff := cmp.Diff(newestFirst, p.texts("#notes .text")); diff != "" {
				t.Errorf("notes on the sheet (-said +shown):\n%s", diff)
			}
		})
	}
}

// TestSheetSaysWhatComesFirst: what is out, and what is asked, is to be seen to before the
// work goes on.
func TestSheetSaysWhatComesFirst(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1042", map[string]string{"stages": "3"})
	p := newDevice(t, tablet, "light").openSheet(s, "MW-1042")
	if p.text("#next-tag") != "Next" || p.text("#next-where") != "Build spacer" {
		t.Errorf("a new job begins with %q", p.text("#next"))
	}
	steps := []struct{ note, word, first, where, figures string }{
		{"build spacer 63 millimetres", "out", "Mend it, then say the new reading", "Motor adapter", "Build spacer 63 mm 63.9 to 64.1 mm"},
		{"shaft runout 0.03 millimetres", "in", "Build spacer: 63 mm, out", "Motor adapter", "Shaft runout 0.03 mm at most 0.05 mm"},
		{"build spacer again 64 millimetres", "in", "", "Motor adapter", "Build spacer 64 mm 63.9 to 64.1 mm"},
		{"collar nut stage two about forty eight newton metres", "unclear", "Answer that", "Motor adapter", ""},
		{"make that forty eight", "in", "", "Motor adapter", "Collar nut two 48 N·m 46.08 to 49.92 N·m"},
	}
	for _, step := range steps {
		word := p.verdictOn(step.note)
		first, next := p.text("#first"), p.text("#next-where")
		tag := map[bool]string{true: "Next", false: "Then"}[step.first == ""]
		if word != step.word || !strings.Contains(first, step.first) || (step.first == "") != (first == "") || next != step.where || p.text("#next-tag") != tag {
			t.Errorf("%q: %s, first %q, then %q %q; want %+v", step.note, word, first, p.text("#next-tag"), next, step)
		}
		if figures := strings.Join(strings.Fields(p.text("#slab-figures")), " "); figures != step.figures {
			t.Errorf("%q in figures: %q, want %q", step.note, figures, step.figures)
		}
	}
}

// TestTwoBenches: what is entered at one bench is seen at the other, and a stop there is
// shown here first.
func TestTwoBenches(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1043", nil)
	here := newDevice(t, tablet, "light").openSheet(s, "MW-1043")
	there := newDevice(t, phone, "light").openSheet(s, "MW-1043")
	here.verdictOn("build spacer 64 millimetres")
	there.await(settled("build spacer 64 millimetres"))
	here.shoot("sheet-in")
	there.shoot("sheet-in")
	there.verdictOn("seat is clean")
	here.await(`document.querySelector("#notes .text").textContent === "seat is clean"`)
	if from := here.text("#notes .when"); !strings.Contains(from, "another bench") {
		t.Errorf("the other bench's note is marked %q", from)
	}
	if large := here.text("#slab-heard"); !strings.Contains(large, "build spacer") {
		t.Errorf("the other bench's note took the place of one's own: %q", large)
	}
	there.verdictOn("cut impeller stage one")
	here.await(`!document.getElementById("late").hidden && document.getElementById("slab").dataset.word === "stop"`)
	here.shoot("other-bench-stop")
	here.inSight("#slab-word", "#late button", "#next-where", "#field")
	if heard := here.text("#slab-heard"); !strings.HasPrefix(heard, "Another bench") {
		t.Errorf("the stop of another bench is shown as %q", heard)
	}
	here.await(`document.querySelector('[data-callout="impeller"] .places li').dataset.word === "stop"`)
	for _, p := range []*tab{here, there} {
		p.await(`document.getElementById("callouts").dataset.entries === "4"`)
		if diff := cmp.Diff([]string{"stop", "done", "in"}, p.words()); diff != "" {
			t.Errorf("verdicts (-want +got):\n%s", diff)
		}
	}
}

// TestLongAndOddNotes: whatever is typed is shown as it was typed, and runs nothing.
func TestLongAndOddNotes(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1044", nil)
	p := newDevice(t, phone, "light").openSheet(s, "MW-1044")
	for _, note := range []string{
		`<img src=x onerror="document.title='run'"><b>seal</b> & "quotes"`,
		"Ø 12 µm, 30 °C, 5 kΩ, наклон, 漏れあり",
		strings.TrimSpace(strings.Repeat("seal face grooved near the inlet ", 60)),
		strings.Repeat("x", 2000),
	} {
		p.verdictOn(note)
		text, err := json.Marshal(note)
		if err != nil {
			t.Fatal(err)
		}
		p.await(`document.querySelector("#notes .text").textContent === ` + string(text) + ` && document.title === "MW-1044 job sheet"`)
		if !eval[bool](p, `document.documentElement.scrollWidth <= innerWidth`) {
			t.Errorf("%.40q… makes the page wider than the screen", note)
		}
	}
	p.shoot("long-note")
	p.say(strings.Repeat("y", 2001))
	p.await(`document.getElementById("hint").classList.contains("wrong")`)
	if n := len(s.kept("MW-1044")); n != 4 {
		t.Errorf("%d notes were kept, want 4", n)
	}
}
