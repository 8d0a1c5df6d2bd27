package unit

func electrics() []row {
	const ohms = "(ohm|ohms|ohm's|home|homes|oms|omes|arms)"
	return []row{
		{"Ohm", Resistance, "ohm", "ohms", "Ω", ohms, "Ω|Ohm", si},
		{
			"MOhm", Resistance, "megohm", "megohms", "MΩ",
			"meg|megs|megohm's|(meg|megs|mega|mag|make|mego) " + ohms + "|mega(ohm|ohms)|megger ohms|megom(s|)|megohome(s|)|mega om(s|)", "MΩ|MOhm|MOhms|M Ω|M Ohm|M ohm|M ohms", si,
		},
		{"GOhm", Resistance, "gigohm", "gigohms", "GΩ", "gig|gigs|(gig|gigs|giga|giggle) " + ohms + "|giga(ohm|ohms)|jig ohms", "GΩ|GOhm|GOhms|G Ω|G Ohm|G ohm|G ohms", si},
		{"kOhm", Resistance, "kilohm", "kilohms", "kΩ", "(kilo|k) " + ohms + "|kilo(ohm|ohms)|kill ohms|killer ohms", "kΩ|kOhm|kOhms|k Ω|k Ohm", si},
		{"mOhm", Resistance, "milliohm", "milliohms", "mΩ", "(milli|mili|mill a|milly) " + ohms + "|milohm(s|)", "mΩ|mOhm|mOhms|m Ω|m Ohm|m ohm|m ohms", si},
		{"uOhm", Resistance, "microhm", "microhms", "µΩ", "micro(| )" + ohms, "µΩ|uOhm|µOhm", si},
		{"TOhm", Resistance, "teraohm", "teraohms", "TΩ", "(tera|terra) " + ohms + "|terohm(s|)", "TΩ|TOhm", si},
		{"V", Voltage, "volt", "volts", "V", "vault(s|)|volts (ac|a c|dc|d c)|volt(s|) a c", "V|VAC|VDC|V AC|V DC", si},
		{"kV", Voltage, "kilovolt", "kilovolts", "kV", "kilo (volt|volts|vault|vaults)|k v|kvs", "kV", si},
		{"mV", Voltage, "millivolt", "millivolts", "mV", "milli (volt|volts|vaults)", "mV", si},
		{"A", Current, "amp", "amps", "A", "ampere(s|)|amp's", "A", si},
		{"mA", Current, "milliamp", "milliamps", "mA", "milli(| )(ampere|amperes)|milli (amp|amps)|mill i amps|mils amps", "mA", si},
		{"uA", Current, "microamp", "microamps", "µA", "micro(| )(ampere|amperes)|micro (amp|amps)", "µA|uA", si},
		{"kA", Current, "kiloamp", "kiloamps", "kA", "kilo(| )(ampere|amperes)|kilo (amp|amps)", "kA", si},
		{"uF", Capacitance, "microfarad", "microfarads", "µF", "micro (farad|farads)|mike farads|mfd", "µF|uF", si},
	}
}

func temperatures() []row {
	const (
		degrees    = "(degree |degrees |deg |degs |° |)"
		celsius    = "(celsius|celcius|centigrade|centigrate|selsius|celsias|sell see us)" //nolint:misspell // as people spell it
		fahrenheit = "(fahrenheit|farenheit|farenhite|fahrenheight|faren height)"          //nolint:misspell // as people spell it
	)
	return []row{
		{"Cel", Temperature, "degree Celsius", "degrees Celsius", "°C", degrees + celsius + "|(degree|degrees|deg|degs|°) c|degc|(degree|degrees) (see|sea)", "C|°C|℃", si},
		{"[degF]", Temperature, "degree Fahrenheit", "degrees Fahrenheit", "°F", degrees + fahrenheit + "|(degree|degrees|deg|degs|°) f|degf", "F|°F|℉", sp811},
		{"K", TemperatureInterval, "kelvin", "kelvins", "K", "(degree|degrees) kelvin|(degree|degrees) (c|celsius|centigrade) (rise|drop|difference)", "K", si},
		{"[degR]", TemperatureInterval, "Fahrenheit degree", "Fahrenheit degrees", "°F interval", "(degree|degrees) (f|fahrenheit) (rise|drop|difference)|(degree|degrees) rankine", "", sp811},
	}
}

