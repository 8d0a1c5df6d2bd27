// Package export writes the record of one job for people and programs elsewhere: as a
// JSON bundle, as CSV, as a page to print, and as paper (PDF). The last three are written from one
// model of the job, [Facts]. It changes nothing and leaves nothing out;
// what a spreadsheet would take for a formula is marked as text.
//
// Start reading at [Write].
package export

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"readback/capture/journal"
	"readback/capture/seal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

// Form is a way to write a record.
type Form string

// The forms.
const (
	JSON Form = "json"
	PDF  Form = "pdf"
	HTML Form = "html"
	CSV  Form = "csv"
)

// Forms lists every form.
func Forms() []Form { return []Form{JSON, PDF, HTML, CSV} }

// Known reports whether f is a form.
func (f Form) Known() bool { return slices.Contains(Forms(), f) }

// Words lists the forms for people.
func Words() string {
	var all []string
	for _, f := range Forms() {
		all = append(all, string(f))
	}
	return strings.Join(all, ", ")
}

// ContentType returns the media type of a form.
func (f Form) ContentType() string {
	switch f {
	case JSON:
		return "application/json"
	case PDF:
		return "application/pdf"
	case HTML:
		return "text/html; charset=utf-8"
	case CSV:
		return "text/csv; charset=utf-8; header=present"
	}
	return "application/octet-stream"
}

// Record is a job with all its entries, in order.
type Record struct {
	State    wire.State
	Entries  []journal.Entry
	Evidence []Item // every sound and photo that the entries name, in order: see [Check]
	Photos   Reader // where a page reads the photos that it shows small; nil: it shows none
	Fold     Teller // what the entries fold to; a bundle needs none
	Seal     *seal.Seal
	Sign     Signer // signs what a bundle says beside its entries; nil, or without its key: it says nothing else
}

// Signer signs: a [seal.Sealer] or a [seal.Record].
type Signer interface {
	Sign(ctx context.Context, s *seal.Seal, rest map[string]json.RawMessage) error
}

// Write returns the record in a form. A page reads its photos one at a time, until ctx ends.
func Write(ctx context.Context, r Record, as Form) ([]byte, error) {
	if as == JSON {
		return bundle(ctx, r)
	}
	if !as.Known() {
		return nil, fmt.Errorf("export as %q: it may be %s", as, Words())
	}
	if as == CSV {
		r.Photos = nil // it shows none, and to make them small takes long
	}
	f, err := factsOf(ctx, r)
	switch {
	case err != nil:
		return nil, err
	case as == PDF:
		return paper(ctx, f)
	case as == HTML:
		return page(f)
	}
	return table(f), nil
}

// bundle writes {"entries":[...]}, behind them who handed the job over, how the files of its sounds and photos
// were found and what became of each disposition, and the seal of it all. Of a sealed job, what cannot be signed
// is left out.
func bundle(ctx context.Context, r Record) ([]byte, error) {
	over, evidence, dispositions := r.State.Over, r.Evidence, r.State.Dispositions
	if r.Seal != nil {
		signed, err := sign(ctx, r)
		if err != nil {
			return nil, fmt.Errorf("export job %s: %w", r.State.ID, err)
		}
		if !signed {
			over, evidence, dispositions = nil, nil, nil
		}
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(struct {
		Entries  []journal.Entry  `json:"entries"`
		Over     *wire.HandedOver `json:"handed_over,omitempty"`
		Evidence []Item           `json:"evidence,omitempty"`

		Dispositions []wire.Disposition `json:"dispositions,omitempty"`

		Seal *seal.Seal `json:"seal,omitempty"`
	}{r.Entries, over, evidence, dispositions, r.Seal}); err != nil {
		return nil, fmt.Errorf("export job %s: %w", r.State.ID, err)
	}
	return b.Bytes(), nil
}

// sign signs how many entries the job had and what the bundle says beside them, unless the key is not there.
func sign(ctx context.Context, r Record) (signed bool, err error) {
	if r.Sign == nil {
		return false, nil
	}
	rest := map[string]json.RawMessage{}
	if r.State.Over != nil {
		if rest["handed_over"], err = json.Marshal(r.State.Over); err != nil {
			return false, err
		}
	}
	if len(r.Evidence) > 0 {
		if rest["evidence"], err = json.Marshal(r.Evidence); err != nil {
			return false, err
		}
	}
	if len(r.State.Dispositions) > 0 {
		if rest["dispositions"], err = json.Marshal(r.State.Dispositions); err != nil {
			return false, err
		}
	}
	err = r.Sign.Sign(ctx, r.Seal, rest)
	if errors.Is(err, seal.ErrKeyGone) {
		return false, nil
	}
	return err == nil, err
}

// overWords says who handed the job over, when, and how it stood then.
func overWords(o *wire.HandedOver) string {
	text := fmt.Sprintf("Handed over by %s at %s", o.Person, clock(o.At))
	if o.Person == journal.NotStated {
		text = fmt.Sprintf("Handed over at %s, and nobody's name stands with it", clock(o.At))
	}
	left, open := "nothing was left to do", "no finding was open"
	if o.Left > 0 {
		left = fmt.Sprintf("%d left to do", o.Left)
	}
	if n := len(o.Findings); n > 0 {
		open = fmt.Sprintf("%d findings open", n)
		if n == 1 {
			open = "1 finding open"
		}
	}
	return text + ": " + left + ", " + open
}

// dispositionState says what became of a disposition: "accepted", "replaced by 14".
func dispositionState(d wire.Disposition) string {
	if d.By > 0 {
		return fmt.Sprintf("%s by %d", d.Words(), d.By)
	}
	return d.Words()
}

// clock writes an instant for people, in UTC.
func clock(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05") }

// answer is what is read of an entry's stored answer.
type answer struct {
	Kind     parse.Kind      `json:"kind"`
	Readings []rules.Reading `json:"readings"`
	Marks    []rules.Mark    `json:"marks"`
	Findings []rules.Finding `json:"findings"`
	Say      string          `json:"say"`
	Guess    bool            `json:"guess"`   // the words are a guess at free speech
	Of       int64           `json:"of"`      // the entry whose words these put right
	Finding  *rules.Finding  `json:"finding"` // the stop that somebody sees to; of such an entry alone
}

func answerOf(e journal.Entry) (answer, error) {
	var a answer
	if len(e.Answer) == 0 {
		return a, nil
	}
	if err := json.Unmarshal(e.Answer, &a); err != nil {
		return a, fmt.Errorf("read the answer of entry %d of job %s: %w", e.Seq, e.Job, err)
	}
	return a, nil
}

// heededWords says who sees to which stop, "" of any other entry.
func heededWords(e journal.Entry, a *answer) string {
	if e.Kind != journal.Heeded || a.Finding == nil {
		return ""
	}
	return fmt.Sprintf("%s sees to what entry %d has raised: %s", e.Person, e.Of, a.Finding.Text)
}

// place writes a place for people: "rod 2, pass 1".
func place(p parse.Place) string {
	var parts []string
	for _, x := range p.Indexes() {
		parts = append(parts, x.Axis+" "+x.Value)
	}
	return strings.Join(parts, ", ")
}
