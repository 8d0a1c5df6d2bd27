package judge_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/judge"
)

// fit is a scorer: how well the sound of the last note fits sentences. A sentence with
// alternatives fits as well as its best one.
type fit struct {
	scores map[string]float64
	err    error
	asked  int
}

func (f *fit) Score(_ context.Context, sentences ...string) ([]hear.Fit, error) {
	f.asked++
	var out []hear.Fit
	for _, s := range sentences {
		best, off := hear.Fit{Score: math.Inf(-1)}, 0
		for _, one := range hear.Alternatives(s) {
			one, less := hear.Handicapped(one)
			x, ok := f.scores[one]
			if !ok {
				x = -5000
			}
			if math.IsNaN(x) || x-float64(less) > best.Score-float64(off) {
				best, off = hear.Fit{Score: x, Text: one}, less
			}
		}
		out = append(out, best)
	}
	return out, f.err
}

func heard(clean, plain string, gate float64) hear.Heard {
	words := func(text string) (out []hear.Word) {
		for w := range strings.FieldsSeq(text) {
			out = append(out, hear.Word{Text: w})
		}
		return out
	}
	return hear.Heard{Words: words(clean), Plain: words(plain), Gate: gate}
}

// kinds says what the notes of the tests would do.
func kinds(text string) judge.Kind {
	switch {
	case strings.HasPrefix(text, "what"), text == "yes":
		return judge.Harmless
	case strings.HasPrefix(text, "well"):
		return judge.Nothing
	case strings.HasPrefix(text, "hand"):
		return judge.Always
	case strings.HasPrefix(text, "washer"):
		return judge.Loose
	}
	return judge.Record
}

// What nothing would show to be misheard is asked about however sure it is, in words of its own if there are any.
func TestAlwaysAsked(t *testing.T) {
	const hand = "hand over to ruth"
	sure := heard(hand, hand, -1)
	j := judge.New(judge.Usual(), kinds)
	if d, err := j.Hear(t.Context(), sure, &fit{}); err != nil || d.Verdict != judge.Asked || d.Say != "Did you say hand over to ruth? Yes or no." {
		t.Errorf("%+v, error %v", d, err)
	}
	j.Ask(func(text string) string { return "Shall I " + text + "?" })
	for _, tt := range []struct {
		heard   hear.Heard
		verdict judge.Verdict
		say     string
	}{
		{sure, judge.Asked, "Shall I hand over to ruth?"},
		{heard("say again", "say again", -8), judge.Refused, "Shall I hand over to ruth?"},
		{heard("yes", "no", -8), judge.Refused, "Shall I hand over to ruth?"},
		{heard("yes", "yes", -8), judge.Taken, ""},
		{heard(hand, hand, -50), judge.Refused, "Say again."},
		{heard("seat clean", "seat green", -8), judge.Asked, "Did you say seat clean? Yes or no."},
	} {
		if d, err := j.Hear(t.Context(), tt.heard, &fit{}); err != nil || d.Verdict != tt.verdict || d.Say != tt.say || tt.verdict == judge.Taken && d.Text != hand {
			t.Errorf("%+v, error %v; want %s %q", d, err, tt.verdict, tt.say)
		}
	}
}

// What was found is tried against nothing, so that in noise it is asked about.
func TestFoundInNoise(t *testing.T) {
	inNoise(t, "washer worn", judge.Asked)
}

// The half of a note that mends the other may be somebody else's.
func TestMendedInNoise(t *testing.T) {
	for _, text := range []string{
		"winding temperature twenty nine degrees celsius no ninety one", "shim ninety one sorry point two",
		"shim ninety one make that twenty one", "correction shim two correction twenty one", "shim ninety one no a hundred", "shim ninety one no double four",
	} {
		inNoise(t, text, judge.Asked)
	}
	for _, text := range []string{"correction shim ninety one", "no ninety one", "seat no burr", "after that ninety one", "shim ninety one no", "make that ninety one", "sorry make that ninety one", "no sorry ninety one"} {
		inNoise(t, text, judge.Taken)
	}
}

