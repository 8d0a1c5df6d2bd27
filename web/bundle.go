package web

import (
	"errors"
	"net/http"
	"time"

	"readback/capture/wire"
	"readback/web/export"
)

// bundleStalls is how long a reader of a bundle with its sounds may take for each piece of it.
const bundleStalls = 30 * time.Second

// patient is an answer of any length: its deadline is for each piece that is written, not for all of them.
type patient struct {
	http.ResponseWriter
	within *http.ResponseController
	begun  bool
}

func (p *patient) Write(b []byte) (int, error) {
	p.begun = true
	if err := p.within.SetWriteDeadline(time.Now().Add(bundleStalls)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return 0, err
	}
	return p.ResponseWriter.Write(b)
}

// exportWithFiles sends a bundle with its sounds and photos as it is written. If one of them cannot be read any
// more the connection ends, so that the reader sees that it is torn.
func (s *Server) exportWithFiles(w http.ResponseWriter, r *http.Request, record export.Record) error {
	h := w.Header()
	h.Set("Content-Type", export.JSON.ContentType())
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", `attachment; filename="`+record.State.ID+`-with-sounds.json"`)
	out := &patient{ResponseWriter: w, within: http.NewResponseController(w)}
	err := export.WriteWithFiles(r.Context(), out, record, s.Sounds, s.Photos)
	switch {
	case err == nil:
		return nil
	case out.begun:
		s.Log.Error().Err(err).Str("job", record.State.ID).Msg("bundle is torn")
		panic(http.ErrAbortHandler)
	}
	h.Del("Content-Disposition")
	s.Log.Error().Err(err).Str("job", record.State.ID).Msg("bundle is not written")
	return &fault{http.StatusInternalServerError, wire.Problem{Error: "the bundle could not be written: a sound or a photo was just purged, or cannot be read", Do: "ask again, or without files=inside; the log says why"}}
}
