package rules_test

import (
	"strings"
	"testing"
)

// What was tried to mislead a job: notes that came near something and are not it. Each line is a day's
// notes, and what stands of the last one: its marks, readings and findings.
func TestNearMisses(t *testing.T) {
	for _, tt := range []struct {
		notes []string
		want  string
	}{
		// The words of a detail are kept whole, with what denies in them.
		{[]string{"complaint no flow"}, "complaint no flow"},
		{[]string{"complaint number two bearing hot"}, "complaint number two bearing hot"},
		{[]string{"liquid pumped no water"}, "liquid_pumped no water"},
		{[]string{"serial number no 4 4 7 1"}, "serial_number 4471"},
		{[]string{"complaint undone"}, "ask"}, // a word for an event
		{[]string{"serial number later"}, "ask"},
		{[]string{"complaint I'll tell you later"}, "ask"},
		// What is to be recorded and was said in the same breath is asked for.
		{[]string{"serial number four four seven one, locked out and tagged"}, "ask"},
		{[]string{"complaint loud; pressure let off"}, "ask"},
		{[]string{"complaint loud, wide adapter fitted"}, "ask"},
		{[]string{"serial number 4471 runout 0.03"}, "ask"},
		{[]string{"serial number four four scratch that"}, "ask"},
		{[]string{"complaint rod two loosened"}, "ask"},
		// Other words take the place of what stands only where that is said.
		{[]string{"serial number 4471", "serial number 4472"}, "ask"},
		{[]string{"serial number 4471", "correction serial number 4472"}, "serial_number 4472"},
		{[]string{"serial number", "four four seven one"}, "serial_number 4471"},
		{[]string{"serial number", "collar nut stage one forty eight newton metres"}, "collar_nut_torque@stage=1 48 N.m in"},
		// No ordinary remark is one.
		{[]string{"serial plate is bent"}, ""},
		{[]string{"it was pumping when I got here"}, ""},
		{[]string{"liquid was drained"}, ""},
		{[]string{"booked in for Tuesday"}, ""},

		// Small talk is not what a test was taken at.
		{[]string{"insulation 205 megohms", "thirty degrees in here"}, "ask"},
		{[]string{"insulation 205 megohms", "took five minutes"}, "ask"},
		{[]string{"insulation 205 megohms", "not at thirty degrees"}, "ask"},
		{[]string{"insulation 205 megohms", "nine hundred degrees"}, "insulation 205 MOhm unclear; ask"},
		{[]string{"insulation 205 megohms at 999999 degrees"}, "insulation 205 MOhm unclear; ask"},
		{[]string{"insulation 205 megohms", "forty", "test voltage five hundred volts"}, "insulation 205 MOhm in"},
		{[]string{"insulation 205 megohms", "thirty"}, "insulation 205 MOhm in"},
		{[]string{"insulation 205 megohms", "at thirty"}, "insulation 205 MOhm in"},
		{[]string{"insulation 205 megohms", "what's next", "thirty"}, "insulation 205 MOhm in"},
		{[]string{"insulation 205 megohms", "tea is ready", "thirty"}, "ask"},
		{[]string{"insulation 205 megohms at twenty degrees", "thirty"}, "ask"},
		{[]string{"lead insulation 600 megohms at 500 volts", "one"}, "lead_insulation 600 MOhm in"},
		{[]string{"lead insulation 600 megohms", "five hundred"}, "ask"}, // volts or minutes?
		{[]string{"insulation 205 megohms", "scratch that", "at thirty degrees"}, "ask"},

		// A question about a mark ends with what dismisses it.
		{[]string{"impeller stage one", "scratch that"}, ""},
		{[]string{"impeller stage one", "the tank's full", "full"}, ""},
		{[]string{"impeller stage one", "why", "full"}, "impeller@stage=1 full; step_order"},

		// A test that was done before its turn is in, and so it is called.
		{[]string{"lead insulation six hundred megohms", "where are we"}, ""},
	} {
		b := open(t, demo(t), "rebuild=yes base=long")
		for _, n := range tt.notes[:len(tt.notes)-1] {
			b.say(n)
		}
		a := b.say(tt.notes[len(tt.notes)-1])
		var got []string
		for _, r := range a.Readings {
			where := r.Callout
			if r.At != "" {
				where += "@" + string(r.At)
			}
			got = append(got, where+" "+r.Value.String()+" "+r.Unit+" "+string(r.Verdict))
		}
		for _, m := range a.Marks {
			where := m.Callout
			if m.At != "" {
				where += "@" + string(m.At)
			}
			got = append(got, where+" "+m.Is)
		}
		for _, f := range a.Findings {
			if len(got) == 0 || !strings.HasSuffix(got[len(got)-1], f.Rule) {
				got = append(got, f.Rule)
			}
		}
		if text := strings.Join(got, "; "); text != tt.want {
			t.Errorf("%q gives %q, want %q: %s", tt.notes, text, tt.want, a.Say)
		}
		if strings.Contains(a.Say, "megohms, out") {
			t.Errorf("%q says of a reading that is in: %s", tt.notes, a.Say)
		}
	}
}

// Two people at two benches: what one says of his last note does not undo what the other did since.
func TestWhatTheOtherDidStands(t *testing.T) {
	ann := open(t, demo(t), "")
	ben := &bench{job: ann.job, words: ann.words}
	ann.say("insulation two hundred five megohms")
	ben.say("insulation one fifty megohms at forty degrees")
	if a := ann.say("at thirty degrees"); len(a.Findings) != 1 || a.Readings[0].Verdict != "unclear" {
		t.Errorf("a reading that was taken anew is overwritten: %s", a.Say)
	}
	ann.say("impeller stage one")
	ben.say("cut impeller stage one")
	if a := ann.say("full"); len(a.Marks) != 0 {
		t.Errorf("a part that was named by another is overwritten: %s", a.Say)
	}
}
