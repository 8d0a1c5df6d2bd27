package sphinx

import (
	"bufio"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"

	"readback/capture/hear"
)

// phones are those of the American English model, ARPAbet without stress.
var phones = strings.Fields(`AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH
	T TH UH UW V W Y Z ZH`)

// WriteDict writes a dictionary: pronunciations in ARPAbet by word, variants as word(2).
// The library would skip what it cannot read, and then not hear it; here it is an error
// that wraps [hear.ErrGrammar].
func WriteDict(w io.Writer, sounds map[string]string) error {
	if len(sounds) == 0 {
		return fmt.Errorf("%w: no word has a pronunciation", hear.ErrGrammar)
	}
	out := bufio.NewWriter(w)
	for _, word := range slices.Sorted(maps.Keys(sounds)) {
		sound := strings.Fields(sounds[word])
		if err := checkSound(word, sound, sounds); err != nil {
			return err
		}
		fmt.Fprintln(out, word, strings.Join(sound, " "))
	}
	return out.Flush()
}

func checkSound(word string, sound []string, sounds map[string]string) error {
	base := base(word)
	switch _, has := sounds[base]; {
	case !isWord(base):
		return fmt.Errorf("%w: %q is no word: small letters and apostrophes only", hear.ErrGrammar, word)
	case !has:
		return fmt.Errorf("%w: %q is a variant of %q, which has no pronunciation", hear.ErrGrammar, word, base)
	case len(sound) == 0:
		return fmt.Errorf("%w: the pronunciation of %q is empty", hear.ErrGrammar, word)
	}
	for _, phone := range sound {
		if !slices.Contains(phones, phone) {
			return fmt.Errorf("%w: the pronunciation of %q holds %q, which is no sound of ARPAbet", hear.ErrGrammar, word, phone)
		}
	}
	return nil
}

// base is a word without the number of its variant: metre for metre(2).
func base(word string) string {
	if i := strings.IndexByte(word, '('); i > 0 && strings.HasSuffix(word, ")") {
		return word[:i]
	}
	return word
}

// isWord tells whether a text can be a word of a grammar.
func isWord(s string) bool {
	for _, r := range s {
		if (r < 'a' || r > 'z') && r != '\'' {
			return false
		}
	}
	return s != ""
}

// readDict returns how the words of a dictionary sound, variants as word(2).
func readDict(path string) (map[string]string, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("the dictionary of the recogniser: %w", err)
	}
	defer func() { _ = f.Close() }()
	words := map[string]string{}
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		if word, sound, ok := strings.Cut(lines.Text(), " "); ok {
			words[word] = sound
		}
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("the dictionary of the recogniser: %w", err)
	}
	return words, nil
}
