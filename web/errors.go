package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/query"
	"readback/capture/wire"
	"readback/search"
)

// fault is an error of one request that has its status and its words already.
type fault struct {
	status int
	wire.Problem
}

func (f *fault) Error() string { return f.Problem.Error + "; " + f.Do }

func bad(wrong, do string) error {
	return &fault{http.StatusBadRequest, wire.Problem{Error: wrong, Do: do}}
}

// handle answers a request; an error becomes a status and words for the reader, and its
// cause one line of the log.
func (s *Server) handle(h func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		err := h(w, r)
		if err == nil {
			return
		}
		status, p := explain(err)
		level := zerolog.DebugLevel
		if status >= http.StatusInternalServerError {
			level = zerolog.ErrorLevel
		}
		s.Log.WithLevel(level).Err(err).Str("route", r.Pattern).Int("status", status).Msg("request failed")
		WriteProblem(w, status, p)
	})
}

// explain is the one place that turns an error into a status.
func explain(err error) (int, wire.Problem) {
	if f, ok := errors.AsType[*fault](err); ok {
		return f.status, f.Problem
	}
	if f, ok := errors.AsType[*wire.Error](err); ok {
		return http.StatusBadRequest, f.Problem()
	}
	if f, ok := errors.AsType[*query.FilterError](err); ok {
		return http.StatusBadRequest, wire.Problem{Error: f.Field + ": " + f.Wrong, Do: f.Do}
	}
	if f, ok := errors.AsType[*query.ManyError](err); ok {
		return http.StatusUnprocessableEntity, wire.Problem{Error: f.Wrong(), Do: f.Do()}
	}
	if f, ok := errors.AsType[*http.MaxBytesError](err); ok && f != nil {
		return http.StatusRequestEntityTooLarge, wire.Problem{Error: fmt.Sprintf("the request is longer than %d KiB", f.Limit>>10), Do: "send less"}
	}
	if errors.Is(err, search.ErrQuery) {
		wrong, do, _ := strings.Cut(strings.TrimPrefix(err.Error(), search.ErrQuery.Error()+": "), "; ")
		return http.StatusBadRequest, wire.Problem{Error: wrong, Do: do}
	}
	wrong, do := floor.Explain(err)
	return statusOf(err), wire.Problem{Error: wrong, Do: do}
}

func statusOf(err error) int {
	switch {
	case errors.Is(err, journal.ErrNotFound):
		return http.StatusNotFound
	case errors.Is(err, floor.ErrTaken), errors.Is(err, floor.ErrID), errors.Is(err, floor.ErrNoGuess), errors.Is(err, journal.ErrOtherJob), errors.Is(err, floor.ErrAnew), errors.Is(err, floor.ErrNoFinding), errors.Is(err, floor.ErrNoStop):
		return http.StatusConflict
	case errors.Is(err, floor.ErrSpec), errors.Is(err, floor.ErrOption), errors.Is(err, floor.ErrNoNote), errors.Is(err, floor.ErrNotTaken):
		return http.StatusUnprocessableEntity
	case errors.Is(err, journal.ErrFull), errors.Is(err, journal.ErrReadOnly):
		return http.StatusInsufficientStorage
	case errors.Is(err, search.ErrTorn), errors.Is(err, search.ErrClosed), errors.Is(err, journal.ErrClosed), errors.Is(err, context.Canceled):
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}

// WriteProblem writes an error as every route does.
func WriteProblem(w http.ResponseWriter, status int, p wire.Problem) {
	_ = writeJSON(w, status, p) // a reader that has left needs no answer
}

// writeJSON renders into memory first, so that a fault is never half an answer.
func writeJSON(w http.ResponseWriter, status int, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	w.Write(append(text, '\n')) //nolint:errcheck // the reader has left
	return nil
}
