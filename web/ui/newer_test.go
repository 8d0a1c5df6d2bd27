package ui_test

import (
	"io/fs"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/oklog/ulid/v2"

	"readback/capture/journal"
	"readback/testdata"
)

// TestNewerRevisionIsTold: a job that was opened with an older revision of its spec goes by
// that, and the sheet says what the newer one calls for otherwise.
func TestNewerRevisionIsTold(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	src, err := fs.ReadFile(testdata.Files, "specs/mr5.yaml")
	if err != nil {
		t.Fatal(err)
	}
	older := strings.NewReplacer(`revision: "C"`, `revision: "B"`, "{nominal: 48, within: 4 %}", "{nominal: 46, within: 4 %}").Replace(string(src))
	for job, text := range map[string]string{"MW-1043": older, "MW-1044": strings.Replace(string(src), `revision: "C"`, `revision: "B"`, 1)} {
		if _, err := s.writer.Append(t.Context(), journal.Entry{
			Job: job, Seq: 1, ID: ulid.Make().String(), Kind: journal.Opened, At: journal.InstantOf(time.Now()), Person: "Ines",
			SpecHash: "b", Program: "test", Spec: "mr5", SpecText: text, Options: map[string]string{"base": "short", "stages": "5", "cut_impellers": "0", "rebuild": "no"},
		}); err != nil {
			t.Fatal(err)
		}
	}
	p := newDevice(t, tablet, "light").openSheet(s, "MW-1043")
	p.await(`!document.getElementById("newer").hidden`)
	if title := p.text("#newer-title"); title != "Revision C of the build spec is out" {
		t.Errorf("its title is %q", title)
	}
	want := []string{"collar nut: 46.08 to 49.92 N·m instead of 44.16 to 47.84 N·m"}
	if diff := cmp.Diff(want, p.texts("#newer-list li")); diff != "" {
		t.Errorf("changes (-want +got):\n%s", diff)
	}
	if word := p.verdictOn("collar nut stage one forty eight newton metres"); word != "out" {
		t.Errorf("48 N·m is %q by the older revision, want out", word)
	}
	for _, screen := range screens {
		p.show(screen, "light")
		p.shoot("newer")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	same := newDevice(t, phone, "light").openSheet(s, "MW-1044")
	same.await(`!document.getElementById("newer").hidden`)
	if kept := same.text("#newer-kept"); !strings.Contains(kept, "nothing differs") {
		t.Errorf("where nothing differs it says %q", kept)
	}
	s.openJob("MW-1045", nil)
	fresh := newDevice(t, phone, "light").openSheet(s, "MW-1045")
	fresh.await(`document.getElementById("next-where").textContent !== ""`)
	if !eval[bool](fresh, `document.getElementById("newer").hidden`) {
		t.Error("a job of the newest revision is told of a newer one")
	}
}
