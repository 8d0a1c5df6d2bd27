package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"readback/capture/seal"
)

// exportedFile remembers, in a folder of exports, of how much each file was written: a line of JSON for each.
const exportedFile = "exported.jsonl"

// exported is a file that was written whole.
type exported struct {
	File    string    `json:"file"`
	Job     string    `json:"job"`
	Entries int64     `json:"entries"` // that the job had at least
	Last    time.Time `json:"last"`    // what the last of them is stamped with
	Bytes   int64     `json:"bytes"`
	Written time.Time `json:"written"` // the time of the file itself, to see that it is still the same one
}

// exportedFiles are those of a folder by their name.
type exportedFiles map[string]exported

// readExported reads what is remembered of a folder. A line that is torn or unknown is as if it were not there: its
// file is written anew.
func readExported(dir string) (exportedFiles, error) {
	text, err := os.ReadFile(filepath.Join(dir, exportedFile))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, hint(fmt.Errorf("read what was exported: %w", err), "remove that file, or name another folder with -o; all is written anew then")
	}
	out := exportedFiles{}
	for line := range bytes.Lines(text) {
		var e exported
		if json.Unmarshal(line, &e) == nil {
			out[e.File] = e
		}
	}
	return out, nil
}

// has reports whether a file is there as it was written, with all that its job has now. No clock is asked: two
// times are compared only for being the same.
func (x exportedFiles) has(path string, j listedJob) bool {
	e, known := x[filepath.Base(path)]
	info, err := os.Lstat(path)
	return known && err == nil && info.Mode().IsRegular() && info.Size() == e.Bytes && info.ModTime().Equal(e.Written) &&
		e.Job == j.id && e.Entries == j.entries && e.Last.Equal(j.last)
}

// noteExported remembers a file that was written of a job, as it was before that.
func noteExported(dir, path string, j listedJob) error {
	info, err := os.Lstat(path)
	if err != nil {
		return fmt.Errorf("look at what was exported: %w", err)
	}
	line, err := json.Marshal(exported{filepath.Base(path), j.id, j.entries, j.last, info.Size(), info.ModTime()})
	if err != nil {
		return fmt.Errorf("note what was exported: %w", err)
	}
	f, err := os.OpenFile(filepath.Join(dir, exportedFile), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return fmt.Errorf("note what was exported: %w", err)
	}
	// the line break stands before it, so that a line which was torn spoils no other
	_, err = f.Write(append([]byte{'\n'}, append(line, '\n')...))
	if err = errors.Join(err, f.Close()); err != nil {
		return hint(fmt.Errorf("note what was exported: %w", err), "make room in that folder; the files there are whole")
	}
	return nil
}

// signed reads a bundle that was written, and reports whether the shop signed it with all its entries; if not, words
// say so.
func signed(ctx context.Context, path string) (signed bool, words string) {
	f, err := os.Open(path)
	if err != nil {
		return false, fmt.Sprintf(", which cannot be read again: %v", err)
	}
	defer func() { _ = f.Close() }() // it is only read
	report, err := seal.Verify(ctx, f, seal.Expect{})
	switch {
	case err != nil:
		return false, fmt.Sprintf(", which cannot be read again: %v", err)
	case !report.Sealed:
		return false, ", without a seal: nothing of it can be proven"
	case !report.Holds():
		return false, ", which does not hold: verify it for more"
	case !report.Entire:
		return false, ", which the shop's key did not sign"
	}
	return true, ""
}
