package export

import (
	"bytes"
	"cmp"
	"maps"
	"regexp"
	"strconv"
	"strings"
	"time"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/rules"
)

var columns = []string{
	"job", "seq", "time", "person", "bench", "note", "kind",
	"callout", "place", "value", "unit", "verdict", "mark", "findings", "answer", "from", "evidence", "words",
	"disposition", "reason",
}

// table writes the record as RFC 4180 has it: one row for each reading and mark, one for
// a note that has neither, one for a disposition, each with the note that it came from; a last one of kind
// "handed over" where the job was.
func table(r Record) ([]byte, error) {
	rows := [][]string{columns}
	files := r.files()
	given := r.given()
	for _, e := range r.Entries {
		if d, ok := given[e.Seq]; ok {
			rows = append(rows, row(map[string]string{
				"job": e.Job, "seq": strconv.FormatInt(e.Seq, 10), "time": e.At.Time().Format(time.RFC3339Nano), "person": e.Person, "bench": e.Bench,
				"kind": string(e.Kind), "callout": d.Callout, "place": place(d.At), "findings": d.Rule + ": " + d.Finding, "answer": dispositionState(d),
				"disposition": string(d.Is), "reason": d.Reason,
			}))
			continue
		}
		of, err := rowsOf(e, files[e.Seq])
		if err != nil {
			return nil, err
		}
		rows = append(rows, of...)
	}
	if o := r.State.Over; o != nil {
		rows = append(rows, row(map[string]string{
			"job": r.State.ID, "seq": strconv.FormatInt(o.Seq, 10), "time": o.At.Format(time.RFC3339Nano), "person": o.Person,
			"kind": "handed over", "findings": findingWords(o.Findings), "answer": overWords(o),
		}))
	}
	return Rows(rows), nil
}

// Rows writes rows as RFC 4180 has it. What a spreadsheet would take for a formula is marked as
// text.
func Rows(rows [][]string) []byte {
	var b bytes.Buffer
	for _, row := range rows {
		for i, text := range row {
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString(field(cell(text)))
		}
		b.WriteString("\r\n")
	}
	return b.Bytes()
}

// row puts each cell under its column.
func row(cells map[string]string) []string {
	out := make([]string, len(columns))
	for i, column := range columns {
		out[i] = cells[column]
	}
	return out
}

// field puts in quotes what needs them. Unlike encoding/csv it keeps every end of a line as
// it is: without its carriage return, "4\r8" would be another number.
func field(text string) string {
	if !strings.ContainsAny(text, ",\"\r\n") && strings.TrimSpace(text) == text {
		return text
	}
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}

func rowsOf(e journal.Entry, file *Item) ([][]string, error) {
	a, err := answerOf(e)
	if err != nil {
		return nil, err
	}
	kind, text := string(a.Kind), e.Text
	if e.Kind != journal.Note {
		kind, text = string(e.Kind), e.Spec
	}
	shown := ""
	switch {
	case file != nil:
		shown = file.Words()
	case e.Purge != nil:
		shown = purgeWords(e.Purge)
	}
	note := map[string]string{
		"job": e.Job, "seq": strconv.FormatInt(e.Seq, 10), "time": e.At.Time().Format(time.RFC3339Nano), "person": e.Person,
		"bench": e.Bench, "note": text, "kind": kind, "findings": findingWords(a.Findings), "answer": cmp.Or(a.Say, heededWords(e, &a)),
		"from": wire.FromOf(e), "evidence": shown, "words": wordsOf(&a),
	}
	var rows [][]string
	add := func(cells map[string]string) {
		maps.Copy(cells, note)
		rows = append(rows, row(cells))
	}
	for _, x := range a.Readings {
		add(map[string]string{"callout": x.Callout, "place": place(x.At), "value": x.Value.String(), "unit": x.Unit, "verdict": string(x.Verdict)})
	}
	for _, x := range a.Marks {
		add(map[string]string{"callout": x.Callout, "place": place(x.At), "mark": x.Is})
	}
	if len(rows) == 0 {
		add(map[string]string{})
	}
	return rows, nil
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

var plainNumber = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

// cell marks as text what a spreadsheet would take for a formula. A plain number is none,
// also below zero.
func cell(text string) string {
	if text == "" || plainNumber.MatchString(text) {
		return text
	}
	if strings.ContainsAny(text[:1], "=+-@\t\r\n") || strings.HasPrefix(text, "＝") || strings.HasPrefix(text, "＋") ||
		strings.HasPrefix(text, "－") || strings.HasPrefix(text, "＠") {
		return "'" + text
	}
	return text
}
