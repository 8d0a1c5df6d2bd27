package sqlite_test

import (
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/sqlite"
)

func TestStore(t *testing.T) {
	journaltest.Run(t, func(t *testing.T) journal.Store { return open(t, t.TempDir()) })
}

// open opens the journal in dir and closes it when the test ends.
func open(t testing.TB, dir string) *sqlite.Store {
	t.Helper()
	s, err := sqlite.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return s
}
