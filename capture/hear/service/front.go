package service

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"readback/capture/hear"
	"readback/capture/hear/clean"
	"readback/capture/hear/endpoint"
)

// front finds where notes begin and end, where no other engine does.
type front struct{ factory *clean.Factory } // nil: the denoiser is not for this machine

func newFront(ctx context.Context) (front, error) {
	f, err := clean.New(ctx)
	if errors.Is(err, clean.ErrMachine) {
		return front{}, nil
	}
	if err != nil {
		return front{}, fmt.Errorf("start what finds the end of notes: %w", err)
	}
	return front{f}, nil
}

func (f front) close() error {
	if f.factory == nil {
		return nil
	}
	return f.factory.Close(context.Background())
}

func (f front) cutter(ctx context.Context) (cutter, error) {
	if f.factory == nil {
		return cutter{}, nil
	}
	c, err := f.factory.Cleaner(ctx, clean.Mix)
	if err != nil {
		return cutter{}, fmt.Errorf("start what finds the end of notes: %w", err)
	}
	return cutter{clean: c}, nil
}

// cutter follows the voice through the sound of one note after another.
type cutter struct {
	clean  *clean.Cleaner
	detect *endpoint.Detector
	rest   []int16
	live   hear.Live
	levels [2][]float64 // dB of frames without voice, and with it
}

// loud is the level over which sound counts as a voice where there is no denoiser.
const loud = -50

func (c *cutter) begin(ctx context.Context) (err error) {
	c.rest, c.live, c.levels = nil, hear.Live{Level: clean.Silence}, [2][]float64{}
	if c.detect, err = endpoint.New(endpoint.Config{}); err != nil {
		return err
	}
	if c.clean != nil {
		return c.clean.Reset(ctx)
	}
	return nil
}

// add takes sound of any length.
func (c *cutter) add(pcm []int16) (hear.Live, error) {
	c.rest = append(c.rest, pcm...)
	for len(c.rest) >= hear.Frame {
		if err := c.frame(c.rest[:hear.Frame]); err != nil {
			return hear.Live{}, err
		}
		c.rest = c.rest[hear.Frame:]
	}
	return c.live, nil
}

func (c *cutter) frame(pcm []int16) error {
	level := clean.Decibel(clean.MeanSquare(pcm))
	voice := 0.0
	if c.clean == nil && level > loud {
		voice = 1
	}
	if c.clean != nil {
		var out [hear.Frame]int16
		var err error
		if voice, err = c.clean.Frame(pcm, out[:]); err != nil {
			return err
		}
	}
	spoken := 0
	if voice > endpoint.Threshold {
		spoken = 1
	}
	if len(c.levels[spoken]) < most/hear.Frame {
		c.levels[spoken] = append(c.levels[spoken], level)
	}
	ended := c.live.State == hear.Ended // it stays so: what follows is silence, or another note
	c.live = hear.Live{Voice: voice, Level: level, State: c.detect.Frame(voice)}
	if ended {
		c.live.State = hear.Ended
	}
	return nil
}

func (c *cutter) level() float64 { return quantile(c.levels[1], 0.5) }
func (c *cutter) noise() float64 { return quantile(c.levels[0], 0.2) }

func quantile(levels []float64, q float64) float64 {
	if len(levels) == 0 {
		return clean.Silence
	}
	return slices.Sorted(slices.Values(levels))[int(q*float64(len(levels)))]
}

func (c *cutter) close() error {
	if c.clean == nil {
		return nil
	}
	return c.clean.Close(context.Background())
}
