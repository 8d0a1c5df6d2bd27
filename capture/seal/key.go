package seal

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"readback/capture/folder"
)

// What is wrong with the file of a key.
var (
	ErrKeyMode   = errors.New("others may read the key")
	ErrKeyInside = errors.New("the key lies in the data folder, and would go wherever that is copied")
	ErrKeyFile   = errors.New("it is not the file of a key")
	ErrKeyGone   = errors.New("the key that signs this record is not there")
	ErrKeyOther  = errors.New("it is another key than the one that signs this record")
)

// Key signs heads.
type Key struct {
	private ed25519.PrivateKey
	path    string
}

// keyBytes is more than any file of a key has.
const keyBytes = 4096

// newKey makes a key that has no file yet.
func newKey() (*Key, error) {
	_, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	return &Key{private: private}, nil
}

// Public returns the public half.
func (k *Key) Public() Public { return Public(k.private[ed25519.SeedSize:]) }

// Path returns where the key lies.
func (k *Key) Path() string { return k.path }

func (k *Key) sign(context string, what any) (Signature, error) {
	text, err := message(context, what)
	if err != nil {
		return Signature{}, err
	}
	return Signature(ed25519.Sign(k.private, text)), nil
}

// SignHead signs a head as its key.
func (k *Key) SignHead(h Head) (SignedHead, error) {
	h.Key = k.Public().Fingerprint()
	signature, err := k.sign(headContext, h)
	return SignedHead{Head: h, Signature: signature}, err
}

// readKey reads the file of a key (PKCS #8 in PEM), which must be for its owner alone and outside data.
func readKey(path, data string) (*Key, error) {
	if err := outside(path, data); err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("key in %s: %w", path, ErrKeyGone)
	}
	if err != nil {
		return nil, fmt.Errorf("key in %s: %w", path, err)
	}
	defer func() { _ = f.Close() }() // it was only read
	info, err := f.Stat()
	if err != nil {
		return nil, fmt.Errorf("key in %s: %w", path, err)
	}
	if !info.Mode().IsRegular() || info.Size() > keyBytes {
		return nil, fmt.Errorf("key in %s: %w", path, ErrKeyFile)
	}
	if mode := info.Mode().Perm(); mode&0o177 != 0 {
		return nil, fmt.Errorf("key in %s, mode %04o: %w", path, mode, ErrKeyMode)
	}
	text := make([]byte, info.Size())
	if _, err := f.ReadAt(text, 0); err != nil {
		return nil, fmt.Errorf("key in %s: %w", path, err)
	}
	block, _ := pem.Decode(text)
	if block == nil || block.Type != "PRIVATE KEY" {
		return nil, fmt.Errorf("key in %s: %w", path, ErrKeyFile)
	}
	parsed, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	private, ok := parsed.(ed25519.PrivateKey)
	if err != nil || !ok {
		return nil, fmt.Errorf("key in %s: %w", path, ErrKeyFile)
	}
	return &Key{private: private, path: path}, nil
}

// write puts the key into a new file, for its owner alone, outside data. What is there is not written over.
func (k *Key) write(path, data string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("folder of the key: %w", err)
	}
	if err := outside(path, data); err != nil {
		return err
	}
	der, err := x509.MarshalPKCS8PrivateKey(k.private)
	if err != nil {
		return fmt.Errorf("write the key: %w", err)
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("write the key: %w", err)
	}
	err = errors.Join(f.Chmod(0o600), pem.Encode(f, &pem.Block{Type: "PRIVATE KEY", Bytes: der}), f.Sync(), f.Close(), folder.Sync(filepath.Dir(path)))
	if err != nil {
		return errors.Join(fmt.Errorf("write the key to %s: %w", path, err), os.Remove(path))
	}
	k.path = path
	return nil
}

// outside checks that a file does not lie in the data folder, whatever links lead there.
func outside(path, data string) error {
	dir, err := folder.Resolved(data)
	if err != nil {
		return err
	}
	for _, name := range []string{path, filepath.Dir(path)} {
		at, err := folder.Resolved(name)
		if err != nil {
			return err
		}
		if folder.Inside(dir, at) {
			return fmt.Errorf("key in %s: %w", path, ErrKeyInside)
		}
	}
	return nil
}

// usualKey is where the key of a log lies if nothing else is said: in the state folder of the user (XDG), by
// the name of the log, so that it is found wherever the data folder goes.
func usualKey(log Hash) (string, error) {
	state := os.Getenv("XDG_STATE_HOME")
	if !filepath.IsAbs(state) { // as the XDG specification has it
		home, err := os.UserHomeDir()
		if err != nil {
			return "", fmt.Errorf("this user has no folder of its own for the key: %w", err)
		}
		state = filepath.Join(home, ".local", "state")
	}
	return filepath.Join(state, "readback", "seal-"+log.String()[:16]+".key"), nil
}
