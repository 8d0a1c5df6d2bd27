package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"github.com/oklog/ulid/v2"
	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/wire"
	"readback/capture/ws"
	"readback/search/history"
	"readback/testdata"
)

// play is a scripted job, and the spec that it is built by.
type play struct{ id, spec, title, notes string }

// plays are the demo's jobs, the first where none is named, and demoSpeaker is who plays
// them, all invented.
var plays = []play{
	{"MW-1041", "mr5", "MR-5", "notes/mr5-demo.txt"},
	{"MW-1077", "bevel-head", "BH-2 gear head", "notes/bevel-demo.txt"},
}

var demoSpeaker = floor.Speaker{Bench: "demo bench", Person: "Ines"}

// maxPast is the longest past of the demo, in jobs; pastSeed decides what happened in it.
const (
	maxPast  = 3000
	pastSeed = 1
)

// demoFlags are the flags of the demo.
type demoFlags struct {
	job    string
	once   bool
	browse bool
	listen string
	speak  string
	stt    string
	lead   string
	pace   time.Duration // between two notes
	past   int           // jobs before it
}

func demoCommand(s *std) *cobra.Command {
	var flags demoFlags
	c := &cobra.Command{
		Use:   "demo [--job mr5|bevel-head] [--once]",
		Short: "Play a scripted job of an invented shop, with its verdicts",
		Long: `Demo plays one job of Millrace Pump Works, an invented shop: a rebuild of the MR-5
pump from intake to hand-over, or with --job bevel-head that of a gear head, with a few
slips on the way so that you see what Readback says to them. Nothing in it may be built
by.

It serves the bench page on this machine, opens it if it can, plays the job into it, and
stays for notes of your own until you press Ctrl-C. What was said is thrown away at the
end. With --once it plays to the terminal and ends.

The shop has a past of 300 jobs, as invented, in which the pages of search, drift and counts
find something; --past 0 leaves it out.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			show, err := findPlay(flags.job)
			if err != nil {
				return err
			}
			if flags.past < 0 || flags.past > maxPast {
				return hint(fmt.Errorf("--past %d is not a number of jobs", flags.past), "give one from 0 to %d", maxPast)
			}
			if flags.once {
				return playOnce(s, show)
			}
			return playLive(c.Context(), s, show, flags)
		},
	}
	c.Flags().StringVar(&flags.job, "job", plays[0].spec, "the `job` to play: mr5, a pump, or bevel-head, a gear head")
	c.Flags().BoolVar(&flags.once, "once", false, "play the job to the terminal and end")
	c.Flags().BoolVar(&flags.browse, "open", true, "open the page in a browser")
	c.Flags().StringVar(&flags.listen, "listen", "127.0.0.1:0", "`host:port` on this machine; port 0 takes a free one")
	speakFlag(c, &flags.speak)
	sttFlag(c, &flags.stt)
	leadFlag(c, &flags.lead)
	c.Flags().DurationVar(&flags.pace, "pace", 3*time.Second, "`time` between two notes")
	c.Flags().IntVar(&flags.past, "past", 300, "how many `jobs` the shop did before")
	return c
}

// script is the demo job: its options as they are set, and its notes.
type script struct{ set, notes []string }

// findPlay returns the play of that name.
func findPlay(name string) (*play, error) {
	var names []string
	for i := range plays {
		if plays[i].spec == name {
			return &plays[i], nil
		}
		names = append(names, plays[i].spec)
	}
	return nil, hint(fmt.Errorf("the demo has no job %s", name), "it has %s", strings.Join(names, " and "))
}

func (p *play) script() (script, error) {
	src, err := fs.ReadFile(testdata.Files, p.notes)
	if err != nil {
		return script{}, fmt.Errorf("demo: %w", err)
	}
	var out script
	for line := range strings.Lines(string(src)) {
		if set, ok := strings.CutPrefix(strings.TrimSpace(line), "# set "); ok {
			out.set = append(out.set, set)
		}
	}
	out.notes, err = notes("demo", strings.NewReader(string(src)))
	return out, err
}

// playOnce plays the demo job to the terminal. Findings that are open at its end are part
// of the play and no failure.
func playOnce(s *std, show *play) error {
	script, err := show.script()
	if err != nil {
		return err
	}
	flags := jobFlags{spec: show.spec, set: script.set}
	job, err := flags.job()
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "Millrace Pump Works (invented), job %s: %s, %s\n\n", show.id, show.title, strings.Join(script.set, ", "))
	if err := replay(s.out, job, nil, script.notes, printer(s.out, false)); !errors.Is(err, errFindings) {
		return err
	}
	return nil
}

// playLive serves the demo, plays the job into the live page, and stays.
func playLive(ctx context.Context, s *std, show *play, flags demoFlags) (err error) {
	script, err := show.script()
	if err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "readback-demo-")
	if err != nil {
		return hint(fmt.Errorf("demo: %w", err), "the demo needs a little room in the folder for temporary files")
	}
	keys, err := os.MkdirTemp("", "readback-demo-key-")
	defer func() { err = errors.Join(err, os.RemoveAll(dir), os.RemoveAll(keys)) }()
	if err != nil {
		return hint(fmt.Errorf("demo: %w", err), "the demo needs a little room in the folder for temporary files")
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var player errgroup.Group
	with := setup{data: dir, listen: flags.listen, shop: "demo", speak: flags.speak, stt: flags.stt, lead: flags.lead, seal: sealFlags{keyFile: filepath.Join(keys, "seal.key")}, log: s.logger()}
	if flags.past > 0 { // of a folder that was just made: what a shop has kept is never touched
		with.past = func(ctx context.Context, store journal.Store) error {
			return history.Fill(ctx, store, pastSeed, flags.past, time.Now().UTC().Truncate(24*time.Hour))
		}
	}
	err = serve(ctx, with, func(address string) error {
		if err := show.open(ctx, address, script.set); err != nil {
			return err
		}
		page := address + "/jobs/" + show.id
		fmt.Fprintf(s.out, "Millrace Pump Works (invented), job %s, is played at\n\n    %s\n\nSay or type notes of your own there. Without your hands: press How, Open, Done and Turn on once, then speak;\n“back to the jobs” leads to where a job of your own is opened. Ctrl-C ends the demo and throws its notes away.\n", show.id, page)
		if flags.past > 0 {
			fmt.Fprintf(s.out, "\nIts past of %d jobs, invented too, is searched at %s/search; which wrench drifts is at %s/drift\n", flags.past, address, address)
		}
		if err := hears(ctx, flags.speak); err != nil {
			fmt.Fprintf(s.out, "Verdicts are not spoken, signals sound: %v\n", err)
		}
		if flags.browse {
			browse(ctx, s, page)
		}
		player.Go(func() error {
			err := playNotes(ctx, address, show.id, script.notes, flags.pace)
			if err == nil {
				fmt.Fprintln(s.out, "The job is played. The bench is yours.")
			} else if ctx.Err() == nil {
				stop()
				return err
			}
			return nil
		})
		return nil
	})
	stop()
	return errors.Join(err, player.Wait())
}

// open opens the job through the server, as its page would.
func (p *play) open(ctx context.Context, address string, set []string) error {
	chosen, err := options(set)
	if err != nil {
		return err
	}
	return post(ctx, address+"/api/jobs", wire.OpenJob{ID: p.id, Spec: p.spec, Options: chosen, Person: demoSpeaker.Person})
}

// playNotes says the notes at a bench, one every pace.
func playNotes(ctx context.Context, address, job string, notes []string, pace time.Duration) (err error) {
	bench, err := ws.Dial(ctx, address, job, demoSpeaker)
	if err != nil {
		return fmt.Errorf("play the demo: %w", err)
	}
	defer func() { err = errors.Join(err, bench.Close()) }()
	for _, text := range notes {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(pace):
		}
		if err := sayNote(ctx, bench, text); err != nil {
			return fmt.Errorf("play the demo: %w", err)
		}
	}
	return nil
}

// sayNote says a note at a bench now, and waits for its answer.
func sayNote(ctx context.Context, bench *ws.Bench, text string) error {
	now := time.Now()
	id, err := ulid.New(ulid.Timestamp(now), ulid.DefaultEntropy())
	if err != nil {
		return err
	}
	_, err = bench.Say(ctx, wire.Note{ID: id.String(), Text: text, At: now.Format(time.RFC3339Nano)})
	return err
}

// browse opens a page if this machine has something to open it with.
func browse(ctx context.Context, s *std, page string) {
	if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
		return
	}
	opener, err := exec.LookPath("xdg-open")
	if err != nil {
		return
	}
	c := exec.CommandContext(context.WithoutCancel(ctx), opener, page) //nolint:gosec // the page is our own address
	if err := c.Start(); err != nil {
		log := s.logger()
		log.Warn().Err(err).Msg("browser could not be opened")
		return
	}
	go func() { _ = c.Wait() }() // it lives as long as the visitor likes
}
