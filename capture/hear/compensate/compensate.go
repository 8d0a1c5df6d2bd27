package compensate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

const (
	passes   = 2    // to find how loud and of what colour the speech is
	least    = 10   // cepstra that a noise is told from
	outlying = 10.0 // of the first value, from the middle one: 9 dB. A blow is no steady noise, nor is a microphone that is not on yet
	unsteady = 0.05 // least variance of a noise
	heavier  = 1e-4 // share of a Gaussian that counts
	hopeless = 12.0 // logarithm of a share, of the greatest, at which it need not be known
	greatest = 1e4  // value of a cepstrum; of the loudest sound it is 200
	faint    = 22.0 // of the first value, from the speech to the noise: white noise 45 dB below it
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
		if len(r) != p.size || slices.ContainsFunc(r, func(x float32) bool { return !(math.Abs(float64(x)) <= greatest) }) {
			return nil, fmt.Errorf("a cepstrum of the recogniser is not one of %d numbers", p.size)
		}
	}
	if len(speech) == 0 {
		return nil, errors.New("there is no speech to take a noise out of")
	}
	c := &Compensator{prior: p, near: make([]float64, len(p.parts)), off: make([]float64, p.size), parts: make([]noisy, len(p.parts))}
	c.noise, c.unsteady = momentsOf(steady(before, speech))
	c.level = c.guess(speech)
	if c.level[0]-c.noise[0] > faint {
		c.parts = nil
		return c, nil
	}
	for range passes {
		if err := c.tell(); err != nil {
			return nil, err
		}
		c.level = c.levelOf(speech)
	}
	if err := c.tell(); err != nil {
		return nil, err
	}
	return c, nil
}

// steady is what of the sound before a note is a steady noise, filled up from what is softest in it.
func steady(before, speech [][]float32) [][]float32 {
	before = slices.Clone(before)
	if len(before) > 0 {
		slices.SortStableFunc(before, byLoudness)
		middle := before[len(before)/2][0]
		before = slices.DeleteFunc(before, func(r []float32) bool { return math.Abs(float64(r[0]-middle)) > outlying })
	}
	if short := least - len(before); short > 0 {
		soft := slices.Clone(speech)
		slices.SortStableFunc(soft, byLoudness)
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
	var slope, rest mat.Dense
	slope.Mul(columns(c.prior.toCepstra, follows), c.prior.toFilters)
	rest.Scale(-1, &slope)
	for i := range size {
		rest.Set(i, i, 1+rest.At(i, i))
	}
	var covariance, ofNoise mat.SymDense
	covariance.SymOuterK(1, columns(&slope, roots(p.variance)))
	ofNoise.SymOuterK(1, columns(&rest, roots(c.unsteady)))
	covariance.AddSym(&covariance, &ofNoise)
	err := out.shape(&covariance, columns(&slope, p.variance))
	return out, err
}

// columns is a matrix each column of which is multiplied by a number.
func columns(m *mat.Dense, by []float64) *mat.Dense {
	out := mat.DenseCopyOf(m)
	rows, _ := out.Dims()
	for i := range rows {
		floats.Mul(out.RawRowView(i), by)
	}
	return out
}

func roots(x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = math.Sqrt(x[i])
	}
	return out
}

var errNoise = errors.New("nothing can be told from the noise of this note")

// shape sets how likely a cepstrum is, and what is taken for clean in it, from the covariance of noisy
// speech and that of noisy speech with clean.
func (n *noisy) shape(covariance *mat.SymDense, with *mat.Dense) error {
	var factor mat.Cholesky
	if !factor.Factorize(covariance) {
		return errNoise
	}
	n.log -= factor.LogDet() / 2
	var lower, inverse mat.TriDense
	factor.LTo(&lower)
	if err := inverse.InverseTri(&lower); err != nil {
		return fmt.Errorf("%w: %w", errNoise, err)
	}
	n.whiten = mat.DenseCopyOf(&inverse)
	var transposed mat.Dense // the covariance is its own transpose
	if err := factor.SolveTo(&transposed, with); err != nil {
		return fmt.Errorf("%w: %w", errNoise, err)
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
			if p.log-far/2 < best-hopeless {
				break
			}
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

// clean adds to out the clean speech that is likely in a cepstrum. Each part that has a share in it adds that share of
// its base and of what the cepstrum says beyond it.
func (c *Compensator) clean(out []float64, y []float32, base func(*noisy) []float64) {
	c.weigh(y)
	for k, share := range c.near {
		if share < heavier {
			continue
		}
		p := &c.parts[k]
		for i := range c.off {
			c.off[i] = float64(y[i]) - p.mean[i]
		}
		gain, from := p.gain.RawMatrix(), base(p)
		for i := range out {
			x := from[i]
			for j, g := range gain.Data[i*gain.Stride : i*gain.Stride+len(c.off)] {
				x += g * c.off[j]
			}
			out[i] += share * x
		}
	}
}

// levelOf is the mean by which what is clean in the speech is off from the prior.
func (c *Compensator) levelOf(speech [][]float32) []float64 {
	level := make([]float64, c.prior.size)
	for _, r := range speech {
		c.clean(level, r, func(*noisy) []float64 { return c.level })
	}
	for i := range level {
		level[i] /= float64(len(speech))
	}
	return level
}

// Clean takes the noise out of a cepstrum where it stands. The mean of the speech stays in it. Where the noise is faint
// nothing is done: speech that nothing is wrong with is heard best as it is.
func (c *Compensator) Clean(cepstrum []float32) {
	if c.parts == nil {
		return
	}
	out := make([]float64, c.prior.size)
	c.clean(out, cepstrum, func(p *noisy) []float64 { return p.clean })
	for i, x := range out {
		cepstrum[i] = float32(x)
	}
}
