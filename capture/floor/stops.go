package floor

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/rules/say"
)

// ErrNoStop says that there is no such stop to be answered.
var ErrNoStop = errors.New("floor: no such stop is open")

// standing tells the findings of a job apart that are open at a time. A stop is told by its words as
// well: who answers it has seen those, and no others.
type standing struct {
	rule, callout string
	at            parse.Place
	text          string // of a stop
}

// opened is since when a finding is open, and who has answered it.
type opened struct {
	finding rules.Finding // as it was raised
	seq     int64
	at      journal.Instant
	heeded  *wire.Heeded
}

func standingOf(f rules.Finding) standing {
	s := standing{rule: f.Rule, callout: f.Callout, at: f.At}
	if f.Severity == rules.Stop {
		s.text = f.Text
	}
	return s
}

// stand notes what the entry with a seq has opened and closed. What is closed is forgotten,
// with who answered it: the same wrong done again is to be answered again, and so is a stop that says
// something else by now, or means something else by the same words.
func (l *live) stand(seq int64, at journal.Instant) {
	open := map[standing]bool{}
	for _, f := range l.rules.Open() {
		s := standingOf(f)
		open[s] = true
		if o := l.stands[s]; o == nil || f.Severity == rules.Stop && !o.finding.Same(f) {
			l.stands[s] = &opened{finding: f, seq: seq, at: at}
		}
	}
	for s := range l.stands {
		if !open[s] {
			delete(l.stands, s)
		}
	}
}

// heededBody is what an entry of kind [journal.Heeded] holds, as its answer.
type heededBody struct {
	Finding rules.Finding `json:"finding"` // as it was when it was answered
}

// heed takes an entry that answers a stop. It answers the finding that it holds, in its words, and none
// that was raised after it. The note that it names may be an older one: at first a stop was
// held to the note that raised it in whatever words.
func (l *live) heed(e journal.Entry) {
	var body heededBody
	if json.Unmarshal(e.Answer, &body) != nil {
		return
	}
	if o := l.stands[standingOf(body.Finding)]; o != nil && o.seq >= e.Of && o.heeded == nil {
		o.heeded = &wire.Heeded{Seq: e.Seq, At: e.At.Time(), Person: e.Person}
	}
}

// standings lists what is open, the worst first and of those the newest.
func (l *live) standings() []wire.Standing {
	out := []wire.Standing{}
	for _, f := range l.rules.Open() {
		s := wire.Standing{Finding: f}
		if o := l.stands[standingOf(f)]; o != nil {
			s.Since, s.SinceAt, s.Heeded = o.seq, o.at.Time(), o.heeded
		}
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b wire.Standing) int {
		return cmp.Or(rules.WorstFirst(a.Severity, b.Severity), cmp.Compare(b.Since, a.Since))
	})
	return out
}

// stops lists the findings of severity stop.
func (l *live) stops() []wire.Standing {
	return slices.DeleteFunc(l.standings(), func(s wire.Standing) bool { return s.Severity != rules.Stop })
}

// Heed keeps that somebody answers a stop, and tells the benches of the job. Who answers one
// that was answered already gets the first answer; known is true then. The error is a
// [RefusalError], which wraps [ErrNoStop] where the stop is closed, was raised anew or says
// something else by now, or what ails the journal.
func (f *Floor) Heed(ctx context.Context, id string, h wire.Heed) (e wire.Entry, known bool, err error) {
	h.Person = strings.TrimSpace(h.Person)
	if h.Person == "" || h.Person == journal.NotStated {
		return wire.Entry{}, false, &RefusalError{Wrong: "nobody's name stands with the answer", Do: "give the name of who sees to it", Why: ErrNoStop}
	}
	var r journal.Result
	err = f.with(ctx, id, func(j *job) (err error) {
		for n := 0; n == 0 || n < retries && errors.Is(err, journal.ErrSeq); n++ {
			if r, err = j.heed(ctx, h); err == nil && !r.Known {
				j.tell(r.Entry, nil)
			}
		}
		return err
	})
	return wire.EntryOf(r.Entry), r.Known, err
}

