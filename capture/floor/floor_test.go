package floor_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/wire"
	"readback/testdata"
)

// disk is a journal's store that can be made to fail or to wait. It is the floor's writer
// and its reader.
type disk struct {
	*memory.Store
	mu    sync.Mutex
	fail  error          // what the next commits give
	gate  chan struct{}  // commits wait until it is closed; nil: they do not
	reads map[string]int // how often each job was read from its start
}

func newDisk() *disk { return &disk{Store: memory.New(), reads: map[string]int{}} }

// writer is how a floor writes to the disk.
type writer struct{ *disk }

func (w writer) Append(ctx context.Context, e journal.Entry) (journal.Result, error) {
	w.mu.Lock()
	fail, gate := w.fail, w.gate
	w.mu.Unlock()
	if gate != nil {
		<-gate
	}
	if fail != nil {
		return journal.Result{}, fail
	}
	results, err := w.Store.Append(ctx, []journal.Entry{e})
	if err != nil {
		return journal.Result{}, err
	}
	return results[0], results[0].Err
}

func (d *disk) Entries(ctx context.Context, job string, afterSeq int64, limit int) ([]journal.Entry, error) {
	d.mu.Lock()
	if afterSeq == 0 {
		d.reads[job]++
	}
	d.mu.Unlock()
	return d.Store.Entries(ctx, job, afterSeq, limit)
}

func (d *disk) failWith(err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.fail = err
}

func (d *disk) readsOf(job string) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.reads[job]
}

// floorOn returns a floor on the disk with the demo's specs, as a server has it after a
// start.
func floorOn(tb testing.TB, d *disk) *floor.Floor {
	tb.Helper()
	return floorOf(d, floortest.Specs(tb))
}

func floorWith(tb testing.TB, d *disk, files fs.FS) *floor.Floor {
	tb.Helper()
	specs, err := floor.LoadSpecs(files)
	if err != nil {
		tb.Fatal(err)
	}
	return floorOf(d, specs)
}

func floorOf(d *disk, specs floor.Specs) *floor.Floor {
	return floor.New(floor.Config{
		Reader: d, Writer: writer{d}, Specs: specs, Program: "test", Log: zerolog.Nop(),
		Now: func() time.Time { return journaltest.Start },
	})
}

var demoOptions = wire.Options{"base": "long", "stages": "5", "cut_impellers": "1", "rebuild": "yes"}

// openDemo opens the job as the demo does.
func openDemo(tb testing.TB, f *floor.Floor, id string) {
	tb.Helper()
	if _, opened, err := f.OpenJob(tb.Context(), wire.OpenJob{ID: id, Spec: "mr5", Options: demoOptions, Person: "Ines"}); err != nil || !opened {
		tb.Fatalf("open job %s: opened %t, error %v", id, opened, err)
	}
}

// sit joins a job; what others enter is thrown away.
func sit(tb testing.TB, f *floor.Floor, job, bench, person string) *floor.Seat {
	tb.Helper()
	s, _, err := f.Sit(tb.Context(), job, floor.Speaker{Bench: bench, Person: person}, func([]byte) {})
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

// say says the n-th note, which must be kept.
func say(tb testing.TB, s *floor.Seat, n int, text string) wire.Answer {
	tb.Helper()
	a, err := s.Say(tb.Context(), wire.Note{ID: journaltest.ID(n), Text: text})
	if err != nil {
		tb.Fatalf("note %d %q: %v", n, text, err)
	}
	return a
}

// brief writes what was recorded of a note: "collar_nut_torque stage 3 48 N.m in".
func brief(tb testing.TB, a wire.Answer) string {
	tb.Helper()
	var body struct {
		Readings []struct {
			Callout              string
			At                   map[string]any
			Value, Unit, Verdict string
		}
		Findings []struct{ Rule string }
	}
	if err := json.Unmarshal(a.Body, &body); err != nil {
		tb.Fatal(err)
	}
	var parts []string
	for _, r := range body.Readings {
		parts = append(parts, fmt.Sprintf("%s %v %s %s %s", r.Callout, r.At, r.Value, r.Unit, r.Verdict))
	}
	for _, f := range body.Findings {
		parts = append(parts, f.Rule)
	}
	return strings.Join(parts, "; ")
}

// stateOf returns the job as a page shows it, as text to compare.
func stateOf(tb testing.TB, f *floor.Floor, job string) string {
	tb.Helper()
	s, err := f.State(tb.Context(), job)
	if err != nil {
		tb.Fatal(err)
	}
	text, err := json.MarshalIndent(s, "", " ")
	if err != nil {
		tb.Fatal(err)
	}
	return string(text)
}

// demoNotes returns what is said in the demo.
func demoNotes(tb testing.TB) []string {
	tb.Helper()
	text, err := fs.ReadFile(testdata.Files, "notes/mr5-demo.txt")
	if err != nil {
		tb.Fatal(err)
	}
	var notes []string
	for line := range strings.Lines(string(text)) {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			notes = append(notes, line)
		}
	}
	return notes
}
