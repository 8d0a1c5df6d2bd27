package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"readback/capture/bench"
	"readback/capture/floor"
	"readback/capture/wire"
	"readback/capture/ws"
	"readback/parse"
	"readback/rules"
	"readback/search"
)

// Bounds of what bench is asked to do.
const (
	maxBenches = 1000
	maxLoad    = time.Hour
)

// benchPace is the time between two notes of a bench, and benchShare how many benches work on a job.
const (
	benchPace  = 500 * time.Millisecond
	benchShare = 2
)

// load is what a machine is tried with.
type load struct {
	benches int
	long    time.Duration
	folder  string // where the folder of the record is made; "" for that of temporary files
}

func benchCommand(s *std) *cobra.Command {
	var with load
	var asJSON bool
	c := &cobra.Command{
		Use:   "bench [--json]",
		Short: "Load and latency figures of this machine",
		Long: `Bench measures this machine: how many notes a second are read, how long the disk takes to
make sure of a write, how long an answer takes while benches work at the pace of people,
how many notes a second are answered as fast as they can be sent, and how long a search
takes. It works on a record of its own in a new folder, which goes at the end, with the
demo's notes; nothing of yours is touched.

An answer's time counts from the sending of a note until its verdict is there, after its
commit. Nothing is spoken or heard. What else runs on the machine is in the figures: compare
those of one run with each other.`,
		Example: "  readback bench\n  readback bench --benches 100 --for 30s --folder /mnt/data --json",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := with.check(); err != nil {
				return err
			}
			f, err := with.measure(c.Context(), s)
			if err != nil {
				return err
			}
			if asJSON {
				e := json.NewEncoder(s.out)
				e.SetEscapeHTML(false)
				return e.Encode(f)
			}
			return f.print(s.out)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	c.Flags().IntVar(&with.benches, "benches", 20, "how many `benches` work at once, at two notes a second each")
	c.Flags().DurationVar(&with.long, "for", 5*time.Second, "how `long` they work")
	c.Flags().StringVar(&with.folder, "folder", "", "make the record in a folder under `folder`, to try its disk; that of temporary files if left out")
	return c
}

func (l *load) check() error {
	switch {
	case l.benches < 1 || l.benches > maxBenches:
		return hint(fmt.Errorf("--benches %d", l.benches), "give from 1 to %d", maxBenches)
	case l.long < time.Second || l.long > maxLoad:
		return hint(fmt.Errorf("--for %s", l.long), "give from 1s to %s", maxLoad)
	}
	return nil
}

// figures are what was measured. Times are in milliseconds.
type figures struct {
	Machine machine `json:"machine"`
	Benches int     `json:"benches"`
	Seconds float64 `json:"seconds"` // for which they worked at the pace of people

	Read       float64 `json:"read_notes_per_second"` // parsed, checked and answered, one core, nothing kept
	Quantities float64 `json:"quantities_notes_per_second"`
	Sync       times   `json:"sync"`   // of 4 KiB to the disk of the record
	Answer     times   `json:"answer"` // at the pace of people
	Full       float64 `json:"full_notes_per_second"`
	Loaded     times   `json:"full_answer"` // as fast as each bench is answered
	Search     times   `json:"search"`
	Notes      int     `json:"notes"` // that were answered and kept, and searched
}

type machine struct {
	Processors int    `json:"processors"`
	System     string `json:"system"`
	Program    string `json:"program"`
}

// times are quantiles, in milliseconds.
type times struct {
	Of  int     `json:"of"`
	P50 float64 `json:"p50_ms"`
	P95 float64 `json:"p95_ms"`
	P99 float64 `json:"p99_ms"`
	Max float64 `json:"max_ms"`
}

func timesOf(took []time.Duration) times {
	round := func(d time.Duration) float64 { return math.Round(ms(d)*1000) / 1000 }
	return times{len(took), round(quantile(took, 50)), round(quantile(took, 95)), round(quantile(took, 99)), round(quantile(took, 100))}
}

// quantile returns the time that percent of all do not pass.
func quantile(all []time.Duration, percent int) time.Duration {
	slices.Sort(all)
	return all[(len(all)-1)*percent/100]
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// measure measures in a folder of its own, which is gone afterwards.
func (l *load) measure(ctx context.Context, s *std) (f figures, err error) {
	dir, err := os.MkdirTemp(l.folder, "readback-bench-")
	if err != nil {
		return f, hint(fmt.Errorf("bench: %w", err), "give --folder one that is there and can be written")
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	show := &plays[0]
	script, err := show.script()
	if err != nil {
		return f, err
	}
	f = figures{Machine: machine{runtime.NumCPU(), runtime.GOOS + "/" + runtime.GOARCH, version()}, Benches: l.benches, Seconds: l.long.Seconds()}
	job := jobFlags{spec: show.spec, set: script.set}
	if f.Read, err = readRate(&job, script.notes); err != nil {
		return f, err
	}
	f.Quantities = rate(func() int {
		for _, text := range script.notes {
			parse.Quantities(text)
		}
		return len(script.notes)
	})
	if f.Sync, err = syncRate(dir); err != nil {
		return f, err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	with := setup{
		data: filepath.Join(dir, "data"), listen: "127.0.0.1:0", speak: noEngine, stt: noEngine,
		seal: sealFlags{keyFile: filepath.Join(dir, "seal.key")}, log: s.logger(),
	}
	err = serve(ctx, with, func(address string) error {
		defer stop()
		return l.work(ctx, &f, address, show.spec, &script)
	})
	return f, err
}

// work lets the benches work on a server and then searches what they said.
func (l *load) work(ctx context.Context, f *figures, address, spec string, script *script) error {
	options, err := options(script.set)
	if err != nil {
		return err
	}
	seats := make([]*ws.Bench, l.benches)
	defer func() {
		for _, seat := range seats {
			if seat != nil {
				_ = seat.Close() // all that they said is answered
			}
		}
	}()
	for n := range seats {
		id := fmt.Sprintf("MW-%d", 1041+n/benchShare)
		if n%benchShare == 0 {
			if err := post(ctx, address+"/api/jobs", wire.OpenJob{ID: id, Spec: spec, Options: options, Person: demoSpeaker.Person}); err != nil {
				return err
			}
		}
		if seats[n], err = ws.Dial(ctx, address, id, floor.Speaker{Bench: fmt.Sprintf("bench %d", n), Person: demoSpeaker.Person}); err != nil {
			return fmt.Errorf("bench: %w", err)
		}
	}
	paced, err := sayAll(ctx, seats, script.notes, l.long, benchPace)
	if err != nil {
		return err
	}
	started := time.Now()
	full, err := sayAll(ctx, seats, script.notes, 2*time.Second, 0)
	if err != nil {
		return err
	}
	f.Full = math.Round(float64(len(full)) / time.Since(started).Seconds())
	f.Notes = len(paced) + len(full)
	f.Answer, f.Loaded = timesOf(paced), timesOf(full)
	f.Search, err = searchTimes(ctx, address)
	return err
}

// sayAll lets each bench say notes for a while, one every pace, each bench at its own moment; a pace of 0 is as
// fast as it is answered. It returns how long the answers took.
func sayAll(ctx context.Context, seats []*ws.Bench, notes []string, long, pace time.Duration) ([]time.Duration, error) {
	var mu sync.Mutex
	var all []time.Duration
	start := time.Now()
	group, ctx := errgroup.WithContext(ctx)
	for n, seat := range seats {
		group.Go(func() error {
			var took []time.Duration
			for i := 0; time.Since(start) < long; i++ {
				at := start.Add(time.Duration(i)*pace + time.Duration(n)*pace/time.Duration(len(seats)))
				select {
				case <-ctx.Done():
					return ctx.Err()
				case <-time.After(time.Until(at)):
				}
				begun := time.Now()
				if err := sayNote(ctx, seat, notes[(i+n)%len(notes)]); err != nil {
					return fmt.Errorf("bench: %w", err)
				}
				took = append(took, time.Since(begun))
			}
			mu.Lock()
			defer mu.Unlock()
			all = append(all, took...)
			return nil
		})
	}
	return all, group.Wait()
}

// searched are what a lead looks for in the demo's notes.
var searched = []string{"seized", "full of sand", "thrust washer worn", "wear ring over 0.4 mm", "collar nut", "bushing out of limits", "\"came in seized\"", "cable", "noisy bearing", "by Ines"}

// searchTimes searches what was said, each query several times.
func searchTimes(ctx context.Context, address string) (times, error) {
	from := source{server: address}
	var took []time.Duration
	for range 10 {
		for _, q := range searched {
			var found search.Results
			begun := time.Now()
			if err := from.get(ctx, "/api/search?"+url.Values{"q": {q}, "limit": {"20"}}.Encode(), &found); err != nil {
				return times{}, err
			}
			took = append(took, time.Since(begun))
		}
	}
	return timesOf(took), nil
}

// rate runs work for about a second and returns how many it did a second.
func rate(work func() int) float64 {
	n, start := 0, time.Now()
	for time.Since(start) < time.Second {
		n += work()
	}
	return math.Round(float64(n) / time.Since(start).Seconds())
}

// readRate replays the notes again and again, each time as a new job.
func readRate(flags *jobFlags, notes []string) (perSecond float64, err error) {
	job, err := flags.job()
	if err != nil {
		return 0, err
	}
	words := parse.NewVocabulary(job.Words())
	perSecond = rate(func() int {
		var again *rules.Job
		if again, err = rules.NewJob(job.Spec(), job.Options()); err != nil {
			return 0
		}
		b := bench.New(again, words)
		for _, text := range notes {
			b.Say(text)
		}
		return len(notes)
	})
	return perSecond, err
}

// syncRate writes 4 KiB in place and makes sure of it, again and again.
func syncRate(dir string) (out times, err error) {
	f, err := os.Create(filepath.Join(dir, "sync"))
	if err != nil {
		return out, fmt.Errorf("bench: %w", err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	block := make([]byte, 4096)
	var took []time.Duration
	for range 100 {
		block[0]++
		if _, err := f.WriteAt(block, 0); err != nil {
			return out, fmt.Errorf("bench: %w", err)
		}
		begun := time.Now()
		if err := f.Sync(); err != nil {
			return out, fmt.Errorf("bench: %w", err)
		}
		took = append(took, time.Since(begun))
	}
	return timesOf(took), nil
}

// print writes the figures for people.
func (f *figures) print(out io.Writer) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "%d processors, %s, %s; %d benches at two notes a second for %g s\n\n", f.Machine.Processors, f.Machine.System, f.Machine.Program, f.Benches, f.Seconds)
	fmt.Fprintf(t, "notes read and checked, one core\t%.0f a second\n", f.Read)
	fmt.Fprintf(t, "bare quantities, one core\t%.0f a second\n", f.Quantities)
	for _, row := range []struct {
		name string
		times
	}{{"4 KiB made sure of on the disk", f.Sync}, {"answer after its commit", f.Answer}, {"answer at full speed", f.Loaded}, {"search", f.Search}} {
		fmt.Fprintf(t, "%s\tp50 %.2f ms\tp95 %.2f ms\tp99 %.2f ms\tworst %.2f ms\tof %d\n", row.name, row.P50, row.P95, row.P99, row.Max, row.Of)
	}
	fmt.Fprintf(t, "notes answered at full speed\t%.0f a second\n", f.Full)
	fmt.Fprintf(t, "\nWhat else ran on the machine is in these figures.\n")
	return t.Flush()
}
