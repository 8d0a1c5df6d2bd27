package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"os"

	driver "modernc.org/sqlite"
)

const (
	busyWait    = "busy_timeout(5000)" // milliseconds to wait for another process's lock
	readers     = 4                    // connections that read
	writeCache  = "cache_size(-8192)"  // KiB, negative: pages kept by the writer
	shrinkLogTo = "journal_size_limit(67108864)"
)

// openWriter returns a pool of one connection. What a connection must be set to stands in
// the DSN: a PRAGMA by itself would reach one connection of a pool and miss the next.
func openWriter(path string) (*sql.DB, error) {
	// The same durability as fsync without writing the file's times: half the wait on ext4.
	if _, err := driver.Fdatasync(true); err != nil {
		return nil, fmt.Errorf("sync by fdatasync: %w", err)
	}
	db, err := sql.Open("sqlite", dsn(path, url.Values{"_pragma": {
		busyWait, "journal_mode(wal)", "synchronous(full)", writeCache, shrinkLogTo,
	}}))
	if err != nil {
		return nil, fmt.Errorf("open to write: %w", err)
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// openReaders returns a pool that cannot write.
func openReaders(ctx context.Context, path string) (*sql.DB, error) {
	return openPool(ctx, path, url.Values{"mode": {"ro"}})
}

// openUnchanging returns a pool for a file on a read-only disk, where the memory that
// readers and a writer share cannot be made. Nobody may write the file meanwhile, and it
// may not have a log: that would be left out.
func openUnchanging(ctx context.Context, path string) (*sql.DB, error) {
	return openPool(ctx, path, url.Values{"mode": {"ro"}, "immutable": {"1"}})
}

// hasLog reports whether commits are in the log that are not in the file yet.
func hasLog(path string) bool {
	info, err := os.Stat(path + "-wal")
	return err == nil && info.Size() > 0
}

func openPool(ctx context.Context, path string, with url.Values) (*sql.DB, error) {
	with["_pragma"] = []string{busyWait, "query_only(1)"}
	db, err := sql.Open("sqlite", dsn(path, with))
	if err != nil {
		return nil, fmt.Errorf("open to read: %w", err)
	}
	db.SetMaxOpenConns(readers)
	db.SetMaxIdleConns(readers)
	var tables int // opening alone reads nothing
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return nil, fmt.Errorf("open to read: %w", closing(err, db))
	}
	return db, nil
}

func dsn(path string, with url.Values) string {
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + with.Encode()
}

// durable checks that the connection is what was asked for: SQLite goes on without a
// word where a file system cannot do it.
func durable(ctx context.Context, conn *sql.Conn) error {
	var mode string
	var sync int
	if err := conn.QueryRowContext(ctx, "PRAGMA journal_mode").Scan(&mode); err != nil {
		return fmt.Errorf("read journal_mode: %w", err)
	}
	if err := conn.QueryRowContext(ctx, "PRAGMA synchronous").Scan(&sync); err != nil {
		return fmt.Errorf("read synchronous: %w", err)
	}
	if mode != "wal" || sync != 2 {
		return fmt.Errorf("this file system gives journal_mode=%s and synchronous=%d, "+
			"not wal and 2: use a folder on a local disk", mode, sync)
	}
	return nil
}
