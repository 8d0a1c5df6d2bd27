package export_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/evidence"
	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/seal"
	"readback/capture/wire"
	"readback/web"
	"readback/web/export"
)

// bench is a shop in memory in which one job is worked on.
type bench struct {
	store  *memory.Store
	floor  *floor.Floor
	photos *evidence.Files
	ids    int
	now    time.Time
}

const job = "MW-1041"

func (b *bench) Append(ctx context.Context, e journal.Entry) (journal.Result, error) {
	kept, err := b.store.Append(ctx, []journal.Entry{e})
	if err != nil {
		return journal.Result{}, err
	}
	return kept[0], nil
}

func (b *bench) id() string {
	b.ids++
	return journaltest.ID(b.ids)
}

// openBench opens the demo's job, with the shop's register.
func openBench(t testing.TB) *bench {
	t.Helper()
	b := &bench{store: memory.New(), now: time.Date(2026, 11, 24, 7, 30, 0, 0, time.UTC)}
	var err error
	if b.photos, err = evidence.Open(filepath.Join(t.TempDir(), "photos"), ".jpg"); err != nil {
		t.Fatal(err)
	}
	b.floor = floor.New(floor.Config{Reader: b.store, Writer: b, Specs: floortest.Specs(t), Shop: floortest.Register(t), Program: "test", Log: zerolog.Nop(), Now: func() time.Time {
		b.now = b.now.Add(17 * time.Second)
		return b.now
	}})
	if _, _, err := b.floor.OpenJob(t.Context(), wire.OpenJob{ID: job, Spec: "mr5", Options: wire.Options{"base": "long", "stages": "5", "cut_impellers": "1"}, Person: "Ines"}); err != nil {
		t.Fatal(err)
	}
	return b
}

