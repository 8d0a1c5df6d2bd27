package wire

import (
	"time"

	"readback/capture/journal"
	"readback/parse"
	"readback/rules"
)

// Jobs is the body of GET /api/jobs.
type Jobs struct {
	Jobs  []JobLine `json:"jobs"`           // in the order in which they were opened, or where a limit was given the newest work first; never null
	Total int       `json:"total"`          // of all there are, beyond the limit too
	Seal  []string  `json:"seal,omitempty"` // what is wrong with the seal of the record and what to do, for people
}

// JobLine is a job in a list.
type JobLine struct {
	ID       string            `json:"id"`
	Spec     string            `json:"spec"`
	Revision string            `json:"revision"`
	Title    string            `json:"title"`
	Invented bool              `json:"invented"` // the spec is a demo's: nothing may be built by it
	Options  map[string]string `json:"options"`  // defaults filled in
	Opened   Opened            `json:"opened"`
	Last     time.Time         `json:"last"`     // server time of the last entry
	Entries  int64             `json:"entries"`  // the seq of the last entry
	Readings int               `json:"readings"` // that stand
	Open     int               `json:"open"`     // findings
	Left     int               `json:"left"`     // things to do
}

// Opened says when a job was opened, and by whom.
type Opened struct {
	At     time.Time `json:"at"`
	Person string    `json:"person"`
}

// State is the body of GET /api/jobs/{id}.
type State struct {
	JobLine
	Callouts []Callout       `json:"callouts"` // in the order of the work
	Stack    *Stack          `json:"stack"`    // how the unit is built up; null where the work lays no parts along an axis
	Next     *Next           `json:"next"`     // null when nothing is left
	Findings []rules.Finding `json:"findings"` // that are open
	Cautions []Caution       `json:"cautions"`
	Gauges   []Gauge         `json:"gauges"`                // that are on something, bench by bench; never null
	Stops    []Standing      `json:"stops,omitempty"`       // of the findings those of severity stop: since when, and who sees to it
	Over     *HandedOver     `json:"handed_over,omitempty"` // absent where the job was not handed over, or no longer is
	Newer    *Newer          `json:"newer,omitempty"`       // a revision of the spec that came after the job was opened; absent where there is none

	Decidable    []Decidable   `json:"decidable"`    // findings that take a disposition, open or accepted; never null
	Dispositions []Disposition `json:"dispositions"` // every one that was given, in order; never null
}

// Gauge is a gauge that types its readings, as a person at a bench has put it on something.
type Gauge struct {
	Bench  string `json:"bench"` // "" for one without a name
	Person string `json:"person"`
	rules.Gauge
}

// Aimed tells a bench that comes where its gauge is; it is sent where that is on something. From then on
// the answers to its notes say so.
type Aimed Gauge

// MarshalJSON writes {"type":"gauge",...}.
func (g Aimed) MarshalJSON() ([]byte, error) {
	return encode(struct {
		Type string `json:"type"`
		Gauge
	}{"gauge", Gauge(g)})
}

// HandedOver says who handed the job over and when, and how it stood then.
type HandedOver struct {
	Seq      int64           `json:"seq"` // of the note
	At       time.Time       `json:"at"`
	Person   string          `json:"person"`   // [journal.NotStated] where nobody's name stands with it
	Left     int             `json:"left"`     // things to do
	Findings []rules.Finding `json:"findings"` // that were open, with those of what was left; never null
}

// Newer is a revision of a job's spec that came after the job was opened, which goes by
// the one that it has kept.
type Newer struct {
	Revision string   `json:"revision"`
	Changes  []string `json:"changes"` // callout by callout; empty where nothing differs for this job
}

// Callout is one thing that the job calls for.
type Callout struct {
	ID      string     `json:"id"`
	Name    string     `json:"name"` // as it is spoken: "collar nut"
	Kind    parse.Kind `json:"kind"` // reading, confirm, part or event
	Unit    string     `json:"unit,omitempty"`
	Symbol  string     `json:"symbol,omitempty"`  // of the unit, as it is written: "N·m"
	Derived bool       `json:"derived,omitempty"` // computed, never said
	Owed    bool       `json:"owed"`              // the work calls for it
	Places  []Place    `json:"places"`            // in the order of the work; one with an empty at where there are none
}

// Place is what stands at one place of a callout.
type Place struct {
	At      parse.Place `json:"at"`
	Where   string      `json:"where"`            // "collar nut three"
	Limits  string      `json:"limits,omitempty"` // "46.08 to 49.92 N·m"; of a part, which one
	Reading *Reading    `json:"reading,omitempty"`
	Mark    string      `json:"mark,omitempty"` // "done", or which part
	Void    bool        `json:"void,omitempty"` // was taken, and made worthless by later work
	Owed    bool        `json:"owed"`           // left to do

	Disposition rules.Disposition `json:"disposition,omitempty"` // that stands of what was found there
}

