package query

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/parse"
)

const (
	// MostHeld is how many readings, dispositions and symptoms are held in memory between questions: some 60 MB.
	MostHeld = 100_000
	// MostAnswered is how many readings one answer holds.
	MostAnswered = 100_000
)

// Jobs lists the jobs of a journal: a [journal.Store].
type Jobs interface {
	Jobs(ctx context.Context) ([]journal.Job, error)
}

// Folder folds a job: a [floor.Floor].
type Folder interface {
	Stood(ctx context.Context, job string) (floor.Stood, error)
}

// Journal answers questions from a journal. It is safe for concurrent use.
//
// It folds each job that a question is about, and holds the readings until the job's head
// moves. Readings are not kept in tables of their own: what stands is for the rules to
// say, newer rules may say it otherwise, and a second record could contradict the first.
// One job is folded at a time, so that a question over ten years leaves the other
// processors to the benches. What does not fit in MostHeld is folded again.
type Journal struct {
	jobs  Jobs
	fold  Folder
	trade *parse.Trade
	most  int // readings held

	folding chan struct{} // holds one while a job is folded

	mu    sync.Mutex
	held  map[string]held // by job
	count int             // readings held
}

var _ Questions = (*Journal)(nil)

// held is what stands of a job whose last entry is Head.
type held struct {
	head     int64
	readings []Reading
	decided  []Disposition
	found    []found
	unit     string // its number, "" where none was said
	broken   bool   // it cannot be folded
}

// size is how much of the room for readings it takes.
func (h held) size() int { return len(h.readings) + len(h.decided) + len(h.found) }

// New returns a Journal that holds nothing yet. It counts parts by the names of the trade, nil for what is
// built in.
func New(jobs Jobs, fold Folder, trade *parse.Trade) *Journal {
	return &Journal{jobs: jobs, fold: fold, trade: trade, most: MostHeld, folding: make(chan struct{}, 1), held: map[string]held{}}
}

// Readings is as [Questions] has it.
func (j *Journal) Readings(ctx context.Context, f Filter) (Readings, error) {
	out := Readings{Readings: []Reading{}}
	if err := f.Check(); err != nil {
		return out, err
	}
	unread, err := j.each(ctx, f, func(_ journal.Job, h held) error {
		readings := h.readings
		for i := range readings {
			if f.fits(&readings[i]) {
				out.Readings = append(out.Readings, readings[i])
			}
		}
		if len(out.Readings) > MostAnswered {
			return &ManyError{MostAnswered}
		}
		return nil
	})
	if err != nil {
		return Readings{}, err
	}
	out.Unread = unread
	// Jobs come in the order in which they were opened, their readings in that of the spec.
	order := map[string]int{}
	for _, r := range out.Readings {
		if _, ok := order[r.Job]; !ok {
			order[r.Job] = len(order)
		}
	}
	slices.SortStableFunc(out.Readings, func(a, b Reading) int {
		return cmp.Or(a.When.Compare(b.When), cmp.Compare(order[a.Job], order[b.Job]), cmp.Compare(a.Seq, b.Seq))
	})
	return out, nil
}

// Callouts is as [Questions] has it.
func (j *Journal) Callouts(ctx context.Context, spec string) (Callouts, error) {
	f := Filter{Spec: spec}
	if err := f.Check(); err != nil {
		return Callouts{}, err
	}
	t := tally{by: map[[2]string]*counted{}}
	unread, err := j.each(ctx, f, func(_ journal.Job, h held) error {
		readings := h.readings
		t.job++
		for i := range readings {
			t.add(&readings[i], i)
		}
		return nil
	})
	if err != nil {
		return Callouts{}, err
	}
	return Callouts{Callouts: t.all(), Unread: unread}, nil
}

// each hands over what stands of every job that may have what the filter asks for, in the
// order in which they were opened, and returns the jobs that cannot be folded.
func (j *Journal) each(ctx context.Context, f Filter, take func(journal.Job, held) error) (unread []string, err error) {
	jobs, err := j.jobs.Jobs(ctx)
	if err != nil {
		return nil, fmt.Errorf("question: %w", err)
	}
	j.forget(jobs)
	for _, job := range jobs {
		if f.Spec != "" && job.Spec != f.Spec || job.Last.Time().Before(f.From) || !f.To.IsZero() && !job.First.Time().Before(f.To) {
			continue
		}
		h, err := j.of(ctx, job)
		if err != nil {
			return nil, fmt.Errorf("question: %w", err)
		}
		if h.broken {
			unread = append(unread, job.ID)
			continue
		}
		if err := take(job, h); err != nil {
			return nil, err
		}
	}
	slices.Sort(unread)
	return unread, nil
}

