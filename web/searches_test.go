package web_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"readback/web"
)

// Searches are kept by what was asked alone, are refused in words, and can be looked at and removed.
func TestKeptSearches(t *testing.T) {
	s := openShop(t)
	for _, tt := range []struct {
		method, path, body string
		status             int
		want               string
	}{
		{"GET", "/api/searches", "", 200, `{"searches":[]}`},
		{"POST", "/api/searches", `{"name":"worn","query":"?limit=7&order=best&q=worn+bush&person=Ines&person="}`, 201, `"query":"person=Ines\u0026q=worn+bush"`},
		{"POST", "/api/searches", `{"name":" ","query":"q=worn"}`, 400, "it is empty"},
		{"POST", "/api/searches", `{"name":"a/b","query":"q=worn"}`, 400, "slash"},
		{"POST", "/api/searches", `{"name":"none","query":"q=+"}`, 400, "no word to look for"},
		{"POST", "/api/searches", `{"name":"none","query":"q=worn&from=soon"}`, 400, "no date"},
		{"POST", "/api/searches", `{"name":"like","query":"like=MW-1041"}`, 400, "jobs like one"},
		{"POST", "/api/searches", `{"name":"none","query":"%zz"}`, 400, "cannot be read"},
		{"POST", "/api/searches", `no`, 400, "that is no search"},
		{"POST", "/api/searches", `{"name":"` + strings.Repeat("x", 70_000) + `"}`, 413, "64 KiB"},
		{"POST", "/api/searches/worn/look", "", 200, `"new":0`},
		{"POST", "/api/searches/torn/look", "", 404, "no search of that name"},
		{"DELETE", "/api/searches/torn", "", 404, "no search of that name"},
		{"DELETE", "/api/searches/WORN", "", 200, `{}`},
	} {
		r := s.ask(t, tt.method, tt.path, tt.body)
		if r.StatusCode != tt.status || !strings.Contains(r.body, tt.want) {
			t.Errorf("%s %s %.80s: %d %s, want %d %s", tt.method, tt.path, tt.body, r.StatusCode, r.body, tt.status, tt.want)
		}
		if tt.status >= 400 {
			problem(t, r)
		}
	}
}

// A search that means nothing any more does not hide the others.
func TestKeptSearchThatMeansNothing(t *testing.T) {
	s := openShop(t)
	s.work(t)
	for name, query := range map[string]string{"a": "from=soon", "b": "q=scored", "c": "%zz"} {
		if _, err := s.shelf.Keep(name, query, 0, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	var got web.Searches
	if err := json.Unmarshal([]byte(s.ask(t, "GET", "/api/searches", "").body), &got); err != nil {
		t.Fatal(err)
	}
	want := []web.SavedSearch{
		{Name: "a", Query: "from=soon", Wrong: `from "soon" is no date`}, {Name: "b", Query: "q=scored", New: 2}, {Name: "c", Query: "%zz", Wrong: "it cannot be read"},
	}
	if diff := cmp.Diff(want, got.Searches, cmpopts.IgnoreFields(web.SavedSearch{}, "Seen")); diff != "" {
		t.Errorf("searches (-want +got):\n%s", diff)
	}
}
