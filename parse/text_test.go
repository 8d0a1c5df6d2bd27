package parse_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/parse"
)

// brief writes what was understood of a note on one line: its kind, then claims as
// callout@place=value unit !doubts, marks as callout@place:is, and the rest.
func brief(u parse.Utterance) string {
	parts := []string{string(u.Kind)}
	target := func(t parse.Target) string {
		if t.At == "" {
			return t.Callout
		}
		return t.Callout + "@" + string(t.At)
	}
	for _, t := range u.Withdrawn {
		parts = append(parts, "-"+target(t))
	}
	for _, c := range u.Claims {
		unit := c.Unit
		if len(c.Slang) > 0 {
			unit = strings.Join(c.Slang, "|")
		}
		text := target(c.Target) + "=" + strings.TrimSpace(c.Value.String()+" "+unit)
		if c.NoValue {
			text = target(c.Target) + "=?"
		}
		for _, w := range c.With {
			text += fmt.Sprintf(" with %s %s %s", w.Name, w.Value, w.Unit)
		}
		if c.How != "" {
			text += " (" + c.How + ")"
		}
		for _, d := range c.Doubts {
			text += " !" + string(d)
		}
		parts = append(parts, text)
	}
	for _, m := range u.Marks {
		parts = append(parts, target(m.Target)+":"+m.Is)
	}
	for _, a := range u.Asks {
		parts = append(parts, "?"+string(a.Doubt))
	}
	if u.Over {
		parts = append(parts, "over")
	}
	if u.Instrument != "" {
		parts = append(parts, "on "+u.Instrument)
	}
	for _, s := range u.Symptoms {
		text := s.Part + " is " + s.Condition
		if s.Absent {
			text = s.Part + " is not " + s.Condition
		}
		parts = append(parts, text)
	}
	if u.Question != nil {
		parts = append(parts, "about "+string(u.Question.About))
		for _, t := range u.Question.Targets {
			parts = append(parts, target(t))
		}
	}
	return strings.Join(parts, "; ")
}

