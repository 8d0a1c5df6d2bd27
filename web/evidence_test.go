package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/rs/zerolog"

	"readback/capture/evidence"
	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/photo"
	"readback/capture/wire"
	"readback/web"
	"readback/web/export"
)

// picture is a JPEG with what a camera writes beside it.
func picture(t testing.TB, shade byte) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 640, 480))
	for i := range m.Pix {
		m.Pix[i] = shade + byte(i%7)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return append([]byte("\xff\xd8\xff\xe1\x00\x0fExif\x00\x00GPS 1,2"), b.Bytes()[2:]...)
}

// photograph sends a photo of the n-th note, as n2.
func (s *shop) photograph(t *testing.T, job string, n2, n int, data []byte, how ...func(*http.Request)) reply {
	t.Helper()
	q := url.Values{"id": {journaltest.ID(n2)}, "of": {journaltest.ID(n)}, "person": {"Ines"}}
	how = append([]func(*http.Request){func(r *http.Request) { r.Header.Set("Content-Type", "image/jpeg") }}, how...)
	return s.ask(t, "POST", "/api/jobs/"+job+"/photos?"+q.Encode(), string(data), how...)
}

// speak keeps a note with a sound, and returns the hash.
func (s *shop) speak(t *testing.T, job string, n int, text, sound string) string {
	t.Helper()
	hash, err := s.sounds.Put([]byte(sound))
	if err != nil {
		t.Fatal(err)
	}
	seat, _, err := s.floor.Sit(t.Context(), job, floor.Speaker{Person: "Ines"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	if _, _, err := seat.SayHeard(t.Context(), wire.Note{ID: journaltest.ID(n), Text: text}, floor.Spoken{Sound: hash}); err != nil {
		t.Fatal(err)
	}
	return hash
}

// purge purges what is older than a day, so long after everything that was said.
func (s *shop) purge(t *testing.T) {
	t.Helper()
	p := evidence.Purger{
		Source: s.store, Record: s.floor.Record, Program: "test", Log: zerolog.Nop(),
		Now:     func() time.Time { return journaltest.Start.Add(48 * time.Hour) },
		Folders: map[evidence.Sort]evidence.Folder{evidence.Sound: s.sounds, evidence.Photo: s.photos},
	}
	day := 24 * time.Hour
	if _, err := p.Purge(t.Context(), evidence.Rule{Sounds: day, Photos: day}, false); err != nil {
		t.Fatal(err)
	}
}

func TestSoundIsServedByItsHash(t *testing.T) {
	s := openShop(t)
	s.work(t)
	hash := s.speak(t, "MW-1041", 50, "seat clean", "fLaC and so on")
	if _, _, err := s.floor.OpenJob(t.Context(), wire.OpenJob{ID: "MW-1042", Spec: "mr5"}); err != nil {
		t.Fatal(err)
	}
	at := "/api/jobs/MW-1041/sounds/" + hash
	r := s.ask(t, "GET", at, "")
	if r.StatusCode != http.StatusOK || r.body != "fLaC and so on" || r.Header.Get("Content-Type") != "audio/flac" || r.Header.Get("Cache-Control") != "no-store" || r.Header.Get("Content-Length") != "14" {
		t.Errorf("status %d, %q, head %v", r.StatusCode, r.body, r.Header)
	}
	if !strings.Contains(r.Header.Get("Permissions-Policy"), "camera=()") || !strings.Contains(r.Header.Get("Content-Security-Policy"), "default-src 'none'") {
		t.Errorf("head %v", r.Header)
	}
	part := func(bytes string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set("Range", bytes) }
	}
	if r := s.ask(t, "GET", at, "", part("bytes=5-7")); r.StatusCode != http.StatusPartialContent || r.body != "and" || r.Header.Get("Content-Range") != "bytes 5-7/14" {
		t.Errorf("a part: status %d, %q, head %v", r.StatusCode, r.body, r.Header)
	}
	if r := s.ask(t, "GET", at, "", part("bytes=-2")); r.StatusCode != http.StatusPartialContent || r.body != "on" {
		t.Errorf("the last part: status %d, %q", r.StatusCode, r.body)
	}
	if r := s.ask(t, "GET", at, "", part("bytes=99-")); r.StatusCode != http.StatusRequestedRangeNotSatisfiable {
		t.Errorf("past the end: status %d", r.StatusCode)
	}
	if r := s.ask(t, "HEAD", at, ""); r.StatusCode != http.StatusOK || r.Header.Get("Content-Length") != "14" {
		t.Errorf("its head: status %d, head %v", r.StatusCode, r.Header)
	}
	for path, want := range map[string]int{
		"/api/jobs/MW-1042/sounds/" + hash:                         404, // another job names it not
		"/api/jobs/MW-1099/sounds/" + hash:                         404,
		"/api/jobs/MW-1041/photos/" + hash:                         404, // it is no photo
		"/api/jobs/MW-1041/sounds/" + evidence.HashOf(nil):         404,
		"/api/jobs/MW-1041/sounds/" + strings.ToUpper(hash):        400,
		"/api/jobs/MW-1041/sounds/" + hash[:63]:                    400,
		"/api/jobs/MW-1041/sounds/" + hash + "0":                   400,
		"/api/jobs/MW-1041/sounds/..%2f..%2fjournal.db":            400,
		"/api/jobs/MW-1041/sounds/" + hash[:62] + "%00f":           400,
		"/api/jobs/MW-1041/sounds/%2e%2e%2f" + hash[:58] + "aaaaa": 400,
	} {
		r := s.ask(t, "GET", path, "")
		var p wire.Problem
		if err := json.Unmarshal([]byte(r.body), &p); err != nil || r.StatusCode != want || p.Error == "" || p.Do == "" {
			t.Errorf("%s: status %d, want %d: %s", path, r.StatusCode, want, r.body)
		}
	}
}

// A file that was changed or lost is never served as what was kept, and the exports tell.
func TestChangedAndMissingFiles(t *testing.T) {
	s := openShop(t)
	s.work(t)
	hash := s.speak(t, "MW-1041", 50, "seat clean", "fLaC and so on")
	file := filepath.Join(s.dir, "sounds", hash[:2], hash+".flac")
	for _, tt := range []struct {
		spoil func() error
		want  string
	}{
		{func() error { return os.WriteFile(file, []byte("another"), 0o600) }, "changed"},
		{func() error { return os.Remove(file) }, "missing"},
	} {
		if err := tt.spoil(); err != nil {
			t.Fatal(err)
		}
		if r := s.ask(t, "GET", "/api/jobs/MW-1041/sounds/"+hash, ""); r.StatusCode != http.StatusInternalServerError || !strings.Contains(r.body, tt.want) || strings.Contains(r.body, "another\"") {
			t.Errorf("%s: status %d: %s", tt.want, r.StatusCode, r.body)
		}
		for _, as := range []string{"html", "csv", "json"} {
			if r := s.ask(t, "GET", "/api/jobs/MW-1041/export?as="+as, ""); !strings.Contains(r.body, tt.want) {
				t.Errorf("the %s does not say that the sound is %s", as, tt.want)
			}
		}
	}
}

func TestPhotoIsKept(t *testing.T) {
	s := openShop(t)
	s.work(t)
	data := picture(t, 100)
	r := s.photograph(t, "MW-1041", 60, 1, data)
	var e struct {
		Seq, Of          int64
		Entry, Photo, ID string
		Person           string
	}
	if err := json.Unmarshal([]byte(r.body), &e); err != nil || r.StatusCode != http.StatusCreated || e.Of != 3 || e.Entry != "photo" || e.ID != journaltest.ID(60) || e.Person != "Ines" {
		t.Fatalf("status %d: %s", r.StatusCode, r.body)
	}
	again := s.photograph(t, "MW-1041", 60, 1, picture(t, 7)) // the same id, another picture: the first stands
	if again.StatusCode != http.StatusOK || again.body != r.body {
		t.Errorf("sent once more: status %d: %s", again.StatusCode, again.body)
	}
	clean, err := photo.Clean(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	kept := s.ask(t, "GET", "/api/jobs/MW-1041/photos/"+e.Photo, "")
	if kept.body != string(clean) || kept.Header.Get("Content-Type") != "image/jpeg" || kept.Header.Get("Cache-Control") != "no-store" || strings.Contains(kept.body, "GPS") {
		t.Errorf("it is served with status %d, %d bytes of %d, head %v", kept.StatusCode, len(kept.body), len(clean), kept.Header)
	}
	small := s.ask(t, "GET", "/api/jobs/MW-1041/photos/"+e.Photo+"?small", "")
	if m, err := jpeg.DecodeConfig(strings.NewReader(small.body)); err != nil || m.Width > photo.ThumbSide || m.Width < 100 {
		t.Errorf("the small one is %d wide, error %v", m.Width, err)
	}
	words := s.ask(t, "GET", "/api/jobs/MW-1041/notes/3/words", "")
	if !strings.Contains(words.body, e.Photo) {
		t.Errorf("the note's words do not tell of it: %s", words.body)
	}
	if n := countFiles(t, filepath.Join(s.dir, "photos")); n != 1 {
		t.Errorf("%d files are kept, want 1", n)
	}
}

func countFiles(t *testing.T, dir string) int {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(dir, "??", "*"))
	if err != nil {
		t.Fatal(err)
	}
	return len(all)
}

func TestWhatIsNoPhotoOfANoteIsRefused(t *testing.T) {
	s := openShop(t)
	s.work(t)
	good := picture(t, 100)
	typed := func(media string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set("Content-Type", media) }
	}
	foreign := func(r *http.Request) { r.Header.Set("Origin", "http://elsewhere.example") }
	query := func(q string) func(*http.Request) {
		return func(r *http.Request) { r.URL.RawQuery = q }
	}
	ids := "id=" + journaltest.ID(61) + "&of="
	for name, tt := range map[string]struct {
		job  string
		data []byte
		how  func(*http.Request)
		want int
	}{
		"unknown job":           {"MW-1099", good, nil, 404},
		"unknown note":          {"MW-1041", good, query(ids + journaltest.ID(999)), 422},
		"of the opening's kind": {"MW-1041", good, query("id=" + journaltest.ID(1) + "&of=" + journaltest.ID(2)), 409},
		"no id":                 {"MW-1041", good, query("of=" + journaltest.ID(1)), 400},
		"no note":               {"MW-1041", good, query("id=" + journaltest.ID(61)), 400},
		"a time that is none":   {"MW-1041", good, query(ids + journaltest.ID(1) + "&at=today"), 400},
		"a person with a NUL":   {"MW-1041", good, query(ids + journaltest.ID(1) + "&person=%00"), 400},
		"a long person":         {"MW-1041", good, query(ids + journaltest.ID(1) + "&person=" + strings.Repeat("x", 101)), 400},
		"said to be text":       {"MW-1041", good, typed("text/html"), 415},
		"no type":               {"MW-1041", good, typed(""), 415},
		"cut":                   {"MW-1041", good[:len(good)/2], nil, 422},
		"a script":              {"MW-1041", []byte("<script>alert(1)</script>"), nil, 422},
		"nothing":               {"MW-1041", nil, nil, 422},
		"too long":              {"MW-1041", append(picture(t, 3), make([]byte, photo.MaxBytes)...), nil, 413},
		"from another site":     {"MW-1041", good, foreign, 403},
	} {
		how := tt.how
		if how == nil {
			how = func(*http.Request) {}
		}
		r := s.photograph(t, tt.job, 61, 1, tt.data, how)
		var p wire.Problem
		if err := json.Unmarshal([]byte(r.body), &p); err != nil || r.StatusCode != tt.want || p.Error == "" || p.Do == "" {
			t.Errorf("%s: status %d, want %d: %s", name, r.StatusCode, tt.want, r.body)
		}
	}
	s.mu.Lock()
	s.fail = journal.ErrFull
	s.mu.Unlock()
	if r := s.photograph(t, "MW-1041", 62, 1, good); r.StatusCode != http.StatusInsufficientStorage {
		t.Errorf("with a full disk: status %d: %s", r.StatusCode, r.body)
	}
	if n := countFiles(t, filepath.Join(s.dir, "photos")); n != 0 {
		t.Errorf("%d files are kept of photos that were refused", n)
	}
}

