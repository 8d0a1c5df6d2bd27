package sqlite

import (
	"context"
	"fmt"
)

// LimitPages makes the journal full at this many pages of 4 KiB.
func (s *Store) LimitPages(ctx context.Context, pages int) error {
	_, err := s.writer.conn.ExecContext(ctx, fmt.Sprintf("PRAGMA max_page_count = %d", pages))
	return err
}

// Query runs a statement on the writer's connection and returns its one value.
func (s *Store) Query(ctx context.Context, statement string) (value string, err error) {
	err = s.writer.conn.QueryRowContext(ctx, statement).Scan(&value)
	return value, err
}

// Exec runs a statement on the writer's connection.
func (s *Store) Exec(ctx context.Context, statement string) error {
	_, err := s.writer.conn.ExecContext(ctx, statement)
	return err
}
