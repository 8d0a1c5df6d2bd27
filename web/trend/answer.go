package trend

import (
	"math/big"
	"strconv"
	"time"

	"readback/capture/query"
	"readback/parse"
	"readback/rules/drift"
	"readback/web/csv"
)

// Answer is the body of GET /api/drift. Numbers of charts are estimates; values of readings
// are exact, as decimals or as n/d.
type Answer struct {
	Spec        string            `json:"spec"`
	Callout     string            `json:"callout"`     // "" where none was chosen
	Name        string            `json:"name"`        // of the callout in words
	Limits      string            `json:"limits"`      // of the readings that are charted
	Groups      []AnswerGroup     `json:"groups"`      // which limits there are, those of most readings first
	Readings    []AnswerReading   `json:"readings"`    // what fits, oldest first
	Individuals *IndividualsChart `json:"individuals"` // null where it cannot be made: missing says why
	EWMA        *EWMAChart        `json:"ewma"`        // the same
	Capability  *CapabilityOf     `json:"capability"`  // the same
	Instruments []InstrumentOf    `json:"instruments"` // the one that is farthest off first
	Missing     []string          `json:"missing"`     // what is not there and why
	Cautions    []string          `json:"cautions"`    // what weakens all of it
}

// AnswerGroup counts readings with the same limits.
type AnswerGroup struct {
	Limits   string `json:"limits"`
	Readings int    `json:"readings"`
}

// AnswerReading is a reading that stands.
type AnswerReading struct {
	Job        string      `json:"job"`
	Seq        int64       `json:"seq"` // of its note
	At         parse.Place `json:"at"`
	Where      string      `json:"where"`
	Callout    string      `json:"callout"`
	Value      string      `json:"value"`  // exactly
	Number     float64     `json:"number"` // the same, nearest
	Judged     float64     `json:"judged"` // what is held against the limits: at their temperature, if they have one
	Unit       string      `json:"unit"`
	Limits     string      `json:"limits"`
	Verdict    string      `json:"verdict"`
	Time       time.Time   `json:"time"`
	Person     string      `json:"person"`
	Instrument string      `json:"instrument"` // "" where none was named
	Revision   string      `json:"revision"`   // of the spec
	Charted    bool        `json:"charted"`
}

// IndividualsChart is the chart of individuals and moving ranges, in the unit of the
// charted readings. Readings are counted from 1, as they are charted.
type IndividualsChart struct {
	Readings   int      `json:"readings"`
	Base       int      `json:"base"` // how many of the first make the limits
	Centre     float64  `json:"centre"`
	Sigma      float64  `json:"sigma"`
	Lower      float64  `json:"lower"`
	Upper      float64  `json:"upper"`
	MeanRange  float64  `json:"mean_range"`
	RangeUpper float64  `json:"range_upper"`
	WideRanges []int    `json:"wide_ranges"` // readings whose range from the one before is beyond
	Rules      string   `json:"rules"`       // the set of run rules
	Signals    []Signal `json:"signals"`
	Cautions   []string `json:"cautions"`
}

// Signal is a run rule that fired.
type Signal struct {
	Rule     string `json:"rule"`
	Readings []int  `json:"readings"`
	Text     string `json:"text"`
}

// EWMAChart is the chart of the moving average.
type EWMAChart struct {
	Target   float64   `json:"target"`
	Sigma    float64   `json:"sigma"`
	Weight   float64   `json:"weight"`
	Lower    float64   `json:"lower"` // the limits that it comes to
	Upper    float64   `json:"upper"`
	Averages []float64 `json:"averages"`
	Outside  []int     `json:"outside"` // the readings after which the average is outside the limits of its place
}

// CapabilityOf are the indices; one that a missing limit leaves open is null.
type CapabilityOf struct {
	Readings int      `json:"readings"`
	Mean     float64  `json:"mean"`
	SD       float64  `json:"sd"`
	Outside  int      `json:"outside"` // readings beyond a limit
	Cp       *Index   `json:"cp"`
	Cpl      *Index   `json:"cpl"`
	Cpu      *Index   `json:"cpu"`
	Cpk      *Index   `json:"cpk"`
	Text     string   `json:"text"`
	Cautions []string `json:"cautions"`
}

