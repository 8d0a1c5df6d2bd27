// Package sound writes and reads what was heard of a note as FLAC, and keeps it: one file a committed
// note, of no other speech, named by its hash as package evidence has it.
package sound

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"readback/capture/evidence"
	"readback/capture/hear"
)

// Ext ends the names of the files.
const Ext = ".flac"

// Store is a folder of sounds. It is safe for concurrent use.
type Store struct{ *evidence.Files }

// Open returns the store in dir, which is made where it is not there. What a crash left half
// written is removed.
func Open(dir string) (*Store, error) {
	files, err := evidence.Open(dir, Ext)
	if err != nil {
		return nil, err
	}
	return &Store{files}, nil
}

// Put keeps a sound and returns its hash. It is on the disk when Put returns. The same sound again is
// kept once.
func (s *Store) Put(pcm []int16) (hash string, err error) {
	data, err := Encode(pcm)
	if err != nil {
		return "", err
	}
	return s.Files.Put(data)
}

// block is how many samples a frame of FLAC holds, and least how many it must.
const (
	block = 4096
	least = 16
)

// Encode returns the sound as FLAC, without loss. A millisecond of it there must be.
func Encode(pcm []int16) ([]byte, error) {
	if len(pcm) < least {
		return nil, fmt.Errorf("write flac: %d samples are no sound", len(pcm))
	}
	var out seekable
	e, err := flac.NewEncoder(&out, &meta.StreamInfo{BlockSizeMin: block, BlockSizeMax: block, SampleRate: hear.Rate, NChannels: 1, BitsPerSample: 16, NSamples: uint64(len(pcm))})
	if err != nil {
		return nil, fmt.Errorf("write flac: %w", err)
	}
	e.EnablePredictionAnalysis(true)
	for len(pcm) > 0 {
		n := min(block, len(pcm))
		if rest := len(pcm) - n; rest > 0 && rest < least {
			n -= least
		}
		if err := e.WriteFrame(frameOf(pcm[:n])); err != nil {
			return nil, fmt.Errorf("write flac: %w", err)
		}
		pcm = pcm[n:]
	}
	if err := e.Close(); err != nil {
		return nil, fmt.Errorf("write flac: %w", err)
	}
	return out.data, nil
}

func frameOf(pcm []int16) *frame.Frame {
	samples := make([]int32, len(pcm))
	for i, x := range pcm {
		samples[i] = int32(x)
	}
	return &frame.Frame{
		Header: frame.Header{BlockSize: uint16(len(pcm)), SampleRate: hear.Rate, Channels: frame.ChannelsMono, BitsPerSample: 16},
		Subframes: []*frame.Subframe{{
			SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, Samples: samples, NSamples: len(samples),
		}},
	}
}

// Decode returns the samples of a sound as [Encode] wrote it.
func Decode(data []byte) ([]int16, error) {
	stream, err := flac.New(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("read flac: %w", err)
	}
	if stream.Info.SampleRate != hear.Rate || stream.Info.NChannels != 1 || stream.Info.BitsPerSample != 16 {
		return nil, fmt.Errorf("read flac: %d Hz, %d channels, %d bits is no sound of a note", stream.Info.SampleRate, stream.Info.NChannels, stream.Info.BitsPerSample)
	}
	var out []int16
	for {
		f, err := stream.ParseNext()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("read flac: %w", err)
		}
		for _, x := range f.Subframes[0].Samples {
			out = append(out, int16(x))
		}
	}
}

// seekable is a file in memory: the encoder goes back to its head at the end.
type seekable struct {
	data []byte
	at   int64
}

// Write writes at the place that it is at.
func (s *seekable) Write(p []byte) (int, error) {
	if need := s.at + int64(len(p)); need > int64(len(s.data)) {
		s.data = append(s.data, make([]byte, need-int64(len(s.data)))...)
	}
	copy(s.data[s.at:], p)
	s.at += int64(len(p))
	return len(p), nil
}

// Seek goes to a place.
func (s *seekable) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekStart:
	case io.SeekCurrent:
		offset += s.at
	case io.SeekEnd:
		offset += int64(len(s.data))
	}
	if offset < 0 {
		return 0, errors.New("before the start")
	}
	s.at = offset
	return offset, nil
}
