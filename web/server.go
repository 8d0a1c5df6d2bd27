// Package web is what a browser and other programs reach: the routes of the wire over
// HTTP, the exports, and the pages (in ui). Everything stays behind the checks of
// security.go.
//
// Start reading at [New]: all routes stand there in one list.
package web

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"time"
	"unicode/utf8"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/journal"
	"readback/capture/listen"
	"readback/capture/query"
	"readback/capture/voice"
	"readback/capture/wire"
	"readback/rules"
	"readback/search"
	"readback/search/saved"
	"readback/web/export"
)

// Config is what a server is made of. Every field but Wall, Lead, Compare, Counts, Saved, Again, Names, Hearing, Sounds, Photos and Seal must be set.
type Config struct {
	Floor   *floor.Floor
	Journal Journal
	Index   Searcher
	Voice   *voice.Speaker // speaks, or says that nothing is installed
	Socket  http.Handler   // GET /ws and GET /ws/open
	Wall    http.Handler   // GET /ws/wall; nil: this server has none
	Lead    http.Handler   // GET /jobs/{id}/lead; nil: this server has none
	Compare http.Handler   // GET /compare; nil: this server has none
	Guide   http.Handler   // GET /guide and below
	Drift   http.Handler   // GET /drift
	Counts  http.Handler   // GET /counts; nil: there is none
	Pages   http.Handler   // all that no other route takes
	Log     zerolog.Logger
	// Saved keeps searches by name; nil: none can be.
	Saved *saved.Shelf
	// Questions are answered from the readings of all jobs.
	Questions query.Questions
	// Sounds and Photos keep what entries name by its hash; nil: nothing is kept here.
	Sounds, Photos Evidence
	// Again hears a remark that was kept once more; nil: nothing can.
	Again func(ctx context.Context, job string, seq int64, ask wire.HearAgain) (wire.Answer, error)
	// Names parts people into those whose names can be spoken on a job and the others; nil: nobody's can.
	Names func(j *rules.Job, people []string) (said []string, unsaid []grammar.Unsaid)
	// Seal seals the record; nil: it is not sealed here.
	Seal Sealer
	// Hearing says what hears spoken notes, or "none" and why; nil: none.
	Hearing func() wire.Hears
}

// Journal is what the server reads of a journal.
type Journal interface {
	Entries(ctx context.Context, job string, afterSeq int64, limit int) ([]journal.Entry, error)
}

// Searcher finds notes: a [search.Index].
type Searcher interface {
	Find(ctx context.Context, q search.Query) (search.Results, error)
	Facets(ctx context.Context, q search.Query) ([]search.Facet, error)
	Newer(ctx context.Context, q search.Query, after journal.Position) (int, error)
	Reached() journal.Position
}

// Server answers requests. Use [New].
type Server struct{ Config }

