package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"readback/rules/spec"
)

func specCommand(s *std) *cobra.Command {
	c := &cobra.Command{
		Use:   "spec",
		Short: "Work on build specs",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return hint(errors.New("spec what?"), "`readback spec lint FILE` checks a spec file")
		},
	}
	c.AddCommand(&cobra.Command{
		Use:   "lint SPEC",
		Short: "Check a spec file; all faults at once, each with its line and what would do",
		Long: `Lint reads a spec file and prints every fault with its line and column, what is wrong
and what would do. The exit status is 0 for a clean spec, 2 for one with faults.`,
		Example: "  readback spec lint testdata/specs/mr5.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			file, src, err := readSpec(args[0])
			if err != nil {
				return err
			}
			sp, err := spec.Load(file, src)
			if err != nil {
				return err
			}
			fmt.Fprintf(s.out, "%s: clean. Spec %s, revision %s, %d callouts, %d rules.\n", file, sp.ID, sp.Revision, len(sp.Callouts), len(sp.Rules))
			return nil
		},
	})
	return c
}
