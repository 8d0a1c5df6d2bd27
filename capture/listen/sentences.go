package listen

import (
	"cmp"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"readback/capture/hear/judge"
	"readback/parse"
	"readback/rules"
	"readback/rules/say"
)

// toTry is how many sentences are read to try the microphone.
const toTry = 3

// Sentences returns three that may be said on a job, to be read aloud to try the microphone: readings inside their
// limits, of callouts of this job, with numbers that are not asked about for what they sound like. Where the spec has too few of those
// there are marks among them, and a question. The same spec and options always give the same.
func Sentences(j *rules.Job) []string {
	w := writer{job: j, words: j.Words()}
	w.vocabulary = parse.NewVocabulary(w.words)
	var readings, marks []candidate
	for _, c := range j.State() {
		switch i := slices.IndexFunc(w.words.Names, func(n parse.Name) bool { return n.Callout == c.ID }); {
		case i < 0 || len(c.Places) == 0:
		case c.Kind == parse.Reading && !c.Derived && len(w.words.Names[i].Takes) == 0:
			readings = append(readings, w.reading(&c, &w.words.Names[i])...)
		case c.Kind == parse.Confirm && len(w.words.Names[i].Axes) == 0:
			marks = append(marks, w.mark(&w.words.Names[i])...)
		}
	}
	slices.SortStableFunc(readings, func(a, b candidate) int { return cmp.Compare(a.hard, b.hard) })
	var out []string
	for _, c := range slices.Concat(unlike(readings), readings, marks, asides()) {
		if len(out) < toTry && !slices.Contains(out, c.text) {
			out = append(out, c.text)
		}
	}
	return out
}

// unlike are the easiest of each unit.
func unlike(readings []candidate) (out []candidate) {
	for _, c := range readings {
		if c.hard == 0 && !slices.ContainsFunc(out, func(o candidate) bool { return o.unit == c.unit }) {
			out = append(out, c)
		}
	}
	return out
}

// asides may be said on any job.
func asides() []candidate {
	return []candidate{{text: "read that back"}, {text: "what is left"}, {text: "where are we"}}
}

// DeskSentences returns three that may be said where jobs with these specs are opened. None opens a job, or goes to one.
func DeskSentences(specs []*rules.Spec) []string {
	out := []string{"open a new job"}
	for _, s := range specs {
		i := slices.IndexFunc(s.Options, func(o rules.Option) bool { return len(o.Values) > 0 && !o.Counts() && !o.YesOrNo() })
		if i >= 0 && len(out) < toTry-1 {
			out = append(out, s.Names()[0]+" "+s.Options[i].Phrase(s.Options[i].Values[0]))
		}
	}
	return append(out, []string{"read that back", "start over"}[:toTry-len(out)]...)
}

// candidate is a sentence that may be read.
type candidate struct {
	text string
	unit string // of a reading
	hard int    // the higher the later it is taken
}

// writer writes sentences of one job.
type writer struct {
	job        *rules.Job
	words      parse.Words
	vocabulary *parse.Vocabulary
}

// reading is the easiest reading of a callout, none where each may be asked about.
func (w *writer) reading(c *rules.CalloutState, name *parse.Name) []candidate {
	var best []candidate
	for _, per := range []int64{1, 10, 100} {
		for _, p := range c.Places {
			least, most := w.job.Between(parse.Target{Callout: c.ID, At: p.At})
			for _, v := range inside(least, most, per) {
				one, ok := w.at(c, name, &p, v)
				if ok && (len(best) == 0 || one.hard < best[0].hard) && w.holds(one.text, c.ID) {
					best = []candidate{one}
				}
				if len(best) > 0 && best[0].hard == 0 {
					return best
				}
			}
		}
	}
	return best
}

