package seal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"readback/capture/journal"
)

// Where the seal lies in the data folder. The two files of lines are what cannot be made again.
const (
	sealFolder = "seal"
	keysFile   = "keys.jsonl"  // each event of the key, where it stands in the shop log
	headsFile  = "heads.jsonl" // each signed head
	treesFile  = "trees.db"    // a cache
)

// ErrChanged is of a record that is not what was sealed: it was changed, or put back from an older copy.
var ErrChanged = errors.New("the record is not what was sealed")

// ErrNone is of a data folder, or a job, that has no seal yet.
var ErrNone = errors.New("nothing is sealed here")

// ErrShort is of entries of a job that are not all: the trees have more of it. Either some were sealed since
// the entries were read, or the end of the job was cut off.
var ErrShort = errors.New("the job has more entries under the newest head than are here")

func changed(format string, args ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{ErrChanged}, args...)...)
}

// KeyEvent is an event of the key, where it stands in the shop log.
type KeyEvent struct {
	Index uint64 `json:"index"`
	Entry Event  `json:"entry"`
	Proof []Hash `json:"proof,omitempty"` // in a bundle: that it stands there
}

// chain is the events of the key of one log, in order; the first made the key.
type chain []KeyEvent

// log names the log.
func (c chain) log() (Hash, error) { return c[0].Entry.leaf() }

// signer returns the key that signs a head of that size.
func (c chain) signer(size uint64) Public {
	key := c[0].Entry.Key
	for _, e := range c {
		if e.Index < size {
			key = e.Entry.Key
		}
	}
	return key
}

// lastEntry returns which of the first size leaves, of which one at least is an entry's, is the last of those.
func (c chain) lastEntry(size uint64) uint64 {
	at := size - 1
	for _, e := range slices.Backward(c) {
		if e.Index == at {
			at--
		}
	}
	return at
}

// fault says what is wrong with the chain by itself, or "".
func (c chain) fault() string {
	if len(c) == 0 || c[0].Index != 0 || c[0].Entry.Event != KeyMade || c[0].Entry.Before != nil || c[0].Entry.Signature != nil {
		return "the making of the first key is not told"
	}
	for i, e := range c[1:] {
		before := c[i].Entry.Key
		switch {
		case e.Index <= c[i].Index:
			return "the events of the key stand in another order"
		case e.Entry.Before == nil || *e.Entry.Before != before.Fingerprint():
			return "an event of the key follows on another key"
		case e.Entry.Event == KeyRotated && e.Entry.vouched(before) != nil:
			return "the old key does not vouch for the new one"
		case e.Entry.Event == LogLost && !c[:i+1].toldLoss(e.Entry):
			return "that the end of the log was lost is not signed by its key, or does not say what, by whom and why"
		case e.Entry.Event == LogLost:
		case e.Entry.Event == KeyLost && e.Entry.Signature != nil, e.Entry.Event != KeyRotated && e.Entry.Event != KeyLost:
			return "an event of the key is of no known sort"
		}
	}
	return ""
}

// toldLoss reports whether an event says as it must that the end of the log was lost.
func (c chain) toldLoss(e Event) bool {
	key := c[len(c)-1].Entry.Key
	if e.Key != key || e.vouched(key) != nil || e.By == "" || e.Why == "" || e.Lost == nil {
		return false
	}
	log, err := c.log()
	return err == nil && e.Lost.Head.Log == log && c.signed(*e.Lost)
}

// signed reports whether one of the keys signed a head: of what was lost it is not known which it had to be.
func (c chain) signed(h SignedHead) bool {
	for _, e := range c {
		if h.Check(e.Entry.Key) == nil {
			return true
		}
	}
	return false
}

// lost returns the last event that tells of an end that was lost, nil for none.
func (c chain) lost() *KeyEvent {
	for i := range slices.Backward(c) {
		if c[i].Entry.Event == LogLost {
			return &c[i]
		}
	}
	return nil
}

// words tell of an end that was lost.
func (e *KeyEvent) words() string {
	return fmt.Sprintf("at %s %s wrote into the shop log that its end was lost, and that it goes on from an older copy of %d leaves (%s); the newest that is known of what was lost is a head of %d leaves, %s", clock(e.Entry.At), plain(e.Entry.By), e.Index, plain(e.Entry.Why), e.Entry.Lost.Head.Size, clock(e.Entry.Lost.Head.At))
}

func readChain(path string) (chain, error) {
	all, err := wholeLines(path)
	if err != nil {
		return nil, err
	}
	var out chain
	for _, line := range all {
		var e KeyEvent
		if err := strict(line, &e); err != nil {
			return nil, changed("%s has a line that is no event of a key: %w", keysFile, err)
		}
		out = append(out, e)
	}
	if len(out) > 0 {
		if fault := out.fault(); fault != "" {
			return nil, changed("%s: %s", keysFile, fault)
		}
	}
	return out, nil
}

