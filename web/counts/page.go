package counts

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
	"readback/rules/say"
	"readback/web/plot"
	"readback/web/ui"
)

//go:embed pages
var files embed.FS

// mostRows is how many rows of a table stand on the page. The table of all is a click away.
const mostRows = 25

type pages struct {
	from   query.Questions
	specs  func() []string
	layout *template.Template
	log    zerolog.Logger
}

// Handler serves GET /counts: the question as a form, and what was counted in a chart, words and tables. It
// needs no script, and takes the assets of [ui.Handler] as given. specs lists the names that the form offers;
// a spec of an old job can be asked for as well. An error means that the embedded files do not fit together.
func Handler(from query.Questions, specs func() []string, log zerolog.Logger) (http.Handler, error) {
	layout, err := template.New("counts.html").Funcs(template.FuncMap{"asset": ui.Address}).ParseFS(files, "pages/counts.html")
	if err != nil {
		return nil, fmt.Errorf("counts: read page: %w", err)
	}
	return &pages{from, specs, layout, log}, nil
}

// view is what the page shows.
type view struct {
	Problem string // what is wrong with the question, and what would help
	Field   url.Values
	Specs   []string

	*Report // nil where there is a problem

	Chart    template.HTML
	Rows     []symptomRow
	Decided  []decidedRow
	Again    []unitRow
	Said     string // how often units came back, in words
	Query    template.URL
	MoreRows map[string]int // by table: how many rows are left out
}

type symptomRow struct {
	What              string
	Jobs, Notes       int
	Share, Cumulative string
	First, Last       link
}

type link struct{ Words, To string }

type decidedRow struct {
	query.Disposition
	Link link
	When string
	Now  string
}

type unitRow struct {
	Number, Spec string
	Visits       []link
	Mean         string
}

func (p *pages) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	v, status, err := p.view(r.Context(), r.URL.Query())
	if err != nil {
		p.log.Error().Err(err).Msg("counts cannot be shown")
		v, status = &view{Field: url.Values{}, Problem: "This failed here. The server's log says why; load the page again."}, http.StatusInternalServerError
	}
	ui.Send(w, p.log, p.layout, "counts.html", status, v)
}

// view answers a request. What is wrong with its question is shown; an error is a fault here.
func (p *pages) view(ctx context.Context, fields url.Values) (*view, int, error) {
	v := &view{Field: fields, Specs: p.specs(), MoreRows: map[string]int{}}
	period, err := Read(fields)
	if period.Spec != "" && !slices.Contains(v.Specs, period.Spec) {
		v.Specs = append(v.Specs, period.Spec) // what was asked for and is not there stays in its field
	}
	if err == nil {
		v.Report, err = Make(ctx, p.from, period)
	}
	if f, ok := errors.AsType[*query.FilterError](err); ok {
		v.Problem = fmt.Sprintf("%s: %s; %s.", say.Cap(f.Field), f.Wrong, f.Do)
		return v, http.StatusBadRequest, nil
	}
	if f, ok := errors.AsType[*query.ManyError](err); ok {
		v.Problem = fmt.Sprintf("%s; %s.", say.Cap(f.Wrong()), f.Do())
		return v, http.StatusUnprocessableEntity, nil
	}
	if err != nil {
		return nil, 0, err
	}
	v.Query = template.URL(periodOf(fields).Encode()) //nolint:gosec // encoded
	err = v.fill()
	return v, http.StatusOK, err
}

func periodOf(v url.Values) url.Values {
	out := url.Values{}
	for _, name := range []string{"spec", "from", "to"} {
		if text := strings.TrimSpace(v.Get(name)); text != "" {
			out.Set(name, text)
		}
	}
	return out
}

// fill puts the report into a chart, words and tables.
func (v *view) fill() (err error) {
	var bars []plot.Bar
	for _, c := range v.Symptoms.Counts {
		bars = append(bars, plot.Bar{Name: what(c), N: c.Jobs, Cumulative: c.Cumulative})
		v.Rows = append(v.Rows, symptomRow{what(c), c.Jobs, c.Notes, percent(c.Share), percent(c.Cumulative), noteLink(c.First.Job, c.First.Seq), noteLink(c.Last.Job, c.Last.Seq)})
	}
	if len(bars) > 0 {
		v.Chart, err = plot.Pareto(bars, plot.Labels{Title: "Symptoms by the number of jobs that have them", Unit: "jobs"})
	}
	for _, d := range slices.Backward(v.Dispositions.Dispositions) {
		now := d.Words()
		if d.By > 0 {
			now = fmt.Sprintf("%s by %d", now, d.By)
		}
		v.Decided = append(v.Decided, decidedRow{d, link{fmt.Sprintf("%s, number %d", d.Job, d.Seq), "/jobs/" + url.PathEscape(d.Job)}, d.Time.UTC().Format("2006-01-02 15:04"), now})
	}
	for _, u := range v.Units.Units {
		mean, ok := u.Between()
		if !ok {
			continue
		}
		one := unitRow{Number: u.Number, Spec: u.Spec, Mean: days(mean)}
		for _, visit := range u.Visits {
			one.Visits = append(one.Visits, link{visit.Job + ", " + visit.Opened.UTC().Format("2 January 2006"), "/jobs/" + url.PathEscape(visit.Job)})
		}
		v.Again = append(v.Again, one)
	}
	v.Rows, v.Decided, v.Again = cut(v, "symptoms", v.Rows), cut(v, "dispositions", v.Decided), cut(v, "visits", v.Again)
	v.Said = v.returns()
	return err
}

func cut[T any](v *view, table string, rows []T) []T {
	if n := len(rows) - mostRows; n > 0 {
		v.MoreRows[table] = n
		return rows[:mostRows]
	}
	return rows
}

// returns says how often units came back, and how soon.
func (r *Report) returns() string {
	units, times, mean := r.Units.Again()
	switch {
	case len(r.Units.Units) == 0:
		return "No job says the number of its unit."
	case times == 0:
		return fmt.Sprintf("%s with a number, and none came back.", counted(len(r.Units.Units), "unit"))
	}
	return fmt.Sprintf("%s with a number; %s came back, %s in all. Mean time between visits: %s days.", counted(len(r.Units.Units), "unit"), counted(units, "unit"), counted(times, "time"), days(mean))
}

func what(c query.SymptomCount) string {
	part := c.Part
	if part == "" {
		part = "part not named"
	}
	return part + ": " + c.Condition
}

func noteLink(job string, seq int64) link {
	return link{fmt.Sprintf("%s, note %d", job, seq), "/jobs/" + url.PathEscape(job) + "#n" + strconv.FormatInt(seq, 10)}
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
