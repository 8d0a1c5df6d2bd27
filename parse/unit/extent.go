package unit

const (
	gallons = "(gallon|gallons|gal|gals)"
	cubic   = "(cubic|cube|cu) "
)

func lengths() []row {
	const milli = "(milli|mili|mille|mill a |milli |mil a |millie |mills a |miller )"
	return []row{
		{"mm", Length, "millimetre", "millimetres", "mm", milli + metres + "|milli meet(er|ers)|mms|m m|mill i " + metres, "mm", si},
		{"m", Length, "metre", "metres", "m", metres + "|mtr|mtrs|metres head|meters head|metres of head|meters of head", "m", si},
		{"cm", Length, "centimetre", "centimetres", "cm", "(centi|centi |cent a |sent a )" + metres + "|cms|c m", "cm", si},
		{"dm", Length, "decimetre", "decimetres", "dm", "deci(| )" + metres, "dm", si},
		{"km", Length, "kilometre", "kilometres", "km", "kilo" + metres + "|kms|k m", "km", si},
		{
			"um", Length, "micron", "microns", "µm",
			"micro(| )met(re|er)s|micrometre|mike|mikes|mike run(s|)|mike ron(s|)|my cron(s|)|my crons|micro ns|mic run(s|)|mick rons", "µm|um", si,
		},
		{"nm", Length, "nanometre", "nanometres", "nm", "nano(| )" + metres, "", si},
		{"pm", Length, "picometre", "picometres", "pm", "pico(| )" + metres, "", si},
		{"[in_i]", Length, "inch", "inches", "in", "inchs|ins", "in|\"|''|”|″|′′|’’", sp811},
		{"[mil_i]", Length, "thou", "thou", "thou", "thous|thow|thows|thou's|thau|thaus", "", sp811},
		{"10*-6.[in_i]", Length, "microinch", "microinches", "µin", "micro inch(es|)", "µin|uin", sp811},
		// Not "ten-thousandths of an inch": heard, "five ten" would be a number.
		{"10*-4.[in_i]", Length, "tenth of a thou", "tenths of a thou", "0.0001 in", "tenths of thou", "", sp811},
		{"[ft_i]", Length, "foot", "feet", "ft", "foots|fts", "ft|'|′|’", sp811},
		{"[yd_i]", Length, "yard", "yards", "yd", "yd|yds", "", sp811},
		{"[mi_i]", Length, "mile", "miles", "mi", "mi", "", sp811},
	}
}

func areas() []row {
	return []row{
		{"m2", Area, "square metre", "square metres", "m²", "(square|sq) (" + metres + "|m)|" + metres + " squared|sqm", "m2|m^2", si},
		{"cm2", Area, "square centimetre", "square centimetres", "cm²", "(square|sq) (centi" + metres + "|cm)|centi" + metres + " squared", "cm2|cm^2", si},
		{"mm2", Area, "square millimetre", "square millimetres", "mm²", "(square|sq) (milli" + metres + "|mm)|milli" + metres + " squared", "mm2|mm^2", si},
		{"km2", Area, "square kilometre", "square kilometres", "km²", "(square|sq) (kilo" + metres + "|km)", "km2|km^2", si},
		{"[sft_i]", Area, "square foot", "square feet", "ft²", "(square|sq) (foot|feet|ft)|sqft", "ft2|ft^2", ucum},
		{"[sin_i]", Area, "square inch", "square inches", "in²", "(square|sq) (inch|inches|in)", "in2|in^2", ucum},
		{"[acr_us]", Area, "acre", "acres", "acre", "acre", "", ucum},
	}
}

func volumes() []row {
	return []row{
		{"L", Volume, "litre", "litres", "L", "lit(re|er)(s|)|ltr|ltrs", "L|l", si},
		{"mL", Volume, "millilitre", "millilitres", "mL", "(milli|milli |mili|mill a )lit(re|er)(s|)|mls", "mL|ml", si},
		{"cL", Volume, "centilitre", "centilitres", "cL", "centi(| )lit(re|er)(s|)", "cL|cl", si},
		{"hL", Volume, "hectolitre", "hectolitres", "hL", "(hecto|hecto )lit(re|er)(s|)", "hL|hl", si},
		{"m3", Volume, "cubic metre", "cubic metres", "m³", cubic + "(" + metres + "|m)|" + metres + " cubed|cube metres", "m3|m^3", si},
		{"cm3", Volume, "cubic centimetre", "cubic centimetres", "cm³", cubic + "(centi" + metres + "|cm)|cc|ccs|c c", "cm3|cm^3", si},
		{"[gal_us]", Volume, "US gallon", "US gallons", "US gal", "(us|u s|american) " + gallons, "", sp811},
		{"[gal_br]", Volume, "imperial gallon", "imperial gallons", "imp gal", "(imperial|imp|uk|u k|british) " + gallons, "", sp811},
		{"[qt_us]", Volume, "quart", "quarts", "qt", "(us |)(quart|quarts)|qt|qts", "", ucum},
		{"[pt_us]", Volume, "US pint", "US pints", "US pt", "(us|american) (pint|pints)", "", ucum},
		{"[pt_br]", Volume, "imperial pint", "imperial pints", "imp pt", "(imperial|uk|british) (pint|pints)", "", ucum},
		{"[cup_us]", Volume, "cup", "cups", "cup", "cup", "", ucum},
		{"[foz_us]", Volume, "fluid ounce", "fluid ounces", "fl oz", "fluid oz|fl oz", "", ucum},
		{"[tbs_us]", Volume, "tablespoon", "tablespoons", "tbsp", "table spoon(s|)|tablespoonful(s|)|tbsp|tbsps", "", ucum},
		{"[tsp_us]", Volume, "teaspoon", "teaspoons", "tsp", "tea spoon(s|)|teaspoonful(s|)|tsp|tsps", "", ucum},
		{"[cft_i]", Volume, "cubic foot", "cubic feet", "ft³", cubic + "(foot|feet|ft)|cuft", "ft3|ft^3", sp811},
		{"[cin_i]", Volume, "cubic inch", "cubic inches", "in³", cubic + "(inch|inches|in)|cuin", "in3|in^3", sp811},
		{"[bbl_us]", Volume, "barrel", "barrels", "bbl", "bbl|bbls", "", ucum},
	}
}

