package offline

import (
	"errors"
	"sync/atomic"

	"readback/capture/hear/sphinx"
)

// settled is how much speech the mean of a note is taken from, in frames. The mean of the whole note
// would be better by little, and there only when the note is over, with all its decoding still to be
// done.
const settled = 80

// stream is a decoder that follows a note as it comes. Where the note ends all but its last sound is
// decoded.
type stream struct {
	*lane
	front *sphinx.Front
	shows bool // the words so far are kept for [stream.showing]
	shown atomic.Pointer[string]

	// Of the note, for the lane's goroutine. When the last of it is decoded, path and err are for all.
	early [][]float32 // cepstra before there are enough for their mean
	mean  []float32   // nil before
	path  sphinx.Path
	err   error
}

// newStream takes the decoder over, unless there is an error.
func newStream(d *sphinx.Decoder) (*stream, error) {
	f, err := d.NewFront()
	if err != nil {
		return nil, err
	}
	return &stream{lane: newLane(d), front: f}, nil
}

// begin starts a note.
func (s *stream) begin() {
	s.do(func(*sphinx.Decoder) {
		s.early, s.mean, s.path = nil, nil, sphinx.Path{}
		s.err = s.front.Begin()
	})
}

// add decodes more of the note, in the background. After the last of it path and err are set.
func (s *stream) add(pcm []int16, last bool) <-chan struct{} {
	return s.do(func(d *sphinx.Decoder) {
		if s.err == nil {
			s.err = s.decode(d, pcm, last)
		}
		if last {
			s.end(d)
		} else if s.shows {
			text := d.Partial()
			s.shown.Store(&text)
		}
	})
}

func (s *stream) decode(d *sphinx.Decoder, pcm []int16, last bool) error {
	rows, err := s.front.Add(pcm)
	if err != nil {
		return err
	}
	if last {
		rows = append(rows, s.front.End()...)
	}
	if s.mean == nil {
		s.early = append(s.early, rows...)
		if len(s.early) < settled && !last {
			return nil
		}
		rows, s.early = s.early, nil
		s.mean = meanOf(rows[:min(settled, len(rows))])
		if err := d.Begin(); err != nil {
			return err
		}
	}
	for _, r := range rows {
		for i := range s.mean {
			r[i] -= s.mean[i]
		}
	}
	return d.Feed(rows)
}

// end ends the note in the decoder, also where something went wrong.
func (s *stream) end(d *sphinx.Decoder) {
	if s.mean != nil {
		path, err := d.End()
		s.path, s.err = path, errors.Join(s.err, err)
	}
	s.shown.Store(new(string))
}

// drop leaves the note.
func (s *stream) drop() { s.do(s.end) }

// showing is the words so far.
func (s *stream) showing() string {
	if text := s.shown.Load(); text != nil {
		return *text
	}
	return ""
}

// close ends the decoder and its front end once their jobs are done.
func (s *stream) close() {
	s.do(func(*sphinx.Decoder) { s.front.Close() })
	s.lane.close()
}

// meanOf is the mean of cepstra. Frames without any energy are left out, as the recogniser does.
func meanOf(rows [][]float32) []float32 {
	if len(rows) == 0 {
		return []float32{}
	}
	sum, n := make([]float64, len(rows[0])), 0
	for _, r := range rows {
		if r[0] < 0 {
			continue
		}
		n++
		for i, x := range r {
			sum[i] += float64(x)
		}
	}
	mean := make([]float32, len(sum))
	for i := range mean {
		mean[i] = float32(sum[i] / float64(max(n, 1)))
	}
	return mean
}
