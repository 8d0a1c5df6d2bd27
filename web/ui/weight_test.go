package ui_test

import (
	"compress/gzip"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"regexp"
	"testing"

	"github.com/chromedp/cdproto/page"

	"readback/web/ui"
)

// heaviest is what a page may weigh in all, in bytes: with what the worker keeps for when the line is down, some of which
// comes twice where the worker begins before the page has all of it.
const heaviest = 240_000

// pagesWeighed are the pages and when each of them is usable.
var pagesWeighed = []struct{ name, path, usable string }{
	{"jobs", "/", `document.querySelector("#jobs tbody tr") && document.querySelector("#options select")`},
	{"sheet", "/jobs/MW-1041", drawn + ` && document.getElementById("slab").dataset.word !== "none" && ` + atField},
	{"field", "/jobs/MW-1041", `document.getElementById("job")?.textContent && ` + atField}, // a note can be entered, and is kept
	{"search", "/search?q=scored", `document.querySelector("#hits li")`},
}

// TestPagesAreLight weighs what goes over the line for each page of a job with 55 notes:
// the page, its files, its data, the websocket, and what the worker keeps of them.
func TestPagesAreLight(t *testing.T) {
	t.Parallel()
	s := fullShop(t)
	for _, v := range pagesWeighed {
		before := s.line.carried.Load()
		p := newDevice(t, tablet, "light").open(s.address + v.path)
		p.await(v.usable)
		eval[bool](p, keepsPages)
		weight := s.line.carried.Load() - before
		t.Logf("%s weighs %d bytes", v.name, weight)
		if weight > heaviest {
			t.Errorf("%s weighs %d bytes, want at most %d", v.name, weight, heaviest)
		} else if weight < 10_000 {
			t.Errorf("%s was not weighed: %d bytes", v.name, weight)
		}
	}
}

// BenchmarkPage opens each page on a device that has never seen it (cold) and on one that
// has (warm), and reports the milliseconds from the start of the navigation until it can
// be used, and the kilobytes that went over the line. "nothing" is a page of 12 bytes, for
// what the browser itself takes on this machine.
func BenchmarkPage(b *testing.B) {
	s := fullShop(b)
	b.Run("nothing", func(b *testing.B) { openPages(b, s, "/healthz", `document.body?.innerText`, false) })
	for _, v := range pagesWeighed {
		b.Run(v.name+"/cold", func(b *testing.B) { openPages(b, s, v.path, v.usable, false) })
		b.Run(v.name+"/warm", func(b *testing.B) { openPages(b, s, v.path, v.usable, true) })
	}
}

func openPages(b *testing.B, s *shop, path, usable string, warm bool) {
	b.Helper()
	d := newDevice(b, tablet, "light")
	if warm {
		p := d.open(s.address + path)
		p.await(usable)
		eval[bool](p, keepsPages)
	}
	total, least := 0.0, math.Inf(1)
	var bytes int64
	for b.Loop() {
		if !warm {
			d = newDevice(b, tablet, "light")
		}
		p := d.open(s.address + "/healthz") // starts the browser's process for the shop
		call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: stopwatch(usable)})
		before := s.line.carried.Load()
		call(p, page.Navigate, page.NavigateParams{URL: s.address + path})
		p.await(`document.documentElement.dataset.usable`)
		took := eval[float64](p, `Number(document.documentElement.dataset.usable)`)
		total, least = total+took, min(least, took)
		bytes += s.line.carried.Load() - before
		if !warm {
			d.close()
		} else {
			p.close()
		}
	}
	b.ReportMetric(total/float64(b.N), "ms-to-usable")
	b.ReportMetric(least, "ms-at-best")
	b.ReportMetric(float64(bytes)/float64(b.N)/1000, "kB")
}

// stopwatch writes into the page at which of its milliseconds it was usable.
func stopwatch(usable string) string {
	return `new MutationObserver((_, watch) => {
		let ready = false;
		try { ready = Boolean(` + usable + `); } catch {}
		if (!ready) return;
		watch.disconnect();
		document.documentElement.dataset.usable = performance.now();
	}).observe(document, { subtree: true, childList: true, attributes: true, characterData: true });`
}

// TestAssetsArePacked: a reader that takes it gets the file compressed, and the same file.
func TestAssetsArePacked(t *testing.T) {
	t.Parallel()
	pages, err := ui.Handler(nil)
	if err != nil {
		t.Fatal(err)
	}
	get := func(path, takes string) *httptest.ResponseRecorder {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil)
		r.Header.Set("Accept-Encoding", takes)
		w := httptest.NewRecorder()
		pages.ServeHTTP(w, r)
		return w
	}
	script := regexp.MustCompile(`/assets/[0-9a-f]+/sheet\.js`).FindString(get("/jobs/MW-1041", "").Body.String())
	for _, path := range []string{script, "/jobs/MW-1041", "/"} {
		plain, packed := get(path, ""), get(path, "gzip, br")
		if plain.Header().Get("Content-Encoding") != "" || packed.Header().Get("Content-Encoding") != "gzip" {
			t.Fatalf("encoded as %q and %q", plain.Header().Get("Content-Encoding"), packed.Header().Get("Content-Encoding"))
		}
		if packed.Body.Len() > plain.Body.Len()/2 {
			t.Errorf("%d of %d bytes", packed.Body.Len(), plain.Body.Len())
		}
		r, err := gzip.NewReader(packed.Body)
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil || string(text) != plain.Body.String() {
			t.Errorf("unpacked it differs (%v)", err)
		}
	}
}
