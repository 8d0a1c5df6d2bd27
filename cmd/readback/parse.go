package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"text/tabwriter"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"readback/capture/bench"
	"readback/parse"
)

func parseCommand(s *std) *cobra.Command {
	var asJSON, explain bool
	var job jobFlags
	var words string
	c := &cobra.Command{
		Use:   "parse [--json] [--explain [--spec S] [--set option=value]...] [NOTES]",
		Short: "Print the bare quantities in notes, with no spec",
		Long: `Parse prints the numbers that stand in each note, with their units as UCUM codes and
their range of bytes. A bare number has the unit 1, a range is its two ends, and what
was withdrawn ("fifty scratch that forty eight") is left out. With --explain it says what
each word was taken for, what else it might have been, and why it does not count where it
does not. --spec adds the names of a build spec, as ` + "`readback check`" + ` has them: the notes are
then read as one job, and each shows what came of it (=) and its answer (>).`,
		Example: `  echo "head thirty metres flow seven cubes" | readback parse
  echo "runout a thou and a half" | readback parse --explain
  echo "caller nut tree forty eight" | readback parse --explain --spec mr5`,
		Args: atMostOne,
		RunE: func(_ *cobra.Command, args []string) error {
			if words != "" && !explain {
				return hint(errors.New("quantities do not go by a shop's words"), "add --explain, or leave --words out")
			}
			notes, err := readNotes(s, args)
			if err != nil {
				return err
			}
			w := bufio.NewWriterSize(s.out, 64<<10)
			if !explain {
				return errors.Join(printQuantities(w, s.err, notes, asJSON), w.Flush())
			}
			own, err := loadWords(words)
			if err != nil {
				return err
			}
			if job.spec == "" {
				v := own.trade.Vocabulary(parse.Words{})
				return errors.Join(explainNotes(w, notes, func(text string) (parse.Utterance, string) {
					return parse.Explain(text, v, parse.Context{}), ""
				}), w.Flush())
			}
			j, err := job.job()
			if err != nil {
				return err
			}
			b := bench.New(j, own.trade.Vocabulary(j.Words()))
			return errors.Join(explainNotes(w, notes, func(text string) (parse.Utterance, string) {
				u := b.Explain(text)
				return u, b.Fold(u).Say
			}), w.Flush())
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON object a line")
	c.Flags().BoolVar(&explain, "explain", false, "say which words became what, and why")
	job.registerSpec(c)
	wordsFlag(c, &words)
	return c
}

// parsed is a note with its quantities, as --json prints it.
type parsed struct {
	Text       string           `json:"text"`
	Quantities []parse.Quantity `json:"quantities"`
}

func printQuantities(w, warn io.Writer, notes []string, asJSON bool) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	for i, text := range notes {
		if utf8.RuneCountInString(text) > parse.MaxNote {
			fmt.Fprintf(warn, "readback: note %d is longer than %d characters and was not read; split it\n", i+1, parse.MaxNote)
		}
		qs := parse.Quantities(text)
		if asJSON {
			if err := e.Encode(parsed{text, qs}); err != nil {
				return fmt.Errorf("write quantities: %w", err)
			}
			continue
		}
		fmt.Fprintln(w, text)
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, q := range qs {
			fmt.Fprintf(t, "    %s\t%s\tfrom %q\n", q.Value, q.Unit, text[q.Start:q.End])
		}
		if len(qs) == 0 {
			fmt.Fprintln(t, "    no quantity")
		}
		if err := t.Flush(); err != nil {
			return fmt.Errorf("write quantities: %w", err)
		}
	}
	return nil
}

// explainNotes says of each note which words became what, what came of it, and what is answered
// where there is a job.
func explainNotes(w io.Writer, notes []string, read func(string) (parse.Utterance, string)) error {
	for _, text := range notes {
		fmt.Fprintln(w, text)
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		u, answer := read(text)
		for _, step := range u.Steps {
			fmt.Fprintf(t, "    %q\t%s\t%s\n", step.Words, step.Is, step.Why)
		}
		if err := t.Flush(); err != nil {
			return fmt.Errorf("write explanation: %w", err)
		}
		if answer == "" {
			continue
		}
		for _, line := range u.Outcome() {
			fmt.Fprintln(w, "    =", line)
		}
		fmt.Fprintln(w, "    >", answer)
	}
	return nil
}
