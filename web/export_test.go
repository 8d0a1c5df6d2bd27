package web_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

func TestJSONHoldsTheEntriesAsKept(t *testing.T) {
	s := openShop(t)
	s.work(t)
	r := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=json", "")
	var bundle struct{ Entries []journal.Entry }
	if err := json.Unmarshal([]byte(r.body), &bundle); err != nil {
		t.Fatal(err)
	}
	kept, err := s.store.Entries(t.Context(), "MW-1041", 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(asText(t, kept), asText(t, bundle.Entries)); diff != "" || len(kept) != len(said)+1 {
		t.Errorf("%d entries (-kept +exported):\n%s", len(kept), diff)
	}
	if got := r.Header.Get("Content-Disposition"); got != `attachment; filename="MW-1041.json"` {
		t.Errorf("Content-Disposition is %s", got)
	}
}

func asText(t *testing.T, entries []journal.Entry) string {
	t.Helper()
	text, err := json.Marshal(entries)
	if err != nil {
		t.Fatal(err)
	}
	var values any // whose names have one order
	if err := json.Unmarshal(text, &values); err != nil {
		t.Fatal(err)
	}
	if text, err = json.MarshalIndent(values, "", " "); err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// A note comes out of the table as it was said, but that none is a formula.
func TestCSV(t *testing.T) {
	s := openShop(t)
	s.work(t)
	r := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=csv", "")
	raw := r.body
	if lines := strings.Count(raw, "\r\n"); lines != len(records(t, raw))+1 { // and the line within a note
		t.Errorf("%d lines end as RFC 4180 has it:\n%q", lines, raw)
	}
	// A reader that changes no line's end, unlike encoding/csv.
	rows := records(t, raw)
	if header := strings.Join(rows[0], ","); header != "job,seq,time,person,bench,note,kind,callout,place,value,unit,verdict,mark,findings,answer,from,evidence,words,disposition,reason,client_time,where,limits,uncertainty,conformity,instrument,standing,opened,closed,caution,taken_at" {
		t.Errorf("header %s", header)
	}
	if _, err := csv.NewReader(strings.NewReader(raw)).ReadAll(); err != nil {
		t.Errorf("another reader: %v", err)
	}
	for _, row := range rows {
		for _, cell := range row {
			if strings.ContainsAny(cell[:min(1, len(cell))], "=+-@\t\r\n") {
				t.Errorf("cell %q is a formula", cell)
			}
		}
	}
	var notes []string
	for _, row := range entriesOf(rows)[2:] {
		notes = append(notes, row[5])
		if row[3] != "<b>Ines</b>" || row[4] != "'@bench" {
			t.Errorf("by %q at %q", row[3], row[4])
		}
	}
	want := append([]string{}, said...)
	want[2], want[6] = "'"+want[2], "'"+want[6]
	if diff := cmp.Diff(want, notes); diff != "" {
		t.Errorf("notes (-said +exported):\n%s", diff)
	}
	if got := strings.Join(rows[3][6:12], "|"); got != "reading|collar_nut_torque|stage 2|51|N.m|out" {
		t.Errorf("a reading is %s", got)
	}
}

// entriesOf leaves out the rows that sum up, which stand behind those of the entries and before a hand-over.
func entriesOf(rows [][]string) (out [][]string) {
	for _, row := range rows {
		if !slices.Contains([]string{"as left", "finding", "ended", "instrument", "person", "job", "seal"}, row[6]) {
			out = append(out, row)
		}
	}
	return out
}

// records reads RFC 4180: fields in quotes keep every byte.
func records(t *testing.T, raw string) (rows [][]string) {
	t.Helper()
	var row []string
	for raw != "" {
		var field string
		if strings.HasPrefix(raw, `"`) {
			raw = raw[1:]
			for {
				end := strings.IndexByte(raw, '"')
				if end < 0 {
					t.Fatal("a quote is not closed")
				}
				field, raw = field+raw[:end], raw[end+1:]
				if !strings.HasPrefix(raw, `"`) {
					break
				}
				field, raw = field+`"`, raw[1:]
			}
		} else {
			end := strings.IndexAny(raw, ",\r\n\"")
			field, raw = raw[:end], raw[end:]
		}
		row = append(row, field)
		switch {
		case strings.HasPrefix(raw, ","):
			raw = raw[1:]
		case strings.HasPrefix(raw, "\r\n"):
			rows, row, raw = append(rows, row), nil, raw[2:]
			if n := len(rows[len(rows)-1]); n != len(rows[0]) {
				t.Errorf("row %d has %d fields, the header %d", len(rows), n, len(rows[0]))
			}
		default:
			t.Fatalf("behind %q comes %.20q", field, raw)
		}
	}
	return rows
}

// harmless is every element that a transcript is made of.
var harmless = strings.Fields("html head meta title style body header p h1 h2 dl div dt dd strong main section ul li b table thead tbody tr th td q br svg desc rect line text")

// The transcript shows what was said as text, whatever it is, and asks for no other file.
func TestHTML(t *testing.T) {
	s := openShop(t)
	s.work(t)
	r := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=html", "")
	page := r.body
	for _, tag := range regexp.MustCompile(`<[a-zA-Z][^>]*>`).FindAllString(page, -1) {
		name := strings.FieldsFunc(tag, func(r rune) bool { return strings.ContainsRune("< >/", r) })[0]
		if !slices.Contains(harmless, name) || regexp.MustCompile(`(?i)\s(on\w+|style|src|href)\s*=`).MatchString(tag) {
			t.Errorf("the page holds %s", tag)
		}
	}
	var quoted []string
	for _, q := range regexp.MustCompile(`(?s)<q>(.*?)</q>`).FindAllStringSubmatch(page, -1) {
		quoted = append(quoted, html.UnescapeString(q[1]))
	}
	if diff := cmp.Diff(said, quoted); diff != "" {
		t.Errorf("notes (-said +shown):\n%s", diff)
	}
	if !strings.Contains(page, "This build spec is invented") {
		t.Error("the page does not say that the spec is invented")
	}
	if policy := r.Header.Get("Content-Security-Policy"); !strings.Contains(policy, "style-src 'sha256-") || strings.Contains(policy, "unsafe") || strings.Contains(policy, "script-src") {
		t.Errorf("policy %s", policy)
	}
}

// handOver says a note that hands the job over, as somebody.
func (s *shop) handOver(t *testing.T, n int, person string) {
	t.Helper()
	seat, _, err := s.floor.Sit(t.Context(), "MW-1041", floor.Speaker{Person: person}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	if _, err := seat.Say(t.Context(), wire.Note{ID: journaltest.ID(n), Text: "handed over"}); err != nil {
		t.Fatal(err)
	}
}

// Every form says who handed the job over, when, and how it stood then; of a job that was
// not handed over none says anything.
func TestExportsSayWhoHandedOver(t *testing.T) {
	s := openShop(t)
	s.work(t)
	forms := func() (json, page string, rows [][]string) {
		export := func(as string) string { return s.ask(t, "GET", "/api/jobs/MW-1041/export?as="+as, "").body }
		return export("json"), html.UnescapeString(export("html")), records(t, export("csv"))
	}
	bundle, page, rows := forms()
	if strings.Contains(bundle, "handed_over\":{") || strings.Contains(page, "Hand-over") || rows[len(rows)-1][6] == "handed over" {
		t.Errorf("before the hand-over an export speaks of it:\n%s\n%s\n%q", bundle, page, rows[len(rows)-1])
	}

	s.decide(t, 99, "use as is", "=The designer <b>agrees</b>.")
	s.handOver(t, 100, "=Tom <b>")
	at := journaltest.Start.UTC()
	bundle, page, rows = forms()
	var got struct {
		Over wire.HandedOver `json:"handed_over"`
	}
	if err := json.Unmarshal([]byte(bundle), &got); err != nil {
		t.Fatal(err)
	}
	if o := got.Over; o.Person != "=Tom <b>" || !o.At.Equal(at) || o.Left < 20 || len(o.Findings) < 10 {
		t.Errorf("the bundle says %+v", o)
	}
	want := fmt.Sprintf("Handed over by =Tom <b> at %s: %d left to do, %d findings open", at.Format("2006-01-02 15:04:05"), got.Over.Left, len(got.Over.Findings))
	if !strings.Contains(page, want) {
		t.Errorf("the page does not say %q:\n%s", want, page)
	}
	last := rows[len(rows)-1]
	if last[3] != "'=Tom <b>" || last[6] != "handed over" || last[14] != want || strings.Contains(last[13], "limit: ") || !strings.Contains(last[13], "missing: Left to do") {
		t.Errorf("the table ends with %q, want %q in it", last, want)
	}

	s.handOver(t, 101, "")
	_, page, _ = forms()
	if want := "Handed over at " + at.Format("2006-01-02 15:04:05") + ", and nobody's name stands with it: "; !strings.Contains(page, want) {
		t.Errorf("the page does not say %q:\n%s", want, page)
	}
}

// Transcript, table and bundle say which reading a gauge has sent.
func TestExportsSayWhatAGaugeSent(t *testing.T) {
	s := openShop(t)
	s.work(t)
	seat, _, err := s.floor.Sit(t.Context(), "MW-1041", floor.Speaker{Person: "Ines"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	for n, note := range []wire.Note{{Text: "gauge on collar nut stage four"}, {Text: "48.0", From: wire.FromGauge}} {
		note.ID = journaltest.ID(900 + n)
		if _, err := seat.Say(t.Context(), note); err != nil {
			t.Fatal(err)
		}
	}
	page := html.UnescapeString(s.ask(t, "GET", "/api/jobs/MW-1041/export?as=html", "").body)
	if n := strings.Count(page, "<q>48.0</q> (sent by a gauge)"); n != 1 || strings.Count(page, "(sent by") != 1 {
		t.Errorf("the page says so of %d notes:\n%s", n, page)
	}
	rows := entriesOf(records(t, s.ask(t, "GET", "/api/jobs/MW-1041/export?as=csv", "").body))
	last := rows[len(rows)-1]
	if from := slices.Index(rows[0], "from"); last[from] != "gauge" || last[7] != "collar_nut_torque" || last[9] != "48.0" || rows[len(rows)-2][from] != "" {
		t.Errorf("the table ends with\n%q\n%q", rows[len(rows)-2], last)
	}
	if bundle := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=json", "").body; !strings.Contains(bundle, `"how":"gauge"`) || !strings.Contains(bundle, `"do":"sent"`) {
		t.Error("the bundle does not say so")
	}
}

func TestAGuessIsMarked(t *testing.T) {
	s := openShop(t)
	s.work(t)
	seat, _, err := s.floor.Sit(t.Context(), "MW-1041", floor.Speaker{Bench: "bench 1"}, func([]byte) {})
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	guess, _, err := seat.SayHeard(t.Context(), wire.Note{ID: journaltest.ID(101), Text: "note it rattles when <b>gold</b>"}, floor.Spoken{Guess: true})
	if err != nil {
		t.Fatal(err)
	}
	page := s.ask(t, "GET", "/api/jobs/MW-1041/export?as=html", "").body
	if !strings.Contains(page, "<q>note it rattles when &lt;b&gt;gold&lt;/b&gt;</q> words guessed from the sound") {
		t.Errorf("the page does not mark the guess:\n%s", page)
	}
	right, err := seat.Say(t.Context(), wire.Note{ID: journaltest.ID(102), Text: "it rattles when cold", Of: guess.Seq})
	if err != nil {
		t.Fatal(err)
	}
	page = s.ask(t, "GET", "/api/jobs/MW-1041/export?as=html", "").body
	if want := fmt.Sprintf("<br><b>put right in %d</b> <q>it rattles when cold</q>", right.Seq); !strings.Contains(page, want) {
		t.Errorf("the page does not tell of %q:\n%s", want, page)
	}
	rows := entriesOf(records(t, s.ask(t, "GET", "/api/jobs/MW-1041/export?as=csv", "").body))
	last := slices.Index(rows[0], "words")
	if a, b := rows[len(rows)-2], rows[len(rows)-1]; a[last] != "guess" || b[last] != fmt.Sprintf("puts right %d", guess.Seq) || rows[2][last] != "" {
		t.Errorf("rows %v and %v", a, b)
	}
}