// inNoise says words in quiet, where they are taken, and in noise.
func inNoise(t *testing.T, text string, noisy judge.Verdict) {
	t.Helper()
	sure := &fit{scores: map[string]float64{text: -1000}}
	for _, tt := range []struct {
		level, noise float64
		verdict      judge.Verdict
	}{{-20, -70, judge.Taken}, {-20, math.Inf(-1), judge.Taken}, {0, 0, judge.Taken}, {-20, -30, noisy}, {-20, -54, noisy}} {
		h := heard(text, text, -8)
		h.Level, h.Noise = tt.level, tt.noise
		j := judge.New(judge.Usual(), kinds)
		d, err := j.Hear(t.Context(), h, sure)
		if err != nil || d.Verdict != tt.verdict {
			t.Errorf("%s: speech at %v dB in noise of %v dB: %+v, error %v; want it %s", text, tt.level, tt.noise, d, err, tt.verdict)
		}
		if d.Verdict != judge.Asked {
			continue
		}
		yes := heard("yes", "yes", -8)
		yes.Level, yes.Noise = tt.level, tt.noise
		if d, err := j.Hear(t.Context(), yes, sure); err != nil || d.Verdict != judge.Taken || d.Text != text {
			t.Errorf("after a yes: %+v, error %v", d, err)
		}
	}
}

func TestHear(t *testing.T) {
	const nut = "collar nut stage three forty eight newton metres"
	for _, tt := range []struct {
		name         string
		clean, plain string
		gate         float64
		scores       map[string]float64
		verdict      judge.Verdict
		say          string
	}{
		{"sure", nut, nut, -8, map[string]float64{nut: -1000}, judge.Taken, ""},
		{"a plural and a small word differ", nut, "collar nuts the stage three forty eight newton metre", -8, map[string]float64{nut: -1000}, judge.Taken, ""},
		{"a word that a bang may pass for", "no", "no", -8, nil, judge.Asked, "Did you say no? Yes or no."},
		{"another plural", "tank head duty three", "tank head duties three", -8, map[string]float64{"tank head duty three": -1000}, judge.Taken, ""},
		{"the decodes differ", nut, "collar nut stage three forty five newton metres", -8, nil, judge.Asked, "Did you say " + nut + "? Yes or no."},
		{"talk that both heard alike", nut, nut, -50, nil, judge.Refused, "Say again."},
		{"talk", nut, "rod two", -50, nil, judge.Silent, ""},
		{"nothing at all", "", "", -50, nil, judge.Silent, ""},
		{"a teen that may be a ten", "rod one thirteen", "rod one thirteen", -8, map[string]float64{"rod one thirteen": -1000, "rod one thirty": -1100}, judge.Asked, "Thirteen, one three, or thirty, three zero?"},
		{"a teen that is none", "rod one thirteen", "rod one thirteen", -8, map[string]float64{"rod one thirteen": -1000, "rod one thirty": -1400}, judge.Taken, ""},
		{"a digit with a bang behind it that may be a ten", "on wrench seventy", "on wrench seventy", -8, map[string]float64{"on wrench seventy": -1000, "on wrench seven": -1275}, judge.Asked, "Seventy, seven zero, or seven, seven?"},
		{"a digit behind the point, where no ten is said", "shim point seven", "shim point seven", -8, map[string]float64{"shim point seven": -1000, "shim point seventy": -1275}, judge.Taken, ""},
		{"a digit as on the radio that may be another", "runout point zero niner", "runout point zero niner", -8, map[string]float64{"runout point zero niner": -1000, "runout point zero five": -1010}, judge.Asked, "Nine, nine, or five, five?"},
		{"a digit that may be another", "runout point zero five", "runout point zero five", -8, map[string]float64{"runout point zero five": -1000, "runout point zero nine": -1010}, judge.Asked, "Five, five, or nine, nine?"},
		{"a digit that has swallowed one", "rod three pass three point five", "rod three pass three point five", -8, map[string]float64{"rod three pass three point five": -1000, "rod three pass three eight point five": -1020}, judge.Asked, "Did you say rod three pass three point five? Yes or no."},
		{"one swallowed behind the point", "shim zero point one", "shim zero point one", -8, map[string]float64{"shim zero point one": -1000, "shim zero point eight one": -900}, judge.Asked, "Did you say shim zero point one? Yes or no."},
		{"a nought swallowed", "end play point five", "end play point five", -8, map[string]float64{"end play point five": -1000, "end play point zero five": -1010}, judge.Asked, "Did you say end play point five? Yes or no."},
		{"a nought too many", "end play point zero five", "end play point zero five", -8, map[string]float64{"end play point zero five": -1000, "end play point five": -1010}, judge.Asked, "Did you say end play point zero five? Yes or no."},
		{"of two that are near the nearer one is asked for", "rod thirty", "rod thirty", -8, map[string]float64{"rod thirty": -1000, "rod thirteen": -1290, "rod forty": -900}, judge.Asked, "Thirty, three zero, or forty, four zero?"},
		{"a digit too many", "rod one one eight", "rod one one eight", -8, map[string]float64{"rod one one eight": -1000, "rod one eight": -990}, judge.Asked, "Did you say rod one one eight? Yes or no."},
		{"a twin near, and another rival nearer yet far enough", "rod one thirty", "rod one thirty", -8, map[string]float64{"rod one thirty": -1000, "rod one thirteen": -1290, "rod one forty": -1200}, judge.Asked, "Thirty, three zero, or thirteen, one three?"},
		{"a question needs no decodes that agree", "what is next", "what is left", -8, nil, judge.Taken, ""},
		{"words that mean nothing", "well well", "well well", -8, nil, judge.Refused, "Say again."},
		{"a score that cannot be had", "rod one thirteen", "rod one thirteen", -8, map[string]float64{"rod one thirteen": math.NaN()}, judge.Asked, "Did you say rod one thirteen? Yes or no."},
		{"a twin whose score cannot be had", "rod one thirteen", "rod one thirteen", -8, map[string]float64{"rod one thirteen": -1000, "rod one thirty": math.NaN()}, judge.Asked, "Did you say rod one thirteen? Yes or no."},
		{"a rival whose score cannot be had", "runout point zero five", "runout point zero five", -8, map[string]float64{"runout point zero five": -1000, "runout point zero nine": math.NaN()}, judge.Asked, "Did you say runout point zero five? Yes or no."},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := judge.New(judge.Usual(), kinds)
			d, err := j.Hear(t.Context(), heard(tt.clean, tt.plain, tt.gate), &fit{scores: tt.scores})
			if err != nil || d.Verdict != tt.verdict || !strings.HasPrefix(d.Say, tt.say) || tt.say == "" && d.Say != "" {
				t.Errorf("%s, says %q, error %v; want %s, %q", d.Verdict, d.Say, err, tt.verdict, tt.say)
			}
			if (d.Verdict == judge.Asked) != j.Waits() {
				t.Errorf("%s, and waits for an answer: %t", d.Verdict, j.Waits())
			}
		})
	}
}

