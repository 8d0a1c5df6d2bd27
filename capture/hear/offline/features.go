package offline

import (
	"fmt"

	"readback/capture/hear"
	"readback/capture/hear/compensate"
	"readback/capture/hear/sphinx"
)

// settled is how much speech the mean of a note is taken from, in frames. The mean of the whole note
// would be better by little, and there only when the note is over, with all its decoding still to be
// done.
const settled = 80

// surroundings is how much of the sound before a note its noise is told from, in samples.
const surroundings = 40 * hear.Frame

// features makes of the sound of a note what the decoders look at: cepstra whose noise and mean are taken
// off.
type features struct {
	front *sphinx.Front
	prior *compensate.Prior

	// Of the note.
	before [][]float32             // cepstra of the sound before it
	early  [][]float32             // its own before there are enough to tell
	noise  *compensate.Compensator // nil before
	mean   []float32
	out    [][]float32 // all so far
}

// begin starts a note. Before is the sound before it.
func (f *features) begin(before []int16) (err error) {
	f.early, f.noise, f.mean, f.out = nil, nil, nil, [][]float32{}
	if err := f.front.Begin(); err != nil {
		return err
	}
	if f.before, err = f.front.Add(before[max(0, len(before)-surroundings):]); err != nil {
		return err
	}
	f.front.End() // of what is no whole frame
	return f.front.Begin()
}

// add returns what more of the note's sound comes to, nothing before there is enough to tell how loud it
// is and in what noise.
func (f *features) add(pcm []int16, last bool) ([][]float32, error) {
	rows, err := f.front.Add(pcm)
	if err != nil {
		return nil, err
	}
	if last {
		rows = append(rows, f.front.End()...)
	}
	if f.noise == nil {
		f.early = append(f.early, rows...)
		if len(f.early) < settled && !last || len(f.early) == 0 {
			return nil, nil
		}
		rows, f.early = f.early, nil
		if f.noise, err = compensate.New(f.prior, f.before, rows[:min(settled, len(rows))]); err != nil {
			return nil, fmt.Errorf("the noise of the note: %w", err)
		}
	}
	for _, r := range rows {
		f.noise.Clean(r)
	}
	if f.mean == nil {
		f.mean = meanOf(rows[:min(settled, len(rows))])
	}
	for _, r := range rows {
		for i := range f.mean {
			r[i] -= f.mean[i]
		}
	}
	f.out = append(f.out, rows...)
	return rows, nil
}

// settled reports whether enough of the note was there to tell how loud it is and in what noise.
func (f *features) settled() bool { return f.noise != nil }

// close gives the front end back.
func (f *features) close() { f.front.Close() }

// meanOf is the mean of cepstra. Frames without any energy are left out, as the recogniser does.
func meanOf(rows [][]float32) []float32 {
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
