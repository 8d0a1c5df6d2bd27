package sphinx

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/hear"
)

var sounds = map[string]string{
	"one": "W AH N", "two": "T UW", "three": "TH R IY", "six": "S IH K S", "newton": "N UW T AH N",
	"metre": "M IY T ER", "zero": "Z IY R OW", "zero(2)": "Z IH R OW", "nought": "N AO T", "rod": "R AA D", "and": "AE N D", "and(2)": "AH N",
}

func written(t *testing.T, rules string) *net {
	t.Helper()
	jsgf := header + "\ngrammar note;\n" + rules
	ways := waysOf(sounds)
	if err := CheckGrammar(jsgf, func(w string) bool { return ways[w] != nil }); err != nil {
		t.Fatal(err)
	}
	g, n := rulesOf(jsgf), &net{}
	start, end := n.state(), n.state()
	n.ends[end] = 0
	if err := g.lay(n, g.rules[g.public], start, end); err != nil {
		t.Fatal(err)
	}
	return n.words().least().parted(ways, fewFollow)
}

// likely is the likelihood of a sentence, 0 where it cannot be said.
func (n *net) likely(sentence string) float64 {
	at := map[int]float64{0: 0}
	for w := range strings.FieldsSeq(sentence) {
		next := map[int]float64{}
		for s, p := range at {
			for _, a := range n.arcs[s] {
				if base(a.word) != w {
					continue
				}
				if x, ok := next[a.to]; !ok || p+a.log > x {
					next[a.to] = p + a.log
				}
			}
		}
		at = next
	}
	best := math.Inf(-1)
	for s, p := range at {
		best = max(best, p+n.ends[s])
	}
	return math.Exp(best)
}

func TestNetSaysWhatTheGrammarSays(t *testing.T) {
	for _, tt := range []struct {
		rules string
		want  map[string]float64
	}{
		{"public <n> = one;", map[string]float64{"one": 1, "two": 0, "": 0, "one one": 0}},
		{"public <n> = /0.25/ one | /0.75/ two;", map[string]float64{"one": 0.25, "two": 0.75}},
		{"<d> = /0.5/ one | /0.5/ six;\npublic <n> = rod <d> [newton metre];", map[string]float64{"rod six": 0.5, "rod one newton metre": 0.5, "rod newton metre": 0, "rod one newton": 0}},
		{"public <n> = rod (one)*;", map[string]float64{"rod": 1, "rod one": 1, "rod one one one": 1, "one": 0}},
		{"public <n> = rod (one | two)+;", map[string]float64{"rod": 0, "rod one two": 1}},
		{"public <n> = (/0.5/ one | /0.1/ one | /0.4/ two) rod;", map[string]float64{"one rod": 0.5, "two rod": 0.4}},
		{"public <n> = zero rod;", map[string]float64{"zero rod": 1}},
		{"public <n> = (one)* (two)*;", map[string]float64{"": 1, "one two two": 1, "two one": 0}},
	} {
		n := written(t, tt.rules)
		for sentence, want := range tt.want {
			if got := n.likely(sentence); math.Abs(got-want) > 1e-9 {
				t.Errorf("%s: %q is %v likely, want %v", tt.rules, sentence, got, want)
			}
		}
	}
}

// All words that lead to a state which few words follow end in the same sound, and each way to say a
// word is there.
func TestStatesArePartedBySound(t *testing.T) {
	n := written(t, "<d> = one | two | three | six | zero;\npublic <n> = <d> [and <d>] newton metre;")
	last := map[int]string{}
	ways := map[string]bool{}
	for _, arcs := range n.arcs {
		for _, a := range arcs {
			ways[a.word] = true
			f := strings.Fields(sounds[a.word])
			if sound := f[len(f)-1]; len(n.arcs[a.to]) > 0 {
				if had, ok := last[a.to]; ok && had != sound {
					t.Errorf("a state follows %q and words that end in %s", a.word, had)
				}
				last[a.to] = sound
			}
		}
	}
	for _, w := range []string{"zero", "zero(2)", "and", "and(2)"} {
		if !ways[w] {
			t.Errorf("%s cannot be said", w)
		}
	}
}

