package export

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// section is a table of the transcript, in words. Paper and page show the same.
type section struct {
	Title  string
	Said   []string // sentences before the table
	Head   []string
	Wide   []float64 // how wide each column is on paper, beside the others
	Rows   [][]string
	Strong int  // the column that is set bold; -1 for none
	First  bool // the first column names its row
}

// sections are the tables before what was said.
func (f *Facts) sections() []section {
	out := []section{f.standing()}
	if f.Over != nil {
		out = append(out, f.handOver())
	}
	out = append(out, f.placesTable(), f.findingsTable())
	for _, s := range []section{f.dispositionsTable(), f.correctionsTable(), f.cautionsTable(), f.instrumentsTable(), f.peopleTable()} {
		if len(s.Rows) > 0 {
			out = append(out, s)
		}
	}
	return out
}

func (f *Facts) standing() section {
	s := section{Title: "Still open", Said: f.Stands, Strong: 0}
	for _, x := range f.Findings {
		if x.Closed == nil {
			s.Rows = append(s.Rows, []string{string(x.Severity), x.Text})
		}
	}
	if len(s.Rows) > 0 {
		s.Head, s.Wide = []string{"Severity", "Finding"}, []float64{1, 9}
	}
	return s
}

func (f *Facts) handOver() section {
	s := section{Title: "Hand-over", Said: []string{overWords(f.Over) + "."}, Strong: 0}
	for _, x := range f.Over.Findings {
		s.Head, s.Wide = []string{"Severity", "Open at that time"}, []float64{1, 9}
		s.Rows = append(s.Rows, []string{string(x.Severity), x.Text})
	}
	return s
}

func (f *Facts) placesTable() section {
	s := section{
		Title: "As left", Strong: 3, First: true,
		Head: []string{"Callout", "Called for", "Reading", "Verdict", "Uncertainty, conformity", "Instrument", "Note, when and who"},
		Wide: []float64{4.2, 3.7, 3.9, 1.7, 2.5, 2.3, 5.2},
	}
	for i := range f.Places {
		p := &f.Places[i]
		s.Rows = append(s.Rows, []string{p.Where, p.Limits, p.Is, p.Verdict, p.sure(), p.Instrument, p.made()})
	}
	return s
}

// sure says how sure a reading is: "0.29 N·m, 0.758".
func (p *Place) sure() string {
	return strings.Join(cut(p.Uncertainty, p.Conformity), ", ")
}

func (p *Place) made() string {
	if p.Seq == 0 {
		return ""
	}
	return fmt.Sprintf("%d, %s, %s", p.Seq, clock(p.When), p.Person)
}

