package grammar

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// node is a piece of a grammar. The zero node says nothing and is left out wherever it stands.
type node struct {
	kind kind
	text string  // of a word, or the name of a rule
	kids []node  // of a row, a choice, a loop
	at   float64 // weight among the alternatives of a choice; 0 counts as 1
}

type kind uint8

const (
	nothing kind = iota
	word
	rule   // the rule of that name
	row    // one behind the other
	choice // one of them
	loop   // none, one or several times
	null   // an alternative that says nothing
)

func (n node) empty() bool { return n.kind == nothing }

// likely gives a piece a weight among the alternatives beside it.
func (n node) likely(weight float64) node {
	n.at = weight
	return n
}

// seq is pieces one behind the other.
func seq(kids ...node) node {
	kids = slices.DeleteFunc(slices.Clone(kids), node.empty)
	if len(kids) < 2 {
		return first(kids)
	}
	return node{kind: row, kids: kids}
}

// alt is one of the pieces.
func alt(kids ...node) node {
	kids = slices.DeleteFunc(slices.Clone(kids), node.empty)
	if len(kids) < 2 {
		return first(kids)
	}
	return node{kind: choice, kids: kids}
}

func first(kids []node) node {
	if len(kids) == 0 {
		return node{}
	}
	return kids[0]
}

// opt is the piece or nothing, the one as likely as the other.
func opt(n node) node { return maybe(0.5, n) }

// maybe is the piece with this share, and nothing else with the rest.
func maybe(share float64, n node) node {
	if n.empty() {
		return n
	}
	return alt(nullAt(1-share), n.likely(share))
}

// often is the piece any number of times.
func often(n node) node {
	if n.empty() {
		return n
	}
	return node{kind: loop, kids: []node{n}}
}

// ruleset is a grammar being made.
type ruleset struct {
	names []string // in the order in which they were made
	body  map[string]node
	power float64 // of likelihoods as they are written: 0 counts as [strength]
}

// add makes a rule and returns a reference to it. A rule that would say nothing is none, and its
// reference says nothing.
func (r *ruleset) add(name string, n node) node {
	if n.empty() {
		return node{}
	}
	if _, ok := r.body[name]; !ok {
		r.names = append(r.names, name)
	}
	r.body[name] = n
	return node{kind: rule, text: name}
}

// ref returns a reference to a rule that was made, nothing where it was not.
func (r *ruleset) ref(name string) node {
	if _, ok := r.body[name]; !ok {
		return node{}
	}
	return node{kind: rule, text: name}
}

// write writes the rules that the public one reaches. Rules stand before those that use them.
func (r *ruleset) write(public string) string {
	power := cmp.Or(r.power, strength)
	used := map[string]bool{}
	var mark func(n node)
	mark = func(n node) {
		if n.kind == rule && !used[n.text] {
			used[n.text] = true
			mark(r.body[n.text])
		}
		for _, k := range n.kids {
			mark(k)
		}
	}
	mark(r.ref(public))
	var b strings.Builder
	b.WriteString("#JSGF V1.0;\ngrammar readback;\n")
	for _, name := range r.names {
		if !used[name] {
			continue
		}
		if name == public {
			b.WriteString("public ")
		}
		fmt.Fprintf(&b, "<%s> = ", name)
		write(&b, r.body[name], true, power)
		b.WriteString(";\n")
	}
	return b.String()
}

// write writes a piece; bare is true where a choice needs no brackets.
func write(b *strings.Builder, n node, bare bool, power float64) {
	switch n.kind {
	case nothing, null:
		b.WriteString("<NULL>")
	case word:
		b.WriteString(n.text)
	case rule:
		b.WriteString("<" + n.text + ">")
	case row:
		for i, k := range n.kids {
			if i > 0 {
				b.WriteByte(' ')
			}
			write(b, k, false, power)
		}
	case choice:
		if !bare {
			b.WriteByte('(')
		}
		writeChoice(b, n.kids, power)
		if !bare {
			b.WriteByte(')')
		}
	case loop:
		b.WriteByte('(')
		write(b, n.kids[0], true, power)
		b.WriteString(")*")
	}
}

// strength is the power that likelihoods of notes are raised to when they are written. The recogniser adds
// their logarithms to how well the sound fits as they are, which is next to nothing beside it: its
// own setting for that does not touch a grammar of this kind. With none, any short sentence of small
// words was heard in noise; with more, what is rare is not heard where it is said.
const strength = 10

// spelled is the strength where numbers are spelt sign by sign: what is likely among them was guessed,
// not counted.
const spelled = 3

// least is the smallest weight: the recogniser has no room for much smaller ones.
const least = 1e-20

// writeChoice writes alternatives, each with its likelihood, raised to a power.
func writeChoice(b *strings.Builder, kids []node, power float64) {
	sum := 0.0
	for _, k := range kids {
		sum += weight(k)
	}
	for i, k := range kids {
		if i > 0 {
			b.WriteString(" | ")
		}
		b.WriteString("/" + raised(weight(k)/sum, power) + "/ ")
		write(b, k, false, power)
	}
}

// raised writes a likelihood to that power.
func raised(likelihood, power float64) string {
	return decimal(max(math.Pow(likelihood, power), least))
}

// decimal writes a weight to three digits, without an exponent, which a grammar has no sign for.
func decimal(x float64) string {
	places := 2 - int(math.Floor(math.Log10(x)))
	return strings.TrimRight(strings.TrimRight(strconv.FormatFloat(x, 'f', places, 64), "0"), ".")
}

func weight(n node) float64 {
	if n.at <= 0 {
		return 1
	}
	return n.at
}

// phrases is one of the phrases, each a row of words. What begins alike shares its words, so
// that the net stays small; all are as likely as each other.
func phrases(list [][]string) node {
	ends := false
	var heads []string
	tails := map[string][][]string{}
	for _, p := range list {
		if len(p) == 0 {
			ends = true
			continue
		}
		if tails[p[0]] == nil {
			heads = append(heads, p[0])
		}
		tails[p[0]] = append(tails[p[0]], p[1:])
	}
	var kids []node
	for _, h := range heads {
		k := seq(node{kind: word, text: h}, phrases(tails[h]))
		kids = append(kids, k.likely(float64(len(tails[h]))))
	}
	if ends && len(kids) > 0 {
		kids = append(kids, nullAt(1))
	}
	return alt(kids...)
}

// nullAt is an alternative that says nothing.
func nullAt(weight float64) node { return node{kind: null, at: weight} }
