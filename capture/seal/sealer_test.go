package seal_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/seal"
)

func TestSealerFollows(t *testing.T) {
	s := newShop(t)
	s.work(0, 10) // from before there was a seal
	sealer, end := s.open()
	first := s.until(sealer, "ten entries and a key", size(11))
	s.work(10, 25)
	second := s.until(sealer, "thirty-five entries", size(36))
	if first.Fingerprint != second.Fingerprint || first.Log != second.Log || second.Trouble != "" || second.Witness != "" {
		t.Errorf("the status went from %+v to %+v", first, second)
	}
	for _, job := range []string{"MW-1041", "MW-1042", "MW-1043"} {
		entries := s.entries(job)
		r, err := verify(t, bundle(t, sealer, entries, 0), seal.Expect{})
		if err != nil || !r.Holds() || r.Entries != len(entries) || r.Job != job {
			t.Errorf("job %s: %+v, error %v", job, r, err)
		}
		// The log has the job as it was a while ago as well; it is not sealed as if that were all.
		if proof, err := sealer.Prove(t.Context(), job, 3, 0); !errors.Is(err, seal.ErrShort) || !strings.Contains(err.Error(), fmt.Sprintf("%d were sealed, and 3 were given", len(entries))) {
			t.Errorf("job %s with its end cut off: %+v, error %v", job, proof, err)
		}
	}
	if _, err := sealer.Prove(t.Context(), "MW-9999", 1, 0); !errors.Is(err, seal.ErrNone) {
		t.Errorf("a job that there is not: %v", err)
	}
	end()
	info, err := os.Stat(s.keyFile)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key has mode %v, error %v", info.Mode(), err)
	}
}

// A start goes on from the trees that are there: an entry long before the last is not read again, which is
// for doctor to do.
func TestStartReadsNoMoreThanItMust(t *testing.T) {
	s := newShop(t)
	s.work(0, 50)
	sealer, end := s.open()
	s.until(sealer, "all", size(51))
	end()
	from := &counting{Source: s.memory}
	s.store = from
	sealer, end = s.open()
	s.work(50, 1)
	s.until(sealer, "one more", size(52))
	end()
	if from.entries > 3 {
		t.Errorf("a start with 50 entries and one more has read %d", from.entries)
	}
	if strings.Contains(s.said(), "built") {
		t.Errorf("the trees were built again: %s", s.said())
	}
}

type counting struct {
	seal.Source
	entries int
}

func (c *counting) After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error) {
	entries, err := c.Source.After(ctx, at, limit)
	c.entries += len(entries)
	return entries, err
}

// Whatever of the trees is torn or gone is built again from the journal, and goes on as if nothing had been.
func TestTornTreesAreBuiltAgain(t *testing.T) {
	trees := func(s *shop) string { return filepath.Join(s.data, "seal", "trees.db") }
	for name, tear := range map[string]func(t *testing.T, s *shop){
		"gone":  func(t *testing.T, s *shop) { must(t, os.Remove(trees(s))) },
		"empty": func(t *testing.T, s *shop) { must(t, os.Truncate(trees(s), 0)) },
		"cut":   func(t *testing.T, s *shop) { must(t, os.Truncate(trees(s), 5000)) },
		"garbage": func(t *testing.T, s *shop) {
			must(t, os.WriteFile(trees(s), bytes.Repeat([]byte("torn"), 5000), 0o600))
		},
		"zeros in the middle": func(t *testing.T, s *shop) {
			f, err := os.OpenFile(trees(s), os.O_RDWR, 0)
			must(t, err)
			info, err := f.Stat()
			must(t, err)
			_, err = f.WriteAt(make([]byte, info.Size()-4096), 4096)
			must(t, errors.Join(err, f.Close()))
		},
		"an older copy": func(t *testing.T, s *shop) {
			text, err := os.ReadFile(filepath.Join(s.data, "older"))
			must(t, err)
			must(t, os.WriteFile(trees(s), text, 0o600))
		},
		"a torn head": func(t *testing.T, s *shop) {
			f, err := os.OpenFile(filepath.Join(s.data, "seal", "heads.jsonl"), os.O_APPEND|os.O_WRONLY, 0)
			must(t, err)
			_, err = f.WriteString(`{"head":{"at":19304640`)
			must(t, errors.Join(err, f.Close()))
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newShop(t)
			s.work(0, 5)
			sealer, end := s.open()
			s.until(sealer, "five", size(6))
			end()
			text, err := os.ReadFile(trees(s))
			must(t, err)
			must(t, os.WriteFile(filepath.Join(s.data, "older"), text, 0o600))
			sealer, end = s.open()
			s.work(5, 35)
			before := s.until(sealer, "forty", size(41))
			end()
			tear(t, s)
			s.work(40, 2)
			sealer, end = s.open()
			defer end()
			after := s.until(sealer, "forty-two", size(43))
			if after.Log != before.Log || after.Trouble != "" {
				t.Errorf("the status went from %+v to %+v", before, after)
			}
			known := before.Newest
			r, err := verify(t, bundle(t, sealer, s.entries("MW-1042"), known.Head.Size), seal.Expect{Key: &before.Fingerprint, Head: &known})
			if err != nil || !r.Holds() {
				t.Errorf("%+v, error %v", r, err)
			}
		})
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// edited is a journal that somebody has changed.
type edited struct {
	seal.Source
	change func([]journal.Entry) []journal.Entry
}

func (e edited) After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error) {
	all, err := e.Source.After(ctx, 0, 1<<20)
	var out []journal.Entry
	for _, one := range e.change(all) {
		if one.Position > at && len(out) < limit {
			out = append(out, one)
		}
	}
	return out, err
}

