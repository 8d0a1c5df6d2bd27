package search

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"readback/capture/facts"
)

// recognise takes the filters out of what was typed: "end play over 2 mm in long base" becomes two
// of them and no word. What stands in quotes is left as it is.
func (x *Index) recognise(a *asked, text string) (string, error) {
	r := recogniser{index: x, asked: a, typed: text, left: text, now: time.Now().UTC()}
	for _, step := range []func() error{r.values, r.options, r.verdict, r.dates, r.names} {
		if err := step(); err != nil {
			return "", err
		}
	}
	return r.left, nil
}

// recogniser is a text from which filters are taken. What was taken is blanked, so that bytes keep
// their places.
type recogniser struct {
	index *Index
	asked *asked
	typed string
	left  string
	now   time.Time
}

// free reports whether a stretch lies outside of quotes and was not taken.
func (r *recogniser) free(s span) bool {
	return strings.Count(r.typed[:s.from], `"`)%2 == 0 && !strings.Contains(r.typed[s.from:s.to], `"`) && !strings.Contains(r.left[s.from:s.to], "\t")
}

// put makes what stands at s a filter.
func (r *recogniser) put(s span, f Filter) error {
	f.Typed = true
	f.Text = strings.Join(strings.Fields(r.typed[:s.from]+" "+r.typed[s.to:]), " ")
	r.left = r.left[:s.from] + strings.Repeat("\t", s.to-s.from) + r.left[s.to:]
	return r.index.take(r.asked, f)
}

// joins are words that lead a filter in.
var joins = set("in on with of for and at by from is was where whose")

// back widens a stretch over the small words before it.
func (r *recogniser) back(s span) span {
	for {
		before := strings.TrimRight(r.left[:s.from], " ")
		i := strings.LastIndexAny(before, " \t\"") + 1
		if !joins[strings.ToLower(before[i:])] || before[i:] == "" {
			return s
		}
		s.from = i
	}
}

// values takes "end play over 2 mm".
func (r *recogniser) values() error {
	v, at, ok := rangeOf(r.left)
	if !ok || at.from == 0 && at.to == len(r.left) && v.low != nil && v.low == v.high || !r.free(at) {
		return nil
	}
	callout, from := r.calloutBefore(at.from)
	if callout == "" && v.unit == "1" {
		return nil // "over 2" of nothing is no filter
	}
	f := Filter{Field: OnValue, Value: r.typed[at.from:at.to], Shown: v.shown()}
	if callout == "" {
		return r.put(r.back(at), f)
	}
	r.asked.filters = append(r.asked.filters, Filter{Field: OnCallout, Value: callout, Shown: words(callout), Typed: true, Text: strings.Join(strings.Fields(r.typed[:from]+" "+r.typed[at.to:]), " ")})
	return r.put(r.back(span{from, at.to}), f)
}

// calloutBefore returns the words of a callout that end before at, and where they begin.
func (r *recogniser) calloutBefore(at int) (string, int) {
	before := split(r.left[:at])
	for len(before) > 0 && (joins[before[len(before)-1].text] || before[len(before)-1].text == "reading") {
		before = before[:len(before)-1]
	}
	for n := min(5, len(before)); n > 0; n-- {
		part := before[len(before)-n:]
		var said []string
		for _, w := range part {
			said = append(said, w.text)
		}
		name := strings.Join(said, " ")
		if n == 1 && len(name) < 4 || !r.free(span{part[0].from, at}) {
			continue
		}
		if len(r.index.calloutsNamed(name)) > 0 {
			return name, part[0].from
		}
	}
	return "", 0
}

// calloutsNamed lists the callouts of which there are readings, and that these words name: the one
// whose id they are, else those whose id holds them one behind the other.
func (x *Index) calloutsNamed(said string) (ids []string) {
	name := strings.Join(strings.FieldsFunc(strings.ToLower(said), gap), "_")
	x.numbers.Load().Read(func(k facts.Known) {
		if k.Callouts[name] {
			ids = []string{name}
			return
		}
		for id := range k.Callouts {
			if strings.Contains("_"+id+"_", "_"+name+"_") {
				ids = append(ids, id)
			}
		}
	})
	slices.Sort(ids)
	return ids
}

