package rules

import (
	"fmt"
	"slices"
	"strings"

	"readback/parse"
	"readback/rules/say"
)

// Disposition is what is to become of something that does not conform, in the words of the
// trade.
//
// What each does to its finding:
//
//   - Rework: it is put right. The finding stays open until it was taken anew and is as it is
//     called for; a new reading that is out again is another finding, which wants a fresh
//     disposition.
//   - Use as is: it is accepted as it is, with the reason. The finding is closed; the reading
//     stays out, and is shown so. It is accepted for the value that was measured and for no
//     other: any other value that is out is open again. The same value read once more is the
//     same condition, and stays accepted. Of what is missing it is accepted that just this is
//     missing: once something else is, it is open again, though it be as many.
//   - Scrap: the part is replaced. The finding stays open until the new part is marked or
//     measured, whichever its rule asks for.
//
// A disposition is never taken back: a later one of the same finding takes its place. It ends by
// itself once its finding says something else or is gone.
type Disposition string

// The dispositions.
const (
	Rework  Disposition = "rework"
	UseAsIs Disposition = "use as is"
	Scrap   Disposition = "scrap"
)

// FindingID tells a finding of a job from all others that the job ever had, but for what is
// found once more in the same words, and what is missing elsewhere in the same number: see
// [Finding.Same]. As the words hold the value that was read, what is decided
// of a finding says nothing of the next reading.
type FindingID struct {
	Rule    string      `json:"rule"`
	Callout string      `json:"callout"`
	At      parse.Place `json:"at"`
	Text    string      `json:"text"`
}

// ID returns what tells f from other findings.
func (f Finding) ID() FindingID { return FindingID{f.Rule, f.Callout, f.At, f.Text} }

// Decision is a disposition of a finding. Who gave it, when and why is for others to keep.
type Decision struct {
	Seq     int64 // of its entry in the record: tells decisions apart
	Finding FindingID
	Is      Disposition
}

// Standing says whether a decision still holds.
type Standing string

// What becomes of a decision.
const (
	Stands   Standing = "stands"   // it holds: accepted, or still to be reworked or replaced
	Replaced Standing = "replaced" // a later one took its place
	Done     Standing = "done"     // reworked or replaced, and as it is called for since
	Lapsed   Standing = "lapsed"   // what it was given for was taken anew or taken back
)

// Decided is a decision and what became of it.
type Decided struct {
	Decision
	State Standing
	By    int64 // of a replaced one: the Seq of the one that took its place
}

// Decidable is a finding that takes a disposition, whether it has one or not.
type Decidable struct {
	Finding
	Note    int           // counts the utterances that were folded, from 1: that of the last reading or mark that it rests on, 0 for none
	Takes   []Disposition // what may be decided
	Holds   bool          // the job is not handed over as it is now
	Decided *Decided      // the decision that stands; nil for none
}

// Accepted reports whether it was decided that what was found is used as it is.
func (d Decidable) Accepted() bool { return d.Decided != nil && d.Decided.Is == UseAsIs }

// Due says what is still to be done about it, "" for nothing.
func (d Decidable) Due() string {
	switch {
	case d.Decided == nil:
		return "no disposition yet"
	case d.Decided.Is == Rework:
		return "to be reworked and taken again"
	case d.Decided.Is == Scrap:
		return "to be replaced, and the new one marked or measured"
	}
	return ""
}

// decided is a decision with what it was given for.
type decided struct {
	Decided
	rests map[parse.Target]rest
	of    Finding // as it was found then
}

// rest is a reading or mark that a finding rests on.
type rest struct {
	note int
	is   string // the value in its unit, or how it is marked
}

// takes lists what may be decided of a finding. A wrong part is not used: the right one is
// called for. What is asked is answered, what is void is taken again, and of what is left at a
// hand-over nothing is to be put right: it is done, or goes as it is.
func (f Finding) takes() []Disposition {
	if f.Severity == Note {
		return nil
	}
	switch f.Rule {
	case RuleLimit, RuleDerived, RuleSpread, RulePassOrder, RuleStepOrder, RuleHoldPoint, RuleInstrument:
		return []Disposition{Rework, UseAsIs, Scrap}
	case RuleStackOrder, RulePartChoice:
		return []Disposition{Rework, Scrap}
	case RuleMissing:
		return []Disposition{UseAsIs}
	}
	return nil
}

// nonconforming reports whether a job with f open is not handed over: something measured is out of
// its limits, or f is a stop.
func (f Finding) nonconforming() bool {
	return f.Severity == Stop || f.OutOfLimits()
}

// Decide takes a decision into the job. One of a finding that is not there, or that does not take
// it, changes nothing: it is listed as lapsed. [Job.Decidables] says beforehand what may be decided.
func (j *Job) Decide(d Decision) {
	one := &decided{Decided: Decided{Decision: d, State: Lapsed}}
	if f, ok := j.found(d.Finding); ok && slices.Contains(f.takes(), d.Is) {
		if before := j.decisionOf(d.Finding); before != nil {
			before.State, before.By = Replaced, d.Seq
		}
		one.State, one.rests, one.of = Stands, j.restsOn(f), f
	}
	j.decisions = append(j.decisions, one)
}

