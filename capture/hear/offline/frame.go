package offline

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// Bounds of what goes through the pipe between server and worker.
const (
	mostHead = 8 << 20 // bytes of JSON: a grammar and its pronunciations
	mostBody = 1 << 20 // bytes of sound: half a minute
)

// A frame is a mark, the length of its head and that of its body, the head in JSON and the
// body, samples with the low byte first.
const (
	mark       = "rbh1"
	headerSize = len(mark) + 4 + 4
)

// errFrame: what came through the pipe is no frame. Nothing that follows can be trusted.
var errFrame = errors.New("offline: the pipe carries no frame")

// writeFrame writes a head and sound, in one write.
func writeFrame(w io.Writer, head any, pcm []int16) error {
	text, err := json.Marshal(head)
	if err != nil {
		return fmt.Errorf("write a frame: %w", err)
	}
	if len(text) > mostHead || 2*len(pcm) > mostBody {
		return fmt.Errorf("a frame of %d bytes and %d samples is too large", len(text), len(pcm))
	}
	frame := make([]byte, 0, headerSize+len(text)+2*len(pcm))
	frame = append(frame, mark...)
	frame = binary.LittleEndian.AppendUint32(frame, uint32(len(text)))
	frame = binary.LittleEndian.AppendUint32(frame, uint32(2*len(pcm)))
	frame = append(frame, text...)
	for _, s := range pcm {
		frame = binary.LittleEndian.AppendUint16(frame, uint16(s))
	}
	_, err = w.Write(frame)
	return err
}

// readFrame reads a frame into head and returns its sound. It is io.EOF where the other side
// ended between two frames.
func readFrame(r io.Reader, head any) ([]int16, error) {
	var header [headerSize]byte
	if _, err := io.ReadFull(r, header[:]); err != nil {
		return nil, err
	}
	text, body := binary.LittleEndian.Uint32(header[len(mark):]), binary.LittleEndian.Uint32(header[len(mark)+4:])
	switch {
	case string(header[:len(mark)]) != mark:
		return nil, fmt.Errorf("%w: it starts with %q", errFrame, header[:len(mark)])
	case text > mostHead || body > mostBody || body%2 != 0:
		return nil, fmt.Errorf("%w: a head of %d bytes and a body of %d", errFrame, text, body)
	}
	data, err := readBytes(r, int64(text))
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(data, head); err != nil {
		return nil, fmt.Errorf("%w: %w", errFrame, err)
	}
	if data, err = readBytes(r, int64(body)); err != nil {
		return nil, err
	}
	pcm := make([]int16, len(data)/2)
	for i := range pcm {
		pcm[i] = int16(binary.LittleEndian.Uint16(data[2*i:]))
	}
	return pcm, nil
}

// readBytes takes memory as the bytes come, not as they are promised.
func readBytes(r io.Reader, n int64) ([]byte, error) {
	var b bytes.Buffer
	if _, err := io.CopyN(&b, r, n); err != nil {
		if errors.Is(err, io.EOF) {
			err = io.ErrUnexpectedEOF
		}
		return nil, err
	}
	return b.Bytes(), nil
}
