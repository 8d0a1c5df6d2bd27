package web

import (
	"net/http"

	"readback/capture/listen"
	"readback/capture/wire"
	"readback/rules"
)

// check lists what to read aloud on a job to try a microphone.
func (s *Server) check(w http.ResponseWriter, r *http.Request) error {
	var out wire.ToRead
	err := s.Floor.Job(r.Context(), r.PathValue("id"), func(j *rules.Job) error {
		out.Sentences = listen.Sentences(j)
		return nil
	})
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, out)
}

// deskCheck lists it where jobs are opened.
func (s *Server) deskCheck(w http.ResponseWriter, _ *http.Request) error {
	return writeJSON(w, http.StatusOK, wire.ToRead{Sentences: listen.DeskSentences(s.Floor.Specs.All())})
}
