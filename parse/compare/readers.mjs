// The libraries as readers: a note in, the quantities with a unit out, as { value, unit }
// with a UCUM code. What a library finds without a unit is left out.

import { createRequire } from 'node:module';
import compromise from 'compromise';
import { american, jsQuantities, recognizers, unitAhead } from './names.mjs';

const require = createRequire(import.meta.url); // three of the four are CommonJS
const suite = require('@microsoft/recognizers-text-suite');
const Qty = require('js-quantities');
const { wordsToNumbers } = require('words-to-numbers');

// byRecognizers asks the models for numbers with a unit and for per cents. The dimensions
// and the temperatures both answer to "degrees", so a span counts once.
export function byRecognizers(note) {
  const found = new Map();
  for (const ask of [suite.recognizeDimension, suite.recognizeTemperature, suite.recognizePercentage]) {
    for (const { start, end, resolution } of ask(note, suite.Culture.English)) {
      if (resolution?.value) found.set(`${start} ${end}`, recognized(resolution)); // a unit alone has no value
    }
  }
  return [...found.values()];
}

function recognized({ value, unit }) {
  if (value.endsWith('%')) return { value: value.slice(0, -1), unit: '%' };
  return { value, unit: recognizers.get(unit) ?? unit };
}

// A numeral that stands by itself: 0.05, .05, 1,450, 6.3e2. The digits of 1/8, 3x10^3 and
// 48,5 are no numerals of their own, so they are not taken for 8, 3 and 5.
const numeral = new RegExp(
  [
    String.raw`(?<![\w.,/^])(?:(?<!\S)[-+])?`, // no more of a number before it; a sign only after a space
    String.raw`(?:\d{1,3}(?:,\d{3})+|\d+)?(?:\.\d+|(?<=\d))(?:e[-+]?\d+)?`,
    String.raw`(?![\d/^]|[.,]\d)`, // and no more of it behind
  ].join(''),
  'gi',
);

// byWords puts number words into digits and looks up what follows each number.
export function byWords(note) {
  const text = String(wordsToNumbers(note)).replace(/(?<!\bor )\bminus (?=[\d.])/g, '-');
  const out = [];
  for (const match of text.matchAll(numeral)) {
    const unit = lookUpAhead(text.slice(match.index + match[0].length));
    if (unit) out.push({ value: match[0].replaceAll(',', ''), unit });
  }
  return out;
}

// lookUpAhead gives the unit that js-quantities makes of the longest run of words.
function lookUpAhead(rest) {
  const words = tidy(rest).split(/\s+/).slice(0, 4);
  const digits = words.findIndex((word) => /^\d/.test(word)); // the next number ends a unit
  if (digits >= 0) words.length = digits;
  for (; words.length > 0; words.pop()) {
    const unit = lookUp(words.join(' '));
    if (unit) return unit;
  }
  return undefined;
}

// tidy writes a unit as js-quantities wants it, where that is only a matter of spelling.
function tidy(text) {
  return american(text)
    .slice(0, 60)
    .trimStart()
    .replace(/ (?:per|an?) (?!cent)/g, '/')
    .replace(/^per cent/, 'percent')
    .replace(/^cubic (\w+?)s?(?=\W|$)/, '$1^3')
    .replace(/^degrees? (?=celsius|fahrenheit)/, '')
    .replace(/^degrees? (?:centigrade|c\b)/i, 'celsius')
    .replace(/^°\s*C/, 'celsius')
    .replace(/[·.](?=\w)/g, '*')
    .replace(/^Nm\b/, 'N*m')
    .replace(/^(meg|kil|gig)(?=ohm)/, (prefix) => ({ meg: 'mega', kil: 'kilo', gig: 'giga' })[prefix])
    .replace(/Ω/g, 'Ohm')
    .replace(/(?<=\S)s(?=\/)/g, '');
}

// Small words that js-quantities takes for symbols (a: a year, as: attoseconds).
const noUnits = new Set(['a', 'as', 'at', 'and', 'to', 'of', 'on', 'or', 'no', 'is']);

const known = new Map(); // looking up is slow, and the same phrases come again

function lookUp(phrase) {
  if (!known.has(phrase)) {
    const singular = phrase.replace(/(?<=\w\w)s$/, ''); // it knows some plurals only
    known.set(phrase, noUnits.has(phrase) ? undefined : askJsQuantities(phrase) ?? askJsQuantities(singular));
  }
  return known.get(phrase);
}

function askJsQuantities(phrase) {
  try {
    const symbol = Qty(phrase).units();
    return symbol.replaceAll('*', '.').replace(/[^./\d]+/g, (name) => jsQuantities.get(name) ?? name);
  } catch {
    return undefined; // it throws at what is no unit
  }
}

// byCompromise takes its numbers that have a unit word. The word opens the unit, which may
// go on in the note: it says "newton" of newton metres, and is not held to that.
export function byCompromise(note) {
  const out = [];
  let at = 0;
  for (const { number, text } of compromise(note).numbers().json()) {
    at = Math.max(at, note.indexOf(text, at) + text.length);
    const word = number && unitWord(number);
    if (word && number.num !== null) out.push({ value: amount(number), unit: unitFrom(word, note.slice(at)) });
  }
  return out;
}

// unitWord takes a unit that is glued to its number, as in 40°C, from the number's suffix.
function unitWord({ unit, suffix }) {
  return unit || (unitAhead(suffix) ? suffix : undefined);
}

function amount({ prefix, num, suffix }) {
  const under = /^\/(\d+)$/.exec(suffix)?.[1] ?? '1'; // "1/8" is 1 with a suffix
  return `${prefix === '-' ? -num : num}/${under}`;
}

function unitFrom(word, rest) {
  const follows = rest.trimStart().toLowerCase().startsWith(word);
  return unitAhead(follows ? rest : word) ?? word;
}
