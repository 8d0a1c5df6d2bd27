package offline

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"readback/capture/hear"
	"readback/capture/hear/clean"
	"readback/capture/hear/compensate"
	"readback/capture/hear/sphinx"
)

// hearing is the inside of a worker: its decoders and the note that they hear.
type hearing struct {
	front front
	words request // what the decoders were made for
	clean *stream // the cleaned sound
	raw   *stream // the sound as it came
	loop  *stream // the cleaned sound, as a loop of phones
	// What the decoders look at, of the cleaned sound and of the sound as it came.
	cleaned, plain *features
	prior          *compensate.Prior
	fair           []*lane // one sentence at a time, with scores that compare from one to the next
	worn           int
	held           int // sentences so far

	english *sphinx.Decoder // any English words; nil until it is asked for

	note  *note             // nil before the first
	begun bool              // the streams have some of it
	fed   int               // place up to which they have its sound
	first int               // place from which they have it
	over  []<-chan struct{} // the streams have it as if it were over, and are done with it when these are closed; nil where it goes on
	last  [][]float32       // of the note that has ended: what its cleaned sound came to; nil for none
	ahead *ahead            // what the note was held against before it ended; nil for nothing
}

// fairs is how many decoders hold sentences against a note side by side.
const fairs = 2

// listen makes decoders for words. Where only the grammar changes they are kept.
func (h *hearing) listen(r request) error {
	net, err := sphinx.NewNet(r.Grammar, r.Sounds)
	if err != nil {
		return err
	}
	h.leave()
	if h.clean == nil || r.Model != h.words.Model || !maps.Equal(r.Sounds, h.words.Sounds) {
		if err := h.make(r); err != nil {
			return err
		}
	}
	h.words = r
	lanes := []*stream{h.clean, h.raw}
	errs := make([]error, len(lanes))
	var wait sync.WaitGroup
	for i, l := range lanes {
		h.worn++
		done := l.do(func(d *sphinx.Decoder) { errs[i] = d.SetNet(net) })
		wait.Go(func() { <-done })
	}
	wait.Wait()
	return errors.Join(errs...)
}

// streams are what follows a note as it comes.
func (h *hearing) streams() []*stream { return []*stream{h.clean, h.raw, h.loop} }

// leave drops the note, if there is one.
func (h *hearing) leave() {
	if h.clean != nil && h.begun {
		h.takeBack()
	}
	h.note, h.last, h.ahead = nil, nil, nil
}

// takeBack lets the streams forget what they have of the note.
func (h *hearing) takeBack() {
	for _, s := range h.streams() {
		s.drop()
	}
	h.begun, h.over, h.ahead = false, nil, nil
}

// make makes all decoders anew.
func (h *hearing) make(r request) error {
	dict := filepath.Join(r.Folder, "words.dict")
	if err := writeDict(dict, r.Sounds); err != nil {
		return err
	}
	defer func() { _ = os.Remove(dict) }() // the decoders have read it
	configs := []sphinx.Config{{Stream: true}, {Stream: true}, {Stream: true, Phones: true}}
	for range fairs {
		configs = append(configs, sphinx.Config{Stream: true, Fair: true})
	}
	decoders, errs := make([]*sphinx.Decoder, len(configs)), make([]error, len(configs))
	var wait sync.WaitGroup
	for i, c := range configs {
		c.Model, c.Dict = r.Model, dict
		wait.Go(func() { decoders[i], errs[i] = sphinx.New(c) })
	}
	wait.Wait()
	if err := errors.Join(errs...); err != nil {
		return errors.Join(err, closeAll(decoders))
	}
	cleaned, plain, err := h.newFeatures(decoders[0], r.Model)
	if err != nil {
		return errors.Join(err, closeAll(decoders))
	}
	h.close()
	h.worn += len(decoders)
	h.cleaned, h.plain = cleaned, plain
	h.clean, h.raw, h.loop = &stream{lane: newLane(decoders[0]), shows: true}, &stream{lane: newLane(decoders[1])}, &stream{lane: newLane(decoders[2])}
	h.fair = nil
	for _, d := range decoders[len(decoders)-fairs:] {
		h.fair = append(h.fair, newLane(d))
	}
	return nil
}

// newFeatures makes the front ends of the decoders, with the settings of one of them.
func (h *hearing) newFeatures(d *sphinx.Decoder, model string) (cleaned, plain *features, err error) {
	if h.prior == nil || model != h.words.Model {
		if h.prior, err = compensate.Load(sphinx.Acoustic(model)); err != nil {
			return nil, nil, err
		}
	}
	a, err := d.NewFront()
	if err != nil {
		return nil, nil, err
	}
	b, err := d.NewFront()
	if err != nil {
		a.Close()
		return nil, nil, err
	}
	return &features{front: a, prior: h.prior}, &features{front: b, prior: h.prior}, nil
}

func closeAll(decoders []*sphinx.Decoder) (err error) {
	for _, d := range decoders {
		if d != nil {
			err = errors.Join(err, d.Close())
		}
	}
	return err
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
	for _, s := range h.streams() {
		s.close()
	}
	for _, l := range h.fair {
		l.close()
	}
	h.cleaned.close()
	h.plain.close()
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
	if err := h.note.add(pcm); err != nil {
		return hear.Live{}, err
	}
	if h.note.levels.spoken >= leastVoice && h.clean.idle() && h.raw.idle() && h.loop.idle() {
		if err := h.follow(); err != nil {
			return hear.Live{}, err
		}
	}
	return hear.Live{
		Words: strings.Fields(h.clean.showing()), Voice: h.note.voice,
		Level: clean.Decibel(h.note.levels.last), State: h.note.state,
	}, nil
}

