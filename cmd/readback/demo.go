package main

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"readback/testdata"
)

func demoCommand(s *std) *cobra.Command {
	var once bool
	c := &cobra.Command{
		Use:   "demo --once",
		Short: "Play a scripted job of an invented shop, with its verdicts",
		Long: `Demo plays one job of Millrace Pump Works, an invented shop: a rebuild of the MR-5
pump from strip-down to test, with a few slips on the way so that you see what
Readback says to them. Nothing in it may be built by.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if !once {
				return hint(errors.New("the demo plays to the terminal for now"), "run `readback demo --once`")
			}
			return playOnce(s)
		},
	}
	c.Flags().BoolVar(&once, "once", false, "play the job to the terminal and end")
	return c
}

// playOnce plays the demo job. Findings that are open at its end are part of the play
// and no failure.
func playOnce(s *std) error {
	src, err := fs.ReadFile(testdata.Files, "notes/mr5-demo.txt")
	if err != nil {
		return fmt.Errorf("demo: %w", err)
	}
	flags := jobFlags{spec: "mr5"}
	for line := range strings.Lines(string(src)) {
		if set, ok := strings.CutPrefix(strings.TrimSpace(line), "# set "); ok {
			flags.set = append(flags.set, set)
		}
	}
	job, err := flags.job()
	if err != nil {
		return err
	}
	notes, err := notes("demo", strings.NewReader(string(src)))
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "Millrace Pump Works (invented), job MW-1041: MR-5, %s\n\n", strings.Join(flags.set, ", "))
	if err := replay(s.out, job, notes, printer(s.out, false)); !errors.Is(err, errFindings) {
		return err
	}
	return nil
}
