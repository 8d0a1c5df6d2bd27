package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"readback/parse"
	"readback/parse/unit"
	"readback/rules"
)

// sheet prints answers for people: the note, then a line for each reading, mark and
// finding, the verdict first and always as a word. Colour is only added on a terminal
// and says nothing that the word does not.
type sheet struct {
	w     *bufio.Writer
	color bool
}

// The verdict column is as wide as its longest word.
const verdictWidth = 8

func (p *sheet) answer(a answered) error {
	fmt.Fprintf(p.w, "%3d  %s\n", a.Seq, a.Text)
	for _, r := range a.Readings {
		p.line(string(r.Verdict), rowOf(r))
	}
	for _, m := range a.Marks {
		if m.Detail {
			p.line("noted", fmt.Sprintf("%-40s %s", where(m.Callout, m.At), m.Is))
			continue
		}
		p.line(m.Is, where(m.Callout, m.At))
	}
	for _, f := range a.Findings {
		p.line(string(f.Severity), f.Text)
	}
	if len(a.Readings)+len(a.Marks)+len(a.Findings) == 0 {
		say := a.Say
		if say == "" {
			say = string(a.Kind)
		}
		p.line("", say)
	}
	if a.Caution != "" {
		p.line("caution", a.Caution)
	}
	return p.w.Flush()
}

func (p *sheet) line(word, text string) {
	fmt.Fprintf(p.w, "     %s  %s\n", p.paint(word), text)
}

// paint pads a verdict or severity and colours it on a terminal.
func (p *sheet) paint(word string) string {
	padded := word + strings.Repeat(" ", max(0, verdictWidth-len(word)))
	code := ""
	switch word {
	case string(rules.Out), string(rules.Stop):
		code = "1;31"
	case string(rules.Unclear), string(rules.Warn), string(rules.Close):
		code = "33"
	case string(rules.In):
		code = "32"
	}
	if !p.color || code == "" {
		return padded
	}
	return "\x1b[" + code + "m" + padded + "\x1b[0m"
}

// rowOf is a reading in one line: what, where, how much.
func rowOf(r rules.Reading) string {
	parts := []string{fmt.Sprintf("%-40s %s", where(r.Callout, r.At), amount(r.Value.String(), r.Unit))}
	for _, w := range r.With {
		parts = append(parts, "at "+amount(w.Value.String(), w.Unit))
	}
	if r.How != "" {
		parts = append(parts, "("+r.How+")")
	}
	return strings.Join(parts, " ")
}

func amount(value, code string) string {
	if u, ok := unit.Lookup(code); ok && u.Symbol != "" {
		return value + " " + u.Symbol
	}
	return value
}

// where names a callout and its place: "collar nut torque, stage 3".
func where(callout string, at parse.Place) string {
	parts := []string{strings.ReplaceAll(callout, "_", " ")}
	for _, x := range at.Indexes() {
		parts = append(parts, x.Axis+" "+x.Value)
	}
	return strings.Join(parts, ", ")
}

func (p *sheet) summary(sum rules.Summary) error {
	fmt.Fprintf(p.w, "\n%s, %s stand.\n", count(sum.Notes, "note"), count(sum.Readings, "reading"))
	if len(sum.Open) == 0 {
		fmt.Fprintln(p.w, "No finding is open.")
	} else {
		fmt.Fprintf(p.w, "%s open:\n", count(len(sum.Open), "finding"))
		for _, f := range sum.Open {
			p.line(string(f.Severity), f.Text)
		}
	}
	if len(sum.Left) > 0 {
		fmt.Fprintln(p.w, "Left to do:")
		for _, line := range leftLines(sum.Left) {
			fmt.Fprintf(p.w, "     %s\n", line)
		}
	}
	return p.w.Flush()
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// leftLines puts what is left of one callout on one line.
func leftLines(left []rules.Owed) []string {
	var lines []string
	last := ""
	for _, o := range left {
		var place []string
		for _, x := range o.At.Indexes() {
			place = append(place, x.Axis+" "+x.Value)
		}
		at := strings.Join(place, " ")
		switch {
		case o.Callout == last && at != "":
			lines[len(lines)-1] += "; " + at
		case at != "":
			lines = append(lines, where(o.Callout, "")+": "+at)
		default:
			lines = append(lines, where(o.Callout, ""))
		}
		last = o.Callout
	}
	return lines
}

// isTerminal reports whether w is a terminal that may take colour. NO_COLOR says no.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && os.Getenv("NO_COLOR") == "" && term.IsTerminal(int(f.Fd()))
}
