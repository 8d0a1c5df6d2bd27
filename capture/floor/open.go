package floor

import (
	"context"
	"errors"
	"fmt"
	"maps"

	"github.com/oklog/ulid/v2"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/rules"
)

// OpenJob opens a job, which keeps the spec's text as it is now. opened is false where the
// job was there and is built to the same spec and options; it goes by the text that it has
// kept, whatever became of the spec since. The error is a [RefusalError] that wraps [ErrSpec],
// [ErrOption] or [ErrTaken], or what ails the journal.
func (f *Floor) OpenJob(ctx context.Context, open wire.OpenJob) (s wire.State, opened bool, err error) {
	j := f.take(open.ID)
	defer f.give(j)
	j.mu.Lock()
	defer j.mu.Unlock()
	err = j.load(ctx)
	if errors.Is(err, journal.ErrNotFound) {
		opened, err = j.begin(ctx, open)
	}
	if err == nil && !opened {
		err = j.same(open)
	}
	if err != nil {
		return wire.State{}, false, err
	}
	return j.live.state(j.live.line()), opened, nil
}

// same refuses to open a job otherwise than it was.
func (j *job) same(open wire.OpenJob) error {
	if j.live.opening.Spec != open.Spec {
		return j.taken()
	}
	again, err := newJob(j.live.plan, open.Options)
	if err != nil {
		return err
	}
	if !maps.Equal(j.live.rules.Options(), again.Options()) {
		return j.taken()
	}
	return nil
}

func newJob(p plan, options map[string]string) (*rules.Job, error) {
	job, err := rules.NewJob(p.spec, options)
	if err != nil {
		return nil, &RefusalError{Wrong: err.Error(), Do: "open the job with options that the spec takes", Why: ErrOption}
	}
	return job, nil
}

// begin commits the first entry of a job. It is false where another server was first.
func (j *job) begin(ctx context.Context, open wire.OpenJob) (bool, error) {
	p, err := j.floor.Specs.find(open.Spec)
	if err != nil {
		return false, err
	}
	job, err := newJob(p, open.Options)
	if err != nil {
		return false, err
	}
	now := j.floor.Now()
	id, err := ulid.New(ulid.Timestamp(now), ulid.DefaultEntropy())
	if err != nil {
		return false, fmt.Errorf("open job %s: %w", open.ID, err)
	}
	r, err := j.floor.Writer.Append(ctx, journal.Entry{
		Job: open.ID, Seq: 1, ID: id.String(), Kind: journal.Opened, At: journal.InstantOf(now),
		Person: open.Person, SpecHash: p.hash, Program: j.floor.Program,
		Spec: open.Spec, SpecText: p.text, ShopText: j.floor.Shop.text, Options: job.Options(),
		Caution: job.OpeningCaution(),
	})
	if errors.Is(err, journal.ErrSeq) {
		return false, j.load(ctx)
	}
	if err != nil {
		return false, fmt.Errorf("open job %s: %w", open.ID, err)
	}
	l, err := j.floor.open(r.Entry)
	if err != nil {
		return false, err
	}
	l.add(r.Entry)
	j.live = l
	return true, nil
}

func (j *job) taken() error {
	return &RefusalError{
		Wrong: fmt.Sprintf("job %s is there already, with spec %s and options %s", j.id, j.live.opening.Spec, optionWords(j.live.rules)),
		Do:    "go on with that one, or open this one under another id",
		Why:   ErrTaken,
	}
}

func optionWords(job *rules.Job) string {
	text := ""
	for _, o := range job.Spec().Options {
		if text != "" {
			text += ", "
		}
		text += o.Name + " " + job.Options()[o.Name]
	}
	return text
}
