package evidence_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/rs/zerolog"
	"pgregory.net/rapid"

	"readback/capture/evidence"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/journal/sqlite"
)

const (
	day       = 24 * time.Hour
	killedDir = "READBACK_PURGE_FOLDER" // set: this process purges it and kills itself at the first file
)

// start is when the purges of the tests run: the files that they put are older.
var start = time.Now().Add(day)

func TestMain(m *testing.M) {
	if dir := os.Getenv(killedDir); dir != "" {
		fmt.Fprintln(os.Stderr, purgeUntilKilled(dir)) // it was not killed, which its parent notices
		return
	}
	m.Run()
}

// shop is a journal and its folders.
type shop struct {
	t       testing.TB
	store   journal.Store
	folders map[evidence.Sort]*evidence.Files
	n       int
	now     time.Time
}

func newShop(t testing.TB, store journal.Store, dir string) *shop {
	s := &shop{t: t, store: store, folders: map[evidence.Sort]*evidence.Files{}, now: start}
	for _, sort := range []evidence.Sort{evidence.Sound, evidence.Photo} {
		f, err := evidence.Open(filepath.Join(dir, string(sort)), ".bin")
		if err != nil {
			t.Fatal(err)
		}
		s.folders[sort] = f
	}
	return s
}

func (s *shop) keep(e journal.Entry) journal.Entry {
	s.t.Helper()
	results, err := s.store.Append(s.t.Context(), []journal.Entry{e})
	if err = errors.Join(err, results[0].Err); err != nil {
		s.t.Fatal(err)
	}
	return results[0].Entry
}

func (s *shop) put(sort evidence.Sort, data string) string {
	s.t.Helper()
	hash, err := s.folders[sort].Put([]byte(data))
	if err != nil {
		s.t.Fatal(err)
	}
	return hash
}

// note keeps a note with a sound, so old.
func (s *shop) note(job, sound string, old time.Duration) journal.Entry {
	s.t.Helper()
	s.n++
	e := journaltest.Note(job, s.n)
	e.Seq, e.At, e.Sound = 0, journal.InstantOf(s.now.Add(-old)), s.put(evidence.Sound, sound)
	return s.keep(e)
}

// photo keeps a photo of a note.
func (s *shop) photo(of journal.Entry, data string, old time.Duration) journal.Entry {
	s.t.Helper()
	s.n++
	e := journaltest.Photo(of.Job, s.n, of.Seq)
	e.Seq, e.At, e.Photo = 0, journal.InstantOf(s.now.Add(-old)), s.put(evidence.Photo, data)
	return s.keep(e)
}

func (s *shop) purger() *evidence.Purger {
	return &evidence.Purger{
		Source: s.store, Program: "test", Log: zerolog.Nop(), Now: func() time.Time { return s.now },
		Folders: map[evidence.Sort]evidence.Folder{evidence.Sound: s.folders[evidence.Sound], evidence.Photo: s.folders[evidence.Photo]},
		Record: func(ctx context.Context, e journal.Entry) error {
			results, err := s.store.Append(ctx, []journal.Entry{e})
			return errors.Join(err, results[0].Err)
		},
	}
}

func (s *shop) purge(r evidence.Rule) evidence.Report {
	s.t.Helper()
	report, err := s.purger().Purge(s.t.Context(), r, false)
	if err != nil {
		s.t.Fatal(err)
	}
	return report
}

// last is the last entry of a job.
func (s *shop) last(job string) journal.Entry {
	s.t.Helper()
	entries, err := s.store.Entries(s.t.Context(), job, 0, 1000)
	if err != nil {
		s.t.Fatal(err)
	}
	return entries[len(entries)-1]
}

func (s *shop) has(sort evidence.Sort, data string) bool {
	return has(s.folders[sort], evidence.HashOf([]byte(data)))
}

func TestPurgeByAge(t *testing.T) {
	s := newShop(t, memory.New(), t.TempDir())
	old := s.note("MW-1041", "old", 100*day)
	seen := s.photo(old, "old photo", 100*day)
	s.note("MW-1041", "new", 10*day)
	young := s.photo(old, "new photo", 10*day)
	report := s.purge(evidence.Rule{Sounds: 90 * day, Photos: 50 * day, By: "Ines"})
	if report.Gone[evidence.Sound] != 1 || report.Gone[evidence.Photo] != 1 || report.Files != 2 {
		t.Errorf("purged %+v, %d files", report.Gone, report.Files)
	}
	e := s.last("MW-1041")
	want := &journal.Purge{
		Rule: "sounds older than 90 days, photos older than 50 days", Before: journal.InstantOf(s.now.Add(-50 * day)),
		Items: []journal.PurgedItem{{Seq: old.Seq, Hash: old.Sound}, {Seq: seen.Seq, Hash: seen.Photo}},
	}
	if diff := cmp.Diff(want, e.Purge); diff != "" || e.Kind != journal.Purged || e.Person != "Ines" || e.Seq != young.Seq+1 {
		t.Errorf("the record has %+v (-want +got):\n%s", e, diff)
	}
	if s.has(evidence.Sound, "old") || s.has(evidence.Photo, "old photo") || !s.has(evidence.Sound, "new") || !s.has(evidence.Photo, "new photo") {
		t.Error("the wrong files are gone")
	}
	if again := s.purge(evidence.Rule{Sounds: 90 * day, Photos: 50 * day}); len(again.Entries) != 0 || again.Files != 0 {
		t.Errorf("once more purged %+v", again)
	}
}

