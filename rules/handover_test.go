package rules_test

import (
	"slices"
	"strings"
	"testing"

	"readback/rules"
)

// nearly is all that the small spec calls for with two stages and four studs, but for the
// winding.
var nearly = []string{
	"spacer 71 mm", "ring clearance found ring one 0.3 mm", "ring clearance found ring two 0.3 mm",
	"stage nut stage one 40 Nm", "stage nut stage two 40 Nm", "all studs pass one stud torque 10 Nm", "all studs pass two stud torque 20 Nm",
	"flow point one 0 m3/h", "flow point two 5 m3/h", "flow point three 10 m3/h",
	"head point one 24 m", "head point two 20 m", "head point three 12 m",
}

func TestHandOverIsSpokenAsOneSum(t *testing.T) {
	tests := []struct {
		name    string
		before  []string
		note    string
		say     string
		missing int // findings of the answer that the sum stands for
	}{
		{
			"all is left", nil, "handed over",
			"Handed over. Twenty things are left to do: spacer, ring clearance found at two places, stage nut at two places and fifteen more. No other finding is open.", 7,
		},
		{
			"one is left", nearly, "handed over",
			"Handed over. One thing is left to do: winding. No other finding is open.", 1,
		},
		{
			"nothing is left", append(slices.Clip(nearly), "winding 1.4 ohms at 25 degrees"), "handed over",
			"Handed over. Nothing is left, no finding is open.", 0,
		},
		{
			"a finding is open", append(slices.Clip(nearly), "winding 1.6 ohms at 25 degrees"), "handed over",
			"Handed over. Nothing is left to do. One finding is open: Winding, one point six ohms, out. At most one point five three ohms.", 0,
		},
		{
			"the worst of several is named first", append(slices.Clip(nearly), "winding 1.6 ohms at 25 degrees", "stage nut stage one 50 Nm", "spacer 99.5 mm"), "handed over",
			"Handed over. Nothing is left to do. Four findings are open: Stop: spacer 99.5 mm is the one for 8 size; this job is 6 size. Spacer, ninety-nine point five millimetres, out. Seventy point nine to seventy-one point one millimetres.", 0,
		},
		{
			"something is left and a finding is open", append(slices.Clip(nearly), "stage nut stage two 50 Nm"), "handed over",
			"Handed over. One thing is left to do: winding. One other finding is open: Stage nut two, fifty newton metres, out. Thirty-eight to forty-two newton metres.", 1,
		},
		{"it is said twice", append(slices.Clip(nearly), "handed over"), "handed over", "Handed over. One thing is left to do: winding. No other finding is open.", 1},
		{"the last thing is done after it", append(slices.Clip(nearly), "handed over"), "winding 1.4 ohms at 25 degrees", "Winding, one point four ohms at twenty-five degrees Celsius. In.", 0},
		{
			"a later note leaves one callout with less",
			[]string{"handed over"},
			"stage nut stage one 40 Nm",
			"Stage nut one, forty newton metres. In. Left to do at hand-over: stage nut two.", 1,
		},
		{
			"a later note leaves several with less",
			[]string{"handed over"},
			"flow point one 0 m3/h head point one 24 m",
			"Flow one, zero cubic metres an hour. In. Head one, twenty-four metres. In. Four things are left to do: flow at two places and head at two places.", 2,
		},
		{"a later question is answered alone", []string{"handed over"}, "how many stages", "This job has two stages.", 0},
	}
	s := loadSmall(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := open(t, s, "stages=2 studs=4")
			for _, n := range tt.before {
				b.say(n)
			}
			a := b.say(tt.note)
			if a.Say != tt.say {
				t.Errorf("%q is answered\n%q, want\n%q", tt.note, a.Say, tt.say)
			}
			missing := 0
			for _, f := range a.Findings {
				if f.Rule == rules.RuleMissing {
					missing++
				}
			}
			if missing != tt.missing {
				t.Errorf("%q lists %d missing findings, want %d: %s", tt.note, missing, tt.missing, findings(a.Findings))
			}
		})
	}
}

// The demo's pump calls for some forty kinds of things: handed over early, each has its
// finding, and the sentence stays one that is listened to.
func TestEarlyHandOverIsShort(t *testing.T) {
	b := open(t, demo(t), "")
	a := b.say("handed over")
	if len(a.Findings) < 20 || len(a.Findings) != len(b.job.Summary().Open) {
		t.Errorf("%d findings in the answer, %d open", len(a.Findings), len(b.job.Summary().Open))
	}
	if words := len(strings.Fields(a.Say)); words > 40 {
		t.Errorf("%d words are spoken: %s", words, a.Say)
	}
	a = b.say("isolated")
	if strings.Count(a.Say, ".") > 2 {
		t.Errorf("a note after it is answered %q", a.Say)
	}
	a = b.say("not handed over")
	if b.job.HandedOver() || len(b.job.Summary().Open) != 0 {
		t.Errorf("taken back, open is %s: %s", findings(b.job.Summary().Open), a.Say)
	}
}

// Handed to another person in mid-work, a job is not handed over: nothing is missing yet,
// and what was said before is referred to no more.
func TestHandingOverInMidWork(t *testing.T) {
	b := open(t, loadSmall(t), "stages=4")
	b.say("stage nut stage one 40 Nm")
	if a := b.say("handing over to Tom"); a.Say != "Noted: the next person takes over." || len(a.Findings) > 0 || b.job.HandedOver() {
		t.Errorf("it is answered %q, with %s", a.Say, findings(a.Findings))
	}
	if a := b.say("scratch that"); len(b.job.Standing()) != 1 {
		t.Errorf("what was read before is taken back: %q", a.Say)
	}
}
