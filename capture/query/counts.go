package query

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"
	"unicode"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/wire"
)

// Period says of which jobs and which time something is asked. A zero field leaves nothing out.
type Period struct {
	Spec     string    // its name: "mr5"
	From, To time.Time // at From or later, and before To
}

// Check is as [Filter.Check].
func (p Period) Check() error { return p.filter().Check() }

func (p Period) filter() Filter { return Filter{Spec: p.Spec, From: p.From, To: p.To} }

func (p Period) holds(t time.Time) bool {
	return !t.Before(p.From) && (p.To.IsZero() || t.Before(p.To))
}

// Disposition is what was decided of a finding of a job.
type Disposition struct {
	Job, Spec string
	Name      string // of the callout in words: "collar nut"
	wire.Disposition
}

// Dispositions are the answer to a question. The period goes by when they were given.
type Dispositions struct {
	Dispositions []Disposition
	Unread       []string // jobs that may have some and cannot be folded, sorted
}

// SymptomCount is how often something was wrong with a part. Shares are of the sum of the jobs of all
// counts: one job with two things wrong counts for both.
type SymptomCount struct {
	Part       string // "thrust washer"; "" where the note names none
	Condition  string // "scored"
	Jobs       int    // that have it; said twice on a job, it is there once
	Notes      int    // that say so
	Share      float64
	Cumulative float64 // Share of this and all counts before it
	First      Mention // the first note that says so
	Last       Mention // the last
}

// Mention is a note that tells of a symptom.
type Mention struct {
	Job  string
	Seq  int64
	When time.Time
}

// Symptoms are the answer to a question. The period goes by when the notes were kept.
type Symptoms struct {
	Counts []SymptomCount
	Jobs   int      // that have any symptom
	Unread []string // jobs that may have some and cannot be folded, sorted
}

// Unit is one that has a number. Two jobs are of the same unit where they are of the same spec and say
// the same number; capitals, spaces and dashes make no other one.
type Unit struct {
	Spec   string
	Number string  // as it was said last
	Visits []Visit // at least one, oldest first
}

// Visit is a job that was opened for a unit.
type Visit struct {
	Job    string
	Opened time.Time
}

// Between returns the mean time from a visit to the next; ok is false for a unit that came once.
func (u Unit) Between() (mean time.Duration, ok bool) {
	n := len(u.Visits) - 1
	if n < 1 {
		return 0, false
	}
	return u.Visits[n].Opened.Sub(u.Visits[0].Opened) / time.Duration(n), true
}

// Units are the answer to a question. The period goes by when the jobs were opened.
type Units struct {
	Units      []Unit
	Unnumbered int      // jobs that say no number
	Unread     []string // jobs that cannot be folded, sorted
}

// Again returns how many units came more than once, how often they came back in all, and the mean time
// between visits: that from each visit to the next of the same unit, over all of them. It is 0 where none
// came back. Units that came once have no such time and are not in it, so that it is no forecast: the mean
// of those that will come back is longer.
func (u Units) Again() (units, times int, mean time.Duration) {
	var all time.Duration
	for _, one := range u.Units {
		if n := len(one.Visits) - 1; n > 0 {
			units, times = units+1, times+n
			all += one.Visits[n].Opened.Sub(one.Visits[0].Opened)
		}
	}
	if times > 0 {
		mean = all / time.Duration(times)
	}
	return units, times, mean
}

// Dispositions is as [Questions] has it.
func (j *Journal) Dispositions(ctx context.Context, p Period) (Dispositions, error) {
	out := Dispositions{Dispositions: []Disposition{}}
	if err := p.Check(); err != nil {
		return out, err
	}
	unread, err := j.each(ctx, p.filter(), func(_ journal.Job, h held) error {
		for _, d := range h.decided {
			if p.holds(d.Time) {
				out.Dispositions = append(out.Dispositions, d)
			}
		}
		if len(out.Dispositions) > MostAnswered {
			return &ManyError{MostAnswered}
		}
		return nil
	})
	if err != nil {
		return Dispositions{}, err
	}
	out.Unread = unread
	slices.SortStableFunc(out.Dispositions, func(a, b Disposition) int { return a.Time.Compare(b.Time) })
	return out, nil
}

// Symptoms is as [Questions] has it.
func (j *Journal) Symptoms(ctx context.Context, p Period) (Symptoms, error) {
	var out Symptoms
	if err := p.Check(); err != nil {
		return out, err
	}
	by := map[[2]string]*SymptomCount{}
	unread, err := j.each(ctx, p.filter(), func(job journal.Job, h held) error {
		here := map[[2]string]bool{}
		for _, f := range h.found {
			if p.holds(f.when) {
				count(by, here, job.ID, f)
			}
		}
		if len(here) > 0 {
			out.Jobs++
		}
		return nil
	})
	if err != nil {
		return Symptoms{}, err
	}
	out.Counts, out.Unread = pareto(by), unread
	return out, nil
}

