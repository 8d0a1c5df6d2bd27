package ui_test

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"readback/web/ui"
)

// A page may use what it needs and nothing else.
func TestPermissions(t *testing.T) {
	pages, err := ui.Handler(nil)
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		"/":                     "camera=(), microphone=(self), geolocation=()",
		"/jobs/MW-1041":         "camera=(self), microphone=(self), geolocation=()",
		"/jobs/MW-1041/notes/3": "camera=(), microphone=(), geolocation=()",
		"/wall":                 "camera=(), microphone=(), geolocation=()",
		"/search":               "camera=(), microphone=(), geolocation=()",
	} {
		w := httptest.NewRecorder()
		pages.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
		if got := w.Result().Header.Get("Permissions-Policy"); got != want {
			t.Errorf("%s may use %s, want %s", path, got, want)
		}
	}
}