// find looks for whole words in what is left.
func (r *recogniser) find(say string) (span, bool) {
	lower := strings.ToLower(r.left)
	if len(lower) != len(r.left) {
		return span{}, false // a letter that changes its length: nothing of ours has one
	}
	for from := 0; ; {
		i := strings.Index(lower[from:], say)
		if i < 0 {
			return span{}, false
		}
		s := span{from + i, from + i + len(say)}
		if (s.from == 0 || strings.ContainsRune(" \t", rune(lower[s.from-1]))) && (s.to == len(lower) || strings.ContainsRune(" \t,.;", rune(lower[s.to]))) && r.free(s) {
			return s, true
		}
		from += i + 1
	}
}

// options takes "long base", "base long" and "8 stages".
func (r *recogniser) options() error {
	type option struct{ say, name, value string }
	var all []option
	r.index.numbers.Load().Read(func(k facts.Known) {
		for name, values := range k.Options {
			for value := range values {
				if value == "yes" || value == "no" || value == "" {
					continue
				}
				n, v := strings.ToLower(words(name)), strings.ToLower(value)
				all = append(all, option{v + " " + n, name, value})
				if v[0] > '9' { // "stages 5" is two words like any
					all = append(all, option{n + " " + v, name, value})
				}
			}
		}
	})
	slices.SortFunc(all, func(a, b option) int { return strings.Compare(a.say, b.say) })
	for _, o := range all {
		if s, ok := r.find(o.say); ok {
			if err := r.put(r.back(s), Filter{Field: OnOption, Value: o.name + "=" + o.value, Shown: o.say}); err != nil {
				return err
			}
		}
	}
	return nil
}

// verdict takes "out of limits".
func (r *recogniser) verdict() error {
	for _, say := range []string{"out of limits", "out of limit", "out of tolerance", "out of spec", "outside limits"} {
		if s, ok := r.find(say); ok {
			return r.put(r.back(s), Filter{Field: OnVerdict, Value: "out", Shown: "out of limits"})
		}
	}
	return nil
}

// names takes a job's id, "by Ines", and a spec's name.
func (r *recogniser) names() error {
	var persons, specs []string
	r.index.numbers.Load().Read(func(k facts.Known) {
		for p := range k.Persons {
			persons = append(persons, p)
		}
		for s := range k.Specs {
			specs = append(specs, s)
		}
	})
	slices.Sort(persons)
	slices.Sort(specs)
	for _, p := range persons {
		if s, ok := r.find("by " + strings.ToLower(p)); ok {
			if err := r.put(s, Filter{Field: OnPerson, Value: p}); err != nil {
				return err
			}
		}
	}
	for _, name := range specs {
		if s, ok := r.find(strings.ToLower(name)); ok {
			if err := r.put(r.back(s), Filter{Field: OnSpec, Value: name}); err != nil {
				return err
			}
		}
	}
	for w := range strings.FieldsSeq(r.left) {
		if _, ok := r.index.numbers.Load().Job(strings.ToUpper(w)); ok {
			if s, ok := r.find(strings.ToLower(w)); ok {
				return r.put(r.back(s), Filter{Field: OnJob, Value: strings.ToUpper(w)})
			}
		}
	}
	return nil
}

var (
	dated = regexp.MustCompile(`(?i)\b(since|from|after|before|until|till|in|on)\s+(\d{4}-\d{2}-\d{2}|\d{4}-\d{2}|(?:19|20)\d{2}|(?:january|february|march|april|may|june|july|august|september|october|november|december)(?:\s+(?:19|20)\d{2})?)\b`)
	ago   = regexp.MustCompile(`(?i)\b(today|yesterday|last week|last month|last year|this year)\b`)
)

