package ui_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/oklog/ulid/v2"
	"github.com/rs/zerolog"
	"golang.org/x/sync/errgroup"

	"readback/capture/evidence"
	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/capture/journal"
	"readback/capture/journal/memory"
	listening "readback/capture/listen"
	"readback/capture/photo"
	"readback/capture/query"
	"readback/capture/sound"
	"readback/capture/voice"
	shopwall "readback/capture/wall"
	"readback/capture/wire"
	"readback/capture/ws"
	"readback/rules"
	"readback/search"
	"readback/search/saved"
	"readback/testdata"
	"readback/web"
	"readback/web/lead"
	"readback/web/trend"
	"readback/web/ui"
)

// shop is a whole server of the demo shop on this machine, behind a line that can be cut.
type shop struct {
	t       testing.TB
	line    *line
	address string // http://127.0.0.1:port, of the line
	store   *disk
	writer  *journal.Writer
	index   *search.Index
	floor   *floor.Floor
	sounds  *sound.Store
	photos  *evidence.Files
	hears   bool
	ahead   atomic.Int64 // how far the server's clock is before that of the browser, in ns
}

// now is the server's clock.
func (s *shop) now() time.Time { return time.Now().Add(time.Duration(s.ahead.Load())) }

// disk is where the shop's journal lies. It may be full.
type disk struct {
	*memory.Store
	full atomic.Bool
}

func (d *disk) Append(ctx context.Context, batch []journal.Entry) ([]journal.Result, error) {
	if d.full.Load() {
		return nil, journal.ErrFull
	}
	return d.Store.Append(ctx, batch)
}

// newShop starts a server with an empty journal and no register; it ends with the test.
func newShop(t testing.TB) *shop {
	t.Helper()
	return newShopWith(t, floor.Register{})
}

// newShopWith is [newShop] with a register of instruments and of units to show. It has no
// voice.
func newShopWith(t testing.TB, register floor.Register) *shop {
	t.Helper()
	return newShopWhole(t, register, nil, nil, nil)
}

// newShopThatHears is [newShopWith] with an engine; nil: the shop cannot hear.
func newShopThatHears(t testing.TB, register floor.Register, engine hear.Engine) *shop {
	t.Helper()
	return newShopWhole(t, register, engine, nil, nil)
}

// newShopSpeaking is [newShopWith] with a voice, nil for none.
func newShopSpeaking(t testing.TB, register floor.Register, voiced voice.Renderer) *shop {
	t.Helper()
	return newShopWhole(t, register, nil, voiced, nil)
}

