package unit

// Words of torque. A foot pound is a torque here, never an energy.
const (
	newtons    = "(newton|newtons|newton's|new ton|new tons|neutron|newtown|newt on)"
	kgForce    = "(kilogram|kilogramme|kilo|kg) force|kgf|kilopond|kp"
	footPounds = "(foot|feet|ft|food|put) " + pounds + "|" + pounds + " (foot|feet|ft)"
	inchPounds = "(inch|inches|itch) " + pounds + "|in (lb|lbs|lbf)|" + pounds + " (inch|inches)|(lb|lbf) in"
)

func torques() []row {
	return []row{
		{
			"N.m", Torque, "newton metre", "newton metres", "N·m",
			newtons + " (" + metres + "|met us|mitres|miters|meaters|meeters|meeter|matters)|newton" + metres + "|newtons" + metres, "Nm|N m|Nms", si,
		},
		{
			"[ft_i].[lbf_av]", Torque, "foot pound", "foot pounds", "lbf·ft",
			footPounds + "|ft(lb|lbs|lbf)|(lb|lbs|lbf)ft|footpound(s|)|foot pounce|foot founds|ft / (lb|lbs|lbf)", "", sp811,
		},
		{
			"[in_i].[lbf_av]", Torque, "inch pound", "inch pounds", "lbf·in",
			inchPounds + "|in(lb|lbs|lbf)|(lb|lbf)in|inchpound(s|)|inch pounce|in / (lb|lbs|lbf)", "", sp811,
		},
		{
			"[oz_av].[g].[in_i]", Torque, "ounce inch", "ounce inches", "ozf·in",
			"(ounce|ounces|oz|ozf) (inch|inches)|(inch|inches) (ounce|ounces|oz|ozf)|(oz|ozf) in|in (oz|ozf)|ozin|inoz", "", sp811,
		},
		{
			"kgf.m", Torque, "kilogram force metre", "kilogram force metres", "kgf·m",
			"(" + kgForce + ") (" + metres + "|m)|(kilogram|kilogramme|kilograms|kg) " + metres + "|kg m|kgm|kgfm|kpm|mkgf|m (kgf|kgs|kp)", "", sp811,
		},
		{
			"kgf.cm", Torque, "kilogram force centimetre", "kilogram force centimetres", "kgf·cm",
			"(" + kgForce + ") (centi" + metres + "|cm)|(kilogram|kilogramme|kilograms|kilo|kg) centi" + metres + "|kg cm|kgcm|kgfcm|kpcm", "", sp811,
		},
		{
			"kN.m", Torque, "kilonewton metre", "kilonewton metres", "kN·m",
			"(kilonewton|kilo newton|kilo new ton) " + metres, "kNm|kN m", si,
		},
		{
			"daN.m", Torque, "decanewton metre", "decanewton metres", "daN·m",
			"(decanewton|deca newton) " + metres, "daNm|daN m", si,
		},
		{
			"N.cm", Torque, "newton centimetre", "newton centimetres", "N·cm",
			newtons + " (centi" + metres + "|cent a " + metres + "|centi " + metres + ")", "Ncm|N cm", si,
		},
		{
			"N.mm", Torque, "newton millimetre", "newton millimetres", "N·mm",
			newtons + " (milli" + metres + "|milli " + metres + ")", "Nmm|N mm", si,
		},
		{
			"mN.m", Torque, "millinewton metre", "millinewton metres", "mN·m",
			"(millinewton|milli newton|milli new ton) " + metres, "mNm|mN m", si,
		},
		{
			"dyn.cm", Torque, "dyne centimetre", "dyne centimetres", "dyn·cm",
			"(dyne|dynes|dyn) (centi" + metres + "|cm)", "", ucum,
		},
	}
}

func forces() []row {
	return []row{
		{"N", Force, "newton", "newtons", "N", "new ton|new tons|neutrons", "N", si},
		{"kN", Force, "kilonewton", "kilonewtons", "kN", "kilo newton(s|)|kilo new ton(s|)", "kN", si},
		{"mN", Force, "millinewton", "millinewtons", "mN", "milli newton(s|)", "mN", si},
		{"[lbf_av]", Force, "pound force", "pounds force", "lbf", "pound force|pounds force|pounds of force|lbf|lbs force|lb force|pounds of pull", "", sp811}, //nolint:dupword // forms side by side
		{"kgf", Force, "kilogram force", "kilograms force", "kgf", kgForce + "|(kilograms|kilos) (of |)force|kilo force|kiloponds", "", sp811},
		{"[oz_av].[g]", Force, "ounce force", "ounces force", "ozf", "ounces of force|oz force|ozf", "", sp811},
	}
}

