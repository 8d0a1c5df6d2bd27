//go:build race

package seal_test

// usualChanges is how many random changes of a bundle are tried: under the race detector, which makes all ten times
// as slow, a few.
const usualChanges = 1_000
