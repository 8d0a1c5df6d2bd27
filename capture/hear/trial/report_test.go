package trial_test

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"golang.org/x/sync/errgroup"

	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/capture/hear/offline"
	"readback/capture/hear/trial"
)

var (
	perCondition = flag.Int("notes", 0, "how many notes are spoken in each condition; 0 for a few, clean")
	only         = flag.String("only", "", "only these conditions: clean,20 dB,talk")
	seed         = flag.Uint64("seed", 1, "of the notes")
	outTo        = flag.String("out", "", "a file to which what came of each note is added as JSON, a line each")
	misheard     = flag.Bool("misheard", false, "print each note that was not heard exactly")
	among        = flag.String("noises", "", "only these noises of those of a condition: hiss,pump")
	saying       = flag.String("saying", "", "only these notes, in the noise that they have in the whole run: yes,on wrench four")
	jobs         = flag.Int("jobs", 2, "how many notes are heard at once")
)

// TestMain makes this program a worker of the engine.
func TestMain(m *testing.M) {
	if len(os.Args) > 1 && os.Args[1] == offline.Subcommand {
		if err := offline.Work(context.Background(), os.Stdin, os.Stdout); err != nil {
			panic(err)
		}
		return
	}
	m.Run()
}

// need skips where nothing can speak or hear. With CI=true it fails.
func need(t *testing.T) {
	t.Helper()
	_, err := exec.LookPath("flite")
	if err == nil {
		_, err = os.Stat(grammar.Path)
	}
	switch {
	case err == nil:
	case os.Getenv("CI") == "true":
		t.Fatalf("speech cannot be tested: %v", err)
	default:
		t.Skipf("speech cannot be tested: %v", err)
	}
}

// tally counts what came of the notes of a condition.
type tally struct {
	notes  int
	exact  int
	became map[judge.Verdict]int
	wrong  []string
}

// outcome is what came of one note.
type outcome struct {
	Condition, Noise, Said, Heard, Plain string
	Exact                                bool
	Gate, Margin                         float64
	Verdict                              judge.Verdict
	Wrong                                string `json:",omitempty"`
}

// add counts one.
func (t *tally) add(o outcome) {
	if t.became == nil {
		t.became = map[judge.Verdict]int{}
	}
	t.notes++
	if o.Exact {
		t.exact++
	}
	if o.Wrong != "" {
		t.wrong = append(t.wrong, o.Wrong)
		return
	}
	t.became[o.Verdict]++
}

func (t *tally) row(name string) string {
	share := func(k int) string { return fmt.Sprintf("%.1f %%", 100*float64(k)/float64(t.notes)) }
	return fmt.Sprintf("%-18s %6d %8s %8s %8s %8s %8s %8d", name, t.notes, share(t.exact), share(t.became[judge.Taken]),
		share(t.became[judge.Asked]), share(t.became[judge.Refused]), share(t.became[judge.Silent]), len(t.wrong))
}

// TestReport speaks notes of the demo's jobs in every condition, prints what came of them, and
// fails where one was recorded otherwise than it was said.
func TestReport(t *testing.T) {
	need(t)
	n := *perCondition
	if n == 0 {
		n = 6
	}
	engine := patient(t)
	rigs := []*rig{
		newRig(t, engine, "mr5", map[string]string{"base": "long", "stages": "8", "cut_impellers": "2", "rebuild": "yes"}),
		newRig(t, engine, "bevel-head", map[string]string{"rebuild": "yes"}),
	}
	babble, err := trial.Babble(t.Context(), t.TempDir(), 30*hear.Rate, 1)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%-18s %6s %8s %8s %8s %8s %8s %8s", "condition", "notes", "exact", "taken", "asked", "again", "silent", "misread")
	p := report{t: t, n: n, rigs: rigs, babble: babble}
	var notes [][]spoken
	for _, r := range rigs {
		notes = append(notes, speakAll(t, trial.Notes(r.job(), *seed, n/4+4), n/2))
	}
	for _, c := range conditions {
		if *among != "" && len(c.noises) > 1 {
			c.noises = strings.Split(*among, ",")
		}
		if *perCondition == 0 && c.name != "clean" {
			continue
		}
		p.try(c.name, notes, c.open, func(pcm []int16, k int) ([]int16, string) { return c.noisy(pcm, babble, k) })
	}
	p.nothing("talk", speakAll(t, trial.Chatter, n), func(pcm []int16, k int) ([]int16, string) {
		if k%2 == 0 {
			return pcm, ""
		}
		return condition{noises: []string{"babble"}, snr: 10}.noisy(pcm, babble, k)
	})
	p.nothing("bangs", make([]spoken, n), func(_ []int16, k int) ([]int16, string) { return trial.Bang(uint64(k)), "" })
}

