package seal

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/folder"
	"readback/capture/journal"
)

const (
	linger       = 100 * time.Millisecond // how long an entry may wait for more, so that few heads are signed
	idle         = 5 * time.Second        // what a missed notice costs at most
	rest         = 2 * time.Second        // before trying again after an error
	finishWithin = 3 * time.Second        // to seal what came last before a stop
	remind       = time.Hour              // between two words about a record that was changed
)

// Config is what a [Sealer] is made of. Every field but KeyFile and Witness must be set.
type Config struct {
	Data    string // the data folder
	KeyFile string // where the key lies; "" for the state folder of the user
	Witness string // a file on another disk that gets each head as well; "" for none
	Source  Source
	Notice  func() <-chan struct{} // gives a channel that is closed at the next commit
	Now     func() time.Time
	Log     zerolog.Logger
}

// Sealer follows a journal and seals it. Notes never wait for it. Use [Open].
type Sealer struct {
	cfg   Config
	key   *Key
	chain chain
	log   Hash
	heads *lines
	trees *trees
	build *builder
	sound bool // the trees are what the newest head was signed of
	told  map[string]bool

	mu       sync.Mutex
	head     SignedHead
	trouble  error
	behind   error
	witness  error
	unsealed []string      // jobs
	agreed   bool          // the witness, if it could be asked, knows nothing else
	signed   chan struct{} // closed and replaced at each head, and when there is trouble
}

// Open opens the seal of a data folder and its key; both are made at the first start, with an empty
// journal or one from before. Of the key it returns [ErrKeyMode], [ErrKeyInside], [ErrKeyGone],
// [ErrKeyOther] or [ErrKeyFile]. A record that was changed is no error: see [Sealer.Status].
func Open(ctx context.Context, cfg Config) (*Sealer, error) { return openWith(ctx, cfg, true) }

func openWith(ctx context.Context, cfg Config, needKey bool) (*Sealer, error) {
	s := &Sealer{cfg: cfg, signed: make(chan struct{}), told: map[string]bool{}}
	if err := os.MkdirAll(s.path(""), 0o700); err != nil {
		return nil, fmt.Errorf("open the seal: %w", err)
	}
	if err := folder.Sync(cfg.Data); err != nil {
		return nil, fmt.Errorf("open the seal: %w", err)
	}
	err := s.open(ctx, needKey)
	if errors.Is(err, ErrChanged) {
		s.stop(err)
		err = nil
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open the seal: %w", err), s.Close())
	}
	return s, nil
}

func (s *Sealer) path(name string) string { return filepath.Join(s.cfg.Data, sealFolder, name) }

// open reads what is there. Without needKey, nothing can be signed.
func (s *Sealer) open(ctx context.Context, needKey bool) (err error) {
	if s.chain, err = readChain(s.path(keysFile)); err != nil {
		return err
	}
	if len(s.chain) == 0 {
		if err := s.first(); err != nil {
			return err
		}
	}
	if s.log, err = s.chain.log(); err != nil {
		return err
	}
	if needKey {
		if s.key, err = findKey(s.cfg, s.chain); err != nil {
			return err
		}
	}
	var last []byte
	if s.heads, last, err = openLines(s.path(headsFile), 0o600); err != nil {
		return err
	}
	if last != nil {
		if s.head, err = readHead(last); err != nil {
			return changed("the last line of %s: %w", headsFile, err)
		}
		if err := s.chain.checkHead(s.head); err != nil {
			s.head = SignedHead{}
			return err
		}
	}
	if s.trees, err = openTrees(ctx, s.path(treesFile)); err != nil {
		s.cfg.Log.Warn().Err(err).Msg("trees of the seal are torn and are built again")
		if err := removeTrees(s.path(treesFile)); err != nil {
			return err
		}
		s.trees, err = openTrees(ctx, s.path(treesFile))
	}
	return err
}

