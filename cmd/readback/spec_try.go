package main

import (
	"bufio"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"readback/rules"
)

func tryCommand(s *std) *cobra.Command {
	var set []string
	var against string
	c := &cobra.Command{
		Use:   "try SPEC [--set option=value]... [--against OLD] NOTES...",
		Short: "Replay old notes against a revision, and print what would change",
		Long: `Try replays what was said on jobs against this revision of their spec, and prints what
would change: verdicts, findings that are raised or gone, notes that are understood
otherwise, what is left to do. NOTES are exports of jobs (readback export --as json), which
hold the spec they were made with; or notes files, one note a line, with that spec in
--against. Both specs are read by this program, so that only the spec makes a difference.
Nothing is written.

The exit status is 0 if nothing changes, 1 if something does, 2 if the usage or a file is
wrong.`,
		Example: `  readback spec try mr5-d.yaml MW-1041.json MW-1042.json
  readback spec try mr5-d.yaml --against mr5-c.yaml --set stages=8 notes.txt`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 2 {
				return hint(errors.New("try takes a spec and the notes to try it on"), "readback spec try mr5-d.yaml MW-1041.json")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return try(s, args[0], args[1:], set, against) },
	}
	c.Flags().StringArrayVar(&set, "set", nil, "an `option=value` of the jobs, as often as needed: --set stages=8")
	c.Flags().StringVar(&against, "against", "", "the `spec` that notes files were made with; an export holds its own")
	return c
}

func try(s *std, name string, files, set []string, against string) error {
	revision, err := loadSpec(name)
	if err != nil {
		return err
	}
	given, err := options(set)
	if err != nil {
		return err
	}
	var old *rules.Spec
	if against != "" {
		if old, err = loadSpec(against); err != nil {
			return err
		}
	}
	w := bufio.NewWriter(s.out)
	changes := 0
	for _, file := range files {
		r, err := readRecord(s, file)
		if err != nil {
			return err
		}
		if r.spec == nil {
			r.spec = old
		}
		if r.spec == nil {
			return hint(fmt.Errorf("%s does not say with which spec it was made", file), "name that spec with --against OLD.yaml")
		}
		n, err := tryRecord(w, &r, revision, given)
		if err != nil {
			return err
		}
		changes += n
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write changes: %w", err)
	}
	if changes > 0 {
		return errFindings
	}
	return nil
}

// tryRecord prints what changes in one record, and returns how much.
func tryRecord(w *bufio.Writer, r *record, revision *rules.Spec, given map[string]string) (int, error) {
	for _, name := range slices.Sorted(maps.Keys(given)) {
		if !hasOption(r.spec, name) && !hasOption(revision, name) {
			return 0, hint(fmt.Errorf("neither spec has an option %s", name), "`readback spec explain` lists the options of a spec")
		}
	}
	before := r.options
	if before == nil { // a notes file does not say
		before = optionsFor(r.spec, given)
	}
	was, err := r.play(r.spec, before)
	if err != nil {
		return 0, err
	}
	is, err := r.play(revision, optionsFor(revision, was.job.Options(), given))
	if err != nil {
		return 0, err
	}
	d := &difference{w: w, was: was, is: is}
	fmt.Fprintf(w, "%s: %s, %s %s against %s %s\n", r.file, count(len(r.notes), "note"), r.spec.ID, r.spec.Revision, revision.ID, revision.Revision)
	d.options()
	for i, n := range r.notes {
		d.note(i, n.text)
	}
	d.end()
	if d.n == 0 {
		fmt.Fprintln(w, "     nothing changes")
	} else {
		fmt.Fprintf(w, "     %s\n", count(d.n, "change"))
	}
	return d.n, nil
}

// difference prints what is otherwise between two plays of a record.
type difference struct {
	w       *bufio.Writer
	was, is played
	n       int    // changes so far
	head    string // to be printed before the next change
}

func (d *difference) say(word, format string, args ...any) {
	if d.head != "" {
		fmt.Fprintln(d.w, d.head)
		d.head = ""
	}
	d.n++
	fmt.Fprintf(d.w, "     %-*s  %s\n", verdictWidth, word, fmt.Sprintf(format, args...))
}

