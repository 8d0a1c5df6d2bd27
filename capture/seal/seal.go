// Package seal makes the record of a shop provable: that an entry is what was kept, that none was
// changed, removed, added or moved since, and that no job has vanished.
//
// # What is hashed
//
// The leaf of an entry is its JSON in canonical form (RFC 8785, see [Canonical]), whatever is in it: a
// new kind of entry needs nothing here. A job is a Merkle tree of its own (RFC 9162, section 2.1) over
// the leaves of its entries, in the order of their seq.
//
// The shop log is one more tree, with one writer. With each entry of any job it gets a leaf, the new
// head of that job, in the order in which the entries were committed:
//
//	{"job":"MW-1041","kind":"job","root":"…","size":12}
//
// and between them a leaf for each thing that happens to the key ([Event]):
//
//	{"event":"made","at":…,"key":"…","kind":"key"}
//
// An event of the same sort tells that the end of the log was lost and that it goes on from an older copy ([LogLost]):
// who says so, why, and the newest head that is known of what was lost.
//
// So the log follows from the journal and the few events alone: whoever has both can build it again, and
// compare. A log is named by the hash of its first leaf, which is the making of its first key.
//
// # What is signed
//
// Ed25519 (RFC 8032) signs three sorts of message. Each is a line that says which sort it is, and the
// canonical JSON of what is signed, so that a signature of one sort is worth nothing as another:
//
//	readback.head.v1    a [Head]: the log, its size, its root, the server's time, the key
//	readback.key.v1     an [Event] by which an old key vouches for a new one
//	readback.export.v1  a [Statement]: what else a bundle says, as the server found it at that time
//
// # What that proves, and what not
//
// A value of an entry, not its spelling: white space, the order of members and 1.0 for 1 are no change.
// A reading's value is text, so that its digits count. Nothing proves that the speaker told the truth,
// nor that the clock was right. Each entry puts a head of its job into the log, so that a head of the job as it
// was earlier is in the log as well: that a bundle has every entry which the job had under its head is said by
// the [Statement] alone, and so by whoever has the key. The times in entries were written before they were sealed; the time of a
// head says until when at the latest that was.
//
// Start reading at [Sealer] for the server's side, and at [Verify] for the auditor's.
package seal

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
)

// Version is the newest form of a seal that this program writes. It checks those before as well: in version 1 a
// [Statement] does not say how many entries the job had, and before version 3 no [LogLost] is among the events and no
// files are inside. Version 3 is written where one of those is; every other seal has the version before.
const Version = 3

const versionPlain = 2

// Hash is a SHA-256. As text it is 64 digits of hex in lower case, and nothing else is read as one.
type Hash [sha256.Size]byte

// String returns the text of h.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// MarshalText writes h as text.
func (h Hash) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (h *Hash) UnmarshalText(text []byte) error { return readHex(h[:], text) }

var errHex = errors.New("it is not written in hex digits, in lower case and of the right number")

// readHex reads text of exactly len(into) bytes. One spelling alone is read, so that text that was changed
// never reads the same.
func readHex(into, text []byte) error {
	if len(text) != hex.EncodedLen(len(into)) {
		return errHex
	}
	for _, c := range text {
		if c >= 'A' && c <= 'F' {
			return errHex
		}
	}
	if _, err := hex.Decode(into, text); err != nil {
		return fmt.Errorf("%w: %w", errHex, err)
	}
	return nil
}

func hashOf(data []byte) Hash { return sha256.Sum256(data) }