// A record that was changed is not sealed again. It is said, at which entry where that can be told, and
// notes go on.
func TestChangedRecordIsNotSealed(t *testing.T) {
	lastText := func(all []journal.Entry) []journal.Entry {
		all[19].Text += "!"
		return all
	}
	inside := func(all []journal.Entry) []journal.Entry {
		all[7].Person = "Jonas"
		return all
	}
	for _, tt := range []struct {
		name   string
		change func([]journal.Entry) []journal.Entry
		trees  bool // are still there
		says   string
	}{
		{"the last entry", lastText, true, "entry 7 of job MW-1042 is not what was sealed"},
		{"the last entry, trees gone", lastText, false, "which entry it is cannot be told"},
		{"an entry inside, trees gone", inside, false, "the journal is not what was sealed"},
		{"the last entry is missing", func(all []journal.Entry) []journal.Entry { return all[:19] }, true, "fewer entries"},
		{"the last is missing, trees gone", func(all []journal.Entry) []journal.Entry { return all[:19] }, false, "fewer entries"},
		{"the last two have changed places", func(all []journal.Entry) []journal.Entry {
			all[18], all[19] = all[19], all[18]
			all[18].Position, all[19].Position = all[19].Position, all[18].Position
			return all
		}, true, "is not where it was sealed"},
		{"another journal", func(all []journal.Entry) []journal.Entry {
			for i := range all {
				all[i].Text = "other"
			}
			return all
		}, true, "entry 1 of job MW-1041 is not what was sealed"},
		{"an empty journal", func([]journal.Entry) []journal.Entry { return nil }, true, "fewer entries"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newShop(t)
			s.work(0, 20)
			sealer, end := s.open()
			before := s.until(sealer, "all", size(21))
			end()
			if !tt.trees {
				must(t, os.Remove(filepath.Join(s.data, "seal", "trees.db")))
			}
			s.store = edited{s.memory, tt.change}
			sealer, end = s.open()
			after := s.until(sealer, "trouble", func(st seal.Status) bool { return st.Trouble != "" })
			if !strings.Contains(after.Trouble, tt.says) || after.Newest != before.Newest {
				t.Errorf("the trouble is %q, want %q; the head went from %v to %v", after.Trouble, tt.says, before.Newest, after.Newest)
			}
			s.work(20, 1) // notes go on, and nothing is signed
			end()
			if !strings.Contains(s.said(), `"level":"error"`) {
				t.Errorf("nothing was said: %s", s.said())
			}
			// A start with the true journal goes on.
			s.store = s.memory
			sealer, end = s.open()
			defer end()
			s.until(sealer, "the true journal", size(22))
		})
	}
}

