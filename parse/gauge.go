package parse

import (
	"regexp"
	"slices"
	"strings"

	"readback/parse/number"
	"readback/parse/token"
)

// Gauge is what a note has to do with a gauge that types its readings: a wrench, a depth gauge or a
// calliper with a keyboard output. It holds all that the fold needs.
type Gauge struct {
	Do    GaugeDo  `json:"do,omitempty"`    // "" where the note is none of the gauge's, but may fill or free the place that it is on
	Over  []Target `json:"over,omitempty"`  // of [GaugeOn]: what it is to measure; At may be partial
	From  Place    `json:"from,omitempty"`  // of [GaugeOn]: where it begins, may be partial; "" for the first that is not read
	Doubt Doubt    `json:"doubt,omitempty"` // of [GaugeOn]: why it cannot be put there
	Aim   *Aim     `json:"aim,omitempty"`   // how it stood before the note; nil for off
}

// GaugeDo is what is done with a gauge.
type GaugeDo string

// What can be done with a gauge. All but [GaugeSent] are said, and record nothing.
const (
	GaugeOn    GaugeDo = "on"    // its next numbers are of Gauge.Over
	GaugeOff   GaugeDo = "off"   // its next number is of nothing
	GaugeNext  GaugeDo = "next"  // leaves the place it is on
	GaugeBack  GaugeDo = "back"  // goes to the place before
	GaugeAgain GaugeDo = "again" // goes to the place where its last number landed
	GaugeWhere GaugeDo = "where" // asks where its next number lands
	GaugeSent  GaugeDo = "sent"  // the note is what the gauge sent
)

// Aim says where the numbers of a gauge land, one after the other.
type Aim struct {
	Over []Target `json:"over"`           // as it was put on; At may be partial
	Next *Target  `json:"next"`           // where the next number lands; nil behind the last place
	Last *Target  `json:"last,omitempty"` // where the last one landed; nil for none, or where it was taken back
}

// Steps reports whether it asks for a step along the list, or where the gauge is.
func (d GaugeDo) Steps() bool {
	return d == GaugeNext || d == GaugeBack || d == GaugeAgain || d == GaugeWhere
}

// HowGauge is [Claim].How of a number that a gauge sent.
const HowGauge = "gauge"

// Steers reports whether the note only says what a gauge is to measure. Such a note records nothing.
func (g *Gauge) Steers() bool { return g != nil && g.Do != "" && g.Do != GaugeSent }

// Rests reports whether the note only asks where the gauge is, or turns it off: misheard, it does no harm.
func (g *Gauge) Rests() bool { return g != nil && (g.Do == GaugeWhere || g.Do == GaugeOff) }

// The words for a gauge, behind "gauge", which may stand behind "the", "put the" or "set the".
var gaugeDoes = []struct {
	do    GaugeDo
	forms [][]string
}{
	{GaugeOff, formsOf("off|is off|done|is done|finished|stop|away|off now|on nothing")},
	{GaugeNext, formsOf("next|next one|to the next|to the next one|on the next|on the next one|on|skip|skip it|skip that|skip one|skip that one|forward|go on|moves on|move on|on one")},
	{GaugeBack, formsOf("back|back one|go back|one back|goes back|to the last one|to the one before|on the one before|step back|back a step")},
	{GaugeAgain, formsOf("again|same again|once more|stays|stay|stay there|the same again|on the same|on the same again")},
	{GaugeWhere, formsOf("where|where to|on what|on which|what|which|which one|where now|where next|what next|which next")},
}

var (
	gaugeLeads = formsOf("use the|using the|put the|set the|move the|point the|turn the|switch the|with the|the|take the")
	gaugeOns   = []string{"on", "to", "for", "at", "onto"}
	gaugeAsks  = formsOf("where is the gauge|where's the gauge|what is the gauge on|what's the gauge on|which is the gauge on|where does the gauge land|where is the gauge on")
	// "Again" by itself, where a gauge is on, is said of it.
	gaugeAgains = formsOf("again|once more|do it again|that one again|the same one again|one more time")
)

