package rules

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// Fold takes one utterance into the job and answers it. It is the only way in which a
// job changes.
func (j *Job) Fold(u parse.Utterance) Answer {
	j.notes++
	j.fresh, j.gone = j.fresh[:0], j.gone[:0]
	clear(j.changed)
	a := Answer{Kind: u.Kind, Readings: []Reading{}, Marks: []Mark{}, Findings: []Finding{}}
	withdrawn := j.withdraw(u)
	var last []parse.Mark
	if u.Guarded {
		u.Marks, last = part(u.Marks, j.hands)
	}
	j.claims(u, &a)
	j.marked(u, &a)
	j.asked(u, &a)
	a.Findings = append(a.Findings, j.check()...)
	j.settleDecisions()
	j.handOver(u, last, &a)
	for i := range a.Findings {
		if f := a.Findings[i]; f.Rule != RuleAsk && f.Rule != RuleHandOver {
			j.raised = &f
		}
	}
	for i := range a.Findings {
		a.Heard.Wants = append(a.Heard.Wants, a.Findings[i].wants...)
	}
	a.Kind = kind(u, &a)
	steered := j.steer(&u, &a, withdrawn)
	next := j.next()
	a.Caution = j.caution(next)
	a.Heard.Next = j.nextOf(next, a.Heard.Recorded)
	a.Say = j.say(u, &a, withdrawn)
	if a.Say = strings.TrimSpace(a.Say + " " + steered); u.Gauge.Steers() {
		a.Say = steered
	}
	return a
}

// part parts marks into those that are not, and those that are, as is says.
func part(marks []parse.Mark, is func(parse.Mark) bool) (no, yes []parse.Mark) {
	for _, m := range marks {
		if is(m) {
			yes = append(yes, m)
		} else {
			no = append(no, m)
		}
	}
	return no, yes
}

// caution returns the warning that is due before what comes next, once a job. Where a step was
// done before its turn it is given with the answer: the rest of it, or what follows it, can hurt.
func (j *Job) caution(next []parse.Target) string {
	due := func(callout string) bool {
		return len(next) > 0 && callout == next[0].Callout || slices.ContainsFunc(j.fresh, func(t parse.Target) bool { return t.Callout == callout })
	}
	var texts []string
	for i, c := range j.spec.Cautions {
		if due(c.Before) && !slices.Contains(j.cautioned, i) {
			j.cautioned = append(j.cautioned, i)
			texts = append(texts, c.Text)
		}
	}
	return strings.Join(texts, " ")
}

// kind corrects the kind of a note whose every reading was asked back.
func kind(u parse.Utterance, a *Answer) parse.Kind {
	if u.Kind == parse.Reading && len(a.Heard.Recorded) == 0 {
		return parse.Unclear
	}
	return u.Kind
}

// withdraw takes back what the note says was wrong, and returns what was.
func (j *Job) withdraw(u parse.Utterance) (back []parse.Target) {
	if u.Dropped {
		j.closeAsks(func(q ask) bool { return slices.Contains(u.Forgets, q.target) })
	}
	for _, t := range u.Withdrawn {
		if j.forget(t) {
			back = append(back, t)
		}
		j.closeAsks(func(q ask) bool { return q.target == t })
	}
	return back
}

// forget drops what stands at a target. A reading that it had superseded does not come
// back: what is there is owed again.
func (j *Job) forget(t parse.Target) bool {
	_, read := j.readings[t]
	_, done := j.marks[t]
	if !read && !done {
		return false
	}
	delete(j.readings, t)
	delete(j.marks, t)
	j.stands(t)
	j.gone = append(j.gone, t)
	j.changed[t.Callout] = true
	return true
}

// claims records the readings of the note, or asks about them. Readings that were said
// as a set ("all four rods") are taken in the order that the work calls for.
func (j *Job) claims(u parse.Utterance, a *Answer) {
	for _, c := range j.ordered(j.rests(u.Claims)) {
		if c.How == parse.HowGauge && c.Unit == "" {
			c.Unit = j.typedIn(&u, c.Callout)
		}
		full, why := j.resolve(c)
		if why != nil {
			j.askBack(c, full, why, a)
			continue
		}
		j.record(full, &u, a)
	}
}

