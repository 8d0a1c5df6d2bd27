package floor

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

// retries is how often a note is folded anew because another server has written to the job
// meanwhile. Each time somebody's note was kept, so that nobody waits for nothing.
const retries = 20

// unsigned asks for a name at the hand-over of a job.
const unsigned = "Nobody's name stands with this hand-over: say who you are on the sheet, then hand over again."

// Say takes one note and returns its answer after the commit. The same id again gets the
// first answer, whatever its text. An error means that nothing was kept; [Explain] puts it
// into words.
func (s *Seat) Say(ctx context.Context, note wire.Note) (wire.Answer, error) {
	answer, _, err := s.SayHeard(ctx, note, Spoken{})
	return answer, err
}

// Spoken is what is kept of a note that was heard, beside its words.
type Spoken struct {
	Sound string          // SHA-256 of its sound as it is kept; "" for what was typed
	Heard json.RawMessage // what it was heard as, and how surely; nil for what was typed
	Guess bool            // its words are a guess at free speech: it is kept as sound and never read
}

// SayHeard is [Seat.Say] for a note that was spoken. sound is the hash that the record holds: that of
// the first time where the id was known.
func (s *Seat) SayHeard(ctx context.Context, note wire.Note, spoken Spoken) (answer wire.Answer, sound string, err error) {
	s.job.mu.Lock()
	defer s.job.mu.Unlock()
	kept, err := s.job.say(ctx, s.who, note, spoken)
	for n := 0; n < retries && errors.Is(err, journal.ErrSeq); n++ {
		kept, err = s.job.say(ctx, s.who, note, spoken)
	}
	if err != nil {
		return wire.Answer{}, "", err
	}
	if !kept.Known {
		s.job.tell(kept.Entry, s)
	}
	return wire.AnswerOf(kept.Entry), kept.Entry.Sound, nil
}

// Read understands words as they would be understood if they were said now. It changes nothing.
func (s *Seat) Read(ctx context.Context, text string) (u parse.Utterance, err error) {
	s.job.mu.Lock()
	defer s.job.mu.Unlock()
	if err := s.job.load(ctx); err != nil {
		return u, err
	}
	return s.job.live.read(wire.Note{Text: text}, s.who, 0)
}

// Gauge says what the gauge at this seat is on, if it is on something.
func (s *Seat) Gauge(ctx context.Context) (g wire.Gauge, on bool, err error) {
	s.job.mu.Lock()
	defer s.job.mu.Unlock()
	if err := s.job.load(ctx); err != nil {
		return g, false, err
	}
	g, on = s.job.live.gauge(s.who)
	return g, on, nil
}

// Lacks is [rules.Job.Lacks].
func (s *Seat) Lacks(ctx context.Context, instrument string) (lacks bool, err error) {
	err = s.Job(ctx, func(j *rules.Job) error {
		lacks = j.Lacks(instrument)
		return nil
	})
	return lacks, err
}

// People is [Floor.People].
func (s *Seat) People(ctx context.Context) ([]string, error) { return s.job.floor.People(ctx) }

// Job looks at the job as it is now. What do does must change nothing.
func (s *Seat) Job(ctx context.Context, do func(*rules.Job) error) error {
	s.job.mu.Lock()
	defer s.job.mu.Unlock()
	if err := s.job.load(ctx); err != nil {
		return err
	}
	return do(s.job.live.rules)
}

func (j *job) say(ctx context.Context, who Speaker, note wire.Note, spoken Spoken) (journal.Result, error) {
	if err := j.load(ctx); err != nil {
		return journal.Result{}, err
	}
	if j.live.ids[note.ID] {
		return j.again(ctx, note)
	}
	e, err := j.entry(ctx, who, note, spoken)
	e.Sound, e.Heard = spoken.Sound, spoken.Heard
	var r journal.Result
	if err == nil {
		r, err = j.floor.Writer.Append(ctx, e)
	}
	if err != nil || r.Known {
		j.live = nil // it holds what the journal does not
	}
	if err != nil {
		return journal.Result{}, fmt.Errorf("note %s on job %s: %w", note.ID, j.id, err)
	}
	if r.Known {
		return r, nil
	}
	j.live.add(r.Entry)
	return r, nil
}

// again returns the entry that the id has already become.
func (j *job) again(ctx context.Context, note wire.Note) (journal.Result, error) {
	e, err := j.floor.Reader.ByID(ctx, j.id, note.ID)
	if err != nil {
		return journal.Result{}, fmt.Errorf("note %s on job %s again: %w", note.ID, j.id, err)
	}
	if e.Kind != journal.Note {
		return journal.Result{}, &RefusalError{Wrong: "the id is that of an entry which is no note", Do: "make a new id for each note", Why: ErrID}
	}
	if e.Text != note.Text {
		j.floor.Log.Warn().Str("job", j.id).Int64("seq", e.Seq).Msg("known id came with another text")
	}
	return journal.Result{Entry: e, Known: true}, nil
}

// understand reads a note, folds it, and returns the entry to be kept.
func (j *job) understand(who Speaker, note wire.Note) (journal.Entry, error) {
	at := journal.InstantOf(j.floor.Now())
	u, err := j.live.read(note, who, at)
	if err != nil {
		return journal.Entry{}, err
	}
	return j.fold(who, note, j.live.rules.Guard(u.WithInstrument(note.Instrument)), at, func(*said) {})
}

// fold folds what was understood of a note that came at a time, and returns the entry to be kept. finish
// may say more of it.
func (j *job) fold(who Speaker, note wire.Note, u parse.Utterance, at journal.Instant, finish func(*said)) (journal.Entry, error) {
	answer, err := j.live.fold(u, who, at)
	if err != nil {
		return journal.Entry{}, err
	}
	if answer.Heard.Over && who.Person == journal.NotStated {
		answer.Say += " " + unsigned
	}
	full := said{Text: note.Text, Answer: answer}
	finish(&full)
	body, err := bodyOf(&full)
	if err != nil {
		return journal.Entry{}, err
	}
	return journal.Entry{
		Job: j.id, Seq: j.live.last.Seq + 1, ID: note.ID, Kind: journal.Note,
		At: at, ClientAt: journal.InstantOf(note.ClientAt()),
		Person: who.Person, Bench: who.Bench, Text: note.Text, Utterance: &u, Answer: body, Caution: answer.Caution,
		SpecHash: j.live.plan.hash, Program: j.floor.Program,
	}, nil
}

// said is a note with its answer, as it is kept and sent.
type said struct {
	Text string `json:"text"`
	rules.Answer

	Guess bool  `json:"guess,omitempty"` // the words are a guess at free speech
	Of    int64 `json:"of,omitempty"`    // the words are put right of the entry with this seq
}

// bodyOf writes the body of an answer as `readback check --json` does.
func bodyOf(a *said) (json.RawMessage, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(a); err != nil {
		return nil, fmt.Errorf("write answer: %w", err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// tell shows an entry to every other seat at the job.
func (j *job) tell(e journal.Entry, but *Seat) {
	if len(j.seats) < 2 && j.seats[but] {
		return
	}
	text, err := wire.EntryOf(e).MarshalJSON()
	if err != nil {
		j.floor.Log.Error().Err(err).Str("job", j.id).Int64("seq", e.Seq).Msg("entry cannot be shown to other benches")
		return
	}
	for s := range j.seats {
		if s != but {
			s.tell(text)
		}
	}
}
