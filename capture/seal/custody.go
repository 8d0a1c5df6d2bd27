package seal

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"

	"readback/capture/journal"
)

// Rotate puts a new key in the place of the one of a data folder, and signs the next head with it. The old
// key vouches for the new one, and is gone. No sealer may be open meanwhile.
func Rotate(ctx context.Context, cfg Config, why string) (Status, error) {
	return replace(ctx, cfg, KeyRotated, why)
}

// GiveUp puts a new key in the place of one that is lost, or that somebody else may have. Nothing vouches for
// the new one: whoever knew the old one has to be told its fingerprint. A file of the old key that is still
// there is kept beside it, with the ending ".given-up", or ".given-up-2" and so on. If it fails before the log
// tells of the new key, the old one is where it was.
func GiveUp(ctx context.Context, cfg Config, why string) (Status, error) {
	return replace(ctx, cfg, KeyLost, why)
}

func replace(ctx context.Context, cfg Config, how, why string) (status Status, err error) {
	c, err := chainOf(cfg.Data)
	if err != nil {
		return Status{}, err
	}
	s, err := openWith(ctx, cfg, how != KeyLost)
	if err != nil {
		return Status{}, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if err := s.catchUp(ctx); err != nil {
		return Status{}, err
	}
	putBack := func() error { return nil }
	if how == KeyLost { // and not before it is sure that the log can go on
		if putBack, err = setAside(cfg, c); err != nil {
			return Status{}, err
		}
	}
	if err := s.exchange(how, why); err != nil {
		if len(s.chain) == len(c) { // the log does not tell of another key
			err = errors.Join(err, putBack())
		}
		return Status{}, err
	}
	err = s.catchUp(ctx)
	return s.Status(), err
}

// setAside takes the file of a key that is given up out of the way, to a name that nothing has yet; putBack
// undoes that.
func setAside(cfg Config, c chain) (putBack func() error, err error) {
	path, err := keyPath(cfg.KeyFile, c)
	if err != nil {
		return nil, err
	}
	aside, err := freeName(path + ".given-up")
	if err == nil {
		err = os.Rename(path, aside)
	}
	switch {
	case errors.Is(err, os.ErrNotExist):
		return func() error { return nil }, nil
	case err != nil:
		return nil, fmt.Errorf("set the old key aside: %w", err)
	}
	return func() error {
		if err := os.Rename(aside, path); err != nil {
			return fmt.Errorf("put the old key back, which is %s now: %w", aside, err)
		}
		return nil
	}, nil
}

// freeName returns name, or the first of name-2, name-3 ... that nothing has.
func freeName(name string) (string, error) {
	for n, free := 2, name; ; n++ {
		switch _, err := os.Lstat(free); {
		case errors.Is(err, os.ErrNotExist):
			return free, nil
		case err != nil:
			return "", err
		}
		free = fmt.Sprintf("%s-%d", name, n)
	}
}

// catchUp seals all that there is.
func (s *Sealer) catchUp(ctx context.Context) error {
	if s.trouble != nil {
		return s.trouble
	}
	if err := s.prepare(ctx); err != nil {
		return err
	}
	for {
		n, err := s.build.advance(ctx, s.cfg.Source)
		if err != nil {
			return err
		}
		if err := s.settle(ctx, n < readAtOnce); err != nil {
			return err
		}
		if n < readAtOnce {
			return nil
		}
	}
}

// exchange makes the next key and tells of it in the log, behind all that is sealed. The new key is on the disk
// before anything tells of it, and in its place last: findKey ends what a crash cuts short.
func (s *Sealer) exchange(how, why string) error {
	path, err := keyPath(s.cfg.KeyFile, s.chain)
	if err != nil {
		return err
	}
	if err := os.Remove(path + nextKey); err != nil && !errors.Is(err, os.ErrNotExist) { // of an exchange that was cut short before it was told of
		return fmt.Errorf("make the next key: %w", err)
	}
	next, err := newKey()
	if err != nil {
		return err
	}
	before := s.chain[len(s.chain)-1].Entry.Key.Fingerprint()
	event := Event{At: journal.InstantOf(s.cfg.Now()), Event: how, Key: next.Public(), Before: &before, Why: why}
	if how == KeyRotated {
		signature, err := s.key.sign(keyContext, event)
		if err != nil {
			return err
		}
		event.Signature = &signature
	}
	placed := KeyEvent{Index: s.build.shop.size(), Entry: event}
	if fault := append(slices.Clip(s.chain), placed).fault(); fault != "" {
		return fmt.Errorf("exchange the key: %s", fault)
	}
	if err := next.write(path+nextKey, s.cfg.Data); err != nil {
		return err
	}
	if err := appendEvent(s.path(keysFile), placed); err != nil {
		return err
	}
	s.chain = append(s.chain, placed)
	s.key, err = findKey(s.cfg, s.chain)
	return err
}
