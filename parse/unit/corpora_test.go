package unit_test

import (
	"bufio"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"readback/parse/unit"
)

// corpora names the folder of the outside cases. They are read where they lie, since
// their licences forbid a copy or make it a burden.
const corpora = "READBACK_CORPORA"

// each calls do with every line of a corpus. Without the folder it says so in the log
// and does nothing.
func each[T any](t *testing.T, file string, do func(T)) {
	t.Helper()
	folder := os.Getenv(corpora)
	if folder == "" {
		t.Logf("%s was not read: %s does not name the folder that holds it", file, corpora)
		return
	}
	f, err := os.Open(filepath.Join(folder, file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	n := 0
	for lines := bufio.NewScanner(f); lines.Scan(); n++ {
		var c T
		if err := json.Unmarshal(lines.Bytes(), &c); err != nil {
			t.Fatalf("%s, line %d: %v", file, n+1, err)
		}
		do(c)
	}
	if n == 0 {
		t.Errorf("%s holds no case", file)
	}
	t.Logf("%s: %d cases", file, n)
}

func TestCorpusCodes(t *testing.T) {
	each(t, "ucum-codes.jsonl", func(c struct {
		Code, Note string
		Valid      bool
	},
	) {
		if _, err := unit.Parse(c.Code); (err == nil) != c.Valid {
			t.Errorf("%q: valid is %v, Parse says %v (%s)", c.Code, c.Valid, err, c.Note)
		}
	})
}

func TestCorpusConversions(t *testing.T) {
	each(t, "ucum-conversions.jsonl", func(c struct{ ID, Value, From, To, Want string }) {
		got, err := unit.Convert(rat(t, c.Value), c.From, c.To)
		if err != nil {
			t.Errorf("%s: %v", c.ID, err)
		} else if want := rat(t, c.Want); got.Cmp(want) != 0 {
			t.Errorf("%s: %s %s = %s %s, want %s", c.ID, c.Value, c.From, got.RatString(), c.To, c.Want)
		}
	})
}
