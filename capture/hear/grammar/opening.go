package grammar

import (
	"maps"
	"slices"
	"strings"

	"readback/capture/hear"
	"readback/rules"
)

// Desk is what may be said where no job is open yet.
type Desk struct {
	Specs   []*rules.Spec
	Phrases []string // that are whole notes: yes, start over
	Heads   []string // the letters that the shop's job numbers begin with: likelier, never forced
	Letters []string // how letters are named in a job's number; up to three go by their own names as well
}

// Opening returns what to listen for where jobs are opened: the phrases of the desk, job numbers
// sign by sign, specs by name and their options, in any order. unsaid lists what cannot be heard
// since nobody has said how it sounds; a spec of which no name can be heard may be spelt.
func Opening(desk Desk, d *Dictionary) (w hear.Words, unsaid []Missing) {
	for _, s := range desk.Specs {
		d = d.With(Given(s))
	}
	m := &maker{rules: ruleset{body: map[string]node{}, power: spelled}, dict: d, missing: map[Missing]bool{}}
	m.figures(desk.Letters, desk.Heads)
	m.count()
	var items []node
	for _, s := range desk.Specs {
		items = append(items, m.specs(s))
	}
	items = append(items, m.optionsOf(desk.Specs))
	job := seq(opt(m.list("open|new|open a|open the|open a new|go to|it is|it's|no")), each("job"), opt(m.list("number|is|number is")), m.rules.ref("number"))
	item := m.rules.add("item", alt(m.rules.add("job", job).likely(4), alt(items...).likely(6)))
	m.rules.add(public, alt(
		m.rules.add("phrase", m.list(strings.Join(desk.Phrases, "|"))).likely(3),
		seq(item, often(alt(item.likely(9), each("and", "with").likely(1)))).likely(6),
		m.rules.ref("bare").likely(1),
	))
	w = hear.Words{Grammar: m.rules.write(public), Sounds: map[string]string{}}
	for _, word := range wordsOf(w.Grammar) {
		d.entries(word, w.Sounds)
	}
	return w, m.missingSorted()
}

// figures makes the signs of a job's number: letters, then figures, dashes between. Letters are named
// all in one way: where each may follow each, a letter's own name, which is short, is heard in
// whatever is said.
func (m *maker) figures(names, heads []string) {
	r := &m.rules
	digit := r.add("digit", alt(each(digitWords...).likely(9), each("zero", "oh", "nought", "niner").likely(2)))
	named := r.add("named", phrases(m.said(names)))
	plain := r.add("plain", phrases(m.said(strings.Split("abcdefghijklmnopqrstuvwxyz", ""))))
	more := func(n node) node { return alt(nullAt(0.6), seq(n, alt(nullAt(0.7), n.likely(0.3))).likely(0.4)) }
	var known [][]string
	for _, h := range heads {
		known = append(known, m.said(inBoth(h, names))...)
	}
	radio := alt(r.add("head", phrases(known)).likely(20), seq(named, more(named)).likely(9))
	head := alt(radio.likely(29), seq(plain, more(plain)).likely(1))
	tail := seq(digit, often(digit))
	// Without the word job before it a number has two figures, and its letters are sure: a short
	// one is heard in a yes.
	r.add("bare", seq(opt(seq(radio, opt(each("dash")))), digit, tail))
	r.add("number", alt(seq(tail, opt(seq(each("dash"), tail))), seq(head, opt(each("dash")), tail, opt(seq(each("dash"), tail))).likely(4)))
}

// inBoth spells letters in both ways.
func inBoth(head string, names []string) []string {
	var named, plain []string
	for _, c := range letters(head) {
		if at := slices.IndexFunc(names, func(n string) bool { return strings.HasPrefix(n, string(c)) }); at >= 0 {
			named = append(named, names[at])
		}
		plain = append(plain, string(c))
	}
	return []string{strings.Join(named, " "), strings.Join(plain, " ")}
}

// count makes the numbers that options may be.
func (m *maker) count() {
	r := &m.rules
	r.add("n99", alt(each(digitWords...).likely(9), each(teenWords...).likely(10), seq(each(tensWords...), opt(each(digitWords...))).likely(20)))
}

// specs is a spec by one of its names.
func (m *maker) specs(s *rules.Spec) node {
	names := m.said(s.Names())
	if len(names) == 0 {
		names = [][]string{strings.Split(letters(s.ID), "")}
	}
	return m.rules.add("s_"+ruleName(s.ID), phrases(names))
}

func letters(name string) string {
	return strings.Map(func(c rune) rune {
		if c < 'a' || c > 'z' {
			return -1
		}
		return c
	}, strings.ToLower(name))
}

// optionsOf is what the options of specs may be; what several specs share stands once.
func (m *maker) optionsOf(specs []*rules.Spec) node {
	r := &m.rules
	var counted, noughts, plain [][]string
	for _, s := range specs {
		for i := range s.Options {
			o := &s.Options[i]
			if o.Counts() {
				for _, noun := range []string{o.Say, strings.TrimSuffix(o.Say, "s")} {
					counted = append(counted, m.said([]string{noun})...)
				}
				if slices.Contains(o.Values, "0") || o.Values == nil && o.From == 0 {
					noughts = append(noughts, m.said([]string{o.Say})...)
				}
				continue
			}
			for _, v := range o.Values {
				forms := []string{o.Phrase(v)}
				if !o.YesOrNo() {
					forms = append(forms, o.Spoken(v)+" "+o.Say, o.Say+" is "+o.Spoken(v))
				}
				plain = append(plain, m.said(forms)...)
			}
		}
	}
	return r.add("option", alt(
		seq(r.ref("n99"), r.add("noun", phrases(once(counted)))).likely(3),
		seq(each("no", "without"), phrases(once(noughts))),
		phrases(once(plain)).likely(3),
	))
}

func once(list [][]string) (out [][]string) {
	seen := map[string]bool{}
	for _, p := range list {
		if text := strings.Join(p, " "); !seen[text] {
			seen[text] = true
			out = append(out, p)
		}
	}
	return out
}

// said returns the forms that can be heard, and notes the words of the others.
func (m *maker) said(forms []string) (out [][]string) {
	mute := map[Missing]bool{}
	for _, f := range forms {
		words := spell(f)
		if len(words) > 0 && m.dict.knows(words) {
			out = append(out, words)
			continue
		}
		for _, w := range words {
			if m.dict.Sounds(w) == nil {
				mute[Missing{Word: w, Form: f}] = true
			}
		}
	}
	maps.Copy(m.missing, mute)
	return out
}
