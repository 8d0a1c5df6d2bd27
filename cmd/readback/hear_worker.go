package main

import (
	"github.com/spf13/cobra"

	"readback/capture/hear/offline"
)

// hearWorkerCommand is how the program runs itself as a recogniser. Nobody types it.
func hearWorkerCommand(s *std) *cobra.Command {
	return &cobra.Command{
		Use:    offline.Subcommand,
		Short:  "Answer a server's requests to recognise speech, on standard input and output",
		Hidden: true,
		Args:   cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return offline.Work(c.Context(), s.in, s.out)
		},
	}
}
