package plot_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"html/template"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
	"time"

	"readback/rules/decide"
	"readback/rules/drift"
	"readback/web/plot"
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// torque draws n readings about 48; the last eleven run high if they are to.
func torque(n int, high float64) []float64 {
	r := rand.New(rand.NewPCG(8, 8))
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Round((48+0.6*r.NormFloat64())*10) / 10
		if i >= n-11 {
			x[i] += high
		}
	}
	return x
}

func job(i int) string { return fmt.Sprintf("MW-%d", 1041+i) }

func comparisons() (out []drift.Comparison) {
	r := rand.New(rand.NewPCG(3, 3))
	var m []drift.Measured
	for d := range 60 {
		for _, w := range []string{"wrench 4", "wrench 7", "wrench 9"} {
			off := r.NormFloat64()
			if w == "wrench 7" && d > 20 {
				off -= 2
			}
			m = append(m, drift.Measured{Group: "nut", Instrument: w, Off: off, When: time.Date(2026, 1, 5+5*d, 8, 0, 0, 0, time.UTC)})
		}
	}
	for _, w := range []string{"wrench 4", "wrench 7", "wrench 9"} {
		out = append(out, must(drift.Compare(m, w, drift.OfNominal, drift.Together(0.95, 3))))
	}
	return out
}

// bars are n counts from n down to 1.
func bars(n int) (out []plot.Bar) {
	sum := 0
	for i := range n {
		sum += n - i
		out = append(out, plot.Bar{Name: fmt.Sprintf("thrust washer %d in the lower end scored", i), N: n - i, Cumulative: float64(sum) / float64(n*(n+1)/2)})
	}
	return out
}

// drawn is every chart of every sort, by name.
func drawn(l plot.Labels) map[string]template.HTML {
	x, long := torque(40, 1.5), torque(drift.MaxReadings/20, 1.5)
	x[5] = 52
	c := must(drift.NewIndividuals(x, 25, drift.EightTests()))
	calm := must(drift.NewIndividuals(torque(30, 0), 0, drift.FourRules()))
	of := func(x []float64) drift.Individuals { return must(drift.NewIndividuals(x, 0, drift.EightTests())) }
	plan := drift.Plan{Target: c.Centre, Sigma: c.Sigma, Lambda: 0.2, Width: 3}
	sums := drift.Sums{Target: c.Centre, Sigma: c.Sigma, Slack: 0.5, Threshold: 5}
	wild := torque(20, 0)
	wild[10] = 4000
	return map[string]template.HTML{
		"individuals":        must(plot.Individuals(c, l)),
		"individuals-calm":   must(plot.Individuals(calm, l)),
		"individuals-two":    must(plot.Individuals(of([]float64{1, 2}), l)),
		"individuals-wild":   must(plot.Individuals(of(wild), l)),
		"individuals-long":   must(plot.Individuals(of(long), l)),
		"individuals-tiny":   must(plot.Individuals(of([]float64{1e-9, 3e-9, 2e-9, -1e-9}), l)),
		"individuals-huge":   must(plot.Individuals(of([]float64{1e99, -1e100, 2e99}), l)),
		"ewma":               must(plot.EWMA(must(drift.NewEWMA(x, plan)), l)),
		"ewma-one":           must(plot.EWMA(must(drift.NewEWMA(x[:1], plan)), l)),
		"ewma-long":          must(plot.EWMA(must(drift.NewEWMA(long, plan)), l)),
		"cusum":              must(plot.CUSUM(must(drift.NewCUSUM(x, sums)), l)),
		"cusum-long":         must(plot.CUSUM(must(drift.NewCUSUM(long, sums)), l)),
		"pareto":             must(plot.Pareto(bars(7), l)),
		"pareto-one":         must(plot.Pareto(bars(1), l)),
		"pareto-many":        must(plot.Pareto(bars(33), l)),
		"instruments":        must(plot.Instruments(comparisons(), l)),
		"capability":         must(plot.Capability(must(drift.NewCapability(x, decide.Limits{Min: 46.08, Max: 49.92}, 0.95)), x, l)),
		"capability-at-most": must(plot.Capability(must(drift.NewCapability(x, decide.Limits{Min: decide.Open(), Max: 60}, 0.95)), x, l)),
	}
}

