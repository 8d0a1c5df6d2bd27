package trial_test

import (
	"context"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/sync/errgroup"

	"readback/capture/bench"
	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/capture/hear/offline"
	"readback/capture/hear/trial"
	"readback/capture/listen"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

var (
	perCondition = flag.Int("notes", 0, "how many notes are spoken in each condition; 0 for a few, clean")
	only         = flag.String("only", "", "only the conditions with this in their name")
	misheard     = flag.Bool("misheard", false, "print each note that was not heard exactly")
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

// condition is in what the notes are spoken.
type condition struct {
	name, noise string
	snr         float64
}

func conditions() []condition {
	out := []condition{{name: "clean"}}
	for _, snr := range []float64{20, 10} {
		for _, n := range trial.Noises {
			out = append(out, condition{fmt.Sprintf("%s at %.0f dB", n, snr), n, snr})
		}
	}
	return out
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

// rig hears notes of a job.
type rig struct {
	t      *testing.T
	engine *offline.Engine
	spec   *rules.Spec
	set    map[string]string
	words  hear.Words
}

func newRig(t *testing.T, engine *offline.Engine, name string, set map[string]string) *rig {
	t.Helper()
	src, err := fs.ReadFile(testdata.Files, "specs/"+name+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := spec.Load(name, src)
	if err != nil {
		t.Fatal(err)
	}
	d, err := grammar.Load(grammar.Path)
	if err != nil {
		t.Fatal(err)
	}
	r := &rig{t: t, engine: engine, spec: s, set: set}
	if r.words, err = grammar.Of(r.job(), nil, d); err != nil {
		t.Fatal(err)
	}
	return r
}

func (r *rig) job() *rules.Job {
	j, err := rules.NewJob(r.spec, r.set)
	if err != nil {
		r.t.Fatal(err)
	}
	return j
}

// seat is a job of which nothing was said before.
type seat struct {
	b *bench.Bench
	a *rules.Answer
}

func (r *rig) seat() *seat {
	j := r.job()
	return &seat{b: bench.New(j, parse.NewVocabulary(j.Words()))}
}

func (s *seat) Read(_ context.Context, text string) (parse.Utterance, error) {
	return s.b.Read(text), nil
}

func (s *seat) SayHeard(_ context.Context, note wire.Note, _ floor.Spoken) (wire.Answer, string, error) {
	_, a := s.b.Say(note.Text)
	s.a = &a
	return wire.Answer{}, "", nil
}

// recorded writes what a note records: readings and marks.
func recorded(a *rules.Answer) string {
	var out []string
	for _, x := range a.Readings {
		if x.Verdict != rules.Unclear {
			out = append(out, fmt.Sprintf("%s@%s=%s %s", x.Callout, x.At, x.Value, x.Unit))
		}
	}
	for _, m := range a.Marks {
		out = append(out, fmt.Sprintf("%s@%s:%s", m.Callout, m.At, m.Is))
	}
	slices.Sort(out)
	return strings.Join(out, "; ")
}

// bare leaves out the small words, plurals and names of nought, in which two ways to say one thing
// differ.
func bare(text string) string {
	var out []string
	for w := range strings.FieldsSeq(strings.ReplaceAll(text, "-", " ")) {
		switch w {
		case "the", "is", "are", "at", "on", "of", "and", "a":
			continue
		case "oh", "nought":
			w = "zero"
		}
		out = append(out, strings.TrimSuffix(w, "s"))
	}
	return strings.Join(out, "")
}

// watched keeps what was heard.
type watched struct {
	hear.Ear
	heard *hear.Heard
}

func (w *watched) End(ctx context.Context) (hear.Heard, error) {
	h, err := w.Ear.End(ctx)
	*w.heard = h
	return h, err
}

// tally counts what came of the notes of a condition.
type tally struct {
	mu     sync.Mutex
	notes  int
	exact  int
	became map[judge.Verdict]int
	wrong  []string
	took   []time.Duration // from the end of the sound to what came of it
}

// hear speaks one note as at a bench that holds a key down, and counts what came of it.
func (r *rig) hear(ctx context.Context, text string, pcm []int16, to *tally) error {
	_, want := r.seat().b.Say(text)
	s, h := r.seat(), hear.Heard{}
	l := listen.New(func(ctx context.Context) (hear.Ear, error) {
		ear, err := r.engine.Open(ctx, r.words)
		return &watched{ear, &h}, err
	}, "offline", s, nil, judge.Usual())
	if err := l.Begin(ctx); err != nil {
		return err
	}
	for at := 0; at < len(pcm); at += 2 * hear.Frame {
		if _, _, err := l.Write(ctx, pcm[at:min(at+2*hear.Frame, len(pcm))]); err != nil {
			return err
		}
	}
	start := time.Now()
	out, err := l.End(ctx, wire.Note{})
	took := time.Since(start)
	if err != nil {
		return err
	}
	var words []string
	for _, w := range h.Words {
		words = append(words, w.Text)
	}
	to.mu.Lock()
	defer to.mu.Unlock()
	to.notes++
	to.took = append(to.took, took)
	if bare(strings.Join(words, " ")) == bare(text) {
		to.exact++
	} else if *misheard {
		r.t.Logf("    said %q, heard %q, gate %.1f: %s", text, strings.Join(words, " "), h.Gate, out.Verdict)
	}
	if out.Verdict == judge.Taken && s.a != nil {
		if got := recorded(s.a); got != "" && got != recorded(&want) {
			to.wrong = append(to.wrong, fmt.Sprintf("said %q, took %q", text, out.Text))
			return nil
		}
	}
	to.became[out.Verdict]++
	return nil
}

// spoken is a note in a voice.
type spoken struct {
	text string
	pcm  []int16
}

func speakAll(t *testing.T, texts []string, n int) []spoken {
	t.Helper()
	out := make([]spoken, n)
	var g errgroup.Group
	g.SetLimit(2)
	dir := t.TempDir()
	for i := range out {
		g.Go(func() error {
			text := texts[i%len(texts)]
			pcm, err := trial.Speak(t.Context(), dir, text, trial.Voices[(i/len(texts)+i)%len(trial.Voices)])
			out[i] = spoken{text, pcm}
			return err
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	return out
}

// noisy lays the noise of a condition over the k-th note.
func (c condition) noisy(pcm []int16, babble []float64, k int) []int16 {
	switch c.noise {
	case "":
		return pcm
	case "babble":
		return trial.Mix(pcm, babble[(k*7919)%(len(babble)-len(pcm)):], c.snr)
	}
	return trial.Mix(pcm, trial.Noise(c.noise, len(pcm), uint64(k)), c.snr)
}

// TestReport speaks notes of the demo's jobs in every condition, prints what came of them, and
// fails where one was recorded otherwise than it was said.
func TestReport(t *testing.T) {
	need(t)
	n := *perCondition
	if n == 0 {
		n = 6
	}
	engine, err := offline.New(offline.Config{Workers: *jobs, Log: zerolog.Nop(), Write: time.Minute, End: time.Minute, Listen: time.Minute})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := engine.Close(); err != nil {
			t.Error(err)
		}
	})
	pump := newRig(t, engine, "mr5", map[string]string{"base": "long", "stages": "8", "cut_impellers": "2", "rebuild": "yes"})
	notes := speakAll(t, trial.Notes(pump.job(), 1, n/2+4), n)
	babble, err := trial.Babble(t.Context(), t.TempDir(), 30*hear.Rate, 1)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%-18s %6s %8s %8s %8s %8s %8s %8s %8s %8s", "condition", "notes", "exact", "taken", "asked", "again", "silent", "misread", "p50 ms", "p95 ms")
	for _, c := range conditions() {
		if !strings.Contains(c.name, *only) || *perCondition == 0 && c.name != "clean" {
			continue
		}
		pump.try(c.name, notes, func(pcm []int16, k int) []int16 { return c.noisy(pcm, babble, k) })
	}
	if *only == "" || *only == "talk" {
		pump.try("talk", speakAll(t, trial.Chatter, n), func(pcm []int16, k int) []int16 {
			if k%2 == 0 {
				return pcm
			}
			return condition{noise: "babble", snr: 10}.noisy(pcm, babble, k)
		})
	}
}

// try hears the notes in one condition, and prints what came of them.
func (r *rig) try(name string, notes []spoken, in func(pcm []int16, k int) []int16) {
	r.t.Helper()
	to := tally{became: map[judge.Verdict]int{}}
	var g errgroup.Group
	g.SetLimit(*jobs)
	for k, s := range notes {
		g.Go(func() error { return r.hear(r.t.Context(), s.text, in(s.pcm, k), &to) })
	}
	if err := g.Wait(); err != nil {
		r.t.Fatal(err)
	}
	slices.Sort(to.took)
	share := func(k int) string { return fmt.Sprintf("%.1f %%", 100*float64(k)/float64(to.notes)) }
	at := func(p int) int64 { return to.took[min(p*len(to.took)/100, len(to.took)-1)].Milliseconds() }
	r.t.Logf("%-18s %6d %8s %8s %8s %8s %8s %8d %8d %8d", name, to.notes, share(to.exact), share(to.became[judge.Taken]),
		share(to.became[judge.Asked]), share(to.became[judge.Refused]), share(to.became[judge.Silent]), len(to.wrong), at(50), at(95))
	for _, w := range to.wrong {
		r.t.Errorf("%s: %s", name, w)
	}
	if name == "talk" && to.became[judge.Taken] > 0 {
		r.t.Errorf("%d of what was no note was taken", to.became[judge.Taken])
	}
}
