package rules_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// demo loads the demo's spec.
func demo(tb testing.TB) *rules.Spec {
	tb.Helper()
	src, err := testdata.Files.ReadFile("specs/mr5.yaml")
	if err != nil {
		tb.Fatal(err)
	}
	s, err := spec.Load("mr5.yaml", src)
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

// bench is a job with the context of one person.
type bench struct {
	job   *rules.Job
	words *parse.Vocabulary
	said  parse.Context
}

func open(tb testing.TB, s *rules.Spec, options string) *bench {
	tb.Helper()
	set := map[string]string{}
	for o := range strings.FieldsSeq(options) {
		k, v, _ := strings.Cut(o, "=")
		set[k] = v
	}
	j, err := rules.NewJob(s, set)
	if err != nil {
		tb.Fatal(err)
	}
	return &bench{job: j, words: parse.NewVocabulary(j.Words())}
}

func (b *bench) say(note string) rules.Answer {
	u := parse.Text(note, b.words, b.said)
	a := b.job.Fold(u)
	b.said = b.said.After(u, a.Heard)
	return a
}

// findings writes findings as "rule callout@place severity", one each.
func findings(fs []rules.Finding) string {
	var out []string
	for _, f := range fs {
		text := f.Rule + " " + f.Callout
		if f.At != "" {
			text += "@" + string(f.At)
		}
		out = append(out, text+" "+string(f.Severity))
	}
	return strings.Join(out, "; ")
}

// verdicts writes readings as "value unit verdict".
func verdicts(rs []rules.Reading) string {
	var out []string
	for _, r := range rs {
		out = append(out, fmt.Sprintf("%s %s %s", r.Value, r.Unit, r.Verdict))
	}
	return strings.Join(out, "; ")
}

// built is a short job that is in order up to the cover.
var built = strings.Split(strings.TrimSpace(`
build spacer 64 mm
seat clean
full impeller stage one seated
collar nut stage one 48 Nm
full impeller stage two seated
collar nut stage two 48 Nm
full impeller stage three seated
collar nut stage three 48 Nm
valve fitted
cover on`), "\n")

// tightened adds the rods.
var tightened = append(append([]string{}, built...),
	"pass one all four rods 8 Nm", "pass two all four rods 14 Nm", "pass three all four rods 20 Nm")

func TestFindings(t *testing.T) {
	s := demo(t)
	tests := []struct {
		name    string
		options string
		before  []string
		note    string
		reads   string
		raises  string
		open    string // what is open afterwards
	}{
		{"a value on the limit is in", "", nil, "build spacer 64.1 mm", "64.1 mm in", "", ""},
		// 48 N.m ± 4 %: 46.08 to 49.92, exactly.
		{"the upper limit in exact decimals", "", nil, "collar nut stage one 49.92 Nm", "49.92 N.m in", "", ""},
		{"just over the limit", "", nil, "collar nut stage one 49.921 Nm", "49.921 N.m out", "limit collar_nut_torque@stage=1 warn", "limit collar_nut_torque@stage=1 warn"},
		// In binary floating point 15 × 1.08 and 30 × 1.08 come out above the limit (V-calc, references of the trade).
		{"15 N.m plus 8 per cent", "", nil, "coupling bolt one pass one 16.2 Nm", "16.2 N.m in", "step_order coupling_bolt_torque@bolt=1,pass=1 warn", "step_order coupling_bolt_torque@bolt=1,pass=1 warn"},
		{"14 N.m plus 10 per cent", "stages=3", append(append([]string{}, built...), "pass one all four rods 8 Nm"), "rod one pass two 15.4 Nm", "15.4 N.m in", "", ""},
		{"limits hang on options", "base=long", nil, "build spacer 88.5 mm", "88.5 mm in", "", ""},
		{"the other base's spacer is the wrong part", "base=long", nil, "build spacer 64 mm", "64 mm out", "limit build_spacer warn; part_choice build_spacer stop", "limit build_spacer warn; part_choice build_spacer stop"},
		{"a new reading in limits closes the finding", "", []string{"collar nut stage one 51 Nm"}, "collar nut stage one 48 Nm", "48 N.m in", "", ""},
		// Two thou is 0.0508 mm, which shows as 0.05: judged before rounding (NIST SP 811 factor).
		{"two thou runout is out of 0.05 mm", "", nil, "runout two thou", "2 [mil_i] out", "limit shaft_runout warn", "limit shaft_runout warn"},
		{"35 foot pounds are 47.45 N.m", "", nil, "collar nut stage one 35 foot pounds", "35 [ft_i].[lbf_av] in", "", ""},

		{"a bare number that another unit would bring in", "", nil, "collar nut stage one thirty five", "35 1 unclear", "ask collar_nut_torque@stage=1 note", "ask collar_nut_torque@stage=1 note"},
		{"the unit alone completes it", "", []string{"collar nut stage one thirty five"}, "foot pounds", "35 [ft_i].[lbf_av] in", "", ""},
		{"ten times too much", "", nil, "collar nut stage one 480 Nm", "480 N.m unclear", "ask collar_nut_torque@stage=1 note", "ask collar_nut_torque@stage=1 note"},
		{"a tenth", "", nil, "collar nut stage one 4.8 Nm", "4.8 N.m unclear", "ask collar_nut_torque@stage=1 note", "ask collar_nut_torque@stage=1 note"},
		{"outside what is plausible", "", nil, "end play down 8.26 mm", "8.26 mm unclear", "ask end_play_down note", "ask end_play_down note"},
		{"the wrong quantity", "", nil, "collar nut stage one 48 megohms", "48 MOhm unclear", "ask collar_nut_torque@stage=1 note", "ask collar_nut_torque@stage=1 note"},
		{"mil is the callout's millimetre where that is plausible", "", nil, "end play down eighty two mil", "82 mm in", "step_order end_play_down warn", "step_order end_play_down warn"},
		{"mil is thou where only that is plausible", "", nil, "runout twenty five mil", "25 [mil_i] out", "limit shaft_runout warn", "limit shaft_runout warn"},
		{"a value out at the carried pass and in at another is asked", "stages=3", append(append([]string{}, built...), "pass one all four rods 8 Nm"), "rod one 14 Nm", "14 N.m unclear", "ask tie_rod_torque@rod=1,pass=1 note", "ask tie_rod_torque@rod=1,pass=1 note"},
		{"should be, where nothing was read", "", nil, "stage two should be forty eight newton metres", "48 N.m unclear", "ask collar_nut_torque@stage=2 note", "ask collar_nut_torque@stage=2 note"},
		{"should be, where something was", "", []string{"collar nut stage two 47 Nm"}, "stage two should be forty eight newton metres", "48 N.m in", "", ""},
		{"the same said whole closes a homeless ask", "", []string{"forty eight newton metres"}, "collar nut stage one forty eight newton metres", "48 N.m in", "", ""},

		// 32.45 - 30.05 and 82.45 - 80.05 are 2.4 exactly; in binary floating point they are more.
		{"end play on its limit", "stages=3", append(append([]string{}, tightened...), "end play down 82.45 mm"), "end play up 80.05 mm", "80.05 mm in", "", ""},
		{"end play out", "stages=3", append(append([]string{}, tightened...), "end play down 82.6 mm"), "end play up 80.1 mm", "80.1 mm in", "derived end_play warn", "derived end_play warn"},
		{"end play in inches and millimetres", "stages=3", append(append([]string{}, tightened...), "end play down 82.6 mm"), "end play up three and three sixteenths inches", "3.1875 [in_i] in", "", ""},

		{"the seat comes before the first impeller", "", nil, "full impeller stage one", "", "step_order impeller@stage=1 warn", "step_order impeller@stage=1 warn"},
		{"a stage before the next", "", []string{"seat clean", "full impeller stage one seated"}, "full impeller stage two", "", "step_order impeller@stage=2 warn", "step_order impeller@stage=2 warn"},
		{"the missing step and this one again", "", []string{"full impeller stage one", "seat clean"}, "full impeller stage one", "", "", ""},
		{"a cut impeller below the top", "stages=3 cut_impellers=1", []string{"seat clean"}, "cut impeller stage one", "", "stack_order impeller@stage=1 stop", "stack_order impeller@stage=1 stop"},
		{"the cover before a nut", "stages=3", built[:7], "cover on", "", "hold_point cover_on stop", "hold_point cover_on stop"},
		{"the checks done close the hold point", "stages=3", append(append([]string{}, built[:7]...), "cover on", "collar nut stage three 48 Nm"), "valve fitted", "", "", ""},
		{"rods need the cover", "", nil, "rod one pass one 8 Nm", "8 N.m in", "step_order tie_rod_torque@rod=1,pass=1 warn", "step_order tie_rod_torque@rod=1,pass=1 warn"},
		{"on a rebuild rods need their threads lubricated", "stages=3 rebuild=yes", built, "rod one pass one 8 Nm", "8 N.m in", "step_order tie_rod_torque@rod=1,pass=1 warn", "step_order tie_rod_torque@rod=1,pass=1 warn"},
		{"rods out of their order", "stages=3", append(append([]string{}, built...), "rod one pass one 8 Nm"), "rod two pass one 8 Nm", "8 N.m in", "pass_order tie_rod_torque@pass=1 warn", "pass_order tie_rod_torque@pass=1 warn"},
		{"the round done again in order", "stages=3", append(append([]string{}, built...), "rod one pass one 8 Nm", "rod two same again", "rod one again 8 Nm", "rod three same again", "rod two same again"), "rod four same again", "8 N.m in", "", ""},
		{"a pass before the last is whole", "stages=3", append(append([]string{}, built...), "rod one pass one 8 Nm"), "rod one pass two 14 Nm", "14 N.m in", "pass_order tie_rod_torque@pass=2 warn", "pass_order tie_rod_torque@pass=2 warn"},
		{"one rod again in its pass is no fault", "stages=3", append(append([]string{}, built...), "pass one all four rods 8 Nm"), "rod two backed off and retightened to 8.1 Nm", "8.1 N.m in", "", ""},
		{"the rods' spread", "stages=3", tightened, "rod two pass three 22 Nm again", "22 N.m in", "", ""},
		{"the rods' spread too wide", "stages=3", append(append([]string{}, tightened...), "rod two pass three 19 Nm again"), "rod four pass three 21.1 Nm again", "21.1 N.m in", "spread tie_rod_torque@pass=3 warn", "spread tie_rod_torque@pass=3 warn"},
		{"a first word that may be no part of the number is asked", "", nil, "collar nut stage one two forty eight", "248 N.m unclear", "ask collar_nut_torque@stage=1 note", "ask collar_nut_torque@stage=1 note"},
		{"a loosened rod voids all passes and the end play", "stages=3", append(append([]string{}, tightened...), "end play down 82.6 up 81.2 mm"), "rod two loosened", "", "void tie_rod_torque warn; void end_play_down warn; void end_play_up warn", "void tie_rod_torque warn; void end_play_down warn; void end_play_up warn"},
		{"windings that differ by three per cent of the mean", "", nil, "winding resistance u v 1.94 v w 2 w u 2.06 ohms", "1.94 Ohm in; 2 Ohm in; 2.06 Ohm in", "", ""},
		{"windings that differ by more", "", nil, "winding resistance u v 1.93 v w 2 w u 2.06 ohms", "1.93 Ohm in; 2 Ohm in; 2.06 Ohm in", "spread winding_resistance warn", "spread winding_resistance warn"},

		// Halved per 10 K: 100 MOhm at 40 Cel is 200 at 30, 400 at 20, 50 at 50. Common practice; the same form as in IEEE Std 43.
		{"insulation at 30 degrees, on the limit", "", nil, "insulation two hundred megohms at thirty degrees", "200 MOhm in", "", ""},
		{"insulation at 30 degrees, under it", "", nil, "insulation 199.9 megohms at 30 degrees", "199.9 MOhm out", "limit insulation warn", "limit insulation warn"},
		{"insulation at 50 degrees", "", nil, "insulation 50 megohms at 50 degrees", "50 MOhm in", "", ""},
		{"insulation at 35 degrees", "", nil, "insulation 141.5 megohms at 35 degrees", "141.5 MOhm in", "", ""},
		{"insulation at 35 degrees, under 100 times the root of two", "", nil, "insulation 141.4 megohms at 35 degrees", "141.4 MOhm out", "limit insulation warn", "limit insulation warn"},
		{"insulation without a temperature is judged as read", "", nil, "insulation 120 megohms", "120 MOhm in", "limit insulation note", "limit insulation note"},
		{"insulation takes the winding's last temperature", "", []string{"winding temperature thirty degrees"}, "insulation 120 megohms", "120 MOhm out", "limit insulation warn", "limit insulation warn"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := open(t, s, tt.options)
			for _, n := range tt.before {
				b.say(n)
			}
			a := b.say(tt.note)
			if got := verdicts(a.Readings); got != tt.reads {
				t.Errorf("%q reads %q, want %q", tt.note, got, tt.reads)
			}
			if got := findings(a.Findings); got != tt.raises {
				t.Errorf("%q raises %q, want %q\n%v", tt.note, got, tt.raises, a.Findings)
			}
			if tt.open == "" && tt.raises != "" {
				return
			}
			if got := findings(b.job.Open()); got != tt.open {
				t.Errorf("after %q open are %q, want %q", tt.note, got, tt.open)
			}
		})
	}
}

