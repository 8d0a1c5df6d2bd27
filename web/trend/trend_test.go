package trend_test

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/journal/memory"
	"readback/capture/journal/sqlite"
	"readback/capture/query"
	"readback/capture/query/querytest"
	"readback/rules/drift"
	"readback/web/trend"
)

// stores are what the journal may be kept in.
var stores = map[string]func(t *testing.T) journal.Store{
	"memory": func(*testing.T) journal.Store { return memory.New() },
	"sqlite": func(t *testing.T) journal.Store {
		t.Helper()
		s, err := sqlite.Open(t.Context(), t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
		return s
	},
}

// ask puts a question as it stands in an address.
func ask(t *testing.T, from query.Questions, address string) trend.Answer {
	t.Helper()
	v, err := url.ParseQuery(address)
	if err != nil {
		t.Fatal(err)
	}
	q, err := trend.Read(v)
	if err != nil {
		t.Fatal(err)
	}
	r, err := trend.Make(t.Context(), from, q)
	if err != nil {
		t.Fatal(err)
	}
	a := r.Answer()
	if _, err := json.Marshal(a); err != nil {
		t.Fatal(err)
	}
	return a
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v within %v", what, got, want, within)
	}
}

var (
	flowrates = []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	averaged  = []float64{52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
)

// The worked example of the NIST/SEMATECH e-Handbook, 6.3.2.2, said as notes of ten jobs. It
// uses d2 = 1.128, and the chart d2 = 2/√π.
func TestIndividualsOfTheHandbook(t *testing.T) {
	for name, open := range stores {
		t.Run(name, func(t *testing.T) {
			s := querytest.Published(t, open(t))
			s.Series(t, "flow", flowrates)
			c := ask(t, s, "spec=published&callout=flow&rules=eight").Individuals
			if c == nil {
				t.Fatal("there is no chart")
			}
			near(t, "the centre", c.Centre, 50.81, 1e-12)
			near(t, "the mean range", c.MeanRange, 1.8778, 5e-5)
			near(t, "the upper limit with the printed d2", c.Centre+3*c.MeanRange/1.128, 55.8041, 5e-5)
			near(t, "the lower limit with the printed d2", c.Centre-3*c.MeanRange/1.128, 45.8159, 5e-5)
			near(t, "the upper limit", c.Upper, 50.81+3*16.9/9/drift.D2, 1e-9)
			near(t, "the lower limit", c.Lower, 50.81-3*16.9/9/drift.D2, 1e-9)
			if len(c.Signals) > 0 || len(c.WideRanges) > 0 {
				t.Errorf("it is out of control at %v; the handbook says that it is in", c.Signals)
			}
		})
	}
}

// The worked example of 6.3.2.4, whose target and sigma come from an earlier chart.
func TestMovingAverageOfTheHandbook(t *testing.T) {
	s := querytest.Published(t, memory.New())
	s.Series(t, "flow", averaged)
	e := ask(t, s, "spec=published&callout=flow&weight=0.3&target=50&sigma=2.0539").EWMA
	printed := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	if e == nil || len(e.Averages) != len(printed) {
		t.Fatalf("the chart is %+v", e)
	}
	for i, want := range printed {
		near(t, "an average", e.Averages[i], want, 0.005+1e-9)
	}
	near(t, "the upper limit", e.Upper, 52.5884, 5e-5)
	near(t, "the lower limit", e.Lower, 47.4115, 1e-4)
	if len(e.Outside) > 0 {
		t.Errorf("it is out after %v; the handbook says that it is in", e.Outside)
	}
}

// sample returns n readings of which the mean is 16 and the standard deviation 2, but for
// the eighth decimal.
func sample(t *testing.T, n int) []float64 {
	t.Helper()
	r := rand.New(rand.NewPCG(7, uint64(n)))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	s, err := drift.Summarise(x)
	if err != nil {
		t.Fatal(err)
	}
	for i := range x {
		x[i] = math.Round((16+(x[i]-s.Mean)/s.SD*2)*1e8) / 1e8
	}
	return x
}

// The worked example of 6.1.6: limits 8 and 20, mean 16, standard deviation 2.
func TestCapabilityOfTheHandbook(t *testing.T) {
	s := querytest.Published(t, memory.New())
	s.Series(t, "length", sample(t, 50))
	c := ask(t, s, "spec=published&callout=length").Capability
	if c == nil {
		t.Fatal("there is no capability")
	}
	near(t, "Cp", c.Cp.Value, 1.0, 1e-7)
	near(t, "Cpu", c.Cpu.Value, 0.6667, 5e-5)
	near(t, "Cpl", c.Cpl.Value, 1.3333, 5e-5)
	near(t, "Cpk", c.Cpk.Value, 0.6667, 5e-5)
	half := 1.96 * math.Sqrt(1/450.0+0.6667*0.6667/98)
	near(t, "the lower end of Cpk", c.Cpk.Lower, 0.6667-half, 1e-4)
	near(t, "the upper end of Cpk", c.Cpk.Upper, 0.6667+half, 1e-4)
	if c.Text != "Cpk 0.67 (95 % confidence 0.51 to 0.83, 50 readings)." {
		t.Errorf("it says %q", c.Text)
	}
}

// A wrench that reads low since March is found, and the good ones beside it are not.
func TestAWrenchThatDrifts(t *testing.T) {
	s := querytest.New(t, memory.New())
	s.History(t, 150, 3)
	for name, address := range map[string]string{"of one callout": "spec=mr5&callout=collar_nut_torque", "of every callout": "spec=mr5"} {
		a := ask(t, s, address)
		if len(a.Instruments) != 3 {
			t.Fatalf("%s: %+v, missing %v", name, a.Instruments, a.Missing)
		}
		first := a.Instruments[0]
		if first.Instrument != "wrench 7" || !first.Shown || first.Basis != "per cent" || !strings.HasPrefix(first.Text, "Wrench 7 reads 2.") && !strings.HasPrefix(first.Text, "Wrench 7 reads 1.") ||
			!strings.Contains(first.Text, "per cent low against the others since March") {
			t.Errorf("%s: %+v", name, first)
		}
		near(t, "the difference", first.Difference.Value, -2, 0.4)
		if !strings.HasPrefix(first.Since, "2026-0") || first.Difference.Level < 0.98 {
			t.Errorf("%s: since %q, at the level %v", name, first.Since, first.Difference.Level)
		}
		for _, other := range a.Instruments[1:] {
			if other.Shown {
				t.Errorf("%s: a good wrench is blamed: %s", name, other.Text)
			}
		}
	}
	alone := ask(t, s, "spec=mr5&callout=collar_nut_torque&instrument=wrench+7")
	if len(alone.Instruments) != 1 || len(alone.Individuals.Signals) == 0 || alone.Individuals.Readings != 150 {
		t.Errorf("of the wrench alone: %+v, %d signals", alone.Instruments, len(alone.Individuals.Signals))
	}
	before := ask(t, s, "spec=mr5&callout=collar_nut_torque&to=2026-02-28")
	if before.Individuals.Readings != 58*3 {
		t.Errorf("before March there are %d readings", before.Individuals.Readings)
	}
	for _, i := range before.Instruments {
		near(t, "before March the difference of "+i.Instrument, i.Difference.Value, 0, 0.7)
	}
}

// A spacer of the long base is no outlier among those of the short one.
func TestReadingsOfOtherLimitsAreNotMixed(t *testing.T) {
	s := querytest.New(t, memory.New())
	s.History(t, 40, 5)
	a := ask(t, s, "spec=mr5&callout=build_spacer")
	if len(a.Readings) != 40 || len(a.Groups) != 2 || a.Groups[0] != (trend.AnswerGroup{Limits: "63.9 to 64.1 mm", Readings: 30}) || a.Individuals.Readings != 30 {
		t.Fatalf("%d readings, groups %+v, %+v", len(a.Readings), a.Groups, a.Individuals)
	}
	near(t, "the centre of the short ones", a.Individuals.Centre, 64, 0.03)
	if !strings.Contains(strings.Join(a.Cautions, " "), "10 readings with other limits") {
		t.Errorf("it does not say what is left out: %q", a.Cautions)
	}
	charted := 0
	for _, r := range a.Readings {
		if r.Charted {
			charted++
			if r.Limits != "63.9 to 64.1 mm" {
				t.Errorf("%+v is charted", r)
			}
		}
	}
	if charted != 30 {
		t.Errorf("%d are charted", charted)
	}
	long := ask(t, s, "spec=mr5&callout=build_spacer&limits="+url.QueryEscape("88.4 to 88.6 mm"))
	if long.Individuals.Readings != 10 || long.Limits != "88.4 to 88.6 mm" {
		t.Errorf("of the long ones %+v", long.Individuals)
	}
}

// What says nothing of what was measured is left out, and counted.
func TestSettingsAndWhatLacksItsTemperatureAreLeftOut(t *testing.T) {
	s := querytest.New(t, memory.New())
	for i, notes := range [][]string{
		{"collar nut stage one forty eight newton metres on wrench seven", "insulation two oh five megohms at thirty degrees"},
		{"collar nut stage one clicked at forty eight newton metres on wrench two", "insulation three hundred megohms"},
		{"collar nut stage one forty seven point five newton metres on wrench nine", "insulation two hundred megohms at forty degrees"},
	} {
		id := "MW-" + strconv.Itoa(i+1)
		s.Open(t, id, "mr5", nil)
		s.Say(t, id, "Ines", notes...)
	}
	nuts := ask(t, s, "spec=mr5&callout=collar_nut_torque")
	if len(nuts.Readings) != 3 || nuts.Individuals.Readings != 2 || !strings.Contains(strings.Join(nuts.Cautions, " "), "1 reading left out: the setting of a click wrench") {
		t.Errorf("%d of %d nuts charted, %q", nuts.Individuals.Readings, len(nuts.Readings), nuts.Cautions)
	}
	ohms := ask(t, s, "spec=mr5&callout=insulation")
	if ohms.Individuals == nil || ohms.Individuals.Readings != 2 || !strings.Contains(strings.Join(ohms.Cautions, " "), "1 reading left out: the limits hold at a temperature") {
		t.Fatalf("insulation: %+v, %q", ohms.Individuals, ohms.Cautions)
	}
	near(t, "the centre, at 40 degrees", ohms.Individuals.Centre, (102.5+200)/2, 1e-9)
}

func TestLittleOrNothingIsSaidPlainly(t *testing.T) {
	s := querytest.New(t, memory.New())
	says := func(address, want string) {
		t.Helper()
		a := ask(t, s, address)
		if !strings.Contains(strings.Join(a.Missing, " "), want) {
			t.Errorf("%s says %q, want %q", address, a.Missing, want)
		}
	}
	says("", "No spec is chosen.")
	says("spec=mr5&callout=build_spacer", "No reading in the record fits this choice.")
	s.Open(t, "MW-1", "mr5", nil)
	s.Say(t, "MW-1", "Ines", "build spacer 64 mm")
	says("spec=mr5&callout=build_spacer", "The chart of individuals and moving ranges cannot be made: ")
	says("spec=mr5&callout=build_spacer", "no reading here that compares names one")
	says("spec=mr5&callout=build_spacer&instrument=wrench+7", "No reading of build spacer by wrench 7 fits this choice; other instruments have 1.")
	s.Open(t, "MW-2", "mr5", nil)
	s.Say(t, "MW-2", "Ines", "build spacer 64 mm", "winding resistance u v 1.86 ohms v w 1.87 ohms", "collar nut one 48 newton metres on wrench seven")
	says("spec=mr5&callout=build_spacer", "never differ")
	says("spec=mr5&callout=winding_resistance", "There is no capability: the spec gives no limits.")
	says("spec=mr5&callout=collar_nut_torque", "only wrench 7 was named")
	says("spec=mr5&callout=winding_resistance&base=9", "There are only 2 readings")
}

func TestBadQuestionsSayWhatToDo(t *testing.T) {
	s := querytest.New(t, memory.New())
	s.Open(t, "MW-1", "mr5", nil)
	s.Say(t, "MW-1", "Ines", "build spacer 64 mm")
	for address, field := range map[string]string{
		"callout=build_spacer": "callout", "spec=mr5&colour=red": "colour", "spec=mr5&spec=mr6": "spec", "spec=mr5&from=yesterday": "from",
		"spec=mr5&from=2026-03-02&to=2026-03-01": "to", "spec=mr5&to=2026-02-30": "to", "spec=mr5&rules=seven": "rules", "spec=mr5&base=1": "base",
		"spec=mr5&base=1e9": "base", "spec=mr5&weight=0": "weight", "spec=mr5&weight=NaN": "weight", "spec=mr5&target=Inf": "target",
		"spec=mr5&sigma=-1": "sigma", "spec=mr5&sigma=1e200": "sigma", "spec=mr5&callout=build_spacer&place=stage": "place",
		"spec=mr5&callout=build_spacer&limits=64": "limits", "spec=%00": "spec", "spec=mr5&person=%ff": "person",
		"spec=mr5&limits=" + strings.Repeat("x", 1000): "limits",
	} {
		v, err := url.ParseQuery(address)
		if err != nil {
			t.Fatal(err)
		}
		q, err := trend.Read(v)
		if err == nil {
			_, err = trend.Make(t.Context(), s, q)
		}
		f, ok := errors.AsType[*query.FilterError](err)
		if !ok || f.Field != field || f.Wrong == "" || f.Do == "" {
			t.Errorf("%s: %v", address, err)
		}
	}
}

// A question survives the way through an address.
func TestQuestionInAnAddress(t *testing.T) {
	const address = "base=20&callout=tie_rod_torque&from=2026-01-02&instrument=wrench+7&limits=7.2+to+8.8+N%C2%B7m&person=Tom&place=rod%3D2%2Cpass%3D1&rules=eight&sigma=0.5&spec=mr5&target=8&to=2026-03-04&weight=0.3"
	v, err := url.ParseQuery(address)
	if err != nil {
		t.Fatal(err)
	}
	q, err := trend.Read(v)
	if err != nil {
		t.Fatal(err)
	}
	values := q.Values()
	if got := values.Encode(); got != address {
		t.Errorf("%s comes back as\n%s", address, got)
	}
	// What was chosen of another callout is let go.
	v = url.Values{"of": {"mr5:build_spacer"}, "was": {"mr5:tie_rod_torque"}, "place": {"rod=2"}, "limits": {"x"}, "instrument": {"wrench 7"}, "person": {"Tom"}}
	if q, err = trend.Read(v); err != nil || q.Place != "" || q.Limits != "" || q.Instrument != "" || q.Callout != "build_spacer" || q.Person != "Tom" {
		t.Errorf("%+v, %v", q, err)
	}
}

// The table holds every reading once, with what the charts make of it, and no formula.
func TestTable(t *testing.T) {
	s := querytest.Published(t, memory.New())
	s.Series(t, "flow", flowrates)
	s.Open(t, "EXTRA-1", "published", nil)
	s.Say(t, "EXTRA-1", "=HYPERLINK(\"http://elsewhere.example\")", "flow 50 litres per minute")
	v := url.Values{"spec": {"published"}, "callout": {"flow"}}
	q, err := trend.Read(v)
	if err != nil {
		t.Fatal(err)
	}
	r, err := trend.Make(t.Context(), s, q)
	if err != nil {
		t.Fatal(err)
	}
	text := string(r.CSV())
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) != 12 {
		t.Fatalf("%d rows, %v\n%s", len(rows), err, text)
	}
	if strings.Count(text, "\r\n") != 12 {
		t.Error("a row does not end as RFC 4180 has it")
	}
	at := map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	for i, want := range flowrates {
		row := rows[i+1]
		if row[at["value"]] != strconv.FormatFloat(want, 'f', -1, 64) || row[at["unit"]] != "L/min" || row[at["charted"]] != "yes" || row[at["job"]] != "flow-"+strconv.Itoa(i+1) {
			t.Errorf("row %d is %q", i+1, row)
		}
		if i > 0 {
			got, err := strconv.ParseFloat(row[at["moving_range"]], 64)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "a moving range", got, math.Abs(want-flowrates[i-1]), 1e-9)
		}
	}
	for _, row := range rows {
		for _, cell := range row {
			if cell != "" && strings.ContainsAny(cell[:1], "=+@\t\r") {
				t.Errorf("the cell %q is a formula", cell)
			}
		}
	}
}

