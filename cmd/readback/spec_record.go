package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"time"

	"readback/capture/bench"
	"readback/capture/journal"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
)

// record is what was said on one job, and what it was built to.
type record struct {
	file    string
	notes   []spoken
	options map[string]string
	spec    *rules.Spec // nil for a notes file, which does not say
	shop    *rules.Shop // nil where there was no register
}

// spoken is a note with who said it, and on which day where that is known.
type spoken struct{ text, who, day string }

// readRecord reads a notes file, or the entries of an exported job.
func readRecord(s *std, file string) (record, error) {
	in := s.in
	if file != "-" {
		f, err := os.Open(file)
		if errors.Is(err, fs.ErrNotExist) {
			return record{}, hint(fmt.Errorf("there is no notes file %s", file), "give the path of a text file with one note a line, or of a job's export as json")
		}
		if err != nil {
			return record{}, fmt.Errorf("notes: %w", err)
		}
		defer f.Close() //nolint:errcheck // it was only read
		in = f
	}
	src, err := io.ReadAll(io.LimitReader(in, maxNotes+1))
	switch {
	case err != nil:
		return record{}, hint(fmt.Errorf("read %s: %w", file, err), "give a text file with one note a line")
	case len(src) > maxNotes:
		return record{}, hint(fmt.Errorf("%s is longer than 64 MiB", file), "split it: a job's notes are a few hundred lines")
	case bytes.HasPrefix(bytes.TrimSpace(src), []byte("{")):
		return readBundle(file, src)
	}
	texts, err := notes(file, bytes.NewReader(src))
	r := record{file: file}
	for _, text := range texts {
		r.notes = append(r.notes, spoken{text: text})
	}
	return r, err
}

// entry is what is read of an entry of an export: of any version, so that little is asked
// of its form.
type entry struct {
	Kind     journal.Kind   `json:"kind"`
	Text     string         `json:"text"`
	Person   string         `json:"person"`
	Bench    string         `json:"bench"`
	At       any            `json:"at"`
	SpecText string         `json:"spec_text"`
	ShopText string         `json:"shop_text"`
	Options  map[string]any `json:"options"`
}

// readBundle reads {"entries":[...]}: the opening, then the notes.
func readBundle(file string, src []byte) (record, error) {
	var b struct {
		Entries []entry `json:"entries"`
	}
	r := record{file: file}
	if err := json.Unmarshal(src, &b); err != nil {
		return r, hint(fmt.Errorf("%s is no export: %w", file, err), "export it anew with `readback export JOB --as json`")
	}
	for _, e := range b.Entries {
		switch {
		case e.SpecText != "":
			old, err := spec.Load(file+": spec_text", []byte(e.SpecText))
			if err != nil {
				return r, err
			}
			r.spec, r.options = old, e.options()
			if e.ShopText != "" {
				if r.shop, err = spec.LoadShop(file+": shop_text", []byte(e.ShopText)); err != nil {
					return r, err
				}
			}
		case e.Kind == journal.Note:
			r.notes = append(r.notes, spoken{e.Text, e.Bench + "\x00" + e.Person, dayOf(e.At)})
		}
	}
	if r.spec == nil {
		return r, hint(fmt.Errorf("%s holds no opening with the text of its spec", file), "export it anew with `readback export JOB --as json`")
	}
	return r, nil
}

// options returns the options of an opening as texts.
func (e *entry) options() map[string]string {
	out := map[string]string{}
	for name, value := range e.Options {
		out[name] = fmt.Sprint(value)
	}
	return out
}

// dayOf returns the day of a moment, given in microseconds since 1970 or as RFC 3339; "" for
// anything else.
func dayOf(at any) string {
	switch at := at.(type) {
	case float64:
		return time.UnixMicro(int64(at)).UTC().Format(time.DateOnly)
	case string:
		if t, err := time.Parse(time.RFC3339, at); err == nil {
			return t.UTC().Format(time.DateOnly)
		}
	}
	return ""
}

// played is a record with the answers of one spec.
type played struct {
	job     *rules.Job
	answers []rules.Answer
	heard   []parse.Utterance
}

// play takes the notes of a record through a job, each person at a bench of its own.
func (r *record) play(s *rules.Spec, options map[string]string) (played, error) {
	job, err := rules.NewJob(s, options)
	if err != nil {
		return played{}, hint(fmt.Errorf("%s to spec %s, revision %s: %w", r.file, s.ID, s.Revision, err), "say what the job is with --set option=value")
	}
	if r.shop != nil {
		job.Equip(r.shop)
	}
	p := played{job: job}
	words := parse.NewVocabulary(job.Words())
	benches := map[string]*bench.Bench{}
	for _, n := range r.notes {
		if benches[n.who] == nil {
			benches[n.who] = bench.New(job, words)
		}
		job.Today(n.day)
		u, a := benches[n.who].Say(n.text)
		p.answers, p.heard = append(p.answers, a), append(p.heard, u)
	}
	return p, nil
}

// optionsFor returns those of the options that a spec has.
func optionsFor(s *rules.Spec, all ...map[string]string) map[string]string {
	out := map[string]string{}
	for _, set := range all {
		maps.Copy(out, set)
	}
	maps.DeleteFunc(out, func(name, _ string) bool { return !hasOption(s, name) })
	return out
}

func hasOption(s *rules.Spec, name string) bool {
	for _, o := range s.Options {
		if o.Name == name {
			return true
		}
	}
	return false
}
