package rules

import (
	"math/big"
	"slices"
	"strings"

	"readback/parse"
	"readback/parse/unit"
	"readback/rules/say"
)

// CalloutState is one thing that a job calls for, with what stands at each of its places,
// as a page shows it.
type CalloutState struct {
	ID      string
	Name    string // as it is read back: "collar nut"
	Kind    parse.Kind
	Unit    string // UCUM code; "" for what is no reading
	Symbol  string // of Unit, as it is written: "N·m"
	Derived bool   // computed from other readings, never said
	Owed    bool   // the work calls for it; false for what only may happen
	Places  []PlaceState
}

// PlaceState is what stands at one place of a callout.
type PlaceState struct {
	At      parse.Place
	Where   string   // in words: "collar nut three"
	Limits  string   // as shown: "46.08 to 49.92 N·m"; for a part, which one; "" for none
	Reading *Reading // nil where none stands
	Shown   string   // the reading as written: "48 N·m"
	Also    string   // the same in the shop's other unit: "35.4 lbf·ft"; "" for none
	Mark    string   // "done" or which part; "" where none stands
	Void    bool     // was taken, and made worthless by later work
	Left    bool     // owed and not done

	Disposition Disposition // of what was found of the reading or mark; "" for none that stands
}

// Stack is the part of the work that builds the unit up, level by level.
type Stack struct {
	Axis  string         // that the levels are places of, lowest first
	Parts []string       // callouts of what is laid at a level
	Other []string       // the other callouts of a level, in the order of the work
	Kinds []parse.Choice // of the parts, as the spec lists them; nil where there is no choice
	Base  []string       // callouts of the step right before, which has no levels: what the stack stands on
	Cover string         // callout of what closes the stack; "" where nothing does
}

// Stack returns the first step of the work that is repeated along an axis and lays a
// part; ok is false where the work has none. What closes the stack is what a hold point
// lets on only when the part is there.
func (j *Job) Stack() (s Stack, ok bool) {
	for i, step := range j.spec.Work {
		s = Stack{Axis: step.Each}
		if i > 0 && j.spec.Work[i-1].Each == "" {
			s.Base = j.spec.Work[i-1].Do
		}
		for _, id := range step.Do {
			l := j.byID[id]
			switch {
			case l == nil || !slices.Contains(l.axes, step.Each):
			case l.Kind == parse.Part:
				s.Parts, s.Kinds = append(s.Parts, id), append(s.Kinds, l.Choices...)
			default:
				s.Other = append(s.Other, id)
			}
		}
		if len(s.Parts) > 0 {
			s.Cover = j.cover(s.Parts)
			return s, true
		}
	}
	return Stack{}, false
}

// cover returns the first mark without places that goes past a hold point on the parts.
func (j *Job) cover(parts []string) string {
	for _, r := range j.spec.Rules {
		h, ok := r.(*HoldPoint)
		if !ok || !slices.ContainsFunc(parts, func(id string) bool { return slices.Contains(h.Needs, id) }) {
			continue
		}
		if l := j.byID[h.Past]; l != nil && l.Kind != parse.Reading && len(l.axes) == 0 {
			return h.Past
		}
	}
	return ""
}

// Where returns a target in words: "collar nut three", "tie rod two, pass one".
func (j *Job) Where(t parse.Target) string { return j.where(t) }

// Wanted writes what belongs at a target, as shown: "46.08 to 49.92 N·m"; "" where nothing is
// called for or the job does not have it.
func (j *Job) Wanted(t parse.Target) string {
	l := j.byID[t.Callout]
	if l == nil {
		return ""
	}
	return j.wantedShown(l, t.At)
}

// Between returns the least and the largest value that a reading may have at a target, in the callout's unit: its limits, of
// several ranges the first, and what is plausible where they are open. An end that nothing bounds is nil.
func (j *Job) Between(t parse.Target) (least, most *big.Rat) {
	l := j.byID[t.Callout]
	if l == nil {
		return nil, nil
	}
	b := l.limitsAt(t.At)
	least, most = b.min, b.max
	if len(b.oneOf) > 0 {
		least, most = b.oneOf[0][0], b.oneOf[0][1]
	}
	if p := l.Plausible; p != nil && least == nil && p.Min != nil {
		least = p.Min.Rat()
	}
	if p := l.Plausible; p != nil && most == nil && p.Max != nil {
		most = p.Max.Rat()
	}
	return least, most
}

