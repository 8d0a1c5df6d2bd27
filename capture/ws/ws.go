// Package ws is the websocket endpoint of the protocol readback.v1: it connects a bench to
// a job on the floor.
//
// Each connection is two goroutines in one group: one reads, one writes, and only the
// writer touches the socket's messages. A bench that does not read is dropped, and reads
// on from the last seq that it saw when it comes back. The package knows nothing of notes
// but their messages.
//
// Start reading at [Handler.ServeHTTP]; [Dial] is the other end, for programs of ours.
package ws

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/gorilla/websocket"
	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/listen"
	"readback/capture/opening"
	"readback/capture/wire"
)

// maxName is how many characters a bench's or a person's name has at most.
const maxName = 100

// maxWaiting is how many spoken notes may wait for a recogniser.
const maxWaiting = 32

// limits are the times and sizes of connections.
type limits struct {
	pingEvery   time.Duration
	silence     time.Duration // without a word or a pong the bench is taken for gone
	writeWithin time.Duration
	byeWithin   time.Duration // how long a goodbye may take
	queue       int           // messages that may wait for a bench to read
	connections int           // past that a bench is told to come back later
	earWithin   time.Duration // how long a spoken note waits for a recogniser
	tellAgain   time.Duration // how often it is told that it still waits; a page gives a line up that says nothing for 8 s
}

func usual() limits {
	return limits{
		pingEvery: 20 * time.Second, silence: 45 * time.Second,
		writeWithin: 10 * time.Second, byeWithin: 500 * time.Millisecond, queue: 64, connections: 1000,
		earWithin: 30 * time.Second, tellAgain: 3 * time.Second,
	}
}

// Handler serves GET /ws?job=ID[&after=SEQ][&bench=NAME][&person=NAME][&standby=yes], and GET
// /ws/open[?person=NAME][&standby=yes], where jobs are opened by word of mouth. Use [New].
type Handler struct {
	floor    *floor.Floor
	log      zerolog.Logger
	problem  func(w http.ResponseWriter, status int, p wire.Problem)
	limits   limits
	upgrader websocket.Upgrader
	hearing  *listen.Hearing // nil: this server cannot hear
	places   chan struct{}   // holds one for each spoken note that waits for a recogniser

	mu    sync.Mutex
	count int
	ended *sync.Cond // told when count falls
}

// New returns a handler. problem writes an error before the connection is a websocket. A
// connection ends with the request's context: give the server a BaseContext that does.
func New(f *floor.Floor, log zerolog.Logger, problem func(http.ResponseWriter, int, wire.Problem)) *Handler {
	h := &Handler{floor: f, log: log, problem: problem, limits: usual(), places: make(chan struct{}, maxWaiting)}
	h.ended = sync.NewCond(&h.mu)
	h.upgrader = websocket.Upgrader{
		HandshakeTimeout: 10 * time.Second,
		Subprotocols:     []string{wire.Protocol},
		Error: func(w http.ResponseWriter, _ *http.Request, status int, reason error) {
			problem(w, status, wire.Problem{Error: reason.Error(), Do: "open a websocket of protocol " + wire.Protocol + " from a page of this server"})
		},
	}
	return h
}

// Hear lets benches speak their notes. It is meant to be called before the first connection.
func (h *Handler) Hear(with *listen.Hearing) { h.hearing = with }

// Wait blocks until every connection has ended.
func (h *Handler) Wait() {
	h.mu.Lock()
	defer h.mu.Unlock()
	for h.count > 0 {
		h.ended.Wait()
	}
}

// Connections returns how many benches are connected.
func (h *Handler) Connections() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.count
}

func (h *Handler) enter() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.count >= h.limits.connections {
		return false
	}
	h.count++
	return true
}

func (h *Handler) leave() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.count--
	h.ended.Broadcast()
}

