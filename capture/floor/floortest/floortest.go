// Package floortest has the shop of the demo for tests that open jobs in it. Only test files, and packages that
// serve them, import it.
package floortest

import (
	"io/fs"
	"sync"
	"testing"

	"readback/capture/floor"
	"readback/testdata"
)

// All is read once: tests start a great many floors.
var (
	specs = sync.OnceValues(func() (floor.Specs, error) {
		files, err := fs.Sub(testdata.Files, "specs")
		if err != nil {
			return floor.Specs{}, err
		}
		return floor.LoadSpecs(files)
	})
	register = sync.OnceValues(func() (floor.Register, error) {
		text, err := testdata.Files.ReadFile("shop/register.yaml")
		if err != nil {
			return floor.Register{}, err
		}
		return floor.ReadRegister("register.yaml", text)
	})
)

// Specs are those of the demo.
func Specs(tb testing.TB) floor.Specs {
	tb.Helper()
	s, err := specs()
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

// Register has the instruments and people of the demo.
func Register(tb testing.TB) floor.Register {
	tb.Helper()
	r, err := register()
	if err != nil {
		tb.Fatal(err)
	}
	return r
}
