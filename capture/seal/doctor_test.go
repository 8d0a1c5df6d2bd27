package seal_test

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/seal"
)

// folder makes a data folder with a sealed journal in it, and a witness beside it.
func folder(t *testing.T) (data, witness string) {
	t.Helper()
	at := t.TempDir()
	data, witness = filepath.Join(at, "data"), filepath.Join(at, "witness")
	store, err := sqlite.Open(t.Context(), data)
	must(t, err)
	for i := range 30 {
		_, err := store.Append(t.Context(), entriesOf(i))
		must(t, err)
	}
	s := &shop{t: t, data: data, keyFile: filepath.Join(at, "key"), witness: witness, store: store, notice: make(chan struct{})}
	sealer, end := s.open()
	status := s.until(sealer, "all", size(31))
	for h, err := seal.ReadHead(witness); err != nil || h != status.Newest; h, err = seal.ReadHead(witness) {
		<-time5ms()
	}
	end()
	must(t, store.Close())
	return data, witness
}

func TestDoctor(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change string // SQL, by somebody who has the disk
		says   string // "" for nothing wrong
	}{
		{"nothing", "SELECT 1", ""},
		{"a text", "UPDATE entries SET text = 'fifty' WHERE job = 'MW-1042' AND seq = 4", "4: job MW-1042: it is not what was sealed"},
		{"a time", "UPDATE entries SET at = at + 1 WHERE job = 'MW-1041' AND seq = 1", "1: job MW-1041: it is not what was sealed"},
		{"an utterance", `UPDATE entries SET utterance = replace(utterance, '"stage"', '"rod"') WHERE job = 'MW-1041' AND seq = 2`, "2: job MW-1041: it is not what was sealed"},
		{"an answer", `UPDATE entries SET answer = replace(answer, 'In', 'Out') WHERE job = 'MW-1043' AND seq = 7`, "7: job MW-1043: it is not what was sealed"},
		{"the last is gone", "DELETE FROM entries WHERE position = 30", "0: the journal has fewer entries than were sealed"},
		{"one inside is gone", "DELETE FROM entries WHERE job = 'MW-1042' AND seq = 4", "5: job MW-1042: it follows on entry 3"},
		{"a job is gone", "DELETE FROM entries WHERE job = 'MW-1042'", "0: the journal has fewer entries than were sealed"},
		{"one more, sealed by nobody", "INSERT INTO entries (job, seq, id, kind, at, client_at, person, bench, text, utterance, answer, caution, spec_hash, program) VALUES ('MW-1041', 11, 'x', 'note', 1, 0, 'Ines', '', 'x', '', '', '', '', '')", ""},
		{"another spelling of an answer", `UPDATE entries SET answer = '  ' || answer WHERE answer <> ''`, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			data, witness := folder(t)
			db, err := sql.Open("sqlite", filepath.Join(data, sqlite.File))
			must(t, err)
			_, err = db.ExecContext(t.Context(), "DROP TRIGGER never_edited; DROP TRIGGER never_removed; "+tt.change)
			must(t, errors.Join(err, db.Close()))
			for _, trees := range []bool{true, false} {
				if !trees {
					must(t, os.Remove(filepath.Join(data, "seal", "trees.db")))
				}
				r := examine(t, data, witness)
				switch {
				case tt.says == "" && !r.Holds(), tt.says != "" && r.Holds():
					t.Errorf("trees %t: holds %t\n%s", trees, r.Holds(), words(r))
				case trees && !strings.Contains(words(r), tt.says):
					t.Errorf("it does not say %q:\n%s", tt.says, words(r))
				}
			}
		})
	}
}

// A server that seals another note while the doctor reads the journal has done nothing wrong.
func TestDoctorBesideABusyServer(t *testing.T) {
	data, witness := folder(t)
	store, err := sqlite.Open(t.Context(), data)
	must(t, err)
	defer store.Close()
	busy := &afterwards{Source: store, do: func() {
		_, err := store.Append(t.Context(), entriesOf(30))
		must(t, err)
		s := &shop{t: t, data: data, keyFile: filepath.Join(filepath.Dir(data), "key"), witness: witness, store: store, notice: make(chan struct{})}
		sealer, end := s.open()
		defer end()
		status := s.until(sealer, "one more", size(32))
		for h, err := seal.ReadHead(witness); err != nil || h != status.Newest; h, err = seal.ReadHead(witness) {
			<-time5ms()
		}
	}}
	r, err := seal.Examine(t.Context(), data, witness, t.TempDir(), busy)
	must(t, err)
	if !r.Holds() || busy.do != nil || !strings.Contains(words(r), "what the witness knows: 31 leaves") {
		t.Errorf("it says\n%s", words(r))
	}
}

// afterwards does something once, right after entries were read.
type afterwards struct {
	seal.Source
	do func()
}

func (a *afterwards) After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error) {
	entries, err := a.Source.After(ctx, at, limit)
	if do := a.do; do != nil {
		a.do = nil
		do()
	}
	return entries, err
}

func examine(t *testing.T, data, witness string) seal.Report {
	t.Helper()
	store, err := sqlite.OpenReadOnly(t.Context(), data)
	must(t, err)
	defer store.Close()
	r, err := seal.Examine(t.Context(), data, witness, t.TempDir(), store)
	must(t, err)
	return r
}

// A folder that was put back from an older copy, with its seal, is whole: the witness alone knows.
func TestDoctorAsksTheWitness(t *testing.T) {
	data, witness := folder(t)
	copied := filepath.Join(t.TempDir(), "copy")
	must(t, os.CopyFS(copied, os.DirFS(data)))
	store, err := sqlite.Open(t.Context(), data)
	must(t, err)
	_, err = store.Append(t.Context(), entriesOf(30))
	must(t, err)
	s := &shop{t: t, data: data, keyFile: filepath.Join(filepath.Dir(data), "key"), witness: witness, store: store, notice: make(chan struct{})}
	sealer, end := s.open()
	status := s.until(sealer, "one more", size(32))
	for h, err := seal.ReadHead(witness); err != nil || h != status.Newest; h, err = seal.ReadHead(witness) {
		<-time5ms()
	}
	end()
	must(t, store.Close())
	if r := examine(t, data, witness); !r.Holds() || !strings.Contains(words(r), "what the witness knows: 32 leaves") {
		t.Errorf("the folder: %s", words(r))
	}
	if r := examine(t, copied, ""); !r.Holds() || !strings.Contains(words(r), "whether a witness knows more") {
		t.Errorf("the copy by itself: %s", words(r))
	}
	if r := examine(t, copied, witness); r.Holds() || !strings.Contains(words(r), "put back from an older copy") {
		t.Errorf("the copy with the witness: %s", words(r))
	}
	if _, err := seal.Examine(t.Context(), t.TempDir(), "", t.TempDir(), nil); !errors.Is(err, seal.ErrNone) {
		t.Errorf("an empty folder: %v", err)
	}
}