// count counts one mention of a job; here is what the job has already.
func count(by map[[2]string]*SymptomCount, here map[[2]string]bool, job string, f found) {
	key := [2]string{f.part, f.condition}
	m := Mention{job, f.seq, f.when}
	c := by[key]
	if c == nil {
		c = &SymptomCount{Part: f.part, Condition: f.condition, First: m, Last: m}
		by[key] = c
	}
	c.Notes++
	if !here[key] {
		here[key] = true
		c.Jobs++
	}
	if m.When.Before(c.First.When) {
		c.First = m
	}
	if !m.When.Before(c.Last.When) {
		c.Last = m
	}
}

// pareto sorts counts, the largest first, and gives each its share.
func pareto(by map[[2]string]*SymptomCount) []SymptomCount {
	out := make([]SymptomCount, 0, len(by))
	total := 0
	for _, c := range by {
		out = append(out, *c)
		total += c.Jobs
	}
	slices.SortFunc(out, func(a, b SymptomCount) int {
		return cmp.Or(b.Jobs-a.Jobs, b.Notes-a.Notes, strings.Compare(a.Part, b.Part), strings.Compare(a.Condition, b.Condition))
	})
	sum := 0
	for i := range out {
		sum += out[i].Jobs
		out[i].Share, out[i].Cumulative = float64(out[i].Jobs)/float64(total), float64(sum)/float64(total)
	}
	return out
}

// Units is as [Questions] has it.
func (j *Journal) Units(ctx context.Context, p Period) (Units, error) {
	out := Units{Units: []Unit{}}
	if err := p.Check(); err != nil {
		return out, err
	}
	at := map[[2]string]int{}
	unread, err := j.each(ctx, p.filter(), func(job journal.Job, h held) error {
		if !p.holds(job.First.Time()) {
			return nil
		}
		if h.unit == "" {
			out.Unnumbered++
			return nil
		}
		key := [2]string{job.Spec, bareNumber(h.unit)}
		i, ok := at[key]
		if !ok {
			i = len(out.Units)
			at[key] = i
			out.Units = append(out.Units, Unit{Spec: job.Spec})
		}
		u := &out.Units[i]
		u.Number, u.Visits = h.unit, append(u.Visits, Visit{job.ID, job.First.Time()})
		return nil
	})
	if err != nil {
		return Units{}, err
	}
	out.Unread = unread
	for i := range out.Units {
		slices.SortStableFunc(out.Units[i].Visits, func(a, b Visit) int { return a.Opened.Compare(b.Opened) })
	}
	slices.SortStableFunc(out.Units, func(a, b Unit) int {
		return cmp.Or(len(b.Visits)-len(a.Visits), b.Visits[len(b.Visits)-1].Opened.Compare(a.Visits[len(a.Visits)-1].Opened))
	})
	return out, nil
}

// The details that say which unit a job is of, the surest first. A spec that has neither says of no unit
// that it came again.
const (
	serialNumber = "serial_number"
	unitTag      = "unit_tag"
)

// unitOf returns the number of the unit among what was said of it, "" for none.
func unitOf(details map[string]string) string {
	for _, name := range []string{serialNumber, unitTag} {
		if number := strings.TrimSpace(details[name]); bareNumber(number) != "" {
			return number
		}
	}
	return ""
}

// bareNumber is a number as two ways to write it are compared: its letters and digits.
func bareNumber(number string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToUpper(r)
		}
		return -1
	}, number)
}

// found is a symptom that a note of a job tells of.
type found struct {
	part, condition string
	seq             int64
	when            time.Time
}

func (j *Journal) foundOf(s floor.Stood) []found {
	out := make([]found, 0, len(s.Symptoms))
	for _, f := range s.Symptoms {
		out = append(out, found{j.partOf(f.Part), f.Condition.Condition, f.Seq, f.At.Time()})
	}
	return out
}

func decidedOf(job journal.Job, s floor.Stood) []Disposition {
	out := make([]Disposition, 0, len(s.Dispositions))
	for _, d := range s.Dispositions {
		out = append(out, Disposition{job.ID, job.Spec, d.Name, d.Disposition})
	}
	return out
}

// partOf returns the part that is counted: without the place that it is at, in one of its names.
func (j *Journal) partOf(said string) string {
	words := strings.Fields(strings.ToLower(said))
	for n := len(words); n > 1 && strings.ContainsFunc(words[n-1], unicode.IsDigit); n-- {
		words = words[:n-1]
	}
	name := strings.Join(words, " ")
	if usual := j.trade.Part(name); usual != "" {
		return usual
	}
	return name
}
