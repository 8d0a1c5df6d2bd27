package rules_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// guarded says a note as it is said on a live job.
func (b *bench) guarded(note string) rules.Answer {
	u := parse.Text(note, b.words, b.said)
	u.Guarded = true
	a := b.job.Fold(u)
	b.said = b.said.After(u, a.Heard)
	return a
}

// decide gives a disposition of the first finding of a rule and callout; one that is not there is made up.
func (b *bench) decide(seq int64, rule, callout string, is rules.Disposition) {
	id := rules.FindingID{Rule: rule, Callout: callout, Text: "Nothing of the kind"}
	for _, d := range b.job.Decidables() {
		if d.Rule == rule && d.Callout == callout {
			id = d.ID()
			break
		}
	}
	b.job.Decide(rules.Decision{Seq: seq, Finding: id, Is: is})
}

// standing writes each decision and what became of it.
func (b *bench) standing() string {
	var out []string
	for _, d := range b.job.Decisions() {
		text := fmt.Sprintf("%d %s %s", d.Seq, d.Is, d.State)
		if d.By > 0 {
			text += fmt.Sprintf(" by %d", d.By)
		}
		out = append(out, text)
	}
	return strings.Join(out, "; ")
}

// Each step is a note, or "RULE CALLOUT: DISPOSITION". What is open is written without what is left.
func TestWhatADispositionDoes(t *testing.T) {
	const out = "shaft runout 0.08 mm"
	for name, x := range map[string]struct {
		steps    []string
		open     string // findings
		standing string
	}{
		"none":                                          {[]string{out}, "limit shaft_runout warn", ""},
		"used as it is, it is closed":                   {[]string{out, "limit shaft_runout: use as is"}, "", "2 use as is stands"},
		"rework stays open":                             {[]string{out, "limit shaft_runout: rework"}, "limit shaft_runout warn", "2 rework stands"},
		"scrap stays open":                              {[]string{out, "limit shaft_runout: scrap"}, "limit shaft_runout warn", "2 scrap stands"},
		"rework, and in":                                {[]string{out, "limit shaft_runout: rework", "shaft runout 0.03 mm"}, "", "2 rework done"},
		"scrap, and the new one in":                     {[]string{out, "limit shaft_runout: scrap", "shaft runout 0.03 mm"}, "", "2 scrap done"},
		"rework, and out with another value":            {[]string{out, "limit shaft_runout: rework", "shaft runout 0.07 mm"}, "limit shaft_runout warn", "2 rework lapsed"},
		"rework, and as it was":                         {[]string{out, "limit shaft_runout: rework", out}, "limit shaft_runout warn", "2 rework lapsed"},
		"used as it is, and another value out":          {[]string{out, "limit shaft_runout: use as is", "shaft runout 0.07 mm"}, "limit shaft_runout warn", "2 use as is lapsed"},
		"used as it is, and the same value again":       {[]string{out, "limit shaft_runout: use as is", out}, "", "2 use as is stands"},
		"used as it is, and in after all":               {[]string{out, "limit shaft_runout: use as is", "shaft runout 0.03 mm"}, "", "2 use as is lapsed"},
		"used as it is, and the value taken back":       {[]string{out, "limit shaft_runout: use as is", "scratch that"}, "", "2 use as is lapsed"},
		"rework, and the value taken back":              {[]string{out, "limit shaft_runout: rework", "scratch that"}, "", "2 rework lapsed"},
		"taken back and said again, it is decided anew": {[]string{out, "limit shaft_runout: use as is", "scratch that", out}, "limit shaft_runout warn", "2 use as is lapsed"},
		"a later one replaces":                          {[]string{out, "limit shaft_runout: use as is", "limit shaft_runout: rework"}, "limit shaft_runout warn", "2 use as is replaced by 3; 3 rework stands"},
		"and may be replaced":                           {[]string{out, "limit shaft_runout: scrap", "limit shaft_runout: use as is"}, "", "2 scrap replaced by 3; 3 use as is stands"},
		"of what is in there is none":                   {[]string{"shaft runout 0.03 mm", "limit shaft_runout: use as is"}, "", "2 use as is lapsed"},
		"of another reading it says nothing": {
			[]string{out, "shaft height 43 mm", "limit shaft_height: use as is"}, "limit shaft_runout warn", "3 use as is stands",
		},
		"a computed value, and one of its readings anew": {
			[]string{"end play down 85 up 82 mm", "derived end_play: use as is", "end play up 82.1 mm"}, "derived end_play warn", "2 use as is lapsed",
		},
		"a computed value of other readings is another": {
			[]string{"end play down 85 up 82 mm", "derived end_play: use as is", "end play down 86 up 83 mm"}, "derived end_play warn", "2 use as is lapsed",
		},
		"a wrong part is not used": {
			[]string{"impeller stage one cut", "stack_order impeller: use as is"}, "stack_order impeller@stage=1 stop", "2 use as is lapsed",
		},
		"a wrong part is replaced": {
			[]string{"impeller stage one cut", "stack_order impeller: scrap", "impeller stage one full"}, "", "2 scrap done",
		},
		"what is asked takes none": {[]string{"collar nut stage one about forty eight newton metres", "ask collar_nut_torque: use as is"}, "ask collar_nut_torque@stage=1 note", "2 use as is lapsed"},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, demo(t), "")
			b.say("seat clean")
			for i, step := range x.steps {
				what, is, ok := strings.Cut(step, ": ")
				if !ok {
					b.say(step)
					continue
				}
				rule, callout, _ := strings.Cut(what, " ")
				b.decide(int64(i+1), rule, callout, rules.Disposition(is))
			}
			var still []rules.Finding
			for _, f := range b.job.Open() {
				if f.Rule != rules.RuleStepOrder {
					still = append(still, f)
				}
			}
			if got := findings(still); got != x.open {
				t.Errorf("open is %q, want %q", got, x.open)
			}
			if got := b.standing(); got != x.standing {
				t.Errorf("decisions are %q, want %q", got, x.standing)
			}
		})
	}
}