// The same sound in two jobs goes when no note needs it any more.
func TestASharedFileStaysAsLongAsItIsNeeded(t *testing.T) {
	s := newShop(t, memory.New(), t.TempDir())
	s.note("MW-1041", "the same", 100*day)
	s.note("MW-1042", "the same", 50*day)
	s.note("MW-1042", "the same", 100*day)
	if report := s.purge(evidence.Rule{Sounds: 90 * day}); len(report.Entries) != 2 || report.Files != 0 || !s.has(evidence.Sound, "the same") {
		t.Errorf("%d entries, %d files, there %t", len(report.Entries), report.Files, s.has(evidence.Sound, "the same"))
	}
	s.now = s.now.Add(60 * day)
	if report := s.purge(evidence.Rule{Sounds: 90 * day}); len(report.Entries) != 1 || report.Files != 1 || s.has(evidence.Sound, "the same") {
		t.Errorf("later: %d entries, %d files, there %t", len(report.Entries), report.Files, s.has(evidence.Sound, "the same"))
	}
}

func TestADryPurgeChangesNothing(t *testing.T) {
	s := newShop(t, memory.New(), t.TempDir())
	note := s.note("MW-1041", "old", 100*day)
	report, err := s.purger().Purge(t.Context(), evidence.Rule{Sounds: day}, true)
	if err != nil || report.Gone[evidence.Sound] != 1 || report.Files != 0 {
		t.Errorf("%+v, error %v", report, err)
	}
	if e := s.last("MW-1041"); e.Seq != note.Seq || !s.has(evidence.Sound, "old") {
		t.Errorf("the last entry is %+v", e)
	}
}

// What was put and never committed goes when its entry can come no more, also without a rule.
func TestAFileThatNothingNamesIsMended(t *testing.T) {
	s := newShop(t, memory.New(), t.TempDir())
	s.put(evidence.Sound, "of no note")
	s.put(evidence.Photo, "of no note")
	mend := func(now time.Time, want int) {
		t.Helper()
		s.now = now
		if n, err := s.purger().Mend(t.Context()); n != want || err != nil {
			t.Errorf("mended %d files, error %v; want %d", n, err, want)
		}
	}
	mend(start, 0) // the journal names none: it may be that of other files
	s.note("MW-1041", "named", 100*day)
	mend(time.Now().Add(9*time.Minute), 0)
	mend(time.Now().Add(11*time.Minute), 2)
	if s.has(evidence.Sound, "of no note") || s.has(evidence.Photo, "of no note") || !s.has(evidence.Sound, "named") {
		t.Error("a file of no note is there, or that of a note gone")
	}
}

// Where the record cannot be written, no file of it is removed.
func TestNothingGoesWithoutItsEntry(t *testing.T) {
	s := newShop(t, memory.New(), t.TempDir())
	s.note("MW-1041", "old", 100*day)
	p := s.purger()
	p.Record = func(context.Context, journal.Entry) error { return journal.ErrFull }
	if _, err := p.Purge(t.Context(), evidence.Rule{Sounds: day}, false); !errors.Is(err, journal.ErrFull) {
		t.Errorf("error %v", err)
	}
	if !s.has(evidence.Sound, "old") {
		t.Error("it is gone, and the record does not say so")
	}
}

// killer is a folder at whose first removal the process is killed, as by a power cut.
type killer struct{ evidence.Folder }

func (killer) Remove(string, time.Time) (bool, error) {
	return false, errors.Join(syscall.Kill(os.Getpid(), syscall.SIGKILL), errors.New("it lives on"))
}

// purgeUntilKilled is what the process does that gets killed.
func purgeUntilKilled(dir string) error {
	store, err := sqlite.Open(context.Background(), dir)
	if err != nil {
		return err
	}
	p := (&shop{store: store, now: start, folders: map[evidence.Sort]*evidence.Files{}}).purger()
	for _, sort := range []evidence.Sort{evidence.Sound, evidence.Photo} {
		p.Folders[sort] = killer{evidence.Read(filepath.Join(dir, string(sort)), ".bin")}
	}
	_, err = p.Purge(context.Background(), evidence.Rule{Sounds: day, Photos: day}, false)
	return err
}

