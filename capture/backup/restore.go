package backup

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"readback/capture/evidence"
	"readback/capture/folder"
	"readback/capture/journal/sqlite"
	"readback/capture/seal"
)

// Unfinished is the name of what a restore that was cut short leaves in the data folder: no server may begin there.
const Unfinished = ".restoring"

// RestoreConfig says what is put back, and where.
type RestoreConfig struct {
	Data
	From    string // the folder of backups
	Name    string // of one of them; "" for the newest
	To      string // the data folder to be; "" only checks
	KeyFile string // where a key that is in the backup goes, "" for the usual place
	LeaveBe bool   // sounds and photos that are damaged or missing are left out
	Tell    func(words string)
}

// Restored says what a backup holds, and what is wrong with it.
type Restored struct {
	Manifest
	Path    string
	Newer   []string     // backups behind it
	Faults  []string     // files that are not what was written, by name
	Lost    []string     // sounds and photos that are not there or changed, by name
	Seal    *seal.Report // what was found of the seal; nil where it has none
	KeyPath string       // where the key went; "" for none
}

// Restore checks a backup, each of its files against its hash and the journal against the seal, and puts it into a
// data folder, which must be empty or not there ([ErrNotEmpty]). A backup that does not hold is [ErrDamaged], and
// then nothing is put back; so it is where sounds or photos alone are wrong, unless LeaveBe says otherwise.
func Restore(ctx context.Context, c RestoreConfig) (out Restored, err error) {
	if c.To != "" {
		if err := empty(c.To); err != nil {
			return out, err
		}
		if err := apart(c.To, c.From); err != nil {
			return out, err
		}
	}
	if out.Path, out.Newer, err = choose(c.From, c.Name); err != nil {
		return out, err
	}
	if out.Manifest, err = readManifest(out.Path); err != nil {
		return out, fmt.Errorf("%s: %w", filepath.Base(out.Path), err)
	}
	if err := c.check(ctx, &out); err != nil {
		return out, err
	}
	if len(out.Faults) > 0 || len(out.Lost) > 0 && !c.LeaveBe {
		return out, fmt.Errorf("%s: %w", filepath.Base(out.Path), ErrDamaged)
	}
	if c.To == "" {
		return out, nil
	}
	if err := c.put(ctx, &out); err != nil {
		return out, fmt.Errorf("put %s back: %w", filepath.Base(out.Path), explain(err))
	}
	if out.Key {
		out.KeyPath, err = seal.PlaceKey(filepath.Join(out.Path, keyName), c.To, c.KeyFile)
	}
	return out, err
}

func choose(dir, name string) (path string, newer []string, err error) {
	names, err := list(dir)
	if err != nil {
		return "", nil, err
	}
	if name == "" && len(names) > 0 {
		name = names[len(names)-1]
	}
	for i, n := range names {
		if n == name {
			return filepath.Join(dir, n), names[i+1:], nil
		}
	}
	return "", nil, fmt.Errorf("%s: %w", filepath.Join(dir, name), ErrNone)
}

// check holds a backup against its manifest and its seal.
func (c *RestoreConfig) check(ctx context.Context, out *Restored) error {
	c.Tell("checking " + filepath.Base(out.Path))
	for _, f := range out.Files {
		if !filepath.IsLocal(filepath.FromSlash(f.Name)) {
			return fmt.Errorf("%w: it names %q", ErrDamaged, f.Name)
		}
		sum, _, err := hashFile(filepath.Join(out.Path, filepath.FromSlash(f.Name)))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			out.Faults = append(out.Faults, f.Name+" is not there")
		case err != nil:
			out.Faults = append(out.Faults, fmt.Sprintf("%s cannot be read: %v", f.Name, err))
		case sum != f.SHA256:
			out.Faults = append(out.Faults, f.Name+" was changed, or is torn")
		}
	}
	said := time.Now()
	for i, item := range out.Evidence {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		if time.Since(said) > tellEvery {
			c.Tell(fmt.Sprintf("checking sounds and photos: %d of %d", i, len(out.Evidence)))
			said = time.Now()
		}
		name := fmt.Sprintf("the %s of %s (%s)", item.Sort, item.Of, item.Hash)
		if item.Wrong != "" {
			out.Lost = append(out.Lost, name+" "+item.Wrong+" when the backup was made")
			continue
		}
		switch _, err := c.files(c.From, item.Sort).Get(item.Hash); {
		case errors.Is(err, evidence.ErrGone):
			out.Lost = append(out.Lost, name+" is not there")
		case errors.Is(err, evidence.ErrChanged):
			out.Lost = append(out.Lost, name+" was changed, or is torn")
		case err != nil:
			out.Lost = append(out.Lost, fmt.Sprintf("%s cannot be read: %v", name, err))
		}
	}
	if len(out.Faults) > 0 {
		return nil // what is not the file that was written need not be read
	}
	_, report, err := look(ctx, out.Path)
	if err != nil {
		return err
	}
	if out.Seal = report; report != nil && !report.Holds() {
		for _, f := range report.Faults {
			out.Faults = append(out.Faults, "the record: "+f.Wrong)
		}
	}
	return nil
}

func (c *RestoreConfig) files(dir string, sort evidence.Sort) *evidence.Files {
	f := c.Folders[sort]
	return evidence.Read(filepath.Join(dir, f.Name), f.Ext)
}

// put copies a backup into the data folder: all of it into a folder in there, and from there to its place, the
// journal last.
func (c *RestoreConfig) put(ctx context.Context, out *Restored) error {
	at := filepath.Join(c.To, Unfinished)
	if err := os.MkdirAll(at, 0o700); err != nil {
		return err
	}
	names := []string{}
	for _, f := range out.Files {
		if f.Name == keyName {
			continue
		}
		c.Tell("copying " + f.Name)
		if err := copyFile(filepath.Join(out.Path, filepath.FromSlash(f.Name)), filepath.Join(at, filepath.FromSlash(f.Name))); err != nil {
			return err
		}
	}
	c.Tell(fmt.Sprintf("copying %d sounds and photos", len(out.Evidence)))
	for sort, folder := range c.Folders {
		to, err := evidence.Open(filepath.Join(at, folder.Name), folder.Ext)
		if err != nil {
			return err
		}
		for _, item := range out.Evidence {
			if err := context.Cause(ctx); err != nil {
				return err
			}
			if item.Sort != sort {
				continue
			}
			data, err := c.files(c.From, sort).Get(item.Hash)
			if err != nil {
				continue // it is among what was lost
			}
			if _, err := to.Put(data); err != nil {
				return err
			}
		}
	}
	if err := syncTree(at); err != nil {
		return err
	}
	all, err := os.ReadDir(at)
	if err != nil {
		return err
	}
	for _, e := range all {
		if e.Name() != sqlite.File {
			names = append(names, e.Name())
		}
	}
	for _, name := range append(names, sqlite.File) {
		if err := os.Rename(filepath.Join(at, name), filepath.Join(c.To, name)); err != nil {
			return err
		}
	}
	return errors.Join(os.Remove(at), folder.Sync(c.To), folder.Sync(filepath.Dir(filepath.Clean(c.To))))
}

// empty checks that a folder has nothing in it, or is not there.
func empty(dir string) error {
	all, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("look into %s: %w", dir, err)
	}
	for _, e := range all {
		if e.Name() == Unfinished {
			return fmt.Errorf("%s: %w: a restore was cut short there", dir, ErrNotEmpty)
		}
	}
	if len(all) > 0 {
		return fmt.Errorf("%s: %w", dir, ErrNotEmpty)
	}
	return nil
}
