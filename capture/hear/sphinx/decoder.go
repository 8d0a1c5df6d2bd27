// Package sphinx hears words of a grammar in sound, with the library PocketSphinx of
// Debian's package libpocketsphinx3. It is called without cgo.
//
// The library ends the whole process on what it holds to be fatal, and has memory faults
// of its own: a [Decoder] belongs into a process that may die (package offline). It also
// leaks about half a megabyte with each grammar that is set and each decoder that is made.
package sphinx

import (
	"errors"
	"fmt"
	"runtime"
	"strings"

	"readback/capture/hear"
)

// Decoder turns sound into words. One goroutine at a time may use it; several decoders may
// run side by side.
//
// It is either live or not: once the library has been fed in pieces, it takes the mean of the
// sound from the notes before for ever after, and the scores of whole notes drift as well.
type Decoder struct {
	lib    *library
	ps     uintptr
	config uintptr
	argv   []*byte // the library keeps pointers into it
	known  map[string]bool
	phones bool
	free   bool
	live   bool
	state  state
	sets   int
}

type state uint8

const (
	deaf  state = iota // no grammar yet
	ready              // between notes
	open               // in a note
	closed
)

// Path is the best way through a note.
type Path struct {
	Words    []hear.Word
	Acoustic int // sum of the acoustic scores, silences included; only comparable over the same frames
	Frames   int // of 10 ms; silence is left out of those of a free decoder alone
}

// Text is the words of the path.
func (p Path) Text() string {
	words := make([]string, len(p.Words))
	for i, w := range p.Words {
		words[i] = w.Text
	}
	return strings.Join(words, " ")
}

// New makes a decoder. An error wraps [hear.ErrMissing] where a library or the model is not
// installed. One for words is deaf until [Decoder.SetGrammar].
func New(c Config) (*Decoder, error) {
	lib, err := load()
	if err != nil {
		return nil, err
	}
	if err := c.check(); err != nil {
		return nil, err
	}
	var known map[string]bool
	if !c.Free {
		if known, err = readDict(c.Dict); err != nil {
			return nil, err
		}
	}
	d := &Decoder{lib: lib, argv: cStrings(c.args()), known: known, phones: c.Phones, free: c.Free, live: c.Live}
	d.config = lib.parseConfig(0, lib.options(), int32(len(d.argv)), &d.argv[0], 1)
	if d.config == 0 {
		return nil, errors.New("the recogniser refused its settings")
	}
	if d.ps = lib.start(d.config); d.ps == 0 {
		lib.freeConfig(d.config)
		return nil, fmt.Errorf("the recogniser did not start with %s: the model or the dictionary cannot be read", strings.Join(c.args()[1:], " "))
	}
	if d.phones || d.free {
		d.state = ready
	}
	return d, nil
}

// Quiet turns off the library's own log on standard error, for the whole process. Where the
// process is likely to die it is better left on: its last lines hold the cause.
func Quiet() {
	if lib, err := load(); err == nil {
		lib.logTo(0)
	}
}

// SetGrammar makes the decoder listen for what a JSGF grammar holds, between notes. On an
// error, which wraps [hear.ErrGrammar], the words before stay in force.
func (d *Decoder) SetGrammar(jsgf string) error {
	switch {
	case d.phones || d.free:
		return errors.New("what listens for no words of its own takes no grammar")
	case d.state == open:
		return errors.New("the words cannot change in the middle of a note: end it first")
	case d.state == closed:
		return errClosed
	}
	if err := CheckGrammar(jsgf, func(word string) bool { return d.known[word] }); err != nil {
		return err
	}
	d.sets++
	if d.lib.setGrammar(d.ps, "note", jsgf) != 0 {
		return fmt.Errorf("%w: the recogniser refused the grammar", hear.ErrGrammar)
	}
	if d.lib.setSearch(d.ps, "note") != 0 {
		return fmt.Errorf("%w: the recogniser does not find the grammar that it took", hear.ErrGrammar)
	}
	d.state = ready
	return nil
}

// Sets is how often a grammar was set: each costs memory that does not come back.
func (d *Decoder) Sets() int { return d.sets }

var errClosed = errors.New("the recogniser is closed")

// Begin starts a note of a live decoder.
func (d *Decoder) Begin() error {
	if !d.live {
		return errors.New("this recogniser takes whole notes only: make a live one for sound that comes in pieces")
	}
	return d.begin()
}

