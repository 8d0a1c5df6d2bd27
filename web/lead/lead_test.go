package lead_test

import (
	"encoding/csv"
	"errors"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/journal/memory"
	"readback/capture/query/querytest"
	"readback/capture/wire"
	"readback/web/lead"
)

// twoJobs is a shop with two jobs that differ in base, in readings and in what went wrong.
func twoJobs(t *testing.T) *querytest.Shop {
	t.Helper()
	s := querytest.New(t, memory.New())
	s.Open(t, "MW-1041", "mr5", map[string]string{"stages": "3"})
	s.Say(t, "MW-1041", "Ines", "build spacer 64.02 mm", "seat is clean", "cut impeller stage one", "full impeller stage one")
	s.Now = s.Now.Add(30 * time.Minute)
	s.Say(t, "MW-1041", "Ines", "collar nut stage one 51 newton metres", "collar nut stage one 48 newton metres", "shaft runout 0.03 mm", "<b>note</b> that it rattles")
	s.Open(t, "MW-1042", "mr5", map[string]string{"base": "long", "stages": "4"})
	s.Say(t, "MW-1042", "Tom", "build spacer 88.45 mm", "collar nut stage one 47.5 newton metres", "shaft runout 0.08 mm")
	s.Open(t, "BH-7", "bevel-head", nil)
	return s
}

// get asks a page of the shop.
func get(t *testing.T, s *querytest.Shop, path string) (status int, body string) {
	t.Helper()
	one, err1 := lead.Handler(s.Floor, nil, zerolog.Nop())
	two, err2 := lead.Comparison(s.Floor, zerolog.Nop())
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("GET /jobs/{id}/lead", one)
	mux.Handle("GET /compare", two)
	w := httptest.NewRecorder()
	mux.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	if csp := w.Header().Get("Content-Security-Policy"); !strings.Contains(csp, "script-src 'self'") {
		t.Errorf("%s has the policy %q", path, csp)
	}
	return w.Code, w.Body.String()
}

// TestAJobAtAGlance tells what happened in its order, what is open, and how the unit is built up.
func TestAJobAtAGlance(t *testing.T) {
	s := twoJobs(t)
	status, page := get(t, s, "/jobs/MW-1041/lead")
	if status != http.StatusOK {
		t.Fatalf("status %d: %s", status, page)
	}
	for what, want := range map[string]string{
		"its bundle":           `href="/api/jobs/MW-1041/export?as=json&amp;files=inside"`,
		"a pause":              "Nothing was said for 31 min",
		"how long":             "From the first note to the last 37 min, of which 31 min nothing was said",
		"what a stop was":      "Opened (stop): Stop: impeller, stage one: a full one belongs here, not a cut one",
		"its end":              "Closed: Stop: impeller, stage one: a full one belongs here, not a cut one",
		"the reading again":    "Closed: Collar nut one: 51 N·m, out: 46.08 to 49.92 N·m",
		"a level of the stack": "stage 1 full",
		"one that is to do":    "stage 3 to do",
		"what is under it":     "build spacer 64.02 mm in",
		"text is no markup":    "&lt;b&gt;note&lt;/b&gt; that",
		"what is drawn":        "From 2026-03-02 08:00:00 to 2026-03-02 08:38:00, UTC: 8 notes, 1 times nothing said",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("%s: the page does not have %q", what, want)
		}
	}
	if strings.Contains(page, "<b>note") {
		t.Error("a note has become markup")
	}
	if status, page := get(t, s, "/jobs/MW-1099/lead"); status != http.StatusNotFound || !strings.Contains(page, "no such job") {
		t.Errorf("a job that there is not: status %d", status)
	}
	if status, _ := get(t, s, "/jobs/BH-7/lead"); status != http.StatusOK {
		t.Errorf("a job on which nothing was said: status %d", status)
	}
}

