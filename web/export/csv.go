package export

import (
	"cmp"
	"maps"
	"strconv"
	"strings"
	"time"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/web/csv"
)

var columns = []string{
	"job", "seq", "time", "person", "bench", "note", "kind",
	"callout", "place", "value", "unit", "verdict", "mark", "findings", "answer", "from", "evidence", "words",
	"disposition", "reason",
	"client_time", "where", "limits", "uncertainty", "conformity", "instrument", "standing", "opened", "closed", "caution", "taken_at",
}

// table writes the record as RFC 4180 has it. First the entries: one row for each reading and mark, one for
// a note that has neither, one for a disposition, each with the note that it came from. Behind them, under kinds of
// their own: every callout "as left", each "finding", each reading or mark that "ended", each "instrument", each "person", the head of the "job", the "seal", and
// last "handed over" where the job was.
func table(f *Facts) []byte {
	rows := [][]string{columns}
	add := func(cells map[string]string) {
		cells["job"] = f.Job
		rows = append(rows, row(cells))
	}
	given := map[int64]wire.Disposition{}
	for _, d := range f.Dispositions {
		given[d.Seq] = d
	}
	for i := range f.Lines {
		l := &f.Lines[i]
		if d, ok := given[l.Seq]; ok {
			add(merge(l.cells(), map[string]string{
				"callout": d.Callout, "place": place(d.At), "findings": d.Rule + ": " + d.Finding, "answer": dispositionState(d),
				"disposition": string(d.Is), "reason": d.Reason, "where": d.Where,
			}))
			continue
		}
		for _, cells := range f.rowsOf(l) {
			add(cells)
		}
	}
	for i := range f.Places {
		p := &f.Places[i]
		add(map[string]string{
			"kind": "as left", "seq": number(p.Seq), "time": instant(p.When), "person": p.Person, "callout": p.Callout, "place": place(p.At),
			"value": p.Value, "unit": p.Unit, "verdict": p.Verdict, "mark": p.Mark, "answer": p.Is, "where": p.Where, "limits": p.Limits,
			"uncertainty": p.Uncertainty, "conformity": p.Conformity, "instrument": p.Instrument, "taken_at": p.TakenAt,
		})
	}
	for i := range f.Findings {
		x := &f.Findings[i]
		cells := map[string]string{
			"kind": "finding", "callout": x.Callout, "place": place(x.At), "findings": x.Rule + ": " + x.Text, "answer": x.State(),
			"disposition": strings.Join(x.Then, "; "), "mark": string(x.Severity),
		}
		if x.Raised != nil {
			cells["seq"], cells["time"], cells["person"] = number(x.Raised.Seq), instant(x.Raised.At), x.Raised.Person
		}
		add(cells)
	}
	for i := range f.Corrections {
		c := &f.Corrections[i]
		add(map[string]string{
			"kind": "ended", "seq": number(c.Of), "time": instant(c.Original), "callout": c.Callout, "place": place(c.At), "where": c.Where,
			"mark": c.Was, "answer": c.Words(), "person": c.By.Person, "client_time": "", "words": instant(c.By.At),
		})
	}
	for i := range f.Instruments {
		x := &f.Instruments[i]
		add(map[string]string{
			"kind": "instrument", "instrument": x.Name, "limits": x.Measures, "uncertainty": x.Within, "time": x.Until, "answer": x.Valid,
			"note": strings.Join(x.Days, ", "), "value": strconv.Itoa(x.Readings),
		})
	}
	for _, p := range f.People {
		add(map[string]string{"kind": "person", "person": p.Name, "value": strconv.Itoa(p.Entries), "time": instant(p.First), "words": instant(p.Last)})
	}
	for _, p := range f.Head {
		add(map[string]string{"kind": "job", "where": p.Name, "note": p.Is})
	}
	for _, p := range f.Seal {
		add(map[string]string{"kind": "seal", "where": p.Name, "note": p.Is})
	}
	if o := f.Over; o != nil {
		add(map[string]string{
			"seq": number(o.Seq), "time": instant(o.At), "person": o.Person,
			"kind": "handed over", "findings": findingWords(o.Findings), "answer": overWords(o),
		})
	}
	return csv.Rows(rows)
}

// number writes a seq, "" for none.
func number(n int64) string {
	if n == 0 {
		return ""
	}
	return strconv.FormatInt(n, 10)
}

// instant writes a moment, "" for none.
func instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}

// row puts each cell under its column.
func row(cells map[string]string) []string {
	out := make([]string, len(columns))
	for i, column := range columns {
		out[i] = cells[column]
	}
	return out
}

// cells are what each row of an entry has.
func (l *Line) cells() map[string]string {
	return map[string]string{
		"seq": number(l.Seq), "time": instant(l.At), "person": l.Person, "bench": l.Bench, "kind": string(l.Kind),
		"client_time": instant(l.Client), "caution": l.entry.Caution, "opened": findingWords(l.opened), "closed": findingWords(l.closed),
	}
}

// merge adds the cells of b to a.
func merge(a, b map[string]string) map[string]string {
	maps.Copy(a, b)
	return a
}

func (f *Facts) rowsOf(l *Line) (rows []map[string]string) {
	e, a := &l.entry, &l.answer
	kind, text := string(a.Kind), e.Text
	if e.Kind != journal.Note {
		kind, text = string(e.Kind), e.Spec
	}
	shown := ""
	switch {
	case l.file != nil:
		shown = l.file.Words()
	case e.Purge != nil:
		shown = purgeWords(e.Purge)
	}
	add := func(cells map[string]string) {
		rows = append(rows, merge(merge(l.cells(), map[string]string{
			"note": text, "kind": kind, "findings": findingWords(a.Findings), "answer": cmp.Or(a.Say, heededWords(*e, a)),
			"from": wire.FromOf(*e), "evidence": shown, "words": wordsOf(a),
		}), cells))
	}
	for i := range a.Readings {
		x := &a.Readings[i]
		t := parse.Target{Callout: x.Callout, At: x.At}
		add(map[string]string{
			"callout": x.Callout, "place": place(x.At), "value": x.Value.String(), "unit": x.Unit, "verdict": string(x.Verdict),
			"where": f.where(t), "limits": f.limits[t], "conformity": x.Conformity, "instrument": x.Instrument, "standing": f.ended[ending{l.Seq, t}],
			"taken_at": takenAt(x.With),
		})
	}
	for i := range a.Marks {
		x := &a.Marks[i]
		t := parse.Target{Callout: x.Callout, At: x.At}
		add(map[string]string{
			"callout": x.Callout, "place": place(x.At), "mark": x.Is, "where": f.where(t), "limits": f.limits[t], "standing": f.ended[ending{l.Seq, t}],
		})
	}
	if len(rows) == 0 {
		add(map[string]string{})
	}
	return rows
}

// wordsOf says what the words of a note are that are not its own: "guess", or "puts right 12".
func wordsOf(a *answer) string {
	switch {
	case a.Guess && a.Of > 0:
		return "guess, heard again of " + strconv.FormatInt(a.Of, 10)
	case a.Guess:
		return "guess"
	case a.Of > 0:
		return "puts right " + strconv.FormatInt(a.Of, 10)
	}
	return ""
}

func findingWords(fs []rules.Finding) string {
	var out []string
	for _, f := range fs {
		out = append(out, f.Rule+": "+f.Text)
	}
	return strings.Join(out, "; ")
}
