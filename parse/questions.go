package parse

import (
	"slices"

	"readback/parse/number"
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
	if axis, ok := s.howMany(); ok {
		return &Query{About: AboutCount, Axis: axis}
	}
	if q.About == AboutCallout || q.About == AboutReading {
		q.Targets = s.askedAbout()
		if len(q.Targets) == 0 {
			q.About = AboutOther
			if s.hasCue(cueLastSaid, cueLast) {
				q.About = AboutLast
			}
		}
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

// howMany returns the axis of "how many stages".
func (s *scan) howMany() (axis string, ok bool) {
	if !s.saysAny("many") || s.has(isName) {
		return "", false
	}
	for k := range s.items {
		if it := &s.items[k]; it.kind == isIndex && it.bare && it.axis >= 0 {
			return s.v.axes[it.axis].ID, true
		}
	}
	return "", false
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

// askedAbout returns the callouts and places that a question names.
func (s *scan) askedAbout() (targets []Target) {
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