func flows() []row {
	const cubicMetres = "(" + cubic + "(" + metres + "|m)|" + metres + " cubed|cube metres)"
	return []row{
		{"L/min", Flow, "litre a minute", "litres a minute", "L/min", "(" + litres + "|l)" + per + minutes + "|lpm|l p m", "L/min|l/min|LPM", si},
		{"L/s", Flow, "litre a second", "litres a second", "L/s", "(" + litres + "|l)" + per + seconds, "L/s|l/s", si},
		{"L/h", Flow, "litre an hour", "litres an hour", "L/h", "(" + litres + "|l)" + per + hours, "L/h|l/h|l/hr", si},
		{"mL/min", Flow, "millilitre a minute", "millilitres a minute", "mL/min", "(millilit(re|er)(s|)|mls|ml)" + per + minutes, "mL/min|ml/min", si},
		{
			"m3/h", Flow, "cubic metre an hour", "cubic metres an hour", "m³/h",
			"(" + cubicMetres + "|cubes|cube)" + per + hours, "m3/h|m^3/h|m3/hr|cmh", si,
		},
		{"m3/min", Flow, "cubic metre a minute", "cubic metres a minute", "m³/min", cubicMetres + per + minutes, "m3/min|m^3/min", si},
		{"m3/s", Flow, "cubic metre a second", "cubic metres a second", "m³/s", cubicMetres + per + seconds, "m3/s|m^3/s", si},
		{
			"[gal_us]/min", Flow, "US gallon a minute", "US gallons a minute", "US gpm",
			"(us|u s|american) (" + gallons + per + minutes + "|gpm|g p m)|usgpm", "", sp811,
		},
		{
			"[gal_br]/min", Flow, "imperial gallon a minute", "imperial gallons a minute", "imp gpm",
			"(imperial|imp|uk|u k|british) (" + gallons + per + minutes + "|gpm|g p m)|igpm|i g p m", "", sp811,
		},
		{"[cft_i]/min", Flow, "cubic foot a minute", "cubic feet a minute", "ft³/min", cubic + "(foot|feet|ft)" + per + minutes + "|cfm|c f m", "ft3/min", sp811},
	}
}

func velocities() []row {
	return []row{
		{"m/s", Velocity, "metre a second", "metres a second", "m/s", "(" + metres + "|m)" + per + seconds, "m/s", si},
		{
			"mm/s", Velocity, "millimetre a second", "millimetres a second", "mm/s",
			"((milli|milli |mili|mill a )" + metres + "|mil|mils|mm)" + per + seconds, "mm/s", si,
		},
		{"cm/s", Velocity, "centimetre a second", "centimetres a second", "cm/s", "(centi" + metres + "|cm)" + per + seconds, "cm/s", si},
		{"m/min", Velocity, "metre a minute", "metres a minute", "m/min", "(" + metres + "|m)" + per + minutes, "m/min", si},
		{"km/h", Velocity, "kilometre an hour", "kilometres an hour", "km/h", "(kilo" + metres + "|kilo " + metres + "|km|kms)" + per + hours + "|kph|kmph|kmh|k p h", "km/h|km/hr", si},
		{"[mi_i]/h", Velocity, "mile an hour", "miles an hour", "mph", "(mile|miles|mi)" + per + hours + "|mph|m p h", "", sp811},
		{"[ft_i]/s", Velocity, "foot a second", "feet a second", "ft/s", "(foot|feet|ft)" + per + seconds + "|fps|f p s", "ft/s", sp811},
		{"[ft_i]/min", Velocity, "foot a minute", "feet a minute", "ft/min", "(foot|feet|ft)" + per + minutes + "|fpm|f p m", "ft/min", sp811},
		{"[in_i]/s", Velocity, "inch a second", "inches a second", "in/s", "(inch|inches|in)" + per + seconds + "|ips|i p s", "in/s", sp811},
	}
}