func masses() []row {
	return []row{
		{"kg", Mass, "kilogram", "kilograms", "kg", "kilogramme(s|)|kilo gram(s|)|kgs|k g|k gs", "kg", si},
		{"g", Mass, "gram", "grams", "g", "gramme(s|)|gs|gm|gms", "g", si},
		{"mg", Mass, "milligram", "milligrams", "mg", "milligramme(s|)|milli gram(s|)|mgs", "mg", si},
		{"ug", Mass, "microgram", "micrograms", "µg", "microgramme(s|)|micro gram(s|)|mcg", "µg|ug", si},
		{"t", Mass, "tonne", "tonnes", "t", "metric ton(s|)|metric tonne(s|)", "t", si},
		{"[lb_av]", Mass, "pound", "pounds", "lb", "pounds mass|pound mass|lbm|pounds weight|pounds in weight", "", sp811},
		{"[oz_av]", Mass, "ounce", "ounces", "oz", "ounces mass|ounce mass", "", sp811},
		{"[dr_av]", Mass, "dram", "drams", "dr", "drachm(s|)", "", ucum},
		{"[ston_av]", Mass, "short ton", "short tons", "short ton", "us ton(s|)|net ton(s|)", "", sp811},
		{"[lton_av]", Mass, "long ton", "long tons", "long ton", "imperial ton(s|)|british ton(s|)|gross ton(s|)", "", sp811},
	}
}

func pressures() []row {
	const (
		ofMercury = " (of |)(mercury|hg)"
		ofWater   = " (of |)(water|h2o)( gauge| column|)"
	)
	return []row{
		{"bar", Pressure, "bar", "bar", "bar", "bars|barr|bar g|barg|bar gauge", "bar", si},
		{
			"[psi]", Pressure, "psi", "psi", "psi",
			"p s i|psig|p s i g|psi gauge|psis|p s eye|pee ess eye|" +
				"(pounds|pound|lb|lbs)( force|)( per | a | / | )(square|sq) (inch|in)|(pounds|lbs) per inch squared", "", sp811,
		},
		{"kPa", Pressure, "kilopascal", "kilopascals", "kPa", "kilo pascal(s|)|k p a|kpas|kilo paschal(s|)", "kPa", si},
		{"MPa", Pressure, "megapascal", "megapascals", "MPa", "mega pascal(s|)|m p a|mega paschal(s|)", "MPa", si},
		{"Pa", Pressure, "pascal", "pascals", "Pa", "paschal(s|)", "Pa", si},
		{"mbar", Pressure, "millibar", "millibars", "mbar", "milli bar(s|)|m bar", "mbar", si},
		{
			"att", Pressure, "kilogram per square centimetre", "kilograms per square centimetre", "kgf/cm²",
			"(kilogram|kilograms|kilo|kilos|kilogram force|kilograms force|kg)" + per + "(square centi" + metres + "|centi" + metres + " squared)|technical atmosphere(s|)",
			"kg/cm2|kgf/cm2|kp/cm2", sp811,
		},
		{"atm", Pressure, "atmosphere", "atmospheres", "atm", "standard atmosphere(s|)|atm|atms", "", sp811},
		{"[in_i'Hg]", Pressure, "inch of mercury", "inches of mercury", "inHg", "(inch|inches|in)" + ofMercury + "|inhg", "", ucum},
		{"mm[Hg]", Pressure, "millimetre of mercury", "millimetres of mercury", "mmHg", "(milli" + metres + "|mm)" + ofMercury + "|mmhg", "", ucum},
		{"[in_i'H2O]", Pressure, "inch of water", "inches of water", "inH₂O", "(inch|inches|in)" + ofWater, "inH2O|inwg|in wg", sp811},
		{"12.[in_i'H2O]", Pressure, "foot of water", "feet of water", "ftH₂O", "(foot|feet|ft)" + ofWater, "ftH2O", sp811},
		{"m[H2O]", Pressure, "metre of water", "metres of water", "mH₂O", "(" + metres + "|m)" + ofWater, "mH2O|mwg", sp811},
		{"cm[H2O]", Pressure, "centimetre of water", "centimetres of water", "cmH₂O", "(centi" + metres + "|cm)" + ofWater, "cmH2O", sp811},
		{"mm[H2O]", Pressure, "millimetre of water", "millimetres of water", "mmH₂O", "(milli" + metres + "|mm)" + ofWater, "mmH2O|mmwg", sp811},
	}
}
