package ui_test

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"readback/web/guide"
	"readback/web/ui"
)

// TestTheGuideIsForEveryone checks a page of each layout of the guide, which stands in this
// frame, by day and in the dark.
func TestTheGuideIsForEveryone(t *testing.T) {
	t.Parallel()
	text, err := guide.Handler()
	if err != nil {
		t.Fatal(err)
	}
	pages, err := ui.Handler(nil)
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("GET /guide", text)
	mux.Handle("GET /guide/", text)
	mux.Handle("/", pages)
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	for _, sheet := range []string{"light", "dark"} {
		device := newDevice(t, tablet, sheet)
		for name, path := range map[string]string{
			"first": "/guide", "rule": "/guide/rules/hold_point", "register": "/guide/spec/instrument", "opening": "/guide/spec/options", "caution": "/guide/spec/cautions",
		} {
			p := device.open(server.URL + path)
			p.await(`document.querySelector(".talk .raised")`)
			p.complain()
			checkAccess(t, p, everyRule)
			for _, screen := range screens {
				p.show(screen, sheet)
				p.shoot("guide-" + name + "-" + sheet)
				for _, wrong := range eval[[]string](p, misfits) {
					t.Errorf("%s on the %s: %s", path, screen.name, wrong)
				}
			}
		}
	}
}
