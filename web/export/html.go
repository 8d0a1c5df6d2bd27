package export

import (
	"bytes"
	"context"
	"crypto/sha256"
	_ "embed" // for the template and its style
	"encoding/base64"
	"fmt"
	"html/template"
	"maps"
	"slices"
	"time"

	"readback/capture/journal"
	"readback/capture/photo"
	"readback/capture/wire"
	"readback/rules"
)

//go:embed transcript.html
var layout string

//go:embed transcript.css
var style string

var transcript = template.Must(template.New("transcript").Funcs(template.FuncMap{
	"time": clock, "place": place, "over": overWords, "became": dispositionState,
}).Parse(layout))

// Policy is the content security policy of the page: its own style and pictures and nothing else.
func Policy() string {
	sum := sha256.Sum256([]byte(style))
	return "default-src 'none'; img-src data:; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
}

// line is an entry as the page shows it.
type line struct {
	Seq      int64
	At       time.Time
	Person   string
	Bench    string
	From     string // what typed or heard it, where that was no hand and not the server
	Text     string
	Opened   bool
	Say      string
	Guess    bool  // Text is a guess at what was said in free words
	Of       int64 // Text puts right the guess of this line; 0 for none
	Right    string
	RightIn  int64 // the line of Right, which takes the place of a guess; 0 for none
	Again    bool  // Right is a guess as well
	Caution  string
	Verdicts []rules.Verdict
	Findings []rules.Finding
	Sound    string // how the file of its sound is, in words
	Photos   []shot
	Purge    string // of a purge: what is gone
	Heeded   string // of an answer to a stop: who sees to which

	Disposition *wire.Disposition // of a disposition
}

// shot is a photo of a note.
type shot struct {
	Seq    int64
	At     time.Time
	Person string
	Src    template.URL // a small picture; "" where the file is not kept
	Words  string       // how the file is
}

// page writes the transcript for print: it needs no other file.
func page(ctx context.Context, r Record) ([]byte, error) {
	data := struct {
		wire.State
		Style   template.CSS
		Options []string
		Lines   []line
	}{State: r.State, Style: template.CSS(style)} //nolint:gosec // the style is a file of ours
	for _, name := range slices.Sorted(maps.Keys(r.State.Options)) {
		data.Options = append(data.Options, name+" "+r.State.Options[name])
	}
	files := r.files()
	photos, err := r.shots(ctx, files)
	if err != nil {
		return nil, err
	}
	given := r.given()
	for _, e := range r.Entries {
		if e.Kind == journal.Photo {
			continue // it stands at its note
		}
		l, err := lineOf(e, files[e.Seq], photos[e.Seq])
		if err != nil {
			return nil, err
		}
		if d, ok := given[e.Seq]; ok {
			l.Disposition = &d
		}
		data.Lines = append(data.Lines, l)
	}
	for _, l := range data.Lines {
		for i := range data.Lines {
			if g := &data.Lines[i]; l.Of > 0 && g.Seq == l.Of && g.Guess {
				g.Right, g.RightIn, g.Again = l.Text, l.Seq, l.Guess
			}
		}
	}
	var b bytes.Buffer
	if err := transcript.Execute(&b, data); err != nil {
		return nil, fmt.Errorf("export job %s: %w", r.State.ID, err)
	}
	return b.Bytes(), nil
}

// sources names what notes come from.
var sources = map[string]string{wire.FromGauge: "sent by a gauge", wire.FromBrowser: "heard by the browser"}

// small makes a photo that is kept a small picture in the page itself; "" where that cannot be done, and
// its words say how it is.
func (r *Record) small(ctx context.Context, it *Item) template.URL {
	if it.State != Kept || r.Photos == nil {
		return ""
	}
	data, err := r.Photos.Get(it.Hash)
	if err != nil {
		return ""
	}
	thumb, err := photo.Thumb(ctx, data)
	if err != nil {
		return ""
	}
	return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(thumb)) //nolint:gosec // a picture that we have made
}

// shots are the photos of each note, by its seq.
func (r *Record) shots(ctx context.Context, files map[int64]*Item) (map[int64][]shot, error) {
	out := map[int64][]shot{}
	for i := range r.Entries {
		if e := &r.Entries[i]; e.Kind == journal.Photo && files[e.Seq] != nil {
			it := files[e.Seq]
			out[e.Of] = append(out[e.Of], shot{e.Seq, e.At.Time(), e.Person, r.small(ctx, it), it.Words()})
		}
		if err := context.Cause(ctx); err != nil {
			return nil, fmt.Errorf("export job %s: %w", r.State.ID, err)
		}
	}
	return out, nil
}

func lineOf(e journal.Entry, file *Item, photos []shot) (line, error) {
	a, err := answerOf(e)
	if err != nil {
		return line{}, err
	}
	l := line{
		Seq: e.Seq, At: e.At.Time(), Person: e.Person, Bench: e.Bench, From: sources[wire.FromOf(e)], Text: e.Text,
		Opened: e.Kind == journal.Opened, Say: a.Say, Guess: a.Guess, Of: a.Of, Caution: e.Caution, Findings: a.Findings, Photos: photos,
	}
	if file != nil {
		l.Sound = file.Words()
	}
	if e.Purge != nil {
		l.Purge = purgeWords(e.Purge)
	}
	l.Heeded = heededWords(e, &a)
	for _, x := range a.Readings {
		if !slices.Contains(l.Verdicts, x.Verdict) {
			l.Verdicts = append(l.Verdicts, x.Verdict)
		}
	}
	return l, nil
}
