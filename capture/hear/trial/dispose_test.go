package trial_test

import (
	"testing"

	"readback/capture/hear/judge"
	"readback/capture/hear/trial"
	"readback/parse"
)

// TestDispositionsAreHeard: "scrap the part" is near to "scratch that", which takes a reading back. Neither may be taken for the
// other, nor for anything else, in quiet and in noise 20 dB below. Each is said in two voices, with
// -notes so often in every voice, in one noise after another.
func TestDispositionsAreHeard(t *testing.T) {
	need(t)
	r := newRig(t, patient(t), "mr5", map[string]string{"stages": "8", "base": "long"})
	j := r.job()
	j.Fold(parse.Text("shaft runout 0.08 mm", parse.NewVocabulary(j.Words()), parse.Context{}))
	if !j.HeldUp() {
		t.Fatal("nothing is out")
	}
	var err error
	if r.words, err = served(j, crew); err != nil {
		t.Fatal(err)
	}
	const remark = "note the customer accepts it"
	say := []string{"scratch that", remark}
	for _, d := range parse.Disposes {
		say = append(say, d.Say...)
	}
	voices := 2
	if *perCondition > 0 {
		voices = len(trial.Voices)
	}
	notes := speakAll(t, say, len(say)*voices)
	for _, c := range conditions[:2] {
		exact, all := 0, 0
		for k := range max(*perCondition, 1) * len(notes) {
			n := notes[k%len(notes)]
			pcm, noise := c.noisy(n.pcm, nil, k)
			o, err := r.hear(t.Context(), n.text, pcm, false)
			if err != nil {
				t.Fatal(err)
			}
			is, asks := parse.Disposition(n.text) // where nobody decides, it is to be said again
			heard, _ := parse.Disposition(o.Heard)
			if o.Wrong != "" || asks && o.Verdict == judge.Taken || heard != "" && heard != is && o.Heard == o.Plain {
				t.Errorf("%s %s: %q was %s as %q and %q %s", c.name, noise, n.text, o.Verdict, o.Heard, o.Plain, o.Wrong)
			}
			switch {
			case n.text == remark: // its words fit no grammar
				continue
			case o.Exact:
				exact++
			default:
				t.Logf("%s %s: %q was heard as %q and %q: %s", c.name, noise, n.text, o.Heard, o.Plain, o.Verdict)
			}
			all++
		}
		t.Logf("%s: %d of %d", c.name, exact, all)
		if 2*exact < all {
			t.Errorf("%s: more than half are not heard", c.name)
		}
	}
}