// record takes a reading.
func (j *Job) record(c parse.Claim, u *parse.Utterance, a *Answer) {
	l := j.byID[c.Callout]
	k := &kept{claim: c, note: j.notes, with: j.measuredWith(u, l), day: j.day}
	if k.with == "" && c.How == parse.HowGauge {
		k.with = j.typer(l)
	}
	for _, w := range c.With {
		j.taken[w.Name] = w
	}
	j.borrow(l, k)
	j.judge(l, k)
	j.readings[c.Target] = k
	j.stands(c.Target)
	delete(j.voided, c.Target)
	j.lend(c.Callout, u.Kind == parse.Correction)
	j.fresh, j.made = append(j.fresh, c.Target), append(j.made, c.Target)
	j.changed[c.Callout], j.last = true, c.Target
	j.closeAsks(func(q ask) bool {
		return q.target == c.Target || q.homeless && q.value.Same(c.Value) || q.typed && c.How == parse.HowGauge || u.Answers && q.isLast(j)
	})
	a.Heard.Recorded = append(a.Heard.Recorded, c)
	a.Readings = append(a.Readings, j.shown(l, k))
}

// judge gives a reading its verdict.
func (j *Job) judge(l *live, k *kept) {
	k.verdict = j.verdict(l, k)
	if m, ok := j.measured(l, k); ok && k.verdict == In && j.inGuard(m) {
		k.verdict = Close
	}
}

// shown returns a reading as answers and pages show it.
func (j *Job) shown(l *live, k *kept) Reading {
	c := &k.claim
	r := Reading{
		Callout: c.Callout, At: c.At, Value: c.Value, Unit: c.Unit, Verdict: k.verdict, With: Taken(c.With), How: c.How, Instrument: k.with,
	}
	if m, ok := j.measured(l, k); ok {
		r.conform(m)
	}
	return r
}

func (r *Reading) conform(m measurement) {
	p := m.conformity()
	r.Conformity, r.conforms = strconv.FormatFloat(p, 'f', 3, 64), percent(p)
}

// isLast reports whether q is what was asked last.
func (q ask) isLast(j *Job) bool {
	last := j.asks[len(j.asks)-1]
	return q.target == last.target && q.finding.Text == last.finding.Text
}

func (j *Job) closeAsks(answered func(ask) bool) {
	if len(j.asks) > 0 {
		kept := make([]ask, 0, len(j.asks))
		for _, q := range j.asks {
			if !answered(q) {
				kept = append(kept, q)
			}
		}
		j.asks = kept
	}
}

// marked takes the confirmations, parts and events of the note.
func (j *Job) marked(u parse.Utterance, a *Answer) {
	asked := j.asks // closing makes a new list
	for _, m := range u.Marks {
		l := j.byID[m.Callout]
		if l == nil || !l.known[m.At] {
			continue
		}
		if why := j.mayNot(l, m, asked); why != "" {
			f := finding(RuleAsk, m.Target, Note, why)
			a.Findings = append(a.Findings, f)
			j.open(ask{finding: f, target: m.Target, homeless: true, mark: true})
			continue
		}
		j.changed[m.Callout] = true
		a.Marks = append(a.Marks, Mark{m.Callout, m.At, m.Is, l.Kind == parse.Detail})
		j.closeAsks(func(q ask) bool {
			return q.mark && q.target.Callout == m.Callout && (q.target.At == "" || q.target.At == m.At)
		})
		if m.Is == undone && l.Kind != parse.Detail {
			delete(j.marks, m.Target)
			j.stands(m.Target)
			j.gone = append(j.gone, m.Target)
			continue
		}
		j.marks[m.Target] = &marked{is: m.Is, note: j.notes}
		j.stands(m.Target)
		j.fresh, j.made = append(j.fresh, m.Target), append(j.made, m.Target)
		a.Heard.Marks = append(a.Heard.Marks, m)
		a.Heard.Over = a.Heard.Over || j.endsWith(m.Callout)
		j.happen(m)
	}
}

