package export

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/web/lead"
)

// Teller folds the entries of a job: a [floor.Floor].
type Teller interface {
	Tell(ctx context.Context, entries []journal.Entry) (floor.Told, error)
}

// Facts are all that the record of a job says. They are made once; paper, page and table are written from
// them and from nothing else.
type Facts struct {
	Job      string
	Invented bool   // the spec is a demo's
	Head     []Pair // what the job is, in the order in which it is shown
	Stands   []string
	Over     *wire.HandedOver

	People       []Person
	Instruments  []Instrument
	Layers       []lead.Layer // how the unit is built up, the lowest first
	Places       []Place      // every callout of the job, place by place, in the order of the work
	Findings     []Finding    // every one that there was, in the order in which they were raised
	Dispositions []wire.Disposition
	Corrections  []Correction
	Cautions     []Caution
	Lines        []Line
	Seal         []Pair // the signed head; empty where there is none

	last   time.Time
	state  wire.State
	where  func(parse.Target) string
	limits map[parse.Target]string // of every place
	ended  map[ending]string       // what became of what a note has read or marked, where it no longer stands
}

// ending is what a note has read or marked somewhere.
type ending struct {
	of int64
	parse.Target
}

// Pair is a thing and what it is.
type Pair struct{ Name, Is string }

// Person is who said or decided something.
type Person struct {
	Name        string
	Entries     int
	First, Last time.Time
}

// Instrument is one that readings were taken with.
type Instrument struct {
	Name     string
	Measures string // "10 to 100 N·m"; "" where the register does not have it
	Within   string // its accuracy; "" where it is not known
	Until    string // the last day of its calibration; "" for none
	Readings int
	Days     []string // on which it was used, each once
	Valid    string   // whether its calibration held on those days, in words
}

// Place is a callout at a place, and what stands there.
type Place struct {
	Callout     string
	At          parse.Place
	Where       string
	Limits      string // as the sheet has them; "" where nothing limits it
	Value, Unit string // of the reading, as it was said
	Is          string // the reading with its unit and what it was taken at, the mark, "not yet" or "void, to be taken again"
	TakenAt     string // what the reading was taken at: "temperature 30 °C"
	Verdict     string // of a reading, and what was decided of it
	Mark        string
	Uncertainty string // the standard uncertainty; "" where the instrument states no accuracy
	Conformity  string // probability of being inside the limits; "" where it is not known
	Instrument  string
	Seq         int64 // of the note that made it; 0 for none
	When        time.Time
	Person      string
}

// Finding is a finding from the entry that raised it to the one that closed it.
type Finding struct {
	rules.Finding          // as it was last
	Raised        *Stamp   // nil where no entry shows it
	Closed        *Stamp   // nil: it is open
	Then          []string // who sees to it, and what was decided of it
}

// Stamp says when something was, and who did it.
type Stamp struct {
	Seq    int64
	At     time.Time
	Person string
}

// Correction is a reading or mark that no longer stands.
type Correction struct {
	floor.Ended
	Was      string // "48 N·m", "done"
	By       Stamp
	Now      string // what was read or marked there in its stead by that note; "" for nothing
	Original time.Time
}

// Words says what became of it: "superseded by note 9: 49 N·m".
func (c *Correction) Words() string {
	how := map[string]string{floor.Superseded: "superseded by", floor.TakenBack: "taken back by", floor.Voided: "void since"}[c.How]
	text := how + " note " + strconv.FormatInt(c.By.Seq, 10)
	if c.Now != "" {
		text += ": " + c.Now
	}
	return text
}

// Caution is a warning that was shown.
type Caution struct {
	Stamp
	Text string
}

// Line is an entry.
type Line struct {
	Stamp
	Client   time.Time // by the clock of the one who sent it; zero where it gave none
	Bench    string
	Kind     journal.Kind
	Text     string // as said, byte for byte
	Said     []Piece
	Verdicts []string
	Photos   []Shot

	entry  journal.Entry
	answer answer
	file   *Item
	opened []rules.Finding
	closed []rules.Finding
}