func TestText(t *testing.T) {
	v := shop()
	tests := []struct{ name, in, want string }{
		{"name, place, number, unit", "collar nut stage three forty eight newton metres", "reading; collar_nut_torque@stage=3=48 N.m"},
		{"any order", "newton metres forty eight point one collar nut stage four", "reading; collar_nut_torque@stage=4=48.1 N.m"},
		{"number before its place", "forty seven newton metres on the second stage collar nut", "reading; collar_nut_torque@stage=2=47 N.m"},
		{"written resolution is kept", "end play down 82.60 mm", "reading; end_play_down=82.60 mm"},
		{"typed tersely", "stage 3 48nm", "reading; collar_nut_torque@stage=3=48 N.m"},
		{"an index names the callout", "rod two pass one fourteen newton metres", "reading; tie_rod_torque@rod=2,pass=1=14 N.m"},
		{"indexes in any order", "first pass rod three seventy one inch pounds", "reading; tie_rod_torque@rod=3,pass=1=71 [in_i].[lbf_av]"},
		{"rod two of four", "rod 2 of 4 pass one 7.8 Nm", "reading; tie_rod_torque@rod=2,pass=1=7.8 N.m"},
		{"the last stage", "collar nut last stage forty eight newton metres", "reading; collar_nut_torque@stage=10=48 N.m"},
		{"a range of places", "collar nuts four to six all forty eight newton metres", "reading; collar_nut_torque@stage=4=48 N.m; collar_nut_torque@stage=5=48 N.m; collar_nut_torque@stage=6=48 N.m"},
		{"a list of places", "coupling bolts one and three second pass thirty newton metres", "reading; coupling_bolt_torque@bolt=1,pass=2=30 N.m; coupling_bolt_torque@bolt=3,pass=2=30 N.m"},
		{"all four bolts, not four passes", "coupling bolts all four pass one fifteen newton metres", "reading; coupling_bolt_torque@bolt=1,pass=1=15 N.m; coupling_bolt_torque@bolt=2,pass=1=15 N.m; coupling_bolt_torque@bolt=3,pass=1=15 N.m; coupling_bolt_torque@bolt=4,pass=1=15 N.m"},
		{"to is a place after a slot word", "collar nut stage to forty seven newton metres", "reading; collar_nut_torque@stage=2=47 N.m"},
		{"to is a small word after a place", "retorqued stage seven to forty seven point five", "reading; collar_nut_torque@stage=7=47.5"},
		{"two readings, one unit", "end play down 82.6 up 81.25 millimetres", "reading; end_play_down=82.6 mm; end_play_up=81.25 mm"},
		{"a trailing pass is for all", "rod one eight rod three eight point one newton metres pass one", "reading; tie_rod_torque@rod=1,pass=1=8 N.m; tie_rod_torque@rod=3,pass=1=8.1 N.m"},
		{"indexes one behind the other", "rods one three two four first pass eight newton metres", "reading; tie_rod_torque@rod=1,pass=1=8 N.m; tie_rod_torque@rod=3,pass=1=8 N.m; tie_rod_torque@rod=2,pass=1=8 N.m; tie_rod_torque@rod=4,pass=1=8 N.m"},
		{"the last index of a row may be the value", "rods one three two four newton metres pass one", "reading; tie_rod_torque@rod=1,pass=1=4 N.m; tie_rod_torque@rod=3,pass=1=4 N.m; tie_rod_torque@rod=2,pass=1=4 N.m"},
		{"a series of places and values", "collar nut one forty eight two forty seven three forty nine", "reading; collar_nut_torque@stage=1=48; collar_nut_torque@stage=2=47; collar_nut_torque@stage=3=49"},
		{"all, after another axis", "coupling bolts pass one all fifteen", "reading; coupling_bolt_torque@bolt=1,pass=1=15; coupling_bolt_torque@bolt=2,pass=1=15; coupling_bolt_torque@bolt=3,pass=1=15; coupling_bolt_torque@bolt=4,pass=1=15"},
		{"one stands for a thing", "spacer is the long one eighty eight point five", "reading; build_spacer=88.5"},
		{"the index before the name", "number five collar nut forty eight", "reading; collar_nut_torque@stage=5=48"},
		{"the index after on", "collar nut on three is at 48.2", "reading; collar_nut_torque@stage=3=48.2"},
		{"kinds and places in pairs", "impellers one to four full five cut", "part; impeller@stage=1:full; impeller@stage=2:full; impeller@stage=3:full; impeller@stage=4:full; impeller@stage=5:cut"},
		{"each name with its kind", "impeller one full impeller two cut", "part; impeller@stage=1:full; impeller@stage=2:cut"},
		{"what is denied of one place holds of the others", "stages one and two seated but not three", "confirm; stage_seated@stage=1:done; stage_seated@stage=2:done"},
		{"a list of values for a list of places", "stages 1 and 2 nuts 48.1, 47.9", "reading; collar_nut_torque@stage=1=48.1; collar_nut_torque@stage=2=47.9"},
		{"each value before its place", "winding 1.24 ohms on u v 1.25 on v w and 1.26 on w u", "reading; winding_resistance@phase=uv=1.24 Ohm; winding_resistance@phase=vw=1.25 Ohm; winding_resistance@phase=wu=1.26 Ohm"},
		{"the target does not count beside the reading", "target 20, rod 4 pass 3 got 19.6", "reading; tie_rod_torque@rod=4,pass=3=19.6"},
		{"nor the value before", "stage 3 nut was 45.0, now 47.6", "reading; collar_nut_torque@stage=3=47.6"},
		{"nor the tool", "stage 5 nut 48Nm with 36mm socket", "reading; collar_nut_torque@stage=5=48 N.m"},
		{"nor the time of day", "14:32 stage 5 nut 47.9Nm", "reading; collar_nut_torque@stage=5=47.9 N.m"},
		{"nor talk about something else", "collar nut stage four 48.6 newton metres, can someone fetch me a rag", "reading; collar_nut_torque@stage=4=48.6 N.m"},
		{"a word that nothing knows may turn it round", "collar nut stage four forty eight newton metres and a whisper", "unclear; collar_nut_torque@stage=4=48 N.m !unknown words"},
		{"where the event is a place, it is none", "cover on the bench", "unclear; ?doubtful"},
		{"a no behind it", "seat clean no it isn't", "confirm; seat_clean:undone"},
		{"heard almost so", "caller nut stage tree forty ate newton metres", "reading; collar_nut_torque@stage=3=48 N.m"},
		{"not is a nut after collar", "collar not stage three forty eight newton metres", "reading; collar_nut_torque@stage=3=48 N.m"},
		{"where one place ends in the next, neither was said", "u v w one point nine ohms", "unclear; winding_resistance=1.9 Ohm !two places"},
		{"a loosened nut loosens no rod", "collar nut three loosened", "unclear; collar_nut_torque@stage=3=? !no value"},
		{"what it was taken at", "insulation one twenty megs at forty degrees", "reading; insulation=120 MOhm with temperature 40 Cel"},
		{"a setting", "collar nut stage nine clicked at forty eight newton metres", "reading; collar_nut_torque@stage=9=48 N.m (set)"},
		{"slang keeps its meanings", "runout two mil", "reading; shaft_runout=2 mm|[mil_i]"},
		{"an instrument beside a reading", "collar nut stage nine forty eight newton metres on wrench seven", "reading; collar_nut_torque@stage=9=48 N.m; on wrench 7"},
		{"corrected within the note", "collar nut stage two forty eight no forty seven newton metres", "reading; collar_nut_torque@stage=2=47 N.m"},
		{"denied and replaced within the note", "collar nut stage two not fifty, forty nine newton metres", "correction; collar_nut_torque@stage=2=49 N.m"},
		{"withdrawn before it had a value", "end play up scratch that", "correction"},

		{"nothing to place", "forty seven point five", "unclear; =47.5 !no home"},
		{"no place", "collar nut forty eight newton metres", "unclear; collar_nut_torque=48 N.m !no place"},
		{"no such place", "collar nut stage twelve forty eight newton metres", "unclear; collar_nut_torque@stage=12=48 N.m !no such place"},
		{"two places", "collar nut forty eight newton metres on stage nine or ten", "unclear; collar_nut_torque=48 N.m !two places"},
		{"two numbers", "collar nut stage nine forty eight or forty nine", "unclear; collar_nut_torque@stage=9=48 !two numbers; collar_nut_torque@stage=9=49 !two numbers"},
		{"a number cut off", "collar nut stage nine forty eight point", "unclear; collar_nut_torque@stage=9=48 !two numbers"},
		{"about", "collar nut stage nine roughly forty eight newton metres", "unclear; collar_nut_torque@stage=9=48 N.m !approximate"},
		{"ish", "collar nut stage nine forty eight ish", "unclear; collar_nut_torque@stage=9=48 !approximate"},
		{"doubt", "I think stage nine was forty eight newton metres", "unclear; collar_nut_torque@stage=9=48 N.m !doubtful"},
		{"the wrench slipped", "collar nut stage three wrench slipped at forty eight newton metres", "unclear; collar_nut_torque@stage=3=48 N.m !doubtful"},
		{"damage on what was read", "collar nut stage three cross threaded at forty eight newton metres", "unclear; collar_nut_torque@stage=3=48 N.m !doubtful; collar nut is damaged"},
		{"not yet", "haven't torqued stage nine yet", "unclear; collar_nut_torque@stage=9=? !negated"},
		{"a target is no reading", "target for collar nut stage three is forty eight newton metres", "unclear; collar_nut_torque@stage=3=48 N.m !hearsay"},
		{"a range", "collar nut stage nine between forty seven and forty nine newton metres", "unclear; collar_nut_torque@stage=9=47 N.m !range; collar_nut_torque@stage=9=49 N.m !range"},
		{"a bound", "insulation greater than two gigohms", "unclear; insulation=2 GOhm !range"},
		{"a tolerance", "collar nut stage three 48 N·m ± 1", "unclear; collar_nut_torque@stage=3=48 N.m !range"},
		{"no value", "stage ten nut torqued", "unclear; collar_nut_torque@stage=10=? !no value"},
		{"a comma with two readings", "spacer 88,500", "unclear; build_spacer=88500 !two numbers"},
		{"an unfinished unit", "runout 0.03 mm per fortnight", "unclear; shaft_runout=0.03 mm !odd unit !unknown words"},

		{"a confirmation with small words", "the seat's been cleaned and it is clean", "confirm; seat_clean:done"},
		{"a confirmation denied", "seat isn't clean yet", "confirm; seat_clean:undone"},
		{"a question is no confirmation", "is the seat clean", "question; about reading; seat_clean"},
		{"places of a confirmation", "stages one and two seated", "confirm; stage_seated@stage=1:done; stage_seated@stage=2:done"},
		{"an index inside a name", "stage one is seated okay", "confirm; stage_seated@stage=1:done"},
		{"a part", "stage two gets a full impeller", "part; impeller@stage=2:full"},
		{"a part without its kind", "impeller stage two", "unclear; ?no value"},
		{"an event", "cover is on now", "event; cover_on:done"},
		{"loosened and read again is no event", "rod two backed off and retightened to twenty newton metres pass three", "reading; tie_rod_torque@rod=2,pass=3=20 N.m"},
		{"a reading and a confirmation", "collar nut stage seven forty eight newton metres and seat clean", "reading; collar_nut_torque@stage=7=48 N.m; seat_clean:done"},

		{"a symptom with a size", "lower bushing has a crack about ten millimetres long", "symptom; bush is cracked"},
		{"no wear is no wear", "no wear on the thrust washer", "symptom; thrust washer is not worn"},
		{"a remark with a time", "tea break back at quarter past ten", "remark"},
		{"a remark with a number", "order forty eight collar nuts", "remark"},
		{"small talk", "radio is too loud in here", "remark"},
		{"what is called for", "what's the torque on the coupling bolts second pass", "question; about callout; coupling_bolt_torque@pass=2"},
		{"what is left", "what's left", "question; about left"},
		{"what was read", "what did I say for rod three", "question; about reading; tie_rod_torque@rod=3"},
		{"read back", "read that back", "question; about last"},
		{"another takes over", "handing over to Tom", "remark; over"},
		{"with words around it", "right, I'm handing this over to Ines now, thanks", "remark; over"},
		{"whose name is that of a place", "handing over to Rod", "remark; over"},
		{"whose name is a small word", "handing over to Will", "remark; over"},
		{"whose name sounds like taking back", "handing over to Scratch", "remark; over"},
		{"whose name is nearly that of a callout", "handing over to Spacey", "remark; over"},
		{"a confirmation misspelt in the same breath", "handing over to Tom, seet cleaned", "confirm; seat_clean:done"},
		{"nobody takes over", "handing over to", "remark"},
		{"a thing is handed over", "handing over the keys", "remark"},
		{"a reading in the same breath", "handing over to Tom, collar nut stage three forty eight newton metres", "unclear; collar_nut_torque@stage=3=48 N.m !unknown words"},
		{"a confirmation in the same breath", "handing over to Tom, seat clean", "confirm; seat_clean:done"},
		{"nothing at all", "", "remark"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			u := parse.Text(tt.in, v, parse.Context{})
			if got := brief(u); got != tt.want {
				t.Errorf("Text(%q)\n got %s\nwant %s", tt.in, got, tt.want)
				for _, s := range parse.Explain(tt.in, v, parse.Context{}).Steps {
					t.Logf("  %q: %s %s", s.Words, s.Is, s.Why)
				}
			}
		})
	}
}

