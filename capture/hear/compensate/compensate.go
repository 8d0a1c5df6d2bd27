package compensate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

const (
	passes   = 4    // to find how loud and of what colour the speech is
	least    = 10   // cepstra that a noise is told from
	outlying = 10.0 // of the first value, from the middle one: 9 dB. A blow is no steady noise, nor is a microphone that is not on yet
	unsteady = 0.05 // least variance of a noise
	heavier  = 1e-4 // share of a Gaussian that counts
	deepest  = 0.05 // share of its power that a filter keeps where noise alone is taken off: for the first guess only
)

// Compensator takes one noise out of the cepstra of one note. One goroutine uses it.
type Compensator struct {
	prior    *Prior
	noise    []float64 // mean
	unsteady []float64 // variance of the noise
	level    []float64 // mean of the note's clean speech, which the prior has not in it
	parts    []noisy
	near     []float64 // of a cepstrum, to each part
	off      []float64
}

// noisy is a Gaussian of the prior as it is in the noise.
type noisy struct {
	log    float64    // of its weight, less half of the logarithm of the determinant of its covariance
	clean  []float64  // mean without the noise, and
	mean   []float64  // with it
	whiten *mat.Dense // inverse of the lower triangle of the covariance's Cholesky factor
	gain   *mat.Dense // how clean speech goes with noisy speech
}

// New makes a compensator for a note. Before are cepstra of the sound before somebody spoke, which are
// noise; where they are too few the softest of the speech, the first second of it or less, stand in for them.
// Each has the size of the prior's. An error says that there is nothing to be told from them.
func New(p *Prior, before, speech [][]float32) (*Compensator, error) {
	for _, r := range slices.Concat(before, speech) {
		if len(r) != p.size || slices.ContainsFunc(r, func(x float32) bool { return math.IsNaN(float64(x)) || math.IsInf(float64(x), 0) }) {
			return nil, fmt.Errorf("a cepstrum of the recogniser is not one of %d numbers", p.size)
		}
	}
	if len(speech) == 0 {
		return nil, errors.New("there is no speech to take a noise out of")
	}
	c := &Compensator{prior: p, near: make([]float64, len(p.parts)), off: make([]float64, p.size), parts: make([]noisy, len(p.parts))}
	c.noise, c.unsteady = momentsOf(steady(before, speech))
	c.level = c.guess(speech)
	for range passes {
		if err := c.tell(); err != nil {
			return nil, err
		}
		c.level = c.levelOf(speech)
	}
	return c, c.tell()
}

// steady is what of the sound before a note is a steady noise, filled up from what is softest in it.
func steady(before, speech [][]float32) [][]float32 {
	before = slices.Clone(before)
	softer := func(a, b []float32) int {
		switch {
		case a[0] < b[0]:
			return -1
		case a[0] > b[0]:
			return 1
		}
		return 0
	}
	if len(before) > 0 {
		slices.SortStableFunc(before, softer)
		middle := before[len(before)/2][0]
		before = slices.DeleteFunc(before, func(r []float32) bool { return math.Abs(float64(r[0]-middle)) > outlying })
	}
	if short := least - len(before); short > 0 {
		soft := slices.Clone(speech)
		slices.SortStableFunc(soft, softer)
		before = append(before, soft[:min(short, len(soft))]...)
	}
	return before
}

// momentsOf are the mean of cepstra and the variance of each value.
func momentsOf(rows [][]float32) (mean, variance []float64) {
	mean, variance = make([]float64, len(rows[0])), make([]float64, len(rows[0]))
	for _, r := range rows {
		for i, x := range r {
			mean[i] += float64(x) / float64(len(rows))
		}
	}
	for _, r := range rows {
		for i, x := range r {
			d := float64(x) - mean[i]
			variance[i] += d * d / float64(max(len(rows)-1, 1))
		}
	}
	for i := range variance {
		variance[i] = max(variance[i], unsteady)
	}
	return mean, variance
}

// guess is the mean of the speech with the noise's power taken off that of each filter.
func (c *Compensator) guess(speech [][]float32) []float64 {
	noise := c.prior.filters(c.noise)
	level := make([]float64, c.prior.size)
	for _, r := range speech {
		filters := c.prior.filters(widen(r))
		for j, n := range noise {
			filters[j] += math.Log(max(1-math.Exp(n-filters[j]), deepest))
		}
		for i, x := range c.prior.cepstrum(filters) {
			level[i] += x / float64(len(speech))
		}
	}
	return level
}

// filters are the logarithms of the mel filters' powers, smooth.
func (p *Prior) filters(cepstrum []float64) []float64 {
	var out mat.VecDense
	out.MulVec(p.toFilters, mat.NewVecDense(p.size, cepstrum))
	return out.RawVector().Data
}

func (p *Prior) cepstrum(filters []float64) []float64 {
	var out mat.VecDense
	out.MulVec(p.toCepstra, mat.NewVecDense(len(filters), filters))
	return out.RawVector().Data
}

// tell works out what the Gaussians become in the noise, at the level that was found.
func (c *Compensator) tell() error {
	noise := c.prior.filters(c.noise)
	for k := range c.parts {
		var err error
		if c.parts[k], err = c.inNoise(&c.prior.parts[k], noise); err != nil {
			return err
		}
	}
	return nil
}

