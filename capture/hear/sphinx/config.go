package sphinx

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"readback/capture/hear"
)

// Model is where Debian's package pocketsphinx-en-us puts the acoustic model.
const Model = "/usr/share/pocketsphinx/model/en-us"

// Config says what a decoder is made of.
type Config struct {
	Model  string // folder that holds en-us and en-us-phone.lm.bin; "" is [Model]
	Dict   string // path of a dictionary, as [WriteDict] writes it
	Phones bool   // decode to a free loop of phones instead of a grammar's words
	Free   bool   // decode to any English, by the model's own language and [Dictionary]: a guess
	Fair   bool   // scores can be compared from one grammar to the next; slower
	Stream bool   // take a note as it comes, by Begin, Feed and End; else by Whole
}

// shared are the settings that every decoder has: the gate compares two of them, so that
// they must see the same frames. The library's own noise remover learns from a note's first
// sound, and spoils the first word in noise: sound comes here cleaned, and without the silence
// around it.
var shared = []string{"-remove_silence", "no", "-remove_noise", "no", "-lw", "2", "-pl_window", "0"}

// Dictionary is that of all English words that the model brings, beside which Dict is for a grammar's.
func Dictionary(model string) string {
	return filepath.Join(Config{Model: model}.model(), "cmudict-en-us.dict")
}

// args is the command line that the library is configured by: pairs only.
func (c Config) args() []string {
	if c.Free { // with the library's own settings, which are for this
		return []string{"readback", "-hmm", c.acoustic(), "-dict", c.Dict, "-lm", c.language(), "-remove_silence", "yes", "-remove_noise", "yes"}
	}
	args := append([]string{"readback", "-hmm", c.acoustic(), "-dict", c.Dict}, shared...)
	if c.Phones {
		return append(args, "-allphone", c.loop(), "-allphone_ci", "yes", "-topn", "4", "-beam", "1e-20", "-pbeam", "1e-20")
	}
	// A [Net] has an arc for each way to say a word. Likelihoods are strong: nearer beams lose a rare name at
	// its first word.
	args = append(args, "-fsgusealtpron", "no", "-wip", "0.005", "-beam", "1e-80", "-pbeam", "1e-80", "-wbeam", "1e-70")
	if c.Fair {
		// Scores count from the best of all states that were looked at in a frame: in two grammars these
		// are others, unless all states of the model are.
		return append(args, "-topn", "2", "-compallsen", "yes")
	}
	return append(args, "-topn", "8")
}

func (c Config) model() string {
	if c.Model == "" {
		return Model
	}
	return c.Model
}

// features writes the model's own settings of features anew, without taking the mean off: what is on
// the command line counts less than they do. Whoever is given the file removes it.
func (c Config) features() (path string, err error) {
	own, err := os.ReadFile(filepath.Join(c.acoustic(), "feat.params"))
	if err != nil {
		return "", fmt.Errorf("%w: %w: install Debian's package pocketsphinx-en-us", hear.ErrMissing, err)
	}
	f, err := os.CreateTemp("", "readback-features-*")
	if err != nil {
		return "", fmt.Errorf("a file for the settings of the recogniser: %w", err)
	}
	for line := range strings.Lines(string(own)) {
		setting := strings.Fields(line)
		if len(setting) > 0 && setting[0] != "-cmn" && setting[0] != "-cmninit" && err == nil {
			_, err = f.WriteString(strings.Join(setting, " ") + "\n")
		}
	}
	if err == nil {
		_, err = f.WriteString("-cmn none\n")
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return f.Name(), fmt.Errorf("a file for the settings of the recogniser: %w", err)
	}
	return f.Name(), nil
}

// Acoustic is the folder of the acoustic model in that of all models; "" is [Model].
func Acoustic(model string) string { return Config{Model: model}.acoustic() }

func (c Config) acoustic() string { return filepath.Join(c.model(), "en-us") }
func (c Config) loop() string     { return filepath.Join(c.model(), "en-us-phone.lm.bin") }

func (c Config) language() string { return filepath.Join(c.model(), "en-us.lm.bin") }

// check looks whether the files are there: the library says only that it could not start.
func (c Config) check() error {
	paths := []string{filepath.Join(c.acoustic(), "mdef"), filepath.Join(c.acoustic(), "sendump"), filepath.Join(c.acoustic(), "feat.params")}
	if c.Phones {
		paths = append(paths, c.loop())
	}
	if c.Free {
		paths = append(paths, c.language())
	}
	for _, path := range paths {
		if _, err := os.Stat(path); err != nil {
			return fmt.Errorf("%w: %w: install Debian's package pocketsphinx-en-us", hear.ErrMissing, err)
		}
	}
	if c.Dict == "" {
		return errors.New("a recogniser needs a dictionary: none was named")
	}
	info, err := os.Stat(c.Dict)
	switch {
	case err != nil:
		return fmt.Errorf("the dictionary of the recogniser: %w", err)
	case !info.Mode().IsRegular():
		return fmt.Errorf("the dictionary of the recogniser: %w", &fs.PathError{Op: "read", Path: c.Dict, Err: errors.New("not a file")})
	}
	return nil
}

// Installed says in words what is missing, nil where all is there.
func Installed(model string) error {
	if _, err := load(); err != nil {
		return err
	}
	c := Config{Model: model, Dict: os.DevNull, Phones: true}
	if err := c.check(); errors.Is(err, hear.ErrMissing) {
		return err
	}
	return nil
}