// What is counted in the same words is not the same where other places are missing: what was accepted of
// the one says nothing of the other, and the note that makes it so is told of it.
func TestAcceptedIsWhatIsMissing(t *testing.T) {
	nut := func(stage string) string { return "collar nut stage " + stage + " 48 newton metres" }
	s := demoWith(t, "{rule: step_order, step: inlet_free, needs: [stage_seated]}")
	for name, x := range map[string]struct {
		before  []string
		finding string // "RULE CALLOUT"
		notes   []string
		stands  string // after each note
		told    string // findings of the last note's answer
	}{
		"a hold point, the nut taken back and another said": {
			[]string{"cover on", nut("one")},
			"hold_point cover_on",
			[]string{"scratch that, " + nut("two")},
			"lapsed", "hold_point cover_on stop",
		},
		"a step done again before others": {
			[]string{"stage one seated", "inlet free"},
			"step_order inlet_free",
			[]string{"stage one not seated, stage two seated", "inlet free"},
			"stands lapsed", "step_order inlet_free warn",
		},
		"a step done again before the same": {
			[]string{"stage one seated", "inlet free"}, "step_order inlet_free", []string{"inlet free"}, "stands", "step_order inlet_free warn",
		},
		"left at the hand-over": {
			[]string{nut("one"), "handed over", nut("two")},
			"missing collar_nut_torque",
			[]string{"scratch that, " + nut("three")},
			"lapsed", "missing collar_nut_torque warn",
		},
		"a hold point, nothing else changed": {
			[]string{nut("one"), "cover on"}, "hold_point cover_on", []string{"shaft runout 0.01 mm", "what's open", "what's left"}, "stands stands stands", "",
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, s, "")
			for _, n := range x.before {
				b.say(n)
			}
			rule, callout, _ := strings.Cut(x.finding, " ")
			b.decide(1, rule, callout, rules.UseAsIs)
			if got := b.standing(); got != "1 use as is stands" {
				t.Fatalf("given, it is %q; open is %s", got, findings(b.job.Open()))
			}
			var stands []string
			told := ""
			for _, n := range x.notes {
				told = findings(b.say(n).Findings)
				stands = append(stands, string(b.job.Decisions()[0].State))
			}
			if got := strings.Join(stands, " "); got != x.stands {
				t.Errorf("it is %s, want %s", got, x.stands)
			}
			if told != x.told {
				t.Errorf("the last note is told %q, want %q", told, x.told)
			}
			if b.job.Decisions()[0].State == rules.Lapsed && !strings.Contains(findings(b.job.Open()), x.finding) {
				t.Errorf("what is accepted no more is not open: %s", findings(b.job.Open()))
			}
		})
	}
}

