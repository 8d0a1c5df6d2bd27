package parse

import (
	"slices"

	"readback/parse/number"
	"readback/parse/token"
)

// question reads a note that asks for something, or returns nil.
func (s *scan) question() *Query {
	if s.asksBrief() {
		return &Query{About: AboutBrief}
	}
	if !s.asks() {
		return nil
	}
	if callout := s.detailAsked(); callout != "" && !s.has(isName) {
		return &Query{About: AboutReading, Targets: []Target{{Callout: callout}}}
	}
	q := &Query{About: s.about()}
	switch q.About {
	case AboutCallout, AboutReading:
		if q.Targets = s.askedAbout(q.About); len(q.Targets) > 0 {
			return q
		}
		q.About = AboutOther
		if s.hasCue(cueLastSaid, cueLast) {
			q.About = AboutLast
		}
	case AboutCount:
		q.Axis, q.Words = s.bareAxis(), s.wordsBehind("many")
	case AboutNeed:
		q.Words = s.wordsBehind("which", "what")
	case AboutLeft:
		switch q.Words = s.wordsBehind("before"); {
		case len(q.Words) > 0 || s.saysAny("before"):
		case s.has(isName):
			q.Targets = s.askedAbout(AboutLeft)
		default:
			q.Axis = s.bareAxis()
		}
	case AboutNext:
		if q.Axis = s.bareAxis(); q.Axis == "" {
			q.Axis = s.axisNamed()
		}
	case AboutOrder, AboutTool:
		q.Axis = s.bareAxis()
		if s.has(isName) || q.Axis == "" && s.hasPlaceItem() {
			q.Targets = s.askedAbout(q.About)
		}
	case AboutOpen, AboutLast, AboutWhy, AboutBrief, AboutOther:
	}
	return q
}

// turned are words that make a question where they open a note: "is the seat clean".
var turned = []string{
	"is", "are", "was", "were", "did", "do", "does", "has", "have", "can", "could", "should", "shall", "would", "will", "isn't", "aren't", "hasn't", "didn't", "wasn't",
}

// asks reports whether the note opens with a word of asking, or ends with its mark.
func (s *scan) asks() bool {
	if s.saysAny("?") {
		return true
	}
	if i := s.opening(); i+1 < len(s.toks) && s.has(isName, isIndex) && slices.Contains(turned, s.toks[i].Text) && s.toks[i+1].Text != "at" {
		return s.toks[i].Text != "did" || !s.has(isNumber) || !s.hasCue(cueAgain) || s.nums[i+1].Class == number.None && s.toks[i+1].Text != "the" && !s.has(isIndex) || slices.Contains([]string{"i", "we", "you", "he", "she", "they"}, s.toks[i+1].Text)
	}
	for k := range s.items {
		it := &s.items[k]
		switch {
		case it.kind == isCue && it.cue == cueQuestion:
			return !s.has(isNumber) || !s.measured(k) || !s.suggests(k)
		case it.kind != isFiller && (it.kind != isCue || it.cue == cueAnd):
			return false
		}
	}
	return false
}

// opening returns the first token that is more than a clearing of the throat.
func (s *scan) opening() int {
	for i := range s.toks {
		switch s.toks[i].Text {
		case "um", "uh", "er", "erm", "ah", "okay", "ok", "so", "well", "right", "and", "hey", "now", "please", ",":
		default:
			return i
		}
	}
	return len(s.toks)
}

// measured reports whether a number with a unit follows the asking word: then it may
// be a statement ("how about forty eight newton metres").
func (s *scan) measured(k int) bool {
	for j := k + 1; j < len(s.items); j++ {
		if s.items[j].kind == isNumber && len(s.items[j].codes) > 0 {
			return true
		}
	}
	return false
}

// suggests reports whether the asking word at item k may open a statement: "how about
// forty eight".
func (s *scan) suggests(k int) bool {
	w := s.toks[s.items[k].from].Text
	return w == "how" || w == "what" || w == "say" || w == "which"
}

// bareAxis returns the axis that is named without a place: "how many stages", "which rod".
func (s *scan) bareAxis() string {
	for k := range s.items {
		if it := &s.items[k]; it.kind == isIndex && it.bare && it.axis >= 0 {
			return s.v.axes[it.axis].ID
		}
	}
	return ""
}

// axisNamed returns the first axis of the callout that is named, "" for none.
func (s *scan) axisNamed() string {
	for k := range s.items {
		if s.items[k].kind == isName {
			if n := s.nameOf(&s.items[k]); len(n.Axes) > 0 {
				return n.Axes[0]
			}
		}
	}
	return ""
}

