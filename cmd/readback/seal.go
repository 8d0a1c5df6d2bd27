package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/seal"
)

// sealFlags say where the key of the record lies, and who else gets its heads.
type sealFlags struct {
	keyFile string // "" for the state folder of the user
	witness string // "" for none
	opened  func(fingerprint string)
}

func (f *sealFlags) register(c *cobra.Command) {
	keyFileFlag(c, &f.keyFile)
	c.Flags().StringVar(&f.witness, "witness", "", "also append each signed head to this `file`, best on another disk")
}

func keyFileFlag(c *cobra.Command, into *string) {
	c.Flags().StringVar(into, "key-file", "", "the `file` of the key that seals the record, outside the data folder; in your state folder if left out")
}

func (f *sealFlags) open(ctx context.Context, s setup, store *sqlite.Store, notice func() <-chan struct{}) (*seal.Sealer, error) {
	sealer, err := seal.Open(ctx, seal.Config{Data: s.data, KeyFile: f.keyFile, Witness: f.witness, Source: store, Notice: notice, Now: time.Now, Log: s.log})
	if err != nil {
		return nil, keyHint(err)
	}
	fingerprint := sealer.Status().Fingerprint.String()
	s.log.Info().Str("fingerprint", fingerprint).Msg("seal opened")
	if f.opened != nil {
		f.opened(fingerprint)
	}
	return sealer, nil
}

// keyHint says what would help with a key.
func keyHint(err error) error {
	switch {
	case errors.Is(err, seal.ErrKeyMode):
		return hint(err, "chmod 600 that file; if others may have read it, treat it as stolen: `readback key give-up`")
	case errors.Is(err, seal.ErrKeyInside):
		return hint(err, "name a file elsewhere with --key-file, and move the key there if there is one")
	case errors.Is(err, seal.ErrKeyGone):
		return hint(err, "name its file with --key-file; if it is lost, `readback key give-up` makes another and writes that down")
	case errors.Is(err, seal.ErrKeyOther), errors.Is(err, seal.ErrKeyFile):
		return hint(err, "name the right file with --key-file")
	case errors.Is(err, seal.ErrNone):
		return hint(err, "`readback serve` seals a record from its first start")
	}
	return err
}

func keyCommand(s *std) *cobra.Command {
	c := &cobra.Command{
		Use:   "key show|rotate|give-up",
		Short: "Show or change the key that seals the record",
		Long: `Key shows the fingerprint of the key that seals a record, or puts a new one in its place.
Tell the fingerprint to whoever checks your records, by another way than the records.

Rotate makes a new key for which the old one vouches, so that whoever knows the old
fingerprint need not be told. Give-up is for a key that is lost, or that somebody else may
have: nothing vouches for the new one, and everybody must be told its fingerprint. Both are
written into the log of the shop, and the server must not run meanwhile.`,
	}
	c.AddCommand(showKeyCommand(s),
		exchangeCommand(s, "rotate", "Put a new key in the place of the old one, which vouches for it", seal.Rotate),
		exchangeCommand(s, "give-up", "Put a new key in the place of one that is lost or stolen", seal.GiveUp))
	return c
}

func showKeyCommand(s *std) *cobra.Command {
	var data, keyFile string
	c := &cobra.Command{
		Use:     "show --data DIR [--key-file FILE]",
		Short:   "Show the fingerprint, and whether the key is there",
		Example: "  readback key show --data ~/readback",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx := c.Context()
			if data == "" {
				return hint(errors.New("no data folder was given"), "add --data with the folder that `readback serve --data` uses")
			}
			record, err := seal.OpenRecord(ctx, data, keyFile, time.Now)
			if err != nil {
				return keyHint(err)
			}
			head := record.Head().Head
			there := "it is there, and signs"
			if !record.Signs() {
				there = "it is not there; name its file with --key-file"
			}
			fmt.Fprintf(s.out, "key   %s\nlog   %s\nsize  %d\nat    %s\nThe key: %s.\n", head.Key, head.Log, head.Size, head.At.Time().Format(time.RFC3339), there)
			return record.Close()
		},
	}
	c.Flags().StringVar(&data, "data", "", "`folder` of the journal")
	keyFileFlag(c, &keyFile)
	return c
}

func exchangeCommand(s *std, name, short string, exchange func(context.Context, seal.Config, string) (seal.Status, error)) *cobra.Command {
	var data, keyFile, why string
	c := &cobra.Command{
		Use:     name + " --data DIR [--key-file FILE] [--why WORDS]",
		Short:   short,
		Example: "  readback key " + name + ` --data ~/readback --why "once a year"`,
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) (err error) {
			if data == "" {
				return hint(errors.New("no data folder was given"), "add --data with the folder that `readback serve --data` uses")
			}
			if len(why) > 1000 {
				return hint(errors.New("--why is longer than 1,000 bytes"), "say it in a sentence")
			}
			old, err := (&source{data: data}).open(c.Context()) // no folder is made by a slip of the pen
			if err != nil {
				return err
			}
			if err := old.Close(); err != nil {
				return err
			}
			store, err := sqlite.Open(c.Context(), data)
			if errors.Is(err, journal.ErrInUse) {
				return hint(err, "stop the server first")
			}
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, store.Close()) }()
			status, err := exchange(c.Context(), seal.Config{Data: data, KeyFile: keyFile, Source: store, Notice: func() <-chan struct{} { return nil }, Now: time.Now, Log: s.logger()}, why)
			if err != nil {
				return keyHint(err)
			}
			fmt.Fprintf(s.out, "The record is sealed with key %s\n", status.Fingerprint)
			return nil
		},
	}
	c.Flags().StringVar(&data, "data", "", "`folder` of the journal")
	keyFileFlag(c, &keyFile)
	c.Flags().StringVar(&why, "why", "", "`words` for the record")
	return c
}