// gauge reads a note that says what a gauge is to measure, or returns nil. One with a number beside the
// places tells of a reading, and is none.
func (s *scan) gauge() *Gauge {
	toks := aside(s.toks)
	if len(s.toks) > 1 && s.toks[len(s.toks)-1].Text == "again" {
		toks = s.toks // it is no aside here
	}
	for _, f := range gaugeAsks {
		if is(toks, f) {
			return &Gauge{Do: GaugeWhere, Aim: s.ctx.Aim}
		}
	}
	if s.ctx.Aim != nil {
		for _, f := range gaugeAgains {
			if is(toks, f) {
				return &Gauge{Do: GaugeAgain, Aim: s.ctx.Aim}
			}
		}
	}
	for _, f := range gaugeLeads {
		if len(toks) > len(f) && opens(toks, f) {
			toks = toks[len(f):]
			break
		}
	}
	if len(toks) < 2 || toks[0].Text != "gauge" && toks[0].Text != "gage" {
		return nil
	}
	toks = toks[1:]
	for _, d := range gaugeDoes {
		for _, f := range d.forms {
			if is(toks, f) {
				return &Gauge{Do: d.do, Aim: s.ctx.Aim}
			}
		}
	}
	for toks[0].Text == "is" && len(toks) > 1 {
		toks = toks[1:]
	}
	if !slices.Contains(gaugeOns, toks[0].Text) || s.hasCue(cueNot, cueNotYet, cueDoubt, cueHearsay, cueIf, cueQuestion, cueScratch) || s.has(isUnit, isWrong) {
		return nil
	}
	return s.gaugeOn()
}

// is reports whether tokens are these words, with nothing but a stop behind them.
func is(toks []token.Token, form []string) bool {
	for len(toks) > 0 && toks[len(toks)-1].Kind == token.Sign {
		toks = toks[:len(toks)-1]
	}
	return len(toks) == len(form) && opens(toks, form)
}

// gaugeOn reads what a gauge is put on: names and places, and behind "from" where it begins.
func (s *scan) gaugeOn() *Gauge {
	g := &Gauge{Do: GaugeOn, Aim: s.ctx.Aim}
	var names []*Name
	var at, from, bare []int // bare: "rods", which tells of what, and not where
	begins := false
	for k := range s.items {
		switch it := &s.items[k]; {
		case it.kind == isName:
			names = append(names, s.nameOf(it))
		case it.kind == isIndex && it.bare:
			bare = append(bare, k)
		case it.kind == isIndex && begins:
			from = append(from, k)
		case it.kind == isIndex:
			at = append(at, k)
		case it.kind == isCue && it.cue == cueBetween && s.toks[it.from].Text == "from", it.kind == isFiller && s.says(it, "starting"), it.kind == isCue && s.says(it, "starting"):
			begins = true
		case it.kind == isNumber && begins && len(names) == 1 && s.beginsAt(it, names[0]):
			from = append(from, k)
		case it.kind == isNumber:
			return nil
		}
	}
	if len(names) == 0 {
		if n, others := s.home(&bound{places: slices.Concat(bare, at, from)}, nil); n != nil && len(bare)+len(at)+len(from) > 0 {
			if len(others) > 0 {
				g.Doubt = TwoHomes
			}
			names = append(names, n)
		}
	}
	if len(names) == 0 {
		g.Doubt = NoHome
		return g
	}
	for _, n := range names {
		s.gaugeOver(g, n, at)
	}
	if len(from) > 0 {
		places, _, doubt := s.spots(names[0], from)
		if doubt != "" || len(places) != 1 {
			g.Doubt = NoSuchPlace
		}
		g.From = places[0]
	}
	return g
}

// gaugeOver adds what is measured of one name, at the places that were said.
func (s *scan) gaugeOver(g *Gauge, n *Name, at []int) {
	places, _, doubt := s.spots(n, at)
	if doubt == NoSuchPlace || !s.onAxes(n, at) && !n.Derived {
		g.Doubt = NoSuchPlace
	}
	for _, p := range places {
		if t := (Target{n.Callout, order(n, p)}); !slices.Contains(g.Over, t) {
			g.Over = append(g.Over, t)
		}
	}
}

// beginsAt makes a bare number the place on the last axis of a name where the gauge begins.
func (s *scan) beginsAt(it *item, n *Name) bool {
	i, whole := it.isBareWhole()
	if !whole || len(n.Axes) == 0 || i < 0 {
		return false
	}
	a := s.axisIndex(n.Axes[0])
	if a < 0 {
		return false
	}
	it.kind, it.axis = isIndex, a
	if !s.place(it, &s.v.axes[a], int(min(i, 1000))) {
		it.absent = true
	}
	return true
}