// What cannot have a canonical form ends the seal of its job, and of no other.
func TestEntryThatCannotBeSealed(t *testing.T) {
	s := newShop(t)
	poison := journaltest.Note("MW-1041", 3)
	poison.Answer = json.RawMessage(`{"kind":"reading","kind":"remark"}`)
	s.keep(journaltest.Opening("MW-1041", 1), journaltest.Note("MW-1041", 2), poison, journaltest.Note("MW-1041", 4), journaltest.Opening("MW-1042", 5), journaltest.Note("MW-1042", 6))
	sealer, end := s.open()
	s.until(sealer, "two and two", size(5))
	r, err := verify(t, bundle(t, sealer, s.entries("MW-1042"), 0), seal.Expect{})
	if err != nil || !r.Holds() {
		t.Errorf("the other job: %+v, error %v", r, err)
	}
	end()
	if said := s.said(); strings.Count(said, `"level":"error"`) != 1 || !strings.Contains(said, `"job":"MW-1041","seq":3`) {
		t.Errorf("it said %s", said)
	}
	must(t, os.Remove(filepath.Join(s.data, "seal", "trees.db"))) // and the same when it is built again
	sealer, end = s.open()
	s.keep(journaltest.Note("MW-1042", 7))
	s.until(sealer, "one more", size(6))
	end()
}

func TestWitness(t *testing.T) {
	s := newShop(t)
	s.witness = filepath.Join(t.TempDir(), "heads")
	s.work(0, 4)
	sealer, end := s.open()
	s.until(sealer, "all", size(5))
	head := func() seal.SignedHead {
		t.Helper()
		for range 1000 {
			if h, err := seal.ReadHead(s.witness); err == nil && h == sealer.Status().Newest {
				return h
			}
			<-time5ms()
		}
		t.Fatalf("the witness does not have the newest head: %s", s.said())
		return seal.SignedHead{}
	}
	head()
	s.work(4, 4)
	s.until(sealer, "more", size(9))
	kept := head()
	end()

	// The folder is put back from an older copy, with its journal: the witness knows.
	older := newShop(t)
	older.data, older.keyFile, older.witness = s.data, s.keyFile, s.witness
	older.work(0, 6)
	must(t, os.Remove(filepath.Join(s.data, "seal", "heads.jsonl")))
	must(t, os.Remove(filepath.Join(s.data, "seal", "trees.db")))
	sealer, end = older.open()
	status := older.until(sealer, "trouble", func(st seal.Status) bool { return st.Trouble != "" })
	if !strings.Contains(status.Trouble, "put back from an older copy") {
		t.Errorf("the trouble is %q", status.Trouble)
	}
	end()

	// Another record of the same length: the witness knows as well.
	other := newShop(t)
	other.data, other.keyFile, other.witness = s.data, s.keyFile, s.witness
	other.work(1, 12)
	must(t, os.RemoveAll(filepath.Join(s.data, "seal", "heads.jsonl")))
	must(t, os.RemoveAll(filepath.Join(s.data, "seal", "trees.db")))
	sealer, end = other.open()
	status = other.until(sealer, "trouble", func(st seal.Status) bool { return st.Trouble != "" })
	if !strings.Contains(status.Trouble, "another head of 9 leaves") {
		t.Errorf("the trouble is %q", status.Trouble)
	}
	end()
	if now, err := seal.ReadHead(s.witness); err != nil || now != kept {
		t.Errorf("the witness has %v now, error %v", now, err)
	}
}

// A witness that cannot be written is told, and holds nothing up.
func TestWitnessInTrouble(t *testing.T) {
	for name, file := range map[string]func(t *testing.T) string{
		"no folder":    func(t *testing.T) string { return filepath.Join(t.TempDir(), "gone", "heads") },
		"a folder":     func(t *testing.T) string { return t.TempDir() },
		"a full disk":  func(*testing.T) string { return "/dev/full" },
		"another text": func(t *testing.T) string { return put(t, "# shopping\nbread\n") },
		"a pipe that nobody reads": func(t *testing.T) string {
			path := filepath.Join(t.TempDir(), "pipe")
			must(t, syscall.Mkfifo(path, 0o600))
			return path
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newShop(t)
			s.witness = file(t)
			s.work(0, 4)
			sealer, end := s.open()
			defer end()
			s.until(sealer, "sealed all the same", size(5))
			s.until(sealer, "told", func(st seal.Status) bool { return st.Witness != "" })
			s.work(4, 4)
			if st := s.until(sealer, "and goes on", size(9)); st.Trouble != "" {
				t.Errorf("trouble %q", st.Trouble)
			}
		})
	}
}

