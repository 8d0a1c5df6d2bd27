package wire_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

// An example id of the ULID specification (github.com/ulid/spec).
const id = "01ARZ3NDEKTSV4RRFFQ69G5FAV"

func TestDecode(t *testing.T) {
	long := strings.Repeat("Ω", wire.MaxText)
	for _, tt := range []struct {
		name, frame string
		want        any
	}{
		{
			"a note", `{"type":"note","id":"` + id + `","text":"seat clean","at":"2031-03-04T08:00:00.25+02:00","instrument":"wrench 7"}`,
			wire.Note{ID: id, Text: "seat clean", At: "2031-03-04T08:00:00.25+02:00", Instrument: "wrench 7"},
		},
		{"a note as short as can be", `{"type":"note","id":"` + id + `","text":"ok"}`, wire.Note{ID: id, Text: "ok"}},
		{"what a gauge has sent", `{"type":"note","id":"` + id + `","text":"48.0","from":"gauge"}`, wire.Note{ID: id, Text: "48.0", From: wire.FromGauge}},
		{"what a browser has heard", `{"type":"note","id":"` + id + `","text":"Seat clean.","from":"browser"}`, wire.Note{ID: id, Text: "Seat clean.", From: wire.FromBrowser}},
		{"what it has heard in an open microphone", `{"type":"note","id":"` + id + `","text":"ok","from":"browser","open":true}`, wire.Note{ID: id, Text: "ok", From: wire.FromBrowser, Open: true}},
		{"typed, with no microphone open", `{"type":"note","id":"` + id + `","text":"ok","open":false}`, wire.Note{ID: id, Text: "ok"}},
		{"2000 characters are 4000 bytes here", `{"type":"note","id":"` + id + `","text":"` + long + `"}`, wire.Note{ID: id, Text: long}},
		{"what is not known is passed over", `{"type":"note","id":"` + id + `","text":"ok","mood":"good","person":"Tom"}`, wire.Note{ID: id, Text: "ok"}},
		{
			"a spoken note begins", `{"type":"sound","id":"` + id + `","rate":16000,"encoding":"s16le"}`,
			wire.Sound{ID: id, Rate: 16000, Encoding: "s16le"},
		},
		{
			"a sentence to try the microphone", `{"type":"sound","id":"` + id + `","rate":16000,"encoding":"s16le","until":"silence","check":"seat clean"}`,
			wire.Sound{ID: id, Rate: 16000, Encoding: "s16le", Until: "silence", Check: "seat clean"},
		},
		{"a spoken note ends", `{"type":"sound-end","id":"` + id + `"}`, wire.SoundEnd{ID: id}},
		{"a spoken note is cut off", `{"type":"sound-end","id":"` + id + `","cut":true}`, wire.SoundEnd{ID: id, Cut: true}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := wire.Decode([]byte(tt.frame))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("Decode(%.80s) (-want +got):\n%s", tt.frame, diff)
			}
		})
	}
}

