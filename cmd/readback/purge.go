package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"readback/capture/evidence"
	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/sqlite"
)

// purgeFlags are the flags of purge.
type purgeFlags struct {
	data, why, by  string
	sounds, photos days
	dry            bool
}

func purgeCommand(s *std) *cobra.Command {
	var flags purgeFlags
	c := &cobra.Command{
		Use:   "purge --data DIR [--sounds DAYS] [--photos DAYS] [--why TEXT] [--by NAME] [--dry]",
		Short: "Remove old sounds and photos of notes; the record and their hashes stay",
		Long: `Purge removes the sounds and photos that are older than the days given. What is removed
is first written into the record of each job: which, when and why. Notes, readings and
verdicts stay as they are, and so do the hashes.

The server of the folder must not run meanwhile: one that shall purge by itself is started
with --keep-sound and --keep-photos.`,
		Example: "  readback purge --data ~/readback --sounds 90 --photos 365 --dry",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			report, err := purge(c.Context(), s, flags)
			if err != nil {
				return err
			}
			for _, e := range report.Entries {
				fmt.Fprintf(s.out, "%s: %s\n", e.Job, counted(len(e.Purge.Items), "sound or photo", "sounds and photos"))
			}
			what := counted(report.Gone[evidence.Sound], "sound", "sounds") + " and " + counted(report.Gone[evidence.Photo], "photo", "photos")
			if flags.dry {
				fmt.Fprintf(s.out, "%s would be purged\n", what)
			} else {
				fmt.Fprintf(s.out, "%s purged, %s removed\n", what, counted(report.Files, "file", "files"))
			}
			return nil
		},
	}
	c.Flags().StringVar(&flags.data, "data", "", "`folder` of the journal")
	c.Flags().Var(&flags.sounds, "sounds", "purge sounds that are older")
	c.Flags().Var(&flags.photos, "photos", "purge photos that are older")
	c.Flags().StringVar(&flags.why, "why", "", "`words` for the record; their age if left out")
	c.Flags().StringVar(&flags.by, "by", "", "`name` for the record of who asked for it")
	c.Flags().BoolVar(&flags.dry, "dry", false, "only say what would be purged")
	return c
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func purge(ctx context.Context, s *std, flags purgeFlags) (report evidence.Report, err error) {
	switch {
	case flags.data == "":
		return report, hint(errors.New("no data folder was given"), "add --data with the folder that `readback serve --data` uses")
	case flags.sounds == 0 && flags.photos == 0:
		return report, hint(errors.New("neither an age of sounds nor one of photos was given"), "add --sounds 90, --photos 365 or both")
	}
	old, err := (&source{data: flags.data}).open(ctx) // no folder is made by a slip of the pen
	if err != nil {
		return report, err
	}
	if err := old.Close(); err != nil {
		return report, err
	}
	store, err := sqlite.Open(ctx, flags.data)
	if errors.Is(err, journal.ErrInUse) {
		return report, hint(err, "stop the server first, or start it with --keep-sound DAYS and --keep-photos DAYS")
	}
	if err != nil {
		return report, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	kept := &keptFiles{} // a dry purge looks at none
	if !flags.dry {
		if kept, err = openKept(flags.data); err != nil {
			return report, err
		}
	}
	writer := journal.NewWriter(store)
	background, stop := context.WithCancel(context.WithoutCancel(ctx))
	var behind errgroup.Group
	behind.Go(func() error { return stopped(writer.Run(background)) })
	shop := floor.New(floor.Config{Reader: store, Writer: writer, Program: version(), Now: time.Now, Log: s.logger()})
	rule := evidence.Rule{Sounds: flags.sounds.age(), Photos: flags.photos.age(), Why: flags.why, By: flags.by}
	report, err = kept.purger(store, shop.Record, s.logger()).Purge(ctx, rule, flags.dry)
	stop()
	return report, errors.Join(err, behind.Wait())
}
