package rules_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"readback/parse"
	"readback/rules"
)

// sent takes what a gauge sends; a note that begins with "gauge:" is one in [bench.do].
func (b *bench) sent(text string) rules.Answer {
	u := parse.Sent(text, b.words, b.said)
	a := b.job.Fold(u)
	b.said = b.said.After(u, a.Heard)
	return a
}

func (b *bench) do(note string) rules.Answer {
	if text, ok := strings.CutPrefix(note, "gauge: "); ok {
		return b.sent(text)
	}
	return b.say(note)
}

// next is where the gauge is, in words.
func (b *bench) next() string { return b.job.Aimed(b.said.Aim).Where }

func TestGauge(t *testing.T) {
	tests := []struct {
		name  string
		notes []string
		reads string // of the last note
		next  string // where the gauge is then
		say   string // something of what was answered last
	}{
		{"nothing chosen", []string{"gauge: 48.0"}, "", "", "of what?"},
		{"one place", []string{"gauge on collar nut stage three", "gauge: 48.0"}, "48.0 N.m in", "", "That was the last"},
		{"down a list", []string{"gauge on collar nuts from stage one", "gauge: 48.0", "gauge: 47.9"}, "47.9 N.m in", "collar nut three", "Gauge next: collar nut three."},
		{"from where nothing is read yet", []string{"collar nut stage one 48 Nm", "gauge on collar nuts"}, "", "collar nut two", "then three more"},
		{"in diagonal order", []string{"gauge on rods pass one", "gauge: 8.0"}, "8.0 N.m in", "tie rod three, pass one", ""},
		{"round by round", []string{"gauge on rods from rod four pass one", "gauge: 8.0"}, "8.0 N.m in", "tie rod one, pass two", ""},
		{"what is computed is measured as its parts", []string{"gauge on end play", "gauge: 82.60"}, "82.60 mm in", "end play up", ""},
		{"its unit wins", []string{"gauge on collar nut stage one", "gauge: 35.4 lbf.ft"}, "35.4 [ft_i].[lbf_av] in", "", ""},
		{"its unit is checked", []string{"gauge on collar nut stage one", "gauge: 48 mm"}, "48 mm unclear", "collar nut one", "Gauge stays"},
		{"another unit would be in", []string{"gauge on collar nut stage one", "gauge: 35"}, "35 1 unclear", "collar nut one", "foot"},
		{"ten times off", []string{"gauge on collar nut stage one", "gauge: 4.8"}, "4.8 N.m unclear", "collar nut one", "Gauge stays"},
		{"out is recorded, and stays to be done again", []string{"gauge on collar nuts", "gauge: 51"}, "51 N.m out", "collar nut one", "Gauge stays on collar nut one"},
		{"done again", []string{"gauge on collar nuts", "gauge: 51", "gauge: 48"}, "48 N.m in", "collar nut two", ""},
		{"left as it is", []string{"gauge on collar nuts", "gauge: 51", "gauge next"}, "", "collar nut two", ""},
		{"scratch that steps back", []string{"gauge on collar nuts", "gauge: 48", "gauge: 47", "scratch that"}, "", "collar nut two", "Taken back: collar nut two"},
		{"scratch that, and read anew", []string{"gauge on collar nuts", "gauge: 48", "scratch that, 47 Nm"}, "47 N.m in", "collar nut two", ""},
		{"scratch that, and out", []string{"gauge on collar nuts", "gauge: 48", "scratch that, 51 Nm"}, "51 N.m out", "collar nut one", "Gauge stays on collar nut one"},
		{"out, scratch that, and in", []string{"gauge on collar nuts", "gauge: 51", "scratch that, 48 Nm"}, "48 N.m in", "collar nut two", "Gauge next: collar nut two."},
		{"scratch that, and the last read anew", []string{"gauge on collar nut stage one", "gauge: 48", "scratch that, 47 Nm"}, "47 N.m in", "", ""},
		{"said by voice meanwhile", []string{"gauge on collar nuts", "collar nut stage one 48 Nm"}, "48 N.m in", "collar nut two", ""},
		{"said of another place", []string{"gauge on collar nuts", "collar nut stage four 48 Nm"}, "48 N.m in", "collar nut one", ""},
		{"skipped over the end", []string{"gauge on end play", "gauge next", "gauge next"}, "", "", "That was the last"},
		{"behind the end", []string{"gauge on end play down", "gauge: 82.6", "gauge: 82.6"}, "", "", "of what?"},
		{"off", []string{"gauge on collar nuts", "gauge off", "gauge: 48"}, "", "", "of what?"},
		{"junk", []string{"gauge on collar nuts", "gauge: MW-1041"}, "", "collar nut one", "no single number"},
		{"no such place", []string{"gauge on collar nuts", "gauge on collar nut stage nine"}, "", "", "no such place"},
		{"a confirmation", []string{"gauge on seat clean"}, "", "", "off until"},
		{"who takes over has none", []string{"gauge on collar nuts", "handing over to Tom", "gauge: 48"}, "", "", "of what?"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := open(t, demo(t), "")
			var a rules.Answer
			for _, n := range tt.notes {
				a = b.do(n)
			}
			if got := verdicts(a.Readings); got != tt.reads {
				t.Errorf("reads %q, want %q", got, tt.reads)
			}
			if got := b.next(); got != tt.next {
				t.Errorf("the gauge is on %q, want %q", got, tt.next)
			}
			if !strings.Contains(a.Say, tt.say) {
				t.Errorf("says %q, want %q in it", a.Say, tt.say)
			}
			if a.Gauge != nil && a.Gauge.Where != b.next() {
				t.Errorf("the answer says that the gauge is on %q, and it is on %q", a.Gauge.Where, b.next())
			}
		})
	}
}