func TestOptions(t *testing.T) {
	s := demo(t)
	tests := []struct{ set, want string }{
		{"stages=19", `option stages cannot be "19"; it may be a whole number from 3 to 18`},
		{"stages=05", `option stages cannot be "05"; it may be a whole number from 3 to 18`},
		{"base=tall", `option base cannot be "tall"; it may be short or long`},
		{"colour=red", `spec mr5 has no option "colour"; it has base, stages, cut_impellers, rebuild`},
	}
	for _, tt := range tests {
		k, v, _ := strings.Cut(tt.set, "=")
		if _, err := rules.NewJob(s, map[string]string{k: v}); err == nil || err.Error() != tt.want {
			t.Errorf("NewJob with %s: %v, want %s", tt.set, err, tt.want)
		}
	}
	_, err := rules.NewJob(&rules.Spec{Options: []rules.Option{{Name: "size", Values: []string{"a", "b"}}}}, nil)
	if want := "option size is not set and has no default; set it to a or b"; err == nil || err.Error() != want {
		t.Errorf("NewJob without a default: %v, want %s", err, want)
	}
}

func TestLeftShrinksToNothing(t *testing.T) {
	b := open(t, demo(t), "stages=3")
	before := len(b.job.Left())
	notes := append(append([]string{}, tightened...), "cable clear", "inlet turns freely", "end play down 82.6 up 81.2 mm", "runout 0.03 mm",
		"coupling bolts all four pass one 15 Nm", "coupling bolts all four pass two 30 Nm", "winding resistance u v 1.9 v w 1.9 w u 1.9 ohms", "insulation 500 megohms at 20 degrees",
		"narrow adapter", "new o-rings", "letters up", "shaft held", "rods straight", "shaft height 42 mm", "shaft turns freely by hand", "lead clear of the mating face",
		"earth continuity 0.05 ohms", "lead insulation 500 megohms at 500 volts for 1 minute", "lead discharged", "seal chamber start 1.5 bar",
		"seal chamber held 10 minutes", "seal chamber finish 1.49 bar", "rotation is right", "duty one tank flow 3 cubic metres an hour tank head 36.6 metres",
		"duty two tank flow 6 cubic metres an hour tank head 30 metres", "duty three tank flow 9 cubic metres an hour tank head 19.5 metres", "parts listed")
	for _, n := range notes {
		if a := b.say(n); len(a.Findings) > 0 {
			t.Errorf("%q raises %v", n, a.Findings)
		}
	}
	if left := b.job.Left(); len(left) > 0 || before != 64 {
		t.Errorf("%d were owed at first, want 64; %v are left, want none", before, left)
	}
	if sum := b.job.Summary(); sum.Notes != len(notes) || sum.Readings != 43 || len(sum.Open) > 0 {
		t.Errorf("summary %+v, want %d notes, 43 readings and nothing open", sum, len(notes))
	}
}

