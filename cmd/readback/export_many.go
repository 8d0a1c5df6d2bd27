package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"readback/capture/wire"
	"readback/web/export"
)

// manyOptions say which jobs are exported, where there are several.
type manyOptions struct {
	all, again    bool
	since, person string
}

func (o *manyOptions) any(args []string) bool {
	return o.all || o.since != "" || o.person != "" || len(args) > 1
}

// listedJob is one of those that are exported.
type listedJob struct {
	id, person string
	last       time.Time // of its last entry
	entries    int64
}

// list returns the jobs that there are, in the order in which they were opened.
func (f *source) list(ctx context.Context) (out []listedJob, err error) {
	if f.server != "" {
		var jobs wire.Jobs
		if err := f.get(ctx, "/api/jobs", &jobs); err != nil {
			return nil, err
		}
		for i := range jobs.Jobs {
			out = append(out, listedJob{jobs.Jobs[i].ID, jobs.Jobs[i].Opened.Person, jobs.Jobs[i].Last, jobs.Jobs[i].Entries})
		}
		return out, nil
	}
	store, err := f.open(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	jobs, err := store.Jobs(ctx)
	for _, j := range jobs {
		out = append(out, listedJob{j.ID, j.Person, j.Last.Time(), j.Entries})
	}
	return out, err
}

// choose returns the jobs that were asked for. One that was named and is not there stays: exporting it says so.
func (o *manyOptions) choose(all []listedJob, args []string) ([]listedJob, error) {
	var since time.Time
	if o.since != "" {
		day, err := time.ParseInLocation(time.DateOnly, o.since, time.Local)
		if err != nil {
			return nil, hint(fmt.Errorf("--since %s is no day", o.since), "write year, month and day, as --since 2026-11-25")
		}
		since = day
	}
	var out []listedJob
	for _, j := range all {
		if (len(args) == 0 || slices.Contains(args, j.id)) && !j.last.Before(since) && (o.person == "" || strings.EqualFold(o.person, j.person)) {
			out = append(out, j)
		}
	}
	for i, id := range args {
		if !slices.ContainsFunc(all, func(j listedJob) bool { return j.id == id }) && !slices.Contains(args[:i], id) {
			out = append(out, listedJob{id: id})
		}
	}
	return out, nil
}

// plainName is a job's id that can be a file's name on every system, also beside one that differs in its case alone.
var plainName = regexp.MustCompile(`^[A-Z0-9][A-Z0-9_-]*(\.[A-Z0-9_-]+)*$`)

// reserved are names that a system may take for a device, whatever their ending.
var reserved = regexp.MustCompile(`^(CON|PRN|AUX|NUL|COM[0-9]|LPT[0-9])(\.|$)`)

var unsafe = regexp.MustCompile(`[^A-Za-z0-9_-]+`)

// safeName returns the name of a job's file, without its ending. An id of capital letters, digits, dashes,
// underscores and single dots between them is its own name; any other has as much of it as is safe, a tilde, and the beginning of its hash.
func safeName(job string) string {
	if len(job) <= 60 && plainName.MatchString(job) && !reserved.MatchString(job) {
		return job
	}
	sum := sha256.Sum256([]byte(job))
	part := strings.Trim(unsafe.ReplaceAllString(job[:min(len(job), 60)], "-"), "-")
	return part + "~" + hex.EncodeToString(sum[:8])
}

// exportMany writes a file for each job. One that cannot be exported is told, and the others go on.
func exportMany(ctx context.Context, s *std, from source, args []string, o manyOptions, as export.Form, sealed sealOptions, files bool, dir string) error {
	if dir == "" || dir == "-" {
		return hint(errors.New("several jobs need a folder"), "add -o with the folder that their files are to lie in, one a job")
	}
	if err := from.check(); err != nil {
		return err
	}
	all, err := from.list(ctx)
	if err != nil {
		return err
	}
	jobs, err := o.choose(all, args)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return hint(fmt.Errorf("make the folder: %w", err), "name a folder that can be written, with -o")
	}
	before, err := readExported(dir)
	if err != nil {
		return err
	}
	ending := "." + string(as)
	if files {
		ending = "-with-files" + ending
	}
	wrote, there, bad := 0, 0, 0
	for i, j := range jobs {
		path := filepath.Join(dir, safeName(j.id)+ending)
		tell := func(format string, args ...any) {
			fmt.Fprintf(s.err, "%d of %d: %.80q: %s\n", i+1, len(jobs), j.id, fmt.Sprintf(format, args...))
		}
		if !o.again && sealed.head == "" && before.has(path, j) {
			there++
			tell("nothing was said since %s was written", filepath.Base(path))
			continue
		}
		err := wholeFile(path, func(w io.Writer) error { return exportTo(ctx, s, from, j.id, as, sealed, files, w) })
		if ctx.Err() != nil {
			return hint(fmt.Errorf("stopped after %d of %d jobs; each file that is there is whole", i, len(jobs)), "run it again to go on")
		}
		if err != nil {
			bad++
			tell("not exported: %v", err)
			continue
		}
		done, words := true, ""
		if as == export.JSON {
			done, words = signed(ctx, path)
		}
		if done {
			err = noteExported(dir, path, j)
		}
		if err != nil {
			return err
		}
		wrote++
		tell("%s%s", filepath.Base(path), words)
	}
	fmt.Fprintf(s.err, "%s: %d written, %d there already, %d not exported\n", counted(len(jobs), "job", "jobs"), wrote, there, bad)
	if bad > 0 {
		return errFindings
	}
	return nil
}

// exportTo writes one job.
func exportTo(ctx context.Context, s *std, from source, job string, as export.Form, sealed sealOptions, files bool, w io.Writer) error {
	if files {
		sealed.files = w
	}
	text, err := fetchExport(ctx, s, from, job, as, sealed)
	if err != nil || files {
		return err
	}
	_, err = w.Write(text)
	return err
}
