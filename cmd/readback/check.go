package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"readback/capture/bench"
	"readback/parse"
	"readback/rules"
)

func checkCommand(s *std) *cobra.Command {
	var flags jobFlags
	var asJSON bool
	var words string
	c := &cobra.Command{
		Use:   "check --spec S [--set option=value]... [--shop FILE] [--on DATE] [--json] [NOTES]",
		Short: "Replay a notes file as one job; one answer for each note",
		Long: `Check replays notes as one job and answers each in turn. A notes file is UTF-8 text
with one note a line; empty lines and lines that start with # are left out. Without a
file, notes come from standard input. With the register of a shop, instruments that are
named ("on wrench seven") are held to their range, accuracy and calibration on that day.
A line such as "gauge: 48.0" is what a gauge that types has sent: it lands where "gauge on
collar nuts" was said before.

The exit status is 0 if no finding is open at the end, 1 if some are, 2 if the spec or
the usage is wrong. What is merely left to do is no fault.`,
		Example: `  readback check --spec mr5 --set base=long --set stages=8 notes.txt
  echo "shaft runout three hundredths" | readback check --spec mr5 --json`,
		Args: atMostOne,
		RunE: func(_ *cobra.Command, args []string) error {
			job, err := flags.job()
			if err != nil {
				return err
			}
			own, err := loadWords(words)
			if err != nil {
				return err
			}
			notes, err := readNotes(s, args)
			if err != nil {
				return err
			}
			if len(notes) == 0 {
				fmt.Fprintln(s.err, "readback: there is no note in the input; write one a line, such as: collar nut stage one forty eight newton metres")
			}
			started := time.Now()
			err = replay(s.out, job, own.trade, notes, printer(s.out, asJSON))
			log := s.logger()
			log.Info().Str("spec", job.Spec().ID).Int("notes", len(notes)).Dur("took", time.Since(started)).Msg("job replayed")
			return err
		},
	}
	flags.register(c)
	wordsFlag(c, &words)
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON object a line, and a summary")
	return c
}

// answered is a note with its answer, as --json prints it.
type answered struct {
	Seq  int    `json:"seq"`
	Text string `json:"text"`
	rules.Answer
}

// show prints answers as they come, and the state of the job at the end.
type show interface {
	answer(a answered) error
	summary(sum rules.Summary) error
}

// sentMark begins a line of a notes file that a gauge has typed.
const sentMark = "gauge:"

// replay takes the notes through one bench and shows each answer. It returns
// errFindings if some are open at the end.
func replay(out io.Writer, job *rules.Job, trade *parse.Trade, notes []string, to func(*bufio.Writer) show) error {
	w := bufio.NewWriterSize(out, 64<<10)
	p := to(w)
	b := bench.New(job, trade.Vocabulary(job.Words()))
	for i, text := range notes {
		say := b.Say
		if sent, ok := strings.CutPrefix(text, sentMark); ok {
			text, say = strings.TrimSpace(sent), b.Sent
		}
		_, a := say(text)
		if err := p.answer(answered{i + 1, text, a}); err != nil {
			return fmt.Errorf("write answer %d: %w", i+1, err)
		}
	}
	sum := job.Summary()
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

// printer chooses how answers are shown.
func printer(out io.Writer, asJSON bool) func(*bufio.Writer) show {
	if asJSON {
		return func(w *bufio.Writer) show {
			e := json.NewEncoder(w)
			e.SetEscapeHTML(false)
			return jsonShow{e}
		}
	}
	color := isTerminal(out)
	return func(w *bufio.Writer) show { return &sheet{w: w, color: color} }
}

// jsonShow prints the objects of the contract.
type jsonShow struct{ e *json.Encoder }

func (j jsonShow) answer(a answered) error { return j.e.Encode(a) }

func (j jsonShow) summary(sum rules.Summary) error {
	return j.e.Encode(struct {
		Summary rules.Summary `json:"summary"`
	}{sum})
}
