package floor

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

// page is how many entries are read at a time.
const page = 500

// job is the place of one job in memory.
type job struct {
	floor *Floor
	id    string
	users int   // guarded by floor.mu
	used  int64 // guarded by floor.mu

	mu    sync.Mutex // held from the reading of a note to its answer: notes of a job are serial
	live  *live      // nil: to be folded from the journal
	seats map[*Seat]bool
}

// live is the state of a job: what its entries fold to.
type live struct {
	plan    plan
	rules   *rules.Job
	words   *parse.Vocabulary
	said    map[Speaker]parse.Context
	ids     map[string]bool // of every entry
	opening journal.Entry
	last    journal.Entry            // without its utterance and answer
	over    *wire.HandedOver         // the last hand-over, if it stands
	unnamed int                      // how many benches without a name have spoken
	sent    map[Speaker]sent         // what the gauge of each sent last
	shown   evidenced                // the sounds and photos that entries name
	photos  map[int64][]wire.PhotoOf // by the seq of their note
	stands  map[standing]*opened     // the findings that are open
	spoke   journal.Entry            // the last entry that a bench made, with nothing but who made it and when
	noted   []int64                  // seqs of the notes that were folded: the rules count them from 1
	given   []journal.Entry          // the dispositions
}

// sent is what a gauge sent, by the clock of its bench.
type sent struct {
	text string
	at   time.Time
}

// onceMore is how soon the same number again is more likely a key that bounced, or a burst that was sent
// twice, than another measurement.
const onceMore = 1500 * time.Millisecond

// benchTime is when a note was made: by the clock of its bench, or by the server's where it gave none.
func benchTime(client time.Time, at journal.Instant) time.Time {
	if client.IsZero() {
		return at.Time()
	}
	return client
}

// Speaker is who says a note: a person at a bench. What "same again" refers to belongs to
// the two together.
type Speaker struct {
	Bench  string // "" for one without a name
	Person string // [journal.NotStated] where nobody gave a name
}

// load folds the job from the journal if it is not in memory.
func (j *job) load(ctx context.Context) error {
	if j.live != nil {
		return nil
	}
	entries, err := j.floor.Reader.Entries(ctx, j.id, 0, page)
	if errors.Is(err, journal.ErrNotFound) {
		return notFound(j.id)
	}
	if err != nil {
		return fmt.Errorf("load job %s: %w", j.id, err)
	}
	l, err := j.floor.open(entries[0])
	for err == nil {
		if err = l.foldAll(entries); err != nil || len(entries) < page {
			break
		}
		entries, err = j.floor.Reader.Entries(ctx, j.id, l.last.Seq, page)
	}
	if err != nil {
		return fmt.Errorf("load job %s: %w", j.id, err)
	}
	j.live = l
	return nil
}

// open makes the state of a job that was just opened, with the spec as it was then.
func (f *Floor) open(e journal.Entry) (*live, error) {
	l, err := f.unread(e)
	if err == nil {
		l.words = f.Trade.Vocabulary(l.rules.Words())
	}
	return l, err
}

// unread is open for a job whose notes are only folded: its vocabulary, which takes longer
// than all else, is not made.
func (f *Floor) unread(e journal.Entry) (*live, error) {
	if e.Kind != journal.Opened {
		return nil, broken(e.Job, errors.New("its first entry does not open it"))
	}
	p, err := f.plans.of(e.Spec, e.SpecText)
	if err != nil {
		return nil, broken(e.Job, err)
	}
	job, err := rules.NewJob(p.spec, e.Options)
	if err != nil {
		return nil, broken(e.Job, err)
	}
	shop, err := f.shops.of(e.ShopText)
	if err != nil {
		return nil, broken(e.Job, err)
	}
	job.Equip(shop)
	l := &live{
		plan: p, rules: job,
		said: map[Speaker]parse.Context{}, ids: map[string]bool{}, opening: e, sent: map[Speaker]sent{},
		shown: evidenced{}, photos: map[int64][]wire.PhotoOf{}, stands: map[standing]*opened{},
	}
	return l, nil
}

func broken(job string, cause error) error {
	return &RefusalError{
		Wrong: fmt.Sprintf("job %s cannot be worked on", job),
		Do:    "ask whoever runs the server: its log says why",
		Why:   errors.Join(ErrBroken, cause),
	}
}

func (l *live) foldAll(entries []journal.Entry) error {
	for _, e := range entries {
		if folds(e) {
			if _, err := l.fold(*e.Utterance, speakerOf(e), e.At); err != nil {
				return fmt.Errorf("entry %d: %w", e.Seq, err)
			}
		}
		l.add(e)
	}
	return nil
}

// folds reports whether an entry is a note that was understood, and so changes the job.
func folds(e journal.Entry) bool { return e.Kind == journal.Note && e.Utterance != nil }

