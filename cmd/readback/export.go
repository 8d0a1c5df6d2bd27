package main

import (
	"context"
	"errors"
	"fmt"
	"io"
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
	var many manyOptions
	var files bool
	c := &cobra.Command{
		Use:   "export JOB... | --all --as pdf|html|csv|json (--data DIR | --server URL) [-o FILE|DIR]",
		Short: "Export a job's record: a transcript to print, a table, or the entries",
		Long: `Export writes the record of one job. pdf is a transcript with lines to
sign, html the same as a page, csv a table with a row for each reading, json the entries as
they were kept, with their seal, which "readback verify" checks. Each sound and photo is checked
against its hash, and what was found is told. Without -o it goes to standard output.

With --with-files a json bundle has the sounds and photos themselves inside: those that were not
purged. "readback verify --files DIR" checks them and takes them out again.

Of several jobs, or all, -o is a folder, with one file a job: its name is the job's id, made safe where
it cannot be a file's name. A job that cannot be exported is told and the others go on; the exit status is
then 1. Stopped and run again, it goes on: a file is left as it is if its job still has as many entries
and the same last one as when it was written, which exported.jsonl in the folder remembers. A bundle
that the shop did not sign, since its seal or its key was not there, is written anew each time.`,
		Example: `  readback export MW-1041 --as html --data ~/readback -o MW-1041.html
  readback export MW-1041 --as pdf --data ~/readback -o MW-1041.pdf
  readback export MW-1041 --as json --with-files --server http://` + usualAddress + ` -o MW-1041.json
  readback export --all --as json --data ~/readback -o bundles
  readback export --since 2026-11-01 --person Ines --as csv --data ~/readback -o november`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 && !many.any(args) {
				return hint(errors.New("no job was named"), "give its id, several, or --all")
			}
			if len(args) > 0 && many.all {
				return hint(errors.New("jobs are named and --all is given"), "use one of the two")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if !export.Form(as).Known() {
				return hint(fmt.Errorf("--as %q is no form of an export", as), "use one of: %s", export.Words())
			}
			if err := sealed.read(); err != nil {
				return err
			}
			if files && export.Form(as) != export.JSON {
				return hint(errors.New("only a bundle can have files inside"), "add --as json, or leave --with-files out")
			}
			if many.any(args) {
				return exportMany(c.Context(), s, from, args, many, export.Form(as), sealed, files, out)
			}
			write := func(w io.Writer) error {
				return exportTo(c.Context(), s, from, args[0], export.Form(as), sealed, files, w)
			}
			if out == "" || out == "-" {
				return write(s.out)
			}
			return wholeFile(out, write)
		},
	}
	from.register(c)
	c.Flags().StringVar(&as, "as", "html", "the `form`: "+export.Words())
	sealed.register(c)
	c.Flags().StringVarP(&out, "out", "o", "", "write to this `file`, or of several jobs into this folder")
	c.Flags().BoolVar(&files, "with-files", false, "put the sounds and photos themselves into a json bundle")
	c.Flags().BoolVar(&many.all, "all", false, "export every job, each to its own file in the folder of -o")
	c.Flags().StringVar(&many.since, "since", "", "of all jobs, those with an entry on this `day` or later, as 2026-11-25")
	c.Flags().StringVar(&many.person, "person", "", "of all jobs, those that this `person` opened")
	c.Flags().BoolVar(&many.again, "again", false, "of several jobs, also write those files anew on whose jobs nothing was said since")
	return c
}

// sealOptions are what a bundle needs of the seal.
type sealOptions struct {
	head, keyFile string
	since         uint64 // size of the head, 0 for none
	bundle        bool   // what is exported is signed

	files io.Writer // gets the bundle with its sounds and photos inside; nil: it is returned without
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
		path := "/api/jobs/" + url.PathEscape(job) + "/export?"
		if sealed.files != nil {
			query.Set("files", "inside")
			return nil, from.copy(ctx, path+query.Encode(), sealed.files, mostSilence)
		}
		return from.fetch(ctx, path+query.Encode())
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
	write := func(record export.Record) ([]byte, error) {
		if sealed.files != nil {
			return nil, export.WriteWithFiles(ctx, sealed.files, record, sounds, photos)
		}
		return export.Write(ctx, record, as)
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
			return write(record)
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
	return write(record)
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

// wholeFile writes a file whole or not at all.
func wholeFile(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".readback-*")
	if err != nil {
		return hint(fmt.Errorf("write %s: %w", path, err), "name a file in a folder that can be written")
	}
	if err := write(f); err != nil { // which says what it is about
		return errors.Join(err, f.Close(), os.Remove(f.Name()))
	}
	if err = errors.Join(f.Chmod(0o644), f.Close()); err == nil { // an export is for others to read
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", path, err), os.Remove(f.Name()))
	}
	return nil
}
