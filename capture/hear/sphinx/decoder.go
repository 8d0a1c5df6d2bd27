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
	"os"
	"runtime"
	"strings"

	"readback/capture/hear"
)

// Decoder turns sound into words. One goroutine at a time may use it; several decoders may
// run side by side.
//
// It is made for a stream or for whole notes: fed in pieces, the library would take the mean of the
// sound from the notes before, for ever after. So a stream comes to it as cepstra whose mean is off.
type Decoder struct {
	lib    *library
	ps     uintptr
	config uintptr
	argv   []*byte           // the library keeps pointers into it
	ways   map[string][]said // of its dictionary
	phones bool
	free   bool
	stream bool
	row    []float32 // the last of a stream
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
// installed. One for words is deaf until it has some.
func New(c Config) (*Decoder, error) {
	lib, err := load()
	if err != nil {
		return nil, err
	}
	if err := c.check(); err != nil {
		return nil, err
	}
	var sounds map[string]string
	if !c.Free {
		if sounds, err = readDict(c.Dict); err != nil {
			return nil, err
		}
	}
	args := c.args()
	if c.Stream {
		path, err := c.features()
		defer func() { _ = os.Remove(path) }() // the library has read it
		if err != nil {
			return nil, err
		}
		args = append(args, "-featparams", path)
	}
	d := &Decoder{lib: lib, argv: cStrings(args), ways: waysOf(sounds), phones: c.Phones, free: c.Free, stream: c.Stream}
	d.config = lib.parseConfig(0, lib.options(), int32(len(d.argv)), &d.argv[0], 1)
	if d.config == 0 {
		return nil, errors.New("the recogniser refused its settings")
	}
	if d.ps = lib.start(d.config); d.ps == 0 {
		lib.freeConfig(d.config)
		return nil, fmt.Errorf("the recogniser did not start with %s: the model or the dictionary cannot be read", strings.Join(args[1:], " "))
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
	if err := d.mayChange(); err != nil {
		return err
	}
	n, err := makeNet(jsgf, d.ways)
	if err != nil {
		return err
	}
	return d.SetNet(n)
}

// SetOnly makes the decoder listen for some sentences and nothing else, as [Decoder.SetGrammar] does. Where a sentence
// stands behind a [hear.Handicap] that is taken off its score while the best is looked for; no score is told less by it.
func (d *Decoder) SetOnly(sentences ...string) error {
	n, err := onlyNet(sentences, d.ways)
	if err != nil {
		return err
	}
	return d.SetNet(n)
}

// mayChange says why the words cannot change now.
func (d *Decoder) mayChange() error {
	switch {
	case d.phones || d.free:
		return errors.New("what listens for no words of its own takes no grammar")
	case d.state == open:
		return errors.New("the words cannot change in the middle of a note: end it first")
	case d.state == closed:
		return errClosed
	}
	return nil
}

// SetNet makes the decoder listen for a net whose words are in its dictionary, as
// [Decoder.SetGrammar] does.
func (d *Decoder) SetNet(n *Net) error {
	if err := d.mayChange(); err != nil {
		return err
	}
	f, err := os.CreateTemp("", "readback-net-*.fsg")
	if err != nil {
		return fmt.Errorf("a file for the words of the recogniser: %w", err)
	}
	defer func() { _ = os.Remove(f.Name()) }() // the library has read it
	_, err = f.Write(n.text)
	if err = errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("a file for the words of the recogniser: %w", err)
	}
	d.sets++
	net := d.lib.readNet(f.Name(), d.lib.logMath(d.ps), 1)
	if net == 0 {
		return fmt.Errorf("%w: the recogniser does not read its net", hear.ErrGrammar)
	}
	defer d.lib.freeNet(net) // the decoder holds it by itself
	if d.lib.setNet(d.ps, "note", net) != 0 {
		return fmt.Errorf("%w: the recogniser refused the net", hear.ErrGrammar)
	}
	if d.lib.setSearch(d.ps, "note") != 0 {
		return fmt.Errorf("%w: the recogniser does not find the net that it took", hear.ErrGrammar)
	}
	d.state = ready
	return nil
}

// Sets is how often a grammar was set: each costs memory that does not come back.
func (d *Decoder) Sets() int { return d.sets }

var errClosed = errors.New("the recogniser is closed")

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
	d.state, d.row = open, nil
	return nil
}

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

// End ends the note and returns the best path.
func (d *Decoder) End() (Path, error) {
	if d.state != open {
		return Path{}, errors.New("there is no note to end: begin one first")
	}
	var err error
	if d.stream {
		err = d.finish()
	}
	d.state = ready
	if d.lib.end(d.ps) != 0 {
		err = errors.Join(err, errors.New("the recogniser did not end the note"))
	}
	if err != nil {
		return Path{}, err
	}
	return d.path(), nil
}

// Whole decodes a note at once: the same sound gives the same path and scores, to the digit.
func (d *Decoder) Whole(pcm []int16) (Path, error) {
	if d.stream {
		return Path{}, errors.New("this recogniser takes a stream: feed it")
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