// New returns the handler of every route.
func New(c Config) http.Handler {
	s := &Server{c}
	mux := http.NewServeMux()
	mux.Handle("GET /healthz", s.handle(s.health))
	mux.Handle("GET /api/hearing", s.handle(s.hearing))
	mux.Handle("GET /api/check", s.handle(s.deskCheck))
	mux.Handle("GET /api/specs", s.handle(s.specs))
	mux.Handle("GET /api/specs/{name}/options", s.handle(s.intake))
	mux.Handle("GET /api/jobs", s.handle(s.jobs))
	mux.Handle("POST /api/jobs", s.handle(s.open))
	mux.Handle("GET /api/jobs/{id}", s.handle(s.job))
	mux.Handle("GET /api/jobs/{id}/check", s.handle(s.check))
	mux.Handle("GET /api/jobs/{id}/people", s.handle(s.people))
	mux.Handle("GET /api/jobs/{id}/notes/{seq}/words", s.handle(s.words))
	mux.Handle("POST /api/jobs/{id}/notes/{seq}/hear", s.handle(s.hearAgain))
	mux.Handle("GET /api/jobs/{id}/export", s.handle(s.export))
	mux.Handle("GET /api/jobs/{id}/sounds/{hash}", s.handle(s.sound))
	mux.Handle("GET /api/jobs/{id}/photos/{hash}", s.handle(s.photo))
	mux.Handle("POST /api/jobs/{id}/photos", s.handle(s.takePhoto))
	mux.Handle("POST /api/jobs/{id}/heed", s.handle(s.heed))
	mux.Handle("POST /api/jobs/{id}/dispositions", s.handle(s.dispose))
	mux.Handle("GET /api/seal", s.handle(s.sealed))
	mux.Handle("GET /api/seal/head", s.handle(s.sealedHead))
	mux.Handle("GET /api/search", s.handle(s.search))
	mux.Handle("GET /api/drift", s.handle(s.drift))
	mux.Handle("GET /api/drift.csv", s.handle(s.driftTable))
	mux.Handle("GET /api/drift/callouts", s.handle(s.driftCallouts))
	mux.Handle("GET /api/compare.csv", s.handle(s.compareTable))
	mux.Handle("GET /api/counts", s.handle(s.counts))
	mux.Handle("GET /api/counts.csv", s.handle(s.countsTable))
	mux.Handle("GET /api/search/facets", s.handle(s.facets))
	mux.Handle("GET /api/searches", s.handle(s.searches))
	mux.Handle("POST /api/searches", s.handle(s.keepSearch))
	mux.Handle("POST /api/searches/{name}/look", s.handle(s.lookAtSearch))
	mux.Handle("DELETE /api/searches/{name}", s.handle(s.removeSearch))
	mux.Handle("GET /api/say", s.handle(s.say))
	mux.Handle("GET /api/say/words", s.handle(s.sayWords))
	mux.Handle("GET /api/say/voices", s.handle(s.voices))
	mux.Handle("/api/", s.handle(s.unknown))
	mux.Handle("GET /ws", s.Socket)
	mux.Handle("GET /ws/open", s.Socket)
	if s.Wall != nil {
		mux.Handle("GET /ws/wall", s.Wall)
	}
	if s.Lead != nil {
		mux.Handle("GET /jobs/{id}/lead", s.Lead)
	}
	if s.Compare != nil {
		mux.Handle("GET /compare", s.Compare)
	}
	mux.Handle("GET /drift", s.Drift)
	if s.Counts != nil {
		mux.Handle("GET /counts", s.Counts)
	}
	mux.Handle("GET /guide", s.Guide)
	mux.Handle("GET /guide/", s.Guide)
	mux.Handle("/", s.Pages)
	return guard(mux)
}

// HTTP returns a server for the handler, with its time limits. A websocket leaves them
// when it takes over its connection. base ends the requests that are still there at the
// end.
func HTTP(base context.Context, h http.Handler) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       15 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		BaseContext:       func(net.Listener) context.Context { return base },
	}
}

func (s *Server) health(w http.ResponseWriter, _ *http.Request) error {
	return writeJSON(w, http.StatusOK, map[string]bool{"ok": true})
}

// hearing says whether notes can be spoken, before a bench opens its microphone.
func (s *Server) hearing(w http.ResponseWriter, _ *http.Request) error {
	h := wire.Hears{Engine: "none", Why: "this server was started without hearing"}
	if s.Hearing != nil {
		h = s.Hearing()
	}
	return writeJSON(w, http.StatusOK, h)
}

func (s *Server) specs(w http.ResponseWriter, _ *http.Request) error {
	return writeJSON(w, http.StatusOK, wire.Specs{Specs: s.Floor.Specs.List()})
}

// intake understands the options of a job as they are said, and opens nothing.
func (s *Server) intake(w http.ResponseWriter, r *http.Request) error {
	text := r.URL.Query().Get("say")
	if utf8.RuneCountInString(text) > wire.MaxText {
		return bad("say is longer than a note may be", "send at most 2,000 characters")
	}
	in, err := s.Floor.Specs.ReadOptions(r.PathValue("name"), text)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, in)
}

func (s *Server) jobs(w http.ResponseWriter, r *http.Request) error {
	limit, err := limitOf(r.URL.Query())
	if err != nil {
		return err
	}
	list := s.Floor.Jobs
	if limit > 0 {
		list = func(ctx context.Context) (wire.Jobs, error) { return s.Floor.Newest(ctx, limit) }
	}
	jobs, err := list(r.Context())
	if err != nil {
		return err
	}
	if s.Seal != nil {
		jobs.Seal = s.Seal.Status().Say("")
	}
	return writeJSON(w, http.StatusOK, jobs)
}