// Name returns a callout in words, or what its id says where the job does not have it.
func (j *Job) Name(callout string) string { return j.name(callout) }

// State returns every callout of the job in the order of the work. What the work does not
// call for stands behind the callout that it follows in the spec.
func (j *Job) State() []CalloutState {
	owed := map[string]bool{}
	var order []string
	for _, t := range j.owed {
		if !owed[t.Callout] {
			order = append(order, t.Callout)
		}
		owed[t.Callout] = true
	}
	after := map[string][]*live{}
	last := ""
	for _, l := range j.list {
		if owed[l.ID] {
			last = l.ID
			continue
		}
		after[last] = append(after[last], l)
	}
	var out []CalloutState
	add := func(l *live) { out = append(out, j.calloutState(l, owed[l.ID])) }
	for _, l := range after[""] {
		add(l)
	}
	for _, id := range order {
		add(j.byID[id])
		for _, l := range after[id] {
			add(l)
		}
	}
	return out
}

func (j *Job) calloutState(l *live, owed bool) CalloutState {
	c := CalloutState{
		ID: l.ID, Name: j.name(l.ID), Kind: l.Kind, Unit: l.Unit, Symbol: say.Symbol(l.Unit),
		Derived: l.Derived != nil, Owed: owed,
	}
	for _, p := range j.placesInOrder(l) {
		c.Places = append(c.Places, j.placeState(l, p, owed))
	}
	return c
}

func (j *Job) placeState(l *live, p parse.Place, owed bool) PlaceState {
	t := parse.Target{Callout: l.ID, At: p}
	s := PlaceState{
		At: p, Where: j.where(t), Limits: j.wantedShown(l, p), Mark: j.mark(t),
		Void: j.voided[t], Left: owed && !j.has(t), Disposition: j.dispositionAt(t),
	}
	if s.Reading = j.readingAt(l, t); s.Reading != nil {
		s.Shown = say.Shown(s.Reading.Value, s.Reading.Unit)
		s.Also = j.also(l, s.Reading)
	}
	return s
}

// also writes a reading in the shop's other unit, "" where it has none. It stands on the
// same side of the limits as the reading.
func (j *Job) also(l *live, r *Reading) string {
	to := j.shop.beside(r.Unit)
	if to == "" {
		return ""
	}
	b := l.limitsAt(r.At)
	ends := []*big.Rat{b.min, b.max}
	for _, one := range b.oneOf {
		ends = append(ends, one[0], one[1])
	}
	for i, end := range ends {
		if end == nil {
			continue
		}
		var err error
		if ends[i], err = unit.Convert(end, l.Unit, to); err != nil {
			return ""
		}
	}
	text, _ := say.Beside(r.Value, r.Unit, to, ends...)
	return text
}

// wantedShown writes what belongs at a place, "" where nothing is called for.
func (j *Job) wantedShown(l *live, p parse.Place) string {
	if b := l.limitsAt(p); !b.none() {
		text := j.limitShown(l, b)
		if l.Corrected != nil {
			text += " at " + say.Shown(l.Corrected.To, "Cel")
		}
		parts := []string{text}
		for _, a := range l.TakenAt {
			if a.Limits == nil {
				continue
			}
			parts = append(parts, a.said()+" "+limitShownIn(a.Limits.bounds(p, j.options), a.Unit))
		}
		return strings.Join(parts, ", ")
	}
	return j.partKind(l, p)
}

// readingAt returns the reading that stands at a target, computed where it is derived.
func (j *Job) readingAt(l *live, t parse.Target) *Reading {
	if l.Derived != nil {
		y, ok := j.derive(l)
		if !ok {
			return nil
		}
		b := l.limitsAt(t.At)
		r := &Reading{Callout: l.ID, At: t.At, Value: say.Near(y, 2, b.min, b.max), Unit: l.Unit, Verdict: inOut(b.holds(y))}
		if m, ok := j.measuredDerived(l); ok {
			r.conform(m)
			if r.Verdict == In && j.inGuard(m) {
				r.Verdict = Close
			}
		}
		return r
	}
	k := j.readings[t]
	if k == nil {
		return nil
	}
	r := j.shown(l, k)
	return &r
}
