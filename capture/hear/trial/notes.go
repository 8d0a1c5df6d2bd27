// Package trial tries hearing: it composes notes, has them spoken by synthetic voices, lays the
// noises of a shop over them, and counts what comes of them. Everything is made from seeds. Only
// test files import it.
package trial

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/parse/symptom"
	"readback/parse/unit"
	"readback/rules"
)

// speaker composes notes of a job as they are spoken: in words alone.
type speaker struct {
	*rand.Rand
	job   *rules.Job
	words parse.Words
	names []parse.Name // each as often as it has places
}

// places counts the places of a callout.
func (s *speaker) places(n *parse.Name) int {
	count := 1
	for _, id := range n.Axes {
		i := slices.IndexFunc(s.words.Axes, func(a parse.Axis) bool { return a.ID == id })
		count *= len(s.words.Axes[i].Values)
	}
	return count
}

// Notes composes n notes for a job: of each callout as many as the job has places for it, readings
// at values near their limits, with corrections, questions, commands and what was found worn between
// them.
func Notes(job *rules.Job, seed uint64, n int) []string {
	s := &speaker{Rand: rand.New(rand.NewPCG(seed, 3)), job: job, words: job.Words()} //nolint:gosec // repeatable is what it has to be
	for _, name := range s.words.Names {
		for range s.places(&name) {
			s.names = append(s.names, name)
		}
	}
	var out []string
	for len(out) < n {
		if text := s.note(); text != "" && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out
}

func (s *speaker) one(choices ...string) string { return choices[s.IntN(len(choices))] }

var talk = []string{
	"what's next", "read that back", "scratch that", "why", "where are we", "same again", "say again",
	"on wrench seven", "on wrench four", "what's still open", "yes", "no", "stand by", "what's left",
}

func (s *speaker) note() string {
	n := s.names[s.IntN(len(s.names))]
	switch {
	case s.IntN(10) == 0:
		return s.one(talk...)
	case s.IntN(15) == 0:
		return s.symptom()
	case n.Derived || n.Kind == parse.Detail:
		return ""
	case n.Kind == parse.Reading:
		return s.reading(&n)
	case n.Kind == parse.Part:
		return s.join(s.one(n.Choices[s.IntN(len(n.Choices))].Is), n.Say[0], s.place(&n))
	}
	return s.join(n.Say[0], s.place(&n))
}

// symptom says what was found: "thrust washer badly scored on the inlet side".
func (s *speaker) symptom() string {
	parts, wrong := symptom.Parts(), symptom.Conditions()
	degree, where := "", ""
	if s.IntN(3) == 0 {
		degree = s.one(symptom.Degrees()...)
	}
	if s.IntN(3) == 0 {
		where = s.one("on the inlet side", "at the drive end", "on the edge", "at the bottom")
	}
	said := wrong[s.IntN(len(wrong))].Say
	return s.join(s.one(parts[s.IntN(len(parts))].ID), degree, said[s.IntN(min(2, len(said)))], where)
}

func (s *speaker) join(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), " ")
}

// place says a place of a callout, axis by axis.
func (s *speaker) place(n *parse.Name) string {
	var out []string
	for _, id := range n.Axes {
		i := slices.IndexFunc(s.words.Axes, func(a parse.Axis) bool { return a.ID == id })
		axis := s.words.Axes[i]
		v := axis.Values[s.IntN(len(axis.Values))]
		if len(v.Say) > 0 {
			out = append(out, v.Say[0])
			continue
		}
		k, _ := strconv.Atoi(v.Value)
		out = append(out, axis.Say[0]+" "+inWords(k))
	}
	return strings.Join(out, " ")
}

// reading says a reading of a callout at a value that it may have.
func (s *speaker) reading(n *parse.Name) string {
	value, code := s.value(n)
	u, ok := unit.Lookup(code)
	if !ok {
		return ""
	}
	name, place := n.Say[0], s.place(n)
	before := place
	for _, a := range s.words.Axes { // "tie rod" takes its number right behind it
		if len(n.Axes) > 0 && a.ID == n.Axes[0] && strings.HasSuffix(name, " "+a.Say[0]) {
			place = strings.TrimPrefix(place, a.Say[0]+" ")
		}
	}
	spoken := value + " " + u.Many
	switch s.IntN(8) {
	case 0:
		return s.join(before, name, spoken)
	case 1:
		return s.join(name, place, "is", spoken)
	case 2:
		return s.join("correction", name, place, spoken)
	}
	return s.join(name, place, spoken)
}

// value says a number that a reading may be, and its unit.
func (s *speaker) value(n *parse.Name) (said, code string) {
	low, high := 1.0, 90.0
	for _, c := range s.job.State() {
		if c.ID != n.Callout {
			continue
		}
		i := slices.IndexFunc(s.job.Spec().Callouts, func(x rules.Callout) bool { return x.ID == c.ID })
		if p := s.job.Spec().Callouts[i].Plausible; p != nil && p.Min != nil && p.Max != nil {
			low, _ = p.Min.Rat().Float64()
			high, _ = p.Max.Rat().Float64()
		}
		if _, err := fmt.Sscanf(c.Places[s.IntN(len(c.Places))].Limits, "%f to %f", &low, &high); err == nil {
			low, high = low-(high-low)/2, high+(high-low)/2
		}
	}
	x := max(low+s.Float64()*(high-low), 0)
	switch {
	case high <= 2:
		return decimal(x, 2), n.Unit
	case high <= 20 || s.IntN(3) == 0:
		return decimal(x, 1), n.Unit
	}
	return decimal(x, 0), n.Unit
}

var ones = strings.Fields("zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")

var tens = strings.Fields("_ _ twenty thirty forty fifty sixty seventy eighty ninety")

// inWords says a whole number below a thousand.
func inWords(n int) string {
	switch {
	case n < 20:
		return ones[n]
	case n < 100 && n%10 == 0:
		return tens[n/10]
	case n < 100:
		return tens[n/10] + " " + ones[n%10]
	case n%100 == 0:
		return ones[n/100%10] + " hundred"
	}
	return ones[n/100%10] + " hundred and " + inWords(n%100)
}

// decimal says a number with so many places.
func decimal(x float64, places int) string {
	whole, part, _ := strings.Cut(strconv.FormatFloat(x, 'f', places, 64), ".")
	n, _ := strconv.Atoi(whole)
	text := inWords(n % 1000)
	if part == "" {
		return text
	}
	text += " point"
	for _, d := range part {
		text += " " + ones[d-'0']
	}
	return text
}

// Chatter is what is said in a shop and is no note.
var Chatter = []string{
	"did anybody see the delivery note for the crate by the door", "we could do with another pallet truck over here",
	"he said that they would ring back before lunch", "put the kettle on would you", "mind your back I am coming through with the trolley",
	"is that the radio or the compressor", "the van is in for its service until friday", "I left my gloves on top of the cabinet",
	"they want it painted the same blue as the last one", "who took the good broom again", "my daughter has her driving test tomorrow",
	"there is a draught from that window", "can you sign for the parcel please", "it was raining when I came in this morning",
	"the forklift needs charging tonight", "has the office sent the paperwork down yet", "two sugars and plenty of milk",
	"we should order more rags and some soap", "that one goes back to the customer on the lorry", "hold the door for me will you",
	"the football was terrible last night", "tell them that it will be ready when it is ready", "I cannot hear a word that you are saying",
	"somebody parked across the gate again",
}
