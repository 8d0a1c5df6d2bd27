package trend

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"

	"readback/capture/query"
	"readback/parse"
	"readback/rules/decide"
	"readback/rules/drift"
	"readback/rules/say"
)

// level is the confidence of every interval. Where several instruments are compared it
// holds for all of them together.
const level = 0.95

// Report is the answer to a question.
type Report struct {
	Question
	Name   string // of the callout in words; "" where none is chosen
	Symbol string // of its unit: "N·m"

	All     []query.Reading // what fits, but of every instrument; oldest first
	Groups  []Group         // of the readings of the chosen instrument, the largest first
	Charted []query.Reading // what the charts are made from: of one group, oldest first
	Values  []float64       // of those, in their unit

	Individuals *drift.Individuals // nil where it cannot be made: Missing says why
	EWMA        *drift.EWMA
	Capability  *drift.Capability
	Instruments []Finding

	Missing  []string // what is not there and why, each in a sentence
	Cautions []string // what weakens what is there, each in a sentence
}

// Group is readings whose limits are the same, to the last digit, in the same unit. Limits
// differ by option, by place and by revision of the spec: a spacer of the long base is no
// outlier among those of the short one. So charts and capability are made of one group, and
// the others are offered.
type Group struct {
	Limits   string // as shown, or "no limits, in mm"
	Readings int
	of       limitsOf
}

// limitsOf tells groups apart.
type limitsOf struct{ unit, nominal, min, max, text string }

func groupOf(r *query.Reading) limitsOf {
	return limitsOf{r.Unit, ratio(r.Limits.Nominal), ratio(r.Limits.Min), ratio(r.Limits.Max), r.Limits.Text}
}

func ratio(r *big.Rat) string {
	if r == nil {
		return ""
	}
	return r.RatString()
}

// Make answers a question. Where little or nothing fits, the report says what is missing.
// The error is a [*query.FilterError], a [*query.ManyError], or what ails the journal.
func Make(ctx context.Context, from query.Questions, q Question) (*Report, error) {
	r := &Report{Question: q}
	if q.Spec == "" {
		r.Missing = append(r.Missing, "No spec is chosen.")
		return r, q.Check()
	}
	of := q.Filter
	of.Instrument = "" // it is compared with the others
	found, err := from.Readings(ctx, of)
	if err != nil {
		return nil, err
	}
	r.All = found.Readings
	if n := len(found.Unread); n > 0 {
		r.Cautions = append(r.Cautions, fmt.Sprintf("%s cannot be read any more and %s left out: %s. The server's log says why.",
			counted(n, "job"), isOr(n), list(found.Unread)))
	}
	if len(r.All) == 0 {
		r.Missing = append(r.Missing, "No reading in the record fits this choice.")
		return r, nil
	}
	if q.Callout != "" {
		r.name()
		if err := r.chart(); err != nil {
			return nil, err
		}
	}
	r.compare()
	return r, ctx.Err()
}

// name takes the words for the callout from its newest reading.
func (r *Report) name() {
	last := &r.All[len(r.All)-1]
	r.Name, r.Symbol = last.Name, say.Symbol(last.Unit)
}

// chart makes the charts from the readings of one group.
func (r *Report) chart() error {
	if err := r.choose(); err != nil || len(r.Charted) == 0 {
		return err
	}
	r.Symbol = say.Symbol(r.Charted[0].Unit)
	for i := range r.Charted {
		r.Values = append(r.Values, r.Charted[i].Judged)
	}
	r.weigh()
	base := r.Base
	if base > len(r.Values) {
		r.Missing = append(r.Missing, fmt.Sprintf("There are only %s: all of them make the limits of the chart, not the first %d.", counted(len(r.Values), "reading"), base))
		base = 0
	}
	individuals, err := drift.NewIndividuals(r.Values, base, r.set())
	if err == nil {
		r.Individuals = &individuals
	} else {
		r.missing("The chart of individuals and moving ranges", err)
	}
	r.average()
	r.capable()
	return nil
}

// choose sorts the readings into groups and takes those of one for the charts.
func (r *Report) choose() error {
	by := map[limitsOf][]query.Reading{}
	newest := map[limitsOf]int{}
	settings, asRead, others := 0, 0, 0
	for i := range r.All {
		x := &r.All[i]
		switch {
		case r.Instrument != "" && x.Instrument != r.Instrument:
			others++
		case x.How == query.HowSet:
			settings++
		case x.AsRead:
			asRead++
		default:
			g := groupOf(x)
			by[g], newest[g] = append(by[g], *x), i
		}
	}
	for g, readings := range by {
		r.Groups = append(r.Groups, Group{words(g), len(readings), g})
	}
	slices.SortFunc(r.Groups, func(a, b Group) int {
		return cmp.Or(cmp.Compare(b.Readings, a.Readings), cmp.Compare(newest[b.of], newest[a.of]))
	})
	r.leftOut(settings, asRead)
	if len(r.Groups) == 0 {
		r.Missing = append(r.Missing, r.nothing(others))
		return nil
	}
	chosen := 0
	if r.Limits != "" {
		if chosen = slices.IndexFunc(r.Groups, func(g Group) bool { return g.Limits == r.Limits }); chosen < 0 {
			return &query.FilterError{Field: "limits", Wrong: "no reading that fits has such limits", Do: "use one of: " + groupWords(r.Groups)}
		}
	}
	r.Charted = by[r.Groups[chosen].of]
	if n := len(r.Groups) - 1; n > 0 {
		rest := 0
		for i, g := range r.Groups {
			if i != chosen {
				rest += g.Readings
			}
		}
		r.Cautions = append(r.Cautions, fmt.Sprintf("%s with other limits: not in these charts, since only readings with the same limits compare. Choose among the limits to see them.", counted(rest, "reading")))
	}
	return nil
}

