package ui

import (
	"bytes"
	"html/template"
	"net/http"

	"github.com/rs/zerolog"
)

// Send answers with a page that is made for one request, by a template of the layout. It is rendered into
// memory first, so that a fault, which is logged, is never half a page.
func Send(w http.ResponseWriter, log zerolog.Logger, layout *template.Template, name string, status int, view any) {
	var b bytes.Buffer
	if err := layout.ExecuteTemplate(&b, name, view); err != nil {
		log.Error().Err(err).Str("page", name).Msg("page cannot be rendered")
		http.Error(w, "this page failed here; the server's log says why", http.StatusInternalServerError)
		return
	}
	h := w.Header()
	Secure(h)
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b.Bytes()) //nolint:errcheck // the reader has left
}
