package sqlite

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"readback/capture/folder"
	"readback/capture/journal"
)

const lockFile = "lock"

// makeFolder makes dir, for its owner alone, if it is not there.
func makeFolder(dir string) error {
	info, err := os.Stat(dir)
	switch {
	case err == nil && !info.IsDir():
		return fmt.Errorf("%s is a file: name a folder", dir)
	case err == nil:
		return nil
	case !errors.Is(err, os.ErrNotExist):
		return fmt.Errorf("look at the folder: %w", err)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("make the folder: %w", err)
	}
	return folder.Sync(filepath.Dir(filepath.Clean(dir)))
}

// lockFolder takes the lock of the folder until the file that it returns is closed or the
// process ends, however it ends.
func lockFolder(dir string) (*os.File, error) {
	f, err := os.OpenFile(filepath.Join(dir, lockFile), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("lock the folder: %w", err)
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return nil, errors.Join(fmt.Errorf("%w (%s): stop that one or name another folder",
			journal.ErrInUse, holder(f)), f.Close())
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("lock the folder: %w", err), f.Close())
	}
	note := fmt.Sprintf("process %d", os.Getpid())
	if err := errors.Join(f.Truncate(0), write(f, note), f.Sync()); err != nil {
		return nil, errors.Join(fmt.Errorf("lock the folder: %w", err), f.Close())
	}
	return f, nil
}

func write(f *os.File, text string) error {
	_, err := f.WriteAt([]byte(text), 0)
	return err
}

// holder says who has the lock, as far as the lock file tells.
func holder(f *os.File) string {
	text := make([]byte, 64)
	n, _ := f.ReadAt(text, 0)
	if n == 0 {
		return "which one is not known"
	}
	return strings.TrimSpace(string(text[:n]))
}

// makeFile makes the journal's file readable by its owner alone, before SQLite would with
// the process's mask; its log takes the same mode.
func makeFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return fmt.Errorf("make the file: %w", err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("make the file: %w", err)
	}
	return folder.Sync(filepath.Dir(path))
}
