// Package lead shows one job to whoever leads the work: how the unit is built up, what
// happened when, each reading in its limits, and what is open. It decides nothing and changes
// nothing, needs no script, and prints.
//
// Start reading at [Handler].
package lead

import (
	"context"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/wire"
	"readback/rules"
	"readback/rules/say"
	"readback/web/ui"
)

//go:embed pages
var files embed.FS

// pause is the silence from which a bench is said to have paused.
const pause = 10 * time.Minute

// Floor is what the pages ask of a shop: a [floor.Floor].
type Floor interface {
	State(ctx context.Context, job string) (wire.State, error)
	Stood(ctx context.Context, job string) (floor.Stood, error)
	History(ctx context.Context, job string) ([]floor.Happened, error)
}

// Seal says what is wrong with the seal of a job, and what to do; nil where the record is not sealed.
type Seal func(job string) []string

type pages struct {
	from   Floor
	seal   Seal
	layout *template.Template
	log    zerolog.Logger
}

// Handler serves GET /jobs/{id}/lead, and takes the assets of [ui.Handler] as given. An error
// means that the embedded files do not fit together.
func Handler(from Floor, seal Seal, log zerolog.Logger) (http.Handler, error) {
	layout, err := read()
	if err != nil {
		return nil, err
	}
	return &pages{from, seal, layout, log}, nil
}

// read parses the templates of both pages.
func read() (*template.Template, error) {
	layout, err := template.New("lead").Funcs(template.FuncMap{"asset": ui.Address, "clock": clock, "cap": say.Cap, "counted": counted, "words": inWords}).ParseFS(files, "pages/*")
	if err != nil {
		return nil, fmt.Errorf("lead: read pages: %w", err)
	}
	return layout, nil
}

// job is a job as the page shows it.
type job struct {
	wire.State
	Stood   floor.Stood
	History []floor.Happened
	Open    []finding
	Events  []event
	Rows    []reading
	Spent   spent
	Build   template.HTML // the drawing of the stack; "" where the work lays none
	Times   template.HTML // the drawing of what was open when
	Problem string
	Seal    []string // what is wrong with the seal of its record
}

// finding is one that is open, with all that the record has of it.
type finding struct {
	rules.Finding
	Since  *floor.Happened // the entry that raised it
	Heeded *wire.Heeded    // of a stop that somebody has answered
	Due    string          // what is still to be decided or done about it; "" where it takes no disposition
}

// reading is a reading that stands, beside its limits.
type reading struct {
	floor.Measured
	Shown string
	Gauge template.HTML // "" where it has no limits to be drawn between
}

// event is something that happened.
type event struct {
	At     time.Time
	Seq    int64 // of the entry; 0 of a pause
	Who    string
	What   string // "note", "photo" ...
	Text   string
	Say    string
	More   []string // findings opened and closed, cautions shown, what there is to hear
	Serves bool     // Seq is that of a note, which has a page
}

// spent is how long a job took.
type spent struct {
	First, Last time.Time     // notes
	Whole       time.Duration // between them
	Pauses      int
	Paused      time.Duration
	Notes       int
	Raised      int // findings but for what was asked back
	Asked       int
}

// load reads a job.
func load(ctx context.Context, from Floor, id string) (*job, error) {
	state, err := from.State(ctx, id)
	if err != nil {
		return nil, err
	}
	stood, err := from.Stood(ctx, id)
	if err != nil {
		return nil, err
	}
	history, err := from.History(ctx, id)
	if err != nil {
		return nil, err
	}
	j := &job{State: state, Stood: stood, History: history}
	j.tell()
	return j, nil
}

// tell puts the history into words.
func (j *job) tell() {
	var last time.Time
	for i := range j.History {
		h := &j.History[i]
		at := h.At.Time()
		if h.Kind == journal.Note || h.Kind == journal.Photo {
			if !last.IsZero() && at.Sub(last) >= pause {
				j.Events = append(j.Events, event{At: last, What: "pause", Text: "Nothing was said for " + long(at.Sub(last))})
				j.Spent.Pauses++
				j.Spent.Paused += at.Sub(last)
			}
			last = at
			if j.Spent.First.IsZero() {
				j.Spent.First = at
			}
			j.Spent.Last = at
		}
		for _, f := range h.Opened {
			if f.Rule == rules.RuleAsk {
				j.Spent.Asked++
			} else {
				j.Spent.Raised++
			}
		}
		j.Events = append(j.Events, j.event(h))
	}
	j.Spent.Whole = j.Spent.Last.Sub(j.Spent.First)
}

