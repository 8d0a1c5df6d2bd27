package rules

import (
	"fmt"
	"slices"

	"readback/parse"
	"readback/rules/say"
)

// Gauge says where the next number of a gauge that types its readings lands.
type Gauge struct {
	Next  *Owed  `json:"next"`  // nil: on nothing, such a number is asked back; null in JSON
	Where string `json:"where"` // Next in words: "collar nut three"
}

// Aimed returns where the next number of a gauge lands, as it is shown.
func (j *Job) Aimed(aim *parse.Aim) Gauge {
	if aim == nil || aim.Next == nil {
		return Gauge{}
	}
	next := Owed(*aim.Next)
	return Gauge{&next, j.where(*aim.Next)}
}

// steer moves the gauge as the note says, or as its readings let it go on, and says where its next
// number lands. It is "" for a note that leaves it where it was and is none of the gauge's.
func (j *Job) steer(u *parse.Utterance, a *Answer, withdrawn []parse.Target) (text string) {
	g := u.Gauge
	if g == nil {
		return ""
	}
	aim := g.Aim
	switch {
	case g.Do == parse.GaugeOn:
		aim, text = j.putOn(g)
		if aim == nil {
			a.Kind = parse.Unclear
		}
		j.closeAsks(func(q ask) bool { return q.typed })
	case g.Do == parse.GaugeOff:
		aim, text = nil, "The gauge is off: its numbers are of nothing now."
	case aim == nil && g.Do.Steps():
		text = "The gauge is on nothing. Say gauge on, and what it measures."
	case g.Do == parse.GaugeWhere:
		text = j.landing(aim)
	case g.Do.Steps():
		aim, text = j.step(g.Do, *aim)
	case aim != nil:
		aim, text = j.follow(*aim, g.Do == parse.GaugeSent, withdrawn)
	}
	a.Heard.Aim = aim
	now := j.Aimed(aim)
	a.Gauge = &now
	return text
}

// landing says where the next number lands.
func (j *Job) landing(aim *parse.Aim) string {
	if aim.Next == nil {
		return "That was the last: the gauge is on nothing now."
	}
	return "Gauge next: " + j.where(*aim.Next) + "."
}

// putOn puts the gauge on what was named. It is on nothing where that is unclear: a number that comes
// all the same must not land where it was before.
func (j *Job) putOn(g *parse.Gauge) (*parse.Aim, string) {
	names := "that"
	if len(g.Over) > 0 {
		names = j.name(g.Over[0].Callout)
	}
	list := j.onList(g.Over)
	switch {
	case g.Doubt == parse.NoHome || len(g.Over) == 0 && g.Doubt == "":
		return nil, "Gauge on what? Say what it measures, with its place. It is off until then."
	case g.Doubt == parse.TwoHomes:
		return nil, "Gauge on what there? More than one thing is read at that place. It is off until then."
	case g.Doubt != "":
		return nil, fmt.Sprintf("Gauge on %s: this job has no such place. It is off until you say which.", names)
	case len(list) == 0:
		return nil, fmt.Sprintf("Gauge on %s: that is nothing to be measured here. It is off until you say what.", names)
	}
	i := slices.IndexFunc(list, func(t parse.Target) bool { return j.readings[t] == nil })
	if g.From != "" {
		i = slices.IndexFunc(list, func(t parse.Target) bool { return within(t.At, g.From) })
	}
	switch {
	case i < 0 && g.From != "":
		return nil, fmt.Sprintf("Gauge on %s: %s is not among those. It is off until you say where it begins.", names, j.placeOf(g.From))
	case i < 0:
		i = 0
	}
	aim := &parse.Aim{Over: g.Over, Next: &list[i]}
	text := j.landing(aim)
	if more := len(list) - i - 1; more > 0 {
		text = fmt.Sprintf("Gauge next: %s, then %s more.", j.where(list[i]), say.Int(int64(more)))
	}
	return aim, text
}

// onList lists the places of what a gauge was put on, in the order of the work: rounds one after
// the other, each in its diagonal order. What is computed stands for what it is computed from.
func (j *Job) onList(over []parse.Target) (list []parse.Target) {
	var wanted []parse.Target
	for _, t := range over {
		if l := j.byID[t.Callout]; l != nil && l.Derived != nil {
			for _, name := range l.Derived.Names() {
				wanted = append(wanted, parse.Target{Callout: name, At: t.At})
			}
			continue
		}
		wanted = append(wanted, t)
	}
	for _, t := range wanted {
		l := j.byID[t.Callout]
		if l == nil || l.Kind != parse.Reading || l.Derived != nil {
			continue
		}
		for _, p := range j.inRounds(l) {
			each := parse.Target{Callout: l.ID, At: p}
			if !slices.Contains(list, each) && slices.ContainsFunc(wanted, func(w parse.Target) bool { return w.Callout == l.ID && within(p, w.At) }) {
				list = append(list, each)
			}
		}
	}
	return list
}

