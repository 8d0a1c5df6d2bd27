package web_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
)

// Drift over the wire: what the shop has measured, as JSON and as a table, and what is wrong
// with a question.
func TestDrift(t *testing.T) {
	s := openShop(t)
	s.work(t)
	r := s.ask(t, "GET", "/api/drift?spec=mr5&callout=collar_nut_torque", "")
	var a struct {
		Name, Limits string
		Readings     []struct {
			Job, Value, Unit, Verdict string
			Seq                       int64
			At                        map[string]int
			Charted                   bool
		}
		Individuals *struct{ Centre float64 }
		Instruments []any
		Missing     []string
	}
	if err := json.Unmarshal([]byte(r.body), &a); err != nil || r.StatusCode != http.StatusOK {
		t.Fatalf("%d %s: %v", r.StatusCode, r.body, err)
	}
	if len(a.Readings) != 2 || a.Readings[1].Job != "MW-1041" || a.Readings[1].Value != "51" || a.Readings[1].Unit != "N.m" || a.Readings[1].Verdict != "out" ||
		a.Readings[1].At["stage"] != 2 || !a.Readings[1].Charted || a.Individuals == nil || a.Individuals.Centre != 49.5 || a.Name != "collar nut" || a.Limits != "46.08 to 49.92 N·m" || a.Instruments == nil || len(a.Missing) == 0 {
		t.Errorf("the answer is %s", r.body)
	}
	table := s.ask(t, "GET", "/api/drift.csv?spec=mr5&callout=collar_nut_torque", "")
	if lines := strings.Split(table.body, "\r\n"); len(lines) != 4 || !strings.HasPrefix(lines[0], "job,seq,time,") || !strings.HasPrefix(lines[2], "MW-1041,3,") ||
		table.Header.Get("Content-Type") != "text/csv; charset=utf-8" || !strings.Contains(table.Header.Get("Content-Disposition"), "drift.csv") {
		t.Errorf("the table is %q with %v", table.body, table.Header)
	}
	callouts := s.ask(t, "GET", "/api/drift/callouts", "")
	if !strings.Contains(callouts.body, `"spec":"mr5","callout":"collar_nut_torque","name":"collar nut","unit":"N.m","derived":false,"readings":2`) {
		t.Errorf("what has readings is %s", callouts.body)
	}
	for path, want := range map[string]string{
		"/api/drift?callout=x":                   "callout: ",
		"/api/drift?spec=mr5&rules=seven":        "rules: ",
		"/api/drift.csv?spec=mr5&from=yesterday": "from: ",
		"/api/drift?spec=mr5&nonsense=1":         "nonsense: ",
		"/api/drift/callouts?spec=%00":           "spec: ",
	} {
		r := s.ask(t, "GET", path, "")
		if p := problem(t, r); r.StatusCode != http.StatusBadRequest || !strings.HasPrefix(p.Error, want) || p.Do == "" {
			t.Errorf("%s: %d %+v", path, r.StatusCode, p)
		}
	}
	if r := s.ask(t, "GET", "/drift?spec=mr5", ""); r.body != "drift" {
		t.Errorf("the page is %q", r.body)
	}
	if r := s.ask(t, "POST", "/api/drift", ""); r.StatusCode != http.StatusNotFound && r.StatusCode != http.StatusMethodNotAllowed {
		t.Errorf("a POST is answered with %d", r.StatusCode)
	}
}
