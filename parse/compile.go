package parse

import (
	"slices"
	"strconv"
	"strings"

	"readback/parse/lexicon"
	"readback/parse/symptom"
	"readback/parse/token"
	"readback/parse/unit"
)

// Vocabulary is everything that the parser knows by name: the words of a spec beside
// those of the trade. It is read-only.
type Vocabulary struct {
	lex   *lexicon.Lexicon
	names []Name
	axes  []Axis

	forms   []nameForm // IDs of lexicon.Name
	slots   []slot     // IDs of lexicon.Slot
	values  []placed   // IDs of lexicon.Value
	choices []chosen   // IDs of lexicon.Choice
	units   []unitForm // IDs of lexicon.Unit
	cues    []cue      // IDs of lexicon.Cue
	things  []string   // IDs of lexicon.Thing
	wrongs  []string   // IDs of lexicon.Wrong

	details []detail // names of what is kept in the words of the note

	conditions []spelt // conditions of one word, for what is nearly one

	anchors map[string][]anchor // words of names, for near-misses
	solid   map[string]int      // forms by their letters without spaces, for names heard in other pieces
	sounds  map[string][]int    // the same by their sound
	dims    map[unit.Dimension]bool
}

// nameForm is one way to speak a name.
type nameForm struct {
	name   int
	words  []string
	short  bool
	denies bool // it says the opposite: "cover off"
}

// slot is a word that takes an index.
type slot struct {
	axis   int    // index of the axis, or -1
	word   string // for a slot that is no axis: "wrench"
	tool   bool   // it names an instrument
	long   bool   // its index may have many digits: a drawing, a job
	plural bool
}

type placed struct {
	axis   int
	value  string
	behind bool // a letter, which counts only right behind the word of its axis: "port a"
}

type chosen struct {
	name int
	is   string
}

// unitForm is one way to say or write a unit.
type unitForm struct {
	code   string
	exact  string // as written, without joining signs, where case is meaning; else ""
	slang  bool
	rank   int
	spoken bool // a word, not a symbol
}

// spelt is a condition of one word, and its ID of lexicon.Wrong.
type spelt struct {
	say string
	id  int
}

type anchor struct{ form, at int }

func (v *Vocabulary) addUnits(b *lexicon.Builder) {
	for _, u := range unit.All() {
		for _, f := range u.Forms {
			form := unitForm{code: u.Code, slang: f.Slang, rank: f.Rank, spoken: !f.Symbol}
			if f.Symbol {
				form.exact = bare(f.Say)
			}
			b.Add(f.Say, lexicon.Unit, int32(len(v.units)))
			v.units = append(v.units, form)
		}
	}
}

// bare returns a written symbol without the signs that only join.
func bare(symbol string) string {
	var out strings.Builder
	for _, t := range token.Split(symbol, nil) {
		if !lexicon.Joins(t) {
			out.WriteString(t.Raw)
		}
	}
	return out.String()
}

func (v *Vocabulary) addCues(b *lexicon.Builder) {
	for _, p := range cuePhrases() {
		for phrase := range strings.SplitSeq(p.phrases, "|") {
			b.Add(phrase, lexicon.Cue, int32(len(v.cues)))
			v.cues = append(v.cues, p.cue)
		}
	}
}

// tradeSlots are words that take an index in any trade and are no axis of a spec.
// Those before the semicolon take one small number, those after it a long one.
const tradeSlots = "stage|stages|rod|rods|pass|bolt|bolts|nut|nuts|phase|station|position|bearing|winding|bench|item|type|side|size|shim|shim number|gasket|bay|line|unit|serial|screw|stud|step|round|ring number|pump|spanner|blade|vane|seal|side number|table;" +
	"job|job number|drawing|drawing number|sheet|page|figure|fig|order number|part number|serial number|section|chapter|paragraph|clause|room|extension|grade|class|model|note|o ring number|version|revision|rev|mw|mr"

// tools are instruments, as spoken.
const tools = "wrench|torque wrench|wrench number|torque wrench number|gauge|depth gauge|gage|depth gage|micrometer|depth micrometer|mic|depth mic|indicator|dial indicator|dial gauge|clock gauge|tester|insulation tester|meter|multimeter|caliper|calliper|calipers|vernier|feeler gauge|ohmmeter|torque tester|thermometer"

