package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"readback/capture/wire"
	"readback/search"
	"readback/web/trend"
)

// demo starts a demo with a past of so many jobs, which plays slowly, and returns its address.
func demo(t *testing.T, past string) (*process, string) {
	t.Helper()
	temp := t.TempDir()
	p := &process{Cmd: exec.CommandContext(context.WithoutCancel(t.Context()), "readback", "demo", "--open=false", "--speak", "none", "--stt", "none", "--pace", "20s", "--past", past)}
	p.Env = append(os.Environ(), "TMPDIR="+temp)
	if err := p.begin(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { // nothing is left behind
		p.stop(t)
		if left, err := filepath.Glob(filepath.Join(temp, "*")); err != nil || len(left) > 0 {
			t.Errorf("the demo leaves %q, error %v", left, err)
		}
	})
	t.Cleanup(func() { _ = p.Process.Signal(os.Interrupt) })
	for {
		line, err := p.out.ReadString('\n')
		if err != nil {
			t.Fatalf("the demo ended: %v", err)
		}
		if m := regexp.MustCompile(`(http://\S+)/jobs/MW-1041`).FindStringSubmatch(line); m != nil {
			return p, m[1]
		}
	}
}

// fetch reads JSON from a server.
func fetch[T any](t *testing.T, address string) (into T) {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	response, err := (&http.Client{Timeout: time.Minute}).Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", address, response.Status)
	}
	if err := json.NewDecoder(response.Body).Decode(&into); err != nil {
		t.Fatal(err)
	}
	return into
}

// In the demo's past what happened is found in the words of whoever asks, the wrench that drifts is
// shown, and the job that is played comes first.
func TestDemoHasAPast(t *testing.T) {
	_, address := demo(t, "300")
	look := func(q string) search.Results {
		return fetch[search.Results](t, address+"/api/search?order=best&q="+url.QueryEscape(q))
	}
	ctx, stop := context.WithTimeout(t.Context(), time.Minute) // no measure: a hang should fail
	defer stop()
	for look("MW-999").Total == 0 { // the last job: the index has caught up
		if ctx.Err() != nil {
			t.Fatal("the past is not searchable")
		}
		time.Sleep(100 * time.Millisecond)
	}
	for _, q := range []string{"the unit that seized after sand", "pump stuck with grit in it", "locked up, full of mud"} {
		found := look(q)
		if len(found.Jobs) == 0 {
			t.Errorf("%q finds nothing", q)
			continue
		}
		var words []string
		for _, h := range found.Hits {
			if h.Job == found.Jobs[0].ID {
				words = append(words, h.Text)
			}
		}
		all := strings.Join(words, "; ")
		if !regexp.MustCompile("sand|silt|grit|settling pit").MatchString(all) || !regexp.MustCompile("turn|solid|stuck|jammed").MatchString(all) || len(found.Jobs[0].Ended) == 0 {
			t.Errorf("%q finds first: %s, in the end %v", q, all, found.Jobs[0].Ended)
		}
	}

	list := fetch[wire.Jobs](t, address+"/api/jobs?limit=20")
	if len(list.Jobs) != 20 || list.Total != 301 || list.Jobs[0].ID != "MW-1041" {
		t.Errorf("%d of %d jobs are listed, the first is %s", len(list.Jobs), list.Total, list.Jobs[0].ID)
	}
	for _, j := range list.Jobs[1:] {
		if time.Since(j.Last) < 24*time.Hour {
			t.Errorf("%s of the past was last worked on at %s", j.ID, j.Last)
		}
	}

	drifting := fetch[trend.Answer](t, address+"/api/drift?spec=mr5&callout=collar_nut_torque")
	if !slices.ContainsFunc(drifting.Instruments, func(f trend.InstrumentOf) bool {
		return f.Instrument == "wrench 7" && f.Shown && strings.Contains(f.Text, "low against the others")
	}) {
		t.Errorf("the instruments are %+v", drifting.Instruments)
	}
}

// Without a past there is only what is played.
func TestDemoWithoutAPast(t *testing.T) {
	_, address := demo(t, "0")
	if list := fetch[wire.Jobs](t, address+"/api/jobs"); len(list.Jobs) != 1 || list.Total != 1 {
		t.Errorf("there are %d jobs", len(list.Jobs))
	}
}

// A server has no past but its own: what a demo invents never gets into it.
func TestServeInventsNothing(t *testing.T) {
	data := t.TempDir()
	p := begin(t, data)
	if list := fetch[wire.Jobs](t, p.address+"/api/jobs"); len(list.Jobs) != 0 {
		t.Errorf("there are %d jobs", len(list.Jobs))
	}
	p.stop(t)
	if entries := kept(t, data); len(entries) > 0 {
		t.Errorf("there are %d entries", len(entries))
	}
	out, err := exec.CommandContext(t.Context(), "readback", "serve", "--data", data, "--past", "3").CombinedOutput()
	if err == nil || !strings.Contains(string(out), "unknown flag: --past") {
		t.Errorf("serve --past: %v, %s", err, out)
	}
	out, err = exec.CommandContext(t.Context(), "readback", "demo", "--past", "-1").CombinedOutput()
	if want := fmt.Sprintf("give one from 0 to %d", maxPast); err == nil || !strings.Contains(string(out), want) {
		t.Errorf("demo --past -1: %v, %s", err, out)
	}
}
