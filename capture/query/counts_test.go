package query_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/query"
	"readback/capture/query/querytest"
	"readback/capture/wire"
)

func march(day int) time.Time { return time.Date(2026, 3, day, 8, 0, 0, 0, time.UTC) }

// visits opens rebuilds of a shop on their days, and says on each its notes.
func visits(t *testing.T, s *querytest.Shop) {
	t.Helper()
	for _, x := range []struct {
		job   string
		day   int
		notes []string
	}{
		{"MW-1", 2, []string{"serial number m r dash four seven one", "thrust washer badly scored", "thrust washers are scored", "sleeve is worn"}},
		{"MW-2", 3, []string{"serial number MR 473", "thrust washer scored on the inlet side", "sleeve is worn"}},
		{"MW-3", 9, []string{"serial number mr473", "thrust washer not scored", "cable frayed", "shaft bent", "scratch that", "coupling worn", "correction cable frayed", "scratch that"}},
		{"MW-4", 12, []string{"serial number MR-471", "thrust washer scored"}},
		{"MW-5", 13, []string{"serial number MR-472"}},
		{"MW-6", 14, nil},
		{"MW-7", 32, []string{"serial number MR-471", "correction, serial number MR-471"}},
	} {
		s.Now = march(x.day)
		s.Open(t, x.job, "mr5", map[string]string{"rebuild": "yes"})
		s.Say(t, x.job, "Ines", x.notes...)
	}
}

func eachFresh(t *testing.T, test func(t *testing.T, s *querytest.Shop)) {
	t.Helper()
	for name, open := range stores {
		t.Run(name, func(t *testing.T) {
			store := open(t)
			t.Cleanup(func() {
				if err := store.Close(); err != nil {
					t.Error(err)
				}
			})
			test(t, querytest.New(t, store))
		})
	}
}

// Worked by hand: MR-471 came on 2 and 12 March and 1 April, 10 and 20 days apart, 15 in the mean; MR 473 on
// 3 and 9 March, 6 days apart. So three times came two units back, 36 days in all, 12 in the mean.
func TestUnitsThatComeAgain(t *testing.T) {
	eachFresh(t, func(t *testing.T, s *querytest.Shop) {
		visits(t, s)
		of := func(p query.Period) string {
			a, err := s.Units(t.Context(), p)
			if err != nil {
				t.Fatal(err)
			}
			var b strings.Builder
			for _, u := range a.Units {
				fmt.Fprintf(&b, "%s:", u.Number)
				for _, v := range u.Visits {
					fmt.Fprintf(&b, " %s %s", v.Job, v.Opened.Format("2 Jan"))
				}
				if mean, ok := u.Between(); ok {
					fmt.Fprintf(&b, ", each %v", mean)
				}
				b.WriteString("\n")
			}
			units, times, mean := a.Again()
			fmt.Fprintf(&b, "%d without a number; %d units came again, %d times, after %v", a.Unnumbered, units, times, mean)
			return b.String()
		}
		want := "MR-471: MW-1 2 Mar MW-4 12 Mar MW-7 1 Apr, each 360h0m0s\nmr473: MW-2 3 Mar MW-3 9 Mar, each 144h0m0s\nMR-472: MW-5 13 Mar\n1 without a number; 2 units came again, 3 times, after 288h0m0s"
		if diff := cmp.Diff(want, of(query.Period{})); diff != "" {
			t.Errorf("of all time (-want +got):\n%s", diff)
		}
		want = "MR-471: MW-4 12 Mar MW-7 1 Apr, each 480h0m0s\nMR-472: MW-5 13 Mar\n1 without a number; 1 units came again, 1 times, after 480h0m0s"
		if diff := cmp.Diff(want, of(query.Period{Spec: "mr5", From: march(12)})); diff != "" {
			t.Errorf("from 12 March on (-want +got):\n%s", diff)
		}
		want = "0 without a number; 0 units came again, 0 times, after 0s"
		if diff := cmp.Diff(want, of(query.Period{Spec: "bevel-head"})); diff != "" {
			t.Errorf("of another spec (-want +got):\n%s", diff)
		}
	})
}

