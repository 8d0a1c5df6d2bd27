package trial_test

import (
	"cmp"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"maps"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/rs/zerolog"
	"golang.org/x/sync/errgroup"

	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/hear/offline"
	"readback/capture/hear/trial"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/sqlite"
	"readback/capture/listen"
	"readback/capture/sound"
	"readback/capture/voice"
	"readback/capture/wire"
	"readback/capture/ws"
	"readback/rules"
)

var (
	paced   = flag.Int("paced", 0, "how many notes each bench speaks in each way and condition, at the pace of speech; 0 for one each, clean")
	benches = flag.String("benches", "1", "how many benches speak at once: 1,2,4")
	workers = flag.Int("workers", 0, "how many recognisers hear them; 0 for as many as there are processors")
)

// A way to talk is what a page does with its microphone.
type way struct {
	name   string
	before time.Duration // of sound before the speech
	until  string        // who ends the note, as in [wire.Sound]
	open   bool
}

// release is how long a page listens on after a key was let go.
const release = 150 * time.Millisecond

var ways = []way{
	{name: "key", before: 300 * time.Millisecond},
	{name: "tap", before: 300 * time.Millisecond, until: "silence"},
	{name: "open", before: time.Second, until: "silence", open: true},
}

const (
	each  = hear.Rate / 50 // samples in a piece of sound
	given = 13 * time.Second
)

// turn is what was measured of one note. Times count from the end of the speech in it.
type turn struct {
	way, condition string
	said           string
	became         string // taken, asked, refused, silent: as the bench was told; or not heard
	why            string // it was not
	early          bool   // the note was ended in the middle of the speech
	queued         bool   // the bench was told to wait for a recogniser

	ended  time.Duration // the note was over
	decode time.Duration // took the words after that
	rivals time.Duration // took the scores of what else may have been said
	rest   time.Duration // took the rules, the journal and the way to the bench
	sound  time.Duration // the bench had its verdict: it sounds the signal at once
	words  time.Duration // the first sentence was there as sound, rendered where it was not kept
	kept   time.Duration // it would have been there if it had been kept
}

// clocked is an engine that keeps the times of one bench's notes.
type clocked struct {
	*offline.Engine
	mu            sync.Mutex
	ended         time.Time
	decode, score time.Duration
}

func (c *clocked) Open(ctx context.Context, w hear.Words) (hear.Ear, error) {
	ear, err := c.Engine.Open(ctx, w)
	if err != nil {
		return nil, err
	}
	return &clockedEar{ear, c}, nil
}

type clockedEar struct {
	hear.Ear
	of *clocked
}

func (e *clockedEar) End(ctx context.Context) (hear.Heard, error) {
	start := time.Now()
	h, err := e.Ear.End(ctx)
	e.of.mu.Lock()
	defer e.of.mu.Unlock()
	e.of.ended, e.of.decode, e.of.score = start, time.Since(start), 0
	return h, err
}

func (e *clockedEar) Score(ctx context.Context, sentences ...string) ([]hear.Fit, error) {
	start := time.Now()
	scores, err := e.Ear.Score(ctx, sentences...)
	e.of.mu.Lock()
	defer e.of.mu.Unlock()
	e.of.score += time.Since(start)
	return scores, err
}

// shop is a server as benches reach it, without pages.
type shop struct {
	floor   *floor.Floor
	engine  *offline.Engine
	speaker *voice.Speaker
	sounds  *sound.Store
	words   func(*rules.Job, []string) (hear.Words, error)
	mux     *http.ServeMux
	address string
	joined  int // benches, for the names of their jobs
}

func openShop(t *testing.T, ears int) *shop {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	dir := t.TempDir()
	store, err := sqlite.Open(t.Context(), dir)
	must(err)
	writer := journal.NewWriter(store)
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	written := make(chan error, 1)
	go func() { written <- writer.Run(ctx) }()
	s := &shop{mux: http.NewServeMux()}
	s.floor = floor.New(floor.Config{Reader: store, Writer: writer, Specs: floortest.Specs(t), Program: "test", Now: time.Now, Log: zerolog.Nop()})
	s.sounds, err = sound.Open(filepath.Join(dir, "sounds"))
	must(err)
	program, err := voice.Find(ctx, "flite")
	must(err)
	cache, err := voice.OpenCache(filepath.Join(dir, "voice"), 1<<28)
	must(err)
	s.speaker = voice.New(program, cache)
	must(s.speaker.Warm(ctx, voice.Common(floortest.Specs(t).Cautions()...)))
	s.engine, err = offline.New(offline.Config{Workers: ears, Log: zerolog.Nop()})
	must(err)
	s.words = served
	server := httptest.NewUnstartedServer(s.mux)
	server.Config.BaseContext = func(net.Listener) context.Context { return ctx }
	server.Start()
	s.address = "ws" + strings.TrimPrefix(server.URL, "http")
	t.Cleanup(func() {
		must(s.engine.Close())
		stop()
		server.Close()
		if err := <-written; !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
		must(store.Close())
	})
	return s
}

