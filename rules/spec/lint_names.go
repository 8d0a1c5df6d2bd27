package spec

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/parse/lexicon"
	"readback/parse/unit"
	"readback/rules"
)

// names looks for callouts that cannot be told apart, or not be reached.
func (c *linter) names() {
	c.taken()
	c.alike()
	c.reach()
}

// taken looks for names that mean something already: a callout called "scratch that" would
// take that word from everybody.
func (c *linter) taken() {
	none := parse.NewVocabulary(parse.Words{})
	for i := range c.spec.Callouts {
		o := &c.spec.Callouts[i]
		for n, s := range said(o) {
			means := meaning(parse.Text(s, none, parse.Context{}))
			if means == "" {
				continue
			}
			at := c.at(o, "say")
			if items := at.items(); n < len(items) {
				at = items[n]
			}
			at.fail("callout "+o.ID+" is spoken "+strconv.Quote(short(s))+", which is "+means+" already", "give it a name that means nothing else")
		}
	}
}

// meaning says what a note is without any spec, "" for nothing.
func meaning(u parse.Utterance) string {
	switch {
	case u.Kind == parse.Correction:
		return "a correction"
	case u.Kind == parse.Question && len(strings.Fields(u.Text)) <= 3: // a longer name is heard before it
		return "a question"
	case u.Instrument != "":
		return "an instrument"
	case len(u.Claims) > 0:
		return "a number"
	}
	return ""
}

// form is one spoken form of a callout.
type form struct {
	of     *rules.Callout
	text   string
	key    string // where it stands
	denied bool
}

// alike compares the spoken forms of callouts that can be called for in one job. Forms
// that are written alike the loader has refused.
func (c *linter) alike() {
	bySound := map[string][]form{}
	told := map[[2]string]bool{}
	for i := range c.spec.Callouts {
		o := &c.spec.Callouts[i]
		var forms []form
		for _, s := range said(o) {
			forms = append(forms, form{o, s, "say", false})
		}
		for _, s := range o.Denied {
			forms = append(forms, form{o, s, "denied", true})
		}
		for _, f := range forms {
			sound := sounds(f.text)
			for _, g := range bySound[sound] {
				c.tell(f, g, told)
			}
			if sound != "" {
				bySound[sound] = append(bySound[sound], f)
			}
		}
	}
}

// tell complains about two forms that sound alike.
func (c *linter) tell(f, g form, told map[[2]string]bool) {
	pair := [2]string{g.of.ID, f.of.ID}
	switch {
	case f.of.ID == g.of.ID && f.denied == g.denied, told[pair], !together(f.of, g.of):
	case f.text == g.text && f.denied == g.denied: // told by the loader
	case !near(plain(f.text), plain(g.text)), plain(f.text) != plain(g.text) && (f.of.Kind == parse.Reading) != (g.of.Kind == parse.Reading):
		// other vowels, or told apart by the value that only one of them has
	case f.of.ID == g.of.ID:
		told[pair] = true
		c.at(f.of, f.key).fail("callout "+f.of.ID+" is said and denied in the same words: "+strconv.Quote(short(g.text))+" and "+strconv.Quote(short(f.text)), "take other words to deny it")
	default:
		told[pair], c.told[f.of.ID] = true, true
		how := "sound the same"
		if plain(f.text) == plain(g.text) {
			how = "are spoken the same"
		}
		c.at(f.of, f.key).fail("callouts "+g.of.ID+" and "+f.of.ID+" cannot be told apart: "+strconv.Quote(short(g.text))+" and "+strconv.Quote(short(f.text))+" "+how, "give one of them other words")
	}
}

// near reports whether words that have the same consonants are near in spelling as well:
// "runout" and "renewed" are not.
func near(a, b string) bool {
	x, y := strings.Fields(a), strings.Fields(b)
	for i := range min(len(x), len(y)) {
		if limit := max(len(x[i]), len(y[i])) / 2; lexicon.Slip(x[i], y[i], limit) > limit {
			return false
		}
	}
	return true
}

// plain returns the words of a form as they are heard: without hyphens and plurals.
func plain(form string) string {
	words := strings.FieldsFunc(strings.ToLower(form), func(r rune) bool { return strings.ContainsRune(" -./·'", r) })
	for i, w := range words {
		if len(w) > 3 && !strings.HasSuffix(w, "ss") {
			words[i] = strings.TrimSuffix(w, "s")
		}
	}
	return strings.Join(words, " ")
}

// sounds returns how the words of a form sound.
func sounds(form string) string {
	words := strings.Fields(plain(form))
	for i, w := range words {
		if words[i] = lexicon.Sound(w); words[i] == "" || strings.ContainsAny(w, "0123456789") {
			words[i] = w
		}
	}
	return strings.Join(words, " ")
}