// say says notes, as somebody; each has the time of the bench's own clock, which is behind.
func (b *bench) say(t testing.TB, person string, notes ...string) {
	t.Helper()
	seat, _, err := b.floor.Sit(t.Context(), job, floor.Speaker{Person: person, Bench: "bench 2"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	for _, note := range notes {
		if _, err := seat.Say(t.Context(), wire.Note{ID: b.id(), Text: note, At: b.now.Add(-3 * time.Second).Format(time.RFC3339)}); err != nil {
			t.Fatalf("%q: %v", note, err)
		}
	}
}

// hear says words that are a guess, and returns their seq.
func (b *bench) hear(t testing.TB, person, text string) int64 {
	t.Helper()
	seat, _, err := b.floor.Sit(t.Context(), job, floor.Speaker{Person: person, Bench: "bench 2"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	a, _, err := seat.SayHeard(t.Context(), wire.Note{ID: b.id(), Text: text}, floor.Spoken{Guess: true, Sound: strings.Repeat("ab", 32)})
	if err != nil {
		t.Fatal(err)
	}
	return a.Seq
}

// decide disposes of the first finding that takes a disposition.
func (b *bench) decide(t testing.TB, is, reason string) {
	t.Helper()
	s, err := b.floor.State(t.Context(), job)
	if err != nil || len(s.Decidable) == 0 {
		t.Fatalf("nothing to decide on, error %v", err)
	}
	d := s.Decidable[0]
	if _, _, err := b.floor.Dispose(t.Context(), job, wire.Dispose{ID: b.id(), Finding: d.ID(), Reading: d.Reading, Is: is, Reason: reason, Person: "Martin Hale"}); err != nil {
		t.Fatal(err)
	}
}

// Two people are asked at a time: each question is shown with who was asked, and when it ended.
func TestTwoQuestionsAtATimeAreTwoFindings(t *testing.T) {
	b := openBench(t)
	b.say(t, "Ines", "forty eight")
	b.say(t, "Ruth", "thirty five")
	b.say(t, "Ines", "collar nut stage one") // a value with its place ends what had none
	table, err := export.Write(t.Context(), b.record(t), export.CSV)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, row := range rows {
		cell := map[string]string{}
		for i, name := range rows[0] {
			cell[name] = row[i]
		}
		if cell["kind"] == "finding" {
			got = append(got, cell["seq"]+" "+cell["person"]+" "+cell["findings"][:len("ask: Forty-eight")]+" "+strings.Fields(cell["answer"])[0])
		}
	}
	if want := []string{"2 Ines ask: Forty-eight closed", "3 Ruth ask: Thirty-five closed"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// opened counts how often a photo is read.
type opened struct {
	export.Reader
	times int
}

func (o *opened) Get(hash string) ([]byte, error) {
	o.times++
	return o.Reader.Get(hash)
}

// A table shows no photo, and decodes none: a hundred of them are many seconds.
func TestATableReadsNoPhoto(t *testing.T) {
	b := worked(t)
	r := b.record(t)
	photos := &opened{Reader: r.Photos}
	r.Photos = photos
	for form, want := range map[export.Form]bool{export.CSV: false, export.HTML: true} {
		photos.times = 0
		if _, err := export.Write(t.Context(), r, form); err != nil || photos.times > 0 != want {
			t.Errorf("%s reads photos %d times, error %v", form, photos.times, err)
		}
	}
}

// record reads the job for an export.
func (b *bench) record(t testing.TB) export.Record {
	t.Helper()
	r, err := web.RecordOf(t.Context(), b.floor, b.store, nil, b.photos, job)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// sealed adds a seal, as one looks.
func sealed(r export.Record) export.Record {
	head := seal.Head{At: journal.InstantOf(r.State.Last.Add(time.Second)), Size: 4711}
	for i := range head.Key {
		head.Key[i], head.Log[i], head.Root[i] = byte(i), byte(i+50), byte(i+100)
	}
	r.Seal = &seal.Seal{Head: head, Job: seal.JobHead{Job: job, Size: uint64(len(r.Entries))}}
	return r
}

func write(t testing.TB, r export.Record, as export.Form) []byte {
	t.Helper()
	out, err := export.Write(t.Context(), r, as)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// fromJournal folds the entries of a JSON bundle in a shop that knows nothing else.
func fromJournal(t testing.TB, bundle []byte) (*bench, []journal.Entry) {
	t.Helper()
	var of struct{ Entries []journal.Entry }
	if err := json.Unmarshal(bundle, &of); err != nil {
		t.Fatal(err)
	}
	b := &bench{store: memory.New()}
	for _, e := range of.Entries {
		if _, err := b.store.Append(t.Context(), []journal.Entry{e}); err != nil {
			t.Fatal(err)
		}
	}
	b.floor = floor.New(floor.Config{Reader: b.store, Writer: b, Log: zerolog.Nop(), Now: time.Now})
	return b, of.Entries
}

// picture is a JPEG.
func picture(t testing.TB) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 320, 200))
	for y := range 200 {
		for x := range 320 {
			m.Set(x, y, color.RGBA{byte(x), byte(y), 90, 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// textOf reads the text of a PDF in the order in which it was set, page by page, without what stands on
// each page.
func textOf(t testing.TB, pdf []byte) (pages []string) {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("pdftotext is not here: install poppler-utils")
		}
		t.Skip("pdftotext is not here: install poppler-utils")
	}
	c := exec.CommandContext(t.Context(), "pdftotext", "-raw", "-enc", "UTF-8", "-", "-")
	c.Stdin = bytes.NewReader(pdf)
	var wrong bytes.Buffer
	c.Stderr = &wrong
	out, err := c.Output()
	if err != nil || wrong.Len() > 0 {
		t.Fatalf("the PDF does not open: %v\n%s", err, &wrong)
	}
	all := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	for i, p := range all {
		p = strings.TrimRight(p, "\n")
		foot := fmt.Sprintf("page %d of %d", i+1, len(all))
		if !strings.Contains(p, foot) {
			t.Errorf("page %d does not say %q", i+1, foot)
		}
		p = strings.Replace(p, foot, "", 1)
		if i > 0 {
			p = strings.Replace(p, "Transcript of job "+job, "", 1)
		}
		pages = append(pages, p)
	}
	return pages
}

type measured = floor.Measured

func journalID(n int) string { return journaltest.ID(n) }

func (b *bench) sit(t testing.TB) (*floor.Seat, int64, error) {
	return b.floor.Sit(t.Context(), job, floor.Speaker{Person: "Ines", Bench: "bench 2"}, nil)
}

// right puts the words of a guess right.
func (b *bench) right(t testing.TB, of int64, text string) {
	t.Helper()
	seat, _, err := b.sit(t)
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	if _, err := seat.Say(t.Context(), wire.Note{ID: b.id(), Text: text, Of: of}); err != nil {
		t.Fatal(err)
	}
}

func (b *bench) state(t testing.TB) wire.State {
	t.Helper()
	s, err := b.floor.State(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// An insulation says nothing without the temperature that it was taken at: what stands is shown with it.
func TestWhatAReadingWasTakenAtStandsBesideIt(t *testing.T) {
	b := openBench(t)
	b.say(t, "Ines", "insulation two oh five megohms at thirty degrees")
	for form, want := range map[export.Form]map[string]int{
		export.HTML: {"205 MΩ at temperature 30 °C": 2}, // of the note, and of what stands
		export.CSV:  {"205 MΩ at temperature 30 °C": 1, "temperature 30 °C\r\n": 2},
	} {
		text, err := export.Write(t.Context(), b.record(t), form)
		if err != nil {
			t.Fatal(err)
		}
		for words, times := range want {
			if n := strings.Count(string(text), words); n != times {
				t.Errorf("%s has %q %d times, not %d", form, words, n, times)
			}
		}
	}
}
