package rules_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"readback/rules"
)

// Common practice, no source; the order for twelve stands on public pages as well.
func TestDiagonal(t *testing.T) {
	for n, want := range map[int]string{
		3: "", 5: "", 2: "",
		4:  "1 3 2 4",
		6:  "1 4 2 5 3 6",
		8:  "1 5 3 7 2 6 4 8",
		10: "1 6 3 8 5 10 2 7 4 9",
		12: "1 7 4 10 2 8 5 11 3 9 6 12",
		16: "1 9 5 13 3 11 7 15 2 10 6 14 4 12 8 16",
	} {
		if got := strings.Join(rules.Diagonal(n), " "); got != want {
			t.Errorf("Diagonal(%d) is %s, want %s", n, got, want)
		}
	}
}

// Every position comes once, and after each first of a pair the one opposite.
func TestDiagonalTakesEachPositionOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := 2 * rapid.IntRange(2, 40).Draw(t, "half")
		order := rules.Diagonal(n)
		seen := slices.Compact(slices.Sorted(slices.Values(order)))
		if len(order) != n || len(seen) != n {
			t.Fatalf("Diagonal(%d) is %v", n, order)
		}
		for i := 0; i < n; i += 2 {
			a, _ := strconv.Atoi(order[i])
			b, _ := strconv.Atoi(order[i+1])
			if b-a != n/2 {
				t.Fatalf("Diagonal(%d): %d is followed by %d", n, a, b)
			}
		}
	})
}