// follow decodes more of the note. There must be enough of it to tell how loud it is and in what noise; a shorter
// one is decoded where its speaker is silent, as if it were over. If he speaks on, that is taken back. Where a note begins is not told
// anew of what is decoded: more silence behind it may move that by a frame.
func (h *hearing) follow() (err error) {
	n := h.note
	from, to := n.soFar()
	if h.over != nil && h.fed != to {
		h.takeBack()
	}
	if n.settled && h.over == nil {
		if _, err := h.feed(from, to, false); err != nil {
			return err
		}
	}
	if n.silent() && h.over == nil && (!h.begun || !h.cleaned.settled()) {
		if h.over, err = h.feed(from, to, true); err != nil {
			return err
		}
	}
	if h.begun {
		h.lookAhead()
	}
	return nil
}

// feed gives the streams what they have not had of the sound from one place to another; all in
// between, if it was less before.
func (h *hearing) feed(from, to int, last bool) (done []<-chan struct{}, err error) {
	n := h.note
	if !h.begun {
		at := from - n.first
		if err := errors.Join(h.cleaned.begin(n.clean[:at]), h.plain.begin(n.raw[:at])); err != nil {
			return nil, err
		}
		h.first, h.fed, h.begun = from, from, true
		for _, s := range h.streams() {
			s.begin()
		}
	}
	to = max(min(to, n.first+len(n.clean)), h.fed)
	if to == h.fed && !last {
		return nil, nil
	}
	cleaned, plain, err := h.look(h.fed-n.first, to-n.first, last)
	if err != nil {
		return nil, err
	}
	h.fed = to
	return []<-chan struct{}{h.loop.add(cleaned, last), h.clean.add(cleaned, last), h.raw.add(plain, last)}, nil
}

// look makes features of more of the sound, side by side: the first of a note take a while.
func (h *hearing) look(from, to int, last bool) (cleaned, plain [][]float32, err error) {
	var both errgroup.Group
	both.Go(func() (err error) {
		cleaned, err = h.cleaned.add(h.note.clean[from:to], last)
		return err
	})
	both.Go(func() (err error) {
		plain, err = h.plain.add(h.note.raw[from:to], last)
		return err
	})
	return cleaned, plain, both.Wait()
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
	if n.levels.spoken < leastVoice {
		h.leave()
		return hear.Heard{Words: []hear.Word{}, Plain: []hear.Word{}, Gate: math.Inf(-1), Level: n.levels.level(), Noise: n.levels.floor(), Unvoiced: true}, nil
	}
	from, to := n.spokenIn(end)
	if h.over != nil && h.fed != to {
		h.takeBack()
	}
	if h.over == nil {
		if h.over, err = h.feed(from, to, true); err != nil {
			return hear.Heard{}, err
		}
	}
	for _, done := range h.over {
		<-done
	}
	h.last = h.cleaned.out
	if h.ahead != nil && h.ahead.to != h.fed {
		h.ahead = nil // more was said, or the end of what was
	}
	h.clean.shown.Store(new(string))
	h.note, h.begun, h.over = nil, false, nil
	if err := errors.Join(h.clean.err, h.raw.err, h.loop.err); err != nil {
		return hear.Heard{}, err
	}
	heard, plain := h.clean.path, h.raw.path
	return hear.Heard{
		Words: placed(heard.Words, h.first), Plain: placed(plain.Words, h.first), Gate: gate(&heard, &h.loop.path, n.levels.spoken),
		Level: n.levels.level(), Noise: n.levels.floor(),
	}, nil
}

// What speaks for words must be speech. Of a bang or of noise little passes for a voice, and the
// recogniser fits a short word into that better than the loop does. In what is no speech no path stands out, so that all
// are followed: a bang of two seconds takes several to decode. Where too little passes for a voice none is.
const (
	leastVoice = 8                    // frames with voice in a note
	leastWords = 18 * hear.Rate / 100 // samples of its words
)

// slowest is how many frames with voice a letter takes at most, with three letters to spare: seven is usual. A long note in noise may be
// heard as a few words, drawn out.
const slowest = 14

// gate compares the words with a loop of phones, over the same frames. Where there are no words,
// or the frames are not the same, nothing speaks for them. The loop's beams are narrow: a short word may beat it.
func gate(heard, loop *sphinx.Path, voiced int) float64 {
	long, letters := 0, 0
	for _, w := range heard.Words {
		long += w.To - w.From
		letters += len(w.Text)
	}
	if long < leastWords || voiced > slowest*(letters+3) || heard.Frames == 0 || heard.Frames != loop.Frames {
		return math.Inf(-1)
	}
	return min(float64(heard.Acoustic-loop.Acoustic)/float64(heard.Frames), 0)
}

// placed counts places from the note's begin. It is never nil.
func placed(words []hear.Word, first int) []hear.Word {
	out := make([]hear.Word, len(words))
	for i, w := range words {
		out[i] = hear.Word{Text: w.Text, From: w.From + first, To: w.To + first}
	}
	return out
}