// TestDispositionsAtAGlance shows what is still to be decided of a finding, and what was, with who gave it and why.
func TestDispositionsAtAGlance(t *testing.T) {
	s := twoJobs(t)
	if _, page := get(t, s, "/jobs/MW-1042/lead"); !strings.Contains(page, "No disposition yet.") || strings.Contains(page, "Dispositions") {
		t.Error("a runout that is out has no disposition, and the page does not say so")
	}
	state, err := s.Floor.State(t.Context(), "MW-1042")
	if err != nil {
		t.Fatal(err)
	}
	of := slices.IndexFunc(state.Decidable, func(d wire.Decidable) bool { return d.Callout == "shaft_runout" })
	if of < 0 {
		t.Fatalf("nothing is to be decided of %+v", state.Decidable)
	}
	d := state.Decidable[of]
	if _, _, err := s.Floor.Dispose(t.Context(), "MW-1042", wire.Dispose{
		ID: "01J0000000000000000000DEC1", Finding: d.ID(), Reading: d.Reading,
		Is: "use as is", Reason: "The <customer> accepts it", Person: "Ruth Carter",
	}); err != nil {
		t.Fatal(err)
	}
	_, page := get(t, s, "/jobs/MW-1042/lead")
	for _, want := range []string{"use as is", "Ruth Carter", "The &lt;customer&gt; accepts it", "Accepted.", "No finding is open."} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

// TestTwoJobsAreCompared place by place, with numbers worked by hand.
func TestTwoJobsAreCompared(t *testing.T) {
	s := twoJobs(t)
	pair, err := lead.Compare(t.Context(), s.Floor, "MW-1041", "MW-1042")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(pair.CSV()))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	found := map[string][]string{}
	for _, r := range rows {
		found[r[0]+" "+r[1]+" "+r[2]+r[3]] = r
	}
	for key, want := range map[string]string{
		"option  base":                                   "short|long|||",
		"option  stages":                                 "3|4|||",
		"job  findings open":                             "",
		"place build_spacer build spacer":                "64.02 mm|88.45 mm|'+24.43 mm|in|in",
		"place collar_nut_torque stage 1collar nut one":  "48 N·m|47.5 N·m|'-0.5 N·m|in|in",
		"place shaft_runout shaft runout":                "0.03 mm|0.08 mm|'+0.05 mm|in|out",
		"place collar_nut_torque stage 4collar nut four": "|not yet|||",
		"place impeller stage 1stage one impeller":       "full|not yet|||",
	} {
		r := found[key]
		if r == nil {
			t.Errorf("there is no row %q", key)
		} else if got := strings.Join(r[4:9], "|"); want != "" && got != want {
			t.Errorf("%s: %s, want %s", key, got, want)
		}
	}
	if r := found["place build_spacer build spacer"]; len(r) < 11 || r[9] != "63.9 to 64.1 mm" || r[10] != "88.4 to 88.6 mm" {
		t.Errorf("limits that differ are %q", r)
	}
	if n := pair.A.Spent.Raised; n < 2 {
		t.Errorf("%d findings were raised", n)
	}
	status, page := get(t, s, "/compare?a=MW-1041&b=MW-1042")
	if status != http.StatusOK || !strings.Contains(page, "+24.43 mm") && !strings.Contains(page, "&#43;24.43 mm") {
		t.Errorf("status %d, and the page does not have the difference", status)
	}
}

// TestDifferentSpecsAreToldPlainly, and what is no pair is refused.
func TestDifferentSpecsAreToldPlainly(t *testing.T) {
	s := twoJobs(t)
	if status, page := get(t, s, "/compare?a=MW-1041&b=BH-7"); status != http.StatusOK || !strings.Contains(page, "different build specs, mr5 and bevel-head") {
		t.Errorf("status %d: the page does not say that the specs differ", status)
	}
	for path, want := range map[string]int{"/compare": 200, "/compare?a=MW-1041": 200, "/compare?a=MW-1041&b=MW-1041": 400, "/compare?a=MW-1041&b=MW-1099": 404} {
		if status, _ := get(t, s, path); status != want {
			t.Errorf("%s: status %d, want %d", path, status, want)
		}
	}
	if _, err := lead.Compare(t.Context(), s.Floor, "MW-1041", ""); !errors.Is(err, lead.ErrPair) {
		t.Errorf("without a second: %v", err)
	}
	if _, err := lead.Compare(t.Context(), s.Floor, "MW-1099", "MW-1041"); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("of no job: %v", err)
	}
}
