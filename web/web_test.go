package web_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/evidence"
	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/hear"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/listen"
	"readback/capture/query"
	"readback/capture/voice"
	"readback/capture/wire"
	"readback/search"
	"readback/search/saved"
	"readback/web"
)

// shop is the whole handler on a journal in memory, with a page and a socket that say
// that they were reached.
type shop struct {
	http.Handler
	floor *floor.Floor
	store *memory.Store
	index *search.Index
	shelf *saved.Shelf
	voice *speech

	dir    string // where sounds and photos lie
	sounds *evidence.Files
	photos *evidence.Files

	mu   sync.Mutex
	fail error // what commits give
}

// Append is the floor's writer.
func (s *shop) Append(ctx context.Context, e journal.Entry) (journal.Result, error) {
	s.mu.Lock()
	fail := s.fail
	s.mu.Unlock()
	if fail != nil {
		return journal.Result{}, fail
	}
	results, err := s.store.Append(ctx, []journal.Entry{e})
	if err != nil {
		return journal.Result{}, err
	}
	return results[0], results[0].Err
}

// said is a note of the shop that has been in every form of trouble that an export meets.
var said = []string{
	"collar nut stage one forty eight newton metres",
	"collar nut stage two fifty one newton metres",
	`=HYPERLINK("http://elsewhere.example","scored")`,
	`<script>alert("scored")</script> & 'more'`,
	"two, lines\r\nof \"one\" note",
	"torn\rcarriage",
	"-1+2",
	"shaft runout 0.03 mm µ Ω",
}

func openShop(t *testing.T) *shop {
	t.Helper()
	specs := floortest.Specs(t)
	s := &shop{store: memory.New(), dir: t.TempDir()}
	var err error
	if s.sounds, err = evidence.Open(filepath.Join(s.dir, "sounds"), ".flac"); err != nil {
		t.Fatal(err)
	}
	if s.photos, err = evidence.Open(filepath.Join(s.dir, "photos"), ".jpg"); err != nil {
		t.Fatal(err)
	}
	if s.index, err = search.OpenMemory(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.index.Close(); err != nil && !errors.Is(err, search.ErrClosed) {
			t.Error(err)
		}
	})
	s.floor = floor.New(floor.Config{
		Reader: s.store, Writer: s, Specs: specs, Program: "test", Log: zerolog.Nop(),
		Now: func() time.Time { return journaltest.Start },
	})
	s.voice = &speech{}
	kept, err := voice.OpenCache(t.TempDir(), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	reached := func(what string) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, what) })
	}
	if s.shelf, err = saved.Open(""); err != nil {
		t.Fatal(err)
	}
	s.Handler = web.New(web.Config{
		Saved: s.shelf,
		Floor: s.floor, Journal: s.store, Index: s.index, Voice: voice.New(s.voice, kept), Socket: reached("the socket"), Guide: reached("the guide"), Drift: reached("drift"), Questions: query.New(s.store, s.floor, nil), Pages: reached("a page"), Log: zerolog.Nop(), Sounds: s.sounds, Photos: s.photos,
	})
	return s
}