func (s *Server) job(w http.ResponseWriter, r *http.Request) error {
	state, err := s.Floor.State(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, state)
}

// people lists to whom the bench may be handed, and whose name cannot be spoken.
func (s *Server) people(w http.ResponseWriter, r *http.Request) error {
	names, err := s.Floor.People(r.Context())
	if err != nil {
		return err
	}
	why := map[string]string{}
	err = s.Floor.Job(r.Context(), r.PathValue("id"), func(j *rules.Job) error {
		if s.Names == nil {
			for _, name := range names {
				why[name] = "nothing hears here"
			}
			return nil
		}
		_, unsaid := s.Names(j, names)
		for _, u := range unsaid {
			why[u.Name] = u.Why
		}
		return nil
	})
	if err != nil {
		return err
	}
	out := wire.People{People: make([]wire.Person, len(names))}
	for i, name := range names {
		out.People[i] = wire.Person{Name: name, Unsaid: why[name]}
	}
	return writeJSON(w, http.StatusOK, out)
}

func (s *Server) open(w http.ResponseWriter, r *http.Request) error {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, wire.MaxFrame))
	if _, long := errors.AsType[*http.MaxBytesError](err); err != nil && !long {
		return bad("the request broke off", "send it again")
	}
	if err != nil {
		return err
	}
	open, err := wire.DecodeOpenJob(body)
	if err != nil {
		return err
	}
	state, opened, err := s.Floor.OpenJob(r.Context(), open)
	if err != nil {
		return err
	}
	status := http.StatusOK
	if opened {
		status = http.StatusCreated
		w.Header().Set("Location", "/api/jobs/"+open.ID)
		s.Log.Info().Str("job", open.ID).Str("spec", open.Spec).Msg("job opened")
	}
	return writeJSON(w, status, state)
}

func (s *Server) search(w http.ResponseWriter, r *http.Request) error {
	q, err := queryOf(r.URL.Query())
	if err != nil {
		return err
	}
	found, err := s.Index.Find(r.Context(), q)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, found)
}

// facets counts what a search finds by what it may be filtered by.
func (s *Server) facets(w http.ResponseWriter, r *http.Request) error {
	q, err := queryOf(r.URL.Query())
	if err != nil {
		return err
	}
	found, err := s.Index.Facets(r.Context(), q)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, map[string][]search.Facet{"facets": found})
}

// queryOf reads a search out of an address: q, limit, order, like, and a filter a field.
func queryOf(from url.Values) (search.Query, error) {
	q := search.Query{Text: from.Get("q"), Like: from.Get("like"), Order: search.Order(from.Get("order")), Typed: true, Ended: true}
	switch q.Order {
	case "", search.Newest, search.Best:
	default:
		return q, bad("order is none of newest and best", "send one of them, or leave it out")
	}
	var err error
	if q.Limit, err = limitOf(from); err != nil {
		return q, err
	}
	for _, f := range search.Fields() {
		for _, value := range from[string(f)] {
			q.Filters = append(q.Filters, search.Filter{Field: f, Value: value})
		}
	}
	if len(q.Filters) > 20 {
		return q, bad("there are more than 20 filters", "leave some out")
	}
	return q, nil
}

// limitOf reads a limit out of an address; 0 for none.
func limitOf(from url.Values) (int, error) {
	text := from.Get("limit")
	if text == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		return 0, bad("limit is not a count", "send a whole number from 1, or leave it out")
	}
	return n, nil
}

// words says how a note was read, for whoever wants to know why it was misread.
func (s *Server) words(w http.ResponseWriter, r *http.Request) error {
	seq, err := seqOf(r)
	if err != nil {
		return err
	}
	explained, err := s.Floor.Explain(r.Context(), r.PathValue("id"), seq)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, explained)
}

func seqOf(r *http.Request) (int64, error) {
	seq, err := strconv.ParseInt(r.PathValue("seq"), 10, 64)
	if err != nil || seq < 1 {
		return 0, bad("that is not the number of a note", "give the number that stands beside the note")
	}
	return seq, nil
}

// frameOf reads the body of a request that is as short as a message of a bench.
func frameOf(w http.ResponseWriter, r *http.Request) ([]byte, error) {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, wire.MaxFrame))
	if err != nil {
		return nil, bad("the request broke off or is too long", "send it again")
	}
	return body, nil
}

