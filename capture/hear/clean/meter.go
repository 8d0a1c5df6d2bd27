package clean

import "math"

const (
	voiced   = 0.7  // a frame over it is speech
	unvoiced = 0.3  // a frame under it is none
	floorAt  = 0.2  // share of the frames without speech that are quieter than the noise floor
	silence  = -100 // dB: what is quieter counts as this
	perDB    = 2    // steps of the counts
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
	quiet   [-silence*perDB + 1]int
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
	m.last = decibel(p)
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
		m.quiet[int((m.last-silence)*perDB)]++
	}
	m.hum.add(frame, calm)
}

// Level is how loud the last frame was.
func (m *Meter) Level() float64 {
	if m.frames == 0 {
		return silence
	}
	return m.last
}

// Speech is how loud the frames with speech are on the average.
func (m *Meter) Speech() float64 {
	if m.speech == 0 {
		return silence
	}
	return decibel(m.power / float64(m.speech))
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
			return min(silence+(float64(i)+0.5)/perDB, 0)
		}
	}
	return silence
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

func decibel(power float64) float64 {
	return min(max(10*math.Log10(power), silence), 0)
}