// Index is an index with its confidence interval.
type Index struct {
	Value float64 `json:"value"`
	Lower float64 `json:"lower"`
	Upper float64 `json:"upper"`
	Level float64 `json:"level"`
}

// InstrumentOf is what is to be said of an instrument.
type InstrumentOf struct {
	Instrument string   `json:"instrument"`
	Text       string   `json:"text"`
	Shown      bool     `json:"shown"`      // it reads otherwise than the others
	Difference *Index   `json:"difference"` // from the others, in basis; null where nothing compares
	Basis      string   `json:"basis"`      // what it is told in: "per cent"
	Since      string   `json:"since"`      // the day of the reading from which on it is so; "" for all of them
	Readings   int      `json:"readings"`
	With       []string `json:"with"` // the others
	Cautions   []string `json:"cautions"`
}

// Answer returns the report as other programs read it.
func (r *Report) Answer() Answer {
	a := Answer{
		Spec: r.Spec, Callout: r.Callout, Name: r.Name, Groups: []AnswerGroup{}, Readings: []AnswerReading{},
		Instruments: []InstrumentOf{}, Missing: some(r.Missing), Cautions: some(r.Cautions),
	}
	if len(r.Charted) > 0 {
		a.Limits = words(groupOf(&r.Charted[0]))
	}
	for _, g := range r.Groups {
		a.Groups = append(a.Groups, AnswerGroup{g.Limits, g.Readings})
	}
	charted := r.charted()
	for i := range r.All {
		a.Readings = append(a.Readings, readingOf(&r.All[i], charted[i]))
	}
	a.Individuals, a.EWMA, a.Capability = r.individuals(), r.ewma(), r.capability()
	for i := range r.Instruments {
		a.Instruments = append(a.Instruments, instrumentOf(&r.Instruments[i]))
	}
	return a
}

// charted says of each reading of All whether it is charted. Both are in one order.
func (r *Report) charted() []bool {
	out := make([]bool, len(r.All))
	next := 0
	for i := range r.All {
		if next < len(r.Charted) && same(&r.All[i], &r.Charted[next]) {
			out[i] = true
			next++
		}
	}
	return out
}

func same(a, b *query.Reading) bool {
	return a.Job == b.Job && a.Seq == b.Seq && a.Callout == b.Callout && a.At == b.At
}

func readingOf(x *query.Reading, charted bool) AnswerReading {
	return AnswerReading{
		Job: x.Job, Seq: x.Seq, At: x.At, Where: x.Where, Callout: x.Callout, Value: exact(x.Value), Number: x.Number, Judged: x.Judged,
		Unit: x.Unit, Limits: x.Limits.Text, Verdict: string(x.Verdict), Time: x.When, Person: x.Person, Instrument: x.Instrument,
		Revision: x.Revision, Charted: charted,
	}
}

// exact writes a value as a decimal, or as n/d where no decimal is finite.
func exact(v *big.Rat) string {
	if n, ok := v.FloatPrec(); ok {
		return v.FloatString(n)
	}
	return v.RatString()
}

func some[T any](all []T) []T {
	if all == nil {
		return []T{}
	}
	return all
}

// counting turns places in a list into numbers from 1.
func counting(places []int) []int {
	out := make([]int, 0, len(places))
	for _, i := range places {
		out = append(out, i+1)
	}
	return out
}

func (r *Report) individuals() *IndividualsChart {
	c := r.Individuals
	if c == nil {
		return nil
	}
	out := &IndividualsChart{
		Readings: len(c.Values), Base: c.Base, Centre: c.Centre, Sigma: c.Sigma, Lower: c.Lower, Upper: c.Upper, MeanRange: c.MeanRange,
		RangeUpper: c.RangeUpper, WideRanges: counting(c.WideRanges), Rules: c.Set.Name, Signals: []Signal{}, Cautions: some(c.Cautions),
	}
	for _, s := range c.Signals {
		out.Signals = append(out.Signals, Signal{string(s.Rule), counting(s.Points), s.Text(r.label())})
	}
	return out
}

func (r *Report) ewma() *EWMAChart {
	e := r.EWMA
	if e == nil {
		return nil
	}
	return &EWMAChart{e.Target, e.Sigma, e.Lambda, e.Lower, e.Upper, e.Averages, counting(e.Outside)}
}

