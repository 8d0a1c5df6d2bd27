package trial_test

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"maps"
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

// condition is in what the notes are spoken: one of the noises after another, so many dB below the
// speech.
type condition struct {
	name   string
	noises []string
	snr    float64
	key    bool // held down while somebody speaks, and no longer
	open   bool // the microphone is, and nothing else says who is meant
}

// conditions are those of the table. Others talking is the worst of all noises, and stands apart.
var conditions = []condition{
	{name: "clean"},
	{name: "20 dB", noises: trial.Noises, snr: 20},
	{name: "10 dB", noises: trial.Noises, snr: 10},
	{name: "babble 20 dB", noises: []string{"babble"}, snr: 20, open: true},
	{name: "babble 10 dB", noises: []string{"babble"}, snr: 10, open: true},
	{name: "key in babble 20 dB", noises: []string{"babble"}, snr: 20, key: true},
	{name: "key in babble 10 dB", noises: []string{"babble"}, snr: 10, key: true},
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
	shop   *rules.Shop
	set    map[string]string
	words  hear.Words
	before string // what was said before
}

// patient makes an engine for sound that comes faster than it was spoken.
func patient(t *testing.T) *offline.Engine {
	t.Helper()
	engine, err := offline.New(offline.Config{Workers: *jobs, Log: zerolog.Nop(), Write: time.Minute, End: time.Minute, Listen: time.Minute})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := engine.Close(); err != nil {
			t.Error(err)
		}
	})
	return engine
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
	if src, err = fs.ReadFile(testdata.Files, "shop/register.yaml"); err != nil {
		t.Fatal(err)
	}
	r := &rig{t: t, engine: engine, spec: s, set: set}
	if r.shop, err = spec.LoadShop("register.yaml", src); err != nil {
		t.Fatal(err)
	}
	if r.words, err = served(r.job(), crew); err != nil {
		t.Fatal(err)
	}
	r.seat() // finds what was said before
	return r
}

func (r *rig) job() *rules.Job {
	j, err := rules.NewJob(r.spec, r.set)
	if err != nil {
		r.t.Fatal(err)
	}
	j.Equip(r.shop)
	return j
}

// crew are whom the shop knows: to each the bench can be handed by voice.
var crew = []string{"Ines", "Tom", "Mara", "Anton"}

// served is what a server listens for in a job, with the words that open a remark and no lead-in.
func served(j *rules.Job, people []string) (hear.Words, error) {
	d, err := dictionary()
	if err != nil {
		return hear.Words{}, err
	}
	return grammar.Served(j, nil, people, "", d)
}

var dictionary = sync.OnceValues(func() (*grammar.Dictionary, error) { return grammar.Load(grammar.Path) })

// seat is a job of which one reading was said before, if there is one that is said without any doubt.
type seat struct {
	b     *bench.Bench
	a     *rules.Answer
	guess bool // the note was kept as a remark
}

func (r *rig) seat() *seat {
	j := r.job()
	s := &seat{b: bench.New(j, parse.NewVocabulary(j.Words()))}
	if r.before == "" {
		r.before = "-"
		for _, text := range trial.Notes(j, 77, 40) {
			if _, a := s.b.Say(text); len(a.Readings) == 1 && a.Readings[0].Verdict != rules.Unclear {
				r.before = text
				break
			}
		}
		return r.seat()
	}
	s.b.Say(r.before)
	return s
}

func (s *seat) Read(_ context.Context, text string) (parse.Utterance, error) {
	return s.b.Read(text), nil
}

func (s *seat) Lacks(_ context.Context, instrument string) (bool, error) {
	return s.b.Lacks(instrument), nil
}

// record is what a note would record, said first of all.
func (s *seat) record(text string) string {
	u, a := s.b.Say(text)
	return recorded(&u, &a)
}

func (s *seat) SayHeard(_ context.Context, note wire.Note, spoken floor.Spoken) (wire.Answer, string, error) {
	if s.guess = spoken.Guess; s.guess {
		s.a = &rules.Answer{}
		return wire.Answer{}, "", nil
	}
	_, a := s.b.Say(note.Text)
	s.a = &a
	return wire.Answer{}, "", nil
}