// Decisions lists every decision in the order in which they were given.
func (j *Job) Decisions() []Decided {
	out := make([]Decided, 0, len(j.decisions))
	for _, d := range j.decisions {
		out = append(out, d.Decided)
	}
	return out
}

// Decidables lists the findings that take a disposition, open or accepted, in the order of the
// spec's rules.
func (j *Job) Decidables() []Decidable {
	out := []Decidable{}
	seen := map[FindingID]bool{}
	for _, r := range j.spec.Rules {
		for _, f := range j.standing[r] {
			takes := f.takes()
			if len(takes) == 0 || seen[f.ID()] {
				continue
			}
			seen[f.ID()] = true
			d := Decidable{Finding: f, Takes: takes}
			for _, x := range j.restsOn(f) {
				d.Note = max(d.Note, x.note)
			}
			if one := j.decisionOf(f.ID()); one != nil {
				d.Decided = &one.Decided
			}
			d.Holds = f.nonconforming() && !d.Accepted()
			out = append(out, d)
		}
	}
	return out
}

// found returns the finding as it stands now.
func (j *Job) found(id FindingID) (f Finding, ok bool) {
	for _, r := range j.spec.Rules {
		for _, f := range j.standing[r] {
			if f.ID() == id {
				return f, true
			}
		}
	}
	return f, false
}

// decisionOf returns the decision of a finding that stands, nil for none.
func (j *Job) decisionOf(id FindingID) *decided {
	for _, d := range j.decisions {
		if d.State == Stands && d.Finding == id {
			return d
		}
	}
	return nil
}

// accepted reports whether a finding is closed by a decision.
func (j *Job) accepted(f Finding) bool {
	d := j.decisionOf(f.ID())
	return d != nil && d.Is == UseAsIs
}

// restsOn returns the readings and marks that a finding rests on: those of its callout at its place,
// or at the places within it; of a computed value those that it is computed from.
func (j *Job) restsOn(f Finding) map[parse.Target]rest {
	out := map[parse.Target]rest{}
	callouts := []string{f.Callout}
	if l := j.byID[f.Callout]; l != nil && l.Derived != nil {
		callouts = append(callouts, l.Derived.Names()...)
	}
	for _, id := range callouts {
		l := j.byID[id]
		if l == nil {
			continue
		}
		for _, p := range l.places {
			t := parse.Target{Callout: id, At: p}
			if !within(p, f.At) {
				continue
			}
			if k := j.readings[t]; k != nil {
				out[t] = rest{k.note, k.claim.Value.String() + " " + k.claim.Unit}
			} else if m := j.marks[t]; m != nil {
				out[t] = rest{m.note, m.is}
			}
		}
	}
	return out
}

// settleDecisions ends the decisions whose finding is no longer what it was.
func (j *Job) settleDecisions() {
	for _, d := range j.decisions {
		if d.State == Stands {
			d.State = j.standingOf(d)
		}
	}
}

func (j *Job) standingOf(d *decided) Standing {
	found, there := j.found(d.Finding)
	now := j.restsOn(Finding{Rule: d.Finding.Rule, Callout: d.Finding.Callout, At: d.Finding.At})
	anew, other, gone := 0, false, false
	for t, was := range d.rests {
		is, ok := now[t]
		gone = gone || !ok
		other = other || ok && is.is != was.is
		if ok && is.note != was.note {
			anew++
		}
	}
	switch {
	case !there && d.Is != UseAsIs && !gone && !j.foundOtherwise(d.Finding):
		return Done
	case !there, gone:
		return Lapsed
	case d.Is == UseAsIs && (other || !found.Same(d.of)):
		return Lapsed // accepted was another value, or that other places are missing, which happens to be told in the same words
	case d.Is != UseAsIs && anew > 0 && anew == len(d.rests):
		return Lapsed // reworked, and as it was
	}
	return Stands
}

// foundOtherwise reports whether the same rule speaks of the same target in other words.
func (j *Job) foundOtherwise(id FindingID) bool {
	for _, r := range j.spec.Rules {
		if slices.ContainsFunc(j.standing[r], func(f Finding) bool {
			return f.Rule == id.Rule && f.Callout == id.Callout && f.At == id.At && len(f.takes()) > 0
		}) {
			return true
		}
	}
	return false
}

// dispositionAt returns the decision that stands of what was found of one reading or mark: the first
// where there are several; "" for none.
func (j *Job) dispositionAt(t parse.Target) Disposition {
	for _, d := range j.decisions {
		if d.State == Stands && d.Finding.Callout == t.Callout && d.Finding.At == t.At {
			return d.Is
		}
	}
	return ""
}

// Guard returns an utterance as it is folded on a live job: one that hands the job over is guarded.
func (j *Job) Guard(u parse.Utterance) parse.Utterance {
	u.Guarded = slices.ContainsFunc(u.Marks, j.hands)
	return u
}

