// Package parse turns one note, heard or typed, into an [Utterance]: what kind of
// note it is, which quantities and names it holds, where each sits in the text and
// what is unclear.
//
// It is pure. It knows nothing of specs, files, clocks or networks: the names that a
// spec may be spoken by come in as a [Vocabulary], what was said before as a
// [Context]. The same three inputs always give the same Utterance. It cannot fail:
// what it cannot place is unclear, and asked back.
//
// Start reading at [Text]: tokens (package token) become items (scan.go: the longest
// name, slot, number, unit or word of discourse at each place), items become claims
// and marks (bind.go, claims.go, marks.go).
package parse

import (
	"fmt"
	"slices"
	"unicode/utf8"
)

// MaxNote is the longest note that is read, in characters. A longer one is no note
// that somebody spoke: [Text] asks for it in pieces, and [Quantities] finds none.
const MaxNote = 2000

// tooLong reports whether a note has more characters than [MaxNote].
func tooLong(note string) bool {
	return len(note) > MaxNote && utf8.RuneCountInString(note) > MaxNote
}

// longNote is the utterance of a note that is too long to be read.
func longNote(note string) Utterance {
	words := fmt.Sprintf("%d characters", utf8.RuneCountInString(note))
	return Utterance{Text: note, Kind: Unclear, Asks: []Ask{{Doubt: TooLong, Words: words}}}
}

// Text reads a note. It never fails and keeps no state.
func Text(note string, v *Vocabulary, ctx Context) Utterance {
	if tooLong(note) {
		return longNote(note)
	}
	s := newScan(note, v, &ctx)
	defer s.release()
	s.read()
	s.relate()
	u := s.utterance()
	s.aimed(&u)
	return u
}

// utterance tries what a note can be, in the order of what settles it.
func (s *scan) utterance() Utterance {
	u := Utterance{Text: s.note}
	u.Mentions = s.has(isName, isIndex, isNumber, isSlot, isWrong)
	if u.Gauge = s.gauge(); u.Gauge != nil {
		u.Kind, u.Mentions = Instrument, false
		s.instrument(&u)
		return u
	}
	if q := s.question(); q != nil {
		u.Kind, u.Question = Question, q
		return u
	}
	if s.details(&u) {
		return u
	}
	if s.handsOn() {
		u.Kind, u.Over = Remark, true
		return u
	}
	if s.declines() || s.leaves() {
		u.Kind, u.Dropped, u.Forgets = Correction, true, s.askedTargets()
		return u
	}
	if s.takesBackLast() {
		u.Kind, u.Withdrawn = Correction, slices.Clone(s.ctx.Undo)
		return u
	}
	if s.untellsLast() {
		u.Kind, u.Untold = Correction, s.ctx.Told.Found
		return u
	}
	s.tooled()
	s.asides()
	s.told()
	s.gotInstead()
	s.nextSlots()
	s.sames()
	s.excepted()
	fix := s.correct()
	s.takeBack(&u, fix)
	if fix.lost {
		u.Kind, u.Asks = Correction, append(u.Asks, Ask{Doubt: TwoPlaces, Words: s.note})
		return u
	}
	s.morePlaces()
	groups, numbers := s.groups()
	if !s.answer(&u, groups, numbers) && !s.addsTaken(&u, fix, groups, numbers) {
		s.claims(&u, fix, groups, numbers)
	}
	if !fix.named && !s.answersMark(&u) {
		s.marks(&u)
	}
	s.found(&u)
	s.toldAnew(&u)
	if len(u.Claims) > 0 {
		u.Using = s.ctx.Using
		if u.Instrument != "" {
			u.Using = using(u.Instrument, s.ctx.Using)
		}
	}
	u.Kind = s.kind(&u, fix)
	return u
}

