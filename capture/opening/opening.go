// Package opening opens a job by word of mouth: what is said goes in, in any order and in several
// notes, and what comes out is what was understood, what is missing, and what is to be said. It
// hears nothing and has no clock; whoever listens hands it texts.
//
// Nothing is opened before all of it was read back and a yes came. A word that is not understood,
// or that may be two things, is asked; a later word changes what an earlier one said.
//
// Start reading at [Talk.Say].
package opening

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"readback/capture/floor"
	"readback/capture/wire"
	"readback/rules"
	"readback/rules/say"
)

// Floor is where jobs are: a [floor.Floor].
type Floor interface {
	Jobs(ctx context.Context) (wire.Jobs, error)
	OpenJob(ctx context.Context, open wire.OpenJob) (s wire.State, opened bool, err error)
}

// What is said beside numbers, specs and options.
var (
	Yes   = strings.Split("yes|yeah|yep|affirm|affirmative|correct|yes correct|that's right|yes that's right|open|open it|yes open it|open the job|go|go to it|yes go to it", "|")
	No    = strings.Split("no|negative|wrong|no wrong|that's wrong|no that's wrong", "|")
	Undo  = strings.Split("scratch that|strike that|undo that|take that back", "|")
	Anew  = strings.Split("start over|start again|cancel|cancel that|never mind|forget it", "|")
	Again = strings.Split("say again|say that again|read back|read that back|read it back|repeat|repeat that", "|")
	Begin = strings.Split("open job|open a job|open a new job|new job|another job", "|")
)

// Phrases lists all of them.
func Phrases() []string { return slices.Concat(Yes, No, Undo, Anew, Again, Begin) }

// Heads returns the letters that the numbers of the shop's jobs begin with, each once: "MW".
func (t *Talk) Heads(ctx context.Context) ([]string, error) {
	jobs, err := t.floor.Jobs(ctx)
	if err != nil {
		return nil, fmt.Errorf("look for jobs: %w", err)
	}
	var heads []string
	for _, j := range jobs.Jobs {
		id := strings.ToUpper(j.ID)
		head := id[:len(id)-len(strings.TrimLeft(id, "ABCDEFGHIJKLMNOPQRSTUVWXYZ"))]
		if head != "" && len(head) <= 4 && !slices.Contains(heads, head) {
			heads = append(heads, head)
		}
	}
	return heads, nil
}

// most is how many steps can be taken back.
const most = 20

// Talk is one conversation. One goroutine uses it.
type Talk struct {
	floor  Floor
	reader *reader
	person string

	now    draft
	before []draft // what it was, step by step
	yes    func(ctx context.Context) (wire.Opening, error)
	last   wire.Opening
}

// draft is what was said of a job so far.
type draft struct {
	number  string
	spec    *rules.Spec
	choices []*rules.Spec     // a name that is that of several
	options map[string]string // what was said
	loose   []string          // said before the spec was known
	unclear []string          // of the last note
}

// New begins a conversation with person, "" where nobody gave a name.
func New(f Floor, specs []*rules.Spec, person string) *Talk {
	return &Talk{floor: f, reader: newReader(specs), person: person}
}

// Means says what a text would do.
type Means uint8

// What a text may mean.
const (
	Nothing Means = iota // nothing of it is understood
	Tells                // it changes what is read back, or asks for it
	Acts                 // it opens a job, or goes to one
)

// Means says what a text would do, without doing it.
func (t *Talk) Means(text string) Means {
	text = plain(text)
	switch {
	case slices.Contains(Yes, text) && t.yes != nil:
		return Acts
	case slices.Contains(Phrases(), text):
		return Tells
	}
	s := t.reader.read(text)
	switch {
	case s.number != "" && !s.opens && t.now.untouched() && len(s.specs) == 0:
		return Acts // it may be a job that is there
	case !s.empty(), len(t.options(s.rest).Options) > 0, len(t.options(s.rest).Unclear) > 0:
		return Tells
	}
	return Nothing
}

// Whole reports whether nobody who said that is in the middle of a number.
func (t *Talk) Whole(text string) bool {
	return slices.Contains(Phrases(), plain(text)) && !slices.Contains(Begin, plain(text)) && plain(text) != "open"
}

// Alike reports whether two engines have heard the same in what was said: the same command, or the same
// number, spec and options, whatever the words.
func (t *Talk) Alike(a, b string) bool {
	a, b = plain(a), plain(b)
	for _, all := range [][]string{Begin, Yes, No, Undo, Anew, Again} {
		if x, y := slices.Contains(all, a), slices.Contains(all, b); x || y {
			return x && y
		}
	}
	x, y := t.reader.read(a), t.reader.read(b)
	in, also := t.options(x.rest), t.options(y.rest)
	return x.number == y.number && x.opens == y.opens && slices.Equal(x.specs, y.specs) &&
		maps.Equal(in.Options, also.Options) && len(in.Unclear)+len(also.Unclear) == 0 &&
		(a == b || !x.empty() || len(in.Options) > 0)
}

