// Package evidence keeps what a note was heard and seen as, its sound and its photos, beside the
// journal: one file each, named by its SHA-256. The entry holds the hash, so that a file that was
// changed is told, and the record stays whole when a file is purged.
//
// A purge is written into the journal before the first file goes: what the record says is gone may
// still be there after a crash, until the next [Purger.Mend]; what it says is kept is never removed.
//
// Start reading at [Files] and [Purger.Purge].
package evidence

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/oklog/ulid/v2"
	"github.com/rs/zerolog"

	"readback/capture/journal"
)

// Sort is what a file is evidence of.
type Sort string

// The sorts.
const (
	Sound Sort = "sound" // what was heard of a note: FLAC
	Photo Sort = "photo" // what a camera saw of it: JPEG
)

// Of returns which file an entry names; an empty hash for none.
func Of(e journal.Entry) (sort Sort, hash string) {
	if e.Photo != "" {
		return Photo, e.Photo
	}
	return Sound, e.Sound
}

// Rule says what is purged.
type Rule struct {
	Sounds, Photos time.Duration // how long each is kept; 0: for good
	Why            string        // stands in the record; "" for the age in words
	By             string        // who asked for it; "" for nobody
}

func (r Rule) of(s Sort) time.Duration {
	if s == Photo {
		return r.Photos
	}
	return r.Sounds
}

// words says why something is purged.
func (r Rule) words() string {
	if r.Why != "" {
		return r.Why
	}
	age := func(d time.Duration) string {
		if days := int(d / (24 * time.Hour)); days != 1 {
			return fmt.Sprintf("older than %d days", days)
		}
		return "older than 1 day"
	}
	switch {
	case r.Photos == 0, r.Photos == r.Sounds:
		return age(r.Sounds)
	case r.Sounds == 0:
		return age(r.Photos)
	}
	return fmt.Sprintf("sounds %s, photos %s", age(r.Sounds), age(r.Photos))
}

// Source is what a purge reads of a journal.
type Source interface {
	After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error)
}

// Folder is where files of one sort lie: a [Files].
type Folder interface {
	Remove(hash string, now time.Time) (bool, error)
	Before(moment time.Time) ([]string, error)
}

// Purger removes evidence. Every field must be set.
type Purger struct {
	Source  Source
	Record  func(ctx context.Context, e journal.Entry) error // commits an entry of a job; the seq is not set
	Folders map[Sort]Folder
	Program string
	Now     func() time.Time
	Log     zerolog.Logger
}

// Report counts what a purge did, or would do.
type Report struct {
	Entries []journal.Entry // what was written into the record, one a job
	Gone    map[Sort]int    // how many sounds and photos the record now says are purged
	Files   int             // how many files were removed
}

// Purge writes into each job's record which of its sounds and photos the rule takes, and then removes
// the files that no entry needs any more, as [Purger.Mend] does. With dry nothing is written, nothing
// removed, and no folder looked at.
func (p *Purger) Purge(ctx context.Context, r Rule, dry bool) (Report, error) {
	report := Report{Gone: map[Sort]int{}}
	now := p.Now()
	s, err := p.scan(ctx)
	if err != nil {
		return report, err
	}
	for _, job := range s.jobs {
		e, err := p.entryOf(job, s.items[job], r, now)
		if err != nil {
			return report, err
		}
		if e.Purge == nil {
			continue
		}
		if !dry {
			if err := p.Record(ctx, e); err != nil {
				return report, fmt.Errorf("purge: record it for job %s: %w", job, err)
			}
		}
		report.Entries = append(report.Entries, e)
		for _, it := range e.Purge.Items {
			report.Gone[s.purge(job, it)]++
		}
	}
	if dry {
		return report, nil
	}
	report.Files, err = p.sweep(ctx, s, now)
	return report, err
}

// Mend removes what a crash has left: the files that the record says are purged, and those of notes that
// were never committed, which no entry names.
func (p *Purger) Mend(ctx context.Context) (files int, err error) {
	now := p.Now() // before the journal is read: what is put meanwhile is too new to go
	s, err := p.scan(ctx)
	if err != nil {
		return 0, err
	}
	return p.sweep(ctx, s, now)
}

// Run mends, then purges by the rule, and again each day until ctx ends. With an empty rule it mends
// alone. What goes wrong is logged, and tried again.
func (p *Purger) Run(ctx context.Context, r Rule) error {
	day := time.NewTicker(24 * time.Hour)
	defer day.Stop()
	for {
		if n, err := p.Mend(ctx); err != nil && ctx.Err() == nil {
			p.Log.Error().Err(err).Msg("what a crash has left could not be looked through")
		} else if n > 0 {
			p.Log.Info().Int("files", n).Msg("files removed that no entry needs")
		}
		if r.Sounds > 0 || r.Photos > 0 {
			p.daily(ctx, r)
		}
		select {
		case <-day.C:
		case <-ctx.Done():
			return context.Cause(ctx)
		}
	}
}

