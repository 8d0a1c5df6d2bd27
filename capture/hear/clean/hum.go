package clean

import (
	"math"

	"readback/capture/hear"
)

const (
	humFrames = 20 // of a stretch: 200 ms, so that 50 and 60 Hz both have whole periods
	humLines  = 8  // the mains and its harmonics
	stretch   = humFrames * hear.Frame
)

var grids = [2]int{50, 60}

// window is Hann's: it keeps a motor's tone out of the mains' line four steps (20 Hz) away.
var window, windowSum = func() (w [stretch]float64, sum float64) {
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/stretch)
		sum += w[i]
	}
	return w, sum
}()

// hum adds up the power of the mains' lines over stretches without speech.
type hum struct {
	sound [stretch]float64
	calm  int // frames without speech in a row
	total float64
	lines [len(grids)]float64
}

// add waits for two more frames than a stretch has, as voice values are late.
func (h *hum) add(frame []int16, calm bool) {
	if !calm || len(frame) != hear.Frame {
		h.calm = 0
		return
	}
	if h.calm < humFrames {
		for i, s := range frame {
			h.sound[h.calm*hear.Frame+i] = float64(s) / -math.MinInt16
		}
	}
	if h.calm++; h.calm == humFrames+Late {
		h.measure()
		h.calm = 0
	}
}

func (h *hum) measure() {
	var mean, total float64
	for _, v := range &h.sound {
		mean += v / stretch
	}
	for i, v := range &h.sound {
		total += (v - mean) * (v - mean) / stretch
		h.sound[i] = (v - mean) * window[i]
	}
	h.total += total
	for i, mains := range grids {
		for line := 1; line <= humLines; line++ {
			h.lines[i] += tone(&h.sound, float64(mains*line))
		}
	}
}

// tone is the power of a tone in windowed sound, after Goertzel.
func tone(sound *[stretch]float64, hertz float64) float64 {
	turn := 2 * math.Cos(2*math.Pi*hertz/hear.Rate)
	var a, b float64
	for _, v := range sound {
		a, b = v+turn*a-b, a
	}
	return 2 * (a*a + b*b - turn*a*b) / (windowSum * windowSum)
}

func (h *hum) share() (share float64, mains int) {
	if h.total == 0 {
		return 0, grids[0]
	}
	at := 0
	if h.lines[1] > h.lines[0] {
		at = 1
	}
	return min(h.lines[at]/h.total, 1), grids[at]
}
