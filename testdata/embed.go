// Package testdata holds the demo's specs and notes, for the program and its tests
// alike: what the demo shows is what the tests check.
package testdata

import "embed"

// Files holds specs/*.yaml and notes/*.
//
//go:embed specs notes
var Files embed.FS