// first begins a log: it makes a key, or takes the one that was given, and tells of it.
func (s *Sealer) first() error {
	for _, name := range []string{headsFile, treesFile} {
		if _, err := os.Stat(s.path(name)); !errors.Is(err, fs.ErrNotExist) {
			return changed("%s is there, and %s, which tells whose heads those are, is not", name, keysFile)
		}
	}
	var key *Key
	var err error
	if s.cfg.KeyFile != "" {
		if key, err = readKey(s.cfg.KeyFile, s.cfg.Data); errors.Is(err, ErrKeyGone) {
			err = nil
		}
	}
	if key == nil && err == nil {
		key, err = newKey()
	}
	if err != nil {
		return err
	}
	event := Event{At: journal.InstantOf(s.cfg.Now()), Event: KeyMade, Key: key.Public()}
	s.chain = chain{{Index: 0, Entry: event}}
	if key.path == "" {
		path, err := keyPath(s.cfg.KeyFile, s.chain)
		if err != nil {
			return err
		}
		if err := key.write(path, s.cfg.Data); err != nil {
			return err
		}
	}
	return appendEvent(s.path(keysFile), s.chain[0])
}

func appendEvent(path string, e KeyEvent) error {
	file, _, err := openLines(path, 0o600)
	if err != nil {
		return err
	}
	line, err := canonicalOf(e)
	if err == nil {
		err = file.add(line)
	}
	return errors.Join(err, file.close())
}

// keyPath returns where the key of a log lies.
func keyPath(given string, c chain) (string, error) {
	if given != "" {
		return given, nil
	}
	log, err := c.log()
	if err != nil {
		return "", err
	}
	return usualKey(log)
}

// nextKey is behind the name of a key's file when the next key is about to take its place.
const nextKey = ".next"

// findKey reads the key that signs a log. Of a rotation that was cut short it ends the last step.
func findKey(cfg Config, c chain) (*Key, error) {
	path, err := keyPath(cfg.KeyFile, c)
	if err != nil {
		return nil, err
	}
	want := c[len(c)-1].Entry.Key
	key, err := readKey(path, cfg.Data)
	if err == nil && key.Public() == want {
		return key, nil
	}
	next, errNext := readKey(path+nextKey, cfg.Data)
	if errNext == nil && next.Public() == want {
		if err := os.Rename(path+nextKey, path); err != nil {
			return nil, fmt.Errorf("put the new key in its place: %w", err)
		}
		next.path = path
		return next, folder.Sync(filepath.Dir(path))
	}
	if err == nil {
		err = fmt.Errorf("key in %s: %w (%s)", path, ErrKeyOther, want.Fingerprint())
	}
	return nil, err
}

// Close frees the files. [Sealer.Run] must have ended.
func (s *Sealer) Close() error {
	var errs []error
	if s.heads != nil {
		errs = append(errs, s.heads.close())
	}
	if s.trees != nil {
		errs = append(errs, s.trees.close())
	}
	return errors.Join(errs...)
}

// stop tells that the record was changed. Nothing is signed from then on.
func (s *Sealer) stop(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.trouble = err
	s.wake()
	s.cfg.Log.Error().Err(err).Msg("nothing is sealed any more")
}

// wake tells those who wait that something is new. s.mu is held.
func (s *Sealer) wake() {
	close(s.signed)
	s.signed = make(chan struct{})
}

// Run seals until ctx is done, and returns its cause, wrapped. Nothing else ends it but a closed journal.
// A record that was changed is said again each hour; notes are taken all the same. At the end it waits for the
// witness, but not for ever: its disk may hang, and what is left then uses no file of the sealer.
func (s *Sealer) Run(ctx context.Context) error {
	if s.cfg.Witness != "" {
		told := make(chan struct{})
		go func() {
			defer close(told)
			s.tellWitness(ctx)
		}()
		defer s.leaveWitness(told)
	}
	for {
		err := s.trouble
		pause := remind
		if err == nil {
			err, pause = s.follow(ctx), rest
		}
		switch {
		case ctx.Err() != nil:
			s.finish(ctx)
			return fmt.Errorf("seal the journal: %w", context.Cause(ctx))
		case errors.Is(err, journal.ErrClosed):
			return fmt.Errorf("seal the journal: %w", err)
		case errors.Is(err, ErrChanged):
			s.stop(err)
			pause = remind
		default:
			s.setBehind(err)
			s.cfg.Log.Warn().Err(err).Msg("seal fell behind")
		}
		_ = journal.Wait(ctx, nil, pause) // ctx is looked at above
	}
}