// After a purge the hash is answered with words, the exports say what was purged, and the job's state
// and its notes are what they were.
func TestPurged(t *testing.T) {
	s := openShop(t)
	s.work(t)
	hash := s.speak(t, "MW-1041", 50, "seat clean", "fLaC and so on")
	var e struct{ Photo string }
	if err := json.Unmarshal([]byte(s.photograph(t, "MW-1041", 60, 50, picture(t, 100)).body), &e); err != nil {
		t.Fatal(err)
	}
	before := s.ask(t, "GET", "/api/jobs/MW-1041", "").body
	page := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=html", "")
	if !strings.Contains(page.body, `<img src="data:image/jpeg;base64,`) || !strings.Contains(page.body, "sound kept, SHA-256 "+hash) || !strings.Contains(page.Header.Get("Content-Security-Policy"), "img-src data:;") {
		t.Errorf("the transcript does not show the photo, or tell of the sound:\n%s", page.body)
	}
	s.purge(t)
	for _, path := range []string{"sounds/" + hash, "photos/" + e.Photo, "photos/" + e.Photo + "?small"} {
		r := s.ask(t, "GET", "/api/jobs/MW-1041/"+path, "")
		if r.StatusCode != http.StatusGone || !strings.Contains(r.body, "purged on ") || !strings.Contains(r.body, "older than 1 day") || r.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: status %d: %.200q", path, r.StatusCode, r.body)
		}
	}
	for as, want := range map[string][]string{
		"html": {"sound purged on ", "photo purged on ", hash, e.Photo, "Purged (older than 1 day): the sounds and photos of entries 10, 11. Their hashes stay."},
		"csv":  {"sound purged on ", "photo purged on ", hash, "purged"},
		"json": {`"state":"purged"`, `"kind":"purged"`, `"rule":"older than 1 day"`, hash, e.Photo},
	} {
		r := s.ask(t, "GET", "/api/jobs/MW-1041/export?as="+as, "")
		for _, text := range want {
			if !strings.Contains(r.body, text) {
				t.Errorf("the %s does not hold %q", as, text)
			}
		}
	}
	if words := s.ask(t, "GET", "/api/jobs/MW-1041/notes/10/words", ""); !strings.Contains(words.body, `"sound_gone"`) || !strings.Contains(words.body, `"gone"`) {
		t.Errorf("the note's words do not tell of it: %s", words.body)
	}
	if diff := cmp.Diff(standing(t, before), standing(t, s.ask(t, "GET", "/api/jobs/MW-1041", "").body)); diff != "" {
		t.Errorf("how the job stands has changed (-before +after):\n%s", diff)
	}
	if n := countFiles(t, filepath.Join(s.dir, "sounds")) + countFiles(t, filepath.Join(s.dir, "photos")); n != 0 {
		t.Errorf("%d files are still there", n)
	}
	// A server that starts anew folds the same.
	if n, ok, err := floor.New(s.floor.Config).Evidence(t.Context(), "MW-1041", hash); err != nil || !ok || n.Purged == nil {
		t.Errorf("folded anew: %+v, %t, error %v", n, ok, err)
	}
	if hash2 := s.speak(t, "MW-1041", 51, "valve fitted", "fLaC another"); s.ask(t, "GET", "/api/jobs/MW-1041/sounds/"+hash2, "").StatusCode != http.StatusOK {
		t.Error("a sound after the purge is not served")
	}
}