func TestQuestions(t *testing.T) {
	b := open(t, demo(t), "base=long stages=3 cut_impellers=1")
	tests := []struct{ note, want string }{
		{"which spacer do I need", "Build spacer: eighty-eight point five millimetres, give or take zero point one millimetres."},
		{"what's the torque on the coupling bolts second pass", "Coupling bolt, pass two: thirty newton metres, give or take eight per cent."},
		{"what's the collar nut", "Collar nut: forty-eight newton metres, give or take four per cent."},
		{"what is the limit on shaft runout", "Shaft runout: at most zero point zero five millimetres."},
		{"which impeller on stage three", "Impeller: stage three cut."},
		{"what's next", "Next: build spacer."},
		{"what did I say for stage one", "Not yet: impeller, seated and collar nut."},
		{"is the seat clean", "Seat clean: not yet."},
		{"what's open", "No finding is open."},
		{"read that back", "Nothing was read yet."},
	}
	for _, tt := range tests {
		if got := b.say(tt.note).Say; got != tt.want {
			t.Errorf("%q is answered %q, want %q", tt.note, got, tt.want)
		}
	}
}

// TestFoldIsDeterministic folds drawn notes twice, once in one go and once through a
// job that is opened anew and replayed halfway: the answers and the state are equal.
func TestFoldIsDeterministic(t *testing.T) {
	s := demo(t)
	pool := append(append([]string{}, tightened...), "rod two loosened", "scratch that", "same again", "foot pounds", "collar nut stage two thirty five",
		"end play down 82.6 up 80.1 mm", "correction 81", "rod four pass three 22.4", "cut impeller stage one", "forty eight", "valve not fitted",
		"insulation 120 megs", "winding resistance u v 1.8 v w 2 w u 2.2", "stage nine 48", "runout two mil", "thrust washer scored")
	rapid.Check(t, func(rt *rapid.T) {
		notes := rapid.SliceOfN(rapid.SampledFrom(pool), 1, 30).Draw(rt, "notes")
		cut := rapid.IntRange(0, len(notes)).Draw(rt, "cut")
		live := open(t, s, "stages=3")
		var heard []parse.Utterance
		var answers []rules.Answer
		for _, n := range notes {
			u := parse.Text(n, live.words, live.said)
			a := live.job.Fold(u)
			live.said = live.said.After(u, a.Heard)
			heard, answers = append(heard, u), append(answers, a)
		}
		again, err := rules.NewJob(s, map[string]string{"stages": "3"})
		if err != nil {
			rt.Fatal(err)
		}
		for i, u := range heard[:cut] {
			if a := again.Fold(u); !reflect.DeepEqual(a, answers[i]) {
				rt.Fatalf("note %d %q is answered\n%+v\nand replayed\n%+v", i, u.Text, answers[i], a)
			}
		}
		for i, u := range heard[cut:] {
			if a := again.Fold(u); !reflect.DeepEqual(a, answers[cut+i]) {
				rt.Fatalf("note %d %q differs after the cut", cut+i, u.Text)
			}
		}
		if !reflect.DeepEqual(live.job.Summary(), again.Summary()) {
			rt.Fatalf("the state differs:\n%+v\n%+v", live.job.Summary(), again.Summary())
		}
	})
}

