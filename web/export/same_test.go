package export_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/rules/say"
	"readback/web/export"
)

// nasty are notes that would break a page which trusts its notes.
var nasty = []string{
	`<script>alert("scored")</script> & 'more'`,
	"Привет, Ωμέγα µ Ω ° ½ and “quotes” ‹so›",
	"a face \U0001F600, \u4f60\u597d and \u0645\u0631\u062d\u0628\u0627 \u202eturned\u202c e\u0301",
	"note " + strings.Repeat("unbroken", 60),
	"note " + strings.Repeat("torque wrench number seven was dropped and checked again by Tom. ", 31)[:1990],
	"two\nlines, and  two  spaces {nb} \ue000",
	"=1+1",
}

// worked is a job with everything in it that an export tells of.
func worked(t testing.TB) *bench {
	b := openBench(t)
	b.say(t, "Ines", "wrench seven", "collar nut stage one forty eight newton metres", "collar nut stage two fifty one newton metres")
	b.decide(t, "rework", "It was torqued cold.")
	b.say(t, "Тимур =b", "collar nut stage two 48.0 newton metres on wrench nine", "collar nut stage three forty nine newton metres", "scratch that", "collar nut stage four fifty five newton metres")
	b.decide(t, "use as is", "=The designer <b>agrees</b>: \u03a9.")
	b.say(t, "Ines", "cut impeller stage one")
	s, err := b.floor.State(t.Context(), job)
	if err != nil || len(s.Stops) == 0 {
		t.Fatalf("no stop, error %v", err)
	}
	stop := s.Stops[0]
	if _, _, err := b.floor.Heed(t.Context(), job, wire.Heed{ID: b.id(), Rule: stop.Rule, Callout: stop.Callout, At: stop.At, Text: stop.Text, Since: stop.Since, Person: "Ruth"}); err != nil {
		t.Fatal(err)
	}
	b.say(t, "Ines", "full impeller stage one", "supply is locked out and tagged", "threads lubricated on all four rods",
		"pass one all four rods eight newton metres", "rod two loosened to seat the cable",
		"end play down eighty two point six up eighty one point two millimetres on depth gauge one", "insulation two oh five megohms at thirty degrees")
	b.say(t, "Ines", nasty...)
	photographed := b.ids
	hash, err := b.photos.Put(picture(t))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.floor.Photo(t.Context(), job, wire.Photo{ID: b.id(), Of: journalID(photographed), Person: "Ines"}, hash); err != nil {
		t.Fatal(err)
	}
	of := b.hear(t, "Ines", "note it rattles when gold")
	seat := b
	seat.right(t, of, "it rattles when cold")
	return b
}

// want is a fact, as each form has it.
type want struct {
	what  string
	shown []string          // the texts that paper and page hold
	row   map[string]string // the cells of one row of the table
}