// options tells which options came and went.
func (d *difference) options() {
	was, is := d.was.job.Options(), d.is.job.Options()
	for _, name := range slices.Sorted(maps.Keys(was)) {
		if _, ok := is[name]; !ok {
			d.say("gone", "option %s (it was %s)", name, was[name])
		}
	}
	for _, name := range slices.Sorted(maps.Keys(is)) {
		old, ok := was[name]
		switch {
		case !ok:
			d.say("new", "option %s, taken as %s", name, is[name])
		case old != is[name]:
			d.say("set", "option %s to %s (it was %s)", name, is[name], old)
		}
	}
}

func (d *difference) note(i int, text string) {
	d.head = fmt.Sprintf("%3d  %s", i+1, text)
	was, is := d.was.answers[i], d.is.answers[i]
	d.heard(&was, &is)
	d.findings(was.Findings, is.Findings)
	d.head = ""
}

// heard compares what a note was understood as.
func (d *difference) heard(was, is *rules.Answer) {
	if was.Kind != is.Kind {
		d.say("kind", "%s, now %s", was.Kind, is.Kind)
	}
	for _, r := range was.Readings {
		i := slices.IndexFunc(is.Readings, func(o rules.Reading) bool { return sameReading(r, o) })
		switch {
		case i < 0:
			d.say("not read", "%s (%s)", plainRow(r), r.Verdict)
		case is.Readings[i].Verdict != r.Verdict:
			d.say("verdict", "%s: %s, now %s", plainRow(r), r.Verdict, is.Readings[i].Verdict)
		}
	}
	for _, r := range is.Readings {
		if !slices.ContainsFunc(was.Readings, func(o rules.Reading) bool { return sameReading(r, o) }) {
			d.say("now read", "%s (%s)", plainRow(r), r.Verdict)
		}
	}
	for _, m := range was.Marks {
		if !slices.Contains(is.Marks, m) {
			d.say("not done", "%s: %s", where(m.Callout, m.At), m.Is)
		}
	}
	for _, m := range is.Marks {
		if !slices.Contains(was.Marks, m) {
			d.say("now done", "%s: %s", where(m.Callout, m.At), m.Is)
		}
	}
}

// plainRow is a reading in one line without columns.
func plainRow(r rules.Reading) string { return strings.Join(strings.Fields(rowOf(r)), " ") }

// sameReading reports whether two readings are of the same thing: their verdicts may
// differ.
func sameReading(a, b rules.Reading) bool {
	return a.Callout == b.Callout && a.At == b.At && a.Value.String() == b.Value.String() && a.Unit == b.Unit
}

// findings compares what was raised.
func (d *difference) findings(was, is []rules.Finding) {
	for _, f := range was {
		i := slices.IndexFunc(is, func(g rules.Finding) bool { return sameFinding(f, g) })
		switch {
		case i < 0:
			d.say("gone", "%s: %s", f.Severity, f.Text)
		case is[i].Text != f.Text || is[i].Severity != f.Severity:
			d.say("now", "%s: %s (it was %s: %s)", is[i].Severity, is[i].Text, f.Severity, f.Text)
		}
	}
	for _, f := range is {
		if !slices.ContainsFunc(was, func(g rules.Finding) bool { return sameFinding(f, g) }) {
			d.say("raised", "%s: %s", f.Severity, f.Text)
		}
	}
}

func sameFinding(a, b rules.Finding) bool {
	return a.Rule == b.Rule && a.Callout == b.Callout && a.At == b.At
}

// end compares how the jobs stand at the end.
func (d *difference) end() {
	d.head = "  at the end"
	was, is := d.was.job.Summary(), d.is.job.Summary()
	if len(was.Open) != len(is.Open) {
		d.say("open", "%s, now %d", count(len(was.Open), "finding"), len(is.Open))
	}
	for _, line := range leftLines(without(is.Left, was.Left)) {
		d.say("owed", "%s", line)
	}
	for _, line := range leftLines(without(was.Left, is.Left)) {
		d.say("not owed", "%s", line)
	}
	d.head = ""
}

// without returns what is in a and not in b.
func without(a, b []rules.Owed) (out []rules.Owed) {
	for _, o := range a {
		if !slices.Contains(b, o) {
			out = append(out, o)
		}
	}
	return out
}
