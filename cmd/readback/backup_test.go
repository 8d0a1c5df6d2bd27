package main

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"readback/capture/journal"
	"readback/capture/seal"
	"readback/capture/wire"
)

// command runs a command in this process, and returns its status and what it said.
func command(t *testing.T, args ...string) (status int, said string) {
	t.Helper()
	var out bytes.Buffer
	status = run(t.Context(), std{in: strings.NewReader(""), out: &out, err: &out}, args)
	return status, out.String()
}

// must runs a command that must end with a status, and say some words.
func must(t *testing.T, status int, words string, args ...string) string {
	t.Helper()
	got, said := command(t, args...)
	if got != status || !strings.Contains(said, words) {
		t.Fatalf("readback %s ended with %d, want %d and %q:\n%s", strings.Join(args, " "), got, status, words, said)
	}
	return said
}

// serveWith starts a server that must serve.
func serveWith(t *testing.T, data string, flags ...string) *process {
	t.Helper()
	p := launch(t, data, flags...)
	if !p.serves() {
		t.Fatalf("the server ended: %v: %s", p.end(nil), &p.log)
	}
	return p
}

// sealStatus asks a server until its seal says what it shall.
func (p *process) sealStatus(t *testing.T, what string, holds func(seal.Status) bool) seal.Status {
	t.Helper()
	var status seal.Status
	for range 600 {
		code, text := p.get(t, "/api/seal")
		if code != http.StatusOK || json.Unmarshal(text, &status) != nil {
			t.Fatalf("GET /api/seal: %d %s", code, text)
		}
		if holds(status) {
			return status
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatalf("%s: the seal stays %+v", what, status)
	return status
}

// sayNotes says n notes, one behind the other, and returns how long the answers took.
func sayNotes(t *testing.T, p *process, job, bench string, n int) (ids []string, took []time.Duration) {
	t.Helper()
	b := p.sit(t, job, bench)
	defer b.Close()
	for i := range n {
		note := wire.Note{ID: newID(t), Text: fmt.Sprintf("collar nut stage %d forty eight newton metres", i%5+1)}
		began := time.Now()
		if _, err := b.Say(t.Context(), note); err != nil {
			t.Fatal(err)
		}
		ids, took = append(ids, note.ID), append(took, time.Since(began))
	}
	return ids, took
}

// The disk is lost behind a backup that was made while notes were taken. Every note that was acknowledged before it
// began is there again; what came after is missed by the witness, and the seal goes on when that is written down.
func TestTheDiskIsLost(t *testing.T) {
	at := t.TempDir()
	data, to, again, witness := filepath.Join(at, "data"), filepath.Join(at, "backups"), filepath.Join(at, "again"), filepath.Join(at, "heads.jsonl")
	key := data + "-seal.key"
	sound := oldSoundOf(t, data)
	p := serveWith(t, data, "--witness", witness)
	p.open(t, "MW-1041")
	before, quiet := sayNotes(t, p, "MW-1041", "bench 1", 150)
	if code, text := p.get(t, "/api/jobs/MW-1041/export?as=json"); code != http.StatusOK || os.WriteFile(filepath.Join(at, "bundle.json"), text, 0o600) != nil {
		t.Fatalf("export: %d", code)
	}
	fingerprint := p.sealStatus(t, "sealed", func(s seal.Status) bool { return s.Newest.Head.Size >= 152 }).Fingerprint.String()

	var wait sync.WaitGroup
	busy, stop := []time.Duration{}, make(chan struct{})
	wait.Go(func() {
		for n := 0; ; n++ {
			select {
			case <-stop:
				return
			default:
				_, took := sayNotes(t, p, "MW-1041", "bench 2", 10)
				busy = append(busy, took...)
			}
		}
	})
	must(t, clean, "sealed with key "+fingerprint, "backup", "--data", data, "--to", to)
	said := must(t, clean, "1 there already", "backup", "--data", data, "--to", to)
	close(stop)
	wait.Wait()
	if len(busy) == 0 {
		t.Error("no note was taken while the backup was made")
	}
	t.Logf("an answer takes %v in the middle, and %v while two backups are made (%d answers); 99 of 100: %v and %v",
		quantile(quiet, 50), quantile(busy, 50), len(busy), quantile(quiet, 99), quantile(busy, 99))
	if !strings.Contains(said, "the key is not in it") || hasFile(t, to, "seal.key") {
		t.Errorf("the key is copied, or nothing is said of it:\n%s", said)
	}
	sayNotes(t, p, "MW-1041", "bench 3", 20)
	lost := p.sealStatus(t, "all is sealed", func(s seal.Status) bool { return s.Newest.Head.Size >= 153+uint64(len(busy))+20 }).Newest
	for h, err := seal.ReadHead(witness); err != nil || h.Head.Size < lost.Head.Size; h, err = seal.ReadHead(witness) {
		time.Sleep(10 * time.Millisecond)
	}
	_ = p.end(os.Kill)
	if err := os.RemoveAll(data); err != nil {
		t.Fatal(err)
	}

	must(t, clean, "--witness FILE", "restore", "--from", to, "--data", again)
	if !there(filepath.Join(again, sound)) {
		t.Error("the sound was not put back")
	}
	found := map[string]bool{}
	for _, e := range kept(t, again) {
		found[e.ID] = true
	}
	for _, id := range before {
		if !found[id] {
			t.Errorf("note %s was acknowledged before the backup, and is lost", id)
		}
	}
	must(t, clean, "It holds.", "verify", filepath.Join(at, "bundle.json"), "--key", fingerprint)
	must(t, found1, "the record was put back from an older copy", "doctor", again, "--witness", witness)

	flags := []string{"--witness", witness, "--key-file", key}
	p = serveWith(t, again, flags...)
	p.sealStatus(t, "the witness knows better", func(s seal.Status) bool { return strings.Contains(s.Trouble, "put back from an older copy") })
	sayNotes(t, p, "MW-1041", "bench 1", 3) // notes are taken all the same
	p.stop(t)
	loss := []string{"loss", "--data", again, "--witness", witness, "--key-file", key, "--by", "Ines Falk", "--why", "the disk failed on Friday"}
	must(t, usage, "who says so and the reason are needed", loss[:7]...)
	must(t, clean, "is lost", loss...)
	must(t, usage, "nothing is lost", loss...)
	must(t, clean, "what the witness knows last is what was lost", "doctor", again, "--witness", witness)

	p = serveWith(t, again, flags...)
	sayNotes(t, p, "MW-1041", "bench 1", 3)
	p.sealStatus(t, "the seal goes on", func(s seal.Status) bool {
		h, err := seal.ReadHead(witness)
		return s.Trouble == "" && s.Witness == "" && err == nil && h == s.Newest && h.Head.Size > 153
	})
	p.stop(t)
	must(t, clean, "It holds.", "doctor", again, "--witness", witness)
	findable(t, again, len(kept(t, again))-3) // all but two openings and the old note, which names no nut

	// The record grew from what the old bundle knew, and says what was lost.
	var bundle struct{ Seal seal.Seal }
	text, err := os.ReadFile(filepath.Join(at, "bundle.json"))
	if err = errors.Join(err, json.Unmarshal(text, &bundle)); err != nil {
		t.Fatal(err)
	}
	for name, head := range map[string]seal.SignedHead{"known": {Head: bundle.Seal.Head, Signature: bundle.Seal.Signature}, "lost": lost} {
		line, err := json.Marshal(head)
		if err = errors.Join(err, os.WriteFile(filepath.Join(at, name+".jsonl"), append(line, '\n'), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	must(t, clean, "", "export", "MW-1041", "--as", "json", "--data", again, "--key-file", key, "--head", filepath.Join(at, "known.jsonl"), "-o", filepath.Join(at, "after.json"))
	said = must(t, clean, "nothing in it was changed since", "verify", filepath.Join(at, "after.json"), "--key", fingerprint, "--head", filepath.Join(at, "known.jsonl"))
	if !strings.Contains(said, "Ines Falk wrote into the shop log that its end was lost") || !strings.Contains(said, "the disk failed on Friday") {
		t.Errorf("verify does not tell of the loss:\n%s", said)
	}
	must(t, found1, "Ines Falk wrote", "verify", filepath.Join(at, "after.json"), "--head", filepath.Join(at, "lost.jsonl"))
}

const found1 = found // beside variables of that name

func oldSoundOf(t *testing.T, data string) (name string) {
	t.Helper()
	p := begin(t, data)
	p.open(t, "MW-1040")
	p.stop(t)
	name, err := filepath.Rel(data, oldSound(t, data, "MW-1040", "a sound"))
	if err != nil {
		t.Fatal(err)
	}
	return name
}

// hasFile reports whether a folder has a file of some name, however deep.
func hasFile(t *testing.T, dir, name string) (has bool) {
	t.Helper()
	err := filepath.WalkDir(dir, func(_ string, e fs.DirEntry, err error) error {
		has = has || err == nil && e.Name() == name
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return has
}

// backedUp makes a data folder with a sealed job and a sound, and a backup of it.
func backedUp(t *testing.T) (data, to string) {
	t.Helper()
	at := t.TempDir()
	data, to = filepath.Join(at, "data"), filepath.Join(at, "backups")
	oldSoundOf(t, data)
	p := begin(t, data)
	p.open(t, "MW-1041")
	sayNotes(t, p, "MW-1041", "bench 1", 5)
	p.stop(t)
	must(t, clean, "1 sound or photo copied", "backup", "--data", data, "--to", to, "--key-file", data+"-seal.key")
	return data, to
}

func newest(t *testing.T, to string) string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(to, "backup-*"))
	if err != nil || len(all) == 0 {
		t.Fatal("there is no backup", err)
	}
	return all[len(all)-1]
}

func TestBackupThatIsDamaged(t *testing.T) {
	_, to := backedUp(t)
	at := newest(t, to)
	sounds, err := filepath.Glob(filepath.Join(to, "sounds", "*", "*.flac"))
	if err != nil || len(sounds) != 1 {
		t.Fatal(sounds, err)
	}
	for _, tt := range []struct {
		file, says string
		damage     func([]byte) []byte // nil: it is removed
	}{
		{filepath.Join(at, "journal.db"), "journal.db was changed, or is torn", func(b []byte) []byte { b[len(b)/2] ^= 1; return b }},
		{filepath.Join(at, "journal.db"), "journal.db was changed, or is torn", func(b []byte) []byte { return b[:len(b)/2] }},
		{filepath.Join(at, "seal", "heads.jsonl"), "seal/heads.jsonl is not there", nil},
		{filepath.Join(at, "seal", "keys.jsonl"), "seal/keys.jsonl was changed, or is torn", func(b []byte) []byte { return append(b, '\n') }},
		{filepath.Join(at, "manifest.json"), "manifest.json was changed", func(b []byte) []byte { return bytes.Replace(b, []byte(`"entries":8`), []byte(`"entries":9`), 1) }},
		{filepath.Join(at, "manifest.json"), "manifest.json is torn or changed", func(b []byte) []byte { return b[:100] }},
		{filepath.Join(at, "manifest.json"), "manifest.json is not there", nil},
		{sounds[0], "the sound of entry 2 of job MW-1040", func(b []byte) []byte { b[0] ^= 1; return b }},
		{sounds[0], "is not there", nil},
	} {
		was, err := os.ReadFile(tt.file)
		if err != nil {
			t.Fatal(err)
		}
		if tt.damage == nil {
			err = os.Remove(tt.file)
		} else {
			now := tt.damage(bytes.Clone(was))
			if bytes.Equal(now, was) {
				t.Fatalf("%s: nothing was damaged", tt.says)
			}
			err = os.WriteFile(tt.file, now, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
		again := filepath.Join(t.TempDir(), "again")
		status, said := command(t, "restore", "--from", to, "--data", again)
		if status == clean || !strings.Contains(said, tt.says) || there(again) {
			t.Errorf("ended with %d, made something %t, want it to say %q:\n%s", status, there(again), tt.says, said)
		}
		if tt.file == sounds[0] {
			must(t, clean, "missing: the sound of entry 2", "restore", "--from", to, "--data", again, "--leave-out")
		}
		if err := os.WriteFile(tt.file, was, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	must(t, clean, "It holds.", "restore", "--from", to, "--dry")
}

func TestWhereNothingIsBackedUpOrRestored(t *testing.T) {
	data, to := backedUp(t)
	if err := os.Symlink(data, filepath.Join(filepath.Dir(data), "link")); err != nil {
		t.Fatal(err)
	}
	for _, inside := range []string{data, filepath.Join(data, "backups"), filepath.Join(filepath.Dir(data), "link", "b", "c")} {
		must(t, usage, "would lie in the data folder", "backup", "--data", data, "--to", inside)
	}
	must(t, usage, "hint: name the folder that `readback serve --data` uses", "backup", "--data", to, "--to", filepath.Join(t.TempDir(), "x"))
	must(t, usage, "the folder is not empty", "restore", "--from", to, "--data", data)
	must(t, usage, "there is no whole backup", "restore", "--from", t.TempDir(), "--dry")
	must(t, usage, "there is no whole backup", "restore", "--from", to, "--backup", "backup-1", "--dry")
	cut := t.TempDir()
	if err := os.Mkdir(filepath.Join(cut, ".restoring"), 0o700); err != nil {
		t.Fatal(err)
	}
	must(t, usage, "a restore was cut short there", "restore", "--from", to, "--data", cut)
	p := launch(t, cut)
	if p.serves() {
		t.Error("a server begins in a folder in which a restore was cut short")
	}
	_ = p.end(nil)
}

func TestBackupWithTheKey(t *testing.T) {
	data, to := backedUp(t)
	key := data + "-seal.key"
	must(t, clean, "whoever has this folder can sign as your shop", "backup", "--data", data, "--to", to, "--with-key", "--key-file", key)
	if info, err := os.Stat(filepath.Join(newest(t, to), "seal.key")); err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("the key in the backup: %v, error %v", info, err)
	}
	at := t.TempDir()
	must(t, clean, "the key is in "+at+"/seal.key", "restore", "--from", to, "--data", filepath.Join(at, "again"), "--key-file", filepath.Join(at, "seal.key"))
	p := serveWith(t, filepath.Join(at, "again"), "--key-file", filepath.Join(at, "seal.key"))
	p.sealStatus(t, "the key signs", func(s seal.Status) bool { return s.Trouble == "" && s.Newest.Head.Size > 0 })
	p.stop(t)
	must(t, clean, "it is there, and signs", "key", "show", "--data", filepath.Join(at, "again"), "--key-file", filepath.Join(at, "seal.key"))
	if hasFile(t, filepath.Join(at, "again"), "seal.key") {
		t.Error("the key went into the data folder")
	}
}

// Old backups go, and with them what was purged since.
func TestOldBackupsGo(t *testing.T) {
	data, to := backedUp(t)
	must(t, clean, "1 sound", "purge", "--data", data, "--sounds", "90")
	files, err := filepath.Glob(filepath.Join(to, "sounds", "*", "*.flac"))
	if err != nil || len(files) != 1 {
		t.Fatal(files, err)
	}
	old := time.Now().Add(-time.Hour)
	if err := os.Chtimes(files[0], old, old); err != nil {
		t.Fatal(err)
	}
	must(t, clean, "0 sounds and photos copied", "backup", "--data", data, "--to", to)
	if !there(files[0]) {
		t.Error("a sound that an older backup needs is gone")
	}
	p := begin(t, data)
	p.sealStatus(t, "the purge is sealed", func(s seal.Status) bool { return s.Newest.Head.Size == 10 })
	p.stop(t)
	bundle := filepath.Join(t.TempDir(), "MW-1040.json")
	must(t, clean, "", "export", "MW-1040", "--as", "json", "--data", data, "--key-file", data+"-seal.key", "-o", bundle)
	must(t, clean, "told: entry 3: the sounds or photos of entries 2 were purged", "verify", bundle)
	text, err := os.ReadFile(bundle)
	if hash := strings.TrimSuffix(filepath.Base(files[0]), ".flac"); err != nil || !strings.Contains(string(text), hash) {
		t.Errorf("the hash of what was purged is not in the bundle, error %v", err)
	}
	must(t, clean, "removed: backup-", "backup", "--data", data, "--to", to, "--keep", "1")
	if there(files[0]) {
		t.Error("a sound that was purged is still there when no backup needs it")
	}
}

// A backup that is killed leaves nothing that is taken for one; the next one is whole.
func TestBackupThatIsKilled(t *testing.T) {
	data, to := backedUp(t)
	first := newest(t, to)
	keeps, err := openKept(data)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 400 { // so that there is a middle
		hash, err := keeps.sounds.Files.Put([]byte(strings.Repeat(fmt.Sprint(i), 5000)))
		if err != nil {
			t.Fatal(err)
		}
		addNote(t, data, "MW-1041", hash)
	}
	cut := false
	for i := range 8 {
		c := exec.CommandContext(t.Context(), "readback", "backup", "--data", data, "--to", to)
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(20+60*i) * time.Millisecond)
		_ = c.Process.Kill()
		_ = c.Wait()
		left, err := filepath.Glob(filepath.Join(to, ".new-*"))
		if err != nil {
			t.Fatal(err)
		}
		cut = cut || len(left) > 0
		must(t, clean, "It holds.", "restore", "--from", to, "--dry")
	}
	if !cut {
		t.Error("no backup was killed in the middle: nothing was tested")
	}
	must(t, clean, "408 entries", "backup", "--data", data, "--to", to, "--keep", "10")
	if newest(t, to) == first {
		t.Error("there is no new backup")
	}
	if left, _ := filepath.Glob(filepath.Join(to, ".new-*")); len(left) > 0 {
		t.Errorf("what was cut short is still there: %v", left)
	}
	must(t, clean, "It holds.", "restore", "--from", to, "--dry")
}

func addNote(t *testing.T, data, job, hash string) {
	t.Helper()
	addEntries(t, data, journal.Entry{Job: job, ID: newID(t), Kind: journal.Note, At: journal.InstantOf(time.Now()), Text: "seat clean", Sound: hash})
}

// A disk that is full half-way leaves the backup before as it was.
func TestBackupOntoAFullDisk(t *testing.T) {
	data, _ := backedUp(t)
	dir := mount(t, "size=1m")
	to := filepath.Join(dir, "backups")
	must(t, clean, "up to entry 6 of job MW-1041", "backup", "--data", data, "--to", to)
	keeps, err := openKept(data)
	if err != nil {
		t.Fatal(err)
	}
	hash, err := keeps.sounds.Files.Put(bytes.Repeat([]byte("0123456789abcdef"), 1<<16))
	if err != nil {
		t.Fatal(err)
	}
	addNote(t, data, "MW-1041", hash)
	must(t, usage, "the disk is full", "backup", "--data", data, "--to", to)
	must(t, clean, "up to entry 6 of job MW-1041", "restore", "--from", to, "--dry")
	if err := syscall.Mount("", dir, "tmpfs", syscall.MS_REMOUNT, "size=64m"); err != nil {
		t.Fatal(err)
	}
	must(t, clean, "up to entry 7 of job MW-1041", "backup", "--data", data, "--to", to)
	must(t, clean, "up to entry 7 of job MW-1041", "restore", "--from", to, "--dry")
	full := mount(t, "size=100k")
	must(t, usage, "the disk is full", "restore", "--from", to, "--data", filepath.Join(full, "again"))
}

// A record that was changed takes the place of no backup.
func TestBackupOfAChangedRecord(t *testing.T) {
	data, to := backedUp(t)
	db, err := sql.Open("sqlite", filepath.Join(data, "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = db.ExecContext(t.Context(), "DROP TRIGGER never_edited; UPDATE entries SET text = 'fifty' WHERE job = 'MW-1041' AND seq = 3")
	if err = errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	before := newest(t, to)
	must(t, usage, "the record that was copied does not hold", "backup", "--data", data, "--to", to, "--keep", "1")
	if newest(t, to) != before {
		t.Error("a record that was changed is a backup now")
	}
	must(t, clean, "It holds.", "restore", "--from", to, "--dry")
}
