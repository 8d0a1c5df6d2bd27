package seal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"

	_ "modernc.org/sqlite" // the driver of the trees' file

	"readback/capture/journal"
)

// shopTree is the name of the shop log among the trees; the others have the names of their jobs.
const shopTree = ""

// trees keeps the whole nodes of every tree in a file. It is a cache: it follows from the journal and the
// events of the key, and is checked against signed heads whenever it is opened.
type trees struct{ db *sql.DB }

const treesSchema = `
CREATE TABLE IF NOT EXISTS nodes (
    tree  TEXT    NOT NULL, -- the job, or '' for the shop log
    level INTEGER NOT NULL, -- 0: leaves
    at    INTEGER NOT NULL, -- counts the nodes of a level from 0
    hash  BLOB    NOT NULL,
    PRIMARY KEY (tree, level, at)
) STRICT, WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS sealed (
    job  TEXT    NOT NULL,
    seq  INTEGER NOT NULL,
    shop INTEGER NOT NULL, -- the leaf of the shop log that is the job's head with this entry
    PRIMARY KEY (job, seq)
) STRICT, WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS progress (
    one      INTEGER PRIMARY KEY CHECK (one = 1),
    position INTEGER NOT NULL, -- of the last entry in the journal that is in here
    size     INTEGER NOT NULL  -- leaves of the shop log
) STRICT;
INSERT OR IGNORE INTO progress VALUES (1, 0, 0);
`

func openTrees(ctx context.Context, path string) (*trees, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600) // for its owner alone, whatever the process's mask
	if err != nil {
		return nil, fmt.Errorf("open the trees: %w", err)
	}
	if err := f.Close(); err != nil {
		return nil, fmt.Errorf("open the trees: %w", err)
	}
	// What a power cut takes from a cache is made again: a commit need not wait for the disk.
	t, err := dialTrees(path, url.Values{"_pragma": {"busy_timeout(5000)", "journal_mode(wal)", "synchronous(normal)"}})
	if err != nil {
		return nil, err
	}
	if _, err := t.db.ExecContext(ctx, treesSchema); err != nil {
		return nil, errors.Join(fmt.Errorf("open the trees: %w", err), t.close())
	}
	return t, nil
}

// readTrees opens the file to read, also beside a server. On a disk that cannot be written, where the memory
// that a reader shares with a writer cannot be made, it is read as one that nobody changes.
func readTrees(ctx context.Context, path string) (*trees, error) {
	with := url.Values{"mode": {"ro"}, "_pragma": {"busy_timeout(5000)", "query_only(1)"}}
	t, err := dialTrees(path, with)
	if err != nil {
		return nil, err
	}
	if _, _, err = t.progress(ctx); err == nil {
		return t, nil
	}
	if info, errLog := os.Stat(path + "-wal"); errLog == nil && info.Size() > 0 {
		return nil, errors.Join(err, t.close())
	}
	with["immutable"] = []string{"1"}
	if err := t.close(); err != nil {
		return nil, err
	}
	if t, err = dialTrees(path, with); err != nil {
		return nil, err
	}
	if _, _, err = t.progress(ctx); err != nil {
		return nil, errors.Join(err, t.close())
	}
	return t, nil
}

func dialTrees(path string, with url.Values) (*trees, error) {
	db, err := sql.Open("sqlite", "file:"+(&url.URL{Path: path}).EscapedPath()+"?"+with.Encode())
	if err != nil {
		return nil, fmt.Errorf("open the trees: %w", err)
	}
	return &trees{db}, nil
}

func (t *trees) close() error {
	if err := t.db.Close(); err != nil {
		return fmt.Errorf("close the trees: %w", err)
	}
	return nil
}

// progress returns how far the trees have come.
func (t *trees) progress(ctx context.Context) (at journal.Position, size uint64, err error) {
	if err := t.db.QueryRowContext(ctx, "SELECT position, size FROM progress").Scan(&at, &size); err != nil {
		return 0, 0, fmt.Errorf("read how far the trees have come: %w", err)
	}
	return at, size, nil
}