// of returns what stands of a job as of its last entry, or of a later one.
func (j *Journal) of(ctx context.Context, job journal.Job) (held, error) {
	if h, ok := j.find(job); ok {
		return h, ctx.Err()
	}
	select {
	case j.folding <- struct{}{}:
		defer func() { <-j.folding }()
	case <-ctx.Done():
		return held{}, ctx.Err()
	}
	if h, ok := j.find(job); ok { // another question has folded it meanwhile
		return h, nil
	}
	stood, err := j.fold.Stood(ctx, job.ID)
	h := held{head: max(stood.Head, job.Entries)}
	switch {
	case errors.Is(err, floor.ErrBroken):
		h.broken = true
	case err != nil:
		return held{}, err
	default:
		h.readings, h.decided, h.found, h.unit = readingsOf(job, stood), decidedOf(job, stood), j.foundOf(stood), unitOf(stood.Details)
	}
	j.hold(job.ID, h)
	return h, nil
}

func (j *Journal) find(job journal.Job) (held, bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	h, ok := j.held[job.ID]
	return h, ok && h.head >= job.Entries
}

// hold keeps what stands of a job. Where there is no room any one of the others goes: a
// question walks over all jobs, so that to forget the longest unused would forget each one
// just before it is asked for.
func (j *Journal) hold(job string, h held) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.count += h.size() - j.held[job].size()
	j.held[job] = h
	for other, o := range j.held {
		if j.count <= j.most {
			break
		}
		delete(j.held, other)
		j.count -= o.size()
	}
}

// forget drops what is held of jobs that are no more, as after a store was put back.
func (j *Journal) forget(jobs []journal.Job) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if len(j.held) <= len(jobs) {
		return
	}
	there := make(map[string]bool, len(jobs))
	for _, job := range jobs {
		there[job.ID] = true
	}
	for id, h := range j.held {
		if !there[id] {
			delete(j.held, id)
			j.count -= h.size()
		}
	}
}

func readingsOf(job journal.Job, s floor.Stood) []Reading {
	out := make([]Reading, 0, len(s.Readings))
	for _, m := range s.Readings {
		r := Reading{
			Job: job.ID, Spec: job.Spec, Revision: s.Revision, Options: s.Options,
			Callout: m.Callout, Name: m.Name, At: m.Reading.At, Where: m.Where,
			Value: m.Base, Unit: m.BaseUnit, Judged: m.Judged, AsRead: m.AsRead,
			Limits: Limits{Nominal: m.Nominal, Min: m.Min, Max: m.Max, OneOf: m.OneOf, Text: m.Limits},
			Seq:    m.Seq, When: m.At.Time(), Person: m.Person, Instrument: m.Instrument, Verdict: m.Verdict, How: m.How, Derived: m.Derived,
		}
		r.Number, _ = m.Base.Float64()
		out = append(out, r)
	}
	return out
}

// tally counts readings by callout.
type tally struct {
	by  map[[2]string]*counted // spec and callout
	job int                    // the one that is counted, in the order in which they were opened
}

type counted struct {
	Callout
	job, place int // of the newest job that has it, and where in that
	with       map[string]int
}

func (t *tally) add(r *Reading, place int) {
	key := [2]string{r.Spec, r.Callout}
	c := t.by[key]
	if c == nil {
		c = &counted{Callout: Callout{Spec: r.Spec, ID: r.Callout, First: r.When}, with: map[string]int{}}
		t.by[key] = c
	}
	if c.job != t.job {
		c.job, c.place, c.Name, c.Unit, c.Derived = t.job, place, r.Name, r.Unit, r.Derived
	}
	c.Readings++
	if r.When.Before(c.First) {
		c.First = r.When
	}
	if r.When.After(c.Last) {
		c.Last = r.When
	}
	if r.Instrument == "" {
		c.Unnamed++
	} else {
		c.with[r.Instrument]++
	}
}

func (t *tally) all() []Callout {
	list := make([]*counted, 0, len(t.by))
	for _, c := range t.by {
		for name, n := range c.with {
			c.Instruments = append(c.Instruments, Count{name, n})
		}
		slices.SortFunc(c.Instruments, func(a, b Count) int { return strings.Compare(a.Name, b.Name) })
		list = append(list, c)
	}
	slices.SortFunc(list, func(a, b *counted) int {
		return cmp.Or(strings.Compare(a.Spec, b.Spec), cmp.Compare(a.place, b.place), strings.Compare(a.ID, b.ID))
	})
	out := make([]Callout, 0, len(list))
	for _, c := range list {
		out = append(out, c.Callout)
	}
	return out
}