// TestContext plays notes that refer to the one before. Every claim without a doubt
// counts as recorded.
func TestContext(t *testing.T) {
	tests := []struct {
		name  string
		notes []string
		want  string
	}{
		{"a stage and a number", []string{"collar nut stage one forty eight newton metres", "stage two, forty seven"}, "reading; collar_nut_torque@stage=2=47"},
		{"yes to a reading beside an unknown word", []string{"collar nut stage one forty eight newton metres zounds", "yes"}, "reading; collar_nut_torque@stage=1=48 N.m"},
		{"yes to something said since is no yes to that", []string{"collar nut stage one forty eight newton metres zounds", "is the cover on", "yes"}, "remark"},
		{"no drops what was asked", []string{"collar nut stage one forty eight newton metres zounds", "no", "yes"}, "remark"},
		{"yes to anything else says nothing", []string{"collar nut stage one about forty eight newton metres", "yes"}, "remark"},
		{"same again", []string{"collar nut stage one forty eight newton metres", "stage three same again"}, "reading; collar_nut_torque@stage=3=48 N.m"},
		{"four the same", []string{"collar nut stage one forty eight newton metres", "four the same"}, "reading; collar_nut_torque@stage=4=48 N.m"},
		{"next one", []string{"collar nut stage one forty eight newton metres", "next one forty seven"}, "reading; collar_nut_torque@stage=2=47"},
		{"same again, where?", []string{"collar nut stage one forty eight newton metres", "same again"}, "unclear; collar_nut_torque=48 N.m !no place"},
		{"the pass carries over", []string{"rod one pass two fourteen newton metres", "rod three same again"}, "reading; tie_rod_torque@rod=3,pass=2=14 N.m"},
		{"a correction", []string{"collar nut stage eight forty six newton metres", "correction forty seven"}, "correction; collar_nut_torque@stage=8=47 N.m"},
		{"a correction keeps the unit", []string{"stage eight thirty five foot pounds", "correction thirty six"}, "correction; collar_nut_torque@stage=8=36 [ft_i].[lbf_av]"},
		{"a correction of a set asks which", []string{"pass one all four rods eight newton metres", "correction nine"}, "correction; tie_rod_torque=9 N.m !two places"},
		{"not fifty, forty nine", []string{"collar nut stage nine fifty newton metres", "not fifty, forty nine"}, "correction; collar_nut_torque@stage=9=49 N.m"},
		{"the place is corrected", []string{"collar nut stage nine fifty newton metres", "sorry I meant stage ten"}, "correction; -collar_nut_torque@stage=9; collar_nut_torque@stage=10=50 N.m"},
		{"scratch that", []string{"collar nut stage nine fifty newton metres", "scratch that"}, "correction; -collar_nut_torque@stage=9"},
		{"scratch a named reading", []string{"collar nut stage nine fifty newton metres", "stage ten forty eight newton metres", "scratch that stage nine"}, "correction; -collar_nut_torque@stage=9"},
		{"again", []string{"rod four pass three twenty two newton metres", "again twenty point five"}, "reading; tie_rod_torque@rod=4,pass=3=20.5 N.m"},
		{"the short form after its family", []string{"end play down 82.6 mm", "up 81.25 mm"}, "reading; end_play_up=81.25 mm"},
		{"a reply to: which stage?", []string{"collar nut forty eight newton metres", "stage three"}, "reading; collar_nut_torque@stage=3=48 N.m"},
		{"a reply to: what is it for?", []string{"forty eight newton metres", "collar nut stage three"}, "reading; collar_nut_torque@stage=3=48 N.m"},
		{"a reply to: what is the reading?", []string{"stage ten nut torqued", "forty eight newton metres"}, "reading; collar_nut_torque@stage=10=48 N.m"},
		{"make that answers an ask", []string{"collar nut stage nine about forty eight newton metres", "make that forty eight point two"}, "correction; collar_nut_torque@stage=9=48.2 N.m"},
		{"a doubtful reply is still doubtful", []string{"stage ten nut torqued", "about forty eight newton metres"}, "unclear; collar_nut_torque@stage=10=48 N.m !approximate"},
		{"what was denied is not completed", []string{"haven't torqued stage nine yet", "forty eight newton metres"}, "unclear; =48 N.m !no home"},
		{"scratch that takes nothing back from before a hand-over", []string{"collar nut stage nine fifty newton metres", "handing over to Tom", "scratch that"}, "correction"},
		{"same again means nothing from before a hand-over", []string{"collar nut stage one forty eight newton metres", "handing over to Tom", "stage two same again"}, "unclear; ?no home"},
		{"a bare number answers nothing from before a hand-over", []string{"stage ten nut torqued", "handing over to Tom", "forty eight newton metres"}, "unclear; =48 N.m !no home"},
		{"scratch that drops an ask, not a reading", []string{"collar nut stage one forty eight newton metres", "forty seven", "scratch that"}, "correction"},
	}
	v := shop()
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var ctx parse.Context
			var u parse.Utterance
			for _, note := range tt.notes {
				u = parse.Text(note, v, ctx)
				ctx = ctx.After(u, heard(u))
			}
			if got := brief(u); got != tt.want {
				t.Errorf("%q after %q\n got %s\nwant %s", tt.notes[len(tt.notes)-1], tt.notes[:len(tt.notes)-1], got, tt.want)
			}
		})
	}
}