// chainOf reads the events of the key of a data folder, or gives [ErrNone] where nothing is sealed yet.
func chainOf(data string) (chain, error) {
	c, err := readChain(filepath.Join(data, sealFolder, keysFile))
	if err == nil && len(c) == 0 {
		err = fmt.Errorf("%s: %w", data, ErrNone)
	}
	return c, err
}

// checkHead checks a head that is kept with a chain.
func (c chain) checkHead(h SignedHead) error {
	log, err := c.log()
	if err != nil {
		return err
	}
	if h.Head.Log != log {
		return changed("a head is of another log")
	}
	if err := h.Check(c.signer(h.Head.Size)); err != nil {
		return changed("a head of size %d: %w", h.Head.Size, err)
	}
	return nil
}

func readHead(line []byte) (SignedHead, error) {
	var h SignedHead
	if err := strict(line, &h); err != nil {
		return h, fmt.Errorf("it is no signed head: %w", err)
	}
	return h, nil
}

// Seal is what a bundle carries to prove the entries of a job.
type Seal struct {
	Version   int        `json:"version"` // 1 to [Version]
	Job       JobHead    `json:"job"`
	Leaves    []Hash     `json:"leaves"` // of the job's entries: they tell which entry it is that was changed
	Index     uint64     `json:"index"`  // of the job's head in the shop log
	Proof     []Hash     `json:"proof"`  // that it stands there
	Head      Head       `json:"head"`   // of the shop log
	Signature Signature  `json:"signature"`
	Keys      chain      `json:"keys"`             // every event of the key up to the head
	Since     *Since     `json:"since,omitempty"`  // that the log begins as it was at an earlier head
	Export    *Statement `json:"export,omitempty"` // signs what else the bundle says; without it, it says nothing else
}

// Since proves that the shop log, when it had Size leaves, had that root, and has only grown since.
type Since struct {
	Size  uint64 `json:"size"`
	Root  Hash   `json:"root"`
	Proof []Hash `json:"proof"`
}

// Record is a sealed record to read: the log of a data folder.
type Record struct {
	trees *trees
	chain chain
	head  SignedHead
	key   *Key // nil: nothing is signed
	now   func() time.Time
}

// OpenRecord opens the seal of a data folder to read, also beside a server. Without a seal it gives
// [ErrNone]. keyFile is where the key lies, "" for the usual place; a key that is not there is no error:
// see [Record.Signs]. now is the clock.
func OpenRecord(ctx context.Context, data, keyFile string, now func() time.Time) (*Record, error) {
	r, err := openHead(data, keyFile, now)
	if err != nil {
		return nil, err
	}
	if r.trees, err = readTrees(ctx, filepath.Join(data, sealFolder, treesFile)); err != nil {
		return nil, fmt.Errorf("%w: its trees are torn or gone, which the next start of the server mends: %w", ErrNone, err)
	}
	return r, nil
}

// openHead opens what there is of a seal without its trees.
func openHead(data, keyFile string, now func() time.Time) (*Record, error) {
	at := filepath.Join(data, sealFolder)
	c, err := chainOf(data)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(filepath.Join(at, headsFile))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNone, err)
	}
	line, _, err := lastLine(f)
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, fmt.Errorf("read %s: %w", headsFile, err)
	}
	if line == nil {
		return nil, fmt.Errorf("%s: %w", data, ErrNone)
	}
	r := &Record{chain: c, now: now}
	if r.head, err = readHead(line); err != nil {
		return nil, changed("the last line of %s: %w", headsFile, err)
	}
	if err := c.checkHead(r.head); err != nil {
		return nil, err
	}
	if keyFile == "" {
		if keyFile, err = usualKey(r.head.Head.Log); err != nil {
			keyFile = ""
		}
	}
	if key, err := readKey(keyFile, data); err == nil && key.Public() == c.signer(r.head.Head.Size) {
		r.key = key
	}
	return r, nil
}

// Close frees the files.
func (r *Record) Close() error { return r.trees.close() }

// Signs reports whether the key is at hand, so that [Record.Sign] can sign.
func (r *Record) Signs() bool { return r.key != nil }

// Head returns the newest signed head.
func (r *Record) Head() SignedHead { return r.head }

