package history

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"time"

	"github.com/oklog/ulid/v2"

	"readback/capture/bench"
	"readback/capture/journal"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// Teller turns jobs into the entries that a server would have kept of them.
type Teller struct {
	text  []byte
	spec  *rules.Spec
	shop  []byte                       // the demo's register
	shops map[int]*register            // by the year: an instrument is in its calibration
	words map[string]*parse.Vocabulary // by options
	at    journal.Position
	known map[string]answered // nil: each note is read where it is said
}

type answered struct {
	utterance *parse.Utterance
	answer    json.RawMessage
}

// NewTeller returns a Teller that works by the demo's pump.
func NewTeller() (*Teller, error) {
	text, err := fs.ReadFile(testdata.Files, "specs/mr5.yaml")
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	shop, err := fs.ReadFile(testdata.Files, "shop/register.yaml")
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	s, err := spec.Load("mr5.yaml", text)
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	return &Teller{text: text, shop: shop, spec: s, shops: map[int]*register{}, words: map[string]*parse.Vocabulary{}}, nil
}

// register is the shop's instruments as they were in some year.
type register struct {
	text string
	shop *rules.Shop
}

// lent is a third wrench, without which nobody could tell which of two is off.
const lent = `
  - say: [wrench eleven]         # on loan
    measures: N.m
    range: 10..60
    accuracy: 2 %%
    step: 0.1
    calibrated_until: %d-12-31
`

var calibrated = regexp.MustCompile(`(calibrated_until:) \d{4}-\d\d-\d\d`)

// registerOf returns the register of a year: what is in it was calibrated until the next one ends.
func (t *Teller) registerOf(year int) (*register, error) {
	if t.shops[year] == nil {
		text := calibrated.ReplaceAllString(string(t.shop), fmt.Sprintf("$1 %d-12-31", year+1))
		text = strings.TrimRight(text, "\n") + fmt.Sprintf(lent, year+1)
		shop, err := spec.LoadShop("register.yaml", []byte(text))
		if err != nil {
			return nil, fmt.Errorf("history: %w", err)
		}
		t.shops[year] = &register{text, shop}
	}
	return t.shops[year], nil
}

// ReadOnce makes the Teller read each text where it is said first, and take the same for it ever
// after: a million notes in a minute, whose verdicts are those of another job.
func (t *Teller) ReadOnce() { t.known = map[string]answered{} }

// Entries reads and folds each note of a job as the bench does, and returns what is kept. Positions
// count on from job to job.
func (t *Teller) Entries(j Job) ([]journal.Entry, error) {
	var b *bench.Bench
	say := func(text string) (answered, error) {
		if a, ok := t.known[text]; ok {
			return a, nil
		}
		if b == nil {
			var err error
			if b, err = t.bench(j); err != nil {
				return answered{}, err
			}
		}
		u, answer := b.Say(text)
		body, err := json.Marshal(struct { // as the floor keeps it
			Text string `json:"text"`
			rules.Answer
		}{text, answer})
		if err != nil {
			return answered{}, fmt.Errorf("history: %w", err)
		}
		if t.known != nil {
			t.known[text] = answered{&u, body}
		}
		return answered{&u, body}, nil
	}
	entry := func(kind journal.Kind, at time.Time, person string, seq int) journal.Entry {
		t.at++
		var id ulid.ULID
		_ = id.SetTime(ulid.Timestamp(at)) // before the year 10889
		_ = id.SetEntropy(fmt.Appendf(nil, "%010d", t.at)[:10])
		return journal.Entry{
			Job: j.ID, Seq: int64(seq), Position: t.at, ID: id.String(), Kind: kind, At: journal.InstantOf(at), Person: person,
		}
	}
	open := entry(journal.Opened, j.At, j.Person, 1)
	shop, err := t.registerOf(j.At.Year())
	if err != nil {
		return nil, err
	}
	open.Spec, open.SpecText, open.ShopText, open.Options = "mr5", string(t.text), shop.text, j.Options
	out := []journal.Entry{open}
	for i, n := range j.Notes {
		e := entry(journal.Note, n.At, n.Person, i+2)
		a, err := say(n.Text)
		if err != nil {
			return nil, err
		}
		e.Text, e.Utterance, e.Answer = n.Text, a.utterance, a.answer
		out = append(out, e)
	}
	return out, nil
}

// bench returns a bench that works on a job.
func (t *Teller) bench(j Job) (*bench.Bench, error) {
	job, err := rules.NewJob(t.spec, j.Options)
	if err != nil {
		return nil, fmt.Errorf("history: job %s: %w", j.ID, err)
	}
	shop, err := t.registerOf(j.At.Year())
	if err != nil {
		return nil, err
	}
	job.Equip(shop.shop)
	job.Today(j.At.Format(time.DateOnly))
	key := fmt.Sprint(j.Options)
	if t.words[key] == nil {
		t.words[key] = parse.NewVocabulary(job.Words())
	}
	return bench.New(job, t.words[key]), nil
}
