package rules_test

import (
	"testing"

	"readback/rules/spec"
)

func TestBriefing(t *testing.T) {
	tests := []struct {
		name    string
		options string
		notes   []string
		want    string
	}{
		{
			"of a job that was just opened", "stages=2 studs=4", nil,
			"Nothing is recorded yet. Next: spacer, seventy-one millimetres, give or take zero point one millimetres. " +
				"Twenty things are left to do: spacer, ring clearance found at two places, stage nut at two places and fifteen more. No finding is open.",
		},
		{
			"of a reading that is out", "stages=2 studs=4",
			[]string{"spacer 71 mm", "ring clearance found ring one 0.3 mm", "ring clearance found ring two 0.3 mm", "stage nut stage one 50 Nm"},
			"Last: Stage nut one, fifty newton metres. Out. Next: stage nut two, forty newton metres, give or take five per cent. " +
				"Sixteen things are left to do: stage nut two, stud torque at eight places, flow at three places and four more. " +
				"One finding is open: Stage nut one, fifty newton metres, out. Thirty-eight to forty-two newton metres.",
		},
		{
			"where a mark was made last", "stages=2 studs=4",
			[]string{"spacer 71 mm", "final sleeve stage one"},
			"Last: Stage one sleeve, final. Next: ring clearance found one, at most zero point five millimetres. " +
				"Nineteen things are left to do: ring clearance found at two places, stage nut at two places, stud torque at eight places and seven more. No finding is open.",
		},
		{
			"where the last was taken back", "stages=2 studs=4",
			[]string{"spacer 71 mm", "stage nut stage one 40 Nm", "scratch that"},
			"Last: Spacer, seventy-one millimetres. In. Next: ring clearance found one, at most zero point five millimetres. " +
				"Nineteen things are left to do: ring clearance found at two places, stage nut at two places, stud torque at eight places and seven more. No finding is open.",
		},
		{
			"where something was asked back", "stages=2 studs=4", append(nearly[:12:12], "stage nut 40 Nm"),
			"Last: Head two, twenty metres. In. Next: head three. Two things are left to do: head three and winding. " +
				"One finding is open: Stage nut, forty newton metres: which stage?",
		},
		{
			"of a job that is done", "stages=2 studs=4", append(nearly[:13:13], "winding 1.4 ohms at 25 degrees"),
			"Last: Winding, one point four ohms at twenty-five degrees Celsius. In. Nothing is left, no finding is open.",
		},
		{
			"of a job that was handed over with one thing left", "stages=2 studs=4", append(nearly[:13:13], "handed over"),
			"Last: Handed over. Next: winding, at most one point five three ohms at twenty-five degrees Celsius. One thing is left to do: winding. No other finding is open.",
		},
	}
	s := loadSmall(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := open(t, s, tt.options)
			for _, n := range tt.notes {
				b.say(n)
			}
			before := b.job.Summary()
			for _, n := range []string{"where are we", "brief me"} {
				if a := b.say(n); a.Say != tt.want || len(a.Findings) > 0 {
					t.Errorf("%q is answered\n%q, want\n%q", n, a.Say, tt.want)
				}
			}
			if after := b.job.Summary(); findings(after.Open) != findings(before.Open) || len(after.Left) != len(before.Left) {
				t.Errorf("the question changed the job: %+v", after)
			}
		})
	}
}

// A part that comes next is named with its kind.
func TestBriefingNamesThePart(t *testing.T) {
	s, err := spec.Load("stack.yaml", []byte(`
spec: stack
revision: "1"
axes:
  stage: {say: [stage]}
callouts:
  - {id: wheel, kind: part, say: [wheel], at: {stage: 1..3}, choices: {full: [full], cut: [cut]}}
rules:
  - {rule: stack_order, part: wheel, along: stage, last: 1, is: cut, else: full}
`))
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, s, "")
	b.say("full wheel stage one")
	b.say("full wheel stage two")
	want := "Last: Stage two wheel, full. Next: stage three wheel, cut. One thing is left to do: stage three wheel. No finding is open."
	if a := b.say("where are we"); a.Say != want {
		t.Errorf("the briefing is\n%q, want\n%q", a.Say, want)
	}
}
