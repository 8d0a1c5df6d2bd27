package lead

import (
	"context"
	"errors"
	"fmt"
	"math/big"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/parse/unit"
	"readback/rules/say"
	"readback/web/csv"
	"readback/web/ui"
)

// Lister lists the jobs that may be compared: a [floor.Floor].
type Lister interface {
	Floor
	IDs(ctx context.Context) ([]string, error)
}

// ErrPair says that a comparison does not name two jobs.
var ErrPair = errors.New("a comparison needs two jobs; give them as a and b")

// Pair is two jobs beside each other.
type Pair struct {
	A, B    *job
	Options []differing // that differ, or that one alone has
	Rows    []compared  // in the order of the first job's work, then what the second alone has
	Said    []string    // what to mind: that the specs differ, and what follows
	Common  int         // rows that both have
}

// differing is an option of two jobs.
type differing struct{ Name, A, B string }

// compared is what stands at one place in two jobs.
type compared struct {
	Callout, Place, Where string
	A, B                  stands
	Difference            string // of the readings, B less A, in the unit of A: "+0.04 mm"; "" where they cannot be set off
	Differs               bool   // another value, part, verdict or limits, or one of the two has it alone
}

// stands is what a job has at a place.
type stands struct {
	Has     bool // the job calls for it, or has it
	Shown   string
	Verdict string
	Limits  string

	value *big.Rat
	unit  string
}

// Compare sets two jobs beside each other. The error wraps [journal.ErrNotFound], [ErrPair], or says
// what ails the journal.
func Compare(ctx context.Context, from Floor, a, b string) (*Pair, error) {
	if a == "" || b == "" || a == b {
		return nil, ErrPair
	}
	first, err := load(ctx, from, a)
	if err != nil {
		return nil, err
	}
	second, err := load(ctx, from, b)
	if err != nil {
		return nil, err
	}
	p := &Pair{A: first, B: second}
	p.options()
	p.rows()
	p.say()
	return p, nil
}

func (p *Pair) options() {
	names := map[string]bool{}
	for _, of := range []map[string]string{p.A.Options, p.B.Options} {
		for name := range of {
			names[name] = true
		}
	}
	for name := range names {
		if a, b := p.A.Options[name], p.B.Options[name]; a != b {
			p.Options = append(p.Options, differing{inWords(name), a, b})
		}
	}
	slices.SortFunc(p.Options, func(x, y differing) int { return strings.Compare(x.Name, y.Name) })
}

// rows puts the callouts of both jobs beside each other, by their ids and places.
func (p *Pair) rows() {
	type key struct {
		callout string
		at      parse.Place
	}
	at := map[key]int{}
	for n, j := range []*job{p.A, p.B} {
		exact := map[key]*big.Rat{}
		for _, m := range j.Stood.Readings {
			exact[key{m.Callout, m.Reading.At}] = m.Base
		}
		for i := range j.Callouts {
			c := &j.Callouts[i]
			for k := range c.Places {
				pl := &c.Places[k]
				s := standsAt(c, pl)
				if !s.Has {
					continue
				}
				if s.value = exact[key{c.ID, pl.At}]; s.value != nil {
					s.unit = c.Unit
				}
				row, ok := at[key{c.ID, pl.At}]
				if !ok {
					row = len(p.Rows)
					at[key{c.ID, pl.At}] = row
					p.Rows = append(p.Rows, compared{Callout: c.ID, Place: placeWords(pl.At), Where: pl.Where})
				}
				if n == 0 {
					p.Rows[row].A = s
				} else {
					p.Rows[row].B = s
				}
			}
		}
	}
	for i := range p.Rows {
		r := &p.Rows[i]
		r.Differs = r.A.Shown != r.B.Shown || r.A.Verdict != r.B.Verdict || r.A.Limits != r.B.Limits || r.A.Has != r.B.Has
		r.Difference = difference(r.A, r.B)
		if r.A.Has && r.B.Has {
			p.Common++
		}
	}
}

func standsAt(c *wire.Callout, p *wire.Place) stands {
	s := stands{Has: c.Owed || p.Reading != nil || p.Mark != "" || p.Void, Limits: p.Limits}
	switch {
	case p.Reading != nil:
		s.Shown, s.Verdict = p.Reading.Shown, string(p.Reading.Verdict)
	case p.Void:
		s.Shown = "void"
	case p.Mark != "":
		s.Shown = p.Mark
	case c.Owed:
		s.Shown = "not yet"
	}
	return s
}

// difference is B less A in the unit of A, exactly, with the digits that it needs, six places at most.
func difference(a, b stands) string {
	if a.value == nil || b.value == nil {
		return ""
	}
	y := b.value
	if b.unit != a.unit {
		var err error
		if y, err = unit.Convert(b.value, b.unit, a.unit); err != nil {
			return ""
		}
	}
	d := new(big.Rat).Sub(y, a.value)
	text := strings.TrimRight(strings.TrimRight(d.FloatString(6), "0"), ".")
	switch {
	case d.Sign() == 0:
		text = "0"
	case text == "0" || text == "-0":
		text = "less than 0.000001"
	case d.Sign() > 0:
		text = "+" + text
	}
	return strings.TrimSpace(text + " " + say.Symbol(a.unit))
}

