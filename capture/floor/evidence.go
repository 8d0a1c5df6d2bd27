package floor

import (
	"context"
	"errors"
	"fmt"

	"readback/capture/evidence"
	"readback/capture/journal"
	"readback/capture/wire"
)

// ErrNoNote says that a photo has no note to go to.
var ErrNoNote = errors.New("floor: there is no such note")

// Named is what a job's record says of a file that it names.
type Named struct {
	Sort   evidence.Sort
	Purged *wire.Gone // nil: it is kept
}

// evidenced is every file that the entries of a job name, by its hash: the seqs of those that need it,
// and how it was purged where none does.
type evidenced map[string]*file

type file struct {
	sort   evidence.Sort
	needed map[int64]bool
	how    wire.Gone // the last purge
}

func (all evidenced) add(e journal.Entry) {
	if sort, hash := evidence.Of(e); hash != "" {
		if all[hash] == nil {
			all[hash] = &file{sort: sort, needed: map[int64]bool{}}
		}
		all[hash].needed[e.Seq] = true
	}
	if e.Purge == nil {
		return
	}
	for _, it := range e.Purge.Items {
		if f := all[it.Hash]; f != nil {
			delete(f.needed, it.Seq)
			f.how = wire.Gone{At: e.At.Time(), Rule: e.Purge.Rule}
		}
	}
}

// gone says how a file was purged; nil where it is kept.
func (all evidenced) gone(hash string) *wire.Gone {
	f := all[hash]
	if f == nil || len(f.needed) > 0 {
		return nil
	}
	gone := f.how
	return &gone
}

// Evidence says what a job's record has of a file; ok is false where it names none with that hash.
func (f *Floor) Evidence(ctx context.Context, id, hash string) (n Named, ok bool, err error) {
	err = f.with(ctx, id, func(j *job) error {
		known := j.live.shown[hash]
		if known == nil {
			return nil
		}
		n, ok = Named{Sort: known.sort, Purged: j.live.shown.gone(hash)}, true
		return nil
	})
	return n, ok, err
}

// Photo keeps the entry of a photo whose file is kept under hash. The same id again gives the entry
// that it became; known is true then. The error is a [RefusalError], or what ails the journal.
func (f *Floor) Photo(ctx context.Context, id string, p wire.Photo, hash string) (e wire.Entry, known bool, err error) {
	var r journal.Result
	err = f.with(ctx, id, func(j *job) (err error) {
		for n := 0; n == 0 || n < retries && errors.Is(err, journal.ErrSeq); n++ {
			if r, err = j.photo(ctx, p, hash); err == nil && !r.Known {
				j.tell(r.Entry, nil)
			}
		}
		return err
	})
	return wire.EntryOf(r.Entry), r.Known, err
}

func (j *job) photo(ctx context.Context, p wire.Photo, hash string) (journal.Result, error) {
	if err := j.load(ctx); err != nil {
		return journal.Result{}, err
	}
	if j.live.ids[p.ID] {
		e, err := j.floor.Reader.ByID(ctx, j.id, p.ID)
		if err == nil && e.Kind != journal.Photo {
			err = &RefusalError{Wrong: "the id is that of an entry which is no photo", Do: "make a new id for each photo", Why: ErrID}
		}
		return journal.Result{Entry: e, Known: true}, err
	}
	note, err := j.floor.Reader.ByID(ctx, j.id, p.Of)
	if err == nil && note.Kind != journal.Note {
		err = journal.ErrNotFound
	}
	if errors.Is(err, journal.ErrNotFound) {
		return journal.Result{}, &RefusalError{Wrong: "the note of the photo is not in the record of job " + j.id, Do: "say a note, and take the photo behind it", Why: ErrNoNote}
	}
	if err != nil {
		return journal.Result{}, fmt.Errorf("photo %s on job %s: %w", p.ID, j.id, err)
	}
	return j.record(ctx, journal.Entry{
		Job: j.id, ID: p.ID, Kind: journal.Photo, At: journal.InstantOf(j.floor.Now()), ClientAt: journal.InstantOf(p.ClientAt()),
		Person: p.Person, Bench: p.Bench, Photo: hash, Of: note.Seq, Program: j.floor.Program,
	})
}

// record commits an entry that changes nothing of how the job stands.
func (j *job) record(ctx context.Context, e journal.Entry) (journal.Result, error) {
	if err := j.load(ctx); err != nil {
		return journal.Result{}, err
	}
	e.Seq = j.live.last.Seq + 1
	r, err := j.floor.Writer.Append(ctx, e)
	if err != nil || r.Known {
		j.live = nil // another server has written to the job
	}
	if err != nil {
		return journal.Result{}, fmt.Errorf("entry %s on job %s: %w", e.ID, j.id, err)
	}
	if !r.Known {
		j.live.add(r.Entry)
	}
	return r, nil
}

// Record commits an entry about the record itself, such as a purge, and tells the benches of the job.
// It is kept on a job too that cannot be worked on any more.
func (f *Floor) Record(ctx context.Context, e journal.Entry) error {
	err := f.with(ctx, e.Job, func(j *job) (err error) {
		var r journal.Result
		for n := 0; n == 0 || n < retries && errors.Is(err, journal.ErrSeq); n++ {
			if r, err = j.record(ctx, e); err == nil && !r.Known {
				j.tell(r.Entry, nil)
			}
		}
		return err
	})
	if errors.Is(err, ErrBroken) {
		_, err = f.Writer.Append(ctx, e) // with the seq that the store gives
	}
	return err
}

// shownOf says what there is to hear and see of a note.
func (f *Floor) shownOf(ctx context.Context, id string, note journal.Entry) (s wire.Shown, err error) {
	err = f.with(ctx, id, func(j *job) error {
		if note.Sound != "" {
			s.Sound, s.SoundGone = note.Sound, j.live.shown.gone(note.Sound)
		}
		for _, p := range j.live.photos[note.Seq] {
			p.Gone = j.live.shown.gone(p.Photo)
			s.Photos = append(s.Photos, p)
		}
		return nil
	})
	return s, err
}
