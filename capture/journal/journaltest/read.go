package journaltest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"testing"

	"readback/capture/journal"
)

func follow(t *testing.T, s journal.Store) {
	var want []string
	for n := 1; n <= 10; n++ {
		want = append(want, keep(t, s, Note(fmt.Sprintf("MW-%d", 1041+n%3), n))[0].ID)
	}
	for _, limit := range []int{1, 3, 10, 100} {
		var got []string
		at := journal.Position(0)
		for {
			page, err := s.After(t.Context(), at, limit)
			if err != nil {
				t.Fatal(err)
			}
			if len(page) > limit {
				t.Fatalf("After gave %d entries, the limit is %d", len(page), limit)
			}
			if len(page) == 0 {
				break
			}
			for _, e := range page {
				got = append(got, e.ID)
			}
			at = page[len(page)-1].Position
		}
		equal(t, fmt.Sprintf("followed by %d", limit), want, got)
	}
	none, err := s.After(t.Context(), 0, 0)
	if err != nil || len(none) != 0 {
		t.Errorf("After with limit 0 gave %d entries, error %v; want none and none", len(none), err)
	}
}

func followBeside(t *testing.T, s journal.Store) {
	const benches, notes = 4, 50
	var wait sync.WaitGroup
	for b := range benches {
		wait.Go(func() {
			for n := range notes {
				e := Note(fmt.Sprintf("MW-%d", 1041+b), b*notes+n+1)
				if _, err := s.Append(t.Context(), []journal.Entry{e}); err != nil {
					t.Errorf("append: %v", err)
				}
			}
		})
	}
	seen := map[string]bool{}
	last := map[string]int64{}
	for at := journal.Position(0); len(seen) < benches*notes && !t.Failed(); {
		page, err := s.After(t.Context(), at, 7)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range page {
			if e.Position <= at || seen[e.ID] || e.Seq != last[e.Job]+1 {
				t.Fatalf("after position %d and seq %d of %s came position %d, seq %d, id %s",
					at, last[e.Job], e.Job, e.Position, e.Seq, e.ID)
			}
			at, seen[e.ID], last[e.Job] = e.Position, true, e.Seq
		}
	}
	wait.Wait()
}

func pages(t *testing.T, s journal.Store) {
	for n := 1; n <= 5; n++ {
		keep(t, s, Note("MW-1041", n), Note("MW-1042", 100+n))
	}
	for _, tt := range []struct {
		after int64
		limit int
		want  []int64
	}{
		{0, 10, []int64{1, 2, 3, 4, 5}},
		{0, 2, []int64{1, 2}},
		{2, 2, []int64{3, 4}},
		{4, 2, []int64{5}},
		{5, 2, nil},
		{-3, 1, []int64{1}},
		{0, 0, nil},
		{0, -1, nil},
	} {
		page, err := s.Entries(t.Context(), "MW-1041", tt.after, tt.limit)
		if err != nil {
			t.Errorf("Entries after %d, limit %d: %v", tt.after, tt.limit, err)
		}
		var got []int64
		for _, e := range page {
			if e.Job != "MW-1041" {
				t.Errorf("an entry of job %s", e.Job)
			}
			got = append(got, e.Seq)
		}
		equal(t, fmt.Sprintf("Entries after %d, limit %d", tt.after, tt.limit), tt.want, got)
	}
}

func notFound(t *testing.T, s journal.Store) {
	keep(t, s, Opening("MW-1041", 1), Opening("MW-1042", 2))
	if _, err := s.Entries(t.Context(), "MW-9999", 0, 10); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("entries of an unknown job: %v, want ErrNotFound", err)
	}
	for _, ask := range [][2]string{{"MW-1041", ID(3)}, {"MW-9999", ID(1)}, {"MW-1041", ID(2)}, {"", ""}} {
		if _, err := s.ByID(t.Context(), ask[0], ask[1]); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("ByID%q: %v, want ErrNotFound", ask, err)
		}
	}
}

func jobs(t *testing.T, s journal.Store) {
	if none, err := s.Jobs(t.Context()); err != nil || len(none) != 0 {
		t.Errorf("an empty store lists %d jobs, error %v; want none and none", len(none), err)
	}
	second := Note("MW-1055", 5)
	second.Person = ""
	kept := keep(t, s, Opening("MW-1055", 1), Opening("MW-1041", 2), Note("MW-1041", 3), Note("MW-1041", 4), second)
	got, err := s.Jobs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	options := map[string]string{"base": "long", "stages": "8"}
	equal(t, "Jobs", []journal.Job{
		{ID: "MW-1055", Spec: "mr5", Options: options, Person: "Ines", First: kept[0].At, Last: kept[4].At, Entries: 2},
		{ID: "MW-1041", Spec: "mr5", Options: options, Person: "Ines", First: kept[1].At, Last: kept[3].At, Entries: 3},
	}, got)
}

func people(t *testing.T, s journal.Store) {
	if none, err := s.People(t.Context(), 5); err != nil || len(none) != 0 {
		t.Errorf("an empty store lists %q, error %v; want none and none", none, err)
	}
	by := func(job string, n int, person string) journal.Entry {
		e := Note(job, n)
		e.Person = person
		return e
	}
	opening := Opening("MW-1041", 1)
	opening.Person = "Olu" // opens jobs, and says nothing
	keep(t, s, opening, Opening("MW-1055", 2), by("MW-1041", 3, "Ravi"), by("MW-1041", 4, ""), by("MW-1055", 5, "ines"), by("MW-1055", 6, "Ravi"), by("MW-1041", 7, "Ågot"))
	for limit, want := range map[int][]string{0: nil, 1: {"Ågot"}, 2: {"Ågot", "Ravi"}, 9: {"Ågot", "Ravi", "ines"}} {
		got, err := s.People(t.Context(), limit)
		if err != nil {
			t.Fatal(err)
		}
		equal(t, fmt.Sprintf("People %d", limit), want, got)
	}
}

func closed(t *testing.T, s journal.Store) {
	keep(t, s, Note("MW-1041", 1))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	ctx := t.Context()
	_, appendErr := s.Append(ctx, []journal.Entry{Note("MW-1041", 2)})
	_, afterErr := s.After(ctx, 0, 1)
	_, entriesErr := s.Entries(ctx, "MW-1041", 0, 1)
	_, byIDErr := s.ByID(ctx, "MW-1041", ID(1))
	_, jobsErr := s.Jobs(ctx)
	_, peopleErr := s.People(ctx, 1)
	for i, err := range []error{appendErr, afterErr, entriesErr, byIDErr, jobsErr, peopleErr} {
		if !errors.Is(err, journal.ErrClosed) {
			t.Errorf("call %d on a closed store: %v, want ErrClosed", i, err)
		}
	}
}

// sameJSON holds what a seal is made of: the JSON of an entry is one text, whoever reads it.
func sameJSON(t *testing.T, s journal.Store) {
	far := Note("MW-1041", 2)
	far.ClientAt = 1 << 60 // a client's clock may say anything
	for _, r := range add(t, s, Opening("MW-1041", 1), far, Photo("MW-1041", 3, 2), Purge("MW-1041", 4, 2)) {
		read, err := s.ByID(t.Context(), r.Entry.Job, r.Entry.ID)
		if err != nil {
			t.Fatal(err)
		}
		kept, errKept := json.Marshal(r.Entry)
		again, errRead := json.Marshal(read)
		if errKept != nil || errRead != nil || !bytes.Equal(kept, again) {
			t.Errorf("entry %d is kept as %s (%v) and read as %s (%v)", read.Seq, kept, errKept, again, errRead)
		}
	}
}
