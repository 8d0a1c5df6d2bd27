package listen_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor/floortest"
	"readback/capture/listen"
	"readback/capture/opening"
	"readback/parse"
	"readback/parse/number"
	"readback/rules"
)

func demoSpecs(t *testing.T) map[string]*rules.Spec {
	t.Helper()
	out := map[string]*rules.Spec{}
	for _, s := range floortest.Specs(t).All() {
		out[s.ID] = s
	}
	return out
}

// TestSentencesOfAJob: each job has three of its own.
func TestSentencesOfAJob(t *testing.T) {
	specs := demoSpecs(t)
	for _, tt := range []struct {
		name, spec string
		options    map[string]string
		want       []string
	}{
		{"a pump", "mr5", nil, []string{
			"build spacer sixty-four millimetres", "collar nut stage one forty-eight newton metres", "tie rod one pass three twenty-one newton metres",
		}},
		{"another base", "mr5", map[string]string{"base": "long", "rebuild": "yes"}, []string{
			"collar nut stage one forty-eight newton metres", "shaft height forty-two millimetres", "tie rod one pass three twenty-one newton metres",
		}},
		{"a gear", "bevel-head", nil, []string{
			"pinion nut ninety-one newton metres", "housing temperature forty-two degrees Celsius", "screw torque screw one pass two twenty-four newton metres",
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j, err := rules.NewJob(specs[tt.spec], tt.options)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, listen.Sentences(j)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// TestSentencesOfAPoorSpec: no number is made up, and what may be asked about is left out.
func TestSentencesOfAPoorSpec(t *testing.T) {
	limits := func(least, most int64) *rules.Limits {
		return &rules.Limits{Min: &rules.Amount{Value: number.Int(least)}, Max: &rules.Amount{Value: number.Int(most)}}
	}
	reading := func(id, say string, l *rules.Limits) rules.Callout {
		return rules.Callout{ID: id, Kind: parse.Reading, Say: []string{say}, Unit: "mm", Limits: l, Owed: true}
	}
	mark := rules.Callout{ID: "seat_clean", Kind: parse.Confirm, Say: []string{"seat clean"}, Owed: true}
	for _, tt := range []struct {
		name     string
		callouts []rules.Callout
		want     []string
	}{
		{"nothing", nil, []string{"read that back", "what is left", "where are we"}},
		{"a mark", []rules.Callout{mark}, []string{"seat clean", "read that back", "what is left"}},
		{"no limits", []rules.Callout{reading("gap", "gap", nil), mark}, []string{"seat clean", "read that back", "what is left"}},
		{"twins alone", []rules.Callout{reading("gap", "gap", limits(16, 16)), mark}, []string{"seat clean", "read that back", "what is left"}},
		{"twins beside others", []rules.Callout{reading("gap", "gap", limits(14, 21)), mark}, []string{"gap twenty-one millimetres", "seat clean", "read that back"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j, err := rules.NewJob(&rules.Spec{ID: "poor", Callouts: tt.callouts}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, listen.Sentences(j)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// TestSentencesOfTheDesk: each means something there, and none opens a job or goes to one.
func TestSentencesOfTheDesk(t *testing.T) {
	specs := demoSpecs(t)
	all := []*rules.Spec{specs["bevel-head"], specs["mr5"]}
	for _, some := range [][]*rules.Spec{all, all[1:], nil} {
		got := listen.DeskSentences(some)
		if len(got) != 3 {
			t.Fatalf("%q", got)
		}
		for _, s := range got {
			if means := opening.New(nil, some, "Ines").Means(s); means != opening.Tells {
				t.Errorf("%q means %d", s, means)
			}
		}
	}
	if diff := cmp.Diff([]string{"open a new job", "m r five base short", "read that back"}, listen.DeskSentences(all[1:])); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
