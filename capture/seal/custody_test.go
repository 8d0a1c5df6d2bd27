package seal_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"readback/capture/journal"
	"readback/capture/seal"
)

func TestKeyIsRefused(t *testing.T) {
	write := func(path, kind string, key any) func(*testing.T, *shop) {
		return func(t *testing.T, s *shop) {
			der, err := x509.MarshalPKCS8PrivateKey(key)
			must(t, err)
			must(t, os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600))
		}
	}
	_, another, err := ed25519.GenerateKey(rand.Reader)
	must(t, err)
	long, err := rsa.GenerateKey(rand.Reader, 2048)
	must(t, err)
	for _, tt := range []struct {
		name   string
		change func(t *testing.T, s *shop)
		want   error
	}{
		{"others may read it", func(t *testing.T, s *shop) { must(t, os.Chmod(s.keyFile, 0o640)) }, seal.ErrKeyMode},
		{"all may read it", func(t *testing.T, s *shop) { must(t, os.Chmod(s.keyFile, 0o604)) }, seal.ErrKeyMode},
		{"it may be run", func(t *testing.T, s *shop) { must(t, os.Chmod(s.keyFile, 0o700)) }, seal.ErrKeyMode},
		{"it is gone", func(t *testing.T, s *shop) { must(t, os.Remove(s.keyFile)) }, seal.ErrKeyGone},
		{"it is empty", func(t *testing.T, s *shop) { must(t, os.Truncate(s.keyFile, 0)) }, seal.ErrKeyFile},
		{"it is torn", func(t *testing.T, s *shop) { must(t, os.Truncate(s.keyFile, 60)) }, seal.ErrKeyFile},
		{"it is long", func(t *testing.T, s *shop) { must(t, os.Truncate(s.keyFile, 1<<30)) }, seal.ErrKeyFile},
		{"it is a folder", func(t *testing.T, s *shop) {
			must(t, os.Remove(s.keyFile))
			must(t, os.Mkdir(s.keyFile, 0o600))
		}, seal.ErrKeyFile},
		{"it is another", func(t *testing.T, s *shop) { write(s.keyFile, "PRIVATE KEY", another)(t, s) }, seal.ErrKeyOther},
		{"it is of another sort", func(t *testing.T, s *shop) { write(s.keyFile, "PRIVATE KEY", long)(t, s) }, seal.ErrKeyFile},
		{"it is named otherwise", func(t *testing.T, s *shop) { write(s.keyFile, "KEY", another)(t, s) }, seal.ErrKeyFile},
		{"it lies in the data folder", func(_ *testing.T, s *shop) { s.keyFile = filepath.Join(s.data, "seal.key") }, seal.ErrKeyInside},
		{"it lies below the data folder", func(_ *testing.T, s *shop) { s.keyFile = s.data + "/new/../keys/seal.key" }, seal.ErrKeyInside},
		{"a link leads there", func(t *testing.T, s *shop) {
			inside := filepath.Join(s.data, "hidden")
			must(t, os.Rename(s.keyFile, inside))
			must(t, os.Symlink(inside, s.keyFile))
		}, seal.ErrKeyInside},
		{"a linked folder leads there", func(t *testing.T, s *shop) {
			link := filepath.Join(t.TempDir(), "link")
			must(t, os.Symlink(s.data, link))
			s.keyFile = filepath.Join(link, "keys", "seal.key")
		}, seal.ErrKeyInside},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newShop(t)
			sealer, end := s.open()
			s.until(sealer, "the key", size(1))
			end()
			tt.change(t, s)
			if again, err := seal.Open(t.Context(), s.config()); !errors.Is(err, tt.want) {
				t.Errorf("open gave %v, %v; want %v", again, err, tt.want)
			}
		})
	}
	t.Run("the first key lies in the data folder", func(t *testing.T) {
		s := newShop(t)
		s.keyFile = filepath.Join(s.data, "seal.key")
		if _, err := seal.Open(t.Context(), s.config()); !errors.Is(err, seal.ErrKeyInside) {
			t.Errorf("open gave %v", err)
		}
		if _, err := os.Stat(s.keyFile); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("there is a key: %v", err)
		}
	})
}