// play is a job of which notes are spoken.
type play struct {
	spec    string
	options map[string]string
}

var plays = []play{
	{"mr5", map[string]string{"base": "long", "stages": "8", "cut_impellers": "2", "rebuild": "yes"}},
	{"bevel-head", map[string]string{"rebuild": "yes"}},
}

// talker is a bench that speaks.
type talker struct {
	shop  *shop
	conn  *websocket.Conn
	clock *clocked
	come  chan come
	ids   int
}

// come is a message with the time at which it came.
type come struct {
	at                       time.Time
	ID, Type, Verdict, State string
	Say, Reason              string
}

// join opens a job of its own for a bench and sits down at it.
func (s *shop) join(ctx context.Context, k, n int) (*talker, error) {
	p, id := plays[k%len(plays)], "job-"+strconv.Itoa(n)
	if _, _, err := s.floor.OpenJob(ctx, wire.OpenJob{ID: id, Spec: p.spec, Options: p.options}); err != nil {
		return nil, err
	}
	b := &talker{shop: s, clock: &clocked{Engine: s.engine}, come: make(chan come, 64), ids: n * 10_000}
	h := ws.New(s.floor, zerolog.Nop(), func(w http.ResponseWriter, status int, p wire.Problem) {
		http.Error(w, p.Error, status)
	})
	h.Hear(&listen.Hearing{Engine: b.clock, Grammar: s.words, Policy: judge.Usual(), Sounds: s.sounds})
	s.mux.Handle("/"+id, h)
	conn, answer, err := websocket.DefaultDialer.DialContext(ctx, s.address+"/"+id+"?job="+id+"&bench="+id, nil)
	if err != nil {
		return nil, err
	}
	_ = answer.Body.Close()
	b.conn = conn
	go func() {
		defer close(b.come)
		for {
			_, text, err := conn.ReadMessage()
			if err != nil {
				return
			}
			c := come{at: time.Now()}
			if json.Unmarshal(text, &c) == nil {
				b.come <- c
			}
		}
	}()
	return b, nil
}

// say speaks a note at its pace in a way, with quiet or noise before and after it as there is in pcm,
// in which speech ends at a sample. It waits for what comes of it.
func (b *talker) say(w way, pcm []int16, end int) (turn, error) {
	b.ids++
	id, t := journaltest.ID(b.ids), turn{way: w.name}
	begin := map[string]any{"type": "sound", "id": id, "rate": hear.Rate, "encoding": "s16le", "open": w.open}
	if w.until != "" {
		begin["until"] = w.until
	}
	if err := b.conn.WriteJSON(begin); err != nil {
		return t, err
	}
	start := time.Now()
	at := func(sample int) time.Time { return start.Add(time.Duration(sample) * time.Second / hear.Rate) }
	released := end + int(release*hear.Rate/time.Second)
	over := false
	for n := each; ; n += each {
		answer, err := b.wait(id, at(n), &t)
		if answer != nil || err != nil {
			return b.measured(t, answer, at(end)), err
		}
		switch {
		case over:
			if time.Since(at(end)) > time.Minute {
				return t, fmt.Errorf("no answer to %s, %s", id, w.name)
			}
		case w.until == "" && n > released, n > len(pcm):
			over = true
			err = b.conn.WriteJSON(map[string]any{"type": "sound-end", "id": id})
		default:
			frame := make([]byte, 0, 2*each)
			for _, x := range pcm[n-each : n] {
				frame = binary.LittleEndian.AppendUint16(frame, uint16(x))
			}
			err = b.conn.WriteMessage(websocket.BinaryMessage, frame)
		}
		if err != nil {
			return t, err
		}
	}
}