// A note whose end may be missing is asked about if it records, and answers nothing.
func TestANoteWithoutItsEnd(t *testing.T) {
	const nut = "collar nut stage three forty"
	cut := func(text string) hear.Heard {
		h := heard(text, text, -8)
		h.Cut = true
		return h
	}
	j := judge.New(judge.Usual(), kinds)
	const question = "Did you say " + nut + "? Yes or no."
	for _, tt := range []struct {
		heard   hear.Heard
		verdict judge.Verdict
		say     string
		waits   bool
	}{
		{cut("what is left"), judge.Taken, "", false},
		{cut("well well"), judge.Refused, "Say again.", false},
		{cut(nut), judge.Asked, question, true},
		{cut("yes"), judge.Refused, question, true},
		{cut("no"), judge.Refused, question, true},
		{heard("yes", "yes", -8), judge.Taken, "", false},
	} {
		d, err := j.Hear(t.Context(), tt.heard, &fit{scores: map[string]float64{nut: -1000}})
		if err != nil || d.Verdict != tt.verdict || d.Say != tt.say || j.Waits() != tt.waits {
			t.Errorf("%+v: %s, says %q, waits %t, error %v; want %s, %q, %t", tt.heard, d.Verdict, d.Say, j.Waits(), err, tt.verdict, tt.say, tt.waits)
		}
	}
}

// An engine that gives one decode and no gate is believed after a yes.
func TestOneDecode(t *testing.T) {
	j := judge.New(judge.Usual(), kinds)
	one := heard("rod one eight", "", math.NaN())
	one.Plain = nil
	d, err := j.Hear(t.Context(), one, &fit{})
	if err != nil || d.Verdict != judge.Asked {
		t.Fatalf("%s, error %v; want asked", d.Verdict, err)
	}
	reply := heard("yes", "", math.NaN())
	reply.Plain = nil
	if d, err = j.Hear(t.Context(), reply, &fit{}); err != nil || d.Verdict != judge.Taken || d.Text != "rod one eight" || d.Said != "yes" {
		t.Errorf("%+v, error %v; want the note taken", d, err)
	}
}

