package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"readback/capture/photo"
	"readback/capture/seal"
	"readback/capture/sound"
)

// verifyMany checks several bundles, and writes a line each, what is wrong with it, and a sum.
func verifyMany(ctx context.Context, s *std, paths []string, want seal.Expect) error {
	holds, not, unread := 0, 0, 0
	for _, path := range paths {
		report, err := verifyFile(ctx, s.in, path, want)
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		switch {
		case err != nil:
			unread++
			fmt.Fprintf(s.out, "It cannot be read. %v\n", err)
			continue
		case report.Holds():
			holds++
		default:
			not++
		}
		report.Checked, report.NotChecked = nil, nil
		tellReport(s.out, path, report)
	}
	fmt.Fprintf(s.out, "%s: %d hold, %d do not hold, %d cannot be read.\n", counted(len(paths), "bundle", "bundles"), holds, not, unread)
	if holds > 0 && (want.Key == nil || want.Head == nil) {
		fmt.Fprintln(s.out, "Of none was checked:")
		tellNotChecked(s.out, want)
	}
	switch {
	case unread > 0:
		return hint(fmt.Errorf("%s cannot be read", counted(unread, "bundle", "bundles")), "verify one of them by itself for more; export it again, and copy the whole file")
	case not > 0:
		return errFindings
	}
	return nil
}

// tellNotChecked says what nothing from elsewhere was given for.
func tellNotChecked(w io.Writer, want seal.Expect) {
	if want.Key == nil {
		fmt.Fprintln(w, "  who signed: ask the shop for the fingerprint of its key, and give it with --key")
	}
	if want.Head == nil {
		fmt.Fprintln(w, "  whether more was said since: give a head from the shop's witness with --head")
	}
}

// takeout puts the sounds and photos of bundles into a folder. Their names are of the seq of their entry and their
// hash, and nothing of a bundle's text.
type takeout struct {
	dir  string
	file *os.File // the one that is being written; nil between two
}

func newTakeout(dir string) (*takeout, error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, hint(fmt.Errorf("--files: %w", err), "name a folder that can be written")
	}
	return &takeout{dir: dir}, nil
}

// Begin opens the next file.
func (t *takeout) Begin() (io.Writer, error) {
	var err error
	if t.file, err = os.CreateTemp(t.dir, ".readback-*"); err != nil {
		return nil, fmt.Errorf("--files: %w", err)
	}
	return t.file, nil
}

// End gives the file its name, or throws it away.
func (t *takeout) End(f *seal.Found) error {
	if f == nil {
		return t.remove()
	}
	ext := sound.Ext
	if f.Sort == "photo" {
		ext = photo.Ext
	}
	name := filepath.Join(t.dir, fmt.Sprintf("entry-%04d-%s%s", f.Entry, f.Hash, ext))
	from := t.file.Name()
	if err := errors.Join(t.file.Chmod(0o644), t.file.Close()); err != nil {
		return errors.Join(fmt.Errorf("--files: %w", err), t.remove())
	}
	t.file = nil
	if err := os.Rename(from, name); err != nil {
		return errors.Join(fmt.Errorf("--files: %w", err), os.Remove(from))
	}
	return nil
}

func (t *takeout) remove() error {
	f := t.file
	t.file = nil
	_ = f.Close() // it is thrown away
	if err := os.Remove(f.Name()); err != nil {
		return fmt.Errorf("--files: %w", err)
	}
	return nil
}

// throwAway removes what was begun and not ended.
func (t *takeout) throwAway() {
	if t.file != nil {
		_ = t.remove()
	}
}