// Without a word about it the key lies in the user's state folder, by the name of its log.
func TestUsualKey(t *testing.T) {
	state := t.TempDir()
	t.Setenv("XDG_STATE_HOME", state)
	s := newShop(t)
	s.keyFile = ""
	sealer, end := s.open()
	status := s.until(sealer, "the key", size(1))
	end()
	path := filepath.Join(state, "readback", "seal-"+status.Log.String()[:16]+".key")
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key: %v", err)
	}
	moved := filepath.Join(t.TempDir(), "moved")
	must(t, os.Rename(s.data, moved))
	s.data = moved
	sealer, end = s.open()
	if again := sealer.Status(); again.Fingerprint != status.Fingerprint {
		t.Errorf("a folder that was moved has another key")
	}
	end()
	t.Setenv("XDG_STATE_HOME", "relative/is/ignored") // as XDG has it
	t.Setenv("HOME", t.TempDir())
	if _, err := seal.Open(t.Context(), s.config()); !errors.Is(err, seal.ErrKeyGone) {
		t.Errorf("open gave %v", err)
	}
}

func TestRotation(t *testing.T) {
	s := newShop(t)
	s.work(0, 12)
	sealer, end := s.open()
	first := s.until(sealer, "all", size(13))
	end()
	s.work(12, 2) // not sealed when the key is changed
	second, err := seal.Rotate(t.Context(), s.config(), "yearly")
	if err != nil || second.Fingerprint == first.Fingerprint || second.Newest.Head.Size != 16 {
		t.Fatalf("%+v, error %v", second, err)
	}
	third, err := seal.Rotate(t.Context(), s.config(), "")
	must(t, err)
	sealer, end = s.open()
	s.work(14, 4)
	now := s.until(sealer, "more", size(21))
	if now.Fingerprint != third.Fingerprint || now.Log != first.Log {
		t.Errorf("the status is %+v", now)
	}
	text := bundle(t, sealer, s.entries("MW-1042"), first.Newest.Head.Size)
	for _, want := range []seal.Expect{{}, {Key: &first.Fingerprint}, {Key: &second.Fingerprint}, {Key: &third.Fingerprint}, {Head: &first.Newest}} {
		if r, err := verify(t, text, want); err != nil || !r.Holds() {
			t.Errorf("with %+v: error %v\n%s", want, err, words(r))
		}
	}
	if r, _ := verify(t, text, seal.Expect{Key: &first.Fingerprint}); !strings.Contains(words(r), "in 2 steps") {
		t.Errorf("the steps are not told:\n%s", words(r))
	}
	end()
	// All is built again as it was, with the events in their places.
	must(t, os.Remove(filepath.Join(s.data, "seal", "trees.db")))
	s.work(18, 1)
	sealer, end = s.open()
	defer end()
	s.until(sealer, "built again", size(22))
}

// A thief of the old key cannot vouch for a key of his own in the shop's name, once it was given up.
func TestKeyGivenUp(t *testing.T) {
	s := newShop(t)
	s.work(0, 12)
	sealer, end := s.open()
	first := s.until(sealer, "all", size(13))
	old := bundle(t, sealer, s.entries("MW-1041"), 0)
	end()
	must(t, os.Rename(s.keyFile, s.keyFile+".stolen"))
	if _, err := seal.Open(t.Context(), s.config()); !errors.Is(err, seal.ErrKeyGone) {
		t.Errorf("without its key: %v", err)
	}
	if _, err := seal.Rotate(t.Context(), s.config(), ""); !errors.Is(err, seal.ErrKeyGone) {
		t.Errorf("a key that is gone vouches: %v", err)
	}
	second, err := seal.GiveUp(t.Context(), s.config(), "the laptop was stolen")
	must(t, err)
	sealer, end = s.open()
	defer end()
	s.work(12, 4)
	s.until(sealer, "more", size(18))
	text := bundle(t, sealer, s.entries("MW-1041"), first.Newest.Head.Size)
	if r, err := verify(t, text, seal.Expect{Key: &second.Fingerprint, Head: &first.Newest}); err != nil || !r.Holds() {
		t.Errorf("with the new key: error %v\n%s", err, words(r))
	}
	if r, err := verify(t, text, seal.Expect{Key: &first.Fingerprint}); err != nil || r.Holds() || !strings.Contains(words(r), "the laptop was stolen") || !strings.Contains(words(r), second.Fingerprint.String()) {
		t.Errorf("with the old key: error %v\n%s", err, words(r))
	}
	if r, err := verify(t, old, seal.Expect{Key: &first.Fingerprint}); err != nil || !r.Holds() {
		t.Errorf("a bundle from before: error %v\n%s", err, words(r))
	}
}

