package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// jobFlags are the flags that say which job notes are for.
type jobFlags struct {
	spec string
	set  []string
	shop string // path of a register, or "demo" for the one in the program
	on   string // day of the notes
}

func (f *jobFlags) register(c *cobra.Command) {
	f.registerSpec(c)
	f.registerShop(c)
}

func (f *jobFlags) registerShop(c *cobra.Command) {
	c.Flags().StringVar(&f.shop, "shop", "", "the shop's `register` of instruments: a YAML file, or demo for the demo's")
	c.Flags().StringVar(&f.on, "on", "", "the `day` of the notes, as 2026-11-25, for calibration dates (default today)")
}

func (f *jobFlags) registerSpec(c *cobra.Command) {
	c.Flags().StringVar(&f.spec, "spec", "", "the build `spec`: the path of a YAML file, or a demo's name ("+strings.Join(demoSpecs(), ", ")+")")
	c.Flags().StringArrayVar(&f.set, "set", nil, "an `option=value` of the job, as often as needed: --set stages=8")
}

// job loads the spec and opens a job with the options.
func (f *jobFlags) job() (*rules.Job, error) {
	if f.spec == "" {
		return nil, hint(errors.New("no build spec was given"), "add --spec with a file, or the demo's: --spec mr5")
	}
	s, err := loadSpec(f.spec)
	if err != nil {
		return nil, err
	}
	options, err := options(f.set)
	if err != nil {
		return nil, err
	}
	j, err := rules.NewJob(s, options)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.spec, err)
	}
	return j, f.equip(j)
}

// equip gives the job the shop's register and the day, where one was named.
func (f *jobFlags) equip(j *rules.Job) error {
	if f.on != "" {
		if _, err := time.Parse(time.DateOnly, f.on); err != nil {
			return hint(fmt.Errorf("--on %s is no day", f.on), "write year, month and day, as --on 2026-11-25")
		}
	}
	if f.shop == "" {
		return nil
	}
	file, src, err := readShop(f.shop)
	if err != nil {
		return err
	}
	shop, err := spec.LoadShop(file, src)
	if err != nil {
		return err
	}
	j.Equip(shop)
	j.Today(cmp.Or(f.on, time.Now().Format(time.DateOnly)))
	return nil
}

// readShop returns the text of a register and the file name to show in errors.
func readShop(name string) (file string, src []byte, err error) {
	if name == "demo" {
		src, err = fs.ReadFile(testdata.Files, "shop/register.yaml")
		return "register.yaml", src, err
	}
	src, err = os.ReadFile(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", nil, hint(fmt.Errorf("there is no register %s", name), "give the path of a YAML file, or demo for the demo's")
	case err != nil:
		return "", nil, fmt.Errorf("register: %w", err)
	}
	return filepath.Base(name), src, nil
}

func options(set []string) (map[string]string, error) {
	out := map[string]string{}
	for _, s := range set {
		name, value, ok := strings.Cut(s, "=")
		if !ok || name == "" {
			return nil, hint(fmt.Errorf("--set %s is not option=value", s), "write it as --set base=long")
		}
		if old, twice := out[name]; twice && old != value {
			return nil, hint(fmt.Errorf("option %s is set to %s and to %s", name, old, value), "set it once")
		}
		out[name] = value
	}
	return out, nil
}

// loadSpec reads the spec at a path, or the demo's of that name.
func loadSpec(name string) (*rules.Spec, error) {
	file, src, err := readSpec(name)
	if err != nil {
		return nil, err
	}
	return spec.Load(file, src)
}

// readSpec returns the text of a spec and the file name to show in errors.
func readSpec(name string) (file string, src []byte, err error) {
	if slices.Contains(demoSpecs(), name) {
		file = name + ".yaml"
		src, err = fs.ReadFile(testdata.Files, "specs/"+file)
		return file, src, err
	}
	src, err = readUpTo(name, spec.MaxSize+1) // the loader refuses what is longer
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", nil, hint(fmt.Errorf("there is no spec %s", name), "give the path of a YAML file, or a demo's name: %s", strings.Join(demoSpecs(), ", "))
	case err != nil:
		return "", nil, fmt.Errorf("spec: %w", err)
	}
	return filepath.Base(name), src, nil
}

// readUpTo returns a file, or as much of it as may be read.
func readUpTo(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	src, err := io.ReadAll(io.LimitReader(f, most))
	return src, errors.Join(err, f.Close())
}

// demoSpecs lists the names of the specs in the program.
func demoSpecs() []string {
	var names []string
	files, err := fs.Glob(testdata.Files, "specs/*.yaml")
	if err != nil {
		return nil
	}
	for _, f := range files {
		names = append(names, strings.TrimSuffix(filepath.Base(f), ".yaml"))
	}
	return names
}