// hands reports whether a mark hands the job over.
func (j *Job) hands(m parse.Mark) bool { return m.Is != undone && j.endsWith(m.Callout) }

// holding lists what stands in the way of a hand-over, the worst first.
func (j *Job) holding() []Decidable {
	all := slices.DeleteFunc(j.Decidables(), func(d Decidable) bool { return !d.Holds })
	slices.SortStableFunc(all, func(a, b Decidable) int { return WorstFirst(a.Severity, b.Severity) })
	return all
}

// ToDecide returns the finding that a disposition is of which names none: the worst that stands in the way of a hand-over
// and takes it, one of which nothing was decided before others. aloud says the finding on its own.
func (j *Job) ToDecide(is Disposition) (d Decidable, aloud string, ok bool) {
	takes := slices.DeleteFunc(j.holding(), func(d Decidable) bool { return !slices.Contains(d.Takes, is) })
	if len(takes) == 0 {
		return Decidable{}, "", false
	}
	d = takes[max(0, slices.IndexFunc(takes, func(d Decidable) bool { return d.Decided == nil }))]
	return d, j.aloud(d), true
}

// HeldUp reports whether a finding stands in the way of a hand-over that takes a disposition.
func (j *Job) HeldUp() bool { return len(j.holding()) > 0 }

// aloud says a finding on its own, be it a stop or not.
func (j *Job) aloud(d Decidable) string {
	return sentence(say.Cap(strings.TrimPrefix(j.alone(d.Finding), "Stop: ")))
}

// handOver takes the hand-over of a guarded note, which waits until all else of the note was taken
// and checked: it is refused while something is out of limits and not settled. One that is itself what
// must not be done yet, past a hold point, is taken back and refused as well.
func (j *Job) handOver(u parse.Utterance, marks []parse.Mark, a *Answer) {
	if len(marks) == 0 {
		return
	}
	if holding := j.holding(); len(holding) > 0 {
		a.Findings = append(a.Findings, j.refuseHandOver(marks[0].Target, holding))
		return
	}
	before, answer := j.copied(), *a
	clear(j.changed)
	u.Marks = marks
	j.marked(u, a)
	a.Findings = append(a.Findings, j.check()...)
	j.settleDecisions()
	if holding := j.holding(); len(holding) > 0 {
		*j, *a = *before, answer
		a.Findings = append(a.Findings, j.handOverTooEarly(marks[0].Target, holding))
	}
}

// handOverTooEarly says what the hand-over would itself go past. It is on no sheet, since the job is
// not handed over, so that nothing is to be decided about it.
func (j *Job) handOverTooEarly(t parse.Target, raised []Decidable) Finding {
	var shown, spoken []string
	for _, d := range raised {
		shown = append(shown, say.Cap(strings.TrimPrefix(d.Text, "Stop: ")))
		spoken = append(spoken, sentence(say.Cap(strings.TrimPrefix(d.Spoken(), "Stop: "))))
	}
	f := finding(RuleHandOver, t, Stop, fmt.Sprintf("Stop: not handed over. It would be: %s. Do that first, then hand over again", strings.Join(shown, "; ")))
	f.spoken = fmt.Sprintf("Stop: not handed over. It would be: %s Do that first, then hand over again.", strings.Join(spoken, " "))
	return f
}

// handOverWays says what settles what stands in the way of a hand-over.
const handOverWays = "Measure again, or decide on the sheet or by voice: rework the part, use the part as is, or scrap the part, with a reason and a name"

// refuseHandOver says what is in the way of a hand-over, and what settles it. One that was made before is
// not undone by it, and it says so.
func (j *Job) refuseHandOver(t parse.Target, holding []Decidable) Finding {
	var shown, spoken []string
	for _, d := range holding[:min(len(holding), few)] {
		shown = append(shown, say.Cap(strings.TrimPrefix(d.Text, "Stop: "))+" ("+d.Due()+")")
		spoken = append(spoken, j.aloud(d)+" "+sentence(say.Cap(d.Due())))
	}
	if n := len(holding) - few; n > 0 {
		shown, spoken = append(shown, say.Int(int64(n))+" more"), append(spoken, say.Cap(say.Int(int64(n)))+" more.")
	}
	head := "Stop: not handed over. " + things(len(holding), "finding") + " open"
	if over := j.marks[t]; over != nil {
		head = "Stop: not handed over again. It was handed over before, and that stands. " + j.openSince(over.note, holding)
	}
	f := finding(RuleHandOver, t, Stop, fmt.Sprintf("%s: %s. %s", head, strings.Join(shown, "; "), handOverWays))
	f.spoken = fmt.Sprintf("%s: %s %s.", head, strings.Join(spoken, " "), handOverWays)
	return f
}

// openSince counts what is open of a job that was handed over by a note: as found since, if all of it was.
func (j *Job) openSince(note int, open []Decidable) string {
	n := things(len(open), "finding")
	if slices.ContainsFunc(open, func(d Decidable) bool { return d.Note <= note }) {
		return n + " open now"
	}
	return strings.NewReplacer(" is", " was", " are", " were").Replace(n) + " made since"
}
