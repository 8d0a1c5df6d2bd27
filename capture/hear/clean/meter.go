package clean

import "math"

// Silence is the least level, in dB: what is quieter counts as this.
const Silence = -100

const (
	voiced   = 0.7 // a frame over it is speech
	unvoiced = 0.3 // a frame under it is none
	floorAt  = 0.2 // share of the frames without speech that are quieter than the noise floor
	perDB    = 2   // steps of the counts
	full     = 32700
)

// Meter measures a stream of sound as it came from the microphone. The zero value is ready; its
// size stays the same however long the stream. Levels are in dB below full scale: 0 is the
// loudest, -100 stands for silence.
type Meter struct {
	frames  int
	samples int
	speech  int
	power   float64 // sum over the speech
	quiet   [-Silence*perDB + 1]int
	clipped int
	last    float64
	loudest float64
	hum     hum
}

// Add takes a frame of raw sound and the voice value that came with it.
func (m *Meter) Add(frame []int16, voice float64) {
	if len(frame) == 0 {
		return
	}
	p := power(frame)
	m.last = Decibel(p)
	if m.frames == 0 || m.last > m.loudest {
		m.loudest = m.last
	}
	m.frames++
	m.samples += len(frame)
	for _, s := range frame {
		if s >= full || s <= -full {
			m.clipped++
		}
	}
	if voice > voiced {
		m.speech++
		m.power += p
	}
	calm := voice < unvoiced
	if calm {
		m.quiet[int((m.last-Silence)*perDB)]++
	}
	m.hum.add(frame, calm)
}

// Level is how loud the last frame was.
func (m *Meter) Level() float64 {
	if m.frames == 0 {
		return Silence
	}
	return m.last
}

// Speech is how loud the frames with speech are on the average.
func (m *Meter) Speech() float64 {
	if m.speech == 0 {
		return Silence
	}
	return Decibel(m.power / float64(m.speech))
}

// Noise is the noise floor: a fifth of the frames without speech are quieter. It is -100 where
// no frame was without speech.
func (m *Meter) Noise() float64 {
	total := 0
	for _, n := range &m.quiet {
		total += n
	}
	sum := 0
	for i, n := range &m.quiet {
		if sum += n; n > 0 && float64(sum) >= floorAt*float64(total) {
			return min(Silence+(float64(i)+0.5)/perDB, 0)
		}
	}
	return Silence
}

// Clipped is the share of all samples that are at full scale.
func (m *Meter) Clipped() float64 {
	return float64(m.clipped) / float64(max(m.samples, 1))
}

// Hum is the share of the mains and its harmonics in the sound without speech, by power, and
// their frequency, 50 or 60 Hz. It looks at stretches of 200 ms; without one the share is 0.
func (m *Meter) Hum() (share float64, mains int) { return m.hum.share() }

// Reset forgets everything.
func (m *Meter) Reset() { *m = Meter{} }

// power is the mean square of a frame against full scale, without its constant part.
func power(frame []int16) float64 {
	var sum, square float64
	for _, s := range frame {
		v := float64(s) / -math.MinInt16
		sum += v
		square += v * v
	}
	n := float64(len(frame))
	return max(square/n-sum/n*sum/n, 0)
}

// MeanSquare is the power of a frame against full scale, 0 to 1; 0 of an empty one.
func MeanSquare(frame []int16) float64 {
	sum := 0.0
	for _, s := range frame {
		v := float64(s) / -math.MinInt16
		sum += v * v
	}
	return sum / float64(max(len(frame), 1))
}

// Decibel is the level of a power against full scale, [Silence] to 0.
func Decibel(power float64) float64 {
	return min(max(10*math.Log10(power), Silence), 0)
}