// The register says what a gauge types, and what it is judged by.
func TestAGaugeOfTheRegister(t *testing.T) {
	shop := register(t)
	for i := range shop.Instruments {
		if x := &shop.Instruments[i]; slices.Contains(x.Say, "wrench seven") || slices.Contains(x.Say, "wrench 7") {
			x.Types = "[ft_i].[lbf_av]"
		}
	}
	b := open(t, demo(t), "")
	b.job.Equip(shop)
	b.job.Today("2026-11-25")
	b.do("gauge on collar nuts")
	a := b.do("gauge: 35.4")
	if got := verdicts(a.Readings); got != "35.4 [ft_i].[lbf_av] in" || a.Readings[0].Instrument == "" || a.Readings[0].How != parse.HowGauge {
		t.Errorf("reads %s, %+v", got, a.Readings)
	}
	if a = b.do("gauge: 48.0 Nm"); verdicts(a.Readings) != "48.0 N.m in" {
		t.Errorf("with its unit it reads %s", verdicts(a.Readings))
	}
}

// Whatever is said and sent, a number of a gauge is recorded at the place that the gauge was on and
// nowhere else, and the gauge is on nothing or on a place of its list. The same day again ends the same.
func TestAGaugeRecordsOnlyWhereItIs(t *testing.T) {
	s := demo(t)
	turns := []string{
		"gauge on collar nuts from stage one", "gauge on end play", "gauge on rods", "gauge on shaft runout", "gauge on collar nut stage nine",
		"gauge off", "gauge next", "gauge back", "gauge again", "again", "where is the gauge", "scratch that", "yes", "no", "same again", "correction forty seven",
		"collar nut stage two forty eight newton metres", "rod two loosened", "foot pounds", "handing over to Tom", "seat is clean", "what's left",
	}
	rapid.Check(t, func(rt *rapid.T) {
		one, other := open(t, s, ""), open(t, s, "")
		for n := range rapid.IntRange(1, 30).Draw(rt, "turns") {
			note := rapid.SampledFrom(turns).Draw(rt, "note")
			if rapid.Bool().Draw(rt, "sent") {
				value := rapid.SampledFrom([]string{"48.0", "8.1", "82.60", "81.2", "0.03", "4.8", "35", "-1", "99999", "A48", "48 mm", "47,5 Nm"}).Draw(rt, "value")
				note = "gauge: " + value
			}
			aim := one.said.Aim
			a, again := one.do(note), other.do(note)
			if diff := cmp.Diff(fmt.Sprintf("%+v", a.Readings), fmt.Sprintf("%+v", again.Readings)); diff != "" || a.Say != again.Say {
				rt.Fatalf("turn %d %q: once %q, once %q", n, note, a.Say, again.Say)
			}
			if strings.HasPrefix(note, "gauge: ") {
				for _, r := range a.Readings {
					if aim == nil || aim.Next == nil || *aim.Next != (parse.Target{Callout: r.Callout, At: r.At}) || r.How != parse.HowGauge {
						rt.Fatalf("turn %d %q is read as %+v with the gauge on %+v", n, note, r, aim)
					}
				}
			} else if strings.HasPrefix(note, "gauge") && len(a.Readings)+len(a.Marks) > 0 {
				rt.Fatalf("turn %d %q records %+v", n, note, a.Readings)
			}
			if now := one.said.Aim; now != nil && now.Next != nil && one.next() == "" {
				rt.Fatalf("turn %d %q: the gauge is on a place without a name: %+v", n, note, now)
			}
		}
	})
}
