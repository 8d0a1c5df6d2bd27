package web_test

import (
	"encoding/json"
	"fmt"
	"html"
	"net/http"
	"strings"
	"testing"

	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

// body is a disposition of the first finding of MW-1041 that takes one, as a page sends it.
func (s *shop) body(t *testing.T, n int, is, reason string) wire.Dispose {
	t.Helper()
	var state wire.State
	if err := json.Unmarshal([]byte(s.ask(t, "GET", "/api/jobs/MW-1041", "").body), &state); err != nil || len(state.Decidable) == 0 {
		t.Fatalf("nothing takes a disposition: %v", err)
	}
	of := state.Decidable[0]
	return wire.Dispose{ID: journaltest.ID(n), Finding: of.ID(), Reading: of.Reading, Is: is, Reason: reason, Person: "Martin Hale"}
}

func (s *shop) post(t *testing.T, job string, d any) reply {
	t.Helper()
	text, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	return s.ask(t, "POST", "/api/jobs/"+job+"/dispositions", string(text), func(r *http.Request) { r.Header.Set("Content-Type", "application/json") })
}

// decide gives a disposition, which must be kept.
func (s *shop) decide(t *testing.T, n int, is, reason string) {
	t.Helper()
	if r := s.post(t, "MW-1041", s.body(t, n, is, reason)); r.StatusCode != http.StatusCreated {
		t.Fatalf("%d %s", r.StatusCode, r.body)
	}
}

func TestDispositionOverHTTP(t *testing.T) {
	s := openShop(t)
	s.work(t)
	d := s.body(t, 200, "rework", "It was torqued cold.")
	r := s.post(t, "MW-1041", d)
	if r.StatusCode != http.StatusCreated || !strings.Contains(r.body, `"type":"entry"`) || !strings.Contains(r.body, `"entry":"disposition"`) || !strings.Contains(r.body, `"person":"Martin Hale"`) {
		t.Fatalf("%d %s", r.StatusCode, r.body)
	}
	if again := s.post(t, "MW-1041", d); again.StatusCode != http.StatusOK || again.body != r.body {
		t.Errorf("sent again: %d %s, first %s", again.StatusCode, again.body, r.body)
	}
	for name, x := range map[string]struct {
		change func(d *wire.Dispose)
		job    string
		status int
		wrong  string
	}{
		"nobody":          {func(d *wire.Dispose) { d.Person = " " }, "", http.StatusBadRequest, "there is no person"},
		"not stated":      {func(d *wire.Dispose) { d.Person = "Not stated" }, "", http.StatusBadRequest, "nobody's name"},
		"no reason":       {func(d *wire.Dispose) { d.Reason = " \t" }, "", http.StatusBadRequest, "there is no reason"},
		"a long reason":   {func(d *wire.Dispose) { d.Reason = strings.Repeat("so ", 400) }, "", http.StatusBadRequest, "reason is longer than 1000"},
		"another word":    {func(d *wire.Dispose) { d.Is = "repair" }, "", http.StatusBadRequest, "is no disposition"},
		"no id":           {func(d *wire.Dispose) { d.ID = "1" }, "", http.StatusBadRequest, "is not a ULID"},
		"no finding":      {func(d *wire.Dispose) { d.Finding.Text = "" }, "", http.StatusBadRequest, "names no finding"},
		"another finding": {func(d *wire.Dispose) { d.Finding.Callout = "shaft_runout" }, "", http.StatusConflict, "no such finding"},
		"an old reading":  {func(d *wire.Dispose) { d.Reading-- }, "", http.StatusConflict, "taken anew"},
		"another job":     {func(*wire.Dispose) {}, "MW-9", http.StatusNotFound, "no job MW-9"},
		"a note's id":     {func(d *wire.Dispose) { d.ID = journaltest.ID(1) }, "", http.StatusConflict, "no disposition"},
	} {
		d := s.body(t, 201, "scrap", "It is bent.")
		x.change(&d)
		job := x.job
		if job == "" {
			job = "MW-1041"
		}
		r := s.post(t, job, d)
		if p := problem(t, r); r.StatusCode != x.status || !strings.Contains(p.Error, x.wrong) {
			t.Errorf("%s: %d %+v", name, r.StatusCode, p)
		}
	}
	if r := s.ask(t, "POST", "/api/jobs/MW-1041/dispositions", "[]"); r.StatusCode != http.StatusBadRequest {
		t.Errorf("a list is answered with %d", r.StatusCode)
	}
}

// Every form of an export has each disposition with who gave it, why, and what became of it.
func TestExportsHaveDispositions(t *testing.T) {
	s := openShop(t)
	s.work(t)
	s.decide(t, 200, "rework", "It was torqued cold.")
	s.decide(t, 201, "use as is", "=<b>Asked</b> the designer.")
	export := func(as string) string { return s.ask(t, "GET", "/api/jobs/MW-1041/export?as="+as, "").body }

	var bundle struct {
		Entries      []struct{ Kind string }
		Dispositions []wire.Disposition
	}
	if err := json.Unmarshal([]byte(export("json")), &bundle); err != nil {
		t.Fatal(err)
	}
	if d := bundle.Dispositions; len(d) != 2 || d[0].State != "replaced" || d[0].By != d[1].Seq || d[1].State != "stands" || bundle.Entries[len(bundle.Entries)-1].Kind != "disposition" {
		t.Errorf("the bundle has %+v", d)
	}
	first, second := bundle.Dispositions[0].Seq, bundle.Dispositions[1].Seq
	rows := entriesOf(records(t, export("csv")))
	last := rows[len(rows)-1]
	if last[6] != "disposition" || last[3] != "Martin Hale" || last[7] != "collar_nut_torque" || last[8] != "stage 2" || last[13] != "limit: Collar nut two: 51 N·m, out: 46.08 to 49.92 N·m" ||
		last[14] != "accepted" || last[18] != "use as is" || last[19] != "'=<b>Asked</b> the designer." {
		t.Errorf("the table ends with %q", last)
	}
	if before := rows[len(rows)-2]; before[14] != fmt.Sprintf("replaced by %d", second) || before[18] != "rework" {
		t.Errorf("before it comes %q", before)
	}
	raw := export("html")
	page := html.UnescapeString(raw)
	for _, want := range []string{
		"<h2>Dispositions</h2>", "<td>It was torqued cold.</td><td><b>rework</b></td><td>" + fmt.Sprintf("replaced by %d", second),
		"<td>=<b>Asked</b> the designer.</td><td><b>use as is</b></td><td>accepted", "<td><b>out, used as is</b></td>", fmt.Sprintf("<td>%d</td>", first),
		"<b>use as is</b> <q>=<b>Asked</b> the designer.</q>",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(raw, "<b>Asked</b>") {
		t.Error("a reason is markup on the page")
	}
}