func (j *job) heed(ctx context.Context, h wire.Heed) (journal.Result, error) {
	if err := j.load(ctx); err != nil {
		return journal.Result{}, err
	}
	if j.live.ids[h.ID] {
		return j.heeded(ctx, h.ID)
	}
	stops := j.live.stops()
	same := func(s wire.Standing) bool { return s.Rule == h.Rule && s.Callout == h.Callout && s.At == h.At }
	i := slices.IndexFunc(stops, func(s wire.Standing) bool { return same(s) && s.Text == h.Text && s.Since == h.Since })
	if other := slices.IndexFunc(stops, same); i < 0 && other >= 0 {
		return journal.Result{}, &RefusalError{Wrong: "that stop changed meanwhile, and is now: " + stops[other].Text, Do: "look at it as it is now, and answer again", Why: ErrNoStop}
	}
	if i < 0 {
		return journal.Result{}, &RefusalError{Wrong: "that stop is no longer open on job " + j.id, Do: "look at the job again: it was mended, or another one stands there", Why: ErrNoStop}
	}
	if first := stops[i].Heeded; first != nil {
		entries, err := j.floor.Reader.Entries(ctx, j.id, first.Seq-1, 1)
		if err != nil || len(entries) == 0 {
			return journal.Result{}, fmt.Errorf("entry %d of job %s: %w", first.Seq, j.id, cmp.Or(err, journal.ErrNotFound))
		}
		return journal.Result{Entry: entries[0], Known: true}, nil
	}
	body, err := json.Marshal(heededBody{stops[i].Finding})
	if err != nil {
		return journal.Result{}, fmt.Errorf("answer a stop of job %s: %w", j.id, err)
	}
	return j.record(ctx, journal.Entry{
		Job: j.id, ID: h.ID, Kind: journal.Heeded, At: journal.InstantOf(j.floor.Now()), Person: h.Person, Bench: h.Bench,
		Answer: body, Of: h.Since, Program: j.floor.Program,
	})
}

// heeded returns the entry that the id has already become.
func (j *job) heeded(ctx context.Context, id string) (journal.Result, error) {
	e, err := j.floor.Reader.ByID(ctx, j.id, id)
	if err == nil && e.Kind != journal.Heeded {
		err = &RefusalError{Wrong: "the id is that of an entry which answers no stop", Do: "make a new id for each answer", Why: ErrID}
	}
	return journal.Result{Entry: e, Known: true}, err
}

// Bench returns a job as the wall shows it, or an error that wraps [journal.ErrNotFound]. It
// holds up the job's benches for as long as it takes to write that down, and no longer. A job that
// is not in memory is folded apart, so that a wall with many of them leaves those there that are used.
func (f *Floor) Bench(ctx context.Context, id string) (b wire.Bench, err error) {
	err = f.look(ctx, id, func(l *live) { b = l.bench(id) })
	return b, err
}

func (l *live) bench(id string) wire.Bench {
	spec := l.rules.Spec()
	b := wire.Bench{
		Job: id, Spec: l.opening.Spec, Title: spec.Title, Invented: spec.Invented, Opened: l.opening.At.Time(),
		Bench: l.spoke.Bench, Person: l.spoke.Person, Spoke: l.spoke.At.Time(), Entries: l.last.Seq,
		Next: wire.NextOf(l.rules), Left: len(l.rules.Left()), Last: l.lastReading(), Findings: l.standings(), Over: l.over,
	}
	b.Stands = stands(b.Findings, b.Over != nil)
	return b
}

// stands is the word for how a bench stands; the findings are sorted.
func stands(findings []wire.Standing, over bool) string {
	worst := rules.Severity("")
	if len(findings) > 0 {
		worst = findings[0].Severity
	}
	asked := slices.ContainsFunc(findings, func(s wire.Standing) bool { return s.Rule == rules.RuleAsk })
	switch {
	case worst == rules.Stop:
		return wire.StandStop
	case slices.ContainsFunc(findings, func(s wire.Standing) bool { return s.OutOfLimits() }):
		return wire.StandWrong // also where it was handed over before
	case over:
		return wire.StandFinished
	case worst == rules.Warn:
		return wire.StandWrong
	case asked:
		return wire.StandAsked
	}
	return wire.StandUnderWay
}

// lastReading is the newest reading that stands and was said.
func (l *live) lastReading() *wire.LastReading {
	all := l.rules.Stood()
	last := -1
	for i := range all {
		if !all[i].Derived && (last < 0 || all[i].Note >= all[last].Note) {
			last = i
		}
	}
	if last < 0 {
		return nil
	}
	r := &all[last]
	return &wire.LastReading{Where: r.Where, Shown: say.Shown(r.Value, r.Unit), Limits: r.Limits, Verdict: r.Verdict}
}

// BrokenBench is how a job stands on the wall that cannot be read: opened and last are of the list of jobs.
func BrokenBench(j journal.Job) wire.Bench {
	return wire.Bench{
		Job: j.ID, Spec: j.Spec, Opened: j.First.Time(), Person: j.Person, Spoke: j.Last.Time(), Entries: j.Entries,
		Stands: wire.StandFault, Findings: []wire.Standing{},
	}
}
