package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"syscall"

	driver "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"readback/capture/folder"
	"readback/capture/journal"
)

// explain turns what the system or the driver says into the journal's words, so that no
// caller depends on either.
func (s *Store) explain(err error) error {
	if err == nil {
		return nil
	}
	if fault, ok := errors.AsType[*driver.Error](err); ok {
		return s.byCode(fault)
	}
	switch {
	case folder.Full(err):
		return fmt.Errorf("%w: %w", journal.ErrFull, err)
	case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%w: %w", journal.ErrReadOnly, err)
	case errors.Is(err, sql.ErrNoRows):
		return journal.ErrNotFound
	case errors.Is(err, sql.ErrConnDone) || s.closed.Load():
		return journal.ErrClosed
	}
	return err
}

// byCode reads SQLite's result code; the low byte says of which sort it is.
func (s *Store) byCode(fault *driver.Error) error {
	switch fault.Code() & 0xff {
	case codes.SQLITE_FULL:
		return fmt.Errorf("%w: %s", journal.ErrFull, fault.Error())
	case codes.SQLITE_READONLY:
		return fmt.Errorf("%w: %s", journal.ErrReadOnly, fault.Error())
	case codes.SQLITE_IOERR, codes.SQLITE_CANTOPEN:
		if reason := s.diskTrouble(); reason != nil {
			return fmt.Errorf("%w: %s", reason, fault.Error())
		}
	}
	return fmt.Errorf("sqlite: %s", fault.Error()) // its text alone: no caller depends on the driver
}

// diskTrouble looks at the disk itself, where SQLite only says that a call failed.
func (s *Store) diskTrouble() error {
	var disk syscall.Statfs_t
	const readOnly = 1 // ST_RDONLY of statfs(2)
	switch err := syscall.Statfs(s.dir, &disk); {
	case err != nil:
		return nil //nolint:nilerr // then SQLite's own words have to do
	case disk.Flags&readOnly != 0:
		return journal.ErrReadOnly
	case disk.Bavail == 0:
		return journal.ErrFull
	}
	return nil
}

// rollback ends what err has cut short, so that the connection can begin again.
func rollback(ctx context.Context, conn *sql.Conn, err error) error {
	// SQLite has rolled back by itself after some errors, and then says that there is
	// nothing to roll back.
	_, _ = conn.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
	return err
}

func closing(err error, c io.Closer) error { return errors.Join(err, c.Close()) }
