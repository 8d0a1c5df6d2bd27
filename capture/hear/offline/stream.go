package offline

import (
	"errors"
	"sync/atomic"

	"readback/capture/hear/sphinx"
)

// stream is a decoder that follows a note as it comes. Where the note ends all but its last sound is
// decoded.
type stream struct {
	*lane
	shows bool // the words so far are kept for [stream.showing]
	shown atomic.Pointer[string]

	// Of the note, for the lane's goroutine. When the last of it is decoded, path and err are for all.
	begun bool
	path  sphinx.Path
	err   error
}

// begin starts a note.
func (s *stream) begin() {
	s.do(func(*sphinx.Decoder) { s.begun, s.path, s.err = false, sphinx.Path{}, nil })
}

// add decodes more of the note, in the background. After the last of it path and err are set.
func (s *stream) add(rows [][]float32, last bool) <-chan struct{} {
	return s.do(func(d *sphinx.Decoder) {
		if s.err == nil {
			s.err = s.decode(d, rows)
		}
		text := ""
		if last {
			s.end(d)
			text = s.path.Text()
		} else if s.shows {
			text = d.Partial()
		}
		s.shown.Store(&text)
	})
}

// decode begins with what comes first: a decoder of words has none in a note without sound.
func (s *stream) decode(d *sphinx.Decoder, rows [][]float32) error {
	if len(rows) == 0 {
		return nil
	}
	if !s.begun {
		if err := d.Begin(); err != nil {
			return err
		}
		s.begun = true
	}
	return d.Feed(rows)
}

// end ends the note in the decoder, also where something went wrong.
func (s *stream) end(d *sphinx.Decoder) {
	if s.begun {
		path, err := d.End()
		s.begun, s.path, s.err = false, path, errors.Join(s.err, err)
	}
}

// drop leaves the note.
func (s *stream) drop() {
	s.shown.Store(new(string))
	s.do(func(d *sphinx.Decoder) {
		s.end(d)
		s.shown.Store(new(string))
	})
}

// showing is the words so far.
func (s *stream) showing() string {
	if text := s.shown.Load(); text != nil {
		return *text
	}
	return ""
}