// words names a group.
func words(g limitsOf) string {
	if g.text != "" {
		return g.text
	}
	return "no limits, in " + say.Symbol(g.unit)
}

func groupWords(groups []Group) string {
	var all []string
	for _, g := range groups {
		all = append(all, g.Limits)
	}
	return strings.Join(all, "; ")
}

func (r *Report) leftOut(settings, asRead int) {
	if settings > 0 {
		r.Cautions = append(r.Cautions, fmt.Sprintf("%s left out: the setting of a click wrench says where it was set, not what it does.", counted(settings, "reading")))
	}
	if asRead > 0 {
		r.Cautions = append(r.Cautions, fmt.Sprintf("%s left out: the limits hold at a temperature, and nobody said at which one it was taken.", counted(asRead, "reading")))
	}
}

// nothing says why there is no reading to chart.
func (r *Report) nothing(others int) string {
	if r.Instrument != "" && others > 0 {
		return fmt.Sprintf("No reading of %s by %s fits this choice; other instruments have %d.", r.Name, r.Instrument, others)
	}
	return fmt.Sprintf("No reading of %s is left to chart.", r.Name)
}

// weigh says where the readings come from, if that weakens the charts.
func (r *Report) weigh() {
	jobs, with, at := map[string]bool{}, map[string]bool{}, map[parse.Place]bool{}
	for i := range r.Charted {
		x := &r.Charted[i]
		jobs[x.Job], with[x.Instrument], at[x.At] = true, true, true
	}
	if n := len(r.Charted); len(jobs) < n {
		r.Cautions = append(r.Cautions, fmt.Sprintf("%s come from %s: those of one job are taken in a row, and say less than as many jobs would.", counted(n, "reading"), counted(len(jobs), "job")))
	}
	if len(at) > 1 {
		r.Cautions = append(r.Cautions, fmt.Sprintf("They are of %d places, which may differ by themselves. Choose a place to see one.", len(at)))
	}
	if len(with) > 1 {
		r.Cautions = append(r.Cautions, "They were taken with more than one instrument, or with one that was not named: a shift may be that of an instrument.")
	}
}

func (r *Report) average() {
	plan := drift.Plan{Lambda: r.Weight, Width: drift.Width}
	if r.Individuals != nil {
		plan.Target, plan.Sigma = r.Individuals.Centre, r.Individuals.Sigma
	}
	if r.Target != nil {
		plan.Target = *r.Target
	}
	if r.Sigma != nil {
		plan.Sigma = *r.Sigma
	}
	if r.Individuals == nil && (r.Target == nil || r.Sigma == nil) {
		return // why there is no chart was said
	}
	ewma, err := drift.NewEWMA(r.Values, plan)
	if err != nil {
		r.missing("The moving average", err)
		return
	}
	r.EWMA = &ewma
}

func (r *Report) capable() {
	l := r.Charted[0].Limits
	if l.OneOf {
		r.Missing = append(r.Missing, "There is no capability: one of a list is called for, and not a value between limits.")
		return
	}
	if l.Text == "" {
		r.Missing = append(r.Missing, "There is no capability: the spec gives no limits.")
		return
	}
	capability, err := drift.NewCapability(r.Values, decide.Limits{Min: end(l.Min), Max: end(l.Max)}, level)
	if err != nil {
		if r.Individuals != nil || len(r.Missing) == 0 {
			r.missing("Capability", err)
		}
		return
	}
	r.Capability = &capability
}

func end(r *big.Rat) float64 {
	if r == nil {
		return decide.Open()
	}
	v, _ := r.Float64()
	return v
}

// missing says why something could not be made.
func (r *Report) missing(what string, err error) {
	if e, ok := errors.AsType[*drift.Error](err); ok {
		r.Missing = append(r.Missing, fmt.Sprintf("%s cannot be made: %s; %s.", what, e.Wrong, e.Do))
		return
	}
	r.Missing = append(r.Missing, what+" cannot be made.")
}

// places returns how many decimals the numbers beside a chart are worth.
func (r *Report) places() int {
	spread := 0.0
	switch {
	case r.Individuals != nil:
		spread = r.Individuals.Sigma
	case r.EWMA != nil:
		spread = r.EWMA.Sigma
	}
	if !(spread > 0) {
		return 2
	}
	return min(max(int(math.Ceil(2-math.Log10(spread))), 0), 9)
}

// label names a charted reading: by its job, and its place where one job has several.
func (r *Report) label() func(i int) string {
	times := map[string]int{}
	for i := range r.Charted {
		times[r.Charted[i].Job]++
	}
	return func(i int) string {
		x := &r.Charted[i]
		if times[x.Job] == 1 || x.At == "" {
			return x.Job
		}
		return x.Job + " " + placeWords(x.At)
	}
}

// placeWords writes a place as it is read: "stage 3", "rod 2, pass 1".
func placeWords(p parse.Place) string {
	var all []string
	for _, x := range p.Indexes() {
		all = append(all, x.Axis+" "+x.Value)
	}
	return strings.Join(all, ", ")
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func isOr(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// list writes at most ten names.
func list(all []string) string {
	if len(all) > 10 {
		return strings.Join(all[:10], ", ") + fmt.Sprintf(" and %d more", len(all)-10)
	}
	return strings.Join(all, ", ")
}