// Reading is a reading that stands.
type Reading struct {
	Value   string        `json:"value"`          // with the digits that were said
	Unit    string        `json:"unit"`           // UCUM code, as said
	Shown   string        `json:"shown"`          // "48 N·m"
	Also    string        `json:"also,omitempty"` // "35.4 lbf·ft", where the shop shows another unit beside that one
	Verdict rules.Verdict `json:"verdict"`
	How     string        `json:"how,omitempty"`
}

// Stack is how the unit is built up, level by level: which callouts belong to a level.
// What stands there is in their places.
type Stack struct {
	Axis  string   `json:"axis"`            // that the levels are places of, lowest first
	Parts []string `json:"parts"`           // callouts of what is laid at a level
	Kinds []string `json:"kinds"`           // of the parts, as the spec lists them: "full", "cut"; empty where there is no choice
	Other []string `json:"other"`           // the other callouts of a level, in the order of the work
	Base  []string `json:"base"`            // callouts of what the stack stands on, in the order of the work
	Cover string   `json:"cover,omitempty"` // callout of what closes the stack
}

// Next is what the work calls for next.
type Next struct {
	Callout string      `json:"callout"`
	At      parse.Place `json:"at"`
	Where   string      `json:"where"`
	Limits  string      `json:"limits,omitempty"`
	Caution string      `json:"caution,omitempty"` // what to mind before this step
}

// Caution is a usual warning of the trade, to be shown before a step.
type Caution struct {
	Before string `json:"before"` // callout
	Name   string `json:"name"`   // of the callout
	Text   string `json:"text"`
}

// LineOf describes a job in short. The entry is its first.
func LineOf(job *rules.Job, first journal.Entry) JobLine {
	s, sum := job.Spec(), job.Summary()
	return JobLine{
		ID: first.Job, Spec: first.Spec, Revision: s.Revision, Title: s.Title, Invented: s.Invented,
		Options: job.Options(), Opened: Opened{first.At.Time(), first.Person},
		Last: first.At.Time(), Entries: first.Seq,
		Readings: sum.Readings, Open: len(sum.Open), Left: len(sum.Left),
	}
}

// StateOf describes a job in full.
func StateOf(line JobLine, job *rules.Job) State {
	s := State{JobLine: line, Callouts: []Callout{}, Findings: job.Open(), Cautions: []Caution{}, Gauges: []Gauge{}, Decidable: []Decidable{}, Dispositions: []Disposition{}}
	for _, c := range job.State() {
		s.Callouts = append(s.Callouts, calloutOf(c))
	}
	for _, c := range job.Spec().Cautions {
		s.Cautions = append(s.Cautions, Caution{c.Before, job.Name(c.Before), c.Text})
	}
	if stack, ok := job.Stack(); ok {
		s.Stack = stackOf(stack)
	}
	if t, ok := job.Next(); ok {
		s.Next = s.nextOf(t)
	}
	return s
}

func calloutOf(c rules.CalloutState) Callout {
	out := Callout{
		ID: c.ID, Name: c.Name, Kind: c.Kind, Unit: c.Unit, Symbol: c.Symbol,
		Derived: c.Derived, Owed: c.Owed, Places: []Place{},
	}
	for _, p := range c.Places {
		place := Place{At: p.At, Where: p.Where, Limits: p.Limits, Mark: p.Mark, Void: p.Void, Owed: p.Left, Disposition: p.Disposition}
		if r := p.Reading; r != nil {
			place.Reading = &Reading{r.Value.String(), r.Unit, p.Shown, p.Also, r.Verdict, r.How}
		}
		out.Places = append(out.Places, place)
	}
	return out
}

func stackOf(s rules.Stack) *Stack {
	out := &Stack{Axis: s.Axis, Parts: s.Parts, Kinds: []string{}, Other: append([]string{}, s.Other...), Base: append([]string{}, s.Base...), Cover: s.Cover}
	for _, k := range s.Kinds {
		out.Kinds = append(out.Kinds, k.Is)
	}
	return out
}

// nextOf takes the words for a target from the callouts.
func (s State) nextOf(t parse.Target) *Next {
	next := &Next{Callout: t.Callout, At: t.At}
	for _, c := range s.Callouts {
		for _, p := range c.Places {
			if c.ID == t.Callout && p.At == t.At {
				next.Where, next.Limits = p.Where, p.Limits
			}
		}
	}
	for _, c := range s.Cautions {
		if c.Before == t.Callout {
			next.Caution = c.Text
		}
	}
	return next
}

// NextOf says what the work of a job calls for next; nil when nothing is left.
func NextOf(job *rules.Job) *Next {
	t, ok := job.Next()
	if !ok {
		return nil
	}
	next := &Next{Callout: t.Callout, At: t.At, Where: job.Where(t), Limits: job.Wanted(t)}
	for _, c := range job.Spec().Cautions {
		if c.Before == t.Callout {
			next.Caution = c.Text
		}
	}
	return next
}