// recorded writes what a note records or takes back, and what it changes of instruments and gauges.
func recorded(u *parse.Utterance, a *rules.Answer) string {
	var out []string
	for _, x := range u.Symptoms {
		out = append(out, fmt.Sprintf("%s %s %s %s absent=%t", x.Part, x.Condition, x.Degree, x.Where, x.Absent))
	}
	if u.Instrument != "" {
		out = append(out, "with "+u.Instrument)
	}
	for _, w := range u.Withdrawn {
		out = append(out, fmt.Sprintf("takes back %s@%s", w.Callout, w.At))
	}
	if u.Gauge != nil {
		out = append(out, "gauge")
	}
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
	for w := range strings.FieldsSeq(strings.ToLower(strings.ReplaceAll(text, "-", " "))) {
		switch w {
		case "the", "is", "was", "are", "at", "on", "of", "and", "a":
			continue
		case "oh", "nought":
			w = "zero"
		}
		if stem, ok := strings.CutSuffix(w, "ies"); ok {
			w = stem + "y"
		}
		out = append(out, strings.TrimSuffix(w, "s"))
	}
	return strings.Join(out, "")
}

// watched keeps what was heard, and by how much it was better than the rival that was nearest to being taken for it.
type watched struct {
	hear.Ear
	heard  *hear.Heard
	margin *float64
}

func (w *watched) Score(ctx context.Context, sentences ...string) ([]hear.Fit, error) {
	fits, err := w.Ear.Score(ctx, sentences...)
	if *w.margin == beyond && err == nil {
		for _, f := range fits[min(1, len(fits)):] {
			*w.margin = min(*w.margin, finite(fits[0].Score-f.Score))
		}
	}
	return fits, err
}

// beyond is what is not measured: there is no rival, or no fit at all.
const beyond = 1e6

func (w *watched) End(ctx context.Context) (hear.Heard, error) {
	h, err := w.Ear.End(ctx)
	*w.heard = h
	return h, err
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

// hear speaks one note as at a bench whose microphone is open, or where a key is held down.
func (r *rig) hear(ctx context.Context, text string, pcm []int16, open bool) (outcome, error) {
	o := outcome{Said: text}
	s, h, margin := r.seat(), hear.Heard{}, float64(beyond)
	l := listen.New(func(ctx context.Context) (hear.Ear, error) {
		ear, err := r.engine.Open(ctx, r.words)
		if err != nil {
			return nil, err
		}
		return &watched{ear, &h, &margin}, nil
	}, "offline", s, nil, judge.Usual())
	l.Guess(r.engine)
	l.People(crew)
	l.Open(open)
	if err := l.Begin(ctx); err != nil {
		return o, err
	}
	if _, _, err := l.Write(ctx, pcm); err != nil {
		return o, err
	}
	out, err := l.End(ctx, wire.Note{})
	if err != nil {
		return o, err
	}
	o.Heard, o.Plain, o.Gate, o.Margin, o.Verdict = joined(h.Words), joined(h.Plain), finite(h.Gate), margin, out.Verdict
	o.Exact = text != "" && bare(o.Heard) == bare(text)
	if o.Verdict == judge.Taken && s.a != nil {
		want := ""
		if text != "" {
			want = r.seat().record(text)
		}
		switch got := r.seat().record(out.Text); {
		case s.guess && text != "" && !slices.ContainsFunc(grammar.Openers(), func(w string) bool { return strings.HasPrefix(text, w+" ") }):
			o.Wrong = fmt.Sprintf("said %q, kept %q as a remark", text, out.Text)
		case !s.guess && got != "" && got != want:
			o.Wrong = fmt.Sprintf("said %q, took %q", text, out.Text)
		}
	}
	return o, nil
}

// finite is a number that can be written.
func finite(x float64) float64 { return min(max(x, -beyond), beyond) }

func joined(words []hear.Word) string {
	var out []string
	for _, w := range words {
		out = append(out, w.Text)
	}
	return strings.Join(out, " ")
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

// held cuts a note as somebody does who presses a key a moment before and lets it go behind the last word.
func held(pcm []int16) []int16 {
	peak := 0
	for _, x := range pcm {
		peak = max(peak, int(x), -int(x))
	}
	loud := func(x int16) bool { return 100*max(int(x), -int(x)) > peak }
	from, to := slices.IndexFunc(pcm, loud), len(pcm)
	for to > from && !loud(pcm[to-1]) {
		to--
	}
	return pcm[max(from-hear.Rate/8, 0):min(to+hear.Rate/8, len(pcm))]
}

// noisy lays the noise of a condition over the k-th note.
func (c condition) noisy(pcm []int16, babble []float64, k int) (mixed []int16, noise string) {
	if len(c.noises) == 0 {
		return pcm, ""
	}
	if c.key {
		pcm = held(pcm)
	}
	noise = c.noises[k%len(c.noises)]
	if noise == "babble" {
		return trial.Mix(pcm, babble[(k*7919)%(len(babble)-len(pcm)):], c.snr), noise
	}
	return trial.Mix(pcm, trial.Noise(noise, len(pcm), uint64(k)), c.snr), noise
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
