package web

import (
	"net/http"

	"readback/web/counts"
)

// counts says what the jobs have in common.
func (s *Server) counts(w http.ResponseWriter, r *http.Request) error {
	report, err := s.counted(r)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, report.Answer())
}

// countsTable is a part of the same as a table for other programs.
func (s *Server) countsTable(w http.ResponseWriter, r *http.Request) error {
	report, err := s.counted(r)
	if err != nil {
		return err
	}
	of := r.URL.Query().Get("of")
	table, err := report.CSV(of)
	if err != nil {
		return err
	}
	return attach(w, of+".csv", "text/csv; charset=utf-8", table)
}

func (s *Server) counted(r *http.Request) (*counts.Report, error) {
	p, err := counts.Read(r.URL.Query())
	if err != nil {
		return nil, err
	}
	return counts.Make(r.Context(), s.Questions, p)
}