func (j *job) event(h *floor.Happened) event {
	e := event{At: h.At.Time(), Seq: h.Seq, Who: h.Person, What: string(h.Kind), Text: h.Text, Serves: h.Kind == journal.Note}
	var answer struct {
		Say     string         `json:"say"`
		Finding *rules.Finding `json:"finding"`
	}
	if len(h.Answer) > 0 && json.Unmarshal(h.Answer, &answer) == nil {
		e.Say = answer.Say
	}
	switch h.Kind {
	case journal.Note:
		j.Spent.Notes++
	case journal.Opened:
		e.Text = "The job was opened"
	case journal.Photo:
		e.Text = fmt.Sprintf("A photo of note %d", h.Of)
	case journal.Clock:
		e.Say = "" // the text has it
	case journal.Purged:
		e.Text = "Sounds or photos were removed: " + h.Purge.Rule
	case journal.Disposed:
		e.Text = fmt.Sprintf("Disposition: %s, %q, of: %s", h.Disposition.Is, h.Disposition.Reason, h.Disposition.Finding)
	case journal.Heeded:
		e.Text = "Sees to a stop"
		if answer.Finding != nil {
			e.Text = "Sees to: " + answer.Finding.Text
		}
	}
	for _, f := range h.Opened {
		e.More = append(e.More, fmt.Sprintf("Opened (%s): %s", f.Severity, f.Text))
	}
	for _, f := range h.Closed {
		e.More = append(e.More, "Closed: "+f.Text)
	}
	if h.Caution != "" {
		e.More = append(e.More, "Caution shown: "+h.Caution)
	}
	if h.Sound != "" {
		e.More = append(e.More, "Its sound is named by the record")
	}
	return e
}

// show fills in what the page of one job draws.
func (j *job) show() error {
	for _, f := range j.Findings {
		one := finding{Finding: f, Since: j.raised(f)}
		for _, s := range j.Stops {
			if s.ID() == f.ID() {
				one.Heeded = s.Heeded
				if s.Since <= int64(len(j.History)) {
					one.Since = &j.History[s.Since-1] // seqs have no gaps
				}
			}
		}
		for _, d := range j.Decidable {
			if d.ID() == f.ID() {
				one.Due = d.Due
			}
		}
		j.Open = append(j.Open, one)
	}
	slices.SortStableFunc(j.Open, func(a, b finding) int { return rules.WorstFirst(a.Severity, b.Severity) })
	for _, m := range j.Stood.Readings {
		j.Rows = append(j.Rows, reading{m, say.Shown(m.Value, m.Unit), gauge(&m)})
	}
	var err1, err2 error
	j.Build, err1 = build(j)
	j.Times, err2 = times(j)
	return errors.Join(err1, err2)
}

// raised returns the entry that opened a finding which is open now.
func (j *job) raised(f rules.Finding) *floor.Happened {
	for i := len(j.History) - 1; i >= 0; i-- {
		if slices.ContainsFunc(j.History[i].Opened, f.SameTarget) {
			return &j.History[i]
		}
	}
	return nil
}

func (p *pages) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	j, err := load(r.Context(), p.from, r.PathValue("id"))
	if err == nil {
		err = j.show()
	}
	status := http.StatusOK
	if err != nil {
		j, status = &job{}, http.StatusInternalServerError
		j.ID, j.Problem = r.PathValue("id"), "This failed here. The server's log says why; load the page again."
		if errors.Is(err, journal.ErrNotFound) {
			status, j.Problem = http.StatusNotFound, "There is no such job. Look for it in the list of jobs."
		} else {
			p.log.Error().Err(err).Str("job", j.ID).Msg("job cannot be shown to a lead")
		}
	}
	if p.seal != nil {
		j.Seal = p.seal(j.ID)
	}
	ui.Send(w, p.log, p.layout, "lead.html", status, j)
}

// clock writes an instant for people, in UTC.
func clock(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05") }

// long writes a time that something took, to the minute.
func long(d time.Duration) string {
	m := int(d.Round(time.Minute) / time.Minute)
	switch {
	case m < 1:
		return "less than a minute"
	case m < 60:
		return fmt.Sprintf("%d min", m)
	case m < 48*60:
		return fmt.Sprintf("%d h %d min", m/60, m%60)
	}
	return fmt.Sprintf("%d days", m/60/24)
}

// WholeWords writes how long a job took, from its first note to its last.
func (s spent) WholeWords() string { return long(s.Whole) }

// PausedWords writes how long nothing was said.
func (s spent) PausedWords() string { return long(s.Paused) }

// counted writes a number of things: "1 note", "2 notes".
func counted(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}

// inWords writes the name of an option for people.
func inWords(name string) string { return strings.ReplaceAll(name, "_", " ") }
