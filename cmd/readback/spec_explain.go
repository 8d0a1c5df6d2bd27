package main

import (
	"bufio"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"readback/parse"
	"readback/rules"
	"readback/rules/say"
)

func explainCommand(s *std) *cobra.Command {
	var flags jobFlags
	c := &cobra.Command{
		Use:   "explain SPEC [--set option=value]... [--shop REGISTER]",
		Short: "Print a spec as a sheet: the work in its order, limits, tools, cautions, rules in words",
		Long: `Explain prints what a job with these options is built to, for a reader who checks it
against the manual: the steps in the order of the work, each with its limits, places and
page, the cautions before them, and the rules in words. With the shop's register it says
which instruments are fit for each reading.`,
		Example: "  readback spec explain mr5 --set base=long --set stages=8 --shop demo",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			flags.spec = args[0]
			job, err := flags.job()
			if err != nil {
				return err
			}
			w := bufio.NewWriter(s.out)
			(&jobSheet{w: w, words: wordsOf(job)}).write()
			return w.Flush()
		},
	}
	c.Flags().StringArrayVar(&flags.set, "set", nil, "an `option=value` of the job, as often as needed: --set stages=8")
	flags.registerShop(c)
	return c
}

// The columns of the sheet: what, then what it must be, then the page. Longer texts push
// what follows them to the right.
const (
	whatWidth  = 38
	mustWidth  = 30
	sheetWidth = 96
)

// jobSheet prints what a job is built to.
type jobSheet struct {
	w     *bufio.Writer
	words *specWords
	n     int // lines of the work so far
}

func (p *jobSheet) write() {
	spec := p.words.spec
	title := spec.Title
	if title == "" {
		title = spec.ID
	}
	fmt.Fprintf(p.w, "%s\nspec %s, revision %s", title, spec.ID, spec.Revision)
	if spec.Source != "" {
		fmt.Fprintf(p.w, ", from %s", spec.Source)
	}
	fmt.Fprintln(p.w)
	if spec.Invented {
		fmt.Fprintln(p.w, "The numbers are invented: nothing may be built by them.")
	}
	p.options()
	p.work()
	p.beside()
	p.rules()
	p.kit()
}

func (p *jobSheet) head(text string) {
	fmt.Fprintf(p.w, "\n%s\n%s\n", text, strings.Repeat("-", len(text)))
}

func (p *jobSheet) options() {
	if len(p.words.spec.Options) == 0 {
		return
	}
	p.head("Options of this job")
	set := p.words.job.Options()
	for _, o := range p.words.spec.Options {
		may := strings.Join(o.Values, " or ")
		if o.Values == nil {
			may = fmt.Sprintf("%d to %d", o.From, o.To)
		}
		fmt.Fprintf(p.w, "     %-*s  %-*s  may be %s\n", whatWidth, o.Say, mustWidth, set[o.Name], may)
	}
}

func (p *jobSheet) work() {
	p.head("Work, in its order")
	for _, step := range p.words.spec.Work {
		if step.Each != "" {
			if values := p.words.valuesOn(step); len(values) > 0 {
				fmt.Fprintf(p.w, "     at each %s, %s\n", step.Each, inShort(values))
			}
		}
		for _, id := range step.Do {
			if c, ok := p.words.state(id); ok && c.Owed {
				p.cautions(id)
				p.n++
				p.callout(fmt.Sprintf("%3d  ", p.n), c)
			}
		}
	}
}

// beside prints what is computed, and what may happen at any time.
func (p *jobSheet) beside() {
	first := true
	for _, c := range p.words.states {
		if c.Owed {
			continue
		}
		if first {
			p.head("Beside the work")
			first = false
		}
		p.cautions(c.ID)
		p.callout("     ", c)
	}
}

func (p *jobSheet) cautions(id string) {
	for _, c := range p.words.spec.Cautions {
		if c.Before == id {
			p.wrap("  !  ", "     ", "CAUTION. "+c.Text)
		}
	}
}