// A key that cannot be given up is where it was, and signs on; a second one that is given up takes nothing's name.
func TestKeyIsNotGivenUpForNothing(t *testing.T) {
	s := newShop(t)
	s.work(0, 12)
	sealer, end := s.open()
	first := s.until(sealer, "all", size(13))
	end()
	before, err := os.ReadFile(s.keyFile)
	must(t, err)
	still := func(when string) {
		t.Helper()
		if now, err := os.ReadFile(s.keyFile); err != nil || !bytes.Equal(now, before) {
			t.Errorf("%s: the key is gone or another: %v", when, err)
		}
		if _, err := os.Lstat(s.keyFile + ".given-up"); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s: something was set aside: %v", when, err)
		}
	}
	s.store = edited{s.memory, func(all []journal.Entry) []journal.Entry { return all[:11] }}
	if _, err := seal.GiveUp(t.Context(), s.config(), ""); !errors.Is(err, seal.ErrChanged) {
		t.Errorf("with a record that was changed: %v", err)
	}
	still("with a record that was changed")
	s.store = s.memory
	must(t, os.MkdirAll(filepath.Join(s.keyFile+".next", "in the way"), 0o700))
	if _, err := seal.GiveUp(t.Context(), s.config(), ""); err == nil {
		t.Error("with a folder where the next key goes it was given up")
	}
	still("with a folder where the next key goes")
	must(t, os.RemoveAll(s.keyFile+".next"))
	sealer, end = s.open()
	if now := sealer.Status(); now.Fingerprint != first.Fingerprint || now.Trouble != "" {
		t.Errorf("the status is %+v", now)
	}
	end()
	_, err = seal.GiveUp(t.Context(), s.config(), "")
	must(t, err)
	second, err := os.ReadFile(s.keyFile)
	must(t, err)
	_, err = seal.GiveUp(t.Context(), s.config(), "")
	must(t, err)
	for behind, want := range map[string][]byte{".given-up": before, ".given-up-2": second} {
		if got, err := os.ReadFile(s.keyFile + behind); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is another key, or gone: %v", behind, err)
		}
	}
}

// Wherever a change of the key is cut short, there is one key that signs, and it is found.
func TestRotationCutShort(t *testing.T) {
	s := newShop(t)
	s.work(0, 3)
	sealer, end := s.open()
	first := s.until(sealer, "all", size(4))
	end()
	before, err := os.ReadFile(s.keyFile)
	must(t, err)
	keys, err := os.ReadFile(filepath.Join(s.data, "seal", "keys.jsonl"))
	must(t, err)
	second, err := seal.Rotate(t.Context(), s.config(), "")
	must(t, err)
	after, err := os.ReadFile(s.keyFile)
	must(t, err)
	later, err := os.ReadFile(filepath.Join(s.data, "seal", "keys.jsonl"))
	must(t, err)
	heads, err := os.ReadFile(filepath.Join(s.data, "seal", "heads.jsonl"))
	must(t, err)
	for _, tt := range []struct {
		name      string
		key, next []byte
		keys      []byte
		want      seal.Hash
	}{
		{"the next key is written", before, after, keys, first.Fingerprint},
		{"the next key is torn", before, after[:50], keys, first.Fingerprint},
		{"the event is torn", before, after, later[:len(later)-9], first.Fingerprint},
		{"it is told of", before, after, later, second.Fingerprint},
	} {
		t.Run(tt.name, func(t *testing.T) {
			must(t, os.WriteFile(s.keyFile, tt.key, 0o600))
			must(t, os.WriteFile(s.keyFile+".next", tt.next, 0o600))
			must(t, os.WriteFile(filepath.Join(s.data, "seal", "keys.jsonl"), tt.keys, 0o600))
			line := strings.SplitAfter(string(heads), "\n")
			must(t, os.WriteFile(filepath.Join(s.data, "seal", "heads.jsonl"), []byte(strings.Join(line[:len(line)-2], "")), 0o600))
			must(t, os.Remove(filepath.Join(s.data, "seal", "trees.db")))
			sealer, err := seal.Open(t.Context(), s.config())
			must(t, err)
			if got := sealer.Status(); got.Fingerprint != tt.want || got.Trouble != "" {
				t.Errorf("the status is %+v, want the key %s", got, tt.want)
			}
			must(t, sealer.Close())
			if again, err := seal.Rotate(t.Context(), s.config(), ""); err != nil || again.Fingerprint == tt.want {
				t.Errorf("a change of the key after that: %+v, error %v", again, err)
			}
		})
	}
}
