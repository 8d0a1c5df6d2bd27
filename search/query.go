package search

import (
	"errors"
	"fmt"
	"math/big"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"readback/parse"
	"readback/parse/number"
	"readback/parse/symptom"
	"readback/parse/unit"
)

const (
	maxQuery  = 500  // characters of a query
	maxGroups = 12   // words of a query that are looked for
	maxHits   = 1000 // hits of one search
	someHits  = 50   // hits where no limit is given
)

// Order says which hits come first.
type Order string

// The orders of hits.
const (
	Newest Order = "newest"
	Best   Order = "best"
)

// Field is what a [Filter] looks at.
type Field string

// The fields of filters.
const (
	OnJob       Field = "job"
	OnSpec      Field = "spec"
	OnCallout   Field = "callout"   // an id, or its words: "end play" is end_play_up too
	OnPerson    Field = "person"    // the whole name
	OnVerdict   Field = "verdict"   // in, close, out, unclear; finding: one of severity warn or stop was raised
	OnOption    Field = "option"    // name=value
	OnCondition Field = "condition" // as understood when the note was said
	From        Field = "from"      // the first day, "2031", "2031-03" or "2031-03-04"; UTC
	To          Field = "to"        // the last day, the same
	OnValue     Field = "value"     // "over 2 mm", "1 to 2 mm", "at least 100 megohms"
)

// Fields lists every field of a filter.
func Fields() []Field {
	return []Field{OnJob, OnSpec, OnCallout, OnPerson, OnVerdict, OnOption, OnCondition, From, To, OnValue}
}

// Filter is a condition that is no word: all of them must hold.
type Filter struct {
	Field Field  `json:"field"`
	Value string `json:"value"`
	Shown string `json:"shown"`          // as people read it
	Typed bool   `json:"typed"`          // it was recognised in the text
	Text  string `json:"text,omitempty"` // of one that was typed: the text without it
}

// Query asks for notes.
type Query struct {
	Text    string   // words, "phrases", -words, and filters in words: "end play over 2 mm in long base"
	Filters []Filter // set as fields
	Order   Order    // "": newest first
	Limit   int      // below 1: 50; never over 1000
	Like    string   // a job: jobs like that one are looked for, and Text is left out
	Typed   bool     // filters are looked for in Text too
	Ended   bool     // what was done in the end is looked up for each job
}

// ErrQuery wraps what is wrong with a query, in words for the one who asks.
var ErrQuery = errors.New("search")

// bad is what is wrong with a query, and what would do.
func bad(do, wrong string, args ...any) error {
	return fmt.Errorf("%w: %s; %s", ErrQuery, fmt.Sprintf(wrong, args...), do)
}

// group is one thing that is looked for: a word with all that means the same.
type group struct {
	shown  string
	stems  []string   // of the word or words as typed, one behind the other
	plain  []string   // of a phrase: the words as typed
	same   []string   // other stems, of one word each
	longer [][]string // other forms of two words and more, as said
	ids    []string   // of the conditions that it means
	kind   groupKind
	wrong  bool // it is a condition: a denial is no match
}

// groupKind says how a group is looked for.
type groupKind int

const (
	isWord   groupKind = iota
	isPhrase           // exactly as said
	isDenied           // what a note says is not there
	isNear             // the words that look like it
)

// asked is a query that was understood.
type asked struct {
	must, not []group
	filters   []Filter
	values    []valueRange
	days      [2]string // from and to, "" for none
	told      []string  // what the one who asks should know
}

// valueRange is a filter on a reading's value.
type valueRange struct {
	low, high     *big.Rat
	lowIn, highIn bool
	unit          string
}

// read understands a query.
func (x *Index) read(q Query) (asked, error) {
	if utf8.RuneCountInString(q.Text) > maxQuery {
		return asked{}, bad("ask with fewer words", "more than %d characters", maxQuery)
	}
	var a asked
	for _, f := range q.Filters {
		if err := x.take(&a, f); err != nil {
			return asked{}, err
		}
	}
	text := clean(q.Text)
	if q.Typed {
		var err error
		if text, err = x.recognise(&a, text); err != nil {
			return asked{}, err
		}
	}
	if strings.ContainsAny(text, "*?^$|\\[]{}") {
		a.told = append(a.told, "signs such as * and ? stand for nothing here: words are found whatever their ending")
	}
	x.readWords(&a, text)
	if len(a.must) > maxGroups {
		return asked{}, bad("ask with fewer", "more than %d words to look for", maxGroups)
	}
	if len(a.must) == 0 && len(a.filters) == 0 {
		if len(a.not) > 0 {
			return asked{}, bad("say what to look for as well, such as scored -sleeve", "there are only words to leave out")
		}
		return asked{}, bad("give one, such as scored", "there is no word to look for")
	}
	return a, nil
}