func powerUnits() []row {
	return []row{
		{"W", Power, "watt", "watts", "W", "what(t|)s power", "W", si},
		{"kW", Power, "kilowatt", "kilowatts", "kW", "kilo (watt|watts|what|whats)|k w|kws", "kW", si},
		{"[HP]", Power, "horsepower", "horsepower", "hp", "(imperial|mechanical|british) (horsepower|horse power|hp)|bhp|b h p", "", sp811},
		{"75.kgf.m/s", Power, "metric horsepower", "metric horsepower", "metric hp", "metric (horsepower|horse power|hp)", "", sp811},
		{"J", Energy, "joule", "joules", "J", "jewel(s|)", "J", si},
		{"kJ", Energy, "kilojoule", "kilojoules", "kJ", "kilo joule(s|)", "kJ", si},
		{"kW.h", Energy, "kilowatt hour", "kilowatt hours", "kW·h", "kilo watt hour(s|)", "kWh|kW h", si},
	}
}

func times() []row {
	return []row{
		{"s", Time, "second", "seconds", "s", "sec|secs", "s", si},
		{"min", Time, "minute", "minutes", "min", "mins|minuet(s|)", "min", si},
		{"h", Time, "hour", "hours", "h", "hr|hrs", "h", si},
		{"d", Time, "day", "days", "d", "day", "d", si},
		{"wk", Time, "week", "weeks", "wk", "wk|wks", "", ucum},
		{"mo", Time, "month", "months", "month", "mths", "", ucum},
		{"a", Time, "year", "years", "year", "yr|yrs", "", ucum},
		{"ms", Time, "millisecond", "milliseconds", "ms", "milli second(s|)|msec|msecs", "ms", si},
		{"Hz", Frequency, "hertz", "hertz", "Hz", "hurts|herts|hurtz|cycles" + per + "second|hertzes", "Hz", si},
		{"kHz", Frequency, "kilohertz", "kilohertz", "kHz", "kilo (hertz|hurts)", "kHz", si},
		{
			"{rev}/min", Speed, "rev a minute", "revs a minute", "rpm",
			"rpm|rpms|r p m|r p ms|are pm|are p m|(rev|revs|revolution|revolutions|turn|turns|rotations|rev's|r)" + per + minutes, "r/min|min-1|1/min|rev/min", ucum,
		},
	}
}

func angles() []row {
	return []row{
		{"deg", Angle, "degree", "degrees", "°", "(degree|degrees|deg) of (angle|turn|rotation|arc)|angle degrees", "", si},
		{"circ", Angle, "turn", "turns", "turn", "rev|revolution(s|)|rotation(s|)|full turn(s|)", "", ucum},
		{"'", Angle, "minute of arc", "minutes of arc", "′", "arc(| )minute(s|)|minutes of angle|arc(| )min", "", si},
		{"''", Angle, "second of arc", "seconds of arc", "″", "arc(| )second(s|)|arc(| )sec", "", si},
		{"rad", Radian, "radian", "radians", "rad", "radian|rads", "rad", si},
	}
}

func ratios() []row {
	return []row{
		{"1", Count, "", "", "", "", "", ucum},
		{"%", Ratio, "per cent", "per cent", "%", "percent|percents|percentage|per sent|purr cent|per centage", "%", ucum},
		{"[ppm]", Ratio, "part per million", "parts per million", "ppm", "ppm|p p m|part(s|)" + per + "million", "", ucum},
	}
}
