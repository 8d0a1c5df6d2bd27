package drift

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Text returns the comparison in a sentence, the instrument by the name that is given:
// "Wrench seven reads 2.1 per cent low against the others since March (95 % confidence 1.2
// to 3.0 per cent, 41 readings)." Where no difference is shown it says so, and what there
// may yet be.
func (c Comparison) Text(name string) string {
	d, since := c.All, ""
	if c.Since != nil {
		d, since = c.Since.Difference, " since "+c.month(c.Since.When)
	}
	places := d.places()
	if !d.Shown() {
		return fmt.Sprintf("No difference is shown between %s and the others: from %s to %s (%s confidence, %s).",
			name, c.side(d.Lower, places), c.side(d.Upper, places), percent(d.Level), counted(d.N))
	}
	near, far := math.Abs(d.Lower), math.Abs(d.Upper)
	if near > far {
		near, far = far, near
	}
	return fmt.Sprintf("%s reads %s against the others%s (%s confidence %s to %s %s, %s).",
		capital(name), c.side(d.Value, places), since, percent(d.Level), fixed(near, places), fixed(far, places), c.Basis, counted(d.N))
}

// side returns "2.1 per cent low".
func (c Comparison) side(v float64, places int) string {
	side := High
	if v < 0 {
		side = Low
	}
	return fmt.Sprintf("%s %s %s", fixed(math.Abs(v), places), c.Basis, side)
}

// month returns "March", with the year where it is not that of the last reading.
func (c Comparison) month(when time.Time) string {
	if when.Year() == c.Last.Year() {
		return when.Format("January")
	}
	return when.Format("January 2006")
}

// places returns how many decimals the interval is worth: at least one, so that its half
// width is seen.
func (d Difference) places() int {
	return min(max(int(math.Ceil(-math.Log10((d.Upper-d.Lower)/2))), 1), 9)
}

// fixed returns v with as many decimals, or more where what is not 0 would be shown as 0.
func fixed(v float64, places int) string {
	text := strconv.FormatFloat(v, 'f', places, 64)
	if v != 0 && strings.Trim(text, "0.") == "" {
		return strconv.FormatFloat(v, 'f', min(max(places, int(math.Ceil(-math.Log10(v)))), 12), 64)
	}
	return text
}

// percent returns a level as "95 %".
func percent(level float64) string { return strconv.FormatFloat(level*100, 'g', 4, 64) + " %" }

// capital returns s with its first letter large.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	var b strings.Builder
	b.WriteRune(unicode.ToUpper(r))
	b.WriteString(s[n:])
	return b.String()
}
