package compensate

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// ErrModel says that the acoustic model is not of the kind that is understood here.
var ErrModel = errors.New("the acoustic model cannot be read for noise compensation: install Debian's package pocketsphinx-en-us anew")

// Bounds of what a file of Gaussians may hold: the model's own has 42 codebooks of 128 by 39 values.
const (
	mostGaussians = 1 << 20
	mostHeader    = 1 << 12
	byteOrder     = 0x11223344
)

// gaussians reads the first stream of a file of means or of variances: codebooks of vectors. The file
// has a header of lines up to "endhdr", a mark of its byte order, the numbers of codebooks, streams and Gaussians, the
// length of each stream's vectors, how many values follow, and these as 32-bit floats.
func gaussians(path string) ([][][]float64, error) {
	f, err := os.Open(filepath.Clean(path))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrModel, err)
	}
	defer func() { _ = f.Close() }() // it is only read
	books, err := readGaussians(bufio.NewReader(f))
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w", ErrModel, path, err)
	}
	return books, nil
}

func readGaussians(r *bufio.Reader) ([][][]float64, error) {
	for read := 0; ; {
		line, err := r.ReadSlice('\n')
		if read += len(line); err != nil || read > mostHeader {
			return nil, errors.New("its header has no end")
		}
		if string(bytes.TrimSpace(line)) == "endhdr" {
			break
		}
	}
	var head struct{ Order, Books, Streams, Each uint32 }
	if err := binary.Read(r, binary.LittleEndian, &head); err != nil {
		return nil, fmt.Errorf("its sizes: %w", err)
	}
	if head.Order != byteOrder {
		return nil, errors.New("it was written for another kind of machine")
	}
	if head.Streams == 0 || head.Streams > 16 || head.Books > mostGaussians || head.Each > mostGaussians || head.Books*head.Each > mostGaussians {
		return nil, fmt.Errorf("%d codebooks of %d Gaussians in %d streams are no model", head.Books, head.Each, head.Streams)
	}
	lengths := make([]uint32, head.Streams)
	if err := errors.Join(binary.Read(r, binary.LittleEndian, lengths), binary.Read(r, binary.LittleEndian, new(uint32))); err != nil {
		return nil, fmt.Errorf("its sizes: %w", err)
	}
	books := make([][][]float64, head.Books)
	for b := range books {
		for s, length := range lengths {
			if length == 0 || length > mostCepstrum {
				return nil, fmt.Errorf("vectors of %d values are no cepstra", length)
			}
			values := make([]float32, head.Each*length)
			if err := binary.Read(r, binary.LittleEndian, values); err != nil {
				return nil, fmt.Errorf("codebook %d: %w", b, err)
			}
			if s > 0 {
				continue // how they change, and how that does
			}
			for at := 0; at < len(values); at += int(length) {
				books[b] = append(books[b], widen(values[at:at+int(length)]))
			}
		}
	}
	return books, nil
}

// mostCepstrum is more values than a cepstrum has.
const mostCepstrum = 64

func widen(row []float32) []float64 {
	out := make([]float64, len(row))
	for i, x := range row {
		out[i] = float64(x)
	}
	return out
}

// shape is how the model's front end makes a cepstrum.
type shape struct {
	filters int     // of the mel scale
	lifter  float64 // length of its sine lifter, 0 for none
}

// shapeOf reads the settings of a front end: one to a line, a name and a value.
func shapeOf(r io.Reader) (shape, error) {
	set := map[string]string{"-transform": "legacy", "-lifter": "0", "-nfilt": "40"} // as where it says nothing
	lines := bufio.NewScanner(r)
	for lines.Scan() {
		if f := strings.Fields(lines.Text()); len(f) == 2 {
			set[f[0]] = f[1]
		}
	}
	if err := lines.Err(); err != nil {
		return shape{}, err
	}
	filters, err := strconv.Atoi(set["-nfilt"])
	lifter, err2 := strconv.Atoi(set["-lifter"])
	switch {
	case errors.Join(err, err2) != nil, filters < 1, filters > 256, lifter < 0:
		return shape{}, fmt.Errorf("%s filters with a lifter of %s are none", set["-nfilt"], set["-lifter"])
	case set["-transform"] != "dct":
		return shape{}, fmt.Errorf("its cepstra are made by %q and not by the orthonormal cosine transform", set["-transform"])
	}
	return shape{filters, float64(lifter)}, nil
}
