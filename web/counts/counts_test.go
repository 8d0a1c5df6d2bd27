package counts_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/rs/zerolog"

	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/query"
	"readback/capture/query/querytest"
	"readback/capture/wire"
	"readback/web/counts"
)

// worked is a shop with three rebuilds of two units, symptoms, and decisions.
func worked(t *testing.T) *querytest.Shop {
	t.Helper()
	s := querytest.New(t, memory.New())
	for _, x := range []struct {
		job   string
		day   int
		notes []string
	}{
		{"MW-1", 2, []string{"serial number =MR-471", "thrust washer scored", "sleeve is worn", "shaft runout 0.08 mm"}},
		{"MW-2", 5, []string{"serial number MR-472", "thrust washer scored"}},
		{"MW-3", 12, []string{"serial number MR-471", "thrust washer scored", "cable frayed", "collar nut stage one fifty one newton metres"}},
	} {
		s.Now = time.Date(2026, 3, x.day, 8, 0, 0, 0, time.UTC)
		s.Open(t, x.job, "mr5", map[string]string{"rebuild": "yes"})
		s.Say(t, x.job, "Ines", x.notes...)
	}
	decide(t, s, 901, "MW-1", "rework", "=It was <b>bent</b>.")
	decide(t, s, 902, "MW-1", "use as is", "Asked the designer.")
	decide(t, s, 903, "MW-3", "scrap", "The thread is torn.")
	return s
}

func decide(t *testing.T, s *querytest.Shop, n int, job, is, reason string) {
	t.Helper()
	state, err := s.Floor.State(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	of := state.Decidable[0]
	d := wire.Dispose{ID: journaltest.ID(n), Finding: of.ID(), Reading: of.Reading, Is: is, Reason: reason, Person: "Martin Hale"}
	if _, _, err := s.Floor.Dispose(t.Context(), job, d); err != nil {
		t.Fatal(err)
	}
}

// Worked by hand: three jobs with scored thrust washers, one with a worn sleeve, one with a frayed cable: of
// five 60 %, 20 % and 20 %. MR-471 came on 2 and 12 March: one return, after 10 days.
func TestReport(t *testing.T) {
	s := worked(t)
	r, err := counts.Make(t.Context(), s, query.Period{})
	if err != nil {
		t.Fatal(err)
	}
	var tables []string
	for _, of := range []string{"symptoms", "dispositions", "visits"} {
		table, err := r.CSV(of)
		if err != nil {
			t.Fatal(err)
		}
		tables = append(tables, strings.ReplaceAll(string(table), "\r\n", "\n"))
	}
	want := []string{
		"part,condition,jobs,notes,share,cumulative\nthrust washer,scored,3,3,0.6000,0.6000\ncable,damaged,1,1,0.2000,0.8000\nshaft sleeve,worn,1,1,0.2000,1.0000\n",
		"job,spec,seq,time,person,rule,callout,place,finding,note,disposition,reason,now\n" +
			"MW-1,mr5,6,2026-03-12T08:04:00Z,Martin Hale,limit,shaft_runout,,\"Shaft runout: 0.08 mm, out: at most 0.05 mm\",5,rework,'=It was <b>bent</b>.,replaced\n" +
			"MW-1,mr5,7,2026-03-12T08:04:00Z,Martin Hale,limit,shaft_runout,,\"Shaft runout: 0.08 mm, out: at most 0.05 mm\",5,use as is,Asked the designer.,accepted\n" +
			"MW-3,mr5,6,2026-03-12T08:04:00Z,Martin Hale,limit,collar_nut_torque,stage=1,\"Collar nut one: 51 N·m, out: 46.08 to 49.92 N·m\",5,scrap,The thread is torn.,still to be done\n",
		"spec,number,visit,job,opened,days since the last\nmr5,MR-471,1,MW-1,2026-03-02T08:00:00Z,\nmr5,MR-471,2,MW-3,2026-03-12T08:00:00Z,10\nmr5,MR-472,1,MW-2,2026-03-05T08:00:00Z,\n",
	}
	if diff := cmp.Diff(want, tables); diff != "" {
		t.Errorf("the tables (-want +got):\n%s", diff)
	}
	byCallout := []counts.Decided{{Spec: "mr5", Callout: "collar_nut_torque", Name: "collar nut", Scrap: 1}, {Spec: "mr5", Callout: "shaft_runout", Name: "shaft runout", UseAsIs: 1}}
	if diff := cmp.Diff(byCallout, r.ByCallout); diff != "" {
		t.Errorf("by callout (-want +got):\n%s", diff)
	}
	a := r.Answer()
	if a.CameAgain != 1 || a.Returns != 1 || a.MeanDays != 10 || len(a.Units) != 2 || a.Units[0].MeanDays == nil || *a.Units[0].MeanDays != 10 || a.Units[1].MeanDays != nil || a.Symptoms[1].Cumulative != 0.8 {
		t.Errorf("the answer is %+v", a)
	}
	if text, err := json.Marshal((&counts.Report{}).Answer()); err != nil || strings.Contains(string(text), "null") {
		t.Errorf("of nothing it is %s, %v", text, err)
	}
}

func TestRead(t *testing.T) {
	for address, want := range map[string]string{
		"spec=mr5&from=2026-03-02&to=2026-03-02": "",
		"":                                       "",
		"from=yesterday":                         "from: ",
		"from=2026-03-03&to=2026-03-01":          "to: ",
		"nonsense=1":                             "nonsense: ",
		"spec=a&spec=b":                          "spec: ",
		"spec=%00":                               "spec: ",
	} {
		v, err := url.ParseQuery(address)
		if err != nil {
			t.Fatal(err)
		}
		p, err := counts.Read(v)
		if (err == nil) != (want == "") || err != nil && !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%s: %v", address, err)
		}
		if strings.HasSuffix(address, "to=2026-03-02") && p.To.Sub(p.From) != 24*time.Hour {
			t.Errorf("one day is %v", p)
		}
	}
}