// newShopWhole is a shop that may hear, speak and be sealed.
func newShopWhole(t testing.TB, register floor.Register, engine hear.Engine, voiced voice.Renderer, sealer web.Sealer) *shop {
	t.Helper()
	s := &shop{t: t, store: &disk{Store: memory.New()}, hears: engine != nil}
	var err error
	if s.index, err = search.OpenMemory(); err != nil {
		t.Fatal(err)
	}
	if s.sounds, err = sound.Open(t.TempDir()); err != nil {
		t.Fatal(err)
	}
	if s.photos, err = evidence.Open(t.TempDir(), photo.Ext); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	var work errgroup.Group
	s.writer = journal.NewWriter(s.store)
	work.Go(func() error { return s.writer.Run(ctx) })
	work.Go(func() error {
		return search.Follower{Source: s.store, Index: s.index, Notice: s.writer.Notice, Log: zerolog.Nop()}.Run(ctx)
	})
	shopFloor := floor.New(floor.Config{
		Reader: s.store, Writer: s.writer, Specs: floortest.Specs(t), Shop: register, Program: "test", Now: s.now, Log: zerolog.Nop(),
	})
	s.floor = shopFloor
	benches := ws.New(shopFloor, zerolog.Nop(), web.WriteProblem)
	walls := shopwall.New(shopwall.Config{Source: s.store, Benches: shopFloor, Notice: s.writer.Notice, Now: s.now, Log: zerolog.Nop()})
	work.Go(func() error { return walls.Run(ctx) })
	questions := query.New(s.store, shopFloor, nil)
	charts, err := trend.Handler(questions, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	var says lead.Seal
	if sealer != nil {
		says = func(job string) []string { return sealer.Status().Say(job) }
	}
	jobs, err1 := lead.Handler(shopFloor, says, zerolog.Nop())
	compare, err2 := lead.Comparison(shopFloor, zerolog.Nop())
	shelf, err3 := saved.Open("")
	if err := errors.Join(err1, err2, err3); err != nil {
		t.Fatal(err)
	}
	config := web.Config{
		Lead: jobs, Compare: compare, Saved: shelf,
		Drift: charts, Questions: questions,
		Floor: shopFloor, Journal: s.store, Index: s.index, Voice: speaker(t, voiced), Socket: benches, Wall: benches.Wall(walls), Guide: http.NotFoundHandler(), Pages: pages(t, shopFloor), Log: zerolog.Nop(),
		Sounds: s.sounds.Files, Photos: s.photos, Seal: sealer,
	}
	if engine != nil {
		hears := wire.Hears{Engine: engine.Name()}
		if g, ok := engine.(*guessing); ok {
			hears.LeadIn, hears.Warning, hears.Again = g.leadIn, g.warning, g.again != ""
			config.Again = g.hearAgain(shopFloor)
		}
		benches.Hear(&listening.Hearing{
			Engine: engine, Policy: judge.Usual(), Sounds: s.sounds, LeadIn: hears.LeadIn,
			Grammar: func(*rules.Job, []string) (hear.Words, error) { return hear.Words{}, nil },
			Names:   namesOf,
			Opening: func([]string) (hear.Words, error) { return hear.Words{}, nil },
		})
		config.Hearing, config.Names = func() wire.Hears { return hears }, namesOf
	}
	server := web.HTTP(ctx, web.New(config))
	listener := listen(t, "127.0.0.1:0")
	work.Go(func() error { return server.Serve(listener) })
	s.line = newLine(t, listener.Addr().String())
	s.address = "http://" + s.line.address
	t.Cleanup(func() {
		s.line.cut()
		stop()
		if err := server.Close(); err != nil {
			t.Errorf("close server: %v", err)
		}
		benches.Wait()
		if err := work.Wait(); !errors.Is(err, context.Canceled) && !errors.Is(err, http.ErrServerClosed) {
			t.Errorf("server ended: %v", err)
		}
		if err := errors.Join(s.index.Close(), s.store.Close()); err != nil {
			t.Error(err)
		}
	})
	return s
}

// namesOf tells names apart by a few sounds of its own.
func namesOf(_ *rules.Job, people []string) (said []string, unsaid []grammar.Unsaid) {
	return grammar.Names(people, grammar.Parse("ines IH N IH S\nmartin M AA R T AH N\nhale HH EY L\njon JH AA N\njohn JH AA N\nreed R IY D\n"))
}

func speaker(t testing.TB, with voice.Renderer) *voice.Speaker {
	t.Helper()
	cache, err := voice.OpenCache(t.TempDir(), 1<<24)
	if err != nil {
		t.Fatal(err)
	}
	return voice.New(with, cache)
}

func pages(t testing.TB, f *floor.Floor) http.Handler {
	t.Helper()
	h, err := ui.Handler(func(ctx context.Context, job string) (bool, error) {
		_, err := f.State(ctx, job)
		if errors.Is(err, journal.ErrNotFound) {
			return false, nil
		}
		return err == nil, err
	})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func listen(t testing.TB, address string) net.Listener {
	t.Helper()
	l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// openJob opens an MR-5 as a page would.
func (s *shop) openJob(id string, options map[string]string) {
	s.t.Helper()
	s.openJobOf("mr5", id, options)
}

func (s *shop) openJobOf(spec, id string, options map[string]string) {
	s.t.Helper()
	body, err := json.Marshal(map[string]any{"id": id, "spec": spec, "options": options, "person": "Ines"})
	if err != nil {
		s.t.Fatal(err)
	}
	r, err := http.NewRequestWithContext(s.t.Context(), http.MethodPost, s.address+"/api/jobs", bytes.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	response, err := (&http.Client{}).Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusCreated {
		s.t.Fatalf("open job %s: status %d", id, response.StatusCode)
	}
}

// bench says notes from another bench of the shop, and returns the answers.
func (s *shop) bench(job string, notes ...string) []wire.Answer {
	s.t.Helper()
	b, err := ws.Dial(s.t.Context(), s.address, job, floor.Speaker{Bench: "bench two", Person: "Ines"})
	if err != nil {
		s.t.Fatal(err)
	}
	defer b.Close()
	var answers []wire.Answer
	for _, text := range notes {
		answer, err := b.Say(s.t.Context(), wire.Note{ID: ulid.Make().String(), Text: text, At: time.Now().Format(time.RFC3339Nano)})
		if err != nil {
			s.t.Fatalf("say %q: %v", text, err)
		}
		answers = append(answers, answer)
	}
	return answers
}

// kept returns the texts of a job's notes in the order of the journal, once the search
// knows them too.
func (s *shop) kept(job string) []string {
	s.t.Helper()
	entries, err := s.store.Entries(s.t.Context(), job, 0, 1000)
	if err != nil {
		s.t.Fatal(err)
	}
	if err := s.index.Await(s.t.Context(), entries[len(entries)-1].Position); err != nil {
		s.t.Fatal(err)
	}
	var texts []string
	for _, e := range entries {
		if e.Kind == journal.Note {
			texts = append(texts, e.Text)
		}
	}
	return texts
}

// demoNotes returns a scripted job: its options and its notes.
func demoNotes(t testing.TB, file string) (options map[string]string, notes []string) {
	t.Helper()
	src, err := fs.ReadFile(testdata.Files, "notes/"+file)
	if err != nil {
		t.Fatal(err)
	}
	options = map[string]string{}
	for text := range strings.Lines(string(src)) {
		text = strings.TrimSpace(text)
		if set, ok := strings.CutPrefix(text, "# set "); ok {
			name, value, _ := strings.Cut(set, "=")
			options[name] = value
		} else if text != "" && !strings.HasPrefix(text, "#") {
			notes = append(notes, text)
		}
	}
	return options, notes
}
