package trial_test

import (
	"context"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

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
