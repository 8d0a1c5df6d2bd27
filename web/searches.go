package web

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"readback/capture/wire"
	"readback/search"
	"readback/search/saved"
)

// Searches is the body of GET /api/searches.
type Searches struct {
	Searches []SavedSearch `json:"searches"` // by name; never null
}

// SavedSearch is a search that was kept by name.
type SavedSearch struct {
	Name  string    `json:"name"`
	Query string    `json:"query"`          // as it stands in the address of the search page
	Seen  time.Time `json:"seen"`           // when somebody last looked
	New   int       `json:"new"`            // notes that match and came since
	More  bool      `json:"more,omitempty"` // there are more than New
	Wrong string    `json:"wrong,omitempty"`
}

var errNoShelf = &fault{http.StatusServiceUnavailable, wire.Problem{Error: "this server keeps no searches", Do: "start it with a data folder that can be written"}}

// searches lists what is kept, each with how many notes are new to it.
func (s *Server) searches(w http.ResponseWriter, r *http.Request) error {
	out := Searches{Searches: []SavedSearch{}}
	if s.Saved != nil {
		for _, k := range s.Saved.List() {
			one, err := s.newOf(r, k)
			if err != nil {
				return err
			}
			out.Searches = append(out.Searches, one)
		}
	}
	return writeJSON(w, http.StatusOK, out)
}

// newOf counts what is new. A query that means nothing any more, as after other words, does not hide
// the rest.
func (s *Server) newOf(r *http.Request, k saved.Search) (SavedSearch, error) {
	one := SavedSearch{Name: k.Name, Query: k.Query, Seen: k.At}
	values, err := url.ParseQuery(k.Query)
	if err != nil {
		one.Wrong = "it cannot be read"
		return one, nil //nolint:nilerr // it is told of in its place
	}
	q, err := queryOf(values)
	if err == nil {
		one.New, err = s.Index.Newer(r.Context(), q, k.Seen)
	}
	if f := (*fault)(nil); errors.Is(err, search.ErrQuery) || errors.As(err, &f) {
		_, p := explain(err)
		one.Wrong = p.Error
		return one, nil
	}
	one.More = one.New == search.NewerMost
	return one, err
}

// keepSearch keeps a search under a name, in place of the one that has it.
func (s *Server) keepSearch(w http.ResponseWriter, r *http.Request) error {
	if s.Saved == nil {
		return errNoShelf
	}
	var ask struct{ Name, Query string }
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, wire.MaxFrame))
	if err != nil {
		return err
	}
	if err := json.Unmarshal(body, &ask); err != nil {
		return bad("that is no search", `send {"name":"worn bushes","query":"q=worn+bush"}`)
	}
	query, err := addressOf(ask.Query)
	if err != nil {
		return err
	}
	q, err := queryOf(query)
	if err != nil {
		return err
	}
	at := s.Index.Reached()
	if _, err := s.Index.Newer(r.Context(), q, at); err != nil { // it must mean something
		return err
	}
	kept, err := s.Saved.Keep(ask.Name, query.Encode(), at, time.Now())
	if err != nil {
		return shelved(err)
	}
	return writeJSON(w, http.StatusCreated, SavedSearch{Name: kept.Name, Query: kept.Query, Seen: kept.At})
}

// addressOf keeps of an address what says what is looked for.
func addressOf(text string) (url.Values, error) {
	from, err := url.ParseQuery(strings.TrimPrefix(text, "?"))
	if err != nil {
		return nil, bad("the query cannot be read", "send what stands behind the question mark in the address of the search page")
	}
	fields := []string{"q", "like"}
	for _, f := range search.Fields() {
		fields = append(fields, string(f))
	}
	out := url.Values{}
	for name, values := range from {
		values = slices.DeleteFunc(values, func(v string) bool { return strings.TrimSpace(v) == "" })
		if slices.Contains(fields, name) && len(values) > 0 {
			out[name] = values
		}
	}
	return out, nil
}

// lookAtSearch notes that somebody looks now, and says how many were new.
func (s *Server) lookAtSearch(w http.ResponseWriter, r *http.Request) error {
	if s.Saved == nil {
		return errNoShelf
	}
	before, err := s.Saved.Look(r.PathValue("name"), s.Index.Reached(), time.Now())
	if err != nil {
		return shelved(err)
	}
	one, err := s.newOf(r, before)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, one)
}

func (s *Server) removeSearch(w http.ResponseWriter, r *http.Request) error {
	if s.Saved == nil {
		return errNoShelf
	}
	if err := s.Saved.Remove(r.PathValue("name")); err != nil {
		return shelved(err)
	}
	return writeJSON(w, http.StatusOK, struct{}{})
}

// shelved gives what a shelf refuses its status and words.
func shelved(err error) error {
	wrong, do, _ := strings.Cut(strings.TrimPrefix(err.Error(), "saved: "), "; ")
	switch {
	case errors.Is(err, saved.ErrNotFound):
		return &fault{http.StatusNotFound, wire.Problem{Error: "there is no search of that name", Do: "somebody has removed it; open the page again"}}
	case errors.Is(err, saved.ErrName):
		return bad(wrong, do)
	case errors.Is(err, saved.ErrFull):
		return &fault{http.StatusConflict, wire.Problem{Error: wrong, Do: do}}
	}
	return err
}
