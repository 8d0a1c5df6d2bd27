package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
)

// usualAddress is where a server listens if nothing else is said.
const usualAddress = "127.0.0.1:7425"

func serveCommand(s *std) *cobra.Command {
	var with setup
	c := &cobra.Command{
		Use:   "serve --data DIR [--listen HOST:PORT] [--specs DIR]",
		Short: "Run the bench server: pages, notes, verdicts and their record",
		Long: `Serve runs the bench server. Everything that it keeps lies in the data folder: the
journal of every note, the sounds and photos of notes, and the search index, which is
built again if it is deleted. The record is sealed with a key, which is made at the first
start and lies outside that folder; "readback verify" checks what is exported.

It listens on this machine alone and asks nobody to sign in, so it is for one person at
one bench. Without --specs it offers the demo's build specs, which are invented: nothing
may be built by them.`,
		Example: "  readback serve --data ~/readback --specs ~/specs",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if with.data == "" {
				return hint(errors.New("no data folder was given"), "add --data with a folder for the journal; it is made if it is not there")
			}
			with.log = s.logger()
			var key string
			with.seal.opened = func(fingerprint string) { key = fingerprint }
			return serve(c.Context(), with, func(address string) error {
				_, err := fmt.Fprintf(s.out, "Readback serves at %s\nThe record is sealed with key %s\n", address, key)
				return err
			})
		},
	}
	c.Flags().StringVar(&with.data, "data", "", "`folder` of the journal and the search index")
	speakFlag(c, &with.speak)
	sttFlag(c, &with.stt)
	leadFlag(c, &with.lead)
	wordsFlag(c, &with.words)
	with.keep.register(c)
	with.seal.register(c)
	c.Flags().StringVar(&with.listen, "listen", usualAddress, "`host:port` on this machine; port 0 takes a free one")
	c.Flags().StringVar(&with.specs, "specs", "", "`folder` of build specs (*.yaml); the demo's if left out")
	c.Flags().StringVar(&with.shop, "shop", "", "the shop's `register` of instruments: a YAML file, or demo for the demo's")
	return c
}