// dates takes "since March", "before 2031-04", "last week".
func (r *recogniser) dates() error {
	for _, m := range dated.FindAllStringSubmatchIndex(r.left, -1) {
		s := span{m[0], m[1]}
		word, said := strings.ToLower(r.left[m[2]:m[3]]), r.left[m[4]:m[5]]
		day := r.day(said)
		if day == "" || !r.free(s) {
			continue
		}
		var filters []Filter
		switch word {
		case "since", "from":
			filters = []Filter{{Field: From, Value: day, Shown: "from " + day}}
		case "after":
			filters = []Filter{{Field: From, Value: nextDay(day), Shown: "after " + day}}
		case "before":
			filters = []Filter{{Field: To, Value: dayBefore(day), Shown: "before " + day}}
		case "until", "till":
			filters = []Filter{{Field: To, Value: day, Shown: "to " + day}}
		default:
			filters = []Filter{{Field: From, Value: day, Shown: "from " + day}, {Field: To, Value: day, Shown: "to " + day}}
		}
		for _, f := range filters {
			if err := r.put(s, f); err != nil {
				return err
			}
		}
	}
	m := ago.FindStringIndex(r.left)
	if len(m) < 2 || !r.free(span{m[0], m[1]}) {
		return nil
	}
	days := map[string]int{"today": 0, "yesterday": 1, "last week": 7, "last month": 31, "last year": 366}
	said := strings.ToLower(r.left[m[0]:m[1]])
	from := r.now.AddDate(0, 0, -days[said]).Format(time.DateOnly)
	if said == "this year" {
		from = from[:4]
	}
	return r.put(span{m[0], m[1]}, Filter{Field: From, Value: from, Shown: "from " + from})
}

// day writes a date as a filter has it. A month without its year is the last that has begun.
func (r *recogniser) day(said string) string {
	if isDay(said) {
		return said
	}
	name, year, _ := strings.Cut(strings.ToLower(said), " ")
	for m := time.January; m <= time.December; m++ {
		if strings.ToLower(m.String()) != name {
			continue
		}
		if year = strings.TrimSpace(year); year != "" {
			return fmt.Sprintf("%s-%02d", year, m)
		}
		y := r.now.Year()
		if m > r.now.Month() {
			y--
		}
		return fmt.Sprintf("%d-%02d", y, m)
	}
	return ""
}

// bounds returns the first and the last day of "2031", "2031-03" or "2031-03-04".
func bounds(day string) (first, last time.Time) {
	for i, layout := range []string{"2006", "2006-01", time.DateOnly} {
		if t, err := time.Parse(layout, day); err == nil {
			return t, []time.Time{t.AddDate(1, 0, -1), t.AddDate(0, 1, -1), t}[i]
		}
	}
	return time.Time{}, time.Time{}
}

func nextDay(day string) string {
	_, last := bounds(day)
	return last.AddDate(0, 0, 1).Format(time.DateOnly)
}

func dayBefore(day string) string {
	first, _ := bounds(day)
	return first.AddDate(0, 0, -1).Format(time.DateOnly)
}

// daysWithin lists the years, months and days that make up a range of dates, as notes have them: few
// of them for any range. ok is false for one without an end; from may be years before any note.
func daysWithin(from, to string, oldest, newest time.Time) (terms []string) {
	first, last := oldest, newest
	if from != "" {
		first, _ = bounds(from)
	}
	if to != "" {
		_, last = bounds(to)
	}
	if first.Before(oldest) {
		first = oldest
	}
	if last.After(newest) {
		last = newest
	}
	for d := first; !d.After(last); {
		switch {
		case d.YearDay() == 1 && !d.AddDate(1, 0, -1).After(last):
			terms, d = append(terms, d.Format("2006")), d.AddDate(1, 0, 0)
		case d.Day() == 1 && !d.AddDate(0, 1, -1).After(last):
			terms, d = append(terms, d.Format("2006-01")), d.AddDate(0, 1, 0)
		default:
			terms, d = append(terms, d.Format(time.DateOnly)), d.AddDate(0, 0, 1)
		}
	}
	return terms
}
