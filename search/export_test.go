package search

import "errors"

// SpoilMapping makes the index in dir one of another mapping.
func SpoilMapping(dir string) error {
	index, err := openSafely(dir)
	if err != nil {
		return err
	}
	return errors.Join(index.SetInternal(keyMapping, []byte("another")), index.Close())
}

// OpenWithoutStems returns an empty index in memory where endings count.
func OpenWithoutStems() (*Index, error) { return open("", false) }

// Forms lists what means the same as a word.
func (x *Index) Forms(word string) []string {
	w := x.words.Load()
	_, groups := w.longest(w.stem(word))
	return w.say(groups)
}
