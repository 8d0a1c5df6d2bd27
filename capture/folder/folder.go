// Package folder is what folders of the record have in common: names in them that survive a power cut, a
// disk that is full, and where a path leads, links and all.
package folder

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// Sync makes the names in dir survive a power cut.
func Sync(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync folder: %w", err)
	}
	if err := errors.Join(d.Sync(), d.Close()); err != nil {
		return fmt.Errorf("sync folder %s: %w", dir, err)
	}
	return nil
}

// Full reports whether an error says that the disk, or what a user may have of it, is full.
func Full(err error) bool { return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) }

// Resolved resolves the links of as much of a path as is there.
func Resolved(path string) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", fmt.Errorf("where is %s: %w", path, err)
	}
	rest := ""
	for {
		at, err := filepath.EvalSymlinks(path)
		if err == nil {
			return filepath.Join(at, rest), nil
		}
		if !errors.Is(err, fs.ErrNotExist) || path == filepath.Dir(path) {
			return "", fmt.Errorf("where is %s: %w", path, err)
		}
		path, rest = filepath.Dir(path), filepath.Join(filepath.Base(path), rest)
	}
}

// Inside reports whether a path is a folder or lies in it; both as [Resolved] gives them.
func Inside(dir, path string) bool {
	rel, err := filepath.Rel(dir, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}
