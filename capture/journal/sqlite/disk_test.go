package sqlite_test

import (
	"errors"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/sqlite"
)

func TestFullJournalRefusesAndReadsOn(t *testing.T) {
	s := open(t, t.TempDir())
	if err := s.LimitPages(t.Context(), 40); err != nil {
		t.Fatal(err)
	}
	last := fill(t, s)
	reads(t, s, last)
	if err := s.LimitPages(t.Context(), 4000); err != nil {
		t.Fatal(err)
	}
	goesOn(t, s, last)
}

// A disk that is really full, with its log and all.
func TestFullDiskRefusesAndReadsOn(t *testing.T) {
	dir := mount(t, "size=1m")
	s := open(t, filepath.Join(dir, "data"))
	last := fill(t, s)
	reads(t, s, last)
	if err := syscall.Mount("", dir, "tmpfs", syscall.MS_REMOUNT, "size=16m"); err != nil {
		t.Fatal(err)
	}
	goesOn(t, s, last)
	if got, err := s.Query(t.Context(), "PRAGMA integrity_check"); err != nil || got != "ok" {
		t.Errorf("integrity_check: %s, error %v", got, err)
	}
}

func TestFullDiskRefusesToOpen(t *testing.T) {
	dir := mount(t, "size=4k")
	s, err := sqlite.Open(t.Context(), filepath.Join(dir, "data"))
	if !errors.Is(err, journal.ErrFull) {
		if err == nil {
			err = s.Close()
		}
		t.Errorf("open on a full disk: %v, want ErrFull", err)
	}
}

func TestReadOnlyDiskRefuses(t *testing.T) {
	dir := mount(t, "size=4m")
	data := filepath.Join(dir, "data")
	s := open(t, data)
	note := journaltest.Note("MW-1041", 1)
	if _, err := s.Append(t.Context(), []journal.Entry{note}); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	for _, where := range []string{data, filepath.Join(dir, "new")} {
		s, err := sqlite.Open(t.Context(), where)
		if !errors.Is(err, journal.ErrReadOnly) {
			if err == nil {
				err = s.Close()
			}
			t.Errorf("open %s on a read-only disk: %v, want ErrReadOnly", where, err)
		}
	}
	reader, err := sqlite.OpenReadOnly(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	if e, err := reader.ByID(t.Context(), "MW-1041", note.ID); err != nil || e.Text != note.Text {
		t.Errorf("reading a read-only disk: %q, error %v", e.Text, err)
	}
	if err := reader.Close(); err != nil {
		t.Error(err)
	}
}

// fill appends pairs of notes until the journal is full, and returns the number of the
// last note that was kept.
func fill(t *testing.T, s *sqlite.Store) (last int) {
	t.Helper()
	for n := 1; n < 2000; n += 2 {
		first, second := journaltest.Note("MW-1041", n), journaltest.Note("MW-1041", n+1)
		first.Bench = strings.Repeat("x", 2000)
		_, err := s.Append(t.Context(), []journal.Entry{first, second})
		if errors.Is(err, journal.ErrFull) {
			return n - 1
		}
		if err != nil {
			t.Fatalf("note %d: %v, want none or ErrFull", n, err)
		}
	}
	t.Fatal("the journal was never full")
	return 0
}

// reads finds every note up to last and none past it, twice: a refused batch has left
// nothing, and refusing has not stopped reading.
func reads(t *testing.T, s *sqlite.Store, last int) {
	t.Helper()
	for range 2 {
		entries, err := s.Entries(t.Context(), "MW-1041", 0, 10000)
		if err != nil || len(entries) != last {
			t.Fatalf("%d entries are there, error %v; want %d", len(entries), err, last)
		}
		_, err = s.Append(t.Context(), []journal.Entry{
			journaltest.Note("MW-1042", 5001), bulky(5002), bulky(5003), bulky(5004), bulky(5005),
		})
		if !errors.Is(err, journal.ErrFull) {
			t.Errorf("a batch on a full disk: %v, want ErrFull", err)
		}
		if _, err := s.ByID(t.Context(), "MW-1042", journaltest.ID(5001)); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("a note of a refused batch: %v, want ErrNotFound", err)
		}
	}
}

func bulky(n int) journal.Entry {
	e := journaltest.Note("MW-1042", n)
	e.Bench = strings.Repeat("x", 200_000)
	return e
}

// goesOn appends once there is room again.
func goesOn(t *testing.T, s *sqlite.Store, last int) {
	t.Helper()
	r, err := s.Append(t.Context(), []journal.Entry{journaltest.Note("MW-1041", last+1)})
	if err != nil || r[0].Entry.Seq != int64(last+1) {
		t.Errorf("with room again: %+v, error %v; want seq %d", r, err, last+1)
	}
}

// mount returns a folder that is a disk of its own, in memory.
func mount(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("readback-test", dir, "tmpfs", 0, options); err != nil {
		t.Fatalf("mount a tmpfs: %v; run the tests as root, or in a namespace that may mount", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Errorf("unmount: %v", err)
		}
	})
	return dir
}