// reach says each callout in its own words, and looks whether it is understood.
func (c *linter) reach() {
	owing := map[string]*rules.Callout{}
	for i := range c.spec.Callouts {
		if o := &c.spec.Callouts[i]; o.Derived == nil && c.called(o) {
			owing[o.ID] = o
		}
	}
	heard := map[string]string{} // what the parser made of the first form
	tries := map[string]int{}
	for _, j := range c.jobs {
		c.reachIn(j, owing, tries, heard)
	}
	for i := range c.spec.Callouts {
		o := &c.spec.Callouts[i]
		if text, tried := heard[o.ID]; tried && owing[o.ID] != nil && !c.told[o.ID] {
			c.at(o, "say").fail("no phrase reaches callout "+o.ID+": "+strconv.Quote(short(text))+" is understood as something else", "give it a name of two words or more that are no units, numbers or words of talk")
		}
	}
}

// enough is in how many jobs a callout is said in vain.
const enough = 3

// reachIn says the callouts of one job that nothing has heard yet.
func (c *linter) reachIn(j job, owing map[string]*rules.Callout, tries map[string]int, heard map[string]string) {
	names := j.Words().Names
	names = slices.DeleteFunc(names, func(n parse.Name) bool { return owing[n.Callout] == nil || tries[n.Callout] == enough })
	if len(names) == 0 {
		return
	}
	words := parse.NewVocabulary(j.Words())
	for _, n := range names {
		tries[n.Callout]++
		if c.hears(owing[n.Callout], j, words, heard) {
			delete(owing, n.Callout)
		}
	}
}

// hears reports whether one of the forms of a callout is understood as it.
func (c *linter) hears(o *rules.Callout, j job, words *parse.Vocabulary, heard map[string]string) bool {
	place, ok := c.somewhere(o, j)
	if !ok {
		return true // it has no place with these options
	}
	value := ""
	if o.Kind == parse.Reading {
		u, known := unit.Lookup(o.Unit)
		if !known {
			return true // the loader has told
		}
		value = " 7 " + u.Many
	}
	if o.Kind == parse.Detail {
		value = " as found"
	}
	for _, say := range said(o) {
		notes := []string{say + place + value, strings.TrimSpace(place + " " + say + value)}
		if o.Kind == parse.Part {
			notes = kindsSaid(o, say, place)
		}
		for _, note := range notes {
			if understood(parse.Text(note, words, parse.Context{}), o) {
				return true
			}
			if heard[o.ID] == "" {
				heard[o.ID] = note
			}
		}
	}
	if heard[o.ID] == "" {
		heard[o.ID] = plainName(o.ID)
	}
	return false
}

func kindsSaid(o *rules.Callout, say, place string) (notes []string) {
	for _, k := range o.Choices {
		for _, s := range append(slices.Clone(k.Say), k.Is) {
			notes = append(notes, s+" "+say+place, say+place+" "+s)
		}
	}
	return notes
}

func understood(u parse.Utterance, o *rules.Callout) bool {
	return slices.ContainsFunc(u.Claims, func(k parse.Claim) bool {
		return k.Callout == o.ID && !slices.Contains(k.Doubts, parse.TwoHomes) && !slices.Contains(k.Doubts, parse.NoHome)
	}) || slices.ContainsFunc(u.Marks, func(m parse.Mark) bool { return m.Callout == o.ID })
}

// somewhere returns the first place of a callout in words: " rod 1 pass 1".
func (c *linter) somewhere(o *rules.Callout, j job) (words string, ok bool) {
	for _, a := range o.At {
		first := ""
		if a.Values != nil {
			first = a.Values[0]
		} else if from, to := c.in(j, a.From), c.in(j, a.To); from <= to {
			first = strconv.Itoa(from)
		}
		if first == "" {
			return "", false
		}
		i := slices.IndexFunc(c.spec.Axes, func(x rules.Axis) bool { return x.ID == a.Axis })
		if i < 0 {
			return "", false
		}
		axis := c.spec.Axes[i]
		for _, v := range axis.Values {
			if v.Value == first && len(v.Say) > 0 {
				first = v.Say[0]
			}
		}
		words += " " + axis.Say[0] + " " + first
	}
	return words, true
}

// in returns a count with the options of a job.
func (c *linter) in(j job, n rules.Count) int {
	if n.Option == "" {
		return n.N
	}
	value, err := strconv.Atoi(j.set[n.Option])
	if err != nil {
		return 0
	}
	return value
}