// at is a reading of a callout at a place. ok is false where it would be asked about for what it sounds like.
func (w *writer) at(c *rules.CalloutState, name *parse.Name, p *rules.PlaceState, v *big.Rat) (one candidate, ok bool) {
	value, ok := say.Exact(v)
	if !ok {
		return candidate{}, false
	}
	said := say.Quantity(value, c.Unit)
	one = candidate{text: w.head(name, p.At) + " " + said, unit: c.Unit, hard: hardness(said)}
	if p.Limits == "" {
		one.hard++ // any value would do: it is not what the trade would say
	}
	return one, !judge.HasTwin(strings.ReplaceAll(one.text, "-", " "))
}

// hardness of a value: a ten with a digit sounds like few others, and what is longer is misread by more people.
func hardness(said string) int {
	switch {
	case strings.Contains(said, "point"), strings.Contains(said, "hundred"), strings.Contains(said, "thousand"):
		return 2
	case !strings.Contains(said, "-"):
		return 1
	}
	return 0
}

// inside returns a few numbers between two, in steps of one or a part of it, the one in the middle first; none where an end
// is open.
func inside(least, most *big.Rat, per int64) (out []*big.Rat) {
	if least == nil || most == nil {
		return nil
	}
	middle := new(big.Rat).Add(least, most)
	middle.Mul(middle, big.NewRat(per, 2))
	near := new(big.Int).Quo(middle.Num(), middle.Denom()).Int64()
	const around = 6
	for off := range int64(around) {
		for _, k := range []int64{near + off, near - off} {
			v := big.NewRat(k, per)
			if k > 0 && v.Cmp(least) >= 0 && v.Cmp(most) <= 0 {
				out = append(out, v)
			}
		}
	}
	return out
}

// head says a callout at a place, axis by axis: "tie rod two pass three".
func (w *writer) head(name *parse.Name, at parse.Place) string {
	out := []string{name.Say[0]}
	for _, id := range name.Axes {
		i := slices.IndexFunc(w.words.Axes, func(a parse.Axis) bool { return a.ID == id })
		if i < 0 {
			continue
		}
		axis, is := w.words.Axes[i], at.On(id)
		value := is
		if n, err := strconv.ParseInt(is, 10, 64); err == nil {
			value = axis.Say[0] + " " + say.Int(n)
			if len(out) == 1 && (name.Say[0] == axis.Say[0] || strings.HasSuffix(name.Say[0], " "+axis.Say[0])) {
				value = say.Int(n) // "tie rod" takes its number right behind it
			}
		}
		if k := slices.IndexFunc(axis.Values, func(v parse.AxisValue) bool { return v.Value == is && len(v.Say) > 0 }); k >= 0 {
			value = axis.Values[k].Say[0]
		}
		out = append(out, value)
	}
	return strings.Join(out, " ")
}

// holds reports whether a job like this one takes a sentence for one reading of the callout, inside, and asks nothing.
func (w *writer) holds(text, callout string) bool {
	u := parse.Text(text, w.vocabulary, parse.Context{})
	if len(u.Claims) != 1 || len(u.Asks)+len(u.Marks)+len(u.Symptoms) > 0 || len(u.Claims[0].Doubts) > 0 {
		return false
	}
	fresh, err := rules.NewJob(w.job.Spec(), w.job.Options())
	if err != nil {
		return false
	}
	a := fresh.Fold(u)
	return len(a.Readings) == 1 && a.Readings[0].Callout == callout && a.Readings[0].Verdict == rules.In &&
		!slices.ContainsFunc(a.Findings, func(f rules.Finding) bool { return f.Rule == rules.RuleAsk })
}

// mark is what confirms a callout, none where its name alone does not.
func (w *writer) mark(name *parse.Name) []candidate {
	u := parse.Text(name.Say[0], w.vocabulary, parse.Context{})
	if len(u.Marks) != 1 || u.Marks[0].Callout != name.Callout || len(u.Asks)+len(u.Claims) > 0 {
		return nil
	}
	return []candidate{{text: name.Say[0]}}
}
