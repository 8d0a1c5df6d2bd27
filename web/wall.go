package web

import (
	"io"
	"net/http"

	"readback/capture/wire"
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
