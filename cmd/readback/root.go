package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// newRoot returns the command with all its subcommands.
func newRoot(s *std) *cobra.Command {
	root := &cobra.Command{
		Use:   "readback",
		Short: "Check spoken readings against a build spec while they can still be mended",
		Long: `Readback takes the short notes that a technician speaks or types while building a
pump, pulls out the quantities, checks each against the build spec and answers with
a verdict: in, close, out or unclear. What it is not sure of it asks back and does
not record.

Try it on a demo job, in a browser or on the terminal:

    readback demo
    readback demo --once

or on notes of your own, one a line:

    echo "collar nut stage three forty eight newton metres" | readback check --spec mr5`,
		SilenceUsage:      true,
		SilenceErrors:     true,
		CompletionOptions: cobra.CompletionOptions{DisableDefaultCmd: true},
	}
	root.PersistentFlags().Var(&s.log.level, "log", "what to log to standard error: debug, info, warn or error")
	root.SetIn(s.in)
	root.SetOut(s.out)
	root.SetErr(s.err)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return hint(err, "`%s --help` lists the flags", c.CommandPath())
	})
	root.AddCommand(checkCommand(s), hearCommand(s), parseCommand(s), specCommand(s), demoCommand(s),
		serveCommand(s), searchCommand(s), benchCommand(s), exportCommand(s), verifyCommand(s), doctorCommand(s), keyCommand(s), lossCommand(s), backupCommand(s), restoreCommand(s), purgeCommand(s), hearWorkerCommand(s))
	root.SetHelpCommand(&cobra.Command{Use: "no-help", Hidden: true})
	return root
}

// atMostOne takes no argument or the name of one notes file.
func atMostOne(c *cobra.Command, args []string) error {
	if len(args) > 1 {
		return hint(fmt.Errorf("one notes file at a time, not %d", len(args)), "join them first: cat %s %s | %s", args[0], args[1], c.CommandPath())
	}
	return nil
}