// standing is a job's state without its last entry.
func standing(t *testing.T, body string) map[string]any {
	t.Helper()
	var state map[string]any
	if err := json.Unmarshal([]byte(body), &state); err != nil {
		t.Fatal(err)
	}
	delete(state, "last")
	delete(state, "entries")
	return state
}

// Other benches are told of a photo and of a purge.
func TestBenchesAreTold(t *testing.T) {
	s := openShop(t)
	s.work(t)
	s.speak(t, "MW-1041", 50, "seat clean", "fLaC and so on")
	var told []string
	seat, _, err := s.floor.Sit(t.Context(), "MW-1041", floor.Speaker{Bench: "other"}, func(m []byte) { told = append(told, string(m)) })
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	s.photograph(t, "MW-1041", 60, 50, picture(t, 100))
	s.purge(t)
	if len(told) != 2 || !strings.Contains(told[0], `"entry":"photo"`) || !strings.Contains(told[0], `"of":10`) || !strings.Contains(told[1], `"entry":"purged"`) || !strings.Contains(told[1], `"items":[{"seq":10`) {
		t.Errorf("told %s", fmt.Sprint(told))
	}
	if _, err := seat.Say(t.Context(), wire.Note{ID: journaltest.ID(70), Text: "valve fitted"}); err != nil {
		t.Errorf("the next note: %v", err)
	}
}

