package web

import (
	"net/http"

	"readback/capture/listen"
	"readback/capture/wire"
	"readback/rules"
)

// check lists what to read aloud on a job to try a microphone.
func (s *Server) check(w http.ResponseWriter, r *http.Request) error {
	var like *rules.Job // one in which nothing was said: the job itself waits for nobody
	err := s.Floor.Job(r.Context(), r.PathValue("id"), func(j *rules.Job) (err error) {
		like, err = rules.NewJob(j.Spec(), j.Options())
		return err
	})
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, wire.ToRead{Sentences: listen.Sentences(like)})
}

// deskCheck lists it where jobs are opened.
func (s *Server) deskCheck(w http.ResponseWriter, _ *http.Request) error {
	return writeJSON(w, http.StatusOK, wire.ToRead{Sentences: listen.DeskSentences(s.Floor.Specs.All())})
}