// clean takes out what is no sign on paper: controls, and marks that turn the direction of text.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == utf8.RuneError:
			return ' '
		case unicode.IsSpace(r):
			return ' '
		case unicode.Is(unicode.Cf, r) || unicode.IsControl(r):
			return -1
		case r == '“' || r == '”' || r == '„':
			return '"'
		case r == '’':
			return '\''
		}
		return r
	}, text)
}

// readWords reads words, phrases, and what is to be left out.
func (x *Index) readWords(a *asked, text string) {
	parts := strings.Split(text, `"`)
	var run []string
	flush := func() {
		x.wordRun(a, run)
		run = nil
	}
	for i, part := range parts {
		if i%2 == 1 && i < len(parts)-1 { // between two quotes
			out := strings.HasSuffix(parts[i-1], "-") && (len(parts[i-1]) == 1 || parts[i-1][len(parts[i-1])-2] == ' ')
			flush()
			if g, ok := x.phraseOf(part); ok && out {
				a.not = append(a.not, g)
			} else if ok {
				a.must = append(a.must, g)
			}
			continue
		}
		for _, w := range strings.FieldsFunc(part, gap) {
			if rest, out := strings.CutPrefix(w, "-"); out {
				if stems := x.stems(rest); len(stems) > 0 {
					flush()
					a.not = append(a.not, group{shown: rest, stems: stems})
				}
				continue
			}
			if x.hasWords(w) {
				run = append(run, strings.ToLower(strings.TrimFunc(w, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })))
			}
		}
	}
	flush()
	a.must = dropSmall(a.must)
}

// gap parts words. The underscore of a callout's id parts them as well.
func gap(r rune) bool { return unicode.IsSpace(r) || r == '_' }

// small are words that questions are made with, and that notes leave out as often as not. They
// count only where nothing else is asked for.
var small = set("a an the that which who whom whose what when where why was were is are be been being it its this these those of to and or with for from by had has have having do does did as we i you they them there here some any all after because due since while during show find will would could can may might must should much very too so really just quite pump pumps pumped pumping machine machines me us please job jobs unit units one ones thing things note notes on in at my our customer says said about into got get gets")

// dropSmall leaves out small words where others remain.
func dropSmall(groups []group) []group {
	var kept []group
	for _, g := range groups {
		if g.kind != isWord || !small[g.shown] {
			kept = append(kept, g)
		}
	}
	if len(kept) == 0 && !articles(groups) {
		return groups
	}
	return kept
}

// articles reports whether there is nothing but articles, which find nothing worth finding.
func articles(groups []group) bool {
	for _, g := range groups {
		if g.shown != "a" && g.shown != "an" && g.shown != "the" {
			return false
		}
	}
	return true
}

// hasWords reports whether anything of the text would be indexed.
func (x *Index) hasWords(text string) bool {
	tokens, err := x.mapping.AnalyzeText(plain, []byte(text))
	return err == nil && len(tokens) > 0
}

func (x *Index) phraseOf(text string) (group, bool) {
	tokens, err := x.mapping.AnalyzeText(plain, []byte(text))
	if err != nil || len(tokens) == 0 {
		return group{}, false
	}
	return group{shown: `"` + strings.TrimSpace(text) + `"`, plain: terms(tokens), kind: isPhrase}, true
}