// A no to a number that may have swallowed another is followed by the question for that.
func TestTheRivalIsAskedAboutAfterANo(t *testing.T) {
	const short, long = "rod three pass three point five", "rod three pass three eight point five"
	j := judge.New(judge.Usual(), kinds)
	f := &fit{scores: map[string]float64{short: -1000, long: -1020}}
	if d, err := j.Hear(t.Context(), heard(short, short, -8), f); err != nil || d.Verdict != judge.Asked || d.Rival != long || d.Margin != 20 {
		t.Fatalf("%+v, %v", d, err)
	}
	d, err := j.Hear(t.Context(), heard("no", "no", -8), f)
	if err != nil || d.Verdict != judge.Asked || d.Text != long {
		t.Fatalf("after a no: %+v, %v", d, err)
	}
	if d, err = j.Hear(t.Context(), heard("yes", "yes", -8), f); err != nil || d.Verdict != judge.Taken || d.Text != long {
		t.Errorf("after a yes: %+v, %v", d, err)
	}
}

// What the sound is held against has each rival once, and nothing where there is no number.
func TestSentences(t *testing.T) {
	p := judge.Usual()
	if got := p.Sentences("seat clean", -20, -60); got != nil {
		t.Errorf("no number: %q", got)
	}
	got := p.Sentences("rod thirty point one", -20, -60)
	if len(got) != 2 || got[0] != "rod thirty point one" {
		t.Fatalf("%q", got)
	}
	seen := map[string]bool{}
	for _, s := range hear.Alternatives(got[1]) {
		s, less := hear.Handicapped(s)
		if seen[s] || s == got[0] {
			t.Errorf("%q is there twice", s)
		}
		if want := map[bool]int{true: 0, false: 150}[s == "rod thirteen point one"]; less != want {
			t.Errorf("%q has a handicap of %d, want %d", s, less, want)
		}
		seen[s] = true
	}
	for _, want := range []string{"rod thirteen point one", "rod forty point one", "rod three point one", "rod thirty point eight", "rod thirty point one eight", "rod thirty point eight one"} {
		if !seen[want] {
			t.Errorf("%q is no rival", want)
		}
	}
}

// A note of very many numbers is asked about.
func TestManyNumbers(t *testing.T) {
	long := "bench one two three four five six seven eight nine one two three four five six seven eight nine"
	f := &fit{scores: map[string]float64{long: -1000}}
	d, err := judge.New(judge.Usual(), kinds).Hear(t.Context(), heard(long, long, -8), f)
	if err != nil || d.Verdict != judge.Asked || f.asked != 0 {
		t.Errorf("%+v, scored %d times, %v", d, f.asked, err)
	}
}