// finish seals what was kept before the stop. What it does not come to is sealed at the next start.
func (s *Sealer) finish(ctx context.Context) {
	if s.trouble != nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), finishWithin)
	defer cancel()
	if err := s.catchUp(ctx); err != nil {
		s.cfg.Log.Warn().Err(err).Msg("what came last is sealed at the next start")
	}
}

// follow seals what comes until something fails.
func (s *Sealer) follow(ctx context.Context) error {
	if err := s.prepare(ctx); err != nil {
		return err
	}
	for {
		notice := s.cfg.Notice() // before reading, so that nothing is missed in between
		n, err := s.build.advance(ctx, s.cfg.Source)
		if err != nil {
			return err
		}
		if err := s.settle(ctx, n < readAtOnce); err != nil {
			return err
		}
		if n == readAtOnce {
			continue
		}
		if err := journal.Wait(ctx, notice, idle); err != nil {
			return err
		}
		if err := journal.Wait(ctx, nil, linger); err != nil {
			return err
		}
	}
}

// settle checks the trees against the newest head, once they have come so far, and signs the next. end says
// that the journal has no more.
func (s *Sealer) settle(ctx context.Context, end bool) error {
	size := s.build.shop.size()
	if !s.sound {
		switch {
		case size < s.head.Head.Size && !end:
			return nil
		case size < s.head.Head.Size:
			return s.rebuild(ctx)
		}
		root, err := s.trees.of(ctx, shopTree).rootAt(s.head.Head.Size)
		if s.head.Head.Size > 0 && (err != nil || root != s.head.Head.Root) {
			return s.rebuild(ctx)
		}
		if !s.agreed {
			if !end && s.cfg.Witness != "" { // it may know of more than has been read yet
				return nil
			}
			if err := s.askWitness(ctx); err != nil {
				return err
			}
		}
		s.sound = true
	}
	if size != s.head.Head.Size && s.key != nil {
		if err := s.sign(); err != nil {
			return err
		}
	}
	s.setBehind(nil)
	return nil
}

// sign signs the head of the log as it is.
func (s *Sealer) sign() error {
	root, err := s.build.shop.root()
	if err != nil {
		return err
	}
	head, err := s.key.SignHead(Head{At: journal.InstantOf(s.cfg.Now()), Log: s.log, Root: root, Size: s.build.shop.size()})
	if err != nil {
		return err
	}
	line, err := canonicalOf(head)
	if err != nil {
		return err
	}
	if err := s.heads.add(line); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.head = head
	s.wake()
	return nil
}

// Prove waits until a job is sealed with so many entries, for a while, and returns its seal; see
// [Record.Prove].
func (s *Sealer) Prove(ctx context.Context, job string, entries, since uint64) (*Seal, error) {
	for waits := true; ; {
		s.mu.Lock()
		record, signed, trouble := s.record(), s.signed, s.trouble
		s.mu.Unlock()
		n := uint64(0)
		if record != nil {
			var err error
			if n, _, err = record.reach(ctx, job, entries); err != nil && !errors.Is(err, ErrNone) {
				return nil, err
			}
		}
		if n < entries && trouble == nil && waits {
			if err := journal.Wait(ctx, signed, idle); err != nil {
				return nil, fmt.Errorf("prove job %s: %w", job, err)
			}
			waits = isClosed(signed) // or nothing came in all that time
			continue
		}
		if record == nil {
			return nil, errors.Join(ErrNone, trouble)
		}
		return record.Prove(ctx, job, entries, since)
	}
}

// Sign signs how many entries the job had, and what else a bundle says; see [Record.Sign].
func (s *Sealer) Sign(ctx context.Context, seal *Seal, rest map[string]json.RawMessage) error {
	s.mu.Lock()
	record := s.record()
	s.mu.Unlock()
	if record == nil {
		return ErrNone
	}
	return record.Sign(ctx, seal, rest)
}

// record returns the newest head with the trees that prove it, nil if there is none. s.mu is held.
func (s *Sealer) record() *Record {
	if s.trees == nil || s.key == nil || s.head.Head.Size == 0 {
		return nil
	}
	return &Record{trees: s.trees, chain: s.chain, head: s.head, key: s.key, now: s.cfg.Now}
}

func isClosed(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}
