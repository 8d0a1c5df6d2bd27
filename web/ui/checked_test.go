package ui_test

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"readback/capture/hear/speechtest"
)

// TestACheckByVoice reads the sentences of two trades, and of the page where jobs are opened, in a real browser to the real
// recogniser: they are ones that it hears.
func TestACheckByVoice(t *testing.T) { //nolint:paralleltest // a recogniser beside many browsers misses its time limits
	speechtest.Need(t)
	address, folder := program(t)
	p := inRoom(t, address, "Ines")
	for job, spec := range map[string]string{"MW-1041": "mr5", "MW-2041": "bevel-head"} {
		if status := eval[int](p, fmt.Sprintf(`fetch("/api/jobs", { method: "POST", body: JSON.stringify({ id: %q, spec: %q, person: "Ines" }) }).then((r) => r.status)`, job, spec)); status != 201 {
			t.Fatalf("the job is opened with %d", status)
		}
	}
	for _, path := range []string{"/", "/jobs/MW-1041", "/jobs/MW-2041"} {
		p.do("open the page", chromedp.Navigate(address+path))
		p.await(`!document.getElementById("talk").hidden`)
		eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
		said := ""
		for n := range attempts {
			if said = p.readAloud(speakers[n%len(speakers)]); strings.HasPrefix(said, "The microphone is good.") {
				break
			}
			t.Logf("%s: %s", path, said)
		}
		if !strings.HasPrefix(said, "The microphone is good.") || strings.Count(said, "It would be taken.") < 2 {
			t.Errorf("%s: %q", path, said)
		}
	}
	type entry struct{ Kind string }
	for _, job := range []string{"MW-1041", "MW-2041"} {
		if kept := record[entry](t, address+"/api/jobs/"+job+"/export?as=json"); len(kept) != 1 {
			t.Errorf("the record has %+v", kept)
		}
	}
	sounds := 0
	err := filepath.WalkDir(folder, func(path string, _ os.DirEntry, err error) error {
		if strings.HasSuffix(path, ".flac") {
			sounds++
		}
		return err
	})
	if err != nil || sounds > 0 {
		t.Errorf("%d sounds are kept, error %v", sounds, err)
	}
}

// readAloud makes a check, in which a voice reads what is shown, and returns what is found.
func (p *tab) readAloud(voice string) string {
	p.t.Helper()
	p.do("start the check", chromedp.Click(chromedp.CSS("#check-go")))
	shown := ""
	for {
		p.await(fmt.Sprintf(`document.getElementById("check-go").innerText === "Start the check" || !["", %q].includes(document.getElementById("check-read").innerText)`, shown))
		if shown = p.text("#check-read"); shown == "" {
			return p.found()
		}
		words := strings.ToLower(strings.TrimSuffix(strings.ReplaceAll(shown, "-", " "), "."))
		pcm := slices.Concat(speechtest.Hush(8000), speechtest.Say(p.t, voice, words), speechtest.Hush(8000))
		data, err := binary.Append(nil, binary.LittleEndian, pcm)
		if err != nil {
			p.t.Fatal(err)
		}
		eval[bool](p, fmt.Sprintf(`play(%q)`, base64.StdEncoding.EncodeToString(data)))
	}
}
