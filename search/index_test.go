package search_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/search"
)

func openIndex(t *testing.T, dir string) *search.Index {
	t.Helper()
	x, err := search.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// journalOf returns a journal of n notes.
func journalOf(t *testing.T, n int) *memory.Store {
	t.Helper()
	store := memory.New()
	for i := 1; i <= n; i++ {
		e := journaltest.Note("MW-1041", i)
		e.Text = fmt.Sprintf("rod %d", i)
		if _, err := store.Append(t.Context(), []journal.Entry{e}); err != nil {
			t.Fatal(err)
		}
	}
	return store
}

// built fills an index in a folder from the journal, in several batches, and closes it.
func built(t *testing.T, store *memory.Store) (dir string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "search")
	x := openIndex(t, dir)
	for at := journal.Position(0); ; {
		entries, err := store.After(t.Context(), at, 10)
		if err != nil {
			t.Fatal(err)
		}
		if len(entries) == 0 {
			break
		}
		if err := x.Put(entries); err != nil {
			t.Fatal(err)
		}
		at = entries[len(entries)-1].Position
	}
	if err := x.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

func lastOf(t *testing.T, x *search.Index) journal.Position {
	t.Helper()
	mark, err := x.Last()
	if err != nil {
		t.Fatal(err)
	}
	return mark.Position
}

func TestReopenedIndexGoesOn(t *testing.T) {
	store := journalOf(t, 30)
	x := openIndex(t, built(t, store))
	if at := lastOf(t, x); at != 30 {
		t.Errorf("reopened, it is at %d, want 30: it was built again", at)
	}
	s := newShop(t, x, store)
	s.notes = 30
	s.say("rod loosened")
	if r := s.results("rod", 100); r.Total != 31 {
		t.Errorf("%d notes are found, want 31", r.Total)
	}
}

// Whatever has become of the index, it is usable, and finds every note once.
func TestSpoiltIndexIsBuiltAgain(t *testing.T) {
	each := func(t *testing.T, dir, pattern string, spoil func(path string) error) {
		t.Helper()
		paths, err := filepath.Glob(filepath.Join(dir, pattern))
		if err != nil || len(paths) == 0 {
			t.Fatalf("%s is not in the index, error %v", pattern, err)
		}
		for _, path := range paths {
			if err := spoil(path); err != nil {
				t.Fatal(err)
			}
		}
	}
	cut := func(path string) error {
		info, err := os.Stat(path)
		if err != nil {
			return err
		}
		return os.Truncate(path, info.Size()/2)
	}
	flip := func(path string) error {
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for i := len(text) / 3; i < len(text)/2; i++ {
			text[i] ^= 0xff
		}
		return os.WriteFile(path, text, 0o600)
	}
	scramble := func(path string) error {
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for i := range text {
			text[i] ^= 0x55
		}
		return os.WriteFile(path, text, 0o600)
	}
	stub := func(path string) error { return os.Truncate(path, 5000) } // of several pages of 4096
	empty := func(path string) error { return os.Truncate(path, 0) }
	for _, tt := range []struct {
		name  string
		spoil func(t *testing.T, dir string)
	}{
		{"deleted", func(t *testing.T, dir string) { each(t, dir, "*", os.RemoveAll) }},
		{"deleted with its folder", func(t *testing.T, dir string) { each(t, dir, "", os.RemoveAll) }},
		{"segments deleted", func(t *testing.T, dir string) { each(t, dir, "store/*.zap", os.Remove) }},
		{"segments cut short", func(t *testing.T, dir string) { each(t, dir, "store/*.zap", cut) }},
		{"segments emptied", func(t *testing.T, dir string) { each(t, dir, "store/*.zap", empty) }},
		{"segments overwritten in the middle", func(t *testing.T, dir string) { each(t, dir, "store/*.zap", flip) }},
		{"list of segments cut short", func(t *testing.T, dir string) { each(t, dir, "store/root.bolt", stub) }},
		{"list of segments emptied", func(t *testing.T, dir string) { each(t, dir, "store/root.bolt", empty) }},
		{"list of segments overwritten", func(t *testing.T, dir string) { each(t, dir, "store/root.bolt", scramble) }},
		{"list of segments deleted", func(t *testing.T, dir string) { each(t, dir, "store/root.bolt", os.Remove) }},
		{"description cut short", func(t *testing.T, dir string) { each(t, dir, "index_meta.json", cut) }},
		{"description deleted", func(t *testing.T, dir string) { each(t, dir, "index_meta.json", os.Remove) }},
		{"of another mapping", func(t *testing.T, dir string) {
			if err := search.SpoilMapping(dir); err != nil {
				t.Fatal(err)
			}
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			store := journalOf(t, 45)
			dir := built(t, store)
			tt.spoil(t, dir)
			x := openIndex(t, dir)
			if at := lastOf(t, x); at >= 45 {
				t.Errorf("spoilt, it is at %d: it was not noticed", at)
			}
			s := newShop(t, x, store)
			s.notes, s.last = 45, 45
			want := []string{}
			for n := 45; n > 0; n-- {
				want = append(want, fmt.Sprintf("rod %d", n))
			}
			if diff := cmp.Diff(want, texts(s.results("rod", 100))); diff != "" {
				t.Errorf("after it was built again (-want +got):\n%s", diff)
			}
		})
	}
}

// A journal that was put back from a backup has other notes at the same positions.
func TestIndexOfAnotherJournalIsBuiltAgain(t *testing.T) {
	dir := built(t, journalOf(t, 30))
	store := memory.New()
	for n := range 40 {
		e := journaltest.Note("MW-1042", 1000+n)
		e.Text = "bolt"
		if n >= 5 {
			break
		}
		if _, err := store.Append(t.Context(), []journal.Entry{e}); err != nil {
			t.Fatal(err)
		}
	}
	s := newShop(t, openIndex(t, dir), store)
	s.notes = 2000
	s.say("one more bolt")
	// The index was past this position with the other journal: wait for the new note itself.
	for {
		r := s.results("bolt", 0)
		if r.Total == 6 {
			break
		}
		if t.Context().Err() != nil {
			t.Fatal("the notes are never found")
		}
	}
	if r := s.results("rod", 0); r.Total != 0 {
		t.Errorf("%d notes of the other journal are found", r.Total)
	}
}

func TestIndexInUse(t *testing.T) {
	store := journalOf(t, 10)
	dir := built(t, store)
	first := openIndex(t, dir)
	if _, err := search.Open(dir); !errors.Is(err, search.ErrInUse) {
		t.Errorf("a second program got %v, want ErrInUse", err)
	}
	if r, err := first.Search(t.Context(), "rod", 0); err != nil || r.Total != 10 {
		t.Errorf("the first finds %d notes, error %v; want 10", r.Total, err)
	}
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := first.Search(t.Context(), "rod", 0); !errors.Is(err, search.ErrClosed) {
		t.Errorf("a closed index: %v, want ErrClosed", err)
	}
}

func TestOpenLeavesOtherFilesAlone(t *testing.T) {
	dir := t.TempDir()
	other := filepath.Join(dir, "journal.db")
	if err := os.WriteFile(other, []byte("precious"), 0o600); err != nil {
		t.Fatal(err)
	}
	x := openIndex(t, dir)
	if err := errors.Join(x.Reset(), x.Close()); err != nil {
		t.Fatal(err)
	}
	if text, err := os.ReadFile(other); err != nil || string(text) != "precious" {
		t.Errorf("the file beside it: %q, error %v", text, err)
	}
}