// heard records what has no doubt, as rules without limits would.
func heard(u parse.Utterance) (h parse.Heard) {
	for _, c := range u.Claims {
		if len(c.Doubts) == 0 {
			h.Recorded = append(h.Recorded, c)
		} else {
			h.Asked = append(h.Asked, c)
		}
	}
	h.Marks = u.Marks
	return h
}

func TestExplainNamesEveryWord(t *testing.T) {
	note := "caller nut stage tree forty eight newton metres please"
	u := parse.Explain(note, shop(), parse.Context{})
	var got []string
	for _, s := range u.Steps {
		got = append(got, s.Words+" = "+s.Is)
	}
	want := []string{
		"caller nut = name collar_nut_torque", "stage tree = place stage 3", "forty eight newton metres = number 48 in N.m", "please = small word",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("Explain(%q) (-want +got):\n%s", note, diff)
	}
}

// TestAKindAloneWhereNothingElseIsCalledFor: a vocabulary of one part with more kinds than
// names reads a kind at a place as any other does.
func TestAKindAloneWhereNothingElseIsCalledFor(t *testing.T) {
	words := parse.NewVocabulary(parse.Words{
		Axes: []parse.Axis{numbered("stage", 4, "stage", "stages")},
		Names: []parse.Name{{
			Callout: "impeller", Kind: parse.Part, Axes: []string{"stage"}, Say: []string{"impeller"},
			Choices: []parse.Choice{{Is: "full", Say: []string{"full", "full size", "uncut"}}, {Is: "cut", Say: []string{"cut", "trimmed"}}},
		}},
	})
	for note, is := range map[string]string{"stage two uncut": "full", "stage two full size": "full", "stage two trimmed": "cut"} {
		marks := parse.Text(note, words, parse.Context{}).Marks
		if len(marks) != 1 || marks[0].Is != is || marks[0].Callout != "impeller" || marks[0].At.On("stage") != "2" {
			t.Errorf("%q marks %+v, want impeller two %s", note, marks, is)
		}
	}
}
