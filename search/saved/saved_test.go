package saved_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"readback/search/saved"
)

var now = time.Date(2031, 3, 4, 8, 0, 0, 0, time.UTC)

func open(t *testing.T, path string) *saved.Shelf {
	t.Helper()
	s, err := saved.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// What was kept is there when the file is opened again, whatever was done to it before.
func TestShelf(t *testing.T) {
	path := filepath.Join(t.TempDir(), "searches.json")
	s := open(t, path)
	for _, k := range []struct{ name, query string }{{"worn  bushes ", "q=worn+bush"}, {"Leaks", "q=leak&person=Ines"}, {"WORN bushes", "q=worn+lower+bush"}} {
		if _, err := s.Keep(k.name, k.query, 7, now); err != nil {
			t.Fatal(err)
		}
	}
	want := []saved.Search{{Name: "Leaks", Query: "q=leak&person=Ines", Seen: 7, At: now}, {Name: "WORN bushes", Query: "q=worn+lower+bush", Seen: 7, At: now}}
	if diff := cmp.Diff(want, open(t, path).List()); diff != "" {
		t.Errorf("kept (-want +got):\n%s", diff)
	}
	before, err := s.Look("leaks", 20, now.Add(time.Hour))
	if err != nil || before.Seen != 7 {
		t.Errorf("looked before at %d, error %v", before.Seen, err)
	}
	if _, err := s.Look("leaks", 3, now.Add(time.Hour)); err != nil { // an index that is built again
		t.Error(err)
	}
	want[0].Seen, want[0].At = 20, now.Add(time.Hour)
	if diff := cmp.Diff(want, open(t, path).List()); diff != "" {
		t.Errorf("looked at (-want +got):\n%s", diff)
	}
	if err := s.Remove("worn BUSHES"); err != nil {
		t.Error(err)
	}
	if diff := cmp.Diff(want[:1], open(t, path).List()); diff != "" {
		t.Errorf("removed (-want +got):\n%s", diff)
	}
	if err := s.Remove("worn bushes"); !errors.Is(err, saved.ErrNotFound) {
		t.Errorf("removed twice: %v", err)
	}
	if _, err := s.Look("worn bushes", 1, now); !errors.Is(err, saved.ErrNotFound) {
		t.Errorf("looked at what is removed: %v", err)
	}
	if files, err := os.ReadDir(filepath.Dir(path)); err != nil || len(files) != 1 {
		t.Errorf("the folder holds %v, error %v", files, err)
	}
}

// Names that cannot be shown, and too many, are refused and change nothing.
func TestShelfRefuses(t *testing.T) {
	s := open(t, "")
	for name, want := range map[string]error{
		"\u202e": saved.ErrName, strings.Repeat("x", 61): saved.ErrName, "a/b": saved.ErrName, "..": saved.ErrName, ".": saved.ErrName,
	} {
		if _, err := s.Keep(name, "q=x", 1, now); !errors.Is(err, want) || !strings.Contains(err.Error(), ";") {
			t.Errorf("Keep(%q) gives %v", name, err)
		}
	}
	if _, err := s.Keep("x", strings.Repeat("q", 3000), 1, now); !errors.Is(err, saved.ErrName) {
		t.Errorf("a long query: %v", err)
	}
	for i := range saved.Most {
		if _, err := s.Keep(fmt.Sprint(i), "q=x", 1, now); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.Keep("more", "q=x", 1, now); !errors.Is(err, saved.ErrFull) {
		t.Errorf("one too many: %v", err)
	}
	if _, err := s.Keep("7", "q=y", 1, now); err != nil {
		t.Errorf("in place of another: %v", err)
	}
	if len(s.List()) != saved.Most {
		t.Errorf("%d are kept", len(s.List()))
	}
}

// A file that cannot be read is told of and left; one that cannot be written changes nothing.
func TestShelfWithoutItsFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "searches.json")
	if err := os.WriteFile(path, []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := saved.Open(path); !errors.Is(err, saved.ErrFile) {
		t.Errorf("Open gives %v", err)
	}
	if text, err := os.ReadFile(path); err != nil || string(text) != "{" {
		t.Errorf("the file holds %q, error %v", text, err)
	}
	gone := filepath.Join(t.TempDir(), "gone", "searches.json")
	s := open(t, gone)
	if _, err := s.Keep("x", "q=x", 1, now); err == nil || len(s.List()) > 0 {
		t.Errorf("kept where there is no folder: %v, %v", err, s.List())
	}
}