// The page shows what was asked, and what is wrong with it; a text of the record is no
// markup.
func TestPage(t *testing.T) {
	s := querytest.New(t, memory.New())
	page, err := trend.Handler(s, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	get := func(address string, status int) string {
		t.Helper()
		w := httptest.NewRecorder()
		page.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/drift?"+address, http.NoBody))
		if w.Code != status {
			t.Errorf("%s: status %d\n%s", address, w.Code, w.Body)
		}
		if p := w.Header().Get("Content-Security-Policy"); strings.Contains(p, "unsafe") || !strings.Contains(p, "default-src 'none'") {
			t.Errorf("%s: policy %q", address, p)
		}
		return w.Body.String()
	}
	has := func(body string, wanted ...string) {
		t.Helper()
		for _, want := range wanted {
			if !strings.Contains(body, want) {
				t.Errorf("the page lacks %q", want)
			}
		}
	}
	has(get("", 200), "No job has a reading yet.")
	s.History(t, 30, 5)
	s.Open(t, "MW-1", "mr5", nil)
	s.Say(t, "MW-1", `<script>alert("x")</script>`, "build spacer 64.01 mm")
	has(get("", 200), "Choose a callout", `<optgroup label="mr5">`, `value="mr5:build_spacer"`)
	body := get("of=mr5:build_spacer", 200)
	has(body, "<svg", "Cpk ", "63.9 to 64.1 mm: ", "88.4 to 88.6 mm: ", "&lt;script&gt;alert(&#34;x&#34;)&lt;/script&gt;", `href="/api/drift.csv?callout=build_spacer&amp;spec=mr5"`)
	if strings.Contains(body, "<script>") || strings.Contains(body, "<style") || strings.Contains(body, " style=") {
		t.Error("a text became markup, or a style is in the page")
	}
	has(get("spec=mr5&callout=build_spacer&weight=2", 400), `role="alert">Weight: it is out of range; give a number above 0`, `<option value="mr5:build_spacer" selected>`)
	has(get("spec=mr5&callout=collar_nut_torque&place=stage%3D9", 200), "No reading in the record fits this choice.")
	has(get("spec=mr5", 200), "every callout", "By instrument")
}
