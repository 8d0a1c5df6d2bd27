package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"readback/capture/bench"
	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/hear/wav"
	"readback/capture/listen"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

func hearCommand(s *std) *cobra.Command {
	var flags jobFlags
	var asJSON bool
	var stt, words string
	c := &cobra.Command{
		Use:   "hear --spec S [--set option=value]... [--json] WAV...",
		Short: "Hear sound files as the notes of one job; one answer for each file",
		Long: `Hear takes sound files as notes that were spoken at a bench, one a file, and answers each
in turn as check does. What was not heard surely is asked about or to be said again, and is
not recorded: a file that holds a yes or no answers the one before it.

A file is a WAV of 16-bit samples, of any usual rate, and of 12 s at most: a note is no longer. Hearing is offline; it needs the
Debian packages that the error names if they are missing.`,
		Example: "  readback hear --spec mr5 --set base=long nut-1.wav nut-2.wav",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			job, err := flags.job()
			if err != nil {
				return err
			}
			if stt == noEngine {
				return hint(errors.New("--stt none hears no files"), "leave --stt out, or type the notes: readback check")
			}
			own, err := loadWords(words)
			if err != nil {
				return err
			}
			engine, err := openEngine(c.Context(), stt, 1, s.logger())
			if errors.Is(err, hear.ErrMissing) {
				return hint(err, "install them, or type the notes: readback check")
			}
			if err != nil {
				return err
			}
			h := &hearer{job: job, words: own, engine: engine, to: printer(s.out, asJSON)}
			return errors.Join(h.files(c.Context(), s, args), engine.Close())
		},
	}
	flags.register(c)
	sttFlag(c, &stt)
	wordsFlag(c, &words)
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON object a line, and a summary")
	return c
}

// hearer hears files into a job.
type hearer struct {
	job    *rules.Job
	words  shopWords
	engine hear.Engine
	to     func(*bufio.Writer) show
}

func (h *hearer) files(ctx context.Context, s *std, names []string) error {
	if err := h.words.audible(h.engine); err != nil {
		return err
	}
	words, err := listensFor(h.engine, "", h.words.own)(h.job, nil)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(s.out, 64<<10)
	p := h.to(w)
	seat := &fileSeat{bench: bench.New(h.job, h.words.trade.Vocabulary(h.job.Words()))}
	open := func(ctx context.Context) (hear.Ear, error) { return h.engine.Open(ctx, words) }
	l := listen.New(open, h.engine.Name(), seat, nil, judge.Usual())
	if g, ok := h.engine.(hear.Guesser); ok {
		l.Guess(g)
	}
	for i, name := range names {
		a, err := h.file(ctx, l, seat, name)
		if err != nil {
			return err
		}
		a.Seq = i + 1
		if err := p.answer(a); err != nil {
			return fmt.Errorf("write answer %d: %w", i+1, err)
		}
	}
	sum := h.job.Summary()
	if err := p.summary(sum); err != nil {
		return fmt.Errorf("write summary: %w", err)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write answers: %w", err)
	}
	if len(sum.Open) > 0 {
		return errFindings
	}
	return nil
}

// file hears one file and answers it.
func (h *hearer) file(ctx context.Context, l *listen.Listener, seat *fileSeat, name string) (a answered, err error) {
	f, err := os.Open(name)
	if err != nil {
		return a, hint(err, "name files that are there")
	}
	pcm, err := wav.Read(f)
	if err = errors.Join(err, f.Close()); err != nil {
		return a, fmt.Errorf("%s: %w", name, err)
	}
	if len(pcm) > listen.MaxNote {
		long := float64(len(pcm)) / hear.Rate
		return a, hint(fmt.Errorf("%s: its %.1f s are more than a note has, which is %d s at most", name, long, listen.MaxNote/hear.Rate), "split it: one note a file")
	}
	if err := l.Begin(ctx); err != nil {
		return a, hearingError(err)
	}
	for len(pcm) > 0 {
		n := min(2*hear.Frame, len(pcm))
		if _, _, err := l.Write(ctx, pcm[:n]); err != nil {
			return a, hearingError(err)
		}
		pcm = pcm[n:]
	}
	out, err := l.End(ctx, wire.Note{})
	if err != nil {
		return a, hearingError(err)
	}
	if out.Answer != nil {
		return answered{Text: out.Text, Answer: seat.last}, nil
	}
	return answered{Text: out.Text, Answer: notTaken(out)}, nil
}

// notTaken answers what was asked about, or not heard.
func notTaken(out listen.Outcome) rules.Answer {
	a := rules.Answer{Kind: parse.Unclear, Readings: []rules.Reading{}, Marks: []rules.Mark{}, Findings: []rules.Finding{}, Say: out.Say}
	switch out.Verdict {
	case judge.Asked, judge.Refused:
		a.Findings = append(a.Findings, rules.Finding{Rule: rules.RuleAsk, Severity: rules.Note, Text: out.Say})
	case judge.Silent, judge.Taken:
		a.Kind = parse.Remark
	}
	return a
}

// hearingError says what would help.
func hearingError(err error) error {
	wrong, do := listen.Explain(err)
	return hint(fmt.Errorf("%s: %w", wrong, err), "%s", do)
}

// fileSeat is a seat of a job that is replayed from files.
type fileSeat struct {
	bench *bench.Bench
	last  rules.Answer
}

// SayHeard folds a note into the job.
func (f *fileSeat) SayHeard(_ context.Context, note wire.Note, spoken floor.Spoken) (wire.Answer, string, error) {
	if spoken.Guess { // of a remark in free words; it is never read
		f.last = f.bench.Fold(parse.Utterance{Text: note.Text, Kind: parse.Remark})
		f.last.Say = floor.GuessSay
		return wire.Answer{}, "", nil
	}
	_, f.last = f.bench.Say(note.Text)
	return wire.Answer{}, "", nil
}

// Lacks tells of the job's register.
func (f *fileSeat) Lacks(_ context.Context, instrument string) (bool, error) {
	return f.bench.Lacks(instrument), nil
}

// Read understands words with what was said before.
func (f *fileSeat) Read(_ context.Context, text string) (parse.Utterance, error) {
	return f.bench.Read(text), nil
}
