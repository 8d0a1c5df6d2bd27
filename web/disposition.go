package web

import (
	"io"
	"net/http"

	"readback/capture/wire"
)

// dispose keeps what was decided of a finding.
func (s *Server) dispose(w http.ResponseWriter, r *http.Request) error {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, wire.MaxFrame))
	if err != nil {
		return bad("the request broke off or is too long", "send it again")
	}
	d, err := wire.DecodeDispose(body)
	if err != nil {
		return err
	}
	entry, known, err := s.Floor.Dispose(r.Context(), r.PathValue("id"), d)
	if err != nil {
		return err
	}
	status := http.StatusCreated
	if known {
		status = http.StatusOK
	}
	return writeJSON(w, status, entry)
}
