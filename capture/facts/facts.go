// Package facts keeps the numbers of the notes where they can be asked for: what was measured,
// computed or not in limits, and which job has which spec and options. It follows the journal as
// the index of words does, beside which it lies, and is as much a cache: what it holds comes from
// there and is made again from there.
//
// It promises that a batch is kept whole with the place that it reaches to, and compares values
// exactly, whatever unit they were said in. It knows nothing of words.
package facts

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"sync"

	"readback/capture/journal"
	"readback/rules"
)

// layout counts the changes of the tables and of what is put into them.
const layout = 1

// ErrStale says that the file is not one of this program's, or is torn.
var ErrStale = errors.New("facts: the file cannot be used")

const tables = `
CREATE TABLE IF NOT EXISTS mark (layout INTEGER, position INTEGER, id TEXT) STRICT;
CREATE TABLE IF NOT EXISTS specs (hash TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT;
CREATE TABLE IF NOT EXISTS jobs (
    job     TEXT PRIMARY KEY,
    spec    TEXT NOT NULL,
    options TEXT NOT NULL,  -- JSON object of text
    hash    TEXT NOT NULL   -- of its spec's text
) STRICT;
CREATE TABLE IF NOT EXISTS persons (person TEXT PRIMARY KEY) STRICT;
CREATE TABLE IF NOT EXISTS readings (
    position INTEGER NOT NULL,  -- of the note
    job      TEXT    NOT NULL,
    callout  TEXT    NOT NULL,
    unit     TEXT    NOT NULL,  -- UCUM code, as said
    value    REAL    NOT NULL,  -- in unit
    verdict  TEXT    NOT NULL
) STRICT;
CREATE INDEX IF NOT EXISTS by_value ON readings (callout, unit, value, position);
CREATE INDEX IF NOT EXISTS by_job ON readings (job, callout, position);
`

// Store is a file of facts, or one in memory. It is safe for concurrent use; one follower fills
// it.
type Store struct {
	db *sql.DB

	mu    sync.RWMutex
	jobs  map[string]Job
	plans map[string]*plan // by the hash of a spec's text
	known Known
	last  Mark
}

// Mark is the last entry that was put.
type Mark struct {
	Position journal.Position
	ID       string
}

// Job is what a job was opened with.
type Job struct {
	Spec    string            `json:"spec"`
	Options map[string]string `json:"options,omitempty"`

	hash string
}

// Known lists what may be asked for.
type Known struct {
	Callouts, Persons, Specs map[string]bool
	Options                  map[string]map[string]bool // name to values
}

// Open opens the file, or makes it; "" is one in memory. What cannot be used gives an error that
// wraps [ErrStale].
func Open(ctx context.Context, path string) (*Store, error) {
	dsn := "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + url.Values{"_pragma": {
		"busy_timeout(5000)", "journal_mode(wal)", "synchronous(normal)", "cache_size(-8192)",
	}}.Encode()
	if path == "" {
		dsn = ":memory:"
	}
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, fmt.Errorf("open facts: %w", err)
	}
	db.SetMaxOpenConns(1) // one in memory is a database a connection; a file is read in a millisecond
	db.SetConnMaxLifetime(0)
	s := &Store{db: db, jobs: map[string]Job{}, plans: map[string]*plan{}, known: newKnown()}
	if err := s.load(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("%w: %w", ErrStale, err), db.Close())
	}
	return s, nil
}

func newKnown() Known {
	return Known{map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]map[string]bool{}}
}

// load reads what is kept in memory as well.
func (s *Store) load(ctx context.Context) error {
	if _, err := s.db.ExecContext(ctx, tables); err != nil {
		return fmt.Errorf("make tables: %w", err)
	}
	var of int
	switch err := s.db.QueryRowContext(ctx, "SELECT layout, position, id FROM mark").Scan(&of, &s.last.Position, &s.last.ID); {
	case errors.Is(err, sql.ErrNoRows):
		of = layout
		if _, err := s.db.ExecContext(ctx, "INSERT INTO mark VALUES (?, 0, '')", layout); err != nil {
			return fmt.Errorf("begin: %w", err)
		}
	case err != nil:
		return fmt.Errorf("read the mark: %w", err)
	}
	if of != layout {
		return fmt.Errorf("it has layout %d, not %d", of, layout)
	}
	var options string
	err := s.each(ctx, "SELECT job, spec, options, hash FROM jobs", func(scan func(...any) error) error {
		var id string
		var j Job
		if err := scan(&id, &j.Spec, &options, &j.hash); err != nil {
			return err
		}
		if err := json.Unmarshal([]byte(options), &j.Options); err != nil {
			return err
		}
		s.opened(id, j)
		return nil
	})
	for query, into := range map[string]map[string]bool{
		"SELECT person FROM persons": s.known.Persons, "SELECT DISTINCT callout FROM readings": s.known.Callouts,
	} {
		err = errors.Join(err, s.each(ctx, query, func(scan func(...any) error) error {
			var text string
			err := scan(&text)
			into[text] = true
			return err
		}))
	}
	return err
}

func (s *Store) opened(id string, j Job) {
	s.jobs[id] = j
	s.known.Specs[j.Spec] = true
	for name, value := range j.Options {
		if s.known.Options[name] == nil {
			s.known.Options[name] = map[string]bool{}
		}
		s.known.Options[name][value] = true
	}
}

// each runs do on every row of the query.
func (s *Store) each(ctx context.Context, query string, do func(scan func(...any) error) error, args ...any) error {
	rows, err := s.db.QueryContext(ctx, query, args...)
	if err != nil {
		return fmt.Errorf("read facts: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := do(rows.Scan); err != nil {
			return fmt.Errorf("read facts: %w", err)
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("read facts: %w", err)
	}
	return nil
}

// Last returns the last entry that was put; the zero Mark for none.
func (s *Store) Last() Mark {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.last
}

// Job returns what a job was opened with.
func (s *Store) Job(id string) (Job, bool) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	j, ok := s.jobs[id]
	return j, ok
}

// Read lets do read what is known; it may not keep it.
func (s *Store) Read(do func(Known)) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	do(s.known)
}

// Close frees the file.
func (s *Store) Close() error { return s.db.Close() }

// Answer is what facts and the index of words read of a note's answer.
type Answer struct {
	Readings []rules.Reading `json:"readings,omitempty"`
	Findings []rules.Finding `json:"findings,omitempty"`
}

// AnswerOf reads the answer of an entry; one without gives the zero Answer.
func AnswerOf(e journal.Entry) Answer {
	var a Answer
	if len(e.Answer) > 0 {
		_ = json.Unmarshal(e.Answer, &a) // of an older program: what can be read of it is there
	}
	return a
}
