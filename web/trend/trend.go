// Package trend shows whether readings drift: it puts what package query finds before
// package drift, has package plot draw it, and says what came of it in words. It serves the
// page /drift, and makes the answers of /api/drift.
//
// It decides nothing about a part, and changes nothing. Readings are set against limits
// only where the limits are the same: see [Group].
//
// Start reading at [Make].
package trend

import (
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"readback/capture/query"
	"readback/parse"
	"readback/rules/drift"
)

// Question is what is asked, as it stands in an address.
type Question struct {
	query.Filter
	Limits string // text of the group that is charted; "" for the one with most readings
	Rules  string // name of a set of run rules, one of [ruleSets]
	Base   int    // how many of the first readings make the limits of the chart; 0 for all
	Weight float64
	// Target and Sigma are those of an earlier chart, for the average; nil for the readings' own.
	Target, Sigma *float64
}

// usualWeight is that of the newest reading in the moving average.
const usualWeight = 0.2

// ruleSet is a set of run rules under the name that it has in an address.
type ruleSet struct {
	name string
	set  drift.Set
}

// ruleSets are those that can be chosen, the usual one first.
var ruleSets = []ruleSet{{"four", drift.FourRules()}, {"eight", drift.EightTests()}, {"limits", drift.LimitsAlone()}}

func (q *Question) set() drift.Set {
	for _, r := range ruleSets {
		if r.name == q.Rules {
			return r.set
		}
	}
	return drift.FourRules()
}

// names are the fields of an address. "of" is spec and callout in one, as the page sends
// them, and "was" the one that the page showed: what was chosen of another callout is let go.
var names = []string{
	"spec", "callout", "place", "instrument", "person", "from", "to", "limits", "rules", "base", "weight", "target", "sigma", "of", "was",
}

// Read reads a question from an address. The error is a [*query.FilterError].
func Read(v url.Values) (Question, error) {
	q := Question{Rules: ruleSets[0].name, Weight: usualWeight}
	for name, all := range v {
		if !slices.Contains(names, name) {
			return q, &query.FilterError{Field: short(name), Wrong: "there is no such field", Do: "use one of " + strings.Join(names[:len(names)-2], ", ")}
		}
		if len(all) > 1 {
			return q, &query.FilterError{Field: name, Wrong: "it stands there more than once", Do: "give it once"}
		}
	}
	get := func(name string) string { return strings.TrimSpace(v.Get(name)) }
	q.Spec, q.Callout = get("spec"), get("callout")
	if of := get("of"); of != "" {
		q.Spec, q.Callout, _ = strings.Cut(of, ":")
	}
	q.Person = get("person")
	if was := v.Get("was"); was == "" || was == get("of") {
		q.Place, q.Instrument, q.Limits = parse.Place(strings.ReplaceAll(get("place"), " ", "")), get("instrument"), get("limits")
	}
	if err := q.readTimes(get); err != nil {
		return q, err
	}
	if err := q.readPlan(get); err != nil {
		return q, err
	}
	if len(q.Limits) > 500 {
		return q, &query.FilterError{Field: "limits", Wrong: "it is no text of limits", Do: "give them as the answer has them"}
	}
	return q, q.Check()
}

// short keeps what is no field from filling an answer.
func short(name string) string {
	if r := []rune(name); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return name
}

// readTimes reads the days, both of which belong to the time that is asked about.
func (q *Question) readTimes(get func(string) string) error {
	for _, x := range []struct {
		name string
		into *time.Time
		more int // days
	}{{"from", &q.From, 0}, {"to", &q.To, 1}} {
		text := get(x.name)
		if text == "" {
			continue
		}
		day, err := time.Parse(time.DateOnly, text)
		if err != nil || day.Year() < 1970 || day.Year() > 9000 {
			return &query.FilterError{Field: x.name, Wrong: fmt.Sprintf("%q is no day", short(text)), Do: "write it as 2026-03-31"}
		}
		*x.into = day.AddDate(0, 0, x.more)
	}
	return nil
}

func (q *Question) readPlan(get func(string) string) error {
	if text := get("rules"); text != "" {
		if !slices.ContainsFunc(ruleSets, func(r ruleSet) bool { return r.name == text }) {
			return &query.FilterError{Field: "rules", Wrong: fmt.Sprintf("there is no set of rules %q", short(text)), Do: "use four, eight or limits"}
		}
		q.Rules = text
	}
	if text := get("base"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 2 || n > drift.MaxReadings {
			return &query.FilterError{Field: "base", Wrong: "that many readings make no limits", Do: "give a whole number from 2, or leave it out to take all readings"}
		}
		q.Base = n
	}
	if text := get("weight"); text != "" {
		w, err := strconv.ParseFloat(text, 64)
		if err != nil || !(w > 0 && w <= 1) {
			return &query.FilterError{Field: "weight", Wrong: "it is out of range", Do: "give a number above 0, at most 1, such as 0.2"}
		}
		q.Weight = w
	}
	for _, x := range []struct {
		name string
		into **float64
		ok   func(float64) bool
		do   string
	}{
		{"target", &q.Target, func(float64) bool { return true }, "give a number in the unit of the callout, or leave it out for the mean of the readings"},
		{"sigma", &q.Sigma, func(v float64) bool { return v > 0 }, "give a number above 0 in the unit of the callout, or leave it out for that of the readings"},
	} {
		text := get(x.name)
		if text == "" {
			continue
		}
		n, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(n) || math.Abs(n) > drift.Largest || !x.ok(n) {
			return &query.FilterError{Field: x.name, Wrong: fmt.Sprintf("%q is no such number", short(text)), Do: x.do}
		}
		*x.into = &n
	}
	return nil
}

// Values returns the question as it stands in an address.
func (q *Question) Values() url.Values {
	v := url.Values{}
	put := func(name, text string) {
		if text != "" {
			v.Set(name, text)
		}
	}
	put("spec", q.Spec)
	put("callout", q.Callout)
	put("place", string(q.Place))
	put("instrument", q.Instrument)
	put("person", q.Person)
	put("limits", q.Limits)
	if !q.From.IsZero() {
		put("from", q.From.Format(time.DateOnly))
	}
	if !q.To.IsZero() {
		put("to", q.To.AddDate(0, 0, -1).Format(time.DateOnly))
	}
	if q.Rules != ruleSets[0].name {
		put("rules", q.Rules)
	}
	if q.Base > 0 {
		put("base", strconv.Itoa(q.Base))
	}
	if q.Weight != usualWeight {
		put("weight", number(q.Weight))
	}
	if q.Target != nil {
		put("target", number(*q.Target))
	}
	if q.Sigma != nil {
		put("sigma", number(*q.Sigma))
	}
	return v
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