// wait takes what comes until a time, or until the answer to a note.
func (b *talker) wait(id string, until time.Time, t *turn) (*come, error) {
	timer := time.NewTimer(time.Until(until))
	defer timer.Stop()
	for {
		select {
		case <-timer.C:
			return nil, nil
		case c, ok := <-b.come:
			switch {
			case !ok:
				return nil, errors.New("the line is down")
			case c.ID != id:
			case c.Type == "hearing":
				t.queued = t.queued || c.State == wire.Queued
			default:
				return &c, nil
			}
		}
	}
}

// measured fills in the times of a note that was answered, and has its sentence rendered.
func (b *talker) measured(t turn, c *come, end time.Time) turn {
	if c == nil {
		return t
	}
	b.clock.mu.Lock()
	defer b.clock.mu.Unlock()
	t.sound = c.at.Sub(end)
	t.ended, t.decode, t.rivals = b.clock.ended.Sub(end), b.clock.decode, b.clock.score
	t.rest = t.sound - t.ended - t.decode - t.rivals
	t.early = t.sound < 0
	t.became = cmp.Or(map[string]string{"answer": "taken", "refused": "not heard"}[c.Type], c.Verdict)
	t.why = c.Reason
	if text := firstOf(cmp.Or(c.Say, c.Reason)); text != "" {
		for _, ready := range []*time.Duration{&t.words, &t.kept} {
			start := time.Now()
			if _, err := b.shop.speaker.Say(context.Background(), voice.Line{Text: text}); err == nil {
				*ready = t.sound + time.Since(start)
			}
		}
	}
	return t
}

var sentenceEnd = regexp.MustCompile(`[.?!] +[A-Z0-9“]`)

// firstOf is the first piece of a text that a page has spoken.
func firstOf(text string) string {
	if at := sentenceEnd.FindStringIndex(text); at != nil {
		return text[:at[0]+1]
	}
	return text
}

// around puts quiet before and after speech, and says where the speech ends: at the last sound that
// is less than 40 dB below the loudest.
func around(pcm []int16, before time.Duration) (out []int16, end int) {
	first, last := loud(pcm)
	out = append(make([]int16, int(before*hear.Rate/time.Second)), pcm[first:last]...)
	end = len(out)
	return append(out, make([]int16, int(given*hear.Rate/time.Second))...), end
}

func loud(pcm []int16) (first, last int) {
	var powers []float64
	for frame := range slices.Chunk(pcm, hear.Frame) {
		p := 0.0
		for _, x := range frame {
			p += float64(x) * float64(x)
		}
		powers = append(powers, p)
	}
	bar := slices.Max(powers) / 10_000
	first = slices.IndexFunc(powers, func(p float64) bool { return p > bar })
	for i, p := range powers {
		if p > bar {
			last = min((i+1)*hear.Frame, len(pcm))
		}
	}
	return first * hear.Frame, last
}

// TestLatency speaks notes at the pace of speech, over the websocket, and measures how long after the
// end of the speech the bench has its verdict. It fails where a note gets no answer, or one without a sound.
func TestLatency(t *testing.T) {
	need(t)
	n, counts := max(*paced, 1), []int{}
	for count := range strings.SplitSeq(*benches, ",") {
		k, err := strconv.Atoi(count)
		if err != nil || k < 1 {
			t.Fatalf("-benches %s: give numbers from 1, as in 1,2,4", *benches)
		}
		counts = append(counts, k)
	}
	ears := *workers
	if *paced == 0 { // a bench more than can be heard at once
		counts, ears = []int{3}, 2
	}
	most := slices.Max(counts)
	var texts [][]string
	for _, p := range plays {
		r := newRig(t, nil, p.spec, p.options)
		notes := trial.Notes(r.job(), *seed, 2*n*most*len(ways))
		texts = append(texts, slices.DeleteFunc(notes, func(text string) bool { return text == "stand by" })) // which makes a bench deaf
	}
	s := openShop(t, ears)
	for _, count := range counts {
		for _, c := range conditions[:2] {
			if *paced == 0 && c.name != "clean" || *only != "" && !slices.Contains(strings.Split(*only, ","), c.name) {
				continue
			}
			t.Run(fmt.Sprintf("%d/%s", count, strings.ReplaceAll(c.name, " ", "")), func(t *testing.T) {
				var all []turn
				if *paced == 0 {
					all = s.speak(t, count, texts, c, 1, func(bench int) []way { return ways[bench : bench+1] })
				} else {
					all = s.speak(t, count, texts, c, n, func(int) []way { return ways })
				}
				inTable(t, all)
			})
		}
	}
}