// inRounds returns the places of a callout as the work takes them, also where any order will do within
// a round.
func (j *Job) inRounds(l *live) []parse.Place {
	places := j.placesInOrder(l)
	o := j.passOrder(l.ID)
	if o == nil || o.given(l) != nil {
		return places
	}
	rounds := o.roundsOf(l)
	places = slices.Clone(places)
	slices.SortStableFunc(places, func(a, b parse.Place) int {
		return slices.Index(rounds, a.On(o.Round)) - slices.Index(rounds, b.On(o.Round))
	})
	return places
}

// step moves the gauge along its list.
func (j *Job) step(do parse.GaugeDo, aim parse.Aim) (*parse.Aim, string) {
	list := j.onList(aim.Over)
	at := len(list)
	if aim.Next != nil {
		at = slices.Index(list, *aim.Next)
	}
	switch {
	case do == parse.GaugeNext && at < len(list):
		aim.Next = after(list, at)
	case do == parse.GaugeBack && at > 0:
		aim.Next = &list[at-1]
	case do == parse.GaugeBack:
		return &aim, "That is the first. " + j.landing(&aim)
	case do == parse.GaugeAgain && aim.Last != nil:
		aim.Next = aim.Last
	}
	return &aim, j.landing(&aim)
}

func after(list []parse.Target, at int) *parse.Target {
	if at < 0 || at+1 >= len(list) {
		return nil
	}
	return &list[at+1]
}

// follow moves the gauge on where the place that it is on was read, by it or by voice, and back where
// its last reading was taken back and not made anew, or is out now. It stays on a place whose reading is out or was not recorded: it is
// to be done again, or left with "gauge next".
func (j *Job) follow(aim parse.Aim, sent bool, withdrawn []parse.Target) (*parse.Aim, string) {
	if last := aim.Last; last != nil && slices.Contains(withdrawn, *last) {
		switch k := j.readNow(*last); {
		case k == nil:
			aim.Next, aim.Last = last, nil
			return &aim, j.landing(&aim)
		case k.verdict == Out:
			aim.Next = last
		}
	}
	if aim.Next == nil {
		return &aim, ""
	}
	next := *aim.Next
	k := j.readNow(next)
	switch {
	case k != nil && k.verdict != Out:
		list := j.onList(aim.Over)
		aim.Last, aim.Next = &next, after(list, slices.Index(list, next))
		return &aim, j.landing(&aim)
	case k != nil:
		aim.Last = &next
	case !sent:
		return &aim, ""
	}
	return &aim, fmt.Sprintf("Gauge stays on %s; say gauge next to leave it.", j.where(next))
}

// readNow returns the reading that the note being folded made at a place, nil for none.
func (j *Job) readNow(t parse.Target) *kept {
	if k := j.readings[t]; k != nil && k.note == j.notes && slices.Contains(j.fresh, t) {
		return k
	}
	return nil
}

// typedIn returns the unit of the bare numbers of a gauge where the register tells of the instrument that
// is used. Else it is "", and they are the callout's unless another unit would bring them into limits:
// then it is asked, as of any bare number.
func (j *Job) typedIn(u *parse.Utterance, callout string) string {
	l := j.byID[callout]
	if l == nil || j.shop == nil {
		return ""
	}
	name := j.measuredWith(u, l)
	if name == "" {
		name = j.typer(l)
	}
	i := j.shop.find(name)
	switch {
	case i == nil || !sameQuantity(i.Unit, l.Unit):
		return ""
	case i.Types != "":
		return i.Types
	}
	return i.Unit
}

// typer returns the one instrument of the register that types and measures this quantity, "" for none
// or several.
func (j *Job) typer(l *live) (name string) {
	if j.shop == nil {
		return ""
	}
	for i := range j.shop.Instruments {
		if x := &j.shop.Instruments[i]; x.Types != "" && sameQuantity(x.Types, l.Unit) {
			if name != "" {
				return ""
			}
			name = x.Say[0]
		}
	}
	return name
}
