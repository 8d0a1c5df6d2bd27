package grammar_test

import (
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// expr is a piece of a grammar as these tests read it, from its text alone.
type expr struct {
	word, ref string
	row       []*expr   // one behind the other
	choice    []*expr   // one of them
	weights   []float64 // of choice; 0 where none is written
	optional  bool      // of a row: or nothing
	star      bool      // of a row: any number of times
}

// jsgf is a grammar that was read.
type jsgf struct {
	public string
	names  []string
	rules  map[string]*expr
}

// readJSGF reads a grammar. What is no grammar, a rule that is used and not made, one that uses
// itself and weights that do not add up are faults of the test.
func readJSGF(t testing.TB, text string) *jsgf {
	t.Helper()
	lines := strings.Split(strings.TrimSpace(text), "\n")
	if len(lines) < 3 || lines[0] != "#JSGF V1.0;" || !strings.HasPrefix(lines[1], "grammar ") {
		t.Fatalf("no grammar: %.80q", text)
	}
	g := &jsgf{rules: map[string]*expr{}}
	for _, line := range lines[2:] {
		head, body, ok := strings.Cut(line, " = ")
		name, public := strings.CutPrefix(head, "public ")
		if !ok || !strings.HasPrefix(name, "<") || !strings.HasSuffix(name, ">") || !strings.HasSuffix(body, ";") {
			t.Fatalf("no rule: %.120q", line)
		}
		name = name[1 : len(name)-1]
		if public {
			g.public = name
		}
		p := &jsgfReader{t: t, toks: jsgfTokens(strings.TrimSuffix(body, ";"))}
		e := p.choice()
		if p.at != len(p.toks) {
			t.Fatalf("rule %s: %q is left over", name, p.toks[p.at:])
		}
		if g.rules[name] != nil {
			t.Fatalf("rule %s is made twice", name)
		}
		g.rules[name], g.names = e, append(g.names, name)
	}
	if g.public == "" {
		t.Fatal("no public rule")
	}
	g.noCircle(t, g.public, nil)
	return g
}

func (g *jsgf) noCircle(t testing.TB, name string, above []string) {
	t.Helper()
	if slices.Contains(above, name) {
		t.Fatalf("rule %s uses itself: %v", name, above)
	}
	if g.rules[name] == nil {
		t.Fatalf("rule %s is used in %v and not made", name, above)
	}
	seen := map[string]bool{}
	g.rules[name].each(func(e *expr) {
		if e.ref != "" && !seen[e.ref] {
			seen[e.ref] = true
			g.noCircle(t, e.ref, append(slices.Clone(above), name))
		}
	})
}

func (e *expr) each(f func(*expr)) {
	f(e)
	for _, k := range slices.Concat(e.row, e.choice) {
		k.each(f)
	}
}

func jsgfTokens(s string) []string {
	for _, sign := range []string{"(", ")", "[", "]", "|", "*"} {
		s = strings.ReplaceAll(s, sign, " "+sign+" ")
	}
	return strings.Fields(s)
}

type jsgfReader struct {
	t    testing.TB
	toks []string
	at   int
}

func (p *jsgfReader) next() string {
	if p.at < len(p.toks) {
		return p.toks[p.at]
	}
	return ""
}

func (p *jsgfReader) choice() *expr {
	e := &expr{}
	sum, weighted := 0.0, false
	for {
		w := 0.0
		if f := p.next(); len(f) > 2 && f[0] == '/' && f[len(f)-1] == '/' {
			var err error
			if w, err = strconv.ParseFloat(f[1:len(f)-1], 64); err != nil || w <= 0 || w > 1 {
				p.t.Fatalf("weight %s: %v", f, err)
			}
			p.at, weighted = p.at+1, true
		}
		sum += w
		e.choice, e.weights = append(e.choice, p.sequence()), append(e.weights, w)
		if p.next() != "|" {
			break
		}
		p.at++
	}
	if weighted && sum > 1.001 {
		p.t.Fatalf("weights add up to %v in %q", sum, p.toks)
	}
	if len(e.choice) == 1 {
		return e.choice[0]
	}
	return e
}

func (p *jsgfReader) sequence() *expr {
	e, null := &expr{}, false
	for {
		switch f := p.next(); f {
		case "", "|", ")", "]":
			if len(e.row) == 0 && !null {
				p.t.Fatalf("an alternative holds nothing in %q", p.toks)
			}
			return e
		case "(", "[":
			p.at++
			inner := p.choice()
			if end := p.next(); end != map[string]string{"(": ")", "[": "]"}[f] {
				p.t.Fatalf("bracket %s is closed by %q", f, end)
			}
			p.at++
			k := &expr{row: []*expr{inner}, optional: f == "["}
			if p.next() == "*" {
				k.star = true
				p.at++
			}
			e.row = append(e.row, k)
		default:
			p.at++
			switch {
			case f == "<NULL>":
				null = true
			case strings.HasPrefix(f, "<"):
				e.row = append(e.row, &expr{ref: strings.Trim(f, "<>")})
			default:
				e.row = append(e.row, &expr{word: f})
			}
		}
	}
}

// net is the grammar with every rule copied where it is used, as the recogniser has it.
type net struct {
	words  []map[string][]int // of a state: where its words lead
	empty  [][]int            // where it goes without a word
	arcs   int
	end    int
	byRule map[string]int // arcs in all copies of a rule, rules inside it with it
}

func (g *jsgf) net() *net {
	n := &net{byRule: map[string]int{}}
	start := n.state()
	n.end = n.state()
	n.add(g, &expr{ref: g.public}, start, n.end)
	return n
}

func (n *net) state() int {
	n.words, n.empty = append(n.words, nil), append(n.empty, nil)
	return len(n.words) - 1
}

func (n *net) add(g *jsgf, e *expr, from, to int) {
	switch {
	case e.word != "":
		if n.words[from] == nil {
			n.words[from] = map[string][]int{}
		}
		n.words[from][e.word] = append(n.words[from][e.word], to)
		n.arcs++
	case e.ref != "":
		before := n.arcs
		n.add(g, g.rules[e.ref], from, to)
		n.byRule[e.ref] += n.arcs - before
	case len(e.choice) > 0:
		for _, k := range e.choice {
			n.add(g, k, from, to)
		}
	case e.star:
		mid := n.state()
		n.empty[from], n.empty[mid] = append(n.empty[from], mid), append(n.empty[mid], to)
		n.add(g, &expr{row: e.row}, mid, mid)
	default:
		at := from
		for i, k := range e.row {
			next := to
			if i+1 < len(e.row) {
				next = n.state()
			}
			n.add(g, k, at, next)
			at = next
		}
		if e.optional || len(e.row) == 0 {
			n.empty[from] = append(n.empty[from], to)
		}
	}
}

// accepts reports whether the grammar holds the sentence, and else how many of its words it holds.
func (n *net) accepts(sentence string) (ok bool, upTo int) {
	now := n.closed(map[int]bool{0: true})
	words := strings.Fields(sentence)
	for i, w := range words {
		next := map[int]bool{}
		for s := range now {
			for _, to := range n.words[s][w] {
				next[to] = true
			}
		}
		if len(next) == 0 {
			return false, i
		}
		now = n.closed(next)
	}
	return now[n.end], len(words)
}

func (n *net) closed(states map[int]bool) map[int]bool {
	var todo []int
	for s := range states {
		todo = append(todo, s)
	}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, to := range n.empty[s] {
			if !states[to] {
				states[to], todo = true, append(todo, to)
			}
		}
	}
	return states
}

