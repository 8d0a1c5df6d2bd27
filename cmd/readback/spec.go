package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"readback/capture/hear/grammar"
	"readback/rules/spec"
)

func specCommand(s *std) *cobra.Command {
	c := &cobra.Command{
		Use:   "spec",
		Short: "Work on build specs: lint, schema, explain, try",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return hint(errors.New("spec what?"), "`readback spec lint FILE` checks a spec file")
		},
	}
	c.AddCommand(lintCommand(s), schemaCommand(s), explainCommand(s), tryCommand(s))
	return c
}

func lintCommand(s *std) *cobra.Command {
	return &cobra.Command{
		Use:   "lint SPEC",
		Short: "Check a spec file; all faults at once, each with its line and what would do",
		Long: `Lint reads a spec file and prints every fault with its line and column, what is wrong
and what would do. Beside what no job could be opened with, it finds what is legal and
cannot be meant: names that nobody can tell apart or that mean something already, limits
that no reading meets, steps that need each other in a circle, options that make no
difference, rules that can never speak. Where the recogniser's dictionary is installed, it
names the words that cannot be heard, and the names that sound the same. The exit status is 0 for a clean spec, 2 for one
with faults.`,
		Example: "  readback spec lint testdata/specs/mr5.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			file, src, err := readSpec(args[0])
			if err != nil {
				return err
			}
			faults := spec.Lint(file, src)
			if d, err := grammar.Load(grammar.Path); err == nil {
				faults = withSounds(faults, grammar.Lint(file, src, d))
			} else {
				fmt.Fprintln(s.err, "note: how its words sound was not checked, since the recogniser's dictionary is not installed (on Debian: apt install pocketsphinx-en-us)")
			}
			if faults != nil {
				return tell(s, file, src, faults)
			}
			sp, err := spec.Load(file, src)
			if err != nil {
				return err
			}
			fmt.Fprintf(s.out, "%s: clean. Spec %s, revision %s, %d callouts, %d rules.\n", file, sp.ID, sp.Revision, len(sp.Callouts), len(sp.Rules))
			return nil
		},
	}
}

// withSounds adds what was found of sounds, but where the spec is at fault already.
func withSounds(faults, sounds spec.Errors) spec.Errors {
	for _, f := range sounds {
		if !slices.ContainsFunc(faults, func(g *spec.Error) bool { return g.Line == f.Line && strings.Contains(g.Wrong, "told apart") }) {
			faults = append(faults, f)
		}
	}
	slices.SortStableFunc(faults, func(a, b *spec.Error) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return faults[:min(len(faults), spec.MaxFaults)]
}

// tell prints faults, each with its line, and returns how many there are.
func tell(s *std, file string, src []byte, faults spec.Errors) error {
	for _, f := range faults {
		fmt.Fprintf(s.err, "%v\n%s", f, f.Excerpt(src))
	}
	if len(faults) == spec.MaxFaults {
		return fmt.Errorf("%s has %d faults, or more: no more are told at once", file, len(faults))
	}
	return fmt.Errorf("%s has %s", file, count(len(faults), "fault"))
}

func schemaCommand(s *std) *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of a spec file, for editors that complete and check it",
		Long: `Schema prints the JSON Schema (2020-12) of a spec file, with what each key is for. An
editor that takes one completes the file and marks what has the wrong shape; what hangs
together in a spec only lint checks.`,
		Example: "  readback spec schema > spec.schema.json",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			text, err := spec.Schema()
			if err != nil {
				return err
			}
			_, err = s.out.Write(text)
			return err
		},
	}
}
