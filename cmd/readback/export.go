package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"readback/capture/evidence"
	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/photo"
	"readback/capture/seal"
	"readback/capture/sound"
	"readback/web"
	"readback/web/export"
)

func exportCommand(s *std) *cobra.Command {
	var from source
	var as, out string
	var sealed sealOptions
	c := &cobra.Command{
		Use:   "export JOB --as pdf|html|csv|json (--data DIR | --server URL) [-o FILE]",
		Short: "Export a job's record: a transcript to print, a table, or the entries",
		Long: `Export writes the record of one job. pdf is a transcript with lines to
sign, html the same as a page, csv a table with a row for each reading, json the entries as
they were kept, with their seal, which "readback verify" checks. Each sound and photo is checked
against its hash, and what was found is told. Without -o it goes to standard output.`,
		Example: "  readback export MW-1041 --as html --data ~/readback -o MW-1041.html\n  readback export MW-1041 --as pdf --data ~/readback -o MW-1041.pdf",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if !export.Form(as).Known() {
				return hint(fmt.Errorf("--as %q is no form of an export", as), "use one of: %s", export.Words())
			}
			if err := sealed.read(); err != nil {
				return err
			}
			text, err := fetchExport(c.Context(), s, from, args[0], export.Form(as), sealed)
			if err != nil {
				return err
			}
			if out == "" || out == "-" {
				_, err = s.out.Write(text)
				return err
			}
			return writeWhole(out, text)
		},
	}
	from.register(c)
	c.Flags().StringVar(&as, "as", "html", "the `form`: "+export.Words())
	sealed.register(c)
	c.Flags().StringVarP(&out, "out", "o", "", "write to this `file`")
	return c
}

// sealOptions are what a bundle needs of the seal.
type sealOptions struct {
	head, keyFile string
	since         uint64 // size of the head, 0 for none
	bundle        bool   // what is exported is signed
}

func (o *sealOptions) register(c *cobra.Command) {
	c.Flags().StringVar(&o.head, "head", "", "a `file` with a signed head that you have: json then proves that the record only grew since")
	keyFileFlag(c, &o.keyFile)
}

func (o *sealOptions) read() error {
	if o.head == "" {
		return nil
	}
	h, err := readHead(o.head)
	o.since = h.Head.Size
	return err
}

func fetchExport(ctx context.Context, s *std, from source, job string, as export.Form, sealed sealOptions) (text []byte, err error) {
	if err := from.check(); err != nil {
		return nil, err
	}
	if from.server != "" {
		query := url.Values{"as": {string(as)}}
		if sealed.since > 0 {
			query.Set("since", strconv.FormatUint(sealed.since, 10))
		}
		return from.fetch(ctx, "/api/jobs/"+url.PathEscape(job)+"/export?"+query.Encode())
	}
	store, err := from.open(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	sounds := evidence.Read(filepath.Join(from.data, soundFolder), sound.Ext)
	photos := evidence.Read(filepath.Join(from.data, photoFolder), photo.Ext)
	read := func() (export.Record, error) {
		shop := floor.New(floor.Config{Reader: store, Writer: closed{}, Now: time.Now, Log: zerolog.Nop()})
		record, err := web.RecordOf(ctx, shop, store, sounds, photos, job)
		if err != nil {
			wrong, do := floor.Explain(err)
			return record, hint(fmt.Errorf("%s (%w)", wrong, err), "%s", do)
		}
		return record, nil
	}
	record, err := read()
	if err != nil {
		return nil, err
	}
	sealed.bundle = as == export.JSON
	closeSeal, err := sealed.seal(ctx, s, from.data, &record)
	for errors.Is(err, seal.ErrShort) { // a server beside has sealed another note meanwhile: read them all again
		before := len(record.Entries)
		again, readErr := read()
		if readErr != nil {
			return nil, readErr
		}
		if len(again.Entries) <= before {
			fmt.Fprintf(s.err, "readback: the bundle has no seal: %v\n", err)
			return export.Write(ctx, record, as)
		}
		record = again
		closeSeal, err = sealed.seal(ctx, s, from.data, &record)
	}
	if err != nil && as != export.JSON { // print proves nothing by itself
		fmt.Fprintf(s.err, "readback: written without the seal: %v\n", err)
		return export.Write(ctx, record, as)
	}
	if err != nil {
		return nil, err
	}
	defer func() { _ = closeSeal() }()
	return export.Write(ctx, record, as)
}

// seal adds its seal to a record that is read from a folder. A folder that is not sealed yet, or that was
// changed, is exported all the same, and told. If the seal has more entries of the job it gives [seal.ErrShort].
func (o *sealOptions) seal(ctx context.Context, s *std, data string, record *export.Record) (closeSeal func() error, err error) {
	nothing := func() error { return nil }
	log, err := seal.OpenRecord(ctx, data, o.keyFile, time.Now)
	if errors.Is(err, seal.ErrNone) || errors.Is(err, seal.ErrChanged) {
		fmt.Fprintf(s.err, "readback: the bundle has no seal: %v\n", err)
		return nothing, nil
	}
	if err != nil {
		return nothing, err
	}
	proof, err := log.Prove(ctx, record.State.ID, uint64(len(record.Entries)), o.since)
	if errors.Is(err, seal.ErrNone) {
		fmt.Fprintf(s.err, "readback: the bundle has no seal: %v\n", err)
		return log.Close, nil
	}
	if err != nil {
		return nothing, errors.Join(err, log.Close())
	}
	if !log.Signs() && o.bundle {
		fmt.Fprintln(s.err, "readback: the key is not here, so the bundle says nothing but its entries; name the key with --key-file, or ask the server with --server")
	}
	record.Seal, record.Sign = proof, log
	return log.Close, nil
}

// closed is the writer of a floor that is only read.
type closed struct{}

func (closed) Append(context.Context, journal.Entry) (journal.Result, error) {
	return journal.Result{}, journal.ErrClosed
}

// writeWhole writes a file whole or not at all.
func writeWhole(path string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".readback-*")
	if err != nil {
		return hint(fmt.Errorf("write %s: %w", path, err), "name a file in a folder that can be written")
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Chmod(0o644), f.Close()); err == nil { // an export is for others to read
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", path, err), os.Remove(f.Name()))
	}
	return nil
}
