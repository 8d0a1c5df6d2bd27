package search_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/parse"
	"readback/search"
)

// shop is a journal with its index and a follower between them.
type shop struct {
	*testing.T
	journal *memory.Store
	writer  *journal.Writer
	index   *search.Index
	notes   int
	last    journal.Position
}

// newShop runs a shop until the test ends.
func newShop(t *testing.T, index *search.Index, store *memory.Store) *shop {
	t.Helper()
	s := &shop{T: t, journal: store, writer: journal.NewWriter(store), index: index}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 2)
	go func() { done <- s.writer.Run(ctx) }()
	go func() {
		done <- search.Follower{Source: store, Index: index, Notice: s.writer.Notice, Log: zerolog.Nop()}.Run(ctx)
	}()
	t.Cleanup(func() {
		cancel()
		for range 2 {
			if err := <-done; !errors.Is(err, context.Canceled) {
				t.Errorf("ended with %v, want context.Canceled", err)
			}
		}
		if err := index.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// say enters a note as Ines on MW-1041, after change has had a look at it.
func (s *shop) say(text string, change ...func(*journal.Entry)) {
	s.Helper()
	s.notes++
	e := journaltest.Note("MW-1041", s.notes)
	e.Text, e.Utterance = text, &parse.Utterance{Text: text, Kind: parse.Remark}
	for _, c := range change {
		c(&e)
	}
	r, err := s.writer.Append(s.Context(), e)
	if err != nil {
		s.Fatal(err)
	}
	s.last = r.Entry.Position
}

// found waits until everything is indexed, searches, and returns the texts of the hits.
func (s *shop) found(query string) []string {
	s.Helper()
	return texts(s.results(query, 0))
}

func (s *shop) results(query string, limit int) search.Results {
	s.Helper()
	ctx, cancel := context.WithTimeout(s.Context(), time.Minute) // no measure: a hang should fail
	defer cancel()
	if err := s.index.Await(ctx, s.last); err != nil {
		s.Fatal(err)
	}
	r, err := s.index.Search(ctx, query, limit)
	if err != nil {
		s.Fatalf("Search(%q): %v", query, err)
	}
	return r
}

func texts(r search.Results) []string {
	out := []string{}
	for _, h := range r.Hits {
		out = append(out, h.Text)
	}
	return out
}

func memoryIndex(t *testing.T) *search.Index {
	t.Helper()
	x, err := search.OpenMemory()
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestSearch(t *testing.T) {
	s := newShop(t, memoryIndex(t), memory.New())
	const (
		scored   = "thrust washer scored on the inlet side"
		washers  = "Both washers' faces look fine, not scoring"
		nut      = "collar nut stage three forty eight"
		runout   = "oh point oh three"
		backWork = "side inlet of the cover, rough"
	)
	s.say(scored, func(e *journal.Entry) {
		e.Utterance.Kind = parse.Symptom
		e.Utterance.Symptoms = []parse.Condition{{Part: "thrust washer", Condition: "worn", Where: "inlet side"}}
	})
	s.say(washers, func(e *journal.Entry) {
		e.Utterance.Symptoms = []parse.Condition{{Part: "washer", Condition: "pitted", Absent: true}}
	})
	s.say(nut, func(e *journal.Entry) {
		e.Job, e.Person = "MW-1042", "Tom"
		e.Utterance.Claims = []parse.Claim{{Target: parse.Target{Callout: "collar_nut_torque"}}}
	})
	s.say(runout, func(e *journal.Entry) {
		e.Person = ""
		e.Utterance.Marks = []parse.Mark{{Target: parse.Target{Callout: "seat_clean"}, Is: "done"}}
		e.Utterance.Withdrawn = []parse.Target{{Callout: "shaft_runout"}}
		e.Utterance.Question = &parse.Query{Targets: []parse.Target{{Callout: "insulation"}}}
	})
	s.say(backWork)
	for _, tt := range []struct {
		name, query string
		want        []string
	}{
		{"a word", "thrust", []string{scored}},
		{"any ending of a word, and no denial", "SCORES", []string{scored}},
		{"a word that means the same", "scratched washer", []string{scored}},
		{"the plural and whose it is", "washer", []string{washers, scored}},
		{"every word must be there", "washer inlet", []string{scored}},
		{"in any order", "inlet washer", []string{scored}},
		{"a word that no note holds", "washer gasket", []string{}},
		{"articles need not be said", "the collar nut", []string{nut}},
		{"what is denied can be asked for", "not scored", []string{washers}},
		{"a phrase is said so", `"inlet side"`, []string{scored}},
		{"a phrase in the other order", `"side inlet"`, []string{backWork}},
		{"a phrase takes no other ending", `"thrust washers"`, []string{}},
		{"a phrase keeps its articles", `"on the inlet"`, []string{scored}},
		{"a phrase and a word", `"inlet side" scoring`, []string{scored}},
		{"a quote that does not end", `"inlet side`, []string{backWork, scored}},
		{"a callout by its id", "collar_nut_torque", []string{nut}},
		{"a callout that was understood, not said", "torque", []string{nut}},
		{"of a confirmation", "seat", []string{runout}},
		{"of what was taken back", "runout", []string{runout}},
		{"of a question", "insulation", []string{runout}},
		{"a symptom that was understood, not said", "worn", []string{scored}},
		{"a symptom that is absent is none", "pitted", []string{}},
		{"a job", "mw-1042", []string{nut}},
		{"a job by its number", "1042", []string{nut}},
		{"a person", "tom", []string{nut}},
		{"nobody", `stated`, []string{runout}},
		{"signs mean nothing", "+washer* AND: (scored)~ -", []string{scored}},
		{"signs beside words are passed over", "washer* (scored) ~ - :", []string{scored}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, s.found(tt.query)); diff != "" {
				t.Errorf("Search(%q) (-want +got):\n%s", tt.query, diff)
			}
		})
	}
}

func TestHit(t *testing.T) {
	s := newShop(t, memoryIndex(t), memory.New())
	s.say("", func(e *journal.Entry) { *e = journaltest.Opening("MW-1041", s.notes) })
	s.say("collar nut 48 N·m <ok>", func(e *journal.Entry) { e.Utterance.Kind = parse.Reading })
	want := search.Results{Total: 1, Jobs: []search.Job{{ID: "MW-1041", Spec: "mr5", Options: map[string]string{"base": "long", "stages": "8"}, Notes: 1}}, Hits: []search.Hit{{
		Job: "MW-1041", Seq: 2, Text: "collar nut 48 N·m <ok>", Person: "Ines", Kind: parse.Reading, Sound: journaltest.Note("MW-1041", 1).Sound,
		At: journaltest.Start.Add(2 * time.Millisecond),
	}}}
	if diff := cmp.Diff(want, s.results("MW-1041", 0), cmpopts.IgnoreUnexported(search.Hit{})); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestNewestFirstAndLimit(t *testing.T) {
	s := newShop(t, memoryIndex(t), memory.New())
	for n := range 1205 {
		s.say(fmt.Sprintf("rod %d", n))
	}
	for _, tt := range []struct{ limit, want int }{{-1, 50}, {0, 50}, {1, 1}, {3, 3}, {5000, 1000}} {
		r := s.results("rod", tt.limit)
		if r.Total != 1205 || len(r.Hits) != tt.want {
			t.Fatalf("limit %d: %d hits of %d, want %d of 1205", tt.limit, len(r.Hits), r.Total, tt.want)
		}
		for i, h := range r.Hits {
			if want := fmt.Sprintf("rod %d", 1204-i); h.Text != want {
				t.Fatalf("limit %d: hit %d is %q, want %q", tt.limit, i, h.Text, want)
			}
		}
	}
}

func TestQueryThatCannotBeLookedFor(t *testing.T) {
	s := newShop(t, memoryIndex(t), memory.New())
	s.say("the seat is clean")
	for _, query := range []string{"", "  ", "-", `""`, `"  "`, "the", "* ? ~", strings.Repeat("x", 501)} {
		_, err := s.index.Search(t.Context(), query, 0)
		if !errors.Is(err, search.ErrQuery) || !strings.Contains(err.Error(), ";") {
			t.Errorf("Search(%.40q): %v, want ErrQuery that says what to do", query, err)
		}
	}
	r := s.results("gasket", 0)
	if r.Hits == nil || r.Total != 0 {
		t.Errorf("no hit gives %+v, want an empty list", r)
	}
}
