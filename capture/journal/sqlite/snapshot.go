package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	"readback/capture/folder"
	"readback/capture/journal"
)

// Snapshot writes the journal of the folder dir, as it is at one moment, into a new file, also while a server writes
// to it: neither waits for the other. The file is on the disk when Snapshot returns, is whole by itself, without a
// log, and for its owner alone. After an error what there is of it is removed.
func Snapshot(ctx context.Context, dir, to string) (err error) {
	from, err := OpenReadOnly(ctx, dir) // what is wrong with the folder is told as ever
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, from.Close()) }()
	if to, err = filepath.Abs(to); err != nil {
		return fmt.Errorf("copy the journal: %w", err)
	}
	with := url.Values{"mode": {"ro"}, "_pragma": {busyWait}} // not query_only: that keeps from writing any other file as well
	err = vacuum(ctx, dsn(from.path(), with), to)
	if errors.Is(from.explain(err), journal.ErrReadOnly) && !hasLog(from.path()) { // a disk that cannot be written, as in OpenReadOnly
		with["immutable"] = []string{"1"}
		err = vacuum(ctx, dsn(from.path(), with), to)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("copy the journal to %s: %w", to, (&Store{dir: filepath.Dir(to)}).explain(err)), remove(to))
	}
	f, err := os.OpenFile(to, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("copy the journal: %w", err)
	}
	if err := errors.Join(f.Chmod(0o600), f.Sync(), f.Close(), folder.Sync(filepath.Dir(to))); err != nil {
		return errors.Join(fmt.Errorf("copy the journal to %s: %w", to, err), remove(to))
	}
	return nil
}

// vacuum writes what a reader sees at one moment into a new file.
func vacuum(ctx context.Context, from, to string) error {
	db, err := sql.Open("sqlite", from)
	if err != nil {
		return fmt.Errorf("open to copy: %w", err)
	}
	_, err = db.ExecContext(ctx, "VACUUM INTO ?", to)
	return errors.Join(err, db.Close())
}

func remove(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("remove what was copied: %w", err)
	}
	return nil
}