// Piece is something that a line says.
type Piece struct {
	Label string // "warn", "caution shown"; "" for none
	Text  string
	Quote bool // somebody's own words
	File  bool // about a file
	After string
}

// Shot is a photo of a note.
type Shot struct {
	Stamp
	Thumb []byte // a small JPEG; nil where the file is not kept
	Words string // how the file is
}

// factsOf reads the facts of a record.
func factsOf(ctx context.Context, r Record) (*Facts, error) {
	if r.Fold == nil {
		return nil, fmt.Errorf("export job %s: nobody folds it", r.State.ID)
	}
	told, err := r.Fold.Tell(ctx, r.Entries)
	if err != nil {
		return nil, fmt.Errorf("export job %s: %w", r.State.ID, err)
	}
	f := &Facts{
		Job: r.State.ID, Invented: r.State.Invented, Over: r.State.Over, Layers: lead.Layers(r.State),
		Dispositions: r.State.Dispositions, last: r.State.Last, state: r.State,
		where: told.Where, limits: map[parse.Target]string{}, ended: map[ending]string{},
	}
	for _, c := range r.State.Callouts {
		for _, p := range c.Places {
			f.limits[parse.Target{Callout: c.ID, At: p.At}] = p.Limits
		}
	}
	if err := f.lines(ctx, &r, &told); err != nil {
		return nil, err
	}
	f.corrections(&told)
	f.places(&told)
	f.findings(&told)
	f.people()
	f.instruments(&told)
	f.head(&r)
	if err := f.sealed(&r); err != nil {
		return nil, err
	}
	return f, nil
}

// head says what the job is.
func (f *Facts) head(r *Record) {
	s := &r.State
	var options []string
	for _, name := range slices.Sorted(maps.Keys(s.Options)) {
		options = append(options, name+" "+s.Options[name])
	}
	add := func(name, is string) {
		if is != "" {
			f.Head = append(f.Head, Pair{name, is})
		}
	}
	first := r.Entries[0]
	add("Job", s.ID)
	add("Unit", cmp.Or(s.Title, s.Spec))
	add("Build spec", s.Spec+", revision "+s.Revision)
	add("Hash of the spec", first.SpecHash)
	add("Options", cmp.Or(strings.Join(options, ", "), "none"))
	add("Opened", clock(s.Opened.At)+" by "+s.Opened.Person)
	add("Last entry", strconv.FormatInt(s.Entries, 10)+", "+clock(s.Last))
	add("Program", first.Program)
	var people []string
	for _, p := range f.People {
		people = append(people, p.Name)
	}
	add("People", strings.Join(people, ", "))
	f.Stands = []string{"Nothing is left to do."}
	if s.Left > 0 {
		f.Stands[0] = fmt.Sprintf("%d left to do.", s.Left)
	}
	switch len(s.Findings) {
	case 0:
		f.Stands = append(f.Stands, "No finding is open.")
	case 1:
		f.Stands = append(f.Stands, "1 finding is open.")
	default:
		f.Stands = append(f.Stands, fmt.Sprintf("%d findings are open.", len(s.Findings)))
	}
}

