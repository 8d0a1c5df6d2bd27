package sphinx

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"readback/capture/hear"
)

// Net is a grammar written out as a net of words, with how each word sounds: what a [Decoder] listens
// for.
//
// The library could read the grammar by itself. But of all words that lead to a state it takes a single
// one to say how the next word begins: "six newton" is scored as if "six" were "three" where that may
// stand too, and no score compares with that of another grammar. In this net all words that lead to a
// state end in the same sound. That costs arcs, and so memory: states that many words follow are left
// as they are, where the next word is told by much more than how it begins.
type Net struct {
	text []byte // as the library reads it
	Arcs int    // words in it: about 2 kB of memory each, once it is set
}

// fewFollow is how many words may follow a state that is parted.
const fewFollow = 40

// NewNet checks a grammar in JSGF and makes its net. sounds are the pronunciations of the decoder's
// dictionary: ARPAbet by word, variants as word(2). Errors wrap [hear.ErrGrammar].
func NewNet(jsgf string, sounds map[string]string) (*Net, error) {
	return makeNet(jsgf, waysOf(sounds))
}

func makeNet(jsgf string, ways map[string][]said) (*Net, error) {
	if err := CheckGrammar(jsgf, func(word string) bool { return ways[word] != nil }); err != nil {
		return nil, err
	}
	g := rulesOf(jsgf)
	n := &net{}
	start, end := n.state(), n.state()
	n.ends[end] = 0
	if err := g.lay(n, g.rules[g.public], start, end); err != nil {
		return nil, err
	}
	return n.words().least().parted(ways, fewFollow).write(), nil
}

// scoreLog is what one of a score is worth: the library counts in logarithms to the base of 1.0001, of which it drops the
// last ten bits.
var scoreLog = 1024 * math.Log(1.0001)

// mostHandicap is the greatest that [likelihood] can still write.
const mostHandicap = 600

// onlyNet makes the net of some sentences and nothing else. What is taken off for their words is in their scores already.
func onlyNet(sentences []string, ways map[string][]said) (*Net, error) {
	n := &net{}
	n.state()
	for _, s := range sentences {
		s, less := hear.Handicapped(s)
		words := strings.Fields(s)
		switch {
		case len(words) == 0:
			return nil, fmt.Errorf("%w: a sentence has no words", hear.ErrGrammar)
		case less < 0 || less > mostHandicap:
			return nil, fmt.Errorf("%w: the handicap of %q is %d: give 0 to %d", hear.ErrGrammar, s, less, mostHandicap)
		}
		at := 0
		for _, w := range words {
			switch {
			case !isWord(w):
				return nil, fmt.Errorf("%w: %q is no word: small letters and apostrophes only", hear.ErrGrammar, w)
			case ways[w] == nil:
				return nil, fmt.Errorf("%w: the word %q has no pronunciation", hear.ErrGrammar, w)
			}
			at = n.step(at, w)
		}
		n.ends[at] = max(n.ends[at], float64(-less)*scoreLog)
	}
	return n.least().parted(ways, math.MaxInt).write(), nil
}

// step returns where a word leads from a state, to a new one where it led nowhere.
func (n *net) step(from int, word string) int {
	for _, a := range n.arcs[from] {
		if a.word == word {
			return a.to
		}
	}
	to := n.state()
	n.add(from, to, word, 0)
	return to
}

// arc leads to a state by a word, or by nothing.
type arc struct {
	to   int
	word string
	log  float64 // of its likelihood
}

// net is a net of words. State 0 is where it starts.
type net struct {
	arcs [][]arc
	ends []float64 // by state: the logarithm of ending there, -Inf for none
}

func (n *net) state() int {
	n.arcs, n.ends = append(n.arcs, nil), append(n.ends, math.Inf(-1))
	return len(n.arcs) - 1
}

func (n *net) add(from, to int, word string, log float64) {
	n.arcs[from] = append(n.arcs[from], arc{to, word, log})
}

// lay lays a piece between two states.
func (g *grammar) lay(n *net, p piece, from, to int) error {
	if len(n.arcs) > mostNodes {
		return fmt.Errorf("%w: it holds more than %d words with every rule in it written out", hear.ErrGrammar, mostNodes)
	}
	switch {
	case p.word != "":
		n.add(from, to, p.word, 0)
		return nil
	case p.rule != "":
		return g.lay(n, g.rules[p.rule], from, to)
	case p.loop:
		return g.layLoop(n, p, from, to)
	case len(p.choice) > 0:
		return g.layChoice(n, p, from, to)
	case len(p.row) == 0:
		n.add(from, to, "", 0)
		return nil
	}
	for i, k := range p.row {
		next := to
		if i < len(p.row)-1 {
			next = n.state()
		}
		if err := g.lay(n, k, from, next); err != nil {
			return err
		}
		from = next
	}
	return nil
}

func (g *grammar) layLoop(n *net, p piece, from, to int) error {
	at := n.state()
	n.add(from, at, "", 0)
	if p.once {
		next := n.state()
		if err := g.lay(n, p.row[0], at, next); err != nil {
			return err
		}
		at = next
	}
	n.add(at, to, "", 0)
	return g.lay(n, p.row[0], at, at)
}

func (g *grammar) layChoice(n *net, p piece, from, to int) error {
	for i, k := range p.choice {
		at := from
		if p.logs[i] != 0 {
			at = n.state()
			n.add(from, at, "", p.logs[i])
		}
		if err := g.lay(n, k, at, to); err != nil {
			return err
		}
	}
	return nil
}

