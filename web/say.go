package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"unicode/utf8"

	"readback/capture/voice"
	"readback/capture/wire"
)

// say speaks a text as a WAV file. Its tag hangs on the words, the voice and the program
// that speaks: a browser that has it is not sent it again.
func (s *Server) say(w http.ResponseWriter, r *http.Request) error {
	line, err := lineOf(r)
	if err != nil {
		return err
	}
	key, err := s.Voice.Key(line)
	if err != nil {
		return unspoken(err)
	}
	tag := `"` + key + `"`
	h := w.Header()
	if match := r.Header.Get("If-None-Match"); match == "*" || strings.Contains(match, tag) {
		kept(h, tag)
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	clip, err := s.Voice.Say(r.Context(), line)
	if r.Context().Err() != nil {
		return nil //nolint:nilerr // the page was silenced, and has left
	}
	if err != nil {
		return unspoken(err)
	}
	kept(h, tag)
	h.Set("Content-Type", "audio/wav")
	h.Set("Content-Length", strconv.Itoa(len(clip.WAV)))
	w.Write(clip.WAV) //nolint:errcheck // the reader has left
	return nil
}

// kept lets a browser keep the sound for an hour: there may be another program then.
func kept(h http.Header, tag string) {
	h.Set("ETag", tag)
	h.Set("Cache-Control", "private, max-age=3600")
}

func lineOf(r *http.Request) (voice.Line, error) {
	q := r.URL.Query()
	line := voice.Line{Text: q.Get("text"), Voice: q.Get("voice")}
	if text := q.Get("speed"); text != "" {
		speed, err := strconv.ParseFloat(text, 64)
		if err != nil || speed == 0 {
			return line, bad("speed is not a number", "send one from 0.5 to 2, such as 1.1, or leave it out")
		}
		line.Speed = speed
	}
	return line, nil
}

// unspoken says why a line is not spoken.
func unspoken(err error) error {
	switch {
	case errors.Is(err, voice.ErrMissing):
		return &fault{http.StatusServiceUnavailable, wire.Problem{Error: "this server has no voice", Do: "install one on it and start it again: apt-get install flite"}}
	case errors.Is(err, context.DeadlineExceeded):
		return &fault{http.StatusServiceUnavailable, wire.Problem{Error: "the sentence took too long to be spoken", Do: "ask again when the machine is less busy"}}
	case errors.Is(err, voice.ErrLong):
		return bad(err.Error(), "send it in pieces")
	case errors.Is(err, voice.ErrEmpty):
		return bad(err.Error(), "send a text with words, figures or units")
	case errors.Is(err, voice.ErrVoice):
		return bad(err.Error(), "use one of those of /api/say/voices, or leave it out")
	case errors.Is(err, voice.ErrSpeed):
		return bad(err.Error(), "send a speed such as 1.1, or leave it out")
	}
	return err
}

// sayWords gives the words that are spoken of a text, for a voice of the browser's own.
func (s *Server) sayWords(w http.ResponseWriter, r *http.Request) error {
	text := r.URL.Query().Get("text")
	if utf8.RuneCountInString(text) > voice.MaxText {
		return unspoken(voice.ErrLong)
	}
	return writeJSON(w, http.StatusOK, map[string]string{"words": voice.Words(text)})
}

// voices lists the voices of the server, the usual one first.
func (s *Server) voices(w http.ResponseWriter, _ *http.Request) error {
	return writeJSON(w, http.StatusOK, map[string][]voice.Voice{"voices": s.Voice.Voices()})
}
