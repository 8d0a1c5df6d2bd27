package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/seal"
)

func lossCommand(s *std) *cobra.Command {
	var cfg seal.Config
	var by, why string
	c := &cobra.Command{
		Use:   "loss --data DIR --witness FILE --by NAME --why WORDS [--key-file FILE]",
		Short: "Write down that what came after a restored copy is lost, so that its seal can go on",
		Long: `Loss is for a record that was put back from an older copy, when no newer one is to be found. It
writes into the log of the shop that the end of the log is lost: up to which head the witness
knew it, who says so, and why. The key signs that, and it stays: "verify" tells it of every job
that is exported from then on, and heads of what was lost do not fit the log any more.

It seals nothing that was changed: what is in the folder must be what was signed. The server must
not run meanwhile. Copy the witness file away first: its heads are what others can hold against it.`,
		Example: `  readback loss --data ~/readback-2 --witness /mnt/third/heads.jsonl --by "Ines Falk" --why "disk failed on Tuesday; notes of that morning are on paper"`,
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) (err error) {
			switch {
			case cfg.Data == "":
				return hint(errors.New("no data folder was given"), "add --data with the folder that `readback serve --data` uses")
			case cfg.Witness == "":
				return hint(errors.New("no witness was given"), "add --witness with the file that `readback serve --witness` appended to; without a witness nothing keeps the seal from going on")
			case by == "" || why == "":
				return hint(errors.New("who says so and the reason are needed"), `add --by "your name" and --why "what happened, and when"`)
			case len(by) > 200 || len(why) > 1000:
				return hint(errors.New("--by is longer than 200 bytes, or --why than 1,000"), "say it in a sentence")
			}
			old, err := (&source{data: cfg.Data}).open(c.Context()) // no folder is made by a slip of the pen
			if err != nil {
				return err
			}
			if err := old.Close(); err != nil {
				return err
			}
			store, err := sqlite.Open(c.Context(), cfg.Data)
			if errors.Is(err, journal.ErrInUse) {
				return hint(err, "stop the server first")
			}
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, store.Close()) }()
			cfg.Source, cfg.Notice, cfg.Now, cfg.Log = store, func() <-chan struct{} { return nil }, time.Now, s.logger()
			lost, status, err := seal.Lose(c.Context(), cfg, by, why)
			if errors.Is(err, seal.ErrChanged) {
				return hint(err, "this is no loss of the end alone: `readback doctor` says what is wrong; put back a copy that holds")
			}
			if err != nil {
				return keyHint(err)
			}
			head := lost.Head
			fmt.Fprintf(s.out, "The log tells now that what was sealed up to %d leaves (%s) is lost. It goes on with %d.\nStart the server with --witness again.\n",
				head.Size, head.At.Time().Format(time.RFC3339), status.Newest.Head.Size)
			return nil
		},
	}
	c.Flags().StringVar(&cfg.Data, "data", "", "`folder` of the journal")
	c.Flags().StringVar(&cfg.Witness, "witness", "", "the `file` that `serve --witness` appended to")
	c.Flags().StringVar(&by, "by", "", "`name` of whoever says so")
	c.Flags().StringVar(&why, "why", "", "`words` for the record: what happened, and when")
	keyFileFlag(c, &cfg.KeyFile)
	return c
}
