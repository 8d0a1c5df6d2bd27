package journaltest

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"

	"readback/capture/journal"
)

func sequence(t *testing.T, s journal.Store) {
	got := keep(t, s, Opening("MW-1041", 1), Opening("MW-1042", 2), Note("MW-1041", 3), Note("MW-1041", 4))
	got = append(got, keep(t, s, Note("MW-1042", 5))...)
	for i, want := range []int64{1, 1, 2, 3, 2} {
		if got[i].Seq != want {
			t.Errorf("entry %d of job %s has seq %d, want %d", i, got[i].Job, got[i].Seq, want)
		}
	}
}

func positions(t *testing.T, s journal.Store) {
	got := keep(t, s, Opening("MW-1041", 1), Opening("MW-1042", 2), Note("MW-1041", 3))
	got = append(got, keep(t, s, Note("MW-1042", 4))...)
	last := journal.Position(0)
	for _, e := range got {
		if e.Position <= last {
			t.Errorf("entry %s has position %d after %d", e.ID, e.Position, last)
		}
		last = e.Position
	}
}

func whole(t *testing.T, s journal.Store) {
	open, note, photo, purge, heed, disposed := Opening("MW-1041", 1), Note("MW-1041", 2), Photo("MW-1041", 3, 2), Purge("MW-1041", 4, 2), Heeding("MW-1041", 5, 2), Disposition("MW-1041", 6, 2)
	kept := keep(t, s, open, note, photo, purge, heed, disposed)
	open.Seq, open.Position = 1, kept[0].Position
	note.Seq, note.Position = 2, kept[1].Position
	photo.Seq, photo.Position = 3, kept[2].Position
	purge.Seq, purge.Position = 4, kept[3].Position
	heed.Seq, heed.Position = 5, kept[4].Position
	disposed.Seq, disposed.Position = 6, kept[5].Position
	equal(t, "as Append gave them", []journal.Entry{open, note, photo, purge, heed, disposed}, kept)
	equal(t, "as After gave them", []journal.Entry{open, note, photo, purge, heed, disposed}, all(t, s))
	one, err := s.ByID(t.Context(), "MW-1041", note.ID)
	if err != nil {
		t.Fatal(err)
	}
	equal(t, "as ByID gave it", note, one)
}

func notStated(t *testing.T, s journal.Store) {
	e := Note("MW-1041", 1)
	e.Person = ""
	if got := keep(t, s, e)[0].Person; got != journal.NotStated {
		t.Errorf("Append gave person %q, want %q", got, journal.NotStated)
	}
	if got := all(t, s)[0].Person; got != journal.NotStated {
		t.Errorf("After gave person %q, want %q", got, journal.NotStated)
	}
}

func apart(t *testing.T, s journal.Store) {
	open, note, purge, disposed := Opening("MW-1041", 1), Note("MW-1041", 2), Purge("MW-1041", 3, 2), Disposition("MW-1041", 4, 2)
	keep(t, s, open, note, purge, disposed)
	want := all(t, s)
	open.Options["base"], note.Answer[2], note.Utterance.Claims[0].Unit = "short", 'X', "[lbf_av].[ft_i]"
	purge.Purge.Rule, purge.Purge.Items[0].Seq = "none", 9
	disposed.Disposition.Reason = "none"
	got := all(t, s)
	equal(t, "after the caller changed its entries", want, got)
	got[0].Options["base"], got[1].Answer[2], got[1].Utterance.Claims[0].Unit = "short", 'X', "bar"
	got[2].Purge.Rule, got[2].Purge.Items[0].Seq = "none", 9
	got[3].Disposition.Reason = "none"
	equal(t, "after a reader changed its entries", want, all(t, s))
}

func sameID(t *testing.T, s journal.Store) {
	first := keep(t, s, Opening("MW-1041", 1), Note("MW-1041", 2), Note("MW-1041", 3))[1]
	for _, seq := range []int64{0, 2, 4, 9} {
		again := Note("MW-1041", 2)
		again.Seq, again.Text, again.Person, again.Answer = seq, "something else", "Tom", []byte(`{}`)
		r := add(t, s, again)[0]
		if r.Err != nil || !r.Known {
			t.Errorf("again with seq %d: known %t, error %v; want known and none", seq, r.Known, r.Err)
		}
		equal(t, "the entry kept first", first, r.Entry)
	}
	if n := len(all(t, s)); n != 3 {
		t.Errorf("%d entries are kept, want 3", n)
	}
}

