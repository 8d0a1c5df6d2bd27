package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"readback/capture/floor"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

// TestAStopIsAnsweredOverHTTP: once, by name; what is wrong is said; the exports have it.
func TestAStopIsAnsweredOverHTTP(t *testing.T) {
	s := openShop(t)
	if _, _, err := s.floor.OpenJob(t.Context(), wire.OpenJob{ID: "MW-1041", Spec: "mr5", Person: "Ines"}); err != nil {
		t.Fatal(err)
	}
	seat, _, err := s.floor.Sit(t.Context(), "MW-1041", floor.Speaker{Person: "Ines"}, func([]byte) {})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := seat.Say(t.Context(), wire.Note{ID: journaltest.ID(1), Text: "cut impeller stage one"}); err != nil {
		t.Fatal(err)
	}
	seat.Leave()
	state, err := s.floor.State(t.Context(), "MW-1041")
	if err != nil {
		t.Fatal(err)
	}
	rule, text := state.Stops[0].Rule, state.Stops[0].Text
	body := func(id int, person, more string) string {
		return fmt.Sprintf(`{"id":%q,"rule":"part_choice","callout":"impeller","at":{"stage":"1"},"text":%q,"since":2,"person":%q%s}`, journaltest.ID(id), text, person, more)
	}
	tests := []struct {
		name, job, body string
		status          int
		says            string
	}{
		{"no name", "MW-1041", body(2, "", ""), http.StatusBadRequest, "person"},
		{"no object", "MW-1041", "Tom", http.StatusBadRequest, "JSON"},
		{"a control character", "MW-1041", strings.Replace(body(2, "Tom", ""), "Tom", `To\u0007m`, 1), http.StatusBadRequest, "control"},
		{"no such job", "MW-1099", body(2, "Tom", ""), http.StatusNotFound, "no job"},
		{"another note's", "MW-1041", strings.Replace(body(2, "Tom", ""), `"since":2`, `"since":7`, 1), http.StatusConflict, "changed meanwhile"},
		{"no words", "MW-1041", strings.Replace(body(2, "Tom", ""), text, "", 1), http.StatusBadRequest, "text"},
		{"in other words", "MW-1041", strings.Replace(body(2, "Tom", ""), text, "Stop: anything", 1), http.StatusConflict, "changed meanwhile"},
		{"answered", "MW-1041", body(2, "Tom", ""), http.StatusCreated, `"person":"Tom"`},
		{"sent again", "MW-1041", body(2, "Tom", ""), http.StatusOK, `"person":"Tom"`},
		{"answered by another", "MW-1041", body(3, "Ruth", ""), http.StatusOK, `"person":"Tom"`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := s.ask(t, http.MethodPost, "/api/jobs/"+tt.job+"/heed", strings.Replace(tt.body, "part_choice", rule, 1))
			if r.StatusCode != tt.status || !strings.Contains(r.body, tt.says) {
				t.Errorf("status %d, want %d: %s", r.StatusCode, tt.status, r.body)
			}
			if tt.status >= 400 {
				problem(t, r)
			}
		})
	}
	for as, want := range map[string]string{"html": "Tom sees to what entry 2 has raised: ", "csv": "heeded,", "json": `"kind":"heeded"`} {
		if r := s.ask(t, http.MethodGet, "/api/jobs/MW-1041/export?as="+as, ""); !strings.Contains(r.body, want) {
			t.Errorf("the export as %s does not have %q", as, want)
		}
	}
	foreign := func(r *http.Request) { r.Header.Set("Origin", "https://elsewhere.example") }
	for method, path := range map[string]string{http.MethodPost: "/api/jobs/MW-1041/heed", http.MethodGet: "/ws/wall"} {
		if r := s.ask(t, method, path, body(4, "Tom", ""), foreign); r.StatusCode != http.StatusForbidden {
			t.Errorf("%s %s from another site: status %d", method, path, r.StatusCode)
		}
	}
}