// cut leaves out what is empty.
func cut(all ...string) (out []string) {
	for _, s := range all {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

func (f *Facts) findingsTable() section {
	s := section{
		Title: "Findings, open and closed", Strong: 0,
		Head: []string{"Severity", "Finding", "Raised by", "Became", "Decided, seen to"}, Wide: []float64{1.4, 8, 3.4, 3.4, 4},
	}
	if len(f.Findings) == 0 {
		s.Said, s.Head = []string{"None was raised."}, nil
	}
	for i := range f.Findings {
		x := &f.Findings[i]
		s.Rows = append(s.Rows, []string{string(x.Severity), x.Text, x.Raised.words(), x.State(), strings.Join(x.Then, "; ")})
	}
	return s
}

// words says which entry, when and who: "12, 2026-11-25 10:11:12, Ines".
func (s *Stamp) words() string {
	if s == nil {
		return ""
	}
	return fmt.Sprintf("%d, %s, %s", s.Seq, clock(s.At), s.Person)
}

func (f *Facts) dispositionsTable() section {
	s := section{
		Title: "Dispositions", Strong: 4,
		Head: []string{"No.", "When and who", "Finding", "Reason", "Disposition", "Now"}, Wide: []float64{1, 4, 6, 6, 2, 2.4},
	}
	for _, d := range f.Dispositions {
		of := d.Finding
		if d.Reading > 0 {
			of += " (note " + strconv.FormatInt(d.Reading, 10) + ")"
		}
		s.Rows = append(s.Rows, []string{strconv.FormatInt(d.Seq, 10), clock(d.Time) + ", " + d.Person, of, d.Reason, string(d.Is), dispositionState(d)})
	}
	return s
}

func (f *Facts) correctionsTable() section {
	s := section{
		Title: "Corrections: what no longer stands", Strong: -1,
		Head: []string{"What", "Was", "Said in note", "Became", "When and who"}, Wide: []float64{4, 3, 4, 5, 4},
	}
	for i := range f.Corrections {
		c := &f.Corrections[i]
		s.Rows = append(s.Rows, []string{c.Where, c.Was, fmt.Sprintf("%d, %s", c.Of, clock(c.Original)), c.Words(), clock(c.By.At) + ", " + c.By.Person})
	}
	return s
}

func (f *Facts) cautionsTable() section {
	s := section{Title: "Cautions shown", Head: []string{"With note", "Caution"}, Wide: []float64{3, 9}, Strong: -1}
	for _, c := range f.Cautions {
		s.Rows = append(s.Rows, []string{fmt.Sprintf("%d, %s", c.Seq, clock(c.At)), c.Text})
	}
	return s
}

func (f *Facts) instrumentsTable() section {
	s := section{
		Title: "Instruments", Strong: 4, First: true,
		Head: []string{"Instrument", "Measures", "Accuracy", "Calibrated until", "On the day", "Used on", "Readings"}, Wide: []float64{3, 3, 3, 2.4, 3, 3, 1.6},
	}
	for i := range f.Instruments {
		x := &f.Instruments[i]
		s.Rows = append(s.Rows, []string{x.Name, x.Measures, x.Within, cmp.Or(x.Until, "none"), x.Valid, strings.Join(x.Days, ", "), strconv.Itoa(x.Readings)})
	}
	return s
}

func (f *Facts) peopleTable() section {
	s := section{Title: "People", Head: []string{"Name", "Entries", "First", "Last"}, Wide: []float64{4, 1, 3, 3}, Strong: -1, First: true}
	for _, p := range f.People {
		s.Rows = append(s.Rows, []string{p.Name, strconv.Itoa(p.Entries), clock(p.First), clock(p.Last)})
	}
	return s
}

// Sentences that stand on paper and page alike.
const (
	allTimes = "All times are UTC, from the server's clock; a time of the bench's own clock stands beside it."
	invented = "This build spec is invented: build nothing by it."
	sureIs   = "Uncertainty is the standard uncertainty, of an instrument whose accuracy is known; conformity the probability that the true value is inside its limits."
	sealIs   = "The head of the shop's log under which this job was sealed. Key and head are named by their SHA-256 (of the key's bytes, of the head's canonical JSON). Print proves nothing by itself: “readback verify” checks the JSON bundle of the job against this key, and says the fingerprint of its head. The square says key, head and size."
	noSeal   = "This transcript was made without the seal of the record."
)

// signers are who signs, and for what.
func signers() []string { return []string{"Rebuilt by", "Inspected by", "Released by"} }

// code is what the square says of the seal: the job, and what names the key and the head.
func (f *Facts) code() string {
	lines := []string{"readback seal", "job " + f.Job}
	for _, p := range f.Seal[:3] {
		lines = append(lines, strings.ToLower(p.Name)+" "+p.Is)
	}
	return strings.Join(lines, "\n")
}

// who says of a line who, where, and by which clock.
func (l *Line) who() string {
	text := l.Person
	if l.Bench != "" {
		text += ", " + l.Bench
	}
	return text
}

func (l *Line) client() string {
	if l.Client.IsZero() {
		return ""
	}
	if l.Client.UTC().Format(time.DateOnly) == l.At.UTC().Format(time.DateOnly) {
		return "bench's clock " + l.Client.UTC().Format(time.TimeOnly)
	}
	return "bench's clock " + clock(l.Client)
}