// A reading past its wear limit is mended by what renews it: scrapped, it is settled by the new part
// marked.
func TestAWornPartIsScrapped(t *testing.T) {
	b := open(t, demo(t), "rebuild=yes")
	b.say("ring one wear ring clearance 0.6 mm")
	b.decide(2, "limit", "ring_clearance", rules.Scrap)
	if d := b.job.Decidables(); len(d) != 1 || !d[0].Holds || d[0].Due() != "to be replaced, and the new one marked or measured" {
		t.Fatalf("scrapped it stands so: %+v", d)
	}
	b.say("ring one renewed")
	if got := b.standing(); got != "2 scrap done" || len(b.job.Decidables()) != 0 {
		t.Errorf("the new ring marked: %q, %+v", got, b.job.Decidables())
	}
}

// A disposition that names no finding is of the worst, one of which nothing was decided before others.
func TestToDecide(t *testing.T) {
	b := open(t, demo(t), "")
	means := func(is rules.Disposition, callout, aloud string) {
		t.Helper()
		d, said, ok := b.job.ToDecide(is)
		if ok != (callout != "") || d.Callout != callout || !strings.HasPrefix(said, aloud) {
			t.Errorf("%s is of %q, %q; want %q, %q", is, d.Callout, said, callout, aloud)
		}
	}
	means(rules.UseAsIs, "", "")
	b.say("shaft runout 0.08 mm")
	b.say("impeller stage one cut")
	means(rules.Scrap, "impeller", "Impeller, stage one: a full one belongs here")
	means(rules.UseAsIs, "shaft_runout", "Shaft runout, zero point zero eight millimetres, out. At most") // a wrong part is not used
	b.decide(3, "stack_order", "impeller", rules.Rework)
	means(rules.Scrap, "shaft_runout", "Shaft runout")
	b.decide(4, "limit", "shaft_runout", rules.Rework)
	means(rules.Scrap, "impeller", "Impeller")
	b.decide(5, "limit", "shaft_runout", rules.UseAsIs)
	means(rules.UseAsIs, "", "")
	if !b.job.HeldUp() {
		t.Error("the impeller is still to be reworked")
	}
}

// The hand-over of a guarded note is refused while something is out and not settled, and says what is
// and what to do; the same note unguarded is what it always was.
func TestHandOverIsRefused(t *testing.T) {
	b := open(t, demo(t), "")
	b.say("shaft runout 0.08 mm")
	b.say("impeller stage one cut")
	b.decide(9, "stack_order", "impeller", rules.Rework)
	a := b.guarded("handed over")
	want := "Stop: not handed over. Two findings are open: Impeller, stage one: a full one belongs here, not a cut one (to be reworked and taken again); Shaft runout: 0.08 mm, out: at most 0.05 mm (no disposition yet). Measure again, or decide on the sheet or by voice: rework the part, use the part as is, or scrap the part, with a reason and a name"
	if len(a.Findings) != 1 || a.Findings[0].Rule != rules.RuleHandOver || a.Findings[0].Severity != rules.Stop || a.Findings[0].Callout != "handed_over" || a.Findings[0].Text != want {
		t.Errorf("the answer is %+v", a.Findings)
	}
	said := "Stop: not handed over. Two findings are open: Impeller, stage one: a full one belongs here, not a cut one. To be reworked and taken again. Shaft runout, zero point zero eight millimetres, out. At most zero point zero five millimetres. No disposition yet. Measure again, or decide on the sheet or by voice: rework the part, use the part as is, or scrap the part, with a reason and a name."
	if a.Say != said {
		t.Errorf("it says %q, want %q", a.Say, said)
	}
	if b.job.HandedOver() || a.Heard.Over || len(a.Marks) > 0 || strings.Contains(findings(b.job.Open()), "hand_over") {
		t.Errorf("it was handed over: %+v, open %s", a, findings(b.job.Open()))
	}
	if a := b.guarded("impeller stage one full, shaft runout 0.04 mm, handed over"); !b.job.HandedOver() || !a.Heard.Over || !strings.Contains(a.Say, "left to do") {
		t.Errorf("with all that was out taken again in the same note: %s, %q", findings(a.Findings), a.Say)
	}
	if a := b.guarded("shaft runout 0.09 mm, handed over"); len(a.Findings) == 0 || a.Findings[len(a.Findings)-1].Rule != rules.RuleHandOver {
		t.Errorf("with what the note itself found: %s", findings(a.Findings))
	}
	// Of a job that was handed over the refusal says that it was, and what was found since.
	a = b.guarded("handed over")
	want = "Stop: not handed over again. It was handed over before, and that stands. One finding was made since: Shaft runout: 0.09 mm, out: at most 0.05 mm (no disposition yet). Measure again, or decide on the sheet or by voice: rework the part, use the part as is, or scrap the part, with a reason and a name"
	if len(a.Findings) != 1 || a.Findings[0].Text != want || !strings.HasPrefix(a.Say, "Stop: not handed over again. It was handed over before, and that stands. One finding was made since: Shaft runout,") || !b.job.HandedOver() {
		t.Errorf("handed over before, it says %q and %+v", a.Say, a.Findings)
	}
	b.decide(12, "limit", "shaft_runout", rules.UseAsIs)
	if a := b.guarded("handed over"); findings(a.Findings) == "" || slices.ContainsFunc(a.Findings, func(f rules.Finding) bool { return f.Rule != rules.RuleMissing }) {
		t.Errorf("once it is used as it is: %s", findings(a.Findings))
	}
	plain := open(t, demo(t), "")
	plain.say("shaft runout 0.08 mm")
	if a := plain.say("handed over"); !plain.job.HandedOver() || strings.Contains(findings(a.Findings), "hand_over") {
		t.Errorf("an unguarded hand-over: %s", findings(a.Findings))
	}
	// What was open when it was handed over was not found since.
	if a := plain.guarded("handed over"); len(a.Findings) != 1 || !strings.Contains(a.Say, "It was handed over before, and that stands. One finding is open now: Shaft runout,") {
		t.Errorf("handed over unguarded, it says %q", a.Say)
	}
}

