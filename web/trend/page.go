package trend

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/rs/zerolog"

	"readback/capture/query"
	"readback/parse"
	"readback/rules/drift"
	"readback/rules/say"
	"readback/web/plot"
	"readback/web/ui"
)

//go:embed pages
var files embed.FS

// mostRows is how many readings stand on the page, the newest. The table of all is a click
// away.
const mostRows = 100

// pages serves GET /drift.
type pages struct {
	from   query.Questions
	layout *template.Template
	log    zerolog.Logger
}

// Handler serves GET /drift: the question as a form, its answer in words, charts and
// numbers. It needs no script, and takes the assets of [ui.Handler] as given. An error
// means that the embedded files do not fit together.
func Handler(from query.Questions, log zerolog.Logger) (http.Handler, error) {
	layout, err := template.New("drift.html").Funcs(template.FuncMap{"asset": ui.Address}).ParseFS(files, "pages/drift.html")
	if err != nil {
		return nil, fmt.Errorf("drift: read page: %w", err)
	}
	return &pages{from, layout, log}, nil
}

// view is what the page shows.
type view struct {
	Problem string // what is wrong with the question, and what would help
	Chosen  string // "mr5:build_spacer"; "" where nothing is chosen
	Title   string
	About   string
	Field   url.Values // what stands in the fields
	More    bool       // a setting is not the usual one

	Specs                               []specChoice
	Places, Limits, With, People, Rules []choice

	*Report // nil where there is a problem

	Charts   []figure
	Minds    []string
	Numbers  []numbered
	Rows     []row
	RowsSaid string
	Table    string // address of the CSV
}

type specChoice struct {
	Name     string
	Chosen   bool // with every callout
	Callouts []choice
}

type choice struct {
	Value, Words string
	Chosen       bool
}

type figure struct {
	Name string
	SVG  template.HTML
}

// numbered is a number of the charts.
type numbered struct{ What, Value, Between string }

type row struct {
	Number string // in the charts; "" where it is not in them
	Job    string
	Link   string
	Seq    int64

	Where, Value, Verdict, Instrument, Person, Time, Limits string
}

func (p *pages) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	v, status, err := p.view(r)
	if err != nil {
		p.log.Error().Err(err).Msg("drift cannot be shown")
		v, status = &view{Field: url.Values{}, Problem: "This failed here. The server's log says why; load the page again."}, http.StatusInternalServerError
	}
	ui.Send(w, p.log, p.layout, "drift.html", status, v)
}

// view answers a request. What is wrong with its question is shown; an error is a fault here.
func (p *pages) view(r *http.Request) (*view, int, error) {
	ctx := r.Context()
	v := &view{Field: r.URL.Query()}
	q, err := Read(v.Field)
	var report *Report
	if err == nil {
		report, err = Make(ctx, p.from, q)
	}
	status := http.StatusOK
	if err != nil {
		wrong, ok := problem(err)
		if !ok {
			return nil, 0, err
		}
		v.Problem, status = wrong, http.StatusBadRequest
		q.Limits = "" // what else was chosen stays
	}
	if q.Spec != "" {
		v.Chosen = q.Spec + ":" + q.Callout
	}
	if err := p.choices(ctx, v, q); err != nil {
		return nil, 0, err
	}
	if report == nil {
		return v, status, nil
	}
	v.Report = report
	if err := v.fill(); err != nil {
		return nil, 0, err
	}
	return v, status, nil
}

func problem(err error) (words string, ok bool) {
	if f, is := errors.AsType[*query.FilterError](err); is {
		return fmt.Sprintf("%s: %s; %s.", say.Cap(f.Field), f.Wrong, f.Do), true
	}
	if f, is := errors.AsType[*query.ManyError](err); is {
		return fmt.Sprintf("%s; %s.", say.Cap(f.Wrong()), f.Do()), true
	}
	return "", false
}

// choices fills in what the form offers.
func (p *pages) choices(ctx context.Context, v *view, q Question) error {
	for _, r := range ruleSets {
		v.Rules = append(v.Rules, choice{r.name, say.Cap(r.set.Name), r.name == q.Rules})
	}
	v.More = slices.ContainsFunc([]string{"person", "base", "weight", "target", "sigma"}, func(name string) bool { return v.Field.Get(name) != "" }) || q.Rules != ruleSets[0].name
	all, err := p.from.Callouts(ctx, "")
	if err != nil {
		return err
	}
	for _, c := range all.Callouts {
		if n := len(v.Specs); n == 0 || v.Specs[n-1].Name != c.Spec {
			v.Specs = append(v.Specs, specChoice{Name: c.Spec, Chosen: v.Chosen == c.Spec+":"})
		}
		s := &v.Specs[len(v.Specs)-1]
		value := c.Spec + ":" + c.ID
		s.Callouts = append(s.Callouts, choice{value, fmt.Sprintf("%s: %s, %s", c.Spec, c.Name, counted(c.Readings, "reading")), value == v.Chosen})
	}
	// What was asked for and is not there stays in its field, so that it is seen.
	v.People = []choice{{"", "Everybody", q.Person == ""}}
	v.With = []choice{{"", "All of them", q.Instrument == ""}}
	v.Places = []choice{{"", "Every place", q.Place == ""}}
	if q.Spec == "" {
		return nil
	}
	found, err := p.from.Readings(ctx, query.Filter{Spec: q.Spec, Callout: q.Callout})
	if err != nil {
		if _, ok := problem(err); ok {
			return nil
		}
		return err
	}
	v.offer(found.Readings, q)
	return nil
}