// Drawn grammars: what is drawn from the pieces can be said by the net, as likely or more.
func TestDrawnNets(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 9))
	words := []string{"one", "two", "three", "six", "zero", "rod", "and", "newton"}
	var draw func(deep int) (jsgf string, say func() (string, float64))
	draw = func(deep int) (string, func() (string, float64)) {
		switch k := r.IntN(6); {
		case deep > 3 || k < 2:
			w := words[r.IntN(len(words))]
			return w, func() (string, float64) { return w, 1 }
		case k < 4:
			a, sayA := draw(deep + 1)
			b, sayB := draw(deep + 1)
			return "(" + a + " " + b + ")", func() (string, float64) {
				x, p := sayA()
				y, q := sayB()
				return strings.TrimSpace(x + " " + y), p * q
			}
		case k == 4:
			a, sayA := draw(deep + 1)
			b, sayB := draw(deep + 1)
			return fmt.Sprintf("(/0.25/ %s | /0.75/ %s)", a, b), func() (string, float64) {
				if r.IntN(2) == 0 {
					x, p := sayA()
					return x, p / 4
				}
				x, p := sayB()
				return x, p * 3 / 4
			}
		default:
			a, sayA := draw(deep + 1)
			return "(" + a + ")*", func() (string, float64) {
				var all []string
				likely := 1.0
				for range r.IntN(3) {
					x, p := sayA()
					all, likely = append(all, x), likely*p
				}
				return strings.Join(strings.Fields(strings.Join(all, " ")), " "), likely
			}
		}
	}
	for range 300 {
		jsgf, say := draw(0)
		n := written(t, "public <n> = "+jsgf+";")
		for range 10 {
			sentence, likely := say()
			if got := n.likely(sentence); got < likely-1e-9 {
				t.Fatalf("%s: %q is %v likely, drawn at %v", jsgf, sentence, got, likely)
			}
		}
	}
}

func TestNetRefusesWhatTheGrammarCheckDoes(t *testing.T) {
	for _, jsgf := range []string{"", "public <n> = one;", header + "\ngrammar n;\npublic <n> = perhaps;\n", header + "\ngrammar n;\npublic <n> = <m>;\n"} {
		if _, err := NewNet(jsgf, sounds); !errors.Is(err, hear.ErrGrammar) {
			t.Errorf("%q: error %v", jsgf, err)
		}
	}
	n, err := NewNet(header+"\ngrammar n;\npublic <n> = zero [rod];\n", sounds)
	if err != nil || n.Arcs != 3 || !slices.Contains(strings.Split(string(n.text), "\n"), "FSG_END") {
		t.Errorf("%d words, %v\n%s", n.Arcs, err, n.text)
	}
}

// TestOnlyNet: each sentence can be said and no other, and is as likely as its handicap lets it be.
func TestOnlyNet(t *testing.T) {
	ways := map[string][]said{"rod": {{"rod", "D"}}, "one": {{"one", "N"}}, "zero": {{"zero", "OW"}, {"zero(2)", "OW"}}, "three": {{"three", "IY"}}}
	made, err := onlyNet([]string{"rod one", "-100 rod one three", "-350 rod zero", "-200 rod three", "rod three", "three one three"}, ways)
	if err != nil {
		t.Fatal(err)
	}
	ends, arcs := map[string]float64{}, map[string][][2]string{}
	final := ""
	for line := range strings.Lines(string(made.text)) {
		f := strings.Fields(line)
		switch {
		case f[0] == "FINAL_STATE":
			final = f[1]
		case f[0] == "TRANSITION" && len(f) == 4:
			if f[2] != final {
				t.Errorf("a way without a word: %s", line)
			}
			p, err := strconv.ParseFloat(f[3], 64)
			if err != nil {
				t.Fatal(err)
			}
			ends[f[1]] = p
		case f[0] == "TRANSITION":
			arcs[f[1]] = append(arcs[f[1]], [2]string{base(f[4]), f[2]})
		}
	}
	got := map[string]float64{}
	var say func(state, words string)
	say = func(state, words string) {
		if p, ok := ends[state]; ok {
			got[strings.TrimSpace(words)] = math.Round(-math.Log(p) / scoreLog)
		}
		for _, a := range arcs[state] {
			say(a[1], words+" "+a[0])
		}
	}
	say("0", "")
	want := map[string]float64{"rod one": 0, "rod one three": 100, "rod zero": 350, "rod three": 0, "three one three": 0}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("handicaps (-want +got):\n%s", diff)
	}
	for _, wrong := range [][]string{{""}, {"rod", "-5 "}, {"rod four"}, {"Rod"}, {"-601 rod"}, {"5 rod"}, {"rod | one"}} {
		if _, err := onlyNet(wrong, ways); !errors.Is(err, hear.ErrGrammar) {
			t.Errorf("%q: %v", wrong, err)
		}
	}
}
