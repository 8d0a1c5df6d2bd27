package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"path"
	"strconv"
	"strings"
)

// The numbered files of migrations/ are applied in order and never edited once released.
// PRAGMA user_version, in the file's own header, holds the number of the last one: it
// commits in the same transaction as the migration, so that a cut in between leaves no
// half step. That is all that one embedded file with one writer needs; a library for
// migrations would bring a table of its own and locks for servers that there are not.
//
//go:embed migrations/*.sql
var migrations embed.FS

type migration struct {
	number int
	name   string
	text   string
}

// steps returns the migrations in order: 1, 2, 3, without a gap.
func steps() ([]migration, error) {
	files, err := migrations.ReadDir("migrations") // sorted by name
	if err != nil {
		return nil, fmt.Errorf("list migrations: %w", err)
	}
	out := make([]migration, len(files))
	for i, f := range files {
		text, err := migrations.ReadFile(path.Join("migrations", f.Name()))
		if err != nil {
			return nil, fmt.Errorf("read migration: %w", err)
		}
		digits, _, _ := strings.Cut(f.Name(), "_")
		number, err := strconv.Atoi(digits)
		if err != nil || number != i+1 {
			return nil, fmt.Errorf("migration %s should have number %d", f.Name(), i+1)
		}
		out[i] = migration{number, f.Name(), string(text)}
	}
	return out, nil
}

// migrate brings the file up to this program's newest migration.
func migrate(ctx context.Context, conn *sql.Conn) error {
	all, err := steps()
	if err != nil {
		return err
	}
	at, err := version(ctx, conn)
	if err != nil {
		return err
	}
	if at > len(all) {
		return newer(at, len(all))
	}
	for _, m := range all[at:] {
		step := fmt.Sprintf("BEGIN IMMEDIATE;\n%s\nPRAGMA user_version = %d;\nCOMMIT;", m.text, m.number)
		if _, err := conn.ExecContext(ctx, step); err != nil {
			return fmt.Errorf("migration %s: %w", m.name, rollback(ctx, conn, err))
		}
	}
	return nil
}

// checkVersion refuses a file that this program cannot read as it is.
func checkVersion(ctx context.Context, db *sql.DB) error {
	all, err := steps()
	if err != nil {
		return err
	}
	at, err := version(ctx, db)
	switch {
	case err != nil:
		return err
	case at > len(all):
		return newer(at, len(all))
	case at < len(all):
		return fmt.Errorf("the file has version %d, older than %d: open it once with this program's serve", at, len(all))
	}
	return nil
}

func newer(at, known int) error {
	return fmt.Errorf("the file has version %d, this program knows %d: a newer program made it, use that one", at, known)
}

func version(ctx context.Context, q interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
},
) (int, error) {
	var at int
	if err := q.QueryRowContext(ctx, "PRAGMA user_version").Scan(&at); err != nil {
		return 0, fmt.Errorf("read the file's version: %w", err)
	}
	return at, nil
}