// TestSpreadDoesNotAskForAnOrder reads the windings in drawn orders.
func TestSpreadDoesNotAskForAnOrder(t *testing.T) {
	s := demo(t)
	rapid.Check(t, func(rt *rapid.T) {
		order := rapid.Permutation([]string{"u v 1.80", "v w 2.00", "w u 2.20"}).Draw(rt, "order")
		b := open(t, s, "")
		for _, p := range order {
			b.say("winding resistance " + p + " ohms")
		}
		if got := findings(b.job.Open()); got != "spread winding_resistance warn" {
			rt.Fatalf("in the order %v open are %q", order, got)
		}
	})
}

// What a mark was asked for is closed by the reply, or by the mark said whole.
func TestAsksAboutMarksAreClosed(t *testing.T) {
	for _, tt := range []struct {
		notes []string
		asked string // what is open before the last note
		marks string
		open  string
	}{
		{[]string{"impeller stage one", "full"}, "ask impeller@stage=1 note", "impeller@stage=1 full", ""},
		{[]string{"impeller stage one", "full impeller stage one"}, "ask impeller@stage=1 note", "impeller@stage=1 full", ""},
		{[]string{"impeller stage one", "stage two seated"}, "ask impeller@stage=1 note", "stage_seated@stage=2 done", "ask impeller@stage=1 note"},
		{[]string{"seated", "stage one"}, "ask stage_seated note", "stage_seated@stage=1 done", ""},
		{[]string{"valve fitted I think", "valve fitted"}, "ask valve_fitted note", "valve_fitted done", ""},
		{[]string{"valve fitted I think", "valve not fitted"}, "ask valve_fitted note", "valve_fitted undone", ""},
		{[]string{"seated", "what's next", "stage one"}, "ask stage_seated note", "stage_seated@stage=1 done", ""},
		{[]string{"seated", "tea is ready", "stage one"}, "ask stage_seated note", "", "ask stage_seated note"},
		{[]string{"seated", "stage one and two"}, "ask stage_seated note", "stage_seated@stage=1 done; stage_seated@stage=2 done", ""},
		{[]string{"impeller stage one", "scratch that", "full"}, "", "", ""},
		{[]string{"impeller stage one", "never mind", "full"}, "", "", ""},
		{[]string{"seated", "not stage one"}, "ask stage_seated note", "", "ask stage_seated note; ask collar_nut_torque@stage=1 note"},
		{[]string{"impeller stage one", "stage two"}, "ask impeller@stage=1 note", "", "ask impeller@stage=1 note"},
		{[]string{"impeller stage one", "full or cut"}, "ask impeller@stage=1 note", "", "ask impeller@stage=1 note"},
	} {
		b := open(t, demo(t), "")
		b.say("seat clean")
		for _, n := range tt.notes[:len(tt.notes)-1] {
			b.say(n)
		}
		if got := findings(b.job.Open()); got != tt.asked {
			t.Errorf("%q leaves open %q, want %q", tt.notes[0], got, tt.asked)
		}
		var marks []string
		for _, m := range b.say(tt.notes[len(tt.notes)-1]).Marks {
			where := m.Callout
			if m.At != "" {
				where += "@" + string(m.At)
			}
			marks = append(marks, where+" "+m.Is)
		}
		if got := strings.Join(marks, "; "); got != tt.marks {
			t.Errorf("%q marks %q, want %q", tt.notes, got, tt.marks)
		}
		if got := findings(b.job.Open()); got != tt.open {
			t.Errorf("%q leaves open %q, want %q", tt.notes, got, tt.open)
		}
	}
}

