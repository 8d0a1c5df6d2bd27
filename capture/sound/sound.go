// Package sound keeps what was heard of each committed note, and of no other speech, beside the
// journal: one FLAC file a note, named by the SHA-256 of the file. The entry holds the hash, so that
// the record stays whole when a sound is purged, and a sound that was changed is told.
package sound

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"time"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"readback/capture/hear"
)

// What can go wrong with a kept sound.
var (
	ErrGone    = errors.New("sound: it is not kept here, or was purged")
	ErrChanged = errors.New("sound: the file is not what was kept")
	ErrName    = errors.New("sound: that is no hash of a sound")
)

// Store is a folder of sounds. It is safe for concurrent use.
type Store struct{ dir string }

// Open returns the store in dir, which is made where it is not there. What a crash left half
// written is removed.
func Open(dir string) (*Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("open the folder of sounds: %w", err)
	}
	torn, err := filepath.Glob(filepath.Join(dir, ".new-*"))
	if err != nil {
		return nil, fmt.Errorf("open the folder of sounds: %w", err)
	}
	for _, name := range torn {
		if err := os.Remove(name); err != nil {
			return nil, fmt.Errorf("open the folder of sounds: %w", err)
		}
	}
	return &Store{dir}, nil
}

var isHash = regexp.MustCompile(`^[0-9a-f]{64}$`)

func (s *Store) file(hash string) (string, error) {
	if !isHash.MatchString(hash) {
		return "", fmt.Errorf("%w: %q", ErrName, hash)
	}
	return filepath.Join(s.dir, hash[:2], hash+".flac"), nil
}

// Put keeps a sound and returns its hash. It is on the disk when Put returns. The same sound again is
// kept once.
func (s *Store) Put(pcm []int16) (hash string, err error) {
	data, err := Encode(pcm)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(data)
	hash = hex.EncodeToString(sum[:])
	name, err := s.file(hash)
	if err != nil {
		return "", err
	}
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return "", fmt.Errorf("keep a sound: %w", err)
	}
	if err := write(s.dir, name, data); err != nil {
		return "", fmt.Errorf("keep a sound: %w", err)
	}
	return hash, nil
}

// write puts the file there whole or not at all.
func write(dir, name string, data []byte) error {
	f, err := os.CreateTemp(dir, ".new-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	err = errors.Join(err, f.Close())
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return syncDir(filepath.Dir(name))
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Drop removes a sound whose note was not committed. One that is not there is none the worse.
func (s *Store) Drop(hash string) error {
	name, err := s.file(hash)
	if err != nil {
		return err
	}
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("drop a sound: %w", err)
	}
	return nil
}

// Get returns a sound as FLAC. The error is [ErrGone] where it is not kept any more, and
// [ErrChanged] where the file does not have its hash.
func (s *Store) Get(hash string) ([]byte, error) {
	name, err := s.file(hash)
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w: %s", ErrGone, hash)
	}
	if err != nil {
		return nil, fmt.Errorf("read a sound: %w", err)
	}
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != hash {
		return nil, fmt.Errorf("%w: %s", ErrChanged, hash)
	}
	return data, nil
}

// Purge removes the sounds that were kept before a moment, and returns how many. Their hashes stay in
// the record.
func (s *Store) Purge(before time.Time) (n int, err error) {
	root, err := os.OpenRoot(s.dir)
	if err != nil {
		return 0, fmt.Errorf("purge sounds: %w", err)
	}
	err = fs.WalkDir(root.FS(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) != ".flac" {
			return err
		}
		info, err := d.Info()
		if err != nil || !info.ModTime().Before(before) {
			return err
		}
		n++
		return root.Remove(name)
	})
	if err = errors.Join(err, root.Close()); err != nil {
		return n, fmt.Errorf("purge sounds: %w", err)
	}
	return n, nil
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