// keptAs answers with the entry that something became: 201, or 200 where it was known by its id.
func keptAs(w http.ResponseWriter, entry wire.Entry, known bool) error {
	status := http.StatusCreated
	if known {
		status = http.StatusOK
	}
	return writeJSON(w, status, entry)
}

// attach sends a table as a file for other programs.
func attach(w http.ResponseWriter, name, contentType string, table []byte) error {
	h := w.Header()
	h.Set("Content-Type", contentType)
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Write(table) //nolint:errcheck,gosec // the reader has left; it is no page
	return nil
}

// hearAgain hears a remark once more.
func (s *Server) hearAgain(w http.ResponseWriter, r *http.Request) error {
	seq, err := seqOf(r)
	if err != nil {
		return err
	}
	body, err := frameOf(w, r)
	if err != nil {
		return err
	}
	ask, err := wire.DecodeHearAgain(body)
	if err != nil {
		return err
	}
	if s.Again == nil {
		return &fault{http.StatusConflict, wire.Problem{Error: "this server has no other engine to hear it by", Do: "put the words right by typing, or start the server with --stt and a service"}}
	}
	answer, err := s.Again(r.Context(), r.PathValue("id"), seq, ask)
	if errors.Is(err, hear.ErrAway) || errors.Is(err, listen.ErrNoSound) {
		s.Log.Warn().Err(err).Int64("seq", seq).Msg("remark not heard again")
		wrong, do := listen.Explain(err)
		return &fault{http.StatusBadGateway, wire.Problem{Error: wrong, Do: do}}
	}
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, answer)
}

func (s *Server) export(w http.ResponseWriter, r *http.Request) error {
	as := export.Form(r.URL.Query().Get("as"))
	if !as.Known() {
		return bad("as is none of the forms of an export", "use one of: "+export.Words())
	}
	inside := r.URL.Query().Get("files")
	if inside != "" && (inside != "inside" || as != export.JSON) {
		return bad("files may be inside, and of as=json alone", "leave files out, or ask for as=json&files=inside")
	}
	record, err := RecordOf(r.Context(), s.Floor, s.Journal, s.Sounds, s.Photos, r.PathValue("id"))
	if err != nil {
		return err
	}
	if s.Seal != nil {
		if err := s.seal(r, &record); err != nil {
			return err
		}
	}
	if inside != "" {
		return s.exportWithFiles(w, r, record)
	}
	text, err := export.Write(r.Context(), record, as)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", as.ContentType())
	h.Set("Cache-Control", "no-store")
	if as == export.HTML {
		h.Set("Content-Security-Policy", export.Policy())
	} else {
		h.Set("Content-Disposition", `attachment; filename="`+record.State.ID+"."+string(as)+`"`)
	}
	w.Write(text) //nolint:errcheck,gosec // the reader has left; it is JSON, or an export with a policy of its own
	return nil
}

// RecordOf reads a job with all its entries, for an export: what was kept when it began. The files of
// its sounds and photos are checked against their hashes.
func RecordOf(ctx context.Context, f *floor.Floor, from Journal, sounds, photos Evidence, id string) (export.Record, error) {
	state, err := f.State(ctx, id)
	if err != nil {
		return export.Record{}, err
	}
	r := export.Record{State: state, Entries: make([]journal.Entry, 0, state.Entries), Photos: photos, Fold: f}
	for last := int64(0); last < state.Entries; last = r.Entries[len(r.Entries)-1].Seq {
		entries, err := from.Entries(ctx, id, last, int(min(500, state.Entries-last)))
		if err != nil {
			return export.Record{}, err
		}
		if len(entries) == 0 {
			return export.Record{}, journal.ErrNotFound
		}
		r.Entries = append(r.Entries, entries...)
	}
	r.Evidence, err = export.Check(ctx, r.Entries, sounds, photos)
	return r, err
}

func (s *Server) unknown(_ http.ResponseWriter, r *http.Request) error {
	return &fault{http.StatusNotFound, wire.Problem{
		Error: "there is no " + r.Method + " " + r.URL.Path, Do: "use one of the routes under /api/jobs, /api/specs, /api/search, /api/searches, /api/drift, /api/counts, /api/compare.csv, /api/seal and /api/say",
	}}
}
