package query_test

import (
	"context"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/journal/sqlite"
	"readback/capture/query"
	"readback/capture/query/querytest"
)

// stores are what a question may be put to.
var stores = map[string]func(t testing.TB) journal.Store{
	"memory": func(testing.TB) journal.Store { return memory.New() },
	"sqlite": func(t testing.TB) journal.Store {
		s, err := sqlite.Open(t.Context(), t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		return s
	},
}

// shop is one whose answers a test writes out.
type shop struct{ *querytest.Shop }

func newShop(t testing.TB, store journal.Store) *shop {
	t.Helper()
	return &shop{querytest.New(t, store)}
}

// ask writes the readings of an answer, one a line.
func (s *shop) ask(t testing.TB, f query.Filter) string {
	t.Helper()
	a, err := s.Readings(t.Context(), f)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, r := range a.Readings {
		fmt.Fprintf(&b, "%s %d %s %s %s %s %s by %s with %q, %s\n", r.Job, r.Seq, r.When.Format("02 15:04"), r.Where, r.Value.RatString(), r.Unit, r.Verdict, r.Person, r.Instrument, r.Limits.Text)
	}
	return b.String()
}

// eachStore runs a test on both stores, with three jobs on three days.
func eachStore(t *testing.T, test func(t *testing.T, s *shop)) {
	for name, open := range stores {
		t.Run(name, func(t *testing.T) {
			store := open(t)
			t.Cleanup(func() {
				if err := store.Close(); err != nil {
					t.Error(err)
				}
			})
			s := newShop(t, store)
			s.Open(t, "MW-1", "mr5", nil)
			s.Say(t, "MW-1", "Ines", "build spacer 64.02 mm", "collar nut stage one forty eight newton metres on wrench seven", "collar nut stage two thirty five foot pounds on wrench nine")
			s.Now = s.Now.AddDate(0, 0, 1)
			s.Open(t, "MW-2", "mr5", map[string]string{"base": "long", "stages": "3"})
			s.Say(t, "MW-2", "Tom", "build spacer 88.5 mm", "collar nut stage one fifty one newton metres on wrench seven", "correction forty seven", "end play down 82.65 up 81.2 mm")
			s.Now = s.Now.AddDate(0, 0, 1)
			s.Open(t, "MW-3", "bevel-head", nil)
			test(t, s)
		})
	}
}

func TestReadings(t *testing.T) {
	eachStore(t, func(t *testing.T, s *shop) {
		nutOne1 := "MW-1 3 02 08:02 collar nut one 48 N.m in by Ines with \"wrench 7\", 46.08 to 49.92 N·m\n"
		nutOne2 := "MW-2 4 03 08:06 collar nut one 47 N.m close by Tom with \"wrench 7\", 46.08 to 49.92 N·m\n"
		short := "MW-1 2 02 08:01 build spacer 3201/50 mm in by Ines with \"\", 63.9 to 64.1 mm\n"
		long := "MW-2 2 03 08:04 build spacer 177/2 mm in by Tom with \"\", 88.4 to 88.6 mm\n"
		play := "MW-2 5 03 08:07 end play 29/20 mm in by Tom with \"\", 1 to 2.4 mm\n"
		day := time.Date(2026, 3, 3, 0, 0, 0, 0, time.UTC)
		for name, x := range map[string]struct {
			filter query.Filter
			want   string
		}{
			"a callout over jobs, each with its own limits": {query.Filter{Spec: "mr5", Callout: "build_spacer"}, short + long},
			"what is computed":       {query.Filter{Spec: "mr5", Callout: "end_play"}, play},
			"a place":                {query.Filter{Spec: "mr5", Callout: "collar_nut_torque", Place: "stage=1"}, nutOne1 + nutOne2},
			"an instrument":          {query.Filter{Spec: "mr5", Callout: "collar_nut_torque", Instrument: "wrench 7"}, nutOne1 + nutOne2},
			"a person":               {query.Filter{Spec: "mr5", Callout: "build_spacer", Person: "Tom"}, long},
			"before a day":           {query.Filter{Spec: "mr5", Callout: "build_spacer", To: day}, short},
			"from a day":             {query.Filter{Spec: "mr5", Callout: "build_spacer", From: day}, long},
			"another spec":           {query.Filter{Spec: "bevel-head"}, ""},
			"a spec that is not":     {query.Filter{Spec: "mr6"}, ""},
			"a place that is not":    {query.Filter{Spec: "mr5", Callout: "build_spacer", Place: "stage=1"}, ""},
			"nobody":                 {query.Filter{Person: "Ina"}, ""},
			"an instrument and spec": {query.Filter{Spec: "mr5", Instrument: "wrench 7", To: day}, nutOne1},
		} {
			if diff := cmp.Diff(x.want, s.ask(t, x.filter)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", name, diff)
			}
		}
		// 35 lbf.ft is held exactly: a foot is 0.3048 m, a pound-force 4.4482216152605 N.
		all, err := s.Readings(t.Context(), query.Filter{Spec: "mr5", Callout: "collar_nut_torque", Place: "stage=2"})
		if err != nil || len(all.Readings) != 1 {
			t.Fatalf("%d readings, error %v", len(all.Readings), err)
		}
		exact := big.NewRat(35, 1)
		for _, factor := range []string{"0.3048", "4.4482216152605"} {
			f, _ := new(big.Rat).SetString(factor)
			exact.Mul(exact, f)
		}
		if all.Readings[0].Value.Cmp(exact) != 0 {
			t.Errorf("35 lbf.ft is %s N.m", all.Readings[0].Value.FloatString(16))
		}
	})
}

// What was withdrawn, superseded or made void is in no answer.
func TestOnlyWhatStandsIsAnswered(t *testing.T) {
	eachStore(t, func(t *testing.T, s *shop) {
		nuts := query.Filter{Spec: "mr5", Callout: "collar_nut_torque"}
		before := s.ask(t, nuts)
		s.Say(t, "MW-2", "Tom", "collar nut stage two forty eight newton metres")
		if got := s.ask(t, nuts); strings.Count(got, "\n") != strings.Count(before, "\n")+1 {
			t.Errorf("a new reading gives\n%s", got)
		}
		s.Say(t, "MW-2", "Tom", "scratch that")
		if diff := cmp.Diff(before, s.ask(t, nuts)); diff != "" {
			t.Errorf("after what was withdrawn (-want +got):\n%s", diff)
		}
		s.Say(t, "MW-2", "Tom", "end play up 81.0 mm")
		if got := s.ask(t, query.Filter{Spec: "mr5", Callout: "end_play"}); !strings.Contains(got, "MW-2 8 ") || !strings.Contains(got, " 33/20 mm ") {
			t.Errorf("a computed value has not followed its reading:\n%s", got)
		}
		s.Say(t, "MW-2", "Tom", "rod one first pass eight newton metres")
		rods := query.Filter{Spec: "mr5", Callout: "tie_rod_torque"}
		if got := s.ask(t, rods); strings.Count(got, "\n") != 1 {
			t.Fatalf("a rod gives\n%s", got)
		}
		s.Say(t, "MW-2", "Tom", "rod two loosened")
		if got := s.ask(t, rods); got != "" {
			t.Errorf("what was made void is answered:\n%s", got)
		}
	})
}

func TestCallouts(t *testing.T) {
	eachStore(t, func(t *testing.T, s *shop) {
		got, err := s.Callouts(t.Context(), "")
		if err != nil {
			t.Fatal(err)
		}
		var lines []string
		for _, c := range got.Callouts {
			lines = append(lines, fmt.Sprintf("%s %s (%s) %s derived %t: %d, %v, %d unnamed, %s to %s", c.Spec, c.ID, c.Name, c.Unit, c.Derived, c.Readings, c.Instruments, c.Unnamed, c.First.Format("02 15:04"), c.Last.Format("02 15:04")))
		}
		want := []string{
			"mr5 build_spacer (build spacer) mm derived false: 2, [], 2 unnamed, 02 08:01 to 03 08:04",
			"mr5 collar_nut_torque (collar nut) N.m derived false: 3, [{wrench 7 2} {wrench 9 1}], 0 unnamed, 02 08:02 to 03 08:06",
			"mr5 end_play_down (end play down) mm derived false: 1, [], 1 unnamed, 03 08:07 to 03 08:07",
			"mr5 end_play_up (end play up) mm derived false: 1, [], 1 unnamed, 03 08:07 to 03 08:07",
			"mr5 end_play (end play) mm derived true: 1, [], 1 unnamed, 03 08:07 to 03 08:07",
		}
		if diff := cmp.Diff(want, lines); diff != "" {
			t.Errorf("callouts (-want +got):\n%s", diff)
		}
		if none, err := s.Callouts(t.Context(), "bevel-head"); err != nil || len(none.Callouts) > 0 {
			t.Errorf("a spec without readings has %v, error %v", none.Callouts, err)
		}
	})
}

func TestBadFiltersSayWhatToDo(t *testing.T) {
	s := newShop(t, memory.New())
	day := time.Date(2026, 3, 3, 0, 0, 0, 0, time.UTC)
	for name, x := range map[string]struct {
		filter query.Filter
		field  string
	}{
		"a callout of no spec":       {query.Filter{Callout: "build_spacer"}, "callout"},
		"a place of no callout":      {query.Filter{Spec: "mr5", Place: "stage=1"}, "place"},
		"no place":                   {query.Filter{Spec: "mr5", Callout: "x", Place: "stage"}, "place"},
		"a place twice":              {query.Filter{Spec: "mr5", Callout: "x", Place: "stage=1,stage=2"}, "place"},
		"a place without an axis":    {query.Filter{Spec: "mr5", Callout: "x", Place: "=1"}, "place"},
		"an end before its start":    {query.Filter{From: day, To: day.AddDate(0, 0, -1)}, "to"},
		"an end at its start":        {query.Filter{From: day, To: day}, "to"},
		"a name that is no text":     {query.Filter{Person: "a\x00b"}, "person"},
		"a name that is no UTF-8":    {query.Filter{Spec: "\xff"}, "spec"},
		"a name of a thousand words": {query.Filter{Instrument: strings.Repeat("wrench ", 1000)}, "instrument"},
	} {
		_, err := s.Readings(t.Context(), x.filter)
		f, ok := errors.AsType[*query.FilterError](err)
		if !ok || f.Field != x.field || f.Wrong == "" || f.Do == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := s.Callouts(t.Context(), "\n"); err == nil {
		t.Error("a spec of a line break is taken")
	}
}

// A job that cannot be folded any more is told of, and does not keep the others out.
func TestBrokenJobIsTold(t *testing.T) {
	eachStore(t, func(t *testing.T, s *shop) {
		e := journaltest.Opening("MW-0", 900)
		e.Spec, e.SpecText = "mr5", "spec: ["
		if _, err := s.Append(t.Context(), e); err != nil {
			t.Fatal(err)
		}
		for range 2 {
			a, err := s.Readings(t.Context(), query.Filter{Spec: "mr5"})
			if err != nil || !slices.Equal(a.Unread, []string{"MW-0"}) || len(a.Readings) < 5 {
				t.Errorf("%d readings, unread %v, error %v", len(a.Readings), a.Unread, err)
			}
		}
	})
}

// A question that nobody waits for any more ends, and leaves the next one whole.
func TestQuestionEndsWithItsAsker(t *testing.T) {
	eachStore(t, func(t *testing.T, s *shop) {
		ctx, stop := context.WithCancel(t.Context())
		stop()
		if _, err := s.Readings(ctx, query.Filter{Spec: "mr5"}); !errors.Is(err, context.Canceled) {
			t.Errorf("error %v", err)
		}
		if got := s.ask(t, query.Filter{Spec: "mr5", Callout: "build_spacer"}); strings.Count(got, "\n") != 2 {
			t.Errorf("after it:\n%s", got)
		}
	})
}
