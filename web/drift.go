package web

import (
	"net/http"

	"readback/web/trend"
)

// drift says whether the readings of a callout drift, and how its instruments compare.
func (s *Server) drift(w http.ResponseWriter, r *http.Request) error {
	report, err := s.trend(r)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, report.Answer())
}

// driftTable is the same as a table for other programs.
func (s *Server) driftTable(w http.ResponseWriter, r *http.Request) error {
	report, err := s.trend(r)
	if err != nil {
		return err
	}
	return attach(w, "drift.csv", "text/csv; charset=utf-8", report.CSV())
}

func (s *Server) trend(r *http.Request) (*trend.Report, error) {
	q, err := trend.Read(r.URL.Query())
	if err != nil {
		return nil, err
	}
	return trend.Make(r.Context(), s.Questions, q)
}

// driftCallouts lists what has readings.
func (s *Server) driftCallouts(w http.ResponseWriter, r *http.Request) error {
	found, err := s.Questions.Callouts(r.Context(), r.URL.Query().Get("spec"))
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, trend.ChoicesOf(found))
}
