package evidence_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"readback/capture/evidence"
)

func open(t *testing.T, dir string) *evidence.Files {
	t.Helper()
	f, err := evidence.Open(dir, ".bin")
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func put(t *testing.T, f *evidence.Files, text string) (hash string) {
	t.Helper()
	hash, err := f.Put([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return hash
}

func has(f *evidence.Files, hash string) bool {
	_, err := f.Get(hash)
	return err == nil
}

func TestFiles(t *testing.T) {
	dir := t.TempDir()
	f := open(t, dir)
	hash := put(t, f, "a sound")
	if again := put(t, f, "a sound"); again != hash {
		t.Errorf("the same again is %s, and was %s", again, hash)
	}
	if data, err := f.Get(hash); err != nil || string(data) != "a sound" {
		t.Errorf("it came back as %q, error %v", data, err)
	}
	file := filepath.Join(dir, hash[:2], hash+".bin")
	if err := os.WriteFile(file, []byte("another"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Get(hash); !errors.Is(err, evidence.ErrChanged) {
		t.Errorf("a changed file: %v", err)
	}
	for _, name := range []string{"", "..", "../../etc/passwd", hash[:63], hash[:63] + "G", strings.ToUpper(hash), hash + "\n"} {
		if _, err := f.Get(name); !errors.Is(err, evidence.ErrName) {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := f.Get(evidence.HashOf(nil)); !errors.Is(err, evidence.ErrGone) {
		t.Errorf("what was never put: %v", err)
	}
}

// A file that others need stays where one of them takes its put back.
func TestDropTakesOnlyItsOwn(t *testing.T) {
	dir := t.TempDir()
	f := open(t, dir)
	one := put(t, f, "one")
	put(t, f, "one")
	if err := f.Drop(one); err != nil || !has(f, one) {
		t.Errorf("two have put it, one has dropped it: there %t, error %v", has(f, one), err)
	}
	if err := f.Drop(one); err != nil || has(f, one) {
		t.Errorf("both have dropped it: there %t, error %v", has(f, one), err)
	}
	two := put(t, f, "two")
	f = open(t, dir) // the server was started again: its entry may be committed
	put(t, f, "two")
	if err := f.Drop(two); err != nil || !has(f, two) {
		t.Errorf("one that was there before: there %t, error %v", has(f, two), err)
	}
}

// A purge leaves what was put a moment ago: its entry may be on the way.
func TestRemoveWaitsForTheEntry(t *testing.T) {
	f := open(t, t.TempDir())
	hash := put(t, f, "one")
	if gone, err := f.Remove(hash, time.Now()); gone || err != nil || !has(f, hash) {
		t.Errorf("at once: removed %t, error %v", gone, err)
	}
	if gone, err := f.Remove(hash, time.Now().Add(time.Hour)); !gone || err != nil || has(f, hash) {
		t.Errorf("an hour later: removed %t, error %v", gone, err)
	}
	if gone, err := f.Remove(hash, time.Now().Add(time.Hour)); gone || err != nil {
		t.Errorf("once more: removed %t, error %v", gone, err)
	}
}

// What a crash left half written is gone at the next start, and nothing else.
func TestTornFilesAreRemoved(t *testing.T) {
	dir := t.TempDir()
	hash := put(t, open(t, dir), "whole")
	torn := filepath.Join(dir, ".new-123")
	if err := os.WriteFile(torn, []byte("ha"), 0o600); err != nil {
		t.Fatal(err)
	}
	f := open(t, dir)
	if _, err := os.Stat(torn); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the torn file is there: %v", err)
	}
	if !has(f, hash) {
		t.Error("the whole file is gone")
	}
}

func TestManyPutTheSame(t *testing.T) {
	f := open(t, t.TempDir())
	hash := evidence.HashOf([]byte("one"))
	var wait sync.WaitGroup
	for n := range 20 {
		wait.Go(func() {
			if _, err := f.Put([]byte("one")); err != nil {
				t.Error(err)
			}
			if n%2 == 0 {
				if err := f.Drop(hash); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
	if !has(f, hash) {
		t.Error("ten need it, and it is gone")
	}
}