func TestDecodeSaysWhatIsWrong(t *testing.T) {
	note := func(text string) string { return `{"type":"note","id":"` + id + `","text":"` + text + `"}` }
	for _, tt := range []struct{ name, frame, id, want string }{
		{"torn", `{"type":"note","id":"` + id, "", "not whole JSON"},
		{"nothing", ``, "", "not a JSON object"},
		{"no object", `"note"`, "", "not a JSON object"},
		{"two messages in one", note("ok") + note("ok"), "", "not whole JSON"},
		{"not UTF-8", note("\xff"), "", "not UTF-8"},
		{"over 64 KiB", note(strings.Repeat("x", wire.MaxFrame)), "", "longer than 65536 bytes"},
		{"no type", `{"id":"` + id + `"}`, id, "send note, sound or sound-end"},
		{"unknown type", `{"type":"answer","id":"` + id + `"}`, id, `"answer" is no type`},
		{"no id", `{"type":"note","text":"ok"}`, "", "there is no id"},
		{"an id that is no ULID", `{"type":"note","id":"1041","text":"ok"}`, "1041", "not a ULID"},
		{"an id too large for 128 bits", `{"type":"note","id":"8ZZZZZZZZZZZZZZZZZZZZZZZZZ","text":"ok"}`, "8ZZZZZZZZZZZZZZZZZZZZZZZZZ", "not a ULID"},
		{"an id in small letters", `{"type":"note","id":"` + strings.ToLower(id) + `","text":"ok"}`, strings.ToLower(id), "capitals"},
		{"an id that is a number", `{"type":"note","id":7,"text":"ok"}`, "", "id is a number; send text"},
		{"no text", `{"type":"note","id":"` + id + `"}`, id, "the note is empty"},
		{"blank text", note(" \\t "), id, "the note is empty"},
		{"text that is a list", `{"type":"note","id":"` + id + `","text":["ok"]}`, id, "text is a array; send text"},
		{"2001 characters", note(strings.Repeat("Ω", wire.MaxText+1)), id, "text is longer than 2000 characters"},
		{"a NUL", note("seat\\u0000clean"), id, "control character"},
		{"no time", `{"type":"note","id":"` + id + `","text":"ok","at":"yesterday"}`, id, "RFC 3339"},
		{"sent by what is not known", `{"type":"note","id":"` + id + `","text":"ok","from":"parrot"}`, id, `from "parrot" is not known`},
		{"words put right by a gauge", `{"type":"note","id":"` + id + `","text":"ok","from":"gauge","of":2}`, id, "of came with from"},
		{"an open microphone in words", `{"type":"note","id":"` + id + `","text":"ok","from":"browser","open":"yes"}`, id, "open is a string; send true or false"},
		{"an open microphone, typed", `{"type":"note","id":"` + id + `","text":"ok","open":true}`, id, "open came without from browser; leave it out"},
		{"an open microphone of a gauge", `{"type":"note","id":"` + id + `","text":"48.0","from":"gauge","open":true}`, id, "open came without from browser"},
		{"samples too slow", `{"type":"sound","id":"` + id + `","rate":10,"encoding":"s16le"}`, id, "send at least 8000"},
		{"samples too fast", `{"type":"sound","id":"` + id + `","rate":96000,"encoding":"s16le"}`, id, "send at most 48000"},
		{"unknown samples", `{"type":"sound","id":"` + id + `","rate":16000,"encoding":"opus"}`, id, "send s16le"},
		{"no sentence to be read", `{"type":"sound","id":"` + id + `","rate":16000,"encoding":"s16le","check":"` + strings.Repeat("x", 201) + `"}`, id, "check is longer than 200 characters"},
		{"a rate in words", `{"type":"sound","id":"` + id + `","rate":"high"}`, id, "rate is a string; send a whole number"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := wire.Decode([]byte(tt.frame))
			fault, ok := errors.AsType[*wire.Error](err)
			if !ok {
				t.Fatalf("Decode(%.80s) = %v, %v; want an Error", tt.frame, got, err)
			}
			if !strings.Contains(fault.Error(), tt.want) || fault.Do == "" {
				t.Errorf("Decode(%.80s) says %q, want it to say %q", tt.frame, fault, tt.want)
			}
			if fault.ID != tt.id {
				t.Errorf("Decode(%.80s) names id %q, want %q", tt.frame, fault.ID, tt.id)
			}
		})
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(`{"type":"note","id":"` + id + `","text":"seat clean"}`))
	f.Add([]byte(`{"type":"sound","id":"` + id + `","rate":16000,"encoding":"s16le"}`))
	f.Add([]byte(`{"type":"note","id":7}`))
	f.Add([]byte("{\"type\":\"note\",\"text\":\"\\ud800\xff"))
	f.Fuzz(func(t *testing.T, frame []byte) {
		got, err := wire.Decode(frame)
		if err != nil {
			if fault, ok := errors.AsType[*wire.Error](err); !ok || fault.Wrong == "" || fault.Do == "" || got != nil {
				t.Fatalf("Decode(%q) = %v, %#v; want a whole Error and no message", frame, got, err)
			}
			return
		}
		if note, ok := got.(wire.Note); ok && (len(note.ID) != 26 || len([]rune(note.Text)) > wire.MaxText || note.Text == "") {
			t.Fatalf("Decode(%q) let %+v through", frame, note)
		}
	})
}

func TestClientAt(t *testing.T) {
	note := wire.Note{At: "2031-03-04T10:00:00.25+02:00"}
	if got := note.ClientAt().UTC().Format("2006-01-02 15:04:05.000"); got != "2031-03-04 08:00:00.250" {
		t.Errorf("ClientAt() = %s", got)
	}
	if !(wire.Note{}).ClientAt().IsZero() {
		t.Error("a note without a time has one")
	}
}

func TestAnswer(t *testing.T) {
	a := wire.Answer{ID: id, Seq: 12, Body: json.RawMessage(
		`{"seq":3,"text":"a <b> & c","kind":"reading","readings":[{"value":"48.0"}],"say":"In."}`,
	)}
	want := `{"type":"answer","id":"` + id + `","seq":12,"text":"a <b> & c","kind":"reading","readings":[{"value":"48.0"}],"say":"In."}`
	text, err := a.MarshalJSON()
	if err != nil || string(text) != want {
		t.Errorf("got  %s, error %v\nwant %s", text, err, want)
	}
	var back wire.Answer
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	again, err := back.MarshalJSON()
	if err != nil || string(again) != want || back.ID != id || back.Seq != 12 {
		t.Errorf("read and written again: %s, error %v", again, err)
	}
	for _, body := range []string{`[]`, `"in"`, `{"a":`} {
		if text, err := (wire.Answer{Body: json.RawMessage(body)}).MarshalJSON(); err == nil {
			t.Errorf("body %s became %s", body, text)
		}
	}
	if err := json.Unmarshal([]byte(`{"type":"refused"}`), &back); err == nil {
		t.Error("a refusal was read as an answer")
	}
}