// fold folds an utterance into the job and into what its speaker has said. A panic of the
// rules is an error: one note must not end the work of a whole shop.
func (l *live) fold(u parse.Utterance, who Speaker, at journal.Instant) (a rules.Answer, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("%w: fold: %v", ErrBroken, fault)
		}
	}()
	l.rules.Today(at.Time().UTC().Format(time.DateOnly))
	a = l.rules.Fold(u)
	l.said[who] = l.said[who].After(u, a.Heard)
	l.sign(&a, who, at)
	l.stand(l.last.Seq+1, at)
	return a, nil
}

// sign notes who handed the job over and how it stood then.
func (l *live) sign(a *rules.Answer, who Speaker, at journal.Instant) {
	switch {
	case a.Heard.Over:
		l.over = &wire.HandedOver{
			Seq: l.last.Seq + 1, At: at.Time(), Person: who.Person, Left: len(l.rules.Left()), Findings: l.rules.Open(),
		}
	case l.over != nil && !l.rules.HandedOver():
		l.over = nil // it was taken back
	}
}

// read understands a note as its speaker meant it, or a gauge sent it.
func (l *live) read(note wire.Note, who Speaker, at journal.Instant) (u parse.Utterance, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("%w: read: %v", ErrBroken, fault)
		}
	}()
	if note.From == wire.FromGauge {
		u = parse.Sent(note.Text, l.words, l.said[who])
		if before := l.sent[who]; before.text == note.Text && benchTime(note.ClientAt(), at).Sub(before.at).Abs() < onceMore {
			u = u.SentTwice()
		}
		return u, nil
	}
	return parse.Text(note.Text, l.words, l.said[who]), nil
}

// add counts an entry that was folded.
func (l *live) add(e journal.Entry) {
	l.ids[e.ID] = true
	if n, ok := unnamedNumber(e.Bench); ok && e.Kind == journal.Note {
		l.unnamed = max(l.unnamed, n)
	}
	if wire.FromOf(e) == wire.FromGauge {
		l.sent[speakerOf(e)] = sent{e.Text, benchTime(e.ClientAt.Time(), e.At)}
	}
	l.shown.add(e)
	if e.Kind == journal.Photo {
		l.photos[e.Of] = append(l.photos[e.Of], wire.PhotoOf{Seq: e.Seq, Photo: e.Photo, At: e.At.Time(), Person: e.Person})
	}
	switch e.Kind {
	case journal.Opened, journal.Note, journal.Photo:
		l.spoke = journal.Entry{Seq: e.Seq, At: e.At, Person: e.Person, Bench: e.Bench}
	case journal.Heeded:
		l.heed(e)
	case journal.Disposed:
		l.decide(e)
		l.stand(e.Seq, e.At) // what is accepted is not open
	case journal.Purged, journal.Clock:
	}
	if folds(e) {
		l.noted = append(l.noted, e.Seq)
	}
	e.Utterance, e.Answer, e.Purge, e.Disposition = nil, nil, nil, nil
	l.last = e
}

func speakerOf(e journal.Entry) Speaker { return Speaker{e.Bench, e.Person} }

// newer compares the spec that the job was opened with to the one that new jobs get.
func (j *job) newer() *wire.Newer {
	now, ok := j.floor.Specs.byName[j.live.opening.Spec]
	if !ok || now.hash == j.live.plan.hash {
		return nil
	}
	changes := rules.Changes(j.live.plan.spec, now.spec, j.live.rules.Options())
	return &wire.Newer{Revision: now.spec.Revision, Changes: append([]string{}, changes...)}
}

// state describes the job in full, with what each bench has put its gauge on.
func (l *live) state(line wire.JobLine) wire.State {
	s := wire.StateOf(line, l.rules)
	s.Stops = l.stops()
	for who := range l.said {
		if g, ok := l.gauge(who); ok {
			s.Gauges = append(s.Gauges, g)
		}
	}
	s.Decidable, s.Dispositions = l.decidables(), l.dispositions()
	slices.SortFunc(s.Gauges, func(a, b wire.Gauge) int {
		return cmp.Or(strings.Compare(a.Bench, b.Bench), strings.Compare(a.Person, b.Person))
	})
	return s
}

// gauge says what the gauge of a person at a bench is on, if it is on something.
func (l *live) gauge(who Speaker) (wire.Gauge, bool) {
	g := wire.Gauge{Bench: who.Bench, Person: who.Person, Gauge: l.rules.Aimed(l.said[who].Aim)}
	return g, g.Next != nil
}

// line describes the job in short.
func (l *live) line() wire.JobLine {
	line := wire.LineOf(l.rules, l.opening)
	line.Entries, line.Last = l.last.Seq, l.last.At.Time()
	return line
}
