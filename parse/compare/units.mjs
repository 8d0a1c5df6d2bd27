// UCUM codes, as far as the notes and the libraries need them: what a unit is worth in SI.

// What an atom is worth, and its powers of metre, kilogram, second, ampere, kelvin and
// radian (which stands among them so that an angle is no bare number). The values are the
// units' definitions; an annotation such as {rev} is worth 1, as UCUM has it.
const pound = 0.45359237;
const gravity = 9.80665;
const inch = 0.0254;
const turn = 2 * Math.PI;
const psi = (pound * gravity) / inch ** 2;
const atoms = {
  '1': [1], '%': [0.01],
  m: [1, 1], g: [1e-3, 0, 1], s: [1, 0, 0, 1], A: [1, 0, 0, 0, 1], K: [1, 0, 0, 0, 0, 1],
  rad: [1, 0, 0, 0, 0, 0, 1], deg: [turn / 360, 0, 0, 0, 0, 0, 1],
  circ: [turn, 0, 0, 0, 0, 0, 1], '{rev}': [1],
  min: [60, 0, 0, 1], h: [3600, 0, 0, 1], d: [86400, 0, 0, 1], L: [1e-3, 3], t: [1000, 0, 1],
  Hz: [1, 0, 0, -1], N: [1, 1, 1, -2], J: [1, 2, 1, -2], W: [1, 2, 1, -3],
  Pa: [1, -1, 1, -2], bar: [1e5, -1, 1, -2], V: [1, 2, 1, -3, -1], Ohm: [1, 2, 1, -3, -2],
  gf: [gravity / 1000, 1, 1, -2], '[lbf_av]': [pound * gravity, 1, 1, -2], '[psi]': [psi, -1, 1, -2],
  '[HP]': [550 * 12 * inch * pound * gravity, 2, 1, -3],
  '[mil_i]': [inch / 1000, 1], '[in_i]': [inch, 1], '[ft_i]': [12 * inch, 1],
  '[yd_i]': [36 * inch, 1], '[mi_i]': [5280 * 12 * inch, 1],
  '[lb_av]': [pound, 0, 1], '[oz_av]': [pound / 16, 0, 1], '[gr]': [pound / 7000, 0, 1],
  '[gal_us]': [231 * inch ** 3, 3], '[qt_us]': [57.75 * inch ** 3, 3],
  '[pt_us]': [28.875 * inch ** 3, 3], '[foz_us]': [(231 / 128) * inch ** 3, 3],
};
const prefixes = { G: 1e9, M: 1e6, k: 1e3, h: 100, da: 10, d: 0.1, c: 0.01, m: 1e-3, u: 1e-6, n: 1e-9, p: 1e-12 };

// Scales with a zero of their own: kelvin = value * by + plus.
const scales = { Cel: { by: 1, plus: 273.15 }, '[degF]': { by: 5 / 9, plus: 459.67 * (5 / 9) } };

// atom gives the worth of an atom, with or without a prefix, or undefined.
function atom(code) {
  if (Object.hasOwn(atoms, code)) return { factor: atoms[code][0], powers: atoms[code].slice(1) };
  for (const [prefix, worth] of Object.entries(prefixes)) {
    const rest = code.slice(prefix.length);
    if (!code.startsWith(prefix) || !Object.hasOwn(atoms, rest)) continue;
    return { factor: worth * atoms[rest][0], powers: atoms[rest].slice(1) };
  }
  return undefined;
}

// parseUnit gives the worth of a code such as "N.m", "m3/h" or "{rev}/min", or undefined.
function parseUnit(code) {
  if (code === '') return undefined;
  const total = { factor: 1, powers: [0, 0, 0, 0, 0, 0] };
  for (const [, sign, name, digits] of code.matchAll(/([./]?)([^./]+?)(-?\d+)?(?=[./]|$)/g)) {
    const found = atom(name);
    if (!found) return undefined;
    const power = Number(digits ?? 1) * (sign === '/' ? -1 : 1);
    total.factor *= found.factor ** power;
    found.powers.forEach((p, i) => (total.powers[i] += p * power));
  }
  return total;
}

// parseValue reads a decimal or a fraction such as "15/64".
function parseValue(value) {
  const [over, under = '1'] = String(value).split('/');
  return Number(over) / Number(under);
}

// measure gives a quantity as a kind and a size in SI, so that 90 deg and a quarter of a
// turn are one. A code that is not known is a kind of its own, equal to nothing else.
export function measure(value, code) {
  const size = parseValue(value);
  const { by, plus } = scales[code] ?? { by: 1, plus: 0 };
  const unit = parseUnit(Object.hasOwn(scales, code) ? 'K' : code);
  if (!unit) return { kind: `unknown unit ${code}`, size };
  return { kind: unit.powers.join(' '), size: size * by * unit.factor + plus };
}

// same says whether two measures are one amount, but for the rounding of floats.
export function same(a, b) {
  return a.kind === b.kind && Math.abs(a.size - b.size) <= 1e-9 * Math.max(Math.abs(a.size), Math.abs(b.size));
}