func (d *Decoder) begin() error {
	switch d.state {
	case deaf:
		return errors.New("the recogniser has no words to listen for: set a grammar first")
	case open:
		return errors.New("a note is open already: end it first")
	case closed:
		return errClosed
	case ready:
	}
	// The remover of silence, which a free decoder has, keeps its state over notes unless a stream is started.
	if d.lib.stream(d.ps) != 0 || d.lib.begin(d.ps) != 0 {
		return errors.New("the recogniser did not start a note")
	}
	d.state = open
	return nil
}

// Write decodes more of the note's sound. The mean of the sound is followed as it comes, so
// that words are worse than those of [Decoder.Whole], and depend on the notes before.
func (d *Decoder) Write(pcm []int16) error { return d.process(pcm, 0) }

func (d *Decoder) process(pcm []int16, whole int32) error {
	if d.state != open {
		return errors.New("there is no note to add sound to: begin one first")
	}
	if len(pcm) == 0 {
		return nil
	}
	n := d.lib.process(d.ps, &pcm[0], uintptr(len(pcm)), 0, whole)
	runtime.KeepAlive(pcm)
	if n < 0 {
		return errors.New("the recogniser did not take the sound")
	}
	return nil
}

// Partial is the best guess in the middle of a note. It changes and means nothing yet.
func (d *Decoder) Partial() string {
	if d.state != open || d.phones {
		return ""
	}
	return words(d.lib.best(d.ps, new(int32)))
}

// End ends the note and returns the best path.
func (d *Decoder) End() (Path, error) {
	if d.state != open {
		return Path{}, errors.New("there is no note to end: begin one first")
	}
	d.state = ready
	if d.lib.end(d.ps) != 0 {
		return Path{}, errors.New("the recogniser did not end the note")
	}
	return d.path(), nil
}

// Whole decodes a note at once: the same sound gives the same path and scores, to the digit.
func (d *Decoder) Whole(pcm []int16) (Path, error) {
	if d.live {
		return Path{}, errors.New("this recogniser is live: its scores of whole notes would drift")
	}
	if err := d.begin(); err != nil {
		return Path{}, err
	}
	if err := d.process(pcm, 1); err != nil {
		return Path{}, errors.Join(err, d.giveUp())
	}
	return d.End()
}

// giveUp leaves a note that went wrong.
func (d *Decoder) giveUp() error {
	_, err := d.End()
	return err
}

// path reads the best path of the note that has just ended. There is none where nothing
// was heard, and where the words do not reach an end of the grammar.
func (d *Decoder) path() Path {
	p := Path{Frames: int(d.lib.frames(d.ps))}
	if !d.phones && d.lib.best(d.ps, new(int32)) == "" {
		return p
	}
	var acoustic, language, back, from, to int32
	for seg := d.lib.segments(d.ps); seg != 0; seg = d.lib.next(seg) {
		d.lib.scores(seg, &acoustic, &language, &back)
		p.Acoustic += int(acoustic)
		d.lib.place(seg, &from, &to)
		if w := base(d.lib.word(seg)); !filler(w) {
			p.Words = append(p.Words, hear.Word{Text: w, From: max(int(from), 0) * hear.Frame, To: max(int(to)+1, 0) * hear.Frame})
		}
	}
	return p
}

// Close gives the decoder back. It may be called twice.
func (d *Decoder) Close() error {
	if d.state == closed {
		return nil
	}
	d.state = closed
	d.lib.free(d.ps)
	d.lib.freeConfig(d.config)
	runtime.KeepAlive(d.argv)
	return nil
}

// filler tells whether a segment is a silence, a noise or an empty transition.
func filler(word string) bool {
	return word == "" || strings.ContainsAny(word[:1], "<[(+")
}

// words drops fillers and the numbers of variants.
func words(text string) string {
	var out []string
	for w := range strings.FieldsSeq(text) {
		if w = base(w); !filler(w) {
			out = append(out, w)
		}
	}
	return strings.Join(out, " ")
}

// cStrings are texts as C wants them. The library keeps pointers to them.
func cStrings(texts []string) []*byte {
	out := make([]*byte, 0, len(texts)+1)
	for _, s := range texts {
		b := append([]byte(s), 0)
		out = append(out, &b[0])
	}
	return out
}