// work opens MW-1041, says the notes at a bench, and indexes them.
func (s *shop) work(t *testing.T) {
	t.Helper()
	if _, _, err := s.floor.OpenJob(t.Context(), wire.OpenJob{ID: "MW-1041", Spec: "mr5", Person: "=Ines"}); err != nil {
		t.Fatal(err)
	}
	seat, _, err := s.floor.Sit(t.Context(), "MW-1041", floor.Speaker{Bench: "@bench", Person: "<b>Ines</b>"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	for n, text := range said {
		if _, err := seat.Say(t.Context(), wire.Note{ID: journaltest.ID(n), Text: text}); err != nil {
			t.Fatal(err)
		}
	}
	all, err := s.store.After(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.index.Put(all); err != nil {
		t.Fatal(err)
	}
}

// reply is what the server answered.
type reply struct {
	StatusCode int
	Header     http.Header
	body       string
}

// ask sends a request as a browser on this machine does, changed by how.
func (s *shop) ask(t *testing.T, method, path, body string, how ...func(*http.Request)) reply {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), method, path, strings.NewReader(body))
	r.Host = "127.0.0.1:7425"
	for _, change := range how {
		change(r)
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return reply{w.Code, w.Header(), w.Body.String()}
}

// problem reads an error, which has exactly its two members.
func problem(t *testing.T, r reply) wire.Problem {
	t.Helper()
	var p wire.Problem
	d := json.NewDecoder(strings.NewReader(r.body))
	d.DisallowUnknownFields()
	if err := d.Decode(&p); err != nil || p.Error == "" || p.Do == "" || r.Header.Get("Content-Type") != "application/json" {
		t.Errorf("status %d with %+v, error %v: want error and do, as JSON", r.StatusCode, p, err)
	}
	return p
}

func TestRoutes(t *testing.T) {
	s := openShop(t)
	s.work(t)
	for _, tt := range []struct {
		name, method, path string
		status             int
		kind, say          string
	}{
		{"health", "GET", "/healthz", 200, "application/json", `{"ok":true}`},
		{"health, the head alone", "HEAD", "/healthz", 200, "application/json", ""},
		{"what to read at the desk to try a microphone", "GET", "/api/check", 200, "application/json", `{"sentences":["open a new job","`},
		{"what to read on a job", "GET", "/api/jobs/MW-1041/check", 200, "application/json", `{"sentences":["build spacer sixty-four millimetres","`},
		{"what to read on no job", "GET", "/api/jobs/MW-9999/check", 404, "application/json", `there is no job`},
		{"what hears", "GET", "/api/hearing", 200, "application/json", `{"engine":"none","why":"this server was started without hearing"}`},
		{"specs", "GET", "/api/specs", 200, "application/json", `"name":"mr5"`},
		{"options as they are said", "GET", "/api/specs/mr5/options?say=long+base%2C+eight+stages", 200, "application/json", `"options":{"base":"long","stages":"8"},"missing":[],"unclear":[]`},
		{"options of no spec", "GET", "/api/specs/mr9/options?say=long", 422, "application/json", `there is no spec`},
		{"jobs", "GET", "/api/jobs", 200, "application/json", `"id":"MW-1041"`},
		{"a job", "GET", "/api/jobs/MW-1041", 200, "application/json", `"findings":[{"rule":"limit"`},
		{"a job, the head alone", "HEAD", "/api/jobs/MW-1041", 200, "application/json", ""},
		{"whom the shop knows", "GET", "/api/jobs/MW-1041/people", 200, "application/json", `{"people":[{"name":"\u003cb\u003eInes\u003c/b\u003e","unsaid":"nothing hears here"}]}`},
		{"whom it knows, on no job", "GET", "/api/jobs/MW-9999/people", 404, "application/json", `"error"`},
		{"how a note was read", "GET", "/api/jobs/MW-1041/notes/2/words", 200, "application/json", `"words":[{"start":0,`},
		{"search", "GET", "/api/search?q=scored", 200, "application/json", `"total":2`},
		{"search, at most so many", "GET", "/api/search?q=scored&limit=1", 200, "application/json", `"total":2`},
		{"JSON", "GET", "/api/jobs/MW-1041/export?as=json", 200, "application/json", `{"entries":[`},
		{"CSV", "GET", "/api/jobs/MW-1041/export?as=csv", 200, "text/csv; charset=utf-8; header=present", "job,seq,time"},
		{"HTML", "GET", "/api/jobs/MW-1041/export?as=html", 200, "text/html; charset=utf-8", "<!doctype html>"},
		{"an export, the head alone", "HEAD", "/api/jobs/MW-1041/export?as=html", 200, "text/html; charset=utf-8", ""},
		{"a sentence", "GET", "/api/say?text=In.", 200, "audio/wav", "RIFF"},
		{"a sentence, the head alone", "HEAD", "/api/say?text=In.", 200, "audio/wav", ""},
		{"its words", "GET", "/api/say/words?text=48+N%C2%B7m", 200, "application/json", `{"words":"forty-eight newton metres"}`},
		{"voices", "GET", "/api/say/voices", 200, "application/json", `{"voices":[{"id":"one","name":"One"}]}`},
		{"the socket", "GET", "/ws?job=MW-1041", 200, "", "the socket"},
		{"a page", "GET", "/jobs/MW-1041", 200, "", "a page"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := s.ask(t, tt.method, tt.path, "")
			kind, body := r.Header.Get("Content-Type"), r.body
			if r.StatusCode != tt.status || tt.kind != "" && kind != tt.kind || !strings.Contains(body, tt.say) {
				t.Errorf("%d %s %s; want %d %s %s", r.StatusCode, kind, body, tt.status, tt.kind, tt.say)
			}
			if r.Header.Get("X-Content-Type-Options") != "nosniff" || r.Header.Get("X-Frame-Options") != "DENY" || r.Header.Get("Content-Security-Policy") == "" {
				t.Errorf("headers: %v", r.Header)
			}
			if strings.HasPrefix(tt.path, "/api/") && kind != "audio/wav" && r.Header.Get("Cache-Control") != "no-store" {
				t.Errorf("Cache-Control is %q, want no-store", r.Header.Get("Cache-Control"))
			}
		})
	}
}

func TestWhatHears(t *testing.T) {
	hears := wire.Hears{Engine: "offline"}
	h := web.New(web.Config{
		Socket: http.NotFoundHandler(), Guide: http.NotFoundHandler(), Drift: http.NotFoundHandler(), Pages: http.NotFoundHandler(), Log: zerolog.Nop(),
		Hearing: func() wire.Hears { return hears },
	})
	s := &shop{Handler: h}
	if r := s.ask(t, "GET", "/api/hearing", ""); r.body != `{"engine":"offline","why":""}`+"\n" {
		t.Errorf("it hears, and says %s", r.body)
	}
	hears = wire.Hears{Engine: "none", Why: "the recogniser is not installed"}
	if r := s.ask(t, "GET", "/api/hearing", ""); r.body != `{"engine":"none","why":"the recogniser is not installed"}`+"\n" {
		t.Errorf("it no longer hears, and says %s", r.body)
	}
	hears = wire.Hears{Engine: "service and offline", Warning: "What is spoken leaves this net.", LeadIn: "bench seven"}
	if r := s.ask(t, "GET", "/api/hearing", ""); r.body != `{"engine":"service and offline","why":"","warning":"What is spoken leaves this net.","lead_in":"bench seven"}`+"\n" {
		t.Errorf("with a service and a lead-in it says %s", r.body)
	}
}

func TestHearAgain(t *testing.T) {
	const path = "/api/jobs/MW-1041/notes/2/hear"
	body := `{"id":"` + journaltest.ID(1) + `","person":"Ines"}`
	s := openShop(t)
	if r := s.ask(t, "POST", path, body); r.StatusCode != http.StatusConflict || !strings.Contains(problem(t, r).Error, "no other engine") {
		t.Errorf("without a service: %d %s", r.StatusCode, r.body)
	}
	var err error
	s.Handler = web.New(web.Config{
		Socket: http.NotFoundHandler(), Guide: http.NotFoundHandler(), Drift: http.NotFoundHandler(), Pages: http.NotFoundHandler(), Log: zerolog.Nop(),
		Again: func(_ context.Context, job string, seq int64, ask wire.HearAgain) (wire.Answer, error) {
			if job != "MW-1041" || seq != 2 || ask.Person != "Ines" {
				t.Errorf("asked for note %d of %s by %q", seq, job, ask.Person)
			}
			return wire.Answer{ID: ask.ID, Seq: 3, Body: []byte(`{"text":"it rattles"}`)}, err
		},
	})
	if r := s.ask(t, "POST", path, body); r.StatusCode != http.StatusOK || !strings.Contains(r.body, `"seq":3,"text":"it rattles"`) {
		t.Errorf("%d %s", r.StatusCode, r.body)
	}
	for _, tt := range []struct {
		path, body string
		err        error
		status     int
	}{
		{path, body, fmt.Errorf("it: %w", hear.ErrAway), 502},
		{path, body, fmt.Errorf("it: %w", listen.ErrNoSound), 502},
		{path, body, floor.ErrNoGuess, 409},
		{path, body, journal.ErrNotFound, 404},
		{"/api/jobs/MW-1041/notes/x/hear", body, nil, 400},
		{path, `{"id":"x"}`, nil, 400},
		{path, "", nil, 400},
		{path, strings.Repeat(" ", 70<<10), nil, 400},
	} {
		err = tt.err
		if r := s.ask(t, "POST", tt.path, tt.body); r.StatusCode != tt.status {
			t.Errorf("%s with %.40q and error %v: %d %s", tt.path, tt.body, tt.err, r.StatusCode, r.body)
		} else {
			problem(t, r)
		}
	}
}

func TestErrorsSayWhatIsWrongAndWhatToDo(t *testing.T) {
	s := openShop(t)
	s.work(t)
	const opening = `{"id":"MW-1042","spec":"mr5"}`
	for _, tt := range []struct {
		name, method, path, body string
		status                   int
		say                      string
	}{
		{"no such job", "GET", "/api/jobs/MW-9999", "", 404, "there is no job MW-9999"},
		{"no such job, with a slash in it", "GET", "/api/jobs/a%2Fb", "", 404, "there is no job a/b"},
		{"an export of no such job", "GET", "/api/jobs/MW-9999/export?as=json", "", 404, "there is no job MW-9999"},
		{"how the opening was read", "GET", "/api/jobs/MW-1041/notes/1/words", "", 404, "is no note"},
		{"how no note was read", "GET", "/api/jobs/MW-1041/notes/first/words", "", 400, "not the number of a note"},
		{"an export in no form", "GET", "/api/jobs/MW-1041/export", "", 400, "none of the forms"},
		{"an export in an unknown form", "GET", "/api/jobs/MW-1041/export?as=docx", "", 400, "none of the forms"},
		{"a search for nothing", "GET", "/api/search?q=+", "", 400, ""},
		{"a limit that is no count", "GET", "/api/search?q=scored&limit=0", "", 400, "limit is not a count"},
		{"nothing to say", "GET", "/api/say", "", 400, "nothing to speak"},
		{"too much to say", "GET", "/api/say?text=" + strings.Repeat("in+", 400), "", 400, "longer than 1000 characters"},
		{"too much to put into words", "GET", "/api/say/words?text=" + strings.Repeat("in+", 400), "", 400, "longer than 1000 characters"},
		{"no such voice", "GET", "/api/say?text=In.&voice=two", "", 400, "no such voice"},
		{"a speed that is none", "GET", "/api/say?text=In.&speed=fast", "", 400, "speed is not a number"},
		{"a speed that is too high", "GET", "/api/say?text=In.&speed=3", "", 400, "not between 0.5 and 2"},
		{"a voice that fails", "GET", "/api/say?text=Fail.", "", 500, "failed here"},
		{"no such route", "GET", "/api/benches", "", 404, "there is no GET /api/benches"},
		{"a method that a route does not take", "DELETE", "/api/jobs/MW-1041", "", 404, "there is no DELETE"},
		{"a body that is no JSON", "POST", "/api/jobs", "id=MW-1042", 400, "not a JSON object"},
		{"a torn body", "POST", "/api/jobs", opening[:20], 400, "not whole JSON"},
		{"an empty body", "POST", "/api/jobs", "", 400, "not a JSON object"},
		{"an id that cannot be", "POST", "/api/jobs", `{"id":"../MW","spec":"mr5"}`, 400, "cannot be a job's id"},
		{"no spec named", "POST", "/api/jobs", `{"id":"MW-1042"}`, 400, "no spec"},
		{"options that are a list", "POST", "/api/jobs", `{"id":"MW-1042","spec":"mr5","options":[8]}`, 400, "options is not an object"},
		{"a body over 64 KiB", "POST", "/api/jobs", opening + strings.Repeat(" ", 64<<10), 413, "longer than 64 KiB"},
		{"no such spec", "POST", "/api/jobs", `{"id":"MW-1042","spec":"mr9"}`, 422, `no spec "mr9"`},
		{"an option out of range", "POST", "/api/jobs", `{"id":"MW-1042","spec":"mr5","options":{"stages":19}}`, 422, "3 to 18"},
		{"the same id otherwise", "POST", "/api/jobs", `{"id":"MW-1041","spec":"mr5","options":{"stages":9}}`, 409, "is there already"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := s.ask(t, tt.method, tt.path, tt.body)
			if p := problem(t, r); r.StatusCode != tt.status || !strings.Contains(p.Error, tt.say) {
				t.Errorf("%d %+v, want %d %s", r.StatusCode, p, tt.status, tt.say)
			}
		})
	}
	if jobs, err := s.store.Jobs(t.Context()); err != nil || len(jobs) != 1 {
		t.Errorf("%d jobs are open, error %v; want one", len(jobs), err)
	}
}