// takeBack fills in what "scratch that" takes back of earlier notes.
func (s *scan) takeBack(u *Utterance, fix amends) {
	if !fix.scratch || fix.inNote && !fix.named || fix.mild && len(s.ctx.Asked) == 0 && s.ctx.Open == nil {
		return
	}
	switch {
	case fix.named:
		u.Withdrawn = s.namedTargets()
	case len(s.ctx.Asked) > 0, s.ctx.Open != nil:
		u.Dropped, u.Forgets = true, s.askedTargets()
	case s.toldAlone() && !s.scratchesMore():
		u.Untold = s.ctx.Told.Found
	case s.ctx.Else && len(s.ctx.Marks) == 0:
		u.Asks = append(u.Asks, Ask{Doubt: TwoPlaces, Words: s.note}) // what was said last is no record
	case s.scratchesMore():
		u.Asks = append(u.Asks, Ask{Doubt: TwoPlaces, Words: s.note})
	default:
		u.Withdrawn = append(u.Withdrawn, s.ctx.Undo...)
		if s.ctx.Told != nil {
			u.Untold = s.ctx.Told.Found
		}
	}
}

// toldAlone reports whether the last note only told of something wrong.
func (s *scan) toldAlone() bool {
	return s.ctx.Told != nil && s.ctx.Told.Alone && len(s.ctx.Asked) == 0 && s.ctx.Open == nil
}

// scratchesMore reports whether more than the last record is to go, or an earlier one: "scratch both",
// "scratch the first".
func (s *scan) scratchesMore() bool {
	for _, t := range s.toks {
		switch t.Text {
		case "both", "everything", "all", "them", "those", "lot", "first", "before":
			return true
		}
	}
	return false
}

// undoneAt returns what the last recording note recorded at the places: "scratch stage
// one" names no callout.
func (s *scan) undoneAt(places []int) (out []Target) {
	for _, t := range s.ctx.Undo {
		for _, k := range places {
			it := &s.items[k]
			if it.kind == isIndex && it.axis >= 0 && slices.Contains(it.places, t.At.On(s.v.axes[it.axis].ID)) {
				out = append(out, t)
				break
			}
		}
	}
	return out
}

// askedTargets lists what was asked back and is pending at this bench.
func (s *scan) askedTargets() (out []Target) {
	for i := range s.ctx.Asked {
		out = append(out, s.ctx.Asked[i].Target)
	}
	if s.ctx.Open != nil {
		out = append(out, s.ctx.Open.Target)
	}
	return out
}

// namedTargets returns what the names and places of a note point at.
func (s *scan) namedTargets() (targets []Target) {
	groups, _ := s.groups()
	var places, names []int
	for i := range groups {
		places, names = append(places, groups[i].places...), append(names, groups[i].names...)
	}
	var n *Name
	for _, k := range names {
		n = s.nameOf(&s.items[k])
	}
	if n == nil {
		if targets := s.undoneAt(places); len(targets) > 0 {
			return targets
		}
		n, _ = s.home(&bound{places: places}, nil)
	}
	if n == nil {
		return nil
	}
	spots, missing, doubt := s.spots(n, places)
	if doubt != "" {
		return nil
	}
	for _, p := range spots {
		if p, _, ok := s.carry(n, p, missing, len(places) == 0); ok {
			targets = append(targets, Target{n.Callout, p})
		}
	}
	return targets
}

// kind is the first of what the note holds.
func (s *scan) kind(u *Utterance, fix amends) Kind {
	event := markKind(s.v, u.Marks)
	sure := false
	for i := range u.Claims {
		sure = sure || len(u.Claims[i].Doubts) == 0
	}
	switch {
	case len(u.Untold) > 0, fix.scratch && (!fix.mild || u.Dropped) || (fix.record || fix.should) && (len(u.Claims) > 0 || len(u.Withdrawn) > 0), fix.moved && len(u.Withdrawn) > 0:
		return Correction
	case sure:
		return Reading
	case event != "":
		return event
	case len(u.Claims) > 0 || len(u.Asks) > 0:
		return Unclear
	case u.Instrument != "":
		return Instrument
	case len(u.Symptoms) > 0:
		return Symptom
	}
	return Remark
}

// markKind returns the first of event, part, confirm among the marks.
func markKind(v *Vocabulary, marks []Mark) Kind {
	best, rank := Kind(""), 4
	for _, m := range marks {
		n, ok := v.name(m.Callout)
		if !ok {
			continue
		}
		for i, k := range []Kind{Event, Part, Confirm} {
			if n.Kind == k && i < rank {
				best, rank = k, i
			}
		}
	}
	return best
}