func TestReplies(t *testing.T) {
	const nut = "collar nut stage three forty eight newton metres"
	near := map[string]float64{
		"rod one thirteen": -1000, "rod one thirty": -1100,
		"three zero": -500, "one three": -500, "thirteen": -200, "thirty": -290,
	}
	for _, tt := range []struct {
		name      string
		first     hear.Heard
		reply     hear.Heard
		scores    map[string]float64
		verdict   judge.Verdict
		text, say string
		waits     bool
	}{
		{"yes", heard(nut, "rod two", -8), heard("yes", "yes", -5), nil, judge.Taken, nut, "", false},
		{"affirmative", heard(nut, "rod two", -8), heard("affirmative", "affirmative", -5), nil, judge.Taken, nut, "", false},
		{"no", heard(nut, "rod two", -8), heard("no", "no", -5), nil, judge.Refused, "", "Say again.", false},
		{"another yes", heard(nut, "rod two", -8), heard("yes it is", "yes it is", -5), nil, judge.Taken, nut, "", false},
		{"another no", heard(nut, "rod two", -8), heard("no that's wrong", "no that's wrong", -5), nil, judge.Refused, "", "Say again.", false},
		{"what was asked about is scratched, and not the note before", heard(nut, "rod two", -8), heard("scratch that", "scratch that", -5), nil, judge.Refused, "", "Say again.", false},
		{"the question again", heard(nut, "rod two", -8), heard("say again", "say again", -5), nil, judge.Refused, "", "Did you say " + nut + "? Yes or no.", true},
		{"a yes that one decode did not hear", heard(nut, "rod two", -8), heard("yes", "no", -5), nil, judge.Refused, "", "Did you say " + nut + "? Yes or no.", true},
		{"a yes that does not fit the sound", heard(nut, "rod two", -8), heard("yes", "yes", -50), nil, judge.Refused, "", "Say again.", true},
		{"a cough", heard(nut, "rod two", -8), heard("", "", -50), nil, judge.Silent, "", "", true},
		{"another note instead", heard(nut, "rod two", -8), heard("what is next", "what is next", -5), nil, judge.Taken, "what is next", "", false},
		{"the teen, digit by digit", heard("rod one thirteen", "rod one thirteen", -8), heard("one three", "one three", -5), near, judge.Taken, "rod one thirteen", "", false},
		{"the ten, digit by digit", heard("rod one thirteen", "rod one thirteen", -8), heard("three oh", "three zero", -5), near, judge.Taken, "rod one thirty", "", false},
		{"the number again, as it was misheard", heard("rod one thirteen", "rod one thirteen", -8), heard("thirteen", "thirteen", -5), near, judge.Refused, "", "Thirteen, one three, or thirty, three zero?", true},
		{
			"digits that may be others", heard("rod one thirteen", "rod one thirteen", -8), heard("one three", "one three", -5),
			map[string]float64{"rod one thirteen": -1000, "rod one thirty": -1100, "one three": -500, "nine three": -310},
			judge.Refused, "", "Thirteen, one three, or thirty, three zero?", true,
		},
		{"yes to a choice", heard("rod one thirteen", "rod one thirteen", -8), heard("yes", "yes", -5), near, judge.Refused, "", "Thirteen, one three, or thirty, three zero?", true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := judge.New(judge.Usual(), kinds)
			f := &fit{scores: tt.scores}
			if d, err := j.Hear(t.Context(), tt.first, f); err != nil || d.Verdict != judge.Asked {
				t.Fatalf("the note is %s, error %v", d.Verdict, err)
			}
			d, err := j.Hear(t.Context(), tt.reply, f)
			if err != nil || d.Verdict != tt.verdict || d.Text != tt.text && tt.verdict == judge.Taken || d.Say != tt.say || j.Waits() != tt.waits {
				t.Errorf("%s %q, says %q, waits %t, error %v; want %s %q, %q, %t", d.Verdict, d.Text, d.Say, j.Waits(), err, tt.verdict, tt.text, tt.say, tt.waits)
			}
		})
	}
}

// Where the sound cannot be scored nothing is taken.
func TestALostScorerTakesNothing(t *testing.T) {
	j := judge.New(judge.Usual(), kinds)
	d, err := j.Hear(t.Context(), heard("rod one eight", "rod one eight", -8), &fit{err: hear.ErrLost})
	if !errors.Is(err, hear.ErrLost) || d.Verdict != judge.Refused {
		t.Errorf("%s, error %v; want refused, ErrLost", d.Verdict, err)
	}
}

// In noise a number has to be further from its rivals: what covers its end is made up of what is likely.
func TestNoiseRaisesTheBars(t *testing.T) {
	for _, tt := range []struct {
		name         string
		level, noise float64
		text, rival  string
		margin       float64
		want         judge.Verdict
	}{
		{"sixteen in quiet", -20, -80, "rod one sixty", "rod one sixteen", 401, judge.Taken},
		{"sixteen in noise", -20, -32, "rod one sixty", "rod one sixteen", 401, judge.Asked},
		{"sixteen in noise that is no twin by far", -20, -32, "rod one sixty", "rod one sixteen", 600, judge.Taken},
		{"another number in quiet", -20, -80, "rod one sixty", "rod one fifty", 170, judge.Taken},
		{"another number in noise", -20, -32, "rod one sixty", "rod one fifty", 170, judge.Asked},
		{"no levels", 0, 0, "rod one sixty", "rod one sixteen", 401, judge.Taken},
	} {
		h := heard(tt.text, tt.text, -8)
		h.Level, h.Noise = tt.level, tt.noise
		d, err := judge.New(judge.Usual(), kinds).Hear(t.Context(), h, &fit{scores: map[string]float64{tt.text: -1000, tt.rival: -1000 - tt.margin}})
		if err != nil || d.Verdict != tt.want {
			t.Errorf("%s: %s %q, %v; want %s", tt.name, d.Verdict, d.Say, err, tt.want)
		}
	}
}
