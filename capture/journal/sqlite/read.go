package sqlite

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"readback/capture/journal"
)

const selectEntry = `SELECT position, job, seq, id, kind, at, client_at, person, bench, text,
	utterance, answer, caution, sound, heard, spec_hash, program, photo, of_seq, purge, disposition, spec, spec_text, shop_text, options FROM entries`

const selectJobs = `SELECT e.job, e.spec, e.options, e.person, e.at,
	(SELECT at FROM entries WHERE job = e.job ORDER BY seq DESC LIMIT 1),
	(SELECT max(seq) FROM entries WHERE job = e.job)
	FROM entries AS e WHERE e.seq = 1 ORDER BY e.position`

// selectPeople goes from one name to the next in the index of people, and reads no other row of theirs than
// the last.
const selectPeople = `WITH RECURSIVE people (person) AS (
		SELECT min(person) FROM entries WHERE kind = 'note'
		UNION ALL
		SELECT (SELECT min(person) FROM entries WHERE kind = 'note' AND person > people.person) FROM people WHERE people.person IS NOT NULL
	)
	SELECT person FROM people WHERE person IS NOT NULL AND person <> ?
	ORDER BY (SELECT max(position) FROM entries WHERE kind = 'note' AND person = people.person) DESC LIMIT ?`

// After returns entries past the position; see [journal.Store].
func (s *Store) After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error) {
	found, err := s.list(ctx, selectEntry+" WHERE position > ? ORDER BY position LIMIT ?", int64(at), max(limit, 0))
	if err != nil {
		return nil, fmt.Errorf("read journal after %d: %w", at, err)
	}
	return found, nil
}

// Entries returns entries of one job; see [journal.Store].
func (s *Store) Entries(ctx context.Context, job string, afterSeq int64, limit int) ([]journal.Entry, error) {
	found, err := s.list(ctx, selectEntry+" WHERE job = ? AND seq > ? ORDER BY seq LIMIT ?", job, afterSeq, max(limit, 0))
	if err == nil && len(found) == 0 {
		err = s.exists(ctx, job)
	}
	if err != nil {
		return nil, fmt.Errorf("read job %s: %w", job, err)
	}
	return found, nil
}

// exists returns ErrNotFound for a job without entries.
func (s *Store) exists(ctx context.Context, job string) error {
	var one int
	err := s.read.QueryRowContext(ctx, "SELECT 1 FROM entries WHERE job = ? AND seq = 1", job).Scan(&one)
	return s.explain(err)
}

// ByID returns one entry of a job; see [journal.Store].
func (s *Store) ByID(ctx context.Context, job, id string) (journal.Entry, error) {
	err := s.ready(ctx)
	var e journal.Entry
	if err == nil {
		e, err = scan(s.read.QueryRowContext(ctx, selectEntry+" WHERE id = ? AND job = ?", id, job))
	}
	if err != nil {
		return journal.Entry{}, fmt.Errorf("read entry %s of job %s: %w", id, job, s.explain(err))
	}
	return e, nil
}

// Jobs lists the jobs; see [journal.Store].
func (s *Store) Jobs(ctx context.Context) ([]journal.Job, error) {
	jobs, err := collect(ctx, s, scanJob, selectJobs)
	if err != nil {
		return nil, fmt.Errorf("list jobs: %w", err)
	}
	return jobs, nil
}

// People lists who said notes; see [journal.Store].
func (s *Store) People(ctx context.Context, limit int) ([]string, error) {
	people, err := collect(ctx, s, scanPerson, selectPeople, journal.NotStated, max(limit, 0))
	if err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	return people, nil
}

func scanPerson(row scanner) (person string, err error) {
	err = row.Scan(&person)
	return person, err
}

func (s *Store) list(ctx context.Context, query string, args ...any) ([]journal.Entry, error) {
	return collect(ctx, s, scan, query, args...)
}

type scanner interface{ Scan(into ...any) error }

// collect reads every row of a query.
func collect[T any](ctx context.Context, s *Store, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	rows, err := s.read.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, s.explain(err)
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, s.explain(err)
		}
		out = append(out, one)
	}
	return out, s.explain(rows.Err())
}

func scan(row scanner) (journal.Entry, error) {
	var e journal.Entry
	var uttered, answer, heard, purge, disposition, options string
	err := row.Scan(&e.Position, &e.Job, &e.Seq, &e.ID, &e.Kind, &e.At, &e.ClientAt, &e.Person, &e.Bench, &e.Text,
		&uttered, &answer, &e.Caution, &e.Sound, &heard, &e.SpecHash, &e.Program, &e.Photo, &e.Of, &purge, &disposition, &e.Spec, &e.SpecText, &e.ShopText, &options)
	if err != nil {
		return journal.Entry{}, err
	}
	if answer != "" {
		e.Answer = json.RawMessage(answer)
	}
	if heard != "" {
		e.Heard = json.RawMessage(heard)
	}
	if uttered != "" {
		e.Uttered = json.RawMessage(uttered)
	}
	var errs [4]error
	e.Utterance, errs[0] = journal.DecodeUtterance(uttered)
	e.Options, errs[1] = decodeOptions(options)
	e.Purge, errs[2] = decodePurge(purge)
	e.Disposition, errs[3] = decodeDisposition(disposition)
	return e, errors.Join(errs[:]...)
}

func scanJob(row scanner) (journal.Job, error) {
	var j journal.Job
	var options string
	err := row.Scan(&j.ID, &j.Spec, &options, &j.Person, &j.First, &j.Last, &j.Entries)
	if err == nil {
		j.Options, err = decodeOptions(options)
	}
	return j, err
}

func decodePurge(text string) (*journal.Purge, error) {
	if text == "" {
		return nil, nil //nolint:nilnil // nearly every entry purges nothing
	}
	purge := new(journal.Purge)
	if err := json.Unmarshal([]byte(text), purge); err != nil {
		return nil, fmt.Errorf("decode what is purged: %w", err)
	}
	return purge, nil
}

func decodeDisposition(text string) (*journal.Disposition, error) {
	if text == "" {
		return nil, nil //nolint:nilnil // nearly every entry decides nothing
	}
	d := new(journal.Disposition)
	if err := json.Unmarshal([]byte(text), d); err != nil {
		return nil, fmt.Errorf("decode disposition: %w", err)
	}
	return d, nil
}

func decodeOptions(text string) (map[string]string, error) {
	if text == "" {
		return nil, nil //nolint:nilnil // a job without options is an ordinary thing
	}
	var options map[string]string
	if err := json.Unmarshal([]byte(text), &options); err != nil {
		return nil, fmt.Errorf("decode options: %w", err)
	}
	return options, nil
}
