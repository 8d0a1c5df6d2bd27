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
