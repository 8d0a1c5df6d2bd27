// Package backup copies a data folder while its server serves, and puts it back.
//
// A backup is a folder of its own, best on another disk:
//
//	backup-20310304T080001.123Z/  one backup: journal.db, seal/, searches.json, and manifest.json, which is written last
//	sounds/ photos/               the files of all backups there, each named by its hash
//
// A backup is made in a folder whose name begins with ".new-", and gets its name when all of it is on the disk and
// was checked, so that one which was cut short is never taken for whole. Nothing in it is a link. The files of the
// seal are copied before the journal: the journal has at least what the newest head in the backup was signed of.
//
// Start reading at [Make] and [Restore].
package backup

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"readback/capture/evidence"
	"readback/capture/folder"
	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/photo"
	"readback/capture/seal"
	"readback/capture/sound"
)

// What can be wrong with a backup.
var (
	ErrInside   = errors.New("the backup would lie in the data folder, and be lost with it")
	ErrInUse    = errors.New("another backup is being made there")
	ErrNone     = errors.New("there is no whole backup")
	ErrDamaged  = errors.New("the backup is not what was written")
	ErrNotEmpty = errors.New("the folder is not empty")
	ErrFull     = errors.New("the disk is full")
)

const (
	prefix   = "backup-"
	making   = ".new-"
	lockName = ".lock"
	keyName  = "seal.key"
	stamp    = "20060102T150405.000Z"
)

// Kept is how many backups stay in a folder unless it is said otherwise.
const Kept = 3

// Folder is one of the data folder in which files are named by their hash.
type Folder struct{ Name, Ext string }

// Data says what a data folder holds beside the journal and its seal. Every field must be set.
type Data struct {
	Folders map[evidence.Sort]Folder
	Files   []string // to be copied, where they are there
	Caches  []string // that are made again
}

// Config says what is copied, and where to.
type Config struct {
	Data
	From, To string
	WithKey  bool
	KeyFile  string // where the key lies, "" for the usual place
	Keep     int    // how many backups stay, at least 1
	Program  string
	Now      func() time.Time
	Tell     func(words string) // is told what is being done
}

// Report says what a backup holds.
type Report struct {
	Manifest
	Path    string        // of the backup
	Copied  int           // sounds and photos that were not there yet
	There   int           // those that were
	Removed []string      // older backups that are gone
	Unknown []string      // names in the data folder that were not copied, since they are none of Readback's
	Seal    []seal.Report // what was found of the seal; none where there is none yet
}

// Make copies a data folder, also while its server serves, and checks the copy. What cannot be copied of sounds and
// photos is named in the manifest; whatever else fails leaves the backups before as they were, and an error.
func Make(ctx context.Context, c Config) (report Report, err error) {
	if err := apart(c.From, c.To); err != nil {
		return report, err
	}
	if _, err := os.Stat(filepath.Join(c.From, sqlite.File)); err != nil {
		return report, fmt.Errorf("back up %s: %w", c.From, journal.ErrNotFound)
	}
	if err := os.MkdirAll(c.To, 0o700); err != nil {
		return report, fmt.Errorf("make the folder: %w", explain(err))
	}
	lock, err := lockFolder(c.To)
	if err != nil {
		return report, err
	}
	defer func() { err = errors.Join(err, lock.Close()) }()
	if err := tidy(c.To, c.Tell); err != nil {
		return report, err
	}
	began := c.Now().UTC()
	at, err := os.MkdirTemp(c.To, making)
	if err != nil {
		return report, fmt.Errorf("back up: %w", explain(err))
	}
	if err := c.fill(ctx, at, began, &report); err != nil {
		return report, errors.Join(explain(err), os.RemoveAll(at))
	}
	name, err := c.nameFor(began)
	if err != nil {
		return report, errors.Join(err, os.RemoveAll(at))
	}
	report.Path = filepath.Join(c.To, name)
	if err := errors.Join(os.Rename(at, report.Path), folder.Sync(c.To)); err != nil {
		return report, errors.Join(fmt.Errorf("back up: %w", explain(err)), os.RemoveAll(at))
	}
	err = c.thin(&report)
	return report, err
}

