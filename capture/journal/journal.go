// Package journal keeps what was said, for good: an append-only list of entries over all
// jobs, in which each job counts its own from 1.
//
// It promises that an entry is either kept whole or not at all, that what [Writer.Append]
// has returned survives a kill and a power cut (in a durable store), that an id is kept
// once, and that a follower that reads on from a position misses nothing. It knows
// nothing of specs, rules, sockets or people's rights.
//
// Start reading at [Entry], then [Store]; [Writer] is what the benches use. Stores are in
// sqlite and memory; journaltest holds the contract.
package journal

import (
	"context"
	"errors"
)

// What a store answers with. Each is wrapped with what was being done; test for them with
// [errors.Is].
var (
	// Of one entry; the others of its batch are kept.

	ErrEntry    = errors.New("journal: the entry cannot be kept as it is")
	ErrOtherJob = errors.New("journal: the id belongs to another job")
	ErrSeq      = errors.New("journal: the seq is not the job's next")

	// Of the store; nothing of the batch was kept.

	ErrFull     = errors.New("journal: the disk is full")
	ErrReadOnly = errors.New("journal: the disk or the folder cannot be written")
	ErrClosed   = errors.New("journal: it is closed")

	ErrNotFound = errors.New("journal: there is no such job or entry")
	ErrInUse    = errors.New("journal: another server uses the folder")
)

// Store keeps entries. It is safe for concurrent use. Every implementation passes
// journaltest.Run.
type Store interface {
	// Append commits the batch and returns one Result an entry, in order. An error means
	// that nothing of the batch was kept. An entry whose ID is known on its job comes back
	// as it was kept the first time, whatever else it holds now. One entry that is refused
	// (ErrEntry, ErrOtherJob, ErrSeq in its Result) does not keep the others out.
	Append(ctx context.Context, batch []Entry) ([]Result, error)
	// After returns at most limit entries past the position, over all jobs, in order. An
	// entry never appears later at a position that was already passed.
	After(ctx context.Context, at Position, limit int) ([]Entry, error)
	// Entries returns at most limit entries of a job with a seq above afterSeq, in order,
	// or ErrNotFound for a job that has none at all.
	Entries(ctx context.Context, job string, afterSeq int64, limit int) ([]Entry, error)
	// ByID returns the job's entry with this id, or ErrNotFound.
	ByID(ctx context.Context, job, id string) (Entry, error)
	// Jobs lists every job in the order in which they were opened.
	Jobs(ctx context.Context) ([]Job, error)
	// People lists at most limit persons who said notes, by name, whoever said one last first. Nobody is named
	// [NotStated].
	People(ctx context.Context, limit int) ([]string, error)
	// Close frees the store; what comes later gets ErrClosed.
	Close() error
}

// Result is what became of one entry of a batch.
type Result struct {
	Entry Entry // as kept; the zero Entry if Err is set
	Known bool  // its id was there before: nothing new was kept
	Err   error // why this entry alone was refused
}

// Job is what a list of jobs shows of one.
type Job struct {
	ID      string
	Spec    string            // of its first entry
	Options map[string]string // of its first entry
	Person  string            // who made its first entry
	First   Instant           // server time of its first entry
	Last    Instant           // server time of its last entry
	Entries int64             // how many it has: the seq of the last
}
