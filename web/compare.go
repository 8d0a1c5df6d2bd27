package web

import (
	"errors"
	"net/http"

	"readback/web/lead"
)

// compareTable is two jobs beside each other, as a table for other programs.
func (s *Server) compareTable(w http.ResponseWriter, r *http.Request) error {
	pair, err := lead.Compare(r.Context(), s.Floor, r.URL.Query().Get("a"), r.URL.Query().Get("b"))
	if errors.Is(err, lead.ErrPair) {
		return bad("a comparison needs two jobs", "give two different ones as a and b")
	}
	if err != nil {
		return err
	}
	return attach(w, pair.A.ID+"-"+pair.B.ID+".csv", "text/csv; charset=utf-8; header=present", pair.CSV())
}