// wants are the facts of a record, from its entries as the JSON bundle has them, folded anew by the floor.
func wants(t testing.TB, bundle []byte) (out []want) {
	b, entries := fromJournal(t, bundle)
	state, err := b.floor.State(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	stood, err := b.floor.Stood(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	history, err := b.floor.History(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	add := func(what string, row map[string]string, shown ...string) { out = append(out, want{what, shown, row}) }
	where := map[parse.Target]string{}
	for _, c := range state.Callouts {
		for _, p := range c.Places {
			where[parse.Target{Callout: c.ID, At: p.At}] = p.Where
			if p.Reading == nil {
				continue
			}
			made := slices.IndexFunc(stood.Readings, func(m measured) bool { return m.Callout == c.ID && m.Stood.At == p.At })
			m := stood.Readings[made]
			add("as left "+p.Where, map[string]string{
				"kind": "as left", "where": p.Where, "limits": p.Limits, "value": p.Reading.Value, "unit": p.Reading.Unit, "instrument": m.Instrument,
				"conformity": m.Conformity, "uncertainty": m.Uncertainty, "seq": fmt.Sprint(m.Seq), "time": m.At.Time().UTC().Format(time.RFC3339Nano), "person": m.Person,
			}, p.Where+p.Limits+p.Reading.Shown, string(p.Reading.Verdict), m.Uncertainty+comma(m.Conformity)+m.Instrument+fmt.Sprint(m.Seq)+", "+clock(m.At.Time())+", "+m.Person)
		}
	}
	for i, e := range entries {
		at := map[string]string{"seq": fmt.Sprint(e.Seq), "time": e.At.Time().UTC().Format(time.RFC3339Nano), "person": e.Person}
		shown := []string{fmt.Sprint(e.Seq), clock(e.At.Time())}
		if e.Kind == journal.Note {
			at["note"] = e.Text
			at["client_time"] = ""
			shown = append(shown, e.Text)
			if e.ClientAt != 0 {
				at["client_time"] = e.ClientAt.Time().UTC().Format(time.RFC3339Nano)
				shown = append(shown, "bench's clock "+e.ClientAt.Time().UTC().Format(time.TimeOnly))
			}
		}
		if e.Caution != "" {
			at["caution"] = e.Caution
			shown = append(shown, e.Caution)
		}
		if d := e.Disposition; d != nil {
			at["disposition"], at["reason"] = d.Is, d.Reason
			shown = append(shown, d.Is, d.Reason, d.Finding)
		}
		add(fmt.Sprintf("entry %d", e.Seq), at, shown...)
		var a struct {
			Readings []rules.Reading
			Marks    []rules.Mark
			Findings []rules.Finding
			Say      string
		}
		if len(e.Answer) > 0 {
			if err := json.Unmarshal(e.Answer, &a); err != nil {
				t.Fatal(err)
			}
		}
		if a.Say != "" {
			add(fmt.Sprintf("answer %d", e.Seq), map[string]string{"seq": fmt.Sprint(e.Seq), "answer": a.Say}, a.Say)
		}
		for _, r := range a.Readings {
			target := parse.Target{Callout: r.Callout, At: r.At}
			add(fmt.Sprintf("reading %d %s", e.Seq, where[target]), map[string]string{
				"seq": fmt.Sprint(e.Seq), "where": where[target], "value": r.Value.String(), "unit": r.Unit, "verdict": string(r.Verdict), "instrument": r.Instrument,
			}, where[target]+": "+say.Shown(r.Value, r.Unit), string(r.Verdict), r.Instrument)
		}
		for _, m := range a.Marks {
			target := parse.Target{Callout: m.Callout, At: m.At}
			add(fmt.Sprintf("mark %d %s", e.Seq, where[target]), map[string]string{"seq": fmt.Sprint(e.Seq), "where": where[target], "mark": m.Is}, where[target]+": "+m.Is)
		}
		for _, f := range a.Findings {
			add(fmt.Sprintf("finding said %d", e.Seq), nil, string(f.Severity)+f.Text)
		}
		for _, f := range history[i].Opened {
			last, state := f, "open"
			for _, h := range history[i+1:] {
				if k := slices.IndexFunc(h.Closed, f.SameTarget); k >= 0 {
					last, state = h.Closed[k], fmt.Sprintf("closed %s by %d", clock(h.At.Time()), h.Seq)
					break
				}
			}
			if state == "open" {
				if k := slices.IndexFunc(b.state(t).Findings, f.SameTarget); k >= 0 {
					last = b.state(t).Findings[k]
				}
			}
			add("finding "+last.Text, map[string]string{"kind": "finding", "findings": last.Rule + ": " + last.Text, "answer": state, "mark": string(last.Severity), "seq": fmt.Sprint(e.Seq)},
				string(last.Severity)+last.Text+fmt.Sprint(e.Seq)+", "+clock(e.At.Time())+", "+e.Person+state)
		}
	}
	for _, d := range state.Dispositions {
		add("disposition", map[string]string{"seq": fmt.Sprint(d.Seq), "disposition": string(d.Is), "reason": d.Reason, "answer": became(d)}, d.Reason+string(d.Is)+became(d))
	}
	return out
}

func became(d wire.Disposition) string {
	if d.By > 0 {
		return fmt.Sprintf("%s by %d", d.Words(), d.By)
	}
	return d.Words()
}

func comma(s string) string {
	if s == "" {
		return ""
	}
	return ", " + s
}

func clock(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05") }

// dense leaves out white space, which lines and pages break.
func dense(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, text)
}

// onPaper is a text as the letters of the paper have it.
func onPaper(t testing.TB, text string) string {
	t.Helper()
	var fonts []*sfnt.Font
	for _, data := range [][]byte{goregular.TTF, gobold.TTF} {
		f, err := sfnt.Parse(data)
		if err != nil {
			t.Fatal(err)
		}
		fonts = append(fonts, f)
	}
	var b strings.Builder
	for _, r := range text {
		lacks := unicode.In(r, unicode.Cc, unicode.Cf, unicode.Co)
		for _, f := range fonts {
			i, err := f.GlyphIndex(nil, r)
			lacks = lacks || err != nil || i == 0
		}
		if lacks && r != '\n' {
			fmt.Fprintf(&b, "‹U+%04X›", r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// lacking lists the facts that a text does not hold.
func lacking(text string, all []want, as func(string) string) (out []string) {
	text = dense(text)
	for _, w := range all {
		for _, p := range w.shown {
			if !strings.Contains(text, dense(as(p))) {
				out = append(out, w.what+": "+p)
			}
		}
	}
	return out
}

// lackingRows lists the facts that no row of a table has.
func lackingRows(t testing.TB, table []byte, all []want) (out []string) {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range all {
		has := len(w.row) == 0 || slices.ContainsFunc(rows[1:], func(row []string) bool {
			for name, cell := range w.row {
				is := row[slices.Index(rows[0], name)]
				if strings.TrimPrefix(is, "'") != cell && is != cell {
					return false
				}
			}
			return true
		})
		if !has {
			out = append(out, fmt.Sprintf("%s: %v", w.what, w.row))
		}
	}
	return out
}

var tag = regexp.MustCompile(`(?s)<style>.*?</style>|<[^>]*>`)

func textOfPage(page []byte) string {
	return html.UnescapeString(tag.ReplaceAllString(string(page), ""))
}

// Paper, page and table hold every fact that the entries of the bundle fold to; and of a record that
// lacks its last entries each of them is told.
func TestEveryFormHasEveryFact(t *testing.T) {
	r := sealed(worked(t).record(t))
	all := wants(t, write(t, r, export.JSON))
	if len(all) < 100 {
		t.Fatalf("%d facts", len(all))
	}
	said := func(seq int) string { return clock(r.Entries[seq-1].At.Time()) }
	corrections := []struct{ shown, where, standing string }{
		{"collar nut two51N·m4," + said(4) + "supersededbynote6:48.0N·m" + said(6), "collar nut two", "superseded by note 6: 48.0 N·m"},
		{"collar nut three49N·m7," + said(7) + "takenbackbynote8" + said(8), "collar nut three", "taken back by note 8"},
		{"tie rod one, pass one8N·m", "tie rod one, pass one", "void since note 17"},
	}
	for _, c := range corrections {
		all = append(all, want{"correction of " + c.where, []string{c.shown, c.standing}, map[string]string{"where": c.where, "standing": c.standing}})
	}
	for _, text := range []string{
		"valid on each day", "not valid on 2026-11-24", "put right in", "it rattles when cold", "words guessed from the sound", "Ruth sees to it", "SHA-256 " + strings.Repeat("ab", 32),
		r.Seal.Head.Key.String(), r.Seal.Head.Root.String(), "4711", r.Entries[0].SpecHash, "revision " + r.State.Revision, "base long", "Rebuilt by", "Inspected by", "Released by",
		"This build spec is invented",
	} {
		all = append(all, want{"the text", []string{text}, nil})
	}
	missing := func(r export.Record) map[string][]string {
		return map[string][]string{
			"paper": lacking(strings.Join(textOf(t, write(t, r, export.PDF)), "\n"), all, func(s string) string { return onPaper(t, s) }),
			"page":  lacking(textOfPage(write(t, r, export.HTML)), all, func(s string) string { return s }),
			"table": lackingRows(t, write(t, r, export.CSV), all),
		}
	}
	for form, lack := range missing(r) {
		if len(lack) > 0 {
			t.Errorf("%s lacks %d of %d facts:\n%s", form, len(lack), len(all), strings.Join(lack, "\n"))
		}
	}

	short := r
	short.Entries = r.Entries[:len(r.Entries)-2]
	short.Evidence = nil
	for form, lack := range missing(short) {
		if len(lack) == 0 {
			t.Errorf("nobody sees that %s has two entries less", form)
		}
	}
}

// What an auditor reads with a certificate is the same file each time.
func TestPaperIsTheSameBytes(t *testing.T) {
	b := worked(t)
	r := sealed(b.record(t))
	first := write(t, r, export.PDF)
	for range 3 {
		if !bytes.Equal(first, write(t, sealed(b.record(t)), export.PDF)) {
			t.Fatal("the same record gave another file")
		}
	}
}

func TestLettersOfTheTrade(t *testing.T) {
	for _, r := range "µΩ°·½¼×÷±≤≥²³“”‹›–— ДжЯäßéñøŁžğ" {
		if got := onPaper(t, string(r)); got != string(r) {
			t.Errorf("the letters lack %q", r)
		}
	}
}

// A job in which nothing was said has its paper too.
func TestPaperOfAnEmptyJob(t *testing.T) {
	pages := textOf(t, write(t, openBench(t).record(t), export.PDF))
	for _, want := range []string{"Job MW-1041", "No finding is open.", "None was raised.", "not yet", "The job was opened.", "made without the seal", "Signatures"} {
		if !strings.Contains(strings.Join(pages, "\n"), want) {
			t.Errorf("the paper of an empty job does not say %q", want)
		}
	}
}

// Any text of a note gives a PDF that opens and holds it.
func FuzzPaper(f *testing.F) {
	for _, note := range nasty {
		f.Add(note)
	}
	f.Fuzz(func(t *testing.T, note string) {
		b := openBench(t)
		seat, _, err := b.sit(t)
		if err != nil {
			t.Fatal(err)
		}
		defer seat.Leave()
		frame, err := json.Marshal(map[string]string{"type": "note", "id": b.id(), "text": note})
		if err != nil {
			t.Fatal(err)
		}
		got, err := wire.Decode(frame)
		n, ok := got.(wire.Note)
		if err != nil || !ok {
			t.Skip("no such note gets in")
		}
		if _, err := seat.Say(t.Context(), n); err != nil {
			t.Fatal(err)
		}
		text := dense(strings.Join(textOf(t, write(t, b.record(t), export.PDF)), ""))
		if !strings.Contains(text, "“"+dense(onPaper(t, n.Text))+"”") {
			t.Errorf("the paper does not hold %q", n.Text)
		}
	})
}

// BenchmarkPaper makes the paper of a long job: the time, and what is allocated on the way.
func BenchmarkPaper(b *testing.B) {
	shop := openBench(b)
	notes := make([]string, 0, 5000)
	for i := range 5000 {
		notes = append(notes, fmt.Sprintf("collar nut stage %d %d newton metres", i%5+1, 44+i%9))
	}
	shop.say(b, "Ines", notes...)
	r := sealed(shop.record(b))
	for _, as := range []export.Form{export.PDF, export.HTML, export.CSV} {
		b.Run(string(as), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				b.ReportMetric(float64(len(write(b, r, as)))/1e6, "MB")
			}
		})
	}
}

// A reader that is not ours reads key, head and size from the square.
func TestTheSquareIsRead(t *testing.T) {
	for _, program := range []string{"zbarimg", "pdftoppm"} {
		if _, err := exec.LookPath(program); err != nil {
			if os.Getenv("CI") != "" {
				t.Fatal("it is not here: install zbar-tools and poppler-utils: ", program)
			}
			t.Skip("it is not here: install zbar-tools and poppler-utils: ", program)
		}
	}
	r := sealed(openBench(t).record(t))
	dir := t.TempDir()
	file := filepath.Join(dir, "job.pdf")
	if err := os.WriteFile(file, write(t, r, export.PDF), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.CommandContext(t.Context(), "pdftoppm", "-r", "150", "-gray", "-png", file, filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	pages, err := filepath.Glob(filepath.Join(dir, "page-*.png"))
	if err != nil {
		t.Fatal(err)
	}
	head, err := r.Seal.Head.Fingerprint()
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(t.Context(), "zbarimg", append([]string{"--quiet", "--raw", "-Sdisable", "-Sqrcode.enable"}, pages...)...).Output()
	want := fmt.Sprintf("readback seal\njob %s\nkey %s\nhead %s\nsize 4711", job, r.Seal.Head.Key, head)
	if got := strings.TrimSpace(string(out)); got != want { // its status says that a page has none
		t.Errorf("the square says %q, error %v; want %q", got, err, want)
	}
}