// offer lists the places, instruments and people that a callout has readings of.
func (v *view) offer(readings []query.Reading, q Question) {
	var places []parse.Place
	with, people := map[string]int{}, map[string]int{}
	for i := range readings {
		x := &readings[i]
		if q.Callout != "" && x.At != "" && !slices.Contains(places, x.At) && len(places) < 500 {
			places = append(places, x.At)
		}
		if x.Instrument != "" {
			with[x.Instrument]++
		}
		people[x.Person]++
	}
	slices.SortFunc(places, comparePlaces)
	for _, at := range places {
		v.Places = append(v.Places, choice{string(at), placeWords(at), at == q.Place})
	}
	v.With = append(v.With, sortedChoices(with, q.Instrument)...)
	v.People = append(v.People, sortedChoices(people, q.Person)...)
}

// comparePlaces sorts stage 2 before stage 10.
func comparePlaces(a, b parse.Place) int {
	x, y := a.Indexes(), b.Indexes()
	for i := range min(len(x), len(y)) {
		m, err1 := strconv.Atoi(x[i].Value)
		n, err2 := strconv.Atoi(y[i].Value)
		if err1 == nil && err2 == nil && m != n {
			return m - n
		}
		if x[i] != y[i] && (err1 != nil || err2 != nil) {
			break
		}
	}
	return strings.Compare(string(a), string(b))
}

func sortedChoices(times map[string]int, chosen string) (out []choice) {
	if chosen != "" && times[chosen] == 0 {
		times[chosen] = 0
	}
	for name, n := range times {
		out = append(out, choice{name, fmt.Sprintf("%s, %s", name, counted(n, "reading")), name == chosen})
	}
	slices.SortFunc(out, func(a, b choice) int { return strings.Compare(a.Value, b.Value) })
	return out
}

// fill puts the report into words, charts and tables.
func (v *view) fill() error {
	r := v.Report
	v.Title, v.About = r.title(), r.about()
	v.Table = "/api/drift.csv?" + r.Question.Values().Encode()
	for _, g := range r.Groups {
		chosen := len(r.Charted) > 0 && g.of == groupOf(&r.Charted[0])
		v.Limits = append(v.Limits, choice{g.Limits, fmt.Sprintf("%s: %s", g.Limits, counted(g.Readings, "reading")), chosen})
	}
	v.Minds = slices.Clone(r.Cautions)
	for _, more := range r.chartCautions() {
		if !slices.Contains(v.Minds, more) {
			v.Minds = append(v.Minds, more)
		}
	}
	v.Numbers = r.numbers()
	v.rows()
	return v.draw()
}

func (r *Report) chartCautions() (all []string) {
	if r.Individuals != nil {
		all = append(all, r.Individuals.Cautions...)
	}
	if r.Capability != nil {
		all = append(all, r.Capability.Cautions...)
	}
	return all
}

// title names what is asked about.
func (r *Report) title() string {
	if r.Spec == "" {
		return "" // nothing is asked yet
	}
	parts := []string{r.Spec + ", every callout"}
	if r.Callout != "" {
		name := r.Name
		if name == "" {
			name = strings.ReplaceAll(r.Callout, "_", " ")
		}
		parts = []string{say.Cap(name)}
	}
	if r.Place != "" {
		parts = append(parts, placeWords(r.Place))
	}
	if r.Instrument != "" {
		parts = append(parts, r.Instrument)
	}
	if r.Person != "" {
		parts = append(parts, r.Person)
	}
	return strings.Join(parts, ", ")
}

// about says how much there is, of when, and against which limits.
func (r *Report) about() string {
	if len(r.Charted) == 0 {
		if len(r.All) == 0 {
			return ""
		}
		return fmt.Sprintf("%s of %s.", counted(len(r.All), "reading"), span(r.All))
	}
	return fmt.Sprintf("%s of %s, with %s.", counted(len(r.Charted), "reading"), span(r.Charted), limitWords(words(groupOf(&r.Charted[0]))))
}

func limitWords(limits string) string {
	if strings.HasPrefix(limits, "no limits") {
		return limits
	}
	return "limits of " + limits
}

func span(all []query.Reading) string {
	first, last := all[0].When.Format("2 January 2006"), all[len(all)-1].When.Format("2 January 2006")
	if first == last {
		return first
	}
	return first + " to " + last
}