// endsInNext reports whether the note asks which place or callout is next: "which tie rod is next".
func (s *scan) endsInNext() bool {
	n := len(s.toks)
	for n > 0 && s.toks[n-1].Kind == token.Sign {
		n--
	}
	return n > 2 && s.toks[n-1].Text == "next" && s.toks[n-2].Text == "is" && !s.hasPlaceItem()
}

// wordsBehind returns the words behind one of the given, up to a verb: of "which bolts do I need" bolts.
func (s *scan) wordsBehind(after ...string) (words []string) {
	i := slices.IndexFunc(s.toks, func(t token.Token) bool { return slices.Contains(after, t.Text) })
	if i < 0 {
		return nil
	}
	for _, t := range s.toks[i+1:] {
		switch t.Text {
		case "do", "does", "are", "is", "have", "has", "need", "needed", "for", "in", "will", "should", "goes", "go", "i", "we", "to", "can", "?", ",", ".":
			return words
		case "the", "a", "of", "my", "more", "-":
		default:
			words = append(words, t.Text)
		}
	}
	return words
}

// tooling reports whether the note asks for an instrument: "which wrench for the collar nuts". Where
// somebody left one is no such question.
func (s *scan) tooling() bool {
	if s.saysAny("where", "where's", "who", "who's", "whose") {
		return false
	}
	return s.saysAny("instrument", "instruments", "tool", "tools") || slices.ContainsFunc(s.items, func(it item) bool {
		return it.kind == isSlot && s.v.slots[it.id].tool && len(it.places) == 0
	})
}

func (s *scan) about() About {
	has := func(words ...string) bool {
		for i := range s.toks {
			if slices.Contains(words, s.toks[i].Text) {
				return true
			}
		}
		return false
	}
	readback := has("back", "repeat", "again")
	switch {
	case has("why"):
		return AboutWhy
	case has("many") && !has("left", "remaining", "open", "findings", "outstanding", "wrong") && (s.bareAxis() != "" || len(s.wordsBehind("many")) > 0):
		return AboutCount
	case has("who", "who's", "whose"):
		return AboutOther
	case has("order", "sequence", "pattern") && !has("number", "numbers", "work"):
		return AboutOrder
	case s.tooling():
		return AboutTool
	case s.endsInNext():
		return AboutNext
	case has("left", "remaining") && (has("before") || s.has(isName) || s.bareAxis() != "") && !s.hasPlaceItem():
		return AboutLeft
	case has("need", "needed") && !s.hasPlaceItem() && !s.has(isName):
		return AboutNeed
	case s.hasPlaceItem() || s.has(isName):
		if readback || s.opening() < len(s.toks) && slices.Contains(turned, s.toks[s.opening()].Text) || has("say", "said", "did", "was", "got", "have", "get") {
			return AboutReading
		}
		return AboutCallout
	case has("open", "wrong", "findings", "outstanding"):
		return AboutOpen
	case has("left", "remaining", "owed", "missing") || has("to") && has("do"):
		return AboutLeft
	case has("next"):
		return AboutNext
	case readback, has("last", "said"):
		return AboutLast
	}
	return AboutOther
}

// askedAbout returns the callouts and places that a question names. What was read at a place is all
// that may be recorded there.
func (s *scan) askedAbout(about About) (targets []Target) {
	var places []int
	for k := range s.items {
		if s.items[k].kind == isIndex && !s.items[k].bare {
			places = append(places, k)
		}
	}
	add := func(n *Name) {
		spots, _, _ := s.spots(n, places)
		for _, p := range spots {
			t := Target{n.Callout, order(n, p)}
			if !slices.Contains(targets, t) {
				targets = append(targets, t)
			}
		}
	}
	for k := range s.items {
		if s.items[k].kind == isName {
			add(s.nameOf(&s.items[k]))
		}
	}
	if len(targets) > 0 {
		return targets
	}
	if about == AboutReading && len(places) > 0 {
		for i := range s.v.names {
			if n := &s.v.names[i]; n.Kind != Event && !n.Derived && s.onAxes(n, places) {
				add(n)
			}
		}
		return targets
	}
	if n, others := s.home(&bound{places: places}, nil); n != nil {
		add(n)
		for _, o := range others {
			if m, ok := s.v.name(o); ok {
				add(m)
			}
		}
	}
	return targets
}

// onAxes reports whether a name has the axes of all the places.
func (s *scan) onAxes(n *Name, places []int) bool {
	return !slices.ContainsFunc(places, func(k int) bool {
		a := s.items[k].axis
		return a < 0 || !slices.Contains(n.Axes, s.v.axes[a].ID)
	})
}