// wordRun reads words that stand together: the longest forms that are known first.
func (x *Index) wordRun(a *asked, run []string) {
	w := x.words.Load()
	var stems [][]string
	var flat []string
	for _, word := range run {
		s := x.stems(word)
		stems = append(stems, s)
		flat = append(flat, strings.Join(s, " "))
	}
	for i := 0; i < len(run); {
		n, groups := w.longest(flat[i:])
		if n == 0 && i+1 < len(run) && refuses[run[i]] { // "not scored", "no wear"
			m, denied := w.longest(flat[i+1:])
			if m == 0 {
				m = 1
			}
			g := x.groupOf(w, run[i+1:i+1+m], stems[i+1:i+1+m], denied)
			g.kind, g.shown = isDenied, run[i]+" "+g.shown
			a.must = append(a.must, g)
			i += 1 + m
			continue
		}
		n = max(n, 1)
		groups = w.exact(strings.Join(run[i:i+n], " "), groups)
		a.must = append(a.must, x.groupOf(w, run[i:i+n], stems[i:i+n], groups))
		i += n
	}
}

var refuses = set("no not without never isn't wasn't")

// groupOf makes a group of words as typed and what means the same.
func (x *Index) groupOf(w *Words, typed []string, stems [][]string, groups []int) group {
	g := group{shown: strings.Join(typed, " "), wrong: w.condition(groups)}
	for _, s := range stems {
		g.stems = append(g.stems, s...)
	}
	for _, i := range groups {
		if w.groups[i].Sort == symptom.IsCondition {
			g.ids = append(g.ids, w.groups[i].ID)
		}
	}
	own := strings.Join(g.stems, " ")
	single := map[string]bool{}
	var longer [][]string
	for _, form := range w.say(groups) {
		s := w.stem(form)
		switch {
		case len(s) == 1 && strings.Join(s, " ") != own:
			if !single[s[0]] {
				g.same = append(g.same, s[0])
			}
			single[s[0]] = true
		case len(s) > 1:
			longer = append(longer, append([]string{form}, s...))
		}
	}
	if len(g.stems) == 1 {
		single[g.stems[0]] = true
	}
	for _, l := range longer { // "stuck fast" adds nothing to "stuck"
		covered := false
		for _, s := range l[1:] {
			covered = covered || single[s]
		}
		if tokens, err := x.mapping.AnalyzeText(plain, []byte(l[0])); err == nil && !covered {
			g.longer = append(g.longer, terms(tokens))
		}
	}
	return g
}

// take adds a filter that was set as a field.
func (x *Index) take(a *asked, f Filter) error {
	f.Value = strings.Join(strings.Fields(clean(f.Value)), " ")
	if f.Value == "" {
		return nil
	}
	if utf8.RuneCountInString(f.Value) > 100 {
		return bad("give a shorter one", "%s is longer than 100 characters", f.Field)
	}
	switch f.Field {
	case OnJob, OnPerson, OnSpec, OnOption, OnCondition, OnCallout:
	case OnVerdict:
		switch f.Value = strings.ToLower(f.Value); f.Value {
		case "in", "close", "out", "unclear", findingRaised:
		default:
			return bad("give one of in, close, out, unclear, finding", "verdict %q is none", f.Value)
		}
	case From, To:
		if !isDay(f.Value) {
			return bad("give it as 2031, 2031-03 or 2031-03-04", "%s %q is no date", f.Field, f.Value)
		}
		if f.Field == From {
			a.days[0] = f.Value
		} else {
			a.days[1] = f.Value
		}
		if a.days[0] != "" && a.days[1] != "" && a.days[0] > a.days[1] && !strings.HasPrefix(a.days[0], a.days[1]) {
			return bad("put the earlier one first", "%s is after %s", a.days[0], a.days[1])
		}
	case OnValue:
		v, _, ok := rangeOf(f.Value)
		if !ok {
			return bad("give it as over 2 mm, at most 0.05 mm, or 1 to 2 mm", "value %q is no range", f.Value)
		}
		a.values = append(a.values, v)
	default:
		return bad("leave it out", "there is no filter %q", f.Field)
	}
	if f.Shown == "" {
		f.Shown = shownOf(f)
	}
	a.filters = append(a.filters, f)
	return nil
}

func shownOf(f Filter) string {
	switch f.Field {
	case OnValue:
		return f.Value
	case OnCallout:
		return words(f.Value)
	case OnOption:
		return words(strings.Replace(f.Value, "=", " ", 1))
	case OnVerdict:
		if f.Value == findingRaised {
			return "with a finding"
		}
		return "verdict " + f.Value
	case OnCondition, OnJob:
		return f.Value
	case OnSpec, OnPerson, From, To:
	}
	return string(f.Field) + " " + f.Value
}

