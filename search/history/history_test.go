package history_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/journal/sqlite"
	"readback/capture/query"
	"readback/rules"
	"readback/search/history"
)

// filled returns a floor on a store with the past of n jobs, and when that ended.
func filled(t *testing.T, store journal.Store, n int) (*floor.Floor, time.Time) {
	t.Helper()
	until := time.Date(2027, 3, 4, 5, 0, 0, 0, time.UTC)
	if err := history.Fill(t.Context(), store, 1, n, until); err != nil {
		t.Fatal(err)
	}
	return floor.New(floor.Config{Reader: store, Specs: floortest.Specs(t), Program: "test", Now: time.Now, Log: zerolog.Nop()}), until
}

// The past is kept as a server would have kept it: each job folds, what it answered then it answers now,
// and all of it is over.
func TestFill(t *testing.T) {
	store, err := sqlite.Open(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	f, until := filled(t, store, 60)
	list, err := f.Jobs(t.Context())
	if err != nil || len(list.Jobs) != 60 {
		t.Fatalf("%d jobs, error %v", len(list.Jobs), err)
	}
	for i, j := range list.Jobs {
		if j.Readings < 15 || j.Entries < 20 || j.Revision == "" {
			t.Errorf("%s folds to %+v", j.ID, j)
		}
		if !j.Last.Before(until) || j.Opened.At.Before(until.AddDate(-6, 0, 0)) || i > 0 && !j.Opened.At.After(list.Jobs[i-1].Opened.At) {
			t.Errorf("%s lasts from %s to %s, and the past ends at %s", j.ID, j.Opened.At, j.Last, until)
		}
		state, err := f.State(t.Context(), j.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, finding := range state.Findings { // what happens to units, and no fault of the story
			switch finding.Rule {
			case rules.RuleLimit, rules.RuleDerived, rules.RuleAsk:
			default:
				t.Errorf("%s: %s: %s", j.ID, finding.Rule, finding.Text)
			}
		}
	}
	if err := history.Fill(t.Context(), store, 1, 1, until); !errors.Is(err, history.ErrNotEmpty) {
		t.Errorf("filled again: %v, want ErrNotEmpty", err)
	}
}

// A past is never put among what happened.
func TestFillLeavesJournalsAlone(t *testing.T) {
	store := memory.New()
	if _, err := store.Append(t.Context(), []journal.Entry{journaltest.Opening("MW-1", 1)}); err != nil {
		t.Fatal(err)
	}
	if err := history.Fill(t.Context(), store, 1, 3, history.Until); !errors.Is(err, history.ErrNotEmpty) {
		t.Errorf("Fill gives %v, want ErrNotEmpty", err)
	}
	if jobs, err := store.Jobs(t.Context()); err != nil || len(jobs) != 1 {
		t.Errorf("there are %d jobs, error %v", len(jobs), err)
	}
}

// The same seed tells the same, another one something else.
func TestSameSeedSameHistory(t *testing.T) {
	tell := func(seed uint64) (texts []string) {
		for j := range history.Jobs(seed, 12, history.Until) {
			for _, n := range j.Notes {
				texts = append(texts, j.ID+" "+n.At.Format(time.RFC3339)+" "+n.Person+": "+n.Text)
			}
		}
		return texts
	}
	if diff := cmp.Diff(tell(1), tell(1)); diff != "" {
		t.Errorf("told twice:\n%s", diff)
	}
	if cmp.Equal(tell(1), tell(2)) {
		t.Error("two seeds tell the same")
	}
}

// A wrench reads low in the last months, by its readings alone.
func TestWrenchDrifts(t *testing.T) {
	store := memory.New()
	f, until := filled(t, store, 300)
	found, err := query.New(store, f, nil).Readings(t.Context(), query.Filter{Spec: "mr5", Callout: "collar_nut_torque"})
	if err != nil {
		t.Fatal(err)
	}
	type mean struct{ sum, n float64 }
	means := map[string]*mean{"wrench 7": {}, "wrench 7, late": {}, "wrench 9": {}, "wrench 9, late": {}, "wrench 11": {}, "wrench 11, late": {}}
	for _, r := range found.Readings {
		name := r.Instrument
		if r.When.After(until.AddDate(0, -7, 0)) {
			name += ", late"
		}
		m := means[name]
		if m == nil {
			if !strings.HasSuffix(name, ", late") {
				t.Fatalf("a reading with %q", r.Instrument)
			}
			continue
		}
		m.sum, m.n = m.sum+r.Judged, m.n+1
	}
	for name, m := range means {
		if m.n < 20 {
			t.Fatalf("%s has %g readings", name, m.n)
		}
		want := 48.0
		if name == "wrench 7, late" {
			want *= 0.98
		}
		if got := m.sum / m.n; got < want-0.2 || got > want+0.2 {
			t.Errorf("%s reads %.2f on average, want about %.2f", name, got, want)
		}
	}
}
