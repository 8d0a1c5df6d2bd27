package photo_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"testing"

	"readback/capture/photo"
)

// picture is a JPEG of a slope of colours.
func picture(t testing.TB, width, height int) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			m.Set(x, y, color.RGBA{byte(x * 255 / width), byte(y * 255 / height), 40, 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// with puts a segment behind the first marker, as a camera does.
func with(data []byte, marker byte, body string) []byte {
	out := []byte{0xff, 0xd8, 0xff, marker}
	out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
	return append(append(out, body...), data[2:]...)
}

func TestWhatStandsBesideThePictureIsCutOut(t *testing.T) {
	plain := picture(t, 90, 60)
	data := plain
	secrets := []string{"Exif\x00\x00MM\x00*GPSLatitude 51.4779", "http://ns.adobe.com/xap/1.0/\x00 creator Ines", "Photoshop 3.0\x00 by-line Ines", "seen at the Millrace"}
	for i, marker := range []byte{0xe1, 0xe1, 0xed, 0xfe} {
		data = with(data, marker, secrets[i])
	}
	data = append(data, "PK\x03\x04 something behind the end"...)
	clean, err := photo.Clean(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	for _, secret := range append(secrets, "GPS", "Ines", "PK\x03\x04") {
		if bytes.Contains(clean, []byte(secret)) {
			t.Errorf("it still holds %q", secret)
		}
	}
	if !bytes.Equal(clean, plain) {
		t.Errorf("the picture itself has changed: %d bytes of %d", len(clean), len(plain))
	}
	if again, err := photo.Clean(t.Context(), clean); err != nil || !bytes.Equal(again, clean) {
		t.Errorf("cleaned once more it differs, error %v", err)
	}
}

func TestWhatIsNoPhotoIsRefused(t *testing.T) {
	whole := picture(t, 64, 48)
	for name, tt := range map[string]struct {
		data []byte
		want error
	}{
		"nothing":              {nil, photo.ErrNot},
		"text":                 {[]byte("a photo"), photo.ErrNot},
		"a PNG":                {[]byte("\x89PNG\r\n\x1a\n0000"), photo.ErrNot},
		"a head alone":         {whole[:20], photo.ErrNot},
		"cut in the middle":    {whole[:len(whole)/2], photo.ErrNot},
		"without its end":      {whole[:len(whole)-2], photo.ErrNot},
		"two in one":           {with(whole, 0xd8, "xx"), photo.ErrNot},
		"too many bytes":       {append(whole, make([]byte, photo.MaxBytes)...), photo.ErrSize},
		"too many pixels":      {resized(whole, 60000, 60000), photo.ErrSize},
		"a page with a script": {[]byte("\xff\xd8\xff\xe1\x00\x10<script>alert(1)</script>"), photo.ErrNot},
	} {
		if _, err := photo.Clean(t.Context(), tt.data); !errors.Is(err, tt.want) {
			t.Errorf("%s: error %v, want %v", name, err, tt.want)
		}
	}
}

// resized changes the size that the head of a JPEG claims.
func resized(data []byte, width, height uint16) []byte {
	out := bytes.Clone(data)
	at := bytes.Index(out, []byte{0xff, 0xc0})
	binary.BigEndian.PutUint16(out[at+5:], height)
	binary.BigEndian.PutUint16(out[at+7:], width)
	return out
}

func TestThumb(t *testing.T) {
	for _, size := range []image.Point{{1920, 1080}, {1080, 1921}, {480, 100}, {481, 1}} {
		small, err := photo.Thumb(t.Context(), picture(t, size.X, size.Y))
		if err != nil {
			t.Fatal(err)
		}
		m, err := jpeg.Decode(bytes.NewReader(small))
		if err != nil {
			t.Fatal(err)
		}
		if b := m.Bounds(); b.Dx() > photo.ThumbSide || b.Dy() > photo.ThumbSide || b.Dx() < 1 || b.Dy() < 1 {
			t.Errorf("of %v the small one is %v", size, b)
		}
		b := m.Bounds()
		r, g, _, _ := m.At(b.Max.X-1, b.Max.Y-1).RGBA()
		if size.Y > 100 && (r>>8 < 230 || g>>8 < 230) {
			t.Errorf("of %v the last corner is %d, %d", size, r>>8, g>>8)
		}
	}
}

func FuzzClean(f *testing.F) {
	whole := picture(f, 17, 9)
	f.Add(whole)
	f.Add(with(whole, 0xe1, "Exif\x00\x00GPS"))
	f.Add(with(whole, 0xee, "Adobe\x00\x64\x00\x00\x00\x00\x01"))
	f.Add(whole[:len(whole)-5])
	f.Add([]byte{0xff, 0xd8, 0xff, 0xff, 0xff})
	f.Fuzz(func(t *testing.T, data []byte) {
		clean, err := photo.Clean(t.Context(), data)
		if err != nil {
			if !errors.Is(err, photo.ErrNot) && !errors.Is(err, photo.ErrSize) {
				t.Fatalf("error without a kind: %v", err)
			}
			return
		}
		if len(clean) > len(data) {
			t.Fatal("it grew")
		}
		again, err := photo.Clean(t.Context(), clean)
		if err != nil || !bytes.Equal(again, clean) {
			t.Fatalf("what was cleaned is not clean: %v", err)
		}
	})
}

// Who waits for others stops when his context ends, and gets his turn when they are done.
func TestAPictureWaitsForOthers(t *testing.T) {
	data := picture(t, 600, 400)
	free := photo.Busy()
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := photo.Clean(ctx, data); !errors.Is(err, context.Canceled) {
		t.Errorf("Clean gives %v", err)
	}
	if _, err := photo.Thumb(ctx, data); !errors.Is(err, context.Canceled) {
		t.Errorf("Thumb gives %v", err)
	}
	free()
	for range 5 { // each gives its turn back
		if _, err := photo.Thumb(t.Context(), data); err != nil {
			t.Fatal(err)
		}
	}
}
