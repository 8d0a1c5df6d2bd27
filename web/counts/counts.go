// Package counts shows what the jobs of a shop have in common: which symptoms are found how often, what was
// decided of findings that were out, and which units came back, and how soon. It puts what package query
// counts into words, a chart and tables; it serves the page /counts, and makes the answers of /api/counts.
//
// It decides nothing, and changes nothing. Start reading at [Make].
package counts

import (
	"cmp"
	"context"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"readback/capture/query"
	"readback/rules"
)

// fields are those of an address.
var fields = []string{"spec", "from", "to", "of"}

// Read reads a question from an address. A *query.FilterError says what is wrong with it.
func Read(v url.Values) (query.Period, error) {
	var p query.Period
	for name, all := range v {
		switch {
		case !slices.Contains(fields, name):
			return p, &query.FilterError{Field: short(name), Wrong: "there is no such field", Do: "use one of spec, from, to"}
		case len(all) > 1:
			return p, &query.FilterError{Field: name, Wrong: "it stands there more than once", Do: "give it once"}
		}
	}
	p.Spec = strings.TrimSpace(v.Get("spec"))
	for _, x := range []struct {
		name string
		into *time.Time
		more int // days: both belong to the time that is asked about
	}{{"from", &p.From, 0}, {"to", &p.To, 1}} {
		text := strings.TrimSpace(v.Get(x.name))
		if text == "" {
			continue
		}
		day, err := time.Parse(time.DateOnly, text)
		if err != nil || day.Year() < 1970 || day.Year() > 9000 {
			return p, &query.FilterError{Field: x.name, Wrong: fmt.Sprintf("%q is no day", short(text)), Do: "write it as 2026-03-31"}
		}
		*x.into = day.AddDate(0, 0, x.more)
	}
	return p, p.Check()
}

// short keeps what is no field from filling an answer.
func short(text string) string {
	if r := []rune(text); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return text
}

// Report is what was counted.
type Report struct {
	Period       query.Period
	Symptoms     query.Symptoms
	Dispositions query.Dispositions
	ByCallout    []Decided // of Dispositions, those most often decided on first
	Units        query.Units
	Unread       []string // jobs that cannot be folded, sorted
}

// Decided counts the dispositions of a callout. One that a later one replaced is not counted: the finding was
// decided on once.
type Decided struct {
	Spec, Callout, Name    string
	Rework, UseAsIs, Scrap int
}

// All returns how many there are.
func (d Decided) All() int { return d.Rework + d.UseAsIs + d.Scrap }

// Make answers a question. The error is a *query.FilterError, a *query.ManyError, or says what ails the
// journal.
func Make(ctx context.Context, from query.Questions, p query.Period) (*Report, error) {
	r := &Report{Period: p}
	var err error
	if r.Symptoms, err = from.Symptoms(ctx, p); err != nil {
		return nil, err
	}
	if r.Dispositions, err = from.Dispositions(ctx, p); err != nil {
		return nil, err
	}
	if r.Units, err = from.Units(ctx, p); err != nil {
		return nil, err
	}
	r.ByCallout = byCallout(r.Dispositions.Dispositions)
	r.Unread = slices.Compact(slices.Sorted(slices.Values(slices.Concat(r.Symptoms.Unread, r.Dispositions.Unread, r.Units.Unread))))
	return r, nil
}

func byCallout(all []query.Disposition) (out []Decided) {
	at := map[[2]string]int{}
	for _, d := range all {
		if d.State == rules.Replaced {
			continue
		}
		key := [2]string{d.Spec, d.Callout}
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			out = append(out, Decided{Spec: d.Spec, Callout: d.Callout, Name: d.Name})
		}
		switch d.Is {
		case rules.Rework:
			out[i].Rework++
		case rules.UseAsIs:
			out[i].UseAsIs++
		case rules.Scrap:
			out[i].Scrap++
		}
	}
	slices.SortFunc(out, func(a, b Decided) int {
		return cmp.Or(b.All()-a.All(), strings.Compare(a.Spec, b.Spec), strings.Compare(a.Callout, b.Callout))
	})
	return out
}

// days writes a time in days, as people say it: "12", "0.5".
func days(d time.Duration) string {
	text := fmt.Sprintf("%.1f", d.Hours()/24)
	return strings.TrimSuffix(text, ".0")
}