var usual = plot.Labels{Title: "Collar nut torque, stage 1", Unit: "N·m", Name: job, Places: 2}

// element is what a chart is made of, as an XML reader sees it.
type element struct {
	name  string
	attrs map[string]string
	words string
}

func elements(t *testing.T, svg template.HTML) (out []element) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(string(svg)))
	var open []int
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatalf("%v in %.300s", err, svg)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := element{token.Name.Local, map[string]string{}, ""}
			for _, a := range token.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			open = append(open, len(out))
			out = append(out, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				out[open[len(open)-1]].words += string(token)
			}
		}
	}
}

var colour = map[string]bool{"none": true, "currentColor": true, "": true}

// Each chart is well-formed XML of the few elements that it needs, with nothing that runs,
// loads or paints, and no number that is none.
func TestChartsArePlain(t *testing.T) {
	known := map[string]bool{"svg": true, "title": true, "desc": true, "line": true, "path": true, "text": true}
	numbers := regexp.MustCompile(`^[-0-9. MLHVahlvmz]*$`)
	for name, svg := range drawn(usual) {
		for _, e := range elements(t, svg) {
			if !known[e.name] || !colour[e.attrs["fill"]] || !colour[e.attrs["stroke"]] {
				t.Errorf("%s: <%s> with fill %q, stroke %q", name, e.name, e.attrs["fill"], e.attrs["stroke"])
			}
			for _, a := range []string{"d", "x", "y", "x1", "y1", "x2", "y2", "viewBox"} {
				if !numbers.MatchString(e.attrs[a]) {
					t.Errorf("%s: <%s> has %s %.60q", name, e.name, a, e.attrs[a])
				}
			}
			for a := range e.attrs {
				if a == "style" || a == "class" || a == "href" || strings.HasPrefix(a, "on") {
					t.Errorf("%s: <%s> has the attribute %s", name, e.name, a)
				}
			}
		}
		if len(svg) > 200_000 {
			t.Errorf("%s has %d bytes", name, len(svg))
		}
	}
}

// count counts the marks whose own title has all of the words.
func count(all []element, words ...string) (n int) {
next:
	for i, e := range all {
		if e.name != "title" || i == 0 || all[i-1].name != "path" {
			continue
		}
		for _, w := range words {
			if !strings.Contains(e.words, w) {
				continue next
			}
		}
		n++
	}
	return n
}

func TestIndividualsMarksWhatFired(t *testing.T) {
	x := torque(40, 1.5)
	x[5] = 52
	c := must(drift.NewIndividuals(x, 25, drift.EightTests()))
	all := elements(t, must(plot.Individuals(c, usual)))
	for _, s := range c.Signals {
		for _, p := range s.Points {
			if count(all, job(p)+": ", string(s.Rule)) != 1 {
				t.Errorf("%s has no mark that says %q", job(p), s.Rule)
			}
		}
	}
	signalled := map[int]bool{}
	for _, s := range c.Signals {
		for _, p := range s.Points {
			signalled[p] = true
		}
	}
	if got, want := count(all, "MW-", ": "), len(x)+len(signalled)+len(c.WideRanges); got != want {
		t.Errorf("there are %d marks, want %d: one a reading, and one more where it fired", got, want)
	}
	desc := all[2].words
	for _, want := range []string{"Individuals and moving ranges of 40 readings, in N·m", "one point beyond the limits: MW-1046", "eight tests", "beyond its limit: MW-1045 to MW-1046"} {
		if !strings.Contains(desc, want) {
			t.Errorf("the description %q lacks %q", desc, want)
		}
	}
	if all[1].name != "title" || all[1].words != usual.Title || all[0].attrs["role"] != "img" {
		t.Errorf("the chart is called %q, of role %q", all[1].words, all[0].attrs["role"])
	}
}

