package web_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/rs/zerolog"

	"readback/capture/voice"
	"readback/web"
)

// speech renders silence for every sentence, and fails on "Fail.".
type speech struct{ asked atomic.Int64 }

func (*speech) Name() string          { return "test" }
func (*speech) Voices() []voice.Voice { return []voice.Voice{{ID: "one", Name: "One"}} }

func (s *speech) Render(_ context.Context, words, _ string, _ float64) ([]byte, error) {
	s.asked.Add(1)
	if words == "Fail." {
		return nil, fmt.Errorf("%w: a secret of the program", voice.ErrFailed)
	}
	b := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x80\x3e\x00\x00\x00\x7d\x00\x00\x02\x00\x10\x00data")
	return append(binary.LittleEndian.AppendUint32(b, 320), make([]byte, 320)...), nil
}

func TestSayIsKeptByTheBrowser(t *testing.T) {
	s := openShop(t)
	first := s.ask(t, "GET", "/api/say?text=48+N%C2%B7m.+In.", "")
	tag := first.Header.Get("ETag")
	if first.StatusCode != http.StatusOK || len(tag) != 66 || first.Header.Get("Cache-Control") != "private, max-age=3600" || first.Header.Get("Content-Length") != fmt.Sprint(len(first.body)) {
		t.Fatalf("%d %v", first.StatusCode, first.Header)
	}
	same := func(r *http.Request) { r.Header.Set("If-None-Match", `"other", `+tag) }
	for path, want := range map[string]int{
		"/api/say?text=48+N%C2%B7m.+In.":                      http.StatusNotModified,
		"/api/say?text=forty-eight+newton+metres.+In.":        http.StatusNotModified, // the same words
		"/api/say?text=48+N%C2%B7m.+Out.":                     http.StatusOK,
		"/api/say?text=48+N%C2%B7m.+In.&speed=1.2":            http.StatusOK,
		"/api/say?text=48+N%C2%B7m.+In.&speed=1.01&voice=one": http.StatusNotModified, // the next step of speed
	} {
		r := s.ask(t, "GET", path, "", same)
		if r.StatusCode != want || want == http.StatusNotModified && (r.body != "" || r.Header.Get("ETag") != tag) {
			t.Errorf("%s: %d with %d bytes, want %d", path, r.StatusCode, len(r.body), want)
		}
	}
	if n := s.voice.asked.Load(); n != 3 {
		t.Errorf("%d sentences were rendered, want 3", n)
	}
}

func TestServerWithoutAVoice(t *testing.T) {
	kept, err := voice.OpenCache(t.TempDir(), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	s := openShop(t)
	s.Handler = web.New(web.Config{
		Floor: s.floor, Journal: s.store, Index: s.index, Voice: voice.New(nil, kept),
		Socket: http.NotFoundHandler(), Guide: http.NotFoundHandler(), Drift: http.NotFoundHandler(), Pages: http.NotFoundHandler(), Log: zerolog.Nop(),
	})
	r := s.ask(t, "GET", "/api/say?text=In.", "")
	if p := problem(t, r); r.StatusCode != http.StatusServiceUnavailable || !strings.Contains(p.Do, "apt-get install flite") {
		t.Errorf("%d %+v", r.StatusCode, p)
	}
	if r := s.ask(t, "GET", "/api/say/voices", ""); r.StatusCode != http.StatusOK || r.body != "{\"voices\":[]}\n" {
		t.Errorf("voices: %d %s", r.StatusCode, r.body)
	}
	if r := s.ask(t, "GET", "/api/say/words?text=3+mm", ""); !strings.Contains(r.body, "three millimetres") {
		t.Errorf("words: %s", r.body)
	}
}
