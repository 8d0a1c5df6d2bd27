package voice

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"time"
)

const (
	header  = 44     // bytes before the samples of the files that we write
	quiet   = 300    // a sample below it, of 32768, is silence
	margin  = 30     // ms of silence that stay at either end
	fastest = 96_000 // samples a second
)

// readWAV reads a WAV file of 16 bit mono samples, and writes its header anew: a program
// that writes into a pipe cannot know the length. Sizes that run over the end of the file
// are taken for what there is.
func readWAV(wav []byte) (Clip, error) {
	if len(wav) < 12 || !bytes.Equal(wav[:4], []byte("RIFF")) || !bytes.Equal(wav[8:12], []byte("WAVE")) {
		return Clip{}, fmt.Errorf("%w: it wrote no WAV file", ErrFailed)
	}
	rate := 0
	for at := 12; at+8 <= len(wav); {
		id, size := string(wav[at:at+4]), int(binary.LittleEndian.Uint32(wav[at+4:]))
		at += 8
		size = min(size, len(wav)-at)
		chunk := wav[at : at+size]
		switch {
		case id == "fmt " && size >= 16:
			if binary.LittleEndian.Uint16(chunk) != 1 || binary.LittleEndian.Uint16(chunk[2:]) != 1 || binary.LittleEndian.Uint16(chunk[14:]) != 16 {
				return Clip{}, fmt.Errorf("%w: its sound is not 16 bit mono", ErrFailed)
			}
			rate = int(binary.LittleEndian.Uint32(chunk[4:]))
		case id == "data":
			return clipOf(chunk[:len(chunk)&^1], rate)
		}
		at += size + size&1
	}
	return Clip{}, fmt.Errorf("%w: its WAV file holds no sound", ErrFailed)
}

func clipOf(samples []byte, rate int) (Clip, error) {
	if rate < 8000 || rate > fastest || len(samples) == 0 {
		return Clip{}, fmt.Errorf("%w: its WAV file holds no sound", ErrFailed)
	}
	out := make([]byte, 0, header+len(samples))
	out = append(out, "RIFF"...)
	out = binary.LittleEndian.AppendUint32(out, uint32(header-8+len(samples)))
	out = append(out, "WAVEfmt "...)
	out = binary.LittleEndian.AppendUint32(out, 16)
	out = binary.LittleEndian.AppendUint16(out, 1)
	out = binary.LittleEndian.AppendUint16(out, 1)
	out = binary.LittleEndian.AppendUint32(out, uint32(rate))
	out = binary.LittleEndian.AppendUint32(out, uint32(2*rate))
	out = binary.LittleEndian.AppendUint16(out, 2)
	out = binary.LittleEndian.AppendUint16(out, 16)
	out = append(out, "data"...)
	out = binary.LittleEndian.AppendUint32(out, uint32(len(samples)))
	out = append(out, samples...)
	return Clip{WAV: out, Rate: rate, Length: time.Duration(len(samples)/2) * time.Second / time.Duration(rate)}, nil
}

// trim takes the silence off both ends, which costs a quarter of a second of each answer.
func (c Clip) trim() Clip {
	samples := c.WAV[header:]
	loud := func(i int) bool {
		v := int16(binary.LittleEndian.Uint16(samples[i:]))
		return v > quiet || v < -quiet
	}
	first, last := 0, len(samples)
	for first < last && !loud(first) {
		first += 2
	}
	for last > first && !loud(last-2) {
		last -= 2
	}
	if first == last {
		return c // nothing but silence: as it came
	}
	keep := c.Rate * margin / 1000 * 2
	trimmed, err := clipOf(samples[max(0, first-keep):min(len(samples), last+keep)], c.Rate)
	if err != nil {
		return c
	}
	return trimmed
}
