package offline

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"readback/capture/hear"
	"readback/capture/hear/clean"
	"readback/capture/hear/sphinx"
)

// hearing is the inside of a worker: its decoders and the note that they hear.
type hearing struct {
	front  front
	words  request // what the decoders were made for
	clean  *lane   // whole notes, cleaned
	raw    *lane   // whole notes, as they came
	loop   *lane   // whole notes, a loop of phones
	live   *lane   // what is shown meanwhile
	single []*lane // one sentence at a time
	fair   []*lane // the same, with scores that can be compared to the last digit
	worn   int

	english *sphinx.Decoder // any English words; nil until it is asked for

	note  *note // nil before the first
	ahead *decode
	last  *decode // the note that has ended
	shown atomic.Pointer[string]
	fed   int // place up to which the live decoder was fed
}

// decode is a note, or the begin of one, that is being decoded.
type decode struct {
	end        int // place where its sound ends
	first      int // place where the speech in it begins, which alone is decoded
	clean, raw []int16
	dropped    atomic.Bool // nobody waits for it any more
	done       <-chan struct{}

	heard, plain, loop sphinx.Path
	errs               [3]error
}

// single decoders work side by side.
const singles = 2

// listen makes decoders for words. Where only the grammar changes they are kept.
func (h *hearing) listen(r request) error {
	known := func(word string) bool { return r.Sounds[word] != "" }
	if err := sphinx.CheckGrammar(r.Grammar, known); err != nil {
		return err
	}
	h.leave()
	if h.clean == nil || r.Model != h.words.Model || !maps.Equal(r.Sounds, h.words.Sounds) {
		if err := h.make(r); err != nil {
			return err
		}
	}
	h.words = r
	lanes := []*lane{h.clean, h.raw, h.live}
	errs := make([]error, len(lanes))
	var wait sync.WaitGroup
	for i, l := range lanes {
		h.worn++
		done := l.do(func(d *sphinx.Decoder) { errs[i] = d.SetGrammar(r.Grammar) })
		wait.Go(func() { <-done })
	}
	wait.Wait()
	return errors.Join(errs...)
}

// leave drops the note, if there is one.
func (h *hearing) leave() {
	h.drop()
	h.note, h.last = nil, nil
}

// drop ends what is being decoded for the note.
func (h *hearing) drop() {
	if h.ahead != nil {
		h.ahead.dropped.Store(true)
		h.ahead = nil
	}
	h.stopLive()
}

// make makes all decoders anew.
func (h *hearing) make(r request) error {
	dict := filepath.Join(r.Folder, "words.dict")
	if err := writeDict(dict, r.Sounds); err != nil {
		return err
	}
	defer func() { _ = os.Remove(dict) }() // the decoders have read it
	configs := []sphinx.Config{{}, {}, {Phones: true}, {Live: true}}
	for range singles {
		configs = append(configs, sphinx.Config{}, sphinx.Config{Fair: true})
	}
	decoders, errs := make([]*sphinx.Decoder, len(configs)), make([]error, len(configs))
	var wait sync.WaitGroup
	for i, c := range configs {
		c.Model, c.Dict = r.Model, dict
		wait.Go(func() { decoders[i], errs[i] = sphinx.New(c) })
	}
	wait.Wait()
	if err := errors.Join(errs...); err != nil {
		for _, d := range decoders {
			if d != nil {
				err = errors.Join(err, d.Close())
			}
		}
		return err
	}
	h.close()
	h.worn += len(decoders)
	lanes := make([]*lane, len(decoders))
	for i, d := range decoders {
		lanes[i] = newLane(d)
	}
	h.clean, h.raw, h.loop, h.live = lanes[0], lanes[1], lanes[2], lanes[3]
	h.single, h.fair = nil, nil
	for i := 4; i < len(lanes); i += 2 {
		h.single, h.fair = append(h.single, lanes[i]), append(h.fair, lanes[i+1])
	}
	return nil
}

