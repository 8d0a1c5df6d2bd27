//go:build race

package bench_test

// raced says that the race detector watches, which makes all ten times as slow.
const raced = true