// of returns the nodes of one tree.
func (t *trees) of(ctx context.Context, tree string) nodes {
	return func(id node) (Hash, error) {
		var hash []byte
		err := t.db.QueryRowContext(ctx, "SELECT hash FROM nodes WHERE tree = ? AND level = ? AND at = ?", tree, id.Level, id.Index).Scan(&hash)
		if err == nil && len(hash) != len(Hash{}) {
			err = errors.New("it is no hash")
		}
		if err != nil {
			return Hash{}, fmt.Errorf("node %d of level %d of tree %q: %w", id.Index, id.Level, tree, err)
		}
		return Hash(hash), nil
	}
}

// entries returns how many entries of a job are in the trees.
func (t *trees) entries(ctx context.Context, job string) (n uint64, err error) {
	if err := t.db.QueryRowContext(ctx, "SELECT coalesce(max(seq), 0) FROM sealed WHERE job = ?", job).Scan(&n); err != nil {
		return 0, fmt.Errorf("how many entries of job %s are sealed: %w", job, err)
	}
	return n, nil
}

// place returns the leaf of the shop log that is the head of a job with its first n entries.
func (t *trees) place(ctx context.Context, job string, n uint64) (shop uint64, err error) {
	if err := t.db.QueryRowContext(ctx, "SELECT shop FROM sealed WHERE job = ? AND seq = ?", job, n).Scan(&shop); err != nil {
		return 0, fmt.Errorf("entry %d of job %s among the sealed: %w", n, job, err)
	}
	return shop, nil
}

// leaves returns the first n leaves of a tree.
func (t *trees) leaves(ctx context.Context, tree string, n uint64) ([]Hash, error) {
	rows, err := t.db.QueryContext(ctx, "SELECT hash FROM nodes WHERE tree = ? AND level = 0 AND at < ? ORDER BY at", tree, n)
	if err != nil {
		return nil, fmt.Errorf("leaves of tree %q: %w", tree, err)
	}
	defer rows.Close()
	out := make([]Hash, 0, n)
	for rows.Next() {
		var hash []byte
		if err := rows.Scan(&hash); err != nil {
			return nil, fmt.Errorf("leaves of tree %q: %w", tree, err)
		}
		if len(hash) != len(Hash{}) {
			return nil, fmt.Errorf("leaves of tree %q: one is no hash", tree)
		}
		out = append(out, Hash(hash))
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("leaves of tree %q: %w", tree, err)
	}
	if uint64(len(out)) != n {
		return nil, fmt.Errorf("leaves of tree %q: there are %d, not %d", tree, len(out), n)
	}
	return out, nil
}

// batch is what is added to the trees at a time: all of it or nothing.
type batch struct {
	tx         *sql.Tx
	node, seal *sql.Stmt
	err        error // the first
}

func (t *trees) begin(ctx context.Context) (*batch, error) {
	tx, err := t.db.BeginTx(ctx, nil)
	if err != nil {
		return nil, fmt.Errorf("add to the trees: %w", err)
	}
	b := &batch{tx: tx}
	var errs [2]error
	b.node, errs[0] = tx.PrepareContext(ctx, "INSERT OR REPLACE INTO nodes VALUES (?, ?, ?, ?)")
	b.seal, errs[1] = tx.PrepareContext(ctx, "INSERT OR REPLACE INTO sealed VALUES (?, ?, ?)")
	if err := errors.Join(errs[:]...); err != nil {
		return nil, errors.Join(fmt.Errorf("add to the trees: %w", err), tx.Rollback())
	}
	return b, nil
}

// put keeps a node of a tree.
func (b *batch) put(ctx context.Context, tree string) func(node, Hash) {
	return func(id node, hash Hash) {
		if b.err == nil {
			_, b.err = b.node.ExecContext(ctx, tree, id.Level, id.Index, hash[:])
		}
	}
}

func (b *batch) sealed(ctx context.Context, job string, seq int64, shop uint64) {
	if b.err == nil {
		_, b.err = b.seal.ExecContext(ctx, job, seq, shop)
	}
}

func (b *batch) commit(ctx context.Context, at journal.Position, size uint64) error {
	if b.err == nil {
		_, b.err = b.tx.ExecContext(ctx, "UPDATE progress SET position = ?, size = ?", int64(at), size)
	}
	if b.err != nil {
		return errors.Join(fmt.Errorf("add to the trees: %w", b.err), b.tx.Rollback())
	}
	if err := b.tx.Commit(); err != nil {
		return fmt.Errorf("add to the trees: %w", err)
	}
	return nil
}
