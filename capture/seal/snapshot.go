package seal

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"readback/capture/folder"
)

// Snapshot copies what cannot be made again of the seal of a data folder into the folder to, also beside a server:
// the heads first, and the events of the key behind them, so that each head has its key. A journal that is copied
// later has all that those heads were signed of. A folder without a seal gives none. What it wrote is on the disk.
func Snapshot(data, to string) error {
	if err := os.MkdirAll(filepath.Join(to, sealFolder), 0o700); err != nil {
		return fmt.Errorf("copy the seal: %w", err)
	}
	for _, name := range []string{headsFile, keysFile} {
		err := copyLines(filepath.Join(data, sealFolder, name), filepath.Join(to, sealFolder, name))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("copy the seal: %w", err)
		}
	}
	return folder.Sync(filepath.Join(to, sealFolder))
}

// copyLines copies the whole lines of a file into a new one.
func copyLines(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }() // it is only read
	_, end, err := lastLine(in)
	if err != nil {
		return err
	}
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.CopyN(out, in, end)
	return errors.Join(err, out.Sync(), out.Close())
}

// CopyKey copies the key that signs the record of a data folder into a new file, for its owner alone. keyFile is
// where the key lies, "" for the usual place.
func CopyKey(data, keyFile, to string) error {
	c, err := chainOf(data)
	if err != nil {
		return err
	}
	key, err := findKey(Config{Data: data, KeyFile: keyFile}, c)
	if err != nil {
		return err
	}
	copied := Key{private: key.private}
	return copied.write(to, data)
}

// PlaceKey copies a key that [CopyKey] has copied to where it signs the record of a data folder: keyFile, or the usual
// place for "". The same key that is there already is no error; another one is [ErrKeyOther], and stays.
func PlaceKey(from, data, keyFile string) (path string, err error) {
	c, err := chainOf(data)
	if err != nil {
		return "", err
	}
	if path, err = keyPath(keyFile, c); err != nil {
		return "", err
	}
	key, err := readKey(from, data)
	if err != nil {
		return "", err
	}
	if want := c[len(c)-1].Entry.Key; key.Public() != want {
		return "", fmt.Errorf("key in %s: %w (%s)", from, ErrKeyOther, want.Fingerprint())
	}
	switch there, err := readKey(path, data); {
	case errors.Is(err, ErrKeyGone):
		return path, (&Key{private: key.private}).write(path, data)
	case err != nil:
		return "", err
	case there.Public() != key.Public():
		return "", fmt.Errorf("key in %s: %w (%s)", path, ErrKeyOther, key.Public().Fingerprint())
	}
	return path, nil
}