// places joins what stands with what it was measured with.
func (f *Facts) places(told *floor.Told) {
	measured := map[parse.Target]*floor.Measured{}
	for i := range told.Readings {
		m := &told.Readings[i]
		measured[parse.Target{Callout: m.Callout, At: m.Stood.At}] = m
	}
	for _, c := range f.state.Callouts {
		for _, p := range c.Places {
			if p.Reading == nil && p.Mark == "" && !p.Void && !c.Owed {
				continue // what may happen and did not
			}
			t := parse.Target{Callout: c.ID, At: p.At}
			one := Place{Callout: c.ID, At: p.At, Where: p.Where, Limits: p.Limits, Mark: p.Mark, Is: p.Mark}
			if n := told.Made[t]; n > 0 && (p.Reading != nil || p.Mark != "") {
				at := f.stamp(n)
				one.Seq, one.When, one.Person = n, at.At, at.Person
			}
			switch {
			case p.Reading != nil:
				one.Value, one.Unit, one.Is, one.Verdict = p.Reading.Value, p.Reading.Unit, p.Reading.Shown, string(p.Reading.Verdict)
				if p.Reading.Also != "" {
					one.Is += " (" + p.Reading.Also + ")"
				}
				if p.Reading.How == "set" {
					one.Is += " (set)"
				}
				if c.Derived {
					one.Is += ", computed"
				}
			case p.Mark != "":
			case p.Void:
				one.Is = "void, to be taken again"
			case p.Owed:
				one.Is = "not yet"
			}
			if m := measured[t]; m != nil {
				if one.TakenAt = takenAt(m.With); one.TakenAt != "" {
					one.Is += " at " + one.TakenAt
				}
				one.Uncertainty, one.Conformity, one.Instrument = m.Uncertainty, m.Conformity, m.Instrument
			}
			switch p.Disposition {
			case "":
			case rules.UseAsIs:
				one.Verdict = strings.TrimPrefix(one.Verdict+", used as is", ", ")
			case rules.Rework, rules.Scrap:
				one.Verdict = strings.TrimPrefix(one.Verdict+", "+string(p.Disposition), ", ")
			}
			f.Places = append(f.Places, one)
		}
	}
}

// stamp returns who made an entry, and when. Seqs have no gaps.
func (f *Facts) stamp(seq int64) Stamp { return f.Lines[seq-1].Stamp }

// corrections names what ended.
func (f *Facts) corrections(told *floor.Told) {
	for _, e := range told.Ended {
		c := Correction{Ended: e, By: f.stamp(e.By), Was: f.Lines[e.Of-1].of(e.Target), Original: f.stamp(e.Of).At}
		if e.How == floor.Superseded {
			c.Now = f.Lines[e.By-1].of(e.Target)
		}
		f.Corrections = append(f.Corrections, c)
		f.ended[ending{e.Of, e.Target}] = c.Words()
	}
	for i := range f.Corrections {
		c := &f.Corrections[i]
		by, of := &f.Lines[c.By.Seq-1], &f.Lines[c.Of-1]
		of.Said = append(of.Said, Piece{Label: "correction", Text: c.Where + ", " + c.Was + ": " + c.Words()})
		by.Said = append(by.Said, Piece{Label: "corrects", Text: fmt.Sprintf("note %d, %s, %s", c.Of, c.Where, c.Was)})
	}
}

// of says what a line has read or marked at a target.
func (l *Line) of(t parse.Target) string {
	for _, r := range slices.Backward(l.answer.Readings) {
		if r.Callout == t.Callout && r.At == t.At {
			return shownReading(&r)
		}
	}
	for _, m := range slices.Backward(l.answer.Marks) {
		if m.Callout == t.Callout && m.At == t.At {
			return m.Is
		}
	}
	return ""
}

// findings follows each finding through the entries.
func (f *Facts) findings(told *floor.Told) {
	matched := map[*Finding]bool{} // what stands at the end, each once
	open := func(of rules.Finding) (found *Finding) {
		for i := range slices.Backward(f.Findings) {
			x := &f.Findings[i]
			switch {
			case x.Closed != nil || matched[x] || !x.Continues(of):
			case x.Text == of.Text:
				return x
			case found == nil:
				found = x
			}
		}
		return found
	}
	for i := range told.Happened {
		h, l := &told.Happened[i], &f.Lines[i]
		l.opened, l.closed = h.Opened, h.Closed
		for _, of := range h.Closed {
			if x := open(of); x != nil {
				x.Finding, x.Closed = of, &l.Stamp
			}
		}
		for _, of := range h.Opened {
			f.Findings = append(f.Findings, Finding{Finding: of, Raised: &l.Stamp})
		}
		if h.Kind == journal.Heeded && l.answer.Finding != nil {
			if x := open(*l.answer.Finding); x != nil {
				x.Then = append(x.Then, fmt.Sprintf("%s sees to it (%d)", h.Person, h.Seq))
			}
		}
	}
	var unseen []Finding
	for _, of := range f.state.Findings {
		if x := open(of); x != nil {
			x.Finding, matched[x] = of, true
		} else {
			unseen = append(unseen, Finding{Finding: of})
		}
	}
	f.Findings = append(f.Findings, unseen...)
	for _, d := range f.Dispositions {
		for i := range slices.Backward(f.Findings) {
			x := &f.Findings[i]
			if x.Rule == d.Rule && x.Callout == d.Callout && x.At == d.At && (x.Raised == nil || x.Raised.Seq <= d.Seq) {
				x.Then = append(x.Then, fmt.Sprintf("%s (%d), %s", d.Is, d.Seq, dispositionState(d)))
				break
			}
		}
	}
}

