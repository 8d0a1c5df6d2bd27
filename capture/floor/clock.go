package floor

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/oklog/ulid/v2"

	"readback/capture/journal"
	"readback/capture/wire"
)

const (
	// clockJump is from when on it is a jump, and not a clock that is being put right by and by.
	clockJump  = 3 * time.Second
	clockEvery = time.Second        // how often the clock is looked at
	clockOpen  = 4 * 24 * time.Hour // how long after its last entry a job that was not handed over is told of a jump
)

// Clocks are what a jump is told by.
type Clocks struct {
	Wall func() time.Time     // can be set: what entries are stamped with
	Own  func() time.Duration // since whatever moment; nobody can set it
}

// SystemClocks are the machine's. Its own count may stand still while it sleeps.
func SystemClocks() Clocks {
	began := time.Now()
	return Clocks{time.Now, func() time.Duration { return time.Since(began) }}
}

// ClockWatch writes jumps of the server's clock into the record of each job that is open: one entry of kind
// [journal.Clock] a job. A note never waits for it. Use [Floor.ClockWatch].
type ClockWatch struct {
	floor  *Floor
	clocks Clocks
	begun  bool
	wall   time.Time // as of the last look
	own    time.Duration
	due    []journal.Entry // not kept yet
}

// ClockWatch makes the watch of a floor.
func (f *Floor) ClockWatch(c Clocks) *ClockWatch { return &ClockWatch{floor: f, clocks: c} }

// Run looks at the clock each second until ctx ends, whose cause it returns. What cannot be kept is tried again.
func (w *ClockWatch) Run(ctx context.Context) error {
	tick := time.NewTicker(clockEvery)
	defer tick.Stop()
	for failed := false; ; {
		err := w.Look(ctx)
		if err != nil && ctx.Err() == nil && !failed {
			w.floor.Log.Error().Err(err).Msg("a jump of the clock is not in the record yet; it is tried again")
		}
		failed = err != nil
		select {
		case <-tick.C:
		case <-ctx.Done():
			return context.Cause(ctx)
		}
	}
}

// Look compares the clock with what it should show since the last look, the first time with the last entry of each
// job, and writes down what it finds.
func (w *ClockWatch) Look(ctx context.Context) error {
	wall, own := w.clocks.Wall().Round(0), w.clocks.Own()
	if !w.begun {
		if err := w.begin(ctx, wall); err != nil {
			return err
		}
		w.begun, w.wall, w.own = true, wall, own
		return w.keep(ctx)
	}
	should := w.wall.Add(own - w.own)
	w.wall, w.own = wall, own
	if off := wall.Sub(should); off.Abs() > clockJump {
		if err := w.jumped(ctx, should, wall, off); err != nil {
			w.wall, w.own = should, own // it is found again at the next look
			return err
		}
	}
	return w.keep(ctx)
}

// begin finds the jobs whose last entry is ahead of the clock.
func (w *ClockWatch) begin(ctx context.Context, wall time.Time) error {
	jobs, err := w.floor.Reader.Jobs(ctx)
	if err != nil {
		return fmt.Errorf("look at the clock: %w", err)
	}
	for _, j := range jobs {
		last := j.Last.Time()
		if ahead := last.Sub(wall); ahead > clockJump {
			words := fmt.Sprintf("When the server started its clock showed %s, which is %s before the last entry of this job (%s). One of the two times is wrong.", moment(wall), lasting(ahead), moment(last))
			if err := w.add(j.ID, wire.ClockJump{How: wire.ClockBehind, Was: last, Is: wall, Say: words}); err != nil {
				return err
			}
		}
	}
	return nil
}

func (w *ClockWatch) jumped(ctx context.Context, should, wall time.Time, off time.Duration) error {
	jump := wire.ClockJump{How: wire.ClockAhead, Was: should.UTC(), Is: wall.UTC()}
	words := "was set ahead by %s, or the machine slept"
	if off < 0 {
		jump.How, words = wire.ClockBack, "was set back by %s"
	}
	jump.Say = fmt.Sprintf("The server's clock "+words+": it showed %s when it should have been %s.", lasting(off.Abs()), moment(wall), moment(should))
	w.floor.Log.Warn().Time("was", should).Time("is", wall).Msg("clock has jumped")
	open, err := w.open(ctx, should, wall)
	if err != nil {
		return err
	}
	for _, id := range open {
		if err := w.add(id, jump); err != nil {
			return err
		}
	}
	return nil
}

// open lists the jobs that are open, by what the clock showed before or now: those that somebody is at, and those
// with an entry of late that were not handed over.
func (w *ClockWatch) open(ctx context.Context, times ...time.Time) ([]string, error) {
	jobs, err := w.floor.Reader.Jobs(ctx)
	if err != nil {
		return nil, fmt.Errorf("look at the clock: %w", err)
	}
	var out []string
	for _, j := range jobs {
		if w.floor.inUse(j.ID) {
			out = append(out, j.ID)
			continue
		}
		late := false
		for _, t := range times {
			late = late || t.Sub(j.Last.Time()).Abs() < clockOpen
		}
		if !late {
			continue
		}
		over := false
		if err := w.floor.look(ctx, j.ID, func(l *live) { over = l.over != nil }); err != nil && !errors.Is(err, ErrBroken) {
			return nil, err
		}
		if !over {
			out = append(out, j.ID)
		}
	}
	return out, nil
}

// inUse reports whether somebody is at a job.
func (f *Floor) inUse(id string) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	j := f.jobs[id]
	return j != nil && j.users > 0
}

func (w *ClockWatch) add(job string, jump wire.ClockJump) error {
	id, err := ulid.New(ulid.Now(), ulid.DefaultEntropy())
	if err != nil {
		return fmt.Errorf("look at the clock: %w", err)
	}
	body, err := json.Marshal(jump)
	if err != nil {
		return fmt.Errorf("look at the clock: %w", err)
	}
	w.due = append(w.due, journal.Entry{
		Job: job, ID: id.String(), Kind: journal.Clock, At: journal.InstantOf(jump.Is), Text: jump.Say, Answer: body, Program: w.floor.Program,
	})
	return nil
}

// keep commits what is due. The ids stay, so that nothing is kept twice. A job that cannot be written to keeps no
// other from being told.
func (w *ClockWatch) keep(ctx context.Context) error {
	var left []journal.Entry
	var errs []error
	for _, e := range w.due {
		if err := w.floor.Record(ctx, e); err != nil {
			left, errs = append(left, e), append(errs, fmt.Errorf("record a jump of the clock on job %s: %w", e.Job, err))
		}
	}
	w.due = left
	return errors.Join(errs...)
}

// moment writes a time for people.
func moment(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05 UTC") }

// lasting writes how long something is, to the second.
func lasting(d time.Duration) string {
	d = d.Round(time.Second)
	if days := d / (24 * time.Hour); days >= 2 {
		return fmt.Sprintf("%d days", days)
	}
	return d.String()
}