// nameFor returns the name of a backup that began at a moment. It stands behind all that are there, also where the
// clock was set back since: what was made last must not be taken for the oldest, and removed.
func (c *Config) nameFor(began time.Time) (string, error) {
	names, err := list(c.To)
	if err != nil {
		return "", err
	}
	name := prefix + began.Format(stamp)
	if len(names) == 0 || name > names[len(names)-1] {
		return name, nil
	}
	last, err := time.Parse(prefix+stamp, names[len(names)-1])
	if err != nil {
		return "", fmt.Errorf("look into %s: %s is none of Readback's: %w", c.To, names[len(names)-1], err)
	}
	name = prefix + last.Add(time.Millisecond).Format(stamp)
	c.Tell("the clock is behind the last backup there: this one is named " + name)
	return name, nil
}

// fill writes a backup into a folder, checks it, and writes its manifest last.
func (c *Config) fill(ctx context.Context, at string, began time.Time, report *Report) error {
	c.Tell("copying the seal, then the journal" + sizeOf(filepath.Join(c.From, sqlite.File)))
	if err := seal.Snapshot(c.From, at); err != nil {
		return err
	}
	if err := sqlite.Snapshot(ctx, c.From, filepath.Join(at, sqlite.File)); err != nil {
		return err
	}
	for _, name := range c.Files {
		if err := copyFile(filepath.Join(c.From, name), filepath.Join(at, name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if c.WithKey {
		if err := seal.CopyKey(c.From, c.KeyFile, filepath.Join(at, keyName)); err != nil {
			return err
		}
	}
	var err error
	if report.Unknown, err = c.unknown(); err != nil {
		return err
	}
	c.Tell("checking the journal against its seal")
	m, found, err := look(ctx, at)
	if err != nil {
		return err
	}
	if found != nil && !found.Holds() {
		return fmt.Errorf("the record that was copied does not hold: %s", found.Faults[0].Wrong)
	}
	if found != nil {
		report.Seal = append(report.Seal, *found)
	}
	if err := c.evidence(ctx, &m, report); err != nil {
		return err
	}
	m.At, m.Program, m.Key = began, c.Program, c.WithKey
	if m.Files, err = hashes(at); err != nil {
		return err
	}
	report.Manifest = m
	if err := m.write(at); err != nil {
		return err
	}
	return syncTree(at)
}

// evidence copies the sounds and photos that the backup's record needs and that are not there yet.
func (c *Config) evidence(ctx context.Context, m *Manifest, report *Report) error {
	for _, sort := range slices.Sorted(keysOf(c.Folders)) {
		folder := c.Folders[sort]
		from := evidence.Read(filepath.Join(c.From, folder.Name), folder.Ext)
		to, err := evidence.Open(filepath.Join(c.To, folder.Name), folder.Ext)
		if err != nil {
			return err
		}
		said := time.Now()
		for i, item := range m.Evidence {
			if err := context.Cause(ctx); err != nil {
				return err
			}
			if item.Sort != sort {
				continue
			}
			if time.Since(said) > tellEvery {
				c.Tell(fmt.Sprintf("copying sounds and photos: %d of %d", i, len(m.Evidence)))
				said = time.Now()
			}
			if there(from, to, item.Hash) {
				report.There++
				continue
			}
			data, err := from.Get(item.Hash)
			switch {
			case errors.Is(err, evidence.ErrGone), errors.Is(err, evidence.ErrChanged):
				m.Evidence[i].Wrong = "is not there"
				if errors.Is(err, evidence.ErrChanged) {
					m.Evidence[i].Wrong = "is not what was kept"
				}
				continue
			case err != nil:
				return err
			}
			if _, err := to.Put(data); err != nil {
				return err
			}
			if _, err := to.Get(item.Hash); err != nil {
				return fmt.Errorf("read again what was copied: %w", err)
			}
			report.Copied++
		}
	}
	return c.purgedMeanwhile(ctx, m)
}

// purgedMeanwhile tells files that went by a purge while the backup was made from those that are missing.
func (c *Config) purgedMeanwhile(ctx context.Context, m *Manifest) (err error) {
	if len(m.Wrong()) == 0 {
		return nil
	}
	store, err := sqlite.OpenReadOnly(ctx, c.From)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	now, err := needed(ctx, store)
	if err != nil {
		return err
	}
	for i, item := range m.Evidence {
		if n, ok := now.files[fileKey{item.Sort, item.Hash}]; item.Wrong != "" && ok && len(n) == 0 {
			m.Evidence[i].Wrong = "was purged while the backup was made"
		}
	}
	return nil
}

// unknown lists what the data folder has that this knows nothing of.
func (c *Config) unknown() ([]string, error) {
	known := append([]string{sqlite.File, sqlite.File + "-wal", sqlite.File + "-shm", "lock", "seal"}, c.Files...)
	known = append(known, c.Caches...)
	for _, f := range c.Folders {
		known = append(known, f.Name)
	}
	all, err := os.ReadDir(c.From)
	if err != nil {
		return nil, fmt.Errorf("look into %s: %w", c.From, err)
	}
	var out []string
	for _, e := range all {
		if !slices.Contains(known, e.Name()) {
			out = append(out, e.Name())
		}
	}
	return out, nil
}

// thin removes backups but for the newest, and the files that none of those needs: what was purged goes from the
// backups as well.
func (c *Config) thin(report *Report) error {
	names, err := list(c.To)
	if err != nil {
		return err
	}
	kept := names[max(0, len(names)-max(1, c.Keep)):]
	for _, name := range names[:len(names)-len(kept)] {
		aside := filepath.Join(c.To, making+name) // first it is no backup any more
		if err := errors.Join(os.Rename(filepath.Join(c.To, name), aside), os.RemoveAll(aside)); err != nil {
			return fmt.Errorf("remove an old backup: %w", err)
		}
		report.Removed = append(report.Removed, name)
	}
	need := map[fileKey]bool{}
	for _, name := range kept {
		m, err := readManifest(filepath.Join(c.To, name))
		if err != nil {
			c.Tell(name + " cannot be read, and so no sound or photo is removed: " + err.Error())
			return nil //nolint:nilerr // it is told, and the new backup is whole
		}
		for _, item := range m.Evidence {
			need[fileKey{item.Sort, item.Hash}] = true
		}
	}
	for sort, folder := range c.Folders {
		files := evidence.Read(filepath.Join(c.To, folder.Name), folder.Ext)
		all, err := files.Before(time.Now().Add(time.Hour))
		if err != nil {
			return err
		}
		for _, hash := range all {
			if need[fileKey{sort, hash}] {
				continue
			}
			if _, err := files.Remove(hash, time.Now()); err != nil {
				return err
			}
		}
	}
	return nil
}

// tellEvery is how often it is told how far a long work has come.
const tellEvery = 2 * time.Second

// list returns the names of the backups in a folder, the oldest first.
func list(dir string) ([]string, error) {
	all, err := os.ReadDir(dir) // by name, and so by time
	if err != nil {
		return nil, fmt.Errorf("look into %s: %w", dir, err)
	}
	var out []string
	for _, e := range all {
		if e.IsDir() && strings.HasPrefix(e.Name(), prefix) {
			out = append(out, e.Name())
		}
	}
	return out, nil
}

// tidy removes what a backup that was cut short has left.
func tidy(dir string, tell func(string)) error {
	all, err := filepath.Glob(filepath.Join(dir, making+"*"))
	if err != nil {
		return fmt.Errorf("look into %s: %w", dir, err)
	}
	for _, name := range all {
		tell("removing a backup that was cut short: " + filepath.Base(name))
		if err := os.RemoveAll(name); err != nil {
			return fmt.Errorf("remove a backup that was cut short: %w", err)
		}
	}
	return nil
}

// apart checks that the backup does not lie in the data folder, nor the data folder in the backup, whatever links
// lead there.
func apart(data, to string) error {
	from, err := folder.Resolved(data)
	if err != nil {
		return err
	}
	at, err := folder.Resolved(to)
	if err != nil {
		return err
	}
	if folder.Inside(from, at) || folder.Inside(at, from) {
		return fmt.Errorf("%s: %w", to, ErrInside)
	}
	return nil
}

// lockFolder keeps a second backup out of a folder until the file is closed.
func lockFolder(dir string) (*os.File, error) {
	f, err := os.OpenFile(filepath.Join(dir, lockName), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("lock the folder: %w", explain(err))
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		if errors.Is(err, syscall.EWOULDBLOCK) {
			err = ErrInUse
		}
		return nil, errors.Join(fmt.Errorf("%s: %w", dir, err), f.Close())
	}
	return f, nil
}

// explain tells a full disk.
func explain(err error) error {
	if folder.Full(err) || errors.Is(err, journal.ErrFull) {
		return fmt.Errorf("%w: %w", ErrFull, err)
	}
	return err
}

// DataOf says what the data folders of this program hold.
func DataOf(sounds, photos string, files, caches []string) Data {
	return Data{
		Folders: map[evidence.Sort]Folder{evidence.Sound: {sounds, sound.Ext}, evidence.Photo: {photos, photo.Ext}},
		Files:   files, Caches: caches,
	}
}

func compareItems(a, b Item) int {
	return cmp.Or(cmp.Compare(a.Sort, b.Sort), cmp.Compare(a.Hash, b.Hash))
}
