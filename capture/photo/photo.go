// Package photo takes in the photos of notes. A photo is a JPEG that really decodes. What a camera
// writes beside the picture, the place, the time and the device among it, is cut out before it is
// kept: only the coded picture stays, byte for byte, so that nothing is lost of it.
//
// Start reading at [Clean].
package photo

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
)

// Limits of a photo.
const (
	MaxBytes  = 8 << 20    // of the file
	MaxPixels = 24_000_000 // of the picture: more would take too much memory
	Ext       = ".jpg"
)

// Why a picture is not taken. Each is wrapped with more words; test for them with [errors.Is].
var (
	ErrNot  = errors.New("it is not a whole JPEG")
	ErrSize = errors.New("the picture is too large")
)

// turns lets two pictures be in memory at a time.
var turns = make(chan struct{}, 2)

// turn waits for one until ctx ends. done gives it back.
func turn(ctx context.Context) (done func(), err error) {
	select {
	case turns <- struct{}{}:
		return func() { <-turns }, nil
	case <-ctx.Done():
		return nil, fmt.Errorf("wait for other pictures: %w", context.Cause(ctx))
	}
}

// Clean returns a photo as it is kept: the same picture without anything that was written beside it.
// The orientation goes with the rest: who sends a picture turns it first. It waits while other pictures
// are decoded, until ctx ends. Errors wrap [ErrNot], [ErrSize] and why ctx has ended.
func Clean(ctx context.Context, data []byte) ([]byte, error) {
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%w: %d bytes, and %d is the most", ErrSize, len(data), MaxBytes)
	}
	bare, err := strip(data)
	if err != nil {
		return nil, err
	}
	done, err := turn(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	if _, err := decode(bare); err != nil {
		return nil, err
	}
	return bare, nil
}

func decode(data []byte) (image.Image, error) {
	head, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNot, err)
	}
	if head.Width < 1 || head.Height < 1 {
		return nil, fmt.Errorf("%w: it has no pixels", ErrNot)
	}
	if head.Width*head.Height > MaxPixels {
		return nil, fmt.Errorf("%w: %d by %d pixels, and %d million is the most", ErrSize, head.Width, head.Height, MaxPixels/1_000_000)
	}
	picture, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNot, err)
	}
	return picture, nil
}

// Markers of a JPEG, as ITU-T T.81, table B.1, has them.
const (
	soi   = 0xd8
	eoi   = 0xd9
	sos   = 0xda
	rst0  = 0xd0
	rst7  = 0xd7
	tem   = 0x01
	app0  = 0xe0
	app14 = 0xee
	app15 = 0xef
	com   = 0xfe
)

// strip copies the segments that the picture needs: not the comments, nor what programs have added,
// nor what stands behind the end. The first of the added segments (JFIF) and the fifteenth, which says
// how colours are coded, stay if they are what they are meant to be.
func strip(data []byte) ([]byte, error) {
	if len(data) < 4 || data[0] != 0xff || data[1] != soi {
		return nil, fmt.Errorf("%w: it does not begin as one", ErrNot)
	}
	out := append(make([]byte, 0, len(data)), 0xff, soi)
	for at := 2; ; {
		marker, body, next, err := segment(data, at)
		if err != nil {
			return nil, err
		}
		at = next
		switch {
		case marker == eoi:
			return append(out, 0xff, eoi), nil
		case marker == soi:
			return nil, fmt.Errorf("%w: another begins in it", ErrNot)
		case marker == com, marker >= app0 && marker <= app15 && !needed(marker, body):
			continue
		}
		out = append(out, 0xff, marker)
		if body != nil {
			out = append(append(out, byte((len(body)+2)>>8), byte(len(body)+2)), body...)
		}
		if marker == sos {
			end := scanEnd(data, at)
			out = append(out, data[at:end]...)
			at = end
		}
	}
}

// needed reports whether an added segment belongs to the coding, and holds nothing else: a JFIF head
// without its thumbnail, and the transform of colours.
func needed(marker byte, body []byte) bool {
	switch marker {
	case app0:
		return len(body) == 14 && bytes.HasPrefix(body, []byte("JFIF\x00"))
	case app14:
		return len(body) == 12 && bytes.HasPrefix(body, []byte("Adobe"))
	}
	return false
}

// segment reads the segment at a place. body is nil for a marker that stands alone.
func segment(data []byte, at int) (marker byte, body []byte, next int, err error) {
	broken := fmt.Errorf("%w: it ends too soon, or is damaged", ErrNot)
	if at >= len(data) || data[at] != 0xff {
		return 0, nil, 0, broken
	}
	for at < len(data) && data[at] == 0xff { // more of them may stand before a marker
		at++
	}
	if at >= len(data) || data[at] == 0 {
		return 0, nil, 0, broken
	}
	marker = data[at]
	at++
	if marker == soi || marker == eoi || marker == tem || marker >= rst0 && marker <= rst7 {
		return marker, nil, at, nil
	}
	if at+2 > len(data) {
		return 0, nil, 0, broken
	}
	length := int(data[at])<<8 | int(data[at+1])
	if length < 2 || at+length > len(data) {
		return 0, nil, 0, broken
	}
	return marker, data[at+2 : at+length : at+length], at + length, nil
}

// scanEnd returns where the coded data of a scan end: at the next marker that is no restart.
func scanEnd(data []byte, at int) int {
	for ; at+1 < len(data); at++ {
		if next := data[at+1]; data[at] == 0xff && next != 0 && next != 0xff && (next < rst0 || next > rst7) {
			return at
		}
	}
	return len(data)
}

// ThumbSide is the longest side of a [Thumb] in pixels.
const ThumbSide = 480

// Thumb returns a small JPEG of a photo, for a list: at most [ThumbSide] pixels a side. It waits as
// [Clean] does.
func Thumb(ctx context.Context, data []byte) ([]byte, error) {
	done, err := turn(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	picture, err := decode(data)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, shrink(picture), &jpeg.Options{Quality: 80}); err != nil {
		return nil, fmt.Errorf("write a small picture: %w", err)
	}
	return b.Bytes(), nil
}

// shrink takes the mean of squares of pixels.
func shrink(from image.Image) image.Image {
	r := from.Bounds()
	n := (max(r.Dx(), r.Dy()) + ThumbSide - 1) / ThumbSide
	if n <= 1 {
		return from
	}
	to := image.NewRGBA(image.Rect(0, 0, max(1, r.Dx()/n), max(1, r.Dy()/n)))
	for y := range to.Rect.Dy() {
		for x := range to.Rect.Dx() {
			square := image.Rect(x*n, y*n, x*n+n, y*n+n).Add(r.Min).Intersect(r)
			mean(to.Pix[to.PixOffset(x, y):][:4], from, square)
		}
	}
	return to
}

func mean(pix []byte, from image.Image, square image.Rectangle) {
	var sum [3]uint32
	for y := square.Min.Y; y < square.Max.Y; y++ {
		for x := square.Min.X; x < square.Max.X; x++ {
			r, g, b, _ := from.At(x, y).RGBA()
			sum[0], sum[1], sum[2] = sum[0]+r>>8, sum[1]+g>>8, sum[2]+b>>8
		}
	}
	count := uint32(square.Dx() * square.Dy())
	for i := range sum {
		pix[i] = byte(sum[i] / count)
	}
	pix[3] = 0xff
}
