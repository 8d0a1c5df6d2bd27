// Readings in figures, as a sheet holds them: "48 N·m", which is read faster from afar
// than the words that the voice says.

const most = 3; // a note with more readings is read back in words

// place finds a callout's place in a job's state.
export const keyOf = (callout, at) => callout + JSON.stringify(at ?? {});

// figuresOf gives {where, shown, limits} for each reading of a note, or nothing if one of
// them was not recorded or no longer stands so.
export function figuresOf(note, state) {
  const readings = note?.readings ?? [];
  if (!state || note?.waiting || note?.refused || readings.length > most) return [];
  const figures = readings.map((r) => figureOf(r, state));
  return figures.includes(null) ? [] : figures;
}

// both writes a reading, and beside it the same in the shop's other unit.
const both = ({ shown, also }) => (also ? `${shown}, ${also}` : shown);

function figureOf(r, state) {
  const callout = state.callouts.find((c) => c.id === r.callout);
  const place = callout?.places.find((p) => keyOf(callout.id, p.at) === keyOf(r.callout, r.at));
  if (!place || r.verdict === "unclear") return null;
  const where = place.where.charAt(0).toUpperCase() + place.where.slice(1);
  if (place.reading?.value === r.value && place.reading.unit === r.unit) return { where, shown: both(place.reading), limits: place.limits };
  // The state is not here yet; the callout's own unit is known without it.
  return r.unit === callout.unit && !r.value.includes("/") ? { where, shown: `${r.value} ${callout.symbol}`, limits: place.limits } : null;
}