func writeDict(path string, sounds map[string]string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return fmt.Errorf("the dictionary of the recogniser: %w", err)
	}
	return errors.Join(sphinx.WriteDict(f, sounds), f.Close())
}

// close ends all decoders once their jobs are done.
func (h *hearing) close() {
	if h.clean == nil {
		return
	}
	for _, l := range slices.Concat([]*lane{h.clean, h.raw, h.loop, h.live}, h.single, h.fair) {
		l.close()
	}
	h.clean = nil
}

var (
	errNoWords = errors.New("the worker has no words to listen for")
	errNoNote  = errors.New("there is no note: begin one first")
)

// begin starts a note. One that is still open is dropped.
func (h *hearing) begin() error {
	if h.clean == nil {
		return errNoWords
	}
	h.leave()
	var err error
	h.note, err = newNote(h.front)
	return err
}

// write takes more of the note's sound.
func (h *hearing) write(pcm []int16) (hear.Live, error) {
	if h.note == nil {
		return hear.Live{}, errNoNote
	}
	cut, err := h.note.add(pcm)
	if err != nil {
		return hear.Live{}, err
	}
	if h.ahead != nil && h.note.cut != h.ahead.end {
		h.ahead.dropped.Store(true) // somebody speaks on
		h.ahead = nil
	}
	if cut && h.note.cut > 0 && h.ahead == nil {
		h.ahead = h.start(h.note.cut)
	}
	h.feed()
	return hear.Live{
		Words: strings.Fields(h.showing()), Voice: h.note.voice,
		Level: clean.Decibel(h.note.levels.last), State: h.note.state,
	}, nil
}

// start decodes the note up to a place.
func (h *hearing) start(end int) *decode {
	n := h.note
	from, to := n.spokenIn(end)
	d := &decode{end: end, first: from, clean: slices.Clone(n.clean[from-n.first : to-n.first]), raw: slices.Clone(n.raw[from-n.first : to-n.first])}
	whole := func(path *sphinx.Path, err *error, pcm []int16) func(*sphinx.Decoder) {
		return func(s *sphinx.Decoder) {
			if !d.dropped.Load() {
				*path, *err = s.Whole(pcm)
			}
		}
	}
	waits := []<-chan struct{}{
		h.loop.do(whole(&d.loop, &d.errs[2], d.clean)),
		h.clean.do(whole(&d.heard, &d.errs[0], d.clean)),
		h.raw.do(whole(&d.plain, &d.errs[1], d.raw)),
	}
	done := make(chan struct{})
	go func() {
		for _, w := range waits {
			<-w
		}
		close(done)
	}()
	d.done = done
	return d
}

// feed gives the live decoder what it has not had, unless it is still busy with what it has.
func (h *hearing) feed() {
	n := h.note
	if h.words.Blind || n.state == hear.Waiting || n.cut > 0 || !h.live.idle() {
		return
	}
	begins := h.fed == 0
	from := max(h.fed, n.first)
	pcm := slices.Clone(n.clean[from-n.first:])
	h.fed = from + len(pcm)
	h.live.do(func(d *sphinx.Decoder) {
		if begins && d.Begin() != nil {
			return
		}
		if d.Write(pcm) == nil {
			text := d.Partial()
			h.shown.Store(&text)
		}
	})
}

// stopLive ends the live decoder's note.
func (h *hearing) stopLive() {
	if h.fed > 0 {
		h.fed = 0
		h.live.do(func(d *sphinx.Decoder) { _, _ = d.End() })
	}
	if h.live != nil {
		h.live.do(func(*sphinx.Decoder) { h.shown.Store(new(string)) })
	}
}

// showing is what can be shown: the words of the decode that ran ahead, if it is through.
func (h *hearing) showing() string {
	if h.ahead != nil {
		select {
		case <-h.ahead.done:
			return h.ahead.heard.Text()
		default:
		}
	}
	if text := h.shown.Load(); text != nil {
		return *text
	}
	return ""
}

