package floor_test

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
	"readback/testdata"
)

// A server that is started again for each note answers as one that ran all day.
func TestFoldedAgainIsTheSame(t *testing.T) {
	notes := demoNotes(t)
	steady, restarted := newDisk(), newDisk()
	day := floorOn(t, steady)
	openDemo(t, day, "MW-1041")
	openDemo(t, floorOn(t, restarted), "MW-1041")
	s := sit(t, day, "MW-1041", "bench 1", "Ines")
	for n, text := range notes {
		fresh := floorOn(t, restarted)
		want, got := say(t, s, n, text), say(t, sit(t, fresh, "MW-1041", "bench 1", "Ines"), n, text)
		if diff := cmp.Diff(string(want.Body), string(got.Body)); diff != "" || want.Seq != got.Seq {
			t.Fatalf("note %d %q, seq %d and %d (-steady +restarted):\n%s", n, text, want.Seq, got.Seq, diff)
		}
		if diff := cmp.Diff(stateOf(t, day, "MW-1041"), stateOf(t, floorOn(t, restarted), "MW-1041")); diff != "" {
			t.Fatalf("after note %d %q (-steady +restarted):\n%s", n, text, diff)
		}
	}
}

// Each note of a whole job, read again with what was said before it, is read as it was.
func TestExplainReadsAsItWasRead(t *testing.T) {
	d := newDisk()
	day := floorOn(t, d)
	openDemo(t, day, "MW-1041")
	s := sit(t, day, "MW-1041", "bench 1", "Ines")
	for n, text := range demoNotes(t) {
		a := say(t, s, n, text)
		e, err := day.Explain(t.Context(), "MW-1041", a.Seq)
		if err != nil || e.Otherwise || e.Text != text || len(e.Words) == 0 {
			t.Fatalf("note %d %q is explained as %+v, error %v", n, text, e, err)
		}
	}
	if _, err := day.Explain(t.Context(), "MW-1041", 9999); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a note that is not there is explained: %v", err)
	}
}

// What was shown as a warning, and when, is part of the record, once a job.
func TestCautionIsKeptWithTheNoteThatItFollows(t *testing.T) {
	d := newDisk()
	day := floorOn(t, d)
	openDemo(t, day, "MW-1041")
	s := sit(t, day, "MW-1041", "bench 1", "Ines")
	for n, text := range demoNotes(t) {
		say(t, s, n, text)
	}
	entries, err := d.Entries(t.Context(), "MW-1041", 0, 500)
	if err != nil {
		t.Fatal(err)
	}
	shown := map[string]int{}
	for _, e := range entries {
		if e.Caution != "" {
			shown[e.Caution]++
		}
	}
	if len(shown) < 3 {
		t.Errorf("only %d cautions were shown in a whole job: %v", len(shown), shown)
	}
	state, err := day.State(t.Context(), "MW-1041")
	if err != nil {
		t.Fatal(err)
	}
	for text, times := range shown {
		steps := 0
		for _, c := range state.Cautions {
			if strings.Contains(text, c.Text) {
				steps++
			}
		}
		if times > steps || !strings.Contains(text, "ocal") {
			t.Errorf("a caution of %d steps was shown %d times, or does not defer to local rules: %s", steps, times, text)
		}
	}
}

// A job longer than what is read at a time is folded whole.
func TestLongJobIsFoldedWhole(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	for n := range 1003 { // pages are of 500
		say(t, s, n, fmt.Sprintf("collar nut stage %d forty %s newton metres", n%5+1, []string{"seven", "eight"}[n/5%2]))
	}
	again := floorOn(t, d)
	if diff := cmp.Diff(stateOf(t, f, "MW-1041"), stateOf(t, again, "MW-1041")); diff != "" {
		t.Errorf("folded again (-live +again):\n%s", diff)
	}
	if a := say(t, sit(t, again, "MW-1041", "bench 1", "Ines"), 2000, "seat clean"); a.Seq != 1005 {
		t.Errorf("the next note got seq %d, want 1005", a.Seq)
	}
}