func sameIDInBatch(t *testing.T, s journal.Store) {
	again := Note("MW-1041", 2)
	again.Text = "something else"
	r := add(t, s, Opening("MW-1041", 1), Note("MW-1041", 2), again, Note("MW-1041", 3))
	for i, known := range []bool{false, false, true, false} {
		if r[i].Err != nil || r[i].Known != known {
			t.Errorf("entry %d: known %t, error %v; want known %t and none", i, r[i].Known, r[i].Err, known)
		}
	}
	equal(t, "the second of the same id", r[1].Entry, r[2].Entry)
	if r[3].Entry.Seq != 3 {
		t.Errorf("the entry after them has seq %d, want 3", r[3].Entry.Seq)
	}
}

func otherJob(t *testing.T, s journal.Store) {
	keep(t, s, Opening("MW-1041", 1), Opening("MW-1042", 2), Note("MW-1041", 3))
	r := add(t, s, Note("MW-1042", 3), Note("MW-1042", 4), Note("MW-1041", 4))
	refused(t, "an id of another job", r[0], journal.ErrOtherJob)
	refused(t, "an id that another job took in this batch", r[2], journal.ErrOtherJob)
	if r[1].Err != nil || r[1].Entry.Seq != 2 {
		t.Errorf("the entry between them: seq %d, error %v; want 2 and none", r[1].Entry.Seq, r[1].Err)
	}
	if n := len(all(t, s)); n != 4 {
		t.Errorf("%d entries are kept, want 4", n)
	}
}

func wrongSeq(t *testing.T, s journal.Store) {
	seq := func(n int, seq int64) journal.Entry {
		e := Note("MW-1041", n)
		e.Seq = seq
		return e
	}
	r := add(t, s, seq(1, 2), seq(2, 1), seq(3, 1), seq(4, 3), seq(5, 2), seq(6, 0))
	for i, want := range []int64{0, 1, 0, 0, 2, 3} {
		if want == 0 {
			refused(t, "a wrong seq", r[i], journal.ErrSeq)
		} else if r[i].Err != nil || r[i].Entry.Seq != want {
			t.Errorf("entry %d: seq %d, error %v; want %d and none", i, r[i].Entry.Seq, r[i].Err, want)
		}
	}
	refused(t, "a seq below 0", add(t, s, seq(7, -1))[0], journal.ErrEntry)
	if n := len(all(t, s)); n != 3 {
		t.Errorf("%d entries are kept, want 3", n)
	}
}

func seqRace(t *testing.T, s journal.Store) {
	const benches = 8
	var wait sync.WaitGroup
	results := make([]journal.Result, benches)
	for i := range benches {
		wait.Go(func() {
			e := Opening("MW-1041", i+1)
			e.Seq = 1
			if r, err := s.Append(t.Context(), []journal.Entry{e}); err != nil {
				t.Errorf("append: %v", err)
			} else {
				results[i] = r[0]
			}
		})
	}
	wait.Wait()
	kept := 0
	for _, r := range results {
		if r.Err == nil {
			kept++
		} else if !errors.Is(r.Err, journal.ErrSeq) {
			t.Errorf("refused with %v, want ErrSeq", r.Err)
		}
	}
	if n := len(all(t, s)); kept != 1 || n != 1 {
		t.Errorf("%d were told that they were kept and %d are, want 1 and 1", kept, n)
	}
}

