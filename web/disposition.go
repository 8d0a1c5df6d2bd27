package web

import (
	"net/http"

	"readback/capture/wire"
)

// dispose keeps what was decided of a finding.
func (s *Server) dispose(w http.ResponseWriter, r *http.Request) error {
	body, err := frameOf(w, r)
	if err != nil {
		return err
	}
	d, err := wire.DecodeDispose(body)
	if err != nil {
		return err
	}
	entry, known, err := s.Floor.Dispose(r.Context(), r.PathValue("id"), d)
	if err != nil {
		return err
	}
	return keptAs(w, entry, known)
}