// Prove returns the seal of the entries of a job, of which there are so many, or of as many as the newest head
// has; [ErrNone] for none. If the newest head has more of them it gives [ErrShort]: an older head of the job
// would prove those few as well, and nobody could tell that the end is missing. since, if it is not 0, is the
// size of an earlier head that the log is to be shown to have grown from.
func (r *Record) Prove(ctx context.Context, job string, entries, since uint64) (*Seal, error) {
	n, shop, err := r.reach(ctx, job, entries)
	if err != nil {
		return nil, err
	}
	size := r.head.Head.Size
	if err := r.whole(ctx, job, n, size); err != nil {
		return nil, err
	}
	s := &Seal{Version: Version, Index: shop, Head: r.head.Head, Signature: r.head.Signature}
	if s.Leaves, err = r.trees.leaves(ctx, job, n); err != nil {
		return nil, err
	}
	s.Job = JobHead{Job: job, Size: n}
	if s.Job.Root, err = Root(s.Leaves); err != nil {
		return nil, err
	}
	log := r.trees.of(ctx, shopTree)
	if s.Proof, err = log.inclusion(shop, size); err != nil {
		return nil, err
	}
	for _, e := range r.chain {
		if e.Index >= size {
			break
		}
		if e.Proof, err = log.inclusion(e.Index, size); err != nil {
			return nil, err
		}
		s.Keys = append(s.Keys, e)
	}
	if s.Keys.lost() == nil {
		s.Version = versionPlain // an older program can check it
	}
	if since == 0 {
		return s, nil
	}
	if since > size {
		return nil, fmt.Errorf("the log has %d leaves, and not yet %d: is that head of another shop?", size, since)
	}
	s.Since = &Since{Size: since}
	if s.Since.Root, err = log.rootAt(since); err != nil {
		return nil, err
	}
	s.Since.Proof, err = log.consistency(since, size)
	return s, err
}

// reach returns how many of a job's entries the newest head has, up to entries, and where the head of the
// job with those stands.
func (r *Record) reach(ctx context.Context, job string, entries uint64) (n, shop uint64, err error) {
	err = r.trees.db.QueryRowContext(ctx, "SELECT seq, shop FROM sealed WHERE job = ? AND seq <= ? AND shop < ? ORDER BY seq DESC LIMIT 1",
		job, entries, r.head.Head.Size).Scan(&n, &shop)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, 0, fmt.Errorf("job %s: %w", job, ErrNone)
	}
	if err != nil {
		return 0, 0, fmt.Errorf("what of job %s is sealed: %w", job, err)
	}
	return n, shop, nil
}

// whole checks that n entries are all that the shop log has of a job in its first size leaves.
func (r *Record) whole(ctx context.Context, job string, n, size uint64) error {
	var all uint64
	if err := r.trees.db.QueryRowContext(ctx, "SELECT coalesce(max(seq), 0) FROM sealed WHERE job = ? AND shop < ?", job, size).Scan(&all); err != nil {
		return fmt.Errorf("how many entries of job %s are sealed: %w", job, err)
	}
	if all != n {
		return fmt.Errorf("job %s: %w: %d were sealed, and %d were given; if it stays so, the end of the job was cut off, and `readback doctor` says what is missing", job, ErrShort, all, n)
	}
	return nil
}

// Sign signs how many entries the job had at the head of s, which must be those of s ([ErrShort] otherwise), and
// what else a bundle says: its other members, by name. Without the key it gives [ErrKeyGone].
func (r *Record) Sign(ctx context.Context, s *Seal, rest map[string]json.RawMessage) error {
	if r.key == nil {
		return ErrKeyGone
	}
	if err := r.whole(ctx, s.Job.Job, s.Job.Size, s.Head.Size); err != nil {
		return err
	}
	hash, err := restHash(s, rest)
	if err != nil {
		return err
	}
	out := Statement{At: journal.InstantOf(r.now()), Entries: s.Job.Size, Rest: hash}
	if out.Signature, err = r.key.sign(exportContext, out.signed(s.Job, r.key.Public().Fingerprint())); err != nil {
		return err
	}
	s.Export = &out
	return nil
}

// restHash is the hash of a bundle's canonical JSON without its entries and the statement.
func restHash(s *Seal, rest map[string]json.RawMessage) (Hash, error) {
	bare := *s
	bare.Export = nil
	text, err := json.Marshal(bare)
	if err != nil {
		return Hash{}, fmt.Errorf("write the seal: %w", err)
	}
	all := map[string]json.RawMessage{"seal": text}
	maps.Copy(all, rest)
	data, err := canonicalOf(all)
	if err != nil {
		return Hash{}, fmt.Errorf("what else the bundle says: %w", err)
	}
	return hashOf(data), nil
}

// ReadHead reads the last whole line of a file of heads, such as a witness has.
func ReadHead(path string) (SignedHead, error) {
	f, err := os.Open(path)
	if err != nil {
		return SignedHead{}, fmt.Errorf("read a head: %w", err)
	}
	line, _, err := lastLine(f)
	if err = errors.Join(err, f.Close()); err == nil && line == nil {
		err = errors.New("it has no whole line")
	}
	if err != nil {
		return SignedHead{}, fmt.Errorf("read a head of %s: %w", path, err)
	}
	return readHead(line)
}
