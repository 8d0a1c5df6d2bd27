package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"readback/capture/backup"
	"readback/capture/journal"
	"readback/capture/seal"
)

// dataFolder says what a data folder holds beside the journal and its seal.
func dataFolder() backup.Data {
	return backup.DataOf(soundFolder, photoFolder, []string{searchesFile}, []string{indexFolder, speechFolder})
}

func backupCommand(s *std) *cobra.Command {
	var cfg backup.Config
	c := &cobra.Command{
		Use:   "backup --data DIR --to DIR2 [--keep N] [--with-key [--key-file FILE]]",
		Short: "Copy a data folder while its server serves, and check the copy",
		Long: `Backup copies what cannot be made again of a data folder into a folder on another disk: the
journal as it is at one moment, its seal, the sounds and photos that it needs, and the kept
searches. The server of the folder may go on meanwhile, and no note waits. Each backup there is
whole by itself; sounds and photos are kept once for all of them, so that the next takes
little time. The copy is checked: every entry against the seal, and every file against its hash as it
is copied. Of sounds and photos that an earlier backup has copied, those of at most 1 MiB are read again,
and copied anew if the disk has changed them; of larger ones only the size is compared: "restore --dry"
reads them all. One that is cut short is never taken for a backup, and the next run removes it.

The key that seals the record is not copied unless --with-key asks for it. The search index
is not copied either: the server builds it again. Nor are specs, the register of instruments and
words of the shop, which lie outside the data folder.

It ends with 0, with 1 if sounds or photos were missing or changed in the data folder already, and
with 2 if no backup was made.`,
		Example: "  readback backup --data ~/readback --to /mnt/other/readback",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			switch {
			case cfg.From == "":
				return hint(errors.New("no data folder was given"), "add --data with the folder that `readback serve --data` uses")
			case cfg.To == "":
				return hint(errors.New("no folder for the backup was given"), "add --to with a folder, best on another disk")
			case cfg.Keep < 1:
				return hint(fmt.Errorf("--keep %d keeps no backup", cfg.Keep), "give a number of 1 or more")
			}
			cfg.Data, cfg.Program, cfg.Now, cfg.Tell = dataFolder(), version(), time.Now, tellOn(s.err)
			report, err := backup.Make(c.Context(), cfg)
			if err != nil {
				return backupHint(err)
			}
			return tellBackup(s, report)
		},
	}
	c.Flags().StringVar(&cfg.From, "data", "", "`folder` of the journal")
	c.Flags().StringVar(&cfg.To, "to", "", "`folder` for backups, outside the data folder; made if it is not there")
	c.Flags().IntVar(&cfg.Keep, "keep", backup.Kept, "keep the newest `number` of backups there, and remove those before")
	c.Flags().BoolVar(&cfg.WithKey, "with-key", false, "copy the key as well: who has the backup can then sign as you")
	keyFileFlag(c, &cfg.KeyFile)
	return c
}

func tellOn(w io.Writer) func(string) {
	return func(words string) { fmt.Fprintf(w, "readback: %s\n", words) }
}

func tellBackup(s *std, r backup.Report) error {
	fmt.Fprintf(s.out, "%s: %s\n", r.Path, holdsWords(r.Manifest))
	fmt.Fprintf(s.out, "  %s copied, %d there already\n", counted(r.Copied, "sound or photo", "sounds and photos"), r.There)
	tellSeal(s.out, r.Signer, r.Seal)
	if r.Key {
		fmt.Fprintln(s.out, "  the key is in it: whoever has this folder can sign as your shop. Keep it under lock")
	} else {
		fmt.Fprintln(s.out, "  the key is not in it: keep a copy of that elsewhere (`readback key show` says which it is)")
	}
	for _, name := range r.Removed {
		fmt.Fprintf(s.out, "  removed: %s, the oldest\n", name)
	}
	for _, name := range r.Unknown {
		fmt.Fprintf(s.out, "  not copied: %s in the data folder, which is none of Readback's\n", name)
	}
	wrong := r.Wrong()
	for _, item := range wrong {
		fmt.Fprintf(s.out, "  missing: the %s of %s %s (%s)\n", item.Sort, item.Of, item.Wrong, item.Hash)
	}
	if len(wrong) > 0 {
		return errFindings
	}
	return nil
}

// holdsWords says up to where a backup goes.
func holdsWords(m backup.Manifest) string {
	if m.Last == nil {
		return "no entry"
	}
	return fmt.Sprintf("%s of %s, up to entry %d of job %s at %s", counted(int(m.Entries), "entry", "entries"), counted(m.Jobs, "job", "jobs"), m.Last.Seq, m.Last.Job, m.Last.At.UTC().Format("2006-01-02 15:04:05 UTC"))
}

func tellSeal(w io.Writer, signer string, found []seal.Report) {
	if len(found) == 0 {
		fmt.Fprintln(w, "  nothing in it is sealed yet")
		return
	}
	for _, r := range found {
		for _, text := range r.Checked {
			fmt.Fprintf(w, "  checked: %s\n", text)
		}
	}
	fmt.Fprintf(w, "  sealed with key %s\n", signer)
}

