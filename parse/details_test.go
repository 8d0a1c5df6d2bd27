package parse_test

import (
	"testing"

	"readback/parse"
)

// booked is a vocabulary with details, and readings that are taken at something.
func booked() *parse.Vocabulary {
	return parse.NewVocabulary(parse.Words{Names: []parse.Name{
		{Callout: "serial", Kind: parse.Detail, Say: []string{"serial number", "serial"}},
		{Callout: "complaint", Kind: parse.Detail, Say: []string{"complaint", "customer complaint"}},
		{Callout: "liquid", Kind: parse.Detail, Say: []string{"liquid pumped"}},
		{Callout: "spacer", Kind: parse.Reading, Say: []string{"build spacer"}, Unit: "mm"},
		{Callout: "seat", Kind: parse.Confirm, Say: []string{"seat clean"}},
		{Callout: "insulation", Kind: parse.Reading, Say: []string{"insulation"}, Unit: "MOhm", Takes: []parse.Taking{
			{Name: "temperature", Unit: "Cel"}, {Name: "voltage", Unit: "V"}, {Name: "time", Unit: "min"},
		}},
	}})
}

func TestDetails(t *testing.T) {
	for _, tt := range []struct{ note, want string }{
		{"serial number four four seven one", "remark; serial:4471"},
		{"the serial is m r dash double four", "remark; serial:MR-44"},
		{"serial number MR5-4471/b", "remark; serial:MR5-4471/b"},
		{"Serial: 4471", "remark; serial:4471"},
		{"correction serial four four seven two", "remark; serial:4472"},
		{"complaint trips after ten minutes at 400 volts", "symptom; complaint:trips after ten minutes at 400 volts;  is shorted"},
		{"customer complaint: bearing noisy", "symptom; complaint:bearing noisy; bearing is noisy"},
		{"complaint trips, liquid pumped sea water and serial 4471", "symptom; complaint:trips; liquid:sea water; serial:4471;  is shorted"},
		{"liquid pumped oil, water and grit", "symptom; liquid:oil, water and grit; oil is blocked"},
		{"complaint low insulation", "remark; complaint:low insulation"},
		// A reading in the same breath would be lost: it is asked about.
		{"serial 4471, build spacer 64 millimetres", "unclear; ?unknown words"},
		{"complaint", "unclear; ?no value"},
		{"the serial number is", "unclear; ?no value"},
		// What only mentions it is no detail.
		{"no serial number on the plate", "remark"},
		{"build spacer serial 64 millimetres", "unclear; spacer=64 mm !unknown words"},
		{"what's the serial number", "question; about reading; serial"},
		{"seat clean, complaint to follow", "unclear; ?doubtful"},
	} {
		if got := brief(parse.Text(tt.note, booked(), parse.Context{})); got != tt.want {
			t.Errorf("%q is %s, want %s", tt.note, got, tt.want)
		}
	}
}

// What a reading was taken at may be said behind it.
func TestTakenLater(t *testing.T) {
	v := booked()
	for _, tt := range []struct {
		before []string
		note   string
		want   string
	}{
		{[]string{"insulation 200 megohms"}, "at thirty degrees", "reading; insulation=200 MOhm with temperature 30 Cel"},
		{[]string{"insulation 200 megohms"}, "five hundred volts for one minute", "reading; insulation=200 MOhm with voltage 500 V with time 1 min"},
		{[]string{"insulation 200 megohms"}, "test voltage 500 volts", "reading; insulation=200 MOhm with voltage 500 V"},
		{[]string{"insulation 200 megohms at 30 degrees"}, "at 500 volts", "reading; insulation=200 MOhm with temperature 30 Cel with voltage 500 V"},
		{[]string{"insulation 200 megohms at 30 degrees"}, "correction twenty degrees", "correction; insulation=200 MOhm with temperature 20 Cel"},
		{[]string{"insulation 200 megohms"}, "about thirty degrees", "unclear; insulation=200 MOhm with temperature 30 Cel !approximate"},
		// Not said of that reading, or of nothing at all.
		{[]string{"insulation 200 megohms at 30 degrees"}, "at thirty five degrees", "unclear; =35 deg|Cel|[degF]|K|[degR] !no home"},
		{[]string{"insulation 200 megohms", "seat clean"}, "at thirty degrees", "unclear; =30 deg|Cel|[degF]|K|[degR] !no home"},
		{[]string{"build spacer 64 millimetres"}, "at thirty degrees", "unclear; =30 deg|Cel|[degF]|K|[degR] !no home"},
		{[]string{"insulation 200 megohms"}, "motor at thirty degrees", "unclear; =30 deg|Cel|[degF]|K|[degR] !no home"},
		{nil, "at five hundred volts", "unclear; =500 V !no home"},
	} {
		ctx := parse.Context{}
		for _, n := range tt.before {
			u := parse.Text(n, v, ctx)
			ctx = ctx.After(u, parse.Heard{Recorded: u.Claims, Marks: u.Marks})
		}
		if got := brief(parse.Text(tt.note, v, ctx)); got != tt.want {
			t.Errorf("after %q, %q is %s, want %s", tt.before, tt.note, got, tt.want)
		}
	}
}
