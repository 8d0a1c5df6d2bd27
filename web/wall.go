package web

import (
	"errors"
	"io"
	"net/http"

	"readback/capture/wire"
	"readback/web/lead"
)

// heed keeps that somebody answers a stop: 201, or 200 where it was answered already, with the
// entry that stands.
func (s *Server) heed(w http.ResponseWriter, r *http.Request) error {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, wire.MaxFrame))
	if err != nil {
		return bad("the request broke off or is too long", "send it again")
	}
	heed, err := wire.DecodeHeed(body)
	if err != nil {
		return err
	}
	entry, known, err := s.Floor.Heed(r.Context(), r.PathValue("id"), heed)
	if err != nil {
		return err
	}
	status := http.StatusCreated
	if known {
		status = http.StatusOK
	}
	return writeJSON(w, status, entry)
}

// compareTable is two jobs beside each other, as a table for other programs.
func (s *Server) compareTable(w http.ResponseWriter, r *http.Request) error {
	pair, err := lead.Compare(r.Context(), s.Floor, r.URL.Query().Get("a"), r.URL.Query().Get("b"))
	if errors.Is(err, lead.ErrPair) {
		return bad("a comparison needs two jobs", "give two different ones as a and b")
	}
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", `attachment; filename="`+pair.A.ID+"-"+pair.B.ID+`.csv"`)
	w.Write(pair.CSV()) //nolint:errcheck,gosec // the reader has left; it is no page
	return nil
}
