package sphinx

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"readback/capture/hear"
)

// Bounds of a grammar. Rules are copied where they are used, so that a small text can hold a
// very large one.
const (
	mostNodes = 1_000_000 // words with every rule written out; a job has some ten thousand
	mostDeep  = 50        // brackets and rules in one another
)

// CheckGrammar looks for what the library takes without a word and then gets wrong, or dies
// of: rules that are not defined, rules that use themselves, weights that sum up to more than 1,
// words that have no pronunciation. Errors wrap [hear.ErrGrammar].
func CheckGrammar(jsgf string, known func(word string) bool) error {
	c := checker{known: known, rules: map[string][]string{}, words: map[string]int{}}
	if err := c.grammar(jsgf); err != nil {
		return fmt.Errorf("%w: %w", hear.ErrGrammar, err)
	}
	return nil
}

// header is how every grammar starts.
const header = "#JSGF V1.0;"

// checker reads a grammar once, from left to right.
type checker struct {
	known func(string) bool
	rest  []string            // tokens to come
	order []string            // rules as they are defined
	rules map[string][]string // what each uses
	words map[string]int      // how many words each has itself
	rule  string              // the one that is read
}

func (c *checker) grammar(jsgf string) error {
	body, ok := strings.CutPrefix(strings.TrimSpace(jsgf), header)
	if !ok {
		return fmt.Errorf("a grammar starts with %s", header)
	}
	var err error
	if c.rest, err = tokens(body); err != nil {
		return err
	}
	if c.next() != "grammar" || c.next() == "" || c.next() != ";" {
		return fmt.Errorf("after %s comes a line such as: grammar note;", header)
	}
	public := 0
	for len(c.rest) > 0 {
		isPublic, err := c.definition()
		if err != nil {
			return err
		}
		public += isPublic
	}
	switch {
	case public == 0:
		return fmt.Errorf("no rule is public")
	case public > 1:
		return fmt.Errorf("%d rules are public: one may be", public)
	}
	return c.uses()
}

// definition reads one rule. It returns 1 for a public one.
func (c *checker) definition() (public int, err error) {
	name := c.next()
	if name == "public" {
		public, name = 1, c.next()
	}
	switch {
	case !isRule(name):
		return 0, fmt.Errorf("%q stands where a rule should start", name)
	case c.next() != "=":
		return 0, fmt.Errorf("the rule %s has no = behind its name", name)
	case c.rules[name] != nil:
		return 0, fmt.Errorf("the rule %s is defined twice", name)
	}
	c.rule, c.rules[name] = name, []string{}
	c.order = append(c.order, name)
	if err := c.alternatives(";", 0); err != nil {
		return 0, fmt.Errorf("in the rule %s: %w", name, err)
	}
	return public, nil
}

// alternatives reads up to the token that closes them.
func (c *checker) alternatives(closing string, deep int) error {
	if deep > mostDeep {
		return fmt.Errorf("brackets are more than %d deep", mostDeep)
	}
	var weights []float64
	items, count := 0, 1
	for {
		token := c.next()
		switch {
		case token == closing || token == "|":
			if items == 0 {
				return fmt.Errorf("an alternative is empty: write <NULL>")
			}
			if token == closing {
				return atMostOne(weights, count)
			}
			items = 0
			count++
		case token == "":
			return fmt.Errorf("it ends where %q should come", closing)
		case token[0] == '/':
			if items > 0 || len(weights) >= count {
				return fmt.Errorf("the weight %s does not stand at the start of an alternative", token)
			}
			weight, err := strconv.ParseFloat(strings.Trim(token, "/ "), 64)
			if err != nil || !(weight > 0 && weight <= 1) {
				return fmt.Errorf("the weight %s is not over 0 and up to 1", token)
			}
			weights = append(weights, weight)
		case (token == "*" || token == "+") && items == 0:
			return fmt.Errorf("%s stands behind nothing that could be said several times", token)
		default:
			items++
			if err := c.item(token, deep); err != nil {
				return err
			}
		}
	}
}

