package counts

import (
	"fmt"
	"strconv"
	"time"

	"readback/capture/query"
	"readback/capture/wire"
	"readback/web/csv"
)

// Answer is the body of GET /api/counts.
type Answer struct {
	Symptoms     []Symptom     `json:"symptoms"`     // those of most jobs first; never null
	Dispositions []Disposition `json:"dispositions"` // oldest first; never null
	Units        []Unit        `json:"units"`        // those that came most often first; never null
	Unnumbered   int           `json:"unnumbered"`   // jobs that say no number of a unit
	CameAgain    int           `json:"came_again"`   // units with more than one job
	Returns      int           `json:"returns"`      // jobs of a unit that had been there before
	MeanDays     float64       `json:"mean_days"`    // from a visit to the next, over all returns; 0 where there are none
	Unread       []string      `json:"unread"`       // jobs that cannot be counted; never null
}

// Symptom is how often something was wrong with a part.
type Symptom struct {
	Part       string  `json:"part"` // "" where the notes name none
	Condition  string  `json:"condition"`
	Jobs       int     `json:"jobs"`
	Notes      int     `json:"notes"`
	Share      float64 `json:"share"` // of the sum of jobs, 0 to 1
	Cumulative float64 `json:"cumulative"`
}

// Disposition is what was decided of a finding of a job.
type Disposition struct {
	Job  string `json:"job"`
	Spec string `json:"spec"`
	wire.Disposition
}

// Unit is one that has a number.
type Unit struct {
	Spec     string   `json:"spec"`
	Number   string   `json:"number"`
	Visits   []Visit  `json:"visits"`              // oldest first
	MeanDays *float64 `json:"mean_days,omitempty"` // between its visits; absent where it came once
}

// Visit is a job that was opened for a unit.
type Visit struct {
	Job    string    `json:"job"`
	Opened time.Time `json:"opened"`
}

// Answer returns the report for other programs.
func (r *Report) Answer() Answer {
	a := Answer{Symptoms: []Symptom{}, Dispositions: []Disposition{}, Units: []Unit{}, Unnumbered: r.Units.Unnumbered, Unread: append([]string{}, r.Unread...)}
	for _, c := range r.Symptoms.Counts {
		a.Symptoms = append(a.Symptoms, Symptom{c.Part, c.Condition, c.Jobs, c.Notes, c.Share, c.Cumulative})
	}
	for _, d := range r.Dispositions.Dispositions {
		a.Dispositions = append(a.Dispositions, Disposition{d.Job, d.Spec, d.Disposition})
	}
	for _, u := range r.Units.Units {
		one := Unit{Spec: u.Spec, Number: u.Number}
		for _, v := range u.Visits {
			one.Visits = append(one.Visits, Visit(v))
		}
		if mean, ok := u.Between(); ok {
			in := mean.Hours() / 24
			one.MeanDays = &in
		}
		a.Units = append(a.Units, one)
	}
	var mean time.Duration
	a.CameAgain, a.Returns, mean = r.Units.Again()
	a.MeanDays = mean.Hours() / 24
	return a
}

// CSV writes a part of the report as a table: "symptoms", "dispositions" or "visits". A *query.FilterError says
// that there is no such part.
func (r *Report) CSV(of string) ([]byte, error) {
	switch of {
	case "symptoms":
		rows := [][]string{{"part", "condition", "jobs", "notes", "share", "cumulative"}}
		for _, c := range r.Symptoms.Counts {
			rows = append(rows, []string{c.Part, c.Condition, strconv.Itoa(c.Jobs), strconv.Itoa(c.Notes), fmt.Sprintf("%.4f", c.Share), fmt.Sprintf("%.4f", c.Cumulative)})
		}
		return csv.Rows(rows), nil
	case "dispositions":
		rows := [][]string{{"job", "spec", "seq", "time", "person", "rule", "callout", "place", "finding", "note", "disposition", "reason", "now"}}
		for _, d := range r.Dispositions.Dispositions {
			rows = append(rows, []string{
				d.Job, d.Spec, strconv.FormatInt(d.Seq, 10), d.Time.Format(time.RFC3339Nano), d.Person, d.Rule, d.Callout, string(d.At), d.Finding,
				strconv.FormatInt(d.Reading, 10), string(d.Is), d.Reason, d.Words(),
			})
		}
		return csv.Rows(rows), nil
	case "visits":
		rows := [][]string{{"spec", "number", "visit", "job", "opened", "days since the last"}}
		for _, u := range r.Units.Units {
			for i, v := range u.Visits {
				since := ""
				if i > 0 {
					since = days(v.Opened.Sub(u.Visits[i-1].Opened))
				}
				rows = append(rows, []string{u.Spec, u.Number, strconv.Itoa(i + 1), v.Job, v.Opened.Format(time.RFC3339Nano), since})
			}
		}
		return csv.Rows(rows), nil
	}
	return nil, &query.FilterError{Field: "of", Wrong: fmt.Sprintf("there is no table %q", short(of)), Do: "use symptoms, dispositions or visits"}
}
