package wire

import (
	"strings"
	"time"

	"readback/capture/journal"
	"readback/parse"
	"readback/rules"
)

// Dispose gives a disposition of a finding: the body of POST /api/jobs/{id}/dispositions. The same id
// again gets what was kept the first time.
type Dispose struct {
	ID      string          `json:"id"               validate:"required,canonical_ulid"`
	Finding rules.FindingID `json:"finding"`                           // as the state has it
	Reading int64           `json:"reading"          validate:"min=0"` // as the state has it: what was read anew since is decided anew
	Is      string          `json:"is"               validate:"required,disposition"`
	Reason  string          `json:"reason"           validate:"required,max=1000,plain"`
	Person  string          `json:"person"           validate:"required,max=100,name"`
	Bench   string          `json:"bench,omitempty"  validate:"max=100,name"`
	Over    *int64          `json:"-"`                                                                        // seq of the disposition that stood, 0 for none, if this one is to take the place of that alone
	At      string          `json:"at,omitempty"     validate:"omitempty,datetime=2006-01-02T15:04:05Z07:00"` // the client's clock
}

// DecodeDispose reads the body of POST /api/jobs/{id}/dispositions. Every error is a *[Error].
func DecodeDispose(body []byte) (Dispose, error) {
	var d Dispose
	if err := object(body, &d); err != nil {
		return Dispose{}, err
	}
	d.Reason, d.Person = strings.TrimSpace(d.Reason), strings.TrimSpace(d.Person)
	if err := checkShape(d); err != nil {
		return Dispose{}, err
	}
	if strings.EqualFold(d.Person, journal.NotStated) {
		return Dispose{}, &Error{ID: d.ID, Wrong: "nobody's name stands with the disposition", Do: "give the name of who decides"}
	}
	if d.Finding.Rule == "" || d.Finding.Text == "" {
		return Dispose{}, &Error{ID: d.ID, Wrong: "the disposition names no finding", Do: "send its rule, callout, at and text as the job's state has them"}
	}
	return d, nil
}

// ClientAt returns the client's time, or the zero Time if it gave none.
func (d Dispose) ClientAt() time.Time { return Note{At: d.At}.ClientAt() }

// isDisposition reports whether s is one of the three words.
func isDisposition(s string) bool {
	switch rules.Disposition(s) {
	case rules.Rework, rules.UseAsIs, rules.Scrap:
		return true
	}
	return false
}

// Decidable is a finding that takes a disposition.
type Decidable struct {
	rules.Finding
	Reading int64               `json:"reading"`       // seq of the note of the last reading or mark that it rests on; 0 for none
	Takes   []rules.Disposition `json:"takes"`         // what may be decided
	Holds   bool                `json:"holds"`         // the job is not handed over as long as it is so
	Due     string              `json:"due,omitempty"` // what is still to be done: "no disposition yet"; absent where it is accepted
	Decided int64               `json:"decided"`       // seq of the disposition that stands; 0 for none
}

// Disposition is one that was given, and what became of it.
type Disposition struct {
	Seq     int64             `json:"seq"`
	Time    time.Time         `json:"time"` // the server's clock
	Person  string            `json:"person"`
	Bench   string            `json:"bench,omitempty"`
	Rule    string            `json:"rule"`
	Callout string            `json:"callout"`
	At      parse.Place       `json:"at"`
	Where   string            `json:"where"`   // what it is about, in words: "collar nut three"
	Finding string            `json:"finding"` // as it stood then, in words
	Reading int64             `json:"reading"` // seq of the note that it was given for; 0 for none
	Is      rules.Disposition `json:"is"`
	Reason  string            `json:"reason"`
	State   rules.Standing    `json:"state"`
	By      int64             `json:"by,omitempty"` // of a replaced one: seq of the one that took its place
}

// Words says what became of a disposition: "stands", "replaced by 14".
func (d Disposition) Words() string {
	switch {
	case d.State == rules.Stands && d.Is == rules.UseAsIs:
		return "accepted"
	case d.State == rules.Stands:
		return "still to be done"
	case d.State == rules.Lapsed:
		return "no longer stands"
	}
	return string(d.State)
}

// DispositionOf returns what was kept of a disposition, as it was given.
func DispositionOf(e journal.Entry) Disposition {
	d := e.Disposition
	return Disposition{
		Seq: e.Seq, Time: e.At.Time(), Person: e.Person, Bench: e.Bench, Rule: d.Rule, Callout: d.Callout, At: d.At,
		Finding: d.Finding, Reading: d.Reading, Is: rules.Disposition(d.Is), Reason: d.Reason,
	}
}