// words returns the net without arcs that say nothing. Of two ways to the same word the likelier
// stays.
func (n *net) words() *net {
	out := &net{}
	at := map[int]int{0: out.state()}
	for todo := []int{0}; len(todo) > 0; {
		from := todo[0]
		todo = todo[1:]
		best := likeliest{}
		for s, log := range n.silently(from) {
			out.ends[at[from]] = max(out.ends[at[from]], log+n.ends[s])
			for _, a := range n.arcs[s] {
				if a.word != "" {
					best.add(a.to, a.word, log+a.log)
				}
			}
		}
		for _, a := range best.sorted() {
			to, ok := at[a.to]
			if !ok {
				to = out.state()
				at[a.to] = to
				todo = append(todo, a.to)
			}
			out.add(at[from], to, a.word, a.log)
		}
	}
	return out
}

// likeliest is the arcs of a state, by word and the state that they lead to. Of two that are the same the
// likelier stays.
type likeliest map[step]arc

type step struct {
	word string
	to   int
}

func (l likeliest) add(to int, word string, log float64) {
	key := step{word, to}
	if had, ok := l[key]; !ok || log > had.log {
		l[key] = arc{to, word, log}
	}
}

// sorted lists the arcs in an order that does not change from one time to the next.
func (l likeliest) sorted() []arc { return slices.SortedFunc(maps.Values(l), byWord) }

func byWord(a, b arc) int { return cmp.Or(cmp.Compare(a.word, b.word), a.to-b.to) }

// silently returns where one gets without a word, and how likely.
func (n *net) silently(from int) map[int]float64 {
	best := map[int]float64{from: 0}
	for todo := []int{from}; len(todo) > 0; {
		s := todo[0]
		todo = todo[1:]
		for _, a := range n.arcs[s] {
			if a.word != "" {
				continue
			}
			if x, ok := best[a.to]; !ok || best[s]+a.log > x {
				best[a.to] = best[s] + a.log
				todo = append(todo, a.to)
			}
		}
	}
	return best
}

// least merges states from which the same can be said.
func (n *net) least() *net {
	class, classes := make([]int, len(n.arcs)), 1
	for {
		seen := map[string]int{}
		next := make([]int, len(class))
		for s := range n.arcs {
			key := n.signature(s, class)
			c, ok := seen[key]
			if !ok {
				c = len(seen)
				seen[key] = c
			}
			next[s] = c
		}
		class = next
		if len(seen) == classes {
			break
		}
		classes = len(seen)
	}
	out := &net{}
	for range classes {
		out.state()
	}
	done := make([]bool, classes)
	for s, c := range class { // state 0 is of class 0
		if done[c] {
			continue
		}
		done[c] = true
		out.ends[c] = n.ends[s]
		best := likeliest{}
		for _, a := range n.arcs[s] {
			best.add(class[a.to], a.word, a.log)
		}
		out.arcs[c] = best.sorted()
	}
	return out
}

// signature is what can be said from a state, as far as the classes tell.
func (n *net) signature(s int, class []int) string {
	lines := make([]string, 0, len(n.arcs[s])+2)
	for _, a := range n.arcs[s] {
		lines = append(lines, fmt.Sprintf("%s %d %.3f", a.word, class[a.to], a.log))
	}
	slices.Sort(lines)
	return fmt.Sprintf("%d %.3f\n", class[s], n.ends[s]) + strings.Join(slices.Compact(lines), "\n")
}

// said is a way to say a word: its name in the dictionary, as zero(2), and its last sound.
type said struct{ name, last string }

// parted parts each state that so few words follow by the sounds in which the words that lead to it end.
// Each way to say a word becomes an arc of its own.
func (n *net) parted(ways map[string][]said, few int) *net {
	type place struct {
		state int
		sound string
	}
	out := &net{}
	at := map[place]int{{0, ""}: out.state()}
	for todo := []place{{0, ""}}; len(todo) > 0; {
		p := todo[0]
		todo = todo[1:]
		from := at[p]
		out.ends[from] = n.ends[p.state]
		for _, a := range n.arcs[p.state] {
			for _, way := range ways[a.word] {
				next := place{a.to, way.last}
				if follow := len(n.arcs[a.to]); follow == 0 || follow > few {
					next.sound = ""
				}
				to, ok := at[next]
				if !ok {
					to = out.state()
					at[next] = to
					todo = append(todo, next)
				}
				out.add(from, to, way.name, a.log)
			}
		}
	}
	return out
}

// write writes the net as the library reads it.
func (n *net) write() *Net {
	var b bytes.Buffer
	end, count := len(n.arcs), 0
	fmt.Fprintf(&b, "FSG_BEGIN note\nNUM_STATES %d\nSTART_STATE 0\nFINAL_STATE %d\n", end+1, end)
	for s, arcs := range n.arcs {
		count += len(arcs)
		slices.SortFunc(arcs, byWord)
		for _, a := range arcs {
			fmt.Fprintf(&b, "TRANSITION %d %d %s %s\n", s, a.to, likelihood(a.log), a.word)
		}
		if !math.IsInf(n.ends[s], -1) {
			fmt.Fprintf(&b, "TRANSITION %d %d %s\n", s, end, likelihood(n.ends[s]))
		}
	}
	fmt.Fprintln(&b, "FSG_END")
	return &Net{b.Bytes(), count}
}

// likelihood writes one. What could not be told from impossible is written as little likely as it can
// be.
func likelihood(log float64) string {
	return strconv.FormatFloat(max(math.Exp(log), 1e-30), 'g', 6, 64)
}

// waysOf lists the ways to say each word of a dictionary.
func waysOf(sounds map[string]string) map[string][]said {
	out := map[string][]said{}
	for _, name := range slices.Sorted(maps.Keys(sounds)) {
		f := strings.Fields(sounds[name])
		if len(f) > 0 {
			out[base(name)] = append(out[base(name)], said{name, f[len(f)-1]})
		}
	}
	return out
}
