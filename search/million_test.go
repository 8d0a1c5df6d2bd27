package search_test

import (
	"database/sql"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	_ "modernc.org/sqlite" // beside the index

	"readback/capture/journal"
	"readback/search"
	"readback/search/history"
)

var size = flag.Int("notes", 20_000, "notes of the history that BenchmarkHistory searches")

// pairs are two words each, as a lead types them.
var pairs = []string{
	"scored washer", "seized sand", "bearing noise", "worn impeller", "leaking seal", "burnt winding", "cracked impeller", "bent shaft", "blocked strainer", "milky oil",
	"loose coupling", "pitted vanes", "cable damaged", "rusty casing", "low flow", "bush worn", "gasket torn", "key missing", "high current", "vibration cover",
	"sleeve groove", "stripped thread", "motor hot", "gland leaks", "dry bush", "screen clogged", "collar loose", "stator flooded", "hums start", "wheel eaten",
}

// BenchmarkHistory builds an index of so many notes (-args -notes 1000000), as it is built again where
// it was lost, and searches it; SQLite's FTS5 searches the same notes beside it.
func BenchmarkHistory(b *testing.B) {
	dir := b.TempDir()
	x, err := search.Open(filepath.Join(dir, "search"))
	if err != nil {
		b.Fatal(err)
	}
	defer x.Close()
	beside := filepath.Join(dir, "fts5")
	if err := os.Mkdir(beside, 0o700); err != nil {
		b.Fatal(err)
	}
	db, err := sql.Open("sqlite", "file:"+filepath.Join(beside, "fts.db")+"?_pragma=journal_mode(wal)&_pragma=synchronous(normal)")
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.ExecContext(b.Context(), "CREATE VIRTUAL TABLE notes USING fts5(text, tokenize='porter unicode61')"); err != nil {
		b.Fatal(err)
	}
	var index, fts time.Duration
	total := 0
	tell(b, func(batch []journal.Entry) {
		start := time.Now()
		if err := x.Put(batch); err != nil {
			b.Fatal(err)
		}
		index += time.Since(start)
		start = time.Now()
		tx, err := db.BeginTx(b.Context(), nil)
		if err != nil {
			b.Fatal(err)
		}
		for _, e := range batch {
			if _, err := tx.ExecContext(b.Context(), "INSERT INTO notes(rowid, text) VALUES (?, ?)", int64(e.Position), e.Text); err != nil {
				b.Fatal(err)
			}
		}
		if err := tx.Commit(); err != nil {
			b.Fatal(err)
		}
		fts += time.Since(start)
		total += len(batch)
	})
	b.Logf("%d notes: index %.0f notes/s, %.0f bytes a note, the whole in %.0f s; FTS5, words alone, %.0f notes/s, %.0f bytes a note", total,
		float64(total)/index.Seconds(), float64(weigh(b, filepath.Join(dir, "search")))/float64(total), index.Seconds(),
		float64(total)/fts.Seconds(), float64(weigh(b, beside))/float64(total))

	times := map[string][]time.Duration{}
	timed := func(name string, do func()) {
		start := time.Now()
		do()
		times[name] = append(times[name], time.Since(start))
	}
	find := func(q string, order search.Order) {
		if _, err := x.Find(b.Context(), search.Query{Text: q, Order: order, Limit: 50, Typed: true}); err != nil {
			b.Fatal(err)
		}
	}
	sqlite := func(q string) {
		rows, err := db.QueryContext(b.Context(), "SELECT rowid, text FROM notes WHERE notes MATCH ? ORDER BY rowid DESC LIMIT 50", strings.Join(strings.Fields(q), " AND "))
		if err != nil {
			b.Fatal(err)
		}
		defer rows.Close()
		for rows.Next() {
			var id int64
			var text string
			if err := rows.Scan(&id, &text); err != nil {
				b.Fatal(err)
			}
		}
		if err := rows.Err(); err != nil {
			b.Fatal(err)
		}
		var n int // the index counts its matches too
		if err := db.QueryRowContext(b.Context(), "SELECT count(*) FROM notes WHERE notes MATCH ?", strings.Join(strings.Fields(q), " AND ")).Scan(&n); err != nil {
			b.Fatal(err)
		}
	}
	// what SQLite does when it is asked for the synonyms too, as one long expression
	wide := func(q string) {
		words := strings.Fields(q)
		var parts []string
		for _, w := range words {
			forms := x.Forms(w)
			for i, f := range forms {
				forms[i] = `"` + strings.ReplaceAll(f, `"`, "") + `"`
			}
			parts = append(parts, "("+strings.Join(append(forms, w), " OR ")+")")
		}
		rows, err := db.QueryContext(b.Context(), "SELECT rowid, text FROM notes WHERE notes MATCH ? ORDER BY rowid DESC LIMIT 50", strings.Join(parts, " AND "))
		if err != nil {
			b.Fatal(err)
		}
		defer rows.Close()
		for rows.Next() {
		}
		if err := rows.Err(); err != nil {
			b.Fatal(err)
		}
		var n int
		if err := db.QueryRowContext(b.Context(), "SELECT count(*) FROM notes WHERE notes MATCH ?", strings.Join(parts, " AND ")).Scan(&n); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		for _, q := range pairs {
			timed("newest", func() { find(q, search.Newest) })
			timed("best", func() { find(q, search.Best) })
			timed("fts5, the words alone", func() { sqlite(q) })
			timed("fts5, with synonyms", func() { wide(q) })
		}
	}
	for _, name := range []string{"newest", "best", "fts5, the words alone", "fts5, with synonyms"} {
		t := times[name]
		slices.Sort(t)
		b.Logf("%-24s p50 %6.1f ms  p99 %6.1f ms  of %d", name, ms(t[len(t)/2]), ms(t[len(t)*99/100]), len(t))
	}
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// tell gives the notes of the history in batches.
func tell(tb testing.TB, put func([]journal.Entry)) {
	tb.Helper()
	teller, err := history.NewTeller()
	if err != nil {
		tb.Fatal(err)
	}
	teller.ReadOnce()
	var batch []journal.Entry
	n := 0
	for j := range history.Jobs(seed, *size/20+1, history.Until) {
		entries, err := teller.Entries(j)
		if err != nil {
			tb.Fatal(err)
		}
		if batch = append(batch, entries...); len(batch) >= 1000 {
			put(batch)
			n += len(batch)
			batch = nil
		}
		if n >= *size {
			break
		}
	}
	if len(batch) > 0 {
		put(batch)
	}
}

// weigh returns the bytes of all files below a path.
func weigh(tb testing.TB, path string) (n int64) {
	tb.Helper()
	err := filepath.WalkDir(path, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := os.Stat(p)
		if err == nil {
			n += info.Size()
		}
		return nil // a segment that was merged away meanwhile weighs nothing
	})
	if err != nil {
		tb.Fatal(err)
	}
	return n
}