func TestWordsAreNeverMarkup(t *testing.T) {
	l := plot.Labels{Title: "</title><script>a</script> & \x00\x1b\xff\ufffe\"'", Unit: "<g>", Name: func(int) string { return `"/><image href="x"` }, Places: 99}
	for name, svg := range drawn(l) {
		if all := elements(t, svg); !strings.HasPrefix(all[1].words, "</title><script>a</script> & ") {
			t.Errorf("%s is called %q", name, all[1].words)
		}
		if strings.Contains(string(svg), "<script") || strings.Contains(string(svg), "<image") || strings.Contains(string(svg), "<g>") {
			t.Errorf("%s lets words through as markup", name)
		}
	}
}

func TestNothingToDraw(t *testing.T) {
	_, a := plot.Individuals(drift.Individuals{}, usual)
	_, b := plot.EWMA(drift.EWMA{}, usual)
	_, c := plot.CUSUM(drift.CUSUM{}, usual)
	_, d := plot.Instruments(nil, usual)
	_, e := plot.Capability(drift.Capability{}, nil, usual)
	_, f := plot.Pareto(nil, usual)
	for i, err := range []error{a, b, c, d, e, f} {
		if err == nil || !strings.Contains(err.Error(), "nothing to draw") {
			t.Errorf("chart %d of nothing gives the error %v", i, err)
		}
	}
}

func FuzzLabels(f *testing.F) {
	f.Add("Collar nut torque", "N·m", "MW-1041", 2)
	f.Add("]]>", "<!--", "&#0;", -1)
	c := must(drift.NewIndividuals(torque(12, 3), 0, drift.EightTests()))
	f.Fuzz(func(t *testing.T, title, unit, name string, places int) {
		svg, err := plot.Individuals(c, plot.Labels{Title: title, Unit: unit, Name: func(int) string { return name }, Places: places})
		if err != nil {
			t.Fatal(err)
		}
		elements(t, svg)
	})
}

func BenchmarkIndividuals(b *testing.B) {
	for _, n := range []int{40, 400, 100_000} {
		c := must(drift.NewIndividuals(torque(n, 1), 0, drift.EightTests()))
		b.Run(fmt.Sprintf("readings=%d", n), func(b *testing.B) {
			for b.Loop() {
				must(plot.Individuals(c, usual))
			}
		})
	}
}

// Of a long series not every reading is drawn, but the wild ones are marked wherever they
// are, and what has no mark is counted.
func TestALongSeriesKeepsWhatIsWild(t *testing.T) {
	x := torque(50_000, 0)
	wild := []int{0, 300, 25_000, 49_999}
	for _, i := range wild {
		x[i] = 70
	}
	c := must(drift.NewIndividuals(x, 0, drift.LimitsAlone()))
	svg := must(plot.Individuals(c, usual))
	all := elements(t, svg)
	for _, i := range wild {
		if count(all, job(i)+": 70.00", string(drift.Beyond)) != 1 {
			t.Errorf("%s is wild and has no mark", job(i))
		}
	}
	marks := count(all, string(drift.Beyond))
	if marks >= plot.MostDrawn || marks == len(c.Signals) {
		t.Errorf("%d of %d readings have marks", marks, len(c.Signals))
	}
	for _, want := range []string{
		fmt.Sprintf("%d more readings of signals have no mark.", len(c.Signals)-marks),
		fmt.Sprintf("%d earlier ones", len(c.Signals)-plot.MostTold), string(drift.Beyond) + ": MW-51040",
	} {
		if !strings.Contains(all[2].words, want) {
			t.Errorf("the description %q lacks %q", all[2].words, want)
		}
	}
}

func TestANumberThatIsNotNoughtIsNotShownAsNought(t *testing.T) {
	c := must(drift.NewIndividuals([]float64{1e-9, 3e-9, 2e-9, -1e-9}, 0, drift.LimitsAlone()))
	if svg := string(must(plot.Individuals(c, usual))); !strings.Contains(svg, ">centre 1.25e-09<") || strings.Contains(svg, "0.00") {
		t.Errorf("small values are shown as nought: %s", svg)
	}
}