// end ends the note and returns what was heard.
func (h *hearing) end() (hear.Heard, error) {
	n := h.note
	if n == nil {
		return hear.Heard{}, errNoNote
	}
	end, err := n.close()
	if err != nil {
		return hear.Heard{}, err
	}
	if h.ahead == nil || h.ahead.end != end {
		h.drop()
		h.ahead = h.start(end)
	}
	h.last, h.ahead, h.note = h.ahead, nil, nil
	h.stopLive()
	<-h.last.done
	return h.last.result(&n.levels)
}

func (d *decode) result(l *levels) (hear.Heard, error) {
	if err := errors.Join(d.errs[:]...); err != nil {
		return hear.Heard{}, err
	}
	return hear.Heard{
		Words: placed(d.heard.Words, d.first), Plain: placed(d.plain.Words, d.first), Gate: d.gate(l.spoken),
		Level: l.level(), Noise: l.floor(),
	}, nil
}

// What speaks for words must be speech. Of a bang or of noise little passes for a voice, and the
// recogniser fits a short word into that better than the loop does.
const (
	leastVoice = 8                    // frames with voice in a note
	leastWords = 18 * hear.Rate / 100 // samples of its words
)

// gate compares the words with a loop of phones, over the same frames. Where there are no words,
// or the frames are not the same, or nobody spoke, nothing speaks for them. The loop's beams are narrow: a short word may beat it.
func (d *decode) gate(voiced int) float64 {
	long := 0
	for _, w := range d.heard.Words {
		long += w.To - w.From
	}
	if long < leastWords || voiced < leastVoice || d.heard.Frames == 0 || d.heard.Frames != d.loop.Frames {
		return math.Inf(-1)
	}
	return min(float64(d.heard.Acoustic-d.loop.Acoustic)/float64(d.heard.Frames), 0)
}

// placed counts places from the note's begin. It is never nil.
func placed(words []hear.Word, first int) []hear.Word {
	out := make([]hear.Word, len(words))
	for i, w := range words {
		out[i] = hear.Word{Text: w.Text, From: w.From + first, To: w.To + first}
	}
	return out
}

// mostSentences bounds one score.
const mostSentences = 32

// score decodes the note that has ended with each sentence as all that may be heard. Where one of
// them has alternatives, their scores compare roughly, and come sooner.
func (h *hearing) score(sentences []string) ([]number, error) {
	if h.last == nil {
		return nil, errors.New("there is no note to score: end one first")
	}
	if len(sentences) > mostSentences {
		return nil, fmt.Errorf("%d sentences are too many to score: %d at most", len(sentences), mostSentences)
	}
	pcm, lanes := h.last.clean, h.fair
	if slices.ContainsFunc(sentences, func(s string) bool { return strings.Contains(s, "|") }) {
		lanes = h.single
	}
	scores, errs := make([]number, len(sentences)), make([]error, len(sentences))
	for i, sentence := range sentences {
		h.worn++
		lanes[i%len(lanes)].do(func(d *sphinx.Decoder) {
			scores[i], errs[i] = scoreOne(d, sentence, pcm)
		})
	}
	for _, l := range lanes {
		<-l.do(func(*sphinx.Decoder) {})
	}
	return scores, errors.Join(errs...)
}

func scoreOne(d *sphinx.Decoder, sentence string, pcm []int16) (number, error) {
	none := number(math.Inf(-1))
	grammar, err := sphinx.OnlyGrammar(sentence)
	if err != nil {
		return none, err
	}
	if err := d.SetGrammar(grammar); err != nil {
		return none, err
	}
	p, err := d.Whole(pcm)
	if err != nil || len(p.Words) == 0 {
		return none, err
	}
	return number(p.Acoustic), nil
}