// draw has every chart drawn that can be made.
func (v *view) draw() error {
	r := v.Report
	labels := plot.Labels{Unit: r.Symbol, Places: r.places(), Name: r.label(), Axis: func(i int) string { return r.Charted[i].Job }}
	add := func(name string, draw func(plot.Labels) (template.HTML, error)) error {
		labels.Title = v.Title + ": " + name
		svg, err := draw(labels)
		if err == nil {
			v.Charts = append(v.Charts, figure{name, svg})
		}
		return err
	}
	var errs []error
	if c := r.Individuals; c != nil {
		errs = append(errs, add("individuals and moving ranges", func(l plot.Labels) (template.HTML, error) { return plot.Individuals(*c, l) }))
	}
	if e := r.EWMA; e != nil {
		errs = append(errs, add("moving average", func(l plot.Labels) (template.HTML, error) { return plot.EWMA(*e, l) }))
	}
	if c := r.Capability; c != nil {
		errs = append(errs, add("how often which reading came", func(l plot.Labels) (template.HTML, error) { return plot.Capability(*c, r.Values, l) }))
	}
	if all := r.compared(); len(all) > 0 {
		errs = append(errs, add("instruments against the others", func(l plot.Labels) (template.HTML, error) {
			l.Unit, l.Places = string(all[0].Basis), 1
			return plot.Instruments(all, l)
		}))
	}
	return errors.Join(errs...)
}

func (r *Report) compared() (all []drift.Comparison) {
	for _, f := range r.Instruments {
		if f.Comparison != nil {
			all = append(all, *f.Comparison)
		}
	}
	return all
}

// numbers lists the numbers of the charts, for those who cannot see them.
func (r *Report) numbers() (out []numbered) {
	places := r.places() + 2
	write := func(v float64) string {
		return strings.TrimSpace(strconv.FormatFloat(v, 'f', places, 64) + " " + r.Symbol)
	}
	if c := r.Individuals; c != nil {
		out = append(out,
			numbered{"Centre of the individuals", write(c.Centre), ""},
			numbered{"Lower limit of the individuals", write(c.Lower), ""},
			numbered{"Upper limit of the individuals", write(c.Upper), ""},
			numbered{"Sigma, by the moving ranges", write(c.Sigma), ""},
			numbered{"Mean moving range", write(c.MeanRange), ""},
			numbered{"Upper limit of the moving ranges", write(c.RangeUpper), ""},
		)
	}
	if e := r.EWMA; e != nil {
		last := e.Averages[len(e.Averages)-1]
		out = append(out,
			numbered{"Centre of the moving average", write(e.Target), ""},
			numbered{"Lower limit that it comes to", write(e.Lower), ""},
			numbered{"Upper limit that it comes to", write(e.Upper), ""},
			numbered{"Moving average after the last reading", write(last), ""},
		)
	}
	if c := r.Capability; c != nil {
		out = append(out, numbered{"Mean", write(c.Mean), ""}, numbered{"Standard deviation", write(c.SD), ""})
		for _, x := range []struct {
			name string
			is   *drift.Index
		}{{"Cp", c.Cp}, {"Cpl", c.Cpl}, {"Cpu", c.Cpu}, {"Cpk", c.Cpk}} {
			if x.is != nil {
				out = append(out, numbered{x.name, fmt.Sprintf("%.3f", x.is.Value), fmt.Sprintf("%.3f to %.3f", x.is.Lower, x.is.Upper)})
			}
		}
	}
	return out
}

// rows lists the newest readings first, numbered as they are charted.
func (v *view) rows() {
	r := v.Report
	charted := r.charted()
	number := 0
	for i := range r.All {
		x := &r.All[i]
		one := row{
			Job: x.Job, Seq: x.Seq, Link: "/jobs/" + url.PathEscape(x.Job) + "#n" + strconv.FormatInt(x.Seq, 10), Where: x.Where,
			Value: valueWords(x), Verdict: string(x.Verdict), Instrument: x.Instrument, Person: x.Person,
			Time: x.When.Format("2006-01-02 15:04"), Limits: x.Limits.Text,
		}
		if charted[i] {
			number++
			one.Number = strconv.Itoa(number)
		}
		v.Rows = append(v.Rows, one)
	}
	v.RowsSaid = counted(len(v.Rows), "reading") + "."
	if n := len(v.Rows) - mostRows; n > 0 {
		v.RowsSaid = fmt.Sprintf("The newest %d of %d readings.", mostRows, len(v.Rows))
		v.Rows = v.Rows[n:]
	}
	if number > 0 {
		v.RowsSaid += " Those with a number are charted."
	}
	slices.Reverse(v.Rows)
}

// valueWords writes a reading in its own unit, with what is held against the limits where
// that is another number.
func valueWords(x *query.Reading) string {
	text := exact(x.Value)
	if n, ok := x.Value.FloatPrec(); !ok || n > 6 {
		text = strconv.FormatFloat(x.Number, 'f', 4, 64)
	}
	text += " " + say.Symbol(x.Unit)
	if x.Judged != x.Number {
		text += fmt.Sprintf(" (%s at the limits' temperature)", strconv.FormatFloat(x.Judged, 'f', 2, 64))
	}
	return strings.TrimSpace(text)
}
