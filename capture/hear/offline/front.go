package offline

import (
	"context"
	"errors"
	"fmt"

	"readback/capture/hear"
	"readback/capture/hear/clean"
	"readback/capture/hear/endpoint"
)

// cleaner takes the noise out of sound, a frame at a time, and says how likely somebody
// speaks in it.
type cleaner interface {
	Frame(in, out []int16) (voice float64, err error)
	Reset() error              // between notes
	Prime(begin []int16) error // with a note's own begin, before its first frame
	Delay() int                // by how many samples out is late
	Close() error
}

// detector finds where a note begins and ends, by the voice of each frame.
type detector interface {
	Frame(voice float64) hear.State
}

// front is what the sound of a note goes through before it is decoded.
type front struct {
	clean  cleaner
	detect func() (detector, error) // a fresh one for a note
}

// newFront takes the noise out of the sound and finds the note in it. On a machine that the denoiser
// is not for, the sound is heard as it comes.
func newFront() (front, error) {
	ctx := context.Background()
	f, err := clean.New(ctx)
	if errors.Is(err, clean.ErrMachine) {
		return front{clean: plain{}, detect: func() (detector, error) { return new(pauses), nil }}, nil
	}
	if err != nil {
		return front{}, fmt.Errorf("start the denoiser: %w", err)
	}
	c, err := f.Cleaner(ctx, clean.Mix)
	if err != nil {
		return front{}, errors.Join(fmt.Errorf("start the denoiser: %w", err), f.Close(ctx))
	}
	return front{clean: &denoiser{factory: f, Cleaner: c}, detect: func() (detector, error) { return endpoint.New(endpoint.Config{}) }}, nil
}

// denoiser is a cleaner of package clean.
type denoiser struct {
	factory *clean.Factory
	*clean.Cleaner
}

// Reset forgets the note before.
func (d *denoiser) Reset() error { return d.Cleaner.Reset(context.Background()) }

// Prime gets used to the noise in which the note begins.
func (d *denoiser) Prime(begin []int16) error { return d.Cleaner.Prime(clean.Mirrored(begin)) }

// Delay is that of the denoiser with its resamplers.
func (*denoiser) Delay() int { return clean.Delay }

// Close ends the denoiser and its factory.
func (d *denoiser) Close() error {
	ctx := context.Background()
	return errors.Join(d.Cleaner.Close(ctx), d.factory.Close(ctx))
}

// plain leaves sound as it is. What is loud enough passes for a voice.
type plain struct{}

const loud = -50 // dB: what is louder may be speech

// Frame copies.
func (plain) Frame(in, out []int16) (float64, error) {
	copy(out, in)
	if clean.Decibel(clean.MeanSquare(in)) > loud {
		return 1, nil
	}
	return 0, nil
}

// Reset has nothing to forget.
func (plain) Reset() error { return nil }

// Prime has nothing to get used to.
func (plain) Prime([]int16) error { return nil }

// Delay is none.
func (plain) Delay() int { return 0 }

// Close has nothing to free.
func (plain) Close() error { return nil }

// pauses ends a note by the length of its pauses, in frames.
type pauses struct {
	state         hear.State
	voiced, still int
}

const (
	onset  = 5
	mayEnd = 25
	ended  = 60
)

// Frame takes the voice of the next frame.
func (p *pauses) Frame(voice float64) hear.State {
	if voice > voiceAt {
		p.voiced++
		p.still = 0
	} else {
		p.voiced = 0
		p.still++
	}
	switch {
	case p.state == hear.Ended, p.state == hear.Waiting && p.voiced < onset:
	case p.still >= ended:
		p.state = hear.Ended
	case p.still >= mayEnd:
		p.state = hear.MayEnd
	default:
		p.state = hear.Speaking
	}
	return p.state
}

// voiceAt is the voice value over which somebody speaks.
const voiceAt = 0.5

// levels measures how loud speech and its surroundings are, on the sound as it came.
type levels struct {
	speech float64                 // sum of power
	spoken int                     // frames
	still  [-clean.Silence + 1]int // frames without voice, by dB
	last   float64                 // power
}

func (l *levels) add(frame []int16, voice float64) {
	l.last = clean.MeanSquare(frame)
	if voice > voiceAt {
		l.speech += l.last
		l.spoken++
		return
	}
	l.still[int(-clean.Decibel(l.last))]++
}

// level is that of the speech, in dB.
func (l *levels) level() float64 {
	if l.spoken == 0 {
		return clean.Silence
	}
	return clean.Decibel(l.speech / float64(l.spoken))
}

// floor is what a fifth of the frames without voice stay under, in dB: the voice values come late,
// so that some of the speech is among them.
func (l *levels) floor() float64 {
	all := 0
	for _, n := range &l.still {
		all += n
	}
	sum := 0
	for i := len(l.still) - 1; i >= 0; i-- {
		if sum += l.still[i]; sum > 0 && 5*sum >= all {
			return float64(-i)
		}
	}
	return clean.Silence
}
