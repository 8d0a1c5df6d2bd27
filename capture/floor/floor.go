// Package floor is the shop floor: the jobs that are being worked on and the benches that
// work on them. A note goes in; it is understood, checked, committed, and only then
// answered. Other benches on the job are told.
//
// What the journal holds is the truth. The state of a job is a cache that is folded from
// its stored utterances, never parsed again, and is thrown away whenever a commit fails.
// The package knows nothing of sockets, pages or people's rights.
//
// Start reading at [Floor.Sit] and [Seat.Say].
package floor

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

// maxIdle is how many jobs stay in memory on which nobody sits.
const maxIdle = 64

// Reader is what the floor reads of a journal.
type Reader interface {
	Entries(ctx context.Context, job string, afterSeq int64, limit int) ([]journal.Entry, error)
	ByID(ctx context.Context, job, id string) (journal.Entry, error)
	Jobs(ctx context.Context) ([]journal.Job, error)
	People(ctx context.Context, limit int) ([]string, error)
}

// Writer is how the floor writes to it: a [journal.Writer].
type Writer interface {
	Append(ctx context.Context, e journal.Entry) (journal.Result, error)
}

// Config is what a floor is made of. Every field must be set, but for Trade.
type Config struct {
	Reader  Reader
	Writer  Writer
	Specs   Specs
	Shop    Register     // what may be measured with; the zero Register for nothing known
	Trade   *parse.Trade // the shop's own words; nil for none
	Program string       // version of this program, kept in every entry
	Now     func() time.Time
	Log     zerolog.Logger
}

// Floor holds the jobs. It is safe for concurrent use.
type Floor struct {
	Config
	plans plans
	shops registers

	mu    sync.Mutex
	jobs  map[string]*job
	lines map[string]wire.JobLine // of jobs in lists, as of their last entry
	used  int64                   // counts uses of jobs
}

// New returns a floor.
func New(c Config) *Floor {
	return &Floor{
		Config: c, plans: plans{byText: c.Specs.byText()}, shops: registers{byText: map[string]*rules.Shop{}},
		jobs: map[string]*job{}, lines: map[string]wire.JobLine{},
	}
}

// take returns the job's place in memory; whoever takes it gives it back. There is never
// more than one for an id.
func (f *Floor) take(id string) *job {
	f.mu.Lock()
	defer f.mu.Unlock()
	j := f.jobs[id]
	if j == nil {
		j = &job{floor: f, id: id, seats: map[*Seat]bool{}}
		f.jobs[id] = j
	}
	f.used++
	j.users, j.used = j.users+1, f.used
	return j
}

// give ends a use. Jobs that nobody uses are forgotten: at once if they do not exist, the
// longest unused first if there are many.
func (f *Floor) give(j *job) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if j.users--; j.users > 0 {
		return
	}
	if j.live == nil {
		delete(f.jobs, j.id)
	}
	var oldest *job
	idle := 0
	for _, other := range f.jobs {
		if other.users > 0 {
			continue
		}
		idle++
		if oldest == nil || other.used < oldest.used {
			oldest = other
		}
	}
	if idle > maxIdle {
		delete(f.jobs, oldest.id)
	}
}

// holds reports whether a job has a place in memory.
func (f *Floor) holds(id string) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.jobs[id] != nil
}

// look shows a job as it stands: alone where somebody works on it, and else folded apart, so that who looks
// at many jobs leaves those in memory where they are.
func (f *Floor) look(ctx context.Context, id string, see func(*live)) error {
	if f.holds(id) {
		return f.with(ctx, id, func(j *job) error {
			see(j.live)
			return nil
		})
	}
	l, err := f.folded(ctx, id, func(*live, journal.Entry) {})
	if err == nil {
		see(l)
	}
	return err
}

// with runs do on a job that exists, alone.
func (f *Floor) with(ctx context.Context, id string, do func(*job) error) error {
	j := f.take(id)
	defer f.give(j)
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.load(ctx); err != nil {
		return err
	}
	return do(j)
}