func (p *Purger) daily(ctx context.Context, r Rule) {
	report, err := p.Purge(ctx, r, false)
	if err != nil && ctx.Err() == nil {
		p.Log.Error().Err(err).Msg("purge failed; it is tried again tomorrow")
	} else if len(report.Entries) > 0 {
		p.Log.Info().Int("sounds", report.Gone[Sound]).Int("photos", report.Gone[Photo]).Int("files", report.Files).Msg("purged")
	}
}

// item is one entry that names a file.
type item struct {
	seq    int64
	at     journal.Instant
	sort   Sort
	hash   string
	purged bool
}

// key is a file.
type key struct {
	sort Sort
	hash string
}

// scan is what the whole journal says of its evidence.
type scan struct {
	jobs  []string
	items map[string][]item // by job, in order
}

// page is how many entries are read at a time.
const page = 500

func (p *Purger) scan(ctx context.Context) (*scan, error) {
	s := &scan{items: map[string][]item{}}
	for at := journal.Position(0); ; {
		entries, err := p.Source.After(ctx, at, page)
		if err != nil {
			return nil, fmt.Errorf("purge: read the journal: %w", err)
		}
		for i := range entries {
			s.add(entries[i])
			at = entries[i].Position
		}
		if len(entries) < page {
			return s, nil
		}
	}
}

func (s *scan) add(e journal.Entry) {
	if e.Purge != nil {
		for _, it := range e.Purge.Items {
			s.purge(e.Job, it)
		}
	}
	sort, hash := Of(e)
	if hash == "" {
		return
	}
	if _, known := s.items[e.Job]; !known {
		s.jobs = append(s.jobs, e.Job)
	}
	s.items[e.Job] = append(s.items[e.Job], item{e.Seq, e.At, sort, hash, false})
}

// purge marks an item, and returns its sort.
func (s *scan) purge(job string, purged journal.PurgedItem) (sort Sort) {
	for i := range s.items[job] {
		if it := &s.items[job][i]; it.seq == purged.Seq && it.hash == purged.Hash {
			it.purged, sort = true, it.sort
		}
	}
	return sort
}

// entryOf is what is to be written of a job; its Purge is nil where that is nothing.
func (p *Purger) entryOf(job string, items []item, r Rule, now time.Time) (journal.Entry, error) {
	var gone []journal.PurgedItem
	var before time.Time
	for _, it := range items {
		keep := r.of(it.sort)
		if keep == 0 || it.purged || !it.at.Time().Before(now.Add(-keep)) {
			continue
		}
		gone = append(gone, journal.PurgedItem{Seq: it.seq, Hash: it.hash})
		if cut := now.Add(-keep); cut.After(before) {
			before = cut
		}
	}
	if len(gone) == 0 {
		return journal.Entry{}, nil
	}
	id, err := ulid.New(ulid.Timestamp(now), ulid.DefaultEntropy())
	if err != nil {
		return journal.Entry{}, fmt.Errorf("purge: %w", err)
	}
	return journal.Entry{
		Job: job, ID: id.String(), Kind: journal.Purged, At: journal.InstantOf(now), Person: r.By, Program: p.Program,
		Purge: &journal.Purge{Rule: r.words(), Before: journal.InstantOf(before), Items: gone},
	}, nil
}

// sweep removes the files that are purged wherever they are named, and the settled ones that are named
// nowhere.
func (p *Purger) sweep(ctx context.Context, s *scan, now time.Time) (n int, err error) {
	kept := map[key]bool{} // by whether some entry needs it
	for _, items := range s.items {
		for _, it := range items {
			k := key{it.sort, it.hash}
			kept[k] = kept[k] || !it.purged
		}
	}
	gone, err := p.gone(kept, now)
	if err != nil {
		return 0, err
	}
	for _, k := range gone {
		if err := context.Cause(ctx); err != nil {
			return n, err
		}
		removed, failed := p.Folders[k.sort].Remove(k.hash, now)
		if failed != nil {
			err = errors.Join(err, fmt.Errorf("purge: %w", failed)) // the others go all the same
		} else if removed {
			n++
		}
	}
	return n, err
}

func (p *Purger) gone(kept map[key]bool, now time.Time) ([]key, error) {
	if len(kept) == 0 {
		return nil, nil // the journal may be another one than that of these files
	}
	var gone []key
	for k, needed := range kept {
		if !needed && p.Folders[k.sort] != nil {
			gone = append(gone, k)
		}
	}
	for sort, folder := range p.Folders {
		old, err := folder.Before(now.Add(-settled))
		if err != nil {
			return nil, fmt.Errorf("purge: %w", err)
		}
		for _, hash := range old {
			if _, named := kept[key{sort, hash}]; !named {
				gone = append(gone, key{sort, hash})
			}
		}
	}
	slices.SortFunc(gone, func(a, b key) int {
		return cmp.Or(cmp.Compare(a.sort, b.sort), cmp.Compare(a.hash, b.hash))
	})
	return gone, nil
}