// inNoise is what a Gaussian of clean speech becomes in noise, whose filters are given.
func (c *Compensator) inNoise(p *part, noise []float64) (noisy, error) {
	size := c.prior.size
	out := noisy{log: p.weight, clean: make([]float64, size)}
	for i := range out.clean {
		out.clean[i] = p.mean[i] + c.level[i]
	}
	clean := c.prior.filters(out.clean)
	follows := make([]float64, len(clean)) // by how much noisy speech changes where clean speech does, of each filter
	added := make([]float64, len(clean))
	for j := range clean {
		added[j] = math.Log1p(math.Exp(-math.Abs(noise[j]-clean[j]))) + max(noise[j]-clean[j], 0)
		follows[j] = 1 / (1 + math.Exp(noise[j]-clean[j]))
	}
	out.mean = c.prior.cepstrum(added)
	for i := range out.mean {
		out.mean[i] += out.clean[i]
	}
	// slope is how noisy cepstra change with clean ones, rest with the noise.
	var half, slope, rest, with, covariance, ofNoise mat.Dense
	half.Mul(c.prior.toCepstra, mat.NewDiagDense(len(follows), follows))
	slope.Mul(&half, c.prior.toFilters)
	rest.Sub(mat.NewDiagDense(size, slices.Repeat([]float64{1}, size)), &slope)
	with.Mul(mat.NewDiagDense(size, p.variance), slope.T())
	covariance.Mul(&slope, &with)
	ofNoise.Product(&rest, mat.NewDiagDense(size, c.unsteady), rest.T())
	covariance.Add(&covariance, &ofNoise)
	return out, out.shape(&covariance, &with)
}

// shape sets how likely a cepstrum is, and what is taken for clean in it, from the covariance of noisy
// speech and that of clean speech with it.
func (n *noisy) shape(covariance, with *mat.Dense) error {
	size, _ := covariance.Dims()
	even := mat.NewSymDense(size, nil)
	for i := range size {
		for j := i; j < size; j++ {
			even.SetSym(i, j, (covariance.At(i, j)+covariance.At(j, i))/2)
		}
	}
	var factor mat.Cholesky
	if !factor.Factorize(even) {
		return errors.New("nothing can be told from the noise of this note")
	}
	n.log -= factor.LogDet() / 2
	var lower, inverse mat.TriDense
	factor.LTo(&lower)
	if err := inverse.InverseTri(&lower); err != nil {
		return fmt.Errorf("nothing can be told from the noise of this note: %w", err)
	}
	n.whiten = mat.DenseCopyOf(&inverse)
	var transposed mat.Dense // the covariance is its own transpose
	if err := factor.SolveTo(&transposed, with.T()); err != nil {
		return fmt.Errorf("nothing can be told from the noise of this note: %w", err)
	}
	n.gain = mat.DenseCopyOf(transposed.T())
	return nil
}

// weigh sets near to the share that each part has in a cepstrum.
func (c *Compensator) weigh(y []float32) {
	size, best := c.prior.size, math.Inf(-1)
	for k := range c.parts {
		p := &c.parts[k]
		for i := range size {
			c.off[i] = float64(y[i]) - p.mean[i]
		}
		far, whiten := 0.0, p.whiten.RawMatrix()
		for i := range size {
			z := 0.0
			for j, w := range whiten.Data[i*whiten.Stride : i*whiten.Stride+i+1] {
				z += w * c.off[j]
			}
			far += z * z
		}
		c.near[k] = p.log - far/2
		best = max(best, c.near[k])
	}
	sum := 0.0
	for k := range c.near {
		c.near[k] = math.Exp(c.near[k] - best)
		sum += c.near[k]
	}
	for k := range c.near {
		c.near[k] /= sum
	}
}

// clean adds to out, for each part that has a share in a cepstrum, that share of what is clean in it.
func (c *Compensator) clean(out []float64, y []float32, less func(k, i int) float64) {
	c.weigh(y)
	for k, share := range c.near {
		if share < heavier {
			continue
		}
		p := &c.parts[k]
		gain := p.gain.RawMatrix()
		for i := range out {
			x := p.clean[i]
			for j, g := range gain.Data[i*gain.Stride : i*gain.Stride+c.prior.size] {
				x += g * (float64(y[j]) - p.mean[j])
			}
			out[i] += share * (x - less(k, i))
		}
	}
}

// levelOf is the mean by which what is clean in the speech is off from the prior.
func (c *Compensator) levelOf(speech [][]float32) []float64 {
	level := make([]float64, c.prior.size)
	for _, r := range speech {
		c.clean(level, r, func(k, i int) float64 { return c.prior.parts[k].mean[i] })
	}
	for i := range level {
		level[i] /= float64(len(speech))
	}
	return level
}

// Clean takes the noise out of a cepstrum where it stands. The mean of the speech stays in it.
func (c *Compensator) Clean(cepstrum []float32) {
	out := make([]float64, c.prior.size)
	c.clean(out, cepstrum, func(int, int) float64 { return 0 })
	for i, x := range out {
		cepstrum[i] = float32(x)
	}
}
