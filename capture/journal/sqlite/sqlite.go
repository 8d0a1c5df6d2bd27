// Package sqlite keeps a journal in one folder, in an SQLite file with a write-ahead log:
// the embedded store of one server.
//
// A commit returns after the log was synced to the disk (synchronous=FULL, fdatasync), so
// that a kill or a power cut after it loses nothing. One connection writes; readers have
// their own and never wait for it. A lock on the folder keeps a second server out.
//
// Start reading at [Open]; append.go and read.go are the two sides of the store.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"readback/capture/journal"
)

// File is the name of the journal in its folder.
const File = "journal.db"

// Store is a journal in a folder. Use [Open] or [OpenReadOnly].
type Store struct {
	dir    string
	lock   *os.File // nil for a reader
	closed atomic.Bool

	mu     sync.Mutex // held while a batch is written
	write  *sql.DB    // one connection, nil for a reader
	writer *writer

	read *sql.DB
}

var _ journal.Store = (*Store)(nil)

// Open opens the journal in dir for writing, and makes both if they are not there, readable
// by their owner alone. It returns [journal.ErrInUse] if another server has the folder,
// and [journal.ErrReadOnly] or [journal.ErrFull] if nothing can be written there.
func Open(ctx context.Context, dir string) (*Store, error) {
	s := &Store{dir: dir}
	if err := s.open(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open journal in %s: %w", dir, s.explain(err)), s.Close())
	}
	return s, nil
}

func (s *Store) open(ctx context.Context) (err error) {
	if err := makeFolder(s.dir); err != nil {
		return err
	}
	if s.lock, err = lockFolder(s.dir); err != nil {
		return err
	}
	if err := makeFile(s.path()); err != nil {
		return err
	}
	if s.write, err = openWriter(s.path()); err != nil {
		return err
	}
	if s.writer, err = newWriter(ctx, s.write); err != nil {
		return err
	}
	s.read, err = openReaders(ctx, s.path())
	return err
}

// OpenReadOnly opens the journal in dir for reading, also while a server uses it. Append
// gives [journal.ErrReadOnly]. Where there is no journal it returns [journal.ErrNotFound].
func OpenReadOnly(ctx context.Context, dir string) (*Store, error) {
	s := &Store{dir: dir}
	if _, err := os.Stat(s.path()); errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("open journal in %s: no %s there: %w", dir, File, journal.ErrNotFound)
	}
	var err error
	s.read, err = openReaders(ctx, s.path())
	if errors.Is(s.explain(err), journal.ErrReadOnly) && !hasLog(s.path()) {
		s.read, err = openUnchanging(ctx, s.path())
	}
	if err == nil {
		err = checkVersion(ctx, s.read)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open journal in %s to read: %w", dir, s.explain(err)), s.Close())
	}
	return s, nil
}

// Close waits for the batch that is being written and frees the folder.
func (s *Store) Close() error {
	if s.closed.Swap(true) {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	var errs []error
	if s.read != nil {
		errs = append(errs, s.read.Close())
	}
	if s.writer != nil {
		errs = append(errs, s.writer.close())
	}
	if s.write != nil {
		errs = append(errs, s.write.Close())
	}
	if s.lock != nil {
		errs = append(errs, s.lock.Close()) // frees the lock
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("close journal in %s: %w", s.dir, err)
	}
	return nil
}

func (s *Store) path() string { return filepath.Join(s.dir, File) }

// ready tells whether the store can be used at all.
func (s *Store) ready(ctx context.Context) error {
	if s.closed.Load() {
		return journal.ErrClosed
	}
	return context.Cause(ctx)
}