// say tells what to mind.
func (p *Pair) say() {
	a, b := p.A.State, p.B.State
	switch {
	case a.Spec != b.Spec:
		p.Said = append(p.Said, fmt.Sprintf("The two are built to different build specs, %s and %s: callouts with the same id are set beside each other, and may mean different things.", a.Spec, b.Spec))
	case a.Revision != b.Revision:
		p.Said = append(p.Said, fmt.Sprintf("The two are built to different revisions of %s, %s and %s.", a.Spec, a.Revision, b.Revision))
	}
	onlyA, onlyB := 0, 0
	for _, r := range p.Rows {
		switch {
		case r.A.Has && !r.B.Has:
			onlyA++
		case r.B.Has && !r.A.Has:
			onlyB++
		}
	}
	p.Said = append(p.Said, fmt.Sprintf("%s in both, %d in %s alone, %d in %s alone.", things(p.Common), onlyA, a.ID, onlyB, b.ID))
}

func things(n int) string {
	if n == 1 {
		return "1 thing is called for"
	}
	return fmt.Sprintf("%d things are called for", n)
}

// placeWords writes a place for people: "stage 3".
func placeWords(at parse.Place) string {
	var parts []string
	for _, x := range at.Indexes() {
		parts = append(parts, x.Axis+" "+x.Value)
	}
	return strings.Join(parts, ", ")
}

// CSV writes the comparison as a table: what differs of the jobs first, then a row for each place.
func (p *Pair) CSV() []byte {
	a, b := p.A, p.B
	out := [][]string{{"sort", "callout", "place", "name", "first", "second", "difference", "first verdict", "second verdict", "first limits", "second limits"}}
	of := func(name, x, y string) { out = append(out, []string{"job", "", "", name, x, y, "", "", "", "", ""}) }
	of("job", a.ID, b.ID)
	of("build spec", a.Spec, b.Spec)
	of("revision", a.Revision, b.Revision)
	for _, o := range p.Options {
		out = append(out, []string{"option", "", "", o.Name, o.A, o.B, "", "", "", "", ""})
	}
	of("seconds from the first note to the last", seconds(a), seconds(b))
	of("seconds in which nothing was said", strconv.Itoa(int(a.Spent.Paused.Seconds())), strconv.Itoa(int(b.Spent.Paused.Seconds())))
	of("findings raised", strconv.Itoa(a.Spent.Raised), strconv.Itoa(b.Spent.Raised))
	of("findings open", strconv.Itoa(len(a.Findings)), strconv.Itoa(len(b.Findings)))
	for _, r := range p.Rows {
		out = append(out, []string{"place", r.Callout, r.Place, r.Where, r.A.Shown, r.B.Shown, r.Difference, r.A.Verdict, r.B.Verdict, r.A.Limits, r.B.Limits})
	}
	return csv.Rows(out)
}

func seconds(j *job) string { return strconv.Itoa(int(j.Spent.Whole.Seconds())) }

// comparison serves GET /compare.
type comparison struct {
	pages
	from Lister
}

// Comparison serves GET /compare?a=JOB&b=JOB, like [Handler].
func Comparison(from Lister, log zerolog.Logger) (http.Handler, error) {
	layout, err := read()
	if err != nil {
		return nil, err
	}
	return &comparison{pages{from, nil, layout, log}, from}, nil
}

// compareView is what the page shows.
type compareView struct {
	*Pair
	Problem      string
	First, Other string   // what was asked for
	Jobs         []string // that can be chosen, the newest first
}

func (c *comparison) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	v := &compareView{First: r.URL.Query().Get("a"), Other: r.URL.Query().Get("b")}
	status := http.StatusOK
	ids, err := c.from.IDs(r.Context())
	slices.Reverse(ids)
	v.Jobs = ids
	if err == nil && v.First != "" && v.Other != "" {
		v.Pair, err = Compare(r.Context(), c.from, v.First, v.Other)
	}
	switch {
	case errors.Is(err, ErrPair):
		v.Problem, status = "Choose two different jobs.", http.StatusBadRequest
	case errors.Is(err, journal.ErrNotFound):
		v.Problem, status = "One of the two is no job of this shop. Choose both from the lists.", http.StatusNotFound
	case err != nil:
		c.log.Error().Err(err).Msg("jobs cannot be compared")
		v.Problem, status = "This failed here. The server's log says why; load the page again.", http.StatusInternalServerError
	}
	ui.Send(w, c.log, c.layout, "compare.html", status, v)
}