// mayNot says why a mark may not be made: a reply to a question that was settled meanwhile, or
// other words for a detail that has some. It is "" where it may.
func (j *Job) mayNot(l *live, m parse.Mark, asked []ask) string {
	if m.Reply && !slices.ContainsFunc(asked, func(q ask) bool {
		return q.mark && q.target.Callout == m.Callout && (q.target.At == "" || q.target.At == m.At)
	}) {
		return say.Cap(j.name(m.Callout)) + ": nothing is asked about it any more. Say it whole."
	}
	if was := j.mark(m.Target); l.Kind == parse.Detail && was != "" && was != m.Is && !m.Corrects {
		return fmt.Sprintf("%s is %s already. To change it say correction, %s and the new words.", say.Cap(j.name(m.Callout)), was, j.name(m.Callout))
	}
	return ""
}

// The ways in which a mark without a choice can be.
const (
	done   = "done"
	undone = "undone"
)

// endsWith reports whether an event hands the job over.
func (j *Job) endsWith(event string) bool {
	return slices.ContainsFunc(j.spec.Rules, func(r Rule) bool {
		m, ok := r.(*Missing)
		return ok && m.When == event
	})
}

// happen lets every rule see a mark that was just made, before the rules are checked.
func (j *Job) happen(m parse.Mark) {
	for _, r := range j.spec.Rules {
		if v, ok := r.(*Void); ok && v.When == m.Callout {
			v.strike(j, m)
		}
	}
}

// check runs the rules that look at what changed, and returns the findings that were
// raised or changed.
func (j *Job) check() (raised []Finding) {
	for i, r := range j.spec.Rules {
		if reads := j.reads[i]; reads != nil && !slices.ContainsFunc(reads, func(c string) bool { return j.changed[c] }) {
			continue
		}
		before, now := j.standing[r], r.Check(j)
		j.standing[r] = now
		for _, f := range now {
			if j.isNew(f, before) {
				raised = append(raised, f)
			}
		}
	}
	return raised
}

// isNew reports whether a finding was not there before, says something else now, is about
// a reading that this note made, or of what is left at a hand-over that it said again.
func (j *Job) isNew(f Finding, before []Finding) bool {
	i := slices.IndexFunc(before, func(b Finding) bool { return b.key() == f.key() })
	if i < 0 || !before[i].Same(f) {
		return true
	}
	if f.Rule == RuleMissing {
		return slices.ContainsFunc(j.fresh, func(t parse.Target) bool { return j.endsWith(t.Callout) })
	}
	return slices.Contains(j.fresh, parse.Target{Callout: f.Callout, At: f.At})
}

// Open returns the findings that are open, in the order of the spec's rules, what was
// asked back last. One that is accepted as it is (see [UseAsIs]) is closed.
func (j *Job) Open() []Finding {
	open := []Finding{}
	for _, r := range j.spec.Rules {
		for _, f := range j.standing[r] {
			if !j.accepted(f) {
				open = append(open, f)
			}
		}
	}
	for _, q := range j.asks {
		open = append(open, q.finding)
	}
	return open
}

// Summary returns the state of the job in short.
func (j *Job) Summary() Summary {
	return Summary{Notes: j.notes, Readings: len(j.readings), Open: j.Open(), Left: j.Left()}
}

// Standing returns the readings that stand, in the order of the spec.
func (j *Job) Standing() []Reading {
	out := []Reading{}
	for _, l := range j.list {
		for _, p := range l.places {
			if k := j.readings[parse.Target{Callout: l.ID, At: p}]; k != nil {
				out = append(out, j.shown(l, k))
			}
		}
	}
	return out
}

// Mark returns how a mark stands, "" where none does.
func (j *Job) mark(t parse.Target) string {
	if m := j.marks[t]; m != nil {
		return m.is
	}
	return ""
}

// stands notes of a target that is owed whether it stands now. It is called wherever a reading or a
// mark comes or goes.
func (j *Job) stands(t parse.Target) {
	if i, ok := j.owedAt[t]; ok {
		j.done[i] = j.has(t)
	}
}

// has reports whether a target was read or marked and stands.
func (j *Job) has(t parse.Target) bool {
	return j.readings[t] != nil || j.marks[t] != nil
}
