package bench_test

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"readback/parse"
	"readback/parse/parsetest"
	"readback/parse/unit"
	"readback/rules"
)

// sentence is a note that says readings, and what they are: "callout place size".
type sentence struct {
	said  string
	means []string
}

// sentences composes notes of names, places, numbers and units in the orders that people use.
type sentences struct {
	parsetest.Speaker
	words parse.Words
	names []parse.Name
	units map[string][]parsetest.UnitForm
}

func newSentences(t *testing.T, j *rules.Job, seed uint64) *sentences {
	t.Helper()
	s := &sentences{Speaker: parsetest.Speaker{Rand: rand.New(rand.NewPCG(seed, 7))}, words: j.Words(), units: map[string][]parsetest.UnitForm{}}
	s.names, _ = own(j)
	for _, n := range s.names {
		u, _ := unit.Lookup(n.Unit)
		s.units[n.Callout] = parsetest.UnitForms(u.Dimension)
	}
	return s
}

var nth = strings.Fields("zeroth first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth")

// index says a place on an axis: "stage three", "third stage", "stage 3".
func (s *sentences) index(id string) (said, value string) {
	axis := s.words.Axes[slices.IndexFunc(s.words.Axes, func(a parse.Axis) bool { return a.ID == id })]
	k := s.IntN(len(axis.Values))
	v := axis.Values[k]
	word := axis.Say[0]
	if len(v.Say) > 0 {
		return s.One(v.Say[0], v.Say[0], word+" "+v.Say[0]), v.Value
	}
	n, _ := strconv.ParseInt(v.Value, 10, 64) // else there were words for it
	if k > 11 {
		return word + " " + v.Value, v.Value
	}
	return s.One(word+" "+s.Integer(n), word+" "+s.Integer(n), nth[n]+" "+word, word+" "+v.Value, word+" number "+s.Integer(n)), v.Value
}

// reading says one reading.
func (s *sentences) reading(t *testing.T) sentence {
	t.Helper()
	n := s.names[s.IntN(len(s.names))]
	name := n.Say[s.IntN(len(n.Say))]
	var places, at []string
	for _, id := range n.Axes {
		said, value := s.index(id)
		places, at = append(places, said), append(at, id+"="+value)
	}
	if len(places) == 2 && s.IntN(3) == 0 {
		places[0], places[1] = places[1], places[0]
	}
	form := s.units[n.Callout][s.IntN(len(s.units[n.Callout]))]
	said, value, of := s.Number()
	if of {
		u, _ := unit.Lookup(n.Unit)
		if u.Dimension != unit.Length {
			value, said = big.NewRat(48, 1), "forty eight"
		} else {
			form, said = parsetest.UnitForm{Say: "inch", Codes: []string{"[in_i]"}}, said+" of an"
		}
	}
	amount, where := said+" "+form.Say, strings.Join(places, " ")
	if where == "" {
		where, amount = "here", s.One("is ", "at ")+amount
	}
	var means []string
	for _, code := range form.Codes {
		place := strings.Join(at, ",")
		if place == "" {
			place = "-"
		}
		means = append(means, fmt.Sprintf("%s %s %s", n.Callout, place, size(t, value.RatString(), code)))
	}
	said = s.One(
		name+" "+where+" "+amount, where+" "+name+" "+amount, amount+" on "+name+" "+where, name+" on "+where+" is "+amount,
		name+" "+where+", "+amount, "got "+amount+" on the "+name+" "+where, name+" "+where+" reads "+amount, where+" "+name+" came in at "+amount,
		"that's "+amount+" for "+name+" "+where, name+" for "+where+" "+amount,
	)
	return sentence{strings.ReplaceAll(strings.ReplaceAll(said, "on here", ""), "here", ""), means}
}

// TestComposedSentencesAreNeverMisread says composed notes, each to a new bench, one reading or two
// in a note. What is recorded is among what was meant, or nothing is.
func TestComposedSentencesAreNeverMisread(t *testing.T) {
	shop := demo(t, map[string]string{"base": "long", "stages": "9", "cut_impellers": "2", "rebuild": "yes"})
	job, err := rules.NewJob(shop.spec, shop.options)
	if err != nil {
		t.Fatal(err)
	}
	s, total, exact, misread := newSentences(t, job, 13), 30_000, 0, 0
	if testing.Short() || raced {
		total = 3_000
	}
	for range total {
		one := s.reading(t)
		said, means := one.said, one.means
		want := 1
		if s.IntN(4) == 0 {
			two := s.reading(t)
			said, means, want = said+s.One(" and ", ", ", " then ")+two.said, append(means, two.means...), 2
		}
		said = s.One("", "", "", "um ", "okay ", "right so ") + said + s.One("", "", "", " lovely", " no bother")
		_, a := shop.open(t).Say(said)
		got := recorded(t, a)
		if len(got) == want {
			exact++
		}
		for _, r := range got {
			r = r[:strings.LastIndexByte(r, ' ')] // the verdict is the rules' own
			if !slices.Contains(means, r) {
				if misread++; misread < 40 {
					t.Errorf("%q records %s, want one of %q", said, r, means)
				}
			}
		}
	}
	t.Logf("%d of %d composed notes are recorded whole, %d readings are misread", exact, total, misread)
}
