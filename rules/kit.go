package rules

import (
	"errors"
	"fmt"
	"math/big"
	"strconv"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// KitLine is how many of an item a job needs.
type KitLine struct {
	Say  string `json:"say"` // "collar nuts", in the number that Many calls for
	Many int    `json:"many"`
}

// Kit lists what the job needs, in the order of the spec. What it needs none of is left
// out.
func (j *Job) Kit() []KitLine {
	out := []KitLine{}
	for i := range j.spec.Kit {
		it := &j.spec.Kit[i]
		if n := j.count(it); n == 1 && it.One != "" {
			out = append(out, KitLine{it.One, 1})
		} else if n > 0 {
			out = append(out, KitLine{it.Say, n})
		}
	}
	return out
}

var errNoNumber = errors.New("the option is no number")

// count returns how many of an item the options call for.
func (j *Job) count(it *Item) int {
	if !hold(it.When, j.options) {
		return 0
	}
	if it.Many == nil {
		return 1
	}
	n, err := it.Many.Eval(func(name string) (*big.Rat, error) {
		k, err := strconv.Atoi(j.options[name])
		if err != nil {
			return nil, errNoNumber
		}
		return big.NewRat(int64(k), 1), nil
	})
	if err != nil || !n.IsInt() || !n.Num().IsInt64() {
		return 0
	}
	return int(n.Num().Int64())
}

// sayNeed speaks what the job needs; of what the words name, where they name something.
func (j *Job) sayNeed(words []string) string {
	if lines, known := j.kitOf(words); known {
		return sayKit(lines, words)
	}
	switch all := j.Kit(); {
	case len(all) == 0:
		return "The spec has no list of what is needed."
	case len(words) > 0:
		return "The list of what this job needs has no " + strings.Join(words, " ") + "."
	default:
		return sayKit(all, nil)
	}
}

// kitOf returns the lines of the kit that all of the words are in; known is true where the list has
// such an item at all, if not for this job.
func (j *Job) kitOf(words []string) (lines []KitLine, known bool) {
	if len(words) == 0 {
		return nil, false
	}
	for i := range j.spec.Kit {
		known = known || saysAll(nouns(j.spec.Kit[i].Say), words)
	}
	for _, l := range j.Kit() {
		if saysAll(nouns(l.Say), words) {
			lines = append(lines, l)
		}
	}
	return lines, known
}

// nouns cuts what is said of an item into words: "o-ring sets" is o, ring and sets.
func nouns(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '-' })
}

func sayKit(lines []KitLine, words []string) string {
	if len(lines) == 0 {
		return "This job needs no " + strings.Join(words, " ") + "."
	}
	var parts []string
	for _, l := range lines {
		parts = append(parts, say.Int(int64(l.Many))+" "+l.Say)
	}
	return "This job needs " + say.List(parts, "and") + "."
}

// sayCount speaks how many there are: places of an axis, or of what the kit lists.
func (j *Job) sayCount(q *parse.Query) string {
	for _, a := range j.spec.Axes {
		if a.ID != q.Axis || len(q.Words) > 1 {
			continue
		}
		n := len(j.axisValues(a))
		words := a.ID + "s"
		if n == 1 {
			words = a.ID
		}
		return fmt.Sprintf("This job has %s %s.", say.Int(int64(n)), words)
	}
	if lines, known := j.kitOf(q.Words); known {
		return sayKit(lines, q.Words)
	}
	return noAnswer
}

// sayWhy speaks what the last finding says and where the manual says it.
func (j *Job) sayWhy() string {
	f := j.raised
	if f == nil {
		return "Nothing was found wrong yet."
	}
	text := f.Text + "."
	if l := j.byID[f.Callout]; l != nil && l.Source != "" {
		text += " Source: " + l.Source + "."
	}
	for _, open := range j.Open() {
		if open.key() == f.key() {
			return text
		}
	}
	return text + " It is closed."
}