func TestSpecThatChangesLaterChangesNoOpenJob(t *testing.T) {
	text, err := fs.ReadFile(testdata.Files, "specs/mr5.yaml")
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.Replace(string(text), "nominal: 48", "nominal: 60", 1)
	changed = strings.Replace(changed, "  stages:", "  colour: {values: [red, blue], default: red}\n  stages:", 1)
	if strings.Count(changed, "60") == strings.Count(string(text), "60") || !strings.Contains(changed, "colour") {
		t.Fatal("the spec does not have the lines that this test changes")
	}
	with := func(text string) fs.FS { return fstest.MapFS{"mr5.yaml": {Data: []byte(text)}} }
	d := newDisk()
	openDemo(t, floorWith(t, d, with(string(text))), "MW-1041")
	for _, tt := range []struct {
		name  string
		specs fs.FS
	}{
		{"the spec was changed", with(changed)},
		{"the spec was taken away", fstest.MapFS{"other.yaml": {Data: []byte(strings.Replace(changed, "spec: mr5", "spec: other", 1))}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := floorWith(t, d, tt.specs)
			id := len(tt.name)
			if got := brief(t, say(t, sit(t, f, "MW-1041", "", ""), id, nutOne)); got != "collar_nut_torque map[stage:1] 48 N.m in" {
				t.Errorf("48 N.m is judged %q", got)
			}
			if _, opened, err := f.OpenJob(t.Context(), wire.OpenJob{ID: "MW-1041", Spec: "mr5", Options: demoOptions}); err != nil || opened {
				t.Errorf("the same job again: opened %t, error %v", opened, err)
			}
		})
	}
	f := floorWith(t, d, with(changed))
	state, err := f.State(t.Context(), "MW-1041")
	if err != nil || state.Newer == nil || state.Newer.Revision != "C" || !slices.Contains(state.Newer.Changes, "collar nut: 57.6 to 62.4 N·m instead of 46.08 to 49.92 N·m") {
		t.Errorf("the newer spec is told as %+v, error %v", state.Newer, err)
	}
	openDemo(t, f, "MW-1042")
	if state, err = f.State(t.Context(), "MW-1042"); err != nil || state.Newer != nil {
		t.Errorf("a job opened after the change is told of %+v, error %v", state.Newer, err)
	}
	if got := brief(t, say(t, sit(t, f, "MW-1042", "", ""), 99, nutOne)); !strings.Contains(got, "out") {
		t.Errorf("a job opened after the change judges 48 N.m %q", got)
	}
}

// Of jobs on which nobody sits, those that were used last stay in memory.
func TestIdleJobsAreForgotten(t *testing.T) {
	const idle = 64
	d := newDisk()
	f := floorOn(t, d)
	id := func(n int) string { return fmt.Sprintf("MW-%d", 2000+n) }
	busy := "MW-1041"
	openDemo(t, f, busy)
	seat := sit(t, f, busy, "", "")
	for n := range idle + 6 {
		openDemo(t, f, id(n))
	}
	reads := func(job string) int {
		before := d.readsOf(job)
		stateOf(t, f, job)
		return d.readsOf(job) - before
	}
	for _, tt := range []struct {
		job  string
		want int
	}{{busy, 0}, {id(idle + 5), 0}, {id(6), 0}, {id(0), 1}, {id(0), 0}, {busy, 0}} {
		if got := reads(tt.job); got != tt.want {
			t.Errorf("job %s was read %d times, want %d", tt.job, got, tt.want)
		}
	}
	say(t, seat, 1, nutOne)
	seat.Leave()
	if diff := cmp.Diff(stateOf(t, floorOn(t, d), busy), stateOf(t, f, busy)); diff != "" {
		t.Errorf("the busy job (-journal +floor):\n%s", diff)
	}
}

// The list of jobs is not folded again where nothing was entered, and one job that cannot
// be folded does not hide the others.
func TestJobs(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	torn := journaltest.Opening("MW-1042", 500)
	torn.SpecText = "spec: [" // no program of ours wrote it
	if _, err := d.Append(t.Context(), []journal.Entry{torn}); err != nil {
		t.Fatal(err)
	}
	openDemo(t, f, "MW-1043")
	say(t, sit(t, f, "MW-1043", "", ""), 1, "collar nut stage one fifty one newton metres")
	jobs, err := f.Jobs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, j := range jobs.Jobs {
		got = append(got, fmt.Sprintf("%s %s: %d entries, %d readings, %d open", j.ID, j.Spec, j.Entries, j.Readings, j.Open))
	}
	want := []string{
		"MW-1041 mr5: 1 entries, 0 readings, 0 open", "MW-1042 mr5: 1 entries, 0 readings, 0 open", "MW-1043 mr5: 2 entries, 1 readings, 1 open",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("jobs (-want +got):\n%s", diff)
	}
	if _, err := f.State(t.Context(), "MW-1042"); !errors.Is(err, floor.ErrBroken) {
		t.Errorf("the state of a torn job: %v, want ErrBroken", err)
	}
	if _, err := f.State(t.Context(), "MW-9999"); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("the state of no job: %v, want ErrNotFound", err)
	}
	again := floorOn(t, d)
	if _, err := again.Jobs(t.Context()); err != nil {
		t.Fatal(err)
	}
	before := d.readsOf("MW-1041") + d.readsOf("MW-1043")
	for n := range 70 {
		openDemo(t, again, fmt.Sprintf("MW-%d", 2000+n)) // the first jobs are forgotten, their lines are not
	}
	if _, err := again.Jobs(t.Context()); err != nil {
		t.Fatal(err)
	}
	if after := d.readsOf("MW-1041") + d.readsOf("MW-1043"); after != before {
		t.Errorf("a second list read jobs %d times in which nothing was entered", after-before)
	}
}