func plain(text string) string {
	return strings.Trim(strings.Join(strings.Fields(strings.ToLower(text)), " "), ".,!")
}

func (d *draft) untouched() bool {
	return d.number == "" && len(d.options) == 0 && len(d.loose) == 0
}

// Say takes what was said and returns how it stands. The error is that of the journal: then nothing
// was opened that is known of, and Say says so.
func (t *Talk) Say(ctx context.Context, text string) (wire.Opening, error) {
	out, err := t.say(ctx, plain(text))
	if err != nil {
		wrong, do := floor.Explain(err)
		out = t.shown(say.Cap(wrong) + ". " + say.Cap(do) + ".")
		out.Ready = t.yes != nil // a yes tries it again
	}
	out.Text = text
	t.last = out
	return out, err
}

func (t *Talk) say(ctx context.Context, text string) (wire.Opening, error) {
	switch {
	case slices.Contains(Yes, text):
		if t.yes != nil {
			return t.yes(ctx)
		}
		return t.stands(ctx)
	case slices.Contains(No, text):
		t.yes = nil
		return t.shown("What is wrong? Say the number, the spec or the option again, or say start over."), nil
	case slices.Contains(Undo, text):
		if n := len(t.before); n > 0 {
			t.now, t.before = t.before[n-1], t.before[:n-1]
		}
		return t.stands(ctx)
	case slices.Contains(Anew, text):
		t.forget()
		return t.shown("Nothing was opened. Say open job, and its number."), nil
	case slices.Contains(Again, text):
		if t.last.Say == "" || t.last.Go != "" {
			return t.stands(ctx)
		}
		return t.last, nil
	case slices.Contains(Begin, text):
		t.forget()
		return t.stands(ctx)
	}
	return t.take(ctx, text)
}

func (t *Talk) forget() { t.now, t.before, t.yes = draft{}, nil, nil }

// take adds what a note holds.
func (t *Talk) take(ctx context.Context, text string) (wire.Opening, error) {
	s := t.reader.read(text)
	jobs, err := t.floor.Jobs(ctx)
	if err != nil {
		return wire.Opening{}, fmt.Errorf("look for job %s: %w", s.number, err)
	}
	number, there := shaped(s.number, jobs.Jobs)
	if there && !s.opens && t.now.untouched() && len(s.specs) == 0 {
		return t.goTo(ctx, number)
	}
	next := t.now
	next.options, next.loose = maps.Clone(t.now.options), slices.Clone(t.now.loose)
	next.unclear, next.choices = nil, nil
	if number != "" {
		next.number = number
	}
	next.add(t.reader.specs, s)
	if len(t.before) == most {
		t.before = t.before[1:]
	}
	t.before = append(t.before, t.now)
	t.now = next
	return t.stands(ctx)
}

// add takes the spec and the options of a note.
func (d *draft) add(all []*rules.Spec, s said) {
	switch {
	case len(s.specs) == 1:
		if d.spec != nil && d.spec != s.specs[0] {
			d.options = nil // of another unit
		}
		d.spec = s.specs[0]
	case len(s.specs) > 1:
		d.spec, d.choices = nil, s.specs
	case d.spec == nil && len(all) == 1:
		d.spec = all[0]
	}
	if d.spec == nil {
		d.loose = append(d.loose, s.rest)
		return
	}
	for _, text := range append(d.loose, s.rest) {
		in := d.spec.ReadOptions(text)
		d.unclear = append(d.unclear, in.Unclear...)
		if d.options == nil {
			d.options = map[string]string{}
		}
		maps.Copy(d.options, in.Options)
	}
	d.loose = nil
}

// options reads the options of a text by the spec that is known, or by any.
func (t *Talk) options(text string) rules.Intake {
	if t.now.spec != nil {
		return t.now.spec.ReadOptions(text)
	}
	var unclear rules.Intake
	for _, s := range t.reader.specs {
		in := s.ReadOptions(text)
		if len(in.Options) > 0 {
			return in
		}
		if len(in.Unclear) > 0 {
			unclear = in
		}
	}
	return unclear
}

// shaped gives a number the shape that the shop's numbers have, and reports whether that job is
// there already. Small and capital letters and dashes make no other number; figures alone are the
// one job whose number ends with them behind its letters.
func shaped(number string, jobs []wire.JobLine) (shape string, there bool) {
	if number == "" {
		return "", false
	}
	bare := func(id string) string { return strings.ReplaceAll(strings.ToUpper(id), "-", "") }
	shape = number
	var ends []string // jobs whose number is letters, and then that
	head, _, dashed := strings.Cut(number, "-")
	for _, j := range jobs {
		if bare(j.ID) == bare(number) {
			return j.ID, true
		}
		if head, ok := strings.CutSuffix(bare(j.ID), number); ok && !strings.ContainsAny(head, "0123456789") {
			ends = append(ends, j.ID)
		}
		if tail, ok := strings.CutPrefix(strings.ToUpper(j.ID), head); dashed && ok && tail != "" && tail[0] >= '0' && tail[0] <= '9' {
			shape = strings.Replace(number, "-", "", 1)
		}
	}
	if len(ends) == 1 {
		return ends[0], true
	}
	return shape, false
}