// A disk of the witness that hangs does not keep the sealer from its end. It hangs as the kernel makes an open
// wait for the lease of another.
func TestWitnessThatHangs(t *testing.T) {
	s := newShop(t)
	s.witness = put(t, "")
	other, err := os.Open(s.witness)
	must(t, err)
	defer other.Close()
	const setLease, getLease = 1024, 1025 // of fcntl(2)
	lease := func(command, kind uintptr) uintptr {
		is, _, errno := syscall.Syscall(syscall.SYS_FCNTL, other.Fd(), command, kind)
		if errno != 0 {
			t.Fatalf("this file system has no leases: %v", errno)
		}
		return is
	}
	lease(setLease, syscall.F_RDLCK)
	s.work(0, 4)
	sealer, err := seal.Open(t.Context(), s.config())
	must(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	done := make(chan error, 1)
	go func() { done <- sealer.Run(ctx) }()
	s.until(sealer, "sealed all the same", size(5))
	for lease(getLease, 0) != syscall.F_UNLCK { // until somebody waits to write
		<-time5ms()
	}
	cancel()
	select {
	case err := <-done:
		if err := errors.Join(err, sealer.Close()); !errors.Is(err, context.Canceled) {
			t.Errorf("it ended with %v", err)
		}
	case <-time.After(25 * time.Second): // the kernel ends a lease after 45 s
		t.Fatal("it does not end")
	}
	if lease(getLease, 0) != syscall.F_UNLCK || !strings.Contains(s.said(), "disk of the witness does not answer") {
		t.Errorf("it did not hang to the end: %s", s.said())
	}
	lease(setLease, syscall.F_UNLCK) // whoever waits goes on, and ends
	for info, err := os.Stat(s.witness); err != nil || info.Size() == 0; info, err = os.Stat(s.witness) {
		<-time5ms()
	}
}

func put(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "file")
	must(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

func TestFilesOfTheSealAreLookedAt(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(t *testing.T, seal string)
		says   string
	}{
		{"the keys are gone", func(t *testing.T, at string) { must(t, os.Remove(filepath.Join(at, "keys.jsonl"))) }, "keys.jsonl, which tells whose heads those are, is not"},
		{"the keys are no JSON", func(t *testing.T, at string) {
			must(t, os.WriteFile(filepath.Join(at, "keys.jsonl"), []byte("x\n"), 0o600))
		}, "no event of a key"},
		{"the last head is garbage", func(t *testing.T, at string) {
			must(t, os.WriteFile(filepath.Join(at, "heads.jsonl"), []byte("x\n"), 0o600))
		}, "no signed head"},
		{"the last head is another", func(t *testing.T, at string) {
			text, err := os.ReadFile(filepath.Join(at, "heads.jsonl"))
			must(t, err)
			must(t, os.WriteFile(filepath.Join(at, "heads.jsonl"), bytes.ReplaceAll(text, []byte(`"size":`), []byte(`"size":1`)), 0o600))
		}, "signature does not hold"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newShop(t)
			s.work(0, 4)
			sealer, end := s.open()
			s.until(sealer, "all", size(5))
			end()
			tt.change(t, filepath.Join(s.data, "seal"))
			sealer, end = s.open()
			defer end()
			if st := s.until(sealer, "trouble", func(st seal.Status) bool { return st.Trouble != "" }); !strings.Contains(st.Trouble, tt.says) {
				t.Errorf("the trouble is %q, want %q", st.Trouble, tt.says)
			}
		})
	}
}

// The leaves of entries as this program first sealed them. If one is another, what was sealed is told as
// changed: an entry must stay the same JSON.
func TestLeavesStayAsTheyAre(t *testing.T) {
	m := memory.New()
	var batch []journal.Entry
	for i := range 10 {
		batch = append(batch, entryOf(i))
	}
	results, err := m.Append(t.Context(), batch)
	must(t, err)
	var leaves []seal.Hash
	for _, r := range results {
		text, err := json.Marshal(r.Entry)
		must(t, errors.Join(r.Err, err))
		leaf, err := seal.EntryHash(text)
		must(t, err)
		leaves = append(leaves, leaf)
	}
	root, err := seal.Root(leaves)
	must(t, err)
	if want := "375de6f0d55e04b2baadce6d7616e86e0db6ab484c4beaf068f724eeadf85859"; root.String() != want {
		t.Errorf("the root of the ten entries is %s, want %s", root, want)
	}
}