// State returns a job as a page shows it, or an error that wraps [journal.ErrNotFound].
func (f *Floor) State(ctx context.Context, id string) (wire.State, error) {
	var s wire.State
	err := f.with(ctx, id, func(j *job) error {
		s = j.live.state(j.live.line())
		s.Newer, s.Over = j.newer(), j.live.over
		return nil
	})
	return s, err
}

// maxPeople is how many persons a shop knows at a time: those who said notes last.
const maxPeople = 40

// People lists who said notes in the shop, whoever said one last first. A name that is written in two ways by
// capitals alone is that of one person, as it was written last.
func (f *Floor) People(ctx context.Context) ([]string, error) {
	all, err := f.Reader.People(ctx, maxPeople)
	if err != nil {
		return nil, err
	}
	var people []string
	for _, name := range all {
		if !slices.ContainsFunc(people, func(known string) bool { return strings.EqualFold(known, name) }) {
			people = append(people, name)
		}
	}
	return people, nil
}

// Job looks at a job as it is now, or gives an error that wraps [journal.ErrNotFound]. What do does must change
// nothing.
func (f *Floor) Job(ctx context.Context, id string, do func(*rules.Job) error) error {
	return f.with(ctx, id, func(j *job) error { return do(j.live.rules) })
}

// IDs lists every job by its id alone, in the order in which they were opened: none of them is folded for it.
func (f *Floor) IDs(ctx context.Context) ([]string, error) {
	all, err := f.Reader.Jobs(ctx)
	ids := make([]string, len(all))
	for i, j := range all {
		ids[i] = j.ID
	}
	return ids, err
}

// Jobs lists every job in the order in which they were opened. One that cannot be folded
// any more is listed with what the journal says of it.
func (f *Floor) Jobs(ctx context.Context) (wire.Jobs, error) {
	all, err := f.Reader.Jobs(ctx)
	if err != nil {
		return wire.Jobs{}, err
	}
	return f.linesOf(ctx, all, len(all))
}

// Newest lists at most limit jobs, that with the last entry first.
func (f *Floor) Newest(ctx context.Context, limit int) (wire.Jobs, error) {
	all, err := f.Reader.Jobs(ctx)
	if err != nil {
		return wire.Jobs{}, err
	}
	slices.SortStableFunc(all, func(a, b journal.Job) int { return cmp.Compare(b.Last, a.Last) })
	return f.linesOf(ctx, all[:min(limit, len(all))], len(all))
}

func (f *Floor) linesOf(ctx context.Context, jobs []journal.Job, total int) (wire.Jobs, error) {
	out := wire.Jobs{Jobs: []wire.JobLine{}, Total: total}
	for _, j := range jobs {
		line, err := f.lineOf(ctx, j)
		if err != nil {
			f.Log.Error().Err(err).Str("job", j.ID).Msg("job cannot be shown in the list")
			line = bare(j)
		}
		out.Jobs = append(out.Jobs, line)
	}
	return out, ctx.Err()
}

// lineOf returns the job's line, which is worked out again only where an entry was added. A job that
// nobody works on is folded apart, so that a long list leaves those in memory where they are.
func (f *Floor) lineOf(ctx context.Context, known journal.Job) (wire.JobLine, error) {
	f.mu.Lock()
	line := f.lines[known.ID]
	f.mu.Unlock()
	if line.Entries >= known.Entries {
		return line, nil
	}
	err := f.look(ctx, known.ID, func(l *live) { line = l.line() })
	if err == nil {
		f.mu.Lock()
		f.lines[known.ID] = line
		f.mu.Unlock()
	}
	return line, err
}

func bare(j journal.Job) wire.JobLine {
	return wire.JobLine{
		ID: j.ID, Spec: j.Spec, Options: j.Options, Opened: wire.Opened{At: j.First.Time(), Person: j.Person},
		Last: j.Last.Time(), Entries: j.Entries,
	}
}