func (v *Vocabulary) addSlots(b *lexicon.Builder) {
	add := func(s slot, phrase string) {
		s.word, s.plural = phrase, strings.HasSuffix(phrase, "s") && !strings.HasSuffix(phrase, "ss")
		b.Add(phrase, lexicon.Slot, int32(len(v.slots)))
		v.slots = append(v.slots, s)
	}
	taken := map[string]bool{}
	for i, a := range v.axes {
		for _, phrase := range a.Say {
			taken[phrase] = true
			add(slot{axis: i}, phrase)
		}
		for _, value := range a.Values {
			for _, phrase := range value.Say {
				b.Add(phrase, lexicon.Value, int32(len(v.values)))
				v.values = append(v.values, placed{axis: i, value: value.Value})
			}
			if _, err := strconv.Atoi(value.Value); err != nil && !slices.Contains(value.Say, value.Value) && (len(value.Say) == 0 || len(value.Value) == 1) {
				b.Add(value.Value, lexicon.Value, int32(len(v.values)))
				v.values = append(v.values, placed{axis: i, value: value.Value, behind: len(value.Value) == 1})
			}
		}
	}
	for _, n := range v.names {
		for _, phrase := range n.Say {
			if n.Kind == Detail {
				continue // it only opens a note
			}
			taken[phrase] = true // "nut" may be a callout
		}
	}
	short, long, _ := strings.Cut(tradeSlots, ";")
	for phrase := range strings.SplitSeq(short, "|") {
		if !taken[phrase] {
			add(slot{axis: -1}, phrase)
		}
	}
	for phrase := range strings.SplitSeq(long, "|") {
		add(slot{axis: -1, long: true}, phrase)
	}
	for phrase := range strings.SplitSeq(tools, "|") {
		add(slot{axis: -1, tool: true}, phrase)
	}
}

// addSymptoms adds what can be wrong and what a machine is made of, and a shop's own words for both.
func (v *Vocabulary) addSymptoms(b *lexicon.Builder, own *symptom.Own) {
	for _, c := range symptom.Conditions() {
		for _, phrase := range c.Say {
			v.addWrong(b, phrase, c.ID)
		}
	}
	for _, p := range symptom.Parts() {
		for _, phrase := range p.Say {
			v.addThing(b, phrase, p.ID)
		}
	}
	for _, f := range own.Forms {
		if f.Sort == symptom.IsPart {
			v.addThing(b, f.Say, f.Means)
		} else {
			v.addWrong(b, f.Say, f.Means)
		}
	}
}

func (v *Vocabulary) addWrong(b *lexicon.Builder, phrase, id string) {
	b.Add(phrase, lexicon.Wrong, int32(len(v.wrongs)))
	if len(phrase) > 5 && !strings.Contains(phrase, " ") {
		v.conditions = append(v.conditions, spelt{phrase, len(v.wrongs)})
	}
	v.wrongs = append(v.wrongs, id)
}

func (v *Vocabulary) addThing(b *lexicon.Builder, phrase, id string) {
	b.Add(phrase, lexicon.Thing, int32(len(v.things)))
	v.things = append(v.things, id)
}

func (v *Vocabulary) addNames(b *lexicon.Builder) {
	for i, n := range v.names {
		if n.Kind == Detail {
			v.addDetails(n)
			continue
		}
		loose := n.Kind != Reading
		for _, phrase := range n.Say {
			v.addForm(b, i, phrase, loose, false)
			if verb, what, ok := turnedRound(phrase); ok && loose && n.Kind != Part {
				v.addForm(b, i, verb+" the "+what, loose, false)
			}
		}
		for _, phrase := range n.Short {
			v.addForm(b, i, phrase, false, true)
		}
		for _, phrase := range n.Denied {
			v.addForm(b, i, phrase, loose, false)
			v.forms[len(v.forms)-1].denies = true
		}
		for _, c := range n.Choices {
			for _, phrase := range c.Say {
				b.Add(phrase, lexicon.Choice, int32(len(v.choices)))
				v.choices = append(v.choices, chosen{i, c.Is})
			}
		}
		for _, code := range append([]string{n.Unit}, taken(n)...) {
			if u, ok := unit.Lookup(code); ok {
				v.dims[u.Dimension] = true
			}
		}
	}
}

// turnedRound makes "oiled" and "threads" of "threads oiled", as it is said of one's own work: "oiled
// the threads".
func turnedRound(phrase string) (verb, what string, ok bool) {
	at := strings.LastIndexByte(phrase, ' ')
	if at < 0 || !strings.HasSuffix(phrase, "ed") || strings.HasSuffix(phrase, "eed") {
		return "", "", false
	}
	return phrase[at+1:], strings.TrimPrefix(phrase[:at], "the "), true
}

func taken(n Name) (codes []string) {
	for _, t := range n.Takes {
		codes = append(codes, t.Unit)
	}
	return codes
}

func (v *Vocabulary) addForm(b *lexicon.Builder, name int, phrase string, loose, short bool) {
	if loose {
		b.AddLoose(phrase, lexicon.Name, int32(len(v.forms)))
	} else {
		b.Add(phrase, lexicon.Name, int32(len(v.forms)))
	}
	f := nameForm{name: name, short: short}
	for _, t := range token.Split(phrase, nil) {
		if !lexicon.Joins(t) {
			f.words = append(f.words, t.Text)
		}
	}
	if len(f.words) > 1 && !short {
		for at, word := range f.words {
			v.anchors[word] = append(v.anchors[word], anchor{len(v.forms), at})
		}
	}
	if solid := f.solid(); len(solid) > 6 && !short {
		if _, taken := v.solid[solid]; !taken {
			v.solid[solid] = len(v.forms)
		}
		sound := lexicon.Sound(solid)
		v.sounds[sound] = append(v.sounds[sound], len(v.forms))
	}
	v.forms = append(v.forms, f)
}

// solid returns the letters of the form without spaces.
func (f *nameForm) solid() string { return strings.Join(f.words, "") }