func backupHint(err error) error {
	switch {
	case errors.Is(err, backup.ErrInside):
		return hint(err, "name a folder elsewhere, best on another disk")
	case errors.Is(err, backup.ErrInUse):
		return hint(err, "wait for it, or name another folder with --to")
	case errors.Is(err, backup.ErrFull):
		return hint(err, "make room on that disk, or name a folder on another; nothing of this one is left, and what was there before still is")
	case errors.Is(err, backup.ErrNone):
		return hint(err, "name the folder that `readback backup --to` wrote to, and with --backup one of those in it")
	case errors.Is(err, backup.ErrNotEmpty):
		return hint(err, "name a folder that is not there yet; what is in this one is not touched")
	case errors.Is(err, journal.ErrNotFound):
		return hint(err, "name the folder that `readback serve --data` uses")
	}
	return keyHint(err)
}

func restoreCommand(s *std) *cobra.Command {
	var cfg backup.RestoreConfig
	var dry bool
	c := &cobra.Command{
		Use:   "restore --from DIR2 (--data DIR | --dry) [--backup NAME] [--key-file FILE] [--leave-out]",
		Short: "Check a backup, and put it into an empty data folder",
		Long: `Restore checks a backup, each file against its hash and every entry against the seal, says what
is in it, and puts it into a data folder that is empty or not there yet. It takes the newest backup
unless --backup names another. With --dry it only checks.

What is not what was written is told by name, and then nothing is put back. If those are sounds
or photos alone, --leave-out puts back the rest; the record keeps their hashes, and says that the
files are missing.

What was said after the backup is not in it. Start the server with --witness, the file that it
had before: if the witness knows more than the backup, the server says so and seals nothing,
until ` + "`readback loss`" + ` has written down what is lost. It ends with 0, with 1 if the backup does not
hold, and with 2 if it cannot be read or put there.`,
		Example: "  readback restore --from /mnt/other/readback --data ~/readback-2",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			switch {
			case cfg.From == "":
				return hint(errors.New("no folder of backups was given"), "add --from with the folder that `readback backup --to` wrote to")
			case (cfg.To == "") != dry:
				return hint(errors.New("either a new data folder is needed, or --dry"), "add --data with a folder that is not there yet, or --dry to check the backup alone")
			}
			cfg.Data, cfg.Tell = dataFolder(), tellOn(s.err)
			return restore(c.Context(), s, cfg)
		},
	}
	c.Flags().StringVar(&cfg.From, "from", "", "the `folder` that backups were written to")
	c.Flags().StringVar(&cfg.To, "data", "", "the data `folder` to be: empty, or not there yet")
	c.Flags().StringVar(&cfg.Name, "backup", "", "the `name` of a backup in there; the newest if left out")
	c.Flags().BoolVar(&dry, "dry", false, "only check the backup")
	c.Flags().BoolVar(&cfg.LeaveBe, "leave-out", false, "leave out sounds and photos that are damaged or missing")
	keyFileFlag(c, &cfg.KeyFile)
	return c
}

func restore(ctx context.Context, s *std, cfg backup.RestoreConfig) error {
	r, err := backup.Restore(ctx, cfg)
	damaged := errors.Is(err, backup.ErrDamaged)
	if err != nil && !damaged {
		return backupHint(err)
	}
	if damaged && len(r.Faults)+len(r.Lost) == 0 {
		return hint(err, "another backup there may be whole: name it with --backup")
	}
	fmt.Fprintf(s.out, "%s: %s, made %s\n", filepath.Base(r.Path), holdsWords(r.Manifest), r.At.UTC().Format("2006-01-02 15:04:05 UTC"))
	for _, text := range r.Faults {
		fmt.Fprintf(s.out, "  wrong: %s\n", text)
	}
	for _, text := range r.Lost {
		fmt.Fprintf(s.out, "  missing: %s\n", text)
	}
	for _, name := range r.Newer {
		fmt.Fprintf(s.out, "  newer: %s, which you did not choose\n", name)
	}
	if damaged {
		advice := "another backup there may be whole: name it with --backup"
		if len(r.Faults) == 0 {
			advice = "--leave-out puts back the rest"
		}
		fmt.Fprintf(s.out, "It does not hold, and nothing was put back: %s.\n", advice)
		return errFindings
	}
	if r.Seal != nil {
		tellSeal(s.out, r.Signer, []seal.Report{*r.Seal})
	} else {
		tellSeal(s.out, "", nil)
	}
	if cfg.To == "" {
		fmt.Fprintln(s.out, "It holds. Nothing was put anywhere.")
		return nil
	}
	switch {
	case r.KeyPath != "":
		fmt.Fprintf(s.out, "  the key is in %s\n", r.KeyPath)
	case r.Seal != nil:
		fmt.Fprintln(s.out, "  the key is not in it: put yours where it was, or name it with --key-file when you serve")
	}
	fmt.Fprintf(s.out, `It is in %s. What was said after it is not.
Start the server with the witness that it had: readback serve --data %s --witness FILE
If the witness knows more, the server says so and seals nothing until you have written down what is
lost: readback loss --data %s --witness FILE --by NAME --why WORDS
`, cfg.To, cfg.To, cfg.To)
	return nil
}