func badEntry(t *testing.T, s journal.Store) {
	bad := map[string]func(*journal.Entry){
		"no job":            func(e *journal.Entry) { e.Job = "" },
		"no id":             func(e *journal.Entry) { e.ID = "" },
		"no kind":           func(e *journal.Entry) { e.Kind = "" },
		"unknown kind":      func(e *journal.Entry) { e.Kind = "closed" },
		"no server time":    func(e *journal.Entry) { e.At = 0 },
		"answer not JSON":   func(e *journal.Entry) { e.Answer = []byte("{") },
		"NUL in text":       func(e *journal.Entry) { e.Text = "seat\x00clean" },
		"bad UTF-8 in text": func(e *journal.Entry) { e.Text = "seat \xff clean" },
		"NUL in job":        func(e *journal.Entry) { e.Job = "MW\x00" },
		"bad UTF-8 person":  func(e *journal.Entry) { e.Person = "\xc3" },
		"NUL in an option":  func(e *journal.Entry) { e.Options = map[string]string{"base": "\x00"} },
		"a note's photo":    func(e *journal.Entry) { e.Photo = "5f2c" },
		"a photo of none":   func(e *journal.Entry) { *e = Photo(e.Job, 99, 0) },
		"a photo of a NUL":  func(e *journal.Entry) { *e = Photo(e.Job, 98, 1); e.Photo = "\x00" },
		"a note that purges": func(e *journal.Entry) {
			e.Purge = &journal.Purge{Items: []journal.PurgedItem{{Seq: 1, Hash: "5f2c"}}}
		},
		"heeded by nobody":            func(e *journal.Entry) { *e = Heeding(e.Job, 95, 1); e.Person = "" },
		"heeded of nothing":           func(e *journal.Entry) { *e = Heeding(e.Job, 94, 0) },
		"a note that heeds":           func(e *journal.Entry) { e.Of = 1 },
		"a purge of nothing":          func(e *journal.Entry) { *e = Purge(e.Job, 97) },
		"a note that decides":         func(e *journal.Entry) { e.Disposition = Disposition(e.Job, 1, 1).Disposition },
		"a decision of nothing":       func(e *journal.Entry) { *e = Disposition(e.Job, 90, 1); e.Disposition = nil },
		"a decision of nobody":        func(e *journal.Entry) { *e = Disposition(e.Job, 89, 1); e.Person = "" },
		"a decision of one not named": func(e *journal.Entry) { *e = Disposition(e.Job, 93, 1); e.Person = journal.NotStated },
		"a decision without a reason": func(e *journal.Entry) { *e = Disposition(e.Job, 92, 1); e.Disposition.Reason = " " },
		"a decision for a NUL":        func(e *journal.Entry) { *e = Disposition(e.Job, 91, 1); e.Disposition.Reason = "so\x00" },
		"a purge of a NUL":            func(e *journal.Entry) { *e = Purge(e.Job, 96, 1); e.Purge.Items[0].Hash = "\x00" },
	}
	n := 100
	for name, spoil := range bad {
		e := Note("MW-1041", n)
		spoil(&e)
		r := add(t, s, e, Note("MW-1041", n+1))
		refused(t, name, r[0], journal.ErrEntry)
		if r[1].Err != nil {
			t.Errorf("%s: the entry behind it was refused: %v", name, r[1].Err)
		}
		n += 2
	}
	if n := len(all(t, s)); n != len(bad) {
		t.Errorf("%d entries are kept, want %d", n, len(bad))
	}
}

func texts(t *testing.T, s journal.Store) {
	for i, text := range []string{
		"", " ", "it's \"clean\"; DROP TABLE entries;--", "5 µm, 120 kΩ at 40 °C", "a\u2028b\r\n\tc",
		"\u0001\u007f", "e\u0301 é \u212a", "\ufeff\U0001f527", "'; %s \\ /* */ ?", strings.Repeat("Ω", 2000),
	} {
		e := Note("MW-1041", i+1)
		e.Text, e.Bench, e.Utterance.Text = text, text, text
		if got := keep(t, s, e)[0].Text; got != text {
			t.Errorf("Append gave %q for %q", got, text)
		}
		got, err := s.ByID(t.Context(), "MW-1041", e.ID)
		if err != nil {
			t.Fatal(err)
		}
		if got.Text != text || got.Bench != text || got.Utterance.Text != text {
			t.Errorf("ByID gave %q, %q and %q for %q", got.Text, got.Bench, got.Utterance.Text, text)
		}
	}
}

func emptyBatch(t *testing.T, s journal.Store) {
	add(t, s)
	if n := len(all(t, s)); n != 0 {
		t.Errorf("%d entries are kept, want none", n)
	}
}

func endedContext(t *testing.T, s journal.Store) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.Append(ctx, []journal.Entry{Note("MW-1041", 1)}); !errors.Is(err, context.Canceled) {
		t.Errorf("append gave %v, want context.Canceled", err)
	}
	if n := len(all(t, s)); n != 0 {
		t.Errorf("%d entries are kept, want none", n)
	}
}

func refused(t *testing.T, what string, r journal.Result, want error) {
	t.Helper()
	if !errors.Is(r.Err, want) || r.Known {
		t.Errorf("%s: known %t, error %v; want %v", what, r.Known, r.Err, want)
	}
	equal(t, what, journal.Entry{}, r.Entry)
	if !journal.IsRefusal(r.Err) {
		t.Errorf("%s: IsRefusal(%v) is false", what, r.Err)
	}
}
