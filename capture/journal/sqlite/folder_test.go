package sqlite_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/sqlite"
)

func TestReopenedJournalGoesOn(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a ?#%2f folder", "data")
	for n := range 3 {
		s, err := sqlite.Open(t.Context(), dir)
		if err != nil {
			t.Fatal(err)
		}
		kept, err := s.Append(t.Context(), []journal.Entry{journaltest.Note("MW-1041", n), journaltest.Note("MW-1041", 0)})
		if err != nil || kept[0].Entry.Seq != int64(n+1) || !kept[1].Known {
			t.Errorf("opened %d times: %+v, error %v", n+1, kept, err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func TestSecondServerIsRefused(t *testing.T) {
	dir := t.TempDir()
	first := open(t, dir)
	_, err := sqlite.Open(t.Context(), dir)
	if !errors.Is(err, journal.ErrInUse) {
		t.Fatalf("a second server got %v, want ErrInUse", err)
	}
	for _, say := range []string{dir, fmt.Sprintf("process %d", os.Getpid()), "name another folder"} {
		if !strings.Contains(err.Error(), say) {
			t.Errorf("%q does not say %q", err, say)
		}
	}
	if _, err := first.Append(t.Context(), []journal.Entry{journaltest.Note("MW-1041", 1)}); err != nil {
		t.Errorf("the first server's append: %v", err)
	}
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	open(t, dir)
}

func TestFilesAreTheirOwnersAlone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop", "data")
	s := open(t, dir)
	if _, err := s.Append(t.Context(), []journal.Entry{journaltest.Note("MW-1041", 1)}); err != nil {
		t.Fatal(err)
	}
	files := 0
	err := filepath.WalkDir(filepath.Dir(dir), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		want := fs.FileMode(0o600)
		if d.IsDir() {
			want = 0o700
		}
		if files++; info.Mode().Perm() != want {
			t.Errorf("%s has mode %o, want %o", path, info.Mode().Perm(), want)
		}
		return nil
	})
	if err != nil || files < 5 { // two folders, lock, journal and its log
		t.Errorf("looked at %d files, error %v", files, err)
	}
}

func TestOpenSaysWhatIsWrong(t *testing.T) {
	file := filepath.Join(t.TempDir(), "data")
	if err := os.WriteFile(file, []byte("not a folder"), 0o600); err != nil {
		t.Fatal(err)
	}
	torn := t.TempDir()
	if err := os.WriteFile(filepath.Join(torn, sqlite.File), []byte(strings.Repeat("not a journal ", 500)), 0o600); err != nil {
		t.Fatal(err)
	}
	later := t.TempDir()
	s := open(t, later)
	if err := s.Exec(t.Context(), "PRAGMA user_version = 999"); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ name, dir, want string }{
		{"a file in place of the folder", file, "name a folder"},
		{"a file that is no journal", torn, "file is not a database"},
		{"a journal of a newer program", later, "a newer program made it"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := sqlite.Open(t.Context(), tt.dir)
			if err == nil {
				t.Fatal(errors.Join(errors.New("it opened"), s.Close()))
			}
			if !strings.Contains(err.Error(), tt.want) || !strings.Contains(err.Error(), tt.dir) {
				t.Errorf("%q says neither %q nor where", err, tt.want)
			}
		})
	}
	text, err := os.ReadFile(filepath.Join(torn, sqlite.File))
	if err != nil || !strings.HasPrefix(string(text), "not a journal") {
		t.Errorf("a file that is no journal was changed: %.20q, error %v", text, err)
	}
}

// The settings on which the promise rests; see https://www.sqlite.org/pragma.html#pragma_synchronous:
// in WAL mode only FULL (2) syncs the log after each commit.
func TestSettings(t *testing.T) {
	s := open(t, t.TempDir())
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "busy_timeout": "5000"} {
		if got, err := s.Query(t.Context(), "PRAGMA "+pragma); err != nil || got != want {
			t.Errorf("%s is %q, error %v; want %q", pragma, got, err, want)
		}
	}
}

func TestEntriesAreNeverEdited(t *testing.T) {
	s := open(t, t.TempDir())
	if _, err := s.Append(t.Context(), []journal.Entry{journaltest.Note("MW-1041", 1)}); err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{"UPDATE entries SET text = 'in'", "DELETE FROM entries"} {
		if err := s.Exec(t.Context(), statement); err == nil || !strings.Contains(err.Error(), "entries are never") {
			t.Errorf("%s: %v, want it refused", statement, err)
		}
	}
}

func TestOpenReadOnly(t *testing.T) {
	dir := t.TempDir()
	if _, err := sqlite.OpenReadOnly(t.Context(), dir); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("no journal there: %v, want ErrNotFound", err)
	}
	server := open(t, dir)
	note := journaltest.Note("MW-1041", 1)
	if _, err := server.Append(t.Context(), []journal.Entry{note}); err != nil {
		t.Fatal(err)
	}
	look := func(when string) {
		s, err := sqlite.OpenReadOnly(t.Context(), dir)
		if err != nil {
			t.Fatalf("%s: %v", when, err)
		}
		if e, err := s.ByID(t.Context(), "MW-1041", note.ID); err != nil || e.Text != note.Text {
			t.Errorf("%s: got %q, error %v", when, e.Text, err)
		}
		if _, err := s.Append(t.Context(), []journal.Entry{note}); !errors.Is(err, journal.ErrReadOnly) {
			t.Errorf("%s: append gave %v, want ErrReadOnly", when, err)
		}
		if err := s.Close(); err != nil {
			t.Errorf("%s: close: %v", when, err)
		}
	}
	look("while a server uses the folder")
	if err := server.Close(); err != nil {
		t.Fatal(err)
	}
	look("after the server stopped")
}
