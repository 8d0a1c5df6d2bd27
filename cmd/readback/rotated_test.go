package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A backup from before the key was rotated cannot tell what was lost by a head that its log knows no signer of. It is
// refused, with the way on, and that way leads to a seal again.
func TestLossBehindARotation(t *testing.T) {
	data, key := sealedFolder(t, []string{"MW-1041"}, 2, 1, 100)
	at := t.TempDir()
	to, again, witness := filepath.Join(at, "backups"), filepath.Join(at, "again"), filepath.Join(at, "heads.jsonl")
	said := must(t, clean, "sealed with key", "backup", "--data", data, "--to", to)
	_, said, _ = strings.Cut(said, "sealed with key ")
	old, _, _ := strings.Cut(said, "\n")
	must(t, clean, "", "key", "rotate", "--data", data, "--key-file", key)
	if err := os.WriteFile(witness, whole(os.ReadFile(filepath.Join(data, "seal", "heads.jsonl"))), 0o600); err != nil {
		t.Fatal(err)
	}
	must(t, clean, "", "restore", "--from", to, "--data", again)
	must(t, usage, "the key was changed after the backup", "loss", "--data", again, "--witness", witness, "--key-file", key, "--by", "Ines Falk", "--why", "the disk failed")
	must(t, clean, "", "key", "give-up", "--data", again, "--key-file", key, "--why", "the disk failed, and the key was newer than the backup")
	bundle := filepath.Join(at, "b.json")
	must(t, clean, "", "export", "MW-1041", "--as", "json", "--data", again, "--key-file", key, "-o", bundle)
	must(t, clean, "It holds.", "verify", bundle)
	must(t, found1, "ask the shop for the fingerprint of its key now", "verify", bundle, "--key", old)
}
