package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

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
		own := report.NotChecked
		report.Checked, report.NotChecked, report.Beyond = nil, nil, nil
		tellReport(s.out, path, report)
		if len(own) > 0 {
			fmt.Fprintf(s.out, "  not checked: %s\n", openShort(own))
		}
	}
	fmt.Fprintf(s.out, "%s: %d hold, %d do not hold, %d cannot be read.\n", counted(len(paths), "bundle", "bundles"), holds, not, unread)
	if holds > 0 {
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

// openShort says what was not checked without what to do about it, which verify tells of one bundle.
func openShort(notChecked []string) string {
	short := make([]string, len(notChecked))
	for i, text := range notChecked {
		short[i], _, _ = strings.Cut(text, ": ")
	}
	return strings.Join(short, "; ")
}

// tellNotChecked says what nothing from elsewhere was given for, and what no bundle can say.
func tellNotChecked(w io.Writer, want seal.Expect) {
	if want.Key == nil {
		fmt.Fprintln(w, "  who signed: ask the shop for the fingerprint of its key, and give it with --key")
	}
	if want.Head == nil {
		fmt.Fprintln(w, "  whether more was said since: give a head from the shop's witness with --head")
	}
	fmt.Fprintln(w, "  that what was said was true, and that the clock of the shop was right")
}

// takeout puts the sounds and photos of bundles into a folder. Their names are of the seq of their entry and their
// hash, and nothing of a bundle's text. Until a file is known to be what was sealed it has a name of no meaning.
type takeout struct {
	dir   string
	file  *os.File             // the one that is being written; nil between two
	known map[seal.Hash]string // those that were written, by their hash
}

func newTakeout(dir string) (*takeout, error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, hint(fmt.Errorf("--files: %w", err), "name a folder that can be written")
	}
	return &takeout{dir: dir, known: map[seal.Hash]string{}}, nil
}

// Begin opens the next file.
func (t *takeout) Begin() (io.Writer, error) {
	var err error
	if t.file, err = os.CreateTemp(t.dir, ".readback-*"); err != nil {
		return nil, fmt.Errorf("--files: %w", err)
	}
	return t.file, nil
}

// End closes the file until it is known what it is.
func (t *takeout) End(h seal.Hash) error {
	f := t.file
	t.file = nil
	err := errors.Join(f.Chmod(0o644), f.Close())
	if _, twice := t.known[h]; twice || err != nil {
		err = errors.Join(err, os.Remove(f.Name()))
	} else {
		t.known[h] = f.Name()
	}
	if err != nil {
		return fmt.Errorf("--files: %w", err)
	}
	return nil
}

// Keep gives a file its name.
func (t *takeout) Keep(f seal.Found) error {
	ext := sound.Ext
	if f.Sort == "photo" {
		ext = photo.Ext
	}
	from := t.known[f.Hash]
	if err := os.Rename(from, filepath.Join(t.dir, fmt.Sprintf("entry-%04d-%s%s", f.Entry, f.Hash, ext))); err != nil {
		return fmt.Errorf("--files: %w", err)
	}
	delete(t.known, f.Hash)
	return nil
}

// throwAway removes what no bundle was found to name.
func (t *takeout) throwAway() error {
	var errs []error
	if t.file != nil {
		errs = append(errs, t.file.Close(), os.Remove(t.file.Name()))
		t.file = nil
	}
	for h, name := range t.known {
		errs = append(errs, os.Remove(name))
		delete(t.known, h)
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("--files: %w", err)
	}
	return nil
}
