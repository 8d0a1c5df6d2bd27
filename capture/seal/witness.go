package seal

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"readback/capture/journal"
)

// witnessWithin is how long the file of the witness may take to be read at the start, and to be written and
// closed at the end: its disk may hang.
const witnessWithin = 5 * time.Second

// tellWitness appends each new head to the file of the witness, until ctx is done. A disk that is full, gone
// or slow is told, and tried again at the next head.
func (s *Sealer) tellWitness(ctx context.Context) {
	var file *lines
	defer func() {
		if file != nil {
			_ = file.close()
		}
	}()
	var last uint64
	for {
		s.mu.Lock()
		head, signed := s.head, s.signed
		s.mu.Unlock()
		if s.isSound() && head.Head.Size > last {
			err := s.witnessOne(&file, head)
			if err == nil {
				last = head.Head.Size
			}
			s.setWitness(err)
		}
		if journal.Wait(ctx, signed, idle) != nil {
			return
		}
	}
}

// leaveWitness waits until the witness is told, or does not answer.
func (s *Sealer) leaveWitness(told <-chan struct{}) {
	_ = journal.Wait(context.Background(), told, witnessWithin) // it never ends with an error
	if !isClosed(told) {
		s.cfg.Log.Error().Msg("disk of the witness does not answer, and is left alone")
	}
}

func (s *Sealer) isSound() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.agreed && s.trouble == nil
}

// witnessOne appends a head, unless the file has it already.
func (s *Sealer) witnessOne(file **lines, head SignedHead) error {
	if *file == nil {
		opened, last, err := openLines(s.cfg.Witness, 0o644)
		if err != nil {
			return err
		}
		*file = opened
		if last != nil {
			was, err := readHead(last)
			if err != nil {
				return s.dropWitness(file, fmt.Errorf("the last line of %s: %w", s.cfg.Witness, err))
			}
			if was.Head.Log != s.log {
				return s.dropWitness(file, fmt.Errorf("%s has the heads of another log: each needs a file of its own", s.cfg.Witness))
			}
			if was.Head.Size >= head.Head.Size && !s.givenUp(was) {
				return nil
			}
		}
	}
	line, err := canonicalOf(head)
	if err != nil {
		return err
	}
	if err := (*file).add(line); err != nil {
		return s.dropWitness(file, err) // the disk may come back as another
	}
	return nil
}

func (s *Sealer) dropWitness(file **lines, err error) error {
	err = errors.Join(err, (*file).close())
	*file = nil
	return err
}

func (s *Sealer) setWitness(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err != nil && s.witness == nil {
		s.cfg.Log.Error().Err(err).Msg("witness gets no heads")
	}
	if err == nil && s.witness != nil {
		s.cfg.Log.Info().Msg("witness gets heads again")
	}
	s.witness = err
}

// askWitness compares the log with the last head that the witness has: one that the log did not grow from
// says that the record was changed, or put back from an older copy. What cannot be read is told, and no more.
func (s *Sealer) askWitness(ctx context.Context) error {
	if s.cfg.Witness == "" {
		s.agreed = true // without a lock: nobody else looks without a witness
		return nil
	}
	type answer struct {
		line []byte
		err  error
	}
	asked := make(chan answer, 1)
	go func() {
		f, err := os.Open(s.cfg.Witness)
		if errors.Is(err, os.ErrNotExist) {
			asked <- answer{}
			return
		}
		var line []byte
		if err == nil {
			line, _, err = lastLine(f)
			err = errors.Join(err, f.Close())
		}
		asked <- answer{line, err}
	}()
	var got answer
	timer := time.NewTimer(witnessWithin)
	defer timer.Stop()
	select {
	case got = <-asked:
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		got.err = errors.New("its disk does not answer")
	}
	if got.err == nil && got.line != nil {
		var err error
		if got.err, err = s.against(ctx, got.line); err != nil {
			return err
		}
	}
	if got.err != nil {
		s.setWitness(fmt.Errorf("read %s: %w", s.cfg.Witness, got.err))
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.agreed = true
	return nil
}

// against compares the log with a head that the witness has. unread says that it is none of this log.
func (s *Sealer) against(ctx context.Context, line []byte) (unread, err error) {
	was, err := readHead(line)
	if err != nil {
		return err, nil
	}
	if s.givenUp(was) {
		return nil, nil
	}
	if s.chain.checkHead(was) != nil {
		return errors.New("its last head is not of this log"), nil
	}
	if size := s.build.shop.size(); was.Head.Size > size {
		return nil, changed("the witness has a head of %d leaves, and the log has %d: the record was put back from an older copy", was.Head.Size, size)
	}
	root, err := s.trees.of(ctx, shopTree).rootAt(was.Head.Size)
	if err != nil {
		return nil, err
	}
	if root != was.Head.Root {
		return nil, changed("the witness has another head of %d leaves", was.Head.Size)
	}
	return nil, nil
}

// givenUp reports whether the log tells of a head that it is lost.
func (s *Sealer) givenUp(h SignedHead) bool { return s.chain.gaveUp(h) }

func (c chain) gaveUp(h SignedHead) bool {
	for _, e := range c {
		if e.Entry.Event == LogLost && *e.Entry.Lost == h {
			return true
		}
	}
	return false
}