func (r *Report) capability() *CapabilityOf {
	c := r.Capability
	if c == nil {
		return nil
	}
	return &CapabilityOf{c.N, c.Mean, c.SD, c.Outside, indexOf(c.Cp), indexOf(c.Cpl), indexOf(c.Cpu), indexOf(c.Cpk), c.Text(), some(c.Cautions)}
}

func indexOf(i *drift.Index) *Index {
	if i == nil {
		return nil
	}
	return &Index{i.Value, i.Lower, i.Upper, i.Level}
}

func instrumentOf(f *Finding) InstrumentOf {
	out := InstrumentOf{Instrument: f.Instrument, Text: f.Text, Shown: f.Shown, With: []string{}, Cautions: []string{}}
	if c := f.Comparison; c != nil {
		d := c.All
		if c.Since != nil {
			d, out.Since = c.Since.Difference, c.Since.When.Format(time.DateOnly)
		}
		out.Difference, out.Basis, out.Readings = &Index{d.Value, d.Lower, d.Upper, d.Level}, string(c.Basis), d.N
		out.With, out.Cautions = some(c.With), some(c.Cautions)
	}
	return out
}

// Choices is the body of GET /api/drift/callouts: what has readings.
type Choices struct {
	Callouts []Choice `json:"callouts"`
	Unread   []string `json:"unread"` // jobs that cannot be read
}

// Choice is a callout that has readings.
type Choice struct {
	Spec        string        `json:"spec"`
	Callout     string        `json:"callout"`
	Name        string        `json:"name"`
	Unit        string        `json:"unit"`
	Derived     bool          `json:"derived"`
	Readings    int           `json:"readings"`
	First       time.Time     `json:"first"`
	Last        time.Time     `json:"last"`
	Instruments []ChoiceCount `json:"instruments"`
	Unnamed     int           `json:"unnamed"` // readings without an instrument's name
}

// ChoiceCount is how many readings an instrument took.
type ChoiceCount struct {
	Name     string `json:"name"`
	Readings int    `json:"readings"`
}

// ChoicesOf returns what has readings as other programs read it.
func ChoicesOf(c query.Callouts) Choices {
	out := Choices{Callouts: []Choice{}, Unread: some(c.Unread)}
	for _, x := range c.Callouts {
		one := Choice{x.Spec, x.ID, x.Name, x.Unit, x.Derived, x.Readings, x.First, x.Last, []ChoiceCount{}, x.Unnamed}
		for _, i := range x.Instruments {
			one.Instruments = append(one.Instruments, ChoiceCount(i))
		}
		out.Callouts = append(out.Callouts, one)
	}
	return out
}

var columns = []string{
	"job", "seq", "time", "person", "spec", "revision", "callout", "place", "value", "unit", "at_limits_temperature",
	"lower_limit", "upper_limit", "limits", "verdict", "instrument", "how", "charted", "moving_range", "moving_average",
}

// CSV returns the readings with what the charts make of them, as RFC 4180 has it.
func (r *Report) CSV() []byte {
	rows := [][]string{columns}
	charted := r.charted()
	n := 0
	for i := range r.All {
		x := &r.All[i]
		judged := ""
		if x.Judged != x.Number {
			judged = plain(x.Judged)
		}
		row := []string{
			x.Job, strconv.FormatInt(x.Seq, 10), x.When.Format(time.RFC3339Nano), x.Person, x.Spec, x.Revision, x.Callout, placeWords(x.At),
			exact(x.Value), x.Unit, judged, bound(x.Limits.Min), bound(x.Limits.Max), x.Limits.Text, string(x.Verdict), x.Instrument, x.How, "no", "", "",
		}
		if charted[i] {
			r.chartCells(row[len(row)-3:], n)
			n++
		}
		rows = append(rows, row)
	}
	return csv.Rows(rows)
}

// chartCells fills in what the charts make of charted reading n.
func (r *Report) chartCells(cells []string, n int) {
	cells[0] = "yes"
	if r.Individuals != nil && n > 0 {
		cells[1] = plain(r.Individuals.Ranges[n-1])
	}
	if r.EWMA != nil {
		cells[2] = plain(r.EWMA.Averages[n])
	}
}

// plain writes a number without an exponent, as every spreadsheet reads it.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func bound(r *big.Rat) string {
	if r == nil {
		return ""
	}
	return exact(r)
}
