package seal

import (
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"

	"readback/capture/journal"
)

// What a signature is of: the first line of what is signed.
const (
	headContext   = "readback.head.v1"
	keyContext    = "readback.key.v1"
	exportContext = "readback.export.v1"
)

// ErrSignature is of a signature that is not the key's, or not of this text.
var ErrSignature = errors.New("the signature does not hold")

// Public is an Ed25519 public key; as text it is hex, as [Hash] is.
type Public [ed25519.PublicKeySize]byte

// Fingerprint names a key: the SHA-256 of its 32 bytes.
func (p Public) Fingerprint() Hash { return hashOf(p[:]) }

// String returns the text of p.
func (p Public) String() string { return hex.EncodeToString(p[:]) }

// MarshalText writes p as text.
func (p Public) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (p *Public) UnmarshalText(text []byte) error { return readHex(p[:], text) }

// Signature is an Ed25519 signature; as text it is hex, as [Hash] is.
type Signature [ed25519.SignatureSize]byte

// String returns the text of s.
func (s Signature) String() string { return hex.EncodeToString(s[:]) }

// MarshalText writes s as text.
func (s Signature) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (s *Signature) UnmarshalText(text []byte) error { return readHex(s[:], text) }

// message is what is signed: the context, and the canonical JSON of what.
func message(context string, what any) ([]byte, error) {
	data, err := canonicalOf(what)
	if err != nil {
		return nil, err
	}
	return append([]byte(context+"\n"), data...), nil
}

func canonicalOf(what any) ([]byte, error) {
	text, err := json.Marshal(what)
	if err != nil {
		return nil, fmt.Errorf("write as JSON: %w", err)
	}
	return Canonical(text)
}

func check(key Public, context string, what any, signature Signature) error {
	text, err := message(context, what)
	if err != nil {
		return err
	}
	if !ed25519.Verify(key[:], text, signature[:]) {
		return ErrSignature
	}
	return nil
}

// Head is the shop log at a moment.
type Head struct {
	At   journal.Instant `json:"at"`   // the server's clock when it was signed
	Key  Hash            `json:"key"`  // fingerprint of the key that signs it
	Log  Hash            `json:"log"`  // names the log: the hash of its first leaf
	Root Hash            `json:"root"` // of its first size leaves
	Size uint64          `json:"size"` // leaves: entries of all jobs, and events of the key
}

// SignedHead is a head with its signature. A file of heads has one a line, the newest last.
type SignedHead struct {
	Head      Head      `json:"head"`
	Signature Signature `json:"signature"`
}

// Check checks that the head was signed by key. The error is [ErrSignature].
func (h SignedHead) Check(key Public) error {
	if h.Head.Key != key.Fingerprint() {
		return ErrSignature
	}
	return check(key, headContext, h.Head, h.Signature)
}

// Fingerprint names a head: the SHA-256 of its canonical JSON.
func (h Head) Fingerprint() (Hash, error) {
	data, err := canonicalOf(h)
	if err != nil {
		return Hash{}, fmt.Errorf("head of the log: %w", err)
	}
	return hashOf(data), nil
}

// JobHead is a job as it stood in the shop log.
type JobHead struct {
	Job  string `json:"job"`
	Root Hash   `json:"root"` // of the job's tree
	Size uint64 `json:"size"` // entries that the job had
}

// leaf is the leaf of the shop log.
func (j JobHead) leaf() (Hash, error) {
	data, err := canonicalOf(struct {
		JobHead
		Kind string `json:"kind"`
	}{j, "job"})
	if err != nil {
		return Hash{}, fmt.Errorf("head of job %s: %w", j.Job, err)
	}
	return LeafHash(data), nil
}

// What happens to a key.
const (
	KeyMade    = "made"    // the first key of a log, which is its first leaf
	KeyRotated = "rotated" // a new key, for which the old one vouches
	KeyLost    = "lost"    // a new key; the old one is lost or stolen, and vouches for nothing
)

// LogLost is an event of the log, of the same key: its end was lost, and it goes on from an older copy.
const LogLost = "end lost"

// Event is something that happened to the key of a log, or to the log. From it on Key signs.
type Event struct {
	At        journal.Instant `json:"at"` // the server's clock
	Event     string          `json:"event"`
	Key       Public          `json:"key"`                 // the new key
	Before    *Hash           `json:"before,omitempty"`    // fingerprint of the one before
	Why       string          `json:"why,omitempty"`       // in words of whoever did it
	Signature *Signature      `json:"signature,omitempty"` // by the key before: of a rotation, and of an end that was lost
	By        string          `json:"by,omitempty"`        // who says so: of an end that was lost alone
	Lost      *SignedHead     `json:"lost,omitempty"`      // the newest head that is known of what was lost
}

// leaf is the leaf of the shop log.
func (e Event) leaf() (Hash, error) {
	data, err := canonicalOf(struct {
		Event
		Kind string `json:"kind"`
	}{e, "key"})
	if err != nil {
		return Hash{}, fmt.Errorf("event of the key: %w", err)
	}
	return LeafHash(data), nil
}

// vouched checks that the old key vouches for the new one.
func (e Event) vouched(old Public) error {
	if e.Event != KeyRotated && e.Event != LogLost || e.Signature == nil || e.Before == nil || *e.Before != old.Fingerprint() {
		return ErrSignature
	}
	signature := *e.Signature
	e.Signature = nil
	return check(old, keyContext, e, signature)
}

// Statement is what a bundle says beside its entries and their seal, signed when it was exported.
type Statement struct {
	At journal.Instant `json:"at"` // the server's clock
	// Entries is how many entries of the job the shop log had at the bundle's head; 0: it is not said, as in
	// version 1.
	Entries   uint64    `json:"entries,omitempty"`
	Rest      Hash      `json:"rest"` // of the bundle's canonical JSON without its entries and this statement
	Signature Signature `json:"signature"`
}

// signed is what is signed of a statement.
func (s Statement) signed(job JobHead, key Hash) any {
	return struct {
		At      journal.Instant `json:"at"`
		Entries uint64          `json:"entries,omitempty"`
		Job     JobHead         `json:"job"`
		Key     Hash            `json:"key"`
		Rest    Hash            `json:"rest"`
	}{s.At, s.Entries, job, key, s.Rest}
}
