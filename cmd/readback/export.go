package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"readback/capture/evidence"
	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/photo"
	"readback/capture/sound"
	"readback/web"
	"readback/web/export"
)

func exportCommand(s *std) *cobra.Command {
	var from source
	var as, out string
	c := &cobra.Command{
		Use:   "export JOB --as html|csv|json (--data DIR | --server URL) [-o FILE]",
		Short: "Export a job's record: a transcript to print, a table, or the entries",
		Long: `Export writes the record of one job. html is a transcript to print, csv a table with a
row for each reading, json the entries as they were kept. Each sound and photo is checked
against its hash, and what was found is told. Without -o it goes to standard output.`,
		Example: "  readback export MW-1041 --as html --data ~/readback -o MW-1041.html",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if !export.Form(as).Known() {
				return hint(fmt.Errorf("--as %q is no form of an export", as), "use one of: %s", export.Words())
			}
			text, err := fetchExport(c.Context(), from, args[0], export.Form(as))
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
	c.Flags().StringVarP(&out, "out", "o", "", "write to this `file`")
	return c
}

func fetchExport(ctx context.Context, from source, job string, as export.Form) (text []byte, err error) {
	if err := from.check(); err != nil {
		return nil, err
	}
	if from.server != "" {
		return from.fetch(ctx, "/api/jobs/"+url.PathEscape(job)+"/export?as="+string(as))
	}
	store, err := from.open(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	shop := floor.New(floor.Config{Reader: store, Writer: closed{}, Now: time.Now, Log: zerolog.Nop()})
	sounds := evidence.Read(filepath.Join(from.data, soundFolder), sound.Ext)
	photos := evidence.Read(filepath.Join(from.data, photoFolder), photo.Ext)
	record, err := web.RecordOf(ctx, shop, store, sounds, photos, job)
	if err != nil {
		wrong, do := floor.Explain(err)
		return nil, hint(fmt.Errorf("%s (%w)", wrong, err), "%s", do)
	}
	return export.Write(ctx, record, as)
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