func isDay(s string) bool {
	for _, layout := range []string{"2006", "2006-01", time.DateOnly} {
		if _, err := time.Parse(layout, s); err == nil {
			return true
		}
	}
	return false
}

// compares are the words before a value, longest first.
var compares = []struct {
	words string
	over  bool
	in    bool
}{
	{"no more than", false, true},
	{"not more than", false, true},
	{"not over", false, true},
	{"no less than", true, true},
	{"not under", true, true},
	{"greater than", true, false},
	{"more than", true, false},
	{"higher than", true, false},
	{"larger than", true, false},
	{"bigger than", true, false},
	{"less than", false, false},
	{"lower than", false, false},
	{"smaller than", false, false},
	{"at least", true, true},
	{"at most", false, true},
	{"up to", false, true},
	{"over", true, false},
	{"above", true, false},
	{"beyond", true, false},
	{"exceeding", true, false},
	{"under", false, false},
	{"below", false, false},
	{">=", true, true},
	{"<=", false, true},
	{">", true, false},
	{"<", false, false},
}

// rangeOf reads "over 2 mm", "between 1 and 2 mm", "1 to 2 mm" or "2 mm"; at is where it stands.
func rangeOf(text string) (v valueRange, at span, ok bool) {
	quantities := parse.Quantities(text)
	lower := strings.ToLower(text)
	if len(quantities) == 2 {
		a, b := quantities[0], quantities[1]
		between := lower[a.End:b.Start]
		if join := strings.TrimSpace(between); join == "to" || join == "and" || join == "-" || join == "–" {
			if a.Unit == "1" {
				a.Unit = b.Unit
			}
			before := strings.TrimRight(lower[:a.Start], " ")
			from := a.Start
			for _, w := range []string{"between", "from"} {
				if strings.HasSuffix(before, w) {
					from = len(before) - len(w)
				}
			}
			low, high := a.Value.Rat(), b.Value.Rat()
			if a.Unit != b.Unit {
				var err error
				if low, err = unit.Convert(low, a.Unit, b.Unit); err != nil {
					return v, at, false
				}
			}
			if low.Cmp(high) > 0 {
				low, high = high, low
			}
			return valueRange{low: low, high: high, lowIn: true, highIn: true, unit: b.Unit}, span{from, b.End}, true
		}
	}
	for _, q := range quantities {
		before := strings.TrimRight(lower[:q.Start], " ")
		for _, c := range compares {
			rest, found := strings.CutSuffix(before, c.words)
			if !found || rest != "" && c.words[0] >= 'a' && rest[len(rest)-1] != ' ' {
				continue
			}
			v = valueRange{unit: q.Unit}
			if c.over {
				v.low, v.lowIn = q.Value.Rat(), c.in
			} else {
				v.high, v.highIn = q.Value.Rat(), c.in
			}
			return v, span{len(rest), q.End}, true
		}
	}
	if len(quantities) == 1 && strings.TrimSpace(text[:quantities[0].Start]) == "" && strings.TrimSpace(text[quantities[0].End:]) == "" {
		r := quantities[0].Value.Rat()
		return valueRange{low: r, high: r, lowIn: true, highIn: true, unit: quantities[0].Unit}, span{0, len(text)}, true
	}
	return v, at, false
}

// shown writes a range for people.
func (v valueRange) shown() string {
	value := func(r *big.Rat) string {
		if n, ok := number.Parse(strings.TrimRight(strings.TrimRight(r.FloatString(6), "0"), ".")); ok {
			return n.String()
		}
		return r.RatString()
	}
	of := ""
	if u, ok := unit.Lookup(v.unit); ok && v.unit != "1" {
		of = " " + u.Symbol
	}
	word := map[bool]string{true: "at least ", false: "over "}
	switch {
	case v.low != nil && v.high != nil && v.low.Cmp(v.high) == 0:
		return value(v.low) + of
	case v.low != nil && v.high != nil:
		return value(v.low) + " to " + value(v.high) + of
	case v.low != nil:
		return word[v.lowIn] + value(v.low) + of
	}
	return map[bool]string{true: "at most ", false: "under "}[v.highIn] + value(v.high) + of
}
