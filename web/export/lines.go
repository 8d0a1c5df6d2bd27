package export

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/photo"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/rules/say"
)

// sources names what notes come from.
var sources = map[string]string{wire.FromGauge: "sent by a gauge", wire.FromBrowser: "heard by the browser"}

// lines puts the entries into words.
func (f *Facts) lines(ctx context.Context, r *Record, told *floor.Told) error {
	files := r.files()
	f.Lines = make([]Line, 0, len(r.Entries))
	for i := range r.Entries {
		e := &r.Entries[i]
		a, err := answerOf(*e)
		if err != nil {
			return err
		}
		f.Lines = append(f.Lines, Line{
			Stamp: Stamp{e.Seq, e.At.Time(), e.Person}, Bench: e.Bench, Kind: e.Kind, Text: e.Text,
			entry: *e, answer: a, file: files[e.Seq],
		})
		l := &f.Lines[i]
		if e.ClientAt != 0 {
			l.Client = e.ClientAt.Time()
		}
		f.say(l, told)
		if e.Kind == journal.Photo && e.Of > 0 && e.Of <= int64(i) && l.file != nil {
			of := &f.Lines[e.Of-1]
			of.Photos = append(of.Photos, Shot{l.Stamp, r.small(ctx, l.file), l.file.Words()})
		}
		if e.Caution != "" {
			f.Cautions = append(f.Cautions, Caution{l.Stamp, e.Caution})
		}
		if err := context.Cause(ctx); err != nil {
			return fmt.Errorf("export job %s: %w", r.State.ID, err)
		}
	}
	return nil
}

// say puts one entry into words.
func (f *Facts) say(l *Line, told *floor.Told) {
	e, a := &l.entry, &l.answer
	add := func(p Piece) {
		if p.Text != "" {
			l.Said = append(l.Said, p)
		}
	}
	switch e.Kind {
	case journal.Opened:
		add(Piece{Text: "The job was opened."})
	case journal.Purged:
		add(Piece{Text: purgeWords(e.Purge)})
	case journal.Clock:
		add(Piece{Label: "clock", Text: e.Text})
	case journal.Heeded:
		add(Piece{Text: heededWords(*e, a)})
	case journal.Photo:
		add(Piece{Text: fmt.Sprintf("A photo of note %d", e.Of)})
	case journal.Disposed:
		d := e.Disposition
		add(Piece{Text: "Disposition of: " + d.Finding})
		add(Piece{Label: d.Is, Text: d.Reason, Quote: true})
	case journal.Note:
		note := Piece{Text: e.Text, Quote: true}
		if from := sources[wire.FromOf(*e)]; from != "" {
			note.After = "(" + from + ")"
		}
		if a.Guess {
			note.After = strings.TrimSpace(note.After + " words guessed from the sound")
		}
		l.Said = append(l.Said, note)
		f.right(l)
		add(Piece{Text: a.Say})
	}
	for i := range a.Readings {
		x := &a.Readings[i]
		text := told.Where(parse.Target{Callout: x.Callout, At: x.At}) + ": " + shownReading(x) + ", " + string(x.Verdict)
		if x.Instrument != "" {
			text += ", with " + x.Instrument
		}
		if x.Conformity != "" {
			text += ", conformity " + x.Conformity
		}
		add(Piece{Label: "reading", Text: text})
		if v := string(x.Verdict); !slices.Contains(l.Verdicts, v) {
			l.Verdicts = append(l.Verdicts, v)
		}
	}
	for i := range a.Marks {
		x := &a.Marks[i]
		add(Piece{Label: "mark", Text: told.Where(parse.Target{Callout: x.Callout, At: x.At}) + ": " + x.Is})
	}
	add(Piece{Label: "caution shown", Text: e.Caution})
	for _, x := range a.Findings {
		add(Piece{Label: string(x.Severity), Text: x.Text})
	}
	if l.file != nil {
		add(Piece{Text: l.file.Words(), File: true})
	}
}

// right ties what puts a guess right to the guess.
func (f *Facts) right(l *Line) {
	of := l.answer.Of
	if of < 1 || of >= l.Seq {
		return
	}
	g := &f.Lines[of-1]
	if !g.answer.Guess {
		return
	}
	how := "put right in "
	if l.answer.Guess {
		how = "heard again, still a guess, in "
	}
	g.Said = append(g.Said, Piece{Label: how + strconv.FormatInt(l.Seq, 10), Text: l.Text, Quote: true})
	l.Said = append(l.Said, Piece{Text: "puts right the words of note " + strconv.FormatInt(of, 10)})
}

// shownReading writes a reading as it was said, with what it was taken at.
func shownReading(r *rules.Reading) string {
	parts := []string{say.Shown(r.Value, r.Unit)}
	if r.How == "set" {
		parts = append(parts, "(set)")
	}
	return strings.Join(cut(strings.Join(parts, " "), takenAt(r.With)), " at ")
}

// takenAt writes what a reading was taken at: "temperature 30 °C, voltage 500 V"; "" for nothing.
func takenAt(with rules.Taken) string {
	var parts []string
	for _, w := range with {
		parts = append(parts, strings.ReplaceAll(w.Name, "_", " ")+" "+say.Shown(w.Value, w.Unit))
	}
	return strings.Join(parts, ", ")
}

// small makes a photo that is kept a small picture; nil where that cannot be done, and its words say how
// it is.
func (r *Record) small(ctx context.Context, it *Item) []byte {
	if it.State != Kept || r.Photos == nil {
		return nil
	}
	data, err := r.Photos.Get(it.Hash)
	if err != nil {
		return nil
	}
	thumb, err := photo.Thumb(ctx, data)
	if err != nil {
		return nil
	}
	return thumb
}
