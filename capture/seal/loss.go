package seal

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"readback/capture/journal"
)

// ErrNothingLost is of a witness that knows nothing which the log does not have.
var ErrNothingLost = errors.New("the witness knows nothing that is not here: nothing is lost")

// Lose writes into the log of a data folder that its end was lost: that it goes on from an older copy, and is not
// what the witness knows. by is who says so and why the reason; neither may be empty. It is signed by the key, and
// every bundle that is exported from then on tells it. What the log has must be what was signed: a record that was
// changed gives [ErrChanged], and this is no way round that. No sealer may be open meanwhile.
func Lose(ctx context.Context, cfg Config, by, why string) (lost SignedHead, status Status, err error) {
	by, why = strings.TrimSpace(by), strings.TrimSpace(why)
	if by == "" || why == "" || !utf8.ValidString(by+why) {
		return lost, status, errors.New("who says so and the reason are needed, in words")
	}
	if lost, err = ReadHead(cfg.Witness); err != nil {
		return lost, status, err
	}
	cfg.Witness = "" // the sealer would stop at what it knows
	c, err := chainOf(cfg.Data)
	if err != nil {
		return lost, status, err
	}
	if log, err := c.log(); err != nil || lost.Head.Log != log {
		return lost, status, errors.Join(err, errors.New("the head of the witness is of another log: is it the file of another shop?"))
	}
	if !c.signed(lost) {
		return lost, status, errors.New("the last head of the witness is signed by no key that this log tells of, so the key was changed after the backup, and what was lost cannot be told in this log by its head: look for a backup made after that; if there is none, `readback key give-up --why` says in the log what happened, and the server then needs a new file for --witness: keep the old one")
	}
	if c.gaveUp(lost) {
		return lost, status, fmt.Errorf("%w: the log tells of that head already", ErrNothingLost)
	}
	s, err := openWith(ctx, cfg, true)
	if err != nil {
		return lost, status, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if err := s.catchUp(ctx); err != nil {
		return lost, status, err
	}
	if err := s.lose(ctx, lost, by, why); err != nil {
		return lost, status, err
	}
	err = s.catchUp(ctx)
	return lost, s.Status(), err
}

func (s *Sealer) lose(ctx context.Context, lost SignedHead, by, why string) error {
	size := s.build.shop.size()
	if lost.Head.Size <= size {
		root, err := s.trees.of(ctx, shopTree).rootAt(lost.Head.Size)
		if err != nil {
			return err
		}
		if root == lost.Head.Root {
			return ErrNothingLost
		}
	}
	key := s.key.Public()
	before := key.Fingerprint()
	event := Event{At: journal.InstantOf(s.cfg.Now()), Event: LogLost, Key: key, Before: &before, Why: why, By: by, Lost: &lost}
	signature, err := s.key.sign(keyContext, event)
	if err != nil {
		return err
	}
	event.Signature = &signature
	placed := KeyEvent{Index: size, Entry: event}
	if fault := append(slices.Clip(s.chain), placed).fault(); fault != "" {
		return fmt.Errorf("tell what is lost: %s", fault)
	}
	if err := appendEvent(s.path(keysFile), placed); err != nil {
		return err
	}
	s.chain = append(s.chain, placed)
	s.build.chain = s.chain
	return nil
}