// early is the demo's spec with a hold point at the hand-over itself, and with what a hand-over voids.
func early(t *testing.T) *rules.Spec {
	t.Helper()
	return demoWith(t, "{rule: hold_point, past: handed_over, needs: [valve_fitted]}",
		"{rule: void, when: handed_over, voids: [collar_nut_torque]}", "{rule: step_order, step: handed_over, needs: [seat_clean]}")
}

// demoWith is the demo's spec with more rules, before its own.
func demoWith(t *testing.T, more ...string) *rules.Spec {
	t.Helper()
	src, err := testdata.Files.ReadFile("specs/mr5.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(src), "\nrules:\n", "\nrules:\n  - "+strings.Join(more, "\n  - ")+"\n", 1)
	s, err := spec.Load("mr5.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// whole writes all that a page shows of a job.
func whole(t *testing.T, b *bench) string {
	t.Helper()
	text, err := json.MarshalIndent([]any{b.job.Summary(), b.job.State(), b.job.Decidables()}, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// A hand-over that is itself a stop is refused, and the job is as if it had not been said.
func TestAHandOverThatIsAStopIsRefused(t *testing.T) {
	s := early(t)
	b, without := open(t, s, ""), open(t, s, "")
	before := []string{"collar nut stage one 48 newton metres", "shaft runout 0.08 mm"}
	for _, n := range before {
		b.say(n)
		without.say(n)
	}
	b.decide(3, "limit", "shaft_runout", rules.UseAsIs)
	without.decide(3, "limit", "shaft_runout", rules.UseAsIs)
	a := b.guarded("handed over")
	want := "Stop: not handed over. It would be: Handed over with checks open: valve fitted. Do that first, then hand over again"
	if len(a.Findings) != 1 || a.Findings[0].Rule != rules.RuleHandOver || a.Findings[0].Text != want {
		t.Errorf("the answer is %+v, want %q", a.Findings, want)
	}
	if a.Say != want+"." {
		t.Errorf("it says %q", a.Say)
	}
	if b.job.HandedOver() || a.Heard.Over || len(a.Marks)+len(a.Heard.Marks) > 0 {
		t.Errorf("it was handed over: %+v", a)
	}
	without.guarded("what's open") // so that both have as many notes
	same := func(what string) {
		t.Helper()
		if diff := cmp.Diff(whole(t, without), whole(t, b)); diff != "" {
			t.Errorf("%s (-never said +refused):\n%s", what, diff)
		}
		if diff := cmp.Diff(without.standing(), b.standing()); diff != "" {
			t.Errorf("%s, what was decided (-never said +refused):\n%s", what, diff)
		}
	}
	same("refused")
	for _, n := range []string{"collar nut stage two 48 newton metres", "valve fitted", "impeller stage one full", "seat clean"} {
		b.say(n)
		without.say(n)
		same(n)
	}
	if a := b.guarded("handed over"); !b.job.HandedOver() || !a.Heard.Over {
		t.Errorf("with the valve fitted it is answered %q", a.Say)
	}
	if a := b.guarded("valve not fitted, handed over"); a.Heard.Over {
		t.Errorf("with the valve taken out by the same note it is answered %q", a.Say)
	}
}

// bought is what happens on a job whose readings are out now and then.
var bought = []string{
	"shaft runout 0.08 mm", "shaft runout 0.03 mm", "shaft runout 0.09 mm", "shaft height 43 mm", "shaft height 42 mm",
	"impeller stage one cut", "impeller stage one full", "end play down 85 up 82 mm", "end play up 83.5 mm", "end play down 84 mm",
	"collar nut stage one 60 newton metres", "collar nut stage one 48 newton metres", "scratch that", "correction 0.04 mm", "cover on",
	"all four rods pass three 20 newton metres", "rod two pass three 17.5 newton metres", "rod two loosened", "build spacer 88.5 mm", "build spacer 64 mm",
	"handed over", "not handed over", "what's open",
}

// TestDispositionsHold draws work and decisions, and looks at what always holds.
func TestDispositionsHold(t *testing.T) {
	s := demo(t)
	words := parse.NewVocabulary(open(t, s, "").job.Words())
	begin := func(t *rapid.T) *bench {
		j, err := rules.NewJob(s, nil)
		if err != nil {
			t.Fatal(err)
		}
		return &bench{job: j, words: words}
	}
	rapid.Check(t, func(t *rapid.T) {
		b, again := begin(t), begin(t)
		ended := map[int64]bool{}
		for seq := range int64(rapid.IntRange(1, 40).Draw(t, "steps")) {
			if all := b.job.Decidables(); len(all) > 0 && rapid.Bool().Draw(t, "decides") {
				id := rapid.SampledFrom(all).Draw(t, "finding").ID()
				is := rapid.SampledFrom([]rules.Disposition{rules.Rework, rules.UseAsIs, rules.Scrap}).Draw(t, "is")
				b.job.Decide(rules.Decision{Seq: seq, Finding: id, Is: is})
				again.job.Decide(rules.Decision{Seq: seq, Finding: id, Is: is})
			} else {
				note := rapid.SampledFrom(bought).Draw(t, "note")
				before := b.job.HandedOver()
				a := b.guarded(note)
				if diff := cmp.Diff(a.Say, again.guarded(note).Say); diff != "" {
					t.Fatalf("%q is answered in two ways:\n%s", note, diff)
				}
				if a.Heard.Over && slices.ContainsFunc(b.job.Decidables(), func(d rules.Decidable) bool { return d.Holds }) {
					t.Fatalf("it was handed over with %+v", b.job.Decidables())
				}
				if note == "handed over" && !a.Heard.Over && b.job.HandedOver() != before {
					t.Fatal("a refused hand-over changed whether the job is handed over")
				}
			}
			look(t, b, ended)
			if diff := cmp.Diff(b.standing(), again.standing()); diff != "" {
				t.Fatalf("the same again stands otherwise:\n%s", diff)
			}
		}
	})
}

// look checks what holds at any time of a job.
func look(t *rapid.T, b *bench, ended map[int64]bool) {
	openNow := map[rules.FindingID]bool{}
	for _, f := range b.job.Open() {
		openNow[f.ID()] = true
	}
	for _, d := range b.job.Decidables() {
		if openNow[d.ID()] == d.Accepted() {
			t.Fatalf("%q is open %t and accepted %t", d.Text, openNow[d.ID()], d.Accepted())
		}
		if d.Holds && d.Accepted() || d.Decided != nil && !slices.Contains(d.Takes, d.Decided.Is) || d.Note < 1 && d.Holds {
			t.Fatalf("it cannot stand so: %+v", d)
		}
	}
	stand := map[rules.FindingID]bool{}
	for _, d := range b.job.Decisions() {
		if d.State == rules.Stands && (stand[d.Finding] || ended[d.Seq]) {
			t.Fatalf("decision %d stands beside another, or again", d.Seq)
		}
		if d.State == rules.Stands {
			stand[d.Finding] = true
		} else {
			ended[d.Seq] = true
		}
		if (d.State == rules.Replaced) != (d.By > d.Seq) {
			t.Fatalf("decision %d is %s by %d", d.Seq, d.State, d.By)
		}
	}
}