func TestEntryAndRefused(t *testing.T) {
	note, open := journaltest.Note("MW-1041", 3), journaltest.Opening("MW-1041", 1)
	note.Seq, open.Seq, open.Sound = 3, 1, ""
	photo, purge := journaltest.Photo("MW-1041", 4, 3), journaltest.Purge("MW-1041", 5, 3)
	photo.Seq, purge.Seq = 4, 5
	right := note
	right.Seq, right.Sound, right.Text, right.Answer = 6, "", "it rattles", json.RawMessage(`{"text":"it rattles","of":2}`)
	for _, tt := range []struct {
		message any
		want    string
	}{
		{wire.AnswerOf(note), `{"type":"answer","id":"` + note.ID + `","seq":3,"sound":"` + note.Sound + `","kind":"reading","say":"Collar nut. <In> & kept."}`},
		{wire.EntryOf(note), `{"type":"entry","id":"` + note.ID + `","seq":3,"sound":"` + note.Sound + `","entry":"note","at":"2031-03-04T08:00:00.126456Z",` +
			`"person":"Ines","bench":"bench 2","text":"` + note.Text + `","kind":"reading","say":"Collar nut. <In> & kept."}`},
		{wire.EntryOf(right), `{"type":"entry","id":"` + right.ID + `","seq":6,"entry":"note","at":"2031-03-04T08:00:00.126456Z",` +
			`"person":"Ines","bench":"bench 2","text":"it rattles","of":2}`},
		{wire.EntryOf(open), `{"type":"entry","id":"` + open.ID + `","seq":1,"entry":"opened","at":"2031-03-04T08:00:00.124456Z",` +
			`"person":"Ines","bench":"bench 2","spec":"mr5","options":{"base":"long","stages":"8"},"text":""}`},
		{wire.EntryOf(photo), `{"type":"entry","id":"` + photo.ID + `","seq":4,"entry":"photo","at":"2031-03-04T08:00:00.127456Z","person":"Ines",` +
			`"photo":"` + photo.Photo + `","of":3,"text":""}`},
		{wire.EntryOf(purge), `{"type":"entry","id":"` + purge.ID + `","seq":5,"entry":"purged","at":"2031-03-04T08:00:00.128456Z","person":"Ines",` +
			`"purge":{"rule":"older than 90 days","before":1930377600123456,"items":[{"seq":3,"hash":"` + note.Sound + `"}]},"text":""}`},
		{wire.Refused{ID: id, Reason: "the disk is full"}, `{"type":"refused","id":"` + id + `","reason":"the disk is full"}`},
	} {
		text, err := tt.message.(json.Marshaler).MarshalJSON()
		if err != nil || string(text) != tt.want {
			t.Errorf("got  %s, error %v\nwant %s", text, err, tt.want)
		}
	}
}

func TestDecodeOpenJob(t *testing.T) {
	got, err := wire.DecodeOpenJob([]byte(`{"id":"MW-1041","spec":"mr5","options":{"base":"long","stages":8},"person":"Ines"}`))
	want := wire.OpenJob{ID: "MW-1041", Spec: "mr5", Options: wire.Options{"base": "long", "stages": "8"}, Person: "Ines"}
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Errorf("error %v (-want +got):\n%s", err, diff)
	}
	for _, tt := range []struct{ body, want string }{
		{`{"spec":"mr5"}`, "there is no id"},
		{`{"id":"MW-1041"}`, "there is no spec"},
		{`{"id":"../etc","spec":"mr5"}`, "letters, digits"},
		{`{"id":"` + strings.Repeat("x", 65) + `","spec":"mr5"}`, "letters, digits"},
		{`{"id":"MW-1041","spec":"mr5","options":{"stages":[8]}}`, `option "stages" is neither text nor a number`},
		{`{"id":"MW-1041","spec":"mr5","options":"none"}`, "options is not an object"},
		{`{"id":"MW-1041","spec":"mr5","person":"\u0007"}`, "person holds a control character"},
		{`{"id":"MW-1041","spec":"mr5","person":"Ines\u202etset"}`, "a mark that turns the direction of text"},
		{`[]`, "not a JSON object"},
	} {
		_, err := wire.DecodeOpenJob([]byte(tt.body))
		if fault, ok := errors.AsType[*wire.Error](err); !ok || !strings.Contains(fault.Error(), tt.want) || fault.Problem().Do == "" {
			t.Errorf("DecodeOpenJob(%s): %v, want it to say %q", tt.body, err, tt.want)
		}
	}
}
