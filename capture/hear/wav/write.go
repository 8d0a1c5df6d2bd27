package wav

import "encoding/binary"

// headSize is that of a file with one block of format and one of samples.
const headSize = 44

// Bytes returns a file of samples, mono, at a rate.
func Bytes(pcm []int16, rate int) []byte {
	le := binary.LittleEndian
	b := make([]byte, 0, headSize+2*len(pcm))
	b = append(b, "RIFF"...)
	b = le.AppendUint32(b, uint32(headSize-8+2*len(pcm)))
	b = append(b, "WAVEfmt "...)
	b = le.AppendUint32(b, 16) // bytes of the format
	b = le.AppendUint16(b, 1)  // PCM
	b = le.AppendUint16(b, 1)  // channel
	b = le.AppendUint32(b, uint32(rate))
	b = le.AppendUint32(b, uint32(2*rate)) // bytes a second
	b = le.AppendUint16(b, 2)              // bytes a sample
	b = le.AppendUint16(b, 16)             // bits a sample
	b = append(b, "data"...)
	b = le.AppendUint32(b, uint32(2*len(pcm)))
	for _, x := range pcm {
		b = le.AppendUint16(b, uint16(x))
	}
	return b
}