// drawn is a sentence that was drawn from a grammar.
type drawn struct {
	words []string
	rules []span // the rules that made it, outer before inner
}

// span is the words that a rule made.
type span struct {
	rule     string
	from, to int
}

func (d *drawn) String() string { return strings.Join(d.words, " ") }

// of returns the words that the rules of that name made, and those whose name begins so where it
// ends in _.
func (d *drawn) of(name string) (out []span) {
	for _, s := range d.rules {
		if s.rule == name || strings.HasSuffix(name, "_") && strings.HasPrefix(s.rule, name) {
			out = append(out, s)
		}
	}
	return out
}

// draw draws a sentence from a rule, all alternatives alike.
func (g *jsgf) draw(r *rand.Rand, name string) *drawn {
	d := &drawn{}
	g.drawn(r, &expr{ref: name}, d)
	return d
}

func (g *jsgf) drawn(r *rand.Rand, e *expr, d *drawn) {
	switch {
	case e.word != "":
		d.words = append(d.words, e.word)
	case e.ref != "":
		at := len(d.rules)
		d.rules = append(d.rules, span{e.ref, len(d.words), 0})
		g.drawn(r, g.rules[e.ref], d)
		d.rules[at].to = len(d.words)
	case len(e.choice) > 0:
		g.drawn(r, e.choice[r.IntN(len(e.choice))], d)
	default:
		times := 1
		switch {
		case e.star:
			times = max(0, r.IntN(4)-1)
		case e.optional:
			times = r.IntN(2)
		}
		for range times {
			for _, k := range e.row {
				g.drawn(r, k, d)
			}
		}
	}
}
