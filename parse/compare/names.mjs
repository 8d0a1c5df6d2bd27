// How the libraries and plain English name units, as UCUM codes.

// A line of a table holds a code and the names that it goes by.
function table(lines) {
  const out = new Map();
  for (const line of lines.trim().split('\n')) {
    const [code, ...names] = line.trim().split(/\s*\|\s*/);
    for (const name of names) out.set(name, code);
  }
  return out;
}

// The names that the Recognizers give in their answers (the spelling "millimiter" is
// theirs). Their gallon and cups are read as US measure. "C", "F" and "Degree" are theirs too.
export const recognizers = table(`
  km | Kilometer
  hm | Hectometer
  dam | Decameter
  m | Meter
  dm | Decimeter
  cm | Centimeter
  mm | Millimeter
  um | Micrometer
  nm | Nanometer
  pm | Picometer
  [mi_i] | Mile
  [yd_i] | Yard
  [in_i] | Inch
  [ft_i] | Foot
  m2 | Square meter
  cm2 | Square centimeter
  mm2 | Square millimeter
  [in_i]2 | Square inch
  [ft_i]2 | Square foot
  m3 | Cubic meter
  cm3 | Cubic centimeter
  mm3 | Cubic millimiter
  [in_i]3 | Cubic inch
  [ft_i]3 | Cubic foot
  L | Liter
  dL | Deciliter
  cL | Centiliter
  mL | Milliliter
  [gal_us] | Gallon
  [qt_us] | Quart
  [pt_us] | Pint
  [foz_us] | Fluid ounce
  kg | Kilogram
  g | Gram
  mg | Milligram
  ug | Microgram
  t | Ton | Metric ton
  [lb_av] | Pound
  [oz_av] | Ounce
  [gr] | Grain
  m/s | Meter per second
  km/h | Kilometer per hour
  [mi_i]/h | Mile per hour
  [ft_i]/s | Foot per second
  [ft_i]/min | Foot per minute
  Cel | C
  [degF] | F
  K | K
  deg | Degree
  rad | Radian
  circ | Turn
  % | Percent
`);

// The symbols in which js-quantities writes a unit and which are not UCUM's.
export const jsQuantities = table(`
  L | l
  mL | ml
  [in_i] | in
  [ft_i] | ft
  [yd_i] | yd
  [mi_i] | mi
  [mil_i] | mil
  [lb_av] | lbs
  [oz_av] | oz
  [lbf_av] | lbf
  [psi] | psi
  [HP] | hp
  Cel | degC | tempC
  [degF] | degF | tempF
  [gal_us] | gal
  {rev}/min | rpm
  circ | rev
`);

// English names and written symbols, in small letters and the American spelling, since
// compromise gives a word (in small letters) and no unit.
const plain = table(`
  N.m | newton meter | nm | n.m | n·m
  [ft_i].[lbf_av] | foot pound | ft lb | lb ft | lbf ft | lbf.ft | pound foot
  [in_i].[lbf_av] | inch pound | in lb | lb in | pound inch
  kgf.m | kilogram force meter | kgf.m | kgf m
  N | newton
  kN | kilonewton
  m | meter | m
  mm | millimeter | mm
  um | micrometer | micron | um
  [in_i] | inch | inches | in | "
  [ft_i] | foot | feet | ft
  [mil_i] | thou
  L | liter | l
  mL | milliliter | ml
  L/min | liter per minute | liter a minute | l/min
  L/s | liter per second | liter a second
  m3/h | cubic meter per hour | cubic meter an hour | m3/h
  mm/s | millimeter per second | millimeter a second | mm/s
  {rev}/min | rpm | rev per minute | r/min
  bar | bar
  [psi] | psi | p s i
  kPa | kilopascal | kpa
  MPa | megapascal | mpa
  V | volt | v
  kV | kilovolt | kv
  A | amp | a
  mA | milliamp | ma
  Ohm | ohm | ω
  mOhm | milliohm
  kOhm | kilohm | kiloohm
  MOhm | megohm | megaohm | mohm
  GOhm | gigohm | gigaohm
  W | watt
  kW | kilowatt | kw
  [HP] | horsepower | hp
  Hz | hertz | hz
  kg | kilogram | kilo | kg
  g | gram | g
  [lb_av] | pound | lb
  [oz_av] | ounce | oz
  s | second
  min | minute
  h | hour
  deg | degree | deg
  Cel | celsius | degree celsius | degrees celsius | degree centigrade | degree c | °c
  [degF] | fahrenheit | degree fahrenheit | °f
  % | percent | per cent | %
`);

// american writes British unit names as Americans do.
export function american(phrase) {
  return phrase.replace(/metre/g, 'meter').replace(/litre/g, 'liter').replace(/gramme/g, 'gram');
}

// unitAhead gives the code of the longest unit name that text begins with, or undefined.
export function unitAhead(text) {
  const words = american(text.toLowerCase()).trim().split(/[\s-]+/).slice(0, 4);
  for (; words.length > 0; words.pop()) {
    const name = words.join(' ');
    const code = plain.get(name) ?? plain.get(name.replace(/s\b/g, '')); // as it stands, then without plurals
    if (code) return code;
  }
  return undefined;
}