func (c *checker) item(token string, deep int) error {
	switch {
	case token == "*" || token == "+": // of what stands before it: any number of times
		return nil
	case token == "(":
		return c.alternatives(")", deep+1)
	case token == "[":
		return c.alternatives("]", deep+1)
	case isRule(token):
		if token != "<NULL>" {
			c.rules[c.rule] = append(c.rules[c.rule], token)
		}
		return nil
	case !isWord(token):
		return fmt.Errorf("%q is no word: small letters and apostrophes only", token)
	case !c.known(token):
		return fmt.Errorf("the word %q has no pronunciation", token)
	}
	c.words[c.rule]++
	return nil
}

// atMostOne checks the weights of alternatives. The library does not normalise them, and
// dies of an empty alternative with one over 1.
func atMostOne(weights []float64, alternatives int) error {
	if len(weights) == 0 {
		return nil
	}
	if len(weights) != alternatives {
		return fmt.Errorf("%d of %d alternatives have a weight: give one to all or to none", len(weights), alternatives)
	}
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	if sum > 1.01 {
		return fmt.Errorf("the weights of %d alternatives sum up to %.3f, which is over 1", alternatives, sum)
	}
	return nil
}

// uses checks that each rule that is named is there, that none comes back to itself, and that
// all of it written out is not too large.
func (c *checker) uses() error {
	sizes := map[string]int{}
	for _, rule := range c.order {
		if _, err := c.size(rule, nil, sizes); err != nil {
			return err
		}
	}
	return nil
}

// size is how many words a rule has with all that it uses written out.
func (c *checker) size(rule string, from []string, sizes map[string]int) (int, error) {
	switch {
	case slices.Contains(from, rule):
		return 0, fmt.Errorf("the rule %s uses itself", rule)
	case len(from) > mostDeep:
		return 0, fmt.Errorf("the rule %s is more than %d rules deep", rule, mostDeep)
	case sizes[rule] > 0:
		return sizes[rule], nil
	}
	sum := 1 + c.words[rule]
	for _, used := range c.rules[rule] {
		if c.rules[used] == nil {
			return 0, fmt.Errorf("the rule %s, which %s uses, is not defined", used, rule)
		}
		n, err := c.size(used, append(from, rule), sizes)
		if err != nil {
			return 0, err
		}
		if sum += n; sum > mostNodes {
			return 0, fmt.Errorf("the rule %s holds more than %d words with every rule in it written out", rule, mostNodes)
		}
	}
	sizes[rule] = sum
	return sum, nil
}

// next takes a token, "" at the end.
func (c *checker) next() string {
	if len(c.rest) == 0 {
		return ""
	}
	token := c.rest[0]
	c.rest = c.rest[1:]
	return token
}

func isRule(token string) bool {
	return len(token) > 2 && token[0] == '<' && token[len(token)-1] == '>'
}

// tokens cuts a grammar into signs, rules, weights and words.
func tokens(s string) ([]string, error) {
	var out []string
	for {
		s = strings.TrimLeft(s, " \t\r\n")
		if s == "" {
			return out, nil
		}
		n, err := tokenLength(s)
		if err != nil {
			return nil, err
		}
		out = append(out, s[:n])
		s = s[n:]
	}
}

func tokenLength(s string) (int, error) {
	switch s[0] {
	case ';', '=', '|', '(', ')', '[', ']', '*', '+':
		return 1, nil
	case '<', '/':
		closing := byte('>')
		if s[0] == '/' {
			closing = '/'
		}
		end := strings.IndexByte(s[1:], closing)
		if end < 0 || strings.ContainsAny(s[:end+1], "\n;|") {
			return 0, fmt.Errorf("%.20q has no closing %c: comments are not taken", s, closing)
		}
		return end + 2, nil
	default:
		if end := strings.IndexAny(s, " \t\r\n;=|()[]<>/"); end > 0 {
			return end, nil
		} else if end == 0 {
			return 0, fmt.Errorf("%c stands where a word should", s[0])
		}
		return len(s), nil
	}
}