func (t *Talk) goTo(_ context.Context, number string) (wire.Opening, error) {
	t.forget()
	out := t.shown("Job " + Aloud(number) + ".")
	out.Job, out.Go = number, number
	return out, nil
}

// stands says what was understood and what is missing; where all is there, a yes opens the job.
func (t *Talk) stands(ctx context.Context) (wire.Opening, error) {
	t.yes = nil
	d := &t.now
	jobs, err := t.floor.Jobs(ctx)
	if err != nil {
		return wire.Opening{}, fmt.Errorf("look for job %s: %w", d.number, err)
	}
	if number, there := shaped(d.number, jobs.Jobs); there {
		t.yes = func(ctx context.Context) (wire.Opening, error) { return t.goTo(ctx, number) }
		return t.shown("Job " + Aloud(number) + " is there already. Say yes to go to it, or say another number."), nil
	}
	out := t.shown("")
	text := t.read(&out)
	text += what(d.unclear) + t.asked(out.Missing)
	if len(d.unclear) == 0 && len(out.Missing) == 0 {
		out.Ready, t.yes = true, t.open
		text += " " + t.by() + " Say yes to open it, or say what is wrong."
	}
	out.Say = strings.TrimSpace(text)
	return out, nil
}

// what asks for words that were not understood.
func what(unclear []string) string {
	var b strings.Builder
	for _, u := range unclear {
		fmt.Fprintf(&b, " What is “%s”?", strings.TrimSpace(u))
	}
	return b.String()
}

// read reads back what is known.
func (t *Talk) read(out *wire.Opening) string {
	d := &t.now
	var head []string
	if d.number != "" {
		head = append(head, "job "+Aloud(d.number))
	}
	if d.spec != nil {
		head = append(head, nameOf(d.spec))
	}
	text := ""
	if len(head) > 0 {
		text = say.Cap(strings.Join(head, ", ")) + "."
	}
	if d.spec == nil {
		return text
	}
	if len(d.options) > 0 {
		text += " " + say.Cap(list(d.spec, d.options)) + "."
	}
	if len(out.Usual) > 0 && d.number != "" {
		text += " Not said, so as usual: " + list(d.spec, out.Usual) + "."
	}
	return text
}

// asked asks for what is missing.
func (t *Talk) asked(missing []string) (text string) {
	for _, m := range missing {
		switch m {
		case "job":
			text += " Which job number?"
		case "spec":
			text += " Which build spec: " + t.specs() + "?"
		default:
			for _, o := range t.now.spec.Options {
				if o.Name == m {
					text += " Which " + o.Say + ": " + o.Allowed() + "?"
				}
			}
		}
	}
	return text
}

func (t *Talk) specs() string {
	from := t.reader.specs
	if t.now.choices != nil {
		from = t.now.choices
	}
	var names []string
	for _, s := range from {
		names = append(names, nameOf(s))
	}
	return say.List(names, "or")
}

func (t *Talk) by() string {
	if t.person == "" {
		return "Nobody's name stands with it."
	}
	return "Opened by " + t.person + "."
}

// shown is how it stands, with a sentence.
func (t *Talk) shown(text string) wire.Opening {
	d := &t.now
	out := wire.Opening{Job: d.number, Options: maps.Clone(d.options), Usual: map[string]string{}, Missing: []string{}, Person: t.person, Say: text}
	if d.number == "" {
		out.Missing = append(out.Missing, "job")
	}
	if d.spec == nil {
		out.Missing = append(out.Missing, "spec")
		return out
	}
	out.Spec = d.spec.ID
	for _, o := range d.spec.Options {
		switch {
		case d.options[o.Name] != "":
		case o.Default != "":
			out.Usual[o.Name] = o.Default
		default:
			out.Missing = append(out.Missing, o.Name)
		}
	}
	return out
}

// open opens the job that was read back. Where it cannot be, what was said stays.
func (t *Talk) open(ctx context.Context) (wire.Opening, error) {
	d := t.now
	options := wire.Options{}
	maps.Copy(options, t.shown("").Usual)
	maps.Copy(options, d.options)
	_, opened, err := t.floor.OpenJob(ctx, wire.OpenJob{ID: d.number, Spec: d.spec.ID, Options: options, Person: t.person})
	if err != nil {
		if refused, ok := errors.AsType[*floor.RefusalError](err); ok {
			t.yes = nil
			return t.shown(say.Cap(refused.Wrong) + ". " + say.Cap(refused.Do) + "."), nil
		}
		return wire.Opening{}, fmt.Errorf("open job %s: %w", d.number, err)
	}
	out, err := t.goTo(ctx, d.number)
	out.Spec, out.Options = d.spec.ID, options
	if opened {
		out.Say = "Job " + Aloud(d.number) + " is open."
	}
	return out, err
}