// Worked by hand: scored thrust washers on three jobs, worn sleeves on two, a frayed (damaged) cable on one:
// of six, 1/2, 1/3 and 1/6.
func TestSymptomsAreCounted(t *testing.T) {
	eachFresh(t, func(t *testing.T, s *querytest.Shop) {
		visits(t, s)
		of := func(p query.Period) string {
			a, err := s.Symptoms(t.Context(), p)
			if err != nil {
				t.Fatal(err)
			}
			var b strings.Builder
			for _, c := range a.Counts {
				fmt.Fprintf(&b, "%s %s: %d jobs, %d notes, %.4f, %.4f, %s %d to %s %d\n", c.Part, c.Condition, c.Jobs, c.Notes, c.Share, c.Cumulative, c.First.Job, c.First.Seq, c.Last.Job, c.Last.Seq)
			}
			fmt.Fprintf(&b, "%d jobs", a.Jobs)
			return b.String()
		}
		want := "thrust washer scored: 3 jobs, 4 notes, 0.5000, 0.5000, MW-1 3 to MW-4 3\n" +
			"shaft sleeve worn: 2 jobs, 2 notes, 0.3333, 0.8333, MW-1 5 to MW-2 4\n" +
			"cable damaged: 1 jobs, 1 notes, 0.1667, 1.0000, MW-3 4 to MW-3 4\n4 jobs"
		if diff := cmp.Diff(want, of(query.Period{})); diff != "" {
			t.Errorf("of all time (-want +got):\n%s", diff)
		}
		want = "thrust washer scored: 1 jobs, 1 notes, 1.0000, 1.0000, MW-4 3 to MW-4 3\n1 jobs"
		if diff := cmp.Diff(want, of(query.Period{From: march(10), To: march(13)})); diff != "" {
			t.Errorf("of three days (-want +got):\n%s", diff)
		}
		s.Now = march(40)
		s.Say(t, "MW-6", "Tom", "cable frayed") // what is held of the job is as old as its head
		if got := of(query.Period{From: march(33)}); got != "cable damaged: 1 jobs, 1 notes, 1.0000, 1.0000, MW-6 2 to MW-6 2\n1 jobs" {
			t.Errorf("after one note more:\n%s", got)
		}
	})
}

func TestDispositionsOverJobs(t *testing.T) {
	eachFresh(t, func(t *testing.T, s *querytest.Shop) {
		visits(t, s)
		decide := func(n int, job, is string) {
			t.Helper()
			state, err := s.Floor.State(t.Context(), job)
			if err != nil {
				t.Fatal(err)
			}
			of := state.Decidable[0]
			s.Now = s.Now.Add(time.Hour)
			if _, _, err := s.Floor.Dispose(t.Context(), job, wire.Dispose{ID: journaltest.ID(n), Finding: of.ID(), Reading: of.Reading, Is: is, Reason: "So.", Person: "Martin Hale"}); err != nil {
				t.Fatal(err)
			}
		}
		s.Now = march(50)
		s.Say(t, "MW-2", "Ines", "shaft runout 0.08 mm")
		s.Say(t, "MW-1", "Ines", "collar nut stage one fifty one newton metres")
		decide(901, "MW-2", "rework")
		decide(902, "MW-1", "use as is")
		s.Say(t, "MW-2", "Ines", "shaft runout 0.03 mm")
		a, err := s.Dispositions(t.Context(), query.Period{})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, d := range a.Dispositions {
			got = append(got, fmt.Sprintf("%s %d %s, %s: %s by %s, %s", d.Job, d.Seq, d.Name, d.Where, d.Is, d.Person, d.State))
		}
		want := []string{"MW-2 6 shaft runout, shaft runout: rework by Martin Hale, done", "MW-1 7 collar nut, collar nut one: use as is by Martin Hale, stands"}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("(-want +got):\n%s", diff)
		}
		if a, err := s.Dispositions(t.Context(), query.Period{To: march(49)}); err != nil || len(a.Dispositions) != 0 {
			t.Errorf("before: %+v, %v", a, err)
		}
		var wrong *query.FilterError
		if _, err := s.Dispositions(t.Context(), query.Period{From: march(2), To: march(1)}); !errors.As(err, &wrong) || wrong.Field != "to" {
			t.Errorf("a time that ends before it begins: %v", err)
		}
	})
}

// A job that cannot be folded is named in each answer.
func TestCountsNameWhatIsUnread(t *testing.T) {
	eachFresh(t, func(t *testing.T, s *querytest.Shop) {
		visits(t, s)
		e := journaltest.Note("MW-0", 1)
		if r, err := s.Store.Append(t.Context(), []journal.Entry{e}); err != nil || r[0].Err != nil {
			t.Fatal(err, r)
		}
		a, err1 := s.Units(t.Context(), query.Period{})
		b, err2 := s.Symptoms(t.Context(), query.Period{})
		c, err3 := s.Dispositions(t.Context(), query.Period{})
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		for _, unread := range [][]string{a.Unread, b.Unread, c.Unread} {
			if !cmp.Equal(unread, []string{"MW-0"}) {
				t.Errorf("unread is %q", unread)
			}
		}
	})
}
