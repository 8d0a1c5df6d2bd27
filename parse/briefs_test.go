package parse_test

import (
	"strings"
	"testing"

	"readback/parse"
)

// asked are wordings of people who take a job up, their own or another's.
const asked = `
where are we
Where are we?
where are we now
um, where are we up to
where was I
right, where was I then
so where were we
where did I get to
where did we get to with it
where have we got to so far
where did I leave off
where did he leave off
where do we stand
brief me
brief me please
okay brief me on this job
could you brief me
give me a briefing
quick briefing
what's the state
what’s the state of play
what is the state of the job
tell me the state of this job
state of the job please
status
status report
what's the status
give me a status update
what has been done
what's been done so far
what has been done on this job
what have I done
what did they do
what was I doing
how far are we
how far along are we
how far have we got
how far did he get
how far is this job
how are we getting on
tell me where we are
remind me where I was
can you tell me where we are
bring me up to speed
bring me up to date
fill me in
catch me up
sum up
give me a summary
recap
let's have a quick recap
`

// otherwise are notes in the same words that ask or tell of one thing.
var otherwise = []struct{ note, want string }{
	{"where is the torque wrench", "question; about other"},
	{"where did I leave the spacer", "question; about reading; build_spacer"},
	{"where did I leave the rag", "question; about other"},
	{"where did we get the new bolts", "question; about other"},
	{"where did I leave it", "question; about other"},
	{"where are we eating", "question; about other"},
	{"where was I when you called", "question; about other"},
	{"the state of the thrust washer is bad", "remark"},
	{"state of the thrust washer", "remark"},
	{"what state is the seat in", "question; about other"},
	{"thrust washer in a bad state, scored", "symptom; thrust washer is scored"},
	{"brief me on the tie rods", "remark"},
	{"what has been done to the impeller", "question; about callout; impeller"},
	{"how far are we off on stage two", "question; about callout; collar_nut_torque@stage=2"},
	{"how far is it to the canteen", "question; about other"},
	{"what's left", "question; about left"},
	{"what's next", "question; about next"},
	{"what's still open", "question; about open"},
	{"collar nut stage one forty eight newton metres, where are we", "reading; collar_nut_torque@stage=1=48 N.m"},
	{"the customer wants a status report", "remark"},
	{"summary sheet is in the drawer", "remark"},
	{"done so far", "remark"},
}

func TestBriefing(t *testing.T) {
	v := shop()
	for note := range strings.Lines(asked) {
		if note = strings.TrimSpace(note); note == "" {
			continue
		}
		for _, ctx := range []parse.Context{{}, {Asked: []parse.Claim{{Target: parse.Target{Callout: "collar_nut_torque"}}}}} {
			if got := brief(parse.Text(note, v, ctx)); got != "question; about brief" {
				t.Errorf("Text(%q): %s, want a question about the whole", note, got)
			}
		}
	}
	for _, tt := range otherwise {
		if got := brief(parse.Text(tt.note, v, parse.Context{})); got != tt.want {
			t.Errorf("Text(%q)\n got %s\nwant %s", tt.note, got, tt.want)
		}
	}
}

// A job that calls for a thing of that name means the thing.
func TestBriefingYieldsToTheSpec(t *testing.T) {
	v := parse.NewVocabulary(parse.Words{Names: []parse.Name{{Callout: "job_summary", Kind: parse.Confirm, Say: []string{"summary"}}}})
	if got := brief(parse.Text("summary", v, parse.Context{})); got != "confirm; job_summary:done" {
		t.Errorf("where a summary is called for, the word is read as %s", got)
	}
}