// TestKilledBetweenEntryAndFile kills a purge when its entries are committed and no file is removed:
// the record says that the sounds are purged, and the next start removes them.
func TestKilledBetweenEntryAndFile(t *testing.T) {
	dir := t.TempDir()
	store, err := sqlite.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	s := newShop(t, store, dir)
	note := s.note("MW-1041", "one", 100*day)
	s.photo(note, "a photo", 100*day)
	s.note("MW-1042", "two", 100*day)
	s.note("MW-1042", "new", 0)
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), os.Args[0])
	c.Env = append(os.Environ(), killedDir+"="+dir)
	out, err := c.CombinedOutput()
	if exit, ok := errors.AsType[*exec.ExitError](err); !ok || exit.Sys().(syscall.WaitStatus).Signal() != syscall.SIGKILL {
		t.Fatalf("it was not killed: %v\n%s", err, out)
	}
	if s.store, err = sqlite.Open(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.store.Close() }()
	for _, job := range []string{"MW-1041", "MW-1042"} {
		if e := s.last(job); e.Kind != journal.Purged {
			t.Errorf("job %s ends in %+v", job, e)
		}
	}
	if !s.has(evidence.Sound, "one") || !s.has(evidence.Sound, "two") || !s.has(evidence.Photo, "a photo") {
		t.Fatal("a file was gone already: the kill came too late to try anything")
	}
	if n, err := s.purger().Mend(t.Context()); n != 3 || err != nil {
		t.Errorf("mended %d files, error %v; want 3", n, err)
	}
	if s.has(evidence.Sound, "one") || s.has(evidence.Sound, "two") || s.has(evidence.Photo, "a photo") || !s.has(evidence.Sound, "new") {
		t.Error("a purged file is there, or a kept one gone")
	}
	if report := s.purge(evidence.Rule{Sounds: day, Photos: day}); len(report.Entries) != 0 {
		t.Errorf("it was purged twice: %+v", report.Entries)
	}
}

// TestTheRecordIsRight draws notes, photos and purges, also such as stop at some file: whatever the
// record says is kept is there, and after a mend nothing is that it says is purged.
func TestTheRecordIsRight(t *testing.T) {
	dir, n := t.TempDir(), 0
	rapid.Check(t, func(rt *rapid.T) {
		n++
		s := newShop(t, memory.New(), filepath.Join(dir, strconv.Itoa(n)))
		var notes []journal.Entry
		for range rapid.IntRange(1, 20).Draw(rt, "steps") {
			s.now = s.now.Add(time.Duration(rapid.IntRange(0, 20).Draw(rt, "days")) * day)
			switch what := rapid.IntRange(0, 9).Draw(rt, "what"); {
			case what < 5 || len(notes) == 0:
				notes = append(notes, s.note(rapid.SampledFrom([]string{"MW-1041", "MW-1042", "MW-1043"}).Draw(rt, "job"), rapid.SampledFrom([]string{"a", "b", "c", "d"}).Draw(rt, "sound"), 0))
			case what < 8:
				s.photo(rapid.SampledFrom(notes).Draw(rt, "of"), rapid.SampledFrom([]string{"a", "b"}).Draw(rt, "photo"), 0)
			default:
				p := s.purger()
				left := rapid.IntRange(0, 5).Draw(rt, "files until it stops")
				for sort, f := range p.Folders {
					p.Folders[sort] = &stopper{f, &left}
				}
				rule := evidence.Rule{Sounds: time.Duration(rapid.IntRange(0, 40).Draw(rt, "sounds")) * day, Photos: time.Duration(rapid.IntRange(0, 40).Draw(rt, "photos")) * day}
				if _, err := p.Purge(t.Context(), rule, false); err != nil && !errors.Is(err, errStop) {
					rt.Fatal(err)
				}
			}
			s.check(rt, false)
		}
		s.now = s.now.Add(day)
		if _, err := s.purger().Mend(t.Context()); err != nil {
			rt.Fatal(err)
		}
		s.check(rt, true)
	})
}

var errStop = errors.New("the power went")

// stopper removes so many files and then no more.
type stopper struct {
	evidence.Folder
	left *int
}

func (s *stopper) Remove(hash string, now time.Time) (bool, error) {
	if *s.left--; *s.left < 0 {
		return false, errStop
	}
	return s.Folder.Remove(hash, now)
}

// check compares the record, as it reads, to the files.
func (s *shop) check(t *rapid.T, mended bool) {
	entries, err := s.store.After(context.Background(), 0, 10_000)
	if err != nil {
		t.Fatal(err)
	}
	purged := map[string]bool{}
	for _, e := range entries {
		if e.Purge != nil {
			for _, it := range e.Purge.Items {
				purged[fmt.Sprint(e.Job, it.Seq)] = true
			}
		}
	}
	needed := map[string]bool{}
	for _, e := range entries {
		if sort, hash := evidence.Of(e); hash != "" {
			k := string(sort) + hash
			needed[k] = needed[k] || !purged[fmt.Sprint(e.Job, e.Seq)]
		}
	}
	for k, need := range needed {
		sort, hash := evidence.Sort(k[:5]), k[5:]
		switch there := has(s.folders[sort], hash); {
		case need && !there:
			t.Fatalf("%s %s is needed and gone", sort, hash)
		case mended && !need && there:
			t.Fatalf("%s %s is purged and there", sort, hash)
		}
	}
}
