package memory_test

import (
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
)

func TestStore(t *testing.T) {
	journaltest.Run(t, func(*testing.T) journal.Store { return memory.New() })
}