// An insulation reading that was judged without a temperature is judged by the one that is read
// next; by a correction of it too, and not by what is read later. IEEE Std 43-2013, 6.3: at 20 degrees
// 205 megohms are 51 at 40, at 35 they are 145.
func TestTheTemperatureIsLent(t *testing.T) {
	b := open(t, demo(t), "")
	for _, tt := range []struct{ note, open string }{
		{"insulation 205 megohms", "limit insulation note"},
		{"winding temperature 20 degrees", "limit insulation warn"},
		{"correction 35", ""},
		{"winding temperature 15 degrees", ""},
		{"insulation 205 megohms", "limit insulation warn"},
		{"at 35 degrees", ""},
		{"winding temperature 10 degrees", ""},
	} {
		b.say(tt.note)
		if got := findings(b.job.Open()); got != tt.open {
			t.Errorf("after %q open is %q, want %q", tt.note, got, tt.open)
		}
	}
}

// Each caution is given once, before its step; where a step is begun before its turn, before the rest
// of it.
func TestCautionsAreGivenOnce(t *testing.T) {
	b := open(t, demo(t), "rebuild=yes")
	if got := b.job.OpeningCaution(); got != "" {
		t.Errorf("the first step of the MR-5 has no caution, and this was given: %s", got)
	}
	for _, tt := range []struct{ note, caution string }{
		{"unit tag p one", ""},
		{"serial number one, complaint leaks, liquid pumped water", "prove it dead"},
		{"locked out and tagged", "Let it off slowly"},
		{"locked out and tagged", ""},
		{"coupling bolt one pass one 15 newton metres", "nothing may turn while the guard is off"},
		{"coupling bolt two pass one 15 newton metres", ""},
		{"insulation 500 megohms at 20 degrees", "discharge the winding afterwards"}, // for what follows
	} {
		a := b.say(tt.note)
		if !strings.Contains(a.Caution, tt.caution) || tt.caution == "" && a.Caution != "" {
			t.Errorf("%q gives %q, want %q", tt.note, a.Caution, tt.caution)
		}
	}
	src, err := testdata.Files.ReadFile("specs/bevel-head.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := spec.Load("bevel-head.yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	b = open(t, s, "rebuild=yes")
	if got := b.job.OpeningCaution(); !strings.Contains(got, "prove that it cannot turn") {
		t.Errorf("before the gear head's first step: %q", got)
	}
	if a := b.say("tea is ready"); a.Caution != "" {
		t.Errorf("the caution of the opening is given again: %q", a.Caution)
	}
}
