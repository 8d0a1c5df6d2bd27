package unit

// slang holds the words that several units share, each with its units, likeliest
// first. What the spec calls for chooses among them; where it does not, the likeliest
// is a guess to be asked about.
var slang = []struct {
	say    string
	symbol bool
	codes  []string
}{
	// "mil" is a millimetre in Britain, a thousandth of an inch in America, and a
	// millilitre to whoever pours.
	{"mil|mils|mill|mills", false, []string{"mm", "[mil_i]", "mL"}},
	{"kilo|kilos|key los", false, []string{"kg", "kN", "kOhm", "kPa", "kW", "kV"}},
	{"pound|pounds|lb|lbs|pond|ponds", false, []string{"[lb_av]", "[lbf_av]", "[psi]", "[ft_i].[lbf_av]", "[in_i].[lbf_av]"}},
	{"ounce|ounces|oz|ozs", false, []string{"[oz_av]", "[oz_av].[g]", "[foz_us]"}},
	{"degree|degrees|deg|degs|°", false, []string{"deg", "Cel", "[degF]", "K", "[degR]"}},
	{"ton|tons", false, []string{"t", "[ston_av]", "[lton_av]"}},
	{"gallon|gallons|gal|gals", false, []string{"[gal_us]", "[gal_br]"}},
	{"(gallons|gallon|gal)" + per + minutes + "|gpm|g p m", false, []string{"[gal_us]/min", "[gal_br]/min"}},
	{"pint|pints", false, []string{"[pt_us]", "[pt_br]"}},
	{"cube|cubes", false, []string{"m3/h", "m3"}},
	{"revs", false, []string{"{rev}/min", "circ"}},
	{"kilo " + metres + "|kilo meaters", false, []string{"km", "kgf.m"}},
	{"horse power|horsepower|horses|hp|h p|horse powers", false, []string{"[HP]", "75.kgf.m/s"}},
	// typed without regard to case
	{"nm|n m", true, []string{"N.m", "nm"}},
	{"mohm|mohms|mω", true, []string{"MOhm", "mOhm"}},
	// the prefix alone, as electricians jot it down
	{"M", true, []string{"m", "MOhm"}},
	{"G", true, []string{"g", "GOhm"}},
}

// slangForms lists every shared word, written out.
func slangForms() map[string]bool {
	forms := map[string]bool{}
	for _, s := range slang {
		for _, f := range expand(s.say) {
			forms[f] = true
		}
	}
	return forms
}