// says reports whether an item is that one word.
func (s *scan) says(it *item, word string) bool { return s.toks[it.from].Text == word }

// aimed adds how the gauge stood to a note that may fill the place that it is on, or free the one where
// its last number landed.
func (s *scan) aimed(u *Utterance) {
	if s.ctx.Aim != nil && u.Gauge == nil && len(u.Claims)+len(u.Withdrawn) > 0 {
		u.Gauge = &Gauge{Aim: s.ctx.Aim}
	}
}

// sentNumber is a sign, digits with at most one point or comma, and a unit.
var sentNumber = regexp.MustCompile(`^([+\-−]?)\s*([0-9]*)(?:[.,]([0-9]*))?\s*([^0-9\s][^0-9]*)?$`)

// thousands is a number whose comma may stand behind its thousands as well as before its decimals: "1,250".
var thousands = regexp.MustCompile(`^[+\-−]?\s*[1-9][0-9]{0,2},[0-9]{3}([^0-9]|$)`)

// Sent reads what a gauge sent: one number, that may have a sign, noughts before it, a point or a comma,
// and a unit. It lands where the context says that the gauge is; with nothing chosen, or where it is
// no single number, it is asked back. Like [Text] it never fails and keeps no state.
func Sent(text string, v *Vocabulary, ctx Context) Utterance {
	u := Utterance{Text: text, Kind: Unclear, Mentions: true, Gauge: &Gauge{Do: GaugeSent, Aim: ctx.Aim}}
	c := Claim{How: HowGauge}
	trimmed := strings.TrimSpace(text)
	var ok bool
	if c.Value, c.Unit, ok = sentOf(trimmed); !ok {
		u.Asks = []Ask{{Doubt: NoNumber, Words: trimmed}}
		return u
	}
	start := strings.Index(text, trimmed)
	c.Span = Span{start, start + len(trimmed)}
	if ctx.Aim == nil || ctx.Aim.Next == nil {
		c.Doubts = []Doubt{NoHome}
	} else {
		c.Target, u.Kind = *ctx.Aim.Next, Reading
		if n, ok := v.name(c.Callout); ok && c.Unit == "" && n.Unit == "1" {
			c.Unit = "1"
		}
	}
	u.Claims, u.Using = []Claim{c}, ctx.Using
	u.Steps = []Step{{Span: c.Span, Words: trimmed, Is: "number " + strings.TrimSpace(c.Value.String()+" "+c.Unit), Why: "sent by a gauge"}}
	return u
}

// How many digits a gauge sends at most, before the point without noughts and behind it; more are of a code
// that was scanned.
const (
	maxWhole    = 6
	maxDecimals = 6
)

// SentTwice is the utterance where the gauge had sent the same a moment before: its claim is asked about.
func (u Utterance) SentTwice() Utterance {
	u.Claims = slices.Clone(u.Claims)
	for i := range u.Claims {
		u.Claims[i].Doubts = append(slices.Clone(u.Claims[i].Doubts), Twice)
	}
	return u
}

// sentOf reads the number and the unit, "" for none.
func sentOf(text string) (value number.Value, code string, ok bool) {
	m := sentNumber.FindStringSubmatch(text)
	if len(m) == 0 || m[2] == "" && m[3] == "" || thousands.MatchString(text) {
		return value, "", false
	}
	whole := strings.TrimLeft(m[2], "0")
	if len(whole) > maxWhole || len(m[3]) > maxDecimals || len(m[2]) > 2*maxWhole {
		return value, "", false
	}
	if whole == "" {
		whole = "0"
	}
	digits := whole
	if m[3] != "" {
		digits += "." + m[3]
	}
	if value, ok = number.Parse(digits); !ok {
		return value, "", false
	}
	if m[1] == "-" || m[1] == "−" {
		value = value.Neg()
	}
	if m[4] == "" {
		return value, "", true
	}
	q := Quantities("1 " + m[4])
	if len(q) != 1 || q[0].Unit == "1" || q[0].Start != 0 || q[0].End != len("1 "+m[4]) || !q[0].Value.Same(number.Int(1)) {
		return value, "", false
	}
	return value, q[0].Unit, true
}