// speak has benches speak at once, each n notes in each of its ways. What they say is rendered before the first
// of them begins.
func (s *shop) speak(t *testing.T, count int, texts [][]string, c condition, n int, of func(bench int) []way) []turn {
	t.Helper()
	var mu sync.Mutex
	var all []turn
	var g errgroup.Group
	benches, said := make([]*talker, count), make([][]spoken, count)
	for k := range count {
		s.joined++
		b, err := s.join(t.Context(), k, s.joined)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = b.conn.Close() })
		per := n * len(of(k))
		benches[k], said[k] = b, speakAll(t, texts[k%len(texts)][k/len(texts)*per:], per)
	}
	for k, b := range benches {
		ways := of(k)
		g.Go(func() error {
			for i, note := range said[k] {
				w := ways[i%len(ways)]
				pcm, end := around(note.pcm, w.before)
				pcm, _ = c.noisy(pcm, nil, i/len(ways))
				got, err := b.say(w, pcm, end)
				if err != nil {
					return fmt.Errorf("bench %d, %q by %s: %w", k+1, note.text, w.name, err)
				}
				got.condition, got.said = c.name, note.text
				mu.Lock()
				all = append(all, got)
				mu.Unlock()
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Error(err)
	}
	if want := count * n * len(of(0)); len(all) != want {
		t.Errorf("%d notes of %d were answered", len(all), want)
	}
	waited, silent := 0, 0
	for _, x := range all {
		if x.became == "silent" {
			silent++
		}
		if x.queued {
			waited++
		}
		if x.became == "not heard" {
			t.Errorf("%q by %s was turned away: %s", x.said, x.way, x.why)
		}
		if sounds := x.became != "silent"; sounds && (x.words == 0 || x.kept == 0) {
			t.Errorf("%q by %s was %s, and no sound came of it", x.said, x.way, x.became)
		}
	}
	if 2*silent > len(all) {
		t.Errorf("%d notes of %d got no answer", silent, len(all))
	}
	if *paced == 0 && waited == 0 { // all of them begin at once
		t.Errorf("%d benches spoke, and none was told that it waits", count)
	}
	return all
}

// inTable prints a row a way.
func inTable(t *testing.T, all []turn) {
	t.Helper()
	t.Logf("%-5s %5s | %12s | %12s %12s | %s", "way", "notes", "sound", "words", "words kept", "of the sound: ended + decode + rivals + rest")
	for _, w := range ways {
		var rows []turn
		became := map[string]int{}
		for _, x := range all {
			if x.way != w.name {
				continue
			}
			became[x.became]++
			if x.queued {
				became["queued"]++
			}
			if x.early {
				became["ended early"]++
			}
			if !x.early && x.became != "silent" && x.became != "not heard" {
				rows = append(rows, x)
			}
		}
		if len(rows) == 0 {
			t.Logf("%-5s %5d | %v", w.name, 0, became)
			continue
		}
		ms := func(of func(x turn) time.Duration) string {
			var d []time.Duration
			for _, x := range rows {
				d = append(d, of(x))
			}
			slices.Sort(d)
			return fmt.Sprintf("%d/%d", d[len(d)/2].Milliseconds(), d[(len(d)*95+99)/100-1].Milliseconds()) // p95 by nearest rank
		}
		var counts []string
		for _, what := range slices.Sorted(maps.Keys(became)) {
			counts = append(counts, fmt.Sprintf("%s %d", what, became[what]))
		}
		t.Logf("%-5s %5d | %12s | %12s %12s | %s + %s + %s + %s | %s", w.name, len(rows), ms(func(x turn) time.Duration { return x.sound }),
			ms(func(x turn) time.Duration { return x.words }), ms(func(x turn) time.Duration { return x.kept }),
			ms(func(x turn) time.Duration { return x.ended }), ms(func(x turn) time.Duration { return x.decode }),
			ms(func(x turn) time.Duration { return x.rivals }), ms(func(x turn) time.Duration { return x.rest }), strings.Join(counts, ", "))
		if *misheard {
			for _, x := range rows {
				t.Logf("    %s %q %s: sound %d = %d + %d + %d + %d, words %d", x.way, x.said, x.became, x.sound.Milliseconds(), x.ended.Milliseconds(), x.decode.Milliseconds(), x.rivals.Milliseconds(), x.rest.Milliseconds(), x.words.Milliseconds())
			}
		}
	}
}
