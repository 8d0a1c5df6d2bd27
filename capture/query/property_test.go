package query_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/memory"
	"readback/capture/query"
	"readback/parse"
	"readback/parse/number"
	"readback/parse/unit"
)

// sayings record, correct, withdraw and void.
var sayings = []string{
	"collar nut stage one forty eight newton metres", "collar nut stage two thirty five foot pounds on wrench seven", "stage two same again",
	"scratch that", "correction forty seven", "collar nut stage one fifty one newton metres", "build spacer 64.01 mm", "build spacer 2.52 inches",
	"rod one first pass eight newton metres", "rod three first pass eight point two newton metres", "rod two loosened",
	"end play down eighty two point six up eighty one point two millimetres", "end play up 81.4 mm with depth gauge one", "on wrench seven",
	"insulation two oh five megohms at thirty degrees", "insulation 300 megohms", "winding temperature 35 degrees", "tea is ready", "collar nut about forty",
}

// TestAnswersAreTheFold: whatever is said on two jobs, and whenever it is asked, an answer
// holds what the jobs' own states show, each with the last note that said it.
func TestAnswersAreTheFold(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := newShop(t, memory.New())
		// One that never forgets, one that holds next to nothing: they answer alike.
		small := query.New(s.Store, s.Floor, nil)
		query.HoldAtMost(small, rapid.IntRange(0, 6).Draw(rt, "held"))
		jobs := []string{"MW-1", "MW-2"}
		for i, job := range jobs {
			s.Open(t, job, "mr5", map[string]string{"base": []string{"short", "long"}[i]})
		}
		for range rapid.IntRange(1, 25).Draw(rt, "turns") {
			job, person := rapid.SampledFrom(jobs).Draw(rt, "job"), rapid.SampledFrom([]string{"Ines", "Tom", ""}).Draw(rt, "person")
			s.Say(t, job, person, rapid.SampledFrom(sayings).Draw(rt, "note"))
			if rapid.IntRange(0, 3).Draw(rt, "ask") > 0 {
				continue
			}
			want := s.shown(t, jobs)
			for name, q := range map[string]*query.Journal{"holding": s.Journal, "forgetting": small} {
				got, err := q.Readings(t.Context(), query.Filter{})
				if err != nil {
					rt.Fatal(err)
				}
				if lines := s.lines(rt, got.Readings); !slices.Equal(lines, want) {
					rt.Fatalf("%s: the states show\n%s\nthe answer is\n%s", name, strings.Join(want, "\n"), strings.Join(lines, "\n"))
				}
				if held := query.Held(small); held > 6 {
					rt.Fatalf("%d readings are held", held)
				}
			}
		}
	})
}

// lines writes readings, sorted; those that were said with their note.
func (s *shop) lines(t *rapid.T, all []query.Reading) (out []string) {
	for i := range all {
		r := &all[i]
		out = append(out, fmt.Sprintf("%s %s %s %s %s %q", r.Job, r.Where, r.Value.RatString(), r.Unit, r.Verdict, r.Limits.Text))
		if !r.Derived {
			s.saidBy(t, r)
		}
	}
	slices.Sort(out)
	return out
}

// saidBy holds a reading to the journal: its note is the last one whose answer has it.
func (s *shop) saidBy(t *rapid.T, r *query.Reading) {
	entries, err := s.Store.Entries(t.Context(), r.Job, 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	var last journal.Entry
	with := ""
	for _, e := range entries {
		var a struct {
			Readings []struct {
				Callout, Verdict, Instrument string
				At                           map[string]any
			}
		}
		if len(e.Answer) > 0 {
			if err := json.Unmarshal(e.Answer, &a); err != nil {
				t.Fatal(err)
			}
		}
		for _, x := range a.Readings {
			if x.Callout == r.Callout && x.Verdict != "unclear" && sameAt(x.At, r.At) {
				last, with = e, x.Instrument
			}
		}
	}
	if r.Seq != last.Seq || !r.When.Equal(last.At.Time()) || r.Person != last.Person || r.Instrument != with {
		t.Fatalf("%s of %s is of note %d by %q with %q; the journal has it of %d by %q with %q", r.Where, r.Job, r.Seq, r.Person, r.Instrument, last.Seq, last.Person, with)
	}
}

func sameAt(at map[string]any, p parse.Place) bool {
	for _, x := range p.Indexes() {
		if fmt.Sprint(at[x.Axis]) != x.Value {
			return false
		}
	}
	return len(at) == len(p.Indexes())
}

// shown writes what the states of the jobs show, as lines does.
func (s *shop) shown(t testing.TB, jobs []string) (out []string) {
	t.Helper()
	for _, job := range jobs {
		state, err := s.Floor.State(t.Context(), job)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range state.Callouts {
			for _, p := range c.Places {
				if p.Reading == nil {
					continue
				}
				v, ok := number.Parse(p.Reading.Value)
				if !ok {
					t.Fatalf("%s shows %q", p.Where, p.Reading.Value)
				}
				y, err := unit.Convert(v.Rat(), p.Reading.Unit, c.Unit)
				if err != nil {
					t.Fatal(err)
				}
				limits, _, _ := strings.Cut(p.Limits, ", ")
				out = append(out, fmt.Sprintf("%s %s %s %s %s %q", job, p.Where, y.RatString(), c.Unit, p.Reading.Verdict, limits))
			}
		}
	}
	slices.Sort(out)
	return out
}

// Questions and notes at the same time: for the race detector, and each answer is one that
// was true.
func TestQuestionsWhileNotesAreMade(t *testing.T) {
	s := newShop(t, memory.New())
	s.Open(t, "MW-1", "mr5", nil)
	var all sync.WaitGroup
	done := make(chan struct{})
	for range 4 {
		all.Go(func() {
			last := 0
			for ended := false; ; {
				select {
				case <-done:
					ended = true
				default:
				}
				a, err := s.Readings(t.Context(), query.Filter{Spec: "mr5", Callout: "collar_nut_torque"})
				if err != nil || len(a.Readings) < last || ended && len(a.Readings) != 5 {
					t.Errorf("%d readings after %d, error %v; all said: %t", len(a.Readings), last, err, ended)
					return
				}
				if last = len(a.Readings); ended {
					return
				}
			}
		})
	}
	for _, stage := range []string{"one", "two", "three", "four", "five"} {
		s.Say(t, "MW-1", "Ines", "collar nut stage "+stage+" forty eight newton metres")
	}
	close(done)
	all.Wait()
}

var _ query.Folder = (*floor.Floor)(nil)