// ServeHTTP joins the job, upgrades the connection, and serves it until it ends.
func (h *Handler) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	ask, wrong := askOf(r)
	if wrong != nil {
		h.problem(w, http.StatusBadRequest, wrong.Problem())
		return
	}
	if !h.enter() {
		h.problem(w, http.StatusServiceUnavailable, wire.Problem{Error: "too many benches are connected", Do: "try again in a while"})
		return
	}
	defer h.leave()
	c := &client{limits: h.limits, out: make(chan message, h.limits.queue), slow: make(chan struct{}), ask: ask, hearing: h.hearing, places: h.places, standby: ask.by}
	c.log = h.log.With().Str("job", ask.job).Logger()
	leave, err := h.place(r.Context(), c)
	if err != nil {
		h.refuse(w, ask, err)
		return
	}
	defer leave()
	conn, err := h.upgrader.Upgrade(w, r, nil)
	if err != nil {
		return // the upgrader has answered
	}
	c.conn, c.leave = conn, leave
	c.log.Info().Msg("bench came")
	err = c.serve(r.Context())
	c.log.Info().AnErr("why", err).Msg("bench left")
}

// place gives the connection its seat, or the desk where it asks for no job.
func (h *Handler) place(ctx context.Context, c *client) (leave func(), err error) {
	if c.ask.job == "" {
		c.talk = opening.New(h.floor, h.floor.Specs.All(), c.ask.who.Person)
		return func() {}, nil
	}
	seat, since, err := h.floor.Sit(ctx, c.ask.job, c.ask.who, c.tell)
	if err != nil {
		return nil, err
	}
	c.seat, c.since = seat, since
	return sync.OnceFunc(seat.Leave), nil
}

func (h *Handler) refuse(w http.ResponseWriter, ask request, err error) {
	wrong, do := floor.Explain(err)
	if errors.Is(err, journal.ErrNotFound) {
		h.problem(w, http.StatusNotFound, wire.Problem{Error: wrong, Do: do})
		return
	}
	h.log.Error().Err(err).Str("job", ask.job).Msg("bench could not join")
	h.problem(w, http.StatusInternalServerError, wire.Problem{Error: wrong, Do: do})
}

// request is what the address of a websocket asks for.
type request struct {
	job   string
	after int64 // -1: nothing of the past
	by    bool  // the bench stood by when it lost its line
	who   floor.Speaker
}

func askOf(r *http.Request) (request, *wire.Error) {
	q := r.URL.Query()
	ask := request{job: q.Get("job"), after: -1, who: floor.Speaker{Bench: q.Get("bench"), Person: q.Get("person")}}
	desk := strings.HasSuffix(r.URL.Path, "/open")
	if desk {
		ask.job, ask.after = "", -1
	} else if ask.job == "" {
		return ask, &wire.Error{Wrong: "the address names no job", Do: "connect to /ws?job=ID"}
	}
	if text := q.Get("after"); text != "" && !desk {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 0 {
			return ask, &wire.Error{Wrong: "after is not the seq of an entry", Do: "send a whole number from 0, or leave it out"}
		}
		ask.after = n
	}
	if text := q.Get("standby"); text != "" && text != "yes" {
		return ask, &wire.Error{Wrong: fmt.Sprintf("standby %.40q is not known", text), Do: "send yes, or leave it out"}
	}
	ask.by = q.Get("standby") == "yes"
	for name, value := range map[string]*string{"bench": &ask.who.Bench, "person": &ask.who.Person} {
		*value = strings.TrimSpace(*value)
		if !wire.IsName(*value, maxName) {
			return ask, &wire.Error{Wrong: name + " is not a name", Do: "send up to 100 characters of plain text, or leave it out"}
		}
	}
	if offered := websocket.Subprotocols(r); len(offered) > 0 && !slices.Contains(offered, wire.Protocol) {
		return ask, &wire.Error{Wrong: "the websocket offers no protocol that is spoken here", Do: "offer " + wire.Protocol}
	}
	return ask, nil
}

// code returns how a connection is closed that ends for a reason.
func code(why error) (status int, text string) {
	switch {
	case errors.Is(why, websocket.ErrReadLimit):
		return websocket.CloseMessageTooBig, "a message is at most 64 KiB"
	case errors.Is(why, errSlow):
		return websocket.CloseTryAgainLater, "too slow; come back with after"
	case errors.Is(why, context.Canceled):
		return websocket.CloseGoingAway, "the server stops"
	}
	return websocket.CloseInternalServerErr, ""
}
