package web

import (
	"net/http"

	"readback/capture/wire"
)

// heed keeps that somebody answers a stop: 201, or 200 where it was answered already, with the
// entry that stands.
func (s *Server) heed(w http.ResponseWriter, r *http.Request) error {
	body, err := frameOf(w, r)
	if err != nil {
		return err
	}
	heed, err := wire.DecodeHeed(body)
	if err != nil {
		return err
	}
	entry, known, err := s.Floor.Heed(r.Context(), r.PathValue("id"), heed)
	if err != nil {
		return err
	}
	return keptAs(w, entry, known)
}
