// Package testdata holds the demo's specs and notes, for the program and its tests
// alike: what the demo shows is what the tests check.
package testdata

import "embed"

// Files holds specs/*.yaml, notes/* and shop/register.yaml.
//
//go:embed specs notes shop
var Files embed.FS
