package export

import (
	"bytes"
	"crypto/sha256"
	_ "embed" // for the template and its style
	"encoding/base64"
	"fmt"
	"html/template"

	"readback/web/lead"
)

//go:embed transcript.html
var layout string

//go:embed transcript.css
var style string

var transcript = template.Must(template.New("transcript").Funcs(template.FuncMap{
	"time": clock, "src": inPage, "who": (*Line).who, "client": (*Line).client,
}).Parse(layout))

// Policy is the content security policy of the page: its own style and pictures and nothing else.
func Policy() string {
	sum := sha256.Sum256([]byte(style))
	return "default-src 'none'; img-src data:; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
}

// inPage is a picture in the page itself.
func inPage(jpeg []byte) template.URL {
	return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(jpeg)) //nolint:gosec // a picture that we have made
}

// page writes the transcript for print: it needs no other file.
func page(f *Facts) ([]byte, error) {
	data := struct {
		*Facts
		Style                         template.CSS
		Sections                      []section
		Stack, Code                   template.HTML
		Entries                       []*Line
		Times, Built, Sure, By, NoSea string
		Signers                       []string
	}{
		Facts: f, Style: template.CSS(style), Sections: f.sections(), Times: allTimes, Built: invented, Sure: sureIs, By: sealIs, NoSea: noSeal, Signers: signers(), //nolint:gosec // the style is a file of ours
	}
	for i := range f.Lines {
		data.Entries = append(data.Entries, &f.Lines[i])
	}
	var err error
	if data.Stack, err = lead.Stack(f.state); err != nil {
		return nil, fmt.Errorf("export job %s: %w", f.Job, err)
	}
	if len(f.Seal) > 0 {
		code, err := squareOf(f.code())
		if err != nil {
			return nil, fmt.Errorf("export job %s: %w", f.Job, err)
		}
		data.Code = code.svg("The head of the seal as a QR code")
	}
	var b bytes.Buffer
	if err := transcript.Execute(&b, data); err != nil {
		return nil, fmt.Errorf("export job %s: %w", f.Job, err)
	}
	return b.Bytes(), nil
}
