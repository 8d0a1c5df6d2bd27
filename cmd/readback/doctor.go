package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"readback/capture/seal"
)

func doctorCommand(s *std) *cobra.Command {
	var witness string
	c := &cobra.Command{
		Use:   "doctor DIR [--witness FILE]",
		Short: "Check a data folder: is every entry what was sealed?",
		Long: `Doctor reads every entry of a data folder and compares it with what was sealed. It changes
nothing, and may run beside the server of the folder. With --witness it also compares with
the last head that the witness has. It ends with 0 if all holds, with 1 if something does
not, and with 2 if the folder cannot be read or has no seal.`,
		Example: "  readback doctor ~/readback --witness /mnt/other/heads.jsonl",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			report, err := examine(c.Context(), args[0], witness)
			if err != nil {
				return err
			}
			verdict := "It holds."
			if !report.Holds() {
				verdict = "It does not hold."
			}
			fmt.Fprintf(s.out, "%s: %s. %s\n", args[0], counted(report.Entries, "entry", "entries"), verdict)
			tellFindings(s.out, report)
			if !report.Holds() {
				return errFindings
			}
			return nil
		},
	}
	c.Flags().StringVar(&witness, "witness", "", "the `file` that `serve --witness` appends to")
	return c
}

func examine(ctx context.Context, data, witness string) (report seal.Report, err error) {
	store, err := (&source{data: data}).open(ctx)
	if err != nil {
		return report, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	scratch, remove, err := seal.Scratch()
	if err != nil {
		return report, hint(err, "make room in the folder for temporary files, or name another in TMPDIR")
	}
	defer func() { err = errors.Join(err, remove()) }()
	report, err = seal.Examine(ctx, data, witness, scratch, store)
	if err != nil {
		return report, keyHint(err)
	}
	return report, nil
}

// tellFindings writes what a report found, for people.
func tellFindings(w io.Writer, r seal.Report) {
	for _, f := range r.Faults {
		if f.Entry > 0 {
			fmt.Fprintf(w, "  wrong: entry %d: %s\n", f.Entry, f.Wrong)
		} else {
			fmt.Fprintf(w, "  wrong: %s\n", f.Wrong)
		}
	}
	for _, text := range r.Told {
		fmt.Fprintf(w, "  told: %s\n", text)
	}
	for _, text := range r.Checked {
		fmt.Fprintf(w, "  checked: %s\n", text)
	}
	for _, text := range slices.Concat(r.NotChecked, r.Beyond) {
		fmt.Fprintf(w, "  not checked: %s\n", text)
	}
}