// noPut is a folder of photos that cannot be written.
type noPut struct {
	web.Evidence
	why error
}

func (n noPut) Put([]byte) (string, error) {
	return "", &fs.PathError{Op: "write", Path: "a photo", Err: n.why}
}

// Only a full disk is answered with the wish for room.
func TestAPhotoThatCannotBeWritten(t *testing.T) {
	for why, want := range map[error]int{
		syscall.ENOSPC: http.StatusInsufficientStorage, syscall.EDQUOT: http.StatusInsufficientStorage,
		syscall.EACCES: http.StatusInternalServerError, syscall.EIO: http.StatusInternalServerError,
	} {
		s := openShop(t)
		s.work(t)
		s.Handler = web.New(web.Config{
			Socket: http.NotFoundHandler(), Guide: http.NotFoundHandler(), Drift: http.NotFoundHandler(), Pages: http.NotFoundHandler(), Log: zerolog.Nop(),
			Floor: s.floor, Photos: noPut{s.photos, why},
		})
		r := s.photograph(t, "MW-1041", 60, 1, picture(t, 100))
		if p := problem(t, r); r.StatusCode != want || strings.Contains(p.Do, "make room") != (want == http.StatusInsufficientStorage) {
			t.Errorf("%v: status %d, %+v", why, r.StatusCode, p)
		}
	}
}

// A page that nobody waits for any more reads no file.
func TestAnExportStopsWithItsReader(t *testing.T) {
	s := openShop(t)
	s.work(t)
	s.photograph(t, "MW-1041", 60, 1, picture(t, 100))
	record, err := web.RecordOf(t.Context(), s.floor, s.store, s.sounds, s.photos, "MW-1041")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := export.Check(ctx, record.Entries, s.sounds, s.photos); !errors.Is(err, context.Canceled) {
		t.Errorf("the check gives %v", err)
	}
	if _, err := export.Write(ctx, record, export.HTML); !errors.Is(err, context.Canceled) {
		t.Errorf("the page gives %v", err)
	}
}
