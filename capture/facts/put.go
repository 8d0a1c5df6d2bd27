package facts

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"slices"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"readback/capture/journal"
	"readback/parse/number"
	"readback/parse/unit"
	"readback/rules"
	"readback/rules/spec"
)

// Put adds entries, in the journal's order. What is at a position that was put before is left as
// it is.
func (s *Store) Put(ctx context.Context, entries []journal.Entry) error {
	if len(entries) == 0 {
		return nil
	}
	err := s.putAll(ctx, entries)
	if torn(err) {
		return fmt.Errorf("%w: %w", ErrStale, err)
	}
	return err
}

// torn reports whether the file is no database any more.
func torn(err error) bool {
	e, ok := errors.AsType[*sqlite.Error](err)
	return ok && (e.Code()&0xff == lib.SQLITE_CORRUPT || e.Code()&0xff == lib.SQLITE_NOTADB)
}

func (s *Store) putAll(ctx context.Context, entries []journal.Entry) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("put facts: %w", err)
	}
	defer tx.Rollback()
	for _, e := range entries {
		if e.Position <= s.last.Position {
			continue
		}
		if err := s.put(ctx, tx, e); err != nil {
			return fmt.Errorf("put facts of entry %s: %w", e.ID, err)
		}
	}
	last := entries[len(entries)-1]
	if last.Position < s.last.Position {
		return nil
	}
	if _, err := tx.ExecContext(ctx, "UPDATE mark SET position = ?, id = ?", last.Position, last.ID); err != nil {
		return fmt.Errorf("put facts: %w", err)
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("put facts: %w", err)
	}
	s.last = Mark{last.Position, last.ID}
	return nil
}

// put keeps one entry. What it adds to memory is true of the journal, whatever becomes of the
// batch.
func (s *Store) put(ctx context.Context, tx *sql.Tx, e journal.Entry) error {
	switch e.Kind {
	case journal.Opened:
		return s.putJob(ctx, tx, e)
	case journal.Note:
	case journal.Photo, journal.Purged, journal.Heeded, journal.Disposed, journal.Clock:
		return nil
	}
	if _, err := tx.ExecContext(ctx, "INSERT OR IGNORE INTO persons VALUES (?)", e.Person); err != nil {
		return err
	}
	s.known.Persons[e.Person] = true
	a := AnswerOf(e)
	for _, r := range a.Readings {
		if err := s.reading(ctx, tx, e, r.Callout, r.Unit, r.Value.Rat(), string(r.Verdict)); err != nil {
			return err
		}
	}
	return s.derived(ctx, tx, e, a)
}

func (s *Store) reading(ctx context.Context, tx *sql.Tx, e journal.Entry, callout, code string, value *big.Rat, verdict string) error {
	s.known.Callouts[callout] = true
	y, _ := value.Float64()
	_, err := tx.ExecContext(ctx, "INSERT INTO readings VALUES (?, ?, ?, ?, ?, ?)", e.Position, e.Job, callout, code, y, verdict)
	return err
}

func (s *Store) putJob(ctx context.Context, tx *sql.Tx, e journal.Entry) error {
	sum := sha256.Sum256([]byte(e.SpecText))
	j := Job{Spec: e.Spec, Options: e.Options, hash: hex.EncodeToString(sum[:])}
	options, err := json.Marshal(e.Options)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "INSERT OR IGNORE INTO specs VALUES (?, ?)", j.hash, e.SpecText); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "INSERT OR REPLACE INTO jobs VALUES (?, ?, ?, ?)", e.Job, j.Spec, string(options), j.hash); err != nil {
		return err
	}
	s.opened(e.Job, j)
	return nil
}

// plan is what a spec computes.
type plan struct {
	computed []*rules.Callout
	units    map[string]string // of every callout
}

// planOf returns the plan of a job; one without a spec that can be read computes nothing.
func (s *Store) planOf(ctx context.Context, tx *sql.Tx, job string) (*plan, error) {
	hash := s.jobs[job].hash
	if p := s.plans[hash]; p != nil {
		return p, nil
	}
	p := &plan{units: map[string]string{}}
	var text string
	err := tx.QueryRowContext(ctx, "SELECT text FROM specs WHERE hash = ?", hash).Scan(&text)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return nil, err
	}
	s.plans[hash] = p
	read, err := spec.Load("spec.yaml", []byte(text))
	if err != nil {
		return p, nil //nolint:nilerr // a spec of another time is no reason to forget the rest
	}
	for i := range read.Callouts {
		c := &read.Callouts[i]
		p.units[c.ID] = c.Unit
		if c.Derived != nil {
			p.computed = append(p.computed, c)
		}
	}
	return p, nil
}

var errNotRead = errors.New("not read yet")

// derived keeps what the spec computes from this note's readings and those before it, such as end
// play.
func (s *Store) derived(ctx context.Context, tx *sql.Tx, e journal.Entry, a Answer) error {
	if len(a.Readings) == 0 {
		return nil
	}
	p, err := s.planOf(ctx, tx, e.Job)
	if err != nil {
		return err
	}
	for _, c := range p.computed {
		reads := func(r rules.Reading) bool {
			return r.Verdict != rules.Unclear && slices.Contains(c.Derived.Names(), r.Callout)
		}
		if !slices.ContainsFunc(a.Readings, reads) {
			continue
		}
		y, err := c.Derived.Eval(func(name string) (*big.Rat, error) { return s.standing(ctx, tx, e.Job, name, p.units[name], c.Unit) })
		if errors.Is(err, errNotRead) {
			continue
		}
		if err != nil {
			continue // divided by zero: there is no value
		}
		verdict, err := s.before(ctx, tx, e.Job, c.ID, y)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(a.Findings, func(f rules.Finding) bool { return f.Rule == rules.RuleDerived && f.Callout == c.ID }) {
			verdict = rules.Out
		}
		if err := s.reading(ctx, tx, e, c.ID, c.Unit, y, string(verdict)); err != nil {
			return err
		}
	}
	return nil
}

// before returns the verdict that a computed value had if it was the same right before: an answer tells only of
// findings that are new or have changed. It is in where the value was another, or none.
func (s *Store) before(ctx context.Context, tx *sql.Tx, job, callout string, value *big.Rat) (rules.Verdict, error) {
	var was float64
	var verdict string
	err := tx.QueryRowContext(ctx, "SELECT value, verdict FROM readings WHERE job = ? AND callout = ? ORDER BY position DESC LIMIT 1", job, callout).Scan(&was, &verdict)
	is, _ := value.Float64()
	switch {
	case errors.Is(err, sql.ErrNoRows), err == nil && was != is:
		return rules.In, nil
	}
	return rules.Verdict(verdict), err
}

// standing returns the last reading of a callout, in the unit that it is computed with: that of the
// result where it is of its quantity.
func (s *Store) standing(ctx context.Context, tx *sql.Tx, job, callout, own, result string) (*big.Rat, error) {
	var value float64
	var code string
	err := tx.QueryRowContext(ctx, "SELECT value, unit FROM readings WHERE job = ? AND callout = ? AND verdict <> 'unclear' ORDER BY position DESC LIMIT 1", job, callout).Scan(&value, &code)
	if err != nil {
		return nil, errNotRead
	}
	exact, ok := number.Parse(fmt.Sprintf("%.12g", value)) // as it was said, but for what a float cannot hold
	if !ok {
		return nil, errNotRead
	}
	for _, to := range []string{result, own} {
		if y, err := unit.Convert(exact.Rat(), code, to); err == nil {
			return y, nil
		}
	}
	return nil, errNotRead
}
