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
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", `attachment; filename="drift.csv"`)
	w.Write(report.CSV()) //nolint:errcheck,gosec // the reader has left; it is no page
	return nil
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