// callout prints a callout: one line for all places that have the same limits.
func (p *jobSheet) callout(margin string, c rules.CalloutState) {
	source := p.words.callout(c.ID).Source
	for i, g := range groups(c) {
		what := c.Name
		if i > 0 {
			margin, what, source = "     ", "", ""
		}
		if where := placesOf(g); where != "" {
			what = strings.TrimSpace(what + ", " + where)
			if i > 0 {
				what = "  " + strings.TrimPrefix(what, ", ")
			}
		}
		line := fmt.Sprintf("%s%-*s  %-*s  %s", margin, whatWidth, what, mustWidth, p.words.must(c, g[0]), source)
		fmt.Fprintln(p.w, strings.TrimRight(line, " "))
		if tools := p.words.job.Fit(parse.Target{Callout: c.ID, At: g[0].At}); len(tools) > 0 {
			p.wrap("       ", "       ", "measured with "+say.List(tools, "or"))
		}
	}
	if more := p.words.more(c.ID); more != "" {
		p.wrap("       ", "       ", more)
	}
}

// groups puts neighbouring places with the same limits together.
func groups(c rules.CalloutState) (out [][]rules.PlaceState) {
	for _, place := range c.Places {
		i := slices.IndexFunc(out, func(g []rules.PlaceState) bool { return g[0].Limits == place.Limits })
		if i < 0 {
			out = append(out, nil)
			i = len(out) - 1
		}
		out[i] = append(out[i], place)
	}
	return out
}

// placesOf writes places axis by axis: "rod 1 to 4, pass 2".
func placesOf(g []rules.PlaceState) string {
	var axes []string
	values := map[string][]string{}
	for _, place := range g {
		for _, x := range place.At.Indexes() {
			if values[x.Axis] == nil {
				axes = append(axes, x.Axis)
			}
			if !slices.Contains(values[x.Axis], x.Value) {
				values[x.Axis] = append(values[x.Axis], x.Value)
			}
		}
	}
	var parts []string
	for _, a := range axes {
		parts = append(parts, a+" "+inShort(values[a]))
	}
	return strings.Join(parts, ", ")
}

// inShort writes values in short: "1 to 8", "uv, vw, wu".
func inShort(values []string) string {
	sorted := slices.SortedFunc(slices.Values(values), byNumber)
	if len(sorted) > 2 && consecutive(sorted) {
		return sorted[0] + " to " + sorted[len(sorted)-1]
	}
	return strings.Join(values, ", ")
}

func (p *jobSheet) rules() {
	lines := p.words.rules()
	if len(lines) == 0 {
		return
	}
	p.head("Rules beside the limits")
	for _, l := range lines {
		p.wrap("  -  ", "     ", l)
	}
}

func (p *jobSheet) kit() {
	kit := p.words.job.Kit()
	if len(kit) == 0 {
		return
	}
	p.head("What the job needs")
	for _, k := range kit {
		fmt.Fprintf(p.w, "%4d  %s\n", k.Many, k.Say)
	}
}

// wrap prints a text in lines of the sheet's width.
func (p *jobSheet) wrap(margin, next, text string) {
	line := margin
	empty := true
	for word := range strings.FieldsSeq(text) {
		if !empty && len(line)+1+len(word) > sheetWidth {
			fmt.Fprintln(p.w, line)
			line, empty = next, true
		}
		if !empty {
			line += " "
		}
		line, empty = line+word, false
	}
	fmt.Fprintln(p.w, line)
}

// kindWord says what is done at a callout that has no limits.
func kindWord(k parse.Kind) string {
	switch k {
	case parse.Confirm:
		return "confirm"
	case parse.Event:
		return "say when it happened"
	case parse.Part:
		return "say which"
	case parse.Detail:
		return "say in words"
	case parse.Reading, parse.Instrument, parse.Symptom, parse.Question, parse.Correction, parse.Remark, parse.Unclear:
	}
	return "read"
}