// State says whether a finding is closed.
func (x *Finding) State() string {
	if x.Closed == nil {
		return "open"
	}
	return fmt.Sprintf("closed %s by %d", clock(x.Closed.At), x.Closed.Seq)
}

func (f *Facts) people() {
	at := map[string]int{}
	for i := range f.Lines {
		l := &f.Lines[i]
		if l.Kind == journal.Purged || l.Kind == journal.Clock {
			continue // the program did it
		}
		n, ok := at[l.Person]
		if !ok {
			n = len(f.People)
			at[l.Person] = n
			f.People = append(f.People, Person{Name: l.Person, First: l.At})
		}
		f.People[n].Entries++
		f.People[n].Last = l.At
	}
}

// instruments lists what was measured with, in the order of first use.
func (f *Facts) instruments(told *floor.Told) {
	at := map[string]int{}
	for i := range f.Lines {
		l := &f.Lines[i]
		for _, r := range l.answer.Readings {
			if r.Instrument == "" {
				continue
			}
			n, ok := at[r.Instrument]
			if !ok {
				n = len(f.Instruments)
				at[r.Instrument] = n
				f.Instruments = append(f.Instruments, Instrument{Name: r.Instrument})
			}
			x := &f.Instruments[n]
			x.Readings++
			if day := l.At.UTC().Format(time.DateOnly); !slices.Contains(x.Days, day) {
				x.Days = append(x.Days, day)
			}
		}
	}
	for i := range f.Instruments {
		f.Instruments[i].look(told.Shop)
	}
}

// look says what the register has of an instrument.
func (x *Instrument) look(shop *rules.Shop) {
	if shop == nil {
		x.Valid = "the job has no register"
		return
	}
	of := shop.Find(x.Name)
	if of == nil {
		x.Valid = "not in the shop's register"
		return
	}
	x.Measures, x.Within, x.Until = of.Reaches(), of.Within(), of.Until
	var overdue []string
	for _, day := range x.Days {
		if day > of.Until { // dates as 2026-11-25 order as text
			overdue = append(overdue, day)
		}
	}
	switch {
	case of.Until == "":
		x.Valid = "no calibration"
	case len(overdue) > 0:
		x.Valid = "not valid on " + strings.Join(overdue, ", ")
	default:
		x.Valid = "valid on each day"
	}
}

// sealed says what the signed head of the shop's log is.
func (f *Facts) sealed(r *Record) error {
	if r.Seal == nil {
		return nil
	}
	h := r.Seal.Head
	fingerprint, err := h.Fingerprint()
	if err != nil {
		return fmt.Errorf("export job %s: %w", r.State.ID, err)
	}
	f.Seal = []Pair{
		{"Key", h.Key.String()},
		{"Head", fingerprint.String()},
		{"Size", strconv.FormatUint(h.Size, 10)},
		{"Log", h.Log.String()},
		{"Root", h.Root.String()},
		{"Signed at", clock(h.At.Time())},
		{"Entries of this job under it", strconv.FormatUint(r.Seal.Job.Size, 10)},
		{"Root of this job", r.Seal.Job.Root.String()},
	}
	return nil
}