func TestOpenJob(t *testing.T) {
	s := openShop(t)
	const body = `{"id":"MW-1041","spec":"mr5","options":{"base":"long","stages":8},"person":"Ines"}`
	r := s.ask(t, "POST", "/api/jobs", body)
	first := r.body
	if r.StatusCode != http.StatusCreated || r.Header.Get("Location") != "/api/jobs/MW-1041" || !strings.Contains(first, `"stages":"8"`) {
		t.Errorf("%d %v %s", r.StatusCode, r.Header, first)
	}
	r = s.ask(t, "POST", "/api/jobs", body)
	if again := r.body; r.StatusCode != http.StatusOK || again != first {
		t.Errorf("the same again: %d %s", r.StatusCode, again)
	}
	if got := s.ask(t, "GET", "/api/jobs/MW-1041", "").body; got != first {
		t.Errorf("its state is %s, opened as %s", got, first)
	}
}

func TestTroubleOfTheDiskIsToldAsSuch(t *testing.T) {
	s := openShop(t)
	for _, tt := range []struct {
		cause  error
		status int
		say    string
	}{
		{journal.ErrFull, 507, "disk is full"},
		{journal.ErrReadOnly, 507, "cannot be written"},
		{journal.ErrClosed, 503, "is stopping"},
		{context.Canceled, 503, "is stopping"},
		{errors.New("a secret of the disk"), 500, "failed here"},
	} {
		s.fail = tt.cause
		r := s.ask(t, "POST", "/api/jobs", `{"id":"MW-1041","spec":"mr5"}`)
		if p := problem(t, r); r.StatusCode != tt.status || !strings.Contains(p.Error, tt.say) || strings.Contains(p.Error+p.Do, "secret") {
			t.Errorf("%v: %d %+v, want %d %s", tt.cause, r.StatusCode, p, tt.status, tt.say)
		}
	}
	if err := s.index.Close(); err != nil {
		t.Fatal(err)
	}
	if r := s.ask(t, "GET", "/api/search?q=scored", ""); r.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("a search in a closed index: %d, want 503", r.StatusCode)
	} else {
		problem(t, r)
	}
}
