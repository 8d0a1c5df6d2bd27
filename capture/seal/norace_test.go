//go:build !race

package seal_test

// usualChanges is how many random changes of a bundle are tried.
const usualChanges = 10_000
