package history

// Case is something that happens to units, and how it is told of: one line of each list.
type Case struct {
	Key string
	Say [][]string
}

// Cases lists what happens to units. The wordings of a case share as few words as people do.
func Cases() []Case {
	return []Case{
		{"seized-sand", [][]string{
			{"customer says it swallowed half the settling pit", "pumped grit out of an excavation before it came here", "casing packed with silt up to the third stage", "had been standing in muddy water, inlet screen full of sand"},
			{"rotor will not turn by hand", "locked solid, won't budge with the bar", "shaft stuck fast", "jammed, could not turn it at all"},
			{"impellers renewed and wear rings changed", "stack taken apart under the press, {n} wheels replaced"},
		}},
		{"seized-rust", [][]string{
			{"stood in a cellar for {n} years without running", "laid up over the winter full of water"},
			{"stuck, corroded to the sleeve", "won't turn, rusted in place", "frozen up with corrosion"},
			{"freed with oil and heat, sleeve renewed"},
		}},
		{"washer-scored", [][]string{
			{"thrust washer badly scratched on the inlet side", "deep grooves in the thrust washer", "thrust ring gouged all the way round", "thrust washer galled"},
			{"thrust washer replaced", "new thrust washer fitted"},
		}},
		{"sleeve-groove", [][]string{
			{"shaft sleeve has a groove where the lip seal runs", "sleeve scored under the seal", "wear sleeve ridged, catches a fingernail"},
			{"sleeve swapped", "put in new sleeve"},
		}},
		{"bearing-noise", [][]string{
			{"bearing rumbles when turned", "growling from the motor end, ball race rough", "grinding noise from the upper bearing", "bearing howls at speed"},
			{"bearings renewed", "both bearings changed"},
		}},
		{"coupling-rattle", [][]string{
			{"coupling rattles, play in the spline", "coupling half knocks on its key", "clatter from the coupling, keyway opened out"},
			{"coupling replaced", "new key made and fitted"},
		}},
		{"vibration", [][]string{
			{"customer complains it shakes the pipework", "shudders on start", "vibrates so that the cover came loose", "out of balance, one vane chipped"},
			{"impeller balanced on the stand and put back"},
		}},
		{"seal-leak", [][]string{
			{"mechanical seal weeping", "oil dripping past the face seal", "seal lets water by, puddle under it in an hour"},
			{"seal renewed", "new shaft seal pressed in"},
		}},
		{"gland-leak", [][]string{
			{"water got in through the cable gland", "cable entry seeping, moisture in the terminal box", "gland perished, plug damp inside"},
			{"gland replaced and cable made off again"},
		}},
		{"milky-oil", [][]string{
			{"oil chamber milky", "oil has gone creamy", "water in the oil, white emulsion"},
			{"oil changed, o-rings renewed"},
		}},
		{"winding-burnt", [][]string{
			{"windings smell burnt", "stator blackened at the drive end", "coil charred, varnish cooked off", "motor has overheated, winding blued"},
			{"stator sent off to be rewound", "scrapped the motor, beyond repair"},
		}},
		{"earth-fault", [][]string{
			{"trips the breaker after ten minutes", "insulation low, goes to earth when warm", "kicks out the fuse at start", "dead short on one phase"},
			{"cable cut back and remade"},
		}},
		{"cable-chafed", [][]string{
			{"cable chafed through at the guard", "lead frayed, copper showing", "supply cable pinched and cut"},
			{"new lead fitted"},
		}},
		{"cavitation", [][]string{
			{"impeller eye pitted like a sponge", "wheels eaten at the inlet edge, cavitation", "craters on the vanes of stage one"},
			{"impellers replaced"},
		}},
		{"impeller-cracked", [][]string{
			{"hairline crack in impeller two", "vane snapped off wheel three", "impeller split at the hub"},
			{"impeller renewed"},
		}},
		{"impeller-worn", [][]string{
			{"impeller vanes thin as paper", "wheels worn away at the tips", "impellers eroded, a third of the vane gone"},
			{"set of impellers changed"},
		}},
		{"ring-worn", [][]string{
			{"wear ring opened out, 0.9 clearance", "neck ring worn through on one side", "wear rings well past their limit"},
			{"wear rings renewed", "wear ring two replaced"},
		}},
		{"shaft-bent", [][]string{
			{"shaft bent, whips in the vee blocks", "shaft bowed by half a millimetre", "spindle crooked, not true at the top"},
			{"shaft straightened on the press", "shaft scrapped"},
		}},
		{"strainer-blocked", [][]string{
			{"strainer choked with rags", "inlet screen bunged up with leaves and weed", "suction grid clogged, stringy stuff all round it"},
			{"strainer cleaned and put back"},
		}},
		{"low-flow", [][]string{
			{"customer says barely moves water now", "down on output, hardly any head", "complaint poor flow, takes all night to empty the sump", "trickles where it used to fill the pipe"},
			{"diffusers replaced, flow good on test"},
		}},
		{"no-prime", [][]string{
			{"loses prime after every stop", "sucks air and stops delivering", "foot valve stuck open, water runs back"},
			{"foot valve renewed"},
		}},
		{"dry-run", [][]string{
			{"ran without water for an hour", "float failed and it ran dry", "no water around it all weekend, kept running"},
			{"bush melted to the shaft", "bushing burnt black"},
			{"bushes pressed in new"},
		}},
		{"bush-worn", [][]string{
			{"lower bushing worn oval", "bush sloppy, shaft moves about", "bottom bush rubbed out of round"},
			{"bush changed"},
		}},
		{"bolt-sheared", [][]string{
			{"coupling bolt sheared", "two cover studs snapped when undone", "tie rod broke at the thread"},
			{"bolts replaced"},
		}},
		{"thread-stripped", [][]string{
			{"threads stripped in the bowl", "tie rod thread crossed", "collar nut thread torn"},
			{"thread repaired with an insert"},
		}},
		{"nut-loose", [][]string{
			{"collar nut had backed out", "nut on stage two came undone in service", "collar nut finger tight when opened"},
			{"locked with a new tab washer"},
		}},
		{"casing-corroded", [][]string{
			{"casing rotten with rust, flakes come off", "housing corroded through at the drain", "bowl badly pitted by salt water"},
			{"casing scrapped", "casing welded and skimmed"},
		}},
		{"gasket-torn", [][]string{
			{"gasket torn at the cover", "paper gasket ripped", "joint split between two bolts, gasket squeezed out"},
			{"gasket renewed"},
		}},
		{"oring-hard", [][]string{
			{"o-rings gone hard and brittle", "rubber ring perished, breaks in the hand", "o ring swollen from the wrong grease"},
			{"o-rings renewed"},
		}},
		{"key-missing", [][]string{
			{"no key in the shaft, somebody left it out", "key not there, keyway empty", "key missing from the coupling"},
			{"key fitted"},
		}},
		{"key-sheared", [][]string{
			{"coupling key sheared in two", "impeller spins on the shaft, key gone to bits"},
			{"key and hub renewed"},
		}},
		{"amps-high", [][]string{
			{"draws too much, amps are up by a third", "overloads in full flow", "heavy on current, trips its overload"},
			{"impeller trimmed to the right diameter"},
		}},
		{"wrong-impeller", [][]string{
			{"found a cut impeller where a full one belongs", "last people put the wrong wheel in stage one"},
			{"right impeller fitted"},
		}},
		{"repeat-seal", [][]string{
			{"back again with the same leak after {n} weeks", "came back, seal has gone a second time"},
			{"seal face scored by sand", "grit between the seal faces"},
			{"seal replaced, customer told to fit a finer screen"},
		}},
		{"struck-stone", [][]string{
			{"a stone went through it, big dent in the bowl", "pebbles in stage one, vanes bashed"},
			{"bowl and impeller replaced"},
		}},
		{"hot-running", [][]string{
			{"customer says the motor gets too hot to touch", "runs hot after an hour", "overheating, cuts out on its thermal"},
			{"scale scraped off the motor jacket"},
		}},
		{"scale", [][]string{
			{"diffuser furred up with lime", "hard scale in the passages", "passages scaled, half closed"},
			{"descaled in the bath"},
		}},
		{"flooded-motor", [][]string{
			{"motor full of water", "stator flooded, poured out a litre", "rotor rusty and windings soaked"},
			{"motor dried out in the oven and varnished"},
		}},
		{"hum-no-start", [][]string{
			{"hums but does not start", "buzzes and stays where it is, one phase gone"},
			{"plug remade, blown contact in the cable plug"},
		}},
		{"whine", [][]string{
			{"high whine at full speed", "screeches when it comes up to speed", "squeals like a pig on start"},
			{"thrust bearing dressed and greased"},
		}},
	}
}