// report is the table being made.
type report struct {
	t      *testing.T
	n      int
	rigs   []*rig
	babble []float64
}

// try hears the notes of each job in one condition, prints what came of them, and of each noise.
func (p *report) try(name string, notes [][]spoken, open bool, in func(pcm []int16, k int) ([]int16, string)) {
	p.t.Helper()
	if *only != "" && !slices.Contains(strings.Split(*only, ","), name) {
		return
	}
	var all tally
	of := map[string]*tally{}
	for i, r := range p.rigs {
		for _, o := range r.all(name, notes[i], open, in) {
			all.add(o)
			if of[o.Noise] == nil {
				of[o.Noise] = new(tally)
			}
			of[o.Noise].add(o)
			if !o.Exact && *misheard {
				p.t.Logf("    %s %s: said %q, heard %q, plain %q, gate %.1f, margin %.0f: %s", name, o.Noise, o.Said, o.Heard, o.Plain, o.Gate, o.Margin, o.Verdict)
			}
		}
	}
	p.t.Log(all.row(name))
	if len(of) > 1 {
		for _, noise := range slices.Sorted(maps.Keys(of)) {
			p.t.Log(of[noise].row("  " + noise))
		}
	}
	for _, w := range all.wrong {
		p.t.Errorf("%s: %s", name, w)
	}
}

// nothing hears what is no note at an open microphone, when a reading was taken before: whatever it records or takes back is wrong.
func (p *report) nothing(name string, clips []spoken, in func(pcm []int16, k int) ([]int16, string)) {
	p.t.Helper()
	for i := range clips {
		clips[i].text = ""
	}
	half := len(clips) / 2
	p.try(name, [][]spoken{clips[:half], clips[half:]}, true, in)
}

// all hears the notes of a job in one condition.
func (r *rig) all(name string, notes []spoken, open bool, in func(pcm []int16, k int) ([]int16, string)) []outcome {
	r.t.Helper()
	out := make([]outcome, len(notes))
	var g errgroup.Group
	g.SetLimit(*jobs)
	for k, s := range notes {
		if *saying != "" && !slices.Contains(strings.Split(*saying, ","), s.text) {
			continue
		}
		g.Go(func() error {
			pcm, noise := in(s.pcm, k)
			o, err := r.hear(r.t.Context(), s.text, pcm, open)
			o.Condition, o.Noise = name, noise
			out[k] = o
			return err
		})
	}
	if err := g.Wait(); err != nil {
		r.t.Fatal(err)
	}
	out = slices.DeleteFunc(out, func(o outcome) bool { return o.Condition == "" }) // not among [saying]
	r.keep(out)
	return out
}

// keep writes what came of each note to the file that -out names, a line each.
func (r *rig) keep(all []outcome) {
	if *outTo == "" {
		return
	}
	f, err := os.OpenFile(*outTo, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		r.t.Fatal(err)
	}
	e := json.NewEncoder(f)
	for _, o := range all {
		if err := e.Encode(o); err != nil {
			r.t.Fatal(err)
		}
	}
	if err := f.Close(); err != nil {
		r.t.Fatal(err)
	}
}