// The page says what was counted; a text of the record is no markup.
func TestPage(t *testing.T) {
	s := worked(t)
	page, err := counts.Handler(s, func() []string { return []string{"bevel-head", "mr5"} }, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	get := func(address string, status int, wanted ...string) {
		t.Helper()
		w := httptest.NewRecorder()
		page.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/counts?"+address, http.NoBody))
		if p := w.Header().Get("Content-Security-Policy"); w.Code != status || strings.Contains(p, "unsafe") || !strings.Contains(p, "default-src 'none'") {
			t.Errorf("%s: status %d, policy %q", address, w.Code, p)
		}
		body := w.Body.String()
		if strings.Contains(body, "<b>bent") || strings.Contains(body, " style=") || strings.Contains(body, "<script>") {
			t.Errorf("%s: a text became markup, or a style is in the page", address)
		}
		for _, want := range wanted {
			if !strings.Contains(body, want) {
				t.Errorf("%s: the page lacks %q", address, want)
			}
		}
	}
	get("", 200, "<svg", "thrust washer: scored", "60 %", "=It was &lt;b&gt;bent&lt;/b&gt;.", "replaced by 7", "2 units with a number; 1 unit came back, 1 time in all. Mean time between visits: 10 days.", `href="/jobs/MW-3#n3"`, `href="/api/counts.csv?of=symptoms"`)
	get("spec=mr5&from=2026-03-05", 200, `<option value="mr5" selected>`, `href="/api/counts.csv?of=visits&amp;from=2026-03-05&amp;spec=mr5"`, "2 units with a number, and none came back.")
	get("spec=bevel-head", 200, "No note of this time tells of a symptom.", "Nothing was decided in this time.", "No job says the number of its unit.")
	get("spec=gone", 200, `<option value="gone" selected>`)
	get("from=x", 400, `role="alert">From: &#34;x&#34; is no day; write it as 2026-03-31.`)
}
