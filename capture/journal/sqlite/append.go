package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"readback/capture/journal"
)

const insertEntry = `INSERT INTO entries (job, seq, id, kind, at, client_at, person, bench,
	text, utterance, answer, caution, sound, heard, spec_hash, program, photo, of_seq, purge, disposition, spec, spec_text, shop_text, options)
	VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`

// writer is the one connection that writes, with its statements.
type writer struct {
	conn                  *sql.Conn
	insert, lastSeq, byID *sql.Stmt
}

func newWriter(ctx context.Context, db *sql.DB) (*writer, error) {
	conn, err := db.Conn(ctx)
	if err != nil {
		return nil, fmt.Errorf("open to write: %w", err)
	}
	w := &writer{conn: conn}
	if err := w.prepare(ctx); err != nil {
		return nil, closing(err, w.conn)
	}
	return w, nil
}

func (w *writer) prepare(ctx context.Context) error {
	if err := durable(ctx, w.conn); err != nil {
		return err
	}
	if err := migrate(ctx, w.conn); err != nil {
		return err
	}
	var errs [3]error
	w.insert, errs[0] = w.conn.PrepareContext(ctx, insertEntry)
	w.lastSeq, errs[1] = w.conn.PrepareContext(ctx, "SELECT coalesce(max(seq), 0) FROM entries WHERE job = ?")
	w.byID, errs[2] = w.conn.PrepareContext(ctx, selectEntry+" WHERE id = ?")
	if err := errors.Join(errs[:]...); err != nil {
		return fmt.Errorf("prepare statements: %w", err)
	}
	return nil
}

func (w *writer) close() error {
	return errors.Join(w.insert.Close(), w.lastSeq.Close(), w.byID.Close(), w.conn.Close())
}

// Append commits the batch; see [journal.Store]. A ctx that ends while it writes does not
// cut it short.
func (s *Store) Append(ctx context.Context, batch []journal.Entry) ([]journal.Result, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.ready(ctx)
	if err == nil && s.writer == nil {
		err = fmt.Errorf("%w: it was opened to read", journal.ErrReadOnly)
	}
	var results []journal.Result
	if err == nil {
		results, err = s.writer.append(context.WithoutCancel(ctx), batch)
	}
	if err != nil {
		return nil, fmt.Errorf("append %d entries: %w", len(batch), s.explain(err))
	}
	return results, nil
}

// append writes the batch in one transaction of its own. BEGIN and COMMIT are said by hand:
// after a failed commit sql.Tx would give the connection back without rolling back.
func (w *writer) append(ctx context.Context, batch []journal.Entry) ([]journal.Result, error) {
	if _, err := w.conn.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		return nil, err
	}
	results := make([]journal.Result, len(batch))
	last := map[string]int64{}
	for i, e := range batch {
		var err error
		if results[i], err = w.add(ctx, last, e); err != nil {
			return nil, rollback(ctx, w.conn, err)
		}
	}
	if _, err := w.conn.ExecContext(ctx, "COMMIT"); err != nil {
		return nil, rollback(ctx, w.conn, err)
	}
	return results, nil
}

// add writes one entry. last holds the last seq of each job of the batch. The error is the
// store's; what refuses the entry alone is in the Result.
func (w *writer) add(ctx context.Context, last map[string]int64, e journal.Entry) (journal.Result, error) {
	e, refused := journal.Prepare(e)
	if refused != nil {
		return journal.Result{Err: refused}, nil //nolint:nilerr // of this entry alone: the batch goes on
	}
	next, err := w.next(ctx, last, e.Job)
	if err != nil {
		return journal.Result{}, err
	}
	if e.Seq != 0 && e.Seq != next {
		wrong := journal.Result{Err: fmt.Errorf("%w: job %s is at %d, not %d", journal.ErrSeq, e.Job, next, e.Seq)}
		return w.known(ctx, e, wrong)
	}
	e.Seq = next
	at, added, err := w.put(ctx, e)
	if err != nil {
		return journal.Result{}, fmt.Errorf("entry %s: %w", e.ID, err)
	}
	if !added { // its id is there: a row of this job or of another
		return w.known(ctx, e, journal.Result{Err: journal.ErrOtherJob})
	}
	e.Position, last[e.Job] = at, next
	return journal.Result{Entry: e}, nil
}

// next returns the seq that the job's next entry gets.
func (w *writer) next(ctx context.Context, last map[string]int64, job string) (int64, error) {
	seq, read := last[job]
	if !read {
		if err := w.lastSeq.QueryRowContext(ctx, job).Scan(&seq); err != nil {
			return 0, fmt.Errorf("last seq of job %s: %w", job, err)
		}
		last[job] = seq
	}
	return seq + 1, nil
}

// known returns what was kept before under e's id, or otherwise if nothing was.
func (w *writer) known(ctx context.Context, e journal.Entry, otherwise journal.Result) (journal.Result, error) {
	kept, err := scan(w.byID.QueryRowContext(ctx, e.ID))
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return otherwise, nil
	case err != nil:
		return journal.Result{}, fmt.Errorf("look for id %s: %w", e.ID, err)
	case kept.Job != e.Job:
		return journal.Result{Err: journal.ErrOtherJob}, nil
	}
	return journal.Result{Entry: kept, Known: true}, nil
}

// put inserts e, which was prepared, unless its id is there already.
func (w *writer) put(ctx context.Context, e journal.Entry) (at journal.Position, added bool, err error) {
	options, err := encodeOptions(e.Options)
	if err != nil {
		return 0, false, err
	}
	purge, err := encodePurge(e.Purge)
	if err != nil {
		return 0, false, err
	}
	disposition, err := encodeDisposition(e.Disposition)
	if err != nil {
		return 0, false, err
	}
	done, err := w.insert.ExecContext(ctx, e.Job, e.Seq, e.ID, string(e.Kind), int64(e.At), int64(e.ClientAt),
		e.Person, e.Bench, e.Text, string(e.Uttered), string(e.Answer), e.Caution, e.Sound, string(e.Heard), e.SpecHash, e.Program, e.Photo, e.Of, purge, disposition, e.Spec, e.SpecText, e.ShopText, options)
	if err != nil {
		return 0, false, err
	}
	rows, err := done.RowsAffected()
	if err != nil || rows == 0 {
		return 0, false, err
	}
	id, err := done.LastInsertId()
	return journal.Position(id), true, err
}

func encodePurge(purge *journal.Purge) (string, error) {
	if purge == nil {
		return "", nil
	}
	text, err := json.Marshal(purge)
	if err != nil {
		return "", fmt.Errorf("encode what is purged: %w", err)
	}
	return string(text), nil
}

func encodeDisposition(d *journal.Disposition) (string, error) {
	if d == nil {
		return "", nil
	}
	text, err := json.Marshal(d)
	if err != nil {
		return "", fmt.Errorf("encode disposition: %w", err)
	}
	return string(text), nil
}

func encodeOptions(options map[string]string) (string, error) {
	if len(options) == 0 {
		return "", nil
	}
	text, err := json.Marshal(options) // sorts its keys
	if err != nil {
		return "", fmt.Errorf("encode options: %w", err)
	}
	return string(text), nil
}
