package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// jobFlags are the flags that say which job notes are for.
type jobFlags struct {
	spec string
	set  []string
}

func (f *jobFlags) register(c *cobra.Command) {
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
	return j, nil
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
	src, err = os.ReadFile(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", nil, hint(fmt.Errorf("there is no spec %s", name), "give the path of a YAML file, or a demo's name: %s", strings.Join(demoSpecs(), ", "))
	case err != nil:
		return "", nil, fmt.Errorf("spec: %w", err)
	}
	return filepath.Base(name), src, nil
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
